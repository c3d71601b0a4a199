"""Widgets of the study desk: buttons with a progress bar, and a table that fills while one looks."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets

__all__ = ["STUDY_STYLE", "Rows", "Runner"]

STUDY_STYLE = """
.db-study p{margin:.5em 0}
.db-study progress{width:11em;vertical-align:middle;accent-color:var(--db-sea)}
.db-study .db-count{font-variant-numeric:tabular-nums}
.db-study button:disabled{opacity:.5;cursor:default}
.db-desk .db-row .db-help{display:none}
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
.db-follow{list-style:none;padding:0;margin:.3em 0}
.db-follow li{margin:.25em 0}
"""
"""Style sheet of the desk, beside the panel's."""


class Runner(anywidget.AnyWidget):
    """Buttons and progress of a study.

    Parameters
    ----------
    heard : callable
        Gets ``{"run": True}`` or ``{"cancel": True}``.
    """

    _esm = (Path(__file__).parent / "study.js").read_text(encoding="utf-8")
    running = traitlets.Bool(False).tag(sync=True)
    done = traitlets.Int(0).tag(sync=True)
    cases = traitlets.Int(0).tag(sync=True)
    count = traitlets.Unicode().tag(sync=True)
    said = traitlets.Unicode().tag(sync=True)
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
