"""Wrong versions of an equation, one change each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from desalbook.trail.expression import evaluate

__all__ = ["Mutant", "mutants", "noticed", "value"]


@dataclass(frozen=True)
class Mutant:
    """A changed tree or a changed constant."""

    name: str
    tree: list
    constants: Mapping[str, float]


def mutants(relation) -> Iterator[Mutant]:
    """Each literal and constant 1 % up and down, each exponent 0.1 up and down, each sign turned."""
    true = {n: c.value for n, c in relation.constants.items()}
    for name, tree in _changed(relation.tree, ""):
        yield Mutant(name, tree, true)
    for name, v in true.items():
        for factor in (1.01, 0.99):
            yield Mutant(f"constant {name} x {factor}", relation.tree, true | {name: v * factor})


def _changed(t: list, path: str, exponent: bool = False) -> Iterator[tuple[str, list]]:
    op = t[0]
    if op == "num":
        number = float(t[1])
        if exponent:
            for step in (0.1, -0.1):
                yield f"{path}exponent {t[1]} {step:+}", ["num", repr(number + step)]
        elif number:
            for factor in (1.01, 0.99):
                yield f"{path}literal {t[1]} x {factor}", ["num", repr(number * factor)]
        return
    if op in ("add", "sub"):
        yield f"{path}{op} turned", ["sub" if op == "add" else "add", *t[1:]]
    if op == "neg":
        yield f"{path}neg dropped", t[1]
    for i, part in enumerate(t[1:], 1):
        if isinstance(part, list):
            here = f"{path}{t[1] if op == 'call' else op}.{i}/"
            inside_power = (op == "pow" and i == 2) or (exponent and op == "neg")
            for name, new in _changed(part, here, inside_power):
                yield name, [*t[:i], new, *t[i + 1 :]]


def value(relation, tree: list, constants: Mapping[str, float], inputs: Mapping) -> np.ndarray:
    """A tree at the inputs of a point."""
    given = {n: np.asarray(v, dtype=float) for n, v in inputs.items()}
    with np.errstate(all="ignore"):
        return np.asarray(evaluate(tree, given, constants, relation.tables), dtype=float)


def noticed(relation, mutant: Mutant, points) -> bool:
    """True when at least one point does not hold for the mutant."""
    return any(not holds(value(relation, mutant.tree, mutant.constants, p.inputs), p) for p in points)


def holds(got: np.ndarray, point) -> bool:
    """The point's own criterion: relative to the printed number, absolute when that is zero."""
    expect = np.asarray(point.expect, dtype=float)
    if got.shape != expect.shape or not np.all(np.isfinite(got)):
        return False
    return bool(np.all(np.abs(got - expect) <= point.rel * np.where(expect == 0, 1.0, np.abs(expect))))
