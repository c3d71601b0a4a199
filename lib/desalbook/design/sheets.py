"""Manufacturers' sheets as tables: a CSV or spreadsheet file read into a design, and a blank one to be filled in.

A table has one property a row and one sheet a column. Its first row names the list it belongs to; then come the
columns key, title and unit, and the sheets. A property is found by its key or by its title; a cell holds a number, with
the unit of its row, or a text with a unit of its own; an empty cell states nothing.

A list within a section, ``hp_pump.curve`` for one, has one entry a row: its first row names the list, its second the
properties with their units in brackets, ``flow (m3/h)``; it is read as a whole, in place of the entries that are there.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import tomlkit

from desalbook.design.file import LARGEST, Design, from_text
from desalbook.design.file import load as load_text
from desalbook.design.sections import LISTS, SECTIONS
from desalbook.problems import DesignError
from desalbook.units import FieldMeta, Section, metas, unit_label, validate
from desalbook.units.fieldmeta import nearest, offered

__all__ = ["ENQUIRY_WIDTHS", "LINE_HEIGHT", "TAB_LENGTH", "Sheets", "add_sheets", "blank_rows", "blank_sheet",
           "new_table", "read_sheets", "table_rows"]

HEAD = ("key", "title", "unit")
ENQUIRY_WIDTHS = (26, 40, 15, 26, 10, 24, 28)
"""Widths of the columns of an enquiry as a spreadsheet, in letters."""
LINE_HEIGHT = 15
"""Height of one line of text in a spreadsheet, points."""
TAB_LENGTH = 31
"""Letters that the name of a sheet of a spreadsheet may have."""
MOST = 200
"""Columns and, five times over, rows of a table; a sheet has some forty rows."""
_HEAD = re.compile(r"(.*?)\s*(?:\(([^()]+(?:\([^()]*\))?)\))?")
INNER: Mapping[str, FieldMeta] = {
    f"{name}.{key}": m for name, section in SECTIONS.items() for key, m in metas(section).items()
    if m.form == "sections" and all(x.form in ("text", "choice", "quantity") for x in metas(m.item).values())}
"""Lists within a section whose entries are rows of plain values."""
_POINT = re.compile(r"([a-z_]+)\[([A-Za-z0-9_.+-]+)\]\.([a-z_]+)")


class _Cell(NamedTuple):
    """What one sheet states in one row."""

    row: int
    text: str


class Sheets(NamedTuple):
    """Sheets of one list as a file holds them: the list, and each sheet's cells by key."""

    file: str
    list: str
    sheets: tuple[Mapping[str, _Cell], ...]


def blank_rows(of: str, units: str = "si", points: int = 3) -> list[list[str]]:
    """Rows of an empty table of a list: name of the list, head, and every property with its unit.

    Parameters
    ----------
    of : str
        The list, ``elements`` or ``hp_pump.curve`` for two.
    units : {"si", "us"}
    points : int
        Rows of points that a curve of a sheet gets.
    """
    m = _list(of, "sheet")
    if of in INNER:
        return [["sheet", of], [f"{key} ({unit})" if (unit := _unit(x, units)) else key
                                for key, x in metas(m.item).items()]]
    rows = [["sheet", of], [*HEAD, "sheet 1"]]
    known = metas(m.item)
    for key, one in {m.key: known[m.key], **known}.items():
        if one.form == "sections":
            rows += [[f"{key}[p{n}].{inner}", f"{one.title}: {x.title}, point {n}", _unit(x, units), ""]
                     for n in range(1, points + 1) for inner, x in metas(one.item).items() if inner != one.key]
        elif one.form == "mapping":
            rows += [[f"{key}[{name}]", f"{one.title}, {name}", _unit(one, units), ""] for name in one.keys]
        else:
            said = [*([" or ".join(one.options)] if 0 < len(one.options) <= 3 else []),
                    *(["must be given"] if one.required else [])]
            rows.append([key, f"{one.title} ({'; '.join(said)})" if said else one.title, _unit(one, units), ""])
    return rows


def _unit(m: FieldMeta, units: str) -> str:
    return unit_label(m.kind, units) if m.kind is not None else ""


def blank_sheet(of: str, path: str | Path, units: str = "si") -> Path:
    """Write an empty table of a list, CSV or spreadsheet by the ending of its name, to be filled in and read back.

    Raises
    ------
    DesignError
        No such list, another ending, a file that is there already or cannot be written.
    """
    rows = blank_rows(of, units)
    return new_table(path, rows, lambda: _workbook(rows))


