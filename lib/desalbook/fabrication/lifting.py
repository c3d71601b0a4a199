"""Centre of gravity, lifting and shipping of skids.

A lift is planned by a competent person with certified masses and tackle; these are figures for an offer.
"""

from __future__ import annotations

from desalbook.trail import relation, total
from desalbook.units import Count, Fraction, Kg

__all__ = ["share_of_mass", "sum_of_masses", "times_count"]


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
