"""The reviewer's desk: open, search, follow, compare, mark, without a browser."""

from __future__ import annotations

import shutil

import pytest

from desalbook import api, paths
from desalbook.notebook.audit_board import AuditDesk
from desalbook.notebook.session import Session


@pytest.fixture(scope="module")
def plant():
    return api.size(paths.demo("harbour-town.toml"))


@pytest.fixture
def desk(plant, tmp_path, monkeypatch) -> AuditDesk:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "mine.toml"
    shutil.copyfile(paths.demo("harbour-town.toml"), path)
    return AuditDesk(Session(plant.design, lambda _: plant, path))


def test_found_lines_lead_on(desk):
    assert repr(desk).startswith("AuditDesk(")  # a notebook asks for it
    assert "agrees with itself" in desk.head.html and "no checks fail" in desk.head.html
    desk.words.value = "filtration rate backwashing"
    assert "&quot;why&quot;: &quot;filters.rate_one_backwashing&quot;" in desk.found.html
    desk.found.ask({"why": "filters.rate"})
    assert desk.figure.value == "filters.rate" and "<svg" in desk.told.html and "<math" in desk.told.html
    desk.figure.value = "filters.nothing"
    assert "No figure is called filters.nothing" in desk.told.html and not desk.session.errors


def test_a_mark_needs_a_file_and_initials(desk, plant):
    desk.figure.value = "filters.rate"
    desk.verdict.value = "question"
    desk.mark.click()
    # the refusal stands where the button is, not at the top a screen away
    assert 'role="alert"' in desk.line.html and "alert" not in desk.head.html and "filters.rate" not in desk.stands.html
    assert not desk.session.stale  # a mark refused is no change of the plant
    desk.by.value, desk.note.value = "AB", "with one <backwashing>?"
    desk.mark.click()
    assert "question by AB" in desk.line.html and "alert" not in desk.line.html and desk.verdict.value == "accept"
    assert "with one &lt;backwashing&gt;?" in desk.stands.html and not desk.session.errors
    demo = AuditDesk(Session(plant.design, lambda _: plant, paths.demo("harbour-town.toml")))
    assert "cannot be marked" in demo.asked.html  # before somebody writes a note for nothing
    demo.figure.value = "filters.rate"
    demo.mark.click()
    assert "cannot be marked" in demo.line.html
    desk.files.export("record")
    assert "written to" in desk.head.html and "written to" not in desk.line.html


@pytest.mark.full
def test_the_plan_leads_through_a_review(desk, plant):
    """Twenty lines judged, three of them questioned, one answered, signed by two people, from the desk alone."""
    assert desk.plan.html.index("What does not pass") < desk.plan.html.index("Unconfirmed defaults")
    assert "no review was signed before" in desk.plan.html and "0 of" in desk.plan.html
    desk.by.value, asked = "AB", []
    desk.next.click()
    for n in range(20):
        assert desk.figure.value not in asked and "<svg" in desk.told.html
        if n in (2, 5, 9):
            asked.append(desk.figure.value)
        desk.verdict.value, desk.note.value = ("question", f"why, {n}?") if n in (2, 5, 9) else ("accept", "")
        here = desk.figure.value
        (desk.onward if n < 19 else desk.mark).click()
        assert f"{here}: " in desk.line.html and "alert" not in desk.line.html, desk.line.html
    assert "20 of" in desk.plan.html and desk.asked.html.count("why, ") == 3
    desk.figure.value = asked[0]
    assert desk.reply.layout.display is None
    desk.by.value, desk.reply.value = "DE", "see the sheet"
    desk.answer.click()
    assert "Answer, DE: see the sheet" in desk.asked.html and "Answer, DE" in desk.line.html
    desk.name.value = "Ada Brandt"
    desk.sign.click()
    assert "still open: 3 questions" in desk.signed.html and "alert" not in desk.head.html
    desk.remark.value = "closed by phone"
    desk.sign.click()
    assert "Ada Brandt" in desk.signed.html and "second reviewer has not signed" in desk.signed.html
    desk.name.value, desk.role.value, desk.remark.value = "Cem Dogan", "second", "agreed"
    desk.sign.click()
    assert "Cem Dogan" in desk.signed.html and "has not signed" not in desk.signed.html
    assert not desk.session.errors
    desk.session.apply("water.temperature_cold", "10 degC")
    assert "the design changed since" in desk.signed.html or desk.session.plant is plant


def test_compared_with_another_file(desk, tmp_path):
    other = api.read(desk.session.path).with_value("duty.trains", "3").with_value("storage.count", "3")
    api.write(other, tmp_path / "three.toml")
    desk.files.look()
    desk.refresh()
    assert dict(desk.other.options)["three.toml"] and "mine.toml" not in dict(desk.other.options)
    desk.other.value = dict(desk.other.options)["three.toml"]
    desk.compare.click()
    assert "Inputs changed: 2" in desk.moved.html and "Duty trains" in desk.moved.html


def test_nothing_here_writes_the_design(desk):
    words = [b.description for row in desk.files.children for b in row.children]
    assert "Open" in words and "Export audit page" in words and "Save" not in words and "Save as" not in words
