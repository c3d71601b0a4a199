"""A sweep: keys of a design over values, the plant sized anew at each, one row at a time.

Rows come one by one, so whoever asks for them sees how far the study is and may stop between two. A value
the design refuses, and a plant that cannot be built, is a row that says so in one line.
"""

from __future__ import annotations

import contextlib
import itertools
import json
import os
import threading
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from math import ceil, floor, log10, prod
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.design import Design, from_text
from desalbook.plant import Sized, size
from desalbook.problems import DesignError, Problem, TrailError
from desalbook.study.executors import in_order
from desalbook.study.goals import GOAL_FIGURES
from desalbook.study.progress import Progress, progress_of
from desalbook.study.results_file import ResultsFile, fingerprint
from desalbook.trail import Choice, Column, Figure, Values
from desalbook.trail.record import kit_version
from desalbook.units import FieldMeta, in_currency, metas, to_display, unit_label
from desalbook.units.display import from_display
from desalbook.units.fieldmeta import nearest

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["HEADLINES", "NEAR", "Cases", "Limit", "Row", "Sweep", "first_look", "grid", "numeric_keys", "spread",
           "swept"]

# a finding for review has no margin that a study could move
_RANK = {"fails": 0, "marginal": 1, "review": 2, "passes": 3}
_FIXED = ("id", "fails", "marginal", "worst", "verdict", "margin", "problem")

NEAR = 0.5
"""Margin from which on a check is not kept with a row, as a fraction of its limit."""
_BY_PART = "cost.water_by_part"
_FINEST = 100_000  # steps of one key: a sweep of so many takes hours, a finer one is a slip of the hand

HEADLINES = ("membrane.recovery", "membrane.flux", "membrane.feed_pressure", "membrane.permeate_tds",
             "energy.plant_specific", "filters.rate")
"""The figures that are followed where none is named."""


@dataclass(frozen=True)
class Limit:
    """What a followed figure is judged against in one case.

    Parameters
    ----------
    id, title, sense : str
        Of the check; sense is ``<=`` or ``>=``.
    value : float
        SI, of the figure's kind.
    """

    id: str
    title: str
    sense: str
    value: float


@dataclass(frozen=True)
class Row:
    """One case of a study, plain data that travels between processes.

    Parameters
    ----------
    texts : mapping of key to text
        As the keys were written into the design; empty for the design as it stands.
    values : mapping of key to float or str
        SI values, or keys of choices; None where the design refused the text.
    figures : mapping of id to float, str or None
        SI; None where this plant has no such figure.
    kinds : mapping of id to str
        Kind of each figure that is a number.
    limits : mapping of id to tuple of Limit
    fails, marginal : int
        How many checks fail, and how many are marginal.
    worst, title, verdict : str
        The worst check: its id, title and verdict.
    margin : float or None
    problem : str
        Why there is no plant; empty when there is one.
    picks : mapping of id to (title, value, kind)
        Hardware that was selected from a catalogue or counted: what a curve may jump with.
    margins : mapping of str to float
        Of each check with a limit, by its title, as a fraction of the limit, the worst of its cases: below zero it
        fails. Those above `NEAR` are omitted: they shape nothing here.
    titles : mapping of id to str
        Of the followed figures.
    parts : mapping of str to float
        Cost of water by part, SI.
    """

    texts: Mapping[str, str]
    values: Mapping[str, float | str | None] = field(default_factory=dict)
    figures: Mapping[str, float | str | None] = field(default_factory=dict)
    kinds: Mapping[str, str] = field(default_factory=dict)
    limits: Mapping[str, tuple[Limit, ...]] = field(default_factory=dict)
    fails: int = 0
    marginal: int = 0
    worst: str = ""
    title: str = ""
    verdict: str = ""
    margin: float | None = None
    problem: str = ""
    picks: Mapping[str, tuple[str, float | str, str | None]] = field(default_factory=dict)
    margins: Mapping[str, float] = field(default_factory=dict)
    titles: Mapping[str, str] = field(default_factory=dict)
    parts: Mapping[str, float] = field(default_factory=dict)

    @property
    def id(self) -> str:
        """``membrane.recovery=40 %``; lasting, for it is what was written."""
        return "; ".join(f"{k}={t}" for k, t in self.texts.items()) or "as it stands"


