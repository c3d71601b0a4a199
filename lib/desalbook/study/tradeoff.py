"""Trade-offs: which plants are not beaten in every goal at once, choices side by side, and two keys as a map.

Every point is a plant sized by the same walk as any other; nothing is calculated here.
"""

from __future__ import annotations

import itertools
import os
import threading
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from math import ceil, prod
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.cost.estimate import YEARLY
from desalbook.design import Design, hold, write
from desalbook.plant import size
from desalbook.plant.hardware import chosen_hardware
from desalbook.problems import DesignError
from desalbook.study.executors import in_order
from desalbook.study.progress import Progress, progress_of
from desalbook.study.sweep import _BY_PART, Row, Sweep, _several
from desalbook.trail.words import low_first
from desalbook.units import in_currency, show
from desalbook.units.fieldmeta import nearest

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["GOALS", "Frontier", "Map", "columns", "differences", "front_of", "frontier", "mapped", "non_dominated",
           "save", "search", "two_keys", "why"]

Each = Callable[[Sweep, Row], object] | None
GOALS = {"cost.water": "minimum", "energy.plant_specific": "minimum", "cost.capital": "minimum"}
"""The goals where none are named."""
MOST = 200
"""Plants that a frontier sizes where no other number is given."""
HARDWARE = ("anew", "held")
FEASIBLE, NO_PLANT = "", "no plant"
_PER_VOLUME = "money per volume"
_PART_WORDS = {k: low_first(title) for k, title in {"capital": "capital recovered", **YEARLY}.items()}
_TOLD_PART = 0.03  # a part that moves by less of what all move together is not told
_SENSES = ("minimum", "maximum")
_FIRST = 3  # of the plants that may be sized, one in so many is spread before the search follows the front


def non_dominated(values: np.ndarray) -> np.ndarray:
    """Which rows are not beaten: no other row is at least as good in every goal and better in one.

    Parameters
    ----------
    values : array of shape (rows, goals)
        The smaller the better; a row with NaN is beaten.

    Returns
    -------
    array of bool, shape (rows,)
        Equal rows stay together.
    """
    good = np.isfinite(values).all(axis=1)
    found, others = np.array(good), values[good]
    for i in np.flatnonzero(good):
        found[i] = not ((others <= values[i]).all(axis=1) & (others < values[i]).any(axis=1)).any()
    return found


def search(evaluate: Callable[[list[tuple[int, ...]]], list[tuple[float, Sequence[float]]]], shape: Sequence[int],
           most: int = MOST, ordered: Sequence[bool] | None = None, seed: int = 0,
           stopped: Callable[[], bool] = lambda: False) -> tuple[dict, bool]:
    """Look for the points of a grid that are not beaten without trying all of them.

    A grid that is small enough is tried whole. Of a larger one a third of the points that may be tried is spread over
    it (Latin hypercube, and the ends of every key), then the neighbours of the points that are not beaten are tried
    until there are none left or the number is used up. A front in several parts may lose one that no point was near.

    Parameters
    ----------
    evaluate : callable
        Of a list of places in the grid: how far each breaks limits, zero where it meets all, and its goals, the smaller
        the better.
    shape : sequence of int
        Values of each key.
    most : int
    ordered : sequence of bool, optional
        Whether the values of a key have an order; of a choice all others are neighbours.
    seed : int
    stopped : callable
        Whether to give up.

    Returns
    -------
    tried : mapping of place to (broken, goals)
    complete : bool
        Whether the whole grid, or all neighbours of the front, were tried.
    """
    tried: dict[tuple[int, ...], tuple[float, Sequence[float]]] = {}

    def ask(places: Iterable[tuple[int, ...]]) -> None:
        new = [p for p in dict.fromkeys(places) if p not in tried][:most - len(tried)]
        tried.update(zip(new, evaluate(new), strict=True))

    if prod(shape) <= most:
        ask(itertools.product(*map(range, shape)))
        return tried, True
    if 2 ** len(shape) <= most // _FIRST:
        ask(itertools.product(*[(0, n - 1) for n in shape]))
    from scipy.stats import qmc  # a second, while the ends are drawn already

    unit = qmc.LatinHypercube(len(shape), rng=np.random.default_rng(seed)).random(ceil(most / _FIRST))
    spread = [tuple(min(int(u * n), n - 1) for u, n in zip(row, shape, strict=True)) for row in unit]
    ask(spread)
    free = [True] * len(shape) if ordered is None else list(ordered)
    while True:
        near = [p for place in _best(tried) for p in _neighbours(place, shape, free) if p not in tried]
        if not near:
            return tried, True
        if len(tried) >= most or stopped():
            return tried, False
        ask(near)


