"""The duty: a worked plant, and what is held for rating."""

from __future__ import annotations

import pytest

from desalbook import duty
from desalbook.trail import Ledger, given
from tests.rooms import inputs

DAY = 86400.0


def plant(contactor="none", **keys):
    with (book := Ledger()).recording():
        inp = inputs({"duty": (duty.Duty, {"train_product_flow": "2500 m3/d", "trains": "2"} | keys)})
        choice = given("product.remineralisation", contactor, None, title="Remineralisation")
        found = duty.flows(inp, optional={"contactor": (choice, contactor != "none")})
        recovery = given("membrane.recovery", 0.42, "fraction", title="Recovery")
        train = duty.train_flows(found.train_permeate, recovery, found.trains)
        raw = given("streams.raw", 12000 / DAY, "flow", title="Raw water")
        overall = duty.plant_recovery(found.net_product, raw)
    return book, found, train, overall


def test_a_plant_by_hand():
    """5000 m3/d net, 0.8 % own use without a contactor, 95 %: 5040/0.95 = 5305.3 m3/d while running."""
    book, d, train, overall = plant()
    assert float(d.own_use) * DAY == pytest.approx(40.0)
    assert float(d.permeate_gross) * DAY == pytest.approx(5040 / 0.95)
    assert float(d.train_permeate) * DAY == pytest.approx(2520 / 0.95)
    assert float(train.feed) * DAY == pytest.approx(2520 / 0.95 / 0.42)
    assert float(train.feed) == pytest.approx(float(train.permeate) + float(train.reject), rel=1e-14)
    assert float(overall) == pytest.approx(5000 / 12000)
    assert book.lines["duty.feed_flow"].count == 2 and book.lines["duty.feed_flow"].scope == "train"


def test_a_contactor_takes_wash_water():
    assert float(plant("calcite")[1].own_use) * DAY == pytest.approx(40.0 + 25.0)


def test_own_use_is_zero_only_where_the_file_says_so():
    zero = {f"own_use_{n}": "0 m3/d" for n in ("flush", "cleaning", "makedown", "contactor", "startup")}
    book, d, *_ = plant(**zero)
    assert float(d.own_use) == 0.0 and book.lines["duty.own_use_flush"].sort == "given"
    assert book.lines["duty.own_use_flush"].value == 0.0
    assert plant()[0].lines["duty.own_use_flush"].sort == "computed"


@pytest.mark.parametrize(("held", "verdict"), [("120 m3/h", "passes"), ("100 m3/h", "fails")])
def test_held_permeate_turns_the_rule_into_a_check(held, verdict):
    """Needed are 110.5 m3/h a train."""
    book, d, *_ = plant(train_permeate=held)
    assert book.lines["duty.permeate_gross.check"].more["verdict"] == verdict
    assert float(d.net_product) * DAY == pytest.approx(float(held[:3]) * 24 * 2 * 0.95 - 40.0)
    assert float(d.product_flow) * DAY == pytest.approx(5000.0)
