"""Plants at hand: the same as sized when asked for, cancelled at once, and never in anybody's way."""

from __future__ import annotations

import asyncio
import gc
import threading
import time
import weakref

import pytest

from desalbook import api
from desalbook.notebook.board import _STILL, Panel
from desalbook.notebook.prefetch import Prefetch
from desalbook.notebook.session import Session
from desalbook.notebook.steps import Step
from desalbook.problems import Infeasible
from desalbook.trail import Ledger, assumed
from desalbook.trail.cancellation import Cancelled, until
from tests import fakes, shared

FLOW = "duty.train_product_flow"


class Counted:
    """The small plant, and how often it was sized."""

    def __init__(self):
        self.asked: list[str] = []

    def __call__(self, design):
        self.asked.append(design.text)
        return fakes.size(design)


def _ended(prefetch: Prefetch) -> None:
    assert prefetch._beside is not None
    prefetch._beside.join(10)
    assert not prefetch._beside.is_alive()


def test_a_plant_sized_beside_is_the_plant_that_would_be_sized():
    prefetch = Prefetch(api.size)
    design = shared.demo().with_value("water.ions[Na]", "11 400 mg/L")
    prefetch.begin(lambda: design)
    _ended(prefetch)
    beside = prefetch(shared.demo().with_value("water.ions[Na]", "11 400 mg/L"))
    assert prefetch(design) is beside
    anew = api.size(design)
    assert list(beside.ledger.lines) == list(anew.ledger.lines)
    for a, b in zip(beside.ledger.lines.values(), anew.ledger.lines.values(), strict=True):
        assert (repr(a.value), a.parents(), a.cautions) == (repr(b.value), b.parents(), b.cautions), a.id
    assert beside.record == anew.record


def test_what_is_asked_for_meanwhile_is_not_kept_waiting():
    """A recording that nobody waits for ends at its next line; the next question is answered as ever."""
    begun, lines = threading.Event(), []

    def size(design):
        if design.text != fakes.TEXT:
            ledger = Ledger()
            with ledger.recording():
                for n in range(10_000_000):
                    assumed(f"duty.x_{n}", 1.0, "factor", title="One", source="definition")
                    lines.append(n)
                    begun.set()
        return fakes.size(design)

    prefetch = Prefetch(size)
    prefetch.begin(lambda: fakes.design("2500 m3/d"))
    assert begun.wait(10)
    assert prefetch(fakes.design()).design.text == fakes.TEXT
    prefetch._beside.join(10)
    assert not prefetch._beside.is_alive() and len(lines) < 10_000_000
    assert len(prefetch._kept) == 1


def test_a_design_under_way_is_waited_for_and_not_sized_twice():
    go, counted = threading.Event(), Counted()

    def size(design):
        assert go.wait(10)
        return counted(design)

    prefetch = Prefetch(size)
    prefetch.begin(lambda: fakes.design("2500 m3/d"))
    while prefetch._on is None:
        time.sleep(0.001)
    threading.Timer(0.05, go.set).start()
    assert prefetch(fakes.design("2500 m3/d")) is prefetch(fakes.design("2500 m3/d"))
    assert len(counted.asked) == 1


def test_what_cannot_be_built_is_said_when_it_is_asked_for():
    prefetch = Prefetch(Counted())
    prefetch.begin(lambda: fakes.design("25000 m3/d"))
    _ended(prefetch)
    with pytest.raises(Infeasible):
        prefetch(fakes.design("25000 m3/d"))
    prefetch.begin(lambda: fakes.design().with_value(FLOW, "no number"))
    _ended(prefetch)
    assert not prefetch._kept