class Cases(Sequence[dict[str, str]]):
    """Every combination of the texts of some keys, the last key runs quickest; made when asked for.

    Parameters
    ----------
    texts : mapping of key to sequence of str
    """

    def __init__(self, texts: Mapping[str, Sequence[str]]):
        self.texts = {k: list(v) for k, v in texts.items()}

    def __len__(self) -> int:
        return prod(map(len, self.texts.values()))

    def __getitem__(self, place: Any) -> Any:
        if isinstance(place, slice):
            return [self[i] for i in range(*place.indices(len(self)))]
        if not -len(self) <= place < len(self):
            raise IndexError(place)
        left, found = place % len(self), {}
        for key, texts in reversed(self.texts.items()):
            left, i = divmod(left, len(texts))
            found[key] = texts[i]
        return dict(reversed(found.items()))


class Sweep:
    """A study that is ready to run.

    Parameters
    ----------
    design : Design
    vary : mapping of key to values
        Values as people write them, or SI numbers; None takes the usual range, or all options of a choice.
        Two keys make a grid, the second runs quickest.
    follow : iterable of str
        Ids of figures; each must stand in the plant of the design as it is.
    steps : int
        Values of a key whose range is usual.
    plant : Sized, optional
        Of the design as it stands, where it is sized already.

    Raises
    ------
    DesignError
        Unknown key or figure, no case at all. A value that is refused is a row, not an error.
    """

    def __init__(self, design: Design, vary: Mapping[str, Sequence[str | float] | None],
                 follow: Iterable[str], steps: int = 11, plant: Any = None):
        if not vary:
            raise DesignError("no key to vary", where="sweep", do="name a key of the design file")
        self.design, self.follow = design, tuple(dict.fromkeys(follow))
        self.keys = tuple(vary)
        self.metas = {key: _meta(design, key) for key in vary}
        texts = {k: spread(design, k, steps=steps) if v is None else [_text(self.metas[k], x) for x in v]
                 for k, v in vary.items()}
        self.cases = Cases(texts)
        if not self.cases:
            raise DesignError("no cases", where="sweep", do="give each key one value or more")
        known = {} if plant is None else {"sized": lambda _: plant}
        self.base = _case(design.text, {}, self.keys, self.follow, **known)
        self._kinds: Mapping[str, str] | None = None
        if self.base.problem:
            return  # the design itself has no plant: that is what the study may be about
        for id in (x for x, value in self.base.figures.items() if value is None):
            book = _sized(design).ledger
            known = [*(book.values if isinstance(book, Values) else book.lines)]
            raise DesignError("this plant has no such figure", where="follow", value=id,
                              do=nearest(id, known).replace("Change or remove the key", "Take the id of a value"))

    def __len__(self) -> int:
        return len(self.cases)

    def __iter__(self) -> Iterator[Row]:
        return self.rows()

    def rows(self, executor: Executor | None = None, first: int = 0, chunk: int = 1,
             cancel: threading.Event | None = None) -> Generator[Row, None, None]:
        """The cases in order, one at a time; what was not begun when the iterator is closed is not run.

        Parameters
        ----------
        executor : concurrent.futures.Executor, optional
            Runs the cases; the order stays.
        first : int
            Cases that are done already.
        chunk : int
            Cases of one task.
        cancel : threading.Event, optional
        """
        text, total = self.design.text, len(self.cases)
        tasks = ((text, self.cases[i:i + chunk], self.keys, self.follow) for i in range(first, total, chunk))
        for some in in_order(executor, _several, tasks, cancel):
            yield from some

    @property
    def currency(self) -> str:
        """What money is stated in."""
        return str(self.design.get("energy.currency"))

    def header(self, id: str, units: str = "si", kind: str | None = None) -> str:
        """Column of a key or figure: its id, and its unit when it has one."""
        m = self.metas.get(id)
        name = m.kind.name if m is not None and m.kind is not None else kind
        unit = in_currency(unit_label(name, units), name, self.currency) if name else ""
        return f"{id}, {unit}" if unit else id

    def frame(self, rows: Iterable[Row], units: str = "si") -> pd.DataFrame:
        """Rows as a table.

        Parameters
        ----------
        rows : iterable of Row
        units : {"si", "us"}

        Returns
        -------
        DataFrame
            ``id`` of the case; each key and figure under its id with the unit it is shown in; how many checks
            fail and are marginal; the worst check, its verdict and margin; the problem where there is no plant.
        """
        rows = list(rows)
        return self._frame(rows, units, {id: k for row in (*rows, self.base) for id, k in row.kinds.items()})

    def _frame(self, rows: Iterable[Row], units: str, kinds: Mapping[str, str]) -> pd.DataFrame:
        import pandas as pd

        made = []
        for row in rows:
            here: dict[str, Any] = {"id": row.id}
            for key, m in self.metas.items():
                here[self.header(key, units)] = _shown(row.values.get(key), m.kind.name if m.kind else None, units)
            for id in self.follow:
                here[self.header(id, units, kinds.get(id))] = _shown(row.figures.get(id), kinds.get(id), units)
            here |= {k: getattr(row, k) for k in _FIXED[1:]}
            made.append(here)
        columns = ["id", *(self.header(k, units) for k in self.keys),
                   *(self.header(i, units, kinds.get(i)) for i in self.follow), *_FIXED[1:]]
        frame = pd.DataFrame(made, columns=list(dict.fromkeys(columns)))
        numbers = [k for k, m in self.metas.items() if m.kind is not None] + [i for i in self.follow if i in kinds]
        for name in ("margin", *(self.header(i, units, kinds.get(i)) for i in numbers)):
            frame[name] = frame[name].astype(float)
        return frame

    def kinds(self) -> Mapping[str, str]:
        """Kinds of the followed figures that are numbers: of the design as it stands, else of the first plant."""
        if not self.base.problem:
            return self.base.kinds
        if self._kinds is None:
            rows = (_case(self.design.text, texts, self.keys, self.follow) for texts in self.cases)
            self._kinds = next((row.kinds for row in rows if not row.problem), {})
        return self._kinds

    def file(self, path: str | os.PathLike[str], units: str = "si") -> ResultsFile:
        """The table on disk that this sweep fills."""
        kinds = self.kinds()
        numbers = {"margin", *(self.header(k, units) for k, m in self.metas.items() if m.kind is not None),
                   *(self.header(i, units, kinds[i]) for i in self.follow if i in kinds)}
        columns = {k: "float64" if k in numbers else "int64" if k in ("fails", "marginal") else "str"
                   for k in self._frame((), units, kinds).columns}
        said = {"study": "sweep", "kit": kit_version(), "design": self.design.hash, "keys": ", ".join(self.keys),
                "units": units}
        return ResultsFile(path, said, fingerprint(said, self.cases.texts, self.follow), columns, len(self))


    def plain(self, rows: Iterable[Row]) -> pd.DataFrame:
        """Rows as plain SI columns, from which `restored` makes them again."""
        import pandas as pd

        made = []
        for r in rows:
            keys = {k: r.texts[k] for k in self.keys}
            keys |= {f"{k}, SI": r.values.get(k) for k in self.keys}
            made.append({"id": r.id, **keys, **{i: r.figures.get(i) for i in self.follow},
                         **{n: getattr(r, n) for n in ("title", *_FIXED[1:])},
                         "margins": json.dumps(dict(r.margins), ensure_ascii=False),
                         "limits": json.dumps({i: [(x.id, x.title, x.sense, x.value) for x in some]
                                               for i, some in r.limits.items() if some}, ensure_ascii=False)})
        columns = self.plain_columns()
        frame = pd.DataFrame(made, columns=list(columns))
        blank = {k: "" for k, kind in columns.items() if kind == "str"}
        return frame.fillna(blank).astype(columns)

    def plain_columns(self) -> dict[str, str]:
        """Columns of `plain`, each with its type."""
        kinds = self.kinds()
        numbers = {"margin", *(f"{k}, SI" for k, m in self.metas.items() if m.kind is not None),
                   *(i for i in self.follow if i in kinds)}
        names = ["id", *self.keys, *(f"{k}, SI" for k in self.keys), *self.follow, "title", *_FIXED[1:], "margins",
                 "limits"]
        return {k: "float64" if k in numbers else "int64" if k in ("fails", "marginal") else "str" for k in names}

    def restored(self, frame: pd.DataFrame) -> list[Row]:
        """Rows of a table as `plain` gives it; hardware is not in it, see `with_hardware`."""
        kinds, columns, found = self.kinds(), self.plain_columns(), []

        def number(x: float) -> float | None:
            return None if x != x else float(x)

        def value(row: Mapping[Any, Any], name: str) -> float | str | None:
            x = row[name]
            return None if x == "" or x != x else float(x) if columns[name] == "float64" else str(x)

        for r in frame.to_dict("records"):
            figures = {i: value(r, i) for i in self.follow}
            found.append(Row({k: str(r[k]) for k in self.keys}, {k: value(r, f"{k}, SI") for k in self.keys}, figures,
                             {i: kinds[i] for i, x in figures.items() if isinstance(x, float)},
                             fails=int(r["fails"]), marginal=int(r["marginal"]), worst=str(r["worst"]),
                             title=str(r["title"]), verdict=str(r["verdict"]), margin=number(r["margin"]),
                             problem=str(r["problem"]), margins=json.loads(r["margins"]),
                             limits={i: tuple(Limit(*one) for one in some)
                                     for i, some in json.loads(r["limits"]).items()}))
        return found

    def with_hardware(self, row: Row) -> Row:
        """A row with what was selected for it: one that was read from a results file is sized once more."""
        return row if row.picks or row.problem else _case(self.design.text, row.texts, self.keys, self.follow)

    @contextlib.contextmanager
    def keeping(self, results: str | os.PathLike[str] | None, what: Mapping[str, str],
                total: int) -> Iterator[tuple[list[Row], Callable[[Row | None], None]]]:
        """Rows an earlier run of this very study left in a results file, and what adds one, or ends the file.

        Parameters
        ----------
        results : path or None
            Without a file there are no earlier rows.
        what : mapping of str to str
            What the study is beside its keys: goals, how many at most.
        total : int
            Rows at most.
        """
        if results is None:
            yield [], lambda row: None
            return
        said, print_ = identity(self.design, self.cases.texts, self.follow, what)
        file = ResultsFile(results, said, print_, self.plain_columns(), total)

        def add(row: Row | None) -> None:
            if row is None:
                file.finish()
            else:
                file.append(self.plain([row]))

        with file.open():
            yield self.restored(file.frame()), add

    def through(self, what: Mapping[str, str], *, executor: Executor | None = None,
                results: str | os.PathLike[str] | None = None, progress: Progress = None,
                cancel: threading.Event | None = None,
                each: Callable[[Sweep, Row], object] | None = None) -> list[Row]:
        """All cases in order; those that were done where it is cancelled.

        Parameters
        ----------
        what : mapping of str to str
            What the study is beside its keys, kept with its results.
        executor, progress, cancel : optional
            As for `swept`.
        results : path, optional
            Grows a file of plain SI columns; goes on where an earlier run of the same study stopped.
        each : callable, optional
            Gets the study and each row as it comes, those of an earlier run first.
        """
        with self.keeping(results, what, len(self)) as (rows, add):
            tell, first = progress_of(progress, len(self), "plants", len(rows)), len(rows)
            for n, row in enumerate(itertools.chain(list(rows), self.rows(executor, first, cancel=cancel))):
                if n >= first:
                    rows.append(row)
                    add(row)
                    tell(len(rows))
                if each is not None:
                    each(self, row)
        return rows


