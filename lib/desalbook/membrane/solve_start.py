"""A first guess of flux, pressure and feed flow, from a coarse march; it decides nothing but the speed."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.membrane import transport as t
from desalbook.membrane.solve_cases import Cases, Laws
from desalbook.membrane.solve_profile import film

__all__ = ["plain_start", "start"]

LEAST = 1e-10  # m/s


def _march(g: dict[str, Any], c: Cases, pressure, k, pi, part, loss):
    """Flux of each slice and share of the water passed, for salt that stays behind and friction that is even."""
    nodes = part.shape[1]
    y, j = np.zeros(len(pressure)), np.zeros(len(pressure))
    made = np.empty((nodes, len(pressure)))
    least = np.maximum(0.05 * np.mean(g["permeability"], axis=1) * (pressure - pi), LEAST)
    a = np.broadcast_to(g["permeability"], part.shape)
    for i in range(nodes):
        left = np.maximum(1 - y, 0.03)
        wall = pi / left * np.exp(np.minimum(j / (k * left**0.875), 0.7))
        drive = pressure - loss * (i + 0.5) / nodes - wall
        slope = a[:, i] * (wall / left * part[:, i] / 2 + wall / (k * left**0.875) * (i == 0))
        j = np.maximum(a[:, i] * drive / (1 + slope), least)
        y = np.minimum(y + j * part[:, i], 0.99)
        made[i] = j
    return made.T, y


def start(c: Cases, unknown: str, slices: int, laws: Laws, g: dict[str, Any]):
    """Flux (cases, slices), pressure and feed flow (cases,)."""
    pi_feed = laws.of("osmotic")(c.feed_salinity, *[r[:, 0] for r in g["osmotic"]])
    nodes, n = int(c.elements) * slices, len(pi_feed)
    pressure, feed = c.feed_pressure.copy(), c.feed_flow.copy()
    if unknown == "feed_flow":
        feed = c.permeate_flow / 0.4
    x = c.feed_salinity
    one = {k: v if isinstance(v, list) else v[:, :1] for k, v in g.items()}
    rho = laws.of("density")(x, *[r[:, 0] for r in g["density"]])

    def world(feed):
        water = t.vessel_water.plain(feed, rho, x, c.vessels)
        s = {"water": water[:, None], "salt": t.vessel_salt.plain(water, x)[:, None]}
        film(one, laws, s)
        lost = t.slice_loss.plain(laws.of("friction")(s["reynolds"]), one["length"] * nodes, one["d_h"], s["density"],
                                  s["velocity"])[:, 0]
        part = np.broadcast_to(g["pure"] * g["area"] / water[:, None], (n, nodes))
        return np.maximum(s["mass_transfer"][:, 0], 1e-9), 0.7 * lost + c.interconnector_loss * (c.elements - 1), part

    k, loss, part = world(feed)
    fixed = c.port_loss / 2 + c.permeate_pressure
    if unknown == "permeate_flow":
        flux, _ = _march(g, c, pressure - fixed, k, pi_feed, part, loss)
        return flux, pressure, feed
    wanted = np.minimum(c.permeate_flow / feed, 0.95)
    if unknown == "feed_pressure":
        low = wanted / np.sum(part * g["permeability"], axis=1) + pi_feed + loss / 2
        first = low + 0.35 * pi_feed * wanted
        _, y0 = _march(g, c, low, k, pi_feed, part, loss)
        flux, y1 = _march(g, c, first, k, pi_feed, part, loss)
        for _ in range(3):  # secant on the pressure
            slope = np.maximum((y1 - y0) / np.where(first == low, 1.0, first - low), 0.2 * y1 / first)
            low, y0 = first, y1
            first = first + np.clip((wanted - y1) / slope, -0.3 * first, 0.5 * first)
            first = np.maximum(first, 1.01 * pi_feed)
            flux, y1 = _march(g, c, first, k, pi_feed, part, loss)
        pressure = np.minimum(first + fixed, 3e8)
        return flux * (wanted / y1)[:, None], pressure, feed
    low, high = c.permeate_flow / 0.96, c.permeate_flow / 0.04
    for _ in range(9):  # more feed gives more permeate, until friction counts
        feed = np.sqrt(low * high)
        k, loss, part = world(feed)
        flux, y = _march(g, c, pressure - fixed, k, pi_feed, part, loss)
        short = y * feed < c.permeate_flow
        low, high = np.where(short, feed, low), np.where(short, high, feed)
    return flux, pressure, feed


def plain_start(c: Cases, unknown: str, slices: int, laws: Laws, g: dict[str, Any]):
    """Flux that falls evenly, for cases the march misleads."""
    pi_feed = laws.of("osmotic")(c.feed_salinity, *[r[:, 0] for r in g["osmotic"]])
    nodes = int(c.elements) * slices
    membrane = c.vessels * np.sum(g["area"] * np.ones((len(pi_feed), nodes)), axis=1)
    permeability = np.mean(g["permeability"], axis=1)
    pressure, feed = c.feed_pressure.copy(), c.feed_flow.copy()
    if unknown == "feed_flow":
        feed = c.permeate_flow / 0.4
    guess = c.permeate_flow / membrane
    if unknown == "permeate_flow":
        guess = np.maximum(permeability * (pressure - c.permeate_pressure - 1.3 * pi_feed), 1e-8) * 0.6
        guess = np.minimum(guess, 0.5 * feed / membrane)
    if unknown == "feed_pressure":
        recovery = np.minimum(guess * membrane / feed, 0.95)
        pressure = guess / permeability + 1.15 * pi_feed / np.sqrt(np.maximum(1 - recovery, 0.02)) + 1e5
    return guess[:, None] * np.linspace(1.5, 0.5, nodes), pressure, feed
