"""Every relation with quantities in mixed units and with plain SI: equal to 1e-9.

A check of dimensions alone would pass a forgotten 1000; comparing the two numbers does not.
"""

from __future__ import annotations

import random
import zlib

import numpy as np
import pytest

from desalbook.units.registry import si_factor
from tests.every import every
from tests.register import by_room, draw, modules, relations
from tests.trail import samples
from tests.trail.quantities import UNITS, PintError, in_unit, on_quantities

DRAWS = 5
LIMIT = 1e-9


def compare(relation, seed: int) -> float:
    """Largest relative difference between mixed units and plain SI at one random input."""
    values = draw(relation, seed)
    rng = random.Random(zlib.crc32(f"units {relation.key} {seed}".encode()))
    mixed = {
        a.name: in_unit(values[a.name], a.kind.si, rng.choice((a.kind.si, *UNITS.get(a.kind.si, ()))))
        for a in relation.args
    }
    plain = np.asarray(relation.plain(**values), dtype=float)
    with_units = on_quantities(relation, mixed)
    assert with_units.shape == plain.shape
    return float(np.max(np.abs(with_units - plain) / np.maximum(np.abs(plain), 1e-300)))


def test_modules_import():
    """A module that does not import hides its relations from the tests below."""
    every(list(modules()), imports)


def imports(name: str) -> None:
    error = modules()[name]
    assert error is None, f"{name}: {type(error).__name__}: {error}"


def test_the_register_is_not_empty():
    assert relations()


@pytest.mark.parametrize("room", by_room())
def test_relations_in_mixed_units(room):
    every(by_room()[room], agrees_in_mixed_units)


def agrees_in_mixed_units(key: str) -> None:
    for seed in range(DRAWS):
        assert compare(relations()[key], seed) <= LIMIT


@pytest.mark.parametrize("room", by_room())
def test_constants_are_coherent(room):
    every(by_room()[room], is_coherent)


def is_coherent(key: str) -> None:
    """A constant's value is in coherent SI: its unit has the factor one."""
    for name, c in relations()[key].constants.items():
        assert c.unit == "1" or si_factor(c.unit) == pytest.approx(1.0, rel=1e-12), name
    for name, t in relations()[key].tables.items():
        assert all(
            u in ("1", "") or si_factor(u) == pytest.approx(1.0, rel=1e-12) for u in (t.x_unit, t.y_unit)
        ), name


@pytest.mark.parametrize("relation", samples.RIGHT, ids=lambda r: r.key.partition(":")[2])
def test_right_samples_pass(relation):
    for seed in range(DRAWS):
        assert compare(relation, seed) <= LIMIT


@pytest.mark.parametrize("relation", samples.WRONG, ids=lambda r: r.key.partition(":")[2])
def test_wrong_samples_are_caught(relation):
    """A lost 1/3600, one square root too many, a height added to a pressure, a fit with units in it."""
    try:
        difference = compare(relation, 0)
    except PintError:
        return
    assert difference > 1e-3
