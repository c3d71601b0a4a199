"""A verdict that hangs on a value nobody chose says so, recorded and in values alone."""

from __future__ import annotations

import pytest

from desalbook import api, summary
from desalbook.trail import Ledger, assumed, checked, given, values
from desalbook.trail.words import assumption
from tests import shared


def _judged(book, make):
    with book as open_book:
        figure = make("filters.removal", 0.5, "fraction", title="Removal", **(
            {} if make is given else {"source": "common-practice"}))
        limit = assumed("filters.limit", 0.9, "fraction", title="Limit", source="common-practice")
        line = checked("filters.check", figure, "<=", limit, title="Removal", do="look")
    del open_book
    return line


@pytest.mark.parametrize("book", [lambda: Ledger().recording(), values])
def test_an_assumed_value_is_told_and_a_given_one_is_not(book):
    assert _judged(book(), assumed).more["assumed"] == ["Removal"]
    assert "assumed" not in _judged(book(), given).more


@pytest.mark.parametrize(("check", "key", "text"), [
    ("fouling.sdi.check", "fouling.expected_sdi", "3"), ("intake.screen_velocity.check", "intake.screen_velocity",
                                                         "0.1 m/s")])
def test_confirming_the_value_takes_the_words_away(check, key, text):
    plant = api.size(shared.demo())
    row = next(r for r in plant.judged() if r["id"] == check)
    assert row["verdict"] in ("passes", "marginal") and row["assumed"] and "on an assumed value" in summary.said(row)
    assert f"assumed: {plant[key].title}" in row["why"]
    confirmed = api.size(shared.demo().with_value(key, text))
    row = next(r for r in confirmed.judged() if r["id"] == check)
    assert not row["assumed"] and "assumed" not in summary.said(row) + row["why"]


def test_removals_and_walls_of_plastic_pipes_decide_beside_what_is_judged():
    lines = shared.plant().verdicts
    assert lines["filters.filtrate_turbidity.check"].more["assumed"]
    assert any("assumed" in x.more for id, x in lines.items() if id.endswith(".thickness.check"))
    assert assumption({"assumed": ["A", "B"]}) == "; assumed: A, B" and assumption({}) == ""


def test_the_page_says_so():
    from desalbook.audit.page.document import page

    text = page(shared.recorded())
    assert "passes on an assumed value" in text and "Assumed: " in text
