"""A stored expression as one line of plain text: for tables, terminals and search, and as a handbook prints it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

__all__ = ["equation_text", "expression_text"]

_OP = {"add": (" + ", 1), "sub": (" - ", 1), "mul": (" * ", 2), "div": (" / ", 2), "pow": ("**", 4),
       "lt": (" < ", 0), "le": (" <= ", 0), "gt": (" > ", 0), "ge": (" >= ", 0)}
_PRINTED = _OP | {"sub": (" − ", 1), "mul": (" · ", 2), "pow": ("^", 4), "le": (" ≤ ", 0), "ge": (" ≥ ", 0)}
_CALLS = {"total": "Σ", "dot": "Σ", "largest": "max", "smallest": "min", "maximum": "max", "minimum": "min",
          "log": "ln", "sqrt": "√", "up": "round up"}


def expression_text(relation: Mapping[str, Any]) -> str:
    """The right side of a stored relation, with its arguments' names, as one would type it.

    Parameters
    ----------
    relation : mapping
        As the record holds it.
    """
    return _Writer(_OP, {}, str).walk(relation["tree"])[0]


def equation_text(tree: list, symbol: Callable[[str], str]) -> str:
    """The right side of an equation with symbols, as a handbook prints it in one line.

    Parameters
    ----------
    tree : list
        See `expression`.
    symbol : callable
        Symbol of an argument, a constant or a table, by its name.
    """
    return _Writer(_PRINTED, _CALLS, symbol).walk(tree)[0]


class _Writer:
    """Writes a tree with no more parentheses than it needs."""

    def __init__(self, signs: Mapping[str, tuple[str, int]], calls: Mapping[str, str], name: Callable[[str], str]):
        self.signs, self.calls, self.name = signs, calls, name

    def walk(self, t: list) -> tuple[str, int]:
        """Text, and how tightly it holds together."""
        op = t[0]
        if op == "num":
            value = float(t[1])
            return f"{value:g}" if float(f"{value:g}") == value else repr(value), 5
        if op in ("arg", "const", "table"):
            return self.name(t[1]), 5
        if op == "neg":
            return f"-{self.held(t[1], 3)}", 3
        if op == "call":
            if self.calls and t[1] == "where":
                condition, yes, no = (self.walk(a)[0] for a in t[2:])
                return f"{{{yes} if {condition}, else {no}}}", 5
            inner = (" · " if self.calls and t[1] == "dot" else ", ").join(self.walk(a)[0] for a in t[2:])
            return f"{self.calls.get(t[1], t[1])}({inner})", 5
        sign, holds = self.signs[op]
        # a power binds its right side, a difference and a quotient their left
        # in print a / b · c is read as a / (b · c)
        product_of_quotient = bool(self.calls) and op == "mul" and t[1][0] == "div"
        left = self.held(t[1], holds + (op == "pow" or product_of_quotient))
        right = self.held(t[2], holds + (op in ("sub", "div")))
        return f"{left}{sign}{right}", holds

    def held(self, t: list, least: int) -> str:
        """Text in parentheses where something tighter is wanted."""
        text, holds = self.walk(t)
        return text if holds >= least else f"({text})"
