"""The backwash timetable: the schedule minute by minute with flows and levels of a run.

Each turn is a row of steps with a beginning and an end to the second. A minute holds the mean of what flows in
it, so that balances are exact whatever the lengths of the steps.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from desalbook.pretreatment.backwash_schedule import SERVICE, STEPS, Schedule, flows_in_steps
from desalbook.trail import constant, relation, values
from desalbook.units import DifferencePa, Factor, S

__all__ = [
    "MINUTE",
    "Backwash",
    "Timetable",
    "backwashes",
    "columns",
    "loss_through_run",
    "pressure_drop_in_run",
    "timetable",
]


@relation(
    "Pressure drop of a filter within its run",
    symbol="Delta_p_f",
    unit="Pa",
    source="common-practice",
    note="grows in proportion to the solids held, and with the rate while a neighbour is out of service",
)
def pressure_drop_in_run(
    clean_drop: DifferencePa, filter_drop: DifferencePa, since_backwash: S, filter_run: S, flow_ratio: Factor
) -> DifferencePa:
    """Pressure drop across a filter at a time since its backwash, from clean to terminal.

    Solids arrive evenly and head loss is proportional to them; laminar flow, so that it is proportional to the rate.
    Surface cake or breakthrough bends the line upward or ends it sooner.
    """
    return (clean_drop + (filter_drop - clean_drop) * since_backwash / filter_run) * flow_ratio


MINUTE = constant("T_1", 60.0, "s", source="definition", title="One minute").value


@dataclass(frozen=True)
class Backwash:
    """One backwash of one filter: train and filter (from 0), its beginning in seconds, filters out beside it."""

    train: int
    filter: int
    start: float
    together: int


@dataclass(frozen=True)
class Timetable:
    """Means of each minute of one run; ``t`` trains, ``n`` filters of each, ``m`` minutes.

    Parameters
    ----------
    edges : array of shape (m + 1,)
        s; the last minute may be a short one.
    into, rinse, wash, drain, refill : array of shape (t, n, m)
        Of each filter, m3/s: from the feed pump (rinse included), to waste as rinse, backwash water, drained, and
        the part of the backwash that fills the vessel again.
    pump, feed, make_up : array of shape (t, m)
        Of each train, m3/s.
    state : array of shape (t, n, m)
        Index of the step that takes most of the minute; ``len(STEPS)`` is service.
    washes : tuple of Backwash
        Those that fit into the run; what does not is omitted.
    raw : array of shape (m,)
        Raw water drawn from its tank, m3/s.
    intake : float
        What refills it all the time, m3/s: the mean of what is drawn.
    source : array of shape (m,)
        Drawn from the backwash tank less its make-up, m3/s; zero where raw water backwashes.
    """

    edges: np.ndarray
    into: np.ndarray
    rinse: np.ndarray
    wash: np.ndarray
    drain: np.ndarray
    refill: np.ndarray
    pump: np.ndarray
    feed: np.ndarray
    make_up: np.ndarray
    state: np.ndarray
    washes: tuple[Backwash, ...]
    raw: np.ndarray
    intake: float
    source: np.ndarray

    @property
    def length(self) -> np.ndarray:
        """Seconds in each minute."""
        return np.diff(self.edges)

    @property
    def filtrate(self) -> np.ndarray:
        """To the header from each filter, m3/s."""
        return self.into - self.rinse

    @property
    def waste(self) -> np.ndarray:
        """Of each filter, m3/s."""
        return self.drain + self.wash - self.refill + self.rinse

    @property
    def missing(self) -> np.ndarray:
        """Water missing in each vessel at the end of each minute, m3."""
        return np.cumsum((self.drain - self.refill) * self.length, axis=-1)

    @property
    def raw_drawn(self) -> np.ndarray:
        """What the raw tank is short of its level at the start, at the end of each minute, m3."""
        return np.cumsum((self.raw - self.intake) * self.length)

    @property
    def source_drawn(self) -> np.ndarray:
        """As `raw_drawn`, of the backwash tank."""
        return np.cumsum(self.source * self.length)


def backwashes(of: Schedule) -> tuple[Backwash, ...]:
    """All backwashes of one run in their order; turns that do not end within the run are omitted."""
    t, together, at_a_time = (int(x) for x in (of.trains, of.slots.together, of.slots.trains_backwashing))
    n, gap = int(of.battery.count), float(of.slots.interval)
    groups = [[*range(n)][k : k + together] for k in range(0, n, together)]
    turns = [(train, g) for g in groups for train in range(0, t, at_a_time)]
    found = []
    for k, (first, group) in enumerate(turns):
        start = k * gap
        if start + float(of.slots.off_line) > float(of.slots.run) * (1 + 1e-12):
            break
        found += [
            Backwash(first + extra, f, start, len(group))
            for extra in range(at_a_time)
            if first + extra < t
            for f in group
        ]
    return tuple(found)


def _overlap(start: float, end: float, edges: np.ndarray) -> np.ndarray:
    """Part of each minute that lies between start and end."""
    inside = np.clip(edges, start, end)
    return np.diff(inside) / np.diff(edges)


def timetable(of: Schedule) -> Timetable:
    """One run of all trains, minute by minute.

    Parameters
    ----------
    of : Schedule

    Returns
    -------
    Timetable
    """
    run, t, n = float(of.slots.run), int(of.trains), int(of.battery.count)
    whole = int(np.floor(run / MINUTE + 1e-9))
    edges = np.arange(whole + 1) * MINUTE
    if run - edges[-1] > 1e-6:
        edges = np.append(edges, run)
    m = len(edges) - 1
    part = np.zeros((t, n, len(STEPS), m))
    out = np.zeros((t, len(STEPS), m))  # of the train: some filter is in this step
    beside = np.zeros((t, len(STEPS), m))  # filters that are, at that time
    done = backwashes(of)
    ends = np.concatenate([[0.0], np.cumsum(of.times.values)])
    for w in done:
        for s in range(len(STEPS)):
            share = _overlap(w.start + ends[s], w.start + ends[s + 1], edges)
            part[w.train, w.filter, s] += share
            out[w.train, s] += share / w.together
            beside[w.train, s] += share
    q, rinse, carried = float(of.through), float(of.rinse), float(of.filter_to_waste_carried)
    rinsing = np.array([1.0 if s == "filter_to_waste" else 0.0 for s in STEPS])
    pump = np.full((t, m), q)
    into = np.zeros((t, n, m))
    served = (1 - out.sum(axis=1))[:, None, :] * (q / n)
    into += served
    for size in sorted({w.together for w in done}):
        mine = np.zeros((t, len(STEPS), m))
        for w in done:
            if w.together == size:
                for s in range(len(STEPS)):
                    mine[w.train, s] += _overlap(w.start + ends[s], w.start + ends[s + 1], edges) / size
        with values(keep=False):
            given, each = map(np.asarray, flows_in_steps(q, n, size, rinse, rinsing, carried))
        pump += np.einsum("s,tsm->tm", given - q, mine)
        own = np.zeros((t, n, len(STEPS), m))
        for w in done:
            if w.together == size:
                own[w.train, w.filter] = part[w.train, w.filter]
        into += np.einsum("s,tnsm->tnm", each, mine[:, None] - own)
    rinsed = part[:, :, STEPS.index("filter_to_waste")] * rinse
    into += rinsed
    washed = part[:, :, STEPS.index("backwash")] * float(of.wash_flow)
    drained, filled = (np.einsum("s,tnsm->tnm", c.values, part) for c in (of.drain, of.refill))
    make_up = np.full((t, m), float(of.make_up))
    from_filters = make_up if of.source.refilled_by_filters else np.zeros((t, m))
    feed = pump - rinsed.sum(axis=1) - from_filters
    raw = pump.sum(axis=0) + (0.0 if of.source.has_tank else washed.sum(axis=(0, 1)))
    source = washed.sum(axis=(0, 1)) - make_up.sum(axis=0) if of.source.has_tank else np.zeros(m)
    state = np.where(part.sum(axis=2) > 0.5 + 1e-9, part.argmax(axis=2), len(STEPS))
    intake = float(np.sum(raw * np.diff(edges)) / run)
    return Timetable(
        edges, into, rinsed, washed, drained, filled, pump, feed, make_up, state, done, raw, intake, source
    )


def columns(of: Timetable) -> dict[str, np.ndarray]:
    """Columns of the minute table, SI: time, flows of tanks, trains and filters, and words for the steps.

    Trains are A, B, ...; filters are numbered from 1.
    """
    words = np.array([*STEPS, SERVICE])
    found: dict[str, np.ndarray] = {
        "time": of.edges[:-1],
        "intake": np.full(len(of.raw), of.intake),
        "raw_drawn": of.raw,
        "raw_tank_short": of.raw_drawn,
        "wash_tank_short": of.source_drawn,
        "waste": of.waste.sum(axis=(0, 1)),
    }
    for t in range(len(of.pump)):
        name = chr(ord("A") + t) if t < 26 else f"T{t + 1}"
        found[f"{name} feed pump"] = of.pump[t]
        found[f"{name} RO feed"] = of.feed[t]
        found[f"{name} backwash water"] = of.wash[t].sum(axis=0)
        found[f"{name} waste"] = of.waste[t].sum(axis=0)
        for f in range(of.into.shape[1]):
            found[f"{name}{f + 1} step"] = words[of.state[t, f]]
            found[f"{name}{f + 1} filtered"] = of.filtrate[t, f]
    return found


def loss_through_run(of: Schedule, table: Timetable, clean: float, dirty: float, full_run: float) -> np.ndarray:
    """Pressure drop of each filter through the run, Pa; nan while it is out of service.

    Grows in proportion to the time since its backwash, from `clean` to `dirty` in `full_run` seconds, and in
    proportion to the rate while a neighbour is out. All filters are taken to share the flow evenly.

    Returns
    -------
    array of shape (t, n, m)
    """
    middle = (table.edges[:-1] + table.edges[1:]) / 2
    t, n, m = table.into.shape
    found = np.full((t, n, m), np.nan)
    run, off = float(of.slots.run), float(of.slots.off_line)
    for w in table.washes:
        since = np.mod(middle - (w.start + off), run)
        served = table.filtrate[w.train, w.filter] / (float(of.through) / n)
        out = table.state[w.train, w.filter] < len(STEPS)
        with values(keep=False):
            drop = pressure_drop_in_run.at(
                "filters.drop",
                clean_drop=clean,
                filter_drop=dirty,
                since_backwash=since,
                filter_run=full_run,
                flow_ratio=served,
            )
        found[w.train, w.filter] = np.where(out, np.nan, drop)
    return found
