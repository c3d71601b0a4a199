"""The cash flow of a plant: what it comes to is the levelised cost, and the worked flows of compound interest."""

from __future__ import annotations

import numpy as np
import pytest

from desalbook.cost import levelised
from desalbook.design import from_text
from desalbook.plant import size
from desalbook.problems import DesignError
from desalbook.study import cash_flow
from tests import shared

YEAR = 31557600.0


def test_a_share_of_elements_each_year_gives_the_levelised_cost_of_the_estimate():
    of = cash_flow(shared.plant())
    assert of.water == pytest.approx(float(shared.sized().cost.water), rel=1e-12)
    assert abs(of.net_present_value) < 1e-9 * float(shared.sized().cost.capital)
    frame = of.frame
    assert list(frame["year"]) == list(range(21)) and frame["net"][0] == -float(shared.sized().cost.capital)
    assert frame["balance"].iloc[-1] == pytest.approx(of.net_present_value, abs=1e-3)
    parts = frame[["capital", "energy", "chemicals", "elements", "cartridges", "labour", "maintenance", "insurance",
                   "discharge"]]
    assert frame["cost"].to_numpy() == pytest.approx(parts.sum(axis=1).to_numpy(), rel=1e-12)
    assert "paid back in year 20" in of.words()


@pytest.mark.parametrize(("life", "rate"), [("18.5 years", "8 %"), ("7.25 years", "0 %"), ("3 years", "0 %")])
def test_the_flow_agrees_with_the_recovery_factor_for_any_life_and_rate(life, rate):
    sized = size(from_text(f'{shared.demo().text}\n[cost]\nplant_life = "{life}"\ndiscount_rate = "{rate}"'),
                 recording=False)
    of = cash_flow(sized)
    assert of.water == pytest.approx(float(sized.cost.water), rel=1e-12)
    assert of.frame["year"].iloc[-1] == pytest.approx(float(life.split()[0]))


def test_elements_changed_at_once_come_in_their_years_and_not_in_the_last():
    of, sized = cash_flow(shared.plant(), replace_every="5 years"), shared.sized()
    price, count = float(sized.cost.unit_prices["elements"]), next(x.number for x in sized.cost.items
                                                                  if x.key == "elements")
    due = of.frame.loc[of.frame["elements"] > 0]
    assert list(due["year"]) == [5, 10, 15] and due["elements"].to_numpy() == pytest.approx(price * count)
    for wrong in ("6 months", "2.5 years"):
        with pytest.raises(DesignError, match="whole years"):
            cash_flow(shared.plant(), replace_every=wrong)


def test_a_stated_price_pays_back_or_does_not():
    dear, cheap = (cash_flow(shared.plant(), price=p) for p in ("2 1/m3", "0.5 1/m3"))
    assert dear.net_present_value > 0 > cheap.net_present_value
    worth = (2 - dear.water) * float(np.sum(dear.frame["volume"] * dear.frame["discount_factor"]))
    assert dear.net_present_value == pytest.approx(worth, rel=1e-12)
    assert "not paid back" in cheap.words() and "USD/m3" in dear.words() and "USD/kgal" in dear.words("us")


def test_worked_flows_of_compound_interest():
    """Printed values: net present value at 8 %, the first flow undiscounted; lumped elements of a worked plant."""
    def worth(rate, flow):
        ends = np.arange(len(flow)) * YEAR
        return float(levelised.present_value.plain(np.array(flow), levelised.discount_factor.plain(rate, ends)))

    assert worth(0.08, [-40_000.0, 5_000, 8_000, 12_000, 30_000]) == pytest.approx(3065.22267, abs=5e-6)
    assert worth(0.05, [-4000.0, 500, 800]) == pytest.approx(-2798.19, abs=5e-3)
    assert worth(0.10, [-5000.0, 600, 900]) == pytest.approx(-3710.74, abs=5e-3)
    # 500 m3/d at 92 %, all 60 elements of 550 changed in years 5, 10 and 15
    cost = np.array([1.45e6] + [173603.1] * 20)
    cost[[5, 10, 15]] += 33_000.0
    volume = np.array([0.0] + [167_900.0] * 20)
    k = levelised.discount_factor.plain(0.08, np.arange(21) * YEAR)
    paid, water = levelised.present_value.plain(cost, k), levelised.present_volume.plain(volume, k)
    assert paid == pytest.approx(3_202_608.43, abs=0.5) and water == pytest.approx(1_648_466.95, abs=0.01)
    assert levelised.levelised_cost.plain(paid, water) == pytest.approx(1.942780, abs=1e-6)