def _best(tried: Mapping[tuple[int, ...], tuple[float, Sequence[float]]]) -> list[tuple[int, ...]]:
    """Places that are not beaten; where every one breaks limits, those that break them the least."""
    least = min(broken for broken, _ in tried.values())
    some = [p for p, (broken, _) in tried.items() if broken == least]
    values = np.array([[*tried[p][1]] for p in some], dtype=float)
    front = non_dominated(values)
    return [p for p, on in zip(some, front, strict=True) if on] or some[:1]


def _neighbours(place: tuple[int, ...], shape: Sequence[int], ordered: Sequence[bool]) -> Iterable[tuple[int, ...]]:
    for axis, (at, n, inner) in enumerate(zip(place, shape, ordered, strict=True)):
        for other in (at - 1, at + 1) if inner else range(n):
            if 0 <= other < n and other != at:
                yield (*place[:axis], other, *place[axis + 1:])


@dataclass(frozen=True)
class Frontier:
    """Plants of several keys, and those among them that are not beaten.

    Parameters
    ----------
    study : Sweep
    goals : mapping of id to str
        ``minimum`` or ``maximum``.
    rows : tuple of Row
        Every plant that was sized, in the order it was.
    front : tuple of Row
        Those that break no limit and are not beaten, by their first goal.
    complete : bool
        Whether the whole grid, or every neighbour of the front, was tried.
    """

    study: Sweep
    goals: Mapping[str, str]
    rows: tuple[Row, ...]
    front: tuple[Row, ...]
    complete: bool

    def frame(self, units: str = "si") -> pd.DataFrame:
        """The front as a table, one row a plant.

        Parameters
        ----------
        units : {"si", "us"}
        """
        return self.study.frame(self.front, units)

    def differences(self, row: Row, units: str = "si") -> pd.DataFrame:
        """What a plant of it has that the design of today has not, see `differences`.

        Parameters
        ----------
        row : Row
        units : {"si", "us"}
        """
        return differences(self.study, row, units)

    def words(self, units: str = "si") -> str:
        """What came of it, in a few lines."""
        built = [r for r in self.rows if not r.problem]
        good = [r for r in built if not r.fails]
        none, broken, front = len(self.rows) - len(built), len(built) - len(good), len(self.front)
        lines = [f"{len(self.rows)} of {len(self.study)} plants sized: {none} cannot be built, {broken} "
                 f"{'breaks' if broken == 1 else 'break'} a limit, {front} {'is' if front == 1 else 'are'} not beaten"]
        if not self.front:
            worst = min(built, key=lambda r: r.fails, default=None)
            lines.append("None meets every limit" + (f"; the nearest breaks {worst.fails}, worst: {worst.title}"
                                                     if worst is not None else ""))
        kinds = self.study.kinds()
        for id, sense in self.goals.items():
            if self.front:
                best = min(self.front, key=lambda r: _signed(r, id, sense))
                value = _shown(best.figures[id], kinds.get(id), units, self.study.design, False)
                lines.append(f"{id}, {sense} {value}: {best.id}")
        if self.front and (said := why(self.study, self.front[0], units)):
            lines.append(f"At {self.front[0].id} {low_first(said)}")
        if not self.complete:
            lines.append("The number of plants was used up: the front may go further.")
        return "\n".join(lines)


