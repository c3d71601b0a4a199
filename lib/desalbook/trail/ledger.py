"""The two contexts of a calculation: a ledger that records every line, and values alone.

Seven sorts of line: given, assumed, computed, engine, solved, picked, checked. `computed` lines are made
by relations; the others by the functions here. A line knows its scope, the number of like items (count),
its case and the ids of its inputs. A duplicate id is refused.

Inside ``with values():`` the same functions give the same numbers and record nothing but picks and verdicts;
there, arguments may also be bare numbers and arrays over many cases.
"""

from __future__ import annotations

import contextlib
import contextvars
import functools
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple, TypeVar

import numpy as np

from desalbook.problems import TrailError
from desalbook.trail.cancellation import Cancelled, cancelled_by
from desalbook.trail.figure import Choice, Column, Figure, figure_of, ref
from desalbook.units.kinds import KINDS, Kind

__all__ = ["SORTS", "Judged", "Later", "Ledger", "Line", "Values", "apart", "assumed", "checked", "current", "engine",
           "given", "govern", "in_case", "in_values", "inputs_of", "is_assumed", "is_given", "moving", "note", "picked",
           "proving", "residual", "scope", "scope_of", "solved", "values", "what_if"]

SORTS = ("given", "assumed", "computed", "engine", "solved", "picked", "checked")
SCOPES = ("plant", "train", "unit", "vessel", "element")
_ID = re.compile(r"[a-z][a-z0-9_]*(\[[A-Za-z0-9_+.-]+\])?(\.[a-z][a-z0-9_]*(\[[A-Za-z0-9_+.-]+\])?)*\Z")
MARGINAL = 0.05  # a margin below this is marginal (common practice)
ICE = 273.15  # K; margins of temperature are shares of degrees Celsius

_book: contextvars.ContextVar[Ledger | Values | None] = contextvars.ContextVar("book", default=None)
_moved: contextvars.ContextVar[Mapping[str, Any] | None] = contextvars.ContextVar("moved", default=None)


class Scope(NamedTuple):
    """What a line speaks of."""

    name: str = "plant"
    corner: str | None = None
    count: int | None = None
    because: tuple[Choice | Figure, ...] = ()
    instead: tuple[str, str] | None = None


_Key = TypeVar("_Key", bound=str)  # text of a corner, or a corner
_scope: contextvars.ContextVar[Scope | None] = contextvars.ContextVar("scope", default=None)
_PLANT, _tuple, _new = Scope(), tuple.__new__, float.__new__
_proper: set[str] = set()  # ids found proper before; the names are few


@dataclass(slots=True)
class Line:
    """One line of the trail; see the module's text for its sorts."""

    id: str
    sort: str
    title: str
    symbol: str = ""
    kind: Kind | None = None
    value: Any = None
    axis: str | None = None
    keys: tuple[str, ...] | None = None
    inputs: dict[str, Any] = field(default_factory=dict)
    relation: Any = None
    source: str = ""
    place: str = ""
    note: str = ""
    cautions: list[str] = field(default_factory=list)
    more: dict[str, Any] = field(default_factory=dict)
    scope: str = "plant"
    corner: str | None = None
    count: int | None = None
    because: tuple[Any, ...] = ()

    def figure(self) -> Any:
        """The Figure, Column or Choice that stands for this line; the line itself when it has no value."""
        value, kind = self.value, self.kind or KINDS["factor"]
        if type(value) is float and self.keys is None:
            return figure_of(value, self.id, kind, self.symbol, self.title)
        if value is None:
            return self
        if isinstance(value, str):
            return Choice(value, id=self.id, title=self.title)
        if self.keys is not None:
            return Column(value, id=self.id, kind=kind, axis=self.axis or "", keys=self.keys,
                          symbol=self.symbol, title=self.title)
        return figure_of(value, self.id, kind, self.symbol, self.title)

    def parents(self) -> list[str]:
        """Ids of the lines this one rests on."""
        found: dict[str, None] = {}
        for x in (*self.inputs.values(), *self.because):
            found[x.id] = None
        return list(found)


