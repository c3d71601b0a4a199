"""Two widgets of our own: the rows of controls, and a piece of page whose buttons ask the kernel."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets

__all__ = ["Page", "Turn"]

_HERE = Path(__file__).parent


class Turn(anywidget.AnyWidget):
    """Rows of controls.

    Parameters
    ----------
    heard : callable
        Gets what a person asks: ``{"write": key, "text": ...}``, with ``"then"`` what a slider would write one
        step on; ``{"confirm": key}``, ``{"reset": key}`` or
        ``{"turn": key}`` for the control of another key, ``{"seen": True}`` when the rows come into sight.
    """

    _esm = (_HERE / "turn.js").read_text(encoding="utf-8")
    rows = traitlets.List().tag(sync=True)
    answered = traitlets.Int(0).tag(sync=True)

    def __init__(self, heard: Callable[[dict[str, Any]], Any], **kwargs: Any):
        super().__init__(**kwargs)
        self._heard = heard
        self.on_msg(lambda _widget, content, _buffers: self.ask(content))

    def ask(self, what: dict[str, Any]) -> None:
        """Answer one message; the front end sends the next only then."""
        try:
            self._heard(what)
        finally:
            self.answered = int(what.get("n", self.answered + 1))

    def show(self, key: str) -> None:
        """Bring the field of a key into view and put the focus there."""
        self.send({"show": key})

    def row(self, key: str) -> dict[str, Any]:
        """The row of a key as it is shown."""
        return next(r for r in self.rows if r["key"] == key)


class Page(anywidget.AnyWidget):
    """HTML whose elements with ``data-ask`` send their JSON to the kernel.

    Parameters
    ----------
    heard : callable, optional
    """

    _esm = (_HERE / "page.js").read_text(encoding="utf-8")
    html = traitlets.Unicode().tag(sync=True)
    measured = traitlets.Bool(False, help="Tell ``wide``; each page that does costs messages.").tag(sync=True)
    wide = traitlets.Int(0, help="Width it is shown at, pixels; 0 before it is shown.").tag(sync=True)

    def __init__(self, heard: Callable[[dict[str, Any]], Any] | None = None, **kwargs: Any):
        super().__init__(**kwargs)
        self._heard = heard
        self.on_msg(lambda _widget, content, _buffers: self.ask(content))

    def ask(self, what: dict[str, Any]) -> None:
        """Answer one message."""
        if self._heard is not None:
            self._heard(what)

    def show(self) -> None:
        """Bring it into view and put the focus there."""
        self.send({"show": True})
