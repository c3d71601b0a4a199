"""Routes of remineralisation: what each doses, how its doses are solved, and whether it has a contactor.

A route is an object; `register` adds one from outside, and the list of choice of the design follows. What stands in
no table, or misses its solver, is refused by name when it is registered.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from desalbook.problems import TrailError
from desalbook.product import solve_doses as s
from desalbook.product.blending import Blend, blend, blended_boron
from desalbook.product.contactor import dissolves
from desalbook.product.course import Course, answer, molar_mass, moles
from desalbook.product.quality import concentration_of
from desalbook.product.stoichiometry import acid_for_calcite, co2_for_calcite, co2_for_caustic, co2_for_lime
from desalbook.product.window import Window
from desalbook.tables import table
from desalbook.trail import Figure, Relation, note, scope
from desalbook.trail.inputs import Inputs
from desalbook.water.phreeqc import Water, dose, speciate
from desalbook.water.species import REACTANTS

__all__ = ["REAGENTS", "ROUTES", "Reagent", "Route", "boron_of_blend", "doses_for", "has_contactor", "minerals",
           "register", "route_of", "titles", "unregister"]

SAID = {
    "calcium": "calcium: this route brings none; choose calcite or lime",
    "alkalinity": "alkalinity: more calcium than the window allows would be needed; use carbon dioxide instead of "
    "acid, or sodium hydroxide with carbon dioxide beside it",
    "pH": "pH: the window's CCPP lies above the maximum pH even at the maximum calcium; allow less CCPP",
    "ccpp": "CCPP: no dose of this route reaches it; strip carbon dioxide first, or choose another route",
}


@dataclass(frozen=True)
class Reagent:
    """A chemical that remineralises: what doses of it are called, and where its properties stand.

    Parameters
    ----------
    name : str
        Stem of its ids and of its key in the design: ``product.<name>_dose``.
    chemical : str
        Row of the table of chemicals; its active substance is the reactant of the geochemical engine.
    title : str
        In the schedule of chemicals.
    """

    name: str
    chemical: str
    title: str

    def __post_init__(self) -> None:
        if self.reactant not in REACTANTS:
            raise TrailError("the geochemical engine has no such reactant", where=f"chemicals[{self.chemical}].formula",
                             value=self.reactant)

    @property
    def reactant(self) -> str:
        """Formula of the active substance."""
        return table("chemicals").row(self.chemical, f"reagent {self.name}")["formula"].value


@dataclass(frozen=True)
class Route:
    """One way to give hardness and alkalinity back to the permeate.

    Parameters
    ----------
    key, title : str
        What a design writes, and what people read.
    reagents : tuple of Reagent
        Dosed together; the first is the mineral.
    solver : callable, optional
        Doses for the window of a use (see `desalbook.product.windos.Solver`); wanted where there are reagents.
    stoichiometric : tuple, optional
        Relation that says what the mineral takes up, its argument, and the id of the line.
    contactor : bool
        The mineral dissolves in a bed that part of the water may by-pass.
    blends : bool
        Treated feed is blended in.
    """

    key: str
    title: str
    reagents: tuple[Reagent, ...] = ()
    solver: s.Solver | None = None
    stoichiometric: tuple[Relation, str, str] | None = None
    contactor: bool = False
    blends: bool = False

    def __post_init__(self) -> None:
        if self.reagents and self.solver is None:
            raise TrailError("a route that doses needs a solver", where=self.key)
        if self.contactor and not self.reagents:
            raise TrailError("a route with a contactor needs reagents", where=self.key)

    @property
    def adds(self) -> bool:
        """Whether it brings anything into the permeate."""
        return bool(self.reagents) or self.blends


CALCITE = Reagent("calcite", "calcite", "Calcium carbonate of the contactor")
CARBON_DIOXIDE = Reagent("co2", "carbon-dioxide", "Carbon dioxide of the product")
ACID = Reagent("acid", "sulfuric-acid", "Acid of the contactor")
LIME = Reagent("lime", "hydrated-lime", "Lime of the product")
ALKALI = Reagent("alkali", "caustic-soda", "Sodium hydroxide of the remineralisation")

ROUTES: dict[str, Route] = {}
REAGENTS: dict[str, Reagent] = {}


def register(route: Route) -> Route:
    """Add a route; it is in the list of choice at once.

    Raises
    ------
    TrailError
        The key is taken, or one name stands for two chemicals.
    """
    if route.key in ROUTES:
        raise TrailError("the route is given twice", where=route.key)
    for one in route.reagents:
        if REAGENTS.setdefault(one.name, one) != one:
            raise TrailError("the name stands for another reagent", where=f"{route.key}: {one.name}")
    ROUTES[route.key] = route
    return route


def unregister(key: str) -> None:
    """Take a route away again."""
    gone = ROUTES.pop(key)
    kept = {one.name for route in ROUTES.values() for one in route.reagents}
    for one in gone.reagents:
        if one.name not in kept:
            REAGENTS.pop(one.name, None)


def route_of(key: str) -> Route:
    """A route by its key.

    Raises
    ------
    TrailError
        No such route.
    """
    if key not in ROUTES:
        raise TrailError("no such route of remineralisation is registered", where=str(key))
    return ROUTES[key]


def has_contactor(key: str) -> bool:
    """Whether a route has a calcite contactor."""
    return route_of(key).contactor


def boron_of_blend(inp: Inputs, boron_permeate: Figure, boron_ratio: Figure, water_content: Figure) -> Figure:
    """Boron downstream of the blending, where treated feed is blended in; else the permeate's own line."""
    if not route_of(inp.choice("product.remineralisation")).blends:
        return boron_permeate
    return blended_boron.at("product.boron_blend", boron_permeate=boron_permeate, boron_ratio=boron_ratio,
                            water_content=water_content, blend_fraction=inp.number("product.blend_fraction"))


