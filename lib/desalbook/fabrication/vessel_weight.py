"""Vessels, tanks, bunds and membrane vessels as masses: plate, laminate, concrete, media and water."""

from __future__ import annotations

from desalbook.hydraulics.constants import PI, G, Small
from desalbook.trail import constant, maximum, relation, sqrt
from desalbook.units import M2, M3, Count, DifferencePa, Factor, Fraction, GaugePa, Kg, KgPerM3, M

__all__ = [
    "bed_mass",
    "bund_mass",
    "dished_height",
    "element_mass",
    "element_water",
    "fitted_mass",
    "head_mass",
    "head_volume",
    "shell_above",
    "square_side",
    "tank_diameter",
    "tank_height",
    "tank_mass",
    "tank_wall",
    "two_heads_and_shell",
    "vessel_height",
    "vessel_length",
    "vessel_mass",
    "vessel_volume",
    "vessel_water",
    "water_in_bed",
    "water_of",
]

CONCRETE = constant("rho_c", 2400.0, "kg/m^3", source="common-practice", title="Density of reinforced concrete")
FIRST = constant("m_1", 45.0, "kg", source="common-practice", title="Empty 8-inch vessel of one element, 69 bar")
FURTHER = constant("m_2", 17.0, "kg", source="common-practice", title="Each further element of such a vessel")
BORE_8 = constant("D_8", 0.2019, "m", source="common-practice", title="Bore of an 8-inch vessel")
ENDS = constant("m_0", 10.0, "kg", source="common-practice", title="Water in both ends of an 8-inch vessel")
RATING_69 = constant("p_69", 69e5, "Pa", source="common-practice", title="Rated pressure of that vessel")
ELEMENT_DRAINED = constant("rho_d", 512.0, "kg/m^3", source="common-practice",
                           title="Wet drained element, mass over its envelope: 16.5 kg of an 8 by 40 inch one")
ELEMENT_WATER = constant("rho_f", 0.5583, "1", source="common-practice",
                         title="Free water of an element over its envelope: 18 L of an 8 by 40 inch one")
FALSE_FLOOR = constant("h_f", 0.1, "m", source="common-practice", title="False floor of a contactor")
LEGS = constant("h_0", 0.5, "m", source="common-practice", title="Legs of an upright vessel")
PORTS = constant("L_p", 0.54, "m", source="common-practice", title="Heads and ports of a vessel, together")


@relation("Mass of a dished head", symbol="m_h", unit="kg", source="definition", place="surface at mid-wall times wall")
def head_mass(diameter: M, plate: Small, area_factor: Factor, head_flange: Small, plate_density: KgPerM3) -> Kg:
    """Mass of one dished head with its straight flange: surface at mid-wall times thickness.

    The form's own surface factor is taken at the mean diameter; thinning in forming is neglected.
    """
    return (area_factor * (diameter + plate)**2 + PI * (diameter + plate) * head_flange) * plate * plate_density


@relation("Volume of a dished head", symbol="V_h", unit="m^3", source="definition")
def head_volume(diameter: M, volume_factor: Factor, head_flange: Small) -> M3:
    """Volume of one dished head with its straight flange, inside.

    By the form's own volume factor; internals are left in.
    """
    return volume_factor * diameter**3 + PI / 4 * diameter**2 * head_flange


@relation("Mass with fittings", symbol="m_f", unit="kg", source="common-practice",
          place="15 to 25 % for nozzles, manway, legs and false floor")
def fitted_mass(bare_mass: Kg, fittings_fraction: Fraction) -> Kg:
    """Mass of a vessel or tank with its nozzles, manways, feet and internals.

    A fraction of the bare shell until nozzles are drawn.
    """
    return bare_mass * (1 + fittings_fraction)


@relation("Mass of a bed in bulk", symbol="m_b", unit="kg", source="definition")
def bed_mass(area: M2, bed_depth: M, bulk_density: KgPerM3) -> Kg:
    """Mass of a bed of grains as delivered, by its bulk density.

    Dry; moisture and fines come on top.
    """
    return area * bed_depth * bulk_density


@relation("Water in a bed and above it", symbol="m_w", unit="kg", source="definition")
def water_in_bed(volume: M3, bed_mass: Kg, grain_density: KgPerM3, density: KgPerM3) -> Kg:
    """Mass of the water in a full vessel with a bed: what its grains leave.

    None where the vessel is too small for its bed.
    """
    return maximum(volume - bed_mass / grain_density, 0) * density


@relation("Mass of water", symbol="m_w", unit="kg", source="definition")
def water_of(volume: M3, density: KgPerM3) -> Kg:
    """Mass of a volume of water or solution.

    At the density of what is held.
    """
    return volume * density


@relation("Diameter of a tank", symbol="D_t", unit="m", source="definition")
def tank_diameter(volume: M3, slenderness: Factor) -> M:
    """Diameter of an upright tank of a given volume and ratio of height to diameter.

    Filled to the top of the cylinder; freeboard is in the volume.
    """
    return (4 * volume / (PI * slenderness))**(1 / 3)


@relation("Height of a tank", symbol="H_t", unit="m", source="definition")
def tank_height(volume: M3, diameter: M) -> M:
    """Height of an upright tank of a given volume and diameter.

    Of the cylinder, filled to its top.
    """
    return 4 * volume / (PI * diameter**2)


@relation("Wall of a tank", symbol="t_T", unit="m", source="definition",
          place="hoop stress of the full tank at its foot", note="a first figure; the code of the tank governs")
