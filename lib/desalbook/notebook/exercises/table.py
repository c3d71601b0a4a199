"""The desk of a student: a question, a field for the answer, hints by steps, the solution as a trail.

Each answer is kept as it is given, so that a restart loses nothing: in a class beside the hand-out, from where it goes
back to the trainer, else in the hidden folder beside the notebook. A solution is locked until the answer is right or
the trainer has released it; who works alone may also open it after three tries.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook.fine import fine
from desalbook.notebook.blocks import STYLE
from desalbook.notebook.exercises import classes
from desalbook.notebook.exercises.book import BOOK
from desalbook.notebook.exercises.kit import draw
from desalbook.notebook.guarded import guarded
from desalbook.notebook.widgets import Keys
from desalbook.paths import hidden, remember, remembered
from desalbook.theme import css, role, var

__all__ = ["Desk", "desk"]

_WIDE = {"description_width": "initial"}
_ALONE = 3
"""Tries after which somebody without a trainer may open a solution."""
_GIVENS = """
.db-desk .desalbook{line-height:1.4}
.db-desk .widget-html,.db-desk .widget-html>.widget-html-content{min-width:0;max-width:100%}
.db-desk .widget-html>.widget-html-content{flex:1 1 auto}
.desalbook dl.db-givens{display:grid;grid-template-columns:auto auto 1fr;gap:.3em .5em;margin:.6em 0}
.desalbook dl.db-givens :is(dt,dd){margin:0;float:none;width:auto;font-weight:normal;text-align:left}
.desalbook p.db-option{margin:.35em 0 .35em 1.2em}
.desalbook dl.db-givens dd.n{text-align:right;font-variant-numeric:tabular-nums;padding-left:1em}
"""


def desk(seed: object, units: str = "si", folder: str | Path | None = None) -> Desk:
    """A desk for one student.

    Parameters
    ----------
    seed : object
        Name or number of the student; the same seed gives the same numbers.
    units : {"si", "us"}
    folder : path, optional
        Where hand-outs are looked for and answers are kept; where the notebook runs when omitted. There the class
        and the student of last time sit down again, after a restart too, unless another seed is asked for.
    """
    made = Desk(seed, units, folder)
    if folder is None:
        made.resume()
    return made


class Desk(w.VBox):
    """All exercises with the numbers of one student, or those of a class.

    Parameters
    ----------
    seed : object
    units : {"si", "us"}
    folder : path, optional
    """

    def __init__(self, seed: object, units: str = "si", folder: str | Path | None = None):
        self.seed, self.units = str(seed), units
        self.folder = Path.cwd() if folder is None else Path(folder)
        self.hand_out: classes.HandOut | None = None
        self.hand_out_path: Path | None = None
        self.done: dict[str, str] = {}
        self.shown = 0
        self._begun, self._remembers = self.seed, False
        self.errors: list[str] = []
        self.room = w.Dropdown(options=[("none, I work alone", "")], description="Class", style=_WIDE,
                               layout=w.Layout(width="260px"))
        self.student = w.Text(value=self.seed, description="Student", style=_WIDE, continuous_update=False,
                              layout=w.Layout(width="220px"))
        self.choice = w.Dropdown(options=[("", "")], description="Exercise", style=_WIDE,
                                 layout=w.Layout(width="min(440px, 96%)"))
        self.set = w.Dropdown(options=[("SI", "si"), ("US", "us")], value=units, description="Units", style=_WIDE,
                              layout=w.Layout(width="120px"))
        self.text, self.said, self.more = w.HTML(), w.HTML(), w.HTML()
        self.answer = w.Text(description="Answer", placeholder="a number and its unit", style=_WIDE,
                             continuous_update=False, layout=w.Layout(width="min(420px, 96%)"))
        self.check, self.hint, self.solution, self.next = (
            w.Button(description=d, layout=w.Layout(width="auto"))
            for d in ("Check", "Hint", "Solution", "Next exercise"))
        rows = w.Layout(flex_flow="row wrap")
        super().__init__([
            Keys(), w.HTML(f"<style>{css()}{STYLE}{_GIVENS}</style>"),
            w.HBox([self.room, self.student, self.choice, self.set], layout=rows), self.text,
            w.HBox([self.answer, self.check, self.hint, self.solution, self.next], layout=rows), self.said, self.more])
        self.add_class("desalbook").add_class("db-desk")
        self._opened = self._guard(lambda _: self._open())
        self._look()
        self._restore()
        self._list(next(iter(self.listed)))
        self.room.observe(self._guard(lambda c: self._join(c["new"])), names="value")
        self.set.observe(self._guard(lambda c: self._switch(c["new"])), names="value")
        self.answer.observe(self._guard(lambda _: self._check()), names="value")
        self.check.on_click(self._guard(lambda _: self._check()))
        self.hint.on_click(self._guard(lambda _: self._hint()))
        self.solution.on_click(self._guard(lambda _: self._solution()))
        self.next.on_click(self._guard(lambda _: self._next()))
        self.student.observe(self._guard(lambda c: self._sit(c["new"])), names="value")
        self._open()

    def _guard(self, what: Callable[[Any], None]) -> Callable[[Any], None]:
        return guarded(what, self.errors, lambda words: self._say("fails", words))

    # who sits here, and what was answered before --------------------------------------------------------

    @property
    def listed(self) -> tuple[str, ...]:
        """Exercises on this desk."""
        return tuple(BOOK) if self.hand_out is None else self.hand_out.exercises

    @property
    def drawn(self) -> Any:
        """The exercise on the desk."""
        key = str(self.choice.value)
        return draw(BOOK[key], self.seed) if self.hand_out is None else self.hand_out.drawn(self.seed, key)

    @property
    def seated(self) -> bool:
        """Whether somebody sits here whose numbers can be shown: in a class, a name on its list."""
        return self.hand_out is None or self.seed in self.hand_out.students

    def resume(self) -> None:
        """Who sat here last, in which class; and keep from now on who sits down."""
        seat = remembered().get("seat")
        if isinstance(seat, dict) and seat.get("begun") == self._begun:
            if (room := str(seat.get("class"))) in [path for _, path in self.room.options]:
                self.room.value = room
            self.student.value = str(seat.get("student") or self.seed)
        self._remembers = True

    def _remember(self) -> None:
        if self._remembers:
            remember(seat={"begun": self._begun, "class": str(self.room.value), "student": self.seed})

    def _look(self) -> None:
        """Hand-outs that are here now."""
        there = [(name, str(path)) for name, path in classes.found(self.folder)]
        self.room.options = [("none, I work alone", ""), *there]

    def _join(self, path: str) -> None:
        """Take up a hand-out, or leave it; who is not on its list is asked for a name that is."""
        self.hand_out_path = Path(path) if path else None
        self.hand_out = classes.HandOut.read(self.hand_out_path) if self.hand_out_path else None
        if self.hand_out is not None:
            self.set.value = self.hand_out.units
            self.seed = self.hand_out.named(self.seed) or self.seed
        self._seat(self.listed[0])

    def _seat(self, key: str) -> None:
        """Show an exercise to who sits here, with what that student did before."""
        if self.student.value != self.seed:
            self.student.value = self.seed
        self._restore()
        self._list(key)
        self._open()
        self._remember()
        if self.hand_out is None:
            return
        if self.seated:
            self._say("passes", f"{self.hand_out.name}: {len(self.done)} of {len(self.listed)} exercises done. Your "
                                f"answers are kept in {self.answers.path.name}; hand that file in.")
        else:
            self._say("marginal", self._unseated())

    def _unseated(self) -> str:
        assert self.hand_out is not None
        return (f"Enter your name in Student, as it is on the list of {self.hand_out.name}: "
                f"{', '.join(self.hand_out.students)}.")

    def _sit(self, name: str) -> None:
        """Another student sits down: other numbers, and what that student did before."""
        name = " ".join(name.split())
        known = name if self.hand_out is None else self.hand_out.named(name)
        if name and not known and self.hand_out is not None:
            if self.seated:
                self.student.value = self.seed
            self._say("fails", f"{name} is not on the list of {self.hand_out.name}: "
                               f"{', '.join(self.hand_out.students)}.")
        elif not name:
            self.student.value = self.seed
        elif known != self.seed:
            self.seed = known
            self._seat(str(self.choice.value))

    def _restore(self) -> None:
        """What this student answered before."""
        if not self.seated:
            self.done = {}
            return
        if self.hand_out is not None and self.hand_out_path is not None:
            self.answers = classes.Answers.beside(self.hand_out_path, self.hand_out, self.seed)
        else:
            self.answers = classes.Answers.alone(hidden(self.folder), self.seed)
        self.done = {}
        for key in self.listed:
            for text in self.answers.tries(key):
                if self._of(key).check(text, self.units).right:
                    self.done[key] = text

    def _of(self, key: str) -> Any:
        return draw(BOOK[key], self.seed) if self.hand_out is None else self.hand_out.drawn(self.seed, key)

    # the exercise on the desk ---------------------------------------------------------------------------

    def _titles(self) -> list[tuple[str, str]]:
        return [(f"{role('passes').mark if k in self.done else '·'} {n}. {BOOK[k].title} (level {BOOK[k].level})", k)
                for n, k in enumerate(self.listed, 1)]

    def _list(self, key: str) -> None:
        """Titles with the marks of what is done; the exercise on the desk stays if it is one of them."""
        with contextlib.suppress(ValueError):  # not yet observed
            self.choice.unobserve(self._opened, names="value")
        self.choice.options = self._titles()
        self.choice.value = key if key in self.listed else self.listed[0]
        self.choice.observe(self._opened, names="value")

    def _next(self) -> None:
        """The exercise after this one; after the last the first."""
        keys = self.listed
        self.choice.value = keys[(keys.index(str(self.choice.value)) + 1) % len(keys)]

    def _switch(self, units: str) -> None:
        self.units = units
        self._write()

    def _open(self) -> None:
        self.shown = 0
        self.answer.value, self.said.value, self.more.value = "", "", ""
        self._write()
        if self.seated and (tried := self.answers.tries(str(self.choice.value))):
            self._say("passes" if str(self.choice.value) in self.done else "marginal",
                      f"Your last answer: {tried[-1]}, {len(tried)} {'try' if len(tried) == 1 else 'tries'}.")

    @property
    def locked(self) -> str:
        """Why the solution is locked; empty when it is open."""
        key = str(self.choice.value)
        if key in self.done or (self.hand_out is not None and key in self.hand_out.released):
            return ""
        if self.hand_out is not None:
            return "The solution opens when your answer is right, or when the trainer releases it."
        left = _ALONE - len(self.answers.tries(key))
        return "" if left <= 0 else (f"The solution opens when your answer is right, or after {left} more "
                                     f"{'try' if left == 1 else 'tries'}. A hint gives one step at a time.")

    def _write(self) -> None:
        if not self.seated:
            self.text.value = f'<div class="desalbook"><p>{escape(self._unseated())}</p></div>'
            return
        d = self.drawn
        rows = "".join(f"<dt>{escape(title)}</dt><dd class='n'>{escape(number)}</dd><dd>{fine(escape(unit))}</dd>"
                       for title, _, number, unit in d.parts(self.units))
        some = "".join(f'<p class="db-option"><b>{escape(mark)}</b> {fine(escape(words))}</p>'
                       for mark, words in d.options(self.units))
        how = (f"Answer in any unit that fits, for example {d.unit}. {d.within}" if d.within else f"Enter {d.unit}.")
        self.answer.placeholder = "a number and its unit" if d.within else d.unit
        self.text.value = (f'<div class="desalbook"><p>{escape(d.exercise.text)}</p><dl class="db-givens">{rows}</dl>'
                           f'{some}<p class="quiet">{escape(how)}</p></div>')

    def _check(self) -> None:
        if not self.seated:
            self._say("marginal", self._unseated())
            return
        text = self.answer.value.strip()
        if not text:
            self._say("marginal", "Enter an answer first.")
            return
        key = str(self.choice.value)
        reply = self.drawn.check(text, self.units)
        if reply.judged and (not self.answers.tries(key) or self.answers.tries(key)[-1] != text):
            self.answers.add(key, text)
        if reply.right:
            self.done[key] = text
            self._list(key)
            self._say("passes", f"{reply.words} {len(self.done)} of {len(self.listed)} done.")
        else:
            self._say("fails", reply.words)

    def _say(self, name: str, words: str) -> None:
        look = role(name)
        self.said.value = (f'<div class="desalbook" role="status"><span style="color:{var(look.name)}">{look.mark}'
                           f"</span> {escape(words)}</div>")

    def _hint(self) -> None:
        if not self.seated:
            self._say("marginal", self._unseated())
            return
        hints = self.drawn.hints()
        over = self.shown == len(hints)
        self.shown = min(self.shown + 1, len(hints))
        items = "".join(f"<li>{escape(h)}</li>" for h in hints[:self.shown])
        end = '<p class="quiet">That was the last step; Solution shows the numbers.</p>' if over else ""
        self.more.value = f'<div class="desalbook"><ul>{items}</ul>{end}</div>'

    def _solution(self) -> None:
        if not self.seated:
            self._say("marginal", self._unseated())
            return
        if self.hand_out_path is not None:  # it may have been released since
            self.hand_out = classes.HandOut.read(self.hand_out_path)
        if locked := self.locked:
            self._say("marginal", locked)
            return
        self.more.value = self.drawn.solution(self.units)
