"""The handbook entry of a relation: what `help` prints, composed when it is asked for.

A relation's author writes what it is and where it fails; the equation, its symbols with titles and units, the range,
the source and an example are known already and are set below that.
"""

from __future__ import annotations

import inspect
import json
import textwrap
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources
from typing import Any, Protocol

from desalbook.sources import source
from desalbook.trail import symbols as sym
from desalbook.trail.expression import names
from desalbook.trail.glossary import symbol_of, term
from desalbook.trail.written import equation_text
from desalbook.units import show, unit_label
from desalbook.units.kinds import Kind

__all__ = ["Called", "Documented", "Entry", "alike", "check_points", "entry", "point_text", "symbol_rows", "valid_for"]

_WIDTH = 96
_SUPERSCRIPTS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


class Named(Protocol):
    """An argument, as far as an entry speaks of it."""

    @property
    def name(self) -> str: ...

    @property
    def kind(self) -> Kind: ...


class Documented(Protocol):
    """A relation, as far as an entry speaks of it."""

    key: str
    title: str
    symbol: str
    kind: Kind
    tree: list
    constants: dict[str, Any]
    tables: dict[str, Any]
    source: str
    place: str
    note: str
    doc: str
    within: dict[str, tuple[str | None, str | None]]

    @property
    def args(self) -> Sequence[Named]: ...


class Called:
    """How a relation is called, for help and editors: its arguments and result with the units people see."""

    def __get__(self, one: Documented | None, owner: type) -> inspect.Signature:
        if one is None:
            raise AttributeError  # the class has the signature of its constructor
        args = [inspect.Parameter(a.name, inspect.Parameter.POSITIONAL_OR_KEYWORD, annotation=a.kind.show_si or "1")
                for a in one.args]
        return inspect.Signature(args, return_annotation=one.kind.show_si or "1")


class Entry:
    """``__doc__`` of a class whose instances are relations: the class keeps its own text, each relation has its entry.

    Parameters
    ----------
    text : str or None
        Docstring of the class.
    """

    def __init__(self, text: str | None):
        self.text = text

    def __get__(self, relation: Documented | None, owner: type | None = None) -> str | None:
        return self.text if relation is None else entry(relation)


def entry(relation: Documented) -> str:
    """All that is known of a relation, as one page of plain text.

    Parameters
    ----------
    relation : Relation

    Returns
    -------
    str
        What it is and where it fails, then equation, symbols, range, source and example.
    """
    marks = _marks(relation)
    left = sym.text(relation.symbol)
    rows = symbol_rows(relation)
    parts = [relation.doc.strip(), _headed("Equation", [f"{left} = {equation_text(relation.tree, marks.__getitem__)}"])]
    wide = max(len(row[0]) for row in rows)
    parts.append(_headed("Symbols", [f"{mark:<{wide}}  {title}{f' [{unit}]' if unit else ''}"
                                     for mark, title, unit in rows]))
    parts.append(_headed("Valid for", valid_for(relation)))
    parts.append(_headed("Source", _sources(relation)))
    parts.append(_headed("Example", _example(relation)))
    return "\n\n".join(part for part in parts if part)


def symbol_rows(relation: Documented) -> list[tuple[str, str, str]]:
    """Symbol, title and coherent unit of the result, the arguments, the constants and the tables of a relation."""
    marks = _marks(relation)
    rows = [(sym.text(relation.symbol), relation.title, _unit(relation.kind.si))]
    rows += [(marks[a.name], _title(a.name), _unit(a.kind.si)) for a in relation.args]
    rows += [(marks[n], f"{c.title or n}, {c.value:g}", _unit(c.unit)) for n, c in relation.constants.items()]
    rows += [(marks[n], f"{t.title} ({len(t.x)} points)", _unit(t.y_unit)) for n, t in relation.tables.items()]
    return rows


