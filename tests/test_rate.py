"""`rate`: many conditions in one call, the same equations as the sized corners."""

from __future__ import annotations

import numpy as np
import pytest

import desalbook as db
from desalbook import paths
from desalbook.problems import DesignError

YEAR = 31557600.0


@pytest.fixture(scope="module")
def plant():
    return db.size(db.read(paths.demo("harbour-town.toml")))


def test_the_corners_come_out_as_sized(plant):
    cold, hot = (float(plant[f"water.temperature_{k}"]) for k in ("cold", "hot"))
    cases = db.rate(plant, temperature=[cold, cold, hot, hot], age=[0, 3 * YEAR, 0, 3 * YEAR])
    for row, corner in enumerate(("cold-new", "cold-aged", "hot-new", "hot-aged")):
        for name in ("feed_pressure", "permeate_boron", "permeate_tds", "beta_max"):
            assert cases[name][row] == pytest.approx(float(plant[f"membrane.{name}@{corner}"]), rel=1e-8)


def test_conditions_broadcast_and_move_the_right_way(plant):
    cases = db.rate(plant, temperature=np.linspace(288, 303, 4), salinity=np.array([[0.034], [0.040]]))
    assert len(cases) == 8 and list(cases["id"])[:2] == ["rate[0]", "rate[1]"]
    thin, strong = cases[:4], cases[4:]
    assert (strong["feed_pressure"].to_numpy() > thin["feed_pressure"].to_numpy()).all()
    assert (np.diff(thin["feed_pressure"]) < 0).all() and (np.diff(thin["permeate_boron"]) > 0).all()


def test_a_case_beyond_reach_has_a_reason(plant):
    cases = db.rate(plant, salinity=[float(plant["water.salinity"]), 0.25])
    assert cases["reason"][0] == "" and np.isfinite(cases["feed_pressure"][0])
    assert cases["reason"][1] and np.isnan(cases["feed_pressure"][1])


def test_past_the_end_of_the_curves_says_so(plant):
    cases = db.rate(plant, salinity=[0.070, 0.080])
    assert list(cases["reason"]) == ["", "the water at the membrane would pass 130 g/kg"]
    assert list(np.isnan(cases["feed_pressure"])) == [False, True]


def test_an_unknown_control_is_refused(plant):
    with pytest.raises(DesignError, match="product-flow"):
        db.rate(plant, control="by hand")


def test_held_hardware_gives_the_same_plant(plant):
    again = db.size(db.hold(plant))
    for id in ("membrane.feed_pressure", "hp_pump.shaft_power", "filters.rate", "energy.plant_specific",
               "storage.volume"):
        assert float(again[id]) == pytest.approx(float(plant[id]), rel=1e-6), id
    assert not set(again.checks.query("verdict == 'fails'")["id"])
