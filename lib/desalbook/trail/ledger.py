"""The ledger: every line of one calculation, in the order it was made.

Seven sorts of line: given, assumed, computed, engine, solved, picked, checked. `computed` lines are made
by relations; the others by the functions here. A line knows its scope, the number of like items (count),
its corner and the ids of its inputs. A duplicate id is refused.
"""

from __future__ import annotations

import contextlib
import contextvars
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np

from desalbook.problems import TrailError
from desalbook.trail.figure import Choice, Column, Figure, figure_of, ref
from desalbook.trail.giving_up import GivenUp, told_by
from desalbook.units.kinds import KINDS, Kind

__all__ = ["SORTS", "Ledger", "Line", "assumed", "checked", "current", "engine", "given", "govern", "note",
           "picked", "residual", "scope", "solved", "what_if"]

SORTS = ("given", "assumed", "computed", "engine", "solved", "picked", "checked")
SCOPES = ("plant", "train", "unit", "vessel", "element")
_ID = re.compile(r"[a-z][a-z0-9_]*(\[[A-Za-z0-9_+.-]+\])?(\.[a-z][a-z0-9_]*(\[[A-Za-z0-9_+.-]+\])?)*\Z")
THIN = 0.05  # a margin below this is called thin (common practice)
ICE = 273.15  # K; margins of temperature are shares of degrees Celsius

_ledger: contextvars.ContextVar[Ledger | None] = contextvars.ContextVar("ledger", default=None)
_moved: contextvars.ContextVar[Mapping[str, Any] | None] = contextvars.ContextVar("moved", default=None)


class Scope(NamedTuple):
    """What a line speaks of."""

    name: str = "plant"
    corner: str | None = None
    count: int | None = None
    because: tuple[Choice | Figure, ...] = ()
    instead: tuple[str, str] | None = None


_scope: contextvars.ContextVar[Scope | None] = contextvars.ContextVar("scope", default=None)
_PLANT, _tuple = Scope(), tuple.__new__
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
        self._held: tuple[Any, ...] = ()  # what decided the line before, found among the lines
        self._told = told_by()

    @contextlib.contextmanager
    def recording(self) -> Iterator[Ledger]:
        """Make this the ledger that relations write to."""
        token = _ledger.set(self)
        try:
            with np.errstate(all="ignore"):  # the untaken branch of a `where` may divide by nothing
                yield self
        finally:
            _ledger.reset(token)

    def add(self, line: Line) -> Any:
        """Enter a line under the present scope and return its Figure, Column or Choice."""
        if self._told is not None and self._told.is_set():
            raise GivenUp
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