def new_table(path: str | Path, rows: Iterable[Sequence[str]], workbook: Callable[[], bytes]) -> Path:
    """Write a table into a new file, CSV of its rows or the workbook that is made of it, by the ending of the name.

    Raises
    ------
    DesignError
        Another ending, a file that is there, or one that cannot be written.
    """
    path = Path(path)
    if path.suffix.lower() not in (".csv", ".xlsx"):
        raise DesignError("not a name of a table", where=path.name, allowed=".csv, .xlsx",
                          do="give it one of these endings")
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(rows)
    data = text.getvalue().encode("utf-8") if path.suffix.lower() == ".csv" else workbook()
    try:
        with open(path, "xb") as file:
            file.write(data)
    except FileExistsError:
        raise DesignError("exists already", where=path.name, do="give another name or folder") from None
    except OSError as error:
        raise DesignError(f"cannot be written: {(error.strerror or 'not a file name').lower()}", where=path.name,
                          do="give another name or folder") from None
    return path


def _workbook(rows: Sequence[Sequence[str]]) -> bytes:
    from xlsxwriter import Workbook

    held = io.BytesIO()
    with Workbook(held, {"in_memory": True}) as book:
        page = book.add_worksheet("sheet")
        bold, plain = book.add_format({"bold": True}), book.add_format({"text_wrap": True, "valign": "top"})
        for n, row in enumerate(rows):
            for k, text in enumerate(row):
                page.write_string(n, k, text, bold if n < 2 else plain)
        page.set_column(0, 0, 26)
        page.set_column(1, 1, 52)
        page.set_column(2, 3, 18)
        page.freeze_panes(2, 3)
    return held.getvalue()


def read_sheets(path: str | Path) -> Sheets:
    """Sheets of a CSV or spreadsheet file, as written.

    Raises
    ------
    DesignError
        Not such a table; an unknown list or property; a cell that holds no value. Names file and row.
    """
    path = Path(path)
    rows = table_rows(path)
    top = next((n for n, row in enumerate(rows) if any(row)), None)
    if top is None or rows[top][0].casefold() != "sheet" or len(rows[top]) < 2:
        raise DesignError("does not begin with the list it belongs to", where=f"{path.name}, row {(top or 0) + 1}",
                          value=", ".join(x for x in rows[top][:3]) if top is not None else None,
                          do=f"enter sheet in the first cell and the list beside it: "
                             f"{', '.join([*LISTS, *INNER])}")
    name = rows[top][1]
    m = _list(name, f"{path.name}, row {top + 1}")
    head = next((n for n in range(top + 1, len(rows)) if any(rows[n])), None)
    if name in INNER:
        return Sheets(path.name, name, _entries(rows, head, m, path.name))
    if head is None or tuple(x.casefold() for x in rows[head][:3]) != HEAD:
        raise DesignError("has no head", where=f"{path.name}, row {(top if head is None else head) + 1}",
                          do="enter key, title, unit and one column for each sheet")
    count = max(len(row) for row in rows[head:]) - len(HEAD)
    sheets: list[dict[str, _Cell]] = [{} for _ in range(max(count, 0))]
    for n in range(head + 1, len(rows)):
        _enter(sheets, rows[n], n + 1, m, path.name)
    found = tuple(sheet for sheet in sheets if sheet)
    if not found:
        raise DesignError("states nothing", where=path.name, do="fill in a column beside the units")
    return Sheets(path.name, name, found)


def _list(name: str, where: str) -> FieldMeta:
    known = {**LISTS, **INNER}
    if name not in known:
        raise DesignError("no such list of sheets", where=where, value=name, allowed=", ".join(known),
                          do=offered(name, known))
    return known[name]


def _entries(rows: Sequence[Sequence[str]], head: int | None, m: FieldMeta,
             file: str) -> tuple[Mapping[str, _Cell], ...]:
    """Entries of a list within a section, one a row under a head of properties with their units."""
    if head is None:
        raise DesignError("has no head", where=file, do=f"enter {', '.join(metas(m.item))} with their units")
    columns: list[tuple[str, FieldMeta, str]] = []
    for said in rows[head]:
        name, unit = _HEAD.fullmatch(said).groups()  # type: ignore[union-attr]
        key, one = _property(m, name, f"{file}, row {head + 1}")
        if key in [x[0] for x in columns]:
            raise DesignError("the property is given twice", where=f"{file}, row {head + 1}", value=key,
                              do="keep one of the columns")
        columns.append((key, one, unit or ""))
    found = []
    for n in range(head + 1, len(rows)):
        cells = zip(columns, rows[n], strict=False)
        entry = {key: _Cell(n + 1, _with_unit(text, one, unit)) for (key, one, unit), text in cells if text}
        if entry:  # the name of a point is part of its id, and seldom stands in a manufacturer's table
            found.append({m.key: _Cell(n + 1, f"p{len(found) + 1}"), **entry})
    if not found:
        raise DesignError("states nothing", where=file, do="enter one row for each entry under the head")
    return tuple(found)


