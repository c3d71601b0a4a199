"""What is made from a plant's record: table, file, printed page, workbook."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from desalbook.trail import record as _record

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Trail"]


class Trail:
    """The calculation trail of one plant; everything is made from its record alone."""

    def __init__(self, record: Callable[[], dict[str, Any]], responses: Callable[[], Sequence[Any]] = tuple,
                 tried: Callable[[], dict[str, Any]] = dict):
        self._record, self._responses = record, responses
        self._tried = tried  # tables of a trial, which a record does without: they take longer than the plant

    def _shown(self) -> dict[str, Any]:
        return self._record() | self._tried()

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

    def with_marks(self, beside: str | os.PathLike) -> Trail:
        """The same trail with the review marks kept beside a design file or a record, as they stand against it.

        Record, page and workbook then carry them; a line that is no longer what was looked at says so.
        """
        from desalbook.audit import Marks
        from desalbook.audit.marks import carried

        marks, record = Marks(beside), self._record
        return Trail(lambda: dict(carried(record(), marks)), self._responses, self._tried)

    def page(self, path: str | os.PathLike, units: str = "si", paper: str | None = None, depth: str = "full",
             picture: str = "") -> Path:
        """The printed record, one HTML file that needs nothing but itself.

        Parameters
        ----------
        path : path
        units : {"si", "us"}
        paper : {"a4", "letter"}, optional
            A4 with SI, letter with US units when not said.
        depth : {"summary", "review", "full"}
            Two pages to sign; what a reviewer reads; every line of the trail.
        picture : str, optional
            The water line as SVG, for the summary.
        """
        from desalbook.audit import page

        text = page(self._record() if depth == "summary" else self._shown(), units, paper, depth, picture)
        path = Path(path)
        path.parent.mkdir(parents=True, exist_ok=True)
        half = path.with_name(f".{path.name}.half")
        try:
            half.write_text(text, encoding="utf-8", newline="\n")
            os.replace(half, path)
        finally:
            half.unlink(missing_ok=True)  # a full disk leaves no half of a page
        return path

    def workbook(self, path: str | os.PathLike, units: str = "si", depth: str = "full") -> Path:
        """A spreadsheet with live formulas; at review depth only rows that decide are unfolded and printed."""
        from desalbook.audit.workbook.book import workbook

        return workbook(self._shown(), path, units, depth, self._responses())
