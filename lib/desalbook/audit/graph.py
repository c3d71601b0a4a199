"""The record as a graph: who rests on whom, and when two values count as the same."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any

from desalbook.trail.stored import value_at
from desalbook.trail.words import chapter

__all__ = ["SAME", "chapter", "children", "descendants", "differs", "id_of", "parents", "path_up", "scales"]

SAME = 1e-9
"""Relative; another computer's arithmetic differs by less, an input that was changed by more."""
_NOISE = 1e-12  # a balance that closes is the rounding of what it balances, and is measured by that


def id_of(where: Any) -> str:
    """Id of the line that an input or an influence names."""
    return where if isinstance(where, str) else where[0]


def parents(line: Mapping[str, Any]) -> list[str]:
    """Ids a line rests on, each once: what won a pick, other arguments, then what else had influence."""
    won = [c["key"] for c in line["more"].get("candidates", ()) if c.get("won") and c.get("key") in line["inputs"]]
    first = [line["inputs"][k] for k in won]
    return list(dict.fromkeys(id_of(w) for w in (*first, *line["inputs"].values(), *line["because"])))


def children(lines: Iterable[Mapping[str, Any]]) -> dict[str, list[str]]:
    """Ids that rest on each id."""
    found: dict[str, list[str]] = {}
    for line in lines:
        for parent in parents(line):
            found.setdefault(parent, []).append(line["id"])
    return found


def descendants(start: Iterable[str], below: Mapping[str, Iterable[str]]) -> set[str]:
    """All ids that rest on those, without them unless they rest on one another."""
    seen: set[str] = set()
    todo = list(start)
    while todo:
        for child in below.get(todo.pop(), ()):
            if child not in seen:
                seen.add(child)
                todo.append(child)
    return seen


def path_up(
    start: str, goal: Callable[[str], bool], above: Mapping[str, Iterable[str]], through: Collection[str]
) -> list[str]:
    """Shortest way from a goal down to `start`, over lines of `through`; empty when there is none."""
    came: dict[str, str] = {start: ""}
    todo = deque([start])
    while todo:
        here = todo.popleft()
        if here != start and goal(here):
            way = [here]
            while came[way[-1]]:
                way.append(came[way[-1]])
            return way
        for parent in above.get(here, ()):
            if parent not in came and parent in through:
                came[parent] = here
                todo.append(parent)
    return []


def scales(line: Mapping[str, Any], lines: Mapping[str, Mapping[str, Any]]) -> list[float]:
    """What each number of a line is measured by: itself, or, where it is rounding, what it was made of.

    Only a computed line can be such a remainder, and only of inputs of its own unit.
    """
    value = line["value"]
    many = value if isinstance(value, list) else [value]
    largest = 0.0
    for where in line["inputs"].values() if line["sort"] == "computed" else ():
        source, got = value_at(lines, where)
        if source["unit"] == line["unit"]:
            largest = max(largest, *(abs(v) for v in (got if isinstance(got, list) else [got]) if v is not None))
    return [
        largest if abs(v) < _NOISE * largest else abs(v) for v in many if isinstance(v, (int, float))
    ]


def differs(old: Any, new: Any, scale: Iterable[float] | None = None) -> float:
    """Largest relative difference of two stored values; 0 within `SAME`, infinite where they cannot be compared.

    Parameters
    ----------
    old, new : number, list of numbers, text or None
    scale : iterable of float, optional
        What each number is measured by; the larger of the two when not said.
    """
    if old is None or new is None or isinstance(old, str) or isinstance(new, str):
        return 0.0 if old == new else math.inf
    a, b = (v if isinstance(v, list) else [v] for v in (old, new))
    if len(a) != len(b):
        return math.inf
    worst = 0.0
    measures = list(scale) if scale is not None else [0.0] * len(a)
    if len(measures) != len(a) or not all(isinstance(v, (int, float)) for v in (*a, *b)):
        return 0.0 if a == b else math.inf
    for x, y, s in zip(a, b, measures, strict=True):
        size = max(abs(x), abs(y), s)
        if size:
            worst = max(worst, abs(y - x) / size)
    return worst if worst > SAME else 0.0
