"""A membrane array of stages and passes, many cases at once; a plain train is one stage.

A pass is a row of stages: the concentrate of one is the feed of the next, with or without a boost between. Its feed
pressure is the root at which the stages together give the wanted permeate. A second pass takes part of the
first pass's permeate; its concentrate may return to the first pass's feed, as may a share of the concentrate; an
isobaric ERD mixes concentrate into the feed. The tear streams are what a loop makes unknown: the water, salinity and
boron that enter the first pass, its permeate where a second pass follows, and the raw feed where permeate and feed
pressure are both held; `solve_tear_streams` closes all cases together, each by its own gap.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.balances import partial_flow
from desalbook.membrane import transport as t
from desalbook.membrane.cases import curve, nodes_of
from desalbook.plant.cache import cached
from desalbook.plant.joints import (
    boosted,
    caustic_salinity,
    feed_water_of,
    first_pass_permeate,
    flow_of_water,
    joined,
    part_of,
    salinity_with_mixing,
)
from desalbook.plant.tear_streams import solve_tear_streams
from desalbook.trail import in_values

__all__ = ["Answer", "Flow", "Loops", "Pass", "Run", "SecondPass", "Stage", "solve_array", "solve_cached"]


@dataclass
class Flow:
    """Mass flows of water, salt and boron, kg/s, one row a case."""

    water: np.ndarray
    salt: np.ndarray
    boron: np.ndarray

    def part(self, share: Any) -> Flow:
        """A share of it."""
        return Flow(*(part_of.at("value", mass_flow=v, taken_part=share) for v in (self.water, self.salt, self.boron)))

    def __add__(self, other: Flow) -> Flow:
        return Flow(*(joined.at("value", mass_flow=a, other_flow=b) for a, b in zip(self.all, other.all, strict=True)))

    @property
    def all(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """The three."""
        return self.water, self.salt, self.boron

    def volume(self, density: np.ndarray) -> np.ndarray:
        """Volume flow by the curve of density, m3/s."""
        rho = t.density_of.at("value", salinity=t.ratio_of.at("value", solute=self.salt, water=self.water),
                              **curve(density))
        return t.volume_flow.at("value", solute=self.salt, water=self.water, density=rho)


@dataclass(frozen=True)
class Stage:
    """One stage: `membrane.Cases` fields except its feed, pressures and permeate, and the boost before it, Pa."""

    fixed: dict[str, Any]
    boost: Any = 0.0


@dataclass(frozen=True)
class Pass:
    """Stages in the order the concentrate passes them."""

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
        Its concentrate joins the feed of the first pass; else it is waste.
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
    """What joins the stages: isobaric ERD mixing, share of the concentrate that is recycled, second pass."""

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
    feed_flow: np.ndarray
    gap: np.ndarray
    solved: np.ndarray
    reason: np.ndarray


def _reject(r: m.Solution, vessels: np.ndarray) -> Flow:
    return Flow(*(t.train_last.at("value", node_out=r.state[f"{k}_out"], vessels=vessels) for k in (
        "water", "salt", "boron")))


def permeate_of(r: m.Solution, skip: int = 0) -> Flow:
    """Permeate of the elements downstream of the first ``skip``."""
    c, s = r.cases, r.state
    if not skip:
        boron = t.permeate_solute.at("value", salt_flux=s["boron_flux"], slice_area=nodes_of(t.slice_area.at(
            "value", element_area=np.asarray(c.element_area), slices=r.slices), r.slices), vessels=c.vessels)
        return Flow(r.out["permeate_water"], r.out["permeate_salt"], boron)
    at = skip * r.slices
    area = nodes_of(t.slice_area.at("value", element_area=np.asarray(c.element_area), slices=r.slices), r.slices)
    area = np.broadcast_to(area, s["flux"].shape)[:, at:]
    water = t.permeate_water.at("value", flux=s["flux"][:, at:], water_density=np.asarray(c.density)[:, 0],
                                slice_area=area, vessels=c.vessels)
    salt, boron = (t.permeate_solute.at("value", salt_flux=s[k][:, at:], slice_area=area,
                                        vessels=c.vessels) for k in ("salt_flux", "boron_flux"))
    return Flow(water, salt, boron)


# lack of the vessels in one look at the loops after another; of several stages in a row, and of their permeate
ALONE = (1e-3, 1e-6, 1e-9)
LEVELS = ((1e-5, 1e-3), (1e-7, 1e-5), (1e-9, 1e-8))
TIGHT = 1e-12  # what the record calls rounding


def _keep(near: dict[str, np.ndarray], r: m.Solution, rows: np.ndarray, n: int) -> None:
    """Note where some of ``n`` cases stand now, as `membrane.solve` takes it for a start; refused ones nowhere."""
    stood = {"feed_pressure": np.where(r.solved, r.feed_pressure, np.nan), "feed_flow": r.feed_flow,
             "flux": r.state["flux"], "salt_flux": r.state["salt_flux"]}
    for name, values in stood.items():
        if name not in near:
            near[name] = np.full((n, *values.shape[1:]), np.nan)
        near[name][rows] = values


def _take(cases: m.Cases, rows: np.ndarray, n: int) -> m.Cases:
    """Some of ``n`` cases; fields that are one number for all stay so."""
    def one(v: Any) -> Any:
        a = np.asarray(v)
        return a[rows] if a.ndim and a.shape[0] == n and (n > 1 or a.ndim > 1) else v

    return replace(cases, **{k: one(getattr(cases, k)) for k in cases.__dataclass_fields__ if k != "elements"})


def _mean(x: Any) -> Any:
    """Of element types by position their mean; else the number itself."""
    return np.mean(x, axis=1) if np.ndim(x) == 2 else x


class _PassSolver:
    """One pass over all cases; begins where each case ended the last time."""

    def __init__(self, of: Pass, n: int, slices: int, tolerance: float, laws: m.Laws | None):
        self.of, self.n, self.slices, self.closest, self.laws = of, n, slices, tolerance, laws
        zeros = np.zeros(n)
        ones: dict[str, Any] = {"permeate_flow": zeros + 1, "feed_pressure": zeros + 1}
        self.cases = [m.Cases(**(ones | s.fixed), feed_flow=zeros + 1, feed_salinity=zeros, boron_feed=zeros)
                      for s in of.stages]
        self.density = np.broadcast_to(np.atleast_2d(of.stages[0].fixed["density"]), (n, 4))
        self.guess, self.slope = np.full(n, np.nan), np.ones((n, 1, 1))
        self.near: list[dict[str, np.ndarray]] = [{} for _ in of.stages]
        self.tolerance, self.lack, self.finished = tolerance, TIGHT, True

    def level(self, passes: int) -> None:
        """How closely a pass over the loops is solved: what is not closed by far needs no last digits."""
        self.finished = False
        if len(self.of.stages) == 1:
            self.lack, self.tolerance = ALONE[passes] if passes < len(ALONE) else TIGHT, self.closest
        else:
            self.lack, self.tolerance = LEVELS[passes] if passes < len(LEVELS) else (TIGHT, self.closest)

    def last(self) -> None:
        """All digits, and all that is asked of a train."""
        self.finished, self.lack, self.tolerance = True, TIGHT, self.closest

    def _vessels(self, k: int, rows: np.ndarray) -> np.ndarray:
        return np.broadcast_to(self.of.stages[k].fixed["vessels"], (self.n,))[rows]

    def _solve(self, k: int, rows: np.ndarray, feed: Flow, unknown: str, **given: Any) -> m.Solution:
        """One stage, each case from where it stood before."""
        near = self.near[k]
        r = m.solve(replace(_take(self.cases[k], rows, self.n), feed_flow=feed.volume(self.density[rows]),
                            feed_salinity=t.ratio_of.at("value", solute=feed.salt, water=feed.water),
                            boron_feed=t.ratio_of.at("value", solute=feed.boron,
                                                     water=feed.water), **given), unknown, self.slices,
                    self.laws, near={name: v[rows] for name, v in near.items()} if near else None,
                    finished=self.finished, tolerance=self.lack)
        _keep(near, r, rows, self.n)
        return r

    def _left(self, r: m.Solution) -> np.ndarray:
        """Pressure of the concentrate of a stage."""
        if self.finished:
            return r.out["concentrate_pressure"]
        c = r.cases
        vessel = t.vessel_pressure_drop.at("value", slice_loss=r.state["loss"],
                                           interconnector_loss=c.interconnector_loss, elements_per_vessel=c.elements)
        return t.concentrate_pressure.at("value", feed_pressure=r.feed_pressure,
                                         pressure_drop=t.train_pressure_drop.at(
                                             "value", vessel_drop=vessel, port_loss=c.port_loss))

    def _march(self, rows: np.ndarray, feed: Flow, pressure: np.ndarray) -> Run:
        stages, reason, good = [], np.full(len(rows), "", dtype=object), np.ones(len(rows), dtype=bool)
        at, out = pressure, None
        for k, stage in enumerate(self.of.stages):
            if k:
                at = boosted.at("value", concentrate_pressure=self._left(stages[-1]),
                                stage_boost=np.broadcast_to(stage.boost, (self.n,))[rows])
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

    def for_flow(self, rows: np.ndarray, guess: Flow, wanted: np.ndarray, pressure: np.ndarray) -> tuple[Run, Flow]:
        """The feed of a single stage that gives this permeate at this pressure; ``guess`` has its salinity."""
        r = self._solve(0, rows, guess, "feed_flow", permeate_flow=wanted, feed_pressure=pressure)
        x, xb = t.ratio_of.at("value", solute=guess.salt, water=guess.water), t.ratio_of.at(
            "value", solute=guess.boron, water=guess.water)
        water = feed_water_of.at("value", feed_flow=r.feed_flow, feed_density=t.density_of.at(
            "value", salinity=x, **curve(self.density[rows])), feed_salinity=x)
        return Run([r], r.feed_pressure, permeate_of(r), _reject(r, self._vessels(0, rows)), r.solved,
                   np.array(r.reason, dtype=object)), Flow(water, water * x, water * xb)

    def at_pressure(self, rows: np.ndarray, feed: Flow, pressure: np.ndarray) -> Run:
        """Rated at a held feed pressure."""
        return self._march(rows, feed, pressure)

    def for_permeate(self, rows: np.ndarray, feed: Flow, wanted: np.ndarray) -> Run:
        """The feed pressure at which the stages give this permeate."""
        if len(self.of.stages) == 1:
            r = self._solve(0, rows, feed, "feed_pressure", permeate_flow=wanted)
            return Run([r], r.feed_pressure, permeate_of(r), _reject(r, self._vessels(0, rows)), r.solved,
                       np.array(r.reason, dtype=object))
        area = np.sum([self._vessels(k, rows) * c.elements * np.broadcast_to(_mean(c.element_area), (self.n,))[rows]
                       for k, c in enumerate(self.cases)], axis=0)
        first = _take(self.cases[0], rows, self.n)
        stiff = area * _mean(first.water_permeability)  # permeate for one Pa without polarisation
        x = t.ratio_of.at("value", solute=feed.salt, water=feed.water)
        pi = t.osmotic_of.at("value", salinity=x, **curve(np.atleast_2d(first.osmotic)))
        left = 1 - wanted / feed.volume(self.density[rows])
        start = wanted / stiff + 1.15 * pi / np.sqrt(np.maximum(left, 0.05)) + 1.5e5
        start = np.where(np.isfinite(self.guess[rows]), self.guess[rows], start)
        latest: dict[str, Any] = {}

        def again(p: np.ndarray, inner: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
            r = self._march(rows[inner], Flow(*(v[inner] for v in feed.all)), p[:, 0])
            latest["run"], latest["inner"] = r, inner
            got = r.permeate.volume(self.density[rows[inner]])
            # where the concentrate thickens, the permeate answers a rise of pressure by about half of the stiff slope
            return (p[:, 0] + (wanted[inner] - got) / (0.6 * stiff[inner]))[:, None], r.good

        slope = self.slope[rows]
        p, gap = solve_tear_streams(again, start[:, None], np.maximum(start, 1e5)[:, None], self.tolerance,
                            longest=1.0, inverse=slope)
        self.slope[rows] = slope
        run = latest["run"] if len(latest["inner"]) == len(rows) else self._march(rows, feed, p[:, 0])
        closed = gap <= np.maximum(1e-9, self.tolerance)
        run.reason = np.where(run.good & ~closed, "no feed pressure gives this permeate", run.reason)
        run.good = run.good & closed
        self.guess[rows] = np.where(run.good, run.pressure, np.nan)
        self.slope[rows] = np.where(run.good[:, None, None], self.slope[rows], 1.0)
        return run


def _start(raw: Flow, loops: Loops, guess: np.ndarray) -> np.ndarray:
    """First guess of water, salinity and boron into the first pass, as if no salt passed the membranes.

    It decides nothing but the speed.
    """
    n, second = len(guess), loops.second
    passed = np.minimum(1e3 * guess, 0.9 * raw.water)
    back = np.zeros(n)
    if second is not None and second.returned:
        back = passed * np.broadcast_to(second.share, (n,)) * (1 - np.broadcast_to(second.recovery, (n,)))
    water = np.maximum((raw.water - loops.recycle * passed + back) / (1 - loops.recycle), raw.water)
    left = np.maximum(water - passed, 0.1 * water)
    found = [water]
    for solute in (raw.salt, raw.boron):
        x = solute / water
        for _ in range(8):
            out = x * water / left
            into = t.ratio_of.at("value", solute=solute + loops.recycle * out * left, water=water)
            x = salinity_with_mixing.at("value", feed_salinity=into, exchanger_mixing=loops.mixing,
                                        concentrate_water=left, water=water, concentrate_salinity=out)
        found.append(x)
    return np.column_stack(found)


class _ArraySolver:
    """The array over all cases: what its tear streams become, and its answer once they are closed."""

    def __init__(self, first: Pass, loops: Loops, salinity: np.ndarray, boron: np.ndarray,
                 feed_flow: np.ndarray | None, permeate: np.ndarray | None, pressure: np.ndarray | None, slices: int,
                 close: float, laws: m.Laws | None):
        self.n, self.loops, self.second = len(salinity), loops, loops.second
        self.one = _PassSolver(first, self.n, slices, 0.1 * close, laws)
        self.two = None if loops.second is None else _PassSolver(loops.second.of, self.n, slices, 0.1 * close, laws)
        self.x, self.xb, self.want, self.held = salinity, boron, permeate, pressure
        self.raw_density = t.density_of.at("value", salinity=salinity, **curve(self.one.density))
        returns = loops.recycle or (loops.second is not None and loops.second.returned)
        both = feed_flow is None
        # the vessel solver itself finds the feed of a single stage whose streams are not torn by more than an isobaric
        # ERD
        self.direct = both and not returns and loops.second is None and len(first.stages) == 1
        self.names = [name for name, yes in (
            ("raw", both and not self.direct), ("permeate", pressure is None and self.second is not None),
            ("water", returns), ("salt", returns or loops.mixing), ("boron", returns or loops.mixing)) if yes]
        self.given = feed_flow if feed_flow is not None else np.zeros(self.n)
        self.looks, self.latest = 0, {}

    def share(self, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Share of the first pass's permeate that is taken, and the second pass's recovery."""
        assert self.second is not None
        return (np.broadcast_to(self.second.share, (self.n,))[rows],
                np.broadcast_to(self.second.recovery, (self.n,))[rows])

    def raw(self, rows: np.ndarray, flow: np.ndarray) -> Flow:
        """Raw feed of the train as mass flows."""
        water = feed_water_of.at("value", feed_flow=flow, feed_density=self.raw_density[rows],
                                 feed_salinity=self.x[rows])
        return Flow(water, water * self.x[rows], water * self.xb[rows])

    def start(self) -> np.ndarray:
        """First guess of the tear streams."""
        every = np.arange(self.n)
        want = self.want if self.want is not None else 0.4 * self.given
        guess = want
        if self.second is not None:
            share, recovery = self.share(every)
            guess = first_pass_permeate.at("value", product_flow=want, second_share=share, second_recovery=recovery)
        flow = guess / 0.4 if self.direct or "raw" in self.names else self.given
        water = _start(self.raw(every, flow), self.loops, guess)
        return np.column_stack([{"raw": flow, "permeate": guess, "water": water[:, 0], "salt": water[:, 1],
                                 "boron": water[:, 2]}[name] for name in self.names] or [np.zeros((self.n, 0))])

    def passes(self, v: np.ndarray, rows: np.ndarray) -> dict[str, Any]:
        """Both passes once, for these tear streams."""
        torn = dict(zip(self.names, v.T, strict=True))
        flow = torn.get("raw", self.given[rows])
        raw = self.raw(rows, np.maximum(flow, 1e-12) if not self.direct else np.ones(len(rows)))
        x, xb = torn.get("salt", self.x[rows]), torn.get("boron", self.xb[rows])
        water = torn.get("water", raw.water)
        feed = Flow(water, water * x, water * xb)
        want = None if self.want is None else self.want[rows]
        if self.direct:
            assert want is not None and self.held is not None
            r, feed = self.one.for_flow(rows, feed, want, self.held[rows])
            raw = Flow(feed.water, feed.water * self.x[rows], feed.water * self.xb[rows])
        elif self.held is not None:
            r = self.one.at_pressure(rows, feed, self.held[rows])
        else:
            r = self.one.for_permeate(rows, feed, torn.get("permeate", want))
        got: dict[str, Any] = {"first": r, "raw": raw, "feed": feed, "bypass": r.permeate, "second": None,
                               "second_feed": None, "product": r.permeate}
        if self.second is not None and self.two is not None:
            share, recovery = self.share(rows)
            rear = r.permeate
            if self.second.front_elements:
                rear = permeate_of(r.stages[0], self.second.front_elements)
                for later in r.stages[1:]:
                    rear = rear + permeate_of(later)
            taken = rear.part(share)
            got["bypass"] = r.permeate + taken.part(-1.0)
            salt = caustic_salinity.at("value", mass_flow=taken.salt, caustic=np.broadcast_to(
                self.second.caustic, (self.n,))[rows], water=taken.water)
            dosed = got["second_feed"] = Flow(taken.water, salt, taken.boron)
            asked = partial_flow.at("value", flow=dosed.volume(self.two.density[rows]), fraction=recovery)
            s = got["second"] = self.two.for_permeate(rows, dosed, asked)
            got["product"] = got["bypass"] + s.permeate
        got["product_flow"] = got["product"].volume(self.one.density[rows])
        return got

    def again(self, v: np.ndarray, rows: np.ndarray, last: bool = False) -> tuple[np.ndarray, np.ndarray]:
        """The tear streams found again from what the membranes make of them."""
        for each in (self.one, self.two):
            if each is not None:
                each.last() if last else each.level(self.looks)
        self.looks += 1
        got = self.latest = self.passes(v, rows)
        r, feed, loops = got["first"], got["feed"], self.loops
        good = r.good.copy()
        mixed = got["raw"]
        if loops.recycle:
            mixed = mixed + r.reject.part(loops.recycle)
        if got["second"] is not None:
            good &= got["second"].good
            if self.second is not None and self.second.returned:
                mixed = mixed + got["second"].reject
        found = {"water": mixed.water}
        for name, solute, out in (("salt", mixed.salt, r.reject.salt), ("boron", mixed.boron, r.reject.boron)):
            into = t.ratio_of.at("value", solute=solute, water=mixed.water)
            found[name] = salinity_with_mixing.at(
                "value", feed_salinity=into, exchanger_mixing=loops.mixing, concentrate_water=r.reject.water,
                water=feed.water, concentrate_salinity=t.ratio_of.at("value", solute=out, water=r.reject.water))
        if self.want is not None and ("permeate" in self.names or "raw" in self.names):
            lack = self.want[rows] - got["product_flow"]
            if "permeate" in self.names:
                share, recovery = self.share(rows)
                found["permeate"] = v[:, self.names.index("permeate")] + lack / (1 - share * (1 - recovery))
            else:  # at a held pressure more feed gives some fifth of itself as permeate
                found["raw"] = v[:, self.names.index("raw")] + 5 * lack
        return np.column_stack([found[name] for name in self.names] or [np.zeros((len(rows), 0))]), good

    def close(self, tolerance: float) -> tuple[np.ndarray, np.ndarray]:
        """The gap left of each case; ``latest`` holds all of them, solved to the last digit."""
        v, every = self.start(), np.arange(self.n)
        if not self.names:
            _, good = self.again(v, every, last=True)
            return np.where(good, 0.0, np.inf), v
        scale = np.where(v > 0, v, 1.0)
        inverse = np.tile(np.eye(len(self.names)), (self.n, 1, 1))
        for name in ("salt", "boron"):  # concentrate in proportion to what comes in
            if name in self.names:
                i = self.names.index(name)
                inverse[:, i, i] = 1 / (1 - self.loops.mixing)
        limit, open_ = np.maximum(1e-9, tolerance), every
        gap = np.full(self.n, np.inf)
        for _ in range(3):  # a loop that closed in a coarse look is looked at again with all digits
            here, own = open_, inverse[open_]
            v[here], _ = solve_tear_streams(lambda x, rows, here=here: self.again(x, here[rows]), v[here], scale[here],
                                            tolerance, inverse=own)
            inverse[here] = own
            found, good = self.again(v, every, last=True)
            gap = np.where(good, np.max(np.abs(found - v) / scale, axis=1), np.inf)
            open_ = np.flatnonzero(good & (gap > limit))
            if not len(open_):
                break
        return gap, v


