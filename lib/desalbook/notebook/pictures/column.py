"""Numbers of a column with their points below one another, whatever their decimals."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

__all__ = ["LOOK", "minus", "tails"]

LOOK = ".desalbook [data-tail]::after{content:attr(data-tail);visibility:hidden}\n"
"""Style of what stands after a number: as wide as the decimals it lacks, and nothing to be seen or heard."""


def tails(numbers: Iterable[str]) -> list[str]:
    """Attribute of each cell that moves its number until all points stand below one another.

    Parameters
    ----------
    numbers : iterable of str
        Numbers without unit, flush right, in figures of equal width. A dash is a number without decimals.

    Returns
    -------
    list of str
        An attribute with a space before it, or nothing where a number reaches as far as any.
    """
    decimals = [text.partition(".")[2] for text in numbers]
    most = max(map(len, decimals), default=0)
    lacking = [("" if d else "." if most else "") + "0" * (most - len(d)) for d in decimals]
    return [f' data-tail="{escape(x)}"' if x else "" for x in lacking]


def minus(number: str) -> str:
    """A number with the sign print has for a minus, as wide as a figure."""
    return f"−{number[1:]}" if number.startswith("-") else number