def frontier(design: Any, vary: Mapping[str, Sequence[str | float] | None],
             goals: Mapping[str, str] | Iterable[str] | None = None, *, follow: Iterable[str] = (), steps: int = 7,
             most: int = MOST, hardware: str = "anew", seed: int = 0, executor: Executor | None = None,
             results: str | os.PathLike[str] | None = None, progress: Progress = None,
             cancel: threading.Event | None = None, each: Each = None) -> Frontier:
    """Plants of several keys that are not beaten in all goals at once.

    Parameters
    ----------
    design : Design
    vary : mapping of key to values
        As for `desalbook.sweep`; None takes the usual range in so many ``steps``, or all options.
    goals : mapping of id to "minimum" or "maximum", or iterable of ids, optional
        Each to be as small as possible where none is said; cost of water, energy and capital if omitted.
    follow : iterable of str
        Further ids beside the goals.
    steps : int
    most : int
        Plants to size at most; a grid that has no more is tried whole, see `search`.
    hardware : {"anew", "held"}
        Sized anew at each point, or held as the design is now.
    seed : int
        Of the points a large grid begins with.
    executor, results, progress, cancel : optional
        As for `desalbook.sweep`. A cancelled search gives the front of what was sized; with a results file it goes on
        where it was, to the same rows in the same order.
    each : callable, optional
        Gets the study and each row as it comes.

    Returns
    -------
    Frontier

    Raises
    ------
    DesignError
        Unknown key or id, a goal that is no number, no goal at all.
    """
    goals = dict(goals) if isinstance(goals, Mapping) else dict.fromkeys(GOALS if goals is None else goals, "minimum")
    for id, sense in goals.items():
        if sense not in _SENSES:
            raise DesignError("neither minimum nor maximum", where=f"goals, {id}", value=sense,
                              allowed=", ".join(_SENSES), do="name one of these")
    if not goals:
        raise DesignError("no goal", where="goals", do="name an id, cost.water for one")
    study = Sweep(_as_asked(design, hardware), vary, [*goals, *follow], steps)
    return not_beaten(study, goals, most=most, hardware=hardware, seed=seed, executor=executor, results=results,
                      progress=progress, cancel=cancel, each=each)


def about(goals: Mapping[str, str], most: int = MOST, hardware: str = "anew", seed: int = 0) -> dict[str, str]:
    """What a frontier is beside its keys, as its results file says it."""
    return {"study": "frontier", "goals": ", ".join(f"{id} {sense}" for id, sense in goals.items()),
            "hardware": hardware, "most": str(most), "seed": str(seed)}


def not_beaten(study: Sweep, goals: Mapping[str, str], *, most: int = MOST, hardware: str = "anew", seed: int = 0,
               executor: Executor | None = None, results: str | os.PathLike[str] | None = None,
               progress: Progress = None, cancel: threading.Event | None = None, each: Each = None) -> Frontier:
    """The frontier of a study that is ready to run, see `frontier`.

    Parameters
    ----------
    study : Sweep
        Follows the goals.
    goals : mapping of id to "minimum" or "maximum"
    most, hardware, seed, executor, results, progress, cancel, each : optional
        As for `frontier`.

    Returns
    -------
    Frontier

    Raises
    ------
    DesignError
        A goal that is no number.
    """
    for id in goals:
        if not study.base.problem and id not in study.base.kinds:
            raise DesignError("not one number", where="goals", value=id, do="name the id of a number")
    shape = [len(texts) for texts in study.cases.texts.values()]
    total, rows = min(most, len(study)), dict[tuple[int, ...], Row]()
    with study.keeping(results, about(goals, most, hardware, seed), total) as (earlier, add):
        known = {tuple(r.texts.values()): r for r in earlier}
        tell = progress_of(progress, total, "plants", len(known))

        def evaluate(places: list[tuple[int, ...]]) -> list[tuple[float, Sequence[float]]]:
            before = {p: r for p in places if (r := known.get(tuple(_texts(study, p).values()))) is not None}
            new = [p for p in places if p not in before]
            tasks = ((study.design.text, [_texts(study, p)], study.keys, study.follow) for p in new)
            for place, row in itertools.chain(before.items(), _rows_of(executor, new, tasks, cancel)):
                rows[place] = row
                if place not in before:
                    add(row)
                    tell(len(rows))
                if each is not None:
                    each(study, row)
            return [_judged(rows.get(p), goals) for p in places]

        _, complete = search(evaluate, shape, most, [m.form == "quantity" for m in study.metas.values()], seed,
                             lambda: cancel is not None and cancel.is_set())
        if cancel is None or not cancel.is_set():
            add(None)
    done = tuple(rows.values())
    return Frontier(study, goals, done, front_of(done, goals),
                    complete and not (cancel is not None and cancel.is_set()))


