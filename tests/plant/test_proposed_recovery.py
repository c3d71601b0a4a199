"""With the duty and a salinity alone the kit proposes a recovery, says why, and sizes."""

from __future__ import annotations

from pathlib import Path

import pytest

import desalbook as db
from desalbook.design import from_text
from desalbook.problems import Infeasible
from tests import shared

TEXT = 'format = 1\n[duty]\ntrain_product_flow = "1000 m3/d"\n[water]\nsea_salinity = "{} g/kg"\n'


def blank(salinity: str, **keys: str):
    design = from_text(TEXT.format(salinity), Path("blank.toml"))
    return design.with_values({k.replace("__", "."): v for k, v in keys.items()})


@pytest.mark.parametrize(("salinity", "recovery"), [("36", 0.42), ("40", 0.40), ("45", 0.32)])
def test_a_recovery_is_proposed_by_salinity(salinity, recovery):
    """40 to 45 % in the ocean, some 30 to 35 % of 45 g/kg: common practice."""
    plant = db.size(blank(salinity))
    assert float(plant["membrane.recovery"]) == pytest.approx(recovery)
    line = next(x for x in plant.picks if x.id == "membrane.recovery")
    assert line.source == "common-practice" and line.more["rule"] and line.more["candidates"][-1]["won"]
    # what one stage gives, or the concentrate that is aimed at, to the next whole per cent
    fed = float(plant["water.salinity"])
    assert recovery == pytest.approx(min(0.42, int(100 * (1 - fed / 0.07)) / 100))
    fails = [row["id"] for row in plant.judged() if row["verdict"] == "fails"]
    assert not [id for id in fails if id.startswith(("membrane.", "hp_pump."))], fails


def test_a_lower_one_is_proposed_where_no_number_of_vessels_carries_it():
    plant = db.size(blank("36", membrane__elements="3"))
    assert float(plant["membrane.recovery"]) < 0.42
    tried = next(x for x in plant.picks if x.id == "membrane.recovery").more["candidates"]
    assert len(tried) > 1 and [c["won"] for c in tried] == [False] * (len(tried) - 1) + [True]


def test_its_key_and_its_rule_are_the_designs():
    assert float(db.size(blank("36", membrane__recovery_maximum="38 %"))["membrane.recovery"]) == pytest.approx(0.38)
    held = db.hold(db.size(blank("36")))
    assert held.written["membrane"]["recovery"] == "42.00 %"
    with pytest.raises(Infeasible, match="leaves no recovery to propose"):
        db.size(blank("70"))


def test_only_both_fix_one_another():
    with pytest.raises(Infeasible, match="give either recovery or feed pressure, not both"):
        db.size(shared.demo().with_value("membrane.feed_pressure", "60 bar g"))
