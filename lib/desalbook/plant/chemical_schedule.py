"""One schedule of all chemicals: dose, flow, rates, use, cost, tanks and deliveries, each chemical dose once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from desalbook.balances import sum_of_costs
from desalbook.dosing import (
    INTO_PRODUCT,
    MAY_BE_ABSENT,
    PLACES,
    Dose,
    Hardware,
    Place,
    hardware,
    shared_limits,
    side_by_side,
)
from desalbook.hydraulics.line_list import PipeLine
from desalbook.plant.design_pressures import Section
from desalbook.plant.minerals import minerals
from desalbook.plant.operations import UnitOperations
from desalbook.trail import Figure, picked, scope
from desalbook.trail.corner import Corner
from desalbook.trail.inputs import Inputs

__all__ = ["COLUMNS", "chemical_schedule"]

COLUMNS = ("id", "key", "title", "chemical", "dose", "mean_dose", "basis", "flow", "mass_rate", "mean_mass_rate",
           "strength", "solution_rate", "lowest_rate", "highest_rate", "pump_capacity", "turndown", "monthly_use",
           "yearly_use", "yearly_cost", "day_tank", "store", "bund", "delivery", "delivery_interval", "hazard",
           "caution")
"""Columns of `Plant.chemicals`: coherent SI; rates of solution as fed, use as bought, cost in the design's currency."""
EMPTY = {k: "" if k in ("id", "key", "title", "chemical", "basis", "delivery", "hazard", "caution") else math.nan
         for k in COLUMNS}
"""A row of which nothing is known: minerals and cleaning chemicals have no pump and no tank here."""


def chemical_schedule(inp: Inputs, ops: UnitOperations, lines: Mapping[str, PipeLine],
                      sections: Mapping[str, Section]) -> list[dict[str, Any]]:
    """Hardware of each dosing line, and its row of the schedule.

    Parameters
    ----------
    inp : Inputs
    ops : UnitOperations
        Of the walk; its rates of minerals are filled.
    lines : mapping
        Runs of pipe by name.
    sections : mapping
        Sections of one design pressure by name.

    Returns
    -------
    list of dict
        Rows with the keys `COLUMNS`; ``id`` is the line of the mass rate.
    """
    a, d, product = ops.array, ops.duty, sections.get("product")
    sites = {"feed": Place(lines["feed"].pipe.diameter, a.pretreated_flow, sections["feed"].pressures.credible),
             "product": Place(None, d.train_permeate, inp.number("membrane.permeate_pressure") if product is None
                              else product.pressures.credible)}
    names = inp.names("injection.points")
    rows = []
    dosed = ops.doses.lines()
    second = a.plan.second
    own = {}
    if second is not None:
        feed = a.staged[Corner("design", "aged")].streams["second_feed"]
        own["interpass_ph"] = Place(None, feed.volume_flow, second["suction"])
    decides = [] if second is None else [x for x in (second["ph"], second["takes"]) if x is not None]
    decides += [inp(f"{n}.present") for n in (*MAY_BE_ABSENT, "post_chlorination")]
    because = [*[x for x in decides if x is not None], inp("duty.product_use"), inp("product.ph_adjustment")]
    side_by_side(inp, inp.names("chemical_storage.bays"), dosed, because=because)
    with scope("plant", because=because):
        if dosed:
            shared_limits(inp)
    for name, line in dosed.items():
        place = own.get(name) or sites["product" if name in INTO_PRODUCT else "feed"]
        with scope(because=[inp("product_pump.present")] if name in INTO_PRODUCT and name not in own else []):
            of = hardware(inp, name, line, place,
                          availability=d.availability, places=names)
        rows.append(_row(name, line, of))
    rows += minerals(inp, ops, EMPTY)
    with scope("plant", because=[*because, inp("product.remineralisation")]):
        _cost_of_all(rows)
    return [{k: float(v) if isinstance(v, Figure) else str(v) if isinstance(v, str) else v for k, v in row.items()}
            for row in rows]


def _cost_of_all(rows: list[dict[str, Any]]) -> None:
    costs = {row["key"]: row["yearly_cost"] for row in rows}
    column = picked("chemicals.yearly_costs", [float(v) for v in costs.values()], "money",
                    title="Cost of a year by chemical", symbol="C_y", rule="the chemicals in order", inputs=dict(costs),
                    axis="chemical", keys=tuple(costs),
                    candidates=[{"key": k, "value": float(v), "won": True} for k, v in costs.items()])
    sum_of_costs.at("chemicals.yearly_cost", costs=column, title="Chemicals of a year", symbol="C_c")


def _row(name: str, line: Dose, of: Hardware) -> dict[str, Any]:
    title = PLACES[name]
    row = {
        "id": line.mass_rate.id, "key": name, "title": title, "chemical": of.row.title,
        "dose": line.dose, "mean_dose": line.mean_dose, "basis": of.row["dose_basis"].value, "flow": line.flow,
        "mass_rate": line.mass_rate, "mean_mass_rate": line.mean_mass_rate, "strength": line.solution.strength,
        "solution_rate": line.feed_rate, "lowest_rate": line.feed_rate_minimum,
        "highest_rate": line.feed_rate_maximum, "pump_capacity": of.pump_capacity, "turndown": of.turndown,
        "monthly_use": of.monthly_use, "yearly_use": of.yearly_use, "yearly_cost": of.yearly_cost,
        "day_tank": of.day_tank, "store": of.store, "bund": of.bund, "delivery": of.delivery,
        "delivery_interval": of.delivery_interval, "hazard": of.row["hazard"].value,
        "caution": of.row["caution"].value,
    }
    return row
