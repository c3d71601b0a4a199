"""Workbooks recalculated from scratch by a spreadsheet program. Not a test itself.

A book is changed and read in the parts of its file: a library of workbooks takes four times as long for the same.
"""

from __future__ import annotations

import re
import subprocess
import zipfile
from collections.abc import Mapping
from html import escape, unescape
from pathlib import Path
from typing import Any

import openpyxl

__all__ = ["bare", "recalculated", "values"]

_CACHED = re.compile(rb"(</f>|<f/>)<v>[^<]*</v>")
_ROW = re.compile(r'<row [^>]*?r="(\d+)"[^>]*?(?:/>|>(.*?)</row>)', re.S)
_CELL = re.compile(r'<c r="([A-Z]+)\d+"([^>]*?)(?:/>|>(.*?)</c>)', re.S)
_TEXT, _RUN = re.compile(r"<si>(.*?)</si>|<si/>", re.S), re.compile(r"<t[^>]*>([^<]*)</t>")
_VALUE = re.compile(r"<v[^>]*>([^<]*)</v>")


def bare(kept: Path, books: Mapping[Path, Mapping[str, float | str]]) -> list[Path]:
    """The same book once more for each path, with its inputs changed by their defined names.

    None has any cached value: nothing is left that could be copied instead of calculated.
    """
    with zipfile.ZipFile(kept) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    at, named = _sheets(parts), _names(parts)
    for name in at.values():
        parts[name] = _CACHED.sub(rb"\1", parts[name])
    for to, cells in books.items():
        changed = dict(parts)
        for name, value in cells.items():
            sheet, where = named[name]
            changed[at[sheet]] = _with(changed[at[sheet]], where, value)
        with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as book:
            for name, part in changed.items():
                book.writestr(name, part)
    return list(books)


def _with(part: bytes, where: str, value: float | str) -> bytes:
    """A sheet with another value in a cell that holds no equation."""
    cell = re.compile(rb'(<c r="%s"(?: s="\d+")?)(?: t="\w+")?>((?:(?!</c>).)*)</c>' % where.encode(), re.S)
    found = cell.findall(part)
    assert len(found) == 1 and b"<f" not in found[0][1], (where, found)
    text = f' t="inlineStr"><is><t>{escape(value)}</t></is>' if isinstance(value, str) else f"><v>{value!r}</v>"
    return cell.sub(lambda hit: hit[1] + text.encode() + b"</c>", part)


def _sheets(parts: Mapping[str, bytes]) -> dict[str, str]:
    """Name of each sheet -> its part, in the order of the book."""
    ways = dict(_attributes(parts["xl/_rels/workbook.xml.rels"], "Relationship", "Id", "Target"))
    return {unescape(name): "xl/" + ways[way].removeprefix("/xl/")
            for name, way in _attributes(parts["xl/workbook.xml"], "sheet", "name", "r:id")}


def _attributes(part: bytes, tag: str, *wanted: str) -> list[tuple[str, ...]]:
    found = []
    for text in re.findall(rf"<{tag} ([^>]*)>", part.decode()):
        of = dict(re.findall(r'([\w:]+)="([^"]*)"', text))
        found.append(tuple(of[one] for one in wanted))
    return found


def _names(parts: Mapping[str, bytes]) -> dict[str, tuple[str, str]]:
    """Defined name -> sheet and cell."""
    found = {}
    for name, text in re.findall(r'<definedName name="([^"]+)"[^>]*>([^<]*)<', parts["xl/workbook.xml"].decode()):
        sheet, _, where = unescape(text).rpartition("!")
        found[name] = sheet.strip("'"), where.replace("$", "")
    return found


def recalculated(office: str, books: list[Path], folder: Path) -> list[Path]:
    """The books as the spreadsheet program calculates them, all in one run."""
    out = folder / "again"
    subprocess.run([office, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--convert-to",
                    "xlsx:Calc MS Excel 2007 XML", "--outdir", str(out), *map(str, books)],
                   check=True, capture_output=True, timeout=300)
    return [out / b.name for b in books]


def values(path: Path) -> dict[str, list[list[Any]]]:
    """Every cell of every sheet."""
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name) for name in book.namelist()
                 if name.startswith(("xl/worksheets/sheet", "xl/sharedStrings", "xl/workbook", "xl/_rels/"))}
    texts = [unescape("".join(_RUN.findall(one))) for one in _TEXT.findall(parts["xl/sharedStrings.xml"].decode())]
    return {name: _cells(parts[part].decode(), texts) for name, part in _sheets(parts).items()}


def _cells(part: str, texts: list[str]) -> list[list[Any]]:
    """Rows of a sheet, all equally wide."""
    rows: list[dict[int, Any]] = []
    columns: dict[str, int] = {}
    for number, row in _ROW.findall(part):
        rows += [{} for _ in range(int(number) - 1 - len(rows))]
        rows.append(found := {})
        for letters, how, inside in _CELL.findall(row):
            if letters not in columns:
                columns[letters] = openpyxl.utils.column_index_from_string(letters) - 1
            found[columns[letters]] = _value(how, inside, texts)
    width = max(columns.values(), default=-1) + 1
    return [[row.get(n) for n in range(width)] for row in rows]


def _value(how: str, inside: str, texts: list[str]) -> Any:
    held = _VALUE.search(inside)
    if held is None or not held[1]:
        return None
    kind = how.partition(' t="')[2].partition('"')[0]
    if kind == "s":
        return texts[int(held[1])]
    if kind in ("str", "e"):
        return unescape(held[1])
    number = float(held[1])
    return bool(number) if kind == "b" else number
