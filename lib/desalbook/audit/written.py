"""A stored expression as one line of plain text, for tables, terminals and search."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

__all__ = ["expression_text"]

_OP = {"add": (" + ", 1), "sub": (" - ", 1), "mul": (" * ", 2), "div": (" / ", 2), "pow": ("**", 4),
       "lt": (" < ", 0), "le": (" <= ", 0), "gt": (" > ", 0), "ge": (" >= ", 0)}


def expression_text(relation: Mapping[str, Any]) -> str:
    """The right side of a stored relation, with its arguments' names.

    Parameters
    ----------
    relation : mapping
        As the record holds it.
    """
    return _walk(relation["tree"])[0]


def _walk(t: list) -> tuple[str, int]:
    op = t[0]
    if op == "num":
        value = float(t[1])
        return f"{value:g}" if float(f"{value:g}") == value else repr(value), 5
    if op in ("arg", "const", "table"):
        return t[1], 5
    if op == "neg":
        return f"-{_held(t[1], 3)}", 3
    if op == "call":
        return f"{t[1]}({', '.join(_walk(a)[0] for a in t[2:])})", 5
    sign, holds = _OP[op]
    # a power binds its right side, a difference and a quotient their left
    left = _held(t[1], holds + (op == "pow"))
    right = _held(t[2], holds + (op in ("sub", "div")))
    return f"{left}{sign}{right}", holds


def _held(t: list, least: int) -> str:
    text, holds = _walk(t)
    return text if holds >= least else f"({text})"
