"""Raw tank and wash tank: volume, diameter and level."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.constants import PI
from desalbook.hydraulics.rows import least_row
from desalbook.trail import Choice, Figure, assumed, checked, relation, scope
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
def wash_store(wash_volume: M3, washes: Factor, usable: Fraction) -> M3:
    """Several washes in the usable part."""
    return wash_volume * washes / usable


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
    """
    usable = inp("storage.usable")
    volume = detained_volume.at(
        "storage.volume", raw_flow=raw_flow, detention=inp("storage.detention"), usable=usable
    )
    tank = _tank(inp, "storage", volume, inp("storage.count"))
    if wash_volume is not None and source == "raw":
        with scope(because=[source]):
            drawn = usable_of.at("storage.usable_volume", volume=volume, usable=usable)
            checked(
                "storage.usable_volume.check",
                drawn,
                ">=",
                wash_volume,
                title="Raw tank holds one wash",
                do="lengthen storage.detention or wash from another tank",
            )
    return tank


def wash_tank(inp: Callable[[str], Any], wash_volume: Figure, source: Choice) -> Tank | None:
    """Tank of filtrate or reject for washing; None where raw water is the source."""
    if source == "raw":
        return None
    with scope(because=[source]):
        volume = wash_store.at(
            "wash_tank.volume",
            wash_volume=wash_volume,
            washes=inp("wash_tank.washes"),
            usable=inp("wash_tank.usable"),
        )
        return _tank(inp, "wash_tank", volume, None)


def _tank(inp: Callable[[str], Any], prefix: str, volume: Figure, count: Figure | None) -> Tank:
    height = inp(f"{prefix}.height")
    if count is None:
        count = assumed(
            f"{prefix}.count", 1, "count", title="Tanks", symbol="n", source="definition", place="one tank"
        )
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
