"""A membrane array of stages and passes, many cases at once.

A pass is a row of stages: the reject of one is the feed of the next, with or without a boost between. Its feed
pressure is the root at which the stages together give the wanted permeate. A second pass takes part of the
first pass's permeate; its reject may return to the first pass's feed, as may a share of the reject; an
exchanger mixes reject into the feed. What is torn is the permeate of the first pass and the water, salt and
boron that enter it; `solve_torn.close` closes all cases together.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.membrane import transport as t
from desalbook.membrane.solve_cases import nodes_of
from desalbook.plant import solve_torn as torn
from desalbook.plant.array_relations import (
    caustic_salinity,
    first_pass_permeate,
    joined,
    part_of,
    second_permeate_of,
)
from desalbook.plant.solve_closed import feed_water_of, flow_of_water, keep, salinity_with_mixing, take

__all__ = ["Answer", "Flow", "Loops", "Pass", "SecondPass", "Stage", "solve_array"]


@dataclass
class Flow:
    """Mass flows of water, salt and boron, kg/s, one row a case."""

    water: np.ndarray
    salt: np.ndarray
    boron: np.ndarray

    def part(self, share: Any) -> Flow:
        """A share of it."""
        return Flow(*(part_of.plain(v, share) for v in (self.water, self.salt, self.boron)))

    def __add__(self, other: Flow) -> Flow:
        return Flow(*(joined.plain(a, b) for a, b in zip(self.all, other.all, strict=True)))

    @property
    def all(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """The three."""
        return self.water, self.salt, self.boron

    def volume(self, density: np.ndarray) -> np.ndarray:
        """Volume flow by the curve of density, m3/s."""
        rho = t.density_of.plain(t.ratio_of.plain(self.salt, self.water), *density.T)
        return t.volume_flow.plain(self.salt, self.water, rho)


@dataclass(frozen=True)
class Stage:
    """One stage: `membrane.Cases` fields except its feed, pressures and permeate, and the boost before it, Pa."""

    fixed: dict[str, Any]
    boost: Any = 0.0


@dataclass(frozen=True)
class Pass:
    """Stages in the order the reject passes them."""

    stages: tuple[Stage, ...]


@dataclass(frozen=True)
class SecondPass:
    """What the second pass takes and gives.

    Parameters
    ----------
    of : Pass
    share : float or array
        Of the first pass's permeate (or of its rear part) that enters.
    front_elements : int
        Elements whose permeate leaves at the front and by-passes; zero takes the mixed permeate.
    recovery : float or array
        Permeate over feed of the second pass.
    returned : bool
        Its reject joins the feed of the first pass; else it is waste.
    caustic : float or array
        mol of sodium hydroxide per kg of water in its feed.
    """

    of: Pass
    share: Any = 1.0
    front_elements: int = 0
    recovery: Any = 0.9
    returned: bool = True
    caustic: Any = 0.0


@dataclass(frozen=True)
class Loops:
    """What joins the stages: exchanger mixing, share of the reject that is recycled, second pass."""

    mixing: float = 0.0
    recycle: float = 0.0
    second: SecondPass | None = None


@dataclass
class Run:
    """One pass solved: a solution a stage, and what left it."""

    stages: list[m.Solution]
    pressure: np.ndarray
    permeate: Flow
    reject: Flow
    good: np.ndarray
    reason: np.ndarray
    lack: np.ndarray = field(default_factory=lambda: np.zeros(0))


@dataclass
class Answer:
    """The array solved: passes, streams and the torn numbers, one row a case."""

    first: Run
    second: Run | None
    raw: Flow
    feed: Flow
    bypass: Flow
    second_feed: Flow | None
    product: Flow
    product_flow: np.ndarray
    torn: np.ndarray
    gap: np.ndarray
    solved: np.ndarray
    reason: np.ndarray


def _reject(r: m.Solution, vessels: np.ndarray) -> Flow:
    return Flow(*(t.train_last.plain(r.state[f"{k}_out"], vessels) for k in ("water", "salt", "boron")))


def permeate_of(r: m.Solution, skip: int = 0) -> Flow:
    """Permeate of the elements behind the first ``skip``."""
    at = skip * r.slices
    c, s = r.cases, r.state
    area = nodes_of(t.slice_area.plain(np.asarray(c.element_area), r.slices), r.slices)
    area = np.broadcast_to(area, s["flux"].shape)[:, at:]
    water = t.permeate_water.plain(s["flux"][:, at:], np.asarray(c.density)[:, 0], area, c.vessels)
    salt, boron = (t.permeate_solute.plain(s[k][:, at:], area, c.vessels) for k in ("salt_flux", "boron_flux"))
    return Flow(water, salt, boron)


LEVELS = ((1e-5, 1e-3), (1e-7, 1e-5), (1e-9, 1e-8))  # lack of the vessels and of a pass's permeate in the first passes
TIGHT = 1e-11


class _PassSolver:
    """One pass over all cases; begins where each case ended the last time."""

    def __init__(self, of: Pass, n: int, slices: int, tolerance: float, laws: m.Laws | None):
        self.of, self.n, self.slices, self.closest, self.laws = of, n, slices, tolerance, laws
        zeros = np.zeros(n)
        ones = {"permeate_flow": zeros + 1, "feed_pressure": zeros + 1}
        self.cases = [m.Cases(**(ones | s.fixed), feed_flow=zeros + 1, feed_salinity=zeros, boron_feed=zeros)
                      for s in of.stages]
        self.density = np.broadcast_to(np.atleast_2d(of.stages[0].fixed["density"]), (n, 4))
        self.guess, self.slope = np.full(n, np.nan), np.ones((n, 1, 1))
        self.near: list[dict[str, np.ndarray]] = [{} for _ in of.stages]
        self.tolerance, self.lack, self.finished = tolerance, TIGHT, True

    def level(self, passes: int) -> None:
        """How closely a pass over the loops is solved: what is not closed by far needs no last digits."""
        self.finished = False
        self.lack, self.tolerance = LEVELS[passes] if passes < len(LEVELS) else (TIGHT, self.closest)

    def last(self) -> None:
        """All digits, and all that is asked of a train."""
        self.finished, self.lack, self.tolerance = True, TIGHT, self.closest

    def _vessels(self, k: int, rows: np.ndarray) -> np.ndarray:
        return np.broadcast_to(self.of.stages[k].fixed["vessels"], (self.n,))[rows]

    def _solve(self, k: int, rows: np.ndarray, feed: Flow, unknown: str, **given: Any) -> m.Solution:
        """One stage, from where it stood before, if all of these cases have stood somewhere."""
        near = self.near[k]
        known = near and np.all(np.isfinite(near["feed_pressure"][rows]))
        r = m.solve(replace(take(self.cases[k], rows, self.n), feed_flow=feed.volume(self.density[rows]),
                            feed_salinity=t.ratio_of.plain(feed.salt, feed.water),
                            boron_feed=t.ratio_of.plain(feed.boron, feed.water), **given), unknown, self.slices,
                    self.laws, near={name: v[rows] for name, v in near.items()} if known else None,
                    finished=self.finished, tolerance=self.lack)
        keep(near, r, np.where(r.solved, r.feed_pressure, np.nan), rows, self.n)
        return r

    def _left(self, r: m.Solution) -> np.ndarray:
        """Pressure of the reject of a stage."""
        if self.finished:
            return r.out["concentrate_pressure"]
        c = r.cases
        vessel = t.vessel_pressure_drop.plain(r.state["loss"], c.interconnector_loss, c.elements)
        return t.concentrate_pressure.plain(r.feed_pressure, t.train_pressure_drop.plain(vessel, c.port_loss))

    def _march(self, rows: np.ndarray, feed: Flow, pressure: np.ndarray) -> Run:
        stages, reason, good = [], np.full(len(rows), "", dtype=object), np.ones(len(rows), dtype=bool)
        at, out = pressure, None
        for k, stage in enumerate(self.of.stages):
            if k:
                at = self._left(stages[-1]) + np.broadcast_to(stage.boost, (self.n,))[rows]
            r = self._solve(k, rows, feed, "permeate_flow", feed_pressure=at)
            stages.append(r)
            words = np.array([f"{x} (stage {k + 1})" if x and len(self.of.stages) > 1 else x for x in r.reason],
                             dtype=object)
            reason = np.where(good, words, reason)
            good = good & r.solved
            p, feed = permeate_of(r), _reject(r, self._vessels(k, rows))
            out = p if out is None else out + p
        assert out is not None
        return Run(stages, pressure, out, feed, good, reason)

    def at_pressure(self, rows: np.ndarray, feed: Flow, pressure: np.ndarray) -> Run:
        """Rated at a held feed pressure."""
        return self._march(rows, feed, pressure)

    def for_permeate(self, rows: np.ndarray, feed: Flow, wanted: np.ndarray) -> Run:
        """The feed pressure at which the stages give this permeate."""
        if len(self.of.stages) == 1:
            r = self._solve(0, rows, feed, "feed_pressure", permeate_flow=wanted)
            return Run([r], r.feed_pressure, permeate_of(r), _reject(r, self._vessels(0, rows)), r.solved,
                       np.array(r.reason, dtype=object))
        area = np.sum([self._vessels(k, rows) * c.elements * np.broadcast_to(c.element_area, (self.n,))[rows]
                       for k, c in enumerate(self.cases)], axis=0)
        first = take(self.cases[0], rows, self.n)
        stiff = area * first.water_permeability  # permeate for one Pa without polarisation
        x = t.ratio_of.plain(feed.salt, feed.water)
        pi = t.osmotic_of.plain(x, *np.atleast_2d(first.osmotic).T)
        left = 1 - wanted / feed.volume(self.density[rows])
        start = wanted / stiff + 1.15 * pi / np.sqrt(np.maximum(left, 0.05)) + 1.5e5
        start = np.where(np.isfinite(self.guess[rows]), self.guess[rows], start)
        latest: dict[str, Any] = {}

        def again(p: np.ndarray, inner: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
            r = self._march(rows[inner], Flow(*(v[inner] for v in feed.all)), p[:, 0])
            latest["run"], latest["inner"] = r, inner
            got = r.permeate.volume(self.density[rows[inner]])
            # where the reject thickens, the permeate answers a rise of pressure by about half of the stiff slope
            return (p[:, 0] + (wanted[inner] - got) / (0.6 * stiff[inner]))[:, None], r.good

        slope = self.slope[rows]
        p, gap = torn.close(again, start[:, None], np.maximum(start, 1e5)[:, None], self.tolerance,
                            longest=1.0, inverse=slope)
        self.slope[rows] = slope
        run = latest["run"] if len(latest["inner"]) == len(rows) else self._march(rows, feed, p[:, 0])
        closed = gap <= np.maximum(1e-9, self.tolerance)
        run.reason = np.where(run.good & ~closed, "no feed pressure gives this permeate", run.reason)
        run.good = run.good & closed
        self.guess[rows] = np.where(run.good, run.pressure, np.nan)
        self.slope[rows] = np.where(run.good[:, None, None], self.slope[rows], 1.0)
        return run


def _start(raw: Flow, loops: Loops, guess: np.ndarray, wanted: bool) -> np.ndarray:
    """First guess of what is torn, as if no salt passed the membranes; it decides nothing but the speed."""
    n, second = len(guess), loops.second
    passed = np.minimum(1e3 * guess, 0.9 * raw.water) if wanted else 0.4 * raw.water
    back = np.zeros(n)
    if second is not None and second.returned:
        back = passed * np.broadcast_to(second.share, (n,)) * (1 - np.broadcast_to(second.recovery, (n,)))
    water = np.maximum((raw.water - loops.recycle * passed + back) / (1 - loops.recycle), raw.water)
    left = np.maximum(water - passed, 0.1 * water)
    found = [guess, water]
    for solute in (raw.salt, raw.boron):
        x = solute / water
        for _ in range(8):
            out = x * water / left
            into = t.ratio_of.plain(solute + loops.recycle * out * left, water)
            x = salinity_with_mixing.plain(into, loops.mixing, left, water, out)
        found.append(x)
    return np.column_stack(found)


def solve_array(first: Pass, loops: Loops, *, salinity: Any, boron: Any, feed_flow: Any, permeate: Any = None,
                pressure: Any = None, slices: int = 3, close: float = 1e-10, laws: m.Laws | None = None) -> Answer:
    """Solve an array of stages and passes.

    Parameters
    ----------
    first : Pass
    loops : Loops
    salinity, boron : array over the cases
        Of the raw water, per mass of water.
    feed_flow : array
        Raw feed of the train, m3/s.
    permeate, pressure : array
        One of the two: the product flow wanted (then the feed pressure is found), or the held feed pressure.
    slices : int
        Per element.
    close : float
        Largest relative gap of a torn number that counts as closed.
    laws : Laws, optional
        Other relations for the channels.

    Returns
    -------
    Answer
        ``solved`` is False where no answer exists, ``reason`` says why.
    """
    n = len(np.atleast_1d(salinity))
    full = np.broadcast_to
    x, xb = full(salinity, (n,)).astype(float), full(boron, (n,)).astype(float)
    one, second = _PassSolver(first, n, slices, 0.1 * close, laws), loops.second
    count = 0
    two = _PassSolver(second.of, n, slices, 0.1 * close, laws) if second is not None else None
    rho = t.density_of.plain(x, *one.density.T)
    water = feed_water_of.plain(full(feed_flow, (n,)), rho, x)
    raw = Flow(water, water * x, water * xb)
    want = full(permeate, (n,)).astype(float) if permeate is not None else None
    held = full(pressure, (n,)).astype(float) if pressure is not None else None
    latest: dict[str, Any] = {}

    def passes(v: np.ndarray, rows: np.ndarray) -> dict[str, Any]:
        feed = Flow(v[:, 1], v[:, 1] * v[:, 2], v[:, 1] * v[:, 3])
        r = one.at_pressure(rows, feed, held[rows]) if held is not None else one.for_permeate(rows, feed, v[:, 0])
        got: dict[str, Any] = {"first": r, "feed": feed, "bypass": r.permeate, "second": None, "second_feed": None}
        product = r.permeate
        if second is not None and two is not None:
            share = full(second.share, (n,))[rows]
            rear = r.permeate
            if second.front_elements:
                rear = permeate_of(r.stages[0], second.front_elements)
                for later in r.stages[1:]:
                    rear = rear + permeate_of(later)
            taken = rear.part(share)
            got["bypass"] = r.permeate + taken.part(-1.0)
            dosed = Flow(taken.water, caustic_salinity.plain(taken.salt, full(second.caustic, (n,))[rows], taken.water),
                         taken.boron)
            got["second_feed"] = dosed
            asked = second_permeate_of.plain(dosed.volume(two.density[rows]), full(second.recovery, (n,))[rows])
            s = two.for_permeate(rows, dosed, asked)
            got["second"] = s
            product = got["bypass"] + s.permeate
        got["product"], got["product_flow"] = product, product.volume(one.density[rows])
        return got

    def again(v: np.ndarray, rows: np.ndarray, last: bool = False) -> tuple[np.ndarray, np.ndarray]:
        nonlocal count
        for each in (one, two):
            if each is not None:
                each.last() if last else each.level(count)
        count += 1
        got = passes(v, rows)
        latest.update(got)
        r = got["first"]
        good = r.good.copy()
        mixed = Flow(*(k[rows] for k in raw.all)) + r.reject.part(loops.recycle)
        if second is not None and second.returned:
            mixed = mixed + got["second"].reject
        if got["second"] is not None:
            good &= got["second"].good
        new = v.copy()
        if want is not None:
            w = want[rows]
            slope = 1.0 if second is None else 1 - full(second.share, (n,))[rows] * (1 - full(
                second.recovery, (n,))[rows])
            new[:, 0] = v[:, 0] + (w - got["product_flow"]) / slope if second is not None else w
        new[:, 1] = mixed.water
        for k, solute, out in ((2, mixed.salt, r.reject.salt), (3, mixed.boron, r.reject.boron)):
            into = t.ratio_of.plain(solute, mixed.water)
            new[:, k] = salinity_with_mixing.plain(into, loops.mixing, r.reject.water, v[:, 1],
                                                   t.ratio_of.plain(out, r.reject.water))
        return new, good

    guess = np.ones(n)
    if want is not None:
        guess = want
        if second is not None:
            guess = first_pass_permeate.plain(want, full(second.share, (n,)), full(second.recovery, (n,)))
    start = _start(raw, loops, guess, want is not None)
    scale, every = np.where(start > 0, start, 1.0), np.arange(n)
    inverse = np.tile(np.eye(4), (n, 1, 1))
    inverse[:, 2, 2] = inverse[:, 3, 3] = 1 / (1 - loops.mixing)  # reject in proportion to what comes in
    with np.errstate(all="ignore"):
        v = start
        for _ in range(3):  # a loop that closed in a coarse pass is looked at again with all digits
            v, _ = torn.close(again, v, scale, close, inverse=inverse)
            found, good = again(v, every, last=True)
            gap = np.where(good, np.max(np.abs(found - v) / scale, axis=1), np.inf)
            if not np.any(good & (gap > np.maximum(1e-9, close))):
                break
    r = latest["first"]
    two_run = latest["second"]
    reason = r.reason
    if two_run is not None:
        reason = np.where((reason == "") & ~two_run.good, [f"{w} (second pass)" for w in two_run.reason], reason)
    good = r.good & (gap <= np.maximum(1e-9, close)) & (two_run.good if two_run is not None else True)
    reason = np.where((reason == "") & ~good, "the loops of the array were not closed", reason)
    return Answer(r, two_run, raw, latest["feed"], latest["bypass"], latest["second_feed"], latest["product"],
                  latest["product_flow"], v, gap, good, reason)


def feed_volume(answer: Answer, density: np.ndarray) -> np.ndarray:
    """Volume flow into the membranes, m3/s."""
    x = t.ratio_of.plain(answer.feed.salt, answer.feed.water)
    return flow_of_water.plain(answer.feed.water, x, t.density_of.plain(x, *density.T))
