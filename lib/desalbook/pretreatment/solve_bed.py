"""Wash rates at which something happens to a bed: media reach the collector, layers change places.

Plain numbers; the functions that record them prove each root by a residual.
"""

from __future__ import annotations

import functools

import numpy as np

from desalbook.pretreatment import backwash_relations as b
from desalbook.pretreatment import media_relations as m

__all__ = ["FASTEST", "porosity", "rate_at_equal_density", "rate_at_rise", "rise", "settle"]

FASTEST = 200 / 3600
"""m/s; no filter is washed faster."""


def porosity(rate, size, grain_density, settled, rho: float, mu: float):
    """Porosity of washed layers at a rate, by the relations of the trail."""
    galileo = b.galileo_of.plain(size, rho, grain_density, mu)
    return b.expanded_porosity_of.plain(b.wash_reynolds.plain(rho, rate, size, mu), galileo, settled)


def rise(rate, layers: dict[str, np.ndarray], rho: float, mu: float) -> float:
    """Rise of the bed, m, over its layers."""
    eps = porosity(rate, layers["d60"], layers["grain_density"], layers["settled_porosity"], rho, mu)
    return float(b.bed_rise_of.plain(layers["depth"], b.expansion_of.plain(eps, layers["settled_porosity"])))


def _root(f, low: float, high: float) -> float | None:
    """Where a falling function passes zero; None where it does not."""
    if not f(low) > 0 > f(high):
        return None
    at_low, at_high, kept = f(low), f(high), 0
    for _ in range(100):  # false position; the end that stays twice counts half (Illinois)
        middle = high - at_high * (high - low) / (at_high - at_low)
        here = f(middle)
        if abs(here) < 1e-12 or high - low < 1e-15:
            return middle
        if here > 0:
            low, at_low, at_high = middle, here, at_high / 2 if kept == 1 else at_high
            kept = 1
        else:
            high, at_high, at_low = middle, here, at_low / 2 if kept == -1 else at_low
            kept = -1
    return low if abs(f(low)) < abs(f(high)) else high


def rate_at_rise(layers: dict[str, np.ndarray], freeboard: float, rho: float, mu: float) -> float | None:
    """Rate at which the bed has risen by the freeboard; None where no rate of any filter does that."""
    return _root(lambda v: freeboard - rise(v, layers, rho, mu), 0.0, FASTEST)


@functools.lru_cache(maxsize=512)
def rate_at_equal_density(upper: tuple[float, float, float], lower: tuple[float, float, float], rho: float,
                          mu: float) -> float | None:
    """Least rate at which two layers weigh the same; None where the lower one stays the heavier.

    Parameters
    ----------
    upper, lower : (size, grain density, settled porosity)
    """
    def left(v):
        dense = [m.bulk_density.plain(porosity(v, d, s, e, rho, mu), s, rho) for d, s, e in (upper, lower)]
        return m.equal_density_left.plain(dense[1], dense[0])

    rates = np.linspace(0.0, FASTEST, 401)
    held = np.asarray(left(rates))
    below = np.flatnonzero(held <= 0)
    if not len(below):
        return None
    if below[0] == 0:
        return 0.0
    return _root(left, float(rates[below[0] - 1]), float(rates[below[0]]))


def settle(size, grain_density, sphericity, rho: float, mu: float):
    """Settling velocity of single grains, m/s: drag and weight in balance."""
    size, dense, shape = (np.asarray(x, dtype=float) for x in (size, grain_density, sphericity))
    key = (*map(float, size), *map(float, dense), *map(float, shape))
    return np.array(_settle(key, rho, mu))


@functools.lru_cache(maxsize=512)
def _settle(key: tuple[float, ...], rho: float, mu: float) -> tuple[float, ...]:
    size, dense, shape = np.array(key).reshape(3, -1)
    low, high = np.full(size.shape, 1e-9), np.full(size.shape, 5.0)

    def left(v):
        drag = m.drag_of_grain.plain(m.grain_reynolds.plain(shape, size, v, rho, mu))
        return m.settling_of.plain(drag, size, dense, rho) - v

    for _ in range(60):
        middle = (low + high) / 2
        above = left(middle) > 0
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return tuple((low + high) / 2)
