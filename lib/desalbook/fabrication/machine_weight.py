"""Masses of equipment by correlation, each within a range of size, and the box each stands in.

The certified mass of the manufacturer replaces a correlation (``fabrication.weights``).
"""

from __future__ import annotations

from desalbook.trail import relation
from desalbook.units import Factor, Fraction, Kg, KgPerM3, M, Var

__all__ = ["envelope_side", "machine_mass", "pump_set_mass", "reactive_ratio"]


@relation("Size over base size, reactive power", symbol="r_S", unit="1", source="definition")
def reactive_ratio(item_reactive: Var, base_reactive: Var) -> Factor:
    """Size of a power-factor correction over that of its correlation.

    Of one panel of capacitors.
    """
    return item_reactive / base_reactive


@relation("Mass by correlation", symbol="m_m", unit="kg", source="common-practice",
          place="mass of a base size and a power of the ratio of sizes",
          note="within the range of the row; beyond it the mass is extrapolated and says so")
def machine_mass(base_mass: Kg, size_ratio: Factor, size_exponent: Factor) -> Kg:
    """Mass of a unit from that of another size: the ratio of sizes to a power.

    A mean over manufacturers; the row of the table states its spread.
    """
    return base_mass * size_ratio**size_exponent


@relation("Mass of a pump set", symbol="m_P", unit="kg", source="common-practice",
          place="pump in proportion to its motor, baseplate to both")
def pump_set_mass(motor_mass: Kg, pump_ratio: Factor, base_fraction: Fraction) -> Kg:
    """Mass of motor, pump, coupling and baseplate.

    The pump by the mass of the motor that drives it; the certified mass of the set replaces it.
    """
    return motor_mass * (1 + pump_ratio) * (1 + base_fraction)


@relation("Side of an envelope", symbol="L_e", unit="m", source="common-practice",
          place="mass over the bulk density of the envelope, with usual proportions")
def envelope_side(empty_mass: Kg, bulk_density: KgPerM3, width_ratio: Factor, height_ratio: Factor,
                  side_ratio: Factor) -> M:
    """Length, width or height of the box a pump or panel fills, by its mass, bulk density and proportions.

    For a first arrangement; the outline drawing of the manufacturer replaces it.
    """
    return side_ratio * (empty_mass / (bulk_density * width_ratio * height_ratio))**(1 / 3)