def current() -> Ledger:
    """The ledger being written; TrailError when none is."""
    ledger = _ledger.get()
    if ledger is None:
        raise TrailError("no calculation is being recorded", do="use .plain for bare numbers")
    return ledger


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
        What decided that these lines exist at all; they become inputs of every line made inside.
    instead : (str, str)
        Lines made inside whose id begins with the first part begin with the second: a room that writes
        ``membrane.flux`` writes ``second_pass.flux`` when it is called again for the second pass.
    """

    __slots__ = ("_said", "_token")

    def __init__(self, name: str | None = None, *, corner: str | None = None, count: float | None = None,
                 because: Iterable[Choice | Figure] = (), instead: tuple[str, str] | None = None):
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
    more: dict[str, Any] = {}
    if text:
        more["text"] = text
    if options:
        more["options"] = list(options)
    if table:
        more["table"] = table
    if row:
        more["row"] = row
    return current().add(Line(id, sort, title, symbol, _kind(kind), _bare(value, keys), axis,
                              None if keys is None else tuple(keys), {}, None, source, place, note, list(cautions),
                              more))


def _bare(value: Any, keys: Sequence[str] | None) -> Any:
    """The value as a line holds it: a text, a float, or a row of numbers of its own that nobody changes."""
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
    more = {"library": library, "version": version, "data": data, "checksum": checksum}
    return current().add(Line(id, "engine", title, symbol, _kind(kind), _bare(value, keys), axis,
                              None if keys is None else tuple(keys), dict(inputs), None, source, "", note,
                              list(cautions), more))


def solved(id: str, value: Any, kind: Kind | str, *, title: str, symbol: str = "", inputs: Mapping[str, Any],
           method: str, axis: str | None = None, keys: Sequence[str] | None = None, note: str = "",
           cautions: Sequence[str] = ()) -> Any:
    """A line for the root of an equation; `residual` must follow and prove it."""
    return current().add(Line(id, "solved", title, symbol, _kind(kind), _bare(value, keys), axis,
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
    line = current().lines[figure.id]
    worst = float(np.maximum.reduce(np.abs(of.values))) if isinstance(of, Column) else abs(float(of))
    ratio = worst / abs(scale) if scale else worst
    if not ratio <= tolerance:
        raise TrailError(f"residual {of.id} is {ratio:.3g} of its scale; allowed {tolerance:.0e}", where=figure.id)
    line.more["residual"].append({"id": of.id, "relative": ratio, "scale": abs(float(scale)), "tolerance": tolerance})


def picked(id: str, value: Any, kind: Kind | str | None, *, title: str, symbol: str = "",
           rule: str, candidates: Sequence[Mapping[str, Any]], inputs: Mapping[str, Any], why: str = "",
           table: str = "", source: str = "definition", note: str = "", cautions: Sequence[str] = (),
           axis: str | None = None, keys: Sequence[str] | None = None) -> Any:
    """A line for a choice the kit made: rule, all candidates with the value judged, winner, why not less."""
    more = {"rule": rule, "candidates": [dict(c) for c in candidates], "why": why}
    if table:
        more["table"] = table
    return current().add(Line(id, "picked", title, symbol, _kind(kind), _bare(value, keys), axis,
                              None if keys is None else tuple(keys), dict(inputs), None, source, "", note,
                              list(cautions), more))


def govern(id: str, by_corner: Mapping[str, Figure], rule: str, *, title: str, symbol: str = "",
           note: str = "") -> Figure:
    """The governing corner of one figure, picked by ``largest`` or ``smallest``, with its runner-up."""
    order = sorted(by_corner.items(), key=lambda kv: (-float(kv[1]) if rule == "largest" else float(kv[1])))
    winner, figure = order[0]
    rest = f"; next {order[1][0]}" if len(order) > 1 else ""
    return picked(id, float(figure), figure.kind, title=title, symbol=symbol or figure.symbol,
                  rule=f"{rule} over the corners",
                  candidates=[{"key": c, "value": float(v), "won": c == winner} for c, v in by_corner.items()],
                  inputs=dict(by_corner), why=f"{winner} governs{rest}", note=note)


def checked(id: str, provided: Figure, sense: str, limit: Figure, *, title: str, do: str, caution: str = "",
            source: str = "definition") -> Line:
    """Judge a figure against a limit of the same family.

    Parameters
    ----------
    sense : {"<=", ">="}
    do : str
        What to do when it fails.

    Returns
    -------
    Line
        ``more`` holds ratio, margin (fraction of the limit left, negative when it fails) and verdict,
        one of ``holds``, ``thin`` (below 5 %), ``fails``.
    """
    if provided.kind.family != limit.kind.family:
        raise TrailError(f"a {provided.kind.family} is judged against a {limit.kind.family}", where=id)
    v, m = float(provided), float(limit)
    room = (m - v) if sense == "<=" else (v - m)
    zero = ICE if provided.kind.family == "temperature" else 0.0  # a share of kelvin would call every margin thin
    span = abs(m - zero) or abs(v - zero) or 1.0
    margin = room / span
    verdict = "fails" if margin < 0 else "thin" if margin < THIN else "holds"
    line = Line(id=id, sort="checked", title=title, kind=provided.kind, value=v,
                inputs={"provided": provided, "limit": limit}, source=source,
                more={"sense": sense, "limit": m, "ratio": v / m if m else None, "margin": margin,
                      "verdict": verdict, "do": do, "caution": caution} | ({"zero": zero} if zero else {}))
    current().add(line)
    return line


def note(id: str, *, title: str, verdict: str, why: str, do: str, inputs: Mapping[str, Any],
         caution: str = "") -> Line:
    """A finding that is not a ratio: ``holds``, ``caution`` or ``fails``, with its reason and remedy."""
    if verdict not in ("holds", "caution", "fails"):
        raise TrailError(f"no verdict {verdict}", where=id)
    line = Line(id=id, sort="checked", title=title, value=None, inputs=dict(inputs), source="definition",
                more={"verdict": verdict, "why": why, "do": do, "caution": caution, "margin": None})
    current().add(line)
    return line


def refs(line: Line) -> dict[str, Any]:
    """Inputs of a line as the record stores them."""
    return {name: ref(x) for name, x in line.inputs.items()}
