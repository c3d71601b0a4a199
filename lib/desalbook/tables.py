"""Reader of the data tables: what an engineer would change, each row with its source.

A table is a TOML file beside the code:

    title = "Filter media"
    note = "…"
    [columns.size]            # a column without kind holds text
    kind = "length.small"
    title = "Effective size"
    symbol = "d_10"
    [[rows]]
    key = "sand"
    title = "Filter sand"
    source = "common-practice"
    place = ""
    size = "0.55 mm"          # or { v = "0.55 mm", source = "…", place = "…" }
    [series.rating]           # an ordered list of one quantity
    kind = "power"
    title = "Standard ratings"
    source = "…"
    values = ["0.75 kW", "1.1 kW"]
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from itertools import pairwise
from types import MappingProxyType
from typing import Any

from desalbook.problems import DesignError
from desalbook.units import KINDS, Kind, parse
from desalbook.units import field as quantity

__all__ = ["Cell", "Column", "Row", "Series", "Table", "load", "row_field", "table", "table_names"]

_KEY = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.+-]{0,59}")
_NOT_TABLES = {"glossary", "sources"}  # files of another form, read by other rooms
_OWN = {"key", "title", "source", "place", "note"}


@dataclass(frozen=True)
class Column:
    """What one column holds; `kind` is None for text."""

    name: str
    kind: Kind | None
    title: str
    symbol: str = ""
    source: str = ""


@dataclass(frozen=True)
class Cell:
    """One entry: SI value (or text), as written, and where it comes from."""

    value: Any
    text: str
    kind: Kind | None
    title: str
    symbol: str
    source: str
    place: str


@dataclass(frozen=True)
class Row(Mapping):
    """One row; ``row["area"]`` is a `Cell`. ``row.get("area")`` is None where nothing is stated."""

    key: str
    title: str
    source: str
    place: str
    note: str
    where: str
    cells: Mapping[str, Cell] = field(repr=False)
    columns: Mapping[str, Column] = field(repr=False)

    def __getitem__(self, name: str) -> Cell:
        if name in self.cells:
            return self.cells[name]
        if name in self.columns:
            raise DesignError("not stated in the table", where=f"{self.where}.{name}",
                              do="choose another row, or give the value in the design")
        raise DesignError("no such column", where=f"{self.where}.{name}", do=_like(name, self.columns))

    def get(self, name: str, default: Any = None) -> Any:
        """The cell, or `default` where the row states nothing; an unknown column is still refused."""
        return self[name] if name in self.cells or name not in self.columns else default

    def __contains__(self, name: object) -> bool:
        return name in self.cells

    def __iter__(self) -> Iterator[str]:
        return iter(self.cells)

    def __len__(self) -> int:
        return len(self.cells)

    def __hash__(self) -> int:
        return hash(self.where)


@dataclass(frozen=True)
class Series:
    """An ordered list of one quantity, strictly rising."""

    name: str
    kind: Kind
    title: str
    values: tuple[float, ...]
    texts: tuple[str, ...]
    source: str
    place: str


@dataclass(frozen=True)
class Table(Mapping):
    """A table; ``table["demo-37-high"]["area"].value`` is an SI float."""

    name: str
    title: str
    note: str
    columns: Mapping[str, Column]
    _rows: dict[str, Row]
    lists: Mapping[str, Series]
    _required: dict[str, None] = field(default_factory=dict, init=False, repr=False, compare=False)
    _risen: dict[str, tuple[Row, ...]] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def rows(self) -> Mapping[str, Row]:
        """Rows by key, in the order of the file."""
        return MappingProxyType(self._rows)

    def __getitem__(self, key: str) -> Row:
        return self.row(key)

    def row(self, key: str, where: str = "") -> Row:
        """A row by key; `where` is the design field that asked for it.

        Raises
        ------
        DesignError
            Unknown key, naming the nearest known one.
        """
        try:
            return self.rows[key]
        except (KeyError, TypeError):
            raise DesignError(f"not in the table {self.name}", where=where or self.name, value=key,
                              do=_like(key, self.rows)) from None

    def __contains__(self, key: object) -> bool:
        return key in self.rows

    def __iter__(self) -> Iterator[str]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    def __hash__(self) -> int:
        return hash(self.name)

    def options(self, **wanted: str) -> Mapping[str, str]:
        """Row keys and their titles, as `units.choice` wants them; rows added later are in it.

        Parameters
        ----------
        **wanted : str
            Columns of text and what they must hold, such as ``role="acid"``.
        """
        return _Options(self, wanted)

    def require(self, *columns: str) -> None:
        """Refuse a row, there or added later, that states nothing in one of these columns.

        Raises
        ------
        DesignError
            Names the row and the column.
        """
        for row in self.rows.values():
            _complete(row, columns)
        self._required.update(dict.fromkeys(columns))

    def add(self, row: Mapping[str, Any]) -> Row:
        """A row of a user's own, as text like the rows of the file; it is in the lists of choice at once.

        Raises
        ------
        DesignError
            The row breaks the rules of the table, lacks a required column, or its key is taken.
        """
        key = _row_key(row, f"{self.name}.rows")
        made = _row(key, row, self.columns, f"{self.name}[{key}]")
        if key in self.rows:
            raise DesignError("the key is given twice", where=made.where, do="give each row its own key")
        _complete(made, self._required)
        self._rows[key] = made
        self._risen.clear()
        return made

    def remove(self, key: str) -> None:
        """Take a row away again."""
        self.row(key)
        del self._rows[key]
        self._risen.clear()

    def column(self, name: str) -> dict[str, Cell]:
        """The cells of a column by row key, rows that state nothing omitted."""
        if name not in self.columns:
            raise DesignError("no such column", where=f"{self.name}.{name}", do=_like(name, self.columns))
        return {key: row.cells[name] for key, row in self.rows.items() if name in row.cells}

    def ascending(self, name: str) -> tuple[Row, ...]:
        """Rows that state the numeric column `name`, sorted by it; sorted once, for a table does not change."""
        if name not in self._risen:
            cells = self.column(name)
            if self.columns[name].kind is None:
                raise DesignError("a column of text has no order", where=f"{self.name}.{name}",
                                  do="sort by a column of numbers")
            self._risen[name] = tuple(sorted((self.rows[key] for key in cells), key=lambda row: row.cells[name].value))
        return self._risen[name]

    def series(self, name: str) -> Series:
        """An ordered list, such as standard motor ratings."""
        try:
            return self.lists[name]
        except KeyError:
            raise DesignError("no such list", where=f"{self.name}.{name}",
                              do=_like(name, self.lists)) from None


@dataclass(frozen=True, eq=False)
class _Options(Mapping[str, str]):
    """A view of a table's keys and titles that follows its rows."""

    table: Table
    wanted: Mapping[str, str]

    def _has(self, row: Row) -> bool:
        return all(name in row.cells and row.cells[name].value == text for name, text in self.wanted.items())

    def __getitem__(self, key: str) -> str:
        row = self.table.rows[key]
        if not self._has(row):
            raise KeyError(key)
        return row.title

    def __iter__(self) -> Iterator[str]:
        return (key for key, row in self.table.rows.items() if self._has(row))

    def __len__(self) -> int:
        return sum(1 for _ in self)


