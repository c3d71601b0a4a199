"""Where the words of a picture go: text extents, and placing labels so that no two ever meet.

The page's own font is not known here, so widths come from a table of a wide sans-serif face; the fonts
people have are narrower or equal, and a box that is a little too large costs nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

import numpy as np

__all__ = ["Box", "Label", "Lane", "Placer", "extent", "fit", "widest", "wrap"]

# Advance widths, hundredths of the font size, characters 32 to 126: the face named DejaVu Sans, which is
# what many systems fall back to. Measured with a font library.
_WIDTHS = (
    32, 40, 46, 84, 64, 95, 78, 27, 39, 39, 50, 84, 32, 36, 32, 34, 64, 64, 64, 64, 64, 64, 64, 64,
    64, 64, 34, 34, 84, 84, 84, 53, 100, 68, 69, 70, 77, 63, 58, 77, 75, 29, 29, 66, 56, 86, 75, 79,
    60, 79, 69, 63, 61, 73, 68, 99, 69, 61, 69, 39, 34, 39, 84, 50, 50, 61, 63, 55, 63, 62, 35, 63,
    63, 28, 28, 58, 28, 97, 63, 61, 63, 63, 41, 52, 39, 63, 59, 82, 59, 59, 52, 64, 34, 64, 84,
)
_OTHER = {"\N{THIN SPACE}": 20, "\N{NARROW NO-BREAK SPACE}": 20, "·": 32, "³": 44, "²": 44}
_BOLD = 1.16  # bold over regular: 1.09 for figures, 1.12 to 1.2 for most letters
_ROUNDING = 1e-6
_BEFORE = {"start": 0.0, "middle": 0.5, "end": 1.0}  # share of a text that lies left of its anchor
LEADING = 1.25
"""Line distance over font size."""


Sides = tuple[float, float, float, float]


class Box(NamedTuple):
    """An upright rectangle, y growing downward."""

    x0: float
    y0: float
    x1: float
    y1: float

    def meets(self, other: Box, pad: float = 0.0) -> bool:
        """True when the two, each grown by half of `pad`, share more than an edge."""
        return (self.x0 < other.x1 + pad and other.x0 < self.x1 + pad
                and self.y0 < other.y1 + pad and other.y0 < self.y1 + pad)


@lru_cache(maxsize=4096)
def extent(text: str, size: float, bold: bool = False) -> float:
    """Estimated width of one line of text, in the units of `size`."""
    total = sum(_WIDTHS[ord(c) - 32] if " " <= c <= "~" else _OTHER.get(c, 100) for c in text)
    return total * size / 100 * (_BOLD if bold else 1.0)


def widest(lines: Sequence[str], size: float, bold: bool = False) -> float:
    """Estimated width of the longest of several lines."""
    return max([extent(t, size, bold) for t in lines])


def fit(text: str, size: float, limit: float, bold: bool = False) -> str:
    """The text, shortened with an ellipsis when it is wider than `limit`."""
    if extent(text, size, bold) <= limit:
        return text
    while text and extent(text + "…", size, bold) > limit:
        text = text[:-1]
    return text.rstrip() + "…"


def wrap(text: str, size: float, limit: float, bold: bool = False) -> list[str]:
    """The text broken between words into lines no wider than `limit`; a word too long is shortened."""
    lines: list[str] = []
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and extent(longer, size, bold) <= limit:
            lines[-1] = longer
        else:
            lines.append(word)
    return [fit(line, size, limit, bold) for line in lines]


@dataclass
class Label:
    """Lines of text at a place; `x` is the anchor and `y` the top of the first line's box."""

    lines: Sequence[str]
    x: float
    y: float
    anchor: str = "middle"
    size: float = 12.0
    bold: bool = False
    role: str = ""
    pole: tuple[float, float, float] | None = None  # x, top and bottom of a hairline that belongs to it
    wide: float | None = None  # extent of the longest line, where the caller knows it

    @property
    def box(self) -> Box:
        """Estimated extent of the text."""
        return Box._make(self.sides())

    def sides(self) -> Sides:
        """The box as a plain tuple, for where thousands are asked for."""
        wide = widest(self.lines, self.size, self.bold) if self.wide is None else self.wide
        left = self.x - _BEFORE[self.anchor] * wide
        return left, self.y, left + wide, self.y + LEADING * self.size * len(self.lines)

    @property
    def pole_box(self) -> Box | None:
        """The hairline, as an obstacle."""
        sides = self.pole_sides()
        return None if sides is None else Box._make(sides)

    def pole_sides(self) -> Sides | None:
        """The same as a plain tuple."""
        if self.pole is None:
            return None
        x, top, bottom = self.pole
        return x - 1, top, x + 1, bottom


