"""Open, save as, export: what is on the disk, and what is said."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from desalbook import api
from desalbook.notebook import keys
from desalbook.notebook.board import Panel
from desalbook.notebook.files import EXPORTS, Files, designs
from desalbook.notebook.session import Session
from tests import fakes
from tests.notebook.test_session import BARE

FLOW = "duty.train_product_flow"


@pytest.fixture
def panel(tmp_path, monkeypatch) -> Panel:
    monkeypatch.chdir(tmp_path)
    return Panel(Session(fakes.design(), fakes.size), step=BARE)


def test_save_as_is_offered_to_the_next_notebook(panel, tmp_path):
    (tmp_path / "settings.toml").write_text("[tool]\nx = 1\n", encoding="utf-8")  # no design
    panel.change(FLOW, "2600 m3/d")
    panel.files.name.value = "mine"
    panel.files.saved_as.click()
    path = tmp_path / "mine.toml"
    assert path.is_file() and f"Saved in {path}" in panel.head.html
    other = Panel(Session(fakes.design(), fakes.size), step=BARE)
    options = dict(other.files.there.options)
    assert options["mine.toml"] == str(path) and "settings.toml" not in options
    assert next(iter(options)) == "mine.toml" and "harbour-town (demo)" in options
    other.files.there.value = str(path)
    assert "2600 m3/d" not in other.session.design.text  # not before Open
    other.files.opening.click()
    assert "2600 m3/d" in other.session.design.text and not other.session.unsaved
    assert f"Opened {path}" in other.head.html and not other.session.can_undo


def test_a_file_made_meanwhile_is_found_when_the_rows_come_into_sight(panel, tmp_path):
    assert not [n for n, _ in panel.files.there.options if n == "late.toml"]
    (tmp_path / "late.toml").write_text(fakes.TEXT, encoding="utf-8")
    panel.turn.ask({"seen": True})
    assert next(n for n, _ in panel.files.there.options) == "late.toml"


def test_open_keeps_unsaved_changes(panel, tmp_path):
    (tmp_path / "other.toml").write_text(fakes.TEXT, encoding="utf-8")
    panel.change(FLOW, "2600 m3/d")
    panel.files.look()
    panel.files.there.value = str(tmp_path / "other.toml")
    panel.files.opening.click()
    assert "2600 m3/d" in panel.session.design.text and "unsaved changes" in panel.head.html
    assert "Save it under a name" in panel.head.html


def test_a_file_that_cannot_be_read_leaves_what_was(panel, tmp_path):
    (tmp_path / "worse.toml").write_text(fakes.TEXT.replace("[duty]", "[dutty]"), encoding="utf-8")
    panel.files.look()
    panel.files.there.value = str(tmp_path / "worse.toml")
    was = panel.session.design.text
    panel.files.opening.click()
    assert panel.session.design.text == was and panel.session.path is None and "dutty" in panel.head.html


def test_nothing_is_exported_that_does_not_agree_with_its_file(panel, tmp_path):
    panel.files.exports["page"].click()
    assert "written to" not in panel.head.html or not panel.session.unsaved
    panel.change(FLOW, "2600 m3/d")
    assert panel.files.export("page") is None and "Save it first" in panel.head.html
    panel.change(FLOW, "25000 m3/d")
    assert panel.files.export("page") is None and "cannot be built" in panel.head.html


def test_the_calculation_is_written_beside_the_design(tmp_path):
    plant = api.size(api.read(_demo()))
    session = Session(plant.design, lambda d: plant)
    assert session.save(api.write, tmp_path / "mine")
    said = []
    files = Files(session, lambda: said.append(session.done))
    for what, (ending, _) in EXPORTS.items():
        path = files.export(what)
        assert path == tmp_path / f"mine{ending}" and path.stat().st_size > 10_000 and str(path) in said[-1]
    text = (tmp_path / "mine-audit.html").read_text(encoding="utf-8")
    assert plant.design.hash[:12] in text and "Harbour town" in text
    assert designs(tmp_path)[0][0] == "mine.toml"


def _demo():
    from desalbook import paths

    return paths.demo("harbour-town.toml")


def test_keys_in_a_sentence_lead_to_their_controls(panel):
    html = keys.linked("write a larger storage.diameter <or> cool it, see filters.rate")
    assert '"turn": "storage.diameter"'.replace('"', "&quot;") in html and "(Storage)" in html
    assert "&lt;or&gt;" in html and "filters.rate" in html and html.count("<button") == 1
    assert keys.named("piping.runs[feed].material or x.y") == ["piping.runs[feed].material"]
    assert keys.part_words("filters.layers[sand]") == "Filters, layer sand"
    sent = []
    panel.turn.send = lambda content, buffers=None: sent.append(content)
    panel.turn.ask({"turn": "filters.count"})
    assert panel.turn.row("filters.count") and sent == [{"show": "filters.count"}]
    panel.turn.ask({"turn": "no_such.key"})
    assert "no_such.key has no field" in panel.head.html and panel.turn.row("filters.count")


def test_a_refusal_stays_in_view_when_another_part_is_chosen(panel):
    panel = Panel(panel.session, step=replace(BARE, decides=()))
    panel.unfold("duty")
    panel.change(FLOW, "25000 m3/d")
    said = panel.turn.row(FLOW)["said"]
    assert said and said not in re.sub("<[^>]*>", "", panel.head.html)
    panel.unfold("duty", False)
    assert "no pump in the table" in panel.head.html