def identity(design: Design, texts: Mapping[str, Sequence[str]], follow: Sequence[str],
             what: Mapping[str, str]) -> tuple[dict[str, str], str]:
    """What a study is in words, and the fingerprint by which its results file is known again.

    Parameters
    ----------
    design : Design
    texts : mapping of key to sequence of str
        Its values as they are written into the design.
    follow : sequence of str
    what : mapping of str to str
        What the study is beside its keys.
    """
    said = {"kit": kit_version(), "design": design.hash, "keys": ", ".join(texts), **what}
    return said, fingerprint(said, {k: list(v) for k, v in texts.items()}, tuple(follow))


def swept(study: Sweep, units: str = "si", executor: Executor | None = None, chunk: int = 1,
          results: str | os.PathLike[str] | None = None, progress: Progress = None,
          cancel: threading.Event | None = None) -> pd.DataFrame:
    """All rows of a sweep as a table; those that were done where it is cancelled.

    Parameters
    ----------
    study : Sweep
    units : {"si", "us"}
    executor : concurrent.futures.Executor, optional
    chunk : int
        Plants a worker sizes at a time.
    results : path, optional
        Grows a table on disk, see `ResultsFile`; goes on where an earlier run of the same sweep stopped.
    progress : bool or callable, optional
        See `progress_of`.
    cancel : threading.Event, optional
        Once set, no more plants are sized.
    """
    if results is None:
        tell, rows = progress_of(progress, len(study), "cases"), []
        for row in study.rows(executor, chunk=chunk, cancel=cancel):
            rows.append(row)
            tell(len(rows))
        return study.frame(rows, units)
    file, kinds = study.file(results, units), study.kinds()
    with file.open():
        first = file.rows
        tell = progress_of(progress, len(study), "cases", first)
        for done, row in enumerate(study.rows(executor, first, chunk, cancel), first + 1):
            file.append(study._frame([row], units, kinds))
            tell(done)
    return file.frame()


