"""Raw tank and wash tank: volume, diameter and level."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.constants import PI
from desalbook.hydraulics.rows import least_row
from desalbook.trail import Choice, Figure, checked, maximum, relation, scope
from desalbook.units import M3, Count, Factor, Fraction, M, M3PerS, S

__all__ = [
    "Tank",
    "detained_volume",
    "level_of",
    "low_level_of",
    "raw_tank",
    "tank_width",
    "usable_of",
    "wash_store",
    "wash_tank",
]


@dataclass(frozen=True)
class Tank:
    """One tank: volume of all (m3), diameter, greatest depth and lowest level above site (m)."""

    volume: Figure
    diameter: Figure
    level: Figure
    low_level: Figure


@relation("Volume of the raw tanks", symbol="V_t", unit="m^3", source="common-practice")
def detained_volume(raw_flow: M3PerS, detention: S, usable: Fraction) -> M3:
    """Flow held for the detention, in the usable part."""
    return raw_flow * detention / usable


@relation("Volume of the wash tank", symbol="V_w", unit="m^3", source="common-practice")
def wash_store(wash_volume: M3, washes: Factor, bridged_volume: M3, usable: Fraction) -> M3:
    """Several washes, or what the schedule of all trains draws beyond the make-up, in the usable part."""
    return maximum(wash_volume * washes, bridged_volume) / usable


@relation("Diameter one tank needs", symbol="D_n", unit="m", source="definition")
def tank_width(volume: M3, tanks: Count, height: M) -> M:
    """A cylinder filled to its greatest depth."""
    return (4 * volume / (PI * tanks * height)) ** 0.5


@relation("Depth of water when full", symbol="h", unit="m", source="definition")
def level_of(volume: M3, tanks: Count, diameter: M) -> M:
    """At which the diameter picked holds the volume."""
    return volume / (tanks * (PI / 4 * diameter**2))


@relation("Lowest level above site", symbol="z_LL", unit="m", source="definition")
def low_level_of(elevation: M, low_level: M) -> M:
    """Floor and lowest depth: where pumps draw from in the worst case."""
    return elevation + low_level


@relation("Volume that can be drawn", symbol="V_u", unit="m^3", source="definition")
def usable_of(volume: M3, usable: Fraction) -> M3:
    """Between lowest and highest level."""
    return volume * usable


def raw_tank(
    inp: Callable[[str], Any],
    raw_flow: Figure,
    wash_volume: Figure | None = None,
    source: Choice | None = None,
    swing: Figure | None = None,
) -> Tank:
    """Raw tanks of the plant.

    Parameters
    ----------
    raw_flow : Figure
        All trains, m3/s.
    wash_volume : Figure, optional
        Of one wash, m3; checked where raw water is the wash source.
    source : Choice, optional
        ``filters.wash_source``.
    swing : Figure, optional
        Deepest draw beyond the mean over a run of the filters, m3.
    """
    usable = inp("storage.usable")
    volume = detained_volume.at(
        "storage.volume", raw_flow=raw_flow, detention=inp("storage.detention"), usable=usable
    )
    tank = _tank(inp, "storage", volume, inp("storage.count"))
    if wash_volume is None:
        return tank
    drawn = usable_of.at("storage.usable_volume", volume=volume, usable=usable)
    if swing is not None:
        checked(
            "storage.swing.check",
            drawn,
            ">=",
            swing,
            title="Raw tank bridges the washes of a run",
            do="lengthen storage.detention, or spread the washes over the run",
        )
    if source == "raw":
        with scope(because=[source]):
            checked(
                "storage.usable_volume.check",
                drawn,
                ">=",
                wash_volume,
                title="Raw tank holds one wash",
                do="lengthen storage.detention or wash from another tank",
            )
    return tank


def wash_tank(
    inp: Callable[[str], Any], wash_volume: Figure, source: Choice, bridged: Figure
) -> Tank | None:
    """Tank of filtrate or reject for washing; None where raw water is the source.

    Parameters
    ----------
    bridged : Figure
        What the schedule of all trains draws beyond the make-up, m3.
    """
    if source == "raw":
        return None
    with scope(because=[source]):
        volume = wash_store.at(
            "wash_tank.volume",
            wash_volume=wash_volume,
            washes=inp("wash_tank.washes"),
            bridged_volume=bridged,
            usable=inp("wash_tank.usable"),
        )
        return _tank(inp, "wash_tank", volume, inp("wash_tank.count"))


def _tank(inp: Callable[[str], Any], prefix: str, volume: Figure, count: Figure) -> Tank:
    height = inp(f"{prefix}.height")
    width = tank_width.at(f"{prefix}.diameter_needed", volume=volume, tanks=count, height=height)
    diameter = inp(f"{prefix}.diameter")
    if diameter is None:
        diameter, _ = least_row(
            f"{prefix}.diameter",
            "tanks",
            "diameter",
            width,
            title="Diameter of a tank",
            rule="least standard diameter that holds the volume within the greatest depth",
            do=f"write more tanks ({prefix}.count), a greater depth ({prefix}.height), or a diameter of your own "
            f"({prefix}.diameter)",
        )
    level = level_of.at(f"{prefix}.level", volume=volume, tanks=count, diameter=diameter)
    checked(
        f"{prefix}.level.check",
        level,
        "<=",
        height,
        title="Depth of water",
        do=f"write a larger {prefix}.diameter or {prefix}.height",
    )
    low = low_level_of.at(
        f"{prefix}.low_level_site", elevation=inp(f"{prefix}.elevation"), low_level=inp(f"{prefix}.low_level")
    )
    return Tank(volume, diameter, level, low)
