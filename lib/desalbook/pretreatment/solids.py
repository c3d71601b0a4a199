"""Solids through the filters: load, filter run, turbidity of the filtrate, and what each filter holds through a run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from desalbook.hydraulics.constants import G
from desalbook.pretreatment.backwash_schedule import Schedule
from desalbook.pretreatment.backwash_timetable import Timetable
from desalbook.pretreatment.filters import Battery
from desalbook.trail import Figure, assumed, checked, constant, maximum, minimum, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit
from desalbook.units import KINDS, Concentration, DifferencePa, FiltrationRate, Fraction, Head, KgPerM2, KgPerM3, S

__all__ = [
    "METRE",
    "Solids",
    "filling",
    "filtrate_turbidity",
    "head_loss_growth",
    "reachable_turbidity_removal",
    "run_to_terminal_head_loss",
    "solids_in_filtrate",
    "solids_loading_rate",
    "solids_retained",
    "solids_through_run",
    "solids_to_filters",
]


Turbidity = Annotated[float, KINDS["turbidity"]]
SolidsFlux = Annotated[float, KINDS["salt flux"]]
METRE = constant("L_1", 1.0, "m", source="definition", title="One metre")


@relation("Solids into the filters", symbol="C_s", unit="kg/m^3", source="definition")
def solids_to_filters(
    suspended_solids: Concentration, solids_fraction: Fraction, coagulant_solids: Concentration
) -> Concentration:
    """Suspended solids to the filters: those of the raw water and those the coagulant makes.

    Conserved mass; settling in the raw tank is neglected, which is on the safe side.
    """
    return suspended_solids * solids_fraction + coagulant_solids


@relation("Solids in the filtrate", symbol="C_f", unit="kg/m^3", source="definition")
def solids_in_filtrate(solids: Concentration, removal: Fraction) -> Concentration:
    """Suspended solids in the filtrate.

    A constant removal; ripening after a backwash and breakthrough at the end of a run are not in it.
    """
    return solids * (1 - removal)


@relation("Solids caught on a square metre in a second", symbol="w_s", unit="kg/(m^2 s)", source="definition")
def solids_loading_rate(filter_rate: FiltrationRate, solids: Concentration, removal: Fraction) -> SolidsFlux:
    """Solids retained on a square metre of bed per second.

    With the mean filtration rate; the bed is taken as loaded evenly over its area.
    """
    return filter_rate * solids * removal


@relation("Head loss available for solids", symbol="h_g", unit="m", source="definition")
def head_loss_growth(filter_drop: DifferencePa, clean_drop: DifferencePa, density: KgPerM3) -> Head:
    """Head loss that retained solids may still add, from clean to terminal.

    Zero where the clean filter is at its terminal pressure drop already.
    """
    return maximum(filter_drop - clean_drop, 0) / (density * G)


@relation(
    "Run until the loss is reached",
    symbol="t_h",
    unit="s",
    source="common-practice",
    note="loss grows in proportion to the solids held; the load per metre is found on the plant's own water, "
    "0.2 to 2 kg/m2 from memory",
)
def run_to_terminal_head_loss(growth: Head, load_per_metre: KgPerM2, caught: SolidsFlux) -> S:
    """Filter run until the terminal head loss is reached.

    Takes head loss as proportional to the solids retained. The load per metre belongs to the water and the media at
    hand and scatters tenfold; a pilot replaces it. Breakthrough may end a run sooner.
    """
    return growth / METRE * load_per_metre / caught


@relation("Solids loading at backwash", symbol="W_s", unit="kg/m^2", source="definition")
def solids_retained(caught: SolidsFlux, filter_run: S) -> KgPerM2:
    """Solids retained on a square metre of bed over one run.

    All of it is taken to leave with the backwash; mud balls are what does not.
    """
    return caught * filter_run


@relation("Attainable turbidity removal", symbol="x_Tu", unit="1", source="definition")
def reachable_turbidity_removal(turbidity_removal: Fraction, removal_limit: Fraction) -> Fraction:
    """Removal of turbidity: what is set, and not more than filters reach with or without a coagulant.

    Fine and colloidal matter passes a granular bed unless a coagulant has joined it to flocs.
    """
    return minimum(turbidity_removal, removal_limit)


@relation(
    "Turbidity of the filtrate",
    symbol="Tu_f",
    unit="1",
    source="common-practice",
    note="an estimate for the checks; a pilot or the plant itself says what is reached",
)
def filtrate_turbidity(turbidity: Turbidity, turbidity_removal: Fraction) -> Turbidity:
    """Turbidity of the filtrate from a removal.

    An estimate for the checks: turbidity is not conserved as a mass is, and removal depends on coagulation and
    ripening; a pilot or the plant itself says what is reached.
    """
    return turbidity * (1 - turbidity_removal)


def _removal(inp: Inputs) -> Figure:
    """Removal of turbidity by the filters, with a coagulant or without."""
    coagulated = inp.choice("coagulation.present")
    with scope(because=[coagulated]):
        with_coagulant = coagulated == "yes"
        limit = assumed(
            "filters.turbidity_removal_limit",
            0.999 if with_coagulant else 0.90,
            "fraction",
            title="Attainable turbidity removal of filters",
            symbol="x_max",
            source="common-practice",
            place="99 % and more with a coagulant" if with_coagulant else "some 50 to 90 % without a coagulant",
        )
        return reachable_turbidity_removal.at(
            "filters.turbidity_removal_reached",
            turbidity_removal=inp.number("filters.turbidity_removal"),
            removal_limit=limit,
        )


def filling(
    inp: Inputs, of: Battery, plan: Schedule, clean_drop: Figure, density: Figure, coagulant_solids: Figure
) -> Figure:
    """Run from the solids load, at usual and at worst water; turbidity of the filtrate.

    Parameters
    ----------
    clean_drop : Figure
        Coldest water, Pa.
    coagulant_solids : Figure
        kg/m3, zero without coagulant.

    Returns
    -------
    Figure
        Solids of the filtrate with usual water, kg/m3.
    """
    growth = head_loss_growth.at(
        "filters.loss_growth", filter_drop=inp.number("filters.dirty_drop"), clean_drop=clean_drop, density=density
    )
    all_of = assumed("filters.solids_all", 1.0, "fraction", title="Worst water", symbol="x_u", source="definition")
    runs, filtrate = {}, coagulant_solids
    for name, share in (("usual", inp.number("filters.solids_fraction")), ("worst", all_of)):
        solids = solids_to_filters.at(
            f"filters.solids_{name}",
            suspended_solids=inp.number("water.suspended_solids"),
            solids_fraction=share,
            coagulant_solids=coagulant_solids,
            title=f"Solids into the filters, {name}",
        )
        caught = solids_loading_rate.at(
            f"filters.caught_{name}", filter_rate=of.rate, solids=solids, removal=inp.number("filters.solids_removal")
        )
        if name == "usual":
            filtrate = solids_in_filtrate.at(
                "filters.filtrate_solids", solids=solids, removal=inp.number("filters.solids_removal")
            )
        if not float(caught):
            return filtrate
        runs[name] = run_to_terminal_head_loss.at(
            f"filters.run_{name}",
            growth=growth,
            caught=caught,
            load_per_metre=inp.number("filters.load_per_metre"),
            title=f"Filter run to terminal head loss, {name} water",
        )
        if name == "usual":
            solids_retained.at("filters.solids_held", caught=caught, filter_run=plan.slots.run)
    checked(
        "filters.run_usual.check",
        runs["usual"],
        ">=",
        plan.slots.run,
        title="Filter run to terminal head loss",
        decided_by=[inp.number("filters.load_per_metre")],
        do="backwash more often, deepen or coarsen the bed, lower the rate, or enter the removal measured on "
           "this water",
    )
    checked(
        "filters.run_worst.check",
        runs["worst"],
        ">=",
        plan.slots.time,
        title="Backwash capacity at worst-case solids",
        decided_by=[inp.number("filters.load_per_metre")],
        do="use more filters, a shorter backwash, or less flow during bad water",
    )
    turbidity = filtrate_turbidity.at(
        "filters.filtrate_turbidity_result", turbidity=inp.number("water.turbidity"), turbidity_removal=_removal(inp)
    )
    checked(
        "filters.filtrate_turbidity.check",
        turbidity,
        "<=",
        inp.number("filters.filtrate_turbidity"),
        decided_by=[inp.number("filters.turbidity_removal")],
        title="Turbidity of the filtrate, worst water",
        do="coagulate (coagulation.present), filter more slowly (filters.rate_limit), or filter twice",
    )
    check_ro_feed(turbidity, decided_by=[inp.number("filters.turbidity_removal")])
    return filtrate


def check_ro_feed(turbidity: Figure, decided_by: Sequence[Figure] = ()) -> None:
    """Judge the turbidity of the RO feed in the worst water, that of the raw water where nothing filters it."""
    check_limit("fouling.turbidity.check", turbidity, "feed-turbidity", title="Turbidity of the RO feed, worst water",
                decided_by=decided_by,
                do="coagulate (coagulation.present), filter (filters.present), or filter more slowly "
                   "(filters.rate_limit)")


@dataclass(frozen=True)
class Solids:
    """Of each filter (t, n, m): kg/s in, on to the membranes, to waste; kg held above a clean filter at the end.

    ``washed_out`` (t, n) is what one backwash takes out, kg.
    """

    into: np.ndarray
    onward: np.ndarray
    waste: np.ndarray
    held: np.ndarray
    washed_out: np.ndarray


def solids_through_run(of: Timetable, raw: float, filtrate: float, wash: float) -> Solids:
    """Solids of one run that repeats itself.

    Parameters
    ----------
    of : Timetable
    raw, filtrate, wash : float
        Solids of the water into the filters, out of them, and of the backwash water, kg/m3.

    Notes
    -----
    What a run has left in a filter leaves during its backwash, evenly over the minutes of the backwash. A filter whose
    backwash did not fit into the run keeps what it caught.
    """
    into = raw * of.into + wash * of.wash
    onward = filtrate * of.filtrate
    washing = of.wash > 0
    steady = filtrate * of.rinse + raw * of.drain + wash * (of.wash - of.refill)
    kept = np.sum((into - onward - steady) * of.length, axis=-1)
    share = np.where(washing, of.wash, 0.0)
    total = np.sum(share * of.length, axis=-1)
    washed_out = np.where(total > 0, kept, 0.0)
    flush = share * np.divide(washed_out, total, out=np.zeros_like(total), where=total > 0)[..., None]
    waste = steady + flush
    held = np.cumsum((into - onward - waste) * of.length, axis=-1)
    held -= np.minimum(held.min(axis=-1, keepdims=True), 0.0)
    return Solids(into, onward, waste, held, washed_out)