def grid(rows: Iterable[Row], a: str, b: str, id: str) -> tuple[list[Any], list[Any], np.ndarray]:
    """A figure over two keys.

    Parameters
    ----------
    rows : iterable of Row
        Of a study of both keys.
    a, b : str
        The keys.
    id : str
        Of the figure.

    Returns
    -------
    values of a, values of b, array of shape (a, b)
        SI; NaN where there is no plant.
    """
    rows = list(rows)
    first, second = (list(dict.fromkeys(r.texts[k] for r in rows)) for k in (a, b))
    found = {(r.texts[a], r.texts[b]): r for r in rows}
    table = np.full((len(first), len(second)), np.nan)
    for (x, y), row in found.items():
        value = row.figures.get(id)
        if isinstance(value, float):
            table[first.index(x), second.index(y)] = value
    of = [{r.texts[k]: r.values.get(k) for r in rows} for k in (a, b)]
    return [of[0][t] for t in first], [of[1][t] for t in second], table


def numeric_keys(design: Design) -> dict[str, FieldMeta]:
    """Every key of a design that takes one number, by id, in the order of the file."""
    found: dict[str, FieldMeta] = {}

    def walk(path: str, section: Any) -> None:
        for name, m in metas(type(section)).items():
            id, value = f"{path}.{name}", getattr(section, name)
            if m.form == "quantity":
                found[id] = m
            elif m.form == "mapping":
                found.update({f"{id}[{k}]": m.entry(k, value) for k in value or ()})
            elif m.form == "section" and value is not None:
                walk(id, value)
            elif m.form == "sections":
                for one in value or ():
                    walk(f"{id}[{one[m.key]}]", one)

    for name, section in design.sections.items():
        walk(name, section)
    for name, sheets in design.lists.items():
        for sheet, one in zip(design.names(name), sheets, strict=True):
            walk(f"{name}[{sheet}]", one)
    return found


