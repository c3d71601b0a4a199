"""From a design to the first lines of a trail: given what the file says, assumed what it leaves open."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from desalbook.design.file import Design
from desalbook.design.sections import LISTS, field_meta, own_limit
from desalbook.hydraulics.inputs import BETWEEN_RUNS
from desalbook.problems import DesignError, TrailError
from desalbook.trail import Choice, Column, Figure, Values, assumed, current, given, moving, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.ledger import apart
from desalbook.units import FieldMeta, Section, metas
from desalbook.units.fieldmeta import EachMeta

__all__ = ["asked", "hold", "lines", "moves"]

STEP = 1.01
"""Factor of a number when a calculation is asked whether it depends on it."""


class _Value(NamedTuple):
    """One field of the design as it stands."""

    id: str
    meta: FieldMeta
    value: Any
    raw: Any
    stands: bool
    absent_by: str = ""
    """Id of the choice that leaves its step out of this plant; empty where it is there."""
    limit_by: str = ""
    """Id of the written limit that holds where this key is blank; empty where there is none."""


def asked(design: Design, own: Mapping[str, Section] | None = None, written: Mapping[str, Any] | None = None,
          lacking: Mapping[str, str] | None = None) -> Inputs:
    """As `lines`, each value entered when it is first asked for: a calculation of a part records its own inputs only.

    Parameters
    ----------
    own : mapping of str to Section, optional
        Further sections, by the id they stand at, ``piping.runs[a]`` for one more entry of a list; their keys go
        before those of the design.
    written : mapping, optional
        What a person wrote, as TOML gives it; what the design says if omitted.
    lacking : mapping of id to str, optional
        Keys that stand in the design only because it must have them, and what to do where one is asked for.
    """
    written = design.written if written is None else written
    rows = {v.id: v for v in _values(design, own, written)}
    book, made, no = current(), {}, lacking or {}

    def enter(id: str) -> Figure | Column | Choice | None:
        if id not in made:
            v = rows[id]
            if id in no:
                raise DesignError("must be given", where=id, do=no[id])
            if v.absent_by and enter(v.absent_by) == "no":
                made[id] = None
            else:
                with apart(book):
                    made[id] = _line(v)
        return made[id]

    def inp(id: str) -> Figure | Column | Choice | None:
        if id in rows:
            return enter(id)
        base, _, key = id.rpartition("[")
        if key.endswith("]") and base in rows and isinstance(row := enter(base), Column):
            return dict(row.items()).get(key[:-1])
        return _blank(id)

    for id, v in rows.items():
        if v.stands and id.startswith("limits."):  # rooms look for a limit of the design's own in the book
            enter(id)
    named = [re.fullmatch(r"(.+)\[([^\]]+)\]", name) for name in own or ()]
    more = [(m[1], m[2]) for m in named if m is not None]
    return Inputs(inp, lambda id: (*_names(design, id), *(name for of, name in more if of == id)))


def _blank(id: str) -> None:
    """None for a key inside an optional section that is not there; a defect for what is no key at all."""
    try:
        known = field_meta(id)
    except KeyError:
        known = None
    if isinstance(known, EachMeta) and id.endswith("]"):
        return  # a name that is not given
    if known is None or "[" in id or known.form in ("section", "sections"):
        raise TrailError("the design has no such key", where=id)


def _walk(at: str, section: Section, written: Any, found: list[_Value], own: Mapping[str, tuple[str, ...]],
          name: str = "") -> None:
    written = written if isinstance(written, Mapping) else {}
    absent = getattr(section, "blank_without_present", False) and section["present"] == "no"
    for key, m in metas(type(section)).items():
        if key == name:
            continue  # the name of an entry is part of its id, not a line of its own
        id, value, raw = f"{at}.{key}", section[key], written.get(key)
        if m.form == "section":
            if value is not None:
                _walk(id, value, raw, found, own)
        elif m.form == "sections":
            rows = {one.get(m.key): one for one in raw} if raw else {}
            for one in value or ():
                _walk(f"{id}[{one[m.key]}]", one, rows.get(one[m.key]), found, own, m.key)
        else:
            m = m.with_own(own[m.own]) if m.own and own[m.own] else m
            stands = key in written
            # what a step that is not there would do is no figure of this plant
            by = f"{at}.present" if absent and key not in ("present", "reason") else ""
            found += [_Value(id + end, part, x, raw[end[1:-1]] if end.startswith("[") and stands else raw, stands, by)
                      for end, part, x in m.parts(value)]


def _values(design: Design, further: Mapping[str, Section] | None = None,
            written: Mapping[str, Any] | None = None) -> list[_Value]:
    """Every value of a design, then those of further sections; `written` is what a person said of them."""
    found: list[_Value] = []
    own = {name: design.names(name) for name in design.lists}
    said = design.written if written is None else written
    for name, section in (*design.sections.items(), *(further or {}).items()):
        _walk(name, section, said.get(name), found, own)
    for name, rows in design.lists.items():
        key = LISTS[name].key
        for one, raw in zip(rows, design.written.get(name, ()), strict=True):
            _walk(f"{name}[{one[key]}]", one, raw, found, own, key)
    limits = said.get("limits", {})
    if not limits:
        return found
    return [v._replace(limit_by=by) if not v.stands and (by := own_limit(v.meta, limits)) else v for v in found]


def lines(design: Design) -> Inputs:
    """Record a line for every value of the design in the current ledger.

    Returns
    -------
    Inputs
        ``inp(id)`` gives the Figure, Column or Choice of a key; None where an optional key is not written
        or a text is empty; TrailError where there is no such key.
    """
    found: dict[str, Figure | Column | Choice | None] = _entered(_values(design))
    note = current().reads.add

    def inp(id: str) -> Figure | Column | Choice | None:
        note(id)
        if id in found:
            return found[id]
        base, bracket, key = id.rpartition("[")
        if bracket and key.endswith("]") and isinstance(row := found.get(base), Column):
            return dict(row.items()).get(key[:-1])
        return _blank(id)

    return Inputs(inp, lambda id: _names(design, id))


class _Latest(NamedTuple):
    """The latest value made of a key."""

    of: _Value
    made: Figure | Column | Choice
    cautions: list[Any]


_latest: dict[str, _Latest] = {}  # an entry a key: of one change after another nearly all values stay as they were


def _entered(rows: list[_Value]) -> dict[str, Figure | Column | Choice | None]:
    """Every value by id; without a record, one that is as it was last time is entered as it is."""
    book = current()
    by_limit = {v.id: v.limit_by for v in rows if v.limit_by and not v.absent_by}
    away = [v for v in rows if v.absent_by]
    rows = [v for v in rows if not v.absent_by and not v.limit_by]
    if not isinstance(book, Values) or moving():
        made = {v.id: _line(v) for v in rows}
        for v in away:  # a calculation may be asked what the plant would be with the step
            by = made[v.absent_by]
            assert isinstance(by, Choice)
            with scope(because=[by]):
                made[v.id] = None if by == "no" else _line(v)
        return made | {id: made[by] for id, by in by_limit.items()}
    found: dict[str, Figure | Column | Choice | None] = {}
    for v in rows:
        was = _latest.get(v.id)
        if was is not None and was.of == v:
            made = book.take(was.made, v.meta.scope, v.stands, was.cautions)
        else:
            made = _line(v)
            if made is not None:
                _latest[v.id] = _Latest(v, made, book.cautions.get(v.id, []))
        found[v.id] = made
    return found | {v.id: None for v in away} | {id: found[by] for id, by in by_limit.items()}


def _names(design: Design, id: str) -> tuple[str, ...]:
    """Names of the entries of a list, in their order; none where the section or the list is blank."""
    if id not in LISTS and field_meta(id).form != "sections":
        raise TrailError("no list of the design", where=id)
    return design.names(id)


def _line(v: _Value) -> Figure | Column | Choice | None:
    m = v.meta
    if v.value is None or v.value == "" or (m.form == "mapping" and not len(v.value)):
        return None
    more: dict[str, Any] = {"title": m.title, "symbol": m.symbol}
    value: Any = v.value
    if m.form == "quantity":
        more["text"] = str(v.raw) if v.stands else m.assumed_text(value)
        more["cautions"] = [said] if (said := m.unusual(value)) else []
    elif m.form == "mapping":
        axis = getattr(m, "axis", "") or v.id.rpartition(".")[2].removesuffix("s")
        more |= {"axis": axis, "keys": tuple(value), "cautions": _unusual(v), "text": getattr(value, "said", "")}
        value = list(value.values())
    elif m.form == "choice":
        more |= {"options": tuple(m.options), "text": str(m.options.get(value, value))}
    elif m.form == "flag":
        value = "yes" if value else "no"
        more["options"] = ("yes", "no")
    kind = m.kind if m.form in ("quantity", "mapping") else None
    with scope(m.scope):
        if v.stands:
            return given(v.id, value, kind, **more)
        of, row = m.row
        return assumed(v.id, value, kind, source=m.source or "definition", place=m.place, table=of, row=row, **more)


def _unusual(v: _Value) -> list[str]:
    said = (v.meta.entry(k, v.value).unusual(x) for k, x in v.value.items())
    return [caution for caution in said if caution]


def moves(design: Design) -> list[tuple[str, float | str]]:
    """Every input that can be moved, and how, for ``trail.what_if``.

    Returns
    -------
    list of (id, factor or option)
        Numbers and entries of a row (``water.ions[Na]``) by a factor; a choice to the option next to it. A
        zero does not move by a factor, nor a choice that has one option; they are omitted.
    """
    found: list[tuple[str, float | str]] = []
    for v in _values(design):
        if v.value is None or v.absent_by or v.limit_by:
            continue
        if v.meta.form == "quantity":
            found += [(v.id, STEP)] if v.value != 0 else []
        elif v.meta.form == "mapping":
            found += [(f"{v.id}[{k}]", STEP) for k, x in dict(v.value).items() if x != 0]
        elif v.meta.form == "choice" and len(v.meta.options) > 1:
            options = [*v.meta.options]
            found.append((v.id, options[(options.index(v.value) + 1) % len(options)]))
        elif v.meta.form == "flag":
            found.append((v.id, "no" if v.value else "yes"))
    return found


def _named(id: str) -> bool:
    """Whether an id is a name in a table of named quantities, each a line of its own."""
    try:
        return id.endswith("]") and isinstance(field_meta(id), EachMeta)
    except KeyError:
        return False


_RUN = re.compile(r"piping\.runs\[([^\]]+)\]\.(diameter|nominal)")


def hold(design: Design, picks: Mapping[str, str]) -> Design:
    """Write picks into the design, so that they are given and their rules become checks.

    Parameters
    ----------
    picks : mapping of id to text
        Ids that are no keys of a design file, and entries of lists that are not there, are passed over.
    """
    known = {v.id for v in _values(design)}
    values = {id: text for id, text in picks.items() if id in known or _named(id)}
    held = design.with_values(values) if values else design
    runs: dict[str, dict[str, str]] = {}  # a run between stages has no entry of its own until it is held
    for id, text in picks.items():
        run = _RUN.fullmatch(id)
        if run is not None and id not in known and run[1] in BETWEEN_RUNS:
            runs.setdefault(run[1], dict(BETWEEN_RUNS[run[1]]))[run[2]] = text
    return held.with_entries("piping.runs", runs) if runs else held
