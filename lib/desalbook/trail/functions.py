"""The functions an engineering relation may use; the same on one number and on arrays.

The functions over an axis (`total`, `dot`, `largest`, `smallest`, `last`) work on the *last* axis, so
that many cases may stand in the axes before it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

__all__ = ["AXIS", "ELEMENTWISE", "Lookup", "dot", "exp", "largest", "last", "log", "log10", "lookup",
           "maximum", "minimum", "smallest", "sqrt", "total", "up", "where"]

exp: Any = np.exp
log: Any = np.log
log10: Any = np.log10
sqrt: Any = np.sqrt
minimum: Any = np.minimum
maximum: Any = np.maximum
where: Any = np.where


def up(x) -> Any:
    """Round up to a whole number, forgiving the last digits of floating-point division.

    A plain ceiling turns 30/0.1 into 301 when the operands come from unit conversions.
    """
    return np.ceil(x - 1e-9 * np.maximum(1.0, np.abs(x)))


def total(x) -> Any:
    """Sum along the axis."""
    return np.add.reduce(x, axis=-1)


def dot(a, b) -> Any:
    """Sum of products along the axis."""
    return np.add.reduce(np.multiply(a, b), axis=-1)


def largest(x) -> Any:
    """Largest value along the axis."""
    return np.maximum.reduce(x, axis=-1)


def smallest(x) -> Any:
    """Smallest value along the axis."""
    return np.minimum.reduce(x, axis=-1)


def last(x) -> Any:
    """Value at the end of the axis."""
    return np.asarray(x)[..., -1]


@dataclass(frozen=True)
class Lookup:
    """A published table of one variable, read with straight lines between its points.

    Parameters
    ----------
    name, title : str
    x, y : tuple of float
        Points in coherent SI, x rising.
    x_unit, y_unit : str
    source, place : str
    """

    name: str
    title: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    x_unit: str
    y_unit: str
    source: str
    place: str = ""


def lookup(table: Lookup, x) -> Any:
    """Value of the table at x; held at the end values outside it."""
    return np.interp(x, table.x, table.y)


ELEMENTWISE = {"exp": exp, "log": log, "log10": log10, "sqrt": sqrt, "minimum": minimum,
               "maximum": maximum, "where": where, "up": up}
AXIS = {"total": total, "dot": dot, "largest": largest, "smallest": smallest, "last": last}
