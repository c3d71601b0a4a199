"""What each price moves: the room of cost run again alone, against the plant sized anew."""

from __future__ import annotations

import pytest

from desalbook.plant import size
from desalbook.problems import DesignError
from desalbook.study import cost_tornado
from desalbook.study.prices import costs_again, money_keys
from tests import shared

pytestmark = pytest.mark.full


def test_costs_again_are_those_of_the_plant_sized_anew():
    sized = shared.sized()
    for key, text in (("energy.tariff", "0.2"), ("cost.discount_rate", "5 %"), ("cost.staff", "4"),
                      ("cost.location_factor", "1.3")):
        design = sized.design.with_value(key, text)
        anew = size(design, recording=False).cost
        again = costs_again(sized, design)
        assert float(again.water) == float(anew.water) and float(again.capital) == float(anew.capital)
        assert float(anew.water) != float(sized.cost.water)


def test_the_widest_bar_stands_first_and_its_ends_are_those_of_the_range():
    rows = cost_tornado(shared.plant())
    assert list(rows["swing"]) == sorted(rows["swing"], reverse=True) and rows["key"][0] == "energy.tariff"
    row = rows.set_index("key").loc["energy.tariff"]
    sized = shared.sized()
    high = size(sized.design.with_value("energy.tariff", row["high"]), recording=False).cost
    assert row["at_high"] == float(high.water) and row["base"] == float(sized.cost.water)
    assert (rows["swing"] > 0).all() and len(rows) >= 15
    assert not {"cost.sea_works", "cost.discharge_fee", "cost.exchange_rate"} & set(rows["key"])
    with pytest.raises(DesignError, match=r"duty\.trains.*no price"):
        cost_tornado(shared.plant(), ["duty.trains"])


def test_a_value_beyond_its_usual_range_is_an_end_of_its_bar():
    design = shared.sized().design.with_value("cost.discount_rate", "20 %")
    rows = cost_tornado(shared.sized(design), ["cost.discount_rate"])
    assert rows["high"][0] == "20 %" and rows["at_high"][0] == rows["base"][0]


def test_what_stands_at_zero_is_no_key_of_it():
    design = shared.sized().design
    assert "cost.discharge_fee" not in money_keys(design)
    assert "cost.discharge_fee" in money_keys(design.with_value("cost.discharge_fee", "0.02 1/m3"))
