"""An equation is written once: no two relations have one body and arguments of the same kinds.

What differs at each place, the title and the symbol of a line, is said at the call: ``total_flow.at(id, title=...)``.
"""

from __future__ import annotations

import dataclasses
import json

from desalbook.trail import Relation
from desalbook.trail import expression as e
from tests.register import relations

PRESENT = 36  # relations that repeat another; the number may only fall


def shape(r: Relation) -> str:
    """The equation with its arguments numbered in the order they appear, their kinds and that of the result."""
    order = {name: str(n) for n, name in enumerate(e.names(r.tree, "arg"))}
    kinds = {a.name: a.kind.family for a in r.args}
    values = {n: [c.value, c.unit] for n, c in r.constants.items()} | {
        n: [t.x, t.y] for n, t in r.tables.items()}

    def walk(t: list) -> list:
        if t[0] == "arg":
            return ["arg", order[t[1]]]
        if t[0] in ("const", "table"):
            return [t[0], values[t[1]]]
        if t[0] == "num":
            return ["num", float(t[1])]
        return [walk(part) if isinstance(part, list) else part for part in t]

    return json.dumps([walk(r.tree), [kinds[n] for n in order], r.kind.family])


def alike() -> list[list[str]]:
    """Groups of relations of one shape."""
    groups: dict[str, list[str]] = {}
    for key, r in relations().items():
        groups.setdefault(shape(r), []).append(key)
    return [sorted(keys) for keys in groups.values() if len(keys) > 1]


def test_no_equation_is_written_twice():
    found = alike()
    extra = sum(len(keys) - 1 for keys in found)
    assert extra <= PRESENT, f"{extra} relations repeat another:\n" + "\n".join(", ".join(keys) for keys in found)


def test_the_shape_tells_equations_apart():
    by_shape = {shape(r): r for r in relations().values()}
    r = next(iter(by_shape.values()))
    renamed = dataclasses.replace(
        r, tree=json.loads(json.dumps(r.tree).replace(f'"arg", "{r.args[0].name}"', '"arg", "another_name"')),
        args=(dataclasses.replace(r.args[0], name="another_name"), *r.args[1:]))
    assert shape(renamed) == shape(r)
    assert shape(dataclasses.replace(r, tree=["neg", r.tree])) != shape(r)
