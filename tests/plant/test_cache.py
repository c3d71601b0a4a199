"""Kept answers: by content, bounded, and never another than the computed one."""

from __future__ import annotations

import numpy as np
import pytest

import desalbook as db
from desalbook import paths
from desalbook.plant.cache import cached, content
from desalbook.plant.solve_array import solve_cached


def test_content_is_by_value():
    a = np.array([1.0, 2.0])
    assert content(a, {"x": 1.0, "y": "s"}) == content(a.copy(), {"y": "s", "x": 1.0})
    others = [(a[::-1].copy(), {}), (np.array([[1.0, 2.0]]), {}), (a, {"x": 1.0 + 2e-16 * 2}), (a, {"x": None})]
    assert len({content(a, {}), *(content(*o) for o in others)}) == 5
    with pytest.raises(TypeError, match="object"):
        content(object())


def test_the_oldest_goes_first():
    asked = []

    @cached(2)
    def square(x):
        asked.append(x)
        return x * x

    assert [square(x) for x in (1, 2, 1, 3, 2, 1)] == [1, 4, 1, 9, 4, 1]
    assert asked == [1, 2, 3, 2, 1] and len(square.store) == 2
    assert cached(1)(lambda x: str(type(x).__name__))(object()) == "object"


def test_a_plant_is_the_same_cold_and_cached():
    design = db.read(paths.demo("harbour-town.toml"))
    solve_cached.store.clear()
    cold = db.size(design).record
    assert len(solve_cached.store) > 0
    other = db.size(design.with_value("membrane.recovery", "38 %")).record  # something else in between
    again = db.size(design).record
    assert again == cold and other != cold
