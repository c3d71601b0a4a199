"""One design being worked on: the state is the text of the design file, and nothing else.

A change edits the text, the whole text is validated, the plant is sized again. What cannot be read is not
taken over; what can be read but not built is kept, and the last plant that could be built stays, stale.
"""

from __future__ import annotations

import functools
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from desalbook import paths
from desalbook.design.file import digest, load
from desalbook.notebook.drafts import Draft, Drafts
from desalbook.notebook.guarded import defect
from desalbook.notebook.prefetch import Prefetch
from desalbook.problems import Conflict, Problem

__all__ = ["Session"]


class Session:
    """A design, the last plant that could be sized, what is wrong, and the way back.

    Parameters
    ----------
    design : Design
        What `desalbook.read` gives.
    size : callable
        Design -> Plant; pure, for its latest answers are kept; may raise `Problem`.
    path : path, optional
        The file it came from.
    keeps : bool
        Whether unsaved text is kept as a draft, and the file remembered, in the hidden folder.

    Attributes
    ----------
    before : Plant or None
        As it was before the latest change; the steps of one slider are one change.
    of_file : Plant or None
        Of the text that the file holds.
    """

    def __init__(self, design: Any, size: Callable[[Any], Any], path: str | Path = "", keeps: bool = False):
        self.design, self.path = design, Path(path) if path else None
        self._drafts = Drafts() if keeps else None
        self._kept: tuple[Any, ...] = (self.path, design.hash)
        self._size = Prefetch(size)
        self.saved = design.hash
        self.plant: Any = None
        self.before: Any = None
        self.of_file: Any = None
        self._slid = ""
        self.stale = False
        self.messages: dict[str, str] = {}
        self.done = ""
        self.errors: list[str] = []
        self._undo: list[Any] = []
        self._redo: list[Any] = []
        self._listeners: list[Callable[[], None]] = []
        self._resize("")
        self._as_filed()

    # changing -------------------------------------------------------------------------------------------

    def apply(self, key: str, text: Any, slid: bool = False) -> bool:
        """Write one key as a person types it; True when the design took it and the plant follows.

        The sentence on what is wrong stands in ``messages[key]``. None removes the key. With `slid` it is a step of a
        slider.
        """
        def made(design: Any) -> Any:
            if text is not None:
                return design.with_value(key, text)
            return design.without(key) if design.stands(key) else design

        before, goes_on = self.before, slid and self._slid == key
        good = self.rework(made, key, tell=False)
        if goes_on:
            self.before = before
        self._slid = key if slid else ""
        self._tell()
        return good

    def rework(self, make: Callable[[Any], Any], key: str = "", done: str = "",
               tell: bool = True) -> bool:
        """Take up another design made of this one as one change, which one undo takes back; as `apply`.

        Parameters
        ----------
        make : callable
            Design -> Design; may raise `Problem`.
        key : str
            Where the sentence on what is wrong stands.
        done : str
            What is said when it is done.
        tell : bool
            Whether the listeners hear of it; else the caller tells them.
        """
        self.messages.clear()
        self.done, self._slid = "", ""
        try:
            new = make(self.design)
        except Problem as problem:
            self.messages[key] = str(problem)
            if tell:
                self._tell()
            return False
        if new.text != self.design.text:
            self._undo.append(self.design)
            self._redo.clear()
            self.design = new
        good = self._resize(key)
        self.done = done if good else ""
        if tell:
            self._tell()
        return good

    def prefetch(self, key: str, text: str) -> None:
        """Begin on the plant that writing this would ask for; nothing changes, and nothing is said."""
        design = self.design
        self._size.begin(lambda: design.with_value(key, text))

    def undo(self) -> bool:
        """Back by one change; False when there is none."""
        return self._back(self._undo, self._redo)

    def redo(self) -> bool:
        """Take an undone change up again; False when there is none."""
        return self._back(self._redo, self._undo)

    def _back(self, source: list[Any], other: list[Any]) -> bool:
        if not source:
            return False
        self.messages.clear()
        self._slid = ""
        other.append(self.design)
        self.design = source.pop()
        self._resize("")
        self._tell()
        return True

    @property
    def can_undo(self) -> bool:
        """There is a change to take back."""
        return bool(self._undo)

    @property
    def can_redo(self) -> bool:
        """There is a change to take up again."""
        return bool(self._redo)

    @property
    def unsaved(self) -> bool:
        """The text differs from the file's."""
        return self.design.hash != self.saved

    def save(self, write: Callable[..., Any], path: str | Path | None = None) -> bool:
        """Write the file; refused, with both texts kept, when it changed meanwhile.

        Parameters
        ----------
        write : callable
            ``write(design, path, expected=hash)``; gives the design as it stands there.
        path : path, optional
            Another file than the one it came from.
        """
        goal = Path(path) if path else self.path
        self.messages.pop("save", None)
        try:
            if goal is None:
                self.messages["save"] = "No file yet. Enter a name to save under."
                return False
            if goal.suffix != ".toml":
                goal = goal.with_name(f"{goal.name}.toml")
            if not goal.is_absolute() and path is not None:
                goal = self.folder / goal
            goal = Path(os.path.normpath(goal))  # a folder that is left again need not be there
            if _delivered(goal):
                raise Conflict("demo designs stay as delivered", where="save", value=goal.name,
                               do="enter a name in New file, then Save as")
            if self.path is None or goal.resolve() != self.path.resolve():
                if goal.exists():
                    raise Conflict("a file of that name is there", where="save", value=goal.name,
                                   do="give another name")
                self.design = write(self.design, goal)
            else:
                self.design = write(self.design, goal, expected=self.saved)
        except (Problem, OSError, ValueError, RuntimeError) as problem:  # no file name, links in a ring
            said = str(problem) if isinstance(problem, Problem) else f"cannot be written: {problem}"
            self.messages["save"] = " ".join(said.split()) + ("" if said.endswith(".") else ". Enter another name.")
            return False
        finally:
            self._tell()
        self.path, self.saved = goal, self.design.hash
        self._as_filed()
        self.done = f"Saved in {goal.resolve()}"
        self._tell()
        return True

    @property
    def folder(self) -> Path:
        """Where files of this design go: beside it, or where the notebook runs when it is a demo or has no file."""
        return self.path.resolve().parent if self.path is not None and not self.delivered else Path.cwd()

    @property
    def delivered(self) -> bool:
        """The file is a demo design of the kit, which is never written over."""
        return self.path is not None and _delivered(self.path)

    @property
    def moved_on(self) -> bool:
        """The file on disk is no longer the one that was read or saved here."""
        if self.path is None:
            return False
        try:
            return digest(load(self.path)) != self.saved
        except Problem:
            return False

    def reload(self, read: Callable[[Any], Any]) -> bool:
        """Take over what the file says now; the text left behind is one undo away."""
        self.messages.clear()
        try:
            new = read(self.path)
        except Problem as problem:
            self.messages["save"] = str(problem)
            self._tell()
            return False
        self._undo.append(self.design)
        self._redo.clear()
        self.design, self.saved = new, new.hash
        self._resize("")
        self._as_filed()
        self.before = None
        self._tell()
        return True

    def open(self, read: Callable[[Any], Any], path: str | Path) -> bool:
        """Work on another file; refused while changes here are unsaved."""
        self.messages.pop("save", None)
        if self.unsaved:
            self.messages["save"] = "This design has unsaved changes. Save it under a name, or undo them, first."
            self._tell()
            return False
        was, self.path = self.path, Path(path)
        if not self.reload(read):
            self.path = was
            self._tell()
            return False
        self._undo.clear()
        self.done = f"Opened {self.path}"
        self._tell()
        return True

    def revision(self, text: str, from_text: Callable[[str], Any]) -> bool:
        """Take up an earlier text of the file; it is a change like any other, and can be undone."""
        try:
            new = from_text(text)
        except Problem as problem:
            self.messages["save"] = str(problem)
            self._tell()
            return False
        if new.text == self.design.text:
            return False
        self.messages.clear()
        self._undo.append(self.design)
        self._redo.clear()
        self.design = new
        self._resize("")
        self._tell()
        return True

    def _resize(self, key: str) -> bool:
        was = self.plant
        try:
            self.plant = self._size(self.design)
        except Problem as problem:
            self.stale = True
            self.messages[key or problem.where] = str(problem)  # beside its field, if that is in view
            return False
        self.stale = False
        if self.plant is not was:
            self.before = was
        return True

    def _as_filed(self) -> None:
        """The plant in view is that of the file."""
        self.of_file = None if self.stale else self.plant

    # listening ------------------------------------------------------------------------------------------

    def listen(self, what: Callable[[], None]) -> None:
        """Call this after every change."""
        self._listeners.append(what)

    def left(self) -> list[Draft]:
        """Unsaved text of this file that a notebook which no longer runs left behind, the latest first."""
        return [] if self._drafts is None else self._drafts.left(self.folder, self.path, self.design.text)

    def restore(self, draft: Draft, from_text: Callable[[str], Any]) -> bool:
        """Take up a draft; it is a change like any other, and can be undone."""
        if good := self.revision(draft.text, from_text):
            draft.discard()  # this session keeps a draft of its own by now
            self.done = "The draft is restored; it is not saved yet"
            self._tell()
        return good

    def _keep(self) -> None:
        """Unsaved text as a draft, and which file is open, for the next start."""
        if self._drafts is None or self._kept == (self.path, self.design.hash, self.saved):
            return
        self._kept = (self.path, self.design.hash, self.saved)
        if self.unsaved:
            self._drafts.keep(self.folder, self.path, self.design.text)
        else:
            self._drafts.drop()
        if self.path is not None:
            paths.remember(file=str(self.path.resolve()))

    def _tell(self) -> None:
        self._keep()
        for what in list(self._listeners):
            what()

    def guard(self, what: Callable[..., Any]) -> Callable[..., Any]:
        """Wrap a callback of a control: an error becomes a sentence, and what was shown stays.

        A front end swallows errors of callbacks; here they are kept in ``errors``.
        """
        @functools.wraps(what)
        def wrapped(*args: Any, **kwargs: Any) -> Any:
            try:
                return what(*args, **kwargs)
            except Problem as problem:
                self.messages[""] = str(problem)
            except Exception as error:  # nothing may vanish in a callback
                self.messages[""] = defect(error, self.errors)
                self.stale = True  # what a refusal left as it was is not stale
            try:
                self._tell()
            except Exception as error:
                defect(error, self.errors)
            return None
        return wrapped


def _delivered(path: Path) -> bool:
    """A demo design of the kit, which is never written over."""
    return path.resolve().parent == (paths.shelf() / "data-demo").resolve()
