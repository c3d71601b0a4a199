"""What is made from a plant's record: table, file, printed page, workbook."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from desalbook.trail import record as _record

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Trail"]


class Trail:
    """The calculation trail of one plant; everything is made from its record alone."""

    def __init__(self, record: Callable[[], dict[str, Any]]):
        self._record = record

    def table(self, units: str = "si") -> pd.DataFrame:
        """One row for each number."""
        from desalbook.audit import table

        return table(self._record(), units)

    def record(self, path: str | os.PathLike | None = None) -> dict[str, Any]:
        """The record; also written to a file when a path is given."""
        made = self._record()
        if path is not None:
            _record.write(made, path)
        return made

    def page(self, path: str | os.PathLike, units: str = "si", paper: str | None = None) -> Path:
        """The printed record, one HTML file that needs nothing but itself."""
        from desalbook.audit import page

        text = page(self._record(), units, paper)
        path = Path(path)
        path.parent.mkdir(parents=True, exist_ok=True)
        half = path.with_name(f".{path.name}.half")
        try:
            half.write_text(text, encoding="utf-8", newline="\n")
            os.replace(half, path)
        finally:
            half.unlink(missing_ok=True)  # a full disk leaves no half of a page
        return path

    def workbook(self, path: str | os.PathLike, units: str = "si") -> Path:
        """A spreadsheet with live formulas."""
        from desalbook.audit.workbook.book import workbook

        return workbook(self._record(), path, units)