class Ledger:
    """All lines of one calculation, by id."""

    def __init__(self) -> None:
        self.lines: dict[str, Line] = {}
        self.reads: set[str] = set()
        self._held: tuple[Any, ...] = ()  # what decided the line before, found among the lines
        self._cancel = cancelled_by()

    @contextlib.contextmanager
    def recording(self) -> Iterator[Ledger]:
        """Make this the ledger that relations write to."""
        token = _book.set(self)
        try:
            with np.errstate(all="ignore"):  # the untaken branch of a `where` may divide by nothing
                yield self
        finally:
            _book.reset(token)

    def branch(self) -> Ledger:
        """A ledger that begins with all lines of this one; what is entered in it is not entered here."""
        made = Ledger()
        made.lines = dict(self.lines)
        return made

    def add(self, line: Line) -> Any:
        """Enter a line under the present scope and return its Figure, Column or Choice."""
        if self._cancel is not None and self._cancel.is_set():
            raise Cancelled
        lines = self.lines
        line.scope, corner, line.count, because, instead = _scope.get() or _PLANT
        id = line.id if instead is None else _named(line.id)
        if id not in _proper:
            if not _ID.match(id):
                raise TrailError("not a proper id", where=id)
            _proper.add(id)
        line.corner, line.because = corner, because
        if corner:
            id = f"{id}@{corner}"
        line.id = id
        if id in lines:
            raise TrailError("this id is in the ledger already", where=id)
        for x in line.inputs.values():
            if x.id not in lines:
                raise TrailError(f"rests on {x.id}, which this ledger does not hold", where=id)
        if because is not self._held:
            for x in because:
                if x.id not in lines:
                    raise TrailError(f"rests on {x.id}, which this ledger does not hold", where=id)
            self._held = because
        lines[id] = line
        return line.figure()

    def __getitem__(self, id: str) -> Any:
        if id in self.lines:
            return self.lines[id].figure()
        base, _, key = id.rpartition("[")
        if key.endswith("]") and base in self.lines:
            return self.lines[base].figure()[key[:-1]]
        raise KeyError(id)

    def __contains__(self, id: str) -> bool:
        return id in self.lines


class Judged(NamedTuple):
    """A verdict over many cases: what was judged, against what, and the fraction of the limit left (n,)."""

    provided: np.ndarray
    sense: str
    limit: Any
    margin: np.ndarray


class Later:
    """A row of numbers that stands ready and becomes a Column when somebody asks for it."""

    __slots__ = ("_book", "_made_of", "id")

    def __init__(self, book: Values, id: str, made_of: tuple[Any, ...]):
        self._book, self.id, self._made_of = book, id, made_of

    def column(self) -> Column:
        """The Column, entered in the book under the id it had from the beginning."""
        book = self._book
        book.deferred.pop(self.id, None)
        if self.id not in book.values:
            values, kind, symbol, title, axis, keys = self._made_of
            book.values[self.id] = Column(np.array(values, dtype=float), id=self.id, kind=_sure(kind), axis=axis,
                                          keys=tuple(keys), symbol=symbol, title=title)
        return book.values[self.id]


