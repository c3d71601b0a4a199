"""Advice with a number: the smallest change of one key with which a failing check passes.

The keys are those that the check's own advice names, in its order. A number is tried on a grid of three digits of its
usual range, first further and further away on the side on which the check grows better, then between the last value
that fails and the first that passes; a count one by one; a choice by its options, the nearest first. Each trial sizes
the plant, values alone. A change is told with the checks that fail only because of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from math import floor, log10

from desalbook.design import Design, field_meta
from desalbook.plant import size
from desalbook.problems import DesignError, Problem
from desalbook.trail import Line, Values
from desalbook.trail.words import KEY, chapter
from desalbook.units import FieldMeta, Kind, show, to_display, unit_label

__all__ = ["Change", "keys_of", "smallest_change"]

_BESIDE: Mapping[str, tuple[str, ...]] = {"filters": ("filters.count",), "product": ("membrane.recovery",)}
"""Keys tried by chapter where the advice names none."""
_STEPS = 6  # more or fewer of what is counted
_FAR = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0)  # of the way to the end of the range


@dataclass(frozen=True)
class Change:
    """One key with another value, with which a check passes.

    Parameters
    ----------
    check, key, title : str
        Id of the check, the key and what it is called.
    old, new : float or str
        Coherent SI, or keys of a choice.
    text : str
        The new value as it is written in a design.
    kind : str
        Kind of two numbers.
    breaks : tuple of str
        Titles of checks that pass as it is and fail then.
    """

    check: str
    key: str
    title: str
    old: float | str
    new: float | str
    text: str
    kind: str
    breaks: tuple[str, ...]

    def words(self, units: str = "si") -> str:
        """As a sentence: what to change, from where to where, and what fails then."""
        if isinstance(self.old, str) or isinstance(self.new, str):
            options = field_meta(self.key).options
            old, new = (str(options.get(str(v), v)) for v in (self.old, self.new))
            do = f"Set {self.title} to {new} instead of {old} ({self.key})"
        else:
            old, new = (show(v, self.kind, units, digits=4, trim=True) for v in (self.old, self.new))
            do = f"{'Raise' if self.new > self.old else 'Lower'} {self.title} from {old} to {new} ({self.key})"
        return f"{do}; then fails: {', '.join(self.breaks)}" if self.breaks else f"{do}; no other check fails then"


def keys_of(check: Line) -> list[str]:
    """Keys of the design that the advice of a check names, numbers and choices alone, in its order."""
    named = [hit[0] for hit in KEY.finditer(check.more.get("do", ""))] or list(_BESIDE.get(chapter(check.id), ()))
    found = []
    for key in dict.fromkeys(named):
        try:
            if field_meta(key).form in ("quantity", "choice", "flag"):
                found.append(key)
        except (KeyError, DesignError):
            continue
    return found


def smallest_change(design: Design, check: str, book: Values | None = None) -> Change | None:
    """The smallest change of one key with which a failing check passes, one that breaks no other check before others.

    Parameters
    ----------
    design : Design
    check : str
        Id of the check.
    book : Values, optional
        Values of the design, where it is sized already.

    Returns
    -------
    Change or None
        None where the check does not fail, or no value of a key that its advice names lets it pass.
    """
    book = book or _values(design)
    line = book.lines.get(check)
    if line is None or line.more.get("verdict") != "fails":
        return None
    first = None
    for key in keys_of(line):
        found = _of_key(design, line, book, key)
        if found is not None and not found.breaks:
            return found
        first = first or found
    return first


def _values(design: Design) -> Values:
    book = size(design, recording=False).ledger
    assert isinstance(book, Values)
    return book


def _of_key(design: Design, check: Line, base: Values, key: str) -> Change | None:
    m = design.meta(key)
    old = design.get(key)
    if old is None and key in base:
        old = base[key]  # as picked
    if old is None:
        return None
    tried: dict[str, Values | None] = {}

    def margin(text: str) -> float | None:
        """Fraction of the limit left with this value; None where there is no plant, no such check, or a refusal."""
        if text not in tried:
            try:
                tried[text] = _values(design.with_value(key, text))
            except Problem:
                tried[text] = None
        made = tried[text]
        line = made.lines.get(check.id) if made is not None else None
        if line is None:
            return None
        left = line.more.get("margin")
        return float(left) if left is not None else -1.0 if line.more["verdict"] == "fails" else 0.0

    if m.form == "quantity":
        found = _number(m, float(old), margin, float(check.more.get("margin") or -1.0))
    else:
        found = _option(m, str(old), margin)
    if found is None:
        return None
    value, text = found
    made = tried[text]
    assert made is not None
    breaks = [x.title for id, x in made.lines.items() if x.more.get("verdict") == "fails"
              and (id not in base.lines or base.lines[id].more.get("verdict") != "fails")]
    return Change(check.id, key, m.title, float(old) if m.form == "quantity" else str(old), value, text,
                  m.kind.name if m.kind else "", tuple(dict.fromkeys(breaks)))


def _option(m: FieldMeta, old: str, margin: Callable[[str], float | None]) -> tuple[str, str] | None:
    """The option nearest in the list that passes."""
    options = list(m.options) if m.form == "choice" else ["yes", "no"]
    at = options.index(old) if old in options else 0
    for one in sorted((o for o in options if o != old), key=lambda o: abs(options.index(o) - at)):
        left = margin(one)
        if left is not None and left >= 0:
            return one, one
    return None


def _number(m: FieldMeta, old: float, margin: Callable[[str], float | None], worst: float
            ) -> tuple[float, str] | None:
    """The nearest value on the grid that passes, as SI and as it is written."""
    if m.kind is None:
        return None
    unit, counted = unit_label(m.kind), m.kind.name == "count"
    low, high = _reach(m, m.kind, old)
    here = float(to_display(old, m.kind))
    span = high - low
    step = 1.0 if counted else 10.0 ** (floor(log10(span)) - 2)
    places = max(0, -round(log10(step)))

    def text(n: int) -> str:
        return f"{round(round(here / step) * step + n * step, places):.{places}f} {unit}".strip()

    def passes(n: int) -> bool:
        left = margin(text(n))
        return left is not None and left >= 0

    ends = {1: floor((high - here) / step + 1e-9), -1: floor((here - low) / step + 1e-9)}
    for side, far in _outward(ends, counted, lambda n: margin(text(n)), worst):
        if not passes(side * far[-1]):
            continue
        fails, good = far[-2] if len(far) > 1 else 0, far[-1]
        while good - fails > 1:  # between the last that fails and the first that passes
            middle = (fails + good) // 2
            fails, good = (fails, middle) if passes(side * middle) else (middle, good)
        written = text(side * good)
        return m.read(written, "advice"), written
    return None


def _reach(m: FieldMeta, kind: Kind, old: float) -> tuple[float, float]:
    """Ends of what is tried, as shown: the usual range where the value lies in it, else the possible, else about it."""
    for ends in (m.usual, m.possible):
        low, high = ends or (None, None)
        if low is not None and high is not None and low <= old <= high and low < high:
            return float(to_display(float(low), kind)), float(to_display(float(high), kind))
    here = float(to_display(old, kind))
    return (0.5 * here, 2.0 * here) if here > 0 else (here - 1.0, here + 1.0)


def _outward(ends: Mapping[int, int], counted: bool, margin: Callable[[int], float | None], worst: float
             ) -> Iterator[tuple[int, list[int]]]:
    """Sides and growing distances from the present value, in steps of the grid; the side that helps comes first."""
    near = {side: max(1, floor(_FAR[0] * end)) if not counted else 1 for side, end in ends.items() if end >= 1}
    gain = {side: left - worst for side, n in near.items() if (left := margin(side * n)) is not None}
    for side in sorted(near, key=lambda s: -gain.get(s, float("-inf"))):
        if side in gain and gain[side] <= 0 and any(g > 0 for g in gain.values()):
            continue  # away from it the check grows better
        end = ends[side]
        steps = (range(1, min(_STEPS, end) + 1) if counted else
                 sorted({max(1, floor(part * end)) for part in _FAR}))
        gone: list[int] = []
        for n in steps:
            gone.append(n)
            yield side, list(gone)


