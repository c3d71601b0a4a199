"""The kit's errors: one plain line each, with a code, a place and a remedy.

A failed check is a result, never one of these. Each class carries the exit code of the command line.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable

__all__ = ["Conflict", "DesignError", "EngineError", "Infeasible", "Problem", "TrailError", "explained"]


EXPLAINERS: list[Callable[[str], str]] = []
"""What can say of a key nobody knows what to do instead; filled by the rooms above that know more."""


def explained(key: str) -> str:
    """What to do instead of writing a key that is none; empty where nobody knows."""
    return next((said for explain in EXPLAINERS if (said := explain(key))), "")


class Problem(Exception):
    """Base of all errors a person may meet.

    Parameters
    ----------
    what : str
        What is wrong, in a few plain words.
    where : str
        Field or id, for example ``duty.train_product_flow``.
    value, unit : object, str
        What was found there.
    allowed : str
        What would have been accepted.
    do : str
        What to do about it.

    Attributes
    ----------
    place : str
        File and line where it stands, for example ``harbour.toml, line 92``; empty for what is in no file.
    """

    code = "problem"
    exit_code = 1

    def __init__(self, what: str, *, where: str = "", value: object = None, unit: str = "",
                 allowed: str = "", do: str = ""):
        self.what, self.where, self.value, self.unit = what, where, value, unit
        self.allowed, self.do = allowed, do
        self.place = ""
        super().__init__(str(self))

    def __str__(self) -> str:
        found = "" if self.value is None else f" = {_short(self.value)}" + (f" {self.unit}" if self.unit else "")
        where = _plain(self.where, 100)
        line = f"{where}{found}: {self.what}" if where else f"{self.what}{found}"
        if self.allowed:
            line += f"; allowed {self.allowed}"
        if self.do:
            line += f". {self.do[0].upper()}{self.do[1:]}"
        if self.place:
            line = f"{_plain(self.place, 100)}: {line}"
        return " ".join(line.split()).rstrip(".") + "."

    def __reduce__(self):  # keeps every field when a study runs cases in other processes
        return (_rebuild, (type(self), self.what, self.where, self.value, self.unit, self.allowed, self.do, self.place))


def _rebuild(cls, what, where, value, unit, allowed, do, place):
    made = cls(what, where=where, value=value, unit=unit, allowed=allowed, do=do)
    made.place = place
    return made


def _short(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()  # as the file has it
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    text = _plain(value if isinstance(value, str) else repr(value), 60)
    return f'"{text}"' if isinstance(value, str) or len(text) > 60 else text


def _plain(text: str, most: int) -> str:
    """Printable, and cut where it is long."""
    text = "".join(c if c.isprintable() or c in "\u00a0\u2009\u202f" else "\N{REPLACEMENT CHARACTER}" for c in text)
    return f"{text[:most]}…" if len(text) > most else text


class DesignError(Problem, ValueError):
    """The design file, or an argument, says something that cannot be read or cannot be true."""

    code, exit_code = "design", 2


class Conflict(Problem):
    """The file on disk changed since it was read; both texts are kept."""

    code, exit_code = "conflict", 3


class Infeasible(Problem):
    """Physics or the catalogue has no answer; names the constraint that stands in the way."""

    code, exit_code = "infeasible", 4


class EngineError(Problem):
    """The geochemical engine or a property library refused, or its data lack something."""

    code, exit_code = "engine", 5


class TrailError(Problem):
    """A defect of ours: a calculation that would have left no proper trail."""

    code, exit_code = "trail", 70