def spread(design: Design, key: str, low: str | float | None = None, high: str | float | None = None,
           steps: int = 11) -> list[str]:
    """Values of a key, evenly from low to high, as texts the design file takes.

    Parameters
    ----------
    design : Design
    key : str
    low, high : str or float, optional
        With a unit, or SI; the ends of the usual range, else of the possible one, if omitted. A choice has all
        its options.
    steps : int
        How many. Counts are whole and none comes twice, so there may be fewer.

    Raises
    ------
    DesignError
        Unknown key, no number, a range with no ends, ends that are the same or cannot be read.
    """
    m = _meta(design, key)
    if m.form in ("choice", "flag"):
        if low or high:
            raise DesignError("a choice has no ends", where=f"{key}, {'from' if low else 'to'}", value=low or high,
                              do="omit them: all its options are tried")
        return list(m.options) if m.form == "choice" else ["yes", "no"]
    if m.kind is None:
        raise DesignError("takes no numbers", where=key, do="vary a key that takes a number or a choice")
    if not 2 <= steps <= _FINEST:
        raise DesignError("not a number of values", where="steps", value=steps, allowed=f"2 to {_FINEST}")
    ends = m.usual or m.possible or (None, None)
    a, b = (_end(m, x, usual, word, key) for x, usual, word in ((low, ends[0], "from"), (high, ends[1], "to")))
    if a == b:
        raise DesignError("from and to are the same", where=f"{key}, to", do="give two values")
    # numbers as a person would write them: a hundredth of a step is no matter
    unit = unit_label(m.kind)
    x, y = (float(to_display(v, m.kind)) for v in (a, b))
    places = 2 - floor(log10(abs(y - x) / (steps - 1)))
    numbers = [round(float(v), 0 if m.kind.name == "count" else places) for v in np.linspace(x, y, steps)]
    if m.kind.name != "count":
        numbers[0], numbers[-1] = x, y
    texts = list(dict.fromkeys(f"{_plain(n)} {unit}".strip() for n in numbers))
    for place, end in ((0, low), (-1, high)):
        if isinstance(end, str):
            texts[place] = end.strip()  # as it was typed
    return texts


