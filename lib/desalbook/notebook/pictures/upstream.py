"""What a value rests on, drawn on one page: the value at the right, its inputs, and all that lies further up by system.

Laid out for one width, at which its words keep twelve pixels beside the marks, whatever the calculation: what does not
fit by name is counted.
"""

from __future__ import annotations

import base64
import json
import textwrap
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from desalbook.audit.search import Lineage, Node, System, lineage
from desalbook.theme import css, standalone, var
from desalbook.trail.systems import plural
from desalbook.trail.words import chapter, part_words

__all__ = ["draw", "upstream_picture"]

_WIDTH, _GAP, _LINE, _ROOM = 720, 30, 16, 10
_COLUMN = (224, 232, 192)
_LETTERS = tuple(int(w / 7.4) for w in _COLUMN)
_MOST_INPUTS, _MOST_NEAR = 9, 3
_MARK = {"given": ("●", "product"), "assumed": ("○", "marginal"),
         "computed": ("=", "quiet"), "engine": ("◆", "chemical"),
         "solved": ("≈", "sea"), "picked": ("✓", "energy"), "checked": ("!", "reject")}
"""Mark and colour role of each sort of line; never the colour alone."""


def upstream_picture(record: Mapping[str, Any], id: str, units: str = "si") -> str:
    """The way up from a value as HTML with one SVG, whose lines ask for their own page where one answers.

    Parameters
    ----------
    record : mapping
    id : str
    units : {"si", "us"}
    """
    return draw(lineage(record, id, units))


def draw(found: Lineage) -> str:
    """Lay out and draw."""
    node, inputs = found.node, found.inputs[:_MOST_INPUTS]
    first = list(dict.fromkeys(chapter(n.id) for n in inputs))
    inputs = sorted(inputs, key=lambda n: first.index(chapter(n.id)))  # each chapter once
    linked = [s for s in found.systems if not {n.id for n in inputs}.isdisjoint(s.feeds)]
    far = [s for s in found.systems if s not in linked]
    x = (8.0, 8.0 + _COLUMN[0] + _GAP, 8.0 + _COLUMN[0] + _COLUMN[1] + 2 * _GAP)
    left = [(s, _system_lines(s)) for s in linked]
    middle = [(n, _node_lines(n, 1)) for n in inputs]
    over = len(found.inputs) - len(inputs)
    heads = _headed(inputs)
    right = _node_lines(node, 2)
    tall = [sum(len(lines) * _LINE + _ROOM for _, lines in left),
            sum(len(lines) * _LINE + _ROOM for _, lines in middle) + _LINE * (len(heads) + bool(over)),
            len(right) * _LINE]
    top, high = 30.0, max(tall)
    below = _further(far)
    whole = top + high + (_LINE * len(below) + 14 if below else 0) + 26
    parts, at = [], {}
    y = top + (high - tall[0]) / 2
    for s, lines in left:
        at[s.key] = (_end(x[0], lines, 0), y + len(lines) * _LINE / 2 - 2)
        parts.append(_block(lines, x[0], y, "quiet"))
        y += len(lines) * _LINE + _ROOM
    y = top + (high - tall[1]) / 2
    for n, (one, lines) in enumerate(middle):
        if n in heads:
            parts.append(_words(x[1], y + 11, heads[n], "quiet"))
            y += _LINE
        at[one.id] = (x[1], y + len(lines) * _LINE / 2 - 2)
        parts.append(_node(one, lines, x[1], y))
        y += len(lines) * _LINE + _ROOM
    if over:
        parts.append(_words(x[1] + 9, y + 11, f"and {plural(over, 'more input')}, by name below", "quiet"))
    mid = top + (high - tall[2]) / 2
    parts.append(_node(node, right, x[2], mid))
    to = (x[2], mid + tall[2] / 2 - 2)
    ends = {n.id: _end(x[1], [*lines, f"= {n.value}"], 1) for n, lines in middle}
    links = [_link((ends[n.id], at[n.id][1]), to) for n in inputs]
    links += [_link(at[s.key], at[i]) for s in linked for i in s.feeds if i in at]
    y = top + high + 14
    for words in below:
        parts.append(_words(x[0], y + 11, words, "quiet"))
        y += _LINE
    titles = "".join(_words(a, 14, t, "quiet") for a, t, some in zip(
        x, ("Two steps up, by system", "Its inputs", "The value"), (left, middle, True), strict=True) if some)
    sorts = {n.sort for n in (node, *inputs, *(k for s in linked for k in s.near[:_MOST_NEAR]))}
    legend = " · ".join(f"{mark} {sort}" for sort, (mark, _) in _MARK.items() if sort in sorts)
    near = ", ".join(f"{n.title} {n.value}" for n in found.inputs)
    up = ", ".join(f"{s.title} {plural(s.lines, 'line')}" for s in found.systems)
    said = (f"{node.title} {node.value}" + (f", made from {near}" if near else ", an input")
            + (f"; further up {up}" if up else ""))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {whole:.0f}" width="{_WIDTH}" '
        f'height="{whole:.0f}" role="img" aria-label="{escape(said, quote=True)}" font-size="12">'
        f"{''.join(links)}{titles}{''.join(parts)}"
        f'<text x="8" y="{whole - 6:.0f}" fill="{var("quiet")}">{escape(legend)}</text></svg>'
    )
    alone = standalone(svg.replace('font-size="12"', 'font-size="12" font-family="sans-serif"', 1))
    file = base64.b64encode(alone.encode("utf-8")).decode("ascii")
    name = "".join(c if c.isalnum() else "-" for c in node.id)
    return (f'<div class="desalbook"><style>{css()}.db-up svg{{max-width:100%;height:auto}}'
            f'.db-up [data-ask]{{cursor:pointer}}</style><div class="db-up">{svg}</div>'
            f'<a download="upstream-{name}.svg" '
            f'href="data:image/svg+xml;base64,{file}">Download the drawing</a></div>')


