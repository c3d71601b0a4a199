"""Walls of pipes: the thickness that pressure asks for, and what a plastic pipe has.

Pressure parts follow the piping code and the pressure-equipment law of the place; outside loads, supports,
branches and fatigue are not judged here.
"""

from __future__ import annotations

from desalbook.hydraulics.constants import Small
from desalbook.trail import relation
from desalbook.units import DifferencePa, Factor, Fraction, GaugePa

__all__ = ["barlow_of", "outer_of", "wall_as_bought", "wall_for_pressure", "wall_ordered"]


@relation(
    "Wall that pressure asks for",
    symbol="t_p",
    unit="m",
    source="asme-b31-3",
    place="304.1.2, straight pipe under inside pressure; joint and weld factors 1",
    note="thin wall, below a sixth of the outer diameter; seamless pipe or a fully examined seam",
)
def wall_for_pressure(
    gauge_pressure: GaugePa, outer_diameter: Small, allowable_stress: DifferencePa, wall_coefficient: Factor
) -> Small:
    """Hoop stress at the mean diameter."""
    return gauge_pressure * outer_diameter / (2 * (allowable_stress + gauge_pressure * wall_coefficient))


@relation(
    "Wall to order",
    symbol="t_n",
    unit="m",
    source="asme-b31-3",
    place="304.1.1 and the tolerance of the wall as made",
)
def wall_ordered(thickness: Small, corrosion_allowance: Small, mill_tolerance: Fraction) -> Small:
    """What carries, what is lost, and what the mill may leave out."""
    return (thickness + corrosion_allowance) / (1 - mill_tolerance)


@relation(
    "Wall, thin-wall rule",
    symbol="t_B",
    unit="m",
    source="definition",
    place="hoop stress at the outer diameter, on the safe side",
)
def barlow_of(gauge_pressure: GaugePa, outer_diameter: Small, allowable_stress: DifferencePa) -> Small:
    """Pressure times diameter over twice the stress."""
    return gauge_pressure * outer_diameter / (2 * allowable_stress)


@relation("Wall as bought", symbol="t_w", unit="m", source="definition")
def wall_as_bought(inner_diameter: Small, wall_ratio: Factor) -> Small:
    """A plastic pipe is sold by the ratio of diameter to wall."""
    return inner_diameter / wall_ratio


@relation("Outer diameter", symbol="D_o", unit="m", source="definition")
def outer_of(inner_diameter: Small, thickness: Small) -> Small:
    """Bore and two walls."""
    return inner_diameter + 2 * thickness
