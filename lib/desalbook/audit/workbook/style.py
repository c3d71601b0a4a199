"""Formats of the workbook, and the one way text gets into it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from desalbook.audit.page.style import FAILS, MARGINAL, PASSES
from desalbook.trail.seal import content_hash

__all__ = ["LONGEST_TEXT", "Style", "decimals", "digits", "footed", "text"]

LONGEST_TEXT = 32_000  # characters; a cell takes 32 767
INPUT, FIXED, STALE = "#d8efe6", "#eceff2", "#f6d5dc"
"""Grounds of cells: an input to change, a value that does not follow, something stale."""
_LONGEST_FOOT = 60
_COUNTED = ("count", "charge number")
_A3 = 8


def text(page: Any, row: int, column: int, said: Any, format: Any = None) -> None:
    """Write text as text: never a formula, a link or a number, and never longer than a cell takes."""
    said = str(said)
    if len(said) > LONGEST_TEXT:
        said = said[: LONGEST_TEXT - 1] + "…"
    if said:
        page.write_string(row, column, said, format)
    elif format is not None:
        page.write_blank(row, column, None, format)


def digits(value: float, whole: bool = False) -> str:
    """A number format that shows five significant digits of a value of this size; no decimals of what is counted."""
    size = abs(value)
    if whole and float(value).is_integer():
        return "#,##0"
    if size and not 1e-4 <= size < 1e6:
        return "0.0000E+00"
    places = 4 - math.floor(math.log10(size)) if size else 0
    return "#,##0" + ("." + "0" * min(places, 8) if places > 0 else "")


def decimals(said: str) -> str:
    """A number format with the decimals of a number as it is shown."""
    number = said.replace("\N{THIN SPACE}", "").replace("\N{NO-BREAK SPACE}", " ").split(" ")[0]
    _, point, rest = number.partition(".")
    return "#,##0" + ("." + "0" * len(rest) if point and rest.isdigit() else "")


def footed(page: Any, record: Mapping[str, Any]) -> None:
    """How a sheet prints: one page wide, with project, revision, hash and page number."""

    def plain(said: str) -> str:
        said = "".join(c if c.isprintable() else " " for c in said)
        return (said if len(said) <= _LONGEST_FOOT else said[: _LONGEST_FOOT - 1] + "…").replace("&", "&&")

    project = record.get("project", {})
    page.set_landscape()
    page.set_paper(_A3)  # a line of thirteen columns that can be read
    page.set_margins(left=0.4, right=0.4, top=0.65, bottom=0.55)
    page.fit_to_pages(1, 0)
    page.set_header(f"&L{plain(str(project.get('name', '')))} &RRevision {plain(str(project.get('revision', '')))} ")
    page.set_footer(f"&LRecord {content_hash(record)[:12]} &C&A &RPage &P of &N")


class Style:
    """Formats of one workbook."""

    def __init__(self, book: Any):
        self.book = book
        self.head = book.add_format({"bold": True, "font_size": 13})
        self.bold = book.add_format({"bold": True, "bottom": 1, "text_wrap": True})
        self.over = book.add_format({"bold": True, "bottom": 1, "align": "right", "text_wrap": True})
        self.unit = book.add_format({"indent": 1, "valign": "top"})  # off the number beside it
        self.long = book.add_format({"indent": 1, "text_wrap": True, "valign": "top"})
        self.quiet = book.add_format({"font_color": "#59636e"})
        self.wrap = book.add_format({"text_wrap": True, "valign": "top"})
        self.percent = book.add_format({"num_format": "0.0 %", "valign": "top"})
        self.top = book.add_format({"valign": "top"})
        self.input = book.add_format({"bg_color": INPUT, "locked": False, "valign": "top"})
        self.fixed = book.add_format({"bg_color": FIXED, "valign": "top"})
        self.stale = book.add_format({"bg_color": STALE, "font_color": FAILS})
        self.verdict = {"fails": book.add_format({"font_color": FAILS, "bold": True}),
                        "marginal": book.add_format({"font_color": MARGINAL}),
                        "review": book.add_format({"font_color": MARGINAL}),
                        "passes": book.add_format({"font_color": PASSES})}
        self._shown: dict[tuple[str, str], Any] = {}

    def shown(self, value: float, kind: str | None = None, said: str | None = None) -> Any:
        """Format of a value as people read it: with the decimals of its text, where there is one."""
        return self._format(digits(value, kind in _COUNTED) if said is None else decimals(said), "")

    def rounded(self, value: float, ground: str = "") -> Any:
        """Format of a value in coherent SI: five digits are shown, all of them are in the cell."""
        return self._format(digits(value), ground)

    def _format(self, code: str, ground: str) -> Any:
        if (code, ground) not in self._shown:
            colour = {"input": {"bg_color": INPUT, "locked": False}, "fixed": {"bg_color": FIXED}}.get(ground, {})
            self._shown[code, ground] = self.book.add_format({"num_format": code, "valign": "top", **colour})
        return self._shown[code, ground]
