"""Widgets of our own: rows of controls, a page whose buttons ask the kernel, keys that stay in a panel, a study."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets

__all__ = ["STUDY_STYLE", "Keys", "Page", "Rows", "Runner", "Turn"]

_HERE = Path(__file__).parent


class Turn(anywidget.AnyWidget):
    """Rows of controls.

    Parameters
    ----------
    heard : callable
        Gets what a person asks: ``{"write": key, "text": ...}``, with ``"then"`` what a slider would write one
        step on; ``{"confirm": key}``, ``{"reset": key}`` or
        ``{"turn": key}`` for the control of another key, ``{"fold": group, "open": bool}``, ``{"find": text}``,
        ``{"seen": True}`` when the rows come into sight.
    """

    _esm = (_HERE / "turn.js").read_text(encoding="utf-8")
    rows = traitlets.List(help="As `controls.row` makes them, with the group of each.").tag(sync=True)
    groups = traitlets.List(help="Folded groups; without any there is no search.").tag(sync=True)
    find = traitlets.Unicode(help="What is searched for.").tag(sync=True)
    note = traitlets.Unicode(help="What is said beside the search.").tag(sync=True)
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

    _esm = "".join((_HERE / name).read_text(encoding="utf-8") for name in ("reader.js", "page.js"))
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


class Keys(anywidget.AnyWidget):
    """Put among the children of a box of class ``db-panel`` or ``db-desk``."""

    _esm = Path(__file__).with_name("keyboard.js").read_text(encoding="utf-8")


STUDY_STYLE = """
.db-study p{margin:.5em 0}
.db-study progress{width:11em;vertical-align:middle;accent-color:var(--db-sea)}
.db-study .db-count{font-variant-numeric:tabular-nums}
.db-study button:disabled{opacity:.5;cursor:default}
.db-desk .db-row .db-help,.db-desk .db-search{display:none}
.db-study.wide{max-height:36em;overflow:auto}
.db-study table{border-collapse:collapse;font-variant-numeric:tabular-nums}
.db-study th{position:sticky;top:0;background:var(--db-ground);font-weight:normal;color:var(--db-quiet);
text-align:right;vertical-align:bottom;max-width:11em;padding:.15em .7em .25em 0;
border-bottom:1px solid var(--db-quiet)}
.db-study td{text-align:right;padding:.15em .7em .15em 0;white-space:nowrap}
.db-study .w{text-align:left}
.db-study td.w{white-space:normal}
.db-study td:nth-last-child(2).w{min-width:8em}
.db-study td:last-child{min-width:15em}
.db-study.db-offer{overflow-x:auto;max-width:100%}
.db-offer tbody th{position:static;border:0;text-align:right}
.db-study .db-chosen th,.db-study .db-chosen td{position:static;max-width:26em;white-space:normal}
.db-study .db-chosen tbody th{border:0;color:inherit;padding-right:1.4em}
.db-study tr.quiet>*{color:var(--db-quiet)}
.db-study.db-offer td:last-child,.db-study .db-chosen td:last-child{min-width:0}
.db-keys{margin:.2em 0;font-size:90%;line-height:1.9}
.db-keys svg{vertical-align:middle}
.db-follow{list-style:none;padding:0;margin:.3em 0}
.db-follow li{margin:.25em 0}
"""
"""Style sheet of the desk, beside the panel's."""


class Runner(anywidget.AnyWidget):
    """Buttons and progress of a study.

    Parameters
    ----------
    heard : callable
        Gets ``{"run": True}``, ``{"continue": True}`` or ``{"cancel": True}``.
    """

    _esm = (_HERE / "study.js").read_text(encoding="utf-8")
    running = traitlets.Bool(False).tag(sync=True)
    done = traitlets.Int(0).tag(sync=True)
    cases = traitlets.Int(0).tag(sync=True)
    count = traitlets.Unicode().tag(sync=True)
    said = traitlets.Unicode().tag(sync=True)
    kept = traitlets.Unicode(help="Words of the button that goes on with kept rows; no button if empty.").tag(sync=True)
    csv = traitlets.Unicode().tag(sync=True)
    name = traitlets.Unicode("study.csv").tag(sync=True)

    def __init__(self, heard: Callable[[dict[str, Any]], Any], **kwargs: Any):
        super().__init__(**kwargs)
        self.on_msg(lambda _widget, content, _buffers: heard(content))


class Rows(anywidget.AnyWidget):
    """The table, in a frame that keeps its place while rows come in."""

    _esm = """
    export default { render({ model, el }) {
      const box = document.createElement("div");
      box.className = "desalbook db-study wide";
      for (const [k, v] of [["tabindex", "0"], ["role", "region"], ["aria-label", "Rows of the study"]])
        box.setAttribute(k, v);
      box.addEventListener("keydown", (event) => event.stopPropagation());
      box.dataset.lmSuppressShortcuts = "true";
      const fill = () => { box.innerHTML = model.get("table"); box.hidden = !model.get("table"); };
      model.on("change:table", fill);
      el.append(box);
      fill();
    } };
    """
    table = traitlets.Unicode().tag(sync=True)
