"""Normalised performance by the standard practice: flow, salt passage and pressure drop at one condition.

The osmotic formula is the standard's own, for sodium chloride; on sea water it lies some 13 % high. It serves to
compare a plant with itself, never to design one.
"""

from __future__ import annotations

from typing import Annotated

from desalbook.trail import constant, log, relation
from desalbook.units import (
    KINDS,
    Concentration,
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    K,
    M3PerS,
    OsmoticPa,
)

__all__ = ["feed_brine_average", "flow_change", "normalised_drop", "normalised_flow", "normalised_passage",
           "passage_of", "practice_driving_pressure", "practice_osmotic", "practice_temperature_factor", "rise_of"]

Net = Annotated[float, KINDS["pressure difference"]]
KELVIN = constant("T_1", 1.0, "K", source="definition", title="One kelvin")
REFERENCE = constant("T_ref", 298.15, "K", source="definition", title="25 degC")
OSMOTIC = constant("k_pi", 265.4, "Pa m^3/(kg K)", source="astm-d4516", title="Factor of the osmotic formula")
LITRE = constant("rho_1", 1000.0, "kg/m^3", source="definition", title="One kilogram per litre")
PRACTICE = {"source": "astm-d4516"}


@relation("Average concentration between feed and brine", symbol="C_fb", unit="kg/m^3", **PRACTICE)
def feed_brine_average(feed_concentration: Concentration, recovery: Fraction) -> Concentration:
    """Logarithmic mean along the elements."""
    return feed_concentration * log(1 / (1 - recovery)) / recovery


@relation("Osmotic pressure by the standard practice", symbol="pi", unit="Pa", **PRACTICE,
          note="sodium chloride, density of one kilogram per litre; some 13 % high for sea water")
def practice_osmotic(concentration: Concentration, temperature: K) -> OsmoticPa:
    """0.2654 C (t + 273.15) / (1000 - C/1000) kPa, C in mg/L."""
    return OSMOTIC * concentration * temperature / (1 - concentration / LITRE)


@relation("Temperature factor, where no maker gives one", symbol="TCF", unit="1", **PRACTICE)
def practice_temperature_factor(temperature: K) -> Factor:
    """Three per cent a degree from 25 degC."""
    return 1.03 ** ((temperature - REFERENCE) / KELVIN)


@relation("Net driving pressure by the standard practice", symbol="NDP", unit="Pa", **PRACTICE)
def practice_driving_pressure(
    feed_pressure: GaugePa, pressure_drop: DifferencePa, permeate_pressure: GaugePa, osmotic_feed: OsmoticPa,
    osmotic_permeate: OsmoticPa,
) -> Net:
    """Half of the pressure drop is lost on average."""
    return feed_pressure - pressure_drop / 2 - permeate_pressure - osmotic_feed + osmotic_permeate


@relation("Normalised permeate flow", symbol="Q_ps", unit="m^3/s", **PRACTICE)
def normalised_flow(
    permeate_flow: M3PerS, net_driving_pressure: Net, temperature_factor: Factor, standard_driving_pressure: Net,
    standard_temperature_factor: Factor,
) -> M3PerS:
    """What the elements would give at the standard condition."""
    return (
        permeate_flow
        * standard_driving_pressure
        * standard_temperature_factor
        / (net_driving_pressure * temperature_factor)
    )


@relation("Salt passage", symbol="SP", unit="1", **PRACTICE)
def passage_of(permeate_concentration: Concentration, feed_concentration: Concentration) -> Fraction:
    """Permeate over feed."""
    return permeate_concentration / feed_concentration


@relation("Normalised salt passage", symbol="SP_s", unit="1", **PRACTICE,
          note="salt's temperature factor taken as that of water where no other is known")
def normalised_passage(
    salt_passage: Fraction, permeate_flow: M3PerS, standard_flow: M3PerS, temperature_factor: Factor,
    standard_temperature_factor: Factor, average_concentration: Concentration,
    standard_average_concentration: Concentration, feed_concentration: Concentration,
    standard_feed_concentration: Concentration,
) -> Fraction:
    """Salt flux follows the average concentration, its dilution the permeate flow."""
    return (
        salt_passage
        * (permeate_flow / standard_flow)
        * (standard_temperature_factor / temperature_factor)
        * (standard_average_concentration / average_concentration)
        * (feed_concentration / standard_feed_concentration)
    )


@relation("Normalised pressure drop", symbol="Delta_p_s", unit="Pa", source="common-practice",
          note="turbulence of the spacer: power 1.5 of the mean flow, feed and brine")
def normalised_drop(
    pressure_drop: DifferencePa, feed_flow: M3PerS, concentrate_flow: M3PerS, standard_feed_flow: M3PerS,
    standard_concentrate_flow: M3PerS,
) -> DifferencePa:
    """At the flows of the standard condition."""
    return (
        pressure_drop
        * ((standard_feed_flow + standard_concentrate_flow) / (feed_flow + concentrate_flow)) ** 1.5
    )


@relation("Loss of normalised flow", symbol="Delta_Q", unit="1", source="definition")
def flow_change(standard_flow: M3PerS, flow: M3PerS) -> Fraction:
    """Against the clean plant."""
    return 1 - flow / standard_flow


@relation("Rise over the clean plant", symbol="Delta_s", unit="1", source="definition")
def rise_of(reading: Factor, clean_reading: Factor) -> Fraction:
    """Relative."""
    return reading / clean_reading - 1
