"""Advice beside the page: told when it is found, never of a plant that is no longer shown."""

from __future__ import annotations

import asyncio
import threading

from desalbook import api, paths
from desalbook.notebook import advisor as room
from desalbook.notebook import board
from desalbook.notebook.advisor import Advisor
from desalbook.notebook.board import Panel
from desalbook.notebook.session import Session
from desalbook.notebook.steps import STEPS
from desalbook.study import Change
from desalbook.trail import assumed, values

CHANGE = Change("membrane.flux.check", "membrane.vessels", "Vessels", 24.0, 29.0, "29", "count", ())


def test_the_next_change_cancels_it(monkeypatch):
    begun, told = threading.Event(), []

    def slow(design, check):
        with values():
            for n in range(10_000_000):
                assumed(f"duty.x_{n}", 1.0, "factor", title="One", source="definition")
                begun.set()

    monkeypatch.setattr(room, "smallest_change", slow)
    one = Advisor()
    one.begin(None, ["a.check", "b.check"], lambda *found: told.append(found))
    assert begun.wait(10)
    one.cancel()
    one._beside.join(10)
    assert not one._beside.is_alive() and not told


def test_a_panel_tells_it_and_its_button_makes_the_change(monkeypatch):
    monkeypatch.setattr(board, "_IDLE", 0.01)
    monkeypatch.setattr(room, "smallest_change", lambda design, check: CHANGE if check == CHANGE.check else None)
    path = paths.demo("harbour-town.toml")

    async def turned():
        panel = Panel(Session(api.read(path), api.size, path), step=STEPS["membranes"])
        panel.change("membrane.vessels", "24")
        for _ in range(200):
            await asyncio.sleep(0.02)
            if "db-advice" in panel.watch.html:
                break
        assert "Raise Vessels from 24 to 29" in panel.watch.html and "no other check fails then" in panel.watch.html
        assert not panel.session.errors
        panel.watch.ask({"write": "membrane.vessels", "text": "29"})
        assert "db-advice" not in panel.watch.html and panel.session.design.get("membrane.vessels") == 29
        panel._take(None, CHANGE.check, CHANGE)  # of a plant that is gone
        assert "db-advice" not in panel.watch.html and not panel.session.errors

    asyncio.run(turned())
