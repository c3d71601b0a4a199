"""The window of a use: limits of calcium, alkalinity, CCPP and pH as one aim for the doses."""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.product.limits import Limits, limits_of
from desalbook.product.solve_doses import Target
from desalbook.product.stoichiometry import CALCITE
from desalbook.trail import Figure, assumed, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import AsCaCO3, Fraction, KgPerM3, Molality

__all__ = ["Window", "aim_above", "aim_below", "window_of"]

LIMITS = ("calcium_low", "calcium_high", "alkalinity_low", "ccpp_low", "ph_high")


@relation("Aim above a lower limit", symbol="m_lo", unit="mol/kg", source="definition", note="moles of CaCO3")
def aim_above(hardness_limit: AsCaCO3, window_margin: Fraction, water_content: KgPerM3) -> Molality:
    """Aim of a dose above a lower limit: the limit and its margin, as moles of CaCO3.

    The margin is of the limit, not of the width of the window: two aims may cross where it is narrow.
    """
    return hardness_limit * (1 + window_margin) / (CALCITE * water_content)


@relation("Aim below an upper limit", symbol="m_hi", unit="mol/kg", source="definition", note="moles of CaCO3")
def aim_below(hardness_limit: AsCaCO3, window_margin: Fraction, water_content: KgPerM3) -> Molality:
    """Aim of a dose below an upper limit: the limit less its margin, as moles of CaCO3.

    The margin is of the limit, not of the width of the window: two aims may cross where it is narrow.
    """
    return hardness_limit * (1 - window_margin) / (CALCITE * water_content)


@dataclass(frozen=True)
class Window:
    """Aims, moles of CaCO3 per kilogram of water, and the maximum pH."""

    calcium: Figure
    calcium_most: Figure
    alkalinity: Figure
    ccpp: Figure
    short: Figure
    ph_most: Figure

    @property
    def lines(self) -> dict[str, Figure]:
        """Lines that decide the doses."""
        return {"calcium_aim": self.calcium, "calcium_most": self.calcium_most, "alkalinity_aim": self.alkalinity,
                "ccpp_aim": self.ccpp, "short": self.short, "ph_most": self.ph_most}

    def target(self, inp: Inputs) -> Target:
        """The aims as plain numbers, with what else of the design decides the doses."""
        return Target(
            calcium=float(self.calcium), calcium_most=float(self.calcium_most),
            alkalinity=2.0 * float(self.alkalinity), precipitable=float(self.ccpp), short=float(self.short),
            ph=float(inp.number("product.ph_target")), ph_most=float(self.ph_most),
            bypass=float(inp.number("product.bypass")))


def window_of(inp: Inputs, limits: Limits | None, content: Figure) -> Window | None:
    """The window of a use, where it has limits of calcium, alkalinity, CCPP and pH; else None."""
    by = inp.choice("product.doses")
    if limits is None or by != "window":
        return None
    found = {x.key: x for x in limits_of(limits.use)}
    if not set(LIMITS) <= set(found):
        return None
    margin = inp.number("product.window_margin")

    def limit(key: str) -> Figure:
        return limits.line(found[key])

    def low(key: str, title: str) -> Figure:
        return aim_above.at(f"product.aim[{key}]", hardness_limit=limit(key), window_margin=margin,
                            water_content=content, title=title)

    with scope(because=[limits.use]):
        ph_most = limit("ph_high")
    with scope(because=[limits.use, by]):
        none = assumed("product.no_margin", 0.0, "fraction", title="No margin", source="definition")
        return Window(
            calcium=low("calcium_low", "Calcium aimed at"),
            calcium_most=aim_below.at("product.aim[calcium_high]", hardness_limit=limit("calcium_high"),
                                      window_margin=margin, water_content=content, title="Most calcium"),
            alkalinity=low("alkalinity_low", "Alkalinity aimed at"), ccpp=low("ccpp_low", "CCPP aimed at"),
            short=aim_below.at("product.aim[short]", hardness_limit=inp.number("product.contactor_short"),
                               window_margin=none, water_content=content, title="Left undissolved in the contactor"),
            ph_most=ph_most)
