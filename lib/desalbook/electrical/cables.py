"""Cables: current carried, voltage drop, withstand in a short circuit, protective conductor.

Copper. Ways, insulation and grouping are those of the design; the local code and the manufacturer come first.
"""

from __future__ import annotations

from desalbook.trail import constant, relation, sqrt, where
from desalbook.units import (
    Ampere,
    ConductorM2,
    Count,
    Factor,
    Fraction,
    K,
    LetThrough,
    M,
    OhmPerM,
    S,
    ThermalWithstand,
    Voltage,
)

__all__ = [
    "ambient_factor",
    "cable_current_needed",
    "conductor_resistance",
    "drop_fraction",
    "let_through_allowed",
    "protective_area",
    "short_circuit_area",
    "voltage_drop",
]

REFERENCE = constant("theta_20", 293.15, "K", source="definition", title="20 degC")
COPPER = constant("alpha_Cu", 0.00393, "1/K", source="iec-60228", title="Temperature coefficient of copper at 20 degC")
SMALL = constant("S_16", 16e-6, "m^2", source="iec-60364-5-54", title="16 mm2")
MIDDLE = constant("S_35", 35e-6, "m^2", source="iec-60364-5-54", title="35 mm2")


@relation("Factor of the air temperature", symbol="k_T", unit="1", source="iec-60364-5-52", place="Table B.52.14")
def ambient_factor(conductor_temperature: K, cable_ambient: K, table_ambient: K) -> Fraction:
    """Factor on the current a cable carries, for air at another temperature than the table's.

    Heat given off in proportion to the rise of the conductor.
    """
    return sqrt((conductor_temperature - cable_ambient) / (conductor_temperature - table_ambient))


@relation("Required table current", symbol="I_t", unit="A", source="iec-60364-5-52")
def cable_current_needed(load_current: Ampere, conductor_factor: Factor, ambient_factor: Fraction,
                         grouping_factor: Fraction, cables_in_parallel: Count) -> Ampere:
    """Current a cable must carry by the table, so that it carries its load where it lies.

    Cables in parallel share evenly.
    """
    return load_current * conductor_factor / (ambient_factor * grouping_factor) / cables_in_parallel


@relation("Resistance of a conductor, warm", symbol="r", unit="ohm/m", source="iec-60228")
def conductor_resistance(resistance_20: OhmPerM, conductor_temperature: K) -> OhmPerM:
    """Resistance of a copper conductor at its temperature.

    Direct current; skin effect is neglected, some percent from 240 mm2 on.
    """
    return resistance_20 * (1 + COPPER * (conductor_temperature - REFERENCE))


@relation("Voltage drop of a cable", symbol="Delta_U", unit="V", source="iec-60364-5-52", place="Annex G")
def voltage_drop(load_current: Ampere, cable_length: M, conductor_resistance: OhmPerM, conductor_reactance: OhmPerM,
                 power_factor: Fraction, cables_in_parallel: Count) -> Voltage:
    """Voltage drop between phases along a three-phase cable.

    Balanced load; the drop along the vector of the load.
    """
    return (3**0.5 * load_current * cable_length / cables_in_parallel
            * (conductor_resistance * power_factor + conductor_reactance * sqrt(1 - power_factor**2)))


@relation("Voltage drop / voltage", symbol="Delta_u", unit="1", source="definition")
def drop_fraction(voltage_drop: Voltage, voltage: Voltage) -> Fraction:
    """Voltage drop as a fraction of the voltage between phases.

    Both between phases.
    """
    return voltage_drop / voltage


@relation("Cable section for fault", symbol="S_k", unit="m^2", source="iec-60364-4-43",
          within={"clearing_time": ("0.1 s", "5 s")}, note="no heat leaves the conductor")
def short_circuit_area(fault_current: Ampere, clearing_time: S, thermal_withstand: ThermalWithstand) -> ConductorM2:
    """Least section of a conductor that bears a short circuit until the device clears it.

    Adiabatic, 0.1 to 5 s; below that the let-through energy of the device counts.
    """
    return fault_current * clearing_time**0.5 / thermal_withstand


@relation("Let-through energy a cable bears", symbol="I2t", unit="A^2 s", source="iec-60364-4-43")
def let_through_allowed(conductor_area: ConductorM2, thermal_withstand: ThermalWithstand) -> LetThrough:
    """Let-through energy that a cable bears: what its device may let pass.

    Adiabatic; asked of the supplier of the device.
    """
    return (conductor_area * thermal_withstand) ** 2


@relation("Section of cables side by side", symbol="S_k", unit="m^2", source="definition")
def section_together(conductor_area: ConductorM2, cables_in_parallel: Count) -> ConductorM2:
    """Section of all cables of a circuit: of one conductor, times the cables side by side.

    Equal cables that share the current evenly.
    """
    return conductor_area * cables_in_parallel


@relation("Section of the protective conductor", symbol="S_PE", unit="m^2", source="iec-60364-5-54", place="Table 54.2")
def protective_area(conductor_area: ConductorM2) -> ConductorM2:
    """Least section of the protective conductor beside a phase conductor of the same metal.

    By the table; a calculation may allow less.
    """
    return where(conductor_area <= SMALL, conductor_area, where(conductor_area <= MIDDLE, SMALL, conductor_area / 2))
