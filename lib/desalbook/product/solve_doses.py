"""Doses that bring a permeate into a window of calcium, alkalinity, precipitation potential and pH, on plain numbers.

One function for each way of remineralising; the routes record what is found. Amounts are per kilogram of water.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, partial

from desalbook.problems import EngineError
from desalbook.water.phreeqc import Water, calcite_equilibrium, dose, speciate
from desalbook.water.species import REACTANTS

__all__ = [
    "Doses",
    "Solver",
    "Target",
    "acid_and_calcite",
    "carbon_dioxide_and_calcite",
    "carbon_for_gas",
    "caustic_and_carbon_dioxide",
    "lime_and_carbon_dioxide",
    "root",
]

TRACE = 1e-9  # mol/kg, the minimum dose that is one
CLOSE = 1e-8  # mol/kg, to which a precipitation potential is solved
GAS_CLOSE = 1e-10  # mol/kg, to which the carbon downstream of a degasifier is found
MISSED = 1e-6  # mol/kg, 0.1 mg/L as CaCO3: a window missed by more is not met


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


Solver = Callable[[Water, float, Target, str], Doses]
"""Finds doses: of a water of known alkalinity and carbon, at a temperature (K), for a target, with the reactant
that lifts pH downstream of a contactor. It answers with the minimum dose of mineral; where the window cannot be
reached, with the nearest and the name of the constraint."""

_Mineral = Callable[[float, str], Doses]


def root(f: Callable[[float], float], low: float, high: float, tolerance: float) -> float:
    """Root of a monotone function between two bounds by false position (Illinois); the nearer bound where none is."""
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

    return root(over, TRACE, max(carbon, 2.0 * abs(alkalinity)) + gas + TRACE, GAS_CLOSE)


def carbon_dioxide_and_calcite(water: Water, temperature: float, target: Target, alkali: str) -> Doses:
    """Carbon dioxide into a calcite contactor, alkali downstream of it."""
    return _least(water, target, 2.0, partial(_contactor, water, temperature, target, alkali, "CO2"))


def acid_and_calcite(water: Water, temperature: float, target: Target, alkali: str) -> Doses:
    """Sulfuric acid into a calcite contactor, alkali downstream of it; the acid takes half of the alkalinity."""
    return _least(water, target, None, partial(_contactor, water, temperature, target, alkali, "H2SO4"))


def lime_and_carbon_dioxide(water: Water, temperature: float, target: Target, alkali: str) -> Doses:
    """Lime, and carbon dioxide that sets CCPP; no other alkali is dosed."""
    return _least(water, target, 2.0, partial(_lime, water, temperature, target))


def caustic_and_carbon_dioxide(water: Water, temperature: float, target: Target, alkali: str) -> Doses:
    """Caustic soda for alkalinity, and carbon dioxide for pH; calcium stays as it is."""
    alkalinity, carbon = water.conserved() or (0.0, 0.0)
    caustic = max(target.alkalinity - alkalinity, 0.0)
    made, _ = dose(water, temperature, {"NaOH": caustic})
    wanted = speciate(Water(made.molality, made.alkalinity, None, target.ph, temperature), temperature, "fresh").carbon
    gas = max(wanted - carbon, 0.0)
    try:
        _, found = dose(made, temperature, {"CO2": gas})
    except EngineError:
        return Doses((("NaOH", caustic), ("CO2", gas)), target.ph, "pH")
    held = dict(water.molality).get("Ca", 0.0)
    short = "calcium" if held < target.calcium else ""
    return Doses((("NaOH", caustic), ("CO2", gas)), found.ph, short)


def _least(water: Water, target: Target, alkalinity_each: float | None, doses: _Mineral) -> Doses:
    """The minimum mineral that meets the window.

    Calcium or alkalinity fixes the mineral (`alkalinity_each` is what a mole of it brings, None where the alkali
    behind must bring it). A higher hardness lowers the pH that CCPP asks for, so the mineral is raised where pH is
    too high.
    """
    held = dict(water.molality).get("Ca", 0.0)
    alkalinity, _ = water.conserved() or (0.0, 0.0)
    by_alkalinity = (target.alkalinity - alkalinity) / alkalinity_each if alkalinity_each is not None else 0.0
    least = max(target.calcium - held, by_alkalinity, TRACE)
    most = max(target.calcium_most - held, TRACE)
    if least > most:
        return doses(most, "alkalinity")
    first = doses(least, "")
    if _meets(first, target):
        return first
    last = doses(most, "")
    if not _meets(last, target):
        why = "pH" if last.ph > target.ph_most else "alkalinity"
        return Doses(last.amounts, last.ph, last.failed or why)
    low, high = least, most
    for _ in range(12):
        middle = 0.5 * (low + high)
        tried = doses(middle, "")
        if _meets(tried, target):
            high, last = middle, tried
        else:
            low = middle
    return last


def _meets(found: Doses, target: Target) -> bool:
    return not found.failed and found.ph <= target.ph_most


def _potential(water: Water, temperature: float, additions: dict[str, float]) -> tuple[float, float]:
    made, found = dose(water, temperature, additions)
    return calcite_equilibrium(made, temperature).precipitation_potential, found.ph


def _lime(water: Water, t: float, target: Target, mineral: float, failed: str) -> Doses:
    def off(gas: float) -> float:
        return _potential(water, t, {"Ca(OH)2": mineral, "CO2": gas})[0] - target.precipitable

    # about two moles for one of lime; below it hydroxide is left over
    gas = root(off, 1.2 * mineral, 2.6 * mineral + 1e-4, CLOSE)
    amounts = {"Ca(OH)2": mineral, "CO2": gas}
    got, ph = _potential(water, t, amounts)
    missed = abs(got - target.precipitable) > MISSED
    return Doses(tuple(amounts.items()), ph, failed or ("ccpp" if missed else ""))


def _contactor(water: Water, t: float, target: Target, alkali: str, key: str, mineral: float, failed: str) -> Doses:
    """What the contactor needs to dissolve the mineral and still stay short of saturation; alkali lifts CCPP."""
    alkalinity, _ = water.conserved() or (0.0, 0.0)
    part, taken = 1.0 - target.bypass, -REACTANTS[key].alkalinity

    def over(driver: float) -> float:
        return _potential(water, t, {"CaCO3": mineral / part, key: driver / part})[0] + target.short

    # an acid may not use up all alkalinity that water and mineral bring
    bound = 0.999 * (2.0 * mineral + alkalinity) / taken if taken > 0.0 else 3.0 * mineral + 2e-4
    driver = 0.0 if over(0.0) <= 0.0 else root(over, 0.0, bound, CLOSE)
    amounts = {"CaCO3": mineral, key: driver}
    made, _ = dose(water, t, amounts)

    def lacking(caustic: float) -> float:
        return _potential(made, t, {alkali: caustic})[0] - target.precipitable

    caustic = 0.0 if lacking(0.0) >= 0.0 else root(lacking, 0.0, 2.0 * mineral + 1e-3, CLOSE)
    amounts[alkali] = caustic
    got, ph = _potential(water, t, amounts)
    total = alkalinity + 2.0 * mineral + caustic * REACTANTS[alkali].alkalinity - taken * driver
    if abs(got - target.precipitable) > MISSED and not failed:
        failed = "ccpp"
    elif total < target.alkalinity * (1 - 1e-9) and not failed:
        failed = "alkalinity"
    return Doses(tuple(amounts.items()), ph, failed)