class _Titles(Mapping[str, str]):
    def __getitem__(self, key: str) -> str:
        return ROUTES[key].title

    def __iter__(self) -> Iterator[str]:
        return iter(ROUTES)

    def __len__(self) -> int:
        return len(ROUTES)


def titles() -> Mapping[str, str]:
    """Keys and titles of all routes, as a list of choice wants them; a view that follows the registry."""
    return _Titles()


for _route in (
    Route("none", "None"),
    Route("calcite", "Carbon dioxide and a calcite contactor", (CALCITE, CARBON_DIOXIDE),
          s.carbon_dioxide_and_calcite, (co2_for_calcite, "calcite_dose", "product.co2_stoichiometric"),
          contactor=True),
    Route("calcite-acid", "Sulfuric acid and a calcite contactor", (CALCITE, ACID), s.acid_and_calcite,
          (acid_for_calcite, "calcite_dose", "product.acid_stoichiometric"), contactor=True),
    Route("lime", "Lime with carbon dioxide", (LIME, CARBON_DIOXIDE), s.lime_and_carbon_dioxide,
          (co2_for_lime, "lime_dose", "product.co2_stoichiometric")),
    Route("caustic", "Sodium hydroxide with carbon dioxide", (ALKALI, CARBON_DIOXIDE), s.caustic_and_carbon_dioxide,
          (co2_for_caustic, "alkali_dose", "product.co2_stoichiometric")),
    Route("blend", "Blending with treated feed", blends=True),
):
    register(_route)


@lru_cache(maxsize=256)
def doses_for(water: Water, temperature: float, route: Route, target: s.Target, alkali: str = "NaOH") -> s.Doses:
    """Doses of one route for the window, on plain numbers.

    Parameters
    ----------
    water : Water
        Alkalinity and carbon both known.
    temperature : float
        K.
    route : Route
    target : Target
    alkali : str
        Reactant that lifts pH downstream of a contactor.

    Returns
    -------
    Doses
        The minimum dose of mineral; with a named constraint where the window cannot be reached, the nearest.
    """
    if route.solver is None:
        raise TrailError("this route doses nothing", where=route.key)
    return route.solver(water, temperature, target, alkali)


