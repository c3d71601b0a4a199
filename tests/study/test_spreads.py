"""Spreads of inputs that the design file states: read by the studies as if they were handed over."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook.design import from_text
from desalbook.problems import DesignError
from desalbook.study import Spread, cost_tornado, spreads_of, uncertainty
from tests import shared

pytestmark = pytest.mark.full

STATED = """
[[spreads]]
input = "temperature"
low = "15 degC"
high = "29 degC"
with_input = "salt_factor"
correlation = 0.4
basis = "invented"

[[spreads]]
input = "salt_factor"
distribution = "normal"
mean = "1"
deviation = "0.1"

[[spreads]]
input = "energy.tariff"
low = "0.08"
high = "0.16"
"""
LIMITS = {"permeate_boron": "<= 0.8 mg/L as B"}


@pytest.fixture(scope="module")
def plant():
    return db.size(from_text(shared.demo().text + STATED))


def test_a_study_takes_what_the_file_states(plant):
    spreads = {"temperature": Spread("15 degC", "29 degC"),
               "salt_factor": Spread(distribution="normal", mean="1", deviation="0.1")}
    said = uncertainty(plant, None, LIMITS, count=64)
    handed = uncertainty(plant, spreads, LIMITS, count=64, correlation={("temperature", "salt_factor"): 0.4})
    assert said.frame.equals(handed.frame) and said.inputs == ("temperature", "salt_factor")
    assert said.missed == handed.missed and not said.shares  # correlated, so no indices
    assert float(plant["cost.water"]) == float(shared.plant()["cost.water"])  # the plant is sized without


def test_a_price_of_the_list_is_a_bar_of_the_tornado(plant):
    row = cost_tornado(plant, ["energy.tariff"]).iloc[0]
    assert (row["low"], row["high"]) == ("0.08", "0.16")
    assert row["at_high"] - row["at_low"] == pytest.approx(
        0.08 / float(plant["energy.tariff"]) * float(plant.sized.cost.water_by_part["energy"]), rel=1e-9)


def test_what_cannot_be_drawn_from_is_refused_by_name():
    def of(text):
        return spreads_of(from_text(shared.demo().text + text))

    with pytest.raises(DesignError, match=r"spreads\[temprature\].input.*neither"):
        of('[[spreads]]\ninput = "temprature"\nlow = "15 degC"\nhigh = "29 degC"')
    with pytest.raises(DesignError, match=r"spreads\[age\].with_input"):
        of('[[spreads]]\ninput = "age"\nlow = "1 year"\nhigh = "5 years"\nwith_input = "salinity"')
    with pytest.raises(DesignError, match=r"twice|two|same"):
        of('[[spreads]]\ninput = "age"\n[[spreads]]\ninput = "age"')
    with pytest.raises(DesignError, match="states no spread"):
        uncertainty(shared.plant(), None, LIMITS)
