"""Minerals into the permeate, by one of several routes, and what strips its carbon dioxide."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from desalbook.product import relations as r
from desalbook.product import treat_relations as tr
from desalbook.product.lines import answer, molar_mass, moles
from desalbook.product.solve_window import Doses, Target, carbon_for_gas, doses_for
from desalbook.product.window import Window
from desalbook.tables import table
from desalbook.trail import Choice, Column, Figure, assumed, note, scope
from desalbook.water.acid_constants import pk_henry
from desalbook.water.phreeqc_bridge import Water, complete, dose, langelier, speciate

__all__ = ["BEDS", "Blend", "Course", "minerals", "strip"]

Inp = Callable[[str], Any]
BEDS = ("calcite", "calcite-acid")
RECIPES = {
    "calcite": (("CaCO3", "calcite", "calcite"), ("CO2", "co2", "carbon-dioxide")),
    "calcite-acid": (("CaCO3", "calcite", "calcite"), ("H2SO4", "acid", "sulfuric-acid")),
    "lime": (("Ca(OH)2", "lime", "hydrated-lime"), ("CO2", "co2", "carbon-dioxide")),
    "caustic": (("NaOH", "alkali", "caustic-soda"), ("CO2", "co2", "carbon-dioxide")),
}
SAID = {
    "calcium": "calcium: this route brings none; choose calcite or lime",
    "alkalinity": "alkalinity: more calcium than the window allows would be needed; use carbon dioxide instead of "
    "acid, or caustic with carbon dioxide beside it",
    "pH": "pH: the window's CCPP lies above the highest pH even at the highest calcium; allow less CCPP",
    "ccpp": "CCPP: no dose of this route reaches it; strip carbon dioxide first, or choose another route",
}


@dataclass
class Course:
    """The water on its way: what it is now, and the lines that led there."""

    water: Water
    temperature: float
    content: Figure
    basis: dict[str, Any]
    doses: dict[str, Figure] = field(default_factory=dict)
    alkali: Figure | None = None
    chosen: list[Any] = field(default_factory=list)

    def ph_after(self, step: str, title: str) -> Figure:
        """Record the pH at this stage."""
        found = speciate(self.water, self.temperature, "fresh")
        return answer(f"product.ph_after[{step}]", found.ph, "ph.nbs", title, "pH", self.basis, found.engine, "")


@dataclass(frozen=True)
class Blend:
    """Treated feed for blending: mol/kg by ion, pH (NBS) and temperature (K) as analysed."""

    molality: Column
    ph: Figure
    temperature: Figure


def strip(inp: Inp, course: Course, where: str) -> None:
    """Bring carbon dioxide towards balance with air, where the plant has a degasifier at this place."""
    place: Choice = inp("product.degasifier")
    course.chosen.append(place)
    if place != where:
        return
    t = course.temperature
    found = speciate(course.water, t, "fresh")
    with scope(because=list(course.chosen)):
        held = answer("product.gas_before", found.co2, "molality", "Carbon dioxide before the degasifier", "m_CO2",
                      course.basis, found.engine, "")
        air = tr.equilibrium_carbon_dioxide.at(
            "product.gas_air",
            pk_henry=pk_henry.at("product.pk_henry", temperature=course.basis["temperature"]),
            air_share=inp("product.air_carbon_dioxide"),
        )
        left = tr.stripped.at("product.gas_after", carbon_dioxide=held, carbon_dioxide_air=air,
                              approach=inp("product.degasifier_approach"))
        carbon = answer("product.stripped_carbon", carbon_for_gas(course.water, t, float(left)), "molality",
                        "Inorganic carbon behind the degasifier", "m_C", {**course.basis, "left": left},
                        found.engine, "alkalinity unchanged")
        alkalinity, _ = course.water.conserved() or (0.0, 0.0)
        course.water = Water(course.water.molality, alkalinity, float(carbon), None, t)
        course.basis["stripped"] = carbon
        course.ph_after("degasifier", "pH behind the degasifier")


def minerals(inp: Inp, course: Course, window: Window | None, blend: Blend | None) -> None:
    """Dose minerals by the route of the design, as written or solved for the window of the use."""
    route: Choice = inp("product.remineralisation")
    course.chosen.append(route)
    if route == "none":
        return
    if route == "blend":
        _blend(inp, course, blend)
        return
    by: Choice = inp("product.doses")
    solved = by == "window" and window is not None
    if by == "window" and window is None:
        note("product.window", title="Window of the product", verdict="caution",
             why="this use has no window of calcium, alkalinity and CCPP; the doses as written are used",
             do='write product.doses = "written", or the limits under specification', inputs={"doses": by})
    with scope(because=[route, by]):
        before, recipe = course.water, RECIPES[str(route)]
        if solved and window is not None:
            amounts = _solved(inp, course, str(route), window)
        else:
            amounts = {}
            for reactant, name, chemical in recipe:
                said = inp(f"product.{name}_dose")
                course.doses[name] = said
                amounts[reactant] = moles(chemical, f"product.{name}", said, course.content)
            course.water, _ = dose(before, course.temperature, {k: float(v) for k, v in amounts.items()})
        for reactant, name, _ in recipe:
            course.basis[name] = amounts[reactant]
        _stoichiometric(course, str(route))
        course.ph_after("minerals", "pH behind the minerals")
        if str(route) in BEDS:
            _bed(inp, course, before, {k: amounts[k] for k, _, _ in recipe})


def _blend(inp: Inp, course: Course, blend: Blend | None) -> None:
    share = inp("product.blend_share")
    if blend is None:
        return
    ions = {k: float(v) for k, v in blend.molality.items()}
    feed = complete(Water.of(ions, ph=float(blend.ph), temperature=float(blend.temperature)), "brine")
    mix, x = tr.blended.plain, float(share)
    mine, theirs = dict(course.water.molality), dict(feed.molality)
    pair, other = course.water.conserved() or (0.0, 0.0), feed.conserved() or (0.0, 0.0)
    keys = tuple(dict.fromkeys((*mine, *theirs)))
    course.water = Water(
        tuple((k, float(mix(mine.get(k, 0.0), theirs.get(k, 0.0), x))) for k in keys),
        float(mix(pair[0], other[0], x)), float(mix(pair[1], other[1], x)), None, course.temperature)
    course.basis |= {"blend": blend.molality, "blend_ph": blend.ph, "blend_temperature": blend.temperature,
                     "blend_share": share}
    with scope(because=list(course.chosen)):
        course.ph_after("minerals", "pH of the blend")


def _target(window: Window, inp: Inp) -> Target:
    return Target(
        calcium=float(window.calcium), calcium_most=float(window.calcium_most),
        alkalinity=2.0 * float(window.alkalinity), precipitable=float(window.ccpp), short=float(window.short),
        ph=float(inp("product.ph_target")), ph_most=float(window.ph_most), bypass=float(inp("product.bypass")))


def _solved(inp: Inp, course: Course, route: str, window: Window) -> dict[str, Figure]:
    reagent: Choice = inp("post_ph.chemical")
    alkali = table("chemicals").row(reagent, "post_ph.chemical")["formula"].value
    found: Doses = doses_for(course.water, course.temperature, route, _target(window, inp), alkali)
    record = speciate(course.water, course.temperature, "fresh").engine
    inputs = {**course.basis, **window.lines, "reagent": reagent, "bypass": inp("product.bypass"),
              "ph_target": inp("product.ph_target")}
    said = dict(found.amounts)
    names = {**{k: (n, c) for k, n, c in RECIPES[route]}}
    made: dict[str, Figure] = {}
    course.chosen.append(reagent)
    for reactant, (name, chemical) in names.items():
        amount = answer(f"product.{name}_amount", said[reactant], "molality", f"Dose for the window, {reactant}",
                        "m_d", inputs, record, "found for the window of the product")
        made[reactant] = amount
        course.doses[name] = r.dose_from_amount.at(
            f"product.{name}_solved", amount=amount, water_content=course.content,
            molar_mass=molar_mass(chemical, f"product.{name}_molar_mass"), title=f"Dose for the window, {reactant}")
    if alkali in said and alkali not in names:
        with scope(because=[reagent]):
            course.alkali = answer("product.caustic_amount", said[alkali], "molality", "Alkali for the window", "m_OH",
                                   inputs, record, "behind the contactor")
    course.water, _ = dose(course.water, course.temperature, {k: said[k] for k in names})
    note("product.window", title="Doses for the window of the product", verdict="fails" if found.failed else "holds",
         why=f"cannot be met is {SAID[found.failed]}" if found.failed
         else "calcium, alkalinity, CCPP and pH lie in the window",
         do="change the route or the window as said", inputs={**window.lines, **{k: made[k] for k in names}})
    return made


def _stoichiometric(course: Course, route: str) -> None:
    if route == "calcite":
        tr.co2_for_calcite.at("product.co2_stoichiometric", calcite_dose=course.doses["calcite"])
    elif route == "calcite-acid":
        tr.acid_for_calcite.at("product.acid_stoichiometric", calcite_dose=course.doses["calcite"])
    elif route == "lime":
        tr.co2_for_lime.at("product.co2_stoichiometric", lime_dose=course.doses["lime"])
    elif route == "caustic":
        tr.co2_for_caustic.at("product.co2_stoichiometric", alkali_dose=course.doses["alkali"])


def _bed(inp: Inp, course: Course, before: Water, amounts: dict[str, Figure]) -> None:
    """The water in the contactor: can it still dissolve calcite where it leaves?"""
    bypass = inp("product.bypass")
    inside = {
        k: tr.through_contactor.at(f"product.contactor_amount[{k}]", amount=v, bypass=bypass,
                                   title=f"{k} into the treated part")
        for k, v in amounts.items()
    }
    water, _ = dose(before, course.temperature, {k: float(v) for k, v in inside.items()})
    found = langelier(water, course.temperature)
    left = answer("product.contactor_potential", found.precipitation_potential, "molality",
                  "Calcite that could precipitate where the contactor ends", "m_CCPP", {**course.basis, **inside},
                  found.engine, "negative: the bed still dissolves")
    ccpp = r.as_calcite.at("product.contactor_ccpp", precipitable=left, water_content=course.content,
                           title="CCPP where the contactor ends")
    over = not float(ccpp) <= 0.0
    need = assumed("product.contactor_saturation", 0.0, "concentration as CaCO3", title="Saturation",
                   source="definition")
    note("product.contactor_dissolves", title="Calcite that this water can dissolve",
         verdict="fails" if over else "holds",
         why="the dose asks for more calcite than the carbon dioxide or acid in the contactor dissolves" if over
         else "the bed still dissolves where the water leaves it",
         do="raise product.co2_dose or product.acid_dose, lower product.calcite_dose, or lower product.bypass",
         inputs={"ccpp": ccpp, "saturation": need})
