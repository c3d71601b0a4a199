"""Designs and plants travel by their text and their hardware, and come out the same."""

from __future__ import annotations

import copy
import pickle

import numpy as np
import pytest

import desalbook as db
from desalbook import api
from desalbook.plant.hardware import chosen_hardware
from desalbook.problems import DesignError
from tests import shared


def test_a_design_travels_by_its_text(tmp_path):
    edited = shared.demo().with_value("filters.count", "9")
    again = pickle.loads(pickle.dumps(edited))
    assert (again.text, again.path, again.hash, again.ancestors) == (edited.text, edited.path, edited.hash,
                                                                     edited.ancestors)
    assert again.sections["filters"] == edited.sections["filters"] and again.get("filters.count") == 9
    db.write(edited, tmp_path / "a.toml")
    db.write(again, tmp_path / "a.toml")  # no conflict: it knows what it was edited from
    assert copy.copy(edited) is edited and copy.deepcopy({"a": edited})["a"] == edited
    broken = pickle.dumps(edited).replace(b"filters", b"filtres")
    with pytest.raises(DesignError):
        pickle.loads(broken)


@pytest.mark.parametrize("name", ["harbour-town.toml", "beach-well.toml"])
def test_a_plant_comes_out_with_the_same_bits(name):
    plant = db.size(shared.demo(name))
    data = pickle.dumps(plant)
    assert len(data) < 100_000
    again = pickle.loads(data)
    ids = set(again.ids)
    assert ids == set(plant.ids)
    for id in ids:
        if id not in plant.verdicts:
            assert np.array_equal(np.asarray(again[id]), np.asarray(plant[id])), id
    assert {k: v.more["verdict"] for k, v in again.verdicts.items()} == {
        k: v.more["verdict"] for k, v in plant.verdicts.items()}
    for made in (copy.copy(plant), copy.deepcopy(plant)):
        assert isinstance(made, api.Plant) and made.sized is plant.sized


def test_where_the_kit_would_choose_otherwise_the_hardware_stays():
    """As when another version of the tables sizes it: the count that was chosen then is kept."""
    plant = shared.plant()
    hardware = chosen_hardware(plant.sized)
    count = int(plant["membrane.vessels"])
    other = api._sized_again(plant.design, hardware | {"membrane.vessels": str(count + 2)})
    assert int(other["membrane.vessels"]) == count + 2 and other.design.stands("membrane.vessels")
    assert not api._sized_again(plant.design, hardware).design.stands("membrane.vessels")
