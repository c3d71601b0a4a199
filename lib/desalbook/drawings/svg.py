"""Pieces of SVG that the pictures are put together from: a frame with its text alternative, text, lines, ticks."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable
from html import escape

from desalbook import theme
from desalbook.drawings import read

__all__ = ["line", "number", "picture", "rectangle", "text", "ticks_from_zero"]

_CSS = (".pressure-picture text{font-size:12.5px;fill:var(--db-text)}.pressure-picture .small{font-size:12px;"
        "fill:var(--db-quiet)}.pressure-picture .bold{font-weight:600}"
        ".pressure-picture .figures{font-variant-numeric:tabular-nums}")


def picture(kind: str, name: str, said: str, width: float, height: float, body: Iterable[str]) -> str:
    """A picture as HTML: its name and first sentence as label, all of its words as description."""
    inside = "\n".join(body)
    key = "p" + hashlib.sha256((kind + said + inside).encode()).hexdigest()[:8]
    label = f"{name}: {said.split('; ')[0].rstrip('.')}."
    return (f'<div class="desalbook pressure-picture"><style>{theme.css()}{_CSS}</style>\n'
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(width)} {number(height)}" width="100%" '
            f'style="max-width:{number(1.1 * width)}px" role="img" aria-label="{escape(label)}" '
            f'aria-describedby="{key}">\n'
            f'<desc id="{key}">{escape(said)}</desc>\n{inside}\n</svg></div>')


def text(x: float, y: float, text: str, anchor: str = "start", cls: str = "", ink: str = "") -> str:
    """A word or two at a place."""
    style = f' style="fill:{theme.var(ink)}"' if ink else ""
    kind = f' class="{cls}"' if cls else ""
    return f'<text x="{number(x)}" y="{number(y)}" text-anchor="{anchor}"{kind}{style}>{escape(text)}</text>'


def line(x1: float, y1: float, x2: float, y2: float, ink: str = "quiet", dash: str = "", width: float = 1,
         reads: str = "") -> str:
    """A straight line between two places; what a pointer `reads` of it, if anything."""
    more = f' stroke-dasharray="{dash}"' if dash else ""
    return (f'<path d="M{number(x1)},{number(y1)}L{number(x2)},{number(y2)}" stroke="{theme.var(ink)}" '
            f'stroke-width="{number(width)}" fill="none"{more}{read.mark(reads) if reads else ""}/>')


def ticks_from_zero(high: float) -> list[float]:
    """Round values from zero up, six steps at most."""
    step = 10 ** math.floor(math.log10(high))
    step = next(step * m for m in (0.1, 0.2, 0.5, 1, 2) if high / (step * m) <= 6)
    return [step * i for i in range(int(high / step + 1e-9) + 1)]


def rectangle(x: float, y: float, w: float, h: float, ink: str, opacity: float, reads: str = "") -> str:
    """A filled rectangle; what a pointer `reads` of it, if anything."""
    return (f'<rect x="{number(x)}" y="{number(y)}" width="{number(w)}" height="{number(h)}" '
            f'fill="{theme.var(ink)}" opacity="{opacity}"{read.mark(reads) if reads else ""}/>')


def number(value: float) -> str:
    """A coordinate to a tenth, without a trailing zero or a negative nought."""
    text = f"{value:.1f}"
    if text[-1] != "0":
        return text
    text = text[:-2]
    return "0" if text == "-0" else text
