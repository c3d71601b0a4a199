"""Words of the pack from templates: sentences that stand only where the plant has what they speak of.

A template is plain text: ``#`` and ``##`` begin headings, ``-`` an item of a list, ``!`` a safety note, an empty line
ends a paragraph, ``[[table:name]]`` and ``[[drawing:name]]`` stand for a block. A name that a template asks for and
nothing gives is an error, never an empty space.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import jinja2

from desalbook.pack.document import Block, Heading, Note, Paragraph, Points
from desalbook.problems import TrailError

__all__ = ["blocks", "rendered"]

_FOLDER = Path(__file__).with_name("templates")
_PLACE = re.compile(r"\[\[(?:table|drawing):([a-z-]+)\]\]")


@cache
def _templates() -> jinja2.Environment:
    made = jinja2.Environment(loader=jinja2.FileSystemLoader(_FOLDER),
                              undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True,
                              autoescape=False)
    made.filters["capital"] = lambda text: text[:1].upper() + text[1:]
    return made


def rendered(name: str, context: Mapping[str, Any]) -> str:
    """Text of a template.

    Parameters
    ----------
    name : str
        Without its ending.
    context : mapping

    Raises
    ------
    TrailError
        The template asks for what nothing gives.
    """
    try:
        return _templates().get_template(f"{name}.j2").render(context)
    except (jinja2.TemplateError, KeyError) as error:
        raise TrailError(f"template {name}: {error}", where=name) from None


def blocks(name: str, context: Mapping[str, Any], places: Mapping[str, Block | None]) -> list[Block]:
    """Blocks of a template, with the tables and drawings it names; one that is None leaves nothing.

    Parameters
    ----------
    name : str
    context : mapping
    places : mapping
        Block of each name.
    """
    made: list[Block] = []
    items: list[str] = []
    lines: list[str] = []

    def end() -> None:
        if lines:
            made.append(Paragraph(" ".join(" ".join(lines).split())))
            lines.clear()
        if items:
            made.append(Points(tuple(items)))
            items.clear()

    for line in (*rendered(name, context).splitlines(), ""):
        text = line.strip()
        place = _PLACE.fullmatch(text)
        if not text or place or text[0] in "#!" or text.startswith("- "):
            if not text.startswith("- ") or lines:
                end()
            if place:
                if place[1] not in places:
                    raise TrailError(f"template {name} asks for {place[1]}", where=name)
                block = places[place[1]]
                made += [block] if block is not None else []
            elif text.startswith("#"):
                made.append(Heading(text.lstrip("# "), 2 if text.startswith("##") else 1))
            elif text.startswith("!"):
                made.append(Note(text[1:].strip()))
            elif text.startswith("- "):
                items.append(text[2:])
        else:
            if items:
                end()
            lines.append(text)
    return made
