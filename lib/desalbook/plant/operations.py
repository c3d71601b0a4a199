"""What the walk knows of each unit operation once the water has passed it: the results that later steps read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from desalbook.cleaning import CleaningDesign, FlushDesign
from desalbook.dosing import MAY_BE_ABSENT, Doses
from desalbook.duty import Availability, DutyFlows
from desalbook.hydraulics.energy_recovery import Device
from desalbook.hydraulics.pumps import Pump
from desalbook.plant.array import Array
from desalbook.plant.feedwater import FeedWater
from desalbook.plant.pressure import Pressure
from desalbook.plant.pretreat import Pretreated
from desalbook.plant.scaling import Scaling
from desalbook.plant.waters import Waters
from desalbook.product import Finish
from desalbook.tables import table
from desalbook.trail import Figure
from desalbook.trail.inputs import Inputs

__all__ = ["Boron", "UnitOperations", "decides_on_dosing", "decides_on_machines", "dosing_title"]


def dosing_title(name: str) -> str:
    """Title of the dosing pump of a dosing line."""
    rows = table("outages")
    return rows[f"dosing_{name}"].title if f"dosing_{name}" in rows else f"Dosing pump, {name.replace('_', ' ')}"


@dataclass(frozen=True)
class Boron:
    """Boron of the product (kg/m3 as B): expected in the governing case, and with the margin of the guarantee."""

    expected: Figure
    guaranteed: Figure


@dataclass(kw_only=True)
class UnitOperations:
    """Results by unit operation, from raw water to product.

    Parameters
    ----------
    duty, waters, feed, array, scaling, pretreated, pressure, device, finish, cleaning, flush
        What each room answered.
    product_flow, product_tank : Figure
        Product of all trains, m3/s; one product tank, m3.
    boron : Boron
    fouling_index : Figure
        Of the membrane feed.
    cleanings : Figure
        Of a train in a year.
    available : Availability
        By the outage data of the trains.
    doses : Doses
        Dosing steps; None where a step is absent.
    intake_pump : Pump or None
        None where raw water arrives by itself.
    minerals : dict
        Mass rates of what remineralises the product, by name.
    """

    duty: DutyFlows
    waters: Waters
    feed: FeedWater
    array: Array
    scaling: Scaling
    pretreated: Pretreated
    pressure: Pressure
    device: Device
    doses: Doses
    intake_pump: Pump | None
    finish: Finish
    product_flow: Figure
    product_tank: Figure
    boron: Boron
    fouling_index: Figure
    cleaning: CleaningDesign
    flush: FlushDesign
    cleanings: Figure
    available: Availability
    minerals: dict[str, Figure] = field(default_factory=dict)


def decides_on_machines(inp: Inputs, ops: UnitOperations) -> list[Any]:
    """What decides which equipment a plant has, and which of it has a speed drive."""
    return [inp("intake_pump.present"), ops.pretreated.present, inp("product_pump.present"), inp("flush_pump.present"),
            inp("filters.backwash_source"), inp("filters.scour"), ops.device.choice, inp("feed_pump.drive"),
            inp("hp_pump.drive"), inp("booster.drive"), inp("backwash_pump.drive"), *decides_on_dosing(inp, ops)]


def decides_on_dosing(inp: Inputs, ops: UnitOperations) -> list[Any]:
    """What decides which dosing lines the plant has."""
    second = ops.array.plan.second
    alkali = [] if second is None or second["ph"] is None else [second["ph"]]
    dose = ops.finish.sodium_hydroxide_dose
    return [*[inp(f"{n}.present") for n in MAY_BE_ABSENT], inp("product.ph_adjustment"), inp("duty.product_use"),
            *alkali, *([] if dose is None else [dose])]
