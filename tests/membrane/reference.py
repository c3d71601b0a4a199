"""A vessel as differential equations, written apart from the library: the tests' own second opinion.

Nothing here is imported from the membrane room. The wall flux is a root found by bisection at every call,
the integration is an adaptive Runge-Kutta method of order eight; the water's properties are given as bare
coefficients.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

__all__ = ["SEA", "Vessel", "draw", "feed_pressure", "march", "salty"]

# Osmotic pressure (Pa) = sum a_k X**(1 + k/2) and density (kg/m3) = r_0 + r_1 X + r_2 X**1.5 + r_3 X**2 of
# reference seawater at 25 degC, rounded from a Pitzer calculation. Only plausibility matters here: the same
# numbers go to both sides.
SEA = {
    "osmotic": (7.3e7, -5.9e7, 1.3e8, -6.0e7, 4.0e7, 1.0e7),
    "density": (997.05, 752.0, -110.0, -230.0),
}


def salty(x, a):
    """Osmotic pressure by Horner's rule in the root of X."""
    r = np.sqrt(x)
    value = 0.0
    for c in reversed(a):
        value = value * r + c
    return value * x


@dataclass(frozen=True)
class Vessel:
    """One vessel in coherent SI; permeabilities as they are in service, boron permeability by species."""

    elements: int
    feed: float  # m3/s into this vessel
    salinity: float  # kg/kg water
    temperature: float
    permeate_pressure: float
    port_loss: float
    a: float
    b: float
    b_acid: float
    b_borate: float
    boron: float  # kg/kg water
    ph: float
    water_viscosity: float
    osmotic: tuple
    density: tuple
    area: float
    length: float
    height: float
    porosity: float
    shift: tuple = (0.0, 0.0)  # of log10(borate/boric acid) with the logarithm of concentration and its square


def _rho(x, r):
    return r[0] + x * (r[1] + r[2] * np.sqrt(x) + r[3] * x)


def _pkb(temperature, s):
    """Dickson 1990, natural logarithm turned to a common one."""
    root = np.sqrt(s)
    ln_k = (-8966.90 - 2890.53 * root - 77.942 * s + 1.728 * s * root - 0.0996 * s * s) / temperature
    ln_k += 148.0248 + 137.1942 * root + 1.62142 * s
    ln_k += -(24.4344 + 25.085 * root + 0.2474 * s) * np.log(temperature) + 0.053105 * root * temperature
    return -ln_k / np.log(10)


def _local(v: Vessel, water, salt, pressure):
    """Flux, permeate salinity, enhancement factor and pressure slope at one place."""
    x = salt / water
    rho = _rho(x, v.density)
    q = (water + salt) / rho
    celsius = v.temperature - 273.15
    s = x / (1 + x)
    factor_a = 1.541 + 1.998e-2 * celsius - 9.52e-5 * celsius**2
    factor_b = 7.974 - 7.561e-2 * celsius + 4.724e-4 * celsius**2
    mu = v.water_viscosity * (1 + s * (factor_a + factor_b * s))
    diffusion = 6.725e-6 * np.exp(0.1546e-3 * (rho * s) - 2513 / v.temperature)
    d_h = 4 * v.porosity / (2 / v.height + (1 - v.porosity) * (4 / (v.height / 2)))
    u = q / (v.area / 2 / v.length * v.height * v.porosity)
    re, sc = u * d_h * rho / mu, mu / rho / diffusion
    k = 0.065 * re**0.875 * sc**0.25 * diffusion / d_h
    slope = 6.23 * re**-0.3 / d_h * rho * u * u / 2

    def lack(j):
        beta = np.exp(j / k)
        through = v.b * beta * x / (j + v.b * beta)
        wall = through + (x - through) * beta
        return v.a * (pressure - v.permeate_pressure - salty(wall, v.osmotic) + salty(through, v.osmotic)) - j

    top = v.a * pressure
    while lack(top) > 0:
        top *= 2
    j = brentq(lack, 0.0, top, xtol=1e-22, rtol=1e-14) if lack(1e-15) > 0 else 0.0
    beta = np.exp(j / k)
    return j, v.b * beta * x / (j + v.b * beta), beta, slope, k


