"""The desk of a trainer: who, which exercises, units, seed; hand out, release solutions, read what came back."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from desalbook.notebook.blocks import STYLE
from desalbook.notebook.exercises import classes
from desalbook.notebook.exercises.book import BOOK, SETS
from desalbook.notebook.exercises.sheet import class_page
from desalbook.notebook.guarded import guarded
from desalbook.notebook.widgets import Keys
from desalbook.problems import DesignError
from desalbook.theme import css, role, var

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Trainer", "trainer"]

_WIDE = {"description_width": "initial"}
_NAMED = 4
"""Files that could not be read, told by name."""
_STYLE = """
.db-class table{border-collapse:collapse;font-variant-numeric:tabular-nums}
.db-class :is(td,th){text-align:left;padding:.15em .8em .15em 0;vertical-align:top;font-weight:normal}
.db-class td.n,.db-class td:first-child{white-space:nowrap}
.db-class th{color:var(--db-quiet)}
.db-class .wide{overflow-x:auto}
"""


def trainer(folder: str | Path | None = None, units: str = "si") -> Trainer:
    """A desk for a trainer; the last line of a cell shows it.

    Parameters
    ----------
    folder : path, optional
        Where the folder of the class is made; where the notebook runs when omitted.
    units : {"si", "us"}
    """
    return Trainer(folder, units)


class Trainer(w.VBox):
    """One class at a time.

    Parameters
    ----------
    folder : path, optional
    units : {"si", "us"}
    """

    def __init__(self, folder: str | Path | None = None, units: str = "si"):
        self.folder = Path.cwd() if folder is None else Path(folder)
        self.errors: list[str] = []
        self.frame: pd.DataFrame | None = None
        self.there = w.Dropdown(description="Class on file", style=_WIDE, options=[("a new class", "")],
                                layout=w.Layout(width="320px"))
        self.name = w.Text(description="Class name", placeholder="e.g. plant sizing, week 1", style=_WIDE,
                           continuous_update=False, layout=w.Layout(width="320px"))
        self.students = w.Textarea(description="Students", placeholder="one name a line", style=_WIDE, rows=12,
                                   continuous_update=False, layout=w.Layout(width="260px"))
        self.exercises = w.SelectMultiple(
            description="Exercises", style=_WIDE, rows=12, layout=w.Layout(width="min(480px, 96%)"),
            options=[(f"{n}. {e.title} (level {e.level})", k) for n, (k, e) in enumerate(BOOK.items(), 1)])
        self.part = w.Dropdown(description="Notebook", style=_WIDE, layout=w.Layout(width="280px"),
                               options=[("your own choice", ""), *((name, name) for name in SETS)])
        self.set = w.Dropdown(options=[("SI", "si"), ("US", "us")], value=units, description="Units", style=_WIDE,
                              layout=w.Layout(width="120px"))
        self.seed = w.Text(description="Seed", value="1", style=_WIDE, continuous_update=False,
                           layout=w.Layout(width="160px"), tooltip="Another seed gives every student other numbers")
        self.hand, self.free, self.read, self.save, self.show = (
            w.Button(description=d, tooltip=t, layout=w.Layout(width="auto")) for d, t in (
                ("Hand out", "Save the hand-out and a sheet for each student, without answers"),
                ("Release solutions", "Let the students open the solutions of the exercises chosen above"),
                ("Read answers", "Make the class sheet of the files that came back"),
                ("Save class sheet", "Save the class sheet as a table, class-sheet.csv"),
                ("Show the answers", "Givens, answers and usual mistakes of each student")))
        self.said, self.sheet, self.answers = w.HTML(), w.HTML(), w.HTML()
        wrap = w.Layout(flex_flow="row wrap", align_items="flex-start")
        super().__init__([
            Keys(), w.HTML(f"<style>{css()}{STYLE}{_STYLE}</style>"),
            w.HBox([self.there, self.name, self.set, self.seed], layout=wrap),
            w.HBox([self.students, w.VBox([
                self.part, self.exercises,
                w.HTML('<span class="quiet desalbook">A notebook chooses its own exercises. Hold Ctrl, or Shift for a '
                       "range, to choose others.</span>")])], layout=wrap),
            w.HBox([self.hand, self.free, self.read, self.save, self.show], layout=wrap), self.said, self.sheet,
            self.answers])
        self.add_class("desalbook").add_class("db-desk").add_class("db-class")
        self._look("")
        for button, what in ((self.hand, self._hand_out), (self.free, self._release), (self.read, self._results),
                             (self.save, self._keep), (self.show, self._show)):
            button.on_click(self._guard(lambda _, what=what: what()))
        self.part.observe(self._guard(lambda c: self._part(c["new"])), names="value")
        self.there.observe(self._guard(lambda c: self._take(c["new"])), names="value")

    def _guard(self, what: Callable[[Any], None]) -> Callable[[Any], None]:
        return guarded(what, self.errors, lambda words: self._say("fails", words))

    def _say(self, name: str, words: str) -> None:
        look = role(name)
        self.said.value = (f'<div class="desalbook" role="status"><span style="color:{var(look.name)}">{look.mark}'
                           f"</span> {escape(words)}</div>")

    # what is asked of the desk --------------------------------------------------------------------------

    def _look(self, chosen: str) -> None:
        """Classes that are on file now."""
        options = [("a new class", ""), *((name, str(path)) for name, path in classes.found(self.folder))]
        if list(self.there.options) != options:
            self.there.options = options
        self.there.value = chosen if chosen in [p for _, p in options] else ""

    def _take(self, path: str) -> None:
        """Fill the fields with a class on file."""
        if not path:
            return
        one = classes.HandOut.read(Path(path))
        self.name.value, self.students.value = one.name, "\n".join(one.students)
        self.exercises.value, self.set.value, self.seed.value = one.exercises, one.units, one.seed
        self.sheet.value = self.answers.value = ""
        self._say("passes", f"{one.name}: {_count(one)}.")

    def _part(self, name: str) -> None:
        """Choose the exercises of a notebook."""
        if name:
            self.exercises.value = SETS[name]

    def _asked(self, released: tuple[str, ...] = ()) -> classes.HandOut:
        """The class as the fields have it."""
        names = self.students.value.replace(",", "\n").split("\n")
        students = tuple(filter(None, (" ".join(s.split()) for s in names)))
        return classes.HandOut(self.name.value.strip(), students, tuple(self.exercises.value), str(self.set.value),
                               self.seed.value.strip(), released)

    def _on_file(self) -> tuple[classes.HandOut, Path]:
        path = self._asked().folder(self.folder) / "hand-out.json"
        if not path.exists():
            raise DesignError("is not handed out yet", where="class", value=self.name.value, do="choose Hand out first")
        return classes.HandOut.read(path), path.parent

    def _hand_out(self) -> None:
        one = self._asked()
        path = one.folder(self.folder) / "hand-out.json"
        kept = classes.HandOut.read(path).released if path.exists() else ()
        folder = self._asked(tuple(k for k in kept if k in one.exercises)).write(self.folder)
        self._look(str(folder / "hand-out.json"))
        self._say("passes", f"{_count(one)} handed out in {folder.name}: hand-out.json for the desk of 10-exercises, "
                            "and a sheet to print for each student. No answer is in them.")

    def _release(self) -> None:
        one, folder = self._on_file()
        chosen = tuple(k for k in one.exercises if k in {*one.released, *self.exercises.value})
        classes.HandOut(one.name, one.students, one.exercises, one.units, one.seed, chosen).write(folder.parent)
        self._say("passes", f"Solutions released: {', '.join(BOOK[k].title for k in chosen)}.")

    def _results(self) -> None:
        one, folder = self._on_file()
        self.frame = classes.results(one, folder)
        back = sum(bool(some["tries"].sum()) for _, some in self.frame.groupby("student"))
        self.sheet.value = _table(one, self.frame)
        left = classes.unread(one, folder)
        some = "".join(f" Not read: {x}." for x in left[:_NAMED])
        some += f" And {len(left) - _NAMED} more." if len(left) > _NAMED else ""
        self._say("marginal" if left else "passes", f"{back} of {len(one.students)} students have answered.{some}")

    def _keep(self) -> None:
        one, folder = self._on_file()
        frame = classes.results(one, folder) if self.frame is None else self.frame
        path = folder / "class-sheet.csv"
        try:
            frame.to_csv(path, index=False, lineterminator="\n")
        except OSError as error:
            raise DesignError("cannot be written", where=path.name,
                              do=f"close it elsewhere ({error.strerror})") from None
        self._say("passes", f"Class sheet of {one.name} written to {path.name} in {folder.name}.")

    def _show(self) -> None:
        one = self._asked()
        numbers = [k for k in one.exercises if hasattr(BOOK[k], "mistakes")]
        page = class_page(one.students, numbers, one.units, one.seed).text if numbers else ""
        others = "".join(
            f"<p><b>{escape(BOOK[k].title)}</b></p><ul>"
            + "".join(f"<li>{escape(s)}: {escape(one.drawn(s, k).answer(one.units))}</li>" for s in one.students)
            + "</ul>"
            for k in one.exercises if k not in numbers)
        self.answers.value = f'{page}<div class="desalbook">{others}</div>'


def _count(one: classes.HandOut) -> str:
    students, exercises = len(one.students), len(one.exercises)
    return (f"{students} student{'' if students == 1 else 's'}, {exercises} exercise{'' if exercises == 1 else 's'}")


def _table(one: classes.HandOut, frame: Any) -> str:
    """The class sheet as HTML: a row for each student, a column for each exercise, and what went wrong most."""
    marks = {"right": role("passes"), "not yet": role("fails")}

    def cell(r: dict[str, Any]) -> str:
        if r["state"] == "not tried":
            return '<td><span class="quiet">not tried</span></td>'
        look = marks[r["state"]]
        tries = f"{r['tries']} {'try' if r['tries'] == 1 else 'tries'}"
        named = f'<br><span class="quiet">{escape(r["mistakes"])}</span>' if r["mistakes"] else ""
        return f'<td><span style="color:{var(look.name)}">{look.mark}</span> {r["state"]}, {tries}{named}</td>'

    rows = {}
    for r in frame.to_dict("records"):
        rows.setdefault(r["student"], []).append(r)
    head = "".join(f"<th scope='col'>{escape(BOOK[k].title)}</th>" for k in one.exercises)
    body = "".join(f"<tr><td>{escape(name)}</td>"
                   f"<td class=n>{sum(r['state'] == 'right' for r in some)} of {len(some)}</td>"
                   f"{''.join(map(cell, some))}</tr>" for name, some in rows.items())
    lines = []
    for s in classes.summary(frame):
        words = {m.key: m.words for m in getattr(BOOK[s["exercise"]], "mistakes", ())}
        named = "".join(f"<li>{escape(m)}: {escape(', '.join(who))}. {escape(words.get(m, ''))}</li>"
                        for m, who in s["mistakes"].items())
        lines.append(f"<p><b>{escape(BOOK[s['exercise']].title)}</b>: {s['right']} of {s['of']} right"
                     f"{_mean(s['tries'])}.</p><ul>{named}</ul>")
    return (f'<div class="desalbook"><div class="wide" tabindex="0" role="region" aria-label="Class sheet"><table>'
            f"<tr><th>Student</th><th>Right</th>{head}</tr>{body}</table></div>{''.join(lines)}</div>")


def _mean(tries: float) -> str:
    return f", {tries:.1f} tries on average" if tries else ""
