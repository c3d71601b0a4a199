"""Workbooks recalculated from scratch by a spreadsheet program. Not a test itself."""

from __future__ import annotations

import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import openpyxl

__all__ = ["bare", "recalculated", "values"]


def bare(kept: Path, books: Mapping[Path, Mapping[str, float | str]]) -> list[Path]:
    """The same book once more for each path, with its inputs changed by their defined names.

    None has any cached value: nothing is left that could be copied instead of calculated.
    """
    book = openpyxl.load_workbook(kept)
    for to, cells in books.items():
        before = []
        for name, value in cells.items():
            sheet, _, where = book.defined_names[name].attr_text.rpartition("!")
            cell = book[sheet.strip("'")][where.replace("$", "")]
            before.append((cell, cell.value))
            cell.value = value
        book.save(to)
        for cell, value in before:
            cell.value = value
    return list(books)


def recalculated(office: str, books: list[Path], folder: Path) -> list[Path]:
    """The books as the spreadsheet program calculates them, all in one run."""
    out = folder / "again"
    subprocess.run([office, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--convert-to",
                    "xlsx:Calc MS Excel 2007 XML", "--outdir", str(out), *map(str, books)],
                   check=True, capture_output=True, timeout=300)
    return [out / b.name for b in books]


def values(path: Path) -> dict[str, list[list[Any]]]:
    """Every cell of every sheet."""
    book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    return {page.title: [list(row) for row in page.iter_rows(values_only=True)] for page in book}
