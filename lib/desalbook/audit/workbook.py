"""The record as a spreadsheet: inputs to change, figures as live formulas with the values the kit found.

Computed lines are formulas made from the very trees of their relations. Lines of other sorts (engine,
solved, picked) are values: a spreadsheet cannot ask a geochemical engine or search a catalogue again, so
what rests on them is right only as far as they still hold; the sheet says so.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from desalbook.audit.shown import display, label, si_unit, units_of
from desalbook.trail import symbols
from desalbook.trail.sheet import formula

__all__ = ["workbook"]

_HEAD = ("Id", "Quantity", "Symbol", "Value, SI", "SI unit", "Shown", "Unit", "Sort", "Corner", "Source")
_LONGEST = 8000  # characters a spreadsheet takes in one formula, with some to spare
_SAYS = ("Change values on the sheet Inputs, column D. Lines of the sorts engine, solved and picked are "
         "values and do not follow; size the design again when they would.")


def workbook(record: Mapping[str, Any], path: str | os.PathLike, units: str = "si") -> Path:
    """Write the workbook.

    Parameters
    ----------
    record : mapping
    path : path
        Ends in ``.xlsx``.
    units : {"si", "us"}
        Display set of the column *Shown*; formulas are in coherent SI.

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
        book = xlsxwriter.Workbook(str(half), {"strings_to_formulas": False, "strings_to_urls": False})
        try:
            book.set_properties({"created": datetime.datetime(2000, 1, 1), "title": "Calculation"})
            _Sheets(book, record, units).write()
        finally:
            book.close()
        os.replace(half, path)
    finally:
        half.unlink(missing_ok=True)
    return path


class _Sheets:
    """Where each number stands, and the writing of it."""

    def __init__(self, book: Any, record: Mapping[str, Any], units: str):
        self.book, self.record, self.units = book, record, units
        self.bold = book.add_format({"bold": True})
        self.open = book.add_format({"bg_color": "#eef6f6"})
        self.rows: dict[str, list] = {"Inputs": [], "Figures": []}
        self.place: dict[tuple[str, str | None], str] = {}
        self.span: dict[str, str] = {}
        for x in record["lines"]:
            if x["sort"] == "checked":
                continue
            sheet = "Inputs" if x["sort"] in ("given", "assumed") else "Figures"
            keys = x["keys"] if x["keys"] is not None else [None]
            first = len(self.rows[sheet]) + 4
            for key in keys:
                self.place[x["id"], key] = f"{sheet}!$D${len(self.rows[sheet]) + 4}"
                self.rows[sheet].append((x, key))
            if x["keys"] is not None:
                self.span[x["id"]] = f"{sheet}!$D${first}:$D${first + len(keys) - 1}"
        self.lines = {x["id"]: x for x in record["lines"]}

    def write(self) -> None:
        for name, rows in self.rows.items():
            page = self.book.add_worksheet(name)
            page.write_string(0, 0, _SAYS)
            for i, text in enumerate(_HEAD):
                page.write_string(2, i, text, self.bold)
            page.freeze_panes(3, 1)
            page.set_column(0, 1, 38)
            page.set_column(2, 9, 14)
            for at, (x, key) in enumerate(rows, start=3):
                self.row(page, at, x, key)
        self.checks()

    def row(self, page: Any, at: int, x: Mapping[str, Any], key: str | None) -> None:
        value = x["value"] if key is None else x["value"][x["keys"].index(key)]
        texts = (x["id"] if key is None else f"{x['id']}[{key}]", x["title"],
                 symbols.text(x["symbol"], key) if x["symbol"] else "")
        for i, text in enumerate(texts):
            page.write_string(at, i, text)
        if isinstance(value, str):
            page.write_string(at, 3, value)
        elif isinstance(value, (int, float)):
            live = self.formula(x, key) if x["sort"] == "computed" else None
            if live is None:
                page.write_number(at, 3, value, self.open if x["sort"] in ("given", "assumed") else None)
            else:
                page.write_formula(at, 3, live, None, value)
            shown = display(value, x["kind"], self.units, self.record)
            zero, one = (display(v, x["kind"], self.units, self.record) for v in (0.0, 1.0))
            shift = f"+({zero!r})" if zero else ""
            page.write_formula(at, 5, f"=D{at + 1}*({one - zero!r}){shift}", None, shown)
            page.write_string(at, 4, si_unit(x["kind"], self.record))
            page.write_string(at, 6, label(x["kind"], self.units, self.record))
        page.write_string(at, 7, x["sort"])
        page.write_string(at, 8, x["corner"] or "")
        page.write_string(at, 9, " ".join(t for t in (x["source"], x["place"]) if t))

    def formula(self, x: Mapping[str, Any], key: str | None) -> str | None:
        """The live formula; None when it would be too long for a spreadsheet."""
        cells, entry = {}, {}
        for name, where in x["inputs"].items():
            id, part = (where, None) if isinstance(where, str) else where
            if part is None and id in self.span:
                cells[name] = self.span[id]
                if key is not None:
                    keys = self.lines[id]["keys"]
                    own = key if key in keys else keys[x["keys"].index(key)]
                    entry[name] = self.place[id, own]
            else:
                cells[name] = self.place[id, part]
        text = formula(self.record["relations"][x["relation"]], cells, entry=entry)
        return text if len(text) <= _LONGEST else None

    def checks(self) -> None:
        page = self.book.add_worksheet("Checks")
        heads = ("Id", "Check", "Provided, SI", "Sense", "Limit, SI", "Margin", "Verdict", "What to do")
        for i, text in enumerate(heads):
            page.write_string(2, i, text, self.bold)
        page.set_column(0, 1, 38)
        page.set_column(2, 6, 13)
        page.set_column(7, 7, 60)
        at = 3
        for x in self.record["lines"]:
            if x["sort"] != "checked":
                continue
            m = x["more"]
            page.write_string(at, 0, x["id"])
            page.write_string(at, 1, x["title"])
            if "sense" in m:
                for column, name, value in ((2, "provided", x["value"]), (4, "limit", m["limit"])):
                    where = x["inputs"][name]
                    page.write_formula(at, column, "=" + self.place[
                        (where, None) if isinstance(where, str) else (where[0], where[1])], None, value)
                r, (a, b) = at + 1, ("E", "C") if m["sense"] == "<=" else ("C", "E")
                page.write_string(at, 3, m["sense"])
                zero = repr(m.get("zero", 0.0))
                span = f"IF(E{r}<>{zero},ABS(E{r}-{zero}),IF(C{r}<>{zero},ABS(C{r}-{zero}),1))"
                page.write_formula(at, 5, f"=({a}{r}-{b}{r})/{span}", None, m["margin"])
                judge = f'=IF(F{r}<0,"fails",IF(F{r}<0.05,"thin","holds"))'
                page.write_formula(at, 6, judge, None, m["verdict"])
            else:
                page.write_string(at, 6, m["verdict"])
            page.write_string(at, 7, " ".join(t for t in (m.get("why", ""), m.get("do", "")) if t))
            at += 1