def _headed(inputs: Sequence[Node]) -> dict[int, str]:
    """Where a heading stands among the inputs: before the first of each run of one chapter, if there are two."""
    parts = [chapter(n.id) for n in inputs]
    if len(set(parts)) < 2:
        return {}
    return {n: part_words(p) for n, p in enumerate(parts) if n == 0 or parts[n - 1] != p}


def _node_lines(n: Node, column: int) -> list[str]:
    return [*textwrap.wrap(_clean(n.title), _LETTERS[column] - 2, max_lines=2, placeholder=" …"), ""]


def _system_lines(s: System) -> list[str]:
    count = [plural(s.lines, "line"), *(f"{n} {what}" for n, what in ((s.given, "given"), (s.assumed, "assumed")) if n)]
    one = {n.id.partition("@")[0]: n for n in reversed(s.near)}  # a case of it stands for all
    near = [_cut(f"{_MARK.get(n.sort, ('·', ''))[0]} {n.title} {n.value}", _LETTERS[0])
            for n in sorted(one.values(), key=s.near.index)[:_MOST_NEAR]]
    return [_cut(s.title, _LETTERS[0]), ", ".join(count), *near]


def _further(far: Sequence[System]) -> list[str]:
    """Systems that lie more than two steps up, as lines of text."""
    if not far:
        return []
    words = "Further up: " + "; ".join(
        f"{s.title} {plural(s.lines, 'line')}" + (f" ({s.given} given)" if s.given else "") for s in far)
    return textwrap.wrap(_clean(words), int((_WIDTH - 16) / 6.4))


def _end(x: float, lines: Sequence[str], column: int) -> float:
    """Where the words of a block end, for a line that goes on from there."""
    return x + min(9 + 7.4 * max(map(len, lines)) + 4, _COLUMN[column])


def _link(a: tuple[float, float], b: tuple[float, float]) -> str:
    (x0, y0), (x1, y1) = (a[0] + 2, a[1]), (b[0] - 3, b[1])
    mid = (x1 - x0) / 2
    return (f'<path d="M{x0:.0f} {y0:.0f}C{x0 + mid:.0f} {y0:.0f} {x1 - mid:.0f} {y1:.0f} {x1:.0f} {y1:.0f}" '
            f'fill="none" stroke="{var("quiet")}" stroke-opacity="0.55"/>')


def _words(x: float, y: float, text: str, role: str) -> str:
    return f'<text x="{x:.0f}" y="{y:.0f}" fill="{var(role)}">{escape(_clean(text))}</text>'


def _block(lines: Sequence[str], x: float, y: float, role: str) -> str:
    """A system: its name, how many lines it has, and the nearest of them."""
    rows = "".join(
        f'<text x="{x + 9:.0f}" y="{y + 11 + n * _LINE:.0f}" fill="{"var(--db-text)" if n != 1 else var("quiet")}"'
        f'{" font-weight=" + chr(34) + "600" + chr(34) if n == 0 else ""}>{escape(_clean(t))}</text>'
        for n, t in enumerate(lines))
    return f'<g><path d="M{x:.0f} {y:.0f}v{len(lines) * _LINE - 2}" stroke="{var(role)}" stroke-width="4"/>{rows}</g>'


def _node(n: Node, lines: Sequence[str], x: float, y: float) -> str:
    mark, role = _MARK.get(n.sort, ("·", "quiet"))
    ask = escape(json.dumps({"why": n.id}), quote=True)
    titles = "".join(f'<text x="{x + 9:.0f}" y="{y + 11 + k * _LINE:.0f}" fill="var(--db-text)">{escape(words)}</text>'
                     for k, words in enumerate(lines[:-1]))
    return (
        f'<g data-ask="{ask}"><title>{escape(f"{n.title}: {n.value} ({n.id}, {n.sort})")}</title>'
        f'<path d="M{x:.0f} {y:.0f}v{len(lines) * _LINE - 2}" stroke="{var(role)}" stroke-width="4"/>{titles}'
        f'<text x="{x + 9:.0f}" y="{y + 11 + (len(lines) - 1) * _LINE:.0f}" fill="{var(role)}">{mark} '
        f'<tspan font-weight="600">{escape(_cut(n.value, 28))}</tspan></text></g>'
    )


def _clean(said: str) -> str:
    return "".join(c for c in said if c.isprintable())


def _cut(said: str, most: int) -> str:
    said = _clean(said)
    return said if len(said) <= most else said[: most - 1] + "…"
