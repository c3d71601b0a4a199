"""A sweep: keys of a design over values, the plant sized anew at each, one row at a time.

Rows come one by one, so whoever asks for them sees how far the study is and may stop between two. A value
the design refuses, and a plant that cannot be built, is a row that says so in one line.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from itertools import product
from math import floor, log10
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.design import Design, field_meta, from_text
from desalbook.plant import Sized, size
from desalbook.problems import DesignError, Problem, TrailError
from desalbook.trail import Choice, Column, Figure, Values
from desalbook.units import FieldMeta, metas, to_display, unit_label
from desalbook.units.display import from_display
from desalbook.units.fieldmeta import nearest

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["HEADLINES", "MOST", "Limit", "Row", "Sweep", "grid", "numeric_keys", "spread"]

MOST = 2000
"""Cases of one study; at a fifth of a second each, this takes some minutes."""
# a finding for review has no margin that a study could move
_RANK = {"fails": 0, "marginal": 1, "review": 2, "passes": 3}
_FIXED = ("id", "fails", "marginal", "worst", "verdict", "margin", "problem")

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

    @property
    def id(self) -> str:
        """``membrane.recovery=40 %``; lasting, for it is what was written."""
        return "; ".join(f"{k}={t}" for k, t in self.texts.items()) or "as it stands"


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

    Raises
    ------
    DesignError
        Unknown key or figure, more than `MOST` cases. A value that is refused is a row, not an error.
    """

    def __init__(self, design: Design, vary: Mapping[str, Sequence[str | float] | None],
                 follow: Iterable[str], steps: int = 11):
        if not vary:
            raise DesignError("no key to vary", where="sweep", do="name a key of the design file")
        self.design, self.follow = design, tuple(dict.fromkeys(follow))
        self.keys = tuple(vary)
        self.metas = {key: _meta(design, key) for key in vary}
        texts = {k: spread(design, k, steps=steps) if v is None else [_text(self.metas[k], x) for x in v]
                 for k, v in vary.items()}
        self.cases: list[dict[str, str]] = [dict(zip(self.keys, x, strict=True)) for x in product(*texts.values())]
        if not 1 <= len(self.cases) <= MOST:
            raise DesignError("too many cases" if self.cases else "no cases", where="sweep", value=len(self.cases),
                              allowed=f"1 to {MOST}", do="take fewer values")
        self.base = _case(design.text, {}, self.keys, self.follow)
        if self.base.problem:
            return  # the design itself has no plant: that is what the study may be about
        for id in (x for x, value in self.base.figures.items() if value is None):
            book = _sized(design).ledger
            known = [*(book.values if isinstance(book, Values) else book.lines)]
            raise DesignError("this plant has no such figure", where="follow", value=id,
                              do=nearest(id, known).replace("Change or remove the key", "take an id of its figures"))

    def __len__(self) -> int:
        return len(self.cases)

    def __iter__(self) -> Iterator[Row]:
        return self.rows()

    def rows(self, executor: Executor | None = None) -> Generator[Row, None, None]:
        """The cases in order, one at a time; what was not begun when the iterator is closed is not run.

        Parameters
        ----------
        executor : concurrent.futures.Executor, optional
            Runs the cases; the order stays.
        """
        said = (self.design.text, self.keys, self.follow)
        if executor is None:
            for texts in self.cases:
                yield _case(said[0], texts, *said[1:])
            return
        waiting = [executor.submit(_case, said[0], texts, *said[1:]) for texts in self.cases]
        try:
            for one in waiting:
                yield one.result()
        finally:
            for one in waiting:
                one.cancel()

    def header(self, id: str, units: str = "si", kind: str | None = None) -> str:
        """Column of a key or figure: its id, and its unit when it has one."""
        m = self.metas.get(id)
        name = m.kind.name if m is not None and m.kind is not None else kind
        unit = unit_label(name, units) if name else ""
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
        import pandas as pd

        rows = list(rows)
        kinds: dict[str, str] = {id: k for row in (*rows, self.base) for id, k in row.kinds.items()}
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


def grid(rows: Iterable[Row], a: str, b: str, id: str) -> tuple[list[Any], list[Any], np.ndarray]:
    """A figure over two keys.

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
    return found


def spread(design: Design, key: str, low: str | float | None = None, high: str | float | None = None,
           steps: int = 11) -> list[str]:
    """Values of a key, evenly from low to high, as texts the design file takes.

    Parameters
    ----------
    design : Design
    key : str
    low, high : str or float, optional
        With a unit, or SI; the ends of the usual range, else of the possible one, where left out. A choice has all
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
        return list(m.options) if m.form == "choice" else ["yes", "no"]
    if m.kind is None:
        raise DesignError("takes no numbers", where=key, do="vary a key that takes a number or a choice")
    if not 2 <= steps <= MOST:
        raise DesignError("not a number of values", where="steps", value=steps, allowed=f"2 to {MOST}")
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
    m = field_meta(key)
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


def _case(text: str, texts: Mapping[str, str], keys: Sequence[str], follow: Sequence[str],
          sized: Callable[[Design], Any] = _sized) -> Row:
    """One case, from texts to plain data, so that it can run in another process."""
    values: dict[str, Any] = dict.fromkeys(keys)
    try:
        design = from_text(text)
        design = design.with_values(texts) if texts else design
        values = {k: _bare(design.get(k)) for k in keys}
        book = sized(design).ledger
        values = {k: _bare(book[k]) if v is None and k in book else v for k, v in values.items()}  # as picked
    except TrailError:
        raise  # a defect of the kit is no result
    except Problem as problem:
        return Row(dict(texts), values, dict.fromkeys(follow), problem=str(problem))
    figures: dict[str, Any] = {}
    kinds: dict[str, str] = {}
    for id in follow:
        x = book[id] if id in book or (id.endswith("]") and id.rpartition("[")[0] in book) else None
        if isinstance(x, Column):
            raise DesignError("has several values", where=id, allowed=", ".join(f"{id}[{k}]" for k in x.keys),
                              do="follow one of them")
        figures[id] = _bare(x) if isinstance(x, (Figure, Choice)) else None
        if isinstance(x, Figure):
            kinds[id] = x.kind.name
    checks = [x for x in book.lines.values() if x.sort == "checked"]
    verdicts = [x.more["verdict"] for x in checks]
    worst = sorted(checks, key=_grave)[:1]
    more: dict[str, Any] = {}
    if worst:
        (x,) = worst
        more = {"worst": x.id, "title": x.title, "verdict": x.more["verdict"], "margin": _bare(x.more.get("margin"))}
    limits = {id: _limits(id, kinds[id], checks) for id in kinds}
    return Row(dict(texts), values, figures, kinds, limits, verdicts.count("fails"), verdicts.count("marginal"), **more)


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
    """Checks of a figure in its own unit; of one that stands at several corners the worst."""
    found: dict[str, Limit] = {}
    for x in sorted(checks, key=_grave):
        own = x.id.startswith((f"{id}.", f"{id}@")) and x.kind is not None and x.kind.name == kind
        if own and "limit" in x.more:
            found.setdefault(x.id.partition("@")[0],
                             Limit(x.id, x.title, x.more["sense"], float(x.more["limit"])))
    return tuple(found.values())
