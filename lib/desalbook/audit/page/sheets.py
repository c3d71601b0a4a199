"""Sheets of paper: what is printed, cut into pages whose numbers are known before a browser prints them.

A browser numbers its pages only while it prints, so no list of contents could name them. Here each block says how
high it is, a page is filled with what fits it and ended by force; a table that goes on has its head again. Heights
are estimated on the high side, so a page is never more than full; a test prints and measures every page.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from html import unescape
from typing import NamedTuple

from desalbook.trail.extent import extent, text_width

__all__ = ["FILL", "PAPERS", "Block", "Paper", "Section", "Table", "cut", "grid", "height_of", "lines", "parts_of"]

EM = 0.35278  # mm in a point


class Paper(NamedTuple):
    """A sheet and its margins, mm: top, right, bottom, left."""

    css: str
    wide: float
    high: float
    margins: tuple[float, float, float, float] = (18.0, 15.0, 16.0, 20.0)

    @property
    def room(self) -> tuple[float, float]:
        """Width and height between the margins."""
        top, right, bottom, left = self.margins
        return self.wide - left - right, self.high - top - bottom


PAPERS = {"a4": Paper("A4", 210.0, 297.0), "letter": Paper("letter", 215.9, 279.4)}
_TEXT = 0.95  # of running text, beside which equations are set wider
FILL = 0.99
"""Share of a page that is filled by estimated heights, which are on the high side."""


class Block(NamedTuple):
    """Something that stands whole on one page."""

    html: str
    high: float
    keep: bool = False
    """Not the last on its page."""


class Table(NamedTuple):
    """Rows under a head that is repeated on each page."""

    head: str
    head_high: float
    rows: Sequence[tuple[str, float]]
    tail: str = "</tbody></table>"

    @property
    def html(self) -> str:
        """The whole table."""
        return self.head + "".join(row for row, _ in self.rows) + self.tail

    @property
    def high(self) -> float:
        """Height of the whole table, mm."""
        return self.head_high + sum(high for _, high in self.rows)


class Section(NamedTuple):
    """A part with a title in the list of contents."""

    name: str
    title: str
    items: Sequence[Block | Table]
    level: int = 1
    fresh: bool = False
    """Begins on a new page."""


def lines(text: str, wide: float, size: float = 8.2, share: float = _TEXT) -> int:
    """Lines of a text in so many millimetres at a size in points, words unbroken where they fit.

    `share` is what the text takes of its measured width: running text somewhat less, digits and capitals all.
    """
    if not text:
        return 1
    room, count, at = max(wide / (size * EM), 1.0) / share, 1, 0.0
    for word in text.split(" "):
        w = text_width(word)
        if at and at + 0.36 + w > room:
            count, at = count + 1, 0.0
        if w > room:  # a word longer than the line is broken
            count += math.ceil((at + w) / room) - 1
            at = (at + w) % room
        else:
            at += w + (0.36 if at else 0.0)
    return count


_TAG = re.compile(r"<[^>]*>")
_DROPPED = re.compile(r"<svg.*?</svg>", re.S)
_BREAK = re.compile(r"<br>|</div><div|</li><li")


def plain(html: str) -> str:
    """What is read of a piece of HTML."""
    return unescape(_TAG.sub("", _DROPPED.sub("", html)))


def cell_lines(html: str, wide: float, size: float) -> float:
    """Lines of a cell; an equation counts by its own height."""
    count = 0.0
    for part in _BREAK.split(html):
        high = max((extent(m).high / 1.25 for m in re.findall(r"<math.*?</math>", part, re.S)), default=1.0)
        count += max(lines(plain(part), wide, size, 1.0), high)
    return count


def grid(
    heads: Sequence[str],
    widths: Sequence[float],
    rows: Iterable[Sequence[str]],
    *,
    room: float,
    caption: str = "",
    numbers: Iterable[int] = (),
    attributes: Iterable[str] = (),
    size: float = 8.2,
    kind: str = "",
) -> Table:
    """A table of fixed widths.

    Parameters
    ----------
    heads, widths : sequence
        Of the columns; widths are shares of the room.
    rows : iterable of sequences of HTML
    room : float
        Width of the page, mm.
    caption : str, optional
    numbers : iterable of int, optional
        Columns that are set to the right.
    attributes : iterable of str, optional
        Of the rows, such as an id; empty if omitted.
    size : float
        Of the letters, points.
    kind : str, optional
        Class of the table.
    """
    total, right = sum(widths), set(numbers)
    wide = [room * w / total for w in widths]
    inner = [w - 2.3 for w in wide]
    n = [' class="n"' if i in right else "" for i in range(len(heads))]
    head = "".join(f'<th{a} style="width:{100 * w / total:.2f}%">{h}</th>'
                   for a, w, h in zip(n, widths, heads, strict=True))
    titled = f"<caption>{caption}</caption>" if caption else ""
    line = size * EM * 1.3
    head_high = max(cell_lines(h, w, size) for h, w in zip(heads, inner, strict=True)) * line + 3.0
    if caption:
        head_high += lines(plain(caption), room, size + 1) * line * 1.15 + 1.0
    own = iter(attributes)
    made = []
    for row in rows:
        cells = "".join(f"<td{a}>{c}</td>" for a, c in zip(n, row, strict=True))
        high = max(cell_lines(c, w, size) for c, w in zip(row, inner, strict=True)) * line + 1.1
        made.append((f"<tr{next(own, '')}>{cells}</tr>", high))
    return Table(f'<table class="grid {kind}" style="font-size:{size}pt">{titled}'
                 f"<thead><tr>{head}</tr></thead><tbody>", head_high, made)


# what the writer of parts made, measured and taken apart ------------------------------------------------------

_PIECES = re.compile(r"(<table.*?</table>)|(<math display=.*?</math>)|<p[^>]*>(.*?)</p>"
                     r"|<div class=\"result\">(.*?)</div>|(<section class=\"check\".*?</div>)", re.S)
_HEAD = re.compile(r'<div class="head">(.*?)</div>', re.S)
_TALL = 5.0  # em
_SIDE = 66.0  # mm beside a check, of its bar
_SPLIT = re.compile(r"(<table.*?</table>)", re.S)
_ROW = re.compile(r"<tr.*?</tr>", re.S)
_CELL = re.compile(r"<t[dh][^>]*>(.*?)</t[dh]>", re.S)


def height_of(html: str, wide: float) -> float:
    """Height of the parts a writer made: a step, a table, a check, mm."""
    high = sum(4.2 for head in _HEAD.findall(html) if 1.15 * text_width(plain(head)) * 8.4 * EM > wide)
    for table, equation, paragraph, result, check in _PIECES.findall(html):
        if table:
            high += as_table(table, wide).high + 3.0
        elif equation:
            tall = extent(equation).high  # brackets in brackets grow beyond what they hold
            high += tall * (9.2 if tall < _TALL else 10.6) * EM + 2.0
        elif paragraph:
            high += lines(plain(paragraph), wide - 6.0, 8.2) * 8.2 * EM * 1.35 + 0.6
        elif result:
            high += 9.5 * EM * 1.4 * lines(plain(result), wide - 6.0, 9.5) + 1.2
        elif check:
            high += lines(plain(check), wide - _SIDE, 9.0) * 9.0 * EM * 1.4
    return high


def as_table(html: str, wide: float) -> Table:
    """A table of a writer, whose columns the browser sets, with heights of its rows."""
    head, _, body = html.partition("<tbody>")
    line = 8.2 * EM * 1.3
    heads = _CELL.findall(head)
    columns = max(len(heads), 1)
    rows = [(row, _CELL.findall(row)) for row in _ROW.findall(body)]
    widest = [max([text_width(plain(h))] + [text_width(plain(c[i])) for _, c in rows if i < len(c)]) * 8.2 * EM + 3.5
              for i, h in enumerate(heads)] or [wide]
    squeezed = sum(widest) > wide
    spare = max(wide - sum(w for w in widest if w <= wide / columns), 10.0)
    broad = sum(w for w in widest if w > wide / columns) or 1.0
    inner = [w if not squeezed or w <= wide / columns else spare * w / broad for w in widest]
    caption = re.search(r"<caption>(.*?)</caption>", head, re.S)
    head_high = max((cell_lines(h, w, 8.2) for h, w in zip(heads, inner, strict=True)), default=0) * line + 3.0
    if caption:
        head_high += lines(plain(caption[1]), wide, 9.0) * line * 1.2 + 1.0
    return Table(f"{head}<tbody>", head_high, [
        (row, max((cell_lines(c, w - 1.0, 8.2) for c, w in zip(cells, inner, strict=False)), default=1) * line + 1.6)
        for row, cells in rows])


def parts_of(html: str, room: tuple[float, float], own: float = 6.4) -> list[Block | Table]:
    """One block where it fits half a page, else what stands before, in and after its tables."""
    wide, high = room
    whole = height_of(html, wide) + own
    if whole <= 0.5 * high:
        return [Block(html, whole)]
    found: list[Block | Table] = []
    pieces = _SPLIT.split(html)
    for n, piece in enumerate(pieces):
        if n % 2:
            found.append(as_table(piece, wide))
        elif piece:
            found += _balanced(piece, wide, own, n == 0, len(pieces) > n + 1)
    return found


def _balanced(piece: str, wide: float, own: float, first: bool, more: bool) -> list[Block]:
    """A piece before, between or after tables, its elements closed where they are cut."""
    opened = [t for t in ("section", "div") for _ in range(piece.count(f"<{t}") - piece.count(f"</{t}>"))]
    closed = [t for t in ("section", "div") for _ in range(piece.count(f"</{t}>") - piece.count(f"<{t}"))]
    text = "".join(f'<{t} class="step on">' for t in closed) + piece + "".join(f"</{t}>" for t in reversed(opened))
    return [Block(text, height_of(piece, wide) + (own if first else 1.0), keep=first and more)] if plain(text) else []


def cut(sections: Iterable[Section], room: tuple[float, float], first: int = 1) -> tuple[list[str], dict[str, int]]:
    """Pages, and the number of the page on which each section begins.

    Parameters
    ----------
    sections : iterable of Section
    room : tuple
        Width and height of a page, mm.
    first : int
        Number of the first page.

    Returns
    -------
    tuple
        HTML of each page; page by the section's name.
    """
    full = room[1] * FILL
    pages: list[list[str]] = [[]]
    begins: dict[str, int] = {}
    used = 0.0

    def turn() -> None:
        nonlocal used
        if pages[-1]:
            pages.append([])
        used = 0.0

    for section in sections:
        heading = Block(f'<h{section.level + 1} id="{section.name}">{section.title}</h{section.level + 1}>',
                        13.5 if section.level == 1 else 10.0, keep=True) if section.title else None
        if section.fresh:
            turn()
        items = [*([heading] if heading else []), *section.items]
        for n, item in enumerate(items):
            need = _with_next(items, n)
            if used and used + need > full:
                turn()
            if n == 0:
                begins[section.name] = first + len(pages) - 1
            if isinstance(item, Block):
                pages[-1].append(item.html)
                used += item.high
                continue
            rows = list(item.rows)
            while rows:
                used += item.head_high
                taken = 0
                while taken < len(rows) and (not taken or used + rows[taken][1] <= full):
                    used += rows[taken][1]
                    taken += 1
                pages[-1].append(item.head + "".join(row for row, _ in rows[:taken]) + item.tail)
                used += 3.0
                rows = rows[taken:]
                if rows:
                    turn()
    if not pages[-1]:
        pages.pop()
    return ["".join(page) for page in pages], begins


def _with_next(items: Sequence[Block | Table], n: int) -> float:
    """Height of an item and of what must follow it on the same page."""
    high = 0.0
    for item in items[n:]:
        if isinstance(item, Table):
            return high + item.head_high + sum(h for _, h in item.rows[:2])
        high += item.high
        if not item.keep:
            break
    return high
