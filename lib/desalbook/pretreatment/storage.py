"""Raw tank and backwash tank: volume, diameter, levels, and the sources of backwash water."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from desalbook.balances import time_to_empty
from desalbook.hydraulics.constants import PI
from desalbook.hydraulics.rows import least_row
from desalbook.problems import Infeasible
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, checked, constant, maximum, picked, relation, scope, values
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit
from desalbook.units import M3, Count, Factor, Fraction, M, M3PerS, S, show

__all__ = [
    "SOURCES",
    "BackwashSource",
    "Tank",
    "backwash_store",
    "backwash_tank",
    "level_above_site",
    "raw_tank",
    "retention_volume",
    "tank_capacity",
    "tank_diameter",
    "tank_level",
    "usable_volume",
]


MOST_TANKS = constant("n_t,max", 12, "1", source="common-practice", title="Most tanks of one service")


@dataclass(frozen=True)
class BackwashSource:
    """Where backwash water comes from.

    Parameters
    ----------
    has_tank : bool
        It is kept in a tank of its own; without, the raw tank gives it.
    refilled_by_filters : bool
        Filtrate refills that tank, so that the filters pass it on top of the feed.
    takes_concentrate : bool
        Concentrate refills that tank: another water, and none of it is taken from the sea for this purpose.
    """

    key: str
    title: str
    has_tank: bool
    refilled_by_filters: bool = False
    takes_concentrate: bool = False


SOURCES = {
    source.key: source
    for source in (
        BackwashSource("raw", "Raw water", has_tank=False),
        BackwashSource("filtrate", "Filtered water from a tank", has_tank=True, refilled_by_filters=True),
        BackwashSource(
            "concentrate", "Concentrate from a tank downstream of the ERD", has_tank=True, takes_concentrate=True
        ),
    )
}


@dataclass(frozen=True)
class Tank:
    """Tanks of one service: number, volume wanted and held at the maximum depth (m3, all), diameter, levels (m)."""

    count: Figure
    volume: Figure
    capacity: Figure
    diameter: Figure
    level: Figure
    low_level: Figure


@relation("Raw-water storage volume", symbol="V_t", unit="m^3", source="common-practice")
def retention_volume(raw_flow: M3PerS, detention: S, usable: Fraction) -> M3:
    """Raw-water storage volume for a retention time.

    Mean flow times retention time, within the usable fraction; it says nothing of mixing.
    """
    return raw_flow * detention / usable


@relation("Volume of the backwash tank", symbol="V_w", unit="m^3", source="common-practice")
def backwash_store(backwash_volume: M3, washes: Factor, bridged_volume: M3, usable: Fraction) -> M3:
    """Volume of the backwash tank.

    Several backwashes, or what the schedule of all trains draws beyond the make-up, within the usable fraction.
    """
    return maximum(backwash_volume * washes, bridged_volume) / usable


@relation("Required tank diameter", symbol="D_n", unit="m", source="definition")
def tank_diameter(volume: M3, tanks: Count, height: M) -> M:
    """Diameter that one upright cylindrical tank needs at its largest depth of water.

    Tanks are equal; wall thickness and freeboard come on top.
    """
    return (4 * volume / (PI * tanks * height)) ** 0.5


@relation("Depth of water when full", symbol="h", unit="m", source="definition")
def tank_level(volume: M3, tanks: Count, diameter: M) -> M:
    """Depth of water at which tanks of a standard diameter hold the volume.

    Upright cylinders with a flat floor.
    """
    return volume / (tanks * (PI / 4 * diameter**2))


@relation("Volume of the tanks at their maximum depth", symbol="V_c", unit="m^3", source="definition")
def tank_capacity(tanks: Count, diameter: M, height: M) -> M3:
    """Volume that equal tanks of one service hold at their maximum depth of water.

    Upright cylinders with a flat floor; freeboard comes on top, and the lowest part cannot be drawn.
    """
    return tanks * (PI / 4 * diameter**2) * height


@relation("Lowest level above site", symbol="z_LL", unit="m", source="definition")
def level_above_site(elevation: M, level: M) -> M:
    """Level above site: floor of a tank and depth of water.

    At the minimum depth it is where pumps draw from in the worst case; vortices may ask for more.
    """
    return elevation + level


@relation("Usable volume", symbol="V_u", unit="m^3", source="definition")
def usable_volume(volume: M3, usable: Fraction) -> M3:
    """Volume that can be drawn between minimum and maximum level.

    A fraction of the whole; control bands within it are neglected.
    """
    return volume * usable


def raw_tank(
    inp: Inputs,
    raw_flow: Figure,
    backwash_volume: Figure | None = None,
    selected: Choice | None = None,
    swing: Figure | None = None,
    backwash_flow: Figure | None = None,
) -> Tank:
    """Raw tanks of the plant.

    Parameters
    ----------
    raw_flow : Figure
        All trains, m3/s.
    backwash_volume : Figure, optional
        Of one backwash, m3; checked where raw water is the backwash source.
    selected : Choice, optional
        ``filters.backwash_source``.
    swing : Figure, optional
        Deepest draw beyond the mean over a run of the filters, m3.
    backwash_flow : Figure, optional
        Of all filters that are backwashed at once, m3/s.
    """
    check_limit("storage.retention_time.check", inp.number("storage.retention_time"), "raw-storage",
                do="lengthen storage.retention_time")
    usable = inp.number("storage.usable")
    volume = retention_volume.at(
        "storage.volume", raw_flow=raw_flow, detention=inp.number("storage.retention_time"), usable=usable
    )
    tank = _tank(inp, "storage", volume)
    if backwash_volume is None:
        return tank
    drawn = usable_volume.at("storage.usable_volume", volume=volume, usable=usable)
    if swing is not None:
        checked(
            "storage.swing.check",
            drawn,
            ">=",
            swing,
            title="Raw tank covers the backwashes of a run",
            do="lengthen storage.retention_time, or spread the backwashes over the run",
        )
    if selected is not None and not SOURCES[selected].has_tank:
        with scope(because=[selected]):
            checked(
                "storage.usable_volume.check",
                drawn,
                ">=",
                backwash_volume,
                title="Raw tank covers one backwash",
                do="lengthen storage.retention_time or backwash from another tank",
            )
            if backwash_flow is not None:
                _stored("storage", drawn, backwash_flow, "lengthen storage.retention_time")
    return tank


def _stored(prefix: str, volume: Figure, backwash_flow: Figure, do: str) -> None:
    """How long the stored water carries the backwash by itself."""
    lasts = time_to_empty.at(f"{prefix}.backwash_time", volume=volume, flow=backwash_flow,
                             title="Storage time at the backwash rate")
    check_limit(f"{prefix}.backwash_time.check", lasts, "backwash-water-stored", do=do)


def backwash_tank(inp: Inputs, backwash_volume: Figure, selected: Choice, bridged: Figure,
                  backwash_flow: Figure) -> Tank | None:
    """Tank of filtrate or concentrate for backwashing; None where raw water is the source.

    Parameters
    ----------
    bridged : Figure
        What the schedule of all trains draws beyond the make-up, m3.
    backwash_flow : Figure
        Of all filters that are backwashed at once, m3/s.
    """
    if not SOURCES[selected].has_tank:
        return None
    with scope(because=[selected]):
        volume = backwash_store.at(
            "backwash_tank.volume",
            backwash_volume=backwash_volume,
            washes=inp.number("backwash_tank.washes"),
            bridged_volume=bridged,
            usable=inp.number("backwash_tank.usable"),
        )
        usable = usable_volume.at("backwash_tank.usable_volume", volume=volume,
                                  usable=inp.number("backwash_tank.usable"))
        _stored("backwash_tank", usable, backwash_flow, "raise backwash_tank.washes")
        return _tank(inp, "backwash_tank", volume)


def _pick_count(prefix: str, volume: Figure, height: Figure, diameter: Figure | None) -> Figure:
    """Smallest number of equal tanks of which each has a standard diameter, or the one that is fixed."""
    rows = table("tanks").ascending("diameter")
    widest = float(rows[-1]["diameter"].value) if diameter is None else float(diameter)
    candidates: list[dict[str, Any]] = []
    with values(keep=False):
        for number in range(1, int(MOST_TANKS.value) + 1):
            needed = float(tank_diameter.at(f"{prefix}.diameter_needed", volume=volume, tanks=number, height=height))
            fits = needed <= widest * (1 + 1e-9)
            candidates.append({"key": str(number), "value": number, "diameter_needed": needed, "won": fits})
            if fits:
                break
    won = candidates[-1]
    if not won["won"]:
        raise Infeasible(
            "no number of tanks holds the volume",
            where=f"{prefix}.count",
            value=MOST_TANKS.value,
            allowed=f"diameters up to {show(widest, 'length')}",
            do=f"give a greater depth ({prefix}.height) or a shorter time of storage",
        )
    return picked(
        f"{prefix}.count",
        won["value"],
        "count",
        title="Tanks",
        symbol="n",
        rule="smallest number of equal tanks whose diameter is not above the largest",
        candidates=candidates,
        inputs={"volume": volume, "height": height} | ({} if diameter is None else {"diameter": diameter}),
        why=(
            f"{won['value'] - 1} would need {show(candidates[-2]['diameter_needed'], 'length')} each"
            if len(candidates) > 1
            else "one is enough"
        ),
        source="common-practice",
    )


def _standard_diameter(prefix: str, needed: Figure) -> Figure:
    """Smallest standard diameter; the largest where a fixed number of tanks asks for more, so their level fails."""
    largest = table("tanks").ascending("diameter")[-1]
    cell = largest["diameter"]
    if float(needed) > cell.value * (1 + 1e-9):
        return assumed(
            f"{prefix}.diameter",
            cell.value,
            "length",
            title="Diameter of a tank",
            symbol=cell.symbol,
            text=cell.text,
            source=cell.source,
            place="largest standard diameter; the tanks that are fixed ask for more",
            table="tanks",
            row=largest.key,
        )
    diameter, _ = least_row(
        f"{prefix}.diameter",
        "tanks",
        "diameter",
        needed,
        title="Diameter of a tank",
        rule="smallest standard diameter that holds the volume within the maximum depth",
        do=f"use more tanks ({prefix}.count) or a greater depth ({prefix}.height)",
    )
    return diameter


def _tank(inp: Inputs, prefix: str, volume: Figure) -> Tank:
    height, diameter = inp.number(f"{prefix}.height"), inp.optional(f"{prefix}.diameter")
    count = inp.optional(f"{prefix}.count")
    if count is None:
        count = _pick_count(prefix, volume, height, diameter)
    width = tank_diameter.at(f"{prefix}.diameter_needed", volume=volume, tanks=count, height=height)
    if diameter is None:
        diameter = _standard_diameter(prefix, width)
    level = tank_level.at(f"{prefix}.level", volume=volume, tanks=count, diameter=diameter)
    checked(
        f"{prefix}.level.check",
        level,
        "<=",
        height,
        title="Depth of water",
        sized_by=[diameter],
        do=f"use more tanks ({prefix}.count), a greater depth ({prefix}.height), or a larger diameter "
        f"({prefix}.diameter)",
    )
    low = level_above_site.at(
        f"{prefix}.low_level_site", elevation=inp.number(f"{prefix}.elevation"), level=inp.number(f"{prefix}.low_level")
    )
    capacity = tank_capacity.at(f"{prefix}.capacity", tanks=count, diameter=diameter, height=height)
    return Tank(count, volume, capacity, diameter, level, low)
