"""One dosing line: solution, feed rates over the span, day tank, store and use."""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.dosing import hardware_relations as h
from desalbook.dosing import relations as r
from desalbook.problems import DesignError, Infeasible
from desalbook.tables import Cell, Row, table
from desalbook.trail import Figure, assumed, checked, scope
from desalbook.trail.inputs import Inputs
from desalbook.water.species import REACTANTS

__all__ = ["Dose", "Neat", "Solution", "dose_line", "not_followed", "solution", "stated", "stoichiometry"]

_RATE = {
    "concentration": ("dose", r.substance_rate),
    "concentration as Cl2": ("chlorine_dose", r.chlorine_rate),
    "concentration as product": ("antiscalant_dose", r.product_rate),
}


@dataclass(frozen=True)
class Neat:
    """Solution as bought: strength as delivered and when used (kg/kg, in the basis of the dose), density (kg/m3)."""

    chemical: str
    delivered: Figure
    strength: Figure
    density: Figure
    caution: str


def not_followed(chemical: str) -> str:
    """What a chemical brings that the streams of the plant leave out of their ions, in words.

    Parameters
    ----------
    chemical : str
        Row of the table of chemicals.
    """
    formula = table("chemicals").row(chemical, "dosing.chemical")["formula"].value
    known = REACTANTS.get(formula)
    if known is None or not known.ions:
        return "followed by mass; nothing of it is in the ions of the streams"
    brought = " and ".join(f"{n:g} {ion}" for ion, n in known.ions.items())
    return f"followed by mass; what a mole brings ({brought}) is not in the ions of the streams"


@dataclass(frozen=True)
class Solution:
    """Solution as fed: strength (kg/kg, in the basis of the dose) and density (kg/m3), and what it is made of."""

    strength: Figure
    density: Figure
    caution: str
    neat: Neat


@dataclass(frozen=True)
class Dose:
    """One dosing line, for the whole plant.

    Parameters
    ----------
    dose : Figure
        kg/m3 in the basis its kind names.
    mass_rate : Figure
        kg/s of that basis at the mean dose and full flow.
    feed_rate, feed_rate_highest, feed_rate_lowest : Figure
        m3/s of solution.
    day_tank, storage : Figure
        m3.
    monthly_use : Figure
        kg of solution as bought in 30 days.
    neat : Neat
    solution : Solution
    flow : Figure
        m3/s that are dosed, all trains.
    mean_dose, mean_mass_rate, mean_feed, mean_neat : Figure
        Over time, shocks included: kg/m3, kg/s of the basis, m3/s as fed, m3/s as bought.
    """

    dose: Figure
    mass_rate: Figure
    feed_rate: Figure
    feed_rate_highest: Figure
    feed_rate_lowest: Figure
    day_tank: Figure
    storage: Figure
    monthly_use: Figure
    neat: Neat
    solution: Solution
    flow: Figure
    mean_dose: Figure
    mean_mass_rate: Figure
    mean_feed: Figure
    mean_neat: Figure


def _assumed(id: str, cell: Cell, row: Row, name: str) -> Figure:
    return assumed(
        id,
        cell.value,
        cell.kind,
        title=f"{cell.title}, {row.title.lower()}",
        symbol=cell.symbol,
        text=cell.text,
        source=cell.source,
        place=cell.place,
        table=name,
        row=row.key,
    )


def stated(inp: Inputs, id: str, column: str, row: Row) -> Figure:
    """The written value of an id, or the table's."""
    written = inp(id)
    return written if written is not None else _assumed(id, row[column], row, "chemicals")


def stoichiometry(id: str, key: str) -> Figure:
    """A mass ratio of the table of stoichiometry as a line."""
    row = table("stoichiometry")[key]
    return assumed(
        id,
        row["ratio"].value,
        "mass ratio",
        title=row.title,
        symbol="r",
        text=row["ratio"].text,
        source=row.source,
        place=row.place,
        table="stoichiometry",
        row=key,
    )


def tabulated_density(id: str, strength: Figure, formula: str) -> Figure | None:
    """Density at a strength by the table of densities, a line of its own; None for a substance it lacks.

    Raises
    ------
    DesignError
        The strength lies beyond the rows.
    """
    rows = [x for x in table("solution_densities").ascending("mass_fraction") if x["formula"].value == formula]
    if not formula or not rows:
        return None
    above = [x for x in rows if x["mass_fraction"].value >= strength.value - 1e-12]
    if not above:
        raise DesignError("beyond the table of densities", where=strength.id, value=strength.show(),
                          allowed=f"up to {rows[-1]['mass_fraction'].text}",
                          do="write the density beside it, by the certificate of the delivery")
    upper = above[0] if above[0] is not rows[0] else rows[1]
    lower = rows[rows.index(upper) - 1]
    ends: dict[str, Figure] = {}
    with scope(because=[strength]):
        for end, row in (("low", lower), ("high", upper)):
            for name, cell in (("strength", row["mass_fraction"]), ("density", row["density"])):
                ends[f"{name}_{end}"] = _assumed(f"{id}_{name}_{end}", cell, row, "solution_densities")
    return h.density_between.at(id, strength=strength, **ends)


def _neat_density(inp: Inputs, prefix: str, row: Row, strength: Figure) -> Figure:
    """Written; else of the row; else, at a strength the file states, of the table of densities."""
    if inp(f"{prefix}.density") is None and inp(f"{prefix}.strength") is not None:
        found = tabulated_density(f"{prefix}.density_used", strength, row["formula"].value)
        if found is not None:
            return found
    return stated(inp, f"{prefix}.density", "density", row)


