"""Symbols as people write them in one line of plain text, and as they are printed.

The mini-syntax: parts joined by ``_``; the first is the letter, the rest stand below it (``rho_f``,
``d_10``). ``Delta_p`` is a difference and reads as one letter; ``bar_x``, ``dot_x`` and ``hat_x`` put a mark
above. ``^`` begins what stands above on the right (``K^0``, ``K_w^*``). Greek letters are written by name.
A base of several letters (``pH``, ``Re``) is set upright.
"""

from __future__ import annotations

import re
from functools import cache
from html import escape

__all__ = ["AXIS_INDEX", "mathml", "text"]

_LOWER = (
    *("alpha", "beta", "gamma", "delta", "epsilon", "zeta", "eta", "theta", "iota", "kappa", "lambda", "mu"),
    *("nu", "xi", "omicron", "pi", "rho", "sigma_final", "sigma", "tau", "upsilon", "phi", "chi", "psi"),
    "omega",
)
GREEK = {name: chr(0x3B1 + n) for n, name in enumerate(_LOWER)}
GREEK |= {name.capitalize(): chr(0x391 + n) for n, name in enumerate(_LOWER)}
del GREEK["sigma_final"], GREEK["Sigma_final"]
_ABOVE = {"bar": "\N{MACRON}", "dot": "\N{DOT ABOVE}", "hat": "^"}
_COMBINING = {
    "bar": "\N{COMBINING MACRON}",
    "dot": "\N{COMBINING DOT ABOVE}",
    "hat": "\N{COMBINING CIRCUMFLEX ACCENT}",
}

AXIS_INDEX = {"ion": "i", "layer": "j", "consumer": "k", "node": "n", "element": "n", "position": "n"}
"""Index letter of a named axis; any other axis takes ``i``."""


@cache
def _parts(symbol: str) -> tuple[str, tuple[str, ...], str, tuple[str, ...], str]:
    """Prefix letters, marks above, base, subscripts, superscript."""
    low, _, high = symbol.strip().partition("^")
    pieces = [p for p in re.split(r"_", low) if p] or [symbol.strip() or "?"]
    prefix, marks = "", []
    while len(pieces) > 1 and (pieces[0] == "Delta" or pieces[0] in _ABOVE):
        head = pieces.pop(0)
        if head in _ABOVE:
            marks.append(head)
        else:
            prefix += GREEK[head]
    if not high and pieces[0].endswith("*") and len(pieces[0]) > 1:
        pieces[0], high = pieces[0][:-1], "*"
    return prefix, tuple(marks), pieces[0], tuple(pieces[1:]), high


def _greek(word: str) -> str:
    return ",".join(GREEK.get(w, w) for w in word.split(","))


def _identifier(word: str, upright: bool = False) -> str:
    if re.fullmatch(r"[+-]?[0-9.]+", word):
        return f"<mn>{escape(word)}</mn>"
    shown = _greek(word)
    if len(shown) == 1 and not upright:
        return f"<mi>{escape(shown)}</mi>"
    return f'<mi mathvariant="normal">{escape(shown)}</mi>'


def mathml(symbol: str, index: str | None = None) -> str:
    """Presentation MathML of a symbol, always one element.

    Parameters
    ----------
    symbol : str
    index : str, optional
        Added at the end of the subscript, unless it stands there: the letter of an axis, or the key of one entry.
    """
    prefix, marks, base, below, high = _parts(symbol)
    if " " in base and not below:
        core = f"<mtext>{escape(base)}</mtext>"
    else:
        core = _identifier(base)
    for mark in marks:
        core = f'<mover accent="true">{core}<mo>{_ABOVE[mark]}</mo></mover>'
    if prefix:
        core = f'<mrow><mi mathvariant="normal">{prefix}</mi>{core}</mrow>'
    words = [_identifier(b, upright=len(b) > 1) for b in below]
    if index and below[-1:] != (index,):
        words.append(_identifier(index, upright=len(index) > 1))
    low = "<mo>,</mo>".join(words)
    if len(words) > 1:
        low = f"<mrow>{low}</mrow>"
    top = "<mo>*</mo>" if high == "*" else _identifier(high) if high else ""
    if low and top:
        return f"<msubsup>{core}{low}{top}</msubsup>"
    if low:
        return f"<msub>{core}{low}</msub>"
    return f"<msup>{core}{top}</msup>" if top else core


def text(symbol: str, index: str | None = None) -> str:
    """The same as one line of text with Greek letters, for a table or a title: ``Δp_f``."""
    prefix, marks, base, below, high = _parts(symbol)
    shown = _greek(base) + "".join(_COMBINING[m] for m in marks)
    low = ",".join([_greek(b) for b in below] + ([index] if index and below[-1:] != (index,) else []))
    return prefix + shown + (f"_{low}" if low else "") + (f"^{high}" if high and high != "*" else high)