class Values:
    """Numbers of one calculation by id, without a record of how they were made.

    Parameters
    ----------
    keep : bool
        Whether values are kept under their ids; an iteration does without.

    Attributes
    ----------
    values : dict
        Figure, Column or Choice by id; an array over cases where one went in.
    lines : dict
        Picks and verdicts, which are lines in both contexts.
    given : set
        Ids of what a person wrote.
    stated : set
        Ids of all inputs: what a person wrote, defaults, values of tables.
    scopes : dict
        What a value speaks of and of how many like items, a `Scope` by id.
    cautions : dict
        Sentences by id: values outside their usual range, relations outside theirs. Over cases a boolean array
        goes with each sentence.
    judged : dict
        Verdicts over many cases, `Judged` by id.
    deferred : dict
        Rows that a solver holds already, `Later` by id; `asked` makes them all.
    reads : set
        Keys of the design that were asked for.
    """

    def __init__(self, keep: bool = True) -> None:
        self.keep = keep
        self.values: dict[str, Any] = {}
        self.lines: dict[str, Line] = {}
        self.given: set[str] = set()
        self.stated: set[str] = set()
        self.scopes: dict[str, Scope] = {}
        self.cautions: dict[str, list[Any]] = {}
        self.judged: dict[str, Judged] = {}
        self.deferred: dict[str, Later] = {}
        self.reads: set[str] = set()
        self._cancel = cancelled_by()

    def branch(self) -> Values:
        """A book that begins with all that stands in this one; what is entered in it is not entered here."""
        made, was = Values(self.keep), self.asked()
        made.values, made.lines, made.scopes = dict(was.values), dict(was.lines), dict(was.scopes)
        made.given, made.stated, made.cautions = set(was.given), set(was.stated), dict(was.cautions)
        return made

    @contextlib.contextmanager
    def running(self) -> Iterator[Values]:
        """Make this the book that relations write to."""
        token = _book.set(self)
        try:
            with np.errstate(all="ignore"):
                yield self
        finally:
            _book.reset(token)

    def _at(self, id: str) -> str:
        here = _scope.get()
        if here is None:
            return id
        if here.instead is not None:
            id = _named(id)
        return f"{id}@{here.corner}" if here.corner else id

    def number(self, id: str, value: float, kind: Kind, symbol: str, title: str) -> Figure:
        """Keep one number under its id and give it back as a Figure."""
        if self._cancel is not None and self._cancel.is_set():
            raise Cancelled
        here = _scope.get() or _PLANT
        if here.instead is not None:
            id = _named(id)
        if here.corner:
            id = f"{id}@{here.corner}"
        made = _new(Figure, value)
        made.id, made.kind, made.symbol, made.title, made.key = id, kind, symbol, title, None
        if self.keep:
            values = self.values
            if id in values:
                raise TrailError("this id has a value already", where=id)
            values[id] = made
            self.scopes[id] = here
        return made

    def enter(self, id: str, value: Any, kind: Kind | None, *, symbol: str = "", title: str = "", axis: str = "",
              keys: Sequence[str] | None = None) -> Any:
        """Keep one value under its id and give it back as a Figure, Column or Choice; arrays over cases as they are."""
        kind = kind or KINDS["factor"]
        if type(value) is float:
            return self.number(id, value, kind, symbol, title)
        id = self._at(id)
        made: Any = value
        if isinstance(value, str):
            made = Choice(value, id=id, title=title)
        elif keys is not None and value.ndim == 1:
            made = Column(value, id=id, kind=kind, axis=axis, keys=tuple(keys), symbol=symbol, title=title)
        elif not value.ndim:
            return self.number(id, float(value), kind, symbol, title)
        if self.keep:
            if id in self.values:
                raise TrailError("this id has a value already", where=id)
            self.values[id] = made
            self.scopes[id] = _scope.get() or _PLANT
        return made

    def defer(self, id: str, values: Any, kind: Kind | str, *, symbol: str, title: str, axis: str,
              keys: Sequence[str]) -> Later:
        """Keep a row of numbers under its id without making a Column of it yet."""
        here = _scope.get() or _PLANT
        if here.instead is not None:
            id = _named(id)
        if here.corner:
            id = f"{id}@{here.corner}"
        if id in self.values or id in self.deferred:
            raise TrailError("this id has a value already", where=id)
        found = self.deferred[id] = Later(self, id, (values, kind, symbol, title, axis, keys))
        self.scopes[id] = here
        return found

    def asked(self) -> Values:
        """This book with all its deferred rows made."""
        for one in list(self.deferred.values()):
            one.column()
        return self

    def take(self, made: Any, name: str, given: bool, cautions: list[Any]) -> Any:
        """Enter a value that an earlier calculation made of the same input, at the plain id."""
        id = made.id
        if id in self.values:
            raise TrailError("this id has a value already", where=id)
        self.values[id] = made
        self.scopes[id] = _PLANT if name == "plant" else Scope(name)
        self.stated.add(id)
        if given:
            self.given.add(id)
        if cautions:
            self.cautions[id] = cautions
        return made

    def add(self, line: Line) -> Any:
        """A pick or a verdict: a line here as in a ledger, without its inputs being looked up."""
        line.scope, line.corner, line.count, line.because, _ = _scope.get() or _PLANT
        line.id = self._at(line.id)
        self.lines[line.id] = line
        made = line.figure()
        if line.sort != "checked":
            self.values[line.id] = made
        return made

    def __getitem__(self, id: str) -> Any:
        if id in self.values:
            return self.values[id]
        if id in self.deferred:
            return self.deferred[id].column()
        if id in self.lines:
            return self.lines[id].figure()
        base, _, key = id.rpartition("[")
        if key.endswith("]") and base in self.deferred:
            self.deferred[base].column()
        if key.endswith("]") and isinstance(row := self.values.get(base), Column):
            return row[key[:-1]]
        raise KeyError(id)

    def __contains__(self, id: str) -> bool:
        return id in self.values or id in self.lines or id in self.deferred


