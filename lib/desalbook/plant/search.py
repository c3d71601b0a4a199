"""The smallest number of vessels that meets every limit in every case: one search for both passes.

Candidates are solved in batches, a few counts at a time with all cases together; the first count whose cases
all hold wins. Where none does, the count with the fewest breaches stands, and what would lift them is tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.plant import positions as ps
from desalbook.plant.array_plan import Row
from desalbook.plant.joints import pass_flux
from desalbook.plant.limits import LIMITS, PRESSURE, REVIEWED, no_count, with_spread
from desalbook.plant.solve_array import Run
from desalbook.trail import Figure, in_values, picked, values
from desalbook.trail.cancellation import check_cancelled, report

__all__ = ["Judged", "Search", "batches", "breaches", "rules_of", "worst"]

SMALLEST = ("vessel_concentrate",)


@dataclass
class Judged:
    """What `membrane.judge` looks at: the worst stage of a pass."""

    reason: list[str]
    feed_pressure: np.ndarray
    out: dict[str, np.ndarray]


@in_values
def worst(stages: list[m.Solution], reason: Any) -> Judged:
    """The worst of the stages for each limit; the average flux is that of the pass."""
    names = [name for name in stages[0].out if name.endswith("_used")] + [name for name, *_ in LIMITS] + [REVIEWED[0]]
    area = [np.asarray(s.cases.vessels) * s.cases.elements * _mean_area(s) for s in stages]
    out = {k: (np.minimum if k in SMALLEST else np.maximum).reduce([s.out[k] for s in stages]) for k in names}
    out["flux"] = pass_flux.at("value", permeate_flow=np.sum([s.permeate_flow for s in stages], axis=0),
                               membrane_area=np.sum(area, axis=0))
    return Judged(list(reason), np.maximum.reduce([s.feed_pressure for s in stages]), out)


def _mean_area(s: m.Solution) -> np.ndarray:
    area = np.asarray(s.cases.element_area)
    return np.mean(area, axis=1) if area.ndim == 2 else area


def rules_of(limits: Mapping[str, Figure], mixed: bool) -> list[m.Limit]:
    """Limits of a pass for its solver's outputs; those of the sheets by position where element types are mixed."""
    found = [m.Limit(name, title, "<=" if rule == "largest" else ">=", float(limits[name]))
             for name, _, title, rule, _ in LIMITS if name in limits]
    if mixed:
        return found + ps.position_limits()
    return [*found, m.Limit("feed_pressure", PRESSURE, "<=", float(limits["feed_pressure"]))]


def breaches(inp: Any, rows: list[Row], run: Run, reason: Any, rules: list[m.Limit]) -> list[str]:
    """For each case the first limit that the pass breaks, in words; empty when it meets all."""
    spread = inp("membrane.flow_spread")
    stages = [s if row.sheet.mixed is None else ps.with_positions(row.sheet.mixed, s, spread)
              for s, row in zip(run.stages, rows, strict=True)]
    return m.judge(with_spread(inp, worst(stages, reason)), rules)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Search:
    """One search over the vessels of a pass's first stage.

    Parameters
    ----------
    id, title, symbol : str
        Of the picked line.
    judged : callable
        Counts -> for each count and case the limit it breaks.
    corners : tuple of Corner
    batches : sequence of array
        Counts that are tried together, in rising order.
    lift : callable
        Counts tried and what they broke -> what would help, in words; asked for only where no count meets all.
    none_fewer : str
        Why the first count is not undercut.
    """

    id: str
    title: str
    symbol: str
    judged: Callable[[np.ndarray], list[str]]
    corners: tuple[Any, ...]
    batches: Sequence[np.ndarray]
    lift: Callable[[np.ndarray, list[str]], str]
    none_fewer: str

    def _tried(self) -> Iterator[np.ndarray]:
        """The batches, each told to whoever asks before it is tried; a search that is cancelled ends here."""
        tried, most = 0, len(np.concatenate(self.batches))
        for more in self.batches:
            check_cancelled()
            report(self.title, tried, most)
            yield more
            tried += len(more)

    def run(self, inputs: Mapping[str, Any]) -> Figure:
        """Pick the count and record it with all candidates."""
        said: list[str] = []
        counts, winner, candidates = np.zeros(0), None, []
        for more in self._tried():
            counts, said = np.concatenate([counts, more]), said + self.judged(more)
            winner, candidates = m.least_vessels(said, counts, list(self.corners))
            if winner is not None:
                break
        if winner is None:
            winner, why = no_count(self.id, counts, said, self.corners, self.lift(counts, said), inputs)
            candidates[winner] = {**candidates[winner], "won": True}
        else:
            why = f"one fewer: {candidates[winner - 1]['why'] if winner else self.none_fewer}"
        return picked(self.id, counts[winner], "count", title=self.title, symbol=self.symbol,
                      rule="smallest number that meets every limit in every case", candidates=candidates,
                      inputs=inputs, why=why)

    def meets(self) -> bool:
        """Whether some count meets all."""
        said: list[str] = []
        counts = np.zeros(0)
        with values(keep=False):
            for more in self._tried():
                counts, said = np.concatenate([counts, more]), said + self.judged(more)
                if m.least_vessels(said, counts, list(self.corners))[0] is not None:
                    return True
        return False

    def value(self) -> float:
        """The count alone; that of fewest breaches where none meets all."""
        with values():
            return float(self.run({}))


def batches(start: float, row: int, sizes: Iterable[int]) -> list[np.ndarray]:
    """Counts in rows from a start on: batches of these sizes."""
    found, at = [], 0
    for size in sizes:
        found.append(start + row * np.arange(at, at + size, dtype=float))
        at += size
    return found