@dataclass
class Placer:
    """Puts labels one after another where they meet no other label and, if it can be, no ribbon.

    Parameters
    ----------
    x0, x1 : float
        Sides no label may pass.
    floor : float
        Minimum y a label may reach; upward there is no limit, so a place is always found.
    ribbons : sequence of Box
        What text should stay off; lying on one is the lesser evil when nothing else is free.
    hairs : list of Box
        Hairlines; text should stay off them too, but rather on a hairline than on a ribbon.
    placed : list of Label
        What has its place already.
    kept : list of Box
        Room kept for hairlines still to come; no text goes there.
    """

    x0: float
    x1: float
    floor: float
    ribbons: Sequence[Sides] = ()
    hairs: list[Box] = field(default_factory=list)
    placed: list[Label] = field(default_factory=list)
    kept: list[Box] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._texts: list[Sides] = []
        self._poles: list[Sides] = []
        for label in self.placed:
            self._take(label)
        self._covers: dict[Sides, int] = {}
        self._water = tuple(np.array(self.ribbons, dtype=float).reshape(-1, 4).T.copy())

    def trial(self) -> Placer:
        """Another one with the same labels and ribbons and no hairlines, to try an order of placing."""
        made = Placer(self.x0, self.x1, self.floor, placed=list(self.placed))
        made.ribbons, made._water, made._covers = self.ribbons, self._water, self._covers
        return made

    def add(self, label: Label) -> None:
        """Count a label as placed where it is."""
        self.placed.append(label)
        self._take(label)

    def _take(self, label: Label) -> None:
        self._texts.append(label.sides())
        if (pole := label.pole_sides()) is not None:
            self._poles.append(pole)

    def free(self, label: Label) -> bool:
        """True when the label stays inside and meets no label, nor any label's hairline."""
        return self._free(label.sides(), label.pole_sides())

    def _free(self, box: Sides, pole: Sides | None) -> bool:
        # asked of thousands of places for one picture, so `Box.meets` is written out
        x0, y0, x1, y1 = box
        if x0 < self.x0 - _ROUNDING or x1 > self.x1 + _ROUNDING or y1 > self.floor + _ROUNDING:
            return False
        for a0, b0, a1, b1 in self.kept:
            if x0 < a1 and a0 < x1 and y0 < b1 and b0 < y1:
                return False
        x2, y2 = x1 + 4, y1 + 4
        for a0, b0, a1, b1 in self._texts:
            if x0 < a1 + 4 and a0 < x2 and y0 < b1 + 4 and b0 < y2:
                return False
        x2, y2 = x1 + 3, y1 + 3
        for a0, b0, a1, b1 in self._poles:
            if x0 < a1 + 3 and a0 < x2 and y0 < b1 + 3 and b0 < y2:
                return False
        if pole is not None:
            x0, y0, x1, y1 = pole
            x2, y2 = x1 + 3, y1 + 3
            for some in (self._texts, self._poles):
                for a0, b0, a1, b1 in some:
                    if x0 < a1 + 3 and a0 < x2 and y0 < b1 + 3 and b0 < y2:
                        return False
        return True

    def cost(self, label: Label) -> float:
        """How much the label covers that it should not."""
        return self._cost(label.sides(), label.pole_sides())

    def _cost(self, box: Sides, pole: Sides | None) -> float:
        x0, y0, x1, y1 = box
        crossed = 0
        for a0, b0, a1, b1 in self.hairs:
            if x0 < a1 + 2 and a0 < x1 + 2 and y0 < b1 + 2 and b0 < y1 + 2:
                crossed += 1
        cost = 9.0 * self._covered(box) + 2.0 * crossed
        return cost if pole is None else cost + 0.8 * self._covered(pole)

    def _covered(self, box: Sides) -> int:
        """How many pieces of ribbon lie under a box; the ribbons never change, so it is kept."""
        found = self._covers.get(box)
        if found is None:
            x0, y0, x1, y1 = box
            a0, b0, a1, b1 = self._water
            found = int(np.count_nonzero((a0 < x1) & (a1 > x0) & (b0 < y1) & (b1 > y0)))
            self._covers[box] = found
        return found

    def dry(self, labels: Iterable[Label]) -> bool:
        """True when no text of these lies on a ribbon."""
        return not any(self._covered(label.sides()) for label in labels)

    def put(self, candidates: Iterable[Label]) -> Label:
        """Place one label: the first candidate that is free of everything, else the least bad free one,
        else the first candidate moved up until it is free of other labels."""
        best: tuple[float, Label] | None = None
        first: Label | None = None
        for order, label in enumerate(candidates):
            first = first or label
            if best is not None and 0.12 * order >= best[0]:
                break  # too late in the order, whatever it covers
            box, pole = label.sides(), label.pole_sides()
            if self._free(box, pole):
                cost = self._cost(box, pole)
                if best is None or cost + 0.12 * order < best[0]:
                    best = (cost + 0.12 * order, label)
                if cost == 0:
                    break
        assert first is not None, "a label needs at least one candidate"
        chosen = self._lift(first) if best is None else best[1]
        self.add(chosen)
        return chosen

    def _lift(self, label: Label) -> Label:
        """Up until it is free; a hairline is given up, for only that could be in the way at every height."""
        box = label.box
        label.x += max(0.0, self.x0 - box.x0) - max(0.0, box.x1 - self.x1)
        label.y -= max(0.0, box.y1 - self.floor)
        label.pole, self.kept = None, []
        highest = min((b[1] for b in (*self._texts, *self._poles)), default=label.y)
        while not self.free(label) and label.box.y1 > highest - 10:  # above all there is nothing left to meet
            label.y -= 3
        return label


