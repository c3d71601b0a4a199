"""One dosing line: solution, feed rates over the span, day tank, store and use."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.dosing import relations as r
from desalbook.tables import Cell, Row, table
from desalbook.trail import Figure, assumed, checked

__all__ = ["Dose", "Solution", "dose_line", "solution", "stated", "stoichiometry"]

Inp = Callable[[str], Any]
_RATE = {
    "concentration": ("dose", r.substance_rate),
    "concentration as Cl2": ("chlorine_dose", r.chlorine_rate),
    "concentration as product": ("antiscalant_dose", r.product_rate),
}


@dataclass(frozen=True)
class Solution:
    """Solution as fed: strength (kg/kg, in the basis of the dose) and density (kg/m3)."""

    strength: Figure
    density: Figure
    caution: str


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
        kg of solution in 30 days.
    """

    dose: Figure
    mass_rate: Figure
    feed_rate: Figure
    feed_rate_highest: Figure
    feed_rate_lowest: Figure
    day_tank: Figure
    storage: Figure
    monthly_use: Figure


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


def stated(inp: Inp, id: str, column: str, row: Row) -> Figure:
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


def solution(inp: Inp, prefix: str, chemical: str) -> Solution:
    """The solution of a dosing line, by the file or by the table of chemicals.

    Hypochlorite, whose section has a ``strength_left``, is fed at its aged strength.
    """
    row = table("chemicals").row(chemical, f"{prefix}.chemical")
    neat = stated(inp, f"{prefix}.strength", "strength", row)
    density = stated(inp, f"{prefix}.density", "density", row)
    if row["role"].value == "oxidant":
        neat = r.aged_strength.at(
            f"{prefix}.strength_used", neat_strength=neat, strength_left=inp(f"{prefix}.strength_left")
        )
    return Solution(neat, density, f"{row['hazard'].value} {row['caution'].value}")


def dose_line(
    inp: Inp,
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
    inp : callable
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
        mass = rate.at(f"{prefix}.mass_rate{suffix}", flow=q, title=f"Mass rate, {what}", **{name: d})
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
    average = feed if mean is None else fed("_mean", flow, mean, "mean dose")[1]
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
        dosing_flow=average,
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
        f"{prefix}.monthly_use", dosing_flow=average, solution_density=of.density, usage_time=month
    )
    return Dose(dose, mass, feed, high, low, tank, store, use)