def values(keep: bool = True) -> contextlib.AbstractContextManager[Values]:
    """Inside, relations and rooms compute and record nothing but picks and verdicts.

    Parameters
    ----------
    keep : bool
        Keep values under their ids; False for iterations.
    """
    return Values(keep).running()


def in_values(function: Callable[..., Any]) -> Callable[..., Any]:
    """Decorate a solver or a search: it runs in a values context that keeps nothing, whoever calls it."""
    @functools.wraps(function)
    def run(*args: Any, **named: Any) -> Any:
        with values(keep=False):
            return function(*args, **named)
    return run


opened = _book.get
"""The book being written, None where there is none; without a check, for each of thousands of lines."""


def current() -> Ledger | Values:
    """The book being written; TrailError when there is none."""
    book = _book.get()
    if book is None:
        raise TrailError("no calculation is open", do="use `with values():` for numbers alone")
    return book


def proving() -> bool:
    """Whether a record is made: the proof of a root belongs to it, and values alone do without."""
    return isinstance(_book.get(), Ledger)


def moving() -> bool:
    """Whether `what_if` moves inputs here."""
    return bool(_moved.get())


def scope_of(id: str) -> str:
    """What a value speaks of: plant, train, unit, vessel or element."""
    book = current()
    return book.scopes.get(id, _PLANT).name if isinstance(book, Values) else book.lines[id].scope


def inputs_of(figure: Figure | Column) -> dict[str, Any]:
    """Inputs of the line behind a value; empty where nothing is recorded."""
    book = current()
    return {} if isinstance(book, Values) else dict(book.lines[figure.id].inputs)


def is_given(id: str) -> bool:
    """Whether a person wrote the value of this id."""
    book = current()
    if isinstance(book, Values):
        return id in book.given
    return id in book.lines and book.lines[id].sort == "given"


def is_assumed(figure: Figure | Choice) -> bool:
    """Whether a value is a default that nobody chose, or stands in a table; of a row's number the row is asked."""
    book, id = current(), figure.id
    if isinstance(book, Values):
        id = id if id in book.values else id.rpartition("[")[0]
        return id in book.stated and id not in book.given
    line = book.lines.get(id) or book.lines.get(id.rpartition("[")[0])
    return line is not None and line.sort == "assumed"


def _on_assumed(figures: Iterable[Any]) -> dict[str, list[str]]:
    """Titles of the assumed values among those that decide a verdict."""
    titles = [x.title or x.id for x in figures if isinstance(x, (Figure, Choice)) and is_assumed(x)]
    return {"assumed": list(dict.fromkeys(titles))} if titles else {}


def _selected(figures: Iterable[Any]) -> list[str]:
    """Ids of those among some sizes that this kit selected."""
    lines = current().lines
    return [id for x in figures if (id := getattr(x, "id", "")) in lines and lines[id].sort == "picked"]


class scope:
    """Lines made inside speak of this scope; what is not said is inherited. For a ``with`` statement.

    Parameters
    ----------
    name : {"plant", "train", "unit", "vessel", "element"}
    corner : str
        Added to every id as ``@corner``.
    count : number
        How many like items the plant has.
    because : choices or figures
        What decided that these lines exist at all; they become inputs of every line made inside. What is blank,
        and a bare text that no line holds, decides nothing and is passed over.
    instead : (str, str)
        Lines made inside whose id begins with the first part begin with the second: a room that writes
        ``membrane.flux`` writes ``second_pass.flux`` when it is called again for the second pass.
    """

    __slots__ = ("_said", "_token")

    def __init__(self, name: str | None = None, *, corner: str | None = None, count: float | None = None,
                 because: Iterable[Choice | Figure | str | None] = (), instead: tuple[str, str] | None = None):
        if name is not None and name not in SCOPES:
            raise TrailError(f"no scope {name}")
        self._said = (name, corner, count, because, instead)

    def __enter__(self) -> None:
        name, corner, count, because, instead = self._said
        was = _scope.get() or _PLANT
        more = tuple([b for b in because if hasattr(b, "id")]) if because else ()
        self._token = _scope.set(_tuple(Scope, (
            name or was.name, corner or was.corner, int(count) if count is not None else was.count,
            (*was.because, *more) if more else was.because, instead or was.instead)))

    def __exit__(self, *_: Any) -> None:
        _scope.reset(self._token)


