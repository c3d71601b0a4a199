"""Inputs of a room: what the design gives, by key, with the type a room needs.

A room is handed one object, by convention ``inp``. It answers by the key of the design file, which is also the id
of the line: ``inp.number("filters.rate_limit")``. A key that is optional and blank is None and is asked for with
`optional`; to ask for a number that is blank is a defect of ours and is refused by name.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from desalbook.problems import TrailError
from desalbook.trail.figure import Choice, Column, Figure

__all__ = ["Inputs"]


class Inputs:
    """Inputs of a calculation, by the keys of the design file.

    Parameters
    ----------
    value : callable
        Figure, Column or Choice at a key; None where the key is blank.
    names : callable, optional
        Names of the entries of a list, by its key.
    """

    __slots__ = ("_names", "_settled", "_value")

    def __init__(self, value: Callable[[str], Any], names: Callable[[str], Sequence[str]] | None = None):
        self._value, self._names = value, names
        self._settled: dict[str, Figure] = {}

    def __call__(self, id: str) -> Any:
        """Whatever stands at a key; None where it is blank."""
        return self._settled[id] if id in self._settled else self._value(id)

    def settle(self, id: str, found: Figure) -> None:
        """Answer a key that is blank with what was selected in its place, for every room that asks from here on."""
        self._settled[id] = found

    def number(self, id: str) -> Figure:
        """The number at a key that is never blank."""
        found = self.optional(id)
        if found is None:
            raise TrailError("a number is needed and the key is blank", where=id)
        return found

    def optional(self, id: str) -> Figure | None:
        """The number at a key; None where it is blank."""
        found = self(id)
        if isinstance(found, (str, Column)):
            raise self._wrong(id, "a number", found)
        return found

    def choice(self, id: str) -> Choice:
        """The option selected at a key that is never blank."""
        found = self.selected(id)
        if found is None:
            raise TrailError("a choice is needed and the key is blank", where=id)
        return found

    def selected(self, id: str) -> Choice | None:
        """The option, or the text, at a key; None where it is blank."""
        found = self(id)
        if found is not None and not isinstance(found, str):
            raise self._wrong(id, "a choice", found)
        return found  # type: ignore[return-value]  # a reader of designs gives Choices only

    def column(self, id: str) -> Column:
        """The row of named numbers at a key that is never blank."""
        found = self(id)
        if found is None:
            raise TrailError("a row of numbers is needed and the key is blank", where=id)
        if isinstance(found, (str, float)):
            raise self._wrong(id, "a row of numbers", found)
        return found

    def names(self, id: str) -> tuple[str, ...]:
        """Names of the entries of a list, in their order; none where the list is blank."""
        if self._names is None:
            raise TrailError("these inputs hold no lists", where=id)
        return tuple(self._names(id))

    def _wrong(self, id: str, wanted: str, found: Any) -> TrailError:
        return TrailError(f"{wanted} is asked for, and the key holds {type(found).__name__}", where=id)