def first_look(m: FieldMeta, today: float | None = None) -> tuple[float | None, float | None]:
    """Ends of a key that nobody stated: its usual range; of a count, which may be 1 or 100, a fifth around today's.

    Parameters
    ----------
    m : FieldMeta
    today : float, optional
        SI, as the plant has it.
    """
    low, high = m.usual or m.possible or (None, None)
    if m.kind is None or m.kind.name != "count" or today is None or low is None or high is None:
        return low, high
    step = ceil(today / 5)
    least, most = m.possible or (low, high)
    return max(1.0, today - step, least or 0.0), today + step if most is None else min(most, today + step)


def _plain(number: float) -> str:
    """A number without exponent where that can be read."""
    text = f"{number:.12g}"
    return text if "e" not in text else f"{number:.20f}".rstrip("0").rstrip(".") if abs(number) < 1 else f"{number:.0f}"


def _end(m: FieldMeta, given: str | float | None, usual: float | None, word: str, key: str) -> float:
    if given is None:
        if usual is None:
            raise DesignError(f"has no usual range to begin with, so no {word}", where=f"{key}, {word}",
                              do="give both ends, each with its unit")
        return float(usual)
    return float(m.read(given if isinstance(given, str) else _text(m, given), f"{key}, {word}"))


def _meta(design: Design, key: str) -> FieldMeta:
    """What the schema knows of a key of this very design; refused when it is none."""
    design.get(key)  # refuses a key this design has not
    m = design.meta(key)
    if m.form == "mapping" and key.endswith("]"):
        path, _, name = key[:-1].rpartition("[")
        m = m.entry(name, design.get(path))
    if m.form not in ("quantity", "choice", "flag"):
        raise DesignError("not one value", where=key, do="name one key, as in filters.count or water.ions[Na]")
    return m


def _text(m: FieldMeta, value: str | float) -> str:
    """What is written into the design: a text as it is, an SI number in a unit that reads back as it."""
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, bool):
        return "yes" if value else "no"
    if m.kind is None:
        return str(value)
    number = float(to_display(float(value), m.kind))
    for digits in (12, 15, 17):
        text = f"{number:.{digits}g}"
        if float(from_display(float(text), m.kind)) == float(value):
            break
    return f"{_plain(number) if digits == 12 else text} {unit_label(m.kind)}".strip()


def _shown(value: Any, kind: str | None, units: str) -> Any:
    return float(to_display(value, kind, units)) if isinstance(value, float) and kind else value


def _sized(design: Design) -> Sized:
    """Values, picks and checks alone: a row needs no record."""
    return size(design, recording=False)


def _several(text: str, cases: Sequence[Mapping[str, str]], keys: Sequence[str], follow: Sequence[str]) -> list[Row]:
    """Some cases, in one task."""
    return [_case(text, texts, keys, follow) for texts in cases]


