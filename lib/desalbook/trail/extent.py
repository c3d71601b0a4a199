"""How much room an equation takes on paper, in widths and heights of its letters, from its MathML alone.

A browser breaks no equation over lines. So whoever sets one must know before how wide it will be; the figures are
those of common text and mathematical fonts, on the wide side, and are held against a browser by a test.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

__all__ = ["Extent", "extent", "text_width"]

_TOKEN = re.compile(r"<(/?)([a-z]+)[^>]*?(/?)>|([^<]+)")
_NARROW = frozenset("iljtfrI.,;:'|!()[] ·")
_WIDE = frozenset("mwMW@%—∑√⌈⌉")
_SMALL = 0.72  # of what stands above or below
_ENTITY = re.compile(r"&#?\w+;")


class Extent(NamedTuple):
    """Width and height in em."""

    wide: float
    high: float


def text_width(text: str) -> float:
    """Width of a text in em: letters by their sort, no kerning."""
    return sum(0.36 if c in _NARROW else 1.0 if c in _WIDE else 0.72 if c.isupper() else 0.64
               for c in _ENTITY.sub("x", text))


@lru_cache(maxsize=4096)
def extent(mathml: str) -> Extent:
    """Room of one or several elements of MathML, side by side."""
    stack: list[tuple[str, list[Extent], str]] = [("mrow", [], "")]
    for close, tag, bare, text in _TOKEN.findall(mathml):
        if text:
            name, parts, own = stack[-1]
            stack[-1] = name, parts, own + text
        elif close:
            done = stack.pop()
            stack[-1][1].append(_of(*done))
        elif bare:
            stack[-1][1].append(Extent(0.2 if tag == "mspace" else 0.0, 0.0))
        else:
            stack.append((tag, [], ""))
    while len(stack) > 1:  # a piece that was cut has its ends missing
        done = stack.pop()
        stack[-1][1].append(_of(*done))
    return _of(*stack[0])


def _of(tag: str, parts: list[Extent], text: str) -> Extent:
    if tag == "mo":
        wide = 0.0 if text in ("\N{INVISIBLE TIMES}", "\N{FUNCTION APPLICATION}") else max(
            0.35 if text in "()[],⌈⌉" else 1.25, text_width(text))
        return Extent(wide, 1.2)
    if not parts:
        return Extent(text_width(text), 1.2)
    if tag == "mfrac":
        return Extent(max(p.wide for p in parts) + 0.25, sum(p.high for p in parts) + 0.25)
    if tag in ("msub", "msup", "msubsup"):
        return Extent(parts[0].wide + _SMALL * max((p.wide for p in parts[1:]), default=0.0),
                      parts[0].high + 0.35 * sum(_SMALL * p.high for p in parts[1:]))
    if tag in ("munder", "mover", "munderover"):
        return Extent(max(parts[0].wide * 1.3, *(_SMALL * p.wide for p in parts[1:])),
                      parts[0].high + sum(_SMALL * p.high for p in parts[1:]))
    if tag == "mtr":
        return Extent(sum(p.wide for p in parts) + 0.8 * (len(parts) - 1), max(p.high for p in parts) + 0.5)
    if tag == "mtable":
        return Extent(max(p.wide for p in parts) + 0.4, sum(p.high for p in parts))
    wide = sum(p.wide for p in parts) + (0.8 if tag == "msqrt" else 0.0)
    return Extent(wide, max(p.high for p in parts) + (0.2 if tag == "msqrt" else 0.0))
