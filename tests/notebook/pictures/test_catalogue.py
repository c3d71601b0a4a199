"""The catalogue of pictures refuses what is missing, idle, double or drawn otherwise."""

from __future__ import annotations

from dataclasses import replace

import pytest

from desalbook.notebook.pictures.catalogue import PICTURES, Picture, complete
from desalbook.notebook.steps import STEPS
from desalbook.problems import TrailError


def test_a_picture_that_lacks_an_entry_is_named():
    less = [p for p in PICTURES.values() if p.key != "energy"]
    with pytest.raises(TrailError) as refused:
        complete(less, STEPS.values())
    assert "energy" in str(refused.value) and "not in the catalogue" in str(refused.value)


def test_an_entry_that_no_step_shows_is_named():
    idle = [replace(s, pictures=tuple(k for k in s.pictures if k != "outfall")) for s in STEPS.values()]
    with pytest.raises(TrailError) as refused:
        complete(PICTURES.values(), idle)
    assert "outfall" in str(refused.value) and "no step" in str(refused.value)


def test_a_key_stands_once():
    with pytest.raises(TrailError, match="two pictures"):
        complete([*PICTURES.values(), PICTURES["ions"]], STEPS.values())


def test_a_picture_is_a_function_of_plant_and_units():
    with pytest.raises(TrailError, match="plant, units"):
        Picture("x", "X", lambda design: "")
