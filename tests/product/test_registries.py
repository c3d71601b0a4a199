"""A route, a use and a cleaning solution are objects: nothing in the kit compares their keys."""

from __future__ import annotations

import ast
from pathlib import Path

import desalbook
from desalbook.cleaning.solutions import SOLUTIONS
from desalbook.product.routes import ROUTES
from desalbook.tables import table

ROOT = Path(desalbook.__file__).parent
SHARED = {"none", "permeate", "acid"}
"""Keys that are words of other lists too: no device, water of the flush, a dosing step."""


def keys() -> set[str]:
    return {*ROUTES, *table("product_uses"), *SOLUTIONS} - SHARED


def compared(tree: ast.AST, words: set[str]) -> list[str]:
    """Comparisons with one of these words, alone or in a row of constants."""
    return [f"line {n.lineno}: {ast.unparse(n)}" for n in ast.walk(tree) if isinstance(n, ast.Compare)
            for side in (n.left, *n.comparators)
            if {c.value for c in ast.walk(side) if isinstance(c, ast.Constant) and isinstance(c.value, str)
                and not isinstance(side, (ast.Call, ast.Subscript))} & words]


def test_no_key_of_a_registry_is_compared():
    found = {str(p.relative_to(ROOT)): got for p in sorted(ROOT.rglob("*.py"))
             if (got := compared(ast.parse(p.read_text(encoding="utf-8")), keys()))}
    assert not found, found


def test_a_comparison_is_seen():
    bad = ast.parse('if use == "drinking" or route in ("calcite", "lime"):\n    pass\n')
    assert len(compared(bad, keys())) == 2
    assert not compared(ast.parse('x = route_of(key).contactor\nif rows["lime"] > 2:\n    pass\n'), keys())
