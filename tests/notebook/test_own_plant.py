"""No panel shows a value of another plant than the open one: each of the seven is opened in one panel after another."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest

from desalbook import api
from desalbook.notebook import tabs
from desalbook.notebook.audit_board import AuditDesk
from desalbook.notebook.board import Panel
from desalbook.notebook.pack_board import PackDesk
from desalbook.notebook.session import Session
from desalbook.notebook.steps import STEPS
from desalbook.notebook.study_desk import Desk as StudyDesk
from desalbook.notebook.widgets import Page
from tests import plants, shared

ROOT = Path(__file__).parents[2]
SHOWN = ("pressure",)
SAME = {"valves"}  # may hold the same numbers in two plants: sizes of few classes


def opened(name: str, units: str, step: str) -> Panel:
    """A panel that never held another plant; what is drawn beside is drawn at once."""
    design = api.read(plants.path(name))
    return at_once(Panel(Session(design, _size, plants.path(name)), units, STEPS[step]))


def at_once(panel: Panel) -> Panel:
    panel._draw_beside = lambda draw: panel._show_tab(tabs.sorting(draw().text))
    return panel


def _size(design):
    return shared.plant(design)


def everything(panel: Panel) -> dict[str, str]:
    """All that a panel shows of its plant, each tab in turn."""
    found = {name: getattr(panel, name).html for name in ("line", "figures", "watch")}
    found["rows"] = json.dumps(panel.turn.rows, default=str)
    for key in (tabs.PICTURES, *panel.step.tabs):
        panel.open_tab(key)
        found[key] = panel.pictures.html
    panel.open_tab(tabs.PICTURES)
    return found


def numbers(html: str) -> list[str]:
    return re.findall(r"\d+(?:\.\d+)?", unescape(re.sub(r"<style>.*?</style>|<[^>]*>", " ", html, flags=re.S)))


@pytest.mark.full
def test_each_of_the_seven_plants_shows_itself():
    """Opened after another plant, in the other units, a panel says what one says that never held another."""
    seen: dict[str, dict[str, list[str]]] = {}
    for step in SHOWN:
        panel = at_once(Panel(Session(shared.demo(), _size, plants.path("harbour-town")), "si", STEPS[step]))
        everything(panel)
        for n, name in enumerate(plants.NAMES[::-1]):
            units = ("us", "si")[n % 2]
            panel.set.value = units
            assert panel.session.open(api.read, plants.path(name)), panel.session.messages
            panel._moved()
            here, alone = everything(panel), everything(opened(name, units, step))
            for what, html in alone.items():
                assert here[what] == html, (step, name, what)
            # and what stands there are the plant's own values
            for id in STEPS[step].follows:
                if id in panel.session.plant:
                    number = panel.session.plant.show(id, units).partition(" ")[0]
                    texts = re.findall(r'<dd class="n"[^>]*>([^<]*)', here["figures"])
                    assert any(x.startswith(number[:4]) for x in texts), (name, id, number)
            assert not panel.session.errors
            if units == "us":
                for what in panel.step.tabs:
                    seen.setdefault(what, {})[name] = numbers(here[what])
    for what, by_plant in seen.items():  # no two plants show the same numbers
        if what not in SAME:
            assert len({tuple(x) for x in by_plant.values()}) == len(by_plant), what


@pytest.mark.full
def test_every_step_and_every_desk_shows_the_open_plant(monkeypatch):
    """Each step of the walk on plants in turn, and the desks: what stands there is what a fresh one shows of the file.

    Pictures, values, checks, fields and the tables that are drawn at once; the others are those of the test above.
    """
    monkeypatch.setattr(api, "size", _size)
    steps, names = [k for k in STEPS if k not in SHOWN], plants.NAMES
    for n, key in enumerate(steps):
        bare = replace(STEPS[key], tabs=tuple(t for t in STEPS[key].tabs if not tabs.TABS[t].slow))
        first, name = names[n % len(names)], names[(n + 1) % len(names)]
        panel = at_once(Panel(Session(api.read(plants.path(first)), _size, plants.path(first)), "si", bare))
        was = everything(panel)
        panel.set.value = "us"
        assert panel.session.open(api.read, plants.path(name)), panel.session.messages
        panel._moved()
        fresh = at_once(Panel(Session(api.read(plants.path(name)), _size, plants.path(name)), "us", bare))
        here, alone = everything(panel), everything(fresh)
        for what, html in alone.items():
            assert here[what] == html, (key, name, what)
            assert html != was[what] or what not in ("line", "figures"), (key, name, what)
        assert panel.head.html.startswith(fresh.head.html.removesuffix("</div>")), key  # it also says what was opened
        assert not panel.session.errors, key

    def pages(desk) -> dict[str, str]:
        return {k: v.html for k, v in vars(desk).items() if isinstance(v, Page)}

    for n, made in enumerate((
            lambda path, units: StudyDesk(path, units),
            lambda path, units: AuditDesk(Session(api.read(path), _size, path), units),
            lambda path, units: PackDesk(Session(api.read(path), _size, path), units))):
        desk = made(plants.path(names[0]), "si")
        was = pages(desk)
        desk.set.value = "us"
        assert desk.session.open(api.read, plants.path(names[5]))
        desk.session.done = ""
        desk.files._moved()
        here, alone = pages(desk), pages(made(plants.path(names[5]), "us"))
        assert here == alone and any(here[k] != was[k] for k in was), n


def test_notebooks_hold_no_table_of_a_demo():
    """What a step shows stands in its panel, of the plant that is open; a cell would stay at the demo."""
    for step in STEPS.values():
        book = json.loads((ROOT / "notebooks" / f"{step.notebook}.ipynb").read_text(encoding="utf-8"))
        for cell in book["cells"]:
            text = "".join(cell["source"])
            if cell["cell_type"] == "code" and "NBVAL_CHECK_OUTPUT" not in text:
                assert not re.search(r"\btables\.|\bplant\.|\(plant|db\.rate", text.replace("session.plant.", "")), text
