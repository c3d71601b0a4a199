"""Chemicals without a dosing pump of their own: what remineralises the product, and what cleans the membranes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from desalbook.balances import YEAR
from desalbook.dosing.chemical_tanks import cost_of, price_of
from desalbook.dosing.chemicals import Chemical, by_role, chemical
from desalbook.dosing.dosing_line import substance_rate
from desalbook.plant.operations import UnitOperations
from desalbook.product.routes import REAGENTS
from desalbook.trail import Figure, assumed, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import Count, Factor, Fraction, Kg, KgPerS, MassFraction

__all__ = ["cleaning_in_year", "mass_in_year", "minerals"]

CLEANING_ROLES = {"alkali": "alkali", "acid": "cleaning acid"}
"""Roles of the chemicals that cleaning batches are made up of, by step."""


@relation("Mineral bought in a year", symbol="m_y", unit="kg", source="definition")
def mass_in_year(mass_flow: KgPerS, strength: MassFraction, availability: Fraction) -> Kg:
    """Mineral bought in a year, as delivered.

    Mean rate of the pure substance over its strength, over a year with the stops in it; what a backwash of the bed
    carries off comes on top.
    """
    return mass_flow / strength * availability * YEAR


@relation("Cleaning chemical of a year", symbol="m_cy", unit="kg", source="definition")
def cleaning_in_year(batch_mass: Kg, strength: MassFraction, cleaning_turns: Factor, cleanings: Factor,
                     trains: Count) -> Kg:
    """Cleaning chemical bought in a year, as delivered.

    A fresh batch for each bank of each train at each cleaning; rinses take none.
    """
    return batch_mass / strength * cleaning_turns * cleanings * trains


def minerals(inp: Inputs, ops: UnitOperations, empty: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Rows of the schedule for minerals and cleaning chemicals; rates of the pure substance, use as bought.

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
            of = chemical(REAGENTS[name].chemical, f"minerals[{name}]")
            rate = substance_rate.at(f"minerals[{name}].mass_rate", flow=flow, dose=dose,
                                     title=f"Mass rate, {REAGENTS[name].title.lower()}")
            used = mass_in_year.at(f"minerals[{name}].yearly_use", mass_flow=rate, availability=duty.availability,
                                   strength=_strength(f"minerals[{name}].strength", of))
            ops.minerals[name] = rate
            rows.append(dict(empty) | _bought(f"minerals[{name}]", of, used) | {
                "id": rate.id, "key": name, "title": REAGENTS[name].title, "dose": dose, "mean_dose": dose,
                "flow": flow, "mass_rate": rate, "mean_mass_rate": rate})
    for name, mass in clean.batches.items():
        of = by_role(CLEANING_ROLES[name])[0]
        used = cleaning_in_year.at(f"cip.{name}_yearly", batch_mass=mass, cleaning_turns=clean.turns,
                                   strength=_strength(f"cip.{name}_strength", of),
                                   cleanings=ops.cleanings, trains=duty.trains)
        rows.append(dict(empty) | _bought(f"cip.{name}", of, used) | {
            "id": used.id, "key": f"cip_{name}", "title": f"Cleaning, {name} step"})
    return rows


def _strength(id: str, of: Chemical) -> Figure:
    cell = of.row["strength"]
    return assumed(id, cell.value, cell.kind, title=f"{cell.title}, {of.row.title.partition(',')[0].lower()}",
                   symbol=cell.symbol,
                   text=cell.text, source=cell.source, place=cell.place, table="chemicals", row=of.key)


def _bought(prefix: str, of: Chemical, used: Figure) -> dict[str, Any]:
    """Use, cost and words of a chemical as it is bought."""
    cost = cost_of.at(f"{prefix}{'_' if prefix.startswith('cip') else '.'}yearly_cost", solution_used=used,
                      price=price_of(f"{prefix}{'_' if prefix.startswith('cip') else '.'}price", of))
    return {"chemical": of.row.title, "yearly_use": used, "yearly_cost": cost, "hazard": of.row["hazard"].value,
            "caution": of.row["caution"].value}
