"""Why a figure is what it is: its line typeset, with the lines it rests on and those that rest on it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from html import escape
from typing import Any

from desalbook.api import Plant
from desalbook.audit.page.parts import Writer
from desalbook.display import Beside, inert
from desalbook.fine import fine

__all__ = ["ask_why", "why"]

_MOST = 8
"""Lines that rest on a figure shown by name; a temperature carries hundreds."""


def why(plant: Plant, id: str, units: str = "si") -> str:
    """One line of the trail typeset, with the lines it rests on below it.

    Parameters
    ----------
    plant : Plant
    id : str
    units : {"si", "us"}

    Returns
    -------
    str
        HTML whose buttons ask for the next line; a sentence when there is no such line.
    """
    lines = plant.ledger.lines
    found = next((i for i in (id, id.partition("[")[0], re.sub(r"\[[^\]]*\]$", "", id)) if i in lines), None)
    if found is None:
        return (f'<div class="desalbook" role="alert">No figure is called {escape(id)}; '
                "choose one from the list.</div>")
    near = [i for i in _rests_on(lines[found]) if i != found]
    on_it = _resting(lines, found)
    needed = {found, *near, *on_it[:_MOST], *(j for i in near for j in _rests_on(lines[i]))}
    writer = Beside(plant.excerpt(needed), units, needed)
    parts = [_step(writer, writer.lines[i]) for i in (found, *_told(lines, found, near))]
    # links and anchors are the printed record's; here they would lead nowhere, or stand twice on a page
    text = fine(inert("".join(parts)))
    up, down = (_buttons([writer.lines[i] for i in some]) for some in (near, on_it[:_MOST]))
    more = f" and {len(on_it) - _MOST} more" if len(on_it) > _MOST else ""
    return (f'<div class="desalbook"><p class="db-ways">{"Depends on" + up if up else ""}'
            f'{"<br>" if up and down else ""}{"Used by" + down + more if down else ""}</p>{text}</div>')


def ask_why(plant: Plant, id: str) -> str:
    """A button that asks why a figure is what it is; before it is pressed nothing is recorded."""
    name = plant[id].title if id in plant else id
    return (f'<div class="desalbook"><p>{_button(id, f"Show why: {name}")} <span class="quiet">'
            "The calculation trail is made when it is first asked for.</span></p></div>")


def _told(lines: Mapping[str, Any], found: str, near: list[str]) -> list[str]:
    """Of the cases a governing figure was picked from, only that which governs is typeset."""
    corners = [i for i in near if i.startswith(f"{found}@")]
    if lines[found].sort != "picked" or not corners:
        return near
    governs = [i for i in corners if lines[i].value == lines[found].value][:1]
    return [i for i in near if i not in corners or i in governs]


def _buttons(lines: list[Mapping[str, Any]]) -> str:
    """A way to each line by its name; names that are alike are told apart by what their ids end in."""
    names = [x["title"] + (f" at {x['corner']}" if x.get("corner") else "") for x in lines]
    out = []
    for line, name in zip(lines, names, strict=True):
        if names.count(name) > 1:
            last = re.split(r"[.\[]", line["id"].partition("@")[0])[-1]
            name += f" ({last.rstrip(']').replace('_', ' ')})"
        out.append(f" {_button(line['id'], name)}")
    return "".join(out)


def _button(id: str, name: str) -> str:
    ask = escape(json.dumps({"why": id}), quote=True)
    return f'<button type="button" data-ask="{ask}">{escape(fine(name))}</button>'


def _rests_on(line: Any) -> list[str]:
    """Ids of the lines a line of the ledger rests on, each once."""
    return list(dict.fromkeys(x.id for x in (*line.inputs.values(), *line.because)))


def _resting(lines: Mapping[str, Any], id: str) -> list[str]:
    """Ids of the lines that rest on that one; every line of a plant is asked, so in plain loops."""
    found = []
    for i, line in lines.items():
        for x in line.inputs.values():
            if x.id == id:
                found.append(i)
                break
        else:
            for x in line.because:
                if x.id == id:
                    found.append(i)
                    break
    return found


def _step(writer: Writer, line: Mapping[str, Any]) -> str:
    return writer.check(line) if line["sort"] == "checked" else writer.step(line)
