"""Volumes, flows, powers and chemicals of cleaning and flushing."""

from __future__ import annotations

from typing import Annotated

from desalbook.trail import constant, relation
from desalbook.units import (
    KINDS,
    M3,
    Count,
    DeltaK,
    ElectricW,
    Factor,
    Fraction,
    Head,
    JPerKgK,
    K,
    Kg,
    KgPerM3,
    M,
    M3PerS,
    MassFraction,
    S,
    W,
)

__all__ = [
    "bank_volume",
    "chemical_mass",
    "cleaning_flow_of",
    "flush_flow",
    "flush_store",
    "flush_volume",
    "heater_power",
    "hydraulic_power_of",
    "per_element",
    "pipe_contents",
    "rise",
    "shaft_power_of",
    "tank_for",
    "turns",
    "vessel_contents",
]

PI = constant("pi", 3.141592653589793, "1", source="definition", title="Pi")
G = constant("g", 9.80665, "m/s^2", source="codata-2018", title="Standard gravity")

Small = Annotated[float, KINDS["volume.small"]]
Minutes = Annotated[float, KINDS["time.minute"]]


@relation(
    "Empty volume of one vessel",
    symbol="V_v",
    unit="m^3",
    source="definition",
    note="a cylinder as long as its elements; end caps and ports are in the allowance",
)
def vessel_contents(inner_diameter: M, element_length: M, elements_per_vessel: Count) -> Small:
    """What an unloaded vessel holds."""
    return PI / 4 * inner_diameter**2 * element_length * elements_per_vessel


@relation("Volume of the cleaning pipes", symbol="V_p", unit="m^3", source="definition")
def pipe_contents(inner_diameter: M, length: M) -> M3:
    """What the pipes hold, out and back."""
    return PI / 4 * inner_diameter**2 * length


@relation("Empty volume of the bank", symbol="V_b", unit="m^3", source="definition")
def bank_volume(vessel_volume: Small, vessels_cleaned: Count) -> M3:
    """Of the vessels cleaned at once."""
    return vessel_volume * vessels_cleaned


@relation(
    "Volume of the cleaning tank",
    symbol="V_t",
    unit="m^3",
    source="cip-skid-2006",
    note="empty vessels, so that the elements' own volume is reserve",
)
def tank_for(bank_volume: M3, pipe_volume: M3, volume_factor: Factor, submergence_volume: M3) -> M3:
    """Vessels and pipes with an allowance, and what keeps the pump submerged."""
    return (bank_volume + pipe_volume) * volume_factor + submergence_volume


@relation(
    "Tank volume per element",
    symbol="V_e",
    unit="m^3",
    source="common-practice",
    note="a cross-check against some 35 to 40 L for 8-inch elements, never added",
)
def per_element(tank_volume: M3, vessels_cleaned: Count, elements_per_vessel: Count) -> Small:
    """Another common rule, as a cross-check."""
    return tank_volume / (vessels_cleaned * elements_per_vessel)


@relation("Cleaning flow", symbol="Q_cl", unit="m^3/s", source="definition")
def cleaning_flow_of(flow_per_vessel: M3PerS, vessels_cleaned: Count) -> M3PerS:
    """All vessels of the bank in parallel."""
    return flow_per_vessel * vessels_cleaned


@relation("Turns of cleaning for one train", symbol="n_turn", unit="1", source="definition")
def turns(vessels: Count, vessels_cleaned: Count) -> Factor:
    """Banks that are cleaned one after another."""
    return vessels / vessels_cleaned


@relation("Hydraulic power of the cleaning pump", symbol="P_h", unit="W", source="definition")
def hydraulic_power_of(density: KgPerM3, cleaning_flow: M3PerS, head: Head) -> W:
    """What the water takes up."""
    return density * G * cleaning_flow * head


@relation("Power of the cleaning pump", symbol="P_e", unit="W", source="definition")
def shaft_power_of(hydraulic_power: W, pump_efficiency: Fraction, motor_efficiency: Fraction) -> ElectricW:
    """At the motor's terminals."""
    return hydraulic_power / (pump_efficiency * motor_efficiency)


@relation("Temperature rise of the solution", symbol="Delta_T", unit="K", source="definition")
def rise(temperature: K, temperature_start: K) -> DeltaK:
    """From the coldest permeate."""
    return temperature - temperature_start


@relation(
    "Power of the heater",
    symbol="P_q",
    unit="W",
    source="definition",
    note="heat that the pump brings and that vessels and pipes take up is left out",
)
def heater_power(
    tank_volume: M3,
    density: KgPerM3,
    heat_capacity: JPerKgK,
    temperature_rise: DeltaK,
    heating_time: S,
    heater_efficiency: Fraction,
) -> ElectricW:
    """To warm the tank in the time given."""
    return tank_volume * density * heat_capacity * temperature_rise / (heating_time * heater_efficiency)


@relation("Chemical for one batch", symbol="m_c", unit="kg", source="definition")
def chemical_mass(tank_volume: M3, density: KgPerM3, solution_share: MassFraction) -> Kg:
    """Of the pure substance in one full tank."""
    return tank_volume * density * solution_share


@relation(
    "Flush of one train",
    symbol="V_f",
    unit="m^3",
    source="common-practice",
    note="until the reject shows the conductivity of the flush",
)
def flush_volume(
    hold_ups: Factor, vessel_volume: Small, wet_fraction: Fraction, vessels: Count, pipe_volume: M3
) -> M3:
    """Several times the water the pressure train holds."""
    return hold_ups * (vessel_volume * wet_fraction * vessels + pipe_volume)


@relation("Flush water in store", symbol="V_fl", unit="m^3", source="common-practice")
def flush_store(flush_volume: M3, trains: Count) -> M3:
    """For all trains that trip together."""
    return flush_volume * trains


@relation("Flow of the flush", symbol="Q_fl", unit="m^3/s", source="definition")
def flush_flow(volume: M3, time: Minutes) -> M3PerS:
    """Volume over time."""
    return volume / time
