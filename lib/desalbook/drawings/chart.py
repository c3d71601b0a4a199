"""A small chart in SVG: axes with units, lines, bars; colours from the theme, words for those who do not see it."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from math import floor, isfinite, log10
from typing import Any

import numpy as np

from desalbook import theme
from desalbook.drawings import read
from desalbook.units import to_display

__all__ = ["Chart", "frame", "shown", "tick", "ticks"]

DASH = ("", "6 3", "2 3", "8 3 2 3")
"""Line styles beside colours, so that lines differ in grey too."""


def frame(body: str, width: float, height: float, title: str, text: str) -> str:
    """The picture as HTML, with its style sheet and its text alternative."""
    return (f'<div class="desalbook"><style>{theme.css()}</style><svg xmlns="http://www.w3.org/2000/svg" role="img" '
            f'aria-label="{escape(title)}: {escape(text.split("; ")[0].rstrip("."))}." '
            f'viewBox="0 0 {width:g} {height:g}" width="100%" '
            f'style="max-width:{1.1 * width:g}px;font-size:12px;font-family:inherit">'
            f"<title>{escape(title)}</title><desc>{escape(text)}</desc>{body}</svg></div>")


def ticks(low: float, high: float, about: int = 6) -> list[float]:
    """Round numbers from low to high."""
    span = high - low or 1.0
    step = 10 ** floor(log10(span / about))
    for many in (1, 2, 5, 10):
        if span / (many * step) <= about:
            step *= many
            break
    first = floor(low / step + 1e-9)
    marks = [round((first + k) * step, 10) for k in range(about + 4)]
    return [x for x in marks if low - 1e-9 * span <= x <= high + 1e-9 * span]


def tick(value: float) -> str:
    """A round number at an axis, thousands parted as everywhere."""
    return f"{value:,.7g}".replace(",", "\N{THIN SPACE}").replace("-", "−")


def shown(values: Any, kind: str, units: str) -> np.ndarray:
    """SI values as an array in the unit of a display set."""
    return np.asarray(to_display(np.atleast_1d(np.asarray(values, dtype=float)), kind, units))


class Chart:
    """A chart that is drawn from the ground up: axes first, then what stands on them.

    Parameters
    ----------
    x, y : (float, float)
        Ranges in the units shown.
    x_label, y_label : str
        With their units.
    """

    def __init__(self, x: tuple[float, float], y: tuple[float, float], x_label: str, y_label: str,
                 width: float = 520, height: float = 280, left: float = 58, right: float = 96,
                 y_words: Sequence[tuple[float, str]] | None = None, about: int = 6):
        self.about = about
        self.labels = x_label, y_label
        self.x, self.y, self.width, self.height = x, y, width, height
        self.box = (left, 16.0, width - right, height - 44)
        self.parts: list[str] = []
        self.ends: list[tuple[float, str, str]] = []
        self._axes(x_label, y_label, y_words)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Place on the picture."""
        left, t, r, b = self.box
        return (left + (x - self.x[0]) / (self.x[1] - self.x[0]) * (r - left),
                b - (y - self.y[0]) / (self.y[1] - self.y[0]) * (b - t))

    def words(self, x: float, y: float, text: str, *, anchor: str = "start", role: str = "", size: float = 12,
              weight: int = 400) -> None:
        """A few words at a place of the picture."""
        fill = theme.var(role) if role else "var(--db-text)"
        more = f' font-weight="{weight}"' if weight != 400 else ""
        self.parts.append(f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{fill}" '
                          f'font-size="{size}"{more}>{escape(text)}</text>')

    def _axes(self, x_label: str, y_label: str, y_words) -> None:
        left, t, r, b = self.box
        quiet = theme.var("quiet")
        for v in ticks(*self.x, self.about):
            px, _ = self.at(v, self.y[0])
            self.parts.append(f'<path d="M{px:.1f} {t}V{b + 4:.1f}" stroke="{quiet}" stroke-width="0.5" '
                              'stroke-opacity="0.45" fill="none"/>')
            self.words(px, b + 17, tick(v), anchor="middle", role="quiet")
        for v, word in y_words if y_words is not None else [(v, tick(v)) for v in ticks(*self.y, self.about)]:
            _, py = self.at(self.x[0], v)
            if y_words is None:
                self.parts.append(f'<path d="M{left - 4:.1f} {py:.1f}H{r}" stroke="{quiet}" stroke-width="0.5" '
                                  f'stroke-opacity="0.45" fill="none"/>')
            self.words(left - 7, py + 4, word, anchor="end", role="quiet", size=12)
        self.words((left + r) / 2, b + 36, x_label, anchor="middle")
        self.parts.append(f'<text transform="translate(14 {(t + b) / 2:.1f}) rotate(-90)" text-anchor="middle" '
                          f'fill="var(--db-text)">{escape(y_label)}</text>')

    def line(self, xs, ys, role: str, label: str = "", style: int = 0, marks: bool = False, wide: float = 1.8,
             opacity: float = 1.0, name: str = "", told: str = "", reads: bool = True) -> None:
        """A line, broken where a value is missing; its label stands at its end.

        A pointer reads its values under `name`, or the label; what is `told` of it as a whole; or nothing
        unless it `reads`.
        """
        path, pen, last, there = [], "M", None, []
        for x, y in zip(xs, ys, strict=True):
            if not isfinite(y):
                pen = "M"
                continue
            last = self.at(float(x), float(y))
            there.append((float(x), float(y)))
            path.append(f"{pen}{last[0]:.1f} {last[1]:.1f}")
            pen = "L"
            if marks:
                self.parts.append(f'<circle cx="{last[0]:.1f}" cy="{last[1]:.1f}" r="3" fill="{theme.var(role)}"/>')
        values = "" if not there or not reads else read.mark(told) if told else read.curve(
            name or label, *self.labels, *zip(*there, strict=True))
        self.parts.append(f'<path d="{"".join(path)}" fill="none" stroke="{theme.var(role)}"{values} '
                          f'stroke-width="{wide:g}" stroke-opacity="{opacity:g}" '
                          f'stroke-dasharray="{DASH[style % len(DASH)]}"/>')
        if label and last:
            self.ends.append((last[1] + 4, label, role))

    def bar(self, x0: float, x1: float, y: float, thick: float, role: str, title: str, opacity: float = 1.0) -> None:
        """A bar along x, centred on y; its title is what a person sees on pointing."""
        (a, top), (b, bottom) = self.at(x0, y + thick / 2), self.at(x1, y - thick / 2)
        self.parts.append(f'<rect x="{a:.2f}" y="{top:.2f}" width="{max(b - a, 0.6):.2f}" '
                          f'height="{bottom - top:.2f}" fill="{theme.var(role)}" fill-opacity="{opacity:g}"'
                          f"{read.mark(title)}/>")

    def close(self) -> None:
        """Names at the ends of the lines, pushed apart where they would lie on one another."""
        floor_ = 0.0
        for y, label, role in sorted(self.ends):
            floor_ = max(y, floor_ + 15)
            self.words(self.box[2] + 6, floor_, label, role=role)
        self.ends.clear()

    def html(self, title: str, text: str) -> str:
        """The finished picture."""
        self.close()
        return frame("".join(self.parts), self.width, self.height, title, text)
