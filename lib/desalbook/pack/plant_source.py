"""What the documents read: the sized plant, its tables in coherent SI, and values by id in words."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any

from desalbook.controls.unit_sequences import SEQUENCES
from desalbook.pack.calculation import Printed, print_calculation
from desalbook.pack.document import Value
from desalbook.plant.sequences import units_of
from desalbook.tables import Row, table
from desalbook.trail import values
from desalbook.trail.inputs import Inputs

__all__ = ["Source"]


class Source:
    """A sized plant as the documents read it; nothing of it is sized here.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Of values within sentences; tables keep SI until they are printed.
    listed : sequence of (number, title)
        Documents of the pack this is read for.
    requirements : path, optional
        A client's list.
    paper : {"a4", "letter"}, optional
        Of the printed calculation.
    paged : bool
        The calculation is printed with the pack, so that its pages can be named.
    """

    def __init__(self, plant: Any, units: str = "si", listed: Sequence[tuple[str, str]] = (),
                 requirements: str | os.PathLike | None = None, paper: str | None = None, paged: bool = False):
        self.plant, self.units, self.listed_documents = plant, units, tuple(listed)
        self.paper, self.paged = paper, paged
        self.requirements = requirements
        self.sized = plant.sized
        self.inp = Inputs(lambda id: plant[id] if id in plant.ids else None)

    @cached_property
    def ids(self) -> frozenset[str]:
        """Ids of the plant."""
        return frozenset(self.plant.ids)

    @cached_property
    def equipment(self) -> list[dict[str, Any]]:
        """Rows of the schedule that are neither instruments nor valves."""
        return [r for r in self.sized.equipment if not r["key"].startswith(("instrument[", "valve["))]

    @cached_property
    def by_key(self) -> dict[str, dict[str, Any]]:
        """Those rows by key."""
        return {r["key"]: r for r in self.equipment}

    @cached_property
    def instruments(self) -> list[Mapping[str, Any]]:
        """Rows of the list of instruments."""
        return list(self.sized.control.rows())

    @cached_property
    def valves(self) -> list[dict[str, Any]]:
        """Rows of the list of valves."""
        return list(self.sized.valves)

    @cached_property
    def lines(self) -> list[dict[str, Any]]:
        """Rows of the line list."""
        return list(self.sized.lines)

    @cached_property
    def sections(self) -> dict[str, dict[str, Any]]:
        """Rows of the design pressures by section."""
        return {r["key"]: r for r in self.sized.design_pressures}

    @cached_property
    def chemicals(self) -> list[dict[str, Any]]:
        """Rows of the schedule of chemicals."""
        return list(self.sized.chemicals)

    @cached_property
    def calculation(self) -> Printed:
        """The printed calculation."""
        return print_calculation(self.plant, self.units, self.paper)

    @cached_property
    def sequences(self) -> dict[str, str]:
        """Sequences beside those of a train that the plant has: title by key."""
        return {name: SEQUENCES[name] for name in units_of(self.sized).sequences}

    @property
    def trains(self) -> int:
        """Number of trains."""
        return int(float(self.sized.duty.trains))

    def tag(self, key: str) -> str:
        """Tag of a row of the schedule; empty where the plant has none."""
        return self.by_key[key]["tag"] if key in self.by_key else ""

    @staticmethod
    def listed(row: Mapping[str, Any]) -> Row | None:
        """Row of the table of equipment that a row of the schedule is of."""
        known, key = table("equipment"), str(row["key"]).partition("[")[0]
        found = key if key in known else next((k for k in known if key.startswith(f"{k}_")), None)
        return None if found is None else known.row(found, "pack")

    def has(self, key: str) -> bool:
        """Whether the schedule has a row of that key, or of that key with a name in brackets."""
        return key in self.by_key or any(k.startswith(f"{key}[") for k in self.by_key)

    def number(self, id: str) -> float | None:
        """Value of an id, SI; None where the plant has none."""
        return float(self.plant[id]) if id in self.ids else None

    def value(self, id: str, digits: int | None = None) -> Value | None:
        """Value of an id with its kind."""
        if id not in self.ids:
            return None
        found = self.plant[id]
        return Value(float(found), found.kind.name, digits)

    def show(self, id: str, digits: int | None = None) -> str:
        """Value of an id in a sentence; empty where the plant has none."""
        found = self.value(id, digits)
        return "" if found is None else found.text(self.units)

    def text(self, value: float, kind: str, digits: int | None = None) -> str:
        """A number in a sentence."""
        return Value(float(value), kind, digits).text(self.units)

    def reach(self, low: float, high: float, kind: str, digits: int | None = None) -> str:
        """A range in a sentence, its unit once: ``0 to 100 m³/h``."""
        begin, end = (self.text(x, kind, digits) for x in (low, high))
        return f"{begin.partition(' ')[0]} to {end}"

    def choice(self, id: str) -> str:
        """Key that a choice of the design takes."""
        return str(self.inp.choice(id))

    def option(self, id: str) -> str:
        """Words of what a choice of the design takes."""
        return str(self.plant.design.meta(id).options[self.choice(id)])

    def duration(self, id: str) -> str:
        """A time in whole units of the trade: ``72 h``, ``60 days``, ``20 weeks``, ``18 months``, ``2 years``."""
        time = self.inp.number(id)
        return self.show(id) if time.kind.name == "time" else self.span(float(time))

    def span(self, time: float, near: float = 1e-6) -> str:
        """A time, s, in the largest of those units that it is whole in, as near as that."""
        for unit, of in (("year", 31557600.0), ("month", 31557600.0 / 12), ("week", 604800.0), ("day", 86400.0)):
            n = time / of
            if round(n) >= 1 and abs(n - round(n)) < near:
                return plural(round(n), unit)
        return self.text(time, "time")

    def words(self, id: str) -> str:
        """A text of the design; empty where none is written."""
        return str(self.inp(id) or "")

    def at(self, relation: Any, kind: str, **inputs: Any) -> Value:
        """A relation evaluated for a document, SI in and out; it makes no line of the record."""
        with values(keep=False):
            return Value(float(relation.at("pack.value", **inputs)), kind)


def plural(count: float, one: str, many: str = "") -> str:
    """``1 train``, ``2 trains``."""
    n = int(count)
    return f"{n} {one if n == 1 else many or re.sub('(?<![aeiou])y$', 'ie', one) + 's'}"