def _like(key: object, known: Mapping[str, Any]) -> str:
    near = difflib.get_close_matches(str(key), list(known), 1, 0.4)
    if near:
        return f"enter {near[0]} if that is meant"
    return f"enter one of {', '.join(list(known)[:12])}" if known else "remove it"


def table_names() -> tuple[str, ...]:
    """Names of all tables that come with the kit."""
    files = resources.files("desalbook.data").iterdir()
    names = {f.name.removesuffix(".toml") for f in files if f.name.endswith(".toml")}
    return tuple(sorted(names - _NOT_TABLES))


@cache
def table(name: str) -> Table:
    """A table that comes with the kit, read once.

    Raises
    ------
    DesignError
        No such table, or one that breaks the rules of this module.
    """
    known = table_names()
    if name not in known:
        raise DesignError("no such table", where=str(name), do=_like(name, dict.fromkeys(known)))
    return load(resources.files("desalbook.data").joinpath(f"{name}.toml").read_text("utf-8"), name)


def row_field(of: str, key: str, column: str = "limit", **more: Any) -> Any:
    """A field of a section whose default, usual range and source are those of a row of a table.

    So the value has one home; who edits the row moves the default.

    Parameters
    ----------
    of, key, column : str
        Table, row, and the column of the default. ``usual_low`` and ``usual_high`` are its usual range where the
        row states them.
    **more
        As `desalbook.units.field` takes them; ``title`` is the row's where it is not said.
    """
    row = table(of)[key]
    cell = row[column]
    kind = cell.kind if cell.kind is not None else KINDS[row["kind"].value]
    ends = tuple(row[name].text for name in ("usual_low", "usual_high") if name in row)
    return quantity(kind, cell.text, **{"title": row.title, "usual": ends or None, "source": cell.source,
                                        "place": cell.place, "row": (of, key)} | more)


