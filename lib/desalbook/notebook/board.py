"""The panel of a step: the water line kept in view, what can be set beside what follows, pictures, why."""

from __future__ import annotations

import asyncio
import contextlib
import gc
import json
import re
from collections.abc import Callable, Mapping
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook import api, paths
from desalbook import design as room
from desalbook.design.sections import LISTS
from desalbook.drawings.water_line.plant import picture
from desalbook.fine import fine
from desalbook.notebook import controls
from desalbook.notebook.advisor import Advisor
from desalbook.notebook.blocks import STYLE, figure, follows, turned, watch
from desalbook.notebook.drafts import Draft
from desalbook.notebook.field_list import FieldList
from desalbook.notebook.files import Files
from desalbook.notebook.keys import linked, part_words
from desalbook.notebook.pictures.catalogue import drawings
from desalbook.notebook.session import Session
from desalbook.notebook.sheet_entry import SheetEntry
from desalbook.notebook.side_by_side import STYLE as BESIDE
from desalbook.notebook.side_by_side import SideBySide
from desalbook.notebook.steps import STEPS, Step, step
from desalbook.notebook.tabs import PICTURES, TABS, Beside, bar, sorting
from desalbook.notebook.water_entry import WaterEntry
from desalbook.notebook.why import ask_why, why
from desalbook.notebook.widgets import Keys, Page, Turn
from desalbook.study import Change
from desalbook.study.composition import with_analysis, without_analysis
from desalbook.summary import STEPS as LEADS
from desalbook.theme import css
from desalbook.trail import Choice, Figure
from desalbook.units import show

__all__ = ["Panel", "panel", "start"]

_WIDE = {"description_width": "initial"}


_CHANGES = ("write", "confirm", "reset", "reload", "add", "remove")
_IDLE = 0.8
"""Seconds without a change after which advice is looked for: what a slider asks for next is made by then."""
_SELDOM, _DUE = 200, 20
"""Searches of the middle generation after which Python looks for cycles among all objects of the kernel, which takes
longer than a plant, and after which this is done when nothing is asked. By itself it fell into every tenth change."""
_MOST_ADVICE = 6
"""Failing checks that are looked at; each takes a second or two."""
_PICTURE, _APART = (520, 660), 32
"""Narrowest and widest column of a picture, and the gap between two, pixels."""
_STILL = 0.3
"""Seconds without a change after which the next one is looked for: the picture is out by then."""


def start(path: str | Path, units: str | None = None) -> Panel:
    """Open a design in a panel of everything; the last line of a cell shows it.

    Parameters
    ----------
    path : path of a design file
    units : {"si", "us"}

    Returns
    -------
    Panel
        ``panel.session`` holds the design and the plant; ``panel.session.errors`` stays empty.
    """
    return panel("start", path, units)


def panel(name: str, path: str | Path | None = None, units: str | None = None) -> Panel:
    """Open a design at one step of the walk, or at one section of the design.

    Parameters
    ----------
    name : str
        A key of `steps.STEPS`, or a section such as ``"filters"``.
    path : path, optional
        Design file; the one that was open last, that of ``desalbook lab FILE``, else the harbour demo.
    units : {"si", "us"}, optional
        Those that were chosen last, else SI.
    """
    path = paths.chosen("harbour-town.toml") if path is None else path
    made = Panel(Session(api.read(path), api.size, path, keeps=True), units or last_units(), step(name))
    made.resume()
    return made


def last_units() -> str:
    """The display set that was chosen last in this folder."""
    return "us" if paths.remembered().get("units") == "us" else "si"


