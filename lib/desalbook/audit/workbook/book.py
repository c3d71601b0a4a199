"""The record as a spreadsheet: inputs to change, figures as live formulas with the values the kit found.

Computed lines are formulas made from the very trees of their relations. What a spreadsheet cannot do (ask an
engine, solve, search a catalogue) stands as a value with a live state beside it, which says when the value can
no longer be believed. Whatever a person wrote is written as text and can never become a formula.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from desalbook.audit.page.review import printed
from desalbook.audit.page.shown import units_of
from desalbook.audit.workbook.formulas import RESPONSES, Formulas
from desalbook.audit.workbook.lines import Lines
from desalbook.audit.workbook.places import BELOW, FIRST, INPUTS, RESULTS, TABLES, Places, reference
from desalbook.audit.workbook.sheets import Sheets
from desalbook.audit.workbook.style import Style, footed, text

__all__ = ["workbook"]


def workbook(record: Mapping[str, Any], path: str | os.PathLike, units: str = "si", depth: str = "full",
             responses: Sequence[Any] = ()) -> Path:
    """Write the workbook.

    Parameters
    ----------
    record : mapping
    path : path
        Ends in ``.xlsx``.
    units : {"si", "us"}
        Display set of the column *Shown*; formulas are in coherent SI.
    depth : {"summary", "review", "full"}
        Rows that are unfolded and printed: at review depth those that decide. All rows are in every book.
    responses : sequence of `study.Response`, optional
        How solved values and engines' answers follow the main inputs; without them they stand still.

    Returns
    -------
    Path
    """
    import xlsxwriter

    units_of(units)
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    half = path.with_name(f".{path.name}.half")
    try:
        book = xlsxwriter.Workbook(str(half), {"strings_to_formulas": False, "strings_to_urls": False,
                                               "strings_to_numbers": False})
        book.worksheet_class = _page_class()
        try:
            book.set_properties({"created": datetime.datetime(2000, 1, 1), "title": "Calculation"})
            _write(book, record, units, depth, responses)
        finally:
            book.close()
        os.replace(half, path)
    finally:
        half.unlink(missing_ok=True)
    return path


@cache
def _page_class() -> type:
    """The library's sheet without its search of each formula for functions newer than any that stands here.

    Sixty patterns over 18 000 formulas took a third of all the time a book costs; a test holds that they find nothing.
    """
    from xlsxwriter.worksheet import Worksheet

    class Page(Worksheet):
        def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
            return formula.removeprefix("=")

    return Page


def _write(book: Any, record: Mapping[str, Any], units: str, depth: str, responses: Sequence[Any]) -> None:
    places, style = Places(record), Style(book)
    pages: dict[str, Any] = {}

    def page(name: str) -> Any:
        if name not in pages:
            pages[name] = book.add_worksheet(name)
            footed(pages[name], record)
        return pages[name]

    # the order of the tabs: what came of it, what goes in, the way of the water, what is judged, the rest
    chapters = [s for s in places.sheets if s != INPUTS]
    along = chapters.index("Membranes") + 1 if "Membranes" in chapters else len(chapters)
    for name in (RESULTS, INPUTS, *chapters[:along], *places.grids, *chapters[along:], "Checks",
                 *TABLES, "Marks", "Review priorities", "Sources", "Static lines", "Revision", "Tables", RESPONSES,
                 "State"):
        page(name)
    tables = _tables(pages["Tables"], record, style)
    formulas = Formulas(record, places, tables, responses)
    for x in record["lines"]:
        if x["sort"] != "checked":
            where = places.span.get(x["id"]) or places.cell[x["id"], None]
            book.define_name(places.name[x["id"]], f"={where}")
    unfolded = None if depth == "full" else printed(record)
    lines = Lines(record, places, formulas, style, units, unfolded)
    for name, rows in places.sheets.items():
        lines.sheet(pages[name], name, rows)
    for name, grids in places.grids.items():
        lines.grids(pages[name], name, grids)
    sheets = Sheets(record, places, formulas, style, units)
    sheets.checks(pages["Checks"])
    for name, (part, says) in TABLES.items():
        below = sheets.table(pages[name], part, part.capitalize(), says)
        if name in BELOW:
            sheets.table(pages[name], *BELOW[name], below + 2)
    sheets.marks(pages["Marks"])
    sheets.sources(pages["Sources"])
    sheets.doubt(pages["Review priorities"], unfolded is not None)
    sheets.not_live(pages["Static lines"])
    sheets.state(pages["State"])
    sheets.revision(pages["Revision"])
    sheets.results(pages[RESULTS])
    sheets.responses(pages[RESPONSES])
    for name in ("Tables", RESPONSES, "State"):  # for the formulas alone
        pages[name].hide()
    if unfolded is not None:
        for name in ("Sources", "Static lines"):
            pages[name].hide()
    pages[RESULTS].activate()


def _tables(page: Any, record: Mapping[str, Any], style: Style) -> dict[str, dict[str, tuple[str, str]]]:
    """Points of the tables that relations look up; ranges of x and y by relation and table."""
    found: dict[str, dict[str, tuple[str, str]]] = {}
    page.write_string(0, 0, "Tables that relations look up, straight lines between the points", style.head)
    column = 0
    for key, r in record["relations"].items():
        for name, t in r["tables"].items():
            last = FIRST + len(t["x"]) - 1
            text(page, 1, column, t["title"] or t["name"], style.bold)
            text(page, 2, column, f"{t['source']} {t['place']}".strip())
            text(page, 3, column, t["x_unit"], style.bold)
            text(page, 3, column + 1, t["y_unit"], style.bold)
            for n, (x, y) in enumerate(zip(t["x"], t["y"], strict=True)):
                page.write_number(FIRST + n, column, x)
                page.write_number(FIRST + n, column + 1, y)
            found.setdefault(key, {})[name] = tuple(  # pyright: ignore[reportArgumentType]
                reference("Tables", FIRST, c) + ":" + reference("Tables", last, c).partition("!")[2]
                for c in (column, column + 1))
            column += 3
    return found
