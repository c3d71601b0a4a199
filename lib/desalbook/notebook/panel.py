"""The panel: the water line on top, what can be decided, what follows, what to watch, and why."""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook import face, summary
from desalbook.audit.page_parts import Writer
from desalbook.notebook import theme
from desalbook.notebook.controls import Control, fields
from desalbook.notebook.picture import picture
from desalbook.notebook.session import Session

__all__ = ["Panel", "start", "why"]

_ROLE = {"fails": "fails", "caution": "thin", "thin": "thin", "holds": "holds"}
_STYLE = """
.db-field input,.db-field select{min-width:9em}
.db-assumed input,.db-assumed select{font-style:italic}
.db-outlined input,.db-outlined select{outline:2px solid var(--jp-error-color1,#a6123f)}
.db-quiet,.desalbook .quiet{color:var(--jp-content-font-color2,#59636e);font-size:90%}
.db-panel .widget-html-content{line-height:1.35}
.db-wrong{color:var(--jp-error-color1,#a6123f)}
.desalbook.db-stale{opacity:.55}
.desalbook dl.db-key{display:grid;align-items:center;gap:.3em .8em;margin:.4em 0;
grid-template-columns:minmax(8em,1fr) auto 104px minmax(7em,auto)}
.desalbook dl.db-key dt{font-weight:normal;text-align:left;float:none;width:auto;margin:0}
.desalbook dl.db-key dd{margin:0;white-space:nowrap;font-variant-numeric:tabular-nums}
.desalbook dl.db-key dd.w{white-space:normal}
.desalbook dl.db-key dd.n{text-align:right}
.desalbook ul.db-watch{list-style:none;padding:0;margin:.4em 0}
.desalbook ul.db-watch li{margin:.25em 0}
.desalbook .wide{overflow-x:auto;margin:.3em 0}
.desalbook section.step{border-top:1px solid var(--jp-border-color2,#ccc);padding:.4em 0}
.desalbook section.step h3{display:inline;font-size:100%;margin:0 1em 0 0}
.desalbook section.step p{margin:.15em 0}
.desalbook math{font-size:110%}
"""


def start(path: str | Path, units: str = "si") -> Panel:
    """Open a design in a panel; the last line of a cell shows it.

    Parameters
    ----------
    path : path of a design file
    units : {"si", "us"}

    Returns
    -------
    Panel
        ``panel.session`` holds the design and the plant; ``panel.session.errors`` stays empty.
    """
    return Panel(Session(face.read(path), face.size, path), units)


