"""The desk of a study: which keys, over what, what is followed; it runs when asked, beside the page, and can stop.

A study is a curve, two keys as a map, or a search for the plants that are not beaten in several goals. Any point of the
last two can be chosen, seen beside the design of today, and saved as a design file with its reason.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from html import escape
from math import prod
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook import api, paths
from desalbook.design.names import checked_name
from desalbook.notebook import controls
from desalbook.notebook.blocks import STYLE
from desalbook.notebook.chosen_point import Chosen
from desalbook.notebook.files import Files
from desalbook.notebook.guarded import defect, guarded
from desalbook.notebook.keys import part_words
from desalbook.notebook.pictures.study import study_picture, study_table, unit_words
from desalbook.notebook.pictures.tradeoff import frontier_picture, map_picture
from desalbook.notebook.session import Session
from desalbook.notebook.widgets import STUDY_STYLE, Keys, Page, Rows, Runner, Turn
from desalbook.problems import DesignError, Problem
from desalbook.study import Row, Sweep, spread, spreads_of
from desalbook.study.executors import processes, workers
from desalbook.study.goals import GOAL_FIGURES
from desalbook.study.jumps import Jump, jumps
from desalbook.study.results_file import kept, remove
from desalbook.study.sweep import first_look, identity
from desalbook.study.tradeoff import GOALS, about, front_of, not_beaten
from desalbook.theme import css
from desalbook.trail import Figure
from desalbook.trail.cancellation import Cancelled, until
from desalbook.trail.words import low_first
from desalbook.units import FieldMeta, show

__all__ = ["Desk", "desk", "headlines"]

_WIDE = {"description_width": "initial"}
_FIELD = w.Layout(width="min(440px, 96%)")
MOST = 2000
"""Points of one study on a page, whose table and picture show each of them."""
_PACE = 6  # rows from which the time left is told
FOLLOW = ("membrane.feed_pressure", "energy.plant_specific", "membrane.permeate_tds", "membrane.flux")
"""What a new desk follows."""
KINDS = {"curve": "a curve, for each value of a second key", "map": "a map of two keys",
         "frontier": "the plants that no other beats"}
"""What a study is."""
_FOLLOW_OF = {"map": ("cost.water", "energy.plant_specific", "membrane.permeate_boron"), "frontier": tuple(GOALS)}
_NEXT = {"": "minimum", "minimum": "maximum", "maximum": ""}
_PROCESSES, _MOST_KEPT = 8, 20
"""Processes that can be chosen, and studies of which rows are kept in the hidden folder."""
_LISTED = 12
"""Points of a map in the list that can be chosen from."""
FIELDS = {"from": "From, with its unit", "to": "To, with its unit", "points": "Number of values"}


def desk(design: Any = None, units: str = "si") -> Desk:
    """A desk for studies of one design.

    Parameters
    ----------
    design : Design or path, optional
        The design of ``desalbook lab FILE``, else the harbour demo.
    units : {"si", "us"}
    """
    return Desk(paths.chosen("harbour-town.toml") if design is None else design, units, keeps=True)


def headlines(frame: Any, id: str) -> str:
    """One column of a study as a text, a line for each case."""
    column = next(c for c in frame.columns if c.partition(", ")[0] == id)
    unit = column.partition(", ")[2]
    rows = [(r["id"], "not feasible" if r["problem"] else f"{f'{r[column]:#.4g}'.rstrip('.')} {unit}".strip())
            for r in frame.to_dict("records")]
    wide = max((len(t) for t, _ in rows), default=0)
    return "\n".join(f"{t:<{wide}}  {v}" for t, v in rows)


class Axis(w.VBox):
    """What one key is varied over: a range with a number of values, or some of its choices.

    Parameters
    ----------
    desk : Desk
    second : bool
        It may be none, and then has fewer values.
    """

    def __init__(self, desk: Desk, second: bool = False):
        self.desk, self.second = desk, second
        self.usual = "3" if second else "16"
        self.typed: dict[str, dict[str, str]] = {}
        self.said: dict[str, str] = {}
        self.head = w.HTML("<b>And</b>" if second else "<b>Vary</b>")
        self.part = w.Dropdown(options=self._parts(), description="Section", style=_WIDE, layout=_FIELD)
        own = {"width": _FIELD.width}  # these two come and go, so their layout is their own
        self.key = w.Dropdown(description="Key to vary", style=_WIDE, layout=w.Layout(**own))
        self.about, self.turn = Page(), Turn(desk.guard(self._heard))
        self.options = w.SelectMultiple(description="Choices", style=_WIDE, layout=w.Layout(**own))
        super().__init__([self.head, self.part, self.key, self.about, self.turn, self.options])
        self.part.value = "" if second else "membrane" if "membrane" in desk.fields else next(iter(desk.fields))
        self.rekey()
        self.part.observe(desk.guard(lambda _: self.rekey()), names="value")
        self.key.observe(desk.guard(lambda _: self.write()), names="value")

    def _parts(self) -> list[tuple[str, str]]:
        return [*([("none", "")] if self.second else []),
                *((part_words(p), p) for p in self.desk.fields)]

    @property
    def chosen(self) -> str:
        """The key; empty for none."""
        return str(self.key.value or "") if self.part.value else ""

    @property
    def meta(self) -> FieldMeta:
        """What the schema knows of the key."""
        return self.desk.fields[str(self.part.value)][self.chosen]

    @property
    def numbers(self) -> bool:
        """It takes numbers from a range, not choices."""
        return self.meta.form == "quantity"

    def again(self) -> None:
        """Sections and keys of another design; those on the desk stay where it has them."""
        part, key = self.part.value, self.key.value
        self.part.options = self._parts()
        self.part.value = part if part in [p for _, p in self.part.options] else self.part.options[0][1]
        self.rekey()
        if key in [k for _, k in self.key.options]:
            self.key.value = key
        self.write()

    def rekey(self) -> None:
        """Keys of the section."""
        fields = self.desk.fields.get(str(self.part.value), {})
        self.key.options = [(m.title, k) for k, m in fields.items()]
        if fields:
            self.key.value = "membrane.recovery" if "membrane.recovery" in fields else next(iter(fields))
        self.write()

    def texts(self) -> dict[str, str]:
        """What was typed for the key on the desk; each key keeps its own."""
        return self.typed.setdefault(self.chosen, {})

    def _heard(self, what: Mapping[str, Any]) -> None:
        """A field was written or emptied; what is wrong is said beside it at once, and stays as typed."""
        name = what.get("write") or what.get("reset")
        if name in FIELDS:
            self.texts()[name] = str(what.get("text", "")).strip()
            self.judge()
            self.write()

    def _today(self) -> float | None:
        """What the plant has for the key, where that is one number."""
        plant = self.desk.session.plant
        value = plant[self.chosen] if plant is not None and self.chosen in plant else None
        return float(value) if isinstance(value, Figure) else None

    def judge(self) -> list[str]:
        """Values of the key; empty when a field is wrong, which is then said beside it."""
        self.said = {}
        if not self.numbers:
            return [str(v) for v in self.options.value]
        typed, key = self.texts(), self.chosen
        wanted = typed.get("points") or self.usual
        if not (wanted.isascii() and wanted.removeprefix("-").isdecimal() and len(wanted) < 10):
            self.said["points"] = str(DesignError("not a whole number", where=FIELDS["points"], value=wanted,
                                                  do="enter one, for example 16"))
            return []
        points = int(wanted)
        if points > MOST:
            self.said["points"] = str(DesignError(
                "more points than a page shows", where=FIELDS["points"], value=wanted, allowed=f"2 to {MOST}",
                do="take fewer, or run desalbook sweep in a terminal, which has no such limit"))
            return []
        try:
            low, high = first_look(self.meta, self._today())
            return spread(self.desk.session.design, key, typed.get("from") or low, typed.get("to") or high, points)
        except Problem as problem:
            where = {"steps": "points"}.get(problem.where, problem.where.rpartition(", ")[2])
            self.said[where if where in FIELDS else "to"] = str(problem)
            return []

    def write(self) -> None:
        """Everything that depends on the key and the display set."""
        if not self.chosen:
            self.about.html, self.turn.rows = "", []
            self.key.layout.display = self.options.layout.display = "none"
            self.desk.shows()
            return
        m, key, typed, units = self.meta, self.chosen, self.texts(), self.desk.units
        self.key.layout.display = None
        row = controls.row(self.desk.session, key, m, units)
        stands = row["text"] or "blank"
        self.about.html = (f'<div class="desalbook"><details class="quiet" data-key="about"><summary>'
                           f"{escape(f'current value {stands}')}{escape(', ' + row['range'] if row['range'] else '')}"
                           f"</summary>{escape(row['help'])}</details></div>")
        if self.numbers:
            ends = spread_ends(m, units, self._today())
            waits = {"from": ends[0], "to": ends[1], "points": self.usual}
            self.turn.rows = [_field(n, t, typed.get(n, ""), waits[n], self.said.get(n, ""))
                              for n, t in FIELDS.items()]
        else:
            options = [(words, v) for v, words in row["options"] if v]
            self.turn.rows = []
            if list(self.options.options) != options:
                self.options.options = options
                self.options.rows = min(max(len(options), 2), 8)
                self.options.value = tuple(v for _, v in options)
        self.options.layout.display = "none" if self.numbers else None
        self.desk.shows()


class _NotRun(Exception):
    """What a study on the desk lacks, as a sentence."""


@dataclass(frozen=True)
class _Study:
    """A study as the desk has it: its texts by key, what it follows, what is kept with its rows."""

    kind: str
    design: Any
    texts: Mapping[str, list[str]]
    follow: tuple[str, ...]
    what: Mapping[str, str]
    goals: Mapping[str, str]
    most: int
    cases: int
    sized: Any

    @property
    def print_(self) -> str:
        """By which its results are known again."""
        return identity(self.design, self.texts, self.follow, self.what)[1]


class Desk(w.VBox):
    """One study at a time; the last one stays in view until the next has run.

    Parameters
    ----------
    design : Design or path
        Of a path the file is open, and others can be opened.
    units : {"si", "us"}
    keeps : bool
        Whether the file that is opened here is opened by the next notebook as well.
    """

    def __init__(self, design: Any, units: str = "si", keeps: bool = False):
        path = design if isinstance(design, (str, Path)) else None
        self.session = Session(api.read(design) if path is not None else design, api.size, path or "", keeps)
        self.units = units
        self.errors: list[str] = []
        self.study: Sweep | None = None
        self.rows: list[Row] = []
        self.task: asyncio.Task | None = None
        self.followed = [i for i in FOLLOW if self.session.plant is not None and i in self.session.plant]
        self._kept: dict[str, list[str]] = {}
        self.goals: dict[str, str] = dict(GOALS)
        self._stop = threading.Event()
        self.keeps = keeps
        self._pool: ProcessPoolExecutor | None = None
        self._file: Path | None = None
        self.ran = self._next = "curve"
        self.drawn = self.followed[0] if self.followed else ""
        self._wrong: dict[str, str] = {}
        self._fixed: tuple[Any, Any] | None = None
        self._cancelled, self._times = False, [0.0]
        self.jumps: dict[str, list[Jump]] = {}
        self.fields = self._varied()
        self.guard = guard = self._guard
        self.hardware = w.Dropdown(description="Hardware", style=_WIDE, layout=_FIELD, options=[
            ("sized anew at each value", "anew"), ("fixed as the design has it now", "held")])
        self.kind = w.Dropdown(options=[(words, k) for k, words in KINDS.items()], value="curve", description="Study",
                               style=_WIDE, layout=_FIELD)
        self.most = w.Text("60", description="Plants at most", style=_WIDE, continuous_update=False,
                           layout=w.Layout(width="220px", display="none"))
        self.name = w.Text(description="Results file", placeholder="kept in the hidden folder", style=_WIDE,
                           continuous_update=False, layout=w.Layout(width="300px"))
        self.processes = w.Dropdown(options=[str(n) for n in range(1, min(os.cpu_count() or 2, _PROCESSES) + 1)],
                                    description="Processes", style=_WIDE, layout=w.Layout(width="150px"))
        self.set = w.Dropdown(options=[("SI", "si"), ("US", "us")], value=units, description="Units", style=_WIDE,
                              layout=w.Layout(width="140px"))
        self.add = w.Combobox(description="Follow a value", placeholder="id of a value, or a part of it", style=_WIDE,
                              continuous_update=False, layout=_FIELD, options=self._known())
        self.head, self.list, self.picture = Page(), Page(guard(self._asked)), Page(guard(self._picked))
        self.runner, self.table = Runner(guard(self._pressed)), Rows()
        self.ready = False
        self.first, self.second, self.third = Axis(self), Axis(self, True), Axis(self, True)
        self.chosen = Chosen(self.session, guard, self._saved)
        self.offered = Page(guard(self._picked))
        self.part, self.key, self.turn, self.about = (self.first.part, self.first.key, self.first.turn,
                                                      self.first.about)
        self.files = Files(self.session, self._opened, writes=False, exports=False)
        for one in (self.hardware, self.most, self.name, *(a.options for a in (self.first, self.second, self.third))):
            one.observe(guard(lambda _: self._look()), names="value")
        self.kind.observe(guard(lambda c: self._turned(c["old"], c["new"])), names="value")
        self.set.observe(guard(lambda c: self._switch(c["new"])), names="value")
        self.add.observe(guard(lambda c: self._follow(c["new"].strip())), names="value")
        wrap = w.Layout(flex_flow="row wrap", align_items="flex-start")
        column = w.Layout(flex="1 1 420px")
        run_with = w.HBox([self.most, self.name, self.processes], layout=w.Layout(flex_flow="row wrap"))
        left = w.VBox([self.first, self.hardware, run_with], layout=column)
        middle = w.VBox([self.second, self.third], layout=column)
        right = w.VBox([w.HTML("<b>Follow</b>"), self.add, self.list], layout=column)
        style = w.HTML(f"<style>{css()}{STYLE}{STUDY_STYLE}</style>")
        super().__init__([Keys(), style, self.set, self.files, self.head, self.kind,
                          w.HBox([left, middle, right], layout=wrap), self.runner, self.picture, self.offered,
                          self.chosen, self.table])
        self._turned("curve", "curve")
        self.add_class("desalbook").add_class("db-desk")
        self.ready = True
        self._top()
        self.shows()

    def _turned(self, was: str, now: str) -> None:
        """Another kind of study: its keys, and what it follows; what was followed before comes back with its kind."""
        self._kept[was] = self.followed
        plant = self.session.plant
        usual = [i for i in _FOLLOW_OF.get(now, FOLLOW) if plant is not None and i in plant]
        self.followed = self._kept.get(now, usual)
        self.drawn = self.followed[0] if self.followed else ""
        self.most.layout.display = None if now == "frontier" else "none"
        self.third.layout.display = None if now == "frontier" else "none"
        self.second.head.value = "<b>And at each of</b>" if now == "curve" else "<b>And</b>"
        if now == "map" and not self.second.chosen and "membrane" in self.fields:
            self.second.part.value = "membrane"
            key = next(k for k in ("membrane.vessels", "membrane.recovery") if k != self.first.chosen)
            if key in self.fields["membrane"]:
                self.second.key.value = key
        self.shows()

    @property
    def axes(self) -> tuple[Axis, ...]:
        """The keys of this kind of study."""
        every = (self.first, self.second, self.third) if self.kind.value == "frontier" else (self.first, self.second)
        return tuple(a for a in every if a.chosen)

    def _varied(self) -> dict[str, dict[str, FieldMeta]]:
        """Keys that can be varied, by section: numbers and choices."""
        return {part: some for part, every in controls.fields(self.session.design).items()
                if (some := {k: m for k, m in every.items() if m.form in ("quantity", "choice", "flag")})}

    # what a person does ---------------------------------------------------------------------------------

    def _guard(self, what: Callable[[Any], None]) -> Callable[[Any], None]:
        return guarded(what, self.errors, self._wrong_said)

    def _wrong_said(self, words: str) -> None:
        self.runner.said = f"✗ {words}"

    def _defect(self, error: BaseException) -> None:
        self._wrong_said(defect(error, self.errors))

    def write(self, name: str, text: str) -> None:
        """Write ``from``, ``to`` or ``points`` of the first key, as typing it does."""
        self.first.turn.ask({"write": name, "text": text})

    def _opened(self) -> None:
        """Another design: its keys and values; the last study stays in view until the next has run."""
        self.fields = self._varied()
        plant = self.session.plant
        self.add.options = self._known()
        if plant is not None:
            self.followed = [i for i in self.followed if i in plant] or [i for i in FOLLOW if i in plant]
        if self.drawn not in self.followed:
            self.drawn = self.followed[0] if self.followed else ""
        for axis in (self.first, self.second, self.third):
            axis.again()
        self._top()
        self.shows()

    def _top(self) -> None:
        """Which design is studied, and what is wrong with it or with its file."""
        session = self.session
        name = session.path.name if session.path is not None else "A design without a file"
        wrong = "".join(f'<div class="db-wrong" role="alert">✗ {escape(x)}</div>' for x in session.messages.values())
        self.head.html = (f'<div class="desalbook"><b>{escape(name)}</b> <span class="quiet">design '
                          f"{escape(session.design.hash[:12])}</span>{wrong}</div>")

    def _pressed(self, what: Mapping[str, Any]) -> None:
        if "run" in what:
            self.run()
        elif "continue" in what:
            self.run(goes_on=True)
        elif "cancel" in what:
            self.cancel()

    def _asked(self, what: Mapping[str, Any]) -> None:
        if "draw" in what:
            self.drawn = what["draw"]
        elif "goal" in what:
            sense = _NEXT[self.goals.pop(what["goal"], "")]
            if sense:
                self.goals[what["goal"]] = sense
        elif "remove" in what:
            self.followed = [i for i in self.followed if i != what["remove"]]
            if self.drawn not in self.followed:
                self.drawn = self.followed[0] if self.followed else ""
        self.shows()

    def _picked(self, what: Mapping[str, Any]) -> None:
        """A point of a map or frontier was chosen: what it has that the design of today has not."""
        place = what.get("pick")
        if self.study is not None and isinstance(place, int) and 0 <= place < len(self.rows):
            self.chosen.show(self.study, self.rows[place], self.units)
            self._show()

    def _saved(self) -> None:
        self.files.look()

    def _follow(self, id: str) -> None:
        """Follow one figure more; what cannot be followed is said, and what was typed stays."""
        if not id:
            return
        self._wrong.pop("follow", None)
        plant = self.session.plant
        try:
            if plant is None:
                raise DesignError("this design is not feasible", where="follow", value=id)
            if id == "guarantee.risk" and not spreads_of(self.session.design)[0]:
                raise DesignError("the design states no spreads to draw from", where="follow", value=id,
                                  do="add [[spreads]] to the design file, with an input, low and high")
            if id not in GOAL_FIGURES and not isinstance(plant[id], Figure):
                raise DesignError("not one number", where="follow", value=id, do="follow a value that is one number")
        except Problem as problem:
            self._wrong["follow"] = str(problem)
        else:
            if id not in self.followed:
                self.followed.append(id)
            self.drawn = id
            if self.kind.value == "frontier":
                self.goals.setdefault(id, "minimum")
            self.add.value = ""
        self.shows()

    def _switch(self, units: str) -> None:
        self.units = units
        for axis in (self.first, self.second, self.third):
            axis.write()
        if self.study is not None and self.chosen.row is not None:
            self.chosen.show(self.study, self.chosen.row, units)
        if not self.running:
            self._table()

    def _table(self) -> None:
        """The table as it can be carried away."""
        if self.study is not None:
            self.runner.name = f"study-{self.study.keys[0]}.csv"
            self.runner.csv = self.study.frame(self.rows, self.units).to_csv(index=False, lineterminator="\n")

    # running --------------------------------------------------------------------------------------------

    @property
    def running(self) -> bool:
        """A study is under way."""
        return self.runner.running

    def _asked_for(self) -> _Study:
        """The study on the desk; what is missing is refused in one line."""
        asked, kind = {}, str(self.kind.value)
        for axis in self.axes:
            asked[axis.chosen] = axis.judge()
        if not asked or not all(asked.values()):
            raise _NotRun("see what is said beside the fields, or choose a value to vary over.")
        if len(asked) < len(self.axes):
            raise _NotRun("the two keys are the same. Choose another, or none.")
        if kind == "map" and len(asked) != 2:
            raise _NotRun("a map has two keys. Choose the second.")
        cases, follow, hardware = prod(map(len, asked.values())), list(self.followed), str(self.hardware.value)
        what, goals, most = {"study": kind, "hardware": hardware}, dict[str, str](), 0
        if kind == "frontier":
            wanted = str(self.most.value).strip()
            if not (wanted.isascii() and wanted.isdecimal() and 2 <= int(wanted) <= MOST):
                raise _NotRun(f"plants at most is {wanted or 'blank'}; enter a number from 2 to {MOST}.")
            goals = {i: self.goals[i] for i in follow if i in self.goals}
            if not goals:
                raise _NotRun("no goal. Press Goal beside a value that is followed.")
            most = int(wanted)
            cases, follow, what = min(cases, most), list(dict.fromkeys([*goals, *follow])), about(goals, most, hardware)
        elif cases > MOST:
            raise _NotRun(f"{cases} cases, at most {MOST}. Take fewer values of one key.")
        if not follow:
            raise _NotRun("follow at least one figure.")
        session = self.session
        if hardware == "held" and session.plant is None:
            raise DesignError("no plant whose hardware could be fixed", where="hardware", do="size it anew")
        design = session.design if hardware == "anew" else self._held()
        sized = session.plant.sized if hardware == "anew" and session.plant is not None and not session.stale else None
        return _Study(kind, design, asked, tuple(follow), what, goals, most, cases, sized)

    def _held(self) -> Any:
        plant = self.session.plant
        if self._fixed is None or self._fixed[0] is not plant:
            self._fixed = plant, api.hold(plant)
        return self._fixed[1]

    def _kept_in(self, asked: _Study, print_: str) -> Path | None:
        """Where the rows of a study are kept; none where no file is named and nothing is kept for a person."""
        typed = str(self.name.value).strip()
        if typed:
            name = typed if typed.lower().endswith((".csv", ".parquet")) else f"{typed}.csv"
            return self.session.folder / checked_name(name, self.session.folder)
        path = self.session.path
        stem = path.stem if path is not None else "design"
        return (paths.hidden(self.session.folder) / "studies" / f"{stem}-{asked.kind}-{print_[:12]}.csv"
                if self.keeps else None)

    def _look(self) -> None:
        """Whether rows of this very study are kept, from which it can go on."""
        if self.running or not self.ready:
            return
        self.runner.kept = ""
        with contextlib.suppress(Problem, _NotRun):
            asked = self._asked_for()
            file = self._kept_in(asked, print_ := asked.print_)
            done, cases = kept(file, print_) if file is not None else (0, 0)
            if done:
                self.runner.kept = f"Show {done} kept" if done == cases else f"Continue, {done} of {cases} kept"

    def run(self, goes_on: bool = False) -> None:
        """Run the study: beside the page where a loop runs, else at once and to its end.

        Parameters
        ----------
        goes_on : bool
            Go on with the rows that are kept of it; else it begins anew.
        """
        if self.running:
            return
        try:
            asked = self._asked_for()
            file = self._kept_in(asked, print_ := asked.print_)
            if file is not None and not self._ready(file, print_, goes_on):
                file = None
        except _NotRun as missing:
            for axis in self.axes:
                axis.write()
            self.runner.said = f"✗ Not run: {missing}"
            return
        except Problem as problem:
            self.runner.said = f"✗ {problem}"
            return
        self._cancelled, self._times, self._stop, self._next = False, [time.monotonic()], threading.Event(), asked.kind
        self._file = file
        self.chosen.clear()
        for axis in self.axes:
            axis.write()
        self.runner.set_trait("running", True)
        self.runner.said, self.runner.csv, self.runner.done, self.runner.cases = "", "", 0, asked.cases
        self.runner.kept, self.runner.count = "", f"0 of {asked.cases}"
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            with self._watched():
                self._work(asked, file, self._begin, self._point)
                if self._may_jump() and self.study is not None:
                    self.jumps = {id: jumps(self.study, self.rows, id) for id in self.study.follow}
        else:
            self.task = loop.create_task(self._beside(asked, file, loop))

    def _ready(self, file: Path, print_: str, goes_on: bool) -> bool:
        """Make room for the results; False where the hidden folder takes none, which nobody asked for."""
        typed = str(self.name.value).strip()
        done, cases = kept(file, print_)
        if typed and done and not goes_on:
            raise _NotRun(f"{file.name} holds {done} of {cases} rows of this study. Continue, or give another name.")
        if typed:
            return True
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
            if not goes_on:
                remove(file)
            for old in sorted(file.parent.glob("*.run.json"), key=lambda f: f.stat().st_mtime)[:-_MOST_KEPT]:
                remove(old.with_name(old.name.removesuffix(".run.json")))
        except OSError:
            return False
        return True

    def cancel(self) -> None:
        """Stop at once; what is done stays, and can be continued where it is kept."""
        if self.running:
            self._cancelled = True
            self._stop.set()
            self.runner.count = "stopping"

    def _workers(self) -> ProcessPoolExecutor | None:
        """The processes that were asked for; they stay for the next study."""
        count = int(str(self.processes.value))
        if self._pool is not None and workers(self._pool) != count:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None
        if count > 1 and self._pool is None:
            self._pool = processes(count, clean=True)
        return self._pool

    def _work(self, asked: _Study, file: Path | None, begin: Callable[[Sweep], object],
              each: Callable[[Sweep, Row], object]) -> None:
        """The whole study; each row is told as it comes."""
        study = Sweep(asked.design, asked.texts, asked.follow, plant=asked.sized)
        begin(study)
        how: dict[str, Any] = {"executor": self._workers(), "results": file, "cancel": self._stop, "each": each}
        if asked.kind == "frontier":
            not_beaten(study, asked.goals, most=asked.most, hardware=asked.what["hardware"], **how)
        else:
            study.through(asked.what, **how)

    async def _beside(self, asked: _Study, file: Path | None, loop: asyncio.AbstractEventLoop) -> None:
        """In a thread: meanwhile the kernel hears what a person does, and each row is drawn as it comes."""
        def begin(study: Sweep) -> None:
            loop.call_soon_threadsafe(self.guard(lambda _: self._begin(study)), None)

        def each(study: Sweep, row: Row) -> None:
            loop.call_soon_threadsafe(self.guard(lambda _: self._point(study, row)), None)

        def work() -> None:
            with until(self._stop), contextlib.suppress(Cancelled):
                self._work(asked, file, begin, each)

        with self._watched():
            await asyncio.to_thread(work)
            await asyncio.sleep(0)  # the last points first
            study = self.study
            if study is None or not self._may_jump():
                return
            for id in sorted(study.follow, key=lambda i: i != self.drawn):
                if not self._cancelled:
                    self.runner.count = "looking why curves jump"
                    self.jumps[id] = await asyncio.to_thread(self._jumps, study, id)
                    self._show()

    def _jumps(self, study: Sweep, id: str) -> list[Jump]:
        with until(self._stop), contextlib.suppress(Cancelled):
            return jumps(study, self.rows, id)
        return []

    def _point(self, study: Sweep, row: Row) -> None:
        if self.study is study:
            self._row(row)

    def _may_jump(self) -> bool:
        """Hardware is sized anew over the numbers of one key."""
        study = self.study
        if study is None or self._cancelled or self.ran != "curve" or len(study.keys) != 1:
            return False
        return self.hardware.value == "anew" and study.metas[study.keys[0]].form == "quantity"

    @contextlib.contextmanager
    def _watched(self) -> Iterator[None]:
        """However a study goes, it is said and it ends."""
        try:
            yield
        except Problem as problem:
            self.runner.said = f"✗ {problem}"
        except Exception as error:
            self._defect(error)
        finally:
            self._end()

    def _begin(self, study: Sweep) -> None:
        self.study, self.rows, self.jumps, self.ran = study, [], {}, self._next
        self._show()

    def _row(self, row: Row) -> None:
        self.rows.append(row)
        done, cases = len(self.rows), self.runner.cases
        self._times = [*self._times[-_PACE:], time.monotonic()]  # the pace of late, for the page may have been busy
        left = (self._times[-1] - self._times[0]) / (len(self._times) - 1) * (cases - done)
        self.runner.done = done
        if not self._cancelled:
            self.runner.count = f"{done} of {cases}, {left:.0f} s left"
        self._show()

    def _end(self) -> None:
        try:
            done, cases = len(self.rows), self.runner.cases
            if not self.runner.said:
                self.runner.said = (f"cancelled after {done} of {cases}" if self._cancelled and done < cases
                                    else f"done, {done} of {cases}")
            self._show()
            self._table()
        except Exception as error:
            self._defect(error)
        finally:
            self.runner.set_trait("running", False)
            self._look()

    # what is shown --------------------------------------------------------------------------------------

    def _known(self) -> tuple[str, ...]:
        plant = self.session.plant
        if plant is None:
            return ()
        verdicts = plant.verdicts
        return (*GOAL_FIGURES, *(i for i in plant.ids if i not in verdicts and isinstance(plant[i], Figure)))

    def shows(self) -> None:
        """The pictures again, once the desk is built, and what is kept."""
        if self.ready:
            self._show()
            self._look()

    def _titles(self) -> dict[str, str]:
        plant, found = self.session.plant, {k: m.title for some in self.fields.values() for k, m in some.items()}
        for id in (*self.followed, *(self.study.follow if self.study else ())):
            if id in GOAL_FIGURES:
                found[id] = GOAL_FIGURES[id].title
            elif plant is not None and id in plant:
                found[id] = plant[id].title or id
        return found

    def _show(self) -> None:
        """The list of figures, the table and the picture."""
        titles, items = self._titles(), []
        for id in self.followed:
            name = escape(titles.get(id, id))
            acts = "".join(f'<button type="button" data-ask="{{&quot;{act}&quot;:&quot;{escape(id)}&quot;}}" '
                           f'aria-label="{word} {name}"{pressed}>{word}</button> ' for act, word, pressed in
                           (("draw", "Draw", f' aria-pressed="{str(id == self.drawn).lower()}"'),
                            ("remove", "Remove", "")))
            if self.kind.value == "frontier":
                goal = self.goals.get(id, "")
                acts += (f'<button type="button" data-ask="{{&quot;goal&quot;:&quot;{escape(id)}&quot;}}" '
                         f'aria-label="Goal, {name}: {goal or "none"}">Goal: {goal or "none"}</button> ')
            items.append(f'<li>{acts}{"<b>" if id == self.drawn else ""}{name}{"</b>" if id == self.drawn else ""} '
                         f'<span class="quiet">{escape(id)}</span></li>')
        wrong = self._wrong.get("follow", "")
        said = f'<p class="db-wrong" role="alert">✗ {escape(wrong)}</p>' if wrong else ""
        self.list.html = f'<div class="desalbook"><ul class="db-follow">{"".join(items)}</ul>{said}</div>'
        study = self.study
        if study is None:
            self.picture.html = '<div class="desalbook"><p class="quiet">No study yet. Choose Run.</p></div>'
            self.offered.html = ""
            return
        self.table.table = study_table(study, self.rows, titles, self.units)
        key, mapped, front = study.keys[0], self.ran == "map", self.ran == "frontier"
        goals = {i: s for i, s in self.goals.items() if i in study.follow}
        self.offered.html = self._offer(study, goals, titles) if self.ran != "curve" else ""
        if front and goals:
            body = frontier_picture(study, self.rows, goals, self.drawn, titles, self.units, self.chosen.row)
        elif mapped and self.drawn in study.follow and self.drawn in study.kinds():
            body = map_picture(study, self.rows, self.drawn, titles, self.units, self.chosen.row)
        elif self.drawn in study.follow:
            body = study_picture(study, self.rows, self.drawn, titles, self.units, self.jumps.get(self.drawn, ()))
        else:
            body = '<p class="quiet">This figure was not followed in the last study. Choose Run.</p>'
        over = " and ".join(low_first(titles.get(k, k)) for k in study.keys)
        about = f"Plants over {over}" if front else f"{titles.get(self.drawn, self.drawn)} over {over}" + (
            f", {study.cases[0][key]} to {study.cases[-1][key]}" if study.metas[key].form == "quantity" else "")
        self.picture.html = (
            f'<figure class="desalbook"><figcaption>{escape(about)} <button type="button" '
            f'data-download="study-{escape(key)}.svg" data-title="{escape(about, quote=True)}">'
            f"Download picture</button></figcaption>{body}</figure>")


    def _offer(self, study: Sweep, goals: Mapping[str, str], titles: Mapping[str, str]) -> str:
        """Points that can be chosen: those that are not beaten, or of a map those with the lowest value drawn."""
        kinds = study.kinds()
        if self.ran == "frontier":
            some, said = front_of(self.rows, goals) if goals else (), "Not beaten by any other"
        else:
            good = [r for r in self.rows if not r.fails and isinstance(r.figures.get(self.drawn), float)]
            some = sorted(good, key=lambda r: r.figures[self.drawn])[:_LISTED]  # type: ignore[arg-type, return-value]
            said = f"Every limit met, lowest {low_first(titles.get(self.drawn, self.drawn))} first"
        if not some:
            return '<div class="desalbook"><p class="quiet">No plant that meets every limit yet.</p></div>'
        places = {r.id: n for n, r in enumerate(self.rows)}
        columns = [*study.keys, *study.follow]
        kinds = {**kinds, **{k: m.kind.name for k, m in study.metas.items() if m.kind is not None}}
        money = str(study.design.get("energy.currency"))
        head = "".join(f"<th>{escape(titles.get(c, c))}{unit_words(kinds.get(c), self.units, money)}</th>"
                       for c in columns)
        body = []
        for n, row in enumerate(some, 1):
            cells = "".join(f'<td class="{"" if kinds.get(c) else "w"}">'
                            f"{escape(value_words(study, row, c, kinds.get(c), self.units))}</td>" for c in columns)
            pressed = str(self.chosen.row is not None and self.chosen.row.texts == row.texts).lower()
            ask = escape(f'{{"pick":{places[row.id]}}}')
            body.append(f'<tr><th scope="row">{n}</th><td><button type="button" data-ask="{ask}" '
                        f'aria-pressed="{pressed}" aria-label="Choose point {n}">Choose</button></td>{cells}</tr>')
        return (f'<div class="desalbook db-study db-offer" tabindex="0" role="region" aria-label="{escape(said)}">'
                f"<p><b>{escape(said)}</b></p><table><thead><tr><th></th><th></th>{head}</tr></thead>"
                f'<tbody>{"".join(body)}</tbody></table></div>')


def value_words(study: Sweep, row: Row, name: str, kind: str | None, units: str) -> str:
    """What a key or a followed value is at a point, as people read it."""
    m = study.metas.get(name)
    value = row.values.get(name) if m is not None else row.figures.get(name)
    if isinstance(value, float) and kind:
        return show(value, kind, units, False)
    return str(m.options.get(str(value), value)) if m is not None else "–" if value is None else str(value)


def spread_ends(m: FieldMeta, units: str, today: float | None = None) -> tuple[str, str]:
    """The range that is taken when nothing is typed, for the empty fields."""
    ends = first_look(m, today)
    if m.kind is None:
        return "", ""
    low, high = ("to be given" if x is None else show(x, m.kind, units, trim=True, digits=6) for x in ends)
    return low, high


def _field(name: str, title: str, text: str, wait: str, said: str) -> dict[str, Any]:
    return {"key": name, "title": title, "unit": "", "shown_unit": None, "form": "quantity", "text": text,
            "options": [], "number": None,
            "low": None, "high": None, "step": None, "assumed": False, "stands": bool(text), "required": False,
            "wait": wait, "said": said, "ways": [], "range": "", "sign": name,
            "help": "", "wants": [], "named": False, "least": 0, "choices": [], "places": []}
