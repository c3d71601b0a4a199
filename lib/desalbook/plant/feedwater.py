"""What the doses make of the raw water before the membranes see it: one chain of alkalinity and pH.

Ferric and dechlorination agent yield hydrogen ions and acid is dosed to its target, all doses in; hypochlorite adds its
sodium and chloride and, once it is reduced, leaves the alkalinity as it is. Inorganic carbon stays, for the line is
closed. The usual doses
count, not those of a shock.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from desalbook import dosing
from desalbook.balances import sum_of_molalities
from desalbook.plant.waters import TEMPERATURES, Waters
from desalbook.problems import Infeasible
from desalbook.product.quality import water_content_of
from desalbook.product.stoichiometry import dose_amount
from desalbook.trail import Choice, Column, Figure, assumed, govern, residual, scope, solved, values
from desalbook.trail.inputs import Inputs
from desalbook.water import boron, seawater
from desalbook.water import carbonate as cb
from desalbook.water.carbonate import ph_of
from desalbook.water.phreeqc import Water, added, complete
from desalbook.water.species import IONS, REACTANTS

__all__ = ["FeedWater", "feedwater"]


@dataclass(frozen=True)
class FeedWater:
    """The membrane feed.

    Parameters
    ----------
    waters : Waters
        The raw water with the feed's pH (total scale) and carbon dioxide at each temperature.
    ph : dict of Figure
        NBS scale, by temperature.
    amounts : dict of (str, Figure)
        By dosing step: the substance (a key of `REACTANTS`) and mol per kg water; acid by temperature.
    acid_amount : Figure or None
        mol per kg water, the largest over the temperatures.
    alkalinity : dict of Figure
        eq per kg water, total, by temperature.
    water_content : Figure
        kg of water per m3 of raw water.
    inputs : dict
        Figures the composition rests on.
    ph_total_at : callable
        ``(temperature K, salinity ratio)`` -> pH on the total scale; arrays broadcast.
    """

    waters: Waters
    ph: dict[str, Figure]
    amounts: dict[str, tuple[str, Any]]
    acid_amount: Figure | None
    alkalinity: dict[str, Figure]
    water_content: Figure
    inputs: dict[str, Any]
    ph_total_at: Callable[[Any, Any], Any]

    def water(self, temperature: str) -> Water:
        """Composition after all doses as the engine sees it, for one of the three temperatures (not recorded)."""
        an = self.waters.analysis
        raw = complete(Water.of({k: float(v) for k, v in an.molality.items()}, ph=float(an.ph),
                                temperature=float(an.temperature)))
        doses = {}
        for substance, amount in self.amounts.values():
            figure = amount[temperature] if isinstance(amount, dict) else amount
            doses[substance] = doses.get(substance, 0.0) + float(figure)
        return added(raw, doses)


@dataclass
class _Balance:
    """Carbon, boron, salinity, and the constants at a temperature."""

    carbon: Figure
    boron: Figure
    salinity: Figure
    practical: Figure

    def constants(self, temperature: Figure) -> dict[str, Figure]:
        at = {"temperature": temperature, "practical_salinity": self.practical}
        return {"pk1": cb.pk1_saline.at("feed.pk1", **at), "pk2": cb.pk2_saline.at("feed.pk2", **at),
                "pk_boric": boron.pkb_saline.at("feed.pk_boric", **at),
                "pk_water": cb.pk_water_saline.at("feed.pk_water", **at)}

    @property
    def held(self) -> dict[str, Figure]:
        return {"carbon": self.carbon, "boron_molality": self.boron, "salinity": self.salinity}

    def alkalinity(self, id: str, ph_total: Figure, pk: dict[str, Figure], title: str = "") -> Figure:
        return cb.alkalinity_at_ph.at(id, ph_total=ph_total, **self.held, **pk, **({"title": title} if title else {}))

    def ph(self, id: str, alkalinity: Figure, pk: dict[str, Figure], title: str) -> Figure:
        """Solved, with its proof."""
        rest = self.held | pk
        value = ph_of(float(alkalinity), **{k: float(v) for k, v in rest.items()})
        ph = solved(id, value, "ph.total", title=title, symbol="pH_T", inputs={"alkalinity": alkalinity, **rest},
                    method="Newton within a bracket, on the balance of alkalinity")
        again = self.alkalinity(f"{id}_alkalinity", ph, pk, "Back-calculated alkalinity")
        left = cb.alkalinity_residual.at(f"{id}_residual", total_alkalinity=alkalinity, found_alkalinity=again)
        residual(ph, left, float(alkalinity) or 1e-3, 1e-9)
        return ph


def feedwater(inp: Inputs, w: Waters) -> FeedWater:
    """Follow the raw water through hypochlorite, ferric, dechlorination agent and acid, at the three temperatures."""
    an = w.analysis
    none = assumed("feed.none", 0.0, "molality", title="None of it analysed", symbol="b_0", source="definition")
    carbon = sum_of_molalities.at("feed.carbon", title="Inorganic carbon", symbol="b_C", molality=an.molality["HCO3"],
                                    more_molality=_or(an.molality, "CO3", none))
    b = _Balance(carbon, _or(an.molality, "B", none), an.salinity, an.practical_salinity)
    with scope(corner="laboratory"):
        pk = b.constants(an.temperature)
    alkalinity = b.alkalinity("feed.alkalinity_raw", an.ph_total, pk, "Alkalinity of the raw water")
    content = water_content_of.at("feed.water_content", density=an.density, title="Water in the raw water",
                                  total_dissolved_solids=an.total_dissolved_solids)
    amounts: dict[str, tuple[str, Any]] = {}
    inputs = {"molality": an.molality, "ph": an.ph, "temperature": an.temperature}
    chlorinated = inp.choice("chlorination.present")
    for step, find in (("chlorination", _hypochlorite), ("coagulation", _ferric), ("dechlorination", _reducer)):
        present = inp.choice(f"{step}.present")
        with scope(because=[present, chlorinated] if step == "dechlorination" else [present]):
            if present != "yes" or (step == "dechlorination" and chlorinated != "yes"):
                continue
            substance, amount, equivalents = find(inp, content)
            alkalinity = cb.alkalinity_after.at(f"{step}.alkalinity_after", total_alkalinity=alkalinity,
                                                amount=amount, acid_equivalents=equivalents)
            total = b.ph(f"{step}.ph_total", alkalinity, pk, f"pH after {step}, total scale")
            cb.nbs_from_total.at(f"{step}.ph", ph_total=total, title=f"pH after {step}")
        amounts[step] = (substance, amount)
        inputs[step] = amount
    present = inp("acid.present")
    with scope(because=[present, *[inp(f"{s}.present") for s in ("coagulation", "dechlorination", "chlorination")]]):
        return _at_temperatures(inp, w, b, (alkalinity, content), amounts, inputs, present)


def _or(column: Column, key: str, none: Figure) -> Figure:
    """An entry, or nothing of it."""
    return column[key] if key in column.keys else none


def _at_temperatures(inp: Inputs, w: Waters, b: _Balance, of: tuple[Figure, Figure], amounts, inputs,
                     present) -> FeedWater:
    alkalinity, content = of
    ph, at, acid, held = {}, {}, {}, {}
    substance = ""
    if present == "yes":
        chemical: Choice = inp("acid.chemical")
        with scope(because=[chemical]):
            substance, equivalents = _substance("acid", chemical)
            target = cb.total_from_nbs.at("acid.ph_total", ph=inp("acid.target_ph"),
                                          title="pH of the acidified feed")
    for key in TEMPERATURES:
        with scope(corner=key):
            pk = b.constants(w.at[key].temperature)
            if present == "yes":
                total = target  # a controller holds it at every temperature
                found = b.alkalinity("acid.alkalinity", target, pk, "Alkalinity at the target pH")
                acid[key] = cb.acid_for_alkalinity.at("acid.amount", total_alkalinity=alkalinity,
                                                      found_alkalinity=found, acid_equivalents=equivalents)
                if float(acid[key]) <= 0.0:
                    raise Infeasible(f"acid does not bring this water to that pH ({key} water)",
                                     where="acid.target_ph", value=float(inp("acid.target_ph")),
                                     do="the water is below this pH already; raise the target or omit acid")
                ph[key] = inp("acid.target_ph")
            else:
                total = b.ph("feed.ph_total", alkalinity, pk, "pH of the RO feed, total scale")
                ph[key] = cb.nbs_from_total.at("feed.ph", ph_total=total, title="pH of the RO feed")
            held[key] = found if acid else alkalinity
            gas = cb.free_carbon_dioxide.at("feed.carbon_dioxide", carbon=b.carbon, ph_total=total,
                                            pk1=pk["pk1"], pk2=pk["pk2"])
        at[key] = replace(w.at[key], ph_total=total, carbon_dioxide=gas)
    most = None
    if acid:
        most = govern("acid.amount", acid, "largest", title="Acid for the target pH")
        amounts["acid"], inputs = (substance, acid), inputs | {f"acid_{k}": v for k, v in acid.items()}
    return FeedWater(replace(w, at=at), ph, amounts, most, held, content, inputs,
                     _any_temperature(b, alkalinity, float(target) if acid else None))


def _any_temperature(b: _Balance, alkalinity: Figure, target: float | None) -> Callable[[Any, Any], Any]:
    """pH at temperatures and salinities other than the recorded ones, ions in proportion."""
    def at(temperature: Any, ratio: Any) -> Any:
        if target is not None:
            return target + 0.0 * (temperature + ratio)
        with values(keep=False):
            here = {"temperature": temperature, "practical_salinity": seawater.practical_salinity.at(
                "feed.practical_salinity", salinity=float(b.salinity) * ratio)}
            pk = {name: constant.at(f"feed.{name}", **here) for name, constant in (
                ("pk1", cb.pk1_saline), ("pk2", cb.pk2_saline), ("pk_boric", boron.pkb_saline),
                ("pk_water", cb.pk_water_saline))}
        return ph_of(float(alkalinity) * ratio, **{k: float(v) * ratio for k, v in b.held.items()}, **pk)
    return at


def _substance(step: str, chemical: Choice) -> tuple[str, Figure]:
    row = dosing.chemical(chemical, f"{step}.chemical").substance
    return row.key, assumed(f"{step}.acid_equivalents", -row.alkalinity, "charge number", symbol="n_eq",
                        title=f"H+ per mole of {row.name}", source="definition",
                        table="chemistry/reactants", row=row.key, note=row.note)


def _hypochlorite(inp: Inputs, content: Figure) -> tuple[str, Figure, Figure]:
    with scope(because=[inp.choice("chlorination.chemical")]):
        key, equivalents = _substance("chlorination", inp.choice("chlorination.chemical"))
        return key, cb.hypochlorite_amount.at(
            "chlorination.amount", chlorine_demand=inp.number("chlorination.demand"),
            chlorine_residual=inp.number("chlorination.residual"), water_content=content), equivalents


def _ferric(inp: Inputs, content: Figure) -> tuple[str, Figure, Figure]:
    with scope(because=[inp("coagulation.chemical")]):
        key, equivalents = _substance("coagulation", inp("coagulation.chemical"))
        mass = assumed("coagulation.iron_molar_mass", IONS["Fe"].molar_mass, "molar mass", title="Molar mass of iron",
                       symbol="M_Fe", source="iupac-weights")
        return key, dose_amount.at("coagulation.amount", dose=inp("coagulation.dose"), molar_mass=mass,
                                   water_content=content, title="Ferric per water"), equivalents


def _reducer(inp: Inputs, content: Figure) -> tuple[str, Figure, Figure]:
    with scope(because=[inp("dechlorination.chemical")]):
        key, equivalents = _substance("dechlorination", inp("dechlorination.chemical"))
        moles = assumed("dechlorination.moles_per_chlorine", 1.0 / REACTANTS[key].ions["SO4"], "factor",
                        title="Dechlorination agent per chlorine", symbol="n_r", source="definition",
                        note="one sulfite reduces one chlorine")
        return key, cb.reducer_amount.at(
            "dechlorination.amount", residual_chlorine=inp("chlorination.residual"), reducer_moles=moles,
            bisulfite_multiple=inp("dechlorination.dose_ratio"), water_content=content), equivalents
