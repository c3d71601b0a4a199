"""The reviewer's desk: the plan of the review, lines with their evidence, marks beside it, questions, sign-off.

It reads the calculation and writes the file of marks; it changes no design.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook import api, audit, paths
from desalbook.audit.marks import ROLES
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
_DEMO = "Demo designs cannot be marked. Save a copy in 00-start, then open that file here."
_NEAREST = 12
"""Lines of a search in view; the rest is folded."""
_STYLE = """
.db-review{display:grid;grid-template-columns:minmax(0,1fr) minmax(290px,340px);gap:0 28px;align-items:start}
.db-review>:last-child{position:sticky;top:6px}
.db-review>*{min-width:0}
@container (max-width:950px){.db-review{grid-template-columns:minmax(0,1fr)}.db-review>:last-child{position:static}}
.db-plan details{margin:.35em 0}.db-plan summary{cursor:pointer}.db-plan progress{width:8em;accent-color:var(--db-sea);
vertical-align:middle}.db-plan td{padding:.1em 1em .1em 0;text-align:left!important}
"""


def audit_desk(path: str | Path | None = None, units: str | None = None) -> AuditDesk:
    """Open the calculation of a design at the reviewer's desk; the last line of a cell shows it.

    Parameters
    ----------
    path : path, optional
        Design file; the one that was open last, that of ``desalbook lab FILE``, else the harbour demo.
    units : {"si", "us"}, optional
        Those that were chosen last, else SI.
    """
    path = paths.chosen("harbour-town.toml") if path is None else path
    last = str(paths.remembered().get("units") or "si")
    return AuditDesk(Session(api.read(path), api.size, path, keeps=True), units or ("us" if last == "us" else "si"))


def _button(words: str, tip: str = "") -> w.Button:
    return w.Button(description=words, tooltip=tip, layout=w.Layout(width="auto"))


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
        (self.head, self.plan, self.found, self.told, self.line, self.moved, self.asked, self.stands,
         self.signed) = (Page(guard(self._heard)) for _ in range(9))
        self.words = w.Text(description="Find", placeholder="words, as in filtration rate", style=_WIDE,
                            continuous_update=False)
        self.figure = w.Combobox(description="Value", placeholder="id of a line, or a part of it", style=_WIDE,
                                 continuous_update=False, layout=w.Layout(width="min(520px, 96%)"))
        self.next = _button("Next in the plan", "Follow the first line of the plan that nobody has judged")
        self.other = w.Dropdown(description="Compare with", style=_WIDE)
        self.compare, self.mark = _button("Compare"), _button("Mark")
        self.onward = _button("Mark, then next", "Keep the verdict and follow the next line of the plan")
        self.verdict = w.Dropdown(description="Verdict", options=_VERDICTS, style=_WIDE,
                                  layout=w.Layout(width="160px"))
        # sent when they are left: letter by letter, the last one would come after the press of a button
        self.by = w.Text(description="Initials", style=_WIDE, continuous_update=False,
                         layout=w.Layout(width="140px"))
        self.note = w.Text(description="Note", placeholder="needed to question or reject", style=_WIDE,
                           continuous_update=False, layout=w.Layout(width="96%"))
        self.reply = w.Text(description="Answer", placeholder="of the designer", style=_WIDE, continuous_update=False,
                            layout=w.Layout(width="96%"))
        self.answer = _button("Answer", "Keep the answer beside the question; the reviewer has the last word")
        self.name = w.Text(description="Full name", style=_WIDE, continuous_update=False,
                           layout=w.Layout(width="300px"))
        self.role = w.Dropdown(description="As", style=_WIDE, options=[(t, k) for k, t in ROLES.items()],
                               layout=w.Layout(width="220px"))
        self.remark = w.Text(description="Remark", placeholder="needed while something is open", style=_WIDE,
                             continuous_update=False, layout=w.Layout(width="min(520px, 96%)"))
        self.sign = _button("Sign off", "Keep name, date and the hash of this record beside the design")
        self.set = w.Dropdown(options=[("SI", "si"), ("US", "us")], value=units, description="Units", style=_WIDE,
                              layout=w.Layout(width="140px"))
        self.words.observe(guard(lambda _: self._find()), names="value")
        self.figure.observe(guard(lambda c: self._follow(c["new"].strip())), names="value")
        self.set.observe(guard(lambda c: self._switch(c["new"])), names="value")
        for button, what in ((self.compare, self._against), (self.mark, self._mark), (self.next, self._next),
                             (self.onward, lambda: self._mark() and self._next()),
                             (self.answer, self._answer), (self.sign, self._sign)):
            button.on_click(guard(lambda _, what=what: what()))
        session.listen(self.refresh)
        wrap = w.Layout(flex_flow="row wrap", align_items="center")

        def title(text: str) -> w.HTML:
            return w.HTML(f"<b>{text}</b>")

        side = w.VBox([title("Mark this line"), w.HBox([self.verdict, self.by], layout=wrap), self.note,
                       w.HBox([self.mark, self.onward], layout=wrap), self.line, self.reply, self.answer])
        evidence = w.HBox([w.VBox([w.HBox([self.figure, self.next], layout=wrap), self.told]), side])
        evidence.add_class("db-review")
        super().__init__([
            Keys(), w.HTML(f"<style>{css()}{STYLE}{_STYLE}</style>"), self.set, self.files, self.head,
            title("The plan of the review"), self.plan,
            title("Find lines"), self.words, self.found,
            title("The line and its evidence"), evidence,
            title("Questions and answers"), self.asked,
            title("Marks"), self.stands,
            title("Compare with another design"), w.HBox([self.other, self.compare], layout=wrap), self.moved,
            title("Sign-off"), self.signed, w.HBox([self.name, self.role, self.remark, self.sign], layout=wrap)])
        self.add_class("desalbook").add_class("db-panel")
        self._kept = ("", "")
        self._shown: tuple[Any, ...] = ()
        self._agrees = ""
        self._doubts: tuple[Any, ...] = ()
        self._planned: list[str] = []
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
        some = f"{len(rows)} line{'' if len(rows) == 1 else 's'} matching, the nearest first"
        first, rest = rows.head(_NEAREST), rows.iloc[_NEAREST:]
        more = (f'<details data-key="found"><summary>{len(rest)} more</summary>'
                f"{view.lines(rest, ways=True, units=self.units).text}</details>" if len(rest) else "")
        self.found.html = (f'<div class="desalbook"><p class="quiet">{some}</p></div>'
                           f"{view.lines(first, ways=True, units=self.units).text}{more}")

    def _follow(self, id: str) -> None:
        plant = self.session.plant
        if plant is None or not id:
            self.told.html = ('<div class="desalbook"><p class="quiet">Press on a line of the plan or of a search, or '
                              "choose <b>Next in the plan</b>.</p></div>")
        elif id not in plant.ledger.lines:
            self.told.html = why(plant, id, self.units)  # the sentence that there is none
        else:
            drawn = view.upstream(plant.record, id, units=self.units).text
            self.told.html = f'<figure class="desalbook">{drawn}</figure>{why(plant, id, self.units)}'
        self._beside()

    def _next(self) -> None:
        """Follow what comes next in the plan and is not judged."""
        marks, plant = self._marks(), self.session.plant
        if plant is None:
            return
        states = marks.states(plant.record) if marks is not None else {}
        left = [i for i in self._planned if states.get(i, "unmarked") in ("unmarked", "stale")]
        here = self.figure.value.strip()
        after = self._planned[self._planned.index(here) + 1:] if here in self._planned else []
        self.figure.value = next((i for i in (*(i for i in after if i in set(left)), *left)), here)

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

    def _keep(self, what: Callable[[audit.Marks], str], at: str = "line") -> bool:
        """Write into the file of marks; a refusal is said, and the plant is as it was: nothing here is stale.

        What became of it is said where the button stands, beside the line or at the sign-off (``at``).
        """
        session, marks = self.session, self._marks()
        session.messages.pop("save", None)
        session.done = ""
        if marks is None:
            session.messages["save"] = _DEMO
        else:
            try:
                session.done = what(marks)
                session.messages.clear()
            except Problem as problem:
                session.messages["save"] = str(problem)
        self._kept = (at, session.messages.get("save") or session.done)
        self.refresh()
        return bool(session.done)

    def _mark(self) -> bool:
        def kept(marks: audit.Marks) -> str:
            made = marks.mark(self.session.plant.record, self.figure.value.strip(), str(self.verdict.value),
                              self.by.value.strip(), self.note.value.strip())
            return f"{made['id']}: {self.verdict.value} by {made['by']}, kept in {marks.path}"

        done = self._keep(kept)
        if done:
            self.note.value, self.verdict.value = "", "accept"
        return done

    def _answer(self) -> None:
        def kept(marks: audit.Marks) -> str:
            made = marks.answer(self.session.plant.record, self.figure.value.strip(), self.by.value.strip(),
                                self.reply.value.strip())
            return f"{made['id']}: answered by {made['by']}, kept in {marks.path}"

        if self._keep(kept):
            self.reply.value = ""

    def _sign(self) -> None:
        def kept(marks: audit.Marks) -> str:
            made = marks.sign(self.session.plant.record, self.name.value, str(self.role.value), self.remark.value)
            return f"Signed by {made['by']}, record {made['record'][:16]}, kept in {marks.path}"

        if self._keep(kept, "sign"):
            self.remark.value = ""

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
        self._review()
        if (plant, self.units) == self._shown:
            self._beside()
            return
        self._shown = (plant, self.units)
        self.figure.options = tuple(plant.ledger.lines)
        self._find()
        self._follow(self.figure.value.strip())
        self.moved.html = ""

    def _review(self) -> None:
        """Plan, progress, questions, marks and sign-offs as they stand now."""
        plant, marks = self.session.plant, self._marks()
        record, known = plant.record, plant.ledger.lines
        if self._doubts[:2] != (plant, self.units):
            self._doubts = (plant, self.units, audit.doubt(record, self.units))
        made = audit.plan(record, marks, self.units, self._doubts[2])
        self._planned = list(dict.fromkeys(i for i in made["id"] if i in known))
        signed = None if marks is None else marks.signed(record)
        done = "" if marks is None else view.progressed(audit.progress(record, marks))
        self.plan.html = view.planned(made, known, signed is not None and len(signed) > 0) + done
        if marks is None or signed is None:
            self.asked.html = f'<div class="desalbook"><p class="quiet">{_DEMO}</p></div>'
            self.stands.html, self.signed.html = "", f'<div class="desalbook">{self._told_at("sign")}</div>'
            return
        self.asked.html = view.asked(marks.questions(record), known)
        self.stands.html = (view.standing(marks, record, self.units).text if marks.all else
                            '<div class="desalbook"><p class="quiet">No line is marked yet.</p></div>')
        holds = set(signed.loc[signed["holds"], "role"])
        self.signed.html = (view.signatures(signed, marks.left_open(record), holds == {"reviewer"})
                            + f'<div class="desalbook">{self._told_at("sign")}</div>')

    def _beside(self) -> None:
        """What was said of the line in view, beside its evidence."""
        plant, marks, id = self.session.plant, self._marks(), self.figure.value.strip()
        rows = [] if plant is None or marks is None else [
            m for m in marks.standing(plant.record, self.units).to_dict("records") if m["id"] == id]
        said = "".join(
            f"<li>{escape(m['state'])} by {escape(m['by'])}, {escape(m['time'][:10])}"
            f"{': ' + escape(m['note']) if m['note'] else ''}{'<br>' + escape(m['stale']) if m['stale'] else ''}</li>"
            for m in rows)
        questions = [] if plant is None or marks is None else [
            q for q in marks.questions(plant.record).to_dict("records") if q["id"] == id]
        told = "".join(f"<li>Answer, {escape(by)}: {escape(text)}</li>" for q in questions for by, text in q["answers"])
        self.line.html = f'<div class="desalbook">{self._told_at("line")}<ul class="db-watch">{said}{told}</ul></div>'
        shows = None if any(q["state"] != "closed" for q in questions) else "none"
        self.reply.layout.display = self.answer.layout.display = shows

    def _told_at(self, place: str) -> str:
        """What was kept or refused last, where the hand is; at the top (no place) all else that is to be said."""
        session = self.session
        at, last = self._kept
        said = "".join(f'<div class="db-wrong" role="alert">✗ {escape(x)}</div>' for x in session.messages.values()
                       if place == (at if x == last else ""))
        done = session.done if place == (at if session.done == last else "") and not session.messages else ""
        return said + (f'<div role="status">✓ {escape(done)}</div>' if done else "")

    def _top(self) -> None:
        session, plant = self.session, self.session.plant
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
                          f"{escape(session.design.hash[:12])}{escape(state)}</span>{self._told_at('')}</div>")
