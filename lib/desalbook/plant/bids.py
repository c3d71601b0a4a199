"""Enquiries and bids: a data sheet written as a table, a filled one read back, compared, and taken into a design.

A table has one field a row: field, title, how it is compared, required, unit, offered, remark. A bidder fills in
``offered``: a number in the unit of the row, a number with a unit of its own, or a text.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from desalbook.design import Design
from desalbook.design.sheets import ENQUIRY_WIDTHS, LINE_HEIGHT, TAB_LENGTH, new_table, table_rows
from desalbook.plant.data_sheets import DataSheet, Field
from desalbook.problems import DesignError
from desalbook.units import KINDS, parse, show, unit_label
from desalbook.units.fieldmeta import nearest, offered

__all__ = ["HEAD", "Bid", "Compared", "compare_bid", "read_bid", "take_bid", "write_enquiry"]

HEAD = ("field", "title", "compared", "required", "unit", "offered", "remark")
_FREE = {"deviations"}
"""Fields that may stay blank."""
_NUMBER = re.compile(r"[-+]?[0-9][0-9 .,'\u00a0\u2009\u202f]*(?:[eE][-+]?[0-9]+)?")


@dataclass(frozen=True)
class Bid:
    """A filled sheet: its number, the bidder, and what is offered by field as text with its unit.

    Parameters
    ----------
    number, tag, bidder, file : str
    offered : mapping
        Text by field, as typed.
    units : mapping
        Unit of the row by field.
    rows : mapping
        Row of the file by field, for messages.
    remarks : mapping
    """

    number: str
    tag: str
    bidder: str
    file: str
    offered: Mapping[str, str]
    units: Mapping[str, str]
    rows: Mapping[str, int]
    remarks: Mapping[str, str]


@dataclass(frozen=True)
class Compared:
    """One field of a bid against what is required.

    Parameters
    ----------
    field : Field
    offered : float, str or None
        SI, or text; None where it is missing.
    verdict : str
        ``meets``, ``deviates``, ``missing``, ``review`` (a text a person must judge) or ``stated``.
    by : float or None
        How far a number lies on the wrong side of what is required, fraction of it; None where it does not.
    remark : str
    """

    field: Field
    offered: Any
    verdict: str
    by: float | None = None
    remark: str = ""


def write_enquiry(sheet: DataSheet, path: str | Path, units: str = "si", project: str = "") -> Path:
    """Write one data sheet as an enquiry, CSV or spreadsheet by the ending of its name.

    Parameters
    ----------
    sheet : DataSheet
    path : str or Path
        A file that is there is left alone.
    units : {"si", "us"}
    project : str

    Raises
    ------
    DesignError
        Another ending, a file that is there, or one that cannot be written.
    """
    rows = _rows(sheet, units, project)
    return new_table(path, ([_inert(c) for c in row] for row in rows), lambda: _workbook(sheet, rows))


def _rows(sheet: DataSheet, units: str, project: str) -> list[list[str]]:
    top = [["sheet", sheet.number, sheet.title], ["tag", sheet.tag, f"{sheet.count} installed"],
           ["project", project], ["bidder", ""], [], list(HEAD)]
    made, group = [*top], ""
    for x, row in zip(sheet.fields, sheet.rows(units), strict=True):
        if x.group != group:
            group = x.group
            made.append([f"# {group}"])
        made.append([x.name, x.title, row["sense"] if x.asked else "for information", row["required"], row["unit"], "",
                     ""])
    return made


def _inert(cell: str) -> str:
    """Text that no spreadsheet program takes for a formula."""
    return f"'{cell}" if cell[:1] in ("=", "+", "@", "\t") else cell


def _workbook(sheet: DataSheet, rows: Sequence[Sequence[str]]) -> bytes:
    from xlsxwriter import Workbook

    held = io.BytesIO()
    with Workbook(held, {"in_memory": True}) as book:
        page = book.add_worksheet(sheet.number[:TAB_LENGTH])
        plain = book.add_format({"text_wrap": True, "valign": "top", "border": 1, "border_color": "#B0B7BF"})
        number = book.add_format({"valign": "top", "align": "right", "border": 1, "border_color": "#B0B7BF"})
        bold = book.add_format({"bold": True, "valign": "top"})
        head = book.add_format({"bold": True, "bottom": 2})
        group = book.add_format({"bold": True, "italic": True, "top": 1})
        blank = book.add_format({"text_wrap": True, "valign": "top", "border": 1, "bg_color": "#FFF6D6"})
        asked = {x.name for x in sheet.fields if x.asked}
        top = next(n for n, row in enumerate(rows) if row == list(HEAD))
        for n, row in enumerate(rows):
            if n > top and len(row) > 1:  # a program that only prints sets no height by itself
                page.set_row(n, LINE_HEIGHT * max(*(-(-len(row[k]) // ENQUIRY_WIDTHS[k]) for k in (1, 3)), 1))
            for k, text in enumerate(row):
                form = (bold if k == 0 else plain) if n < top else head if n == top else group if len(row) == 1 \
                    else blank if k >= 5 and row[0] in asked else number if k == 3 and row[4] else plain
                page.write_string(n, k, text, form)
            if row[:1] == ["bidder"]:
                page.write_string(n, 1, "", blank)
        for k, wide in enumerate(ENQUIRY_WIDTHS):
            page.set_column(k, k, wide)
        page.freeze_panes(top + 1, 2)
        page.set_landscape()
        page.set_paper(9)
        page.fit_to_pages(1, 0)
        page.repeat_rows(top)
        page.set_footer(f"&L{sheet.number}&RPage &P of &N")
    return held.getvalue()


def read_bid(path: str | Path) -> Bid:
    """A filled enquiry, as typed.

    Raises
    ------
    DesignError
        Not such a table; names the file and row.
    """
    path = Path(path)
    rows = table_rows(path)
    head = next((n for n, row in enumerate(rows) if tuple(x.casefold() for x in row[:6]) == HEAD[:6]), None)
    if head is None:
        raise DesignError("is no enquiry that was filled in", where=path.name,
                          do=f"keep the row of headings: {', '.join(HEAD)}")
    top = {row[0].casefold(): row[1] for row in rows[:head] if len(row) > 1}
    if not top.get("sheet"):
        raise DesignError("does not say which data sheet it answers", where=path.name,
                          do="keep the first row: sheet and its number")
    offered, units, places, remarks = {}, {}, {}, {}
    for n, row in enumerate(rows[head + 1:], start=head + 2):
        name = row[0]
        if not name or name.startswith("#"):
            continue
        if name in places:
            raise DesignError("the field is given twice", where=f"{path.name}, row {n}", value=name,
                              do="keep one of the rows")
        places[name], units[name] = n, row[4] if len(row) > 4 else ""
        if len(row) > 5 and row[5]:
            offered[name] = row[5]
        if len(row) > 6 and row[6]:
            remarks[name] = row[6]
    return Bid(top["sheet"], top.get("tag", ""), top.get("bidder", ""), path.name, offered, units, places, remarks)


def _of(sheets: Iterable[DataSheet], bid: Bid) -> DataSheet:
    known = {s.number: s for s in sheets}
    if bid.number not in known:
        raise DesignError("answers a data sheet this plant does not have", where=bid.file, value=bid.number,
                          do=offered(bid.number, known))
    return known[bid.number]


def compare_bid(sheets: Iterable[DataSheet], bid: Bid) -> list[Compared]:
    """Each field asked of the bidder against what is required.

    Raises
    ------
    DesignError
        A sheet or field the plant does not have, or a number that cannot be read; names file and row.
    """
    sheet = _of(sheets, bid)
    known = {x.name: x for x in sheet.fields}
    for name in bid.offered:
        if name not in known:
            raise DesignError("unknown field", where=f"{bid.file}, row {bid.rows[name]}", value=name,
                              do=nearest(name, known))
    return [_compared(x, bid) for x in sheet.fields if x.asked]


def _compared(x: Field, bid: Bid) -> Compared:
    remark = bid.remarks.get(x.name, "")
    if x.name not in bid.offered:
        if x.name in _FREE:
            return Compared(x, "none", "stated", remark=remark)
        return Compared(x, None, "missing", remark=remark)
    text = bid.offered[x.name]
    if x.sense == "yes":
        return Compared(x, text, "meets" if text.strip().casefold() in ("yes", "y", "x", "true") else "deviates",
                        remark=remark)
    number = _number(x, bid, text) if x.kind or x.sense in (">=", "<=", "=") else None
    if x.required is None or x.sense == "state":
        return Compared(x, text if number is None else number, "stated", remark=remark)
    if number is None:
        same = " ".join(text.casefold().split()) == " ".join(str(x.required).casefold().split())
        return Compared(x, text, "meets" if same else "review", remark=remark)
    wanted = float(x.required)
    span = abs(wanted) or 1.0
    by = {">=": wanted - number, "<=": number - wanted, "=": abs(number - wanted)}[x.sense] / span
    return Compared(x, number, "meets" if by <= x.tolerance + 1e-9 else "deviates",
                    by if by > x.tolerance + 1e-9 else None, remark)


def _number(x: Field, bid: Bid, text: str) -> float:
    where = f"{bid.file}, row {bid.rows[x.name]}"
    unit = bid.units.get(x.name, "")
    alone = _NUMBER.fullmatch(text) is not None
    if not x.kind:
        try:
            return float(text.removesuffix(x.unit).strip())
        except ValueError:
            raise DesignError("is no number", where=where, value=text,
                              do=f"give a number{f' in {x.unit}' if x.unit else ''}") from None
    joined = f"{text} {unit}" if alone and unit else text
    return float(parse(joined, KINDS[x.kind], where))


def take_bid(design: Design, sheets: Iterable[DataSheet], bid: Bid, fields: Iterable[str] | None = None) -> Design:
    """The design with what a bidder offers written into it as given, where a field has a key of the design.

    Parameters
    ----------
    design : Design
    fields : iterable of str, optional
        Fields that are taken; all that have a key and are offered if blank.

    Returns
    -------
    Design
        Not written yet.

    Raises
    ------
    DesignError
        A field that has no key or is not offered, or a value the design refuses.
    """
    sheet = _of(sheets, bid)
    known = {x.name: x for x in sheet.fields}
    open_ = {x.name for x in sheet.fields if x.takes and x.name in bid.offered}
    wanted = open_ if fields is None else set(fields)
    for name in sorted(wanted - open_):
        what = "is no field that a design takes" if name not in known or not known[name].takes else "is not offered"
        raise DesignError(what, where=bid.file, value=name, do=nearest(name, open_) if open_ else
                          "clear it; this sheet offers nothing a design takes")
    if not wanted:
        raise DesignError("offers nothing that a design takes", where=bid.file,
                          do="fill in mass, efficiency or another field with a key of the design")
    return design.with_values({known[n].takes: _as_text(known[n], bid) for n in sorted(wanted)})


def _as_text(x: Field, bid: Bid) -> str:
    text = bid.offered[x.name]
    _number(x, bid, text)  # refused by row where it is none
    unit = bid.units.get(x.name, "") or unit_label(x.kind)
    return f"{text} {unit}".strip() if _NUMBER.fullmatch(text) is not None else text


def offered_words(x: Compared, units: str = "si") -> str:
    """What is offered, as people read it."""
    if x.offered is None:
        return ""
    return show(float(x.offered), x.field.kind, units) if isinstance(x.offered, float) and x.field.kind else (
        f"{x.offered:g} {x.field.unit}".strip() if isinstance(x.offered, float) else str(x.offered))
