"""Spreadsheet formula text from a relation's tree.

Spreadsheets read ``-x^2`` as a positive number and chain powers the other way round, so every power and
every negation stands in parentheses. Only functions that every common spreadsheet has had for long are used.
Inside a sum over a range, IF, MIN and MAX would collapse the range; there a choice is written as a product
with a comparison, which is exact (and evaluates both branches, as the kit's own arrays do).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from desalbook.problems import TrailError
from desalbook.trail.stored import stored_relation

__all__ = ["formula", "literal", "safe_name", "safe_names"]

_OP = {"add": "+", "sub": "-", "mul": "*", "div": "/", "lt": "<", "le": "<=", "gt": ">", "ge": ">="}
_PLAIN = {"exp": "EXP", "log": "LN", "log10": "LOG10", "sqrt": "SQRT"}
_AXIS = {"total", "dot", "largest", "smallest", "last"}


def literal(value: float) -> str:
    """A number as formula text, in parentheses when negative."""
    text = repr(float(value)).replace("e", "E")
    text = text.removesuffix(".0")
    return f"({text})" if text.startswith("-") else text


def safe_name(id: str) -> str:
    """A defined name never taken for a cell (R1, C, T1): letters, digits, underscores, one at the end."""
    name = re.sub(r"\W+", "_", id.replace("@", "__at_").replace("+", "p"), flags=re.ASCII).strip("_")
    return (name if name[:1].isalpha() else f"x_{name}") + "_"


def safe_names(ids: Iterable[str]) -> dict[str, str]:
    """Name by id; a spreadsheet takes upper and lower case for one, so likenesses get a number."""
    made: dict[str, str] = {}
    seen: dict[str, int] = {}
    for id in ids:
        name = safe_name(id)
        low = name.lower()
        seen[low] = seen.get(low, 0) + 1
        while seen[low] > 1:
            name = f"{safe_name(id)}{seen[low]}_"
            if name.lower() not in seen:
                seen[name.lower()] = 1
                break
            seen[low] += 1
        made[id] = name
    return made


def formula(
    relation: Any,
    cells: Mapping[str, str],
    *,
    columns: Collection[str] | None = None,
    entry: Mapping[str, str] | None = None,
    constants: Mapping[str, str] | None = None,
    tables: Mapping[str, tuple[str, str]] | None = None,
) -> str:
    """The relation as a formula, beginning with ``=``.

    Parameters
    ----------
    relation : Relation or its stored form
    cells : mapping
        Cell reference or defined name by argument. For an argument along an axis that the relation sums
        over, a one-row or one-column range; for a relation that answers entry by entry, that entry's cell.
    columns : collection of str, optional
        Arguments whose reference is a range; those with a colon in their reference when not said.
    entry : mapping, optional
        For a relation that answers entry by entry and also sums over the axis: the cell of this entry, by
        argument, used wherever the argument stands outside a function over the axis.
    constants : mapping, optional
        Cell or name by constant; its value stands in the formula otherwise.
    tables : mapping, optional
        Ranges of x and of y by table; the points stand in the formula otherwise.

    Raises
    ------
    TrailError
        When a cell is missing.
    """
    r = stored_relation(relation)
    missing = {a["name"] for a in r["args"]} - set(cells)
    if missing:
        raise TrailError(f"no cell for {sorted(missing)[0]}", where=r["key"])
    ranges = {n for n, c in cells.items() if ":" in c} if columns is None else set(columns)
    writer = _Writer(r, cells, ranges, entry or {}, constants or {}, tables or {})
    return "=" + writer.walk(r["tree"], "cell")


class _Writer:
    """One walk over a tree. The mode is ``cell``, ``array`` (inside a sum) or ``last`` (end of the axis)."""

    def __init__(
        self,
        r: Mapping[str, Any],
        cells: Mapping[str, str],
        ranges: set[str],
        entry: Mapping[str, str],
        constants: Mapping[str, str],
        tables: Mapping[str, tuple[str, str]],
    ):
        self.r, self.cells, self.ranges, self.entry = r, cells, ranges, entry
        self.constants, self.tables = constants, tables

    def walk(self, t: list, mode: str) -> str:
        op = t[0]
        if op == "num":
            return literal(float(t[1]))
        if op == "arg":
            if mode == "cell" and t[1] in self.entry:
                return self.entry[t[1]]
            cell = self.cells[t[1]]
            if mode == "last" and t[1] in self.ranges:
                return f"INDEX({cell},ROWS({cell})*COLUMNS({cell}))"
            return cell
        if op == "const":
            return self.constants.get(t[1]) or literal(self.r["constants"][t[1]]["value"])
        if op == "neg":
            return f"(-({self.walk(t[1], mode)}))"
        if op == "pow":
            return f"(({self.walk(t[1], mode)})^({self.walk(t[2], mode)}))"
        if op == "call":
            return self.call(t[1], t[2:], mode)
        return f"({self.walk(t[1], mode)}{_OP[op]}{self.walk(t[2], mode)})"

    def call(self, name: str, args: list, mode: str) -> str:
        if name in _AXIS:
            return self.over_axis(name, args)
        if name == "lookup":
            return self.lookup(args[0][1], self.walk(args[1], mode), mode)
        got = [self.walk(a, mode) for a in args]
        if name in _PLAIN:
            return f"{_PLAIN[name]}({got[0]})"
        if name == "up":
            x = got[0]
            size = self.larger("1", f"ABS({x})", mode)
            return f"(-INT(-(({x})-1E-9*{size})))"
        if name == "where":
            c, a, b = got
            return f"IF({c},{a},{b})" if mode != "array" else f"(({c})*({a})+(1-({c}))*({b}))"
        if name == "maximum":
            return self.larger(got[0], got[1], mode)
        a, b = got
        return f"MIN({a},{b})" if mode != "array" else f"((({a})<=({b}))*({a})+(({a})>({b}))*({b}))"

    @staticmethod
    def larger(a: str, b: str, mode: str) -> str:
        return f"MAX({a},{b})" if mode != "array" else f"((({a})>=({b}))*({a})+(({a})<({b}))*({b}))"

    def over_axis(self, name: str, args: list) -> str:
        if name == "last":
            return self.walk(args[0], "last")
        bare = all(a[0] == "arg" and a[1] in self.ranges for a in args)
        inner = [self.walk(a, "array") for a in args]
        if name == "dot":
            return f"SUMPRODUCT({inner[0]},{inner[1]})" if bare else f"SUMPRODUCT(({inner[0]})*({inner[1]}))"
        if name == "total":
            return f"SUM({inner[0]})" if bare else f"SUMPRODUCT({inner[0]})"
        word = "MAX" if name == "largest" else "MIN"
        return f"{word}({inner[0]})" if bare else f"SUMPRODUCT({word}({inner[0]}))"

    def lookup(self, name: str, x: str, mode: str) -> str:
        table = self.r["tables"][name]
        xs, ys = table["x"], table["y"]
        if mode == "array" or name not in self.tables:
            return self.straight_lines(xs, ys, x)
        rx, ry = self.tables[name]
        inside = f"MAX({literal(xs[0])},MIN({literal(xs[-1])},{x}))"
        k = f"MIN(MATCH({inside},{rx},1),{len(xs) - 1})"
        rise = f"(INDEX({ry},{k}+1)-INDEX({ry},{k}))/(INDEX({rx},{k}+1)-INDEX({rx},{k}))"
        return f"(INDEX({ry},{k})+({inside}-INDEX({rx},{k}))*{rise})"

    @staticmethod
    def straight_lines(xs: Sequence[float], ys: Sequence[float], x: str) -> str:
        """The start value and what each straight piece has added by x."""
        parts = [literal(ys[0])]
        for x0, x1, y0, y1 in zip(xs, xs[1:], ys, ys[1:], strict=False):
            if y1 != y0:
                parts.append(
                    f"(({x})>={literal(x1)})*{literal(y1 - y0)}"
                    f"+(({x})>{literal(x0)})*(({x})<{literal(x1)})*(({x})-{literal(x0)})"
                    f"*{literal((y1 - y0) / (x1 - x0))}"
                )
        return "(" + "+".join(parts) + ")"
