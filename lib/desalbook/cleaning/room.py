"""The lines of the cleaning skid and of the flush after a stop."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from desalbook.cleaning import relations as r
from desalbook.cleaning.pipe import cleaning_pipe
from desalbook.cleaning.solutions import CAUTION, sequence, solutions
from desalbook.guidelines import guideline
from desalbook.hydraulics.head import pressure_of_head
from desalbook.hydraulics.motor import electric_power_of
from desalbook.hydraulics.pipes import Pipe
from desalbook.hydraulics.pump_relations import hydraulic_power_of, shaft_power_of
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, checked, note, scope

__all__ = ["CAUTION", "CleaningDesign", "FlushDesign", "cleaning", "flush"]


@dataclass(frozen=True)
class CleaningDesign:
    """The cleaning skid: volumes (m3), flow (m3/s), powers (W), chemicals (kg a batch), its run of pipe."""

    vessel_volume: Figure
    vessels_at_once: Figure
    tank_volume: Figure
    flow: Figure
    pump_power: Figure
    heater_power: Figure
    acid_mass: Figure
    alkali_mass: Figure
    turns: Figure
    head: Figure
    warm_up: Figure
    train_time: Figure
    pipe: Pipe


@dataclass(frozen=True)
class FlushDesign:
    """Flush after a stop: volume of one train (m3), of all trains that trip together, flow of one (m3/s)."""

    train_volume: Figure
    volume: Figure
    flow: Figure


def cleaning(
    inp: Callable[[str], Any],
    *,
    vessels: Figure,
    elements_per_vessel: Figure,
    inner_diameter: Figure,
    element_length: Figure,
    density: Figure,
    heat_capacity: Figure,
    temperature_start: Figure,
    element: Mapping[str, Figure] | None = None,
) -> CleaningDesign:
    """Size the cleaning skid.

    Parameters
    ----------
    inp : callable
    vessels : Figure
        Of one train.
    elements_per_vessel, inner_diameter, element_length : Figure
        Inner diameter of the vessel and length of an element, m.
    density, heat_capacity : Figure
        Of the permeate the solution is made of.
    temperature_start : Figure
        K, coldest permeate.
    element : mapping, optional
        ``ph_low``, ``ph_high``, ``ph_cleaning_low``, ``ph_cleaning_high``, ``max_temperature`` of its sheet.
    """
    at_once = inp("cip.vessels_at_once") or vessels
    with scope("vessel"):
        one = r.vessel_contents.at(
            "cip.vessel_volume",
            inner_diameter=inner_diameter,
            element_length=element_length,
            elements_per_vessel=elements_per_vessel,
        )
    bank = r.bank_volume.at("cip.bank_volume", vessel_volume=one, vessels_cleaned=at_once)
    flow = r.cleaning_flow_of.at(
        "cip.flow", flow_per_vessel=inp("cip.flow_per_vessel"), vessels_cleaned=at_once
    )
    pipe = cleaning_pipe(inp, flow)
    pipes = r.pipe_contents.at("cip.pipe_volume", inner_diameter=pipe.diameter, length=pipe.length)
    tank = r.tank_for.at(
        "cip.tank_volume",
        bank_volume=bank,
        pipe_volume=pipes,
        volume_factor=inp("cip.volume_factor"),
        submergence_volume=inp("cip.submergence_volume"),
    )
    r.per_element.at(
        "cip.volume_per_element",
        tank_volume=tank,
        vessels_cleaned=at_once,
        elements_per_vessel=elements_per_vessel,
    )
    number = r.turns.at("cip.turns", vessels=vessels, vessels_cleaned=at_once)
    head = inp("cip.pump_head")
    hydraulic = hydraulic_power_of.at(
        "cip.hydraulic_power",
        flow=flow,
        pressure_rise=pressure_of_head.at("cip.pump_pressure", head=head, density=density),
    )
    power = electric_power_of.at(
        "cip.pump_power",
        shaft_power=shaft_power_of.at(
            "cip.shaft_power", hydraulic_power=hydraulic, pump_efficiency=inp("cip.pump_efficiency")
        ),
        motor_efficiency=inp("cip.motor_efficiency"),
    )
    r.cartridges_for.at("cip.cartridges", cleaning_flow=flow, filter_factor=inp("cip.filter_factor"),
                        cartridge_flow=inp("cip.cartridge_flow"))
    warmer = r.rise.at(
        "cip.temperature_rise",
        temperature=inp("cip.temperature"),
        temperature_start=temperature_start,
    )
    heater = r.heater_power.at(
        "cip.heater_power",
        tank_volume=tank,
        density=density,
        heat_capacity=heat_capacity,
        temperature_rise=warmer,
        heating_time=inp("cip.heating_time"),
        heater_efficiency=inp("cip.heater_efficiency"),
    )
    rating = r.heater_rating_of.at("cip.heater_rating", electric_power=heater, power_step=inp("cip.heater_step"))
    warm = r.warm_up_time.at(
        "cip.warm_up_time",
        tank_volume=tank,
        density=density,
        heat_capacity=heat_capacity,
        temperature_rise=warmer,
        heater_rating=rating,
        heater_efficiency=inp("cip.heater_efficiency"),
    )
    acid = r.chemical_mass.at(
        "cip.acid_mass",
        tank_volume=tank,
        density=density,
        solution_share=inp("cip.acid_share"),
        title="Citric acid for one batch",
    )
    alkali = r.chemical_mass.at(
        "cip.alkali_mass",
        tank_volume=tank,
        density=density,
        solution_share=inp("cip.alkali_share"),
        title="Sodium hydroxide for one batch",
    )
    for key, figure, do in (
        ("cleaning-pressure", inp("cip.pressure"), "lower cip.pressure; cleaning must not make permeate"),
        ("cleaning-temperature", inp("cip.temperature"), "lower cip.temperature, or see the element's sheet"),
        ("cleaning-flow", inp("cip.flow_per_vessel"),
         "raise cip.flow_per_vessel, or clean fewer at once (cip.vessels_at_once)"),
    ):
        _judge(key, figure, do)
    solutions(inp, tank=tank, density=density, acid_mass=acid, element=element or {})
    time = sequence(number)
    return CleaningDesign(one, at_once, tank, flow, power, heater, acid, alkali, number, head, warm, time,
                          pipe)


def _judge(key: str, figure: Figure, do: str) -> None:
    limit, row = guideline(key), table("guidelines")[key]
    name = key.replace("-", "_")
    line = assumed(
        f"limits.{name}",
        limit.value,
        limit.kind,
        title=limit.title,
        source=limit.source,
        place=row.place,
        table="guidelines",
        row=key,
    )
    checked(
        f"{figure.id}.check",
        figure,
        "<=" if limit.sense == "≤" else ">=",
        line,
        title=limit.title,
        do=do,
        source=limit.source,
        caution=CAUTION,
    )


def flush(
    inp: Callable[[str], Any],
    *,
    vessel_volume: Figure,
    vessels: Figure,
    pipe_volume: Figure,
    trains_together: Figure,
) -> FlushDesign:
    """Flush after a stop.

    Parameters
    ----------
    inp : callable
    vessel_volume : Figure
        Empty volume of one vessel, m3 (`CleaningDesign.vessel_volume`).
    vessels, pipe_volume : Figure
        Vessels and high-pressure pipe contents of one train.
    trains_together : Figure
        Trains that trip together, for instance all of them on loss of power.
    """
    with scope("train", count=trains_together):
        one = r.flush_volume.at(
            "flush.train_volume",
            hold_ups=inp("cip.flush_hold_ups"),
            vessel_volume=vessel_volume,
            wet_fraction=inp("cip.wet_fraction"),
            vessels=vessels,
            pipe_volume=pipe_volume,
        )
        flow = r.flush_flow.at("flush.flow", volume=one, time=inp("cip.flush_time"))
    whole = r.flush_store.at("flush.volume", flush_volume=one, trains=trains_together)
    held = inp("cip.flush_tank")
    if held is not None:
        checked("cip.flush_tank.check", held, ">=", whole, title="Flush tank",
                do="enlarge it: trains that trip together are flushed together, chlorine-free", caution=CAUTION)
    water: Choice = inp("cip.flush_water")
    free = water == "permeate"
    note(
        "flush.chlorine",
        title="Flush water without chlorine",
        verdict="holds" if free else "caution",
        why="it is taken before post-treatment"
        if free
        else "product may carry chlorine, and what stays in the elements for days must hold no oxidant",
        do="take the flush before chlorination, or prove each flush free of oxidant",
        inputs={"water": water},
    )
    return FlushDesign(one, whole, flow)