def load(text: str, name: str) -> Table:
    """A table from TOML text.

    Parameters
    ----------
    text : str
        Content of the file.
    name : str
        Name used in messages.

    Raises
    ------
    DesignError
        Not TOML, an unknown key, a row without source, a cell that cannot be read.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise DesignError(f"not readable as TOML: {error}", where=name, do="correct the file") from None
    _only(raw, {"title", "note", "columns", "rows", "series"}, name)
    columns = {key: _column(key, one, f"{name}.columns.{key}") for key, one in raw.get("columns", {}).items()}
    rows: dict[str, Row] = {}
    for position, one in enumerate(raw.get("rows", ()), start=1):
        key = _row_key(one, f"{name}.rows[{position}]")
        if key in rows:
            raise DesignError("the key is given twice", where=f"{name}[{key}]", do="give each row its own key")
        rows[key] = _row(key, one, columns, f"{name}[{key}]")
    lists = {key: _series(key, one, f"{name}.{key}") for key, one in raw.get("series", {}).items()}
    return Table(name, _text(raw, "title", name), raw.get("note", ""), columns, rows, lists)


def _only(given: Mapping, known: set[str] | Mapping, where: str) -> None:
    for key in given:
        if key not in known:
            raise DesignError("unknown key", where=f"{where}.{key}", do=_like(key, dict.fromkeys(known)))


def _text(given: Mapping, key: str, where: str) -> str:
    value = given.get(key)
    if not isinstance(value, str) or not value:
        raise DesignError(f"has no {key}", where=where, do=f"set {key} = ...")
    return value


def _kind(name: str, where: str) -> Kind:
    if name not in KINDS:
        raise DesignError("no such kind of number", where=where, value=name, do=_like(name, KINDS))
    return KINDS[name]


def _column(name: str, given: Mapping, where: str) -> Column:
    _only(given, {"kind", "title", "symbol", "source"}, where)
    if name in _OWN:
        raise DesignError("a column may not have this name", where=where, do="rename the column")
    kind = _kind(given["kind"], where) if "kind" in given else None
    return Column(name, kind, _text(given, "title", where), given.get("symbol", ""), given.get("source", ""))


def _complete(row: Row, columns: Iterable[str]) -> None:
    for name in columns:
        if name not in row.cells:
            raise DesignError(f"has no {name}", where=row.where, do=f"set {name} = ...")


def _row_key(given: Mapping, where: str) -> str:
    key = given.get("key")
    if not isinstance(key, str) or not _KEY.fullmatch(key):
        raise DesignError("a row needs a key", where=where, value=key, allowed="letters, digits, - _ . and +",
                          do="set key = ...")
    return key


def _row(key: str, given: Mapping, columns: Mapping[str, Column], where: str) -> Row:
    _only(given, _OWN | set(columns), where)
    source, place = _text(given, "source", where), given.get("place", "")
    cells = {}
    for name, column in columns.items():
        if name not in given:
            continue
        raw, at = given[name], f"{where}.{name}"
        own = raw if isinstance(raw, Mapping) else {"v": raw}
        _only(own, {"v", "source", "place"}, at)
        if "v" not in own:
            raise DesignError("has no value", where=at, do="set v = ...")
        value = own["v"]
        if column.kind is not None:
            value = parse(value, column.kind, at)
        elif not isinstance(value, str):
            raise DesignError("not a text", where=at, value=value, do="enter it between quotation marks")
        # A source of its own has a place of its own: the row's place belongs to the row's source.
        moved = own.get("source") or column.source
        cells[name] = Cell(value, str(own["v"]), column.kind, column.title, column.symbol, moved or source,
                           own.get("place", "" if moved else place))
    return Row(key, _text(given, "title", where), source, place, given.get("note", ""), where, cells, columns)


def _series(name: str, given: Mapping, where: str) -> Series:
    _only(given, {"kind", "title", "values", "source", "place"}, where)
    kind = _kind(_text(given, "kind", where), where)
    texts = given.get("values")
    if not isinstance(texts, list) or not texts:
        raise DesignError("has no values", where=where, do="set values = [ ... ]")
    values = tuple(parse(one, kind, f"{where}[{n}]") for n, one in enumerate(texts, start=1))
    for n, (low, high) in enumerate(pairwise(values), start=2):
        if high <= low:
            raise DesignError("does not rise", where=f"{where}[{n}]", value=texts[n - 1],
                              do="put the values in rising order, each once")
    return Series(name, kind, _text(given, "title", where), values, tuple(str(one) for one in texts),
                  _text(given, "source", where), given.get("place", ""))