class Panel(w.VBox):
    """One step of a design, or all of it.

    Parameters
    ----------
    session : Session
    units : {"si", "us"}
    step : Step, optional
        The whole plant if omitted.
    """

    def __init__(self, session: Session, units: str = "si", step: Step | None = None):
        self.session, self.units, self.step = session, units, step or STEPS["start"]
        guard = session.guard
        self.turn, self.fields = Turn(guard(self._heard)), FieldList(session, self.step)
        self.whole = False  # the water line at its full height
        self._remembers = False
        self._at = ""  # section of the design that was touched last
        self.head, self.line = Page(guard(self._heard)), Page(measured=True)
        self.figures, self.watch, self.why = (Page(guard(self._heard)) for _ in range(3))
        self.tabs, self.pictures = Page(guard(self._heard)), Page(guard(self._heard))
        self.tab = PICTURES if self.step.pictures else next(iter(self.step.tabs), PICTURES)
        self._below: tuple[Any, ...] = ()
        self._beside = Beside()
        self.shown = ""
        self._asked = False  # why was asked, of this plant or of one before
        self._drawn: tuple[Any, ...] = ()
        self._known: set[str] = set()
        self._soon: asyncio.TimerHandle | None = None
        self._then: asyncio.TimerHandle | None = None
        self._advisor, self._advice = Advisor(), dict[str, Change]()
        self.undo, self.redo = (w.Button(description=d, layout=w.Layout(width="auto")) for d in ("Undo", "Redo"))
        self.files = Files(session, self._moved, units=lambda: self.units)
        self.set = w.Dropdown(options=[("SI", "si"), ("US", "us")], value=units, description="Units", style=_WIDE,
                              layout=w.Layout(width="140px"))
        self.full = w.Button(layout=w.Layout(width="auto"), tooltip="The water line at its full height, with chemicals")
        self.figure = w.Combobox(description="Value", placeholder="id of a value, or a part of it", style=_WIDE,
                                 continuous_update=False, layout=w.Layout(width="min(520px, 96%)"))
        self.undo.on_click(guard(lambda _: session.undo()))
        self.redo.on_click(guard(lambda _: session.redo()))
        self.line.observe(guard(lambda c: self._widen()), names="wide")
        self.set.observe(guard(lambda c: self._switch(c["new"])), names="value")
        self.full.on_click(guard(lambda _: self._whole()))
        self.figure.observe(guard(lambda c: self._ask_why(c["new"].strip())), names="value")
        session.listen(self.refresh)
        self.shown = next((i for i in self._follow() if session.plant is not None and i in session.plant), "")
        self.watch.add_class("db-watching")
        self.water = WaterEntry(session)
        self.sheets = SheetEntry(session, self.step, lambda: self.units)
        self.beside = SideBySide(session, self._follow, lambda: drawings(self.step), lambda: self.units)
        self.head.layout = w.Layout(min_height="2.7em", margin="4px 2px 0", flex="1 1 300px")
        self.top = w.VBox([w.HBox([self.head, self.set, self.undo, self.redo, self.full],
                                  layout=w.Layout(flex_flow="row wrap", align_items="flex-start")), self.line])
        left = w.VBox([w.HTML("<b>Set</b>"), self.water, self.turn, self.sheets])
        right = w.VBox([w.HTML("<b>Results</b>"), self.figures, w.HTML("<b>Checks</b>"), self.watch])
        super().__init__([
            Keys(), w.HTML(f"<style>{css()}{STYLE}{BESIDE}</style>"), self.files, self.top.add_class("db-top"),
            w.HBox([left, right.add_class("db-effect")]).add_class("db-columns"), self.tabs, self.pictures,
            w.HTML("<b>Options</b>"), self.beside, w.HTML("<b>Why</b>"), self.figure, self.why])
        self.add_class("desalbook").add_class("db-panel")
        self.refresh()

    # what a person does ---------------------------------------------------------------------------------

    def _heard(self, what: Mapping[str, Any]) -> None:
        """A message of the front end."""
        session = self.session
        if self._soon is not None:
            self._soon.cancel()
        if not what.keys().isdisjoint(_CHANGES):
            self._advisor.cancel()  # it would only slow down what is asked now
        self._at = str(next((what[k] for k in ("write", "confirm", "reset", "turn", "fold") if k in what), self._at))
        if "write" in what:
            good = session.apply(what["write"], str(what["text"]).strip() or None, slid=bool(what.get("slid")))
            if good and (then := what.get("then")) is not None:
                self._soon = _later(_STILL, lambda: session.prefetch(what["write"], then))
        elif "confirm" in what:
            key = what["confirm"]
            session.apply(key, controls.shown(session.design, key, room.field_meta(key)))
        elif "reset" in what:
            session.apply(what["reset"], None)
        elif "why" in what:
            self._ask_why(what["why"])
            self.why.show()
        elif "reload" in what:
            session.reload(api.read)
            self._moved()
        elif "add" in what:
            self._add(str(what["add"]), what.get("entries", {}), str(what.get("after", "")))
        elif "remove" in what:
            self._remove(str(what["remove"]))
        elif "turn" in what:
            self._turn_to(what["turn"])
        elif "fold" in what:
            self.unfold(str(what["fold"]), bool(what.get("open")))
        elif "draft" in what:
            self._draft(str(what["draft"]), bool(what.get("restore")))
        elif "tab" in what:
            self.open_tab(str(what["tab"]))
        elif "run" in what:
            self._run_tab()
        elif "find" in what:
            self.fields.find = str(what["find"]).strip()
            self._turn()
        elif "seen" in what:
            self.files.look()
            self._head()

    def change(self, key: str, text: str) -> None:
        """Write one key, as typing it does."""
        self.turn.ask({"write": key, "text": text})

    def _add(self, id: str, entries: Mapping[str, Mapping[str, Any]], after: str = "") -> None:
        """Add entries to a list, or a section that was not there; one change, which one undo takes back."""
        stated = {name: {k: str(v) for k, v in one.items() if str(v).strip()} for name, one in entries.items()}

        def made(design: Any) -> Any:
            if id == "water.analyses":
                name, one = next(iter(stated.items()))
                return with_analysis(design, name, one.get("share", ""))
            return design.with_entries(id, stated, after)

        before = self.session.design.text
        self.session.rework(made, id)
        if self.session.design.text != before:  # its fields are what comes next
            listed = id in LISTS or room.field_meta(id).form == "sections"
            new = [f"{id}[{name}]" for name in stated] if listed else [id]
            self.fields.open.update(new)
            self._turn()
            self.turn.show(new[0])

    def _remove(self, id: str) -> None:
        """Remove an entry of a list or a section; one change, which one undo takes back."""
        def made(design: Any) -> Any:
            hit = re.fullmatch(r"water\.analyses\[([^\]]+)\]", id)
            if hit is not None:
                return without_analysis(design, hit[1])
            return design.without(id)

        self.session.rework(made, id.rpartition("[")[0] if id.endswith("]") else id,
                            f"Removed {part_words(id)}. Undo brings it back.")

    def unfold(self, group: str, on: bool = True) -> None:
        """Open a group of fields, a section of the design, or fold it away.

        Parameters
        ----------
        group : str
        on : bool
        """
        (self.fields.open.add if on else self.fields.open.discard)(group)
        self._remember()
        self._turn()

    def resume(self) -> None:
        """Open the groups that were open when this step was left, and keep from now on what is opened."""
        self._remembers = True
        gc.set_threshold(*gc.get_threshold()[:2], _SELDOM)
        there = paths.remembered().get("groups")
        here = there.get(self.step.key) if isinstance(there, dict) else None
        if isinstance(here, list):
            self.fields.open.update(str(g) for g in here)
            self._turn()

    def _remember(self) -> None:
        if self._remembers:
            there = paths.remembered().get("groups")
            groups = dict(there) if isinstance(there, dict) else {}
            paths.remember(units=self.units, step=self.step.key,
                           groups=groups | {self.step.key: sorted(self.fields.open)})

    def _whole(self) -> None:
        self.whole = not self.whole
        (self.top.add_class if self.whole else self.top.remove_class)("db-whole-line")
        self._line()

    def _switch(self, units: str) -> None:
        self.units = units
        self._remember()
        self.refresh()
        self._show_why()

    def _turn(self) -> None:
        self._rows()
        self._head()
        self._line()

    def _moved(self) -> None:
        """Another file, or another name for it: its revisions may be others."""
        self.files.look()
        self.beside.look()
        self.refresh()

    def _draft(self, name: str, restore: bool) -> None:
        """Take up a draft that was left behind, or take it away."""
        one = next((d for d in self.session.left() if d.path.name == name), None)
        if one is None:
            self.session.messages[""] = "That draft is gone: another notebook restored or discarded it."
        elif restore:
            self.session.restore(one, lambda text: room.from_text(text, self.session.path))
        else:
            one.discard()
        self._moved()

    def _turn_to(self, key: str) -> None:
        """Bring the control of a key into view, in whatever part of the design it stands."""
        if not self.fields.reveal(key):
            self.session.messages[""] = f"{key} has no field in this design."
            self._head()
            return
        self._turn()
        self.turn.show(key)

    def _ask_why(self, id: str) -> None:
        if not id:
            return
        self.shown, self._asked = id, True
        if self.figure.value != id:
            self.figure.value = id
        self._show_why(asked=True)

    # what is shown --------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the session as it is now."""
        session = self.session
        self.undo.disabled, self.redo.disabled = not session.can_undo, not session.can_redo
        self._rows()
        self._head()
        if session.plant is None:
            return
        state = (session.plant, session.stale, self.units, session.before, session.of_file)
        if state == self._drawn:
            return
        if state[:2] != self._drawn[:2]:
            self._advise_later()
        self._drawn = state
        self._line()
        dull = " db-stale" if session.stale else ""
        checks = session.plant.judged(self.units)
        mine = [c for c in checks if self.step.mine(c["id"])]
        of_file = session.of_file if session.of_file not in (session.before, session.plant) else None
        told = follows(session.plant, self._follow(), mine, self.units, session.before, of_file)
        self.figures.html = f'<div class="desalbook{dull}">{told}</div>'
        self._watch(checks)
        if not session.stale:
            self.beside.show()
            self._draw_below()
            self._show_why()
        ids = session.plant.ids
        if set(ids) != self._known:  # their order does not matter, and comparing sets is quick
            self._known = set(ids)
            self.figure.options = tuple(ids)

    def open_tab(self, key: str) -> None:
        """Show the pictures or one of the tables of this step.

        Parameters
        ----------
        key : str
            Of `tabs.TABS`, or `tabs.PICTURES`.
        """
        self.tab = key
        self._draw_below()

    def _draw_below(self) -> None:
        """What stands below the fields, of the plant in view."""
        plant, units, tab = self.session.plant, self.units, TABS.get(self.tab)
        now = (plant, units, self.tab, 0 if tab is not None else _column(self.line.wide))
        if plant is None or self._below == now:
            return
        was, self._below = self._below, now
        self.tabs.html = bar(self.step, self.tab)
        self._beside.cancel()
        if tab is None:
            drawn = "".join(figure(title, draw(plant, units), f"{self.step.key}-{n}", plant)
                            for n, (title, draw) in enumerate(drawings(self.step, now[3]), 1))
            self.pictures.html = f'<div class="db-pictures">{drawn}</div>'
        elif not tab.slow:
            self._show_tab(sorting(tab.draw(plant, units).text))
        else:
            ask = ('<p class="desalbook"><button type="button" data-ask="{&quot;run&quot;:true}">Calculate</button> '
                   '<span class="quiet">It takes a while.</span></p>')
            if tab.asked:
                self._show_tab(ask)
                return
            if was[2:3] == (self.tab,):  # what is there is of the plant before, and says so until the new one comes
                self.pictures.html = f'<div class="db-stale" aria-busy="true">{self.pictures.html}</div>'
            else:
                self._show_tab('<p class="desalbook" role="status">Being calculated.</p>')
            self._draw_beside(lambda: tab.draw(plant, units))

    def _run_tab(self) -> None:
        """Draw what is only drawn when it is asked for."""
        plant, units, tab = self.session.plant, self.units, TABS.get(self.tab)
        if plant is not None and tab is not None and not self.session.stale:
            self._show_tab('<p class="desalbook" role="status">Being calculated.</p>')
            self._draw_beside(lambda: tab.draw(plant, units))

    def _draw_beside(self, draw: Callable[[], Any]) -> None:
        key = self._below
        with contextlib.suppress(RuntimeError):
            loop = asyncio.get_running_loop()
            show = self.session.guard(lambda html: self._show_tab(sorting(html)) if self._below == key else None)
            self._beside.begin(draw, lambda html: loop.call_soon_threadsafe(show, html))

    def _show_tab(self, html: str) -> None:
        about = TABS[self.tab].about
        self.pictures.html = f'<div class="db-tab"><p class="desalbook quiet">{escape(about)}</p>{html}</div>'

    def _watch(self, checks: list[dict[str, Any]]) -> None:
        mine = [c for c in checks if self.step.mine(c["id"])]
        now = turned(self.session.plant, self.session.before)
        elsewhere = [c for c in checks
                     if not self.step.mine(c["id"]) and (c["verdict"] == "fails" or c["id"] in now)]
        dull = " db-stale" if self.session.stale else ""
        told = watch(mine, elsewhere, self._advice, self.units, now)
        self.watch.html = f'<div class="desalbook{dull}">{told}</div>'

    def _advise_later(self) -> None:
        """When nothing is asked for a while, look for numbers that let failing checks pass."""
        self._advisor.cancel()
        self._advice = {}
        if self._then is not None:
            self._then.cancel()
        self._then = _later(_IDLE, self.session.guard(self._idle))

    def _idle(self) -> None:
        """Nobody waits: look for what earlier plants left, then for advice."""
        if gc.get_count()[2] > _DUE:
            gc.collect()
        self._advise()

    def _advise(self) -> None:
        plant, loop = self.session.plant, asyncio.get_running_loop()
        if plant is None or self.session.stale:
            return
        fails = [r["id"] for r in plant.judged() if r["verdict"] == "fails"]
        first = [id for id in fails if self.step.mine(id)]
        take = self.session.guard(self._take)
        self._advisor.begin(plant.design, [*first, *(id for id in fails if id not in first)][:_MOST_ADVICE],
                            lambda id, change: loop.call_soon_threadsafe(take, plant, id, change))

    def _take(self, plant: Any, id: str, change: Change) -> None:
        """A change that was found, unless another plant is shown by now."""
        if plant is self.session.plant and not self.session.stale:
            self._advice[id] = change
            self._watch(plant.judged(self.units))

    def _rows(self) -> None:
        with self.turn.hold_sync():
            self.turn.groups = self.fields.groups()
            self.turn.rows = self.fields.rows(self.units)
            self.turn.find, self.turn.note = self.fields.find, self.fields.note
        self.water.look(not self.step.parts or "water" in self.step.parts)

    def _head(self) -> None:
        session = self.session
        name = session.path.name if session.path else "Design"
        state = "unsaved changes" if session.unsaved else "saved" if session.path else "no file"
        on_page = {r["key"] for r in self.turn.rows}
        said = [x for key, x in session.messages.items() if key not in on_page]
        if session.stale and session.plant is not None:
            said.append("The figures below are from the last valid design; they do not include your last change.")
        alert = "".join(f'<div class="db-wrong" role="alert">✗ {linked(x)}</div>' for x in said)
        if session.moved_on:
            alert += ('<div class="db-wrong" role="alert">! The file changed on disk since it was read. '
                      '<button type="button" data-ask="{&quot;reload&quot;:true}">Read it again</button> '
                      "(what stands here is then one undo away), or save under another name.</div>")
        done = f'<div role="status">✓ {escape(session.done)}</div>' if session.done and not said else ""
        done += "".join(_offered(d, session.path) for d in session.left())
        revision = session.plant.project.get("revision", "") if session.plant is not None else ""
        self.head.html = (
            f'<div class="desalbook"><b>{escape(name)}</b> <span class="quiet">'
            f'{f"revision {escape(revision)} · " if revision else ""}{state} · design '
            f"{escape(session.design.hash[:12])}{self._trains()}</span>"
            f'{f"<div class=db-told>{alert}{done}</div>" if alert or done else ""}</div>')

    def _trains(self) -> str:
        """How many trains the figures are for: most are of one, and so is the picture."""
        plant = self.session.plant
        if plant is None or self.session.stale or "duty.trains" not in plant or "duty.product_flow" not in plant:
            return ""
        n, flow = plant.show("duty.trains", self.units), plant["duty.product_flow"]
        net = fine(escape(show(float(flow), flow.kind, self.units, trim=True)))
        return (f" · {n} train{'' if n == '1' else 's'} run, <span class=db-whole>{net}</span> net"
                f"{'' if n == '1' else '; the diagram shows one train'}")

    def _widen(self) -> None:
        """The page is shown at another width."""
        self._line()
        if not self.session.stale:
            self._draw_below()

    def _line(self) -> None:
        if self.session.plant is None:
            return
        part = self._at.partition(".")[0].partition("[")[0]
        lead = LEADS.get(part, "") or self.step.lead or part
        dull = ' class="desalbook db-stale"' if self.session.stale else ""
        drawn = picture(self.session.plant, self.units, lead, min(max(self.line.wide or 1100, 560), 1800),
                        slim=not self.whole)
        self.full.description = "Slim water line" if self.whole else "Whole water line"
        if self.whole:
            told = "Hover over a step, or press Tab to reach it, for its pressure, flow and salinity."
            drawn = figure("Water line", drawn, "water-line", self.session.plant, told)
        self.line.html = f"<div{dull}>{drawn}</div>"

    def _follow(self) -> tuple[str, ...]:
        if self.step.follows:
            return self.step.follows
        plant = self.session.plant
        if plant is None:
            return ()
        inputs = plant.inputs
        return tuple(i for i in plant.ids if self.step.mine(i) and "@" not in i and i not in inputs
                     and isinstance(plant[i], (Figure, Choice)) and i not in plant.verdicts)[:6]

    def _show_why(self, asked: bool = False) -> None:
        """Why the figure is what it is, where that was asked; else a way to ask: a plant is recorded for it."""
        plant = self.session.plant
        if plant is None or not self.shown:
            return
        self.why.html = (why(plant, self.shown, self.units) if asked or (self._asked and plant.recorded)
                         else ask_why(plant, self.shown))


def _offered(draft: Draft, file: Path | None) -> str:
    """A line that offers a draft."""
    ask, no = (escape(json.dumps({"draft": draft.path.name, "restore": yes}), quote=True) for yes in (True, False))
    late = " The file was changed after it: compare them before you save." if draft.older(file) else ""
    return (f'<div role="status">A draft of {escape(draft.time[:16].replace("T", " "))} UTC holds changes of this file '
            f'that were not saved.{late} <button type="button" data-ask="{ask}">Restore the draft</button> '
            f'<button type="button" data-ask="{no}">Discard it</button></div>')


def _column(wide: int) -> int:
    """Width of a picture beside others where the panel is that wide, as its style sheet lays them out."""
    if not wide:
        return 0
    several = max(1, (wide + _APART) // (_PICTURE[0] + _APART))
    return min(_PICTURE[1], (wide - _APART * (several - 1)) // several)


def _later(seconds: float, what: Callable[[], Any]) -> asyncio.TimerHandle | None:
    """Do it on the kernel's own thread; without a notebook, never."""
    with contextlib.suppress(RuntimeError):
        return asyncio.get_running_loop().call_later(seconds, what)
    return None
