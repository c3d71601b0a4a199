"""Starting of motors: current, and the dip of the voltage at the busbar.

The starters are objects of a registry, rows of the table ``starters``.
"""

from __future__ import annotations

from desalbook.trail import relation
from desalbook.units import VA, Ampere, Factor, Fraction, Voltage, W

__all__ = [
    "current_fraction",
    "current_multiple",
    "motor_full_load_current",
    "starting_apparent_power",
    "terminal_dip",
    "voltage_dip",
]


@relation("Full-load current of a motor", symbol="I_fl", unit="A", source="iec-60947-4-1", place="Annex G")
def motor_full_load_current(motor_rating: W, voltage: Voltage, motor_efficiency: Fraction,
                            power_factor: Fraction) -> Ampere:
    """Full-load current of a three-phase motor from its rating, efficiency and power factor.

    The nameplate replaces it.
    """
    return motor_rating / (3**0.5 * voltage * motor_efficiency * power_factor)


@relation("Current times a ratio", symbol="I", unit="A", source="definition")
def current_multiple(load_current: Ampere, current_ratio: Factor) -> Ampere:
    """Multiple of a current: of full load at start, of the load for the rating of a device.

    At start the steady part; the inrush of the first half cycle is higher.
    """
    return load_current * current_ratio


@relation("Current over a reference", symbol="x_I", unit="1", source="definition")
def current_fraction(line_current: Ampere, reference_current: Ampere) -> Fraction:
    """Current as a fraction of a reference: of what a cable carries by the table, of the demand current.

    Both of one kind, effective values.
    """
    return line_current / reference_current


@relation("Apparent power at start", symbol="S_st", unit="V A", source="definition")
def starting_apparent_power(voltage: Voltage, line_current: Ampere) -> VA:
    """Apparent power that a starting motor draws.

    At rated voltage.
    """
    return 3**0.5 * voltage * line_current


@relation("Voltage dip at start", symbol="Delta_u", unit="1", source="common-practice",
          note="the motor as a constant impedance in series with the network; the running load is neglected")
def voltage_dip(line_current: Ampere, fault_current: Ampere) -> Fraction:
    """Voltage dip at a busbar when a motor starts: its starting current against the short-circuit current there.

    As a divider of two impedances of one angle; the load that runs already is neglected.
    """
    return line_current / (line_current + fault_current)


@relation("Voltage dip at the terminals", symbol="Delta_u_m", unit="1", source="common-practice")
def terminal_dip(busbar_dip: Fraction, cable_dip: Fraction) -> Fraction:
    """Voltage dip at the terminals of a starting motor: that of the busbar and that of its cable, one after the other.

    As numbers, a little more than their vector sum.
    """
    return 1 - (1 - busbar_dip) * (1 - cable_dip)
