"""What the plant gives back to the sea: reject, its jet, the solids of the wash, and the balance of it all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from desalbook.hydraulics.pipes import minimum_diameter, pipe_velocity
from desalbook.plant import concentrate_relations as c
from desalbook.plant.operations import UnitOperations
from desalbook.plant.streams import CORNER
from desalbook.trail import Column, Figure, assumed, checked, engine, note, scope
from desalbook.water.phreeqc_bridge import Speciation, Water, speciate

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["CAUTION", "Concentrate", "balance", "concentrate"]

CAUTION = ("Discharge needs a permit. The jet's relation holds for one jet at 60 degrees in still, deep water; "
           "currents, slopes and neighbouring jets need a study of the site.")
COMES_IN, GOES_OUT = ("raw",), ("permeate", "reject", "wash", "rinse")


@dataclass(frozen=True)
class Concentrate:
    """Reject at the outfall: ions (mol/kg), pH, residual oxidant (kg/m3 as Cl2), salinity, jet."""

    ions: Column
    ph: Figure
    chlorine: Figure
    salinity: Figure
    froude: Figure
    rise: Figure
    impact: Figure
    dilution: Figure
    near_field: Figure


@lru_cache(maxsize=128)
def _concentrated(feed: Water, factor: float, gone: float, temperature: float) -> Speciation:
    """Alkalinity and carbon of the feed after all doses, concentrated, less the carbon dioxide that passed."""
    strong = feed.scaled(factor)
    assert strong.carbon is not None
    return speciate(replace(strong, carbon=strong.carbon - gone, ph=None), temperature, "brine")


def concentrate(inp: Any, ops: UnitOperations) -> Concentrate:
    """Judge the reject at the outfall, at the design temperature with aged membranes.

    Parameters
    ----------
    inp : callable
    ops : UnitOperations
        Of the walk.
    """
    a, w, d, fed = ops.array, ops.waters, ops.duty, ops.feed
    r, at, an = a.by_corner[CORNER], w.at["design"], w.analysis
    ions: Column = a.concentrate_ions[CORNER]
    factor = c.concentration_by_chloride.at("concentrate.factor", molality=ions["Cl"], feed_molality=an.molality["Cl"])
    gas = at.carbon_dioxide
    gone = c.carbon_dioxide_gone.at("concentrate.carbon_dioxide_gone", carbon_dioxide=gas, concentration_factor=factor)
    found = _concentrated(fed.water("design"), float(factor), float(gone), float(at.temperature))
    doses = {k: v for k, v in fed.inputs.items() if k in fed.amounts or k == "acid_design"}
    ph = engine("concentrate.ph", found.ph, "ph.nbs", title="pH of the reject", symbol="pH_c",
                inputs={"molality": an.molality, "ph": an.ph, "lab_temperature": an.temperature, "factor": factor,
                        "temperature": at.temperature, "gone": gone, **doses},
                library=found.engine.library, version=found.engine.library_version, data=found.engine.database,
                checksum=found.engine.sha256, source="phreeqc-2013",
                note="the feed after ferric, bisulfite and acid, concentrated in proportion, less the carbon dioxide "
                     "that passes; no air, no antiscalant, no shock dose; activity scale")
    jet = _jet(inp, r.figures["concentrate_density"], at.density, r["concentrate_salinity"], an.salinity,
               r["concentrate_flow"], d.trains)
    _solids(inp, ops)
    return Concentrate(ions, ph, _chlorine(inp), r["concentrate_salinity"], *jet)


def _chlorine(inp: Any) -> Figure:
    chlorine, taken = inp("chlorination.present"), inp("dechlorination.present")
    with scope(because=[chlorine, taken]):
        if chlorine != "yes":
            return assumed("concentrate.chlorine", 0.0, "concentration as Cl2", title="Residual oxidant at discharge",
                           text="no chlorine in this plant", source="definition")
        multiple = inp("dechlorination.multiple") if taken == "yes" else assumed(
            "concentrate.no_reduction", 0.0, "factor", title="Reducing agent", text="none", source="definition")
        left = c.residual_left.at("concentrate.chlorine", residual_chlorine=inp("chlorination.residual"),
                                  bisulfite_multiple=multiple)
        bare = float(left) > 0.0
        note("concentrate.chlorine.check", title="Oxidant at discharge", verdict="fails" if bare else "holds",
             why="the reject carries oxidant to the sea" if bare
             else "the reducing agent takes all; wash water from ahead of it still carries the residual",
             do="dechlorinate, and lead wash waste through the same step or a basin", inputs={"left": left},
             caution=CAUTION)
    return left


def _jet(inp: Any, density: Figure, around: Figure, salinity: Figure, sea: Figure, flow: Figure,
         trains: Figure) -> tuple[Figure, ...]:
    one = c.port_flow.at("outfall.port_flow", reject_flow=flow, trains=trains, ports=inp("outfall.ports"))
    said = inp("outfall.port_diameter")
    port = said if said is not None else minimum_diameter.at(
        "outfall.port", flow=one, velocity_limit=inp("outfall.port_velocity"), title="Diameter of one port")
    speed = pipe_velocity.at("outfall.velocity", flow=one, inner_diameter=port, title="Velocity at the port")
    pull = c.reduced_gravity.at("outfall.reduced_gravity", jet_density=density, ambient_density=around)
    froude = c.jet_froude.at("outfall.froude", jet_velocity=speed, reduced_gravity=pull, port_diameter=port)
    both = {"port_diameter": port, "jet_froude": froude}
    rise = c.jet_rise.at("outfall.rise", **both)
    impact = c.impact_distance.at("outfall.impact", **both)
    landed = c.impact_dilution.at("outfall.dilution_impact", jet_froude=froude)
    far = c.near_field_dilution.at("outfall.dilution", jet_froude=froude)
    near = c.near_field_length.at("outfall.near_field", **both)
    c.layer_thickness.at("outfall.layer", **both)
    for name, dilution in (("impact", landed), ("near", far)):
        diluted = c.excess_at.at(f"outfall.salinity[{name}]", jet_salinity=salinity, ambient_salinity=sea,
                                 jet_dilution=dilution)
        excess = c.excess_left.at(f"outfall.excess[{name}]", salinity=diluted, ambient_salinity=sea)
    checked("outfall.excess.check", excess, "<=", inp("outfall.excess_limit"),
            title="Excess of salt at the end of the near field", source="ca-ocean-plan",
            do="more ports (outfall.ports), smaller ones (outfall.port_diameter), or dilute before the outfall",
            caution=CAUTION)
    checked("outfall.rise.check", rise, "<=", inp("outfall.depth"), title="Jet below the surface",
            do="more ports (outfall.ports), a lower outfall.port_velocity, or deeper water (outfall.depth)",
            caution=CAUTION)
    note("outfall.range", title="Range of the jet's relation",
         verdict="holds" if float(froude) > 20.0 else "caution",
         why="the Froude number lies above 20" if float(froude) > 20.0 else "the Froude number lies below 20",
         do="raise outfall.port_velocity", inputs={"froude": froude}, caution=CAUTION)
    return froude, rise, impact, far, near


def _solids(inp: Any, ops: UnitOperations) -> None:
    pre, floc = ops.pretreated, ops.doses.get("coagulation")
    if pre.wash is None or inp("water.suspended_solids") is None:
        return
    with scope(because=[pre.present, inp("coagulation.present")]):
        made = floc.solids if floc is not None else assumed(
            "concentrate.no_floc", 0.0, "concentration", title="Solids of the coagulant", text="none",
            source="definition")
        rate = c.solids_dry.at("waste.solids_rate", raw_flow=ops.array.feed_flow,
                               suspended_solids=inp("water.suspended_solids"), floc_solids=made,
                               note="of one train; the raw water's suspended solids, all held back")
        if float(pre.wash.wash_average) > 0.0:
            c.solids_of_wash.at("waste.solids", solids_rate=rate, waste_flow=pre.wash.wash_average)
        else:
            note("waste.solids.check", title="Solids in the wash waste", verdict="fails",
                 why="the wash takes no water, and the solids stay in the filters",
                 do="write filters.wash_time above zero", inputs={"waste_flow": pre.wash.wash_average})


def balance(streams: Iterable[Mapping[str, Any]]) -> pd.DataFrame:
    """Balance of one train by adding up its streams, independent of how they were found.

    Parameters
    ----------
    streams : iterable of dict
        As a sized plant gives them.

    Returns
    -------
    DataFrame
        Index: ``water_kg_s``, each ``<ion>_mol_s``, ``boron_kg_s``, ``charge_mol_s``. Columns: ``in``, ``out``,
        ``gap``, and ``relative``, the gap over what comes in. Chemicals enter and leave with the water; what they
        weigh stands in the rows ``chemical_kg_s`` of the streams.
    """
    import pandas as pd

    table = pd.DataFrame(list(streams)).set_index("key")
    columns = [x for x in table.columns if x.endswith(("_mol_s", "water_kg_s", "boron_kg_s"))]
    into = table.loc[[k for k in COMES_IN if k in table.index], columns].sum()
    out = table.loc[[k for k in GOES_OUT if k in table.index], columns].sum()
    made = pd.DataFrame({"in": into, "out": out, "gap": into - out})
    made["relative"] = (made["gap"] / made["in"].where(made["in"] != 0.0)).fillna(0.0)
    return made