def tank_wall(density: KgPerM3, tank_height: M, diameter: M, wall_stress: DifferencePa, wall_least: Small) -> Small:
    """Wall of an upright tank by the hoop stress of its full height, at least the minimum as made.

    One thickness over the height; wind, vacuum, earthquake and nozzles are not in it.
    """
    return maximum(density * G * tank_height * diameter / (2 * wall_stress), wall_least)


@relation("Bare mass of a tank", symbol="m_T", unit="kg", source="definition")
def tank_mass(diameter: M, tank_height: M, thickness: Small, wall_density: KgPerM3) -> Kg:
    """Mass of wall, floor and roof of an upright tank, of one thickness.

    Nozzles, ladder and anchors belong to the fraction for fittings.
    """
    return PI * diameter * (tank_height + diameter / 2) * thickness * wall_density


@relation("Mass of a bund", symbol="m_B", unit="kg", source="definition", place="square basin of one wall thickness")
def bund_mass(volume: M3, bund_depth: M, bund_wall: Small) -> Kg:
    """Concrete of a square bund: floor and four walls of one thickness.

    For the load on the ground; the coating that bears the chemical is not in it.
    """
    return CONCRETE * bund_wall * (volume / bund_depth + 4 * sqrt(volume * bund_depth))


@relation("Mass of an empty pressure vessel", symbol="m_V", unit="kg", source="common-practice",
          place="mean of catalogues of 8-inch vessels of 69 bar, 20 %; bore and rating by hoop load")
def vessel_mass(elements_per_vessel: Count, bore: M, rated_pressure: GaugePa) -> Kg:
    """Empty mass of a membrane pressure vessel without elements.

    That of 8-inch vessels of 69 bar by the number of elements; a quarter of it (heads, ports, least laminate) does
    not change with the rating, the rest follows it, and all of it the square of the bore.
    """
    return (FIRST + FURTHER * (elements_per_vessel - 1)) * (bore / BORE_8)**2 \
        * (0.25 + 0.75 * rated_pressure / RATING_69)


@relation("Length of a pressure vessel", symbol="L_V", unit="m", source="common-practice",
          place="overall length of 8-inch side-port vessels, 60 mm either way")
def vessel_length(elements_per_vessel: Count, element_length: M) -> M:
    """Overall length of a membrane vessel: its elements, and heads and ports.

    Side ports; vessels with end ports and low ratings differ by up to 150 mm.
    """
    return elements_per_vessel * element_length + PORTS


@relation("Mass of a drained element", symbol="m_E", unit="kg", source="common-practice",
          place="16 to 18 kg of an 8 by 40 inch element; dry 13 to 15 kg")
def element_mass(envelope_volume: M3) -> Kg:
    """Mass of a wet, drained element as it is shipped and lifted.

    In proportion to its envelope; a dry one weighs some 15 % less.
    """
    return ELEMENT_DRAINED * envelope_volume


@relation("Water that fills an element", symbol="m_Ew", unit="kg", source="common-practice",
          place="18 L of an 8 by 40 inch element beyond what it keeps when drained")
def element_water(envelope_volume: M3, density: KgPerM3) -> Kg:
    """Free water that an element takes beyond what stays in it when drained.

    In proportion to its envelope.
    """
    return ELEMENT_WATER * envelope_volume * density


@relation("Water in the ends of a vessel", symbol="m_Vw", unit="kg", source="common-practice",
          place="10 kg in the ends of an 8-inch vessel")
def vessel_water(bore: M) -> Kg:
    """Water in both ends of a membrane vessel, beside that of its elements.

    In proportion to the section of the vessel.
    """
    return ENDS * (bore / BORE_8)**2


@relation("Side of a square bund", symbol="a_b", unit="m", source="definition")
def square_side(volume: M3, bund_depth: M) -> M:
    """Inner side of a square bund of a given volume and depth.

    Tanks and plinths in it take volume, which the volume asked for holds already.
    """
    return sqrt(volume / bund_depth)


@relation("Height of an upright vessel", symbol="H_v", unit="m", source="common-practice",
          place="2:1 heads, and half a metre of legs")
def vessel_height(shell_length: M, diameter: M) -> M:
    """Overall height of an upright filter: shell, two 2:1 heads of a quarter of the diameter, and legs of 0.5 m.

    Nozzles at the top come on top.
    """
    return shell_length + diameter / 2 + LEGS


@relation("Height of a dished vessel", symbol="H_v", unit="m", source="common-practice",
          place="depth of two heads, and half a metre of legs")
def dished_height(shell_length: M, diameter: M, depth_factor: Factor) -> M:
    """Overall height of an upright vessel with dished heads: shell, heads by their form, and legs of 0.5 m.

    Nozzles at the top come on top.
    """
    return shell_length + 2 * depth_factor * diameter + LEGS


@relation("Shell above a bed", symbol="h_s", unit="m", source="definition")
def shell_above(bed_depth: M, freeboard: M) -> M:
    """Straight shell of a contactor: the bed, the space above it, and 0.1 m for the false floor.

    Nozzles in the shell ask for no more.
    """
    return bed_depth + freeboard + FALSE_FLOOR


@relation("Shell and two heads", symbol="m_b", unit="kg", source="definition")
def two_heads_and_shell(shell: Kg, one_head: Kg) -> Kg:
    """Bare mass of a vessel: its shell and two like heads.

    Fittings come as a fraction on top.
    """
    return shell + 2 * one_head


@relation("Volume of a dished vessel", symbol="V_v", unit="m^3", source="definition")
def vessel_volume(diameter: M, shell_length: M, head_volume: M3) -> M3:
    """Volume of a vessel: its shell and two like heads.

    Inside, without internals.
    """
    return PI / 4 * diameter**2 * shell_length + 2 * head_volume
