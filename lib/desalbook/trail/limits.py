"""Limits as lines: what the design gives, or else the row of the guidelines.

Each limit has one home, a row of ``data/guidelines.toml``, and one key, ``limits.<row>``, by which a design may state
its own. A room asks `limit` for it and never reads the table itself.
"""

from __future__ import annotations

from collections.abc import Sequence

from desalbook.guidelines import guideline, guideline_place, limit_key
from desalbook.trail.figure import Choice, Figure
from desalbook.trail.ledger import Line, apart, assumed, checked, current, in_case, is_given, note

__all__ = ["check_limit", "limit", "limit_source", "review_limit"]


def limit(key: str, *, id: str = "", title: str = "", symbol: str = "", kind: str = "") -> Figure:
    """The limit of a row of the guidelines: the design's own, else the table's, entered as assumed.

    Parameters
    ----------
    key : str
        Row of the guidelines, such as ``rating-used``.
    id : str, optional
        Id of the assumed line where it is not ``limits.<row>``.
    title, symbol, kind : str, optional
        Of the assumed line where they are not the row's.
    """
    own = limit_key(key)
    if is_given(own) or (not id and own in current()):
        return current()[own]
    row = guideline(key)
    if not id and in_case():  # one limit for all cases
        with apart(current()):
            return limit(key, title=title, symbol=symbol, kind=kind)
    return assumed(id or own, row.value, kind or row.kind, title=title or row.title, symbol=symbol, source=row.source,
                   place=guideline_place(key), table="guidelines", row=key)


def limit_source(key: str) -> str:
    """Key of the bibliography for a check against this limit; the design file where the design states it."""
    return "design-file" if is_given(limit_key(key)) else guideline(key).source


def check_limit(id: str, provided: Figure, key: str, *, do: str, title: str = "", caution: str = "",
                decided_by: Sequence[Figure | Choice] = (), sized_by: Sequence[Figure] = ()) -> Line:
    """Judge a value by a row of the guidelines, in the row's own sense.

    Parameters
    ----------
    id : str
        Of the verdict.
    provided : Figure
        Of the row's kind.
    key : str
        Row of the guidelines.
    do, caution, decided_by, sized_by
        See `desalbook.trail.checked`.
    title : str, optional
        The row's where it is not said.
    """
    row = guideline(key)
    return checked(id, provided, "<=" if row.sense == "≤" else ">=", limit(key), title=title or row.title, do=do,
                   caution=caution, source=limit_source(key), decided_by=decided_by,
                   sized_by=sized_by)


def review_limit(id: str, provided: Figure, key: str, *, do: str, title: str = "",
                 decided_by: Sequence[Figure | Choice] = ()) -> Line:
    """Hold a value against a row of the guidelines that asks for review and fails nothing.

    Parameters
    ----------
    id, provided, key, do, title, decided_by
        As for `check_limit`.
    """
    row, bound = guideline(key), limit(key)
    within = float(provided) <= float(bound) if row.sense == "≤" else float(provided) >= float(bound)
    bounded = "maximum" if row.sense == "≤" else "minimum"
    return note(id, title=title or row.title, verdict="passes" if within else "review", do="" if within else do,
                why=f"{provided.show()}, usual {bounded} {bound.show()}",
                inputs={"provided": provided, "limit": bound}, decided_by=decided_by)
