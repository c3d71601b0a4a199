"""The plan of a review, questions with their answers, and sign-offs that say what changed since."""

from __future__ import annotations

import copy

import pytest

from desalbook.audit import Marks, page, plan, progress
from desalbook.audit.marks import ROLES
from desalbook.audit.plan import PLAN, PLAN_COLUMNS
from desalbook.problems import DesignError
from desalbook.trail.seal import content_hash, seal
from tests import shared


@pytest.fixture(scope="module")
def made() -> dict:
    return shared.recorded()


@pytest.fixture
def marks(tmp_path) -> Marks:
    return Marks(tmp_path / "mine.toml")


def changed(made: dict, value: float) -> dict:
    """The record with the cold water written otherwise and one verdict that changed, under a seal of its own."""
    new = copy.deepcopy({k: v for k, v in made.items() if k in ("relations", "kinds", "sources", "project", "kit")})
    new["lines"] = [dict(x) for x in made["lines"]]
    new["input_hash"] = "another"
    for x in new["lines"]:
        if x["id"] == "water.temperature_cold":
            x["value"] = value
        elif x["id"] == "filters.rate.check":
            x["more"] = {**x["more"], "verdict": "fails"}
    new["seal"] = seal(new)
    return new


def test_it_opens_with_what_does_not_pass(made, marks):
    got = plan(made, marks)
    assert tuple(got) == PLAN_COLUMNS and list(dict.fromkeys(got["group"])) == [
        g for g in PLAN if g in set(got["group"])]
    first = got[got["group"] == "check"]
    bad = {x["id"] for x in made["lines"] if x["sort"] == "checked" and x["more"]["verdict"] != "passes"}
    assert set(first["id"]) == bad and bad
    assert set(got[got["group"] == "assumed"]["id"]) <= {x["id"] for x in made["lines"] if x["sort"] == "assumed"}
    assert "checks rest on it" in got[got["group"] == "assumed"]["what"].iloc[0]
    assert "changed" not in set(got["group"]) and set(got["state"]) == {"unmarked"}
    id = first["id"].iloc[0]
    marks.mark(made, id, "accept", "AB")
    again = plan(made, marks).set_index(["group", "id"])
    assert again.loc[("check", id), "state"] == "accepted"
    rows = progress(made, marks)
    assert rows[-1]["judged"] == 1 and rows[-1]["lines"] == len(made["lines"]) == sum(r["lines"] for r in rows[:-1])
    assert [r["title"] for r in rows].index("Water") < [r["title"] for r in rows].index("Membrane")


def test_a_question_is_open_until_its_asker_accepts(made, marks):
    with pytest.raises(DesignError, match="nobody has questioned"):
        marks.answer(made, "filters.rate", "DE", "yes")
    marks.mark(made, "filters.rate", "question", "AB", "with one filter in backwash?")
    marks.mark(made, "duty.trains", "reject", "CD", "one train cannot stop")
    assert marks.questions(made)["state"].tolist() == ["open", "open"]
    marks.answer(made, "filters.rate", "DE", "12 m/h with all in service; 14.6 m/h with one out")
    got = marks.questions(made).set_index("id")
    assert got["state"].to_dict() == {"duty.trains": "open", "filters.rate": "answered"}
    assert got.loc["filters.rate", "answers"] == (("DE", "12 m/h with all in service; 14.6 m/h with one out"),)
    marks.mark(made, "filters.rate", "accept", "CD")  # another's word closes nothing
    assert marks.questions(made).set_index("id").loc["filters.rate", "state"] == "answered"
    marks.mark(made, "filters.rate", "accept", "AB")
    assert marks.questions(made).set_index("id").loc["filters.rate", "state"] == "closed"
    assert len(marks.all) == 4 and marks.damaged == []
    for by, text in (("", "a"), ("DE", " ")):
        with pytest.raises(DesignError):
            marks.answer(made, "duty.trains", by, text)


def test_signed_with_name_date_and_the_hash_of_the_record(made, marks):
    with pytest.raises(DesignError, match="no line is marked"):
        marks.sign(made, "Ada Brandt")
    marks.mark(made, "filters.rate", "question", "AB", "why?")
    with pytest.raises(DesignError, match="still open: 1 question"):
        marks.sign(made, "Ada Brandt")
    with pytest.raises(DesignError, match="full name"):
        marks.sign(made, "AB", note="later")
    with pytest.raises(DesignError, match="reviewer sign this calculation first"):
        marks.sign(made, "Cem Dogan", "second", "later")
    marks.sign(made, "Ada Brandt", note="answered by phone")
    with pytest.raises(DesignError, match="another person"):
        marks.sign(made, "ada brandt", "second", "again")
    marks.sign(made, "Cem Dogan", "second", "agreed")
    got = marks.signed(made)
    assert got["role"].tolist() == list(ROLES) and got["holds"].all()
    assert set(got["record"]) == {content_hash(made)} and got["open"].iloc[0] == ("1 question",)
    later = changed(made, 280.0)
    got = marks.signed(later)
    assert not got["holds"].any() and set(got["why"]) == {"the design changed since"}
    with pytest.raises(DesignError, match="reviewer sign this calculation first"):
        marks.sign(later, "Cem Dogan", "second", "agreed")


def test_the_next_review_begins_with_what_changed(made, marks):
    marks.mark(made, "water.temperature_cold", "accept", "AB")
    marks.sign(made, "Ada Brandt", note="first issue")
    assert "changed" not in set(plan(made, marks)["group"])
    rows = plan(changed(made, 280.15), marks)
    got = rows[rows["group"] == "changed"].groupby("id")["what"].apply(list).to_dict()
    assert set(got) == {"water.temperature_cold", "filters.rate.check"}
    assert any("accepted by AB" in w and "moved from 14" in w for w in got["water.temperature_cold"])
    assert any(w.startswith("was 14") and "is 7" in w for w in got["water.temperature_cold"])
    assert got["filters.rate.check"] == ["was passes, fails now"] or got["filters.rate.check"] == [
        "was marginal, fails now"]


def test_answers_and_sign_offs_are_carried_with_the_record(made, marks):
    from desalbook.audit.marks import carried

    marks.mark(made, "filters.rate", "question", "AB", "why?")
    marks.answer(made, "filters.rate", "DE", "five filters share the flow")
    marks.sign(made, "Ada Brandt", note="closed by phone")
    got = carried(made, marks)
    assert [m["state"] for m in got["marks"]] == ["questioned", "answered", "signed"]
    assert content_hash(made)[:16] in got["marks"][-1]["note"] and got["seal"] == seal(got)
    html = page(got, "si", depth="review") if "depth" in page.__code__.co_varnames else page(got, "si")
    assert "five filters share the flow" in html and "Ada Brandt" in html and content_hash(made)[:16] in html
