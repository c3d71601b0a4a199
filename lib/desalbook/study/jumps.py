"""Why a curve jumps: the selection that changed between two values of a study, proved by putting it back.

A jump is an interval whose step is not what its neighbours let expect. Each selection that changed there is held
alone at its old value in the design of the new one: that which takes most of the jump away is its cause.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from desalbook.problems import Problem
from desalbook.study.sweep import Row, Sweep, case, text_of
from desalbook.trail.words import chapter, low_first, part_words
from desalbook.units import show

__all__ = ["Jump", "jumps"]

_LEAST, _BEYOND = 0.015, 0.6
"""A jump is this fraction of the height of the curve, and so much more than the step that was to be expected."""
_EXPLAINS = 0.35
"""A selection is named when putting it back takes this fraction of the jump away."""


@dataclass(frozen=True)
class Jump:
    """A place where a curve jumps.

    Parameters
    ----------
    before, after : Row
        The cases on both sides.
    id : str
        Of the followed figure.
    picks : tuple of str
        Ids of the selections that are its cause, that with the largest effect first; empty when none explains it.
    size : float
        What the figure changes by beyond the expected step, SI.
    """

    before: Row
    after: Row
    id: str
    picks: tuple[str, ...]
    size: float

    def words(self, units: str = "si") -> str:
        """The cause in words, as *HP pump: motor rating 315 to 355 kW*; empty when no selection explains it."""
        return "; ".join(_change(id, self.before, self.after, units) for id in self.picks)


def _change(id: str, before: Row, after: Row, units: str) -> str:
    title, old, kind = before.picks[id]
    new = after.picks[id][1]
    if kind is None:
        return f"{_named(id, title)} {old} to {new}"
    a, b = (show(float(v), kind, units, trim=True) for v in (old, new))
    number, _, unit = a.rpartition(" ")
    return f"{_named(id, title)} {number if unit and b.endswith(f' {unit}') else a} to {b}"


def _named(id: str, title: str) -> str:
    """A selection with its machine, for titles such as *Motor rating* stand on many."""
    part = part_words(id.rpartition(".")[0] if "[" in id else chapter(id))
    return title if part.lower() in title.lower() else f"{part}: {low_first(title)}"


def jumps(study: Sweep, rows: Sequence[Row], id: str, most: int = 6) -> list[Jump]:
    """Jumps of a followed figure along the first key, each with the selections that cause it.

    Parameters
    ----------
    study : Sweep
        Of one key that takes numbers.
    rows : sequence of Row
        In the order of that key.
    id : str
        Of a followed figure.
    most : int
        The largest are looked into: each costs a plant for every selection that changed.

    Returns
    -------
    list of Jump
        In the order of the key; without hardware that changes there is none.
    """
    key = study.keys[0]
    there = [(x, y, r) for r in rows
             if isinstance(x := r.values.get(key), float) and isinstance(y := r.figures.get(id), float)]
    if len(there) < 4:
        return []
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(there) if b[0] != a[0]]
    if len(slopes) < len(there) - 1:
        return []
    height = max(y for _, y, _ in there) - min(y for _, y, _ in there)
    found = []
    for n, slope in enumerate(slopes):
        near = [slopes[k] for k in (n - 1, n + 1) if 0 <= k < len(slopes)]
        usual = min(near, key=abs) if len(near) == 1 or near[0] * near[1] < 0 else sum(near) / len(near)
        (a, _, before), (b, _, after) = there[n], there[n + 1]
        expected, step = usual * (b - a), slope * (b - a)
        size = step - expected
        if abs(size) > _LEAST * height and abs(size) > _BEYOND * abs(expected):
            before, after = study.with_hardware(before), study.with_hardware(after)
            changed = [p for p, pick in before.picks.items() if p in after.picks and after.picks[p][1] != pick[1]]
            if changed:
                found.append((n, size, before, after, changed))
    largest = sorted(found, key=lambda f: -abs(f[1]))[:most]
    made = [Jump(before, after, id, _causes(study, before, after, id, changed, size), size)
            for _, size, before, after, changed in sorted(largest, key=lambda f: f[0])]
    return [j for j in made if j.picks]


def _causes(study: Sweep, before: Row, after: Row, id: str, changed: Sequence[str], size: float) -> tuple[str, ...]:
    """Selections whose old value, put back alone, takes enough of a jump away."""
    effects = {}
    for pick in changed:
        y = _put_back(study, before, after, id, pick)
        if y is not None:
            effects[pick] = (float(after.figures[id]) - y) / size  # type: ignore[arg-type]
    return tuple(p for p, effect in sorted(effects.items(), key=lambda e: -e[1]) if effect > _EXPLAINS)[:2]


def _put_back(study: Sweep, before: Row, after: Row, id: str, pick: str) -> float | None:
    """The figure of the later case with one selection as in the earlier; None where it cannot be held so."""
    try:
        text = text_of(study.design, pick, before.picks[pick][1])
    except Problem:
        return None
    row = case(study.design.text, {**after.texts, pick: text}, study.keys, (id,))
    y: Any = row.figures.get(id)
    return y if isinstance(y, float) else None
