"""A plant over its life: years against single ratings, policies against one another."""

from __future__ import annotations

import numpy as np
import pytest

import desalbook as db
from desalbook.membrane.renewal import renewed
from desalbook.problems import DesignError
from desalbook.study import life
from tests import shared

pytestmark = pytest.mark.full


@pytest.fixture(scope="module")
def at_once():
    return life(shared.plant(), "at-once", every="3 years", years="6 years")


def test_elements_of_one_age_are_rated_as_any_aged_plant(at_once):
    """All of one age: the year is the rating of that age, to rounding."""
    book = shared.sized().ledger
    cases = db.rate(shared.plant(), age=["1 year", "2 years", "3 years"],
                    fouling=float(book["membrane.fouling_factor"]))
    for name in ("feed_pressure", "specific_energy"):
        assert at_once.frame[name][:3].to_numpy() == pytest.approx(cases[name].to_numpy(), rel=1e-9)
        assert at_once.frame[name][3:].to_numpy() == pytest.approx(cases[name].to_numpy(), rel=1e-9)
    hot = db.rate(shared.plant(), temperature=[book["water.temperature_hot"]], age="3 years",
                  fouling=float(book["membrane.fouling_factor"]))
    assert at_once.frame["permeate_boron"][2] == pytest.approx(float(hot["permeate_boron"].iloc[0]), rel=1e-9)
    assert list(at_once.frame["replaced"]) == [0, 0, 1, 0, 0, 0]
    assert float(at_once.frame["elements_cost"][2]) == float(shared.sized().cost.capital_by_item["elements"])


def test_energy_is_that_of_all_trains_while_they_run(at_once):
    book = shared.sized().ledger
    row = at_once.frame.iloc[1]
    power = float(row["specific_energy"]) * float(book["duty.train_permeate"])
    expect = power * float(book["duty.trains"]) * float(book["energy.train_time"])
    assert float(row["energy"]) == pytest.approx(expect, rel=1e-6)
    assert float(row["energy_cost"]) == pytest.approx(expect / 3.6e6 * float(book["energy.tariff"]), rel=1e-6)


def test_a_fraction_each_year_settles_and_the_oldest_first_is_the_better_mix():
    first, other = (life(shared.plant(), policy, fraction="12.5 %") for policy in ("oldest-first", "any"))
    steady = first.frame["feed_pressure"].to_numpy()[10:]
    assert np.ptp(steady) < 1e-9 * steady[0]
    assert (first.frame["permeate_tds"].to_numpy()[8:] < other.frame["permeate_tds"].to_numpy()[8:]).all()
    assert first.frame["mean_age"].iloc[-1] == pytest.approx(4.5) and "oldest first" in first.words()
    assert "psi" in first.words("us") and "kWh/kgal" in first.words("us")


def test_what_cannot_be_is_refused():
    with pytest.raises(DesignError, match=r"newest.*no such replacement policy"):
        life(shared.plant(), "newest")
    with pytest.raises(DesignError, match="whole years"):
        life(shared.plant(), "at-once", every="18 months")
    with pytest.raises(DesignError, match="1 to 20 years"):
        life(shared.plant(), years="30 years")
    with pytest.raises(DesignError, match="0 to 1"):
        renewed("any", 5, 1.5)
