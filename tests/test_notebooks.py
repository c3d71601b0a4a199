"""Notebooks as they are delivered: short cells, no engineering, outputs only where they are compared."""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
CHECK = "# NBVAL_CHECK_OUTPUT"


def cells(path: Path, kind: str = "code") -> list[dict]:
    return [c for c in json.loads(path.read_text(encoding="utf-8"))["cells"] if c["cell_type"] == kind]


def engineering(text: str) -> list[str]:
    """Arithmetic in a cell, which belongs into a relation."""
    tree = ast.parse(text)
    return [
        ast.unparse(n)
        for n in ast.walk(tree)
        if isinstance(n, (ast.BinOp, ast.FunctionDef, ast.Lambda))
        or (isinstance(n, ast.Import) and any(a.name in ("math", "numpy") for a in n.names))
    ]


def test_there_is_a_start():
    assert NOTEBOOKS and NOTEBOOKS[0].name == "00-start.ipynb"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.name)
def test_cells_are_short_and_plain(path):
    code = cells(path)
    assert 1 <= len(code) <= 12
    for cell in code:
        text = "".join(cell["source"])
        assert len(text.splitlines()) <= 5 and not engineering(text), text
        assert not re.search(r"(?m)^\s*[!%]|(?<![\w.])/(work|home|opt|tmp|Users)/", text)
    whole = json.loads(path.read_text(encoding="utf-8"))
    assert whole["cells"][0]["cell_type"] == "markdown"
    assert whole["metadata"]["kernelspec"]["name"] == "python3" and "widgets" not in whole["metadata"]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.name)
def test_outputs_stand_only_where_they_are_compared(path):
    compared = [c for c in cells(path) if "".join(c["source"]).startswith(CHECK)]
    for cell in cells(path):
        if cell not in compared:
            assert not cell["outputs"] and cell["execution_count"] is None
    assert len(compared) == 1
    # without stored output the comparison passes whatever the cell prints
    text = "".join(t for o in compared[0]["outputs"] for t in o.get("text", ()))
    assert (
        compared[0]["execution_count"] is not None and len(re.findall(r"(?m)\s{2,}-?\d[\d.\u2009]*( \S+)*$", text)) >= 5
    )


def test_links_lead_somewhere():
    """Other notebooks, and the reference page, which `desalbook lab` writes beside them."""
    from desalbook.reference import FILE

    for path in NOTEBOOKS:
        text = "\n".join("".join(c["source"]) for c in cells(path, "markdown"))
        links = re.findall(r"\]\(([^)#]+)\)", text)
        assert FILE in links, f"{path.name} does not lead to the reference"
        assert not [x for x in links if x != FILE and not (path.parent / x).exists()], path.name


def test_each_calculation_has_a_worked_example():
    from desalbook import calc

    text = "\n".join("".join(c["source"]) for c in cells(NOTEBOOKS[0].with_name("11-calculations.ipynb")))
    assert not [name for name in dir(calc) if f"calc.{name}(" not in text]


def test_engineering_is_seen():
    assert engineering("q = 3 * 4") and engineering("import numpy as np") and not engineering("a = f(b)")