class Panel(w.VBox):
    """All of a design at once.

    Parameters
    ----------
    session : Session
    units : {"si", "us"}
    """

    def __init__(self, session: Session, units: str = "si"):
        self.session, self.units = session, units
        self.controls: dict[str, Control] = {}
        guard = session.guard
        self.head, self.line, self.figures, self.watch, self.why = (w.HTML() for _ in range(5))
        self.undo = w.Button(description="Undo")
        self.save = w.Button(description="Save")
        self.name = w.Text(description="Save as", placeholder="another file",
                           style={"description_width": "initial"})
        self.set = w.Dropdown(options=[("SI", "si"), ("US", "us")], value=units, description="Units",
                              style={"description_width": "initial"}, layout=w.Layout(width="140px"))
        parts = self._parts()
        first = "duty" if any(path == "duty" for _, path in parts) else parts[0][1]
        self.part = w.Dropdown(options=parts, value=first, description="Part of the design",
                               style={"description_width": "initial"})
        self.turn = w.VBox()
        self.figure = w.Combobox(description="Why", placeholder="id of a figure, or a part of it",
                                 style={"description_width": "initial"}, continuous_update=False,
                                 layout=w.Layout(width="min(520px, 96%)"))
        self.undo.on_click(guard(lambda _: session.undo()))
        self.save.on_click(guard(lambda _: self._save()))
        self.set.observe(guard(lambda c: self._switch(c["new"])), names="value")
        self.part.observe(guard(lambda c: self._turn()), names="value")
        self.figure.observe(guard(lambda c: self._why()), names="value")
        session.listen(self.refresh)
        wrap = w.Layout(flex_flow="row wrap", align_items="flex-start")
        left = w.VBox([w.HTML("<b>Turn</b>"), self.part, self.turn], layout=w.Layout(flex="1 1 500px"))
        right = w.VBox([w.HTML("<b>Follows</b>"), self.figures, w.HTML("<b>Watch</b>"), self.watch],
                       layout=w.Layout(flex="1 1 460px"))
        super().__init__([
            w.HTML(f"<style>{theme.css()}{_STYLE}</style>"), self.head,
            w.HBox([self.set, self.undo, self.save, self.name], layout=wrap),
            self.line, w.HBox([left, right], layout=wrap), self.figure, self.why])
        self.add_class("db-panel")
        self._turn()
        self.refresh()
        if session.plant is not None and "membrane.feed_pressure" in session.plant:
            self.figure.value = "membrane.feed_pressure"

    # what a person does ---------------------------------------------------------------------------------

    def _parts(self) -> list[tuple[str, str]]:
        return [(_words(path), path) for path in fields(self.session.design)]

    def _switch(self, units: str) -> None:
        self.units = units
        self._turn()
        self.refresh()
        self._why()

    def _turn(self) -> None:
        rows = fields(self.session.design).get(str(self.part.value), {})
        self.controls = {k: Control(self.session, k, m, self.units) for k, m in rows.items()}
        self.turn.children = tuple(c.widget for c in self.controls.values())
        self._line()

    def _save(self) -> None:
        if self.session.save(face.write, self.name.value.strip() or None):
            self.name.value = ""
        self.refresh()

    # what is shown --------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the session as it is now."""
        session = self.session
        self.undo.disabled = not session.can_undo
        for control in self.controls.values():
            control.refresh()
        name = session.path.name if session.path else "Design"
        state = "unsaved changes" if session.unsaved else "saved" if session.path else "no file"
        said = [x for key, x in session.messages.items() if key not in self.controls]
        if session.stale and session.plant is not None:
            said.append("The figures below are the last that could be made; they do not follow yet.")
        alert = "".join(f'<div class="db-wrong" role="alert">✗ {escape(x)}</div>' for x in said)
        self.head.value = (f'<div class="desalbook"><b>{escape(name)}</b> <span class="quiet">'
                           f"{state} · design {escape(session.design.hash[:12])}</span>{alert}</div>")
        if session.plant is None:
            return
        self._line()
        dull = " db-stale" if session.stale else ""
        checks = session.plant.checks_in(self.units).to_dict("records")
        self.figures.value = f'<div class="desalbook{dull}">{self._key_figures(checks)}</div>'
        self.watch.value = f'<div class="desalbook{dull}">{_watch(checks)}</div>'
        ids = tuple(session.plant.ledger.lines)
        if ids != self.figure.options:
            self.figure.options = ids
        if not session.stale:
            self._why()

    def _line(self) -> None:
        if self.session.plant is None:
            return
        part = (self.part.value or "").partition(".")[0]
        text = picture(self.session.plant, self.units, summary.STEPS.get(part, part))
        dull = ' class="desalbook db-stale"' if self.session.stale else ""
        self.line.value = f"<div{dull}>{text}</div>"

    def _key_figures(self, checks: list[dict[str, Any]]) -> str:
        plant, rows = self.session.plant, []
        for id in summary.HEADLINES:
            if id not in plant:
                continue
            own = [c for c in checks if c["id"].startswith(f"{id}.") and c["margin"] == c["margin"]]
            bar, end = _bar(own[0]) if own else ("", "")
            rows.append(f'<dt>{escape(plant.ledger.lines[id].title)}</dt><dd class="n">'
                        f"{escape(plant.show(id, self.units))}</dd><dd>{bar}</dd><dd class='w'>{end}</dd>")
        return f'<dl class="db-key">{"".join(rows)}</dl>'

    def _why(self) -> None:
        plant, id = self.session.plant, self.figure.value.strip()
        if plant is None or not id:
            self.why.value = ""
            return
        self.why.value = why(plant, id, self.units)


