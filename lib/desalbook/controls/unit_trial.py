"""A trial of the sequences beside those of a train, under every single fault, against simple plants.

Each sequence has a small plant of its own: valves travel, pumps run up, tanks fill and empty, chlorine and pH travel.
Many cases run side by side, each with its fault at the beginning of one step; what must never happen is watched all
the time. Quasi-steady, in steps of one to some seconds (a delay shorter than that counts as one); surge, chemistry
beyond presence and absence, and what people do are not in it. A trial does not replace a hazard study by people.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any, ClassVar

import numpy as np

from desalbook.controls.trial import MOVING, OPEN, STANDING, TRAVEL, Case, Finding, property_rows
from desalbook.controls.unit_sequences import FOREVER, Step, Units, unit_steps
from desalbook.problems import DesignError
from desalbook.tables import table

__all__ = ["HARD_WIRED", "RIGS", "UnitProgramme", "faults_of", "properties_of", "unit_cases", "unit_programme",
           "unit_summary", "unit_trace", "unit_trial"]

Array = np.ndarray
VALVE_ENDS = ("-valve", "-dump")
_LEVELS = {key: row["level"].value for key, row in table("trial_levels").items()}
_PASSING, _EMPTY, _SUCTION, _RESIDUE, _CIP_LOW = (_LEVELS[k] for k in ("passing", "empty", "suction", "residue",
                                                                     "cip-low"))
_ROOM = 3.0  # of the longest way through, before a trial is ended


@dataclass(frozen=True)
class UnitProgramme:
    """Steps of one sequence with the times of valves and pumps; a mistake is put in by `replace` or `changed`.

    Parameters
    ----------
    steps : mapping
        `Step` by key.
    times : mapping
        Rows of the table ``dynamics``, s.
    without : frozenset of str
        Trips, permissives and interlocks that are not there, by name.
    """

    steps: Mapping[str, Step]
    times: Mapping[str, float]
    without: frozenset[str] = frozenset()

    def changed(self, key: str, **values: Any) -> UnitProgramme:
        """The programme with other values in one step."""
        return replace(self, steps={**self.steps, key: replace(self.steps[key], **values)})


def unit_programme(of: Units, sequence: str) -> UnitProgramme:
    """The programme of one sequence of this plant."""
    return UnitProgramme(unit_steps(of, sequence), {k: row["time"].value for k, row in table("dynamics").items()})


class _Rig:
    """Plant of one sequence: positions and speeds of what it moves, one entry a case."""

    sequence = ""
    properties: ClassVar[Mapping[str, str]] = {}
    signals: tuple[str, ...] = ()
    own_faults: tuple[str, ...] = ()
    safety_contactor = True
    runs_on: tuple[str, ...] = ()
    """Equipment whose contactor may stay closed."""
    limits: ClassVar[Mapping[str, str]] = {}
    """Row of the table ``dynamics`` that says how long a property bears, by property; else two seconds."""
    step_time = 1.0
    pairs_at: tuple[str, ...] = ()
    """Steps at whose beginning pairs of faults are tried."""
    turns = 1
    units = 1
    """Like units (filters, trains) the sequence goes through one after another."""
    at_rest: tuple[str, ...] = ()
    """Steps the sequence may end in, the one it begins in among them."""
    passing: tuple[str, ...] = ()
    """Steps at whose end the next unit has its turn."""

    def __init__(self, of: Units, own: UnitProgramme, cases: int):
        self.of, self.own, self.n, self.dt = of, own, cases, self.step_time
        self.names = sorted({a for s in own.steps.values() for a in s.asked})
        self.place = {a: np.zeros(cases) for a in self.names}
        self.fault = {f: np.zeros(cases, dtype=bool) for f in faults_of(of, self.sequence)}
        self.turn = np.zeros(cases, dtype=int)
        self.frozen: dict[str, Array] = {}
        self.uncalled: dict[str, Array] = {}
        self.dropped: dict[str, Array] = {}
        self.powered = np.ones(cases, dtype=bool)
        fail = {key: row["fail"].value for key, row in table("valves").items()}
        self.spring = {a: {"open": 1.0, "open slowly": 1.0, "as is": np.nan}.get(fail.get(a, "shut"), 0.0)
                       for a in self.names if a.endswith(VALVE_ENDS)}
        self.begin()

    def begin(self) -> None:
        """State at the beginning."""

    def extra(self) -> float:
        """Time that a trial takes beside its steps, s."""
        return 0.0

    def never(self) -> Array:
        return np.zeros(self.n, dtype=bool)

    def has_fault(self, name: str) -> Array:
        return self.fault.get(name, self.never())

    def move(self, want: Mapping[str, Array]) -> None:
        """Valves and equipment, then the water."""
        self.powered = ~self.has_fault("power lost")
        for a in self.names:
            self.place[a] = self._moved(a, self.place[a], want[a])
        self.flow(want)

    def _moved(self, a: str, now: Array, wanted: Array) -> Array:
        t = self.own.times
        if a.endswith(VALVE_ENDS):
            rest = self.spring[a]
            goal = np.where(self.powered, wanted, now if np.isnan(rest) else rest)
            far = self.dt / t["valve-travel"]
            return np.where(self.has_fault(f"{a} stuck"), now, now + np.clip(goal - now, -far, far))
        goal = np.where(self.has_fault(f"{a} runs on"), 1.0, np.where(self.has_fault(f"{a} fails"), 0.0, wanted))
        goal = np.where(self.powered, goal, 0.0)
        # a second contactor of the panel drops when a motor runs that is not called
        uncalled = (now > 0.5) & (wanted < 0.5) & self.safety_contactor & (
            "safety contactor" not in self.own.without)
        self.uncalled[a] = np.where(uncalled, self.uncalled.get(a, np.zeros(self.n)) + self.dt, 0.0)
        self.dropped[a] = self.dropped.get(a, self.never()) | (self.uncalled[a] > max(t["motor-watch"], self.dt))
        goal = np.where(self.dropped[a], 0.0, goal)
        far = self.dt / t["pump-start"]
        return now + np.clip(goal - now, -far, far)

    def flow(self, want: Mapping[str, Array]) -> None:
        """Water, for one step of time."""

    def read(self, signal: str, true: Array) -> Array:
        """What the controller reads."""
        held = self.frozen.setdefault(signal, np.asarray(true, dtype=float).copy())
        still = self.has_fault(f"{signal} frozen")
        self.frozen[signal] = np.where(still, held, true)
        return self.frozen[signal]

    def bad(self, signal: str) -> Array:
        """A signal out of its range is known to be bad."""
        return self.has_fault(f"{signal} low") | self.has_fault(f"{signal} high")

    def open(self, *valves: str) -> Array:
        """Valves seen open."""
        return np.logical_and.reduce([self.place[v] > OPEN for v in valves if v in self.place] or [~self.never()])

    def shut(self, *valves: str) -> Array:
        return np.logical_and.reduce([self.place[v] < 1.0 - OPEN for v in valves if v in self.place]
                                     or [~self.never()])

    def stands(self, *equipment: str) -> Array:
        return np.logical_and.reduce([self.place[m] < STANDING for m in equipment if m in self.place]
                                     or [~self.never()])

    def interlock(self, want: dict[str, Array]) -> None:
        """What a unit waits for whatever the step asks."""

    def met(self, word: str, control: _Stepper) -> Array:
        """Whether what a step waits for is there."""
        raise NotImplementedError

    def causes(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, tuple[Array, float]]:
        """Causes of a trip with their delays."""
        t, made = self.own.times, {}
        for a in self.names:
            if a.endswith(VALVE_ENDS):
                apart = np.abs(want[a] - self.place[a]) > 0.1
                made[f"{a} travel"] = (apart, TRAVEL * t["valve-travel"])
            elif a not in ("shock", "raw_dosing", "product_dosing"):
                made[f"{a} feedback"] = ((want[a] > 0.5) & (self.place[a] < STANDING), t["motor-watch"])
        for s in self.signals:
            made[f"{s} bad"] = (self.bad(s), t["fault-delay"])
        made["power"] = (~self.powered, 0.0)
        return made

    def broken(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, Array]:
        """What must never happen."""
        raise NotImplementedError


class _Backwash(_Rig):
    """Filters of the plant that the schedule takes in turn, and the source of the backwash water."""

    sequence = "backwash"
    properties: ClassVar[Mapping[str, str]] = {
        "filters": "no more filters in backwash than the schedule takes at once",
        "unfiltered": "no backwash water or first filtrate to the RO feed",
        "backwash-dead-head": "no backwash pump against a shut valve beyond its time",
        "media": "no scour air into a filter that is not drained, or with backwash at full rate",
        "backwash-dry": "no backwash pump without water"}
    signals = ("filter level", "source level", "turbidity")
    own_faults = ("refill stops", "all filters ask at once", "power lost")
    limits: ClassVar[Mapping[str, str]] = {"backwash-dead-head": "dead-head", "backwash-dry": "dead-head"}
    step_time, units = 5.0, 3
    pairs_at = ("bw-scour", "bw-water")
    at_rest, passing = ("bw-select", "bw-held", "bw-stop"), ("bw-return",)
    VALVES = ("filter-inlet-valve", "filter-outlet-valve", "backwash-inlet-valve", "backwash-outlet-valve",
              "filter-to-waste-valve", "filter-drain-valve", "scour-valve")

    def begin(self) -> None:
        k = min(self.units, max(self.of.filters, 1))
        self.turns = k
        self.valve = {v: np.full((self.n, k), 1.0 if v in ("filter-inlet-valve", "filter-outlet-valve") else 0.0)
                      for v in self.VALVES if v in self.names}
        self.full = np.ones((self.n, k))
        self.clean = np.ones((self.n, k))
        self.source = np.ones(self.n)
        self.here = np.zeros((self.n, k), dtype=bool)

    def move(self, want: Mapping[str, Array]) -> None:
        self.powered = ~self.has_fault("power lost")
        k = np.arange(self.turns)
        self.here = k[None, :] == np.minimum(self.turn, self.turns - 1)[:, None]
        asked_all = self.has_fault("all filters ask at once") & ("one at a time" in self.own.without)
        self.here |= asked_all[:, None]
        t = self.own.times["valve-travel"]
        for v, now in self.valve.items():
            service = 1.0 if v in ("filter-inlet-valve", "filter-outlet-valve") else 0.0
            goal = np.where(self.here, want[v][:, None], service)
            rest = self.spring.get(v, 0.0)
            goal = np.where(self.powered[:, None], goal, now if np.isnan(rest) else rest)
            far = self.dt / t
            moved = now + np.clip(goal - now, -far, far)
            self.valve[v] = np.where(self.has_fault(f"{v} stuck")[:, None] & self.here, now, moved)
            one = np.minimum(self.turn, self.turns - 1)
            self.place[v] = self.valve[v][np.arange(self.n), one]
        for a in self.names:
            if a not in self.valve:
                self.place[a] = self._moved(a, self.place[a], want[a])
        self.flow(want)

    def _part(self, v: str) -> Array:
        return self.valve.get(v, np.zeros((self.n, self.turns)))

    def flow(self, want: Mapping[str, Array]) -> None:
        of, dt = self.of, self.dt
        pump = self.place["backwash_pump"]
        drain, back = self._part("filter-drain-valve"), self._part("backwash-inlet-valve")
        washed = back * self._part("backwash-outlet-valve") * pump[:, None] * (self.source > 0.0)[:, None]
        fill = dt / max(of.times["filters.backwash_time"], dt) * 4.0
        inlet = self._part("filter-inlet-valve")
        drained = dt / max(_LEVELS["drained"] * of.times["filters.drain_time"], dt)
        self.full = np.clip(self.full - drained * drain + fill * washed + fill * inlet, 0.0, 1.0)
        # what a backwash leaves in the bed goes with the filter-to-waste
        first = inlet * self._part("filter-to-waste-valve")
        rinse = dt / max(_LEVELS["drained"] * of.times["filters.filter_to_waste_time"], dt)
        self.clean = np.clip(np.where(washed > 0.1, 0.0, self.clean + rinse * first), 0.0, 1.0)
        if of.source_volumes is not None:
            used = dt / max(of.times["filters.backwash_time"], dt) / of.source_volumes
            refill = np.where(self.has_fault("refill stops"), 0.0, _LEVELS["refill"] * used)
            self.source = np.clip(self.source - used * pump * self.place["backwash-inlet-valve"] + refill, -1.0, 1.0)

    def interlock(self, want: dict[str, Array]) -> None:
        if "pump waits" not in self.own.without:
            way = (self.place["backwash-inlet-valve"] > 0.5) & (self.place["backwash-outlet-valve"] > 0.5)
            want["backwash_pump"] = want["backwash_pump"] * way
        if "scour_blower" in want and "blower waits" not in self.own.without:
            want["scour_blower"] = want["scour_blower"] * (self.place["scour-valve"] > 0.5)

    def met(self, word: str, control: _Stepper) -> Array:
        one = np.minimum(self.turn, self.turns - 1), np.arange(self.n)
        level = self.read("filter level", self.full[one[1], one[0]])
        source = self.read("source level", self.source)
        muddy = self.read("turbidity", 1.0 - self.clean[one[1], one[0]])
        closed = self.shut(*(v for v in self.VALVES if v in self.names))
        need = 0.0 if self.of.source_volumes is None else 1.0 / self.of.source_volumes
        waiting = self.turn < self.turns
        return {
            "turn": lambda: waiting & (source >= need) & ~self.bad("source level") & self.powered,
            "isolated": lambda: closed,
            "drained": lambda: (level < 0.1) & ~self.bad("filter level"),
            "air open": lambda: self.open("scour-valve"), "time": lambda: self.powered,
            "blower stands": lambda: self.stands("scour_blower"),
            "backwash open": lambda: self.open("backwash-inlet-valve", "backwash-outlet-valve"),
            "pump stands": lambda: self.stands("backwash_pump", "scour_blower"),
            "rinsed": lambda: (muddy < 0.1) & ~self.bad("turbidity"),
            "waste shut": lambda: self.shut("filter-to-waste-valve"),
            "in service": lambda: self.open("filter-inlet-valve", "filter-outlet-valve") & self.shut(
                *(v for v in self.VALVES if v in self.names and v not in ("filter-inlet-valve",
                                                                         "filter-outlet-valve"))),
            "reset": self.never}[word]()

    def causes(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, tuple[Array, float]]:
        made = super().causes(want, control)
        if self.of.source_volumes is not None:
            made["source level"] = (self.read("source level", self.source) <= _EMPTY, self.own.times["level-delay"])
            made["low switch"] = (self.source <= _EMPTY, self.own.times["level-delay"])
        return made

    def broken(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, Array]:
        part = self._part
        washing = np.maximum.reduce([part(v) for v in self.VALVES[2:]]) > _PASSING
        out, back = part("filter-outlet-valve"), part("backwash-inlet-valve")
        pump = self.place["backwash_pump"]
        air = self.place.get("scour_blower", np.zeros(self.n))[:, None] * part("scour-valve")
        return {
            "filters": washing.sum(axis=1) > max(self.of.allowed, 1),
            "unfiltered": np.any((out > _PASSING) & ((back > _PASSING) | (self.clean < 0.5)), axis=1),
            "backwash-dead-head": (pump > MOVING) & ~np.any(
                (back > 0.1) & (part("backwash-outlet-valve") > 0.1), axis=1),
            "media": np.any((air > 0.5) & (
                (self.full > _LEVELS["undrained"]) | ((back > 0.5) & (pump[:, None] > 0.5))), axis=1),
            "backwash-dry": (pump > MOVING) & (self.source <= 0.0)}


class _Cip(_Rig):
    """One bank, the CIP tank with its heater, and what is in both: permeate, alkali or acid."""

    sequence = "cip"
    properties: ClassVar[Mapping[str, str]] = {
        "cip-locked": "no CIP valve open while the HP pump can start",
        "heater": "no heater on without flow and level",
        "hot": "no solution above its temperature trip",
        "acid-alkali": "no acid made while alkali is left",
        "release": "no train given back before the chemicals are flushed out",
        "cip-dead-head": "no CIP pump against shut valves beyond its time"}
    signals = ("CIP level", "CIP temperature", "CIP pH", "CIP flow")
    own_faults = ("HP pump not locked", "fill water stops", "power lost")
    runs_on = ("cip_pump", "cip_heater")
    limits: ClassVar[Mapping[str, str]] = {"cip-dead-head": "dead-head", "heater": "dead-head"}
    step_time = table("dynamics")["cip-step"]["time"].value
    at_rest = ("cip-idle", "cip-held")
    pairs_at = ("alkali-circulate",)

    def begin(self) -> None:
        self.level = np.full(self.n, 0.5)
        self.warm = np.zeros(self.n)
        self.tank = np.zeros(self.n)  # alkali 1, acid -1
        self.bank = np.zeros(self.n)
        self.made = np.full(self.n, -1)
        self.locked = np.ones(self.n, dtype=bool)

    def flow(self, want: Mapping[str, Array]) -> None:
        of, dt, t = self.of, self.dt, self.own.times
        pump = self.place["cip_pump"]
        if "cut-out" not in self.own.without and hasattr(self, "moving"):
            # hard-wired in the heater's own supply, beside the programme: flow switch, float, thermostat
            safe = (self.moving > MOVING) & (self.level > _CIP_LOW) & (self.warm < 0.5 * (1.0 + self.of.hot))
            self.place["cip_heater"] = self.place["cip_heater"] * safe
        heater = self.place["cip_heater"]
        feed = np.minimum(self.place["cip-feed-valve"], self.place["cip-return-valve"])
        drain, fill = self.place["cip-drain-valve"], self.place["cip-fill-valve"]
        self.way = np.maximum(feed, self.place["cip-mix-valve"])
        self.moving = pump * (self.way > 0.1) * (self.level > _SUCTION)
        filled = fill * np.where(self.has_fault("fill water stops"), 0.0, 1.0) * (self.level < 1.0)
        rate = dt / t["cip-fill"]
        self.level = np.clip(self.level + rate * (filled - drain * self.moving * _LEVELS["drawn"]), 0.0, 1.0)
        through = np.minimum(dt / t["cip-turnover"], 1.0) * self.moving * (feed > 0.1)
        fresh = np.minimum(rate, 1.0) * filled
        before = self.bank
        self.bank = self.bank + (self.tank - self.bank) * through
        back = (before - self.tank) * _LEVELS["returned"] * through * (drain < 0.1)
        self.tank = self.tank + back - self.tank * fresh
        gain = dt / max(of.warm_up, dt) * heater * (self.level > _SUCTION)
        self.warm = np.maximum(self.warm + gain - self.warm * fresh - self.warm * dt / t["cip-cooling"], 0.0)

    def dose(self, control: _Stepper) -> None:
        """Chemicals go in when a solution is made: once, at the beginning."""
        for kind, value in (("alkali", 1.0), ("acid", -1.0)):
            making = control.of_step(f"{kind}-make") & (self.made != value)
            self.mixed = making & (np.sign(self.tank) == -value) & (np.maximum(np.abs(self.tank),
                                                                               np.abs(self.bank)) > _RESIDUE)
            self.mixed |= making & (np.sign(self.bank) == -value) & (np.abs(self.bank) > _RESIDUE)
            self.clash = getattr(self, "clash", self.never()) | self.mixed
            self.tank = np.where(making, value, self.tank)
            self.made = np.where(making, value, self.made)

    def interlock(self, want: dict[str, Array]) -> None:
        without = self.own.without
        if "heater waits" not in without:
            flows = self.read("CIP flow", getattr(self, "moving", np.zeros(self.n))) > MOVING
            want["cip_heater"] = want["cip_heater"] * flows * (self.level > _CIP_LOW)
        if "thermostat" not in without:
            reads = self.read("CIP temperature", self.warm)
            want["cip_heater"] = want["cip_heater"] * (reads < 1.0) * ~self.bad("CIP temperature")
        if "pump waits" not in without:
            open = np.maximum(np.minimum(self.place["cip-feed-valve"], self.place["cip-return-valve"]),
                              self.place["cip-mix-valve"]) > 0.5
            want["cip_pump"] = want["cip_pump"] * open

    def met(self, word: str, control: _Stepper) -> Array:
        level, warm = self.read("CIP level", self.level), self.read("CIP temperature", self.warm)
        ph = self.read("CIP pH", np.where(np.abs(self.bank) > np.abs(self.tank), self.bank, self.tank))
        open = ("cip-feed-valve", "cip-return-valve", "cip-permeate-valve")
        unlocked = self.has_fault("HP pump not locked")
        return {
            "asked": lambda: ~control.left & self.powered,
            "locked out": lambda: ~unlocked if "lock" not in self.own.without else ~self.never(),
            "full": lambda: (level > OPEN) & ~self.bad("CIP level"), "cip open": lambda: self.open(*open),
            "time": lambda: self.powered, "cip pump stands": lambda: self.stands("cip_pump"),
            "warm": lambda: (warm >= OPEN) & ~self.bad("CIP temperature"),
            "neutral": lambda: (np.abs(ph) < _LEVELS["neutral"]) & ~self.bad("CIP pH"),
            "cip shut": lambda: self.shut(*open, "cip-drain-valve", "cip-fill-valve", "cip-mix-valve"),
            "reset": self.never}[word]()

    def causes(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, tuple[Array, float]]:
        made, t = super().causes(want, control), self.own.times
        del made["cip_heater feedback"]  # it comes and goes with its thermostat
        if "HP lock" not in self.own.without:
            made["HP lock"] = (self.has_fault("HP pump not locked"), 0.0)
        flows = self.read("CIP flow", self.moving)
        made["CIP flow"] = ((want["cip_pump"] > 0.5) & (flows < MOVING), t["flow-delay"])
        # a thermostat of its own in the heater's supply, beside the transmitter
        made["hot"] = ((self.warm > 0.5 * (1.0 + self.of.hot)), t["fault-delay"])
        low = self.read("CIP level", self.level) < _CIP_LOW
        made["CIP level"] = ((want["cip_pump"] > 0.5) & low, t["level-delay"])
        return made

    def broken(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, Array]:
        self.dose(control)
        unlocked = self.has_fault("HP pump not locked")
        open = np.maximum(self.place["cip-feed-valve"], self.place["cip-return-valve"]) > _PASSING
        heater = self.place["cip_heater"] > MOVING
        # the heater's own cut-out takes its supply when the trip has come
        cut = control.of_step("cip-stop") | control.of_step("cip-held")
        return {
            "cip-locked": open & unlocked & ~cut,
            "heater": heater & (self.moving < 0.1) & ~cut,
            "hot": (self.warm > self.of.hot) & ~cut,
            "acid-alkali": self.clash,
            "release": control.of_step("cip-idle") & control.left & (np.abs(self.bank) > _RESIDUE),
            "cip-dead-head": (self.place["cip_pump"] > MOVING) & (self.way < 0.1)}


class _Shock(_Rig):
    """Raw line with acid and hypochlorite, dechlorination, ORP probe, membranes."""

    sequence = "shock"
    properties: ClassVar[Mapping[str, str]] = {
        "acid-hypochlorite": "no acid with hypochlorite at the shock dose, or with either where no water flows",
        "shock-oxidant": "no chlorine at the membranes beyond its time, shock dose or not"}
    signals = ("orp",)
    own_faults = ("dosing empty", "hypochlorite pump at full stroke", "acid pump starts by itself", "raw water stops",
                  "power lost")
    runs_on = ("dosing_chlorination", "dosing_acid")
    limits: ClassVar[Mapping[str, str]] = {"shock-oxidant": "oxidant", "acid-hypochlorite": "dead-head"}
    step_time = 3.0
    at_rest = ("shock-wait", "shock-held")
    pairs_at = ("shock-dose",)

    def begin(self) -> None:
        of = self.of
        self.line = np.zeros((self.n, max(int((of.probe_travel + of.pump_travel) / self.dt), 1)))
        self.quill = np.zeros((self.n, max(int(of.probe_travel / self.dt), 1)))
        self.orp = np.zeros(self.n)
        self.feed = np.ones(self.n)
        self.given = self.never()

    def flow(self, want: Mapping[str, Array]) -> None:
        of, dt, t = self.of, self.dt, self.own.times
        pumped = self.place.get("intake_pump", np.ones(self.n) * self.powered)
        self.feed = pumped * ~self.has_fault("raw water stops")
        self.hypo = self.place["dosing_chlorination"]
        self.acid = self.place.get("dosing_acid", np.zeros(self.n))
        self.acid = np.maximum(self.acid, 1.0 * self.has_fault("acid pump starts by itself") * self.powered)
        shock = np.maximum(self.place["shock"], 1.0 * self.has_fault("hypochlorite pump at full stroke"))
        self.high = np.minimum(shock, self.hypo)
        moving = self.feed > MOVING
        self.quill = np.where(moving[:, None], np.concatenate([self.high[:, None], self.quill[:, :-1]], axis=1),
                              self.quill)
        strength = np.where(self.high > 0.5, of.shock, of.chlorine * (self.hypo > 0.5))
        dosed = (self.place.get("dosing_dechlorination", np.zeros(self.n)) > 0.5) & ~self.has_fault("dosing empty")
        # the dechlorination follows the dose that is asked for
        reach = np.where(want["shock"] > 0.5, of.shock, of.chlorine)
        left = np.maximum(strength - np.where(dosed, _LEVELS["agent"] * reach, 0.0), 0.0)
        to_membranes = moving & ~(self.place["feed-dump"] > 0.5)
        self.line = np.where(to_membranes[:, None], np.concatenate([left[:, None], self.line[:, :-1]], axis=1),
                             self.line)
        probe = self.line[:, min(int(of.probe_travel / dt), self.line.shape[1] - 1)]
        self.orp = self.orp + (np.minimum(probe, 1.0) - self.orp) * min(dt / max(t["probe-lag"], dt), 1.0)
        self.at_membrane = self.line[:, -1] * to_membranes

    def interlock(self, want: dict[str, Array]) -> None:
        if "flow" not in self.own.without:
            flows = self.feed > MOVING
            for a in ("dosing_chlorination", "dosing_acid", "shock"):
                if a in want:
                    want[a] = want[a] * flows
        if "acid feedback" not in self.own.without and "dosing_acid" in want:
            acid = getattr(self, "acid", np.zeros(self.n)) > STANDING
            want["shock"] = want["shock"] * ~acid

    def met(self, word: str, control: _Stepper) -> Array:
        orp = self.read("orp", self.orp)
        clean = (orp < 0.5) & ~self.bad("orp")
        acid = getattr(self, "acid", np.zeros(self.n))
        return {"due": lambda: ~control.left & self.powered, "acid stands": lambda: acid < STANDING,
                "clean": lambda: clean, "time": lambda: self.powered,
                "shock over": lambda: clean & (self.quill[:, -1] < 0.1) & (self.high < STANDING),
                "hypochlorite stands": lambda: self.hypo < STANDING, "reset": self.never}[word]()

    def causes(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, tuple[Array, float]]:
        made, t = super().causes(want, control), self.own.times
        made["orp"] = (self.read("orp", self.orp) > 0.5, self.of.orp_delay)
        made["dosing"] = (self.has_fault("dosing empty"), t["dosing-delay"])
        made["raw flow"] = (self.feed < MOVING, t["suction-delay"])
        if "acid feedback" not in self.own.without:
            made["acid feedback"] = ((self.acid > STANDING) & (self.high > 0.1), 0.0)
        return made

    def broken(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, Array]:
        acid = self.acid > MOVING
        at_quill = self.quill[:, -1] > 0.5
        still = (self.feed < MOVING) & (self.hypo > MOVING) & acid
        return {"acid-hypochlorite": (acid & at_quill & (self.high > MOVING)) | still,
                "shock-oxidant": self.at_membrane > 1.0}


class _Exchange(_Rig):
    """A duty and a standby pump on one header."""

    sequence = "exchange"
    properties: ClassVar[Mapping[str, str]] = {"starved": "no longer without flow than what it feeds bears",
                  "both": "no two pumps on one header unseen"}
    own_faults = ("duty fails", "standby fails", "duty runs on", "standby runs on", "power lost")
    limits: ClassVar[Mapping[str, str]] = {"starved": "starved", "both": "both"}
    safety_contactor = False
    at_rest = ("ex-duty", "ex-changed", "ex-refused", "ex-alarm", "ex-off")
    pairs_at = ("ex-start", "ex-stop")

    def begin(self) -> None:
        self.place["duty"][:] = 1.0

    def met(self, word: str, control: _Stepper) -> Array:
        return {"due": lambda: ~control.left, "ready": lambda: ~self.has_fault("standby fails"),
                "standby up": lambda: self.place["standby"] > OPEN, "time": lambda: self.powered,
                "duty stands": lambda: self.stands("duty"), "rest": self.never, "reset": self.never}[word]()

    def causes(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, tuple[Array, float]]:
        made = {"power": (~self.powered, 0.0)}
        # feedback that falls away while it is asked for, not a start that is under way
        before = self.place
        duty_lost = (want["duty"] > 0.5) & (before["duty"] < OPEN)
        standby_lost = (want["standby"] > 0.5) & (want["duty"] < 0.5) & (before["standby"] < STANDING)
        made["duty feedback"] = (duty_lost, 1.0)
        made["standby feedback"] = (standby_lost, self.own.times["motor-watch"])
        return made

    def broken(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, Array]:
        flow = np.maximum(self.place["duty"], self.place["standby"])
        told = control.of_step("ex-alarm") | control.of_step("ex-off") | control.of_step("ex-over")
        told |= control.of_step("ex-start") | control.of_step("ex-stop") | control.of_step("ex-refused")
        # a motor that runs uncalled is told by its feedback
        told |= (np.minimum(self.place["duty"] - want["duty"], 1.0) > 0.5) & ("uncalled" not in self.own.without)
        told |= (np.minimum(self.place["standby"] - want["standby"], 1.0) > 0.5) & (
            "uncalled" not in self.own.without)
        return {"starved": (flow < 0.5) & ~control.of_step("ex-off"),
                "both": (self.place["duty"] > 0.5) & (self.place["standby"] > 0.5) & ~told}


class _Flush(_Rig):
    """Trains at rest, which draw permeate back, and the tank they share."""

    sequence = "flush"
    properties: ClassVar[Mapping[str, str]] = {"draw-back": "no draw-back from an empty tank",
                  "flush-dry": "no flush pump without water",
                  "flush-dead-head": "no flush pump against a shut valve beyond its time",
                  "one-train": "no two trains flushed at once"}
    signals = ("flush level", "flush flow")
    own_faults = ("refill stops", "power lost")
    runs_on = ("flush_pump",)
    limits: ClassVar[Mapping[str, str]] = {"flush-dead-head": "dead-head", "flush-dry": "dead-head"}
    step_time = 4.0
    at_rest, passing = ("fl-rest", "fl-held"), ("fl-next",)
    pairs_at = ("fl-run",)

    def begin(self) -> None:
        of = self.of
        self.turns = of.trains
        self.volume = np.full(self.n, of.flush_tank)
        self.through = np.zeros(self.n)
        self.drawn = np.zeros(self.n)
        self.trains_open = np.zeros((self.n, of.trains))

    def flow(self, want: Mapping[str, Array]) -> None:
        of, dt, t = self.of, self.dt, self.own.times
        valve, pump = self.place["flush-valve"], self.place["flush_pump"]
        # osmosis draws from the tank after the stop of all trains together, at its rate of the first minutes
        back = np.minimum(of.trains * of.drawback * dt / t["draw-back"], of.trains * of.drawback - self.drawn)
        self.drawn = self.drawn + back
        out = of.flush * dt / max(of.times["cip.flush_time"], dt) * pump * (valve > 0.1) * (self.volume > 0)
        fill = np.where(self.has_fault("refill stops"), 0.0, of.flush * dt / t["flush-refill"])
        self.empty = (self.volume <= 0.0) & (back > 0.0)
        self.volume = np.clip(self.volume - back - out + fill, 0.0, of.flush_tank)
        self.through = np.where(want["flush_pump"] > 0.5, self.through + out, np.where(
            want["flush-valve"] > 0.5, self.through, 0.0))
        one = np.minimum(self.turn, self.turns - 1)
        away = np.clip(-self.trains_open, -dt / t["valve-travel"], 0.0)
        stuck = self.has_fault("flush-valve stuck")
        self.trains_open = np.where(stuck[:, None], self.trains_open, self.trains_open + away)
        self.trains_open[np.arange(self.n), one] = valve

    def interlock(self, want: dict[str, Array]) -> None:
        if "pump waits" not in self.own.without:
            want["flush_pump"] = want["flush_pump"] * (self.place["flush-valve"] > 0.5)
        if "low switch" not in self.own.without:  # hard-wired, apart from the transmitter
            want["flush_pump"] = want["flush_pump"] * (self.volume > _EMPTY * self.of.flush_tank)

    def met(self, word: str, control: _Stepper) -> Array:
        of = self.of
        level = self.read("flush level", self.volume)
        through = self.read("flush flow", self.through)
        reserve = np.maximum(of.trains * of.drawback - self.drawn, 0.0)
        enough = (level >= np.minimum(of.flush + reserve, of.flush_tank)) & ~self.bad("flush level")
        if "reserve" in self.own.without:
            enough = ~self.never()
        return {"due": lambda: ~control.left & self.powered, "flush water": lambda: enough & self.powered,
                "flush open": lambda: self.open("flush-valve", "permeate-dump"), "time": lambda: self.powered,
                "flushed": lambda: (through >= _LEVELS["flushed"] * of.flush) & ~self.bad("flush flow"),
                "flush pump stands": lambda: self.stands("flush_pump"),
                "flush shut": lambda: self.shut("flush-valve"), "reset": self.never}[word]()

    def causes(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, tuple[Array, float]]:
        made, t = super().causes(want, control), self.own.times
        low = self.read("flush level", self.volume) < _EMPTY * self.of.flush_tank
        made["flush level"] = (low, t["level-delay"])
        uncalled = (self.place["flush_pump"] > 0.5) & (want["flush_pump"] < 0.5)
        made["flush pump uncalled"] = (uncalled, t["motor-watch"])
        return made

    def broken(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, Array]:
        pump = self.place["flush_pump"] > MOVING
        return {"draw-back": self.empty, "flush-dry": pump & (self.volume <= 0.0),
                "flush-dead-head": pump & (self.place["flush-valve"] < 0.1),
                "one-train": (self.trains_open > _PASSING).sum(axis=1) > 1}


class _Power(_Rig):
    """Supply lost and back: motors that come back one after another, a tank that osmosis draws from meanwhile."""

    sequence = "power"
    properties: ClassVar[Mapping[str, str]] = {"together": "no two motors started together after the supply is back",
                  "unasked": "no HP pump that starts without a person",
                  "power-draw-back": "no draw-back from an empty tank while the supply is lost"}
    own_faults = ("power stays lost", "power lost again", "product pump contactor stays closed")
    step_time = 1.0
    at_rest = ("pw-ready", "pw-held")
    pairs_at = ("pw-lost", "pw-intake")

    def extra(self) -> float:
        return self.own.times["before-outage"] + self.own.times["outage"]

    def begin(self) -> None:
        for a in ("intake_pump", "product_pump"):
            if a in self.place:
                self.place[a][:] = 1.0
        self.welded = self.never()
        self.since, self.together = np.full(self.n, 1e6), self.never()
        self.was = {a: v.copy() for a, v in self.place.items()}
        self.clock = np.zeros(self.n)
        self.volume = np.full(self.n, self.of.flush_tank)
        self.drawn = np.zeros(self.n)
        self.hp = np.zeros(self.n)

    def move(self, want: Mapping[str, Array]) -> None:
        self.clock = self.clock + self.dt
        out, start = self.own.times["outage"], self.own.times["before-outage"]
        self.up = (self.clock < start) | (self.clock > start + out)
        self.up &= ~(self.has_fault("power stays lost") & (self.clock >= start))
        again = self.has_fault("power lost again")
        self.again = np.where(again, getattr(self, "again", np.zeros(self.n)) + self.dt, 0.0)
        self.up &= ~(again & (self.again < self.own.times["second-outage"]))
        self.powered = self.up
        for a in self.names:
            self.place[a] = self._moved(a, self.place[a], want[a])
        if "product_pump" in self.place:  # a motor that is held in comes back with the voltage
            # a contactor stays closed where it was closed when the fault came
            self.welded |= self.has_fault("product pump contactor stays closed") & (self.clock <= start)
            held = self.welded & self.up
            self.place["product_pump"] = np.where(held, np.minimum(
                self.place["product_pump"] + self.dt / self.own.times["pump-start"], 1.0), self.place["product_pump"])
        if "a person" in self.own.without:
            self.hp = np.where(self.up & (self.clock > start + out), 1.0, 0.0)
        self.flow(want)

    def flow(self, want: Mapping[str, Array]) -> None:
        of, t = self.of, self.own.times
        after = self.clock > t["before-outage"]
        back = np.where(after, np.minimum(of.trains * of.drawback * self.dt / t["draw-back"],
                                           of.trains * of.drawback - self.drawn), 0.0)
        self.drawn = self.drawn + back
        self.empty = (self.volume <= 0.0) & (back > 0.0)
        self.volume = np.maximum(self.volume - back, 0.0)
        begun = self.never().astype(float)
        for a in ("intake_pump", "product_pump"):
            if a in self.place:
                begun = begun + ((self.was[a] < STANDING) & (self.place[a] >= STANDING))
                self.was[a] = self.place[a].copy()
        self.together |= after & (begun > 0.5) & ((self.since < t["start-gap"]) | (begun >= 2.0))
        self.since = np.where(begun > 0.5, 0.0, self.since + self.dt)

    def interlock(self, want: dict[str, Array]) -> None:
        """Contactors drop with the voltage, and what was asked for before is not asked for again."""

    def met(self, word: str, control: _Stepper) -> Array:
        place = self.place
        return {"due": lambda: ~self.up, "power": lambda: self.up,
                "all stand": lambda: self.stands("intake_pump", "product_pump"),
                "intake up": lambda: place.get("intake_pump", np.ones(self.n)) > OPEN, "time": lambda: self.up,
                "product up": lambda: place.get("product_pump", np.ones(self.n)) > OPEN, "rest": self.never,
                "reset": self.never}[word]()

    def causes(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, tuple[Array, float]]:
        return {"power": (~self.up, 0.0)}

    def broken(self, want: Mapping[str, Array], control: _Stepper) -> dict[str, Array]:
        return {"together": self.together, "unasked": self.hp > 0.5, "power-draw-back": self.empty}


HARD_WIRED = ("safety contactor", "cut-out", "low switch", "lock")
"""What the rigs rest on beside the programme, as the table of safety devices names it."""
RIGS: dict[str, type[_Rig]] = {rig.sequence: rig for rig in (_Backwash, _Cip, _Shock, _Exchange, _Flush, _Power)}
"""The small plant of each sequence."""


class _Stepper:
    """Step of each case, its time, and the clocks of the trips."""

    def __init__(self, rig: _Rig):
        self.rig, self.steps = rig, list(rig.own.steps.values())
        index = {s.key: i for i, s in enumerate(self.steps)}
        self.index = index
        self.step, self.time = np.zeros(rig.n, dtype=int), np.zeros(rig.n)
        self.left = np.zeros(rig.n, dtype=bool)
        self.clock: dict[str, Array] = {}
        self.wants = {a: np.array([float(a in s.asked) for s in self.steps]) for a in rig.names}
        self.least = np.array([s.least for s in self.steps])
        self.watch = np.array([s.watch for s in self.steps])
        self.then = np.array([index[s.then] for s in self.steps])
        self.otherwise = np.array([index[s.otherwise] for s in self.steps])
        self.to = np.array([index.get(s.trips, -1) for s in self.steps])
        self.words = np.array([s.until for s in self.steps])
        self.passing = np.array([s.key in rig.passing for s in self.steps])

    def of_step(self, key: str) -> Array:
        """Cases that are in this step."""
        return self.step == self.index.get(key, -1)

    def want(self) -> dict[str, Array]:
        asked = {a: values[self.step].copy() for a, values in self.wants.items()}
        self.rig.interlock(asked)
        return asked

    def scan(self, want: Mapping[str, Array]) -> None:
        """Trips first, then the way on."""
        rig = self.rig
        trip = rig.never()
        acts = self.to[self.step] >= 0
        for name, (condition, delay) in rig.causes(want, self).items():
            if name not in rig.own.without:
                clock = np.where(condition & acts, self.clock.get(name, np.zeros(rig.n)) + rig.dt, 0.0)
                self.clock[name] = clock
                trip |= clock > delay
        words, met = self.words[self.step], rig.never()
        for word in set(words):
            met = np.where(words == word, rig.met(word, self), met)
        go = met & (self.time >= self.least[self.step])
        late = self.time > self.watch[self.step]
        nxt = np.where(go, self.then[self.step], np.where(late, self.otherwise[self.step], self.step))
        rig.turn = rig.turn + (go & ~trip & self.passing[self.step])
        if rig.passing and rig.sequence == "flush":
            nxt = np.where(go & self.passing[self.step] & (rig.turn >= rig.turns), 0, nxt)
        nxt = np.where(trip, self.to[self.step], nxt)
        self.left |= nxt != self.step
        self.time = np.where(nxt == self.step, self.time + rig.dt, 0.0)
        self.step = nxt


def faults_of(of: Units, sequence: str) -> tuple[str, ...]:
    """Single faults of a sequence: each signal low, high or frozen, each valve stuck, each unit, and its own."""
    rig = RIGS[sequence]
    asked = sorted({a for s in unit_steps(of, sequence).values() for a in s.asked})
    made = [f"{s} {how}" for s in rig.signals for how in ("low", "high", "frozen")]
    for a in asked:
        if a.endswith(VALVE_ENDS):
            made.append(f"{a} stuck")
        elif a not in ("shock", "raw_dosing", "product_dosing"):
            made.append(f"{a} fails")
            if a in rig.runs_on:
                made.append(f"{a} runs on")
    return tuple(dict.fromkeys([*made, *rig.own_faults]))


def properties_of(sequences: Sequence[str]) -> dict[str, str]:
    """What must never happen, by key, of some sequences."""
    return {key: words for name in sequences for key, words in RIGS[name].properties.items()}


def unit_cases(of: Units, sequence: str, pairs: bool = False) -> list[Case]:
    """Every single fault at the beginning of every step, or every pair at those of the rig; the first has no fault."""
    keys = list(unit_steps(of, sequence))
    if pairs:
        at_steps = [at for at in RIGS[sequence].pairs_at if at in keys]
        return [Case((), keys[0]), *(Case(two, at) for at in at_steps
                                     for two in combinations(faults_of(of, sequence), 2))]
    return [Case((), keys[0]), *(Case((f,), at) for at in keys for f in faults_of(of, sequence))]


def unit_trial(of: Units, sequence: str, own: UnitProgramme | None = None,
               found: Sequence[Case] | None = None) -> Finding:
    """Run all cases of one sequence, and say which break what must never happen.

    Parameters
    ----------
    of : Units
    sequence : str
    own : UnitProgramme, optional
        That of the table where none is given.
    found : sequence of Case, optional
        Every single fault at every step where none is given.
    """
    return _run(of, sequence, own or unit_programme(of, sequence), found, None)


def unit_trace(of: Units, sequence: str, case: Case, own: UnitProgramme | None = None) -> list[tuple[float, str, str]]:
    """One case along time: time, step, what happened there. The same each time."""
    said: list[tuple[float, str, str]] = []
    _run(of, sequence, own or unit_programme(of, sequence), [case], said)
    return said


def unit_summary(of: Units, sequence: str, pairs: bool = False) -> list[dict[str, Any]]:
    """What the trial of a sequence found, a row a property: cases, cases that break it, the soonest and its course.

    Parameters
    ----------
    of : Units
    sequence : str
    pairs : bool
        Every pair of faults at the steps of the rig.

    Raises
    ------
    DesignError
        The plant has no such sequence.
    """
    if sequence not in of.sequences:
        raise DesignError("no such sequence in this plant", where="trial", value=sequence,
                          allowed=", ".join(("train", *of.sequences)), do="use one of these")
    return property_rows(unit_trial(of, sequence, None, unit_cases(of, sequence, pairs)), RIGS[sequence].properties,
                         lambda case: unit_trace(of, sequence, case))


def _run(of: Units, sequence: str, own: UnitProgramme, found: Sequence[Case] | None,
         said: list[tuple[float, str, str]] | None) -> Finding:
    listed = list(unit_cases(of, sequence) if found is None else found)
    rig = RIGS[sequence](of, own, len(listed))
    control = _Stepper(rig)
    onset = np.array([control.index.get(c.at, -1) for c in listed])
    members = {f: np.array([f in c.faults for c in listed]) for f in rig.fault}
    begun = np.full(rig.n, -1.0)
    first = {name: np.full(rig.n, -1.0) for name in rig.properties}
    clocks = {name: np.zeros(rig.n) for name in rig.properties}
    limits = {name: own.times[rig.limits[name]] if name in rig.limits else 2.0 for name in rig.properties}
    finite = sum(s.least + (s.watch - s.least if s.watch < FOREVER else 0.0) * 0.5 for s in own.steps.values())
    end = max(_ROOM * rig.turns * finite, own.times["trial-least"]) + rig.extra()
    rests = np.array([s.key in rig.at_rest and s.watch >= FOREVER for s in control.steps])
    second, last, visited = 0.0, None, set()
    while second < end:
        second += rig.dt
        here = (control.step == onset) & (begun < 0.0)
        begun = np.where(here, second, begun)
        for f, of_case in members.items():
            rig.fault[f] = of_case & (begun >= 0.0)
        want = control.want()
        rig.move(want)
        for name, wrong in rig.broken(want, control).items():
            clocks[name] = np.where(wrong, clocks[name] + rig.dt, 0.0)
            hit = (clocks[name] > limits[name] + rig.dt) & (first[name] < 0.0)
            first[name] = np.where(hit, second, first[name])
            if said is not None and hit.any():
                said.append((second, control.steps[int(control.step[0])].key, f"broken: {rig.properties[name]}"))
        if said is not None and last != int(control.step[0]):
            last = int(control.step[0])
            said.append((second, control.steps[last].key, control.steps[last].title))
        if said is not None and here.any() and listed[0].faults:
            said.append((second, control.steps[int(control.step[0])].key, "fault: " + ", ".join(listed[0].faults)))
        visited.update(np.unique(control.step).tolist())
        control.scan(want)
        if int(second / rig.dt) % 32 == 0 and bool(
                np.all(rests[control.step] & control.left & (control.time > own.times["at-rest"]))):
            break
    made = Finding(listed, visited=frozenset(control.steps[i].key for i in visited),
                   ends=[control.steps[int(i)].key for i in control.step])
    for name, times in first.items():
        made.broken[name] = [(float(times[i] - max(begun[i], 0.0)), int(i)) for i in np.flatnonzero(times >= 0.0)]
    return made

