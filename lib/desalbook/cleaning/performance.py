"""When to clean: readings brought to one condition and held against the clean plant."""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.cleaning import performance_relations as q
from desalbook.guidelines import guideline, guideline_place
from desalbook.trail import Figure, assumed, checked

__all__ = ["Normalised", "Reading", "normalise", "triggers"]


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
    mean = q.feed_brine_average.at(f"{id}.average", feed_concentration=x.feed_concentration, recovery=x.recovery)
    net = q.practice_driving_pressure.at(
        f"{id}.driving_pressure", feed_pressure=x.feed_pressure, pressure_drop=x.pressure_drop,
        permeate_pressure=x.permeate_pressure,
        osmotic_feed=q.practice_osmotic.at(f"{id}.osmotic_feed", concentration=mean, temperature=x.temperature),
        osmotic_permeate=q.practice_osmotic.at(f"{id}.osmotic_permeate", concentration=x.permeate_concentration,
                                               temperature=x.temperature))
    return mean, net, q.practice_temperature_factor.at(f"{id}.temperature_factor", temperature=x.temperature)


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
    flow = q.normalised_flow.at(f"{id}.flow", permeate_flow=actual.permeate_flow, net_driving_pressure=net_a,
                                temperature_factor=factor_a, standard_driving_pressure=net_s,
                                standard_temperature_factor=factor_s)
    passage = q.passage_of.at(f"{id}.passage_actual", permeate_concentration=actual.permeate_concentration,
                              feed_concentration=actual.feed_concentration)
    held = q.normalised_passage.at(
        f"{id}.passage", salt_passage=passage, permeate_flow=actual.permeate_flow, standard_flow=standard.permeate_flow,
        temperature_factor=factor_a, standard_temperature_factor=factor_s, average_concentration=mean_a,
        standard_average_concentration=mean_s, feed_concentration=actual.feed_concentration,
        standard_feed_concentration=standard.feed_concentration)
    return Normalised(flow, held, net_a)


def triggers(id: str, *, loss: Figure, passage_rise: Figure, drop_rise: Figure) -> None:
    """Hold loss of flow, rise of salt passage and rise of pressure drop against what asks for a cleaning."""
    for name, figure, key in (("flow", loss, "cleaning-flow-loss"), ("passage", passage_rise, "cleaning-salt-rise"),
                              ("drop", drop_rise, "cleaning-pressure-drop-rise")):
        limit = guideline(key)
        line = assumed(f"limits.{key.replace('-', '_')}", limit.value, limit.kind, title=limit.title,
                       source=limit.source, place=guideline_place(key), table="guidelines", row=key)
        checked(f"{id}.check_{name}", figure, "<=", line, title=limit.title,
                do="clean now: what is left longer is harder to remove; find the cause first", source=limit.source)
