"""Ids and keys as people read them: the name of a part, and keys in a sentence beside their titles."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from textwrap import wrap
from typing import Any

__all__ = ["KEY", "assumption", "chapter", "low_first", "part_key", "part_words", "share", "unit_words",
           "verdict_words", "with_titles", "wrapped"]

_PARTS = {"hp_pump": "HP pump", "cip": "Cleaning", "interpass_ph": "pH between passes",
          "post_ph": "pH of the product", "post_chlorination": "Chlorination of the product",
          "scour_blower": "Scour-air blower",
          "elements": "Element sheet", "recovery_devices": "ERD sheet",
          "vessel_classes": "Vessel sheet", "media": "Media sheet", "antiscalants": "Antiscalant sheet",
          "specification": "Limits of the contract", "duty": "Duty", "fouling": "Fouling index"}
"""Parts of the design whose key is not a word of the trade as it stands."""
_UNITS = {"post_ph": "product pH", "post_chlorination": "product chlorine", "interpass_ph": "interpass pH",
          "cip_pump": "CIP pump", "cip_heater": "CIP heater", "scour_blower": "scour-air blower"}
"""Short names of services at the end of a title."""
_LISTS = {"layers": "layer", "points": "point", "bays": "bay", "runs": "run", "stages": "stage",
          "analyses": "analysis", "vessels": "vessel", "consumers": "other load", "quotes": "quotation"}
_ALL = 0.995  # a margin of the whole limit says nothing: the limit is zero, or far away
KEY = re.compile(r"\b[a-z][a-z_0-9]*(?:\[[\w.+-]+\])?(?:\.[a-z][a-z_0-9]*(?:\[[\w.+-]+\])?)+")
_WITH_VALUE = re.compile(f"(\\()?({KEY.pattern})( = [^\\s,;)]+)?(\\))?")


@lru_cache(maxsize=8192)
def chapter(id: str) -> str:
    """First part of an id, the chapter its line stands in."""
    return re.split(r"[.@\[]", id, maxsplit=1)[0]


def share(margin: float) -> str:
    """A margin with the digits it has everywhere."""
    part = margin * 100
    return f"{part:.1f} %" if part < 9.95 else f"{part:.0f} %"


def verdict_words(verdict: str, margin: float | None = None, assumed: Any = None) -> str:
    """A verdict as people read it everywhere: ``passes, margin 7.6 %``, ``fails by 3.0 %``, ``review``.

    Parameters
    ----------
    verdict : {"passes", "marginal", "review", "fails"}
    margin : float, optional
        Fraction of the limit left, negative when the check fails; the whole limit and more is not given.
    assumed : sequence of str, optional
        Defaults that decide and that nobody confirmed.
    """
    on = " on an assumed value" if assumed and verdict in ("passes", "marginal") else ""
    if margin is None or margin != margin:
        return verdict + on
    if verdict == "fails":
        return f"fails by {share(abs(margin)) if abs(margin) <= 1.0 else 'over 100 %'}"
    return verdict + on + (f", margin {share(margin)}" if 0.0 <= margin < _ALL else "")


_TOGETHER = re.compile(r"(?<=\d) (?=[a-zA-Z%\N{MICRO SIGN}\N{DEGREE SIGN}])|(?<=[/\w]) (?=as [A-Z])|(?<=\)) (?=h\b)")


def wrapped(text: str, width: int, first: str = "", then: str = "") -> list[str]:
    """Lines of a text: a number stays with its unit, and no word is broken at its hyphen.

    Parameters
    ----------
    text : str
    width : int
        Columns of a line, with what stands before it.
    first, then : str
        What stands before the first line, and before each other one.
    """
    lines = wrap(_TOGETHER.sub("\N{NO-BREAK SPACE}", text), width, initial_indent=first, subsequent_indent=then,
                 break_long_words=False, break_on_hyphens=False)
    return [x.replace("\N{NO-BREAK SPACE}", " ") for x in lines]


def part_words(path: str) -> str:
    """``filters.layers[sand]`` as a person reads it: *Filters, layer sand*."""
    said = []
    for hit in re.finditer(r"[a-z_0-9]+(?:\[[^\]]*\])?", path, re.I):
        name, _, key = str(hit[0]).partition("[")
        own = name.replace("_", " ").capitalize()
        plain = _LISTS.get(name, name) if said else _PARTS.get(name, own)
        said.append(f"{plain.replace('_', ' ')} {key.rstrip(']').replace('_', ' ')}".strip())
    return ", ".join(said)


@lru_cache(maxsize=1024)
def unit_words(prefix: str) -> str:
    """What a part of the plant is called at the end of a title: ``post_ph`` gives *product pH*."""
    return _UNITS.get(prefix) or low_first(part_words(prefix))


_RUNS = {"concentrate-high": "HP concentrate", "cleaning": "CIP", "post_ph": "product pH",
         "post_chlorination": "product chlorine"}
"""Keys of entries that are no words of the trade as they stand."""


def part_key(path: str) -> str:
    """The key of an entry at the end of a title: ``piping.runs[feed-suction]`` gives *feed suction*."""
    key = path.rpartition("[")[2].rstrip("]")
    if key in _RUNS:
        return _RUNS[key]
    return path.rpartition("[")[2].rstrip("]").replace("-", " ").replace("_", " ")


def low_first(text: str) -> str:
    """The text with a small first letter, but for abbreviations and pH."""
    return text[0].lower() + text[1:] if text[1:2].islower() and not text.startswith("pH") else text


def with_titles(text: str, title_of: Callable[[str], str | None]) -> str:
    """A sentence in which each key has its title before it: *raise "Head of the CIP pump" (cip.pump_head)*.

    Parameters
    ----------
    text : str
    title_of : callable
        Title of a key; None leaves it as it stands.
    """
    def told(hit: re.Match[str]) -> str:
        title = title_of(hit[2])
        if title is None:
            return hit[0]
        whole = f'"{title.removesuffix(" (fixed)")}" ({hit[2]}{hit[3] or ""})'
        if hit[1] and hit[4]:
            return f'("{title.removesuffix(" (fixed)")}", {hit[2]}{hit[3] or ""})'
        return f"{hit[1] or ''}{whole}{hit[4] or ''}"

    return _WITH_VALUE.sub(told, text)


def assumption(more: Mapping[str, Any]) -> str:
    """What a verdict hangs on that nobody chose, to be added to why it is so: ``; assumed: Turbidity removal``."""
    return f"; assumed: {', '.join(more['assumed'])}" if more.get("assumed") else ""
