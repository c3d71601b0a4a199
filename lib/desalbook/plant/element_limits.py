"""What the sheets of the elements bear besides flow and pressure: pH in operation, and chlorine."""

from __future__ import annotations

from typing import Any

from desalbook.membrane import sheet_value
from desalbook.plant.feedwater import FeedWater
from desalbook.plant.interpass import target_of
from desalbook.trail import Choice, Figure, checked, govern, scope
from desalbook.water.disinfection import membrane_exposure

__all__ = ["element_limits"]


def element_limits(inp: Any, fed: FeedWater) -> None:
    """Judge the feed by the sheets: pH of the coldest to the hottest water, and chlorine where it reaches them.

    The exposure is that of the whole membrane age at the residual, without a stop; the tolerance of a sheet is
    indicative, for metals, pH and temperature speed the attack.
    """
    low = govern("membrane.feed_ph_low", fed.ph, "smallest", title="Minimum pH of the RO feed")
    high = govern("membrane.feed_ph_high", fed.ph, "largest", title="Maximum pH of the RO feed")
    types = [("membrane.element", inp("membrane.element"))] + [
        (f"membrane.element_at[{name}]", inp(f"membrane.element_by_position[{name}].element"))
        for name in inp.names("membrane.element_by_position")]
    reach = _residual(inp)
    for prefix, chosen in types:
        with scope(because=[chosen]):
            _ph(inp, prefix, chosen, low, high)
        if reach is not None:
            steps = [inp(f"{n}.present") for n in ("chlorination", "dechlorination")]
            with scope(because=[chosen, *steps]):
                _chlorine(inp, prefix, chosen, reach, inp("membrane.age"))
    second: Choice | None = inp("membrane.second_pass.element")
    if second is None:
        return
    found = target_of(inp)
    target: Figure | None = found["ph"]
    if target is not None:
        with scope(because=[second, *found["stated"]]):
            checked("second_pass.element.ph_high.check", target, "<=",
            sheet_value(inp, "second_pass.element.ph_high", second, "ph_high"),
                    title="pH of the second pass within its element", source="common-practice",
                    do=f"lower {target.id}")


def _ph(inp: Any, prefix: str, chosen: Choice, low: Figure, high: Figure) -> None:
    checked(f"{prefix}.ph_low.check", low, ">=",
            sheet_value(inp, f"{prefix}.ph_low", chosen, "ph_low"), source="common-practice",
            title="pH of the feed within the element, low end", do="raise the pH of the acidified feed")
    checked(f"{prefix}.ph_high.check", high, "<=",
            sheet_value(inp, f"{prefix}.ph_high", chosen, "ph_high"), source="common-practice",
            title="pH of the feed within the element, high end", do="dose acid or choose another element")


def _residual(inp: Any) -> Figure | None:
    """The residual that reaches the membranes; None where no chlorine is dosed or all is taken out again."""
    if inp("chlorination.present") != "yes" or inp("dechlorination.present") == "yes":
        return None
    return inp("chlorination.residual")


def _chlorine(inp: Any, prefix: str, chosen: Choice, residual: Figure, age: Figure) -> None:
    checked(f"{prefix}.free_chlorine.check", residual, "<=",
            sheet_value(inp, f"{prefix}.max_free_chlorine", chosen, "max_free_chlorine"),
            title="Chlorine at the membranes", source="common-practice",
            do="dose a dechlorination agent: dechlorination.present")
    exposure = membrane_exposure.at(f"{prefix}.exposure", chlorine_residual=residual, time=age)
    checked(f"{prefix}.exposure.check", exposure, "<=",
            sheet_value(inp, f"{prefix}.chlorine_tolerance", chosen, "chlorine_tolerance"),
            title="Oxidant exposure over membrane life", source="common-practice",
            do="dose a dechlorination agent, with an ORP probe that stops the pump")
