"""Numbers that remember where they came from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from desalbook.units.display import show
from desalbook.units.kinds import Kind
from desalbook.units.quantities import from_si, quantity

__all__ = ["Choice", "Column", "Figure", "figure_of", "ref"]


class Figure(float):
    """One number in coherent SI, with the trail line that made it.

    Ordinary arithmetic on a Figure gives a plain float: it has left the trail, and no relation will
    take it back while recording.
    """

    __slots__ = ("id", "key", "kind", "symbol", "title")

    def __new__(cls, value: float, *, id: str, kind: Kind, symbol: str = "", title: str = "",
                key: str | None = None):
        self = super().__new__(cls, value)
        self.id, self.kind, self.symbol, self.title, self.key = id, kind, symbol, title, key
        return self

    @property
    def value(self) -> float:
        """The bare number."""
        return float(self)

    def __repr__(self) -> str:
        where = self.id if self.key is None else f"{self.id}[{self.key}]"
        return f"<{where} = {float(self):.6g} {self.kind.si}>"

    def __reduce__(self):
        return (figure_of, (float(self), self.id, self.kind, self.symbol, self.title, self.key))

    def show(self, units: str = "si") -> str:
        """The number as people read it, with its unit."""
        return show(float(self), self.kind, units)

    @property
    def quantity(self) -> Any:
        """A pint Quantity in the unit in which the kind is shown."""
        return quantity(float(self), self.kind)

    def to(self, unit: str) -> float:
        """The number in a unit, such as ``"psi"``; DesignError where it is no unit of this kind."""
        return float(from_si(float(self), self.kind, unit))

    def _repr_html_(self) -> str:
        return f"<p>{self.title or self.id}: <b>{self.show()}</b></p>"


_new = float.__new__


def figure_of(value: float, id: str, kind: Kind, symbol: str, title: str, key: str | None = None) -> Figure:
    """A Figure by the order of its parts: of thousands made for a plant, at half the cost."""
    self = _new(Figure, value)
    self.id, self.kind, self.symbol, self.title, self.key = id, kind, symbol, title, key
    return self


class Choice(str):
    """A choice among named options, with the trail line that holds it."""

    id: str
    title: str

    def __new__(cls, value: str, *, id: str, title: str = ""):
        self = super().__new__(cls, value)
        self.id, self.title = id, title
        return self

    def __reduce__(self):
        return (_choice, (str(self), self.id, self.title))


def _choice(value, id, title):
    return Choice(value, id=id, title=title)


_FLOAT = np.dtype(float)


class Column:
    """A read-only row of numbers along one named axis: ion, layer, consumer, node.

    Parameters
    ----------
    values : array of shape (n,)
    axis : str
    keys : tuple of str, length n
    """

    __slots__ = ("axis", "id", "keys", "kind", "symbol", "title", "values")

    def __init__(self, values, *, id: str, kind: Kind, axis: str, keys: tuple[str, ...], symbol: str = "",
                 title: str = ""):
        if type(values) is np.ndarray and values.dtype is _FLOAT and values.base is None and not values.flags.writeable:
            array = values  # of a line, which nobody changes
        else:
            array = np.array(values, dtype=float)
            array.setflags(write=False)
        if array.shape != (len(keys),):
            raise ValueError(f"{id}: {array.shape} values for {len(keys)} keys")
        self.values, self.id, self.kind, self.axis, self.keys = array, id, kind, axis, tuple(keys)
        self.symbol, self.title = symbol, title

    def __getitem__(self, key: str) -> Figure:
        return figure_of(self.values.item(self.keys.index(key)), self.id, self.kind, self.symbol,
                         f"{self.title}, {key}", key)

    def __contains__(self, key: str) -> bool:
        return key in self.keys

    def __len__(self) -> int:
        return len(self.keys)

    def __iter__(self) -> Iterator[Figure]:
        return (self[k] for k in self.keys)

    def items(self) -> Iterator[tuple[str, Figure]]:
        """Pairs of key and Figure."""
        return ((k, figure_of(x, self.id, self.kind, self.symbol, f"{self.title}, {k}", k))
                for k, x in zip(self.keys, self.values.tolist(), strict=True))

    def __repr__(self) -> str:
        return f"<{self.id}: {len(self.keys)} along {self.axis}, {self.kind.si}>"


def ref(x: Figure | Column | Choice) -> str | list[str]:
    """How a line names one of its inputs: an id, or an id and a key within it."""
    key = getattr(x, "key", None)
    return x.id if key is None else [x.id, key]
