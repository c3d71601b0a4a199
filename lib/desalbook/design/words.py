"""Keys of the design file as people read them: the name of a part, the title of a key, both in a sentence."""

from __future__ import annotations

import re
from functools import cache

from desalbook.design.sections import field_meta

__all__ = ["KEY", "entry", "named", "part_words", "place", "titled"]

_PARTS = {"hp_pump": "High-pressure pump", "cip": "Cleaning", "interpass_ph": "pH between passes",
          "post_ph": "pH of the product", "post_chlorination": "Chlorination of the product",
          "specification": "Limits of the contract", "duty": "Duty", "fouling": "Fouling index"}
"""Parts of the design whose key is not a word of the trade as it stands."""
_LISTS = {"layers": "layer", "points": "point", "bays": "bay", "runs": "run", "stages": "stage",
          "analyses": "analysis", "vessels": "vessel"}
KEY = re.compile(r"\b[a-z][a-z_0-9]*(?:\[[\w.+-]+\])?(?:\.[a-z][a-z_0-9]*(?:\[[\w.+-]+\])?)+")
_WITH_VALUE = re.compile(f"({KEY.pattern})(?: = [^\\s,;)]+)?")


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


@cache
def entry(key: str) -> str | None:
    """Words of one entry of a list, such as ``piping.runs[permeate]``; None when it is none."""
    try:
        meta = field_meta(key)
    except (KeyError, AttributeError):
        return None
    return part_words(key) if meta.form == "sections" and key.endswith("]") else None


def named(text: str) -> list[str]:
    """Keys a sentence names, each once, in their order."""
    return [k for k in dict.fromkeys(KEY.findall(text)) if place(k) is not None]


def titled(text: str) -> str:
    """A sentence in which each key has its title before it: *raise head of the cleaning pump (cip.pump_head)*."""
    def told(hit: re.Match[str]) -> str:
        found = place(hit[1])
        title = found[0] if found else entry(hit[1])
        if title is None:
            return hit[0]
        title = title[0].lower() + title[1:] if title[1:2].islower() or title[1:2] == " " else title
        return f"{title} ({hit[0]})"

    return _WITH_VALUE.sub(told, text)
