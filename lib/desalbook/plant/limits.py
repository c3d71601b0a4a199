"""Membrane limits, and what to say when no number of vessels meets them all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from desalbook.plant.joints import best_served, least_served
from desalbook.problems import Infeasible
from desalbook.trail import Figure, note, values
from desalbook.trail.systems import case_words
from desalbook.trail.words import low_first

__all__ = ["LIMITS", "PRESSURE", "REVIEWED", "SHEET", "no_count", "uneven", "with_spread"]

# solver output, guideline (blank: the sheet of the element states it), what it is, which corner rule, what to do
LIMITS = (
    ("flux", "average-flux", "Average flux", "largest", "increase membrane.vessels"),
    ("lead_flux", "lead-element-flux", "Flux of the lead element", "largest",
     "increase membrane.vessels, or lower membrane.recovery"),
    ("element_recovery", "element-recovery", "Recovery of one element", "largest",
     "lower membrane.recovery, or use fewer membrane.vessels"),
    ("recovery_polarisation", "polarisation", "CP factor by element recovery", "largest",
     "lower membrane.recovery, or increase membrane.elements"),
    ("vessel_feed", "", "Feed per vessel", "largest", "increase membrane.vessels"),
    ("vessel_concentrate", "", "Concentrate per vessel", "smallest",
     "reduce membrane.vessels, or lower membrane.recovery"),
    ("element_drop", "", "Pressure drop of one element", "largest", "increase membrane.vessels"),
    ("vessel_drop", "vessel-pressure-drop", "Pressure drop of one vessel", "largest", "increase membrane.vessels"),
)

# the same, that asks a person to look and never picks a number of vessels: it hangs on the correlation chosen
REVIEWED = ("beta_max", "polarisation-film", "CP factor by film theory",
            "compare the factor by element recovery and the scaling at the wall; with other spacers or correlations "
            "(membrane.mass_transfer) it moves by a tenth; lower membrane.recovery, or use fewer membrane.vessels")

# limits the element's own sheet states
PRESSURE = "Feed pressure within the element"
SHEET = {"vessel_feed": "max_feed_flow", "vessel_concentrate": "min_concentrate_flow",
         "element_drop": "max_pressure_drop", "feed_pressure": "max_pressure"}


def no_count(where: str, counts: np.ndarray, said: list[str], corners: Any, lift: str,
             inputs: Mapping[str, Any]) -> tuple[int, str]:
    """No count meets all limits: the one with fewest breaches, and a failed finding that names what binds.

    Returns
    -------
    int, str
        Index of that count, and the reason in words; its checks fail openly.

    Raises
    ------
    Infeasible
        Every count has a case without a steady state; names the case's reason and what would lift it.
    """
    n, titles = len(corners), {title for _, _, title, *_ in LIMITS} | {PRESSURE}
    each = [said[j * n:j * n + n] for j in range(len(counts))]
    broken = np.array([np.count_nonzero([bool(x) for x in row]) for row in each])
    runs = np.array([all(not x or x in titles for x in row) for row in each])
    best = int(np.argmin(np.where(runs, broken, n + broken)))

    def words(j: int) -> str:
        k = next((i for i, x in enumerate(each[j]) if x), None)
        if k is None:
            return ""
        said = each[j][k]
        return f"{low_first(said)}{' binds' if said in titles else ''} ({case_words(corners[k])})"

    what = f"no number of vessels meets every limit: with {int(counts[best])}, {words(best)}"
    sides = [j for j in (*range(best - 1, -1, -1), *range(best + 1, len(counts)))
             if words(j).partition(" (")[0] != words(best).partition(" (")[0]]
    if sides:
        near = int(np.argmin([abs(j - best) for j in sides]))
        what += f"; with {int(counts[sides[near]])}, {words(sides[near])}"
    if not runs[best]:
        raise Infeasible(what, where=where, value=f"{int(counts[0])} to {int(counts[-1])} tried",
                         do=lift)
    note(f"{where}.binding", title="Feasible number of vessels", verdict="fails", why=what, do=lift, inputs=inputs)
    return best, what


def with_spread(inp: Any, solution: Any) -> Any:
    """The solution with the feed of the best and the concentrate of the least-served vessel."""
    spread = inp("membrane.flow_spread")
    if spread is None:
        return solution
    x, out = float(spread), solution.out
    feed, concentrate = out["vessel_feed"], out["vessel_concentrate"]
    with values(keep=False):
        best = best_served.at("membrane.vessel_feed_best", vessel_feed=feed, flow_spread=x)
        least = least_served.at("membrane.vessel_concentrate_minimum", vessel_concentrate=concentrate, vessel_feed=feed,
                                flow_spread=x)
    return replace(solution, out=out | {"vessel_feed": best, "vessel_concentrate": least})


def uneven(spread: Figure | None, name: str, governing: Mapping[str, Any], prefix: str = "membrane") -> Figure:
    """The figure a limit is judged by: flows of a vessel with the unevenness between vessels, others as they are."""
    if spread is None or name not in ("vessel_feed", "vessel_concentrate"):
        return governing[name]
    if name == "vessel_feed":
        return best_served.at(f"{prefix}.vessel_feed_best", vessel_feed=governing[name], flow_spread=spread)
    return least_served.at(f"{prefix}.vessel_concentrate_minimum", vessel_concentrate=governing[name],
                           vessel_feed=governing["vessel_feed"], flow_spread=spread)
