"""A corner of the envelope is its own text, with its parts."""

from __future__ import annotations

import copy
import pickle

import pytest

from desalbook.plant.array import CORNERS
from desalbook.problems import TrailError
from desalbook.trail import Ledger, given, scope
from desalbook.trail.corner import FILTERS, MEMBRANES, TEMPERATURES, Corner


def test_a_corner_is_its_text():
    corner = Corner("cold", "aged")
    assert str(corner) == "cold-aged" and {"cold-aged": 1}[corner] == 1 and {corner: 1}["cold-aged"] == 1
    assert (corner.temperature, corner.membranes, corner.filters) == ("cold", "aged", None)
    assert Corner("hot", filters="dirty") == "hot-dirty" and Corner("design") == "design"


def test_every_corner_is_read_back_from_its_text():
    every = [Corner(t, m, f) for t in TEMPERATURES for m in (None, *MEMBRANES) for f in (None, *FILTERS)]
    assert len(set(every)) == 27
    for corner in every:
        for same in (Corner.of(str(corner)), pickle.loads(pickle.dumps(corner)), copy.deepcopy(corner)):
            parts = (same.temperature, same.membranes, same.filters)
            assert same == corner and parts == (corner.temperature, corner.membranes, corner.filters)
    assert len(CORNERS) == 6 and all(isinstance(c, Corner) for c in CORNERS)


@pytest.mark.parametrize("text", ["", "warm", "cold-old", "cold-clean-aged", "cold-aged-aged", "aged-cold", "cold-"])
def test_what_is_no_corner_is_refused(text):
    with pytest.raises(TrailError):
        Corner.of(text)


def test_a_corner_ends_the_ids_of_its_scope():
    with Ledger().recording() as ledger, scope(corner=Corner("hot", "new")):
        made = given("membrane.age", 1.0, "factor", title="Age")
    assert made.id == "membrane.age@hot-new" and ledger.lines[made.id].corner == "hot-new"