def march(v: Vessel, feed_pressure: float, rtol: float = 1e-10, dense: bool = True) -> dict[str, float]:
    """Integrate from inlet to outlet; quantities of one vessel, those of places between only where ``dense``."""
    rho = _rho(v.salinity, v.density)
    water = v.feed * rho / (1 + v.salinity)
    per_element = v.area * v.density[0]
    pk = _pkb(v.temperature, 35 * v.salinity / (1 + v.salinity) / 0.03516504)

    def slopes(_, y):
        w, s, p, boron = y
        j, through, beta, slope, _ = _local(v, w, s, p)
        x = s / w
        more = np.log(x / v.salinity)
        share = 1 / (1 + 10 ** (pk - v.ph - v.shift[0] * more - v.shift[1] * more**2))
        b = v.b_acid + (v.b_borate - v.b_acid) * share
        passing = b * beta * (boron / w) / (j + b * beta)
        return [-j * per_element, -j * per_element * through, -slope * v.length, -j * per_element * passing]

    start = [water, water * v.salinity, feed_pressure - v.port_loss / 2, water * v.boron]
    run = solve_ivp(slopes, (0.0, float(v.elements)), start, method="DOP853", rtol=rtol,
                    atol=[1e-12, 1e-14, 1e-4, 1e-18], dense_output=dense)
    w, s, p, boron = run.y[:, -1]
    permeate, salt, b_out = water - w, water * v.salinity - s, water * v.boron - boron
    flow = (permeate + salt) / _rho(salt / permeate, v.density)
    if not dense:
        return {"permeate_flow": flow}
    places = np.linspace(0, v.elements, 50 * v.elements + 1)
    profile = run.sol(places)
    local = [_local(v, *profile[:3, i]) for i in range(len(places))]
    flux, beta = np.array([x[0] for x in local]), np.array([x[2] for x in local])
    reject = (w + s) / _rho(s / w, v.density)
    at_one = run.sol(1.0)
    return {
        "permeate_flow": flow, "permeate_tds": salt / flow, "permeate_boron": b_out / flow,
        "concentrate_tds": s / reject, "concentrate_flow": reject, "vessel_drop": start[2] - p,
        "pressure_drop": start[2] - p + v.port_loss, "beta_max": float(beta.max()),
        "lead_flux": float((water - at_one[0]) / per_element), "least_flux": float(flux.min()),
    }


def feed_pressure(v: Vessel, permeate: float, rtol: float = 1e-10) -> float:
    """Pressure at which the vessel gives this permeate flow."""
    def lack(p):
        return march(v, p, rtol, dense=False)["permeate_flow"] / permeate - 1

    low = high = salty(v.salinity, v.osmotic) + v.permeate_pressure + permeate / (v.elements * v.area * v.a)
    while lack(high) < 0:
        high *= 1.3
    while lack(low) > 0:
        low *= 0.9
    return brentq(lack, low, high, rtol=0.1 * rtol)


def draw(rng: np.random.Generator, count: int) -> list[Vessel]:
    """Vessels inside the usual range of seawater plants, every field moved."""
    made = []
    for _ in range(count):
        kelvin = rng.uniform(281, 308)
        made.append(Vessel(
            elements=int(rng.integers(5, 9)), feed=rng.uniform(5.5, 12) / 3600, salinity=rng.uniform(0.028, 0.046),
            temperature=kelvin, permeate_pressure=rng.uniform(0, 2e5), port_loss=rng.uniform(0, 5e4),
            a=rng.uniform(2.0e-12, 4.2e-12), b=rng.uniform(0.8e-8, 4e-8), b_acid=rng.uniform(2e-7, 7e-7),
            b_borate=rng.uniform(1e-8, 5e-8), boron=rng.uniform(3e-6, 6e-6), ph=rng.uniform(6.5, 9.2),
            water_viscosity=rng.uniform(7e-4, 1.4e-3),
            osmotic=tuple(c * (kelvin / 298.15) * rng.uniform(0.98, 1.02) for c in SEA["osmotic"]),
            density=tuple(c * f for c, f in zip(SEA["density"], (1, *rng.uniform(0.9, 1.1, 3)), strict=True)),
            area=rng.uniform(34, 41), length=rng.uniform(0.9, 1.0), height=rng.uniform(6.8e-4, 8.8e-4),
            porosity=rng.uniform(0.85, 0.91), shift=(rng.uniform(-0.1, 0.3), rng.uniform(-0.1, 0.1))))
    return made
