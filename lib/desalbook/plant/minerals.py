"""Chemicals without a dosing pump of their own: what remineralises the product, and what cleans the membranes."""

from __future__ import annotations

from typing import Any

from desalbook.dosing.chemical_tanks import YEAR
from desalbook.dosing.dosing_line import substance_rate
from desalbook.plant.operations import UnitOperations
from desalbook.product.routes import REAGENTS
from desalbook.trail import Figure, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import Count, Factor, Fraction, Kg, KgPerS

__all__ = ["cleaning_in_year", "mass_in_year", "minerals"]



@relation("Mineral used in a year", symbol="m_y", unit="kg", source="definition")
def mass_in_year(mass_flow: KgPerS, availability: Fraction) -> Kg:
    """Mineral used in a year.

    Mean rate over a year with the stops in it; what a backwash of the bed carries off comes on top.
    """
    return mass_flow * availability * YEAR


@relation("Cleaning chemical of a year", symbol="m_cy", unit="kg", source="definition")
def cleaning_in_year(batch_mass: Kg, cleaning_turns: Factor, cleanings: Count, trains: Count) -> Kg:
    """Cleaning chemical used in a year.

    A fresh batch for each bank of each train at each cleaning; rinses take none.
    """
    return batch_mass * cleaning_turns * cleanings * trains


def minerals(inp: Inputs, ops: UnitOperations, empty: dict[str, Any]) -> list[dict[str, Any]]:
    """Rows of the schedule for minerals and cleaning chemicals; rates of the pure substance.

    Parameters
    ----------
    inp : Inputs
    ops : UnitOperations
        Of the walk; ``minerals`` is filled, the mass rates by name, for the streams.
    empty : mapping
        A row with nothing in it.
    """
    duty, finish, clean = ops.duty, ops.finish, ops.cleaning
    flow, rows = ops.product_flow, []
    with scope(because=[inp.choice("product.remineralisation"), inp.choice("duty.product_use")]):
        for name, dose in finish.doses.items():
            rate = substance_rate.at(f"minerals[{name}].mass_rate", flow=flow, dose=dose,
                                     title=f"Mass rate, {REAGENTS[name].title.lower()}")
            used = mass_in_year.at(f"minerals[{name}].yearly_use", mass_flow=rate, availability=duty.availability)
            ops.minerals[name] = rate
            rows.append(empty | {"id": rate.id, "key": name, "title": REAGENTS[name].title,
                                 "chemical": "as the pure substance", "dose": dose, "mean_dose": dose,
                                 "flow": flow, "mass_rate": rate, "mean_mass_rate": rate, "yearly_use": used})
    for name, mass in clean.batches.items():
        used = cleaning_in_year.at(f"cip.{name}_yearly", batch_mass=mass, cleaning_turns=clean.turns,
                                   cleanings=inp.number("energy.cleanings"), trains=duty.trains)
        rows.append(empty | {"id": used.id, "key": f"cip_{name}", "title": f"Cleaning, {name} step",
                             "chemical": mass.title, "yearly_use": used})
    return [{k: float(v) if isinstance(v, Figure) else v for k, v in row.items()} for row in rows]
