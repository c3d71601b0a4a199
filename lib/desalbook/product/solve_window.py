"""Doses that bring a permeate into a window of calcium, alkalinity and precipitation potential.

Numbers only; the rooms record what is found. Amounts are per kilogram of water.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from desalbook.problems import EngineError
from desalbook.water.phreeqc_bridge import Water, dose, langelier, speciate
from desalbook.water.species import REACTANTS

__all__ = ["Doses", "Target", "carbon_for_gas", "doses_for", "root"]

TRACE = 1e-9


@dataclass(frozen=True)
class Target:
    """What is aimed at, mol/kg but pH: calcium, alkalinity (eq), CCPP, what the contactor leaves undissolved.

    Parameters
    ----------
    calcium, calcium_most, alkalinity, precipitable, short, ph, ph_most, bypass : float
        `short` is how far below saturation the contactor's water stays; `ph` is used where no calcium is dosed.
    """

    calcium: float
    calcium_most: float
    alkalinity: float
    precipitable: float
    short: float
    ph: float
    ph_most: float
    bypass: float


@dataclass(frozen=True)
class Doses:
    """Amounts by reactant, mol/kg, the pH they lead to, and the constraint that cannot be met, if any."""

    amounts: tuple[tuple[str, float], ...]
    ph: float
    failed: str = ""


def root(f: Callable[[float], float], low: float, high: float, tolerance: float) -> float:
    """Root of a monotone function between two bounds; the nearer bound where there is none."""
    a, b, fa, fb = low, high, f(low), f(high)
    if fa * fb > 0.0:
        return a if abs(fa) < abs(fb) else b
    for _ in range(60):
        c = b - fb * (b - a) / (fb - fa) if fb != fa else 0.5 * (a + b)
        c = min(max(c, min(a, b)), max(a, b))
        fc = f(c)
        if abs(fc) < tolerance or abs(b - a) < TRACE * 1e-3:
            return c
        if fc * fb < 0.0:
            a, fa = b, fb
        else:
            fa *= 0.5
        b, fb = c, fc
    return b


@lru_cache(maxsize=512)
def carbon_for_gas(water: Water, temperature: float, gas: float) -> float:
    """Inorganic carbon at which a water of the same alkalinity holds so much dissolved carbon dioxide."""
    alkalinity, carbon = water.conserved() or (0.0, 0.0)

    def over(total: float) -> float:
        return speciate(Water(water.molality, alkalinity, total, None, temperature), temperature, "fresh").co2 - gas

    return root(over, TRACE, max(carbon, 2.0 * abs(alkalinity)) + gas + TRACE, 1e-10)


def _potential(water: Water, temperature: float, additions: dict[str, float]) -> tuple[float, float]:
    made, found = dose(water, temperature, additions)
    return langelier(made, temperature).precipitation_potential, found.ph


@lru_cache(maxsize=256)
def doses_for(water: Water, temperature: float, route: str, target: Target, alkali: str = "NaOH") -> Doses:
    """Doses of one route.

    Parameters
    ----------
    water : Water
        Alkalinity and carbon both known.
    temperature : float
        K.
    route : {"calcite", "calcite-acid", "lime", "caustic"}
    target : Target
    alkali : str
        Reactant that lifts pH behind a contactor.

    Returns
    -------
    Doses
        The least dose of mineral; with a named constraint where the window cannot be reached, the nearest.

    Notes
    -----
    Calcium or alkalinity fixes the mineral; carbon dioxide (or acid) is what the contactor needs to dissolve it
    and still stay `short` of saturation; caustic lifts CCPP to its target. With lime, carbon dioxide alone
    sets CCPP. A higher hardness lowers the pH that CCPP asks for, so the mineral is raised where pH is too high.
    """
    if route == "caustic":
        return _caustic(water, temperature, target)
    held = dict(water.molality).get("Ca", 0.0)
    alkalinity, _ = water.conserved() or (0.0, 0.0)
    per = {"calcite": 2.0, "lime": 2.0, "calcite-acid": 1.0}[route]
    by_alkalinity = (target.alkalinity - alkalinity) / per if route != "calcite-acid" else 0.0
    least = max(target.calcium - held, by_alkalinity, TRACE)
    most = max(target.calcium_most - held, TRACE)
    if least > most:
        return _mineral(water, temperature, route, target, most, "alkalinity", alkali)
    first = _mineral(water, temperature, route, target, least, "", alkali)
    if _meets(first, target):
        return first
    last = _mineral(water, temperature, route, target, most, "", alkali)
    if not _meets(last, target):
        why = "pH" if last.ph > target.ph_most else "alkalinity"
        return Doses(last.amounts, last.ph, last.failed or why)
    low, high = least, most
    for _ in range(12):
        middle = 0.5 * (low + high)
        tried = _mineral(water, temperature, route, target, middle, "", alkali)
        if _meets(tried, target):
            high, last = middle, tried
        else:
            low = middle
    return last


def _meets(found: Doses, target: Target) -> bool:
    return not found.failed and found.ph <= target.ph_most


def _mineral(water: Water, t: float, route: str, target: Target, mineral: float, failed: str,
             alkali: str) -> Doses:
    alkalinity, _ = water.conserved() or (0.0, 0.0)
    if route == "lime":
        def off(gas: float) -> float:
            return _potential(water, t, {"Ca(OH)2": mineral, "CO2": gas})[0] - target.precipitable

        # about two moles for one of lime; below it hydroxide is left over
        gas = root(off, 1.2 * mineral, 2.6 * mineral + 1e-4, 1e-8)
        amounts = {"Ca(OH)2": mineral, "CO2": gas}
        got, ph = _potential(water, t, amounts)
        missed = abs(got - target.precipitable) > 1e-6
        return Doses(tuple(amounts.items()), ph, failed or ("ccpp" if missed else ""))
    key = "CO2" if route == "calcite" else "H2SO4"
    part = 1.0 - target.bypass

    def over(driver: float) -> float:
        return _potential(water, t, {"CaCO3": mineral / part, key: driver / part})[0] + target.short

    bound = 3.0 * mineral + 2e-4 if key == "CO2" else 0.999 * (mineral + alkalinity / 2.0)
    driver = 0.0 if over(0.0) <= 0.0 else root(over, 0.0, bound, 1e-8)
    amounts = {"CaCO3": mineral, key: driver}
    made, _ = dose(water, t, amounts)

    def lacking(caustic: float) -> float:
        return _potential(made, t, {alkali: caustic})[0] - target.precipitable

    caustic = 0.0 if lacking(0.0) >= 0.0 else root(lacking, 0.0, 2.0 * mineral + 1e-3, 1e-8)
    amounts[alkali] = caustic
    got, ph = _potential(water, t, amounts)
    acid = 2.0 * driver if key == "H2SO4" else 0.0
    total = alkalinity + 2.0 * mineral + caustic * REACTANTS[alkali].alkalinity - acid
    if abs(got - target.precipitable) > 1e-6 and not failed:
        failed = "ccpp"
    elif total < target.alkalinity * (1 - 1e-9) and not failed:
        failed = "alkalinity"
    return Doses(tuple(amounts.items()), ph, failed)


def _caustic(water: Water, t: float, target: Target) -> Doses:
    alkalinity, carbon = water.conserved() or (0.0, 0.0)
    caustic = max(target.alkalinity - alkalinity, 0.0)
    made, _ = dose(water, t, {"NaOH": caustic})
    wanted = speciate(Water(made.molality, made.alkalinity, None, target.ph, t), t, "fresh").carbon
    gas = max(wanted - carbon, 0.0)
    try:
        _, found = dose(made, t, {"CO2": gas})
    except EngineError:
        return Doses((("NaOH", caustic), ("CO2", gas)), target.ph, "pH")
    held = dict(water.molality).get("Ca", 0.0)
    short = "calcium" if held < target.calcium else ""
    return Doses((("NaOH", caustic), ("CO2", gas)), found.ph, short)
