"""A relation and a line as plain data: what the record holds and every reader works from."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from desalbook.problems import TrailError
from desalbook.trail.figure import ref
from desalbook.trail.glossary import symbol_of, term
from desalbook.trail.ledger import Line
from desalbook.trail.relation import Relation
from desalbook.units.kinds import Kind

__all__ = ["clean", "relation_hash", "stored_kind", "stored_line", "stored_relation", "value_at"]


def stored_kind(kind: Kind) -> dict[str, Any]:
    """A kind as plain data."""
    return {part.name: getattr(kind, part.name) for part in dataclasses.fields(kind)}  # texts and whole numbers


def stored_relation(relation: Relation | Mapping[str, Any]) -> dict[str, Any]:
    """A relation as plain data; plain data pass through."""
    if not isinstance(relation, Relation):
        return dict(relation)
    args = []
    for a in relation.args:
        known = term(a.name)
        args.append(
            {
                "name": a.name,
                "kind": a.kind.name,
                "family": a.kind.family,
                "unit": a.kind.si,
                "symbol": symbol_of(a.name),
                "title": known.title if known else a.name.replace("_", " "),
            }
        )
    return {
        "key": relation.key,
        "title": relation.title,
        "symbol": relation.symbol,
        "kind": relation.kind.name,
        "unit": relation.kind.si,
        "tree": relation.tree,
        "args": args,
        "constants": {
            n: {
                "symbol": c.symbol,
                "value": float(c.value),
                "unit": c.unit,
                "source": c.source,
                "title": c.title,
            }
            for n, c in relation.constants.items()
        },
        "tables": {
            n: {
                "name": t.name,
                "title": t.title,
                "x": list(t.x),
                "y": list(t.y),
                "x_unit": t.x_unit,
                "y_unit": t.y_unit,
                "source": t.source,
                "place": t.place,
            }
            for n, t in relation.tables.items()
        },
        "hash": relation.hash,
        "source": relation.source,
        "place": relation.place,
        "note": relation.note,
        "doc": relation.doc,
        "within": {n: list(pair) for n, pair in relation.within.items()},
        "limits": {n: list(pair) for n, pair in relation.limits.items()},
    }


def relation_hash(stored: Mapping[str, Any]) -> str:
    """The hash a stored relation must carry, from its stored parts alone (see `Relation.hash`)."""
    stuff = [
        stored["tree"],
        [[a["name"], a["family"], a["unit"]] for a in stored["args"]],
        stored["unit"],
        stored["source"],
        stored["place"],
        [[n, c["value"], c["unit"]] for n, c in sorted(stored["constants"].items())],
        [[n, t["x"], t["y"]] for n, t in sorted(stored["tables"].items())],
    ]
    return hashlib.sha256(json.dumps(stuff).encode()).hexdigest()[:16]


def clean(x: Any, where: str) -> Any:
    """Plain JSON data of numbers, texts, lists and mappings; refuses NaN and infinities.

    Raises
    ------
    TrailError
        A number is not finite, or the thing is not data.
    """
    exact = type(x)
    if exact is float and math.isfinite(x):  # most of a record; the rest goes the long way
        return x + 0.0
    if exact is str or x is None:
        return x
    if isinstance(x, (bool, np.bool_)):
        return bool(x)
    if isinstance(x, (int, np.integer)):
        return int(x)
    if isinstance(x, (float, np.floating)):
        if not math.isfinite(x):
            raise TrailError("not a finite number", where=where)
        return float(x) + 0.0  # a minus zero would depend on the route of the arithmetic
    if isinstance(x, str):
        return str(x)
    if isinstance(x, Mapping):
        return {str(k): clean(v, where) for k, v in x.items()}
    if hasattr(x, "values") and hasattr(x, "keys"):  # a Column
        return [clean(float(v), where) for v in x.values]
    if isinstance(x, np.ndarray):
        x = x.tolist()
    if isinstance(x, (list, tuple)):
        return [clean(v, where) for v in x]
    raise TrailError(f"a {type(x).__name__} cannot be stored", where=where)


def stored_line(line: Line | Mapping[str, Any]) -> dict[str, Any]:
    """A line as plain data; plain data pass through."""
    if not isinstance(line, Line):
        return dict(line)
    value = line.value
    if value is not None and not isinstance(value, str):
        value = (
            clean(np.asarray(value, dtype=float), line.id)
            if line.keys is not None
            else clean(float(value), line.id)
        )
    relation = line.relation
    return {
        "id": line.id,
        "sort": line.sort,
        "title": line.title,
        "symbol": line.symbol,
        "kind": line.kind.name if line.kind else None,
        "unit": line.kind.si if line.kind else None,
        "value": value if value is None or not isinstance(value, str) else str(value),
        "axis": line.axis,
        "keys": list(line.keys) if line.keys is not None else None,
        "inputs": {name: ref(x) for name, x in line.inputs.items()},
        "relation": getattr(relation, "key", relation),
        "source": line.source,
        "place": line.place,
        "note": line.note,
        "cautions": [str(c) for c in line.cautions],
        "more": clean(line.more, line.id),
        "scope": line.scope,
        "corner": line.corner,
        "count": line.count,
        "because": [ref(b) for b in line.because],
    }


def value_at(lines: Mapping[str, Mapping[str, Any]], where: str | Sequence[str]) -> tuple[Mapping[str, Any], Any]:
    """The stored line an input names, and its value: a number, a list of numbers, or a text."""
    id, key = (where, None) if isinstance(where, str) else where
    line = lines[id]
    return line, line["value"] if key is None else line["value"][line["keys"].index(key)]
