"""Check points: numbers from outside that a relation must reproduce, each with its source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from desalbook.sources import source

__all__ = ["SOFT", "STATUS", "Point"]

STATUS = ("printed", "computed with a reference library", "hand arithmetic", "common practice", "from memory")
SOFT = ("definition", "common practice", "from memory", "design file")
"""Kinds of source that print no result."""


@dataclass(frozen=True)
class Point:
    """One check point of one relation.

    Parameters
    ----------
    relation : str
        Key in the register, ``"room.module:function"``.
    inputs : mapping
        Arguments in coherent SI; a sequence for an argument along an axis.
    expect : float or sequence
        Result in coherent SI.
    rel : float
        Relative tolerance: the printed precision, or the rounding of hand arithmetic.
    source, place : str
        Key in the bibliography and where in it.
    status : str
        One of `STATUS`.
    """

    relation: str
    inputs: Mapping[str, Any]
    expect: Any
    rel: float
    source: str
    place: str = ""
    status: str = "printed"

    @property
    def published(self) -> bool:
        """Whether the result is printed in a source from outside: a definition prints none."""
        return self.status == "printed" and source(self.source).kind not in SOFT