def _rows_of(executor: Executor | None, places: Sequence[tuple[int, ...]], tasks: Iterable[tuple[Any, ...]],
             cancel: threading.Event | None) -> Iterable[tuple[tuple[int, ...], Row]]:
    for place, found in zip(places, in_order(executor, _several, tasks, cancel), strict=False):
        yield place, found[0]


def front_of(rows: Iterable[Row], goals: Mapping[str, str]) -> tuple[Row, ...]:
    """Those of some plants that break no limit and are not beaten in all goals by another, by their first goal.

    Parameters
    ----------
    rows : iterable of Row
    goals : mapping of id to "minimum" or "maximum"
    """
    good = [r for r in rows if not r.problem and not r.fails]
    front = non_dominated(np.array([[_signed(r, id, s) for id, s in goals.items()] for r in good]).reshape(
        len(good), len(goals)))
    first, sense = next(iter(goals.items()))
    return tuple(sorted((r for r, on in zip(good, front, strict=True) if on), key=lambda r: _signed(r, first, sense)))


def differences(study: Sweep, row: Row, units: str = "si") -> pd.DataFrame:
    """What a plant of a study has that the design of today has not, and what the followed values become.

    Parameters
    ----------
    study : Sweep
    row : Row
        One of its rows; of one that was read from a results file the plant is sized once more.
    units : {"si", "us"}

    Returns
    -------
    DataFrame
        Columns ``id``, ``title``, ``today`` and ``then``, texts: keys that were varied, followed values, checks that
        fail, parts of the cost of water, then the hardware that is selected otherwise.
    """
    import pandas as pd

    row = study.with_hardware(row)
    base, kinds = study.base, study.kinds()
    made = []
    for key, m in study.metas.items():
        kind = m.kind.name if m.kind is not None else None
        made.append((key, m.title, *(_shown(m.options.get(str(v), v) if m.options else v, kind, units, study.design)
                                     for v in (base.values.get(key), row.values.get(key)))))
    for id in study.follow:
        made.append((id, title_of(study, id), *(_shown(r.figures.get(id), kinds.get(id), units, study.design, False)
                                                for r in (base, row))))
    made.append(("fails", "Checks that fail", *("no plant" if r.problem else str(r.fails) for r in (base, row))))
    for part in base.parts if row.parts else ():
        was, now = (_shown(r.parts.get(part, 0.0), _PER_VOLUME, units, study.design, False) for r in (base, row))
        if was != now:
            made.append((f"{_BY_PART}[{part}]", f"Cost of water: {_PART_WORDS[part]}", was, now))
    for id in dict.fromkeys((*base.picks, *row.picks)):
        was, now = base.picks.get(id), row.picks.get(id)
        if (was and was[1]) != (now and now[1]) and id not in study.metas and (either := now or was):
            made.append((id, either[0], *("–" if x is None else _shown(x[1], x[2], units, study.design)
                                           for x in (was, now))))
    return pd.DataFrame(made, columns=["id", "title", "today", "then"])


