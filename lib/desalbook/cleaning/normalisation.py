"""Normalisation: readings brought to one condition by the standard practice, and when to clean.

The osmotic formula is the standard's own, for sodium chloride; on seawater it lies some 13 % high. It serves to
compare a plant with itself, never to design one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from desalbook.trail import Figure, constant, log, relation
from desalbook.trail.limits import check_limit
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
from desalbook.water.seawater import osmotic_d4516

__all__ = [
    "Normalised",
    "Reading",
    "feed_brine_average",
    "flow_change",
    "normalise",
    "normalised_drop",
    "normalised_flow",
    "normalised_passage",
    "passage_of",
    "practice_driving_pressure",
    "practice_temperature_factor",
    "rise_of",
    "triggers",
]

Net = Annotated[float, KINDS["pressure difference"]]
KELVIN = constant("T_1", 1.0, "K", source="definition", title="One kelvin")
REFERENCE = constant("T_ref", 298.15, "K", source="definition", title="25 degC")
PRACTICE = "astm-d4516"


@relation("Average concentration between feed and concentrate", symbol="C_fb", unit="kg/m^3", source=PRACTICE)
def feed_brine_average(feed_concentration: Concentration, recovery: Fraction) -> Concentration:
    """Average concentration between feed and concentrate, the logarithmic mean along the elements.

    For salt that hardly passes; at a recovery near zero it is the feed's.
    """
    return feed_concentration * log(1 / (1 - recovery)) / recovery


@relation("Temperature factor, generic", symbol="TCF", unit="1", source=PRACTICE)
def practice_temperature_factor(temperature: K) -> Factor:
    """Temperature correction factor where no maker gives one: three per cent a degree from 25 degC.

    A maker's own curve comes first; below 10 degC the two part by several per cent.
    """
    return 1.03 ** ((temperature - REFERENCE) / KELVIN)


@relation("Net driving pressure by the standard practice", symbol="NDP", unit="Pa", source=PRACTICE)
def practice_driving_pressure(
    feed_pressure: GaugePa, pressure_drop: DifferencePa, permeate_pressure: GaugePa, osmotic_feed: OsmoticPa,
    osmotic_permeate: OsmoticPa,
) -> Net:
    """Net driving pressure by the standard practice, with half of the pressure drop lost on average.

    A train in the mean: along it the driving pressure falls by more than half.
    """
    return feed_pressure - pressure_drop / 2 - permeate_pressure - osmotic_feed + osmotic_permeate


@relation("Normalised permeate flow", symbol="Q_ps", unit="m^3/s", source=PRACTICE)
def normalised_flow(
    permeate_flow: M3PerS, net_driving_pressure: Net, temperature_factor: Factor, standard_driving_pressure: Net,
    standard_temperature_factor: Factor,
) -> M3PerS:
    """Normalised permeate flow: what the elements would give at the standard condition.

    Compares a plant with itself; membranes that were exchanged start a new record.
    """
    return (
        permeate_flow
        * standard_driving_pressure
        * standard_temperature_factor
        / (net_driving_pressure * temperature_factor)
    )


@relation("Salt passage", symbol="SP", unit="1", source=PRACTICE)
def passage_of(permeate_concentration: Concentration, feed_concentration: Concentration) -> Fraction:
    """Salt passage: permeate over feed.

    The feed's concentration, not the average: rises with recovery though the membrane is the same.
    """
    return permeate_concentration / feed_concentration


@relation("Normalised salt passage", symbol="SP_s", unit="1", source=PRACTICE,
          note="salt's temperature factor taken as that of water where no other is known")
def normalised_passage(
    salt_passage: Fraction, permeate_flow: M3PerS, standard_flow: M3PerS, temperature_factor: Factor,
    standard_temperature_factor: Factor, average_concentration: Concentration,
    standard_average_concentration: Concentration, feed_concentration: Concentration,
    standard_feed_concentration: Concentration,
) -> Fraction:
    """Normalised salt passage: salt flux follows the average concentration, dilution the permeate flow.

    The salt's temperature factor is taken as that of water where no other is known.
    """
    return (
        salt_passage
        * (permeate_flow / standard_flow)
        * (standard_temperature_factor / temperature_factor)
        * (standard_average_concentration / average_concentration)
        * (feed_concentration / standard_feed_concentration)
    )


@relation("Normalised pressure drop", symbol="Delta_p_s", unit="Pa", source="common-practice",
          note="turbulence of the spacer: power 1.5 of the mean flow, feed and concentrate")
def normalised_drop(
    pressure_drop: DifferencePa, feed_flow: M3PerS, concentrate_flow: M3PerS, standard_feed_flow: M3PerS,
    standard_concentrate_flow: M3PerS,
) -> DifferencePa:
    """Normalised pressure drop of the elements, at the flows of the standard condition.

    Power 1.5 of the mean flow of feed and brine; viscosity, hence temperature, is neglected.
    """
    return (
        pressure_drop
        * ((standard_feed_flow + standard_concentrate_flow) / (feed_flow + concentrate_flow)) ** 1.5
    )


@relation("Loss of normalised flow", symbol="Delta_Q", unit="1", source="definition")
def flow_change(standard_flow: M3PerS, flow: M3PerS) -> Fraction:
    """Loss of normalised flow against the clean plant.

    Negative where the plant gives more than when new.
    """
    return 1 - flow / standard_flow


@relation("Increase over the clean plant", symbol="Delta_s", unit="1", source="definition")
def rise_of(reading: Factor, clean_reading: Factor) -> Fraction:
    """Rise of a normalised reading over the clean plant, relative.

    Of salt passage or pressure drop, both at the standard condition.
    """
    return reading / clean_reading - 1


@dataclass(frozen=True)
class Reading:
    """One set of readings of a train: gauge pressures and pressure drop (Pa), concentrations (kg/m3), recovery,
    permeate flow (m3/s), temperature (K)."""

    feed_pressure: Figure
    pressure_drop: Figure
    permeate_pressure: Figure
    feed_concentration: Figure
    permeate_concentration: Figure
    recovery: Figure
    permeate_flow: Figure
    temperature: Figure


@dataclass(frozen=True)
class Normalised:
    """Flow (m3/s), salt passage and driving pressure (Pa) of a reading at the standard condition."""

    flow: Figure
    passage: Figure
    driving_pressure: Figure


def _state(id: str, x: Reading) -> tuple[Figure, Figure, Figure]:
    mean = feed_brine_average.at(f"{id}.average", feed_concentration=x.feed_concentration, recovery=x.recovery)
    net = practice_driving_pressure.at(
        f"{id}.driving_pressure", feed_pressure=x.feed_pressure, pressure_drop=x.pressure_drop,
        permeate_pressure=x.permeate_pressure,
        osmotic_feed=osmotic_d4516.at(f"{id}.osmotic_feed", concentration=mean, temperature=x.temperature),
        osmotic_permeate=osmotic_d4516.at(f"{id}.osmotic_permeate", concentration=x.permeate_concentration,
                                            temperature=x.temperature))
    return mean, net, practice_temperature_factor.at(f"{id}.temperature_factor", temperature=x.temperature)


def normalise(id: str, actual: Reading, standard: Reading) -> Normalised:
    """Bring a reading to the standard condition by the standard practice.

    Parameters
    ----------
    id : str
        Start of the ids of the lines.
    actual, standard : Reading
        The standard reading is that of the clean, new plant.
    """
    mean_s, net_s, factor_s = _state(f"{id}.standard", standard)
    mean_a, net_a, factor_a = _state(f"{id}.actual", actual)
    flow = normalised_flow.at(f"{id}.flow", permeate_flow=actual.permeate_flow, net_driving_pressure=net_a,
                                temperature_factor=factor_a, standard_driving_pressure=net_s,
                                standard_temperature_factor=factor_s)
    passage = passage_of.at(f"{id}.passage_actual", permeate_concentration=actual.permeate_concentration,
                              feed_concentration=actual.feed_concentration)
    held = normalised_passage.at(
        f"{id}.passage", salt_passage=passage, permeate_flow=actual.permeate_flow, standard_flow=standard.permeate_flow,
        temperature_factor=factor_a, standard_temperature_factor=factor_s, average_concentration=mean_a,
        standard_average_concentration=mean_s, feed_concentration=actual.feed_concentration,
        standard_feed_concentration=standard.feed_concentration)
    return Normalised(flow, held, net_a)


def triggers(id: str, *, loss: Figure, passage_rise: Figure, drop_rise: Figure) -> None:
    """Hold loss of flow, rise of salt passage and rise of pressure drop against what asks for a cleaning."""
    for name, figure, key in (("flow", loss, "cleaning-flow-loss"), ("passage", passage_rise, "cleaning-salt-rise"),
                              ("drop", drop_rise, "cleaning-pressure-drop-rise")):
        check_limit(f"{id}.check_{name}", figure, key,
                    do="find the cause, then clean soon: older deposits are harder to remove")
