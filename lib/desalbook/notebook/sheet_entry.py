"""The rows of a panel that take manufacturers' sheets, or a pump curve, from a table: choose, preview, take.

A table is read as the command line reads it (`design.sheets`); taking it is one change that Undo takes back.
"""

from __future__ import annotations

from html import escape
from pathlib import Path

import ipywidgets as w

from desalbook import api, paths
from desalbook.design.sections import LISTS, SECTIONS
from desalbook.design.sheets import INNER, Sheets, read_sheets, table_rows
from desalbook.fine import fine
from desalbook.notebook.session import Session
from desalbook.notebook.steps import Step
from desalbook.problems import DesignError, Problem
from desalbook.units import metas

__all__ = ["SheetEntry", "lists_of"]

_WIDE = {"description_width": "initial"}
_AUTO = w.Layout(width="auto")


def lists_of(step: Step) -> tuple[str, ...]:
    """Lists that a table may fill at a step: sheets of its sections, curves and other lists within them."""
    every = (*LISTS, *(x for x in INNER if x.endswith(".curve")))
    return tuple(x for x in every if not step.parts or x.partition(".")[0] in step.parts)


class SheetEntry(w.VBox):
    """A button that unfolds the rows; it is not there at a step without sheets.

    Parameters
    ----------
    session : Session
    step : Step
    units : callable
        Gives the display set, for a blank table.
    """

    def __init__(self, session: Session, step: Step, units):
        self.session, self._units, self._lists = session, units, lists_of(step)
        guard = session.guard
        self.unfold = w.ToggleButton(description="Import a manufacturer's sheet", layout=w.Layout(width="max-content"),
                                     tooltip="CSV or xlsx, beside the design")
        self.file = w.Dropdown(description="Table", style=_WIDE, layout=w.Layout(width="min(340px, 96%)"))
        self.replace = w.Checkbox(description="Replace one of the same name", indent=False, layout=_AUTO)
        self.select = w.Checkbox(description="Select it in the design", value=True, indent=False, layout=_AUTO)
        self.preview, self.take, self.blank = (w.Button(description=d, tooltip=t, layout=_AUTO) for d, t in (
            ("Preview", "Show what the table states"), ("Import", "Put it into the design"),
            ("New blank table", "To be filled in, beside the design")))
        self.list = w.Dropdown(options=[(fine({**LISTS, **INNER}[x].title), x) for x in self._lists], style=_WIDE,
                               description="of", layout=w.Layout(width="min(250px, 96%)"))
        self.told = w.HTML()
        for button, what in ((self.preview, self._preview), (self.take, self._take), (self.blank, self._blank)):
            button.on_click(guard(lambda _, what=what: what()))
        self.unfold.observe(guard(lambda _: self._open()), names="value")
        flow = w.Layout(flex_flow="row wrap", align_items="center", display="none")
        self._row = w.HBox([self.file, self.preview, self.take, self.replace, self.select, self.blank, self.list,
                            self.told], layout=flow)
        super().__init__([self.unfold, self._row], layout=w.Layout(display="flex" if self._lists else "none"))

    def _open(self) -> None:
        self._row.layout.display = "flex" if self.unfold.value else "none"
        self._files()

    def _files(self, chosen: str = "") -> None:
        """Tables that begin as a sheet does, beside the design, then the demo's."""
        folders = (self.session.folder, paths.shelf() / "data-demo")
        found = [p for folder in folders for p in sorted(folder.glob("*"))
                 if p.suffix.lower() in (".csv", ".xlsx") and _is_sheet(p)]
        options = [(p.name, str(p)) for p in dict.fromkeys(found)]
        was = chosen or self.file.value
        if options != list(self.file.options or ()):
            self.file.options = options
        self.file.value = was if was in [v for _, v in options] else options[0][1] if options else None
        if not options:
            self._say("There is no such table beside the design: make a blank one, fill it in and save it there.")

    def _path(self) -> Path:
        if not self.file.value:
            raise DesignError("no table beside the design", where="table", allowed=".csv, .xlsx",
                              do="make a blank one, fill it in and save it in the folder of the design")
        return Path(str(self.file.value))

    def _preview(self) -> None:
        try:
            found = read_sheets(self._path())
            api.add_sheets(self.session.design, self._path(), replace=self.replace.value)
        except Problem as problem:
            self._say(str(problem), wrong=True)
            return
        self.told.value = f'<div class="desalbook">{_shown(found)}</div>'

    def _take(self) -> None:
        def made(design):
            new = api.add_sheets(design, self._path(), replace=self.replace.value)
            found = read_sheets(self._path())
            key = _chosen_by(found.list) if self.select.value and found.list in LISTS else ""
            named = found.sheets[0].get("name")
            fresh = [x for x in new.names(found.list) if x not in design.names(found.list)] if key else []
            return new.with_value(key, named.text if named else fresh[0]) if key and (named or fresh) else new

        name = Path(str(self.file.value or "")).name
        good = self.session.rework(made, "import", f"{name} is part of the design. Undo takes it out again.")
        wrong = self.session.messages.get("import", "")
        self._say(wrong or (f"✓ Imported {name}." if good else ""), wrong=bool(wrong))

    def _blank(self) -> None:
        name = f"{str(self.list.value).replace('.', '-')}-blank.xlsx"
        try:
            made = api.blank_sheet(str(self.list.value), self.session.folder / name, self._units())
        except Problem as problem:
            self._say(str(problem), wrong=True)
            return
        self._files(str(made))
        self._say(f"Made {made.name} beside the design. Fill it in, save it, then import it.")

    def _say(self, words: str, wrong: bool = False) -> None:
        look, role, mark = (" db-wrong", "alert", "✗ ") if wrong else ("", "status", "")
        said = f'<p class="desalbook{look}" style="line-height:1.35" role="{role}">{mark}{escape(words)}</p>'
        self.told.value = said if words else ""


def _is_sheet(path: Path) -> bool:
    try:
        rows = table_rows(path)
    except Problem:
        return False
    top = next((row for row in rows if any(row)), [""])
    return top[0].casefold() == "sheet"


def _chosen_by(of: str) -> str:
    """The key of the design that selects a sheet of a list; empty where several do, or none."""
    keys = [f"{name}.{key}" for name, cls in SECTIONS.items() for key, m in metas(cls).items() if m.own == of]
    return keys[0] if len(keys) == 1 else ""


def _shown(found: Sheets) -> str:
    """What a table states, as a table: a column for each sheet, or a row for each entry."""
    known = metas({**LISTS, **INNER}[found.list].item)
    keys = list(dict.fromkeys(key for sheet in found.sheets for key in sheet))
    heads = {k: fine(known[k].title) if k in known else k for k in keys}
    if found.list in INNER:
        head = "".join(f'<th scope="col">{escape(heads[k])}</th>' for k in keys)
        body = "".join("<tr>" + "".join(f"<td>{escape(fine(s[k].text)) if k in s else ''}</td>" for k in keys) + "</tr>"
                       for s in found.sheets)
        return f'<p role="status">{len(found.sheets)} points would be taken:</p><table><tr>{head}</tr>{body}</table>'
    body = "".join(f'<tr><th scope="row">{escape(heads[k])}</th>'
                   + "".join(f"<td>{escape(fine(s[k].text)) if k in s else ''}</td>" for s in found.sheets) + "</tr>"
                   for k in keys)
    return f'<p role="status">{len(keys)} properties would be taken:</p><table>{body}</table>'