def why(study: Sweep, row: Row, units: str = "si") -> str:
    """Why the water of a plant costs more or less than that of the design of today, by part, in one sentence.

    Parameters
    ----------
    study : Sweep
    row : Row
        One of its rows; of one that was read from a results file the plant is sized once more.
    units : {"si", "us"}

    Returns
    -------
    str
        Empty where either has no plant that is priced.
    """
    was, now = study.base.parts, study.with_hardware(row).parts
    if not was or not now:
        return ""
    changes = {part: now.get(part, 0.0) - was[part] for part in was}
    whole, least = sum(changes.values()), _TOLD_PART * sum(map(abs, changes.values()))

    def words(change: float, sign: bool) -> str:
        shown = in_currency(show(abs(change), _PER_VOLUME, units, digits=2), _PER_VOLUME, study.currency)
        return f"{'−' if change < 0 else '+'}{shown.partition(' ')[0]}" if sign else shown

    told = [f"{_PART_WORDS[part]} {words(change, True)}" for part, change in sorted(
        changes.items(), key=lambda c: -abs(c[1])) if abs(change) > least]
    if not told:
        return "The water costs what it costs today."
    return f"The water costs {words(whole, False)} {'less' if whole < 0 else 'more'} than today: {', '.join(told)}."


def title_of(study: Sweep, id: str) -> str:
    """What a followed value is called in the design as it stands; its id where that has no plant."""
    return study.base.titles.get(id, id)


def _as_asked(design: Any, hardware: str) -> Design:
    if hardware not in HARDWARE:
        raise DesignError("no such way to treat the hardware", where="hardware", value=hardware,
                          allowed=", ".join(HARDWARE), do="name one of these")
    return design if hardware == "anew" else hold(design, chosen_hardware(size(design, recording=False)))


def _texts(study: Sweep, place: tuple[int, ...]) -> dict[str, str]:
    return {k: texts[i] for (k, texts), i in zip(study.cases.texts.items(), place, strict=True)}


_LOST = 10**6  # more than any number of checks: no plant is worse than one that fails


def _judged(row: Row | None, goals: Mapping[str, str]) -> tuple[float, Sequence[float]]:
    """How far a plant breaks limits: how many, then by how much the worst; and its goals."""
    if row is None or row.problem:
        return _LOST, [0.0] * len(goals)
    beyond = -(row.margin or 0.0) if row.fails else 0.0
    return row.fails + beyond / (1 + abs(beyond)), [_signed(row, id, sense) for id, sense in goals.items()]


def _signed(row: Row, id: str, sense: str) -> float:
    value = row.figures.get(id)
    if not isinstance(value, float):
        return float("nan")
    return value if sense == "minimum" else -value


def _shown(value: Any, kind: str | None, units: str, design: Any, trim: bool = True) -> str:
    if value is None:
        return "auto"
    if not kind or not isinstance(value, float):
        return str(value)
    return in_currency(show(value, kind, units, trim=trim), kind, str(design.get("energy.currency")))


def save(design: Design, row: Row, path: str | os.PathLike[str], reason: str, *,
         expected: str | None = None) -> Design:
    """Write a point of a study as a design file, with the reason it was chosen in the note of the project.

    Parameters
    ----------
    design : Design
        That of the study.
    row : Row
        A point of it.
    path : path
    reason : str
        Stands on every sheet that is made of the design.
    expected : str, optional
        Hash of the text the file had, where it is to be written over.

    Returns
    -------
    Design
        As written.

    Raises
    ------
    DesignError
        No reason, or a point without a plant.
    Conflict
        The file holds another text.
    """
    if not reason.strip():
        raise DesignError("no reason", where="reason", do="say why this point was chosen, in one sentence")
    if row.problem:
        raise DesignError("this point has no plant", where="row", value=row.id, do="take another")
    note = f"{row.id}: {reason.strip()}"
    before = str(design.get("project.note") or "").strip()
    made = design.with_values({**row.texts, "project.note": f"{before}; {note}" if before else note})
    return write(made, Path(path), expected=expected)


