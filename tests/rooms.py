"""Inputs for tests of rooms: sections read as a design file would be, with a line for each value."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from desalbook.trail import assumed, given
from desalbook.trail.inputs import Inputs
from desalbook.units import Section, metas, validate

__all__ = ["figures", "inputs"]


def figures(values: Mapping[str, tuple]) -> dict[str, Any]:
    """Given lines from id -> (value, kind) in the current ledger, by id; kind None makes a choice."""
    return {id: given(id, value, kind, title=id) for id, (value, kind) in values.items()}


def inputs(sections: Mapping[str, tuple[type[Section], Mapping[str, Any]]]) -> Inputs:
    """The ``inp`` of a room, from section name -> (class, keys as written)."""
    found: dict[str, Any] = {}
    for name, (cls, written) in sections.items():
        _enter(found, name, validate(cls, written, name), set(written))
    return Inputs(lambda id: found[id], lambda id: dict.fromkeys(
        key[len(id) + 1:].partition("]")[0] for key in found if key.startswith(f"{id}[")))


def _enter(found: dict[str, Any], name: str, section: Section, written: set[str]) -> None:
    for key, m in metas(type(section)).items():
        id, value = f"{name}.{key}", getattr(section, key)
        if m.form == "sections":
            for one in value:
                _enter(found, f"{id}[{one[m.key]}]", one, set(metas(type(one))))
        elif m.form == "mapping":
            for end, part, x in m.parts(value):
                found[id + end] = given(id + end, list(x.values()), part.kind, title=part.title, symbol=part.symbol,
                                        axis="ion", keys=tuple(x)) if x else None
        elif value is None or value == "":
            found[id] = None
        elif key in written:
            found[id] = given(id, value, m.kind, title=m.title, symbol=m.symbol)
        else:
            found[id] = assumed(
                id, value, m.kind, title=m.title, symbol=m.symbol, source=m.source or "design-file"
            )