def _case(text: str, texts: Mapping[str, str], keys: Sequence[str], follow: Sequence[str],
          sized: Callable[[Design], Any] = _sized) -> Row:
    """One case, from texts to plain data, so that it can run in another process."""
    values: dict[str, Any] = dict.fromkeys(keys)
    try:
        design = from_text(text)
        design = design.with_values(texts) if texts else design
        values = {k: _bare(design.get(k)) for k in keys}
        plant = sized(design)
        book = plant.ledger
        values = {k: _bare(book[k]) if v is None and k in book else v for k, v in values.items()}  # as picked
    except TrailError:
        raise  # a defect of the kit is no result
    except Problem as problem:
        return Row(dict(texts), values, dict.fromkeys(follow), problem=str(problem))
    figures: dict[str, Any] = {}
    kinds: dict[str, str] = {}
    titles: dict[str, str] = {}
    for id in follow:
        if (own := GOAL_FIGURES.get(id)) is not None:
            figures[id], kinds[id], titles[id] = own.value(plant, text), own.kind, own.title
            continue
        x = book[id] if id in book or (id.endswith("]") and id.rpartition("[")[0] in book) else None
        if isinstance(x, Column):
            raise DesignError("has several values", where=id, allowed=", ".join(f"{id}[{k}]" for k in x.keys),
                              do="follow one of them")
        figures[id] = _bare(x) if isinstance(x, (Figure, Choice)) else None
        if isinstance(x, Figure):
            kinds[id], titles[id] = x.kind.name, x.title
    checks = [x for x in book.lines.values() if x.sort == "checked"]
    verdicts = [x.more["verdict"] for x in checks]
    worst = sorted(checks, key=_grave)[:1]
    more: dict[str, Any] = {}
    if worst:
        (x,) = worst
        more = {"worst": x.id, "title": x.title, "verdict": x.more["verdict"], "margin": _bare(x.more.get("margin"))}
    limits = {id: _limits(id, kinds[id], checks) for id in kinds}
    return Row(dict(texts), values, figures, kinds, limits, verdicts.count("fails"), verdicts.count("marginal"),
               picks=_hardware(book), margins=_margins(checks), titles=titles, parts=_parts(book), **more)


def case(text: str, texts: Mapping[str, str], keys: Sequence[str], follow: Sequence[str]) -> Row:
    """One case of a design's text with some keys written otherwise; a refusal is a row that says so."""
    return _case(text, texts, keys, follow)


def text_of(design: Design, key: str, value: str | float) -> str:
    """What is written into the design for a value of a key; refused where the key is none of this design."""
    return _text(_meta(design, key), value)


def _margins(checks: Iterable[Any]) -> dict[str, float]:
    """Worst margin of each check over its cases, where it is near its limit or beyond."""
    found: dict[str, float] = {}
    for x in checks:
        margin = x.more.get("margin")
        if margin is not None and float(margin) <= NEAR:
            found[x.title] = min(float(margin), found.get(x.title, NEAR))
    return found


def _parts(book: Any) -> dict[str, float]:
    """Cost of water by part; nothing for a plant that is not priced."""
    if _BY_PART not in book:
        return {}
    parts = book[_BY_PART]
    return dict(zip(parts.keys, map(float, parts.values), strict=True))


def _hardware(book: Any) -> dict[str, tuple[str, float | str, str | None]]:
    """Title, value and kind of what was selected from a table or counted; governing cases are no hardware."""
    found = {}
    for x in book.lines.values():
        counted = x.kind is not None and x.kind.name == "count"
        if x.sort == "picked" and not x.corner and (counted or "table" in x.more):
            value = _scalar(x.value)
            if value is not None and " over the " not in x.more.get("rule", ""):
                found[x.id] = (x.title, value, x.kind.name if x.kind is not None else None)
    return found


def _scalar(value: Any) -> float | str | None:
    """One number or text; None for a column."""
    if isinstance(value, str):
        return str(value)
    return float(value) if isinstance(value, (int, float)) or getattr(value, "ndim", 1) == 0 else None


def _bare(value: Any) -> Any:
    """A plain number or text: a figure with its trail stays where it was made."""
    if isinstance(value, str):
        return str(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return None if value is None else float(value)


def _grave(x: Any) -> tuple[int, float]:
    margin = x.more.get("margin")
    return _RANK.get(x.more["verdict"], 0), 0.0 if margin is None else float(margin)


def _limits(id: str, kind: str, checks: Sequence[Any]) -> tuple[Limit, ...]:
    """Checks of a figure in its own unit; of one that stands in several cases the worst."""
    found: dict[str, Limit] = {}
    for x in sorted(checks, key=_grave):
        own = x.id.startswith((f"{id}.", f"{id}@")) and x.kind is not None and x.kind.name == kind
        if own and "limit" in x.more:
            found.setdefault(x.id.partition("@")[0],
                             Limit(x.id, x.title, x.more["sense"], float(x.more["limit"])))
    return tuple(found.values())
