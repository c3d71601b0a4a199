"""The product against the limits of its use: which figure each use judges, by what guideline or contract."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

from desalbook.guidelines import guideline, product_use
from desalbook.problems import DesignError
from desalbook.tables import table
from desalbook.trail import Choice, Figure, checked, note, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit as guideline_limit

__all__ = ["FIGURES", "Limit", "Limits", "judge", "limits_of", "prove"]

FIGURES = ("boron", "tds", "conductivity", "chloride", "sodium", "sulfate", "bromide", "fluoride", "nitrate", "bromate",
           "chlorate", "alkalinity", "calcium", "hardness", "ccpp", "ph", "lsi", "sar", "chlorine")
"""Figures of a product that a limit may judge."""
SELDOM = ("fluoride", "nitrate")
"""Ions that are judged where the raw water's analysis holds them; without it the product has no figure of them."""
# Figures that have a lower and an upper limit of their own in the section ``specification``.
PAIRED = ("ph", "alkalinity", "calcium", "ccpp", "lsi", "chlorine")

CAUTION = (
    "Water outside its limits can harm those who drink it. The local authority judges samples of the running plant, "
    "not a calculation."
)


class Limit(NamedTuple):
    """One limit of a use: the figure it judges, its guideline, the remedy."""

    figure: str
    guideline: str
    do: str

    @property
    def key(self) -> str:
        """Key of the section ``specification`` that replaces it."""
        if self.figure not in PAIRED:
            return self.figure
        return f"{self.figure}_{'high' if guideline(self.guideline).sense == '≤' else 'low'}"


@cache
def limits_of(use: str) -> tuple[Limit, ...]:
    """Limits of one use, in the order of the table.

    Parameters
    ----------
    use : str
        A row of the table ``product_uses``.
    """
    product_use(use)
    rows = table("product_limits").rows.values()
    return tuple(
        Limit(r["figure"].value, r["guideline"].value, r["do"].value) for r in rows if r["use"].value == use
    )


def prove() -> None:
    """Refuse a use without limits, and a limit of a use, a figure or a guideline that is not there.

    Raises
    ------
    DesignError
        Names the row and what it lacks.
    """
    limits, uses = table("product_limits"), table("product_uses")
    limits.require("use", "figure", "guideline", "do")
    for row in limits.rows.values():
        for column, known in (("use", uses.rows), ("figure", FIGURES), ("guideline", table("guidelines").rows)):
            if row[column].value not in known:
                raise DesignError(f"no such {column}", where=f"{row.where}.{column}", value=row[column].value,
                                  do=f"enter one of {', '.join(list(known)[:20])}")
    judged = {row["use"].value for row in limits.rows.values()}
    for key in uses:
        if key not in judged:
            raise DesignError("no limit judges this use", where=f"product_uses[{key}]",
                              do="add a row to product_limits")


prove()


class Limits:
    """Limits of one product: its use's, the contract's in their place where the design has them; each made once.

    Parameters
    ----------
    use : Choice
        ``duty.product_use``.
    inp : Inputs, optional
        The design; limits of its section ``specification`` take the place of the guidelines'.
    """

    def __init__(self, use: Choice, inp: Inputs | None = None):
        self.use = use
        self._inp = inp
        self._made: dict[str, Figure] = {}

    def line(self, limit: Limit) -> Figure:
        """The line of one limit: the contract's where the design has it, else the guideline's."""
        stated = self._inp.optional(f"specification.{limit.key}") if self._inp is not None else None
        if stated is not None:
            return stated
        if limit.guideline not in self._made:
            self._made[limit.guideline] = guideline_limit(limit.guideline)
        return self._made[limit.guideline]


def judge(limits: Limits, figures: Mapping[str, Figure | None], whole: bool = True) -> None:
    """Check the governing figures of the product.

    Parameters
    ----------
    limits : Limits
    figures : mapping
        By name (`FIGURES`): ``boron`` (as B), ``conductivity`` (S/m), ``tds``, ``chloride``, ``sodium``, ``sulfate``,
        ``bromide``, ``fluoride``, ``nitrate``, ``bromate``, ``chlorate`` (concentration), ``alkalinity``,
        ``calcium``, ``hardness``, ``ccpp`` (as CaCO3), ``ph``, ``lsi``, ``sar``, ``chlorine`` (as Cl2). The hottest,
        aged case governs most of them. A figure that is None, or not there, is a finding; one of `SELDOM` is said.
    whole : bool
        Whether all of a product is known; of a part of it, what is not known is for a person to judge.
    """
    use = limits.use
    caution = CAUTION if product_use(use).drunk else ""
    with scope(because=[use]):
        missing, unknown = [], []
        for limit in limits_of(use):
            figure = figures.get(limit.figure)
            if figure is None:
                (unknown if limit.figure in SELDOM else missing).append(limit.figure)
                continue
            rule = guideline(limit.guideline)
            checked(f"product.{limit.figure}.check_{limit.guideline.replace('-', '_')}", figure,
                    "<=" if rule.sense == "≤" else ">=", limits.line(limit),
                    title=f"{rule.title}, {'max' if rule.sense == '≤' else 'min'}", do=limit.do,
                    caution=caution, source=rule.source)
        said = ", ".join(dict.fromkeys(missing))
        note(
            "product.judged",
            title="Limits of the use",
            verdict=("fails" if whole else "review") if missing else "passes",
            why=f"not judged, as this product has none: {said}"
            if missing
            else "each limit of this use is judged" + (f"; not analysed: {', '.join(unknown)}" if unknown else ""),
            do="see the checks of alkalinity and chlorine, or judge these by hand",
            inputs={"use": use, **{k: v for k, v in figures.items() if v is not None}},
        )