@dataclass
class Lane:
    """Titles in rows under the picture, each at its own x with a hairline up to what it names.

    A title is never wider, to either side, than the way to the next hairline; therefore two rows are
    enough and no hairline crosses a title.
    """

    xs: list[float]
    x0: float
    x1: float
    size: float = 12.0

    def limit(self, i: int) -> float:
        """Maximum width of the title at place i."""
        room = [self.xs[i] - self.x0 + 5, self.x1 - self.xs[i] + 5]
        room += [self.xs[i] - self.xs[i - 1]] if i else []
        room += [self.xs[i + 1] - self.xs[i]] if i + 1 < len(self.xs) else []
        return 2 * (min(room) - 5)

    def blocks(self, texts: list[list[str]], bold: set[int]) -> list[list[str]]:
        """Break the texts of every place into lines: to fit one row if whole words allow it, else two."""
        near = [min([self.limit(i)] + [(b - a) - 8 for a, b in zip(self.xs, self.xs[1:], strict=False)
                                       if self.xs[i] in (a, b)]) for i in range(len(self.xs))]
        words = [max(extent(w, self.size, i in bold) for t in each for w in t.split(" "))
                 for i, each in enumerate(texts)]
        one_row = all(w <= n for w, n in zip(words, near, strict=True))
        return [[line for text in each
                 for line in wrap(text, self.size, near[i] if one_row else self.limit(i), i in bold)]
                for i, each in enumerate(texts)]

    def rows(self, blocks: list[list[str]], top: float, bold: set[int]) -> tuple[list[Label], float]:
        """Place the blocks from `top` downward.

        Returns
        -------
        labels : list of Label
            One a block, in order.
        bottom : float
            Lower end of the last row.
        """
        labels, row_of = [], []
        last_right = [-1e9, -1e9]
        for i, lines in enumerate(blocks):
            label = Label(lines, self.xs[i], top, size=self.size, bold=i in bold)
            row = 0 if label.box.x0 >= last_right[0] + 6 else 1
            last_right[row] = label.box.x1
            labels.append(label)
            row_of.append(row)
        depth = [max((lab.box.y1 - lab.box.y0 for lab, r in zip(labels, row_of, strict=True) if r == row),
                     default=0.0) for row in (0, 1)]
        for label, row in zip(labels, row_of, strict=True):
            label.y = top + (depth[0] + 8 if row else 0.0)
        return labels, top + depth[0] + (depth[1] + 8 if depth[1] else 0.0)