def _with_unit(text: str, m: FieldMeta, unit: str) -> str:
    """A number with the unit of its row or column; a text as it is."""
    alone = re.fullmatch(r"[-+]?[0-9][0-9 .,'\u00a0\u2009\u202f]*(?:[eE][-+]?[0-9]+)?", text) is not None
    return f"{text} {unit}" if unit and m.kind is not None and unit != "1" and alone else text


def _enter(sheets: Sequence[dict[str, _Cell]], row: Sequence[str], number: int, m: FieldMeta, file: str) -> None:
    said, title, unit = (row[k] if k < len(row) else "" for k in range(3))
    if not any(row[len(HEAD):]):
        return
    at = f"{file}, row {number}"
    key, one = _property(m, said or title, at)
    for sheet, text in zip(sheets, row[len(HEAD):], strict=False):
        if not text:
            continue
        if key in sheet:
            raise DesignError("the property is given twice", where=at, value=key, do="keep one of the rows")
        sheet[key] = _Cell(number, _with_unit(text, one, unit))


def _property(m: FieldMeta, said: str, at: str) -> tuple[str, FieldMeta]:
    """Key and meta of a row, by its key, by its title, or as a point of a list within the sheet."""
    known = metas(m.item)
    if (point := _POINT.fullmatch(said)) is not None and point[1] in known and known[point[1]].form == "sections":
        inner = metas(known[point[1]].item)
        if point[3] in inner:
            return said, inner[point[3]]
        raise DesignError("unknown property", where=at, value=said, do=nearest(point[3], inner))
    named, _, entry = said.partition("[")
    if entry.endswith("]") and named in known and known[named].form == "mapping":
        return said, known[named].entry(entry[:-1])
    if said in known and known[said].form not in ("sections", "mapping"):
        return said, known[said]
    by_title = {one.title.casefold(): key for key, one in known.items() if one.form not in ("sections", "mapping")}
    key = by_title.get(said.split(" (")[0].casefold()) or by_title.get(said.casefold())
    if key is None:
        raise DesignError("unknown property", where=at, value=said, do=nearest(said, [*known, *by_title]))
    return key, known[key]


def table_rows(path: Path) -> list[list[str]]:
    """Rows of a CSV or spreadsheet file (its first page) as texts, cells trimmed.

    Raises
    ------
    DesignError
        Another ending, a file that cannot be read, or one too large to be a sheet.
    """
    ending = path.suffix.lower()
    if ending == ".csv":
        rows = list(_csv(path))
    elif ending == ".xlsx":
        rows = list(_xlsx(path))
    else:
        raise DesignError("not a table that is read", where=path.name, allowed=".csv, .xlsx",
                          do="save the sheet as one of these")
    if len(rows) > 5 * MOST or max(map(len, rows), default=0) > MOST:
        raise DesignError("too large for a sheet", where=path.name, allowed=f"{5 * MOST} rows, {MOST} columns",
                          do="check that this is the file you mean")
    return rows


def _csv(path: Path) -> Iterator[list[str]]:
    text = load_text(path)
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = next((d for d in (";", "\t") if d in first), ",")
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True):
            yield [cell.strip() for cell in row] or [""]
    except csv.Error as error:
        raise DesignError(f"cannot be read as CSV: {error}", where=path.name,
                          do="save it again as CSV in UTF-8") from None


def _xlsx(path: Path) -> Iterator[list[str]]:
    from openpyxl import load_workbook

    try:
        if path.stat().st_size > LARGEST:
            raise DesignError("too large for a sheet", where=path.name, allowed=f"up to {LARGEST // 1000} kB",
                              do="check that this is the file you mean")
        with zipfile.ZipFile(path) as packed:
            if sum(one.file_size for one in packed.infolist()) > 20 * LARGEST:
                raise DesignError("too large for a sheet", where=path.name, do="check that this is the file you mean")
        book = load_workbook(path, read_only=True, data_only=True)
        try:
            page = book.worksheets[0]
            for row in page.iter_rows(max_row=5 * MOST + 1, max_col=MOST + 1):
                yield _trimmed(row)
        finally:
            book.close()
    except FileNotFoundError:
        raise DesignError("no such file", where=path.name, do="check the name and the folder") from None
    except DesignError:
        raise
    except Exception as error:  # the library has errors of many kinds for a file that is none
        what = getattr(error, "strerror", None) or "not a spreadsheet"
        raise DesignError(f"cannot be read: {what.lower()}", where=path.name, do="save it again as .xlsx") from None


def _trimmed(row: Iterable[Any]) -> list[str]:
    texts = [_text(cell) for cell in row]
    while len(texts) > 1 and not texts[-1]:
        texts.pop()
    return texts or [""]