def columns(design: Any, cases: Mapping[str, Mapping[str, str]] | str, follow: Iterable[str] | None = None, *,
            units: str = "si", executor: Executor | None = None) -> pd.DataFrame:
    """Choices side by side, one column a choice.

    Parameters
    ----------
    design : Design
    cases : mapping of name to (mapping of key to text), or str
        What each column changes, ``{"Pelton": {"energy_recovery.device": "pelton"}}``; a key of a choice takes all its
        options.
    follow : iterable of str, optional
        Ids down the side; goals and what moves them if omitted.
    units : {"si", "us"}
    executor : concurrent.futures.Executor, optional

    Returns
    -------
    DataFrame
        First column ``value``: the id with its unit; then ``as designed`` and one column a case, as texts; the last
        rows say how many checks fail and, where there is something to say, the worst of them and why there is no plant.

    Raises
    ------
    DesignError
        An unknown key or id.
    """
    import pandas as pd

    follow = tuple(COLUMNS if follow is None else follow)
    if isinstance(cases, str):
        options = design.meta(cases).options if cases else ()
        cases = {str(words): {cases: str(key)} for key, words in dict(options).items()}
    keys = tuple(dict.fromkeys(k for texts in cases.values() for k in texts))
    for key in keys:
        design.get(key)
    asked = {"as designed": {}, **{n: dict(t) for n, t in cases.items()}}
    tasks = ((design.text, [texts], keys, follow) for texts in asked.values())
    rows = dict(zip(asked, (some[0] for some in in_order(executor, _several, tasks)), strict=True))
    kinds = {id: k for row in rows.values() for id, k in row.kinds.items()}
    if unknown := [id for id in follow if all(r.figures.get(id) is None for r in rows.values())
                   and not all(r.problem for r in rows.values())]:
        known = getattr(size(design, recording=False).ledger, "values", ())
        like = nearest(unknown[0], known).replace("Change or remove the key", "Take an id of their values")
        raise DesignError("no plant of these has such a value", where="follow", value=unknown[0],
                          do=like if like.startswith("Did") else "take an id of their values")
    table: dict[str, list[str]] = {"value": [*follow, "checks that fail", "worst check", "problem"]}
    for name, row in rows.items():
        table[name] = [*("" if row.problem else _shown(row.figures[id], kinds.get(id), units, design, False).replace(
            "auto", "–") for id in follow),
                       "" if row.problem else str(row.fails), row.title if row.fails else "", row.problem]
    made = pd.DataFrame(table)
    told = made.drop(columns="value").ne("").any(axis=1)
    return made.loc[told, :].reset_index(drop=True)


COLUMNS = ("cost.water", "cost.water_by_part[capital]", "cost.water_by_part[energy]", "cost.water_by_part[elements]",
           "cost.water_by_part[chemicals]", "cost.capital", "cost.operating", "energy.plant_specific",
           "membrane.feed_pressure", "membrane.flux", "cip.cleanings_expected", "membrane.permeate_tds",
           "product.boron", "duty.delivered_mean")
"""What stands side by side where nothing is named."""


