"""No panel shows a value of another plant than the open one: each of the seven is opened in one panel after another."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path

import pytest

from desalbook import api
from desalbook.notebook import tabs
from desalbook.notebook.board import Panel
from desalbook.notebook.session import Session
from desalbook.notebook.steps import STEPS
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


def test_notebooks_hold_no_table_of_a_demo():
    """What a step shows stands in its panel, of the plant that is open; a cell would stay at the demo."""
    for step in STEPS.values():
        book = json.loads((ROOT / "notebooks" / f"{step.notebook}.ipynb").read_text(encoding="utf-8"))
        for cell in book["cells"]:
            text = "".join(cell["source"])
            if cell["cell_type"] == "code" and "NBVAL_CHECK_OUTPUT" not in text:
                assert not re.search(r"\btables\.|\bplant\.|\(plant|db\.rate", text.replace("session.plant.", "")), text
