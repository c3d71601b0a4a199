"""Osmotic pressure and density of one water as smooth curves in its salinity, for use in rating."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from ...problems import EngineError
from . import engine
from .speciation import complete
from .waters import (
    LEAST_ALKALINITY,
    TEMPERATURES,
    Substitution,
    Water,
    number_in,
    punch,
    salinity,
    send,
    solution,
)

__all__ = ["Curve", "PropertyCurves", "density_curve", "osmotic_curve", "property_curves"]

GAS_CONSTANT = 8.31446261815324  # J/(mol K), exact by the SI of 2019
WATER_MOLAR_MASS = 0.018015      # kg/mol, from the abridged atomic weights
LEAST, GREATEST, POINTS = 0.0005, 0.13, 7
# Exponents of the dimensionless salinity X in each curve
OSMOTIC_POWERS = (1.0, 1.5, 2.0, 2.5, 3.0, 3.5)
DENSITY_POWERS = (0.0, 1.0, 1.5, 2.0)


@dataclass(frozen=True)
class Curve:
    """A quantity as sum of coefficient x X**power, X in kg salt per kg water.

    Parameters
    ----------
    quantity, unit : str
    coefficients : tuple of float
        In `unit`, one for each power.
    powers : tuple of float
        Exponents of X.
    fitted : tuple of (float, float)
        Range of X the engine's points span.
    max_error : float
        Largest relative difference from an engine point; between the points it is at most half as much again
        (tested).
    points : tuple of (float, float)
        The engine's own (X, value).
    """

    quantity: str
    unit: str
    coefficients: tuple[float, ...]
    powers: tuple[float, ...]
    fitted: tuple[float, float]
    max_error: float
    points: tuple[tuple[float, float], ...]

    def at(self, x: float) -> float:
        """Value of the curve at one X (for checks; the trail has its own relation)."""
        return math.fsum(c * x**p for c, p in zip(self.coefficients, self.powers, strict=True))


@dataclass(frozen=True)
class PropertyCurves:
    """Both curves of one water at one temperature, from one engine run.

    Parameters
    ----------
    osmotic, density : Curve
        Pa and kg/m3.
    salinity : float
        X of the water itself.
    temperature : float
        K.
    pure_density : float
        kg/m3 of pure water at 101 325 Pa, the engine's own.
    warnings : tuple of str
    substitutions : tuple of Substitution
    engine : EngineRecord
    """

    osmotic: Curve
    density: Curve
    salinity: float
    temperature: float
    pure_density: float
    warnings: tuple[str, ...]
    substitutions: tuple[Substitution, ...]
    engine: engine.EngineRecord


def _grid() -> list[float]:
    """Salinities at the extremes of a Chebyshev polynomial in their square root; the ends are met exactly.

    Seven of them fit as well as twelve of them do: one more than the osmotic curve has coefficients, and where the
    error of the best curve turns. Evenly spaced ones leave their maximum error between the points.
    """
    low, high = math.sqrt(LEAST), math.sqrt(GREATEST)
    inner = (0.5 * (low + high) - 0.5 * (high - low) * math.cos(math.pi * k / (POINTS - 1))
             for k in range(1, POINTS - 1))
    return [LEAST, *(z * z for z in inner), GREATEST]


def _fit(xs: list[float], ys: list[float], powers: tuple[float, ...], fixed: float = 0.0) -> list[float]:
    """Coefficients of minimum relative error; each row is divided by the value it must meet."""
    import numpy as np

    x, y = np.asarray(xs), np.asarray(ys)
    rows = x[:, None] ** np.asarray(powers)[None, :] / y[:, None]
    found, *_ = np.linalg.lstsq(rows, (y - fixed) / y, rcond=None)
    return [float(c) for c in found]


def _curve(quantity: str, unit: str, coefficients: list[float], powers: tuple[float, ...], xs: list[float],
           ys: list[float]) -> Curve:
    made = Curve(quantity, unit, tuple(coefficients), powers, (xs[0], xs[-1]), 0.0,
                 tuple(zip(xs, ys, strict=True)))
    worst = max(abs(made.at(x) / y - 1.0) for x, y in made.points)
    return Curve(quantity, unit, made.coefficients, powers, made.fitted, worst, made.points)


def _curves_text(water: Water, temperature: float) -> tuple[str, str]:
    """What `property_curves` asks the engine."""
    return "brine", _asked(water, temperature)[0]


@lru_cache(maxsize=16)
def _asked(water: Water, temperature: float) -> tuple[str, float, tuple[Substitution, ...]]:
    """Input of one run over the grid, the water's own salinity, and what had to be replaced."""
    temperature = number_in("temperature", temperature, *TEMPERATURES, "K")
    full = complete(water, "brine")
    own = salinity(full)
    if own <= 0.0:
        raise EngineError("a water without salt has no osmotic curve", where="water", value=own, unit="kg/kg",
                          allowed="above 0")
    grid = _grid()
    alkalinity, carbon = full.conserved() or (0.0, 0.0)
    swaps: tuple[Substitution, ...] = ()
    blocks = [solution(1, temperature, {})]
    for number, x in enumerate(grid, start=2):
        part = full.scaled(x / own)
        sent, found = send(part, "brine")
        swaps = swaps or found
        # pH of alkalinity and carbon as they concentrate; where alkalinity is too small or negative its
        # species are a few millionths of the salt and the water's own pH serves
        if carbon > 0.0 and alkalinity * LEAST / own > LEAST_ALKALINITY:
            blocks.append(solution(number, temperature, sent, alkalinity=part.alkalinity, carbon=part.carbon))
        else:
            blocks.append(solution(number, temperature, sent, ph=full.ph, carbon=part.carbon))
    head = punch({"log_water_activity": 'LA("H2O")', "density": "RHO"})
    return head + "".join(blocks) + "END\n", own, swaps


