"""Keys of the design file as people read them: the name of a part, the title of a key, both in a sentence."""

from __future__ import annotations

from functools import cache

from desalbook.design.sections import field_meta
from desalbook.trail.words import KEY, part_words, with_titles

__all__ = ["KEY", "entry", "named", "part_words", "place", "titled"]

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
    """A sentence in which each key has its title before it: *raise "Head of the CIP pump" (cip.pump_head)*."""
    def title(key: str) -> str | None:
        found = place(key)
        return found[0] if found else entry(key)

    return with_titles(text, title)