def minerals(inp: Inputs, course: Course, window: Window | None, feed: Blend | None) -> None:
    """Bring minerals into the water on its way by the route of the design, as written or solved for the window.

    Parameters
    ----------
    inp : Inputs
    course : Course
        Changed here.
    window : Window or None
        None where doses are as written, or the use has no window.
    feed : Blend or None
        Treated feed, where it can be blended in.
    """
    chosen = inp.choice("product.remineralisation")
    route = route_of(chosen)
    course.chosen.append(chosen)
    if route.blends and feed is not None:
        blend(inp, course, feed)
    if not route.reagents:
        return
    by = inp.choice("product.doses")
    if by == "window" and window is None:
        note("product.window", title="Window of the product", verdict="review",
             why="this use has no window of calcium, alkalinity and CCPP; the doses as given are used",
             do='set product.doses = "written", or change the limits under specification', inputs={"doses": by})
    with scope(because=[chosen, by]):
        before = course.water
        amounts = _written(inp, course, route) if window is None else _solved(inp, course, route, window)
        for one in route.reagents:
            course.basis[one.name] = amounts[one.reactant]
        if route.stoichiometric is not None:
            relation, argument, id = route.stoichiometric
            relation.at(id, **{argument: course.doses[route.reagents[0].name]})
        course.ph_after("minerals", "pH downstream of the minerals")
        if route.contactor:
            dissolves(inp, course, before, {one.reactant: amounts[one.reactant] for one in route.reagents})


def _written(inp: Inputs, course: Course, route: Route) -> dict[str, Figure]:
    amounts = {}
    for one in route.reagents:
        stated = inp.number(f"product.{one.name}_dose")
        course.doses[one.name] = stated
        amounts[one.reactant] = moles(one.chemical, f"product.{one.name}", stated, course.content)
    course.water, _ = dose(course.water, course.temperature, {k: float(v) for k, v in amounts.items()})
    return amounts


def _solved(inp: Inputs, course: Course, route: Route, window: Window) -> dict[str, Figure]:
    reagent = inp.choice("post_ph.chemical")
    alkali = table("chemicals").row(reagent, "post_ph.chemical")["formula"].value
    found = doses_for(course.water, course.temperature, route, window.target(inp), alkali)
    record = speciate(course.water, course.temperature, "fresh").engine
    inputs = {**course.basis, **window.lines, "reagent": reagent, "bypass": inp.number("product.bypass"),
              "ph_target": inp.number("product.ph_target")}
    amounts = dict(found.amounts)
    names = {one.reactant: one for one in route.reagents}
    made: dict[str, Figure] = {}
    course.chosen.append(reagent)
    for reactant, one in names.items():
        amount = answer(f"product.{one.name}_amount", amounts[reactant], "molality", f"Dose for the window, {reactant}",
                        "m_d", inputs, record, "found for the window of the product")
        made[reactant] = amount
        course.doses[one.name] = concentration_of.at(
            f"product.{one.name}_solved", molality=amount, water_content=course.content, symbol="D",
            molar_mass=molar_mass(one.chemical, f"product.{one.name}_molar_mass"),
            title=f"Dose for the window, {reactant}")
    if alkali in amounts and alkali not in names:
        with scope(because=[reagent]):
            course.alkali = answer("product.sodium_hydroxide_amount", amounts[alkali], "molality",
                                   "Alkali for the window",
                                   "m_OH", inputs, record, "downstream of the contactor")
    course.water, _ = dose(course.water, course.temperature, {k: amounts[k] for k in names})
    note("product.window", title="Doses for the window of the product", verdict="fails" if found.failed else "passes",
         why=f"cannot be met: {SAID[found.failed]}" if found.failed
         else "calcium, alkalinity, CCPP and pH lie in the window",
         do="change the route or the window as above", inputs={**window.lines, **{k: made[k] for k in names}})
    return made
