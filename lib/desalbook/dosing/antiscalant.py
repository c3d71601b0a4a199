"""Products dosed as bought: antiscalant, biocide in shocks, corrosion inhibitor."""

from __future__ import annotations

from desalbook.dosing.chemicals import Chemical, by_role, solution
from desalbook.dosing.dosing_line import Dose, dose_line
from desalbook.dosing.dosing_steps import STEPS, absent
from desalbook.guidelines import product_use
from desalbook.trail import Choice, Figure, checked, note, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit, limit_source
from desalbook.units import (
    AsProduct,
    S,
)

__all__ = [
    "antiscalant",
    "biocide",
    "corrosion_inhibitor",
    "mean_of_shocks",
]


@relation("Dose over time", symbol="D_m", unit="kg/m^3", source="definition", note="nothing between shocks")
def mean_of_shocks(product_dose: AsProduct, shock_time: S, shock_interval: S) -> AsProduct:
    """Mean dose of a product that is fed in shocks only.

    Nothing between the shocks; for yearly use and cost, never for the size of the pump.
    """
    return product_dose * shock_time / shock_interval


def product_of(step: str) -> Chemical:
    """The product of a step whose section has no choice of chemical: the first of its role in the table."""
    return by_role(STEPS[step].role)[0]


def antiscalant(inp: Inputs, feed_flow: Figure, lowest_flow: Figure | None = None) -> Dose | None:
    """Antiscalant per volume of membrane feed, mg/L as product; none needed is an answer."""
    if absent(inp, "antiscalant") is not None:
        return None
    with scope(because=[inp("antiscalant.present")]):
        product = inp.selected("antiscalant.product")
        at = f"antiscalants[{product}]"
        of = solution(inp, "antiscalant", product_of("antiscalant"),
                      density=None if product is None else inp.optional(f"{at}.density"))
        checked("antiscalant.dose.check", inp("antiscalant.dose"), "<=", limit("antiscalant-dose"),
                title="Antiscalant dose", source=limit_source("antiscalant-dose"),
                do="lower antiscalant.dose: more of it feeds slime and does not inhibit more")
        if product is not None:
            _of_sheet(inp, product, at)
        return dose_line(inp, "antiscalant", feed_flow, inp("antiscalant.dose"), of, lowest_flow=lowest_flow)


def _of_sheet(inp: Inputs, product: Choice, at: str) -> None:
    """Dose within what the sheet allows, and where the sheet comes from."""
    most = inp.optional(f"{at}.max_dose")
    if most is not None:
        checked("antiscalant.sheet_dose.check", inp("antiscalant.dose"), "<=", most, source="common-practice",
                title="Antiscalant dose within its sheet", do="lower antiscalant.dose, or choose another product")
    origin = [x for x in (inp.selected(f"{at}.source"), inp.selected(f"{at}.date")) if x is not None]
    note("antiscalant.sheet", title="Sheet of the antiscalant", verdict="passes" if origin else "review",
         why=f"sheet {product}" + (f", {', '.join(map(str, origin))}" if origin else ", its source is blank"),
         do=f"state {at}.source", inputs={"product": product} | {f"said_{n}": x for n, x in enumerate(origin)})


def biocide(inp: Inputs, feed_flow: Figure, use: Choice, lowest_flow: Figure | None = None) -> Dose | None:
    """Non-oxidising biocide in shocks, mg/L as product in the membrane feed; common practice, no source.

    Parameters
    ----------
    feed_flow, lowest_flow : Figure
        m3/s, all trains and one.
    use : Choice
        ``duty.product_use``: where the permeate is drunk, product is diverted during a shock.
    """
    if inp("biocide.present") == "no" and not inp("biocide.reason"):
        return None  # an option; its absence asks for no reason
    if absent(inp, "biocide") is not None:
        return None
    with scope(because=[inp("biocide.present")]):
        of = solution(inp, "biocide", product_of("biocide"))
        dose = inp("biocide.dose")
        mean = mean_of_shocks.at(
            "biocide.mean_dose",
            product_dose=dose,
            shock_time=inp("biocide.shock_time"),
            shock_interval=inp("biocide.shock_interval"),
        )
        drunk = product_use(use).drunk
        note(
            "biocide.product",
            title="Product while biocide is fed",
            verdict="review" if drunk else "passes",
            why="the permeate is drunk, and some of the product passes" if drunk else "nobody drinks it",
            do="divert permeate to waste during a shock and until it is gone; ask the authority for its licence",
            inputs={"use": use},
            caution="Biocides are toxic. The safety data sheet, local codes and the discharge permit govern.",
        )
        note(
            "biocide.reducer",
            title="Biocide and the dechlorination agent",
            inputs={"reducer": inp("dechlorination.present")},
            verdict="review" if inp("dechlorination.present") == "yes" else "passes",
            why="bisulfite breaks most non-oxidising biocides down"
            if inp("dechlorination.present") == "yes"
            else "no dechlorination agent in the feed",
            do="stop chlorine well before a shock, then bisulfite for its time; restart in the reverse order",
        )
        return dose_line(inp, "biocide", feed_flow, dose, of, lowest_flow=lowest_flow, mean=mean)


def corrosion_inhibitor(inp: Inputs, flow: Figure, lowest_flow: Figure | None = None) -> Dose | None:
    """Corrosion inhibitor into the product, mg/L as product; an option with a caution."""
    if inp("corrosion_inhibitor.present") == "no" and not inp("corrosion_inhibitor.reason"):
        return None
    if absent(inp, "corrosion_inhibitor") is not None:
        return None
    with scope(because=[inp("corrosion_inhibitor.present")]):
        of = solution(inp, "corrosion_inhibitor", product_of("corrosion_inhibitor"))
        note(
            "corrosion_inhibitor.use",
            title="Corrosion inhibitor",
            verdict="review",
            why="it slows corrosion where it reaches, and hides a water that is not stable",
            do="bring hardness, alkalinity and pH of the product right first; ask the network's authority",
            inputs={"present": inp("corrosion_inhibitor.present")},
        )
        return dose_line(
            inp, "corrosion_inhibitor", flow, inp("corrosion_inhibitor.dose"), of, lowest_flow=lowest_flow
        )
