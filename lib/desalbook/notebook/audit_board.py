"""The reviewer's desk: open a design, search its record, follow a figure, compare, mark, export. It reads only."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook import api, audit, paths
from desalbook.notebook import audit_view as view
from desalbook.notebook.blocks import STYLE
from desalbook.notebook.files import Files
from desalbook.notebook.session import Session
from desalbook.notebook.why import why
from desalbook.notebook.widgets import Keys, Page
from desalbook.problems import Problem
from desalbook.theme import css

__all__ = ["AuditDesk", "audit_desk"]

_WIDE = {"description_width": "initial"}
_VERDICTS = (("accept", "accept"), ("question", "question"), ("reject", "reject"))


def audit_desk(path: str | Path | None = None, units: str = "si") -> AuditDesk:
    """Open the calculation of a design at the reviewer's desk; the last line of a cell shows it.

    Parameters
    ----------
    path : path, optional
        Design file; the one of ``desalbook lab FILE``, else the harbour demo.
    units : {"si", "us"}
    """
    path = paths.chosen("harbour-town.toml") if path is None else path
    return AuditDesk(Session(api.read(path), api.size, path), units)


class AuditDesk(w.VBox):
    """One calculation under review.

    Parameters
    ----------
    session : Session
    units : {"si", "us"}
    """

    def __init__(self, session: Session, units: str = "si"):
        self.session, self.units = session, units
        guard = session.guard
        self.files = Files(session, self.refresh, writes=False, units=lambda: self.units)
        self.head, self.found, self.told, self.moved, self.stands = (Page(guard(self._heard)) for _ in range(5))
        self.words = w.Text(description="Find", placeholder="words, as in filtration rate", style=_WIDE,
                            continuous_update=False)
        self.figure = w.Combobox(description="Value", placeholder="id of a line, or a part of it", style=_WIDE,
                                 continuous_update=False, layout=w.Layout(width="min(520px, 96%)"))
        self.other = w.Dropdown(description="Compare with", style=_WIDE)
        self.compare, self.mark = (w.Button(description=d, layout=w.Layout(width="auto")) for d in ("Compare", "Mark"))
        self.verdict = w.Dropdown(description="Verdict", options=_VERDICTS, style=_WIDE,
                                  layout=w.Layout(width="160px"))
        # sent when they are left: letter by letter, the last one would come after the press of a button
        self.by = w.Text(description="Initials", style=_WIDE, continuous_update=False,
                         layout=w.Layout(width="140px"))
        self.note = w.Text(description="Note", placeholder="needed to question or reject", style=_WIDE,
                           continuous_update=False)
        self.set = w.Dropdown(options=[("SI", "si"), ("US", "us")], value=units, description="Units", style=_WIDE,
                              layout=w.Layout(width="140px"))
        self.words.observe(guard(lambda _: self._find()), names="value")
        self.figure.observe(guard(lambda c: self._follow(c["new"].strip())), names="value")
        self.set.observe(guard(lambda c: self._switch(c["new"])), names="value")
        self.compare.on_click(guard(lambda _: self._against()))
        self.mark.on_click(guard(lambda _: self._mark()))
        session.listen(self.refresh)
        wrap = w.Layout(flex_flow="row wrap", align_items="center")

        def title(text: str) -> w.HTML:
            return w.HTML(f"<b>{text}</b>")

        super().__init__([
            Keys(), w.HTML(f"<style>{css()}{STYLE}</style>"), self.set, self.files, self.head,
            title("Find lines"), self.words, self.found,
            title("Follow a value, and mark it"), self.figure,
            w.HBox([self.verdict, self.by, self.note, self.mark], layout=wrap), self.told, self.stands,
            title("Compare with another design"), w.HBox([self.other, self.compare], layout=wrap), self.moved])
        self.add_class("desalbook").add_class("db-panel")
        self._shown: tuple[Any, ...] = ()
        self._agrees = ""
        self.refresh()

    # what a person does ---------------------------------------------------------------------------------

    def _heard(self, what: Mapping[str, Any]) -> None:
        if "why" in what:
            self.figure.value = what["why"]
            self.told.show()

    def _switch(self, units: str) -> None:
        self.units = units
        compared = bool(self.moved.html)
        self.refresh()
        if compared:
            self._against()

    def _find(self) -> None:
        words, plant = self.words.value.strip(), self.session.plant
        if plant is None or not words:
            self.found.html = ""
            return
        rows = audit.find(plant.record, words, units=self.units)
        some = f"{len(rows)} line{'' if len(rows) == 1 else 's'} matching"
        self.found.html = (f'<div class="desalbook"><p class="quiet">{some}</p></div>'
                           f"{view.lines(rows, ways=True, units=self.units).text}")

    def _follow(self, id: str) -> None:
        plant = self.session.plant
        if plant is None or not id:
            self.told.html = ""
        elif id not in plant.ledger.lines:
            self.told.html = why(plant, id, self.units)  # the sentence that there is none
        else:
            drawn = view.upstream(plant.record, id, 4, units=self.units).text
            self.told.html = f'<figure class="desalbook">{drawn}</figure>{why(plant, id, self.units)}'

    def _against(self) -> None:
        plant, path = self.session.plant, self.other.value
        if plant is None or not path:
            return
        here = self.session.path
        names = Path(path).name, here.name if here is not None else "the design on this desk"
        made = audit.compare(api.size(api.read(path)).record, plant.record, self.units, names)
        self.moved.html = view.compared(made, ways=True).text

    def _marks(self) -> audit.Marks | None:
        path = self.session.path
        return None if path is None or self.session.delivered else audit.Marks(path)

    def _mark(self) -> None:
        session, marks = self.session, self._marks()
        session.messages.pop("save", None)
        session.done = ""
        if marks is None:
            session.messages["save"] = ("Demo designs cannot be marked. Save a copy in 00-start, "
                                        "then open that file here.")
        else:
            try:
                made = marks.mark(session.plant.record, self.figure.value.strip(), str(self.verdict.value),
                                  self.by.value.strip(), self.note.value.strip())
            except Problem as problem:  # the plant is as it was: nothing here is stale
                session.messages["save"] = str(problem)
                self.refresh()
                return
            session.messages.clear()
            session.done = f"{made['id']}: {self.verdict.value} by {made['by']}, kept in {marks.path}"
            self.note.value = ""
        self.refresh()

    # what is shown --------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the session as it is now."""
        session, plant = self.session, self.session.plant
        self._top()
        others = [o for o in self.files.there.options if session.path is None or o[1] != str(session.path.resolve())]
        if list(self.other.options)[1:] != others:
            chosen = self.other.value
            self.other.options = [("choose a design", ""), *others]
            self.other.value = chosen if chosen in dict(others).values() else ""
        if plant is None:
            return
        marks = self._marks()
        self.stands.html = "" if marks is None else view.standing(marks, plant.record, self.units).text
        if (plant, self.units) == self._shown:
            return
        self._shown = (plant, self.units)
        self.figure.options = tuple(plant.ledger.lines)
        self._find()
        self._follow(self.figure.value.strip())
        self.moved.html = ""

    def _top(self) -> None:
        session, plant = self.session, self.session.plant
        said = "".join(f'<div class="db-wrong" role="alert">✗ {escape(x)}</div>' for x in session.messages.values())
        done = f'<div role="status">✓ {escape(session.done)}</div>' if session.done and not said else ""
        name = session.path.name if session.path else "Design"
        state = ""
        if plant is not None and plant is not (self._shown or (None,))[0]:
            again = audit.recompute(plant.record)
            self._agrees = (f"{again.count} computed lines evaluated again: "
                            + ("the record agrees with itself" if again.holds else "the record does not agree"))
        if plant is not None:
            fails = sum(c["verdict"] == "fails" for c in plant.checks_in(self.units).to_dict("records"))
            state = (f" · {len(plant.ledger.lines)} lines · {fails or 'no'} check{'' if fails == 1 else 's'} "
                     f"{'fails' if fails == 1 else 'fail'} · {self._agrees}")
        self.head.html = (f'<div class="desalbook"><b>{escape(name)}</b> <span class="quiet">design '
                          f"{escape(session.design.hash[:12])}{escape(state)}</span>{said}{done}</div>")