def _headed(head: str, lines: list[str]) -> str:
    """A section with its lines, folded; nothing when there are none."""
    if not lines:
        return ""
    folded = [textwrap.fill(line, _WIDTH, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False)
              for line in lines]
    return "\n".join([head, "-" * len(head), *folded])


def alike(relation: Documented) -> dict[str, str]:
    """Arguments whose symbol another quantity of the same relation has as well, each with its name in words."""
    marks = _marks(relation)
    return {a.name: marks[a.name] for a in relation.args if marks[a.name] == a.name.replace("_", " ")}


def _marks(relation: Documented) -> dict[str, str]:
    """Symbol of every argument, constant and table; the name itself where two would look alike."""
    found = {name: sym.text(symbol_of(name)) for name in names(relation.tree, "arg")}
    found |= {name: sym.text(one.symbol) for name, one in relation.constants.items()}
    every = [*found.values(), sym.text(relation.symbol)]
    told = {name: name.replace("_", " ") if every.count(mark) > 1 else mark for name, mark in found.items()}
    return told | {name: name.lower() for name in relation.tables}


def _title(name: str) -> str:
    found = term(name)
    return found.title if found else name.replace("_", " ").capitalize()


def _unit(unit: str) -> str:
    """A coherent unit with superscripts; empty for a bare number."""
    head, *powers = unit.split("^")
    out = head
    for part in powers:
        digits = len(part) - len(part.lstrip("-0123456789"))
        out += part[:digits].translate(_SUPERSCRIPTS) + part[digits:]
    return "" if unit == "1" else out


def valid_for(relation: Documented) -> list[str]:
    """The ranges a relation holds in, and its note, a line each."""
    lines = []
    for name, (low, high) in relation.within.items():
        what = relation.title if name == "result" else _title(name)
        if low is not None and high is not None:
            lines.append(f"{what} from {low} to {high}")
        else:
            lines.append(f"{what} at least {low}" if low is not None else f"{what} at most {high}")
    return [*lines, relation.note] if relation.note else lines


def _sources(relation: Documented) -> list[str]:
    place = f" {relation.place}." if relation.place else ""
    lines = [source(relation.source).citation + place]
    own = {c.source: c.title or n for n, c in relation.constants.items() if c.source != relation.source}
    own |= {t.source: t.title for t in relation.tables.values() if t.source != relation.source}
    return lines + [f"{what}: {source(key).citation}" for key, what in own.items()]


@cache
def _points() -> dict[str, list[Mapping[str, Any]]]:
    text = resources.files("desalbook.data").joinpath("examples.json").read_text(encoding="utf-8")
    found: dict[str, list[Mapping[str, Any]]] = {}
    for row in json.loads(text):
        found.setdefault(row["id"], []).append(row)
    return found


def check_points(relation: Documented) -> list[Mapping[str, Any]]:
    """What proves a relation, the best first: inputs and result in SI, source, place, and of which kind it is.

    Parameters
    ----------
    relation : Relation
    """
    names = {a.name for a in relation.args}
    return [p for p in _points().get(relation.key, ()) if p["inputs"].keys() == names]


def point_text(relation: Documented, point: Mapping[str, Any]) -> list[str]:
    """A check point in the units people read: what goes in, what comes out, and who says so."""
    given = "; ".join(f"{_title(a.name)} {_shown(point['inputs'][a.name], a.kind)}" for a in relation.args)
    result = f"{relation.title} {_shown(point['result'], relation.kind)}"
    place = f", {point['place']}" if point["place"] else ""
    return [given, result, f"({point['status']}: {source(point['source']).citation.rstrip('.')}{place})"]


def _example(relation: Documented) -> list[str]:
    """The check point that proves the relation best."""
    found = check_points(relation)
    return point_text(relation, found[0]) if found else []


def _shown(value: float | list[float], kind: Kind) -> str:
    if isinstance(value, list):
        return f"({', '.join(show(x, kind, unit=False) for x in value)}) {unit_label(kind, pretty=True)}".strip()
    return show(value, kind, pretty=True)
