"""What stands below the fields of a step: pictures, then tables, of the plant that is open, in the units that are set.

A row of `TABS` for each, by its key; a step of the walk names those it shows. One is open at a time and is drawn of
each plant that follows; what takes longer than a change may take is drawn beside, in a thread.
"""

from __future__ import annotations

import contextlib
import json
import re
import threading
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import Any

from desalbook.drawings.water_line import plant as water_line
from desalbook.notebook import tables
from desalbook.notebook.steps import STEPS, Step
from desalbook.problems import Problem, TrailError
from desalbook.trail.cancellation import Cancelled, until

__all__ = ["PICTURES", "TABS", "Beside", "Tab", "bar", "sorting"]

PICTURES = "pictures"
"""Key of the tab that is open at first."""


@dataclass(frozen=True)
class Tab:
    """One of the tables below a step.

    Parameters
    ----------
    key, title, about : str
        `about` says in a sentence what is shown.
    draw : callable
        (plant, units) gives an `Html`.
    slow : bool
        Takes a second or more, and is drawn beside.
    asked : bool
        Takes many seconds, and is drawn when somebody asks for it.
    """

    key: str
    title: str
    about: str
    draw: Callable[[Any, str], Any]
    slow: bool = False
    asked: bool = False


TABS: dict[str, Tab] = {t.key: t for t in (
    Tab("streams", "Streams", "Each stream of one train in the design case.", tables.streams),
    Tab("backwashes", "Backwash calendar", "The first backwashes of train A, a row where a filter takes its next "
        "step.", tables.washes),
    Tab("limits", "Limits", "Each membrane limit with the case and the place in the vessel where it is "
        "nearest, the nearest first.", tables.limits),
    Tab("ratings", "Rated over the year", "The sized plant, its hardware fixed and its product held, from the coldest "
        "to the hottest water, with new and with aged membranes.", tables.year, slow=True),
    Tab("devices", "ERDs compared", "The same design sized with each way of recovering the concentrate's pressure, at "
        "equal net product and boundary. Prices are common practice until the design states its own.",
        tables.devices, slow=True),
    Tab("design-pressures", "Design pressures", "The maximum credible pressure of each part against its rating.",
        tables.pressures),
    Tab("outages", "Single failures (N-1)", "What is left of the product when one thing fails.", tables.outages),
    Tab("chemicals", "Chemicals", "Every chemical once, from dose to delivery.", tables.chemicals),
    Tab("guarantees", "Guaranteed and expected", "Each promised value with its margin, the case that governs and the "
        "standard it is measured by.", tables.guarantees),
    Tab("equipment", "Equipment", "Each pump, vessel and tank with its duty, size and class, and who usually supplies "
        "it.", tables.machines),
    Tab("valves", "Valves", "What the controller moves, where it goes without air or power, and relief valves with "
        "their setting.", tables.valves),
    Tab("costs", "Cost", "In the currency of the design; a comparison of designs, not a quotation.", tables.costs),
    Tab("cash-flow", "Year by year", "The same money as a cash flow: capital at the start, cost and water at the end "
        "of each year.", tables.cash_flow),
    Tab("instruments", "Instruments", "Tags without the letter of the train. Final set points are those of "
        "commissioning.", tables.instruments),
    Tab("along-the-line", "Along the water line", "Where each instrument sits, by its tag without the number of the "
        "train; those of the CIP skid are not on the line.",
        lambda plant, units: tables.Html(water_line.picture(plant, units, width=960, tags=True))),
    Tab("sequences", "Sequences", "What is open and runs in each step, what it waits for, and where it goes; Then and "
        "Otherwise are numbers of steps.", tables.sequences),
    Tab("unit-sequences", "Other sequences", "Backwash, CIP, shock, exchange, flush and power failure, made of the "
        "equipment this plant has, with durations of its own design.",
        lambda plant, units: tables.unit_sequences(plant, "", units)),
    Tab("cause-effect", "Cause and effect", "What each cause does: S stops, C shuts, O opens, R starts. Every cause "
        "raises its alarm; a trip stays latched until a person resets it.", tables.cause_effect),
    Tab("permissives", "Permissives", "What a train, a pump and each sequence waits for before it starts.",
        tables.permissives),
    Tab("safety-devices", "Hard-wired safety", "What stops equipment beside the programme. A risk assessment by people "
        "decides which are needed.", tables.safety_devices),
    Tab("alarms", "Alarms", "Priority, what follows, what to do and within what time. Common practice aims at 5 % "
        "high, 15 % medium, 80 % low.", tables.alarms),
    Tab("alarm-load", "Alarm load", "Alarms in the ten minutes from a start or a fault, as they come and where an "
        "alarm waits for its equipment to run. One in ten minutes is aimed at, two are manageable, more than ten a "
        "flood.",
        tables.alarm_load, slow=True),
    Tab("trial", "Trial under faults", "Every single fault at the beginning of every step; no case may break a row. It "
        "does not replace a hazard study by people.", tables.trial, slow=True, asked=True),
    Tab("unit-trial", "Other sequences under faults", "The same trial of each of the other sequences.",
        tables.unit_trials, slow=True, asked=True),
    Tab("pairs", "Pairs of faults", "Two faults at once, at start, in service, at stop and flush of a train and at the "
        "main steps of the others. What two faults break is drawn, not hidden: each needs another layer, or a proof "
        "test of its instrument.", tables.pairs, slow=True, asked=True),
    Tab("loads", "Load list", "Each load, of one unit.", tables.loads),
    Tab("meters", "Energy meters", "Errors are limits of the class; the incomer proves the guaranteed specific energy.",
        tables.meters),
)}
"""Every tab by its key."""

