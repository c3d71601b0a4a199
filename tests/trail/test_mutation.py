"""A coefficient is proved by its check points: each changed coefficient must be noticed by one of them."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from desalbook.sources import source_keys
from tests.every import every, gathered
from tests.points import STATUS, Point
from tests.register import points, relations
from tests.trail import samples
from tests.trail.mutants import holds, mutants, noticed, value

SHARE = 0.60
"""Minimum share of relations with a check point; it may only be raised."""

EQUIVALENT: dict[tuple[str, str], str] = {}
"""(relation, mutant) that no input can tell from the original, with the proof."""


@cache
def with_points() -> dict[str, list[Point]]:
    found: dict[str, list[Point]] = {}
    for p in points():
        found.setdefault(p.relation, []).append(p)
    return found


@cache
def by_room() -> dict[str, dict[str, list[Point]]]:
    """Relations with their points, by room."""
    rooms = gathered(with_points(), lambda key: key.partition(":")[0].partition(".")[0])
    return {room: {key: with_points()[key] for key in keys} for room, keys in rooms.items()}


def named(room: str) -> dict[str, Point]:
    """Every point of a room under a name of its own."""
    return {f"{key}, point {i} ({p.expect})": p for key, mine in by_room()[room].items() for i, p in enumerate(mine, 1)}


@pytest.mark.parametrize("room", by_room())
def test_points_hold(room):
    every(named(room), holds_as_printed)


def holds_as_printed(point: Point) -> None:
    assert point.relation in relations(), f"{point.relation} is not in the register"
    relation = relations()[point.relation]
    assert set(point.inputs) == {a.name for a in relation.args}
    got = value(relation, relation.tree, {n: c.value for n, c in relation.constants.items()}, point.inputs)
    assert holds(got, point), (
        f"{got} instead of {point.expect} within {point.rel:g} ({point.source}, {point.place})"
    )


@pytest.mark.parametrize("room", by_room())
def test_points_are_proper(room):
    every(named(room), is_proper)


def is_proper(point: Point) -> None:
    assert point.source in source_keys() and point.status in STATUS
    assert 0 < point.rel < 0.2 and np.all(np.isfinite(np.asarray(point.expect, dtype=float)))


@pytest.mark.parametrize("room", by_room())
def test_every_mutant_is_noticed(room):
    every(list(by_room()[room]), mutants_are_noticed)


def mutants_are_noticed(key: str) -> None:
    relation, mine = relations().get(key), with_points()[key]
    assert relation is not None, f"{key} is not in the register"
    alive = [
        m.name
        for m in mutants(relation)
        if not noticed(relation, m, mine) and (key, m.name) not in EQUIVALENT
    ]
    assert not alive, f"no check point notices {'; '.join(alive)}"


def test_equivalent_mutants_exist_and_survive():
    """A reason that is no longer needed goes."""
    for (key, name), reason in EQUIVALENT.items():
        assert len(reason) > 20, key
        mutant = next((m for m in mutants(relations()[key]) if m.name == name), None)
        assert mutant is not None, f"{key}: no mutant {name}"
        assert not noticed(relations()[key], mutant, with_points()[key]), f"{key}: {name} is noticed"


def test_enough_relations_have_points(capsys):
    covered = set(with_points()) & set(relations())
    bare = sorted(set(relations()) - covered)
    with capsys.disabled():
        print(
            f"\n  register: {len(relations())} relations, {len(covered)} with a check point, "
            f"{len(points())} points"
        )
    assert relations() and len(covered) >= SHARE * len(relations()), f"without a point: {', '.join(bare)}"


# the machine itself ------------------------------------------------------------------------------------


def _points(relation, many):
    return [Point(relation.key, i, float(relation.plain(**i)), 1e-4, "definition") for i in many]


def test_one_regime_leaves_mutants_alive_and_all_regimes_leave_none():
    """One laminar point says nothing of the turbulent branches, as it should."""
    laminar = _points(samples.friction, [{"x": 500.0}])
    every = _points(
        samples.friction, [{"x": x} for x in (500.0, 1995.0, 2005.0, 5e4, 99500.0, 100500.0, 1e6)]
    )
    alive = [m for m in mutants(samples.friction) if not noticed(samples.friction, m, laminar)]
    assert len(alive) >= 10
    assert [m.name for m in mutants(samples.friction) if not noticed(samples.friction, m, every)] == []


def test_mutants_of_one_equation():
    names = [m.name for m in mutants(samples.powers)]
    assert len(names) == len(set(names)) and any("neg dropped" in n for n in names)
    assert sum("exponent 0.5" in n for n in names) == 2 and sum("turned" in n for n in names) == 5


def test_a_wrong_point_does_not_hold():
    p = _points(samples.free_velocity, [{"head": 5.0}])[0]
    assert holds(np.asarray(p.expect), p) and not holds(np.asarray(p.expect * 1.001), p)
    assert not holds(np.asarray(math.nan), p)
