"""How many vessels: the smallest number that meets every limit in every case."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from desalbook.membrane.solver import Solution

__all__ = ["Limit", "judge", "least_vessels"]


@dataclass(frozen=True)
class Limit:
    """One limit: the solver's output it holds for, its sense and value."""

    name: str
    title: str
    sense: str
    value: float


def judge(solution: Solution, limits: list[Limit]) -> list[str]:
    """For each case the first limit it breaks, in words; empty when it meets all."""
    said = list(solution.reason)
    for limit in limits:
        value = solution.feed_pressure if limit.name == "feed_pressure" else solution.out[limit.name]
        broken = value > limit.value * (1 + 1e-9) if limit.sense == "<=" else value < limit.value * (1 - 1e-9)
        for i in np.flatnonzero(broken):
            if not said[i]:
                said[i] = limit.title
    return said


def least_vessels(said: list[str], counts: np.ndarray, corners: list[str]) -> tuple[int | None, list[Mapping]]:
    """The smallest count whose cases all hold, and what every candidate fell short of."""
    candidates, winner = [], None
    for j, count in enumerate(counts):
        wrong = {corners[k]: said[j * len(corners) + k] for k in range(len(corners))
                 if said[j * len(corners) + k]}
        corner = next(iter(wrong), "")
        row = {"key": str(int(count)), "value": float(count),
               "why": f"{wrong[corner]} at {corner}" if wrong else "meets every limit"}
        if not wrong and winner is None:
            winner = j
            row["won"] = True
        candidates.append(row)
    return winner, candidates