def why(plant: Any, id: str, units: str = "si") -> str:
    """One line of the trail typeset, with the lines it rests on below it.

    Parameters
    ----------
    plant : Plant
    id : str
    units : {"si", "us"}

    Returns
    -------
    str
        HTML; a sentence when there is no such line.
    """
    writer = Writer(plant.record, units, {x["id"] for x in plant.record["lines"]})
    line = writer.lines.get(id.partition("[")[0] if id not in writer.lines else id)
    if line is None:
        line = writer.lines.get(re.sub(r"\[[^\]]*\]$", "", id))
    if line is None:
        return (f'<div class="desalbook" role="alert">No figure is called {escape(id)}; '
                "choose one from the list.</div>")
    refs = (*line["inputs"].values(), *line["because"])
    near = dict.fromkeys(r if isinstance(r, str) else r[0] for r in refs)
    parts = [_step(writer, line), *(_step(writer, writer.lines[i]) for i in near if i != line["id"])]
    # links and anchors are the printed record's; here they would lead nowhere, or stand twice on a page
    text = re.sub(r'<a href="#[^"]*">|</a>|(?<=[a-z"]) id="[^"]*"', "", "".join(parts))
    return f'<div class="desalbook">{text}</div>'


def _step(writer: Writer, line: Mapping[str, Any]) -> str:
    return writer.check(line) if line["sort"] == "checked" else writer.step(line)


def _words(path: str) -> str:
    return path.replace("_", " ").replace(".", ", ").replace("[", " ").replace("]", "").capitalize()


def _bar(check: Mapping[str, Any]) -> tuple[str, str]:
    """How much of the allowed range is used; the stroke is the limit, named at its end."""
    spent = 128 * min(max(1 - check["margin"], 0), 1.25)
    colour = theme.var(_ROLE[check["verdict"]])
    words = escape(f"{check['title']}: {summary.said(check)}", quote=True)
    bar = (f'<svg viewBox="0 0 164 20" width="104" height="13" role="img" aria-label="{words}">'
           f'<rect x="0" y="6" width="160" height="8" fill="none" stroke="{theme.var("quiet")}"/>'
           f'<rect x="0" y="6" width="{spent:.1f}" height="8" fill="{colour}"/>'
           '<path d="M128 1V19" stroke="currentColor" stroke-width="1.6"/></svg>')
    return bar, f'{_mark(check["verdict"])} {escape(summary.said(check).partition(" · ")[0])}'


def _mark(verdict: str) -> str:
    role = theme.role(_ROLE[verdict])
    return f'<span style="color:{theme.var(role.name)}">{role.mark}</span>'


def _watch(checks: list[dict[str, Any]]) -> str:
    rows: dict[bool, list[str]] = {True: [], False: []}
    for c in checks:
        at = f' <span class="quiet">at {escape(c["corner"])}</span>' if c["corner"] else ""
        why_ = f' <span class="quiet">{escape(c["why"])}</span>' if c["why"] else ""
        care = f"<br>! {escape(c['caution'])}" if c["caution"] and c["verdict"] != "holds" else ""
        rows[c["verdict"] == "holds"].append(
            f"<li>{_mark(c['verdict'])} {escape(c['title'])}{at}: {escape(summary.said(c))}{why_}{care}</li>")
    open_, held = (f'<ul class="db-watch">{"".join(rows[k])}</ul>' for k in (False, True))
    if not rows[True]:
        return open_
    return f"{open_}<details><summary>{_mark('holds')} {len(rows[True])} hold</summary>{held}</details>"
