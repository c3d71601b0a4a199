"""A figure and what it was made from, drawn: the figure at the right, its inputs in columns to the left."""

from __future__ import annotations

import base64
import textwrap
from collections.abc import Mapping
from html import escape
from typing import Any

from desalbook.audit.search import Node, upstream
from desalbook.theme import css, standalone, var

__all__ = ["draw", "upstream_picture"]

_WIDE, _HIGH, _GAP, _ROW = 180, 54, 41, 66
_LETTERS = 25
_MARK = {"given": ("●", "product"), "assumed": ("○", "marginal"),
         "computed": ("=", "quiet"), "engine": ("◆", "chemical"),
         "solved": ("≈", "sea"), "picked": ("✓", "energy"), "checked": ("!", "reject")}
"""Mark and colour role of each sort of line; never the colour alone."""


def upstream_picture(record: Mapping[str, Any], id: str, depth: int = 3, most: int = 40, units: str = "si") -> str:
    """The way up from a figure as HTML with one SVG.

    Parameters
    ----------
    record : mapping
    id : str
    depth, most : int
        Steps to follow and lines to show.
    units : {"si", "us"}
    """
    return draw(upstream(record, id, depth, most, units))


def draw(nodes: list[Node]) -> str:
    """Lay out and draw; the first node is the figure itself."""
    columns: dict[int, list[Node]] = {}
    for n in nodes:
        columns.setdefault(n.depth, []).append(n)
    order = {nodes[0].id: 0.0}
    place: dict[str, tuple[float, float]] = {}
    deepest, tallest = max(columns), max(len(c) for c in columns.values())
    high = tallest * _ROW + 44
    for depth in sorted(columns):
        # near what rests on them: fewer crossings
        rests = {n.id: [order[c.id] for c in nodes if n.id in c.above and c.id in order] for n in columns[depth]}
        row = sorted(columns[depth], key=lambda n: sum(rests[n.id]) / len(rests[n.id]) if rests[n.id] else 0.0)
        top = (high - 34 - len(row) * _ROW) / 2
        for i, n in enumerate(row):
            place[n.id] = (10 + (deepest - depth) * (_WIDE + _GAP), top + i * _ROW + (_ROW - _HIGH) / 2)
            order[n.id] = place[n.id][1]
    wide = 20 + (deepest + 1) * _WIDE + deepest * _GAP
    links = "".join(_link(place[a], place[n.id]) for n in nodes for a in n.above)
    boxes = "".join(_box(n, *place[n.id]) for n in nodes)
    said = (f"{nodes[0].title} {nodes[0].value}, made from "
            + ", ".join(f"{n.title} {n.value}" for n in nodes[1:] if n.depth == 1))
    legend = " · ".join(f"{mark} {sort}" for sort, (mark, _) in _MARK.items() if any(n.sort == sort for n in nodes))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high:.0f}" width="{wide}" height="{high:.0f}" '
        f'style="max-width:none" role="img" aria-label="{escape(said, quote=True)}" font-size="12">'
        f"{links}{boxes}"
        f'<text x="10" y="{high - 10:.0f}" fill="{var("quiet")}">{escape(legend)}</text></svg>'
    )
    alone = standalone(svg.replace('font-size="12"', 'font-size="12" font-family="sans-serif"', 1))
    file = base64.b64encode(alone.encode("utf-8")).decode("ascii")
    name = "".join(c if c.isalnum() else "-" for c in nodes[0].id)
    return (f'<div class="desalbook"><style>{css()}</style><div style="overflow-x:auto" tabindex="0" role="group" '
            f'aria-label="Drawing, wide">{svg}</div><a download="upstream-{name}.svg" '
            f'href="data:image/svg+xml;base64,{file}">Download the drawing</a></div>')


def _link(a: tuple[float, float], b: tuple[float, float]) -> str:
    x0, y0, x1, y1 = a[0] + _WIDE, a[1] + _HIGH / 2, b[0], b[1] + _HIGH / 2
    mid = max((x1 - x0) / 2, 20)
    return (f'<path d="M{x0:.0f} {y0:.0f}C{x0 + mid:.0f} {y0:.0f} {x1 - mid:.0f} {y1:.0f} {x1:.0f} {y1:.0f}" '
            f'fill="none" stroke="{var("quiet")}" stroke-opacity="0.55"/>')


def _box(n: Node, x: float, y: float) -> str:
    mark, role = _MARK.get(n.sort, ("·", "quiet"))
    more = f" +{n.hidden}" if n.hidden else ""
    title = textwrap.wrap(_clean(n.title), _LETTERS, max_lines=2, placeholder=" …")
    lines = "".join(f'<tspan x="{x + 9:.0f}" dy="{16 if k else 0}">{escape(words)}</tspan>'
                    for k, words in enumerate(title))
    return (
        f"<g><title>{escape(f'{n.title}: {n.value} ({n.id}, {n.sort})')}</title>"
        f'<path d="M{x:.0f} {y:.0f}v{_HIGH}" stroke="{var(role)}" stroke-width="4"/>'
        f'<text x="{x + 9:.0f}" y="{y + 14:.0f}" fill="var(--db-text)">{lines}</text>'
        f'<text x="{x + 9:.0f}" y="{y + 15 + 16 * len(title):.0f}" fill="{var(role)}">{mark} '
        f'<tspan font-weight="600">{escape(_cut(n.value))}</tspan>'
        f'<tspan fill="{var("quiet")}">{more}</tspan></text></g>'
    )


def _clean(said: str) -> str:
    return "".join(c for c in said if c.isprintable())


def _cut(said: str) -> str:
    said = _clean(said)
    return said if len(said) <= _LETTERS else said[: _LETTERS - 1] + "…"
