"""The desk of a student: a question, a field for the answer, hints by steps, the solution as a trail."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from html import escape
from typing import Any

import ipywidgets as w

from desalbook.audit.page.parts import Writer
from desalbook.display import inert
from desalbook.fine import fine
from desalbook.notebook.blocks import STYLE
from desalbook.notebook.exercises.book import BOOK
from desalbook.notebook.exercises.kit import Drawn, draw
from desalbook.notebook.widgets import Keys
from desalbook.theme import css, role, var
from desalbook.trail import record

__all__ = ["Desk", "desk"]

_WIDE = {"description_width": "initial"}
_GIVENS = """
.db-desk .desalbook{line-height:1.4}
.db-desk .widget-html,.db-desk .widget-html>.widget-html-content{min-width:0;max-width:100%}
.db-desk .widget-html>.widget-html-content{flex:1 1 auto}
.desalbook dl.db-givens{display:grid;grid-template-columns:auto auto 1fr;gap:.3em .5em;margin:.6em 0}
.desalbook dl.db-givens :is(dt,dd){margin:0;float:none;width:auto;font-weight:normal;text-align:left}
.desalbook dl.db-givens dd.n{text-align:right;font-variant-numeric:tabular-nums;padding-left:1em}
"""


def desk(seed: object, units: str = "si") -> Desk:
    """A desk for one student.

    Parameters
    ----------
    seed : object
        Name or number of the student; the same seed gives the same numbers.
    units : {"si", "us"}
    """
    return Desk(seed, units)


class Desk(w.VBox):
    """All exercises with the numbers of one seed.

    Parameters
    ----------
    seed : object
    units : {"si", "us"}
    """

    def __init__(self, seed: object, units: str = "si"):
        self.seed, self.units = str(seed), units
        self.done: dict[str, str] = {}
        self.shown = 0
        self.errors: list[str] = []
        self.student = w.Text(value=self.seed, description="Student", style=_WIDE, continuous_update=False,
                              layout=w.Layout(width="220px"))
        self.choice = w.Dropdown(options=self._titles(), description="Exercise", style=_WIDE,
                                 layout=w.Layout(width="min(440px, 96%)"))
        self.set = w.Dropdown(options=[("SI", "si"), ("US", "us")], value=units, description="Units", style=_WIDE,
                              layout=w.Layout(width="120px"))
        self.text, self.said, self.more = w.HTML(), w.HTML(), w.HTML()
        self.answer = w.Text(description="Answer", placeholder="a number and its unit", style=_WIDE,
                             continuous_update=False, layout=w.Layout(width="min(320px, 96%)"))
        self.check, self.hint, self.solution, self.next = (
            w.Button(description=d, layout=w.Layout(width="auto"))
            for d in ("Check", "Hint", "Solution", "Next exercise"))
        rows = w.Layout(flex_flow="row wrap")
        super().__init__([
            Keys(), w.HTML(f"<style>{css()}{STYLE}{_GIVENS}</style>"),
            w.HBox([self.student, self.choice, self.set], layout=rows), self.text,
            w.HBox([self.answer, self.check, self.hint, self.solution, self.next], layout=rows), self.said, self.more])
        self.add_class("desalbook").add_class("db-desk")
        self._opened = self._guard(lambda _: self._open())
        self.choice.observe(self._opened, names="value")
        self.set.observe(self._guard(lambda c: self._switch(c["new"])), names="value")
        self.answer.observe(self._guard(lambda _: self._check()), names="value")
        self.check.on_click(self._guard(lambda _: self._check()))
        self.hint.on_click(self._guard(lambda _: self._hint()))
        self.solution.on_click(self._guard(lambda _: self._solution()))
        self.next.on_click(self._guard(lambda _: self._next()))
        self.student.observe(self._guard(lambda c: self._sit(c["new"])), names="value")
        self._open()

    def _guard(self, what: Callable[[Any], None]) -> Callable[[Any], None]:
        """A front end swallows errors of callbacks; here they are kept and said."""
        def wrapped(event: Any) -> None:
            try:
                what(event)
            except Exception as error:
                self.errors.append("".join(traceback.format_exception(error)))
                self.said.value = (f'<div class="desalbook" role="alert">A defect of this kit: '
                                   f"{escape(' '.join(str(error).split()))}</div>")
        return wrapped

    @property
    def drawn(self) -> Drawn:
        """The exercise on the desk."""
        return draw(BOOK[str(self.choice.value)], self.seed)

    def _titles(self) -> list[tuple[str, str]]:
        return [(f"{role('passes').mark if k in self.done else '·'} {n}. {e.title} (level {e.level})", k)
                for n, (k, e) in enumerate(BOOK.items(), 1)]

    def _list(self) -> None:
        """Titles with the marks of what is done; the exercise on the desk stays."""
        key = str(self.choice.value)
        self.choice.unobserve(self._opened, names="value")
        self.choice.options = self._titles()
        self.choice.value = key
        self.choice.observe(self._opened, names="value")

    def _sit(self, name: str) -> None:
        """Another student sits down: other numbers, nothing done yet."""
        if not name.strip():
            self.student.value = self.seed
        elif name.strip() != self.seed:
            self.seed, self.done = name.strip(), {}
            self._list()
            self._open()

    def _next(self) -> None:
        """The exercise after this one; after the last the first."""
        keys = list(BOOK)
        self.choice.value = keys[(keys.index(str(self.choice.value)) + 1) % len(keys)]

    def _switch(self, units: str) -> None:
        self.units = units
        self._write()

    def _open(self) -> None:
        self.shown = 0
        self.answer.value, self.said.value, self.more.value = "", "", ""
        self._write()

    def _write(self) -> None:
        d = self.drawn
        rows = "".join(f"<dt>{escape(title)}</dt><dd class='n'>{escape(number)}</dd><dd>{fine(escape(unit))}</dd>"
                       for title, _, number, unit in d.parts(self.units))
        self.text.value = (f'<div class="desalbook"><p>{escape(d.exercise.text)}</p><dl class="db-givens">{rows}</dl>'
                           f'<p class="quiet">Answer in any unit that fits, for example {escape(d.unit)}. '
                           f"{escape(d.within)}</p></div>")

    def _check(self) -> None:
        if not self.answer.value.strip():
            self._say("marginal", "Enter a number and its unit first.")
            return
        reply = self.drawn.check(self.answer.value, self.units)
        if reply.right:
            self.done[str(self.choice.value)] = self.answer.value
            self._list()
            self._say("passes", f"{reply.words} {len(self.done)} of {len(BOOK)} done.")
        else:
            self._say("fails", reply.words)

    def _say(self, name: str, words: str) -> None:
        look = role(name)
        self.said.value = (f'<div class="desalbook" role="status"><span style="color:{var(look.name)}">{look.mark}'
                           f"</span> {escape(words)}</div>")

    def _hint(self) -> None:
        hints = self.drawn.hints()
        over = self.shown == len(hints)
        self.shown = min(self.shown + 1, len(hints))
        items = "".join(f"<li>{escape(h)}</li>" for h in hints[:self.shown])
        end = '<p class="quiet">That was the last step; Solution shows the numbers.</p>' if over else ""
        self.more.value = f'<div class="desalbook"><ul>{items}</ul>{end}</div>'

    def _solution(self) -> None:
        self.more.value = solution(self.drawn, self.units)


def solution(drawn: Drawn, units: str = "si") -> str:
    """The way to the answer, step by step, typeset.

    Parameters
    ----------
    drawn : Drawn
    units : {"si", "us"}

    Returns
    -------
    str
        HTML.
    """
    data = record.to_record(drawn.ledger)
    writer = Writer(data, units, {x["id"] for x in data["lines"]})
    steps = "".join(writer.step(x) for x in data["lines"] if x["sort"] == "computed")
    return f'<div class="desalbook">{inert(steps)}</div>'
