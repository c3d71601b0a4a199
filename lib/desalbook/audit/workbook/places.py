"""Where each number of a record stands in the workbook: sheet, cell, and the name it goes by in formulas."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from desalbook.audit.chapters import SYSTEMS, in_process_order, system
from desalbook.audit.graph import chapter
from desalbook.audit.page.shown import by_id
from desalbook.trail.sheet import safe_names
from desalbook.trail.words import part_words

__all__ = ["BELOW", "FIRST", "GRID", "INPUTS", "RESULTS", "STATE", "TABLES", "VALUE", "Grid", "Places", "column_letter",
           "reference", "sheet_words"]

RESULTS, INPUTS, STATE = "Results", "Inputs", "State"
VALUE = 3  # column of the value in coherent SI
FIRST = 4  # first row of lines, counted from 0
GRID = {"node": "Vessel"}
"""Axes whose lines stand side by side on a sheet of their own, one row a key: what marches along the membrane."""
_LONGEST = 31  # characters a sheet's name may have
TABLES = {
    "Guarantees": ("guarantees", "Guaranteed and expected, coherent SI"),
    "Streams": ("streams", "Streams of one train, coherent SI, gauge pressure"),
    "Equipment": ("equipment", "Equipment schedule, coherent SI; flow, head, motor and mass of one unit"),
    "Valves": ("valves", "Valves the controller moves, and relief valves, coherent SI"),
    "Chemical schedule": ("chemicals", "Chemicals by dosing line, coherent SI"),
    "Year of energy": ("energy", "Energy of a year by consumer, coherent SI; the sum is the bill"),
    "Loads": ("loads", "Electrical loads of the plant, coherent SI"),
    "Costs": ("costs", "Capital by item and cost of a year, in the currency of the design; not a quotation"),
    "Instruments": ("instruments", "Instruments with range, alarms and trips, coherent SI"),
    "Alarms": ("alarms", "Alarms and trips with priority and response, coherent SI; commissioning sets the final ones"),
    "Cause and effect": ("cause_effect", "Causes by row, effects by tag: S stops, C shuts, O opens, R starts, A alarm"),
}
"""Sheets that are tables of the record: the table and what the sheet says of it."""
BELOW = {
    "Loads": ("meters", "Energy meters", "With their classes and current transformers, coherent SI"),
    "Instruments": ("safety_devices", "Safety devices", "Hard-wired, coherent SI; a risk assessment decides on them"),
    "Alarms": ("alarm_load", "Alarm load", "In ten minutes from a start or a fault, as they come and suppressed"),
    "Cause and effect": ("permissives", "Permissives", "What must be true before a start"),
}
"""Short tables that stand below another on its sheet: the table, its title and what is said of it."""
_TAKEN = (RESULTS, "Revision", INPUTS, *GRID.values(), "Checks", *TABLES, "Marks",
          "Sources", "Review priorities", "Static lines", "Responses", STATE,
          "Tables")


class Grid(NamedTuple):
    """One block of lines along an axis: the columns of a table whose rows are the keys."""

    title: str
    corner: str
    keys: tuple[str, ...]
    lines: tuple[Mapping[str, Any], ...]
    top: int

    @property
    def first(self) -> int:
        """Row of the first key, counted from 0."""
        return self.top + 5


def column_letter(n: int) -> str:
    """Letters of a column counted from 0."""
    text = ""
    n += 1
    while n:
        n, rest = divmod(n - 1, 26)
        text = chr(65 + rest) + text
    return text


def reference(sheet: str, row: int, column: int) -> str:
    """Absolute reference to a cell; row and column from 0."""
    return f"'{sheet}'!${column_letter(column)}${row + 1}"


def sheet_words(part: str) -> str:
    """An id's part as a sheet's name."""
    return part_words(part)[:_LONGEST]


class Places:
    """Sheets of a record and the place of each of its numbers on them.

    Attributes
    ----------
    sheets : dict
        Lines of each list sheet, as (line, key) rows, in order: inputs first, then the systems as the water goes; a
        heading is (None, its text).
    grids : dict
        Blocks of each grid sheet.
    cell : dict
        Reference by (id, key); key None for a line with one value.
    span : dict
        Reference to all values of a line along an axis.
    name : dict
        Defined name by id.
    at : dict
        (sheet, row, column) of the first value of a line, for links.
    """

    def __init__(self, record: Mapping[str, Any]):
        self.lines = by_id(record)
        self.sheets: dict[str, list[tuple[Mapping[str, Any] | None, str | None]]] = {INPUTS: []}
        self._last: dict[str, str] = {}
        self.grids: dict[str, list[Grid]] = {}
        self.cell: dict[tuple[str, str | None], str] = {}
        self.span: dict[str, str] = {}
        self.at: dict[str, tuple[str, int, int]] = {}
        titles = self._titles(record["lines"])
        groups: dict[tuple, list[Mapping[str, Any]]] = {}
        chapters = {part: n for n, part in enumerate(in_process_order(chapter(x["id"]) for x in record["lines"]))}
        for x in sorted(record["lines"], key=lambda x: chapters[chapter(x["id"])]):
            if x["sort"] == "checked":
                continue
            if x["axis"] in GRID and x["sort"] not in ("given", "assumed"):
                base = x["id"].partition("@")[0]
                key = (GRID[x["axis"]], base.rpartition(".")[0], x["corner"] or "", tuple(x["keys"]))
                groups.setdefault(key, []).append(x)
            else:
                own = x["sort"] in ("given", "assumed")
                self._list(INPUTS if own else titles[chapter(x["id"])], x)
        for (sheet, title, corner, keys), lines in groups.items():
            self._grid(sheet, title, corner, keys, lines)
        valued = [x["id"] for x in record["lines"] if x["sort"] != "checked"]
        self.name = safe_names(valued)

    @staticmethod
    def _titles(lines: Sequence[Mapping[str, Any]]) -> dict[str, str]:
        """A sheet's name for each chapter: its system's, or its own; likenesses get a number."""
        made: dict[str, str] = {}
        taken = {t.lower() for t in (*_TAKEN, *SYSTEMS)}
        for part in dict.fromkeys(chapter(x["id"]) for x in lines):
            if (title := system(part)) is None:
                title, n = sheet_words(part), 2
                while title.lower() in taken:
                    title, n = f"{sheet_words(part)[: _LONGEST - 3]} {n}", n + 1
                taken.add(title.lower())
            made[part] = title
        return made

    def _list(self, sheet: str, x: Mapping[str, Any]) -> None:
        rows = self.sheets.setdefault(sheet, [])
        part = chapter(x["id"])
        if self._last.get(sheet) != part:
            self._last[sheet] = part
            rows.append((None, part_words(part)))  # a heading
        first = len(rows) + FIRST
        self.at[x["id"]] = (sheet, first, VALUE)
        for key in x["keys"] if x["keys"] is not None else [None]:
            self.cell[x["id"], key] = reference(sheet, len(rows) + FIRST, VALUE)
            rows.append((x, key))
        if x["keys"] is not None:
            letter = column_letter(VALUE)
            self.span[x["id"]] = f"'{sheet}'!${letter}${first + 1}:${letter}${len(rows) + FIRST}"

    def _grid(self, sheet: str, title: str, corner: str, keys: tuple[str, ...], lines: list) -> None:
        blocks = self.grids.setdefault(sheet, [])
        top = blocks[-1].first + len(blocks[-1].keys) + 2 if blocks else 3
        block = Grid(title, corner, keys, tuple(lines), top)
        blocks.append(block)
        for column, x in enumerate(lines, 1):
            letter, start = column_letter(column), block.first
            self.at[x["id"]] = (sheet, start, column)
            self.span[x["id"]] = f"'{sheet}'!${letter}${start + 1}:${letter}${start + len(keys)}"
            for n, key in enumerate(keys):
                self.cell[x["id"], key] = reference(sheet, start + n, column)

    def cells(self, id: str) -> list[str]:
        """References to every value of a line."""
        keys = self.lines[id]["keys"]
        return [self.cell[id, k] for k in (keys if keys is not None else [None])]

    def known(self, where: Any) -> str:
        """How a formula calls what an input names: the defined name, or the cell of one entry."""
        id, key = (where, None) if isinstance(where, str) else where
        return self.name[id] if key is None else self.cell[id, key]
