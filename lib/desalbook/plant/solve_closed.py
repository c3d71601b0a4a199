"""The torn stream of an isobaric exchanger: reject that mixes into the feed of the membranes.

The salinity into the membranes depends on the reject they make. It is found by repeated substitution with the
vessel solver, for all cases together; each pass closes the gap some twentyfold.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.membrane import transport as t
from desalbook.trail import relation
from desalbook.units import Fraction, KgPerM3, KgPerS, M3PerS, Salinity

__all__ = ["feed_water_of", "flow_of_water", "salinity_with_mixing", "solve_closed"]


@relation("Water in the feed of the train", symbol="M_fw", unit="kg/s", source="definition")
def feed_water_of(feed_flow: M3PerS, feed_density: KgPerM3, feed_salinity: Salinity) -> KgPerS:
    """Mass flow of water."""
    return feed_flow * feed_density / (1 + feed_salinity)


@relation("Flow into the membranes", symbol="Q_fm", unit="m^3/s", source="definition")
def flow_of_water(water: KgPerS, salinity: Salinity, density: KgPerM3) -> M3PerS:
    """Volume flow that carries this water at this salinity."""
    return water * (1 + salinity) / density


@relation("Salinity into the membranes", symbol="X_fm", unit="1", source="stover-2007",
          note="mixing is measured by volume; taken here as share of water, which moves it by some 3 % of itself")
def salinity_with_mixing(feed_salinity: Salinity, exchanger_mixing: Fraction, concentrate_water: KgPerS,
                         water: KgPerS, concentrate_salinity: Salinity) -> Salinity:
    """The part of the feed that passes the exchanger takes up reject."""
    return feed_salinity + exchanger_mixing * concentrate_water / water * (concentrate_salinity - feed_salinity)


def solve_closed(fixed: dict[str, Any], salinity: Any, boron: Any, feed: Any, mixing: float, slices: int,
                 close: float = 1e-13) -> tuple[m.Solution, tuple[np.ndarray, np.ndarray], np.ndarray]:
    """Solve cases whose membrane feed takes up reject.

    Parameters
    ----------
    fixed : dict
        Fields of `membrane.Cases` except ``feed_flow``, ``feed_salinity`` and ``boron_feed``.
    salinity, boron : float or array over the cases
        Of the raw water, per mass of water.
    feed : float, array or None
        Feed of the train, m3/s at the raw salinity; None to find the flow that ``feed_pressure`` asks for.
    mixing : float
        Share of reject in the stream that passes the exchanger; zero without one.
    close : float
        Largest change of salinity, relative, that counts as closed.

    Returns
    -------
    Solution, (salinity, boron) into the membranes, feed of the train at raw salinity
    """
    density = np.atleast_2d(fixed["density"])
    n = int(np.max([np.size(v) for k, v in fixed.items() if k not in ("density", "osmotic", "elements")]
                   + [len(density), np.size(salinity)]))
    density = np.broadcast_to(density, (n, density.shape[1]))
    raw, raw_boron = np.broadcast_to(salinity, (n,)).astype(float), np.broadcast_to(boron, (n,)).astype(float)
    raw_density = t.density_of.plain(raw, *density.T)
    vessels = np.broadcast_to(fixed["vessels"], (n,))
    x, x_boron = raw.copy(), raw_boron.copy()
    for _ in range(40):
        mixed = t.density_of.plain(x, *density.T)
        if feed is None:
            flow = fixed["permeate_flow"] / 0.4 * np.ones(n)
        else:
            flow = flow_of_water.plain(feed_water_of.plain(feed, raw_density, raw), x, mixed)
        r = m.solve(m.Cases(**fixed, feed_flow=flow, feed_salinity=x, boron_feed=x_boron),
                    "feed_flow" if feed is None else "feed_pressure", slices)
        water = feed_water_of.plain(r.feed_flow, mixed, x)
        if mixing == 0.0:
            break
        w_c = t.train_last.plain(r.state["water_out"], vessels)
        new = salinity_with_mixing.plain(raw, mixing, w_c, water, r.out["concentrate_salinity"])
        new_boron = salinity_with_mixing.plain(raw_boron, mixing, w_c, water,
                                               t.train_last.plain(r.state["boron_out"], vessels) / w_c)
        known = np.isfinite(new)
        moved = np.max(np.abs(new - x)[known] / raw[known], initial=0.0)
        x, x_boron = np.where(known, new, x), np.where(known, new_boron, x_boron)
        if moved < close:
            break
    return r, (x, x_boron), flow_of_water.plain(water, raw, raw_density)
