"""Goals that are no line of the sized plant: the ground it takes, and the risk of missing what is guaranteed.

Each is found for the sized plant when a study asks for it, in a book of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from desalbook.design import from_text
from desalbook.plant import Sized, size
from desalbook.plant.fabrication import fabricate
from desalbook.study.product_water import guaranteed
from desalbook.study.uncertainty import uncertainty

__all__ = ["GOAL_FIGURES", "POINTS", "SEED", "GoalFigure"]

POINTS, SEED = 256, 1
"""Cases of the risk of each plant, and the seed they are drawn with: the same waters for every plant compared."""


@dataclass(frozen=True)
class GoalFigure:
    """A value of a sized plant that a study may follow although the walk does not make it.

    Parameters
    ----------
    title, kind : str
    value : callable
        Of the sized plant and the text of the design that is studied, SI.
    """

    title: str
    kind: str
    value: Callable[[Sized, str], float]


def _footprint(sized: Sized, text: str) -> float:
    book = sized.ledger.branch()
    fabricate(sized, book)
    return float(book["arrangement.footprint"])


@lru_cache(maxsize=4)
def _promised(text: str) -> tuple[tuple[str, str, float], ...]:
    """What the studied design guarantees: every plant of the study is judged by the same promise."""
    return tuple((name, *one) for name, one in guaranteed(size(from_text(text), recording=False)).items())


def _risk(sized: Sized, text: str) -> float:
    promised = {name: (sense, limit) for name, sense, limit in _promised(text)}
    return uncertainty(sized, None, promised, count=POINTS, seed=SEED, shares=False).any_missed


GOAL_FIGURES = {
    "arrangement.footprint": GoalFigure("Footprint of the arrangement", "area", _footprint),
    "guarantee.risk": GoalFigure("Probability of missing a guarantee", "fraction", _risk),
}
"""By the id a study follows them under. The risk is that of missing boron or TDS of the product as the design that is
studied guarantees them, or of having no answer at all, under the spreads the design states."""
