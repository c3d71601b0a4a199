"""Second opinion: every computed line again, from the stored trees and inputs and nothing else.

None of the code that made the numbers is called, only the reader of trees; what agrees here was not
changed by hand and was made by the equation that stands beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np

from desalbook.audit.page.shown import by_id
from desalbook.trail.expression import evaluate
from desalbook.trail.stored import relation_hash, value_at

__all__ = ["Recomputed", "evaluated", "recompute"]


@dataclass(frozen=True)
class Recomputed:
    """What came out.

    Parameters
    ----------
    worst : float
        Largest relative difference; infinite when a line could not be evaluated.
    id : str
        The line that has it; empty when nothing was computed.
    count : int
        Computed lines evaluated.
    checks : int
        Verdicts judged again.
    altered : tuple of str
        Relations whose stored parts do not give their stored hash.
    misjudged : tuple of str
        Checks whose stored verdict is not the one their figures give.
    """

    worst: float
    id: str
    count: int
    checks: int
    altered: tuple[str, ...]
    misjudged: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """True when the record agrees with itself to 1e-9."""
        return self.worst <= 1e-9 and not self.altered and not self.misjudged


def recompute(record: Mapping[str, Any]) -> Recomputed:
    """Evaluate every computed line of a record again and compare.

    Parameters
    ----------
    record : mapping

    Returns
    -------
    Recomputed
    """
    lines = by_id(record)
    worst, where, count, checks = 0.0, "", 0, 0
    misjudged = []
    for line in record["lines"]:
        if line["sort"] == "computed":
            count += 1
            difference = _difference(line, lines, record["relations"])
            if difference > worst or not where:
                worst, where = difference, line["id"]
        elif line["sort"] == "checked" and "sense" in line["more"]:
            checks += 1
            if not _judged_right(line, lines):
                misjudged.append(line["id"])
    altered = tuple(key for key, r in record["relations"].items() if relation_hash(r) != r["hash"])
    return Recomputed(worst, where, count, checks, altered, tuple(misjudged))


def evaluated(line: Mapping[str, Any], lines: Mapping[str, Any], relations: Mapping[str, Any]) -> np.ndarray:
    """A computed line again, from its stored tree and the values its inputs have in `lines`; at least 1-D."""
    return np.atleast_1d(_again(line, lines, relations))


def _again(line: Mapping[str, Any], lines: Mapping[str, Any], relations: Mapping[str, Any]) -> np.ndarray:
    r = relations[line["relation"]]
    values = {
        name: np.asarray(value_at(lines, where)[1], dtype=float) for name, where in line["inputs"].items()
    }
    tables = {n: SimpleNamespace(x=t["x"], y=t["y"]) for n, t in r["tables"].items()}
    with np.errstate(all="ignore"):
        return np.asarray(
            evaluate(r["tree"], values, {n: c["value"] for n, c in r["constants"].items()}, tables), dtype=float
        )


def _difference(line: Mapping[str, Any], lines: Mapping[str, Any], relations: Mapping[str, Any]) -> float:
    try:
        again = _again(line, lines, relations)
    except (KeyError, ValueError, TypeError, IndexError):
        return float("inf")
    stored = np.asarray(line["value"], dtype=float)
    if again.shape != stored.shape or not np.all(np.isfinite(again)):
        return float("inf")
    scale = np.maximum(np.maximum(np.abs(again), np.abs(stored)), np.finfo(float).tiny)
    return float(np.max(np.abs(again - stored) / scale, initial=0.0))


def _judged_right(line: Mapping[str, Any], lines: Mapping[str, Any]) -> bool:
    try:
        value = value_at(lines, line["inputs"]["provided"])[1]
        limit = value_at(lines, line["inputs"]["limit"])[1]
    except (KeyError, ValueError):
        return False
    fails = value > limit if line["more"]["sense"] == "<=" else value < limit
    return (
        value == line["value"]
        and limit == line["more"]["limit"]
        and fails == (line["more"]["verdict"] == "fails")
    )
