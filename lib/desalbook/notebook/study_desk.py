"""The desk of a study: which key, from where to where, what is followed; it runs beside the page and can be stopped."""

from __future__ import annotations

import asyncio
import contextlib
import time
import traceback
from collections.abc import Callable, Iterator, Mapping
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook import api, paths
from desalbook.notebook import controls
from desalbook.notebook.blocks import STYLE
from desalbook.notebook.keys import part_words
from desalbook.notebook.pictures.study import study_picture, study_table
from desalbook.notebook.session import Session
from desalbook.notebook.widgets import STUDY_STYLE, Keys, Page, Rows, Runner, Turn
from desalbook.problems import DesignError, Problem
from desalbook.study import Row, Sweep, spread
from desalbook.theme import css
from desalbook.trail import Figure
from desalbook.trail.words import low_first
from desalbook.units import FieldMeta

__all__ = ["Desk", "desk", "headlines"]

_WIDE = {"description_width": "initial"}
_FIELD = w.Layout(width="min(440px, 96%)")
MOST = 2000
"""Points of one study on a page, whose table and picture show each of them."""
_PACE = 6  # rows from which the time left is told
FOLLOW = ("membrane.feed_pressure", "energy.plant_specific", "membrane.permeate_tds", "membrane.flux")
"""What a new desk follows."""
FIELDS = {"from": "From, with its unit", "to": "To, with its unit", "points": "Number of values"}


def desk(design: Any = None, units: str = "si") -> Desk:
    """A desk for studies of one design.

    Parameters
    ----------
    design : Design or path, optional
        The design of ``desalbook lab FILE``, else the harbour demo.
    units : {"si", "us"}
    """
    return Desk(paths.chosen("harbour-town.toml") if design is None else design, units)


def headlines(frame: Any, id: str) -> str:
    """One column of a study as a text, a line for each case."""
    column = next(c for c in frame.columns if c.partition(", ")[0] == id)
    unit = column.partition(", ")[2]
    rows = [(r["id"], "no plant" if r["problem"] else f"{f'{r[column]:#.4g}'.rstrip('.')} {unit}".strip())
            for r in frame.to_dict("records")]
    wide = max((len(t) for t, _ in rows), default=0)
    return "\n".join(f"{t:<{wide}}  {v}" for t, v in rows)


