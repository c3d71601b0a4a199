"""A panel shows values; a record is made when somebody asks why, and what is shown is the same to the last byte."""

from __future__ import annotations

import pytest

from desalbook import api, paths, summary
from desalbook.drawings.water_line.plant import picture
from desalbook.notebook.board import Panel
from desalbook.notebook.pictures.catalogue import PICTURES
from desalbook.notebook.session import Session
from desalbook.notebook.steps import STEPS
from desalbook.trail import Ledger
from tests import shared

DEMOS = ("harbour-town.toml", "beach-well.toml")


@pytest.fixture
def records(monkeypatch):
    """How often a record was begun; the weights in a record have a book of their own, upon the plant's."""
    begun: list[int] = []
    real = Ledger.recording

    def counted(self: Ledger):
        if not self.lines:
            begun.append(1)
        return real(self)

    monkeypatch.setattr(Ledger, "recording", counted)
    return begun


@pytest.mark.parametrize("name", ["membranes", "dosing"])
def test_a_change_records_nothing_until_why_is_asked(records, name):
    path = paths.demo(DEMOS[0])
    panel = Panel(Session(api.read(path), api.size, path), step=STEPS[name])
    assert not records and "Show why" in panel.why.html and panel.shown in panel.why.html
    panel.change("membrane.recovery", "41 %")
    panel.undo.click()
    panel.redo.click()
    assert not records and not panel.session.errors and "svg" in panel.pictures.html
    panel.head.ask({"why": "membrane.feed_pressure"})
    assert len(records) == 1 and "<math" in panel.why.html
    panel.head.ask({"why": "membrane.flux"})
    assert len(records) == 1  # one record a plant
    panel.change("membrane.recovery", "40 %")
    assert len(records) == 1 and "Show why" in panel.why.html and "<math" not in panel.why.html
    panel.undo.click()
    assert len(records) == 1 and "<math" in panel.why.html  # its record is at hand
    assert not panel.session.errors


@pytest.mark.parametrize("name", DEMOS)
def test_what_is_shown_is_that_of_the_recorded_plant(name, records):
    recorded, plant = shared.plant(name), api.size(shared.demo(name))
    begun = len(records)
    for units in ("si", "us"):
        for key, one in PICTURES.items():
            assert one.draw(plant, units) == one.draw(recorded, units), key
        assert picture(plant, units) == picture(recorded, units)
        assert summary.text(plant, units) == summary.text(recorded, units)
        assert plant.judged(units) == recorded.judged(units)
    assert api.hold(plant).text == api.hold(recorded).text
    assert len(records) == begun and not plant.recorded
    assert plant.record == recorded.record and plant.recorded and len(records) == begun + 1


def test_a_value_stands_at_hand_but_for_proofs_of_roots():
    recorded, plant = shared.plant(), api.size(shared.demo())
    assert set(plant.ids) <= set(recorded.ids) and set(plant.inputs) <= set(recorded.inputs)
    assert list(plant.verdicts) == list(recorded.verdicts)
    assert [x.id for x in plant.picks] == [x.id for x in recorded.picks]
    for id in plant.ids:
        assert plant.belongs(id) == recorded.belongs(id), id
