"""Volumes, flows, powers and chemicals of cleaning and flushing."""

from __future__ import annotations

from typing import Annotated

from desalbook.trail import constant, relation, total, up, where
from desalbook.units import (
    KINDS,
    M3,
    Count,
    DeltaK,
    ElectricW,
    Factor,
    Fraction,
    JPerKgK,
    K,
    Kg,
    KgPerM3,
    M,
    M3PerS,
    MassFraction,
    Molality,
    MolarMass,
    PHNbs,
    S,
)

__all__ = [
    "acid_for_alkali",
    "alkali_for_acid",
    "alkali_molality",
    "bank_volume",
    "cartridges_for",
    "chemical_mass",
    "citrate_charge",
    "cleaning_flow_of",
    "flush_flow",
    "flush_store",
    "flush_volume",
    "heater_power",
    "heater_rating_of",
    "next_step",
    "per_element",
    "pipe_contents",
    "rise",
    "sequence_time",
    "tank_for",
    "temperature_allowed",
    "train_time",
    "turns",
    "vessel_contents",
    "warm_up_time",
]

PI = constant("pi", 3.141592653589793, "1", source="definition", title="Pi")

CITRIC = constant("M_cit", 0.192124, "kg/mol", source="iupac-weights", title="Molar mass of citric acid")
CAUSTIC = constant("M_NaOH", 0.039997, "kg/mol", source="iupac-weights", title="Molar mass of NaOH")

Small_M = Annotated[float, KINDS["length.small"]]
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
    """Banks that are cleaned one after another; the last may be smaller."""
    return up(vessels / vessels_cleaned)


@relation("Diameter of the cleaning pipe", symbol="D_i", unit="m", source="definition")
def next_step(least_diameter: M, diameter_step: M) -> Small_M:
    """The next whole step."""
    return up(least_diameter / diameter_step) * diameter_step


@relation("Cartridges of the cleaning filter, in lengths of 250 mm", symbol="n_ct", unit="1", source="common-practice")
def cartridges_for(cleaning_flow: M3PerS, filter_factor: Factor, cartridge_flow: M3PerS) -> Count:
    """Whole lengths for a multiple of the flow."""
    return up(cleaning_flow * filter_factor / cartridge_flow)


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


@relation("Rating of the heater", symbol="P_H", unit="W", source="definition")
def heater_rating_of(electric_power: ElectricW, power_step: ElectricW) -> ElectricW:
    """The next whole step."""
    return up(electric_power / power_step) * power_step


@relation("Time to warm the tank", symbol="t_w", unit="s", source="definition")
def warm_up_time(
    tank_volume: M3,
    density: KgPerM3,
    heat_capacity: JPerKgK,
    temperature_rise: DeltaK,
    heater_rating: ElectricW,
    heater_efficiency: Fraction,
) -> S:
    """With the heater that is fitted."""
    return tank_volume * density * heat_capacity * temperature_rise / (heater_rating * heater_efficiency)


@relation(
    "Highest temperature at this pH",
    symbol="T_max",
    unit="K",
    source="common-practice",
    note="from memory: 45 degC at pH 2 to 10, 35 degC at pH 1 to 11, 30 degC beyond; the element's sheet governs",
)
def temperature_allowed(ph: PHNbs, middle_temperature: K, mild_temperature: K, wide_temperature: K) -> K:
    """The further from neutral, the cooler."""
    return where(
        (ph >= 2) * (ph <= 10), mild_temperature, where((ph >= 1) * (ph <= 11), middle_temperature, wide_temperature)
    )


@relation(
    "Charge of citrate",
    symbol="z_cit",
    unit="1",
    source="crc-handbook",
    place="pK 3.13, 4.76, 6.40 at 25 degC; from memory",
    note="activities left out, some 0.3 in pK in such solutions",
)
def citrate_charge(ph: PHNbs) -> Factor:
    """Moles of alkali that a mole of citric acid has taken up at this pH."""
    return (10 ** (ph - 3.13) + 2 * 10 ** (2 * ph - 7.89) + 3 * 10 ** (3 * ph - 14.29)) / (
        1 + 10 ** (ph - 3.13) + 10 ** (2 * ph - 7.89) + 10 ** (3 * ph - 14.29)
    )


@relation("Sodium hydroxide to neutralise the acid step", symbol="m_n", unit="kg", source="definition")
def alkali_for_acid(acid_mass: Kg, citrate_charge: Factor) -> Kg:
    """From the acid's own pH, where hardly any is charged."""
    return acid_mass / CITRIC * citrate_charge * CAUSTIC


@relation("Acid to neutralise the alkaline step", symbol="m_n", unit="kg", source="definition")
def acid_for_alkali(amount: Molality, molar_mass: MolarMass, tank_volume: M3, density: KgPerM3) -> Kg:
    """In one full tank."""
    return amount * molar_mass * tank_volume * density


@relation("Sodium hydroxide in the alkaline solution", symbol="m_OH", unit="mol/kg", source="definition")
def alkali_molality(solution_share: MassFraction) -> Molality:
    """Moles per kilogram of water."""
    return solution_share / (CAUSTIC * (1 - solution_share))


@relation("Time of one sequence", symbol="t_seq", unit="s", source="definition")
def sequence_time(step_times: S) -> S:
    """All steps one after another."""
    return total(step_times)


@relation("Time to clean one train", symbol="t_tr", unit="s", source="definition")
def train_time(sequence_time: S, cleaning_turns: Factor) -> S:
    """Bank after bank."""
    return sequence_time * cleaning_turns


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
