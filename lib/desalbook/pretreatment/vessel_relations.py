"""Relations of the filter vessels: thickness, weight, nozzles, place."""

from __future__ import annotations

from typing import Annotated

from desalbook.hydraulics.constants import PI
from desalbook.trail import dot, relation, up
from desalbook.units import (
    KINDS,
    M2,
    M3,
    Count,
    DifferencePa,
    Fraction,
    GaugePa,
    Kg,
    KgPerM3,
    M,
    M3PerS,
    MPerS,
)

__all__ = [
    "drum_area",
    "drum_reach",
    "drum_width",
    "empty_of",
    "footprint_length",
    "footprint_width",
    "grains_volume",
    "head_thickness",
    "head_volume",
    "heads_mass",
    "media_mass",
    "nozzle_bore",
    "operating_of",
    "shell_height",
    "shell_mass",
    "shell_thickness",
    "two_grains",
    "two_masses",
    "water_mass",
]

Small = Annotated[float, KINDS["length.small"]]
_CODE = ("a first thickness: openings, supports, wind, earthquake, vacuum and fatigue are not in it; the vessel code "
         "and a licensed engineer govern")


@relation("Thickness of the shell", symbol="t_s", unit="m", source="asme-bpvc-viii-1", place="UG-27(c)(1)",
          note=_CODE)
def shell_thickness(design_pressure: GaugePa, diameter: M, allowable_stress: DifferencePa, joint_efficiency: Fraction,
                    corrosion_allowance: Small) -> Small:
    """Hoop stress, inside radius."""
    return (
        design_pressure * diameter / 2 / (allowable_stress * joint_efficiency - 0.6 * design_pressure)
        + corrosion_allowance
    )


@relation("Thickness of the heads", symbol="t_h", unit="m", source="asme-bpvc-viii-1",
          place="UG-32(d), 2:1 ellipsoidal", note=_CODE)
def head_thickness(design_pressure: GaugePa, diameter: M, allowable_stress: DifferencePa, joint_efficiency: Fraction,
                   corrosion_allowance: Small) -> Small:
    """Two-to-one ellipsoid, inside diameter."""
    return (
        design_pressure * diameter / (2 * allowable_stress * joint_efficiency - 0.2 * design_pressure)
        + corrosion_allowance
    )


@relation("Straight shell", symbol="h_s", unit="m", source="definition")
def shell_height(bed_depth: M, support_depth: M, freeboard: M, shell_allowance: M) -> M:
    """Media, support, freeboard, underdrain and collector."""
    return bed_depth + support_depth + freeboard + shell_allowance


@relation("Mass of the shell", symbol="m_s", unit="kg", source="definition")
def shell_mass(diameter: M, shell_length: M, plate: Small, plate_density: KgPerM3) -> Kg:
    """A drum."""
    return PI * (diameter + plate) * shell_length * plate * plate_density


@relation("Mass of two heads", symbol="m_h", unit="kg", source="common-practice", place="1.084 D2 of a 2:1 ellipsoid")
def heads_mass(diameter: M, plate: Small, plate_density: KgPerM3) -> Kg:
    """Surface times thickness."""
    return 2 * 1.084 * (diameter + plate) ** 2 * plate * plate_density


@relation("Empty vessel", symbol="m_e", unit="kg", source="definition")
def empty_of(shell: Kg, heads: Kg, fittings_share: Fraction) -> Kg:
    """With nozzles, feet and lining."""
    return (shell + heads) * (1 + fittings_share)


@relation("Mass of the media", symbol="m_m", unit="kg", source="definition")
def media_mass(depth: M, settled_porosity: Fraction, grain_density: KgPerM3, area: M2) -> Kg:
    """Grains of all layers, dry."""
    return dot(depth, (1 - settled_porosity) * grain_density) * area


@relation("Volume of the grains", symbol="V_g", unit="m^3", source="definition")
def grains_volume(depth: M, settled_porosity: Fraction, area: M2) -> M3:
    """Without their pores."""
    return dot(depth, 1 - settled_porosity) * area


@relation("Volume of two heads", symbol="V_h", unit="m^3", source="definition")
def head_volume(diameter: M) -> M3:
    """Two-to-one ellipsoids: a twelfth of pi D3 together."""
    return PI * diameter**3 / 12


@relation("Mass of water", symbol="m_w", unit="kg", source="definition")
def water_mass(diameter: M, shell_length: M, heads_volume: M3, grain_volume: M3, density: KgPerM3) -> Kg:
    """Full vessel less its grains."""
    return (PI / 4 * diameter**2 * shell_length + heads_volume - grain_volume) * density


@relation("Vessel in operation", symbol="m_o", unit="kg", source="definition")
def operating_of(empty: Kg, media: Kg, water_load: Kg) -> Kg:
    """Plate, media and water."""
    return empty + media + water_load


@relation("Bore of a nozzle, least", symbol="d_n", unit="m", source="definition")
def nozzle_bore(flow: M3PerS, velocity: MPerS) -> Small:
    """By its velocity."""
    return (4 * flow / (PI * velocity)) ** 0.5


@relation("Length of the battery", symbol="L_b", unit="m", source="definition")
def footprint_length(filters: Count, rows: Count, filter_pitch: M, gap: M) -> M:
    """Vessels of one row and the gaps beside them."""
    return up(filters / rows) * (filter_pitch + gap) + gap


@relation("Width of the battery", symbol="B_b", unit="m", source="definition")
def footprint_width(rows: Count, filter_reach: M, aisle: M, gap: M) -> M:
    """Rows, an aisle between them, a gap outside."""
    return rows * filter_reach + (rows - 1) * aisle + 2 * gap


@relation("Area of a horizontal filter", symbol="A", unit="m^2", source="definition",
          note="bed at the middle of the shell; heads not counted; above and below, the bed is narrower")
def drum_area(diameter: M, drum_length: M) -> M2:
    """Width times straight length."""
    return diameter * drum_length


@relation("Diameter of a horizontal filter, least", symbol="D_n", unit="m", source="definition")
def drum_width(area: M2, drum_length: M) -> M:
    """Area over straight length."""
    return area / drum_length


@relation("Reach of a horizontal filter", symbol="B_1", unit="m", source="definition")
def drum_reach(drum_length: M, diameter: M) -> M:
    """Shell and two heads of a quarter diameter."""
    return drum_length + diameter / 2


@relation("Mass of media and support", symbol="m_m", unit="kg", source="definition")
def two_masses(media: Kg, support: Kg) -> Kg:
    """Dry."""
    return media + support


@relation("Grains of media and support", symbol="V_g", unit="m^3", source="definition")
def two_grains(grain_volume: M3, support_grains: M3) -> M3:
    """Without their pores."""
    return grain_volume + support_grains
