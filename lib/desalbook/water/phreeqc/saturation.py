"""Saturation of many waters, each mineral by the data set that has it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .speciation import MINERALS, solve
from .waters import TEMPERATURES, Substitution, Water, number_in

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
    Seawater and brine use the Pitzer data, fluorite the ion-pair data, whose activity model is sound up to
    about 1 mol/kg and an extrapolation in strong concentrate. Nothing precipitates: these are the indices of
    the water as it is.
    """
    other = any(MINERAL_DATA[m] == "fresh" for m in minerals)
    made = []
    for water, t in states:  # a run each: in company the last bits would depend on the company
        t = number_in("temperature", t, *TEMPERATURES, "K")
        row, _, swaps = solve(water, t, "brine")
        fluoride = other and dict(water.molality).get("F", 0.0) > 0.0
        by = {"brine": row, "fresh": solve(water, t, "fresh")[0] if fluoride else {}}
        values = ((m, by[MINERAL_DATA[m]].get(f"si_{m}", -99.0)) for m in minerals)
        made.append(Saturation(row["ph"], row["co2"], tuple((m, None if v <= -99.0 else v) for m, v in values), swaps))
    return tuple(made)
