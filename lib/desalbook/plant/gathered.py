"""Figures of several items put in one row, so that they can be summed along an axis."""

from __future__ import annotations

from collections.abc import Mapping

from desalbook.trail import Column, Figure, picked

__all__ = ["gathered"]


def gathered(id: str, figures: Mapping[str, Figure], *, title: str, symbol: str, axis: str) -> Column:
    """The figures as one line along an axis, in their order; all of one kind.

    Parameters
    ----------
    figures : mapping
        By key of the axis; at least one.
    """
    kind = next(iter(figures.values())).kind
    return picked(id, [float(x) for x in figures.values()], kind, title=title, symbol=symbol,
                  rule=f"the {axis}s in order", candidates=[{"key": k, "value": float(x), "won": True}
                                                            for k, x in figures.items()],
                  inputs={f"item_{n}": x for n, x in enumerate(figures.values())}, axis=axis, keys=tuple(figures))
