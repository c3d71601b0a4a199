"""A trial of the sequences of a train against a simple plant, with faults put in at every step.

The programme is the table ``sequences``: each step says where valves and pumps stand, what it waits for and where it
goes. The plant beside it moves by the second: valves travel, pumps run up and down, the feed pressure follows the
speed, chlorine travels along the feed, the permeate rises where it cannot leave. Many cases run side by side, each with
its faults; what must never happen is watched in every second. Hydraulics are quasi-steady and of one train; surge,
temperature and scale are not in it. A trial does not replace a hazard study by people.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Any

import numpy as np

from desalbook.tables import Row, table

__all__ = ["CAUSES", "FAULTS", "PAIRS_AT", "PROPERTIES", "SIGNALS", "UNTIL", "AlarmPoint", "Case", "Finding",
           "Programme", "Train", "alarm_load", "cases", "cause_words", "first_cause", "programme", "property_rows",
           "steps_of", "summary", "trace", "trial"]

VALVES = ("feed", "dump", "product", "concentrate", "flush", "discharge", "feed_dump")
PUMPS = ("feed_pump", "hp_pump", "booster", "flush_pump")
SIGNALS = ("suction", "discharge", "permeate", "orp", "conductivity", "level", "concentrate_flow")
PROPERTIES = {
    "oxidant": "no chlorine at the membranes beyond its time",
    "dead-head": "no pump against a shut valve beyond its time",
    "over-pressure": "no feed pressure above the relief setting",
    "back-pressure": "no permeate pressure above its relief setting",
    "ramp": "no faster rise of pressure than the elements allow",
    "dry": "no HP pump without suction",
    "product": "no product off its specification to the tank unseen",
    "undosed": "no feed to the membranes without dechlorination",
    "mixed": "no flush while the HP pump runs",
}
"""What must never happen, by key."""
FAULTS = (*(f"{s} {how}" for s in SIGNALS for how in ("low", "high", "frozen")),
          *(f"{v} stuck" for v in VALVES), *(f"{p} fails" for p in PUMPS),
          "dosing empty", "chlorine high", "seal leaks", "concentrate shuts", "power lost", "raw water stops")
"""Single faults: each signal failing low, high or frozen, each valve stuck, each pump, dosing, water, a leaking seal,
a control valve that shuts, and power."""


PAIRS_AT = ("ramp", "run", "end-ramp", "flush")
"""Steps at whose beginning pairs of faults are tried: start, service, stop, flush. The budget of a trial of pairs: all
pairs at these steps, some 2 400 cases; pairs at other steps, and three faults together, are not tried."""


CAUSES = {"suction": "low suction pressure", "discharge": "high feed pressure", "permeate": "permeate back-pressure",
          "orp": "high ORP", "dosing": "empty day tank", "level": "low level of the raw tank",
          "concentrate_flow": "low concentrate flow", "power": "loss of supply",
          "quality alarm": "high permeate conductivity, which leads the permeate to the dump"}
"""Causes of a trip in words, by key."""


UNTIL = {"start": "a start is asked for", "time": "the time is over", "level": "the raw tank is above its trip",
         "suction": "suction pressure is there", "clean": "ORP is below its trip",
         "pressure": "feed pressure is there",
         "quality": "permeate conductivity is below its alarm", "product open": "the product valve is open",
         "dump open": "the dump valve is open", "product shut": "the product valve is shut",
         "stop": "a stop is asked for", "slow": "the HP pump is down its ramp",
         "depressurised": "the pressure is gone", "flushed": "the flush volume is through", "reset": "a person resets"}
"""What a step of a train waits for, in words."""


_LEVELS = {key: row["level"].value for key, row in table("trial_levels").items()}
STANDING, WEAK, MOVING = _LEVELS["standing"], _LEVELS["weak"], _LEVELS["moving"]
OPEN, TRAVEL, RAMP = _LEVELS["open"], _LEVELS["travel"], _LEVELS["ramp"]
"""Levels at which the trial calls a pump standing or moving, a flow weak and a valve open, as fractions."""


@dataclass(frozen=True)
class Train:
    """What the trial knows of a train, SI: pressures gauge, times in seconds.

    Parameters
    ----------
    feed_pressure, suction, osmotic, permeate : float
        In service.
    shutoff : float
        Feed pressure with the concentrate valve shut.
    trips : mapping
        ``suction`` (low), ``discharge``, ``permeate``, ``orp``, ``level``, ``concentrate_flow`` (fraction of service).
    relief, permeate_relief : float
    quality_limit : float
        Permeate conductivity at the alarm, over that in service.
    probe_travel, pump_travel, probe_time, orp_delay : float
        Chlorine from quill to probe, probe to pump; response of the probe; delay of its trip.
    orp : float
        ORP in service, V.
    chlorine : float
        Chlorine upstream of the dechlorination, over what harms the membranes.
    ramp : float
        Rise of pressure that elements allow, Pa/s.
    level : float
        Depth of the raw tank over its lowest, as a time at full draw, s.
    flush_time : float
    has : frozenset of str
        ``booster``, ``flush_pump``, ``dosing``: what the train has.
    """

    feed_pressure: float
    suction: float
    osmotic: float
    permeate: float
    shutoff: float
    trips: Mapping[str, float]
    relief: float
    permeate_relief: float
    quality_limit: float
    probe_travel: float
    pump_travel: float
    probe_time: float
    orp_delay: float
    orp: float
    chlorine: float
    ramp: float
    level: float
    flush_time: float
    has: frozenset[str] = frozenset({"booster", "flush_pump", "dosing"})


@dataclass(frozen=True)
class Programme:
    """Steps in order, with times of trips; a mistake is put in by `replace`.

    Parameters
    ----------
    steps, times : mapping
        Rows of the tables ``sequences`` and ``dynamics``.
    ramp_factor : float
        Ramp of the HP pump over the rise of pressure that elements allow.
    without : frozenset of str
        Trips that are not there.
    interlocked : bool
        Whether a pump waits for its valve.
    """

    steps: Mapping[str, Mapping[str, Any]]
    times: Mapping[str, float]
    ramp_factor: float = RAMP
    without: frozenset[str] = frozenset()
    interlocked: bool = True

    def changed(self, key: str, **values: Any) -> Programme:
        """The programme with other values in one step."""
        return replace(self, steps={**self.steps, key: {**self.steps[key], **values}})


@dataclass(frozen=True)
class Case:
    """Faults of one case, each with the step at whose beginning it comes."""

    faults: tuple[str, ...]
    at: str


@dataclass
class Finding:
    """What the trial of all cases found."""

    cases: list[Case]
    broken: dict[str, list[tuple[float, int]]] = field(default_factory=dict)
    visited: frozenset[str] = frozenset()
    ends: list[str] = field(default_factory=list)

    def worst(self, name: str) -> tuple[float, Case] | None:
        """The case that breaks a property soonest after its fault."""
        found = self.broken.get(name)
        if not found:
            return None
        seconds, n = sorted(found)[0]
        return seconds, self.cases[n]


def programme() -> Programme:
    """The programme of the tables ``sequences`` and ``dynamics``."""
    def read(row: Row) -> dict[str, Any]:
        return {name: cell.value for name, cell in row.items()} | {"title": row.title}

    return Programme({key: read(row) for key, row in table("sequences").items()},
                     {key: row["time"].value for key, row in table("dynamics").items()})


def cases(steps: Iterable[str], faults: Sequence[str] = FAULTS, pairs: bool = False) -> list[Case]:
    """Every single fault at the beginning of every step, or every pair; the first case has no fault."""
    groups = list(combinations(faults, 2)) if pairs else [(f,) for f in faults]
    return [Case((), "run"), *(Case(g, at) for at in steps for g in groups)]


def steps_of(of: Train, own: Programme | None = None) -> list[dict[str, Any]]:
    """Steps of the sequences as a table: where valves and pumps stand, what is waited for; what is absent is out."""
    own = own or programme()
    absent = {"booster", "flush_pump", "dosing"} - of.has
    absent |= {valve for machine, valve in (("dosing", "feed_dump"), ("flush_pump", "flush")) if machine in absent}
    return [{"key": key, **{name: "" if name in absent else value for name, value in row.items()}}
            for key, row in own.steps.items() if not (key == "balance" and "booster" in absent)]


def property_rows(finding: Any, properties: Mapping[str, str],
                  trace_of: Callable[[Any], Iterable[tuple[float, str, str]]]) -> list[dict[str, Any]]:
    """A row a property: cases, cases that break it, the soonest of them and its course."""
    rows = []
    for name, words in properties.items():
        worst = finding.worst(name)
        course = "" if worst is None else "; ".join(f"{t:.0f} s {what}" for t, _, what in trace_of(worst[1]))
        rows.append({"key": name, "title": words, "cases": len(finding.cases),
                     "broken": len(finding.broken.get(name, ())),
                     "faults": "" if worst is None else ", ".join(worst[1].faults),
                     "at": "" if worst is None else worst[1].at, "after": None if worst is None else worst[0],
                     "course": course})
    return rows


def summary(of: Train, finding: Finding, own: Programme | None = None) -> list[dict[str, Any]]:
    """What a trial found, a row a property: cases, cases that break it, the soonest and its course."""
    return property_rows(finding, PROPERTIES, lambda case: trace(of, case, own))


@dataclass(frozen=True)
class AlarmPoint:
    """An alarm of a measured value of the trial: where it comes, on which side, after how long, where it acts."""

    key: str
    title: str
    signal: str
    side: str
    at: float
    delay: float
    acts: int
    """From which level of trips on it acts where it is suppressed by design: 1 feed, 2 HP pump, 3 in service."""


def alarm_load(of: Train, points: Sequence[AlarmPoint], found: Sequence[Case],
               within: float | None = None) -> list[dict[str, Any]]:
    """Alarms that come in a start and after each fault, with and without suppression by design.

    Parameters
    ----------
    points : sequence of AlarmPoint
    found : sequence of Case
        A case without a fault is a start: it counts from its beginning to service.
    within : float, optional
        Time after the fault that is counted, s; that of the table ``dynamics`` where none is given.

    Returns
    -------
    list of dict
        A row a case: keys of the ``plain`` alarms that come, of the ``suppressed`` that are left where an alarm waits
        for its equipment to run, and ``first`` the title of the first of those left.
    """
    own, n = programme(), len(found)
    end = own.times["alarm-window"] if within is None else within
    clock = {p.key: np.zeros((2, n)) for p in points}
    rung = {p.key: np.zeros((2, n), dtype=bool) for p in points}
    first, since = [""] * n, np.full(n, -1.0)
    faulty = np.array([bool(c.faults) for c in found])

    def each(second: float, plant: _Plant, control: _Controller) -> bool:
        nonlocal since
        struck = np.logical_or.reduce(list(plant.fault.values())) | (~faulty & (control.step > 0))
        since = np.where((since < 0.0) & struck, second, since)
        counts = (since >= 0.0) & (second - since <= end)
        counts &= faulty | ~np.isin(control.step, [i for i, k in enumerate(control.keys) if k.startswith("end-")])
        level, begun = control.acts[control.step], control.time > control.least[control.step]
        true = {**plant.read, "permeate_flow": plant.flow}
        for p in points:
            low = true[p.signal] < p.at if p.side == "low" else true[p.signal] > p.at
            # one that is out of range stands at its end, and one that stands still says what it said
            wrong = plant.fault.get(f"{p.signal} {p.side}")
            low = low if wrong is None else low | wrong
            for k, active in enumerate((np.ones(n, dtype=bool), (level >= p.acts) & (begun | (level >= 2)))):
                clock[p.key][k] = np.where(low & active & (struck | (since >= 0.0)), clock[p.key][k] + 1.0, 0.0)
                comes = (clock[p.key][k] > p.delay) & counts & ~rung[p.key][k]
                rung[p.key][k] |= comes
                for i in np.flatnonzero(comes & (k == 1)):
                    first[i] = first[i] or p.title
        return bool(np.all((since >= 0.0) & (second - since > end)))

    _run(of, own, found, None, None, each)
    return [{"case": "start" if not c.faults else ", ".join(c.faults),
             "plain": [p.key for p in points if rung[p.key][0][i]],
             "suppressed": [p.key for p in points if rung[p.key][1][i]], "first": first[i]}
            for i, c in enumerate(found)]


class _Plant:
    """State of all cases, one entry each."""

    def __init__(self, of: Train, own: Programme, found: Sequence[Case], keys: Sequence[str]):
        n = len(found)
        self.of, self.own, self.keys, self.n = of, own, list(keys), n
        self.valve = {v: np.full(n, 1.0 if v in ("dump", "concentrate") else 0.0) for v in VALVES}
        self.speed = {p: np.zeros(n) for p in PUMPS}
        self.pressure = np.zeros(n)
        self.permeate = np.zeros(n)
        self.quality = np.full(n, 10.0)
        self.orp = np.full(n, of.orp)
        self.level = np.full(n, of.level)
        self.flushed = np.zeros(n)
        self.line = np.zeros((n, max(int(of.probe_travel + of.pump_travel), 1)))
        self.read = {s: np.zeros(n) for s in SIGNALS}
        self.fault = {f: np.zeros(n, dtype=bool) for f in FAULTS}
        self.powered = np.ones(n, dtype=bool)
        self.shutting = np.zeros(n)

    def move(self, want: Mapping[str, np.ndarray]) -> None:
        """One second."""
        of, t = self.of, self.own.times
        self.powered = ~self.fault["power lost"]
        rest = {"dump": 1.0, "concentrate": 1.0}  # where springs take a valve without power
        for v in VALVES:
            goal = np.where(self.powered, want[v], self.valve[v] if v == "discharge" else rest.get(v, 0.0))
            step = np.clip(goal - self.valve[v], -1.0 / t["valve-travel"], 1.0 / t["valve-travel"])
            self.valve[v] = np.where(self.fault[f"{v} stuck"], self.valve[v], self.valve[v] + step)
        for p in PUMPS:
            alive = self.powered & ~self.fault[f"{p} fails"]
            goal = np.where(alive, want[p], 0.0)
            if p == "hp_pump":
                up = self.own.ramp_factor * of.ramp / of.feed_pressure
                root = np.maximum(self.speed[p], 0.1)
                rise = up / (2.0 * root)  # pressure goes with the square of the speed
                driven = np.clip(goal - self.speed[p], -rise, rise)
                coast = -self.speed[p] ** 2 / t["coast"]
                off = (~alive) | (want["hp_off"] > 0.5)
                self.speed[p] = np.clip(self.speed[p] + np.where(off, coast, driven), 0.0, 1.0)
                self.speed[p] = np.where(off & (self.speed[p] < STANDING), 0.0, self.speed[p])
            else:
                step = 1.0 / t["pump-start"]
                self.speed[p] = self.speed[p] + np.clip(goal - self.speed[p], -step, step)
        self._water(want)

    def _water(self, want: Mapping[str, np.ndarray]) -> None:
        of, t = self.of, self.own.times
        feed, hp, flush = self.speed["feed_pump"], self.speed["hp_pump"], self.speed["flush_pump"]
        wet = self.level > 0.0
        self.suction = of.suction * feed**2 * (self.valve["feed"] > 0.1) * wet
        self.suction = np.maximum(self.suction, of.suction * 0.5 * flush**2 * (self.valve["flush"] > 0.1))
        pumped = (self.suction > 0.0) * hp * (self.valve["discharge"] > 0.1)
        held = 1.0 - self.valve["concentrate"]  # in control the valve stands nearly shut
        goal = self.suction + (of.feed_pressure - of.suction) * pumped**2 * np.where(
            held > OPEN, 1.0, 0.1 + OPEN * held)
        self.shutting = np.where(self.fault["concentrate shuts"], np.minimum(
            self.shutting + 1.0 / t["control-valve"], 1.0), 0.0)
        goal = goal + self.shutting * (of.shutoff - of.feed_pressure) * pumped**2
        before = self.pressure
        self.pressure = before + (goal - before) / t["pressure-lag"]
        self.rise = self.pressure - before
        making = self.pressure - of.osmotic - self.permeate
        self.flow = np.clip(making / (of.feed_pressure - of.osmotic - of.permeate), 0.0, 2.0)
        way = np.maximum(self.valve["dump"], self.valve["product"])
        free = of.permeate * self.flow / np.maximum(way, 0.1) ** 2
        self.permeate = np.where(way > STANDING, np.minimum(free, of.relief),
                                 np.minimum(self.permeate + 2.0 * of.permeate * self.flow,
                                            np.maximum(self.pressure - of.osmotic, self.permeate)))
        passing = np.where(self.flow > STANDING, 1.0 / np.maximum(self.flow, WEAK), 10.0)
        passing = np.where(self.fault["seal leaks"], 2.0 * of.quality_limit * passing, passing)
        self.quality = self.quality + (passing - self.quality) / t["quality-lag"]
        self.forward = np.maximum(feed * (self.valve["feed"] > 0.1), hp * (self.valve["feed"] > 0.1))
        dosed = (want["dosing"] > 0.5) & ~self.fault["dosing empty"] & self.powered
        strength = of.chlorine * np.where(self.fault["chlorine high"], 8.0, 1.0)
        left = np.where(dosed, np.where(self.fault["chlorine high"], strength - 2.0 * of.chlorine, 0.0), strength)
        if "dosing" not in of.has:
            left = np.zeros(self.n)
        moving = self.forward > MOVING
        shifted = np.concatenate([left[:, None], self.line[:, :-1]], axis=1)
        self.line = np.where(moving[:, None], shifted, self.line)
        at_probe = self.line[:, min(int(of.probe_travel), self.line.shape[1] - 1)]
        self.at_membrane = self.line[:, -1] * moving * (self.valve["feed_dump"] < 0.5)
        self.undosed = moving & (want["dosing"] < 0.5) & ("dosing" in of.has)
        goal = of.orp + 0.5 * np.minimum(at_probe, 1.0)
        self.orp = self.orp + (goal - self.orp) / max(of.probe_time / 2.0, 1.0)
        self.level = self.level - np.where(self.fault["raw water stops"], self.forward, 0.0)
        self.flushed = np.where(want["flush_pump"] > 0.5, self.flushed + flush * (self.valve["flush"] > 0.5), 0.0)

    def measure(self) -> None:
        """What the controller reads: the plant, or what a fault makes of it."""
        true = {"suction": self.suction, "discharge": self.pressure, "permeate": self.permeate, "orp": self.orp,
                "conductivity": self.quality, "level": self.level,
                "concentrate_flow": np.minimum(self.speed["hp_pump"], 1.0) * (self.suction > 0.0) * (
                    self.valve["discharge"] > 0.1)}
        for s, value in true.items():
            self.read[s] = np.where(self.fault[f"{s} frozen"], self.read[s], value)

    def bad(self, s: str) -> np.ndarray:
        """A signal out of its range is known to be bad."""
        return self.fault[f"{s} low"] | self.fault[f"{s} high"]


class _Controller:
    """Step of each case, its time, and the timers of the trips."""

    def __init__(self, plant: _Plant):
        own = plant.own
        self.keys = plant.keys
        self.index = {k: i for i, k in enumerate(self.keys)}
        self.step = np.full(plant.n, self.index["idle"])
        self.time = np.zeros(plant.n)
        self.clock: dict[str, np.ndarray] = {}
        self.alarm = np.zeros(plant.n, dtype=bool)
        self.left = np.zeros(plant.n, dtype=bool)  # one start a trial
        self.because = [""] * plant.n  # the first cause of a trip
        self.rows = [own.steps[k] for k in self.keys]
        has = plant.of.has

        def table_of(name: str, words: Mapping[str, float]) -> np.ndarray:
            return np.array([words[row[name]] for row in self.rows])

        on = {"on": 1.0, "off": 0.0, "down": 0.0}
        self.wants = {v: table_of(v, {"open": 1.0, "shut": 0.0, "control": 0.0}) for v in VALVES}
        self.wants["feed_dump"] *= "dosing" in has
        self.wants |= {p: table_of(p, on) * (p in has or p in ("feed_pump", "hp_pump")) for p in PUMPS}
        self.wants["dosing"] = table_of("dosing", on)
        self.wants["hp_off"] = np.array([float(row["hp_pump"] == "off") for row in self.rows])
        self.least = np.array([row["least"] for row in self.rows])
        self.watch = np.array([row["watch"] for row in self.rows])
        self.then = np.array([self.index[row["then"]] for row in self.rows])
        self.otherwise = np.array([self.index[row["otherwise"]] for row in self.rows])
        self.acts = np.array([("none", "low", "high", "run").index(row["trips"]) for row in self.rows])

    def want(self, plant: _Plant) -> dict[str, np.ndarray]:
        """Where valves and pumps are asked to stand; a pump waits until its valve is seen open."""
        asked = {name: values[self.step] for name, values in self.wants.items()}
        if plant.own.interlocked:
            for pump, valve in (("feed_pump", "feed"), ("flush_pump", "flush"), ("hp_pump", "discharge")):
                asked[pump] = asked[pump] * (plant.valve[valve] > 0.5)
        return asked

    def held(self, name: str, condition: np.ndarray, delay: float) -> np.ndarray:
        """A condition that has lasted its delay."""
        clock = np.where(condition, self.clock.get(name, np.zeros(len(condition))) + 1.0, 0.0)
        self.clock[name] = clock
        return clock > delay

    def turn(self, plant: _Plant, want: Mapping[str, np.ndarray]) -> None:
        """One scan: trips first, then the way on."""
        of, t, without = plant.of, plant.own.times, plant.own.without
        level = self.acts[self.step]
        trip = np.zeros(plant.n, dtype=bool)

        def cause(name: str, condition: np.ndarray, delay: float, acts: int) -> None:
            nonlocal trip
            if name not in without:
                comes = self.held(name, condition & (level >= acts), delay)
                trip |= comes
                for i in np.flatnonzero(comes):
                    self.because[i] = self.because[i] or name

        read, trips = plant.read, of.trips
        begun = self.time > self.least[self.step]
        cause("suction", (read["suction"] < trips["suction"]) & (begun | (level >= 2)), t["suction-delay"], 1)
        cause("discharge", read["discharge"] > trips["discharge"], t["pressure-delay"], 1)
        cause("permeate", read["permeate"] > trips["permeate"], t["pressure-delay"], 1)
        if "dosing" in of.has:
            cause("orp", read["orp"] > trips["orp"], of.orp_delay, 1)
            cause("dosing", plant.fault["dosing empty"], t["dosing-delay"], 1)
        cause("level", read["level"] <= trips["level"], t["level-delay"], 1)
        cause("concentrate_flow", read["concentrate_flow"] < trips["concentrate_flow"], t["flow-delay"], 3)
        for s in SIGNALS:
            if s != "conductivity":
                cause(f"{s} bad", plant.bad(s), t["fault-delay"], 1)
        for p in PUMPS:
            slow = want[p] > plant.speed[p] + 0.5
            cause(f"{p} feedback", slow & (plant.speed[p] < STANDING), t["motor-watch"], 1)
        for v in VALVES:
            apart = np.abs(want[v] - plant.valve[v]) > 0.1
            cause(f"{v} travel", apart, TRAVEL * t["valve-travel"], 1)
        cause("power", ~plant.powered, 0.0, 1)
        poor = (plant.read["conductivity"] > of.quality_limit) | plant.bad("conductivity")
        self.alarm = self.held("quality alarm", poor & (level == 3), t["quality-delay"]) if "quality alarm" not in (
            without) else np.zeros(plant.n, dtype=bool)
        go = self._conditions(plant) & begun
        late = self.time > self.watch[self.step]
        leave = self.alarm & (self.step == self.index["run"])
        for i in np.flatnonzero(leave):
            self.because[i] = self.because[i] or "quality alarm"
        nxt = np.where(go, self.then[self.step], np.where(late, self.otherwise[self.step], self.step))
        nxt = np.where(leave, self.index["end-divert"], nxt)
        nxt = np.where(trip, self.index["trip"], nxt)
        self.left |= nxt != self.step
        self.time = np.where(nxt == self.step, self.time + 1.0, 0.0)
        self.step = nxt

    def _conditions(self, plant: _Plant) -> np.ndarray:
        of, read = plant.of, plant.read
        alive = plant.powered
        kinds: dict[str, Callable[[], np.ndarray]] = {
            "start": lambda: alive & ~self.left, "time": lambda: alive,
            "level": lambda: alive & (read["level"] > of.trips["level"]) & ~plant.bad("level"),
            "suction": lambda: read["suction"] > OPEN * of.suction,
            "clean": lambda: (read["orp"] < of.trips["orp"]) & ~plant.bad("orp"),
            "pressure": lambda: read["discharge"] > OPEN * of.feed_pressure,
            "quality": lambda: (read["conductivity"] < of.quality_limit) & ~plant.bad("conductivity"),
            "product open": lambda: plant.valve["product"] > OPEN, "dump open": lambda: plant.valve["dump"] > OPEN,
            "product shut": lambda: plant.valve["product"] < 0.1,
            "stop": lambda: self.time > plant.own.times["run"],
            "slow": lambda: plant.speed["hp_pump"] < 0.1,
            "depressurised": lambda: (plant.speed["hp_pump"] < STANDING) & (plant.pressure < 2.0 * of.suction),
            "flushed": lambda: (plant.flushed > of.flush_time) | ("flush_pump" not in of.has),
            "reset": lambda: np.zeros(plant.n, dtype=bool)}
        words = np.array([row["until"] for row in self.rows])[self.step]
        met = np.zeros(plant.n, dtype=bool)
        for word in set(words):
            met = np.where(words == word, kinds[word](), met)
        return met


def trial(of: Train, own: Programme | None = None, found: Sequence[Case] | None = None,
          cancelled: Callable[[], bool] | None = None) -> Finding:
    """Run all cases from rest to rest, and say which break what must never happen.

    Parameters
    ----------
    of : Train
    own : Programme, optional
        That of the tables where none is given.
    found : sequence of Case, optional
        Every single fault at every step where none is given.
    cancelled : callable, optional
        Asked once a minute of the trial.

    Returns
    -------
    Finding
    """
    return _run(of, own or programme(), found, cancelled, None)


def trace(of: Train, case: Case, own: Programme | None = None) -> list[tuple[float, str, str]]:
    """One case second by second: time, step, what happened there. The same each time."""
    said: list[tuple[float, str, str]] = []
    _run(of, own or programme(), [case], None, said)
    return said


def first_cause(of: Train, case: Case) -> str:
    """What stops a train first in one case, in words; empty where nothing does.

    Parameters
    ----------
    of : Train
    case : Case
    """
    found: list[str] = [""]

    def each(second: float, plant: _Plant, control: _Controller) -> bool:
        found[0] = found[0] or control.because[0]
        return bool(found[0])

    _run(of, programme(), [case], None, None, each)
    return cause_words(found[0])


def cause_words(name: str) -> str:
    """A cause of a trip in words, such as ``low suction pressure`` or ``HP pump: motor feedback missing``."""
    thing, _, kind = name.rpartition(" ")
    if name in CAUSES or not name:
        return CAUSES.get(name, "")
    words = {"bad": "signal out of its range", "feedback": "motor feedback missing", "travel": "valve travel late"}
    return f"{words[kind]}: {thing.replace('_', ' ').replace('hp ', 'HP ')}"


def _run(of: Train, own: Programme, found: Sequence[Case] | None, cancelled: Callable[[], bool] | None,
         said: list[tuple[float, str, str]] | None, each: Callable[[float, _Plant, _Controller], bool] | None = None,
         ) -> Finding:
    keys = list(own.steps)
    if "booster" not in of.has:
        keys.remove("balance")
        own = own.changed("purge", then=own.steps["balance"]["then"])
    listed = list(cases(keys) if found is None else found)
    plant = _Plant(of, own, listed, keys)
    control = _Controller(plant)
    index = control.index
    onset = np.array([index.get(c.at, -1) for c in listed])
    members = {f: np.array([f in c.faults for c in listed]) for f in FAULTS}
    begun = np.full(plant.n, -1.0)
    first = {name: np.full(plant.n, -1.0) for name in PROPERTIES}
    clocks = {name: np.zeros(plant.n) for name in PROPERTIES}
    visited: set[int] = set()
    end = 2.0 * sum(float(row["least"]) for row in own.steps.values()) + own.times["run"] + 2.0 * of.flush_time \
        + 2.0 * of.feed_pressure / of.ramp + float(own.steps["flush"]["watch"])
    # a case that has been at rest as long as the raw tank lasts has nothing left that moves
    rests = np.array([k == keys[0] or own.steps[k]["then"] == k for k in keys])
    second, last = 0.0, None
    while second < end:
        second += 1.0
        here = (control.step == onset) & (begun < 0.0)
        begun = np.where(here, second, begun)
        struck = begun >= 0.0
        for f, of_case in members.items():
            plant.fault[f] = of_case & struck
        want = control.want(plant)
        plant.move(want)
        plant.measure()
        now = _broken(plant, want)
        for name, wrong in now.items():
            clocks[name] = np.where(wrong, clocks[name] + 1.0, 0.0)
            limit = own.times.get(_TIMES.get(name, ""), 2.0)
            hit = (clocks[name] > limit) & (first[name] < 0.0) & ~_seen(name, control)
            first[name] = np.where(hit, second, first[name])
            if said is not None and hit.any():
                said.append((second, plant.keys[int(control.step[0])], f"broken: {PROPERTIES[name]}"))
        if said is not None and last != int(control.step[0]):
            last = int(control.step[0])
            said.append((second, plant.keys[last], own.steps[plant.keys[last]]["title"]))
        if said is not None and here.any() and listed[0].faults:
            said.append((second, plant.keys[int(control.step[0])], "fault: " + ", ".join(listed[0].faults)))
        visited.update(np.unique(control.step).tolist())
        if each is not None and each(second, plant, control):
            break
        control.turn(plant, want)
        if second % 64 == 0 and (bool(np.all(rests[control.step] & (control.time > of.level)))
                                 or (cancelled is not None and cancelled())):
            break
    made = Finding(listed, visited=frozenset(plant.keys[i] for i in visited),
                   ends=[plant.keys[int(i)] for i in control.step])
    for name, times in first.items():
        at = np.flatnonzero(times >= 0.0)
        made.broken[name] = [(float(times[i] - max(begun[i], 0.0)), int(i)) for i in at]
    return made


_TIMES = {"oxidant": "oxidant", "dead-head": "dead-head", "product": "unseen", "dry": "dead-head",
          "undosed": "pump-start"}


def _seen(name: str, control: _Controller) -> np.ndarray:
    """Product off its specification counts only where no alarm tells it."""
    return control.alarm if name == "product" else np.zeros(len(control.step), dtype=bool)


def _broken(plant: _Plant, want: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    of = plant.of
    hp, feed, flush = (plant.speed[p] for p in ("hp_pump", "feed_pump", "flush_pump"))
    return {
        "oxidant": plant.at_membrane > 1.0,
        "dead-head": ((feed > MOVING) & (plant.valve["feed"] < 0.1)) | (
            (flush > MOVING) & (plant.valve["flush"] < 0.1)) | ((hp > MOVING) & (plant.valve["discharge"] < 0.1)),
        "over-pressure": plant.pressure > of.relief,
        "back-pressure": plant.permeate > of.permeate_relief,
        "ramp": plant.rise > of.ramp,
        "dry": (hp > MOVING) & (plant.suction < 0.1 * of.suction),
        "product": (plant.valve["product"] > 0.5) & (plant.flow > MOVING) & (plant.quality > of.quality_limit),
        "undosed": plant.undosed,
        "mixed": (hp > MOVING) & (plant.valve["flush"] > 0.1),
    }
