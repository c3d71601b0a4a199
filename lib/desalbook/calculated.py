"""What a calculation leaves behind: values by id, checks, and the trail, made when it is asked for."""

from __future__ import annotations

import threading
from abc import ABC, abstractmethod
from collections.abc import Collection, Iterable
from functools import cached_property
from typing import TYPE_CHECKING, Any

from desalbook.export import Trail
from desalbook.problems import DesignError
from desalbook.trail import record as _record
from desalbook.trail.figure import Choice, Column, Figure
from desalbook.trail.ledger import Ledger, Line, Values
from desalbook.trail.systems import RANK
from desalbook.trail.words import assumption
from desalbook.units import KINDS, in_currency, in_units, pair, to_display, unit_label
from desalbook.units.fieldmeta import nearest

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["CHECKS", "FIGURES", "Calculated"]

FIGURES = ("id", "title", "symbol", "value_si", "unit_si", "value", "unit", "kind", "scope", "count",
           "corner", "source")
"""Columns of `Calculated.figures`."""
CHECKS = ("id", "title", "provided", "sense", "limit", "unit", "margin", "verdict", "do", "corner", "why",
          "caution")
"""Columns of `Calculated.checks`."""


class Calculated(ABC):
    """A finished calculation: values by id, checks, and the trail.

    Values, picks and checks are at hand; the record of how each value was made is made when it is first asked for,
    by the same functions, and its values are the same to the last bit.

    Parameters
    ----------
    book : Values or Ledger
        What the calculation wrote.
    """

    _noun = "calculation"
    """What it is called in messages."""

    def __init__(self, book: Ledger | Values):
        self._book: Ledger | Values = book
        self._ledger: Ledger | None = book if isinstance(book, Ledger) else None
        self._one = threading.Lock()

    @property
    @abstractmethod
    def design(self) -> Any:
        """The design it was made from."""

    @cached_property
    @abstractmethod
    def record(self) -> dict[str, Any]:
        """The record: plain data, the same for the same design."""

    @property
    @abstractmethod
    def project(self) -> dict[str, str]:
        """Head of the sheet."""

    @abstractmethod
    def _recorded(self) -> Ledger:
        """The calculation done once more, recording every line."""

    @property
    def ledger(self) -> Ledger:
        """All lines of the calculation; made when first asked for, which takes as long as the calculation."""
        with self._one:
            if self._ledger is None:
                self._ledger = self._recorded()
            return self._ledger

    @property
    def recorded(self) -> bool:
        """Whether the record is at hand, so that asking why takes a moment only."""
        return self._ledger is not None

    @cached_property
    def ids(self) -> Collection[str]:
        """Ids of all values and checks that are at hand."""
        book = self._book
        if isinstance(book, Values):
            return dict.fromkeys((*book.values, *book.deferred, *book.lines))
        return book.lines.keys()

    @property
    def picks(self) -> list[Line]:
        """Choices the kit made: each with its rule and its candidates."""
        return [x for x in self._book.lines.values() if x.sort == "picked"]

    @property
    def verdicts(self) -> dict[str, Line]:
        """Checks and findings by id, in the order in which they were judged."""
        return {id: x for id, x in self._book.lines.items() if x.sort == "checked"}

    @property
    def inputs(self) -> Collection[str]:
        """Ids of what was not calculated: written by a person, a default, or a value of a table."""
        book = self._book
        return book.stated if isinstance(book, Values) else {
            id for id, x in book.lines.items() if x.sort in ("given", "assumed")}

    @property
    def reads(self) -> Collection[str]:
        """Keys of the design that the calculation asked for; another key would change nothing as the design is."""
        return self._book.reads

    @property
    def cautions(self) -> dict[str, list[str]]:
        """Sentences on values out of their usual range and relations out of theirs, by id."""
        book = self._book
        found = {id: x.cautions for id, x in book.lines.items() if x.cautions}
        return {**book.cautions, **found} if isinstance(book, Values) else found

    def belongs(self, id: str) -> tuple[str, int | None]:
        """What a value is of (plant, train, unit, vessel, element), and how many of these the plant has."""
        book = self._book
        if id in book.lines:
            return book.lines[id].scope, book.lines[id].count
        return (book.scopes[id].name, book.scopes[id].count) if isinstance(book, Values) else ("plant", None)

    def __contains__(self, id: str) -> bool:
        try:
            self._book[id]
        except (KeyError, ValueError):
            return False
        return True

    def _ipython_key_completions_(self) -> list[str]:
        return [*self.ids]

    def __getitem__(self, id: str) -> Figure | Column | Choice:
        """A figure by id: ``plant["filters.rate"]``, ``plant["water.ions[Na]"]``, ``"...@cold-aged"``.

        Raises
        ------
        DesignError
            When there is no value of that id; names the id most like it.
        """
        try:
            return self._book[id]
        except (KeyError, ValueError):
            raise DesignError(f"this {self._noun} has no such value", where=self._noun, value=id,
                              do=nearest(id, self.ids).replace(
                                  "Change or remove the key", "figures() lists all")) from None

    def show(self, id: str, units: str = "si") -> str:
        """A figure as people read it, with its unit or currency; an ion in the unit and basis it is stated in."""
        x = self[id]
        if not isinstance(x, Figure):
            return self.design.stated(id, units) or str(x)
        text = self.design.stated(id, units) or x.show(units)
        return in_currency(text, x.kind, str(self.design.get("energy.currency"))) if x.kind.name.startswith(
            "money") else text

    def set_by(self, id: str, most: int = 4) -> tuple[str, ...]:
        """Keys of the design that decide a value, the nearest first; makes the record when it is first asked for.

        Parameters
        ----------
        id : str
            Of any value; without its case as well.
        most : int
            How many keys at most.

        Raises
        ------
        DesignError
            When there is no value of that id.
        """
        lines = self.ledger.lines
        plain = id.partition("[")[0].partition("@")[0]
        start = next((i for i in (id, plain) if i in lines), None) or next(
            (i for i in lines if i.partition("@")[0] == plain), None)
        if start is None:
            self[id]  # refused, with the id most like it
            start = id
        known, found, front, seen = self.design.keys(), [], [start], {start}
        keys = {*known, *(k.partition("[")[0] for k in known if k.endswith("]"))}
        while front and len(found) < most:
            above = [x.id for i in front for x in lines[i].inputs.values() if x.id not in seen]
            front = list(dict.fromkeys(above))
            seen.update(front)
            found += [i for i in front if i in keys and lines[i].sort in ("given", "assumed", "picked")]
            front = [i for i in front if i not in found]
        own = id.partition(".")[0]
        return tuple(sorted(found, key=lambda i: not i.startswith(f"{own}."))[:most])

    def excerpt(self, ids: Iterable[str]) -> dict[str, Any]:
        """The record of a few lines only, made in a moment; it reads as the whole record does.

        Parameters
        ----------
        ids : iterable of str
            Ids the plant has.
        """
        wanted = set(ids)
        some = Ledger()
        some.lines = {k: x for k, x in self.ledger.lines.items() if k in wanted}
        return _record.to_record(some, self.design.text, project=self.project)

    @cached_property
    def trail(self) -> Trail:
        """The calculation trail and what can be made of it."""
        return Trail(lambda: self.record)

    @property
    def checks(self) -> pd.DataFrame:
        """Checks and findings, worst first, in SI display units; see `checks_in`."""
        return self.checks_in("si")

    def checks_in(self, units: str = "si") -> pd.DataFrame:
        """Checks and findings, worst first.

        Parameters
        ----------
        units : {"si", "us"}

        Returns
        -------
        pandas.DataFrame
            Columns `CHECKS`. ``provided`` and ``limit`` are in ``unit``; a finding has neither and says
            ``why``. ``margin`` is the fraction of the limit that is left, negative when it fails.
        """
        import pandas as pd

        from desalbook import frames

        frame = pd.DataFrame(self.judged(units), columns=list(CHECKS))
        for name in ("provided", "limit", "margin"):
            frame[name] = frame[name].astype(float)
        return frames.table(frame, shown=self.checks_in)

    def judged(self, units: str = "si") -> list[dict[str, Any]]:
        """The rows of `checks_in` as plain mappings; what does not apply is None."""
        rows = []
        for x in self.verdicts.values():
            m, kind = x.more, x.kind or KINDS["factor"]
            judged = x.kind is not None and "limit" in m
            rows.append({
                "id": x.id, "title": x.title,
                "provided": to_display(x.value, kind, units) if judged else None,
                "sense": m.get("sense", ""), "limit": to_display(m["limit"], kind, units) if judged else None,
                "unit": unit_label(kind, units) if judged else "", "margin": m.get("margin"),
                "verdict": m["verdict"], "do": in_units(m.get("do", ""), units), "corner": x.corner or "",
                "why": (in_units(m.get("why", ""), units) or (_judged(x, units) if judged else "")) + assumption(m),
                "caution": m.get("caution", ""), "assumed": m.get("assumed", []),
            })
        rows.sort(key=lambda r: (r["verdict"] != "fails" or r["margin"] is not None, RANK.get(r["verdict"], 0),
                                 r["margin"] or 0.0))
        return rows

    def figures(self, units: str = "si") -> pd.DataFrame:
        """Every number of the plant but the checks.

        Parameters
        ----------
        units : {"si", "us"}
            Display set of ``value`` and ``unit``.

        Returns
        -------
        pandas.DataFrame
            Indexed by id, columns `FIGURES`; a line along an axis has a row for each key, whose id ends in ``[key]``.
        """
        from desalbook import frames
        from desalbook.audit import table

        frame = table(self.record, units)
        keep = (frame["sort"] != "checked") & frame["value_si"].notna()
        return frames.table(frame.loc[keep, list(FIGURES)].set_index("id"), shown=self.figures)


def _judged(x: Any, units: str) -> str:
    sense = "at most" if x.more["sense"] == "<=" else "at least"
    value, limit, unit = pair(x.value, x.more["limit"], x.kind, units, 9 if x.more["verdict"] == "fails" else 4)
    after = f" {unit}" if unit else ""
    return f"{value}{after}, {sense} {limit}{after}"