@dataclass(frozen=True)
class Map:
    """Values over two keys, and what shapes the region where no plant meets every limit.

    Parameters
    ----------
    study : Sweep
    rows : tuple of Row
    x, y : list
        SI values of the two keys, or options of a choice; the first key is along x.
    values : mapping of id to array of shape (y, x)
        SI; NaN where there is no plant.
    region : array of str, shape (y, x)
        Empty where every check passes; else the title of the worst check that fails, or ``no plant``.
    """

    study: Sweep
    rows: tuple[Row, ...]
    x: list[Any]
    y: list[Any]
    values: Mapping[str, np.ndarray]
    region: np.ndarray

    @property
    def shaped_by(self) -> dict[str, int]:
        """Titles of the checks that bound the feasible region, with the points each takes, the largest first."""
        names, counts = np.unique(self.region[self.region != FEASIBLE], return_counts=True)
        return {str(names[i]): int(counts[i]) for i in np.argsort(-counts, kind="stable")}

    def best(self, id: str, sense: str = "minimum") -> Row | None:
        """The plant with the smallest (or largest) value among those that meet every limit; None where none does."""
        good = [r for r in self.rows if not r.problem and not r.fails and isinstance(r.figures.get(id), float)]
        return min(good, key=lambda r: _signed(r, id, sense), default=None)

    def words(self, units: str = "si") -> str:
        """The map in a few lines."""
        first = self.study.follow[0]
        lines = [f"{len(self.rows)} plants, {int((self.region == FEASIBLE).sum())} meet every limit"]
        lines += [f"{'Cannot be built' if name == NO_PLANT else f'{name} fails'}: {n} of them"
                  for name, n in self.shaped_by.items()]
        best = self.best(first)
        if best is not None:
            value = _shown(best.figures[first], best.kinds.get(first), units, self.study.design, False)
            lines.append(f"{first}, minimum {value}: {best.id}")
            if said := why(self.study, best, units):
                lines.append(said)
        return "\n".join(lines)


def two_keys(design: Any, vary: Mapping[str, Sequence[str | float] | None], follow: Iterable[str] | None = None, *,
        steps: int = 9, hardware: str = "anew", executor: Executor | None = None,
        results: str | os.PathLike[str] | None = None, progress: Progress = None,
        cancel: threading.Event | None = None, each: Each = None) -> Map:
    """Two keys as a map: the plant sized at each pair, the infeasible region named by the check that shapes it.

    Parameters
    ----------
    design : Design
    vary : mapping of two keys to values
        As for `desalbook.sweep`; the first goes along x.
    follow : iterable of str, optional
        Ids of values; those of `GOALS` and permeate boron if omitted.
    steps, hardware, executor, results, progress, cancel, each : optional
        As for `frontier`.

    Returns
    -------
    Map

    Raises
    ------
    DesignError
        Not two keys, an unknown key or id.
    """
    if len(vary) != 2:
        raise DesignError("a map has two keys", where="vary", value=", ".join(vary) or "none",
                          do="name two keys of the design")
    follow = tuple((*GOALS, "membrane.permeate_boron") if follow is None else follow)
    study = Sweep(_as_asked(design, hardware), vary, follow, steps)
    return mapped(study, study.through({"study": "map", "hardware": hardware}, executor=executor, results=results,
                                       progress=progress, cancel=cancel, each=each))


def mapped(study: Sweep, rows: Sequence[Row]) -> Map:
    """The map of a study of two keys, of the rows that are done."""
    follow = study.follow
    kx, ky = study.keys
    across, up = (list(study.cases.texts[k]) for k in (kx, ky))
    at = {(r.texts[kx], r.texts[ky]): r for r in rows}
    values = {id: np.array([[_signed(at[a, b], id, "minimum") if (a, b) in at else np.nan for a in across]
                            for b in up]) for id in follow}
    region = np.array([[_region(at.get((a, b))) for a in across] for b in up], dtype=object)
    return Map(study, tuple(rows), _axis(study, kx, rows), _axis(study, ky, rows), values, region)


def _region(row: Row | None) -> str:
    if row is None or row.problem:
        return NO_PLANT
    return row.title if row.fails else FEASIBLE


def _axis(study: Sweep, key: str, rows: Sequence[Row]) -> list[Any]:
    m = study.metas[key]
    known = {r.texts[key]: r.values.get(key) for r in rows}
    return [float(m.read(t, key)) if m.kind is not None and known.get(t) is None else known.get(t, t)
            for t in study.cases.texts[key]]


