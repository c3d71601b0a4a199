"""Relations of the energy roll-up: powers of consumers, means of the year, cost, emissions."""

from __future__ import annotations

from desalbook.dosing.hardware_relations import YEAR
from desalbook.hydraulics.constants import G
from desalbook.trail import constant, dot, relation, total
from desalbook.units import (
    Count,
    ElectricW,
    Factor,
    Fraction,
    Head,
    J,
    JPerM3,
    Kg,
    KgPerM3,
    M3PerS,
    PerS,
    S,
)

__all__ = ["bill_of", "cleaning_mean", "consumer_specific", "dosing_mean", "emissions_of", "energy_of_year",
           "lifting_power", "loss_specific", "mean_wash_power", "of_ideal", "plant_specific", "section_of",
           "share_of_train", "sum_of", "total_of", "year_mean"]

KWH = constant("kWh", 3.6e6, "J", source="definition", title="One kilowatt-hour")
KG = constant("kg", 1.0, "kg", source="definition", title="One kilogram")


@relation("Electric power of the wash, mean of a day", symbol="P_e", unit="W", source="definition")
def mean_wash_power(electric_power: ElectricW, wash_duration: S, washes_per_day: PerS) -> ElectricW:
    """Power times the share of the time it runs."""
    return electric_power * wash_duration * washes_per_day


@relation("Electric power of a lift", symbol="P_e", unit="W", source="definition")
def lifting_power(density: KgPerM3, flow: M3PerS, head: Head, lift_efficiency: Fraction) -> ElectricW:
    """Density, gravity, flow and head over the efficiency of pump and motor."""
    return density * G * flow * head / lift_efficiency


@relation("Flow of one train's share", symbol="Q_1", unit="m^3/s", source="definition")
def share_of_train(raw_flow: M3PerS, trains: Count) -> M3PerS:
    """The plant's flow over the trains that run."""
    return raw_flow / trains


@relation("Electric power of dosing, one train's share", symbol="P_e", unit="W", source="definition")
def dosing_mean(electric_power: ElectricW, dosing_pumps: Count, trains: Count) -> ElectricW:
    """Pumps that run for the plant, shared by its trains."""
    return electric_power * dosing_pumps / trains


@relation("Electric power of cleaning, mean of the year", symbol="P_e", unit="W", source="definition")
def cleaning_mean(heater_power: ElectricW, heating_time: S, pump_power: ElectricW, cleaning_time: S, batches: Count,
                  cleanings: Count) -> ElectricW:
    """Heat and circulation of each batch, spread over a year."""
    return (heater_power * heating_time + pump_power * cleaning_time) * batches * cleanings / YEAR


@relation("Electric power of all machines of a train", symbol="P_e", unit="W", source="definition")
def sum_of(hp_power: ElectricW, booster_power: ElectricW, reject_power: ElectricW, feed_power: ElectricW,
           wash_power: ElectricW, intake_power: ElectricW, dosing_power: ElectricW, product_power: ElectricW,
           cleaning_power: ElectricW, other_power: ElectricW) -> ElectricW:
    """Every consumer once."""
    return (hp_power + booster_power + reject_power + feed_power + wash_power + intake_power + dosing_power
            + product_power + cleaning_power + other_power)


@relation("Electric power of the membrane section", symbol="P_m", unit="W", source="definition")
def section_of(hp_power: ElectricW, booster_power: ElectricW) -> ElectricW:
    """High-pressure pump and booster."""
    return hp_power + booster_power


@relation("Mean of the year", symbol="P_y", unit="W", source="definition")
def year_mean(electric_power: ElectricW, year_share: Fraction) -> ElectricW:
    """Weighted with the share of the year of each corner."""
    return dot(electric_power, year_share)


@relation("Energy per volume of net product", symbol="e_s", unit="J/m^3", source="definition")
def plant_specific(electric_power: ElectricW, trains: Count, availability: Fraction, loss_share: Fraction,
                   net_product: M3PerS) -> JPerM3:
    """Mean power of the running trains over a year, with losses of transformer and cables."""
    return electric_power * trains * availability / (1 - loss_share) / net_product


@relation("Energy per volume of net product, by consumer", symbol="e_i", unit="J/m^3", source="definition")
def consumer_specific(electric_power: ElectricW, trains: Count, availability: Fraction, net_product: M3PerS) -> JPerM3:
    """Mean power of the running trains over a year, at the machine's supply."""
    return electric_power * trains * availability / net_product


@relation("Sum over the consumers", symbol="e", unit="J/m^3", source="definition")
def total_of(specific_energy: JPerM3) -> JPerM3:
    """Each consumer once."""
    return total(specific_energy)


@relation("Losses of transformer and cables, per volume of net product", symbol="e_l", unit="J/m^3",
          source="definition")
def loss_specific(specific_energy: JPerM3, loss_share: Fraction) -> JPerM3:
    """A share of what is bought."""
    return specific_energy * loss_share / (1 - loss_share)


@relation("Energy of a year", symbol="E_y", unit="J", source="definition")
def energy_of_year(specific_energy: JPerM3, net_product: M3PerS) -> J:
    """Net product is that of calendar days: stops are in it."""
    return specific_energy * net_product * YEAR


@relation("Cost of energy in a year", symbol="C_y", unit="1", source="definition",
          note="in the currency of the price; demand charges and taxes left out")
def bill_of(energy: J, tariff: Factor) -> Factor:
    """Kilowatt-hours times their price."""
    return energy / KWH * tariff


@relation("Carbon dioxide of a year", symbol="m_c", unit="kg", source="definition",
          note="of the electricity only")
def emissions_of(energy: J, emission_factor: Factor) -> Kg:
    """Kilowatt-hours times kilograms of each."""
    return energy / KWH * emission_factor * KG


@relation("Least work over energy used", symbol="eta_II", unit="1", source="definition",
          note="least work is per volume of permeate, energy per volume of net product")
def of_ideal(least: JPerM3, specific_energy: JPerM3) -> Fraction:
    """Share of the energy that separation needs by nature."""
    return least / specific_energy
