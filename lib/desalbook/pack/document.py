"""A document of the pack: blocks of text, tables and drawings, in coherent SI until they are printed.

A cell is a text, a number of its column's kind, or a `Value` with a kind of its own. The same tables become the
printed page and the CSV beside it, and are compared with those of the pack before.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from desalbook.units import show, unit_label
from desalbook.units.display import in_units

__all__ = ["Cell", "Column", "Document", "Drawn", "Heading", "Note", "Paragraph", "Points", "Table", "Value", "shown",
           "told", "unit_of"]

_RANGE = re.compile(r"(?<![\w.-])(-?\d+(?:\.\d+)?) to (-?\d+(?:\.\d+)? (?:degC|bar|mm|m|m/s))(?![\w/^(*])")


class Value(NamedTuple):
    """A number with its kind, coherent SI.

    Parameters
    ----------
    value : float
    kind : str
    digits : int or None
        Significant digits where the kind's are not wanted.
    """

    value: float
    kind: str
    digits: int | None = None

    def text(self, units: str) -> str:
        """As people read it, with its unit."""
        return show(self.value, self.kind, units, digits=self.digits, trim=True, pretty=True)


Cell = str | float | int | Value | None


class Column(NamedTuple):
    """One column of a table.

    Parameters
    ----------
    key, head : str
    kind : str
        Kind of its numbers; empty for text, and for cells that say their own.
    width : float
        Share of the width, against the other columns.
    """

    key: str
    head: str
    kind: str = ""
    width: float = 1.0


@dataclass(frozen=True)
class Table:
    """Rows under columns; ``by`` names the columns that tell one row from another.

    Parameters
    ----------
    title : str
    columns : sequence of Column
    rows : sequence of mapping
    by : tuple of str
    note : str
        A line below it.
    quoted : tuple of str
        Columns with another's words, which stay as they were given.
    """

    title: str
    columns: Sequence[Column]
    rows: Sequence[Mapping[str, Cell]]
    by: tuple[str, ...] = ()
    note: str = ""
    quoted: tuple[str, ...] = ()

    def heads(self, units: str) -> list[str]:
        """Heads with the unit of each column."""
        return [f"{c.head}, {label}" if (label := unit_of(c.kind, units)) else c.head for c in self.columns]

    def cells(self, units: str) -> list[list[str]]:
        """Texts of all rows in a display set."""
        return [[shown(row.get(c.key), c.kind, "si" if c.key in self.quoted and isinstance(row.get(c.key), str)
                       else units) for c in self.columns] for row in self.rows]

    def frame(self, units: str = "si") -> Any:
        """The table as a DataFrame of texts."""
        import pandas as pd

        return pd.DataFrame(self.cells(units), columns=self.heads(units))

    def plain(self) -> dict[str, list[str]]:
        """Texts of a row by what tells it from the others, for a comparison."""
        made: dict[str, list[str]] = {}
        for row, cells in zip(self.rows, self.cells("si"), strict=True):
            name = " ".join(str(row.get(k) or "") for k in self.by or (self.columns[0].key,)).strip()
            while name in made:
                name += "+"
            made[name] = cells
        return made


@dataclass(frozen=True)
class Heading:
    """A heading of the document, its number made when it is printed."""

    text: str
    level: int = 1


@dataclass(frozen=True)
class Paragraph:
    """Sentences."""

    text: str


@dataclass(frozen=True)
class Points:
    """A list of sentences."""

    items: Sequence[str]
    numbered: bool = False


@dataclass(frozen=True)
class Note:
    """A safety note: hazard, consequence, precaution."""

    text: str


@dataclass(frozen=True)
class Drawn:
    """A drawing: one SVG for each display set, with its title; ``half`` where two of them share a page."""

    title: str
    svg: Mapping[str, str]
    half: bool = False


Block = Heading | Paragraph | Points | Note | Table | Drawn


@dataclass(frozen=True)
class Document:
    """One document of the pack.

    Parameters
    ----------
    key : str
        Lasting name, also that of its file.
    number, title : str
    blocks : sequence
    wide : bool
        Printed in landscape.
    group : str
        What the index lists it under.
    reads : tuple of str
        What a file beside it depends on and its page does not show; it is issued anew with these as well.
    whole : callable, optional
        Makes a page of its own, in place of one of the blocks.
    """

    key: str
    number: str
    title: str
    blocks: Sequence[Block]
    wide: bool = False
    group: str = ""
    reads: tuple[str, ...] = field(default=())
    whole: Callable[[], str] | None = None

    def tables(self) -> Iterator[Table]:
        """Its tables, in order."""
        return (b for b in self.blocks if isinstance(b, Table))


def unit_of(kind: str, units: str) -> str:
    """Unit under the head of a column; that of money stands in the head, and what it is for is left."""
    label = unit_label(kind, units, True) if kind else ""
    return f"per {label.removeprefix('1/')}" if kind.startswith("money") and label.startswith("1/") else label


def told(text: str, units: str) -> str:
    """A text of a table of the kit, its amounts in the display set: ``5 to 35 °C`` becomes Fahrenheit.

    Parameters
    ----------
    text : str
    units : {"si", "us"}
    """
    if units == "si":
        return text
    plain = text.replace("°C", "degC").replace("m²", "m2").replace("m³", "m3")
    return in_units(_RANGE.sub(lambda m: f"{m[1]} {m[2].partition(' ')[2]} to {m[2]}", plain), units)


def shown(cell: Any, kind: str, units: str) -> str:
    """A cell as people read it; empty where there is nothing."""
    if cell is None or cell == "":
        return ""
    if isinstance(cell, Value):
        return cell.text(units)
    if isinstance(cell, (int, float)):
        if cell != cell:
            return ""
        return show(float(cell), kind or "factor", units, unit=False, trim=True)
    return told(str(cell), units)
