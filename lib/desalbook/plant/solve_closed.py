"""The torn stream of an isobaric exchanger: reject that mixes into the feed of the membranes.

The salinity into the membranes depends on the reject they make. It is found by repeated substitution with the
vessel solver, for all cases together, with secants that close the gap in a few passes.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.membrane import transport as t
from desalbook.plant import solve_torn as torn
from desalbook.plant.kept import kept
from desalbook.trail import relation
from desalbook.units import Fraction, KgPerM3, KgPerS, M3PerS, Salinity

__all__ = ["feed_water_of", "flow_of_water", "keep", "salinity_with_mixing", "solve_closed", "solve_kept", "take"]

LEVELS = (1e-3, 1e-6, 1e-9, 1e-11)  # lack of the vessels in one pass over the loop after another
USUAL = ("schock-miquel", "schock-miquel")


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
                 close: float = 1e-12, unknown: str = "", laws: tuple[str, str] = USUAL,
                 profiles: bool = True) -> tuple[
                     m.Solution, tuple[np.ndarray, np.ndarray], np.ndarray]:
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
    unknown : str
        What the vessel solver finds; the feed pressure, or the feed flow without a feed, where left out.
    laws : (str, str)
        Correlations of mass transfer and friction, names that `membrane.laws_named` knows.
    profiles : bool
        Keep the profiles along the vessels.

    Returns
    -------
    Solution, (salinity, boron) into the membranes, feed of the train at raw salinity
    """
    unknown = unknown or ("feed_flow" if feed is None else "feed_pressure")
    density = np.atleast_2d(fixed["density"])
    n = int(np.max([len(np.atleast_1d(v)) for k, v in fixed.items() if k != "elements" and v is not None]
                   + [len(density), np.size(salinity)]))
    density = np.broadcast_to(density, (n, density.shape[1]))
    raw, raw_boron = np.broadcast_to(salinity, (n,)).astype(float), np.broadcast_to(boron, (n,)).astype(float)
    raw_density = t.density_of.plain(raw, *density.T)
    vessels = np.broadcast_to(fixed["vessels"], (n,))
    whole = m.Cases(**fixed, feed_flow=1.0, feed_salinity=raw, boron_feed=raw_boron)
    near: dict[str, np.ndarray] = {}  # where each case stood when it was last solved
    passes = 0
    relations = m.laws_named(*laws)

    def run(x: np.ndarray, x_boron: np.ndarray, rows: np.ndarray, **how: Any) -> m.Solution:
        mixed = t.density_of.plain(x, *density[rows].T)
        if feed is None:
            flow = np.broadcast_to(fixed["permeate_flow"], (n,))[rows] / 0.4
        else:
            flow = flow_of_water.plain(feed_water_of.plain(np.broadcast_to(feed, (n,))[rows], raw_density[rows],
                                                           raw[rows]), x, mixed)
        cases = replace(take(whole, rows, n), feed_flow=flow, feed_salinity=x, boron_feed=x_boron)
        return m.solve(cases, unknown, slices, relations, near={k: v[rows] for k, v in near.items()} or None, **how)

    def again(x: np.ndarray, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        nonlocal passes
        # what is not closed by far need not be solved to the last digit
        r = run(x[:, 0], x[:, 1], rows, finished=False, tolerance=LEVELS[min(passes, len(LEVELS) - 1)])
        passes += 1
        keep(near, r, r.feed_pressure, rows, n)
        water = feed_water_of.plain(r.feed_flow, t.density_of.plain(x[:, 0], *density[rows].T), x[:, 0])
        w_c = r.out["concentrate_water"]
        end = t.train_last.plain(r.state["boron_out"], vessels[rows]) / w_c
        return np.column_stack([
            salinity_with_mixing.plain(raw[rows], mixing, w_c, water, r.out["concentrate_salinity"]),
            salinity_with_mixing.plain(raw_boron[rows], mixing, w_c, water, end)]), r.solved

    x = np.column_stack([raw, raw_boron])
    if mixing:
        with np.errstate(all="ignore"):
            passed = 0.4 if feed is None else np.clip(fixed["permeate_flow"] / np.asarray(feed), 0.0, 0.9)
            passed = np.broadcast_to(passed, (n,))
            for _ in range(4):  # as if no salt passed the membranes; it decides nothing but the speed
                x = salinity_with_mixing.plain(np.column_stack([raw, raw_boron]), mixing, (1 - passed)[:, None], 1.0,
                                               x / (1 - passed)[:, None])
            gentle = np.tile(np.eye(2) / (1 - mixing), (n, 1, 1))  # reject in proportion to what comes in
            x, _ = torn.close(again, x, np.column_stack([raw, np.where(raw_boron > 0, raw_boron, 1.0)]), close,
                              inverse=gentle)
    r = run(x[:, 0], x[:, 1], np.arange(n), profiles=profiles)
    water = feed_water_of.plain(r.feed_flow, t.density_of.plain(x[:, 0], *density.T), x[:, 0])
    return r, (x[:, 0], x[:, 1]), flow_of_water.plain(water, raw, raw_density)


solve_kept = kept(32)(solve_closed)
"""`solve_closed` with its latest answers kept: while a person turns what the membranes do not feel."""


def keep(near: dict[str, np.ndarray], r: m.Solution, pressure: np.ndarray, rows: np.ndarray, n: int) -> None:
    """Note where some of ``n`` cases stand now, as `membrane.solve` takes it for a start."""
    stood = {"feed_pressure": pressure, "feed_flow": r.feed_flow, "flux": r.state["flux"],
             "salt_flux": r.state["salt_flux"]}
    for name, values in stood.items():
        if name not in near:
            near[name] = np.full((n, *values.shape[1:]), np.nan)
        near[name][rows] = values


def take(cases: m.Cases, rows: np.ndarray, n: int) -> m.Cases:
    """Some of ``n`` cases; fields that are one number for all stay so."""
    def one(v: Any) -> Any:
        a = np.asarray(v)
        return a[rows] if a.ndim and a.shape[0] == n and (n > 1 or a.ndim > 1) else v

    return replace(cases, **{k: one(getattr(cases, k)) for k in cases.__dataclass_fields__ if k != "elements"})