def in_case() -> bool:
    """Whether lines made here are of one case, so that their ids end in it."""
    here = _scope.get()
    return here is not None and here.corner is not None


@contextlib.contextmanager
def apart(book: Ledger | Values) -> Iterator[None]:
    """Inside, lines are entered in that book and in no scope: an input is the same wherever it is first asked for."""
    here, written = _scope.set(None), _book.set(book)
    try:
        yield
    finally:
        _book.reset(written)
        _scope.reset(here)


@contextlib.contextmanager
def what_if(moved: Mapping[str, Any]) -> Iterator[None]:
    """Inside, given and assumed lines named here take another value.

    Keys are ids (``filters.layers[sand].depth``) or entries of a Column (``water.ions[Na]``); values are
    a factor for numbers, another text for choices.
    """
    token = _moved.set(dict(moved))
    try:
        yield
    finally:
        _moved.reset(token)


def _named(id: str) -> str:
    here = _scope.get()
    if here is None or here.instead is None or not id.startswith(here.instead[0] + "."):
        return id
    return here.instead[1] + id[len(here.instead[0]):]


def _shift(id: str, value: Any, keys: Sequence[str] | None) -> Any:
    moved = _moved.get()
    if not moved:
        return value
    if keys is not None:
        return [v * moved.get(f"{id}[{k}]", 1.0) for k, v in zip(keys, value, strict=True)]
    if id not in moved:
        return value
    return moved[id] if isinstance(value, str) else value * moved[id]


def _sure(kind: Kind | str) -> Kind:
    return KINDS[kind] if isinstance(kind, str) else kind


def _kind(kind: Kind | str | None) -> Kind | None:
    return KINDS[kind] if isinstance(kind, str) else kind


def given(id: str, value: Any, kind: Kind | str | None, *, title: str, symbol: str = "", text: str = "",
          axis: str | None = None, keys: Sequence[str] | None = None, options: Sequence[str] = (),
          cautions: Sequence[str] = (), source: str = "design-file") -> Any:
    """A line for what a person wrote. Only the design reader makes these."""
    return _input("given", id, value, kind, title=title, symbol=symbol, text=text, axis=axis, keys=keys,
                  options=options, cautions=cautions, source=source, place="", note="")


def assumed(id: str, value: Any, kind: Kind | str | None, *, title: str, symbol: str = "", text: str = "",
            axis: str | None = None, keys: Sequence[str] | None = None, options: Sequence[str] = (),
            source: str, place: str = "", note: str = "", table: str = "", row: str = "",
            cautions: Sequence[str] = ()) -> Any:
    """A line for a default nobody chose, or a value from a data table."""
    return _input("assumed", id, value, kind, title=title, symbol=symbol, text=text, axis=axis, keys=keys,
                  options=options, cautions=cautions, source=source, place=place, note=note, table=table,
                  row=row)


def _input(sort, id, value, kind, *, title, symbol, text, axis, keys, options, cautions, source, place, note,
           table="", row=""):
    if _moved.get():
        value = _shift(_named(id), value, keys)
    book = current()
    if isinstance(book, Values):
        made = book.enter(id, _bare(value, keys), _kind(kind), symbol=symbol, title=title, axis=axis or "", keys=keys)
        name = getattr(made, "id", id)  # over cases an array has none
        book.stated.add(name)
        if sort == "given":
            book.given.add(name)
        if cautions:
            book.cautions[name] = list(cautions)
        return made
    more: dict[str, Any] = {}
    if text:
        more["text"] = text
    if options:
        more["options"] = list(options)
    if table:
        more["table"] = table
    if row:
        more["row"] = row
    return book.add(Line(id, sort, title, symbol, _kind(kind), _bare(value, keys), axis,
                         None if keys is None else tuple(keys), {}, None, source, place, note, list(cautions), more))


