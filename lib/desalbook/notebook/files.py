"""The row of a panel that handles files: save, save as, open, earlier revisions, the calculation as a file."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook import api, paths
from desalbook import design as room
from desalbook.design.file import LARGEST
from desalbook.design.names import checked_name
from desalbook.drawings.water_line import plant as water_line
from desalbook.notebook.session import Session
from desalbook.problems import Problem

__all__ = ["EXPORTS", "Files", "designs"]

_WIDE = {"description_width": "initial"}
EXPORTS = {"page": ("-audit.html", "Audit page"), "workbook": ("-audit.xlsx", "Workbook"),
           "record": ("-audit.json", "Record")}
"""What is written of a calculation: what a file's name ends in, and its name in a sentence."""


def designs(folder: Path, own: Path | None = None) -> list[tuple[str, str]]:
    """Design files that can be opened: those of a folder, newest first, then the demo plants.

    Parameters
    ----------
    folder : Path
    own : Path, optional
        The file that is open, listed although it lies elsewhere.

    Returns
    -------
    list of (label, path)
    """
    here = sorted((p for p in folder.glob("*.toml") if _design(p)), key=lambda p: -p.stat().st_mtime)
    demos = [p for p in sorted((paths.shelf() / "data-demo").glob("*.toml")) if _design(p)]
    here = [p for p in here if p.parent.resolve() != (paths.shelf() / "data-demo").resolve()]
    if own is not None and own.is_file() and own.resolve() not in {p.resolve() for p in (*here, *demos)}:
        here.insert(0, own)
    return [*((p.name, str(p.resolve())) for p in here), *((f"{p.stem} (demo)", str(p.resolve())) for p in demos)]


def _design(path: Path) -> bool:
    try:
        if not path.is_file() or path.stat().st_size > LARGEST:
            return False
        return re.search(r"^format\s*=", path.read_text(encoding="utf-8"), re.M) is not None
    except (OSError, UnicodeDecodeError):
        return False