def _text(held: Any) -> str:
    """What a cell holds, as one would type it; a number shown as a percentage has its sign."""
    cell = held.value
    if cell is None:
        return ""
    if isinstance(cell, (int, float)) and not isinstance(cell, bool) and "%" in (held.number_format or ""):
        return f"{cell * 100:.12g} %"
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, (int, float)):
        return f"{cell:.15g}"
    if isinstance(cell, datetime.datetime):
        return cell.date().isoformat()
    if isinstance(cell, datetime.date):
        return cell.isoformat()
    return str(cell).strip()


def add_sheets(design: Design, path: str | Path, *, replace: bool = False) -> Design:
    """The design with the sheets of a file written into it, as the file states them.

    Parameters
    ----------
    path : str or Path
        CSV or spreadsheet, as `blank_sheet` writes it.
    replace : bool
        Whether a sheet of the same name, or the entries of a list within a section, give way.

    Raises
    ------
    DesignError
        A value that cannot be read or is not possible, at its row of the file; a name that is taken.
    """
    found = read_sheets(path)
    m = _list(found.list, found.file)
    if found.list in INNER:
        return _with_entries(design, found, m, replace)
    text = design.text
    for number, sheet in enumerate(found.sheets, start=1):
        entry = _nested(sheet, m)
        name = m.item_key(entry, number, f"{found.file}, sheet")
        _valid(found, sheet, entry, m, name)
        if name in from_text(text, design.path).names(found.list):
            if not replace:
                raise DesignError("the design already has a sheet of this name", where=f"{found.list}[{name}]",
                                  value=name,
                                  do="give it another name, or replace the one that is there")
            text = _without(text, found.list, m, name)
        text = f"{text.rstrip()}\n\n{_block(found.list, entry)}"
    return from_text(text, design.path, ancestors=(*design.ancestors, design.hash))


def _with_entries(design: Design, found: Sheets, m: FieldMeta, replace: bool) -> Design:
    """The design with a list within a section as a file states it."""
    section, _, key = found.list.partition(".")
    if not replace and design.written.get(section, {}).get(key):
        raise DesignError("the design already states this list", where=found.list,
                          do="keep it, or replace the entries that are there")
    entries = []
    for number, cells in enumerate(found.sheets, start=1):
        entry = {key: cell.text for key, cell in cells.items()}
        _valid(found, cells, entry, m, m.item_key(entry, number, f"{found.file}, entry"))
        entries.append(entry)
    return design.with_value(found.list, entries)


def _nested(sheet: Mapping[str, _Cell], m: FieldMeta) -> dict[str, Any]:
    """Cells as the entry of a list: points of a curve under their list, each named by its bracket."""
    entry: dict[str, Any] = {}
    for key, cell in sheet.items():
        point = _POINT.fullmatch(key)
        named, _, name = key.partition("[")
        if point is None and name:
            entry.setdefault(named, {})[name[:-1]] = cell.text
        elif point is None:
            entry[key] = cell.text
        if point is None:
            continue
        inner = metas(m.item)[point[1]]
        rows = entry.setdefault(point[1], [])
        at = next((one for one in rows if one[inner.key] == point[2]), None)
        if at is None:
            rows.append(at := {inner.key: point[2]})
        at[point[3]] = cell.text
    return entry


def _valid(found: Sheets, sheet: Mapping[str, _Cell], entry: Mapping[str, Any], m: FieldMeta, name: str) -> Section:
    """The sheet read as a design would read it; a refusal names the row of the file."""
    at = f"{found.list}[{name}]"
    try:
        return validate(m.item, entry, at)
    except DesignError as refusal:
        key = refusal.where.removeprefix(f"{at}.")
        cell = sheet.get(key)
        where = f"{found.file}, row {cell.row}, {key}" if cell is not None else f"{found.file}, {at}.{key}"
        raise DesignError(refusal.what, where=where, value=refusal.value, unit=refusal.unit, allowed=refusal.allowed,
                          do=refusal.do) from None


def _block(name: str, entry: Mapping[str, Any]) -> str:
    lines = [f"[[{name}]]"]
    lines += [f"{key} = {tomlkit.item(text).as_string()}" for key, text in entry.items() if isinstance(text, str)]
    lines += [f"{key} = {{ {', '.join(f'{k} = {tomlkit.item(x).as_string()}' for k, x in rows.items())} }}"
              for key, rows in entry.items() if isinstance(rows, dict)]
    for key, rows in entry.items():
        for one in rows if isinstance(rows, list) else ():
            lines += ["", f"[[{name}.{key}]]", *(f"{k} = {tomlkit.item(x).as_string()}" for k, x in one.items())]
    return "\n".join(lines) + "\n"


def _without(text: str, name: str, m: FieldMeta, entry: str) -> str:
    doc = tomlkit.parse(text)
    rows: Any = doc[name]
    del rows[next(n for n, one in enumerate(rows) if one.get(m.key) == entry)]
    if not len(rows):
        del doc[name]
    return doc.as_string()
