"""What the plant gives back to the sea: concentrate, its jet, the solids of the backwash, and the balance of it all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from desalbook.membrane.transport import solute_concentration
from desalbook.plant.operations import UnitOperations
from desalbook.plant.streams import CORNER
from desalbook.product.outfall import CAUTION, Jet, outfall
from desalbook.trail import Column, Figure, assumed, engine, minimum, note, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import AsCl2, Concentration, Factor, KgPerS, M3PerS, Molality
from desalbook.water.phreeqc import Speciation, Water, speciate
from desalbook.water.scaling import factor_of

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["CAUTION", "Concentrate", "balance", "carbon_dioxide_gone", "concentrate",
           "residual_left", "solids_dry"]

COMES_IN, GOES_OUT = ("raw",), ("permeate", "concentrate", "backwash", "filter_to_waste")


@relation("CO2 lost with the permeate", symbol="b_CO2p", unit="mol/kg",
          source="definition", note="it passes membranes freely: as much per water in the permeate as in the feed")
def carbon_dioxide_gone(carbon_dioxide: Molality, concentration_factor: Factor) -> Molality:
    """Carbon dioxide gone with the permeate, per water of the concentrate.

    It passes membranes freely, as much per water in the permeate as in the feed.
    """
    return (concentration_factor - 1) * carbon_dioxide


@relation("Solids that the filters hold back", symbol="W_ss", unit="kg/s", source="common-practice",
          note="all suspended solids of the raw water, and the coagulant as hydroxide")
def solids_dry(raw_flow: M3PerS, suspended_solids: Concentration, floc_solids: Concentration) -> KgPerS:
    """Dry solids that the filters hold back: suspended solids of the raw water and coagulant as hydroxide.

    All held back; what goes on to the cartridges is neglected, on the safe side for the waste.
    """
    return raw_flow * (suspended_solids + floc_solids)


@relation("Residual chlorine at discharge", symbol="C_out", unit="kg/m^3", source="definition",
          note="the dechlorination agent's multiple leaves none where it is at least one")
def residual_left(residual_chlorine: AsCl2, bisulfite_multiple: Factor) -> AsCl2:
    """Residual chlorine at discharge: what is not dechlorinated.

    A multiple of one or more leaves none; mixing and time must suffice.
    """
    return residual_chlorine * (1 - minimum(1, bisulfite_multiple))


@dataclass(frozen=True)
class Concentrate:
    """Concentrate at the outfall: ions (mol/kg), pH, residual oxidant (kg/m3 as Cl2), salinity, jet."""

    ions: Column
    ph: Figure
    chlorine: Figure
    salinity: Figure
    jet: Jet


@lru_cache(maxsize=128)
def _concentrated(feed: Water, factor: float, gone: float, temperature: float) -> Speciation:
    """Alkalinity and carbon of the feed after all doses, concentrated, less the carbon dioxide that passed."""
    strong = feed.scaled(factor)
    assert strong.carbon is not None
    return speciate(replace(strong, carbon=strong.carbon - gone, ph=None), temperature, "brine")


def concentrate(inp: Inputs, ops: UnitOperations) -> Concentrate:
    """Judge the concentrate at the outfall, at the design temperature with aged membranes.

    Parameters
    ----------
    inp : Inputs
    ops : UnitOperations
        Of the walk.
    """
    a, w, d, fed = ops.array, ops.waters, ops.duty, ops.feed
    r, at, an = a.by_corner[CORNER], w.at["design"], w.analysis
    ions: Column = a.concentrate_ions[CORNER]
    factor = factor_of.at("concentrate.factor", concentrate_molality=ions["Cl"], molality=an.molality["Cl"],
                          note="by chloride")
    gas = at.carbon_dioxide
    gone = carbon_dioxide_gone.at("concentrate.carbon_dioxide_gone", carbon_dioxide=gas, concentration_factor=factor)
    found = _concentrated(fed.water("design"), float(factor), float(gone), float(at.temperature))
    doses = {k: v for k, v in fed.inputs.items() if k in fed.amounts or k == "acid_design"}
    ph = engine("concentrate.ph", found.ph, "ph.nbs", title="pH of the concentrate", symbol="pH_c",
                inputs={"molality": an.molality, "ph": an.ph, "lab_temperature": an.temperature, "factor": factor,
                        "temperature": at.temperature, "gone": gone, **doses},
                library=found.engine.library, version=found.engine.library_version, data=found.engine.database,
                checksum=found.engine.sha256, source="phreeqc-2013",
                note="the feed after hypochlorite, ferric, bisulfite and acid, concentrated in proportion, "
                     "less the carbon dioxide that passes; no air, no antiscalant, no shock dose; activity scale")
    jet = outfall(inp, reject_flow=r["concentrate_flow"], trains=d.trains, density=r.figures["concentrate_density"],
                  salinity=r["concentrate_salinity"], ambient_density=at.density, ambient_salinity=an.salinity)
    _solids(inp, ops)
    return Concentrate(ions, ph, _chlorine(inp), r["concentrate_salinity"], jet)


def _chlorine(inp: Inputs) -> Figure:
    chlorine, taken = inp.choice("chlorination.present"), inp.choice("dechlorination.present")
    with scope(because=[chlorine, taken]):
        if chlorine != "yes":
            return assumed("concentrate.chlorine", 0.0, "concentration as Cl2", title="Residual oxidant at discharge",
                           text="no chlorine in this plant", source="definition")
        multiple = inp.number("dechlorination.dose_ratio") if taken == "yes" else assumed(
            "concentrate.no_reduction", 0.0, "factor", title="Dechlorination agent", text="none", source="definition")
        left = residual_left.at("concentrate.chlorine", residual_chlorine=inp.number("chlorination.residual"),
                                  bisulfite_multiple=multiple)
        bare = float(left) > 0.0
        note("concentrate.chlorine.check", title="Oxidant at discharge", verdict="fails" if bare else "passes",
             why="the concentrate carries oxidant to the sea" if bare
             else "the dechlorination agent takes all; backwash water from upstream of it still carries the residual",
             do="dechlorinate, and lead backwash waste through the same step or a basin", inputs={"left": left},
             caution=CAUTION)
    return left


def _solids(inp: Inputs, ops: UnitOperations) -> None:
    pre, floc = ops.pretreated, ops.doses.coagulation
    suspended = inp.optional("water.suspended_solids")
    if pre.wash is None or suspended is None:
        return
    with scope(because=[pre.present, inp.choice("coagulation.present")]):
        made = floc.solids if floc is not None else assumed(
            "concentrate.no_floc", 0.0, "concentration", title="Solids of the coagulant", text="none",
            source="definition")
        rate = solids_dry.at("waste.solids_rate", raw_flow=ops.array.pretreated_flow,
                               suspended_solids=suspended, floc_solids=made,
                               note="of one train; the raw water's suspended solids, all held back")
        if float(pre.wash.backwash_average) > 0.0:
            solute_concentration.at("waste.solids", solute=rate, flow=pre.wash.backwash_average,
                                    title="Solids in the backwash waste", symbol="C_ss")
        else:
            note("waste.solids.check", title="Solids in the backwash waste", verdict="fails",
                 why="the backwash takes no water, and the solids stay in the filters",
                 do="set filters.backwash_time above zero", inputs={"waste_flow": pre.wash.backwash_average})


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
