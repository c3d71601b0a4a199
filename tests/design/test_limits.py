"""Any limit of the guidelines can be stated in the design: one key each, which the check then judges by."""

from __future__ import annotations

import pytest

from desalbook.guidelines import changed_limits, guideline, guideline_keys, limit_key
from desalbook.plant import size
from desalbook.plant.vessel_table import guideline_table
from desalbook.problems import DesignError
from desalbook.trail import Ledger, given
from desalbook.trail.limits import limit, limit_source
from desalbook.units import show
from tests.every import every
from tests.shared import demo, sized


def test_every_row_of_the_guidelines_is_a_key():
    every({key: key for key in guideline_keys()}, is_key)


def is_key(key: str) -> None:
    row = guideline(key)
    design = demo().with_value(limit_key(key), show(row.value, row.kind, digits=12))
    assert design.get(limit_key(key)) == pytest.approx(row.value, rel=1e-9)
    assert demo().get(limit_key(key)) is None


def test_a_limit_has_one_home():
    with Ledger().recording() as book:
        given("limits.rating_used", 0.8, "fraction", title="Own")
        assert limit("rating-used").id == "limits.rating_used" and float(limit("rating-used")) == 0.8
        assert limit_source("rating-used") == "design-file"
        table = limit("element-recovery", id="limits.element_recovery_here")
        assert limit_source("element-recovery") == guideline("element-recovery").source
    assert float(table) == guideline("element-recovery").value
    assert book.lines[table.id].sort == "assumed" and book.lines[table.id].more["row"] == "element-recovery"


@pytest.mark.parametrize(("key", "text", "check"), [
    ("rating-used", "50 %", "membrane.rating_used.check"),
    ("average-flux-open-intake", "10 L/(m2 h)", "membrane.flux.check"),
    ("element-recovery", "5 %", "membrane.element_recovery.check"),
    ("sdi15", "0.5", "fouling.sdi.check"),
])
def test_a_stated_limit_is_judged_by(key, text, check):
    design = demo().with_values({limit_key(key): text, "membrane.vessels": "32"})
    line = size(design).ledger.lines[check]
    assert line.inputs["limit"].id == limit_key(key) and line.more["verdict"] == "fails"
    without = sized().ledger
    assert without.lines[without.lines[check].inputs["limit"].id].sort == "assumed"


def test_limits_that_differ_are_listed():
    design = demo().with_values({"limits.rating_used": "90 %", "limits.element_recovery": show(
        guideline("element-recovery").value, "fraction", digits=12)})
    (changed,) = changed_limits(design.sections["limits"])
    assert (changed.key, changed.value, changed.table) == ("limits.rating_used", 0.9, 0.95)
    assert changed_limits(demo().sections["limits"]) == []


def test_the_table_of_limits_takes_the_stated_one():
    plant = size(demo().with_value("limits.average_flux_open_intake", "14.5 L/(m2 h)"))
    rows = guideline_table(plant)
    assert rows[rows["limit"] == "flux"]["allowed"].iloc[0] == pytest.approx(14.5e-3 / 3600)


def test_a_limit_of_another_kind_is_refused():
    with pytest.raises(DesignError, match="rating_used"):
        demo().with_value("limits.rating_used", "5 bar")
    with pytest.raises(DesignError, match="limits"):
        demo().with_value("limits.no_such_limit", "5 bar")
