"""The product against the limits of its use."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

from desalbook.guidelines import guideline, guideline_place
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, checked, current, note, scope

__all__ = ["Limit", "judge", "limits_of"]

CAUTION = (
    "Drinking water is judged by the local authority on samples of the running plant, not by a calculation."
)


class Limit(NamedTuple):
    """One limit of a use: the figure it judges, its guideline, the remedy."""

    figure: str
    guideline: str
    do: str


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


def judge(use: Choice, figures: Mapping[str, Figure | None]) -> None:
    """Check the governing figures of the product.

    Parameters
    ----------
    use : Choice
        ``duty.product_use``.
    figures : mapping
        By name: ``boron`` (as B), ``tds``, ``chloride``, ``sodium``, ``sulfate`` (concentration),
        ``alkalinity``, ``calcium``, ``ccpp`` (as CaCO3), ``ph``, ``lsi``, ``sar``, ``chlorine`` (as Cl2).
        The hottest, aged corner governs most of them. A figure that is None, or not there, is a finding.
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
            name = limit.guideline.replace("-", "_")
            id = f"limits.{name}"
            line = (
                current()[id]
                if id in current()
                else assumed(
                    id,
                    rule.value,
                    rule.kind,
                    title=rule.title,
                    source=rule.source,
                    text="",
                    place=guideline_place(limit.guideline),
                    table="guidelines",
                    row=limit.guideline,
                )
            )
            checked(
                f"product.{limit.figure}.check_{name}",
                figure,
                "<=" if rule.sense == "≤" else ">=",
                line,
                title=rule.title,
                do=limit.do,
                caution=caution,
                source=rule.source,
            )
        said = ", ".join(dict.fromkeys(missing))
        note(
            "product.judged",
            title="Limits of the use",
            verdict="fails" if missing else "holds",
            why=f"not judged, as this product has none: {said}"
            if missing
            else "each limit of this use is judged",
            do="see the checks of alkalinity and chlorine, or judge these by hand",
            inputs={"use": use},
        )
