"""Energy meters of a plant: its year of energy and its flow meter of the product, handed to the electrical room."""

from __future__ import annotations

from desalbook.electrical import Installation
from desalbook.electrical.metering import Metering, energy_fraction, judge_metering, metering
from desalbook.plant.control import Controls
from desalbook.plant.energy import EnergyYear
from desalbook.plant.operations import UnitOperations, decides_on_machines
from desalbook.trail import current, picked, scope
from desalbook.trail.inputs import Inputs

__all__ = ["energy_meters", "proved_energy"]

_FLOWS = ("product-flow", "permeate-flow")
"""Measuring places whose flow divides the energy, the first that the plant has."""


def energy_meters(inp: Inputs, ops: UnitOperations, used: EnergyYear, supplied: Installation) -> Metering:
    """Energy meters: a consumer of the year has the share of its load.

    Dosing pumps and other loads that the year knows by several names, or by none, have no meter of their own.
    """
    with scope("plant", because=decides_on_machines(inp, ops)):
        shares = energy_fraction.at("power.energy_fraction", energy=current()["energy.consumers"],
                                    year_energy=used.year)
        by = {name: shares[key] for key in shares.keys for name in (key, key.replace("-", "_"))}
        loads = supplied.loads.loads
        column = picked("power.load_fraction", [float(by[k]) if k in by else 0.0 for k in loads], "fraction",
                        title="Fraction of the energy, by load", symbol="x_E", rule="of the consumer of the same name",
                        candidates=[{"key": k, "value": float(by[k]) if k in by else 0.0, "won": k in by}
                                    for k in loads], inputs={"share": shares}, axis="load", keys=tuple(loads))
        return metering(inp, supplied, column, ops.duty.trains)


def proved_energy(inp: Inputs, ops: UnitOperations, used: EnergyYear, of: Metering, controlled: Controls) -> None:
    """How well meters and flow meter prove the guaranteed specific energy."""
    at = {x.key: x for x in controlled.instruments}
    flow = next(at[key] for key in _FLOWS if key in at)
    with scope("plant", because=[*flow.place.because, *decides_on_machines(inp, ops)]):
        judge_metering(inp, of, used.plant, current()[f"control.accuracy[{flow.key}]"], flow.range_high,
                       flow.place.high, inp.number("guarantees.energy"))
