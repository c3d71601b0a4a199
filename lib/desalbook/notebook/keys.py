"""Keys of the design file as people read them: the name of a part, and a key in a sentence as a way to its control."""

from __future__ import annotations

import json
import re
from html import escape

from desalbook.design.words import KEY, entry, named, part_words, place

__all__ = ["linked", "named", "part_words", "place", "way"]

# brackets, commas and stops stay in the line of their button
_AT_BUTTON = re.compile(r"\(<button[^>]*>[^<]*</button>[),.;]*|<button[^>]*>[^<]*</button>[),.;]+")


def way(key: str) -> str:
    """What a button that leads to a control says."""
    found = place(key)
    if found is None:
        return key
    title, part = found
    return title if title == part else f"{title} ({part})"


def linked(text: str) -> str:
    """A sentence as HTML in which each key is a button that brings its control into view."""
    out, at = [], 0
    for hit in KEY.finditer(text):
        if place(hit[0]) is None:
            if (said := entry(hit[0])) is not None:
                out += [escape(text[at:hit.start()]), f'<span title="{escape(hit[0])}">{escape(said)}</span>']
                at = hit.end()
            continue
        ask = escape(json.dumps({"turn": hit[0]}), quote=True)
        out += [escape(text[at:hit.start()]),
                f'<button type="button" class="db-way" data-ask="{ask}" title="{escape(hit[0])}">'
                f"{escape(way(hit[0]))}</button>"]
        at = hit.end()
    return _AT_BUTTON.sub(r'<span class="db-whole">\g<0></span>', "".join([*out, escape(text[at:])]))