class Desk(w.VBox):
    """One study at a time; the last one stays in view until the next has run.

    Parameters
    ----------
    design : Design or path
    units : {"si", "us"}
    """

    def __init__(self, design: Any, units: str = "si"):
        self.session = Session(api.read(design) if isinstance(design, (str, Path)) else design, api.size)
        self.units = units
        self.errors: list[str] = []
        self.study: Sweep | None = None
        self.rows: list[Row] = []
        self.task: asyncio.Task | None = None
        self.followed = [i for i in FOLLOW if self.session.plant is not None and i in self.session.plant]
        self.drawn = self.followed[0] if self.followed else ""
        self._typed: dict[str, dict[str, str]] = {}
        self._said: dict[str, str] = {}
        self._cancelled, self._times = False, [0.0]
        self._fields = {part: some for part, every in controls.fields(self.session.design).items()
                        if (some := {k: m for k, m in every.items() if m.form == "quantity"})}
        first = "membrane" if "membrane" in self._fields else next(iter(self._fields))
        self.part = w.Dropdown(options=[(part_words(p), p) for p in self._fields], value=first,
                               description="Section", style=_WIDE, layout=_FIELD)
        self.key = w.Dropdown(description="Key to vary", style=_WIDE, layout=_FIELD)
        self.hardware = w.Dropdown(description="Hardware", style=_WIDE, layout=_FIELD, options=[
            ("sized anew at each value", "anew"), ("held as the design is now", "held")])
        self.set = w.Dropdown(options=[("SI", "si"), ("US", "us")], value=units, description="Units", style=_WIDE,
                              layout=w.Layout(width="140px"))
        self.add = w.Combobox(description="Follow a value", placeholder="id of a value, or a part of it", style=_WIDE,
                              continuous_update=False, layout=_FIELD, options=self._known())
        guard = self._guard
        self.about, self.list, self.picture = Page(), Page(guard(self._asked)), Page()
        self.turn, self.runner = Turn(guard(self._heard)), Runner(guard(self._pressed))
        self.table = Rows()
        self._rekey()
        self.part.observe(guard(lambda _: self._rekey()), names="value")
        self.key.observe(guard(lambda _: self._write()), names="value")
        self.set.observe(guard(lambda c: self._switch(c["new"])), names="value")
        self.add.observe(guard(lambda c: self._follow(c["new"].strip())), names="value")
        wrap = w.Layout(flex_flow="row wrap", align_items="flex-start")
        left = w.VBox([w.HTML("<b>Vary</b>"), self.part, self.key, self.about, self.turn, self.hardware],
                      layout=w.Layout(flex="1 1 420px"))
        right = w.VBox([w.HTML("<b>Follow</b>"), self.add, self.list], layout=w.Layout(flex="1 1 420px"))
        style = w.HTML(f"<style>{css()}{STYLE}{STUDY_STYLE}</style>")
        super().__init__([Keys(), style, self.set, w.HBox([left, right], layout=wrap), self.runner, self.picture,
                          self.table])
        self.add_class("desalbook").add_class("db-desk")
        self._write()

    # what a person does ---------------------------------------------------------------------------------

    def _guard(self, what: Callable[[Any], None]) -> Callable[[Any], None]:
        """A front end swallows errors of callbacks; here they are kept and said."""
        def wrapped(event: Any) -> None:
            try:
                what(event)
            except Problem as problem:
                self.runner.said = f"✗ {problem}"
            except Exception as error:
                self._defect(error)
        return wrapped

    def _defect(self, error: BaseException) -> None:
        self.errors.append("".join(traceback.format_exception(error)))
        self.runner.said = f"✗ A defect of this kit: {' '.join(str(error).split()) or type(error).__name__}"

    def _heard(self, what: Mapping[str, Any]) -> None:
        """A field was written or emptied; what is wrong is said beside it at once, and stays as typed."""
        name = what.get("write") or what.get("reset")
        if name in FIELDS:
            self.write(name, str(what.get("text", "")))

    def write(self, name: str, text: str) -> None:
        """Write ``from``, ``to`` or ``points``, as typing it does."""
        self._texts()[name] = text.strip()
        self._judge()
        self._write()

    def _pressed(self, what: Mapping[str, Any]) -> None:
        if "run" in what:
            self.run()
        elif "cancel" in what:
            self.cancel()

    def _asked(self, what: Mapping[str, Any]) -> None:
        if "draw" in what:
            self.drawn = what["draw"]
        elif "remove" in what:
            self.followed = [i for i in self.followed if i != what["remove"]]
            if self.drawn not in self.followed:
                self.drawn = self.followed[0] if self.followed else ""
        self._show()

    def _follow(self, id: str) -> None:
        """Follow one figure more; what cannot be followed is said, and what was typed stays."""
        if not id:
            return
        self._said.pop("follow", None)
        plant = self.session.plant
        try:
            if plant is None:
                raise DesignError("the design has no plant as it stands", where="follow", value=id)
            if not isinstance(plant[id], Figure):
                raise DesignError("not one number", where="follow", value=id, do="follow a value that is one number")
        except Problem as problem:
            self._said["follow"] = str(problem)
        else:
            if id not in self.followed:
                self.followed.append(id)
            self.drawn = id
            self.add.value = ""
        self._show()

    def _switch(self, units: str) -> None:
        self.units = units
        self._write()
        if not self.running:
            self._file()

    def _file(self) -> None:
        """The table as it can be carried away."""
        if self.study is not None:
            self.runner.name = f"study-{self.study.keys[0]}.csv"
            self.runner.csv = self.study.frame(self.rows, self.units).to_csv(index=False, lineterminator="\n")

    def _rekey(self) -> None:
        fields = self._fields[str(self.part.value)]
        self.key.options = [(m.title, k) for k, m in fields.items()]
        wanted = "membrane.recovery"
        self.key.value = wanted if wanted in fields else next(iter(fields))
        self._write()

    # running --------------------------------------------------------------------------------------------

    @property
    def running(self) -> bool:
        """A study is under way."""
        return self.runner.running

    def run(self) -> None:
        """Run the study: beside the page where a loop runs, else at once and to its end."""
        if self.running:
            return
        texts = self._judge()
        self._write()
        if not texts:
            self.runner.said = "✗ Not run: see what is said beside the fields."
            return
        if not self.followed:
            self.runner.said = "✗ Not run: follow at least one figure."
            return
        design = self.session.design
        if self.hardware.value == "held":
            if self.session.plant is None:
                raise DesignError("no plant whose hardware could be held", where="hardware", do="size it anew")
            design = api.hold(self.session.plant)
        asked = (design, {str(self.key.value): texts}, tuple(self.followed))
        self._cancelled, self._times = False, [time.monotonic()]
        self.runner.set_trait("running", True)
        self.runner.said, self.runner.csv, self.runner.done, self.runner.cases = "", "", 0, len(texts)
        self.runner.count = f"0 of {len(texts)}"
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._through(asked)
        else:
            self.task = loop.create_task(self._beside(asked))

    def cancel(self) -> None:
        """Stop after the value that is under way; what is done stays."""
        if self.running:
            self._cancelled = True
            self.runner.count = "stopping"

    async def _beside(self, asked: tuple) -> None:
        """One value at a time in a thread: between two of them the kernel hears what a person does."""
        with self._watched():
            study = await asyncio.to_thread(Sweep, *asked)
            self._begin(study)
            rows = study.rows()
            while not self._cancelled and (row := await asyncio.to_thread(next, rows, None)) is not None:
                self._row(row)

    def _through(self, asked: tuple) -> None:
        with self._watched():
            study = Sweep(*asked)
            self._begin(study)
            for row in study:
                self._row(row)
                if self._cancelled:
                    break

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
        self.study, self.rows = study, []
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
            self._file()
        except Exception as error:
            self._defect(error)
        finally:
            self.runner.set_trait("running", False)

    # what is shown --------------------------------------------------------------------------------------

    def _known(self) -> tuple[str, ...]:
        plant = self.session.plant
        if plant is None:
            return ()
        verdicts = plant.verdicts
        return tuple(i for i in plant.ids if i not in verdicts and isinstance(plant[i], Figure))

    def _meta(self) -> FieldMeta:
        return self._fields[str(self.part.value)][str(self.key.value)]

    def _texts(self) -> dict[str, str]:
        """What was typed for the key on the desk; each key keeps its own."""
        return self._typed.setdefault(str(self.key.value), {})

    def _judge(self) -> list[str]:
        """Values of the study; empty when a field is wrong, which is then said beside it."""
        typed, key = self._texts(), str(self.key.value)
        self._said = {k: v for k, v in self._said.items() if k not in FIELDS}
        wanted = typed.get("points") or "16"
        if not (wanted.isascii() and wanted.removeprefix("-").isdecimal() and len(wanted) < 10):
            self._said["points"] = str(DesignError("not a whole number", where=FIELDS["points"], value=wanted,
                                                   do="enter one, for example 16"))
            return []
        points = int(wanted)
        if points > MOST:
            self._said["points"] = str(DesignError(
                "more points than a page shows", where=FIELDS["points"], value=wanted, allowed=f"2 to {MOST}",
                do="take fewer, or run desalbook sweep in a terminal, which has no such limit"))
            return []
        try:
            return spread(self.session.design, key, typed.get("from") or None, typed.get("to") or None, points)
        except Problem as problem:
            where = {"steps": "points"}.get(problem.where, problem.where.rpartition(", ")[2])
            self._said[where if where in FIELDS else "to"] = str(problem)
            return []

    def _write(self) -> None:
        """Everything that depends on the key and the display set."""
        m, key, typed = self._meta(), str(self.key.value), self._texts()
        row = controls.row(self.session, key, m, self.units)
        stands = row["text"] or "blank"
        self.about.html = (f'<div class="desalbook"><details class="quiet" data-key="about"><summary>'
                           f"{escape(f'current value {stands}')}{escape(', ' + row['range'] if row['range'] else '')}"
                           f"</summary>{escape(row['help'])}</details></div>")
        ends = spread_ends(m, self.units)
        waits = {"from": ends[0], "to": ends[1], "points": "16"}
        self.turn.rows = [_field(n, t, typed.get(n, ""), waits[n], self._said.get(n, "")) for n, t in FIELDS.items()]
        self._show()

    def _titles(self) -> dict[str, str]:
        plant, found = self.session.plant, {k: m.title for some in self._fields.values() for k, m in some.items()}
        for id in (*self.followed, *(self.study.follow if self.study else ())):
            if plant is not None and id in plant:
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
            items.append(f'<li>{acts}{"<b>" if id == self.drawn else ""}{name}{"</b>" if id == self.drawn else ""} '
                         f'<span class="quiet">{escape(id)}</span></li>')
        wrong = self._said.get("follow", "")
        said = f'<p class="db-wrong" role="alert">✗ {escape(wrong)}</p>' if wrong else ""
        self.list.html = f'<div class="desalbook"><ul class="db-follow">{"".join(items)}</ul>{said}</div>'
        study = self.study
        if study is None:
            self.picture.html = '<div class="desalbook"><p class="quiet">No study yet. Choose Run.</p></div>'
            return
        self.table.table = study_table(study, self.rows, titles, self.units)
        key = study.keys[0]
        if self.drawn in study.follow:
            body = study_picture(study, self.rows, self.drawn, titles, self.units)
        else:
            body = '<p class="quiet">This figure was not followed in the last study. Choose Run.</p>'
        about = (f"{titles.get(self.drawn, self.drawn)} over {low_first(titles.get(key, key))}, "
                 f"{study.cases[0][key]} to {study.cases[-1][key]}")
        self.picture.html = (
            f'<figure class="desalbook"><figcaption>{escape(about)} <button type="button" '
            f'data-download="study-{escape(key)}.svg" data-title="{escape(about, quote=True)}">'
            f"Download picture</button></figcaption>{body}</figure>")


def spread_ends(m: FieldMeta, units: str) -> tuple[str, str]:
    """The range that is taken when nothing is typed, for the empty fields."""
    from desalbook.units import show

    ends = m.usual or m.possible or (None, None)
    if m.kind is None:
        return "", ""
    low, high = ("to be given" if x is None else show(x, m.kind, units, trim=True, digits=6) for x in ends)
    return low, high


def _field(name: str, title: str, text: str, wait: str, said: str) -> dict[str, Any]:
    return {"key": name, "title": title, "unit": "", "form": "quantity", "text": text, "options": [], "number": None,
            "low": None, "high": None, "step": None, "assumed": False, "stands": bool(text), "required": False,
            "wait": wait, "said": said, "ways": [], "range": "", "sign": name,
            "help": ""}