for _step in STEPS.values():
    for _key in _step.tabs:
        if _key not in TABS:
            raise TrailError("a step shows a table that is not in the list", where=f"tabs.{_key}")
for _key in TABS:
    if not any(_key in s.tabs for s in STEPS.values()):
        raise TrailError("a table that no step shows", where=f"tabs.{_key}")


def bar(step: Step, shown: str) -> str:
    """Buttons of the tabs of a step; the one that is open is pressed."""
    keys = [*((PICTURES,) if step.pictures else ()), *step.tabs]
    if len(keys) < 2:
        return ""
    buttons = "".join(
        f'<button type="button" data-ask="{escape(json.dumps({"tab": key}), quote=True)}" '
        f'aria-pressed="{str(key == shown).lower()}">{escape("Pictures" if key == PICTURES else TABS[key].title)}'
        "</button>" for key in keys)
    return f'<nav class="desalbook db-tabs" aria-label="Pictures and tables of this step">{buttons}</nav>'


def sorting(html: str) -> str:
    """A table whose heads sort it, with a field that filters its rows; the page does both."""
    heads = re.sub(r"<th( class=words)?>(.+?)</th>", r'<th\1><button type="button" data-sort>\2</button></th>', html)
    if "data-sort" not in heads:
        return html
    return ('<p class="desalbook db-filter"><label>Filter the rows <input type="text" data-filter autocomplete="off" '
            f'spellcheck="false"></label></p>{heads}')


class Beside:
    """Draws in a thread what takes long; the next plant cancels what is under way."""

    def __init__(self) -> None:
        self._cancel = threading.Event()
        self._beside: threading.Thread | None = None

    def cancel(self) -> None:
        """Stop what is under way at its next value; nothing of it is told any more."""
        self._cancel.set()

    def begin(self, draw: Callable[[], Any], tell: Callable[[str], Any]) -> None:
        """Begin in place of what was under way.

        Parameters
        ----------
        draw : callable
            Makes an `Html`; a `Problem` becomes its sentence.
        tell : callable
            Gets the HTML, from the thread.
        """
        self.cancel()
        cancel = self._cancel = threading.Event()

        def beside() -> None:
            with contextlib.suppress(Cancelled), until(cancel):
                try:
                    made = draw().text
                except Problem as problem:
                    made = f'<p class="desalbook" role="alert">{escape(str(problem))}</p>'
                if not cancel.is_set():
                    tell(made)

        self._beside = threading.Thread(target=beside, name="tab", daemon=True)
        self._beside.start()