def test_the_latest_few_are_kept_and_undo_finds_its_plant():
    counted = Counted()
    session = Session(fakes.design(), counted)
    plants = [session.plant]
    for flow in range(2500, 2900, 100):
        assert session.apply(FLOW, f"{flow} m3/d")
        plants.append(session.plant)
    for plant in reversed(plants[:-1]):
        assert session.undo() and session.plant is plant
    assert len(counted.asked) == 5
    for flow in range(3000, 4000, 100):
        session.apply(FLOW, f"{flow} m3/d")
    assert len(session._size._kept) == 5 and len(counted.asked) == 15
    assert session.apply(FLOW, "2500 m3/d") and len(counted.asked) == 16


def test_plants_that_are_no_longer_kept_do_not_heap_up():
    counted = Counted()
    session = Session(fakes.design(), counted)
    session.apply(FLOW, "2900 m3/d")  # the plant of the file stays, to compare with
    gone = weakref.ref(session.plant)
    for flow in range(3000, 6000, 100):
        session.apply(FLOW, f"{flow} m3/d")
    assert len(session._size._kept) == 5
    gc.collect()
    assert gone() is None


def test_a_ledger_is_cancelled_only_where_that_was_asked_for():
    told, other = threading.Event(), Ledger()
    with until(told):
        ledger = Ledger()
    with ledger.recording():
        assumed("duty.a", 1.0, "factor", title="One", source="definition")
        told.set()
        with pytest.raises(Cancelled):
            assumed("duty.b", 1.0, "factor", title="One", source="definition")
    assert list(ledger.lines) == ["duty.a"] and not issubclass(Cancelled, Exception)
    with other.recording():
        assumed("duty.b", 1.0, "factor", title="One", source="definition")


def test_a_slider_moved_one_step_makes_the_next_step_ready_and_changes_nothing():
    counted = Counted()

    async def turned():
        panel = Panel(Session(fakes.design(), counted), step=Step("bare", "Bare", "bare", follows=(FLOW,)))
        panel.turn.ask({"write": FLOW, "text": "2500 m3/d", "then": "2600 m3/d"})
        shown = panel.figures.html, panel.head.html, panel.session.design.text
        panel.turn.ask({"write": FLOW, "text": "2700 m3/d", "then": "2800 m3/d"})  # before the time is up
        await asyncio.sleep(_STILL + 0.3)
        _ended(panel.session._size)
        assert [t for t in counted.asked if "2600 m3/d" in t] == []
        assert sum("2800 m3/d" in t for t in counted.asked) == 1
        assert panel.session.design.get(FLOW) == pytest.approx(2700 / 86_400) and not panel.session.messages
        panel.turn.ask({"write": FLOW, "text": "2800 m3/d"})
        assert sum("2800 m3/d" in t for t in counted.asked) == 1 and not panel.session.errors
        return shown

    figures, head, text = asyncio.run(turned())
    assert "unsaved changes" in head and "2500 m3/d" in text and figures


def test_what_plants_leave_is_looked_for_when_nobody_waits(monkeypatch):
    """A search among all objects took longer than a plant, and fell into every tenth change."""
    kept, searches, was = [], [], gc.get_threshold()

    def size(design):
        kept.append([[] for _ in range(200_000)])
        return fakes.size(design)

    def seen(phase, info):
        if phase == "start" and info["generation"] == 2:
            searches.append(info)

    panel = Panel(Session(fakes.design(), size), step=Step("bare", "Bare", "bare", follows=(FLOW,)))
    monkeypatch.setattr("desalbook.paths.remembered", dict)
    monkeypatch.setattr(panel, "_advise", lambda: None)
    gc.set_threshold(700, 10, 10)  # as a kernel has it
    try:
        panel.resume()
        gc.collect()
        gc.callbacks.append(seen)
        for flow in (2500, 2600, 2700, 2800):
            panel.session.apply(FLOW, f"{flow} m3/d")
        assert panel.session.plant[FLOW] == pytest.approx(2800 / 86400) and not searches
        panel._idle()
        panel._idle()
        assert len(searches) == 1
    finally:
        gc.callbacks.remove(seen)
        gc.set_threshold(*was)
