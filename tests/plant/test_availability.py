"""What flux, feed and outage data do to a plant: cleanings, life of elements, water delivered."""

from __future__ import annotations

import pytest

from desalbook.plant import size
from tests import shared

YEAR = 31557600.0
pytestmark = pytest.mark.full


def test_cleanings_go_with_flux_and_sdi_to_the_life_of_elements():
    base = shared.sized()
    book = base.ledger
    flux = float(book["membrane.flux"]) * 3.6e6
    assert float(base.cleanings) == pytest.approx(4 * (flux / 14) ** 2, rel=1e-9)  # SDI15 is the reference
    assert float(book["cost.element_life"]) / YEAR == pytest.approx(1 / (0.1 + float(base.cleanings) / 160), rel=1e-9)
    dirty = size(shared.demo().with_values({"water.sdi": "4.5", "fouling.expected_sdi": "4.5"}), recording=False)
    ratio = float(dirty.fouling_index) / 3
    assert ratio > 1 and float(dirty.cleanings) / float(base.cleanings) == pytest.approx(
        ratio * (float(dirty.ledger["membrane.flux"]) / float(book["membrane.flux"])) ** 2, rel=1e-9)
    elements, chemicals = (float(dirty.cost.yearly[k]) / float(base.cost.yearly[k]) for k in ("elements", "chemicals"))
    assert elements > 1 and chemicals > 1


def test_cleanings_that_are_stated_hold_and_are_compared():
    for count, verdict in (("2", "review"), ("6", "passes")):
        sized = size(shared.demo().with_value("energy.cleanings", count), recording=False)
        assert float(sized.cleanings) == float(count)
        assert sized.ledger.lines["cip.cleanings.check"].more["verdict"] == verdict
    assert "cip.cleanings.check" not in shared.sized().ledger.lines


def test_outage_data_against_the_availability_of_the_duty():
    sized = shared.sized()
    one, p = float(sized.ledger["duty.train_availability"]), sized.ledger["duty.state_probability"]
    assert p.values == pytest.approx([(1 - one) ** 2, 2 * one * (1 - one), one**2], rel=1e-12)
    assert float(sized.available.mean) == pytest.approx(0.99 * 0.98 * one, rel=1e-12)
    made = float(sized.duty.permeate_gross) * float(sized.available.mean) - float(sized.duty.own_use)
    assert float(sized.available.delivered) == pytest.approx(made, rel=1e-12)
    assert sized.ledger.lines["duty.availability.check"].more["verdict"] == "passes"
    bad = size(shared.demo().with_value("duty.repair_time", "500 h"), recording=False)
    line = bad.ledger.lines["duty.availability.check"].more
    assert line["verdict"] == "review" and "95" in line["why"]
    spare = size(shared.demo().with_values({"duty.repair_time": "500 h", "duty.trains_standby": "1"}), recording=False)
    assert spare.ledger.lines["duty.availability.check"].more["verdict"] == "passes"