@in_values
def solve_array(first: Pass, loops: Loops, *, salinity: Any, boron: Any, feed_flow: Any = None, permeate: Any = None,
                pressure: Any = None, slices: int = 3, close: float = 1e-10,
                laws: tuple[str, str] | None = None) -> Answer:
    """Solve an array of stages and passes.

    Parameters
    ----------
    first : Pass
    loops : Loops
    salinity, boron : array over the cases
        Of the raw water, per mass of water.
    feed_flow, permeate, pressure : array
        Two of the three: raw feed of the train, m3/s; the product flow wanted, m3/s; the held feed pressure, Pa.
    slices : int
        Per element.
    close : float
        Largest relative gap of a torn number that counts as closed.
    laws : (str, str), optional
        Correlations of mass transfer and friction, names that `membrane.laws_named` knows.

    Returns
    -------
    Answer
        ``solved`` is False where no answer exists, ``reason`` says why.
    """
    if [v is None for v in (feed_flow, permeate, pressure)].count(True) != 1:
        raise ValueError("two of feed_flow, permeate and pressure are wanted")
    n = int(np.max([np.size(v) for v in (salinity, boron, feed_flow, permeate, pressure) if v is not None]))

    def full(v: Any) -> Any:
        return None if v is None else np.broadcast_to(v, (n,)).astype(float)

    solver = _ArraySolver(first, loops, full(salinity), full(boron), full(feed_flow), full(permeate), full(pressure),
                          slices, close, None if laws is None else m.laws_named(*laws))
    with np.errstate(all="ignore"):
        gap, _ = solver.close(close)
    got = solver.latest
    r, two = got["first"], got["second"]
    reason, closed = r.reason, gap <= np.maximum(1e-9, close)
    if two is not None:
        reason = np.where((reason == "") & ~two.good, [f"{w} (second pass)" for w in two.reason], reason)
    good = r.good & closed & (two.good if two is not None else True)
    reason = np.where((reason == "") & ~good, "the loops of the array were not closed", reason)
    flow = flow_of_water.at("value", water=got["raw"].water, salinity=solver.x, density=solver.raw_density)
    return Answer(r, two, got["raw"], got["feed"], got["bypass"], got["second_feed"], got["product"],
                  got["product_flow"], flow, gap, good, reason)


solve_cached = cached(32)(solve_array)
"""`solve_array` with its latest answers kept: while a person turns what the membranes do not feel."""
