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
    assert "role=\"alert\"" in desk.head.html and "filters.rate" not in desk.stands.html
    assert not desk.session.stale  # a mark refused is no change of the plant
    desk.by.value, desk.note.value = "AB", "with one <backwashing>?"
    desk.mark.click()
    assert "question by AB" in desk.head.html and "alert" not in desk.head.html
    assert "with one &lt;backwashing&gt;?" in desk.stands.html and not desk.session.errors
    demo = AuditDesk(Session(plant.design, lambda _: plant, paths.demo("harbour-town.toml")))
    demo.figure.value = "filters.rate"
    demo.mark.click()
    assert "cannot be marked" in demo.head.html


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
