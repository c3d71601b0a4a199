"""The product against the limits of its use."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any, NamedTuple

from desalbook.guidelines import guideline, guideline_place
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, checked, current, note, scope

__all__ = ["Limit", "judge", "limit_line", "limits_of"]

Inp = Callable[[str], Any]
# Figures that have a lower and an upper limit of their own in the section ``specification``.
PAIRED = ("ph", "alkalinity", "calcium", "ccpp", "lsi", "chlorine")

CAUTION = (
    "Drinking water is judged by the local authority on samples of the running plant, not by a calculation."
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
        ``"drinking"``, ``"process"``, ``"irrigation"``, ``"concrete"`` or ``"boiler"``.
    """
    rows = table("product_limits").rows.values()
    return tuple(
        Limit(r["figure"].value, r["guideline"].value, r["do"].value) for r in rows if r["use"].value == use
    )


def limit_line(inp: Inp | None, limit: Limit) -> Figure:
    """The line of one limit: the contract's where the design has it, else the guideline's."""
    said = inp(f"specification.{limit.key}") if inp is not None else None
    if said is not None:
        return said
    rule, id = guideline(limit.guideline), f"limits.{limit.guideline.replace('-', '_')}"
    if id in current():
        return current()[id]
    return assumed(id, rule.value, rule.kind, title=rule.title, source=rule.source, text="",
                   place=guideline_place(limit.guideline), table="guidelines", row=limit.guideline)


def judge(use: Choice, figures: Mapping[str, Figure | None], inp: Inp | None = None) -> None:
    """Check the governing figures of the product.

    Parameters
    ----------
    use : Choice
        ``duty.product_use``.
    figures : mapping
        By name: ``boron`` (as B), ``tds``, ``chloride``, ``sodium``, ``sulfate``, ``bromide``, ``bromate``,
        ``chlorate`` (concentration), ``alkalinity``, ``calcium``, ``hardness``, ``ccpp`` (as CaCO3), ``ph``,
        ``lsi``, ``sar``, ``chlorine`` (as Cl2). The hottest, aged corner governs most of them. A figure that
        is None, or not there, is a finding.
    inp : callable, optional
        The design; limits of its section ``specification`` take the place of the guidelines'.
    """
    caution = CAUTION if use == "drinking" else ""
    with scope(because=[use]):
        missing = []
        for limit in limits_of(use):
            figure = figures.get(limit.figure)
            if figure is None:
                missing.append(limit.figure)
                continue
            rule = guideline(limit.guideline)
            checked(f"product.{limit.figure}.check_{limit.guideline.replace('-', '_')}", figure,
                    "<=" if rule.sense == "≤" else ">=", limit_line(inp, limit), title=rule.title, do=limit.do,
                    caution=caution, source=rule.source)
        said = ", ".join(dict.fromkeys(missing))
        note(
            "product.judged",
            title="Limits of the use",
            verdict="fails" if missing else "holds",
            why=f"not judged, as this product has none: {said}"
            if missing
            else "each limit of this use is judged",
            do="see the checks of alkalinity and chlorine, or judge these by hand",
            inputs={"use": use, **{k: v for k, v in figures.items() if v is not None}},
        )