class Files(w.VBox):
    """Buttons and lists for the files of one session.

    Parameters
    ----------
    session : Session
    moved : callable
        Called after something was opened, saved or written, or was refused.
    writes : bool
        Whether the design can be changed, and so saved, here.
    exports : bool
        Whether its calculation can be written from here.
    units : callable, optional
        Gives the display set of what is written.
    """

    def __init__(self, session: Session, moved: Callable[[], None], *, writes: bool = True,
                 exports: bool = True, units: Callable[[], str] = lambda: "si"):
        self.session, self._moved, self._units = session, moved, units
        self.save, self.saved_as, self.opening, self.take = (
            w.Button(description=d, tooltip=t, layout=w.Layout(width="auto")) for d, t in (
                ("Save", "Save the design in its file"),
                ("Save as", "Save the design in a new file of the name beside"),
                ("Open", "Open the design file chosen beside"),
                ("Restore", "Put the chosen revision in place of the current version; it can be undone")))
        self.exports = {what: w.Button(description=f"Export {words.lower()}", layout=w.Layout(width="auto"),
                                       tooltip="Export it beside the design file")
                        for what, (_, words) in EXPORTS.items()}
        # sent when it is left: letter by letter, the last one would come after the press of a button
        self.name = w.Text(description="New file", placeholder="e.g. three-trains", style=_WIDE,
                           continuous_update=False, layout=w.Layout(width="260px"))
        self.there = w.Dropdown(description="Design file", style=_WIDE)
        self.past = w.Dropdown(description="Revision", style=_WIDE)
        guard = session.guard
        self.save.on_click(guard(lambda _: self._save(None)))
        self.saved_as.on_click(guard(lambda _: self._save(self.name.value.strip())))
        self.opening.on_click(guard(lambda _: self._open()))
        self.take.on_click(guard(lambda _: self._take()))
        for what, button in self.exports.items():
            button.on_click(guard(lambda _, what=what: self.export(what)))
        wrap = w.Layout(flex_flow="row wrap", align_items="center")
        rows = [[self.there, self.opening, *((self.past, self.take) if writes else ())],
                [*((self.save, self.name, self.saved_as) if writes else ()),
                 *(self.exports.values() if exports else ())]]
        super().__init__([w.HBox(row, layout=wrap) for row in rows])
        self.look()

    def look(self) -> None:
        """Bring the lists up to what is on the disk now; what was chosen stays chosen."""
        own = self.session.path
        options = designs(self.session.folder, own)
        if options != list(self.there.options or ()):
            was = self.there.value
            self.there.options = options
            if was in [place for _, place in options]:
                self.there.value = was
            elif own is not None and str(own.resolve()) in [p for _, p in options]:
                self.there.value = str(own.resolve())
            elif options:
                self.there.value = options[0][1]
        past = self._past(own) if own else []
        revisions = [("current version", ""), *(
            (f"{r['revision']} · {r['time'][:16].replace('T', ' ')} · {r['hash'][:8]}", r["text"])
            for r in reversed(past))]
        if revisions != list(self.past.options or ()):
            self.past.options = revisions
            self.past.value = ""
        self.take.disabled = len(revisions) == 1

    def _past(self, own: Path) -> list[dict[str, Any]]:
        """Revisions of a file; what cannot be read of its history is said, and stays where it is."""
        said = self.session.messages
        said.pop("history", None)
        try:
            past, bad = room.revisions(own), room.damaged(own)
        except Problem as problem:
            said["history"] = str(problem)
            return []
        if bad:
            lines = ", ".join(map(str, bad[:5])) + (" and more" if len(bad) > 5 else "")
            said["history"] = (f"{own.name}: damaged lines in its history, {lines}. They stay in that file; the other "
                               "revisions are listed.")
        return past

    def export(self, what: str) -> Path | None:
        """Write the calculation of the saved design beside it; None when that is refused, with the reason said."""
        session = self.session
        session.messages.pop("save", None)
        ending, words = EXPORTS[what]
        plant = session.plant
        if plant is None or session.stale:
            session.messages["save"] = "This design cannot be built yet, so there is no calculation of it to export."
        elif session.unsaved:
            session.messages["save"] = ("This design has unsaved changes. Save it first, so that the file and its "
                                        "calculation agree.")
        if plant is None or "save" in session.messages:
            self._moved()
            return None
        stem = session.path.stem if session.path is not None else "design"
        goal = session.folder / f"{stem}{ending}"
        try:
            trail = plant.trail if session.path is None else plant.trail.with_marks(session.path)
            if what == "record":
                trail.record(goal)
            elif what == "page":
                trail.page(goal, self._units(), picture=water_line.picture(plant, self._units(), width=880))
            else:
                trail.workbook(goal, self._units())
        except OSError as error:
            session.messages["save"] = f"{goal} cannot be written ({error.strerror}). Save the design elsewhere first."
            self._moved()
            return None
        session.done = f"{words} written to {goal}"
        self._moved()
        return goal

    def _save(self, name: str | None) -> None:
        if name is not None and not name:
            self.session.messages["save"] = "No name. Enter one in New file, then Save as."
        elif name is not None and (refused := self._refused(name)):
            self.session.messages["save"] = refused
        elif self.session.save(api.write, name):
            self.name.value = ""
            if self.session.path is not None:
                self.look()
                self.there.value = str(self.session.path.resolve())
        self.look()
        self._moved()

    def _refused(self, name: str) -> str:
        """Why a typed name is no name of a file here; empty when it is one."""
        try:
            checked_name(name, self.session.folder)
        except Problem as problem:
            return str(problem)
        return ""

    def _open(self) -> None:
        if self.there.value:
            self.session.open(api.read, self.there.value)
            self.look()
            self._moved()

    def _take(self) -> None:
        if self.past.value:
            self.session.revision(self.past.value, lambda t: room.from_text(t, self.session.path))
            self.past.value = ""
            self._moved()
