"""Keys of the design file as people read them: the name of a part, and a key in a sentence as a way to its control."""

from __future__ import annotations

import json
import re
from functools import cache
from html import escape

from desalbook.design import field_meta

__all__ = ["linked", "named", "part_words", "place", "way"]

_PARTS = {"hp_pump": "High-pressure pump", "cip": "Cleaning", "interpass_ph": "pH between passes",
          "post_ph": "pH of the product", "post_chlorination": "Chlorination of the product",
          "specification": "Limits of the contract", "duty": "Duty", "fouling": "Fouling index"}
"""Parts of the design whose key is not a word of the trade as it stands."""
_LISTS = {"layers": "layer", "points": "point", "bays": "bay", "runs": "run", "stages": "stage",
          "analyses": "analysis", "vessels": "vessel"}
_KEY = re.compile(r"\b[a-z][a-z_0-9]*(?:\[[\w.+-]+\])?(?:\.[a-z][a-z_0-9]*(?:\[[\w.+-]+\])?)+")


def part_words(path: str) -> str:
    """``filters.layers[sand]`` as a person reads it: *Filters, layer sand*."""
    said = []
    for piece in re.findall(r"[a-z_0-9]+(?:\[[^\]]*\])?", path, re.I):
        name, _, key = piece.partition("[")
        plain = _LISTS.get(name, name) if said else _PARTS.get(name, name.replace("_", " ").capitalize())
        said.append(f"{plain.replace('_', ' ')} {key.rstrip(']').replace('_', ' ')}".strip())
    return ", ".join(said)


@cache
def place(key: str) -> tuple[str, str] | None:
    """Title of a key's control and the words of its part of the design; None when it is no key of a file."""
    try:
        meta = field_meta(key)
    except (KeyError, AttributeError):
        return None
    if meta.form in ("section", "sections"):
        return None
    title = f"{meta.title}, {key.rpartition('[')[2].rstrip(']')}" if key.endswith("]") else meta.title
    return title, part_words(key.rpartition(".")[0])


def named(text: str) -> list[str]:
    """Keys a sentence names, each once, in their order."""
    return [k for k in dict.fromkeys(_KEY.findall(text)) if place(k) is not None]


def way(key: str) -> str:
    """What a button that leads to a control says."""
    found = place(key)
    return f"{found[0]} ({found[1]})" if found else key


def linked(text: str) -> str:
    """A sentence as HTML in which each key is a button that brings its control into view."""
    out, at = [], 0
    for hit in _KEY.finditer(text):
        if place(hit[0]) is None:
            continue
        ask = escape(json.dumps({"turn": hit[0]}), quote=True)
        out += [escape(text[at:hit.start()]),
                f'<button type="button" class="db-way" data-ask="{ask}" title="{escape(hit[0])}">'
                f"{escape(way(hit[0]))}</button>"]
        at = hit.end()
    return "".join([*out, escape(text[at:])])
