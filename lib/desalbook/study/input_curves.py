"""How solved values and answers of engines follow a few main inputs, with the hardware held: curves for a spreadsheet.

A spreadsheet can neither solve a vessel nor ask an engine. So the plant is sized again, its hardware fixed, a little to
each side of each main input, and a parabola through the three answers is what a workbook can follow. Between the ends a
value is right to some four digits; the residual that the workbook shows live says how well a root is met. Two inputs
changed together are not followed, for nobody asked what they do together.

A number that is searched for (vessels) may be another from some place on: bisection finds the place, and beyond it
a second parabola is made with that number.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from desalbook.problems import Problem
from desalbook.units import to_display, unit_label

__all__ = ["STEPS", "Response", "Switch", "responses"]

STEPS = {"duty.train_product_flow": 0.04, "membrane.recovery": 0.02, "water.temperature_design": 0.01,
         "filters.rate_limit": 0.05}
"""Main inputs, and how far to each side they are followed: fractions of the value in coherent SI."""
_SHARES = (1.0, 0.3, 0.1)  # of the step, where a plant cannot be built at its end


_SEARCHED = "smallest number that meets every limit"
"""How the rule of a pick begins that is searched for by solving."""
_HALVINGS = 9  # of the way to an end, to find where such a pick is another


class Switch(NamedTuple):
    """What is another beyond a place on one side of an input, because a number that is searched for is another there.

    Parameters
    ----------
    side : float
        -1 below the value at writing, 1 above it.
    last, first : float
        Steps from the value at writing: up to ``last`` all is as it was, from ``first`` on it is as said here.
    curves : dict
        By id, for each number of the line: (a, b, c) of ``a + b u + c u^2``, the value at ``u`` steps less that at
        writing; of the numbers searched for as well.
    """

    side: float
    last: float
    first: float
    curves: dict[str, list[tuple[float, float, float]]]


class Response(NamedTuple):
    """How values follow one input.

    Parameters
    ----------
    key : str
        Id of the input.
    step : float
        Distance of each end from the value at writing, coherent SI.
    curves : dict
        By id, for each number of the line: slope and curvature a step, so that a value moves by
        ``slope u + curvature u^2`` where the input moves by ``u`` steps.
    changed : tuple of str
        Picks that are others although the hardware is held: what rests on them is not followed.
    low, high : frozenset of str
        Picks that are others, and lines that are gone, at the lower and at the upper end where nothing is held.
    ends : tuple of dict
        Values of picks, roots and engines' answers that are others at the lower and at the upper end, nothing held.
    switches : tuple of Switch
        Where a number that is searched for is another, at most one on each side.
    """

    key: str
    step: float
    curves: dict[str, list[tuple[float, float]]]
    changed: tuple[str, ...]
    low: frozenset[str]
    high: frozenset[str]
    ends: tuple[dict[str, list[float]], dict[str, list[float]]] = ({}, {})
    switches: tuple[Switch, ...] = ()


def responses(
    record: Mapping[str, Any], design: Any, held: Any, size: Callable[[Any], Any],
    steps: Mapping[str, float] | None = None
) -> list[Response]:
    """Parabolas of solved lines and engines' answers over each main input that the plant has.

    Parameters
    ----------
    record : mapping
        The record that is to be followed.
    design, held : Design
        Its design, and the same with the hardware written into it.
    size : callable
        Sizes a design, values alone, and gives values by id.
    steps : mapping, optional
        Fraction to each side, by input.

    Returns
    -------
    list of Response
        An input at whose ends no plant can be built is omitted.
    """
    lines = {x["id"]: x for x in record["lines"]}
    followed = [x for x in record["lines"] if x["sort"] in ("solved", "engine") and not isinstance(x["value"], str)
                and x["value"] is not None]
    picks = [x for x in record["lines"] if x["sort"] == "picked" and not x["more"]["rule"].endswith("over the cases")]
    made, plain = [], size(design)  # values alone: the proofs of roots belong to the record
    for key, part in (STEPS if steps is None else steps).items():
        line = lines.get(key)
        if line is None or line["sort"] not in ("given", "assumed") or not isinstance(line["value"], float):
            continue
        for step in (abs(line["value"]) * part * share for share in _SHARES):
            texts = [_text(line["value"] + side * step, line["kind"]) for side in (-1.0, 1.0)]
            try:
                low, high = (size(held.with_value(key, text)) for text in texts)
                free = [size(design.with_value(key, text)) for text in texts]
            except Problem:
                continue  # no plant so far from here: nearer
            break
        else:
            continue
        curves = {}
        for x in followed:
            here, below, above = _many(x["value"]), _numbers(low, x["id"]), _numbers(high, x["id"])
            if below is not None and above is not None and len(below) == len(above) == len(here):
                curves[x["id"]] = [((b - a) / 2.0, (b + a) / 2.0 - v)
                                   for v, a, b in zip(here, below, above, strict=True)]
        searched = [x for x in picks if x["more"]["rule"].startswith(_SEARCHED)]
        switches = [one for side, plant in zip((-1.0, 1.0), free, strict=True) if (one := _switch(
            (key, line, side * step), (design, held, size), plant, searched, [*followed, *searched]))]
        curves |= {x["id"]: [(0.0, 0.0)] for x in searched}
        switched = [{x["id"] for x in searched} if any(s.side == side for s in switches) else set()
                    for side in (-1.0, 1.0)]
        changed = tuple(x["id"] for x in picks
                        if any(not _same(x["value"], plant, x["id"]) for plant in (low, high)))
        ends = [frozenset(x["id"] for x in record["lines"] if x["value"] is not None and x["id"] in plain
                          and x["id"] not in by_switch
                          and (x["id"] not in plant or (x["sort"] == "picked" and not _same(x["value"], plant, x["id"])
                                                        and not x["more"]["rule"].endswith("over the cases"))))
                for plant, by_switch in zip(free, switched, strict=True)]
        others = tuple({x["id"]: found for x in (*followed, *picks)
                        if (found := _numbers(plant, x["id"])) is not None and not _same(x["value"], plant, x["id"])}
                       for plant in free)
        made.append(Response(key, step, curves, changed, ends[0], ends[1], (others[0], others[1]),
                             tuple(switches)))
    return made


def _switch(moved: tuple[str, Mapping[str, Any], float], made_by: tuple[Any, Any, Callable[[Any], Any]], end: Any,
            searched: Sequence[Mapping[str, Any]], followed: Sequence[Mapping[str, Any]]) -> Switch | None:
    """Where, on the way to an end, what is searched for becomes what it is there, and what follows beyond it.

    None where it is the same at the end, where it takes another value still in between, or where no plant is found.
    """
    (key, line, step), (design, held, size) = moved, made_by
    new = {x["id"]: float(end[x["id"]]) for x in searched if x["id"] in end and not _same(x["value"], end, x["id"])}
    if not new:
        return None

    def at(part: float) -> str:
        return _text(line["value"] + part * step, line["kind"])

    last, first = 0.0, 1.0
    try:
        for _ in range(_HALVINGS):
            middle = (last + first) / 2
            plant = size(design.with_value(key, at(middle)))
            if all(_same(value, plant, id) for id, value in new.items()):
                first = middle
            elif all(_same(x["value"], plant, x["id"]) for x in searched if x["id"] in new):
                last = middle
            else:
                return None
        places = (first, (first + 1.0) / 2, 1.0)
        counts = {id: f"{value:g}" for id, value in new.items()}
        plants = [size(held.with_values({**counts, key: at(part)})) for part in places]
    except Problem:
        return None
    side = float(np.sign(step))
    steps = np.vander([side * part for part in places], 3, increasing=True)
    curves = {}
    for x in followed:
        found, here = [_numbers(plant, x["id"]) for plant in plants], _many(x["value"])
        if all(one is not None and len(one) == len(here) for one in found):
            bent = np.linalg.solve(steps, np.array(found, dtype=float) - np.array(here, dtype=float))
            curves[x["id"]] = [tuple(map(float, column)) for column in bent.T]
    return Switch(side, last, first, curves)


def _text(value: float, kind: str) -> str:
    return f"{to_display(value, kind):.15g} {unit_label(kind)}".strip()


def _many(value: Any) -> Sequence[float]:
    return value if isinstance(value, list) else [value]


def _numbers(plant: Any, id: str) -> list[float] | None:
    if id not in plant:
        return None
    value: Any = plant[id]
    if isinstance(value, str):
        return None
    return [float(v) for v in value.values] if hasattr(value, "values") else [float(value)]


def _same(value: Any, plant: Any, id: str) -> bool:
    if id not in plant:
        return True  # held as another quantity
    now = plant[id]
    if isinstance(value, str):
        return str(now) == value
    found = _numbers(plant, id)
    return found is not None and len(found) == len(_many(value)) and all(
        abs(a - b) <= 1e-9 * abs(b) for a, b in zip(found, _many(value), strict=True))
