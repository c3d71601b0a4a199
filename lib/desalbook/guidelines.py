"""Guideline limits: what the checks judge by, each with its sense, its kind and its source.

The limits stand in ``data/guidelines.toml`` and are meant to be edited. Rows differ in kind, so their cells
are texts that are read here with the kind the row names.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from desalbook.problems import DesignError
from desalbook.tables import Row, table
from desalbook.units import KINDS, parse

__all__ = ["RESIDUALS", "SENSES", "Guideline", "ProductUse", "guideline", "guideline_keys", "guideline_place",
           "product_use", "usual_range"]

SENSES = ("≤", "≥")
RESIDUALS = ("wanted", "borne", "harmful")
table("product_uses").require("drunk", "residual", "minerals")


class Guideline(NamedTuple):
    """One limit.

    Parameters
    ----------
    value : float
        The limit in coherent SI.
    kind : str
        Its kind, a key of `desalbook.units.KINDS`.
    sense : str
        ``"≤"``: the judged value must be at most the limit; ``"≥"``: at least.
    source : str
        Key of the bibliography.
    title : str
        What is limited.
    """

    value: float
    kind: str
    sense: str
    source: str
    title: str


@cache
def guideline(key: str) -> Guideline:
    """The limit of that key.

    Raises
    ------
    DesignError
        Unknown key (the nearest known one is named), or a row that cannot be read.
    """
    row = table("guidelines").row(key, "guideline")
    kind, sense = row["kind"].value, row["sense"].value
    if kind not in KINDS:
        raise DesignError("no such kind of number", where=f"guidelines[{key}].kind", value=kind,
                          do="write a kind of the units room")
    if sense not in SENSES:
        raise DesignError("not a sense", where=f"guidelines[{key}].sense", value=sense,
                          allowed=" or ".join(SENSES))
    value = parse(row["limit"].value, kind, f"guidelines[{key}].limit")
    return Guideline(value, kind, sense, row.source, row.title)


@cache
def usual_range(key: str) -> tuple[float, float]:
    """Lowest and highest value usually met, in coherent SI.

    A wider, softer statement than the limit: outside it a figure deserves a second look.
    """
    row, kind = table("guidelines").row(key, "guideline"), guideline(key).kind
    low, high = (parse(row[name].value, kind, f"guidelines[{key}].{name}")
                 for name in ("usual_low", "usual_high"))
    if not low < high:
        raise DesignError("the usual range does not rise", where=f"guidelines[{key}]",
                          value=f"{row['usual_low'].text} to {row['usual_high'].text}",
                          do="put the low end first")
    return low, high


def guideline_place(key: str) -> str:
    """Where in the source the limit stands."""
    return table("guidelines").row(key, "guideline").place


def guideline_keys() -> tuple[str, ...]:
    """All keys, in the order of the table."""
    return tuple(table("guidelines"))


class ProductUse(NamedTuple):
    """What a use asks of the product beside its limits.

    Parameters
    ----------
    key, title : str
    drunk : bool
        Whether people drink it.
    residual : str
        One of `RESIDUALS`: whether a chlorine residual is wanted, borne or harmful.
    minerals : bool
        Whether it bears hardness.
    """

    key: str
    title: str
    drunk: bool
    residual: str
    minerals: bool


def product_use(key: str) -> ProductUse:
    """The use of that key, a row of the table ``product_uses``.

    Raises
    ------
    DesignError
        Unknown key, or a row that cannot be read.
    """
    row = table("product_uses").row(key, "duty.product_use")
    return ProductUse(row.key, row.title, _one_of(row, "drunk", ("yes", "no")) == "yes",
                      _one_of(row, "residual", RESIDUALS), _one_of(row, "minerals", ("yes", "no")) == "yes")


def _one_of(row: Row, column: str, allowed: tuple[str, ...]) -> str:
    if row[column].value not in allowed:
        raise DesignError("not one of the known words", where=f"{row.where}.{column}", value=row[column].value,
                          allowed=" or ".join(allowed))
    return row[column].value
