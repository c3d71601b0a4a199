"""From the text of a relation to a tree of plain lists, and back to a number.

The tree is what is stored in the record, typeset and turned into spreadsheet formulas. Its forms:
``["num", "0.5"]``, ``["arg", name]``, ``["const", name]``, ``["neg", x]``, ``[op, a, b]`` with op one of
add, sub, mul, div, pow, lt, le, gt, ge, and ``["call", function, x, ...]``; a table look-up is
``["call", "lookup", ["table", name], x]``.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping
from typing import Any

import numpy as np

from desalbook.problems import TrailError
from desalbook.trail import functions as f

__all__ = ["evaluate", "names", "to_tree"]

_BIN = {ast.Add: "add", ast.Sub: "sub", ast.Mult: "mul", ast.Div: "div", ast.Pow: "pow"}
_CMP = {ast.Lt: "lt", ast.LtE: "le", ast.Gt: "gt", ast.GtE: "ge"}


def to_tree(node: ast.expr, args: set[str], constants: Mapping[str, object], tables: Mapping[str, object],
            where: str, above: int = 0) -> list:
    """Translate one Python expression, refusing whatever is not on the whitelist.

    ``above`` lines of the file stand above the text that was parsed.

    Raises
    ------
    TrailError
        With the relation, the line and the text that is not allowed.
    """

    def refuse(n: ast.AST, why: str) -> TrailError:
        return TrailError(f"{why}: {ast.unparse(n)}", where=f"{where} line {getattr(n, 'lineno', 0) + above}")

    def walk(n: ast.expr) -> list:
        if isinstance(n, ast.Constant):
            if isinstance(n.value, bool) or not isinstance(n.value, (int, float)):
                raise refuse(n, "only numbers may stand in a relation")
            return ["num", repr(n.value)]
        if isinstance(n, ast.Name):
            if n.id in args:
                return ["arg", n.id]
            if n.id in constants:
                return ["const", n.id]
            raise refuse(n, "neither an argument nor a constant")
        if isinstance(n, ast.UnaryOp) and isinstance(n.op, ast.USub):
            return ["neg", walk(n.operand)]
        if isinstance(n, ast.BinOp) and type(n.op) in _BIN:
            return [_BIN[type(n.op)], walk(n.left), walk(n.right)]
        if isinstance(n, ast.Compare) and len(n.ops) == 1 and type(n.ops[0]) in _CMP:
            return [_CMP[type(n.ops[0])], walk(n.left), walk(n.comparators[0])]
        if isinstance(n, ast.Call) and isinstance(n.func, ast.Name) and not n.keywords:
            name = n.func.id
            if name == "lookup":
                first = n.args[0]
                if len(n.args) != 2 or not isinstance(first, ast.Name) or first.id not in tables:
                    raise refuse(n, "lookup wants a table and one number")
                return ["call", "lookup", ["table", first.id], walk(n.args[1])]
            if name in f.ELEMENTWISE or name in f.AXIS:
                return ["call", name, *[walk(a) for a in n.args]]
        raise refuse(n, "not allowed in a relation")

    return walk(node)


def names(tree: list, what: str) -> list[str]:
    """Distinct names of one sort (``arg``, ``const``, ``table``) in order of appearance."""
    found: dict[str, None] = {}

    def walk(t: list) -> None:
        if t[0] == what:
            found[t[1]] = None
        for part in t[1:]:
            if isinstance(part, list):
                walk(part)

    walk(tree)
    return list(found)


_OPS = {"add": lambda a, b: a + b, "sub": lambda a, b: a - b, "mul": lambda a, b: a * b,
        "div": lambda a, b: a / b, "pow": lambda a, b: a ** b, "lt": lambda a, b: a < b,
        "le": lambda a, b: a <= b, "gt": lambda a, b: a > b, "ge": lambda a, b: a >= b}


def evaluate(tree: list, values: Mapping[str, Any], constants: Mapping[str, Any] | None = None,
             tables: Mapping[str, Any] | None = None, calls: Mapping[str, Any] | None = None) -> Any:
    """Value of a stored tree, without the relation's own function.

    Parameters
    ----------
    tree : list
    values, constants, tables : mapping
        By name. Tables are anything with ``x`` and ``y``.
    calls : mapping, optional
        Other implementations of the functions, for example on quantities with units.
    """
    constants, tables, calls = constants or {}, tables or {}, calls or {}

    def walk(t: list) -> Any:
        op = t[0]
        if op == "num":
            return float(t[1])
        if op == "arg":
            return values[t[1]]
        if op == "const":
            return constants[t[1]]
        if op == "neg":
            return -walk(t[1])
        if op == "call":
            if t[1] == "lookup":
                table = tables[t[2][1]]
                if "lookup" in calls:
                    return calls["lookup"](table, walk(t[3]))
                return np.interp(walk(t[3]), table.x, table.y)
            function = calls.get(t[1]) or f.ELEMENTWISE.get(t[1]) or f.AXIS[t[1]]
            return function(*[walk(x) for x in t[2:]])
        return _OPS[op](walk(t[1]), walk(t[2]))

    return walk(tree)
