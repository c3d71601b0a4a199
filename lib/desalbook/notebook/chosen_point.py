"""The point of a study that was chosen: what it has that the design of today has not, and a design file of it."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Any

import ipywidgets as w

from desalbook.design.names import checked_name
from desalbook.notebook.session import Session
from desalbook.notebook.widgets import Page
from desalbook.problems import Problem
from desalbook.study import Row, Sweep, differences, save, why

__all__ = ["Chosen"]

_WIDE = {"description_width": "initial"}


class Chosen(w.VBox):
    """What differs at a point, why it was chosen, and the name of its file.

    Parameters
    ----------
    session : Session
        Says where design files go.
    guard : callable
        Wraps what answers a press.
    saved : callable
        Called after a file was made.
    """

    def __init__(self, session: Session, guard: Callable[[Callable[[Any], None]], Callable[[Any], None]],
                 saved: Callable[[], None]):
        self.session, self._saved = session, saved
        self.study: Sweep | None = None
        self.row: Row | None = None
        self.page, self.said = Page(), Page()
        self.reason = w.Text(description="Reason", placeholder="e.g. lowest cost of water that meets every limit",
                             style=_WIDE, continuous_update=False, layout=w.Layout(width="min(560px, 96%)"))
        self.name = w.Text(description="New file", placeholder="e.g. cheaper", style=_WIDE, continuous_update=False,
                           layout=w.Layout(width="260px"))
        self.save = w.Button(description="Save as a design file", layout=w.Layout(width="auto"),
                             tooltip="Save this point as a design file, with the reason in the note of the project")
        self.save.on_click(guard(lambda _: self.write()))
        self.form = w.HBox([self.reason, self.name, self.save],
                           layout=w.Layout(flex_flow="row wrap", align_items="center"))
        super().__init__([self.page, self.form, self.said])
        self.clear()

    def clear(self) -> None:
        """No point is chosen."""
        self.study, self.row = None, None
        self.page.html = self.said.html = ""
        self.form.layout.display = "none"

    def show(self, study: Sweep, row: Row, units: str) -> None:
        """A point beside the design of today.

        Parameters
        ----------
        study : Sweep
        row : Row
        units : {"si", "us"}
        """
        self.study, self.row, self.said.html = study, row, ""
        if row.problem:
            self.page.html = (f'<div class="desalbook"><p><b>Chosen: {escape(row.id)}</b></p>'
                              f'<p class="db-wrong" role="alert">✗ {escape(row.problem)}</p></div>')
            self.form.layout.display = "none"
            return
        row, lines = study.with_hardware(row), []
        for r in differences(study, row, units).to_dict("records"):
            same = r["today"] == r["then"]
            cells = "".join(f"<td>{escape(str(r[k]))}</td>" for k in ("today", "then"))
            id = "" if r["id"] == "fails" else str(r["id"])
            lines.append(f'<tr{" class=quiet" if same else ""}><th scope="row" class="w">{escape(str(r["title"]))} '
                         f'<span class="quiet">{escape(id)}</span></th>{cells}</tr>')
        worst = f" Breaks a limit: {row.title}." if row.fails else ""
        self.page.html = (
            f'<div class="desalbook db-study" aria-live="polite"><p><b>Chosen: {escape(row.id)}.</b>{escape(worst)} '
            f"{escape(why(study, row, units))}</p>"
            '<table class="db-chosen"><thead><tr><th class="w">What differs</th><th>Today</th><th>Then</th></tr>'
            f'</thead><tbody>{"".join(lines)}</tbody></table></div>')
        self.form.layout.display = None

    def write(self) -> None:
        """Save the point; what is missing or refused is said below, and stays as typed."""
        if self.study is None or self.row is None:
            return
        try:
            folder, name = self.session.folder, str(self.name.value).strip()
            name = checked_name(name, folder)
            goal = folder / (name if name.endswith(".toml") else f"{name}.toml")
            made = save(self.study.design, self.row, goal, str(self.reason.value))
        except Problem as problem:
            self.said.html = ('<div class="desalbook"><p class="db-wrong" role="alert">'
                              f"✗ {escape(str(problem))}</p></div>")
            return
        self.said.html = (f'<div class="desalbook"><p role="status">Saved as {escape(goal.name)}, design '
                          f"{escape(made.hash[:12])}. To go on with it, choose it under Design file and press Open."
                          "</p></div>")
        self._saved()
