"""Guideline limits: what the checks judge by, each with its sense, its kind and its source.

The limits stand in ``data/guidelines.toml`` and are meant to be edited. Rows differ in kind, so their cells
are texts that are read here with the kind the row names.
"""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple

from pydantic import create_model

from desalbook.problems import DesignError
from desalbook.tables import Row, table
from desalbook.units import KINDS, Section, field, parse

__all__ = ["RESIDUALS", "SENSES", "Changed", "Guideline", "Limits", "ProductUse", "changed_limits", "guideline",
           "guideline_keys", "guideline_place", "limit_key", "product_use", "usual_range"]

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
                          do="enter a kind of the units room")
    if sense not in SENSES:
        raise DesignError("not a sense", where=f"guidelines[{key}].sense", value=sense,
                          allowed=" or ".join(SENSES))
    value = parse(row["limit"].value, kind, f"guidelines[{key}].limit")
    return Guideline(value, kind, sense, row.source, row.title)


@cache
def usual_range(key: str) -> tuple[float, float]:
    """Minimum and maximum value usually met, in coherent SI.

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


def limit_key(key: str) -> str:
    """The key of the design, and the id of the line, by which a row stands: ``limits.rating_used``."""
    return f"limits.{key.replace('-', '_')}"


def _usual(row: Row) -> tuple[str, str] | None:
    """The usual range of a row as its author wrote it."""
    return (row["usual_low"].text, row["usual_high"].text) if "usual_low" in row and "usual_high" in row else None


def _field(row: Row) -> tuple[Any, Any]:
    sense = "At most" if row["sense"].value == SENSES[0] else "At least"
    return float | None, field(row["kind"].value, None, title=row.title, usual=_usual(row), source=row.source,
                               hint=f"{sense} {row['limit'].text} when blank")


_FIELDS: dict[str, Any] = {key.replace("-", "_"): _field(row) for key, row in table("guidelines").rows.items()}
Limits: type[Section] = create_model("Limits", __base__=Section, __module__=__name__, **_FIELDS)
"""Section ``[limits]`` of a design: any row of the guidelines with a value of its own, blank where the table holds."""


class Changed(NamedTuple):
    """A limit the design states for itself: its key, what is limited, and both values in coherent SI."""

    key: str
    title: str
    kind: str
    sense: str
    value: float
    table: float


def changed_limits(limits: Section) -> list[Changed]:
    """Limits of a design that differ from the guidelines, in the order of the table.

    Parameters
    ----------
    limits : Section
        Section ``limits`` of the design.
    """
    found = []
    for key in guideline_keys():
        own, row = limits[key.replace("-", "_")], guideline(key)
        if own is not None and own != row.value:
            found.append(Changed(limit_key(key), row.title, row.kind, row.sense, own, row.value))
    return found


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