@lru_cache(maxsize=128)
def property_curves(water: Water, temperature: float) -> PropertyCurves:
    """Osmotic pressure and density of a water, all its ions concentrated or diluted in proportion.

    Parameters
    ----------
    water : Water
        Its composition; its own salinity does not matter.
    temperature : float
        K.

    Returns
    -------
    PropertyCurves
        Osmotic pressure pi = -R T ln(a_w) / V_w, with the molar volume V_w of pure water at this temperature
        and 101 325 Pa: at 35 g/kg 0.1 % below the exact balance of chemical potentials across a membrane, at
        80 g/kg 0.4 %. Density at 101 325 Pa; cold concentrate (80 g/kg, 5 degC) 0.04 % high. Both by the
        Pitzer data; nothing precipitates.

    Raises
    ------
    EngineError
        A water without salt, no solution, or a number out of range.
    """
    text, own, swaps = _asked(water, temperature)
    temperature, grid = float(temperature), _grid()
    outcome = engine.run("brine", text)
    rows = dict(outcome.columns)
    pure = rows["density"][0] * 1000.0
    scale = GAS_CONSTANT * temperature * pure / WATER_MOLAR_MASS * math.log(10.0)
    osmotic = [-scale * value for value in rows["log_water_activity"][1:]]
    density = [1000.0 * value for value in rows["density"][1:]]
    rho = [pure, *_fit(grid, density, DENSITY_POWERS[1:], pure)]
    pi = _fit(grid, osmotic, OSMOTIC_POWERS)
    return PropertyCurves(
        osmotic=_curve("osmotic pressure", "Pa", pi, OSMOTIC_POWERS, grid, osmotic),
        density=_curve("density", "kg/m3", rho, DENSITY_POWERS, grid, density),
        salinity=own, temperature=temperature, pure_density=pure, warnings=outcome.warnings,
        substitutions=swaps, engine=engine.engine_record("brine"))


def osmotic_curve(water: Water, temperature: float) -> Curve:
    """Osmotic pressure (Pa) of a water over its salinity; see `property_curves`."""
    return property_curves(water, temperature).osmotic


def density_curve(water: Water, temperature: float) -> Curve:
    """Density (kg/m3) of a water over its salinity; see `property_curves`."""
    return property_curves(water, temperature).density