def solution(inp: Inputs, prefix: str, chemical: str) -> Solution:
    """The solution of a dosing line, by the file or by the table of chemicals.

    Hypochlorite, whose section has a ``strength_left``, is fed at its aged strength. A ``fed_strength`` thins it.
    """
    row = table("chemicals").row(chemical, f"{prefix}.chemical")
    delivered = neat = stated(inp, f"{prefix}.strength", "strength", row)
    density = _neat_density(inp, prefix, row, delivered)
    if row["role"].value == "oxidant":
        neat = r.aged_strength.at(
            f"{prefix}.strength_used", neat_strength=neat, strength_left=inp(f"{prefix}.strength_left")
        )
    caution = f"{row['hazard'].value} {row['caution'].value}"
    bought = Neat(str(row.key), delivered, neat, density, caution)
    thin = inp(f"{prefix}.fed_strength")
    if thin is None:
        return Solution(neat, density, caution, bought)
    checked(f"{prefix}.fed_strength.check", thin, "<=", neat, title="Dilution",
            do=f"write a {prefix}.fed_strength below the strength when used, or leave it out", caution=caution)
    thinned = tabulated_density(f"{prefix}.density_fed", thin, row["formula"].value)
    if thinned is None:
        water = assumed(f"{prefix}.water_density", 998.2, "density", title="Density of the water of dilution",
                        symbol="rho_w", source="crc-handbook", place="20 degC")
        thinned = h.density_diluted.at(f"{prefix}.density_fed", fed_strength=thin, neat_strength=neat,
                                       neat_density=density, water_density=water)
    return Solution(thin, thinned, caution, bought)


def dose_line(
    inp: Inputs,
    prefix: str,
    flow: Figure,
    dose: Figure,
    of: Solution,
    *,
    highest: Figure | None = None,
    lowest: Figure | None = None,
    lowest_flow: Figure | None = None,
    mean: Figure | None = None,
) -> Dose:
    """Feed rates, tanks and use of one chemical.

    Parameters
    ----------
    inp : Inputs
    prefix : str
        Part of the ids, for example ``"antiscalant"``.
    flow : Figure
        m3/s that are dosed with all trains running.
    dose : Figure
        The usual dose; its kind says what it counts and so which strength is meant.
    of : Solution
    highest, lowest : Figure, optional
        Doses the pump must span; the usual dose unless given.
    lowest_flow : Figure, optional
        m3/s, one train; `flow` unless given.
    mean : Figure, optional
        Dose over time, for store and use; the usual dose unless given.
    """
    name, rate = _RATE[dose.kind.family]

    def fed(suffix: str, q: Figure, d: Figure, what: str) -> tuple[Figure, Figure]:
        mass = rate.at(f"{prefix}.mass_rate{suffix}", flow=q, title=f"Mass rate, {what}",
                       note=not_followed(of.neat.chemical), **{name: d})
        return mass, r.feed_rate.at(
            f"{prefix}.feed_rate{suffix}",
            mass_flow=mass,
            strength=of.strength,
            solution_density=of.density,
            title=f"Feed rate, {what}",
        )

    mass, feed = fed("", flow, dose, "usual dose")
    _, high = fed("_highest", flow, highest or dose, "highest dose, all trains")
    _, low = fed("_lowest", lowest_flow or flow, lowest or dose, "lowest dose, one train")
    mean_mass, average = (mass, feed) if mean is None else fed("_mean", flow, mean, "mean dose")
    bought = average
    if of.strength is not of.neat.strength:
        bought = r.feed_rate.at(f"{prefix}.neat_rate", mass_flow=mean_mass, strength=of.neat.strength,
                                solution_density=of.neat.density, title="Solution bought, mean")
        h.make_down_water.at(f"{prefix}.dilution_water", dosing_flow=average, solution_density=of.density,
                             neat_flow=bought, neat_density=of.neat.density)
    if not float(low) > 0.0:
        raise Infeasible("nothing is fed at the lowest dose, and no pump has that span", where=f"{prefix}.dose",
                         do=f"see what makes its lowest dose zero, or write {prefix}.present = no")
    span = r.turndown.at(f"{prefix}.span", highest_feed=high, lowest_feed=low)
    checked(
        f"{prefix}.span.check",
        span,
        "<=",
        inp("dosing.span"),
        title="Span of the dosing pump",
        do="split it between two pumps, or dilute the solution",
        caution=of.caution,
    )
    tank = r.stored.at(
        f"{prefix}.day_tank", dosing_flow=feed, storage_time=inp("dosing.day_tank_time"), title="Day tank"
    )
    store = r.stored.at(
        f"{prefix}.storage",
        dosing_flow=bought,
        storage_time=inp("dosing.storage_time"),
        title="Solution in store",
    )
    month = assumed(
        f"{prefix}.month",
        30 * 86400.0,
        "time.day",
        title="Month of the figure of use",
        symbol="t_u",
        text="30 d",
        source="definition",
    )
    use = r.used.at(
        f"{prefix}.monthly_use", dosing_flow=bought, solution_density=of.neat.density, usage_time=month
    )
    return Dose(dose, mass, feed, high, low, tank, store, use, of.neat, of, flow, dose if mean is None else mean,
                mean_mass, average, bought)
