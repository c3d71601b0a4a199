"""What a picture answers to a pointer: words of a mark, values of a curve at its points.

They stand in the picture as attributes, from the numbers it is drawn of; the page around shows those that are nearest
to the pointer, or the next one by arrow keys (`notebook/reader.js`). Without it a picture looks as before.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from desalbook.fine import fine

__all__ = ["curve", "focusable", "mark"]

_SIGN = str.maketrans("-,", "\N{MINUS SIGN}\N{THIN SPACE}")


def mark(words: str) -> str:
    """Attribute of a bar, a dot or a line that is read as a whole.

    Parameters
    ----------
    words : str
        What it is, its value and unit.

    Returns
    -------
    str
        With a space before it.
    """
    return f' data-read="{escape(fine(words))}"'


def curve(name: str, x: str, y: str, xs: Iterable[float], ys: Iterable[float]) -> str:
    """Attributes of a path or polyline that is read at each of its points.

    Parameters
    ----------
    name : str
        Of the series; may be empty where there is one alone.
    x, y : str
        Titles of the axes, each with its unit after the last comma.
    xs, ys : iterable of float
        Values in the units shown, a pair for each point of the path, in its order.

    Returns
    -------
    str
        With a space before it.
    """
    axes = "|".join(fine(part) for title in (x, y) for part in _parted(title))
    return (f' data-name="{escape(fine(name))}" data-axes="{escape(axes)}" data-xs="{";".join(map(_figure, xs))}" '
            f'data-ys="{";".join(map(_figure, ys))}"')


def focusable(html: str) -> str:
    """A picture as HTML that is reached with Tab where it has something to read."""
    if "data-read=" not in html and "data-xs=" not in html:
        return html
    return html.replace("<svg ", '<svg tabindex="0" ', 1)


def _parted(title: str) -> tuple[str, str]:
    name, comma, unit = title.rpartition(", ")
    return (name, unit) if comma else (title, "")


def _figure(value: float) -> str:
    """Four significant digits, which is what the record shows of most kinds."""
    return (f"{value:,.0f}" if abs(value) >= 1e4 else f"{value:.4g}").translate(_SIGN)
