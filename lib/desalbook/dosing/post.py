"""Chemicals into the product: alkali for pH, hypochlorite for a residual."""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.dosing import relations as r
from desalbook.dosing.line import Dose, dose_line, solution
from desalbook.guidelines import product_use
from desalbook.trail import Choice, Figure, note, picked, scope
from desalbook.trail.inputs import Inputs

__all__ = ["PostChlorinated", "post_chlorination", "post_chlorine_dose", "post_ph"]

@dataclass(frozen=True)
class PostChlorinated:
    """Whether the product is chlorinated, and its dose and residual (kg/m3 as Cl2), None when it is not."""

    present: Choice
    dose: Figure | None
    residual: Figure | None


def post_chlorine_dose(inp: Inputs, use: Choice) -> PostChlorinated:
    """Dose for the product, where the file or the use of the product wants one.

    Parameters
    ----------
    use : Choice
        ``duty.product_use``.
    """
    present = inp.selected("post_chlorination.present")
    if present is None:
        wanted = "yes" if product_use(use).residual == "wanted" else "no"
        present = picked(
            "post_chlorination.present",
            wanted,
            None,
            title="Chlorination of the product",
            rule="drinking water keeps a residual; other uses get no chlorine",
            candidates=[{"key": k, "won": k == wanted} for k in ("yes", "no")],
            inputs={"use": use},
            why=f"the product is for {use}",
            source="common-practice",
        )
    clash = present == "yes" and product_use(use).residual == "harmful"
    note(
        "post_chlorination.use",
        title="Chlorine and the use of the product",
        verdict="caution" if clash else "holds",
        why="resins, boilers and most processes do not bear chlorine" if clash else "they go together",
        do='write post_chlorination.present = "no"',
        inputs={"present": present, "use": use},
    )
    if present == "no":
        return PostChlorinated(present, None, None)
    residual = inp("post_chlorination.residual")
    with scope(because=[present]):
        dose = r.chlorine_dose_of.at(
            "post_chlorination.dose",
            chlorine_demand=inp("post_chlorination.demand"),
            chlorine_residual=residual,
        )
    return PostChlorinated(present, dose, residual)


def post_chlorination(
    inp: Inputs, flow: Figure, chlorinated: PostChlorinated, lowest_flow: Figure | None = None
) -> Dose | None:
    """Dosing line of hypochlorite into the product flow (m3/s)."""
    if chlorinated.dose is None:
        return None
    with scope(because=[chlorinated.present, inp("post_chlorination.chemical")]):
        of = solution(inp, "post_chlorination", inp("post_chlorination.chemical"))
        return dose_line(inp, "post_chlorination", flow, chlorinated.dose, of, lowest_flow=lowest_flow)


def post_ph(inp: Inputs, flow: Figure, dose: Figure | None, lowest_flow: Figure | None = None) -> Dose | None:
    """Dosing line of the alkali.

    Parameters
    ----------
    dose : Figure or None
        kg/m3, as the finishing of the product found it; None where pH is left alone.
    """
    if dose is None:
        return None
    with scope(because=[inp("post_ph.chemical")]):
        of = solution(inp, "post_ph", inp("post_ph.chemical"))
        return dose_line(inp, "post_ph", flow, dose, of, lowest_flow=lowest_flow)
