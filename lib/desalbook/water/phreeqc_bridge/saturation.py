"""Saturation of many waters, each mineral by the data set that has it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ...problems import EngineError
from . import engine
from .speciation import MINERALS, solve
from .waters import LEAST_ALKALINITY, TEMPERATURES, Substitution, Water, number_in, punch, send, solution

__all__ = ["MINERAL_DATA", "Saturation", "saturations"]

MINERAL_DATA = {name: "fresh" if name == "fluorite" else "brine" for name in MINERALS}
"""Data set by mineral: the brine data lack fluoride, the fresh-water data lack brucite."""


@dataclass(frozen=True)
class Saturation:
    """pH and saturation indices of one water at one temperature.

    Parameters
    ----------
    ph : float
        Activity scale, by data set ``brine``.
    carbon_dioxide : float
        mol/kg, by data set ``brine``.
    indices : tuple of (str, float or None)
        log10(IAP/Ksp) by mineral; None = not modelled, for the water holds none of one of its elements.
    substitutions : tuple of Substitution
    """

    ph: float
    carbon_dioxide: float
    indices: tuple[tuple[str, float | None], ...]
    substitutions: tuple[Substitution, ...]

    def index(self, mineral: str) -> float | None:
        """Saturation index; positive = supersaturated."""
        return dict(self.indices)[mineral]

    def ratio(self, mineral: str) -> float | None:
        """Saturation ratio IAP/Ksp; above one = supersaturated."""
        index = self.index(mineral)
        return None if index is None else 10.0**index


def _row(water: Water, temperature: float, key: str, minerals: Sequence[str]) -> tuple[
        dict[str, float], tuple[Substitution, ...]]:
    """One water; what the engine does not solve as sent goes the long way."""
    wanted = {"ph": '-LA("H+")', "co2": 'MOL("CO2") + 2 * MOL("(CO2)2")', "alkalinity": "ALK",
              "carbon": 'TOT("C(4)")'} | {f"si_{m}": f'SI("{MINERALS[m]}")' for m in minerals}
    sent, swaps = send(water, key)
    alkalinity, carbon = water.conserved() or (0.0, 0.0)
    if alkalinity > LEAST_ALKALINITY and carbon > 0.0:
        text = punch(wanted) + solution(1, temperature, sent, alkalinity=alkalinity, carbon=carbon) + "END\n"
        try:
            row = engine.run(key, text).row()
        except EngineError:
            row = {"alkalinity": math.inf, "carbon": math.inf}
        if abs(row["alkalinity"] - alkalinity) <= 1e-6 * alkalinity + 1e-10 \
                and abs(row["carbon"] - carbon) <= 1e-6 * carbon + 1e-10:
            return row, swaps
    return solve(water, temperature, key)[0], swaps


def saturations(states: Sequence[tuple[Water, float]], minerals: Sequence[str] = tuple(MINERALS)) -> tuple[
        Saturation, ...]:
    """Saturation indices of several waters.

    Parameters
    ----------
    states : sequence of (Water, float)
        Waters and the temperature (K) at which each is judged.
    minerals : sequence of str
        Keys of `MINERALS`.

    Returns
    -------
    tuple of Saturation, in the order of `states`

    Raises
    ------
    EngineError
        No solution, or a number out of range.

    Notes
    -----
    Sea water and brine use the Pitzer data, fluorite the ion-pair data, whose activity model is sound up to
    about 1 mol/kg and an extrapolation in strong concentrate. Nothing precipitates: these are the indices of
    the water as it is.
    """
    groups = {key: [m for m in minerals if MINERAL_DATA[m] == key] for key in ("brine", "fresh")}
    made = []
    for water, t in states:  # a run each: in company the last bits would depend on the company
        t = number_in("temperature", t, *TEMPERATURES, "K")
        row, swaps = _row(water, t, "brine", groups["brine"])
        both = dict(row)
        if groups["fresh"] and dict(water.molality).get("F", 0.0) > 0.0:
            both = _row(water, t, "fresh", groups["fresh"])[0] | row  # pH and carbon dioxide by the brine data
        values = ((m, both.get(f"si_{m}", -99.0)) for m in minerals)
        made.append(Saturation(row["ph"], row["co2"], tuple((m, None if v <= -99.0 else v) for m, v in values), swaps))
    return tuple(made)
