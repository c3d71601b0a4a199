"""Centre of gravity, lifting and shipping of skids.

A lift is planned by a competent person with certified masses and tackle; these are figures for an offer.
"""

from __future__ import annotations

from desalbook.trail import constant, dot, maximum, relation, total, up
from desalbook.units import Count, Factor, Fraction, Kg, KgPerM, KgPerM2, M

__all__ = ["CAUTION", "base_load", "centre_coordinate", "elements_that_fit", "floor_load", "frame_mass", "leg_load",
           "lifted_mass", "lug_share", "offset_fraction", "overhang", "share_of_mass", "sum_of_masses", "times_count"]

CAUTION = ("A load that falls or tips kills. Lift only by the marked points, under a plan of a competent person, with "
           "certified masses and tackle; stay clear below.")
ENDS = constant("L_e", 0.64, "m", source="common-practice",
                title="Heads and ports of a vessel, and the ends of its rack, together")


@relation("Sum of masses", symbol="m", unit="kg", source="definition")
def sum_of_masses(masses: Kg) -> Kg:
    """Sum of the masses of parts.

    All in one state: empty, in operation or under test.
    """
    return total(masses)


@relation("Mass of several", symbol="m", unit="kg", source="definition")
def times_count(one_mass: Kg, installed: Count) -> Kg:
    """Mass of several like items.

    Standby units are installed and weigh as much.
    """
    return one_mass * installed


@relation("Fraction of a mass", symbol="m_x", unit="kg", source="common-practice", place="by kind of part")
def share_of_mass(base_mass: Kg, mass_fraction_of: Fraction) -> Kg:
    """A mass as a fraction of another: supports of a pipe, cables of equipment, water in a casing.

    Until each is drawn and weighed for itself.
    """
    return base_mass * mass_fraction_of


@relation("Coordinate of the centre of gravity", symbol="x_c", unit="m", source="definition")
def centre_coordinate(masses: Kg, places: M, mass_sum: Kg) -> M:
    """Coordinate of the common centre of gravity along one axis.

    Each part at its own centre; water and media move it, so it is found empty and in operation.
    """
    return dot(masses, places) / mass_sum


@relation("Offset of the centre of gravity", symbol="e_c", unit="1", source="definition",
          place="distance from the middle over the side")
def offset_fraction(centre: M, long_side: M) -> Fraction:
    """Distance of the centre of gravity from the middle of the base, over the side of the base.

    Within a sixth either way it lies in the middle third, and no edge of the base lifts off.
    """
    return maximum(centre / long_side - 0.5, 0.5 - centre / long_side)


@relation("Mass of a skid frame", symbol="m_fr", unit="kg", source="common-practice",
          place="60 to 120 kg per square metre of plan")
def frame_mass(long_side: M, short_side: M, frame_load: KgPerM2) -> Kg:
    """Mass of the steel frame of a skid by the area of its plan.

    Base, uprights and grating; a structural engineer sizes the sections.
    """
    return long_side * short_side * frame_load


@relation("Mass for the hoist", symbol="m_H", unit="kg", source="common-practice",
          place="calculated mass with contingency and dynamic factor")
def lifted_mass(empty_mass: Kg, weight_contingency: Fraction, dynamic_factor: Factor) -> Kg:
    """Load of the hoist as a mass: what was calculated, its contingency, and the dynamics of the lift.

    Hook block, beam and slings come on top.
    """
    return empty_mass * (1 + weight_contingency) * dynamic_factor


@relation("Load of a sling leg", symbol="T_l", unit="kg", source="definition",
          place="vertical share over the sine of the leg's angle")
def leg_load(lifted_mass: Kg, sling_legs: Factor, angle_factor: Factor) -> Kg:
    """Load along one sling leg, as a mass: what the legs that carry share, times the factor of their angle.

    Four legs on a rigid load are not four that carry: two are taken where nothing better is known.
    """
    return lifted_mass / sling_legs * angle_factor


@relation("Largest share of a lifting lug", symbol="x_l", unit="1", source="definition",
          place="bilinear shares of four lugs at the ends of the base")
def lug_share(offset_long: Fraction, offset_short: Fraction) -> Fraction:
    """Largest share of the load that one of four lugs at the ends of the base takes.

    A quarter where the centre of gravity lies in the middle; lugs further inside take more.
    """
    return (0.5 + offset_long) * (0.5 + offset_short)


@relation("Cargo per length of floor", symbol="w_f", unit="kg/m", source="definition")
def floor_load(empty_mass: Kg, long_side: M) -> KgPerM:
    """Load of a container floor by length: the mass of the skid over its length.

    On the whole width; beams that bed it spread a short heavy skid.
    """
    return empty_mass / long_side


@relation("Length that sticks out", symbol="d_o", unit="m", source="definition")
def overhang(long_side: M, inner_side: M, clearance: M) -> M:
    """What is too long, too wide or too high for a container or its door; none where it fits.

    With the clearance for skates and dunnage taken off the measure of the container.
    """
    return maximum(long_side - (inner_side - clearance), 0)


@relation("Load of the ground", symbol="w_g", unit="kg/m^2", source="definition")
def base_load(operating_mass: Kg, long_side: M, short_side: M) -> KgPerM2:
    """Mass in operation over the area of the base.

    A mean; the feet of a frame carry more, and wind, earthquake and lifting come on top.
    """
    return operating_mass / (long_side * short_side)


@relation("Elements of a vessel that fits", symbol="n_f", unit="1", source="common-practice",
          place="overall length of 8-inch side-port vessels, and 50 mm of rack at each end")
def elements_that_fit(inner_side: M, clearance: M, element_length: M) -> Count:
    """Most elements in a vessel whose rack goes into a container, by its inside length.

    Whole elements; end ports and long heads ask for the manufacturer's drawing.
    """
    return -up((clearance + ENDS - inner_side) / element_length)
