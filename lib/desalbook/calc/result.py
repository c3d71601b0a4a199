"""What a stand-alone calculation gives back."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from desalbook.calculated import Calculated
from desalbook.trail import record as _record
from desalbook.trail.ledger import Ledger, Line, Values

if TYPE_CHECKING:
    import os

__all__ = ["Result"]


class _Of(Protocol):
    name: str
    title: str
    shows: tuple[str, ...]
    water_checks: str


class _Again(Protocol):
    def __call__(self, book: Ledger | Values) -> None: ...


class Result(Calculated):
    """Values by id, checks and trail of one calculation; ``result["filters.rate"]`` is a value with its unit.

    Parameters
    ----------
    of : Calculation
    design : Design
        What it was calculated from, defaults and all.
    book : Values
    again : callable
        Calculates once more into the book it is given.
    given : mapping
        What a person gave, as text by id.
    """

    _noun = "calculation"

    def __init__(self, of: _Of, design: Any, book: Values, again: _Again, given: Mapping[str, Any]):
        super().__init__(book)
        self._of, self._design, self._again, self.given = of, design, again, dict(given)

    def __repr__(self) -> str:
        said = "; ".join(f"{self[i].title or i} {self.show(i)}" for i in self.shows[:6])
        failing = sum(x.more["verdict"] == "fails" for x in self.verdicts.values())
        return f"<{self._of.title}: {said}" + (f"; {failing} of {len(self.verdicts)} checks fail>" if failing else ">")

    @property
    def name(self) -> str:
        """Name of the calculation, as ``filters``."""
        return self._of.name

    @property
    def title(self) -> str:
        """Title of the calculation."""
        return self._of.title

    @property
    def design(self) -> Any:
        """The design it was calculated from, defaults and all."""
        return self._design

    @property
    def verdicts(self) -> dict[str, Line]:
        """Checks and findings by id; those of the water where they are of this calculation."""
        found = super().verdicts
        analysed = bool(self.given.keys() & {"water.ions", "water.analyses"})
        if {"given": analysed, "always": True, "never": False}[self._of.water_checks]:
            return found
        return {id: x for id, x in found.items() if not id.startswith("water.")}

    @property
    def cautions(self) -> dict[str, list[str]]:
        """Sentences on values out of their usual range and relations out of theirs, by id."""
        found = super().cautions
        if self._of.water_checks != "never":
            return found
        return {id: said for id, said in found.items() if not id.startswith("water.")}  # its ranges are of raw water

    @property
    def project(self) -> dict[str, str]:
        """Head of the sheet."""
        return {"name": self.title}

    @property
    def shows(self) -> tuple[str, ...]:
        """Ids of the values that head the result."""
        return tuple(i for i in self._of.shows if i in self)

    def _recorded(self) -> Ledger:
        made = Ledger()
        self._again(made)
        return made

    @cached_property
    def record(self) -> dict[str, Any]:
        """The record: plain data, the same for the same arguments."""
        return _record.to_record(self.ledger, self.design.text, project=self.project)

    def workbook(self, path: str | os.PathLike, units: str = "si") -> Path:
        """A spreadsheet with live formulas; see `Trail.workbook`."""
        return self.trail.workbook(path, units)

    def page(self, path: str | os.PathLike, units: str = "si") -> Path:
        """The printed calculation, one HTML file; see `Trail.page`."""
        return self.trail.page(path, units)

    def _repr_html_(self) -> str:
        from desalbook.display import calculation_html

        return calculation_html(self)