def _bare(value: Any, keys: Sequence[str] | None) -> Any:
    """The value as a line holds it: a text, a float, or a row of numbers of its own that nobody changes."""
    if isinstance(value, np.ndarray) and value.ndim > (keys is not None):
        return value  # over cases
    if keys is None:
        return value if isinstance(value, str) else float(value)
    row = np.array(value, dtype=float)
    row.setflags(write=False)
    return row


def engine(id: str, value: Any, kind: Kind | str, *, title: str, symbol: str = "",
           inputs: Mapping[str, Any], library: str, version: str, data: str = "", checksum: str = "",
           axis: str | None = None, keys: Sequence[str] | None = None, source: str, note: str = "",
           cautions: Sequence[str] = ()) -> Any:
    """A line for a third party's answer: which library, which data, from what."""
    book = current()
    if isinstance(book, Values):
        made = book.enter(id, _bare(value, keys), _kind(kind), symbol=symbol, title=title, axis=axis or "", keys=keys)
        if cautions:
            book.cautions[getattr(made, "id", id)] = list(cautions)
        return made
    more = {"library": library, "version": version, "data": data, "checksum": checksum}
    return book.add(Line(id, "engine", title, symbol, _kind(kind), _bare(value, keys), axis,
                              None if keys is None else tuple(keys), dict(inputs), None, source, "", note,
                              list(cautions), more))


def solved(id: str, value: Any, kind: Kind | str, *, title: str, symbol: str = "", inputs: Mapping[str, Any],
           method: str, axis: str | None = None, keys: Sequence[str] | None = None, note: str = "",
           cautions: Sequence[str] = ()) -> Any:
    """A line for the root of an equation; `residual` must follow and prove it."""
    book = current()
    if isinstance(book, Values):
        made = book.enter(id, _bare(value, keys), _kind(kind), symbol=symbol, title=title, axis=axis or "", keys=keys)
        if cautions:
            book.cautions[getattr(made, "id", id)] = list(cautions)
        return made
    return book.add(Line(id, "solved", title, symbol, _kind(kind), _bare(value, keys), axis,
                              None if keys is None else tuple(keys), dict(inputs), None, "definition", "", note,
                              list(cautions), {"method": method, "residual": []}))


def residual(figure: Figure | Column, of: Figure | Column, scale: float, tolerance: float = 1e-9) -> None:
    """Bind a recorded residual to a solved line; refuse it when it is not small.

    Parameters
    ----------
    figure : the solved value
    of : the recorded residual, which a relation made
    scale : number
        What the residual is compared with, in its own unit.
    """
    book = current()
    if isinstance(of, np.ndarray):
        return  # over cases a solver gives its own reason for each case that has no answer
    worst = float(np.maximum.reduce(np.abs(of.values))) if isinstance(of, Column) else abs(float(of))
    ratio = worst / abs(scale) if scale else worst
    if not ratio <= tolerance:
        where = getattr(figure, "id", "")
        raise TrailError(f"a residual is {ratio:.3g} of its scale; allowed {tolerance:.0e}", where=where)
    if isinstance(book, Values):
        return
    line = book.lines[figure.id]
    line.more["residual"].append({"id": of.id, "relative": ratio, "scale": abs(float(scale)), "tolerance": tolerance})


def picked(id: str, value: Any, kind: Kind | str | None, *, title: str, symbol: str = "",
           rule: str, candidates: Sequence[Mapping[str, Any]], inputs: Mapping[str, Any], why: str = "",
           table: str = "", source: str = "definition", note: str = "", cautions: Sequence[str] = (),
           axis: str | None = None, keys: Sequence[str] | None = None) -> Any:
    """A line for a choice the kit made: rule, all candidates with the value judged, winner, why not less."""
    book = current()
    more: dict[str, Any] = {"rule": rule, "why": why, "candidates": list(candidates) if isinstance(book, Values) else [
        dict(c) for c in candidates]}
    if table:
        more["table"] = table
    return book.add(Line(id, "picked", title, symbol, _kind(kind), _bare(value, keys), axis,
                              None if keys is None else tuple(keys), dict(inputs), None, source, "", note,
                              list(cautions), more))


