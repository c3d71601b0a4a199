"""Limits of the membranes, and what to say when no number of vessels meets them all."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from desalbook.plant.array_relations import best_served, least_served
from desalbook.problems import Infeasible
from desalbook.trail import Figure

__all__ = ["LIMITS", "SHEET", "no_count", "uneven", "uneven_plain", "with_spread"]

# solver output, guideline, what it is, which corner rule, what to do
LIMITS = (
    ("flux", "average-flux", "Average flux", "largest", "add vessels"),
    ("lead_flux", "lead-element-flux", "Flux of the lead element", "largest", "add vessels or lower the recovery"),
    ("element_recovery", "element-recovery", "Recovery of one element", "largest", "add vessels"),
    ("beta_max", "polarisation", "Polarisation factor", "largest", "add vessels or lower the recovery"),
    ("vessel_feed", "vessel-feed-flow", "Feed per vessel", "largest", "add vessels"),
    ("vessel_concentrate", "vessel-concentrate-flow", "Reject per vessel", "smallest",
     "take vessels away or lower the recovery"),
    ("element_drop", "element-pressure-drop", "Pressure drop of one element", "largest", "add vessels"),
    ("vessel_drop", "vessel-pressure-drop", "Pressure drop of one vessel", "largest", "add vessels"),
)

# limits the element's own sheet states
SHEET = {"vessel_feed": "max_feed_flow", "vessel_concentrate": "min_concentrate_flow",
         "element_drop": "max_pressure_drop", "feed_pressure": "max_pressure"}


def no_count(where: str, counts: np.ndarray, said: list[str], corners, lift: str) -> Infeasible:
    """No count meets all limits: what binds below and above, and what would lift it."""
    n = len(corners)
    broken = [np.count_nonzero([bool(x) for x in said[j * n:j * n + n]]) for j in range(len(counts))]
    best = int(np.argmin(broken))

    def words(j: int) -> str:
        k = next((i for i in range(j * n, j * n + n) if said[i]), None)
        return "" if k is None else f"{said[k]} at {corners[k - j * n]}"

    what = f"no number of vessels meets every limit: with {int(counts[best])} {words(best)} binds"
    sides = [j for j in (*range(best - 1, -1, -1), *range(best + 1, len(counts)))
             if words(j).partition(" at ")[0] != words(best).partition(" at ")[0]]
    if sides:
        near = int(np.argmin([abs(j - best) for j in sides]))
        what += f", with {int(counts[sides[near]])} {words(sides[near])}"
    todo = next((do for _, _, title, _, do in LIMITS if title in words(best)), lift)
    if "vessels" in todo:
        todo = lift
    return Infeasible(what, where=where, value=f"{int(counts[0])} to {int(counts[-1])} tried",
                      do=f"{todo}, choose another element, or write {where} to see every check")


def with_spread(inp: Any, solution: Any) -> Any:
    """The solution with the feed of the best and the reject of the least served vessel."""
    spread = inp("membrane.flow_spread")
    if spread is None:
        return solution
    x, out = float(spread), solution.out
    return replace(solution, out=out | {
        "vessel_feed": best_served.plain(out["vessel_feed"], x),
        "vessel_concentrate": least_served.plain(out["vessel_concentrate"], out["vessel_feed"], x)})


def uneven(inp: Any, name: str, governing: dict[str, Figure], prefix: str = "membrane") -> Figure:
    """The figure a limit is judged by: flows of a vessel with the unevenness between vessels, others as they are."""
    spread = inp("membrane.flow_spread")
    if spread is None or name not in ("vessel_feed", "vessel_concentrate"):
        return governing[name]
    if name == "vessel_feed":
        return best_served.at(f"{prefix}.vessel_feed_best", vessel_feed=governing[name], flow_spread=spread)
    return least_served.at(f"{prefix}.vessel_concentrate_least", vessel_concentrate=governing[name],
                           vessel_feed=governing["vessel_feed"], flow_spread=spread)


def uneven_plain(name: str, value: float, feed: float, spread: Figure | None) -> float:
    """The same on bare numbers, for tables."""
    if spread is None or name not in ("vessel_feed", "vessel_concentrate"):
        return value
    if name == "vessel_feed":
        return float(best_served.plain(value, float(spread)))
    return float(least_served.plain(value, feed, float(spread)))
