"""The window of a use: limits of calcium, alkalinity, CCPP and pH as one aim for the doses."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.product.limits import limit_line, limits_of
from desalbook.trail import Choice, Figure, assumed, constant, relation, scope
from desalbook.units import AsCaCO3, Fraction, KgPerM3, Molality

__all__ = ["Window", "aim_above", "aim_below", "window_of"]

Inp = Callable[[str], Any]
CALCITE = constant("M_CaCO3", 0.100086, "kg/mol", source="iupac-weights", title="Molar mass of CaCO3")


@relation("Aim above a lower limit", symbol="m_lo", unit="mol/kg", source="definition", note="moles of CaCO3")
def aim_above(hardness_limit: AsCaCO3, window_margin: Fraction, water_content: KgPerM3) -> Molality:
    """The limit and its margin."""
    return hardness_limit * (1 + window_margin) / (CALCITE * water_content)


@relation("Aim below an upper limit", symbol="m_hi", unit="mol/kg", source="definition", note="moles of CaCO3")
def aim_below(hardness_limit: AsCaCO3, window_margin: Fraction, water_content: KgPerM3) -> Molality:
    """The limit less its margin."""
    return hardness_limit * (1 - window_margin) / (CALCITE * water_content)


@dataclass(frozen=True)
class Window:
    """Aims, moles of CaCO3 per kilogram of water, and the highest pH."""

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


def window_of(inp: Inp, use: Choice | None, content: Figure) -> Window | None:
    """The window of a use, where it has limits of calcium, alkalinity, CCPP and pH; else None."""
    by: Choice = inp("product.doses")
    if use is None or by != "window":
        return None
    found = {x.key: x for x in limits_of(use)}
    if not {"calcium_low", "calcium_high", "alkalinity_low", "ccpp_low", "ph_high"} <= set(found):
        return None
    margin = inp("product.window_margin")

    def limit(key: str) -> Figure:
        return limit_line(inp, found[key])

    def low(key: str, title: str) -> Figure:
        return aim_above.at(f"product.aim[{key}]", hardness_limit=limit(key), window_margin=margin,
                            water_content=content, title=title)

    with scope(because=[use]):
        ph_most = limit("ph_high")
    with scope(because=[use, by]):
        none = assumed("product.no_margin", 0.0, "fraction", title="No margin", source="definition")
        return Window(
            calcium=low("calcium_low", "Calcium aimed at"),
            calcium_most=aim_below.at("product.aim[calcium_high]", hardness_limit=limit("calcium_high"),
                                      window_margin=margin, water_content=content, title="Most calcium"),
            alkalinity=low("alkalinity_low", "Alkalinity aimed at"), ccpp=low("ccpp_low", "CCPP aimed at"),
            short=aim_below.at("product.aim[short]", hardness_limit=inp("product.contactor_short"),
                               window_margin=none, water_content=content, title="Left undissolved in the contactor"),
            ph_most=ph_most)