def govern(id: str, by_corner: Mapping[_Key, Figure], rule: str, *, title: str, symbol: str = "",
           note: str = "") -> Figure:
    """The governing case of one figure, picked by ``largest`` or ``smallest``, with its runner-up."""
    order = sorted(by_corner.items(), key=lambda kv: (-float(kv[1]) if rule == "largest" else float(kv[1])))
    winner, figure = order[0]
    rest = f"; next {order[1][0]}" if len(order) > 1 else ""
    return picked(id, float(figure), figure.kind, title=title, symbol=symbol or figure.symbol,
                  rule=f"{rule} over the cases",
                  candidates=[{"key": c, "value": float(v), "won": c == winner} for c, v in by_corner.items()],
                  inputs={**by_corner}, why=f"{winner} governs{rest}", note=note)


def checked(id: str, provided: Figure, sense: str, limit: Figure, *, title: str, do: str, caution: str = "",
            source: str = "definition", decided_by: Sequence[Figure | Choice] = (),
            sized_by: Sequence[Any] = ()) -> Line:
    """Judge a figure against a limit of the same family.

    Parameters
    ----------
    sense : {"<=", ">="}
    do : str
        What to do when it fails.
    decided_by : sequence of figures
        Inputs on which the verdict hangs beside ``provided`` itself, such as a removal or an allowance; where one is
        a default that nobody chose, the verdict says so.
    sized_by : sequence of figures
        Sizes that set ``provided``. Where this kit selected one of them, a small margin is its own choice of the
        smallest size that meets the limit, and passes; where a person wrote it, it is marginal.

    Returns
    -------
    Line
        ``more`` holds ratio, margin (fraction of the limit left, negative when it fails) and verdict,
        one of ``passes``, ``marginal`` (below 5 %), ``fails``.
    """
    book = current()
    if isinstance(book, Values) and (isinstance(provided, np.ndarray) or isinstance(limit, np.ndarray)):
        room = (limit - provided) if sense == "<=" else (provided - limit)
        kind = getattr(limit, "kind", None) or getattr(provided, "kind", None)
        zero = ICE if kind is not None and kind.family == "temperature" else 0.0
        span = np.abs(np.asarray(limit, dtype=float) - zero)
        span = np.where(span > 0, span, np.where(np.asarray(provided) != zero, np.abs(provided - zero), 1.0))
        made = book._at(id)
        book.judged[made] = Judged(np.asarray(provided), sense, limit, np.asarray(room / span))
        return Line(id=made, sort="checked", title=title, source=source)
    if provided.kind.family != limit.kind.family:
        raise TrailError(f"a {provided.kind.family} is judged against a {limit.kind.family}", where=id)
    v, m = float(provided), float(limit)
    room = (m - v) if sense == "<=" else (v - m)
    zero = ICE if provided.kind.family == "temperature" else 0.0  # a share of kelvin would call every margin marginal
    span = abs(m - zero) or abs(v - zero) or 1.0
    margin = room / span
    verdict = "fails" if margin < 0 else "marginal" if margin < MARGINAL else "passes"
    chosen = _selected(sized_by) if verdict == "marginal" else []
    if chosen:
        verdict = "passes"
    line = Line(id=id, sort="checked", title=title, kind=provided.kind, value=v,
                inputs={"provided": provided, "limit": limit}, source=source,
                more={"sense": sense, "limit": m, "ratio": v / m if m else None, "margin": margin,
                      "verdict": verdict, "do": do, "caution": caution} | ({"zero": zero} if zero else {})
                | ({"selected": chosen} if chosen else {}) | _on_assumed((provided, *decided_by)))
    book.add(line)
    return line


def note(id: str, *, title: str, verdict: str, why: str, do: str, inputs: Mapping[str, Any],
         caution: str = "", decided_by: Sequence[Figure | Choice] = ()) -> Line:
    """A finding that is not a ratio: ``passes``, ``review`` or ``fails``, with its reason and remedy."""
    if verdict not in ("passes", "review", "fails"):
        raise TrailError(f"no verdict {verdict}", where=id)
    line = Line(id=id, sort="checked", title=title, value=None, inputs=dict(inputs), source="definition",
                more={"verdict": verdict, "why": why, "do": do, "caution": caution, "margin": None}
                | _on_assumed(decided_by))
    current().add(line)
    return line


def refs(line: Line) -> dict[str, Any]:
    """Inputs of a line as the record stores them."""
    return {name: ref(x) for name, x in line.inputs.items()}
