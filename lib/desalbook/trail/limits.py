"""Limits as lines: what the design gives, or else the row of the guidelines.

Each limit has one home, a row of ``data/guidelines.toml``, and one key, ``limits.<row>``, by which a design may state
its own. A room asks `limit` for it and never reads the table itself.
"""

from __future__ import annotations

from desalbook.guidelines import guideline, guideline_place, limit_key
from desalbook.trail.figure import Figure
from desalbook.trail.ledger import assumed, current, is_given

__all__ = ["limit", "limit_source"]


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
    if is_given(own):
        return current()[own]
    row = guideline(key)
    return assumed(id or own, row.value, kind or row.kind, title=title or row.title, symbol=symbol, source=row.source,
                   place=guideline_place(key), table="guidelines", row=key)


def limit_source(key: str) -> str:
    """Key of the bibliography for a check against this limit; the design file where the design states it."""
    return "design-file" if is_given(limit_key(key)) else guideline(key).source
