"""The sequences beside those of a train: backwash, CIP, chlorination shock, standby exchange, flush, power failure.

The table ``unit_sequences`` writes each once, a row a step: what is open, what runs, what it waits for and where it
goes. A plant gets the steps whose equipment it has, with durations of its own design. Reset, manual modes and the
texts of a panel are of the programme that is written from it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from desalbook.tables import Row, table

__all__ = ["ALIASES", "FOREVER", "SEQUENCES", "UNTIL", "Step", "Units", "actuator_words", "listed_steps", "unit_steps"]

SEQUENCES = {"backwash": "Backwash of one filter", "cip": "Cleaning of one bank in place (CIP)",
             "shock": "Chlorination shock", "exchange": "Exchange of duty and standby pump",
             "flush": "Flush of trains at rest", "power": "Power failure and return"}
"""Sequences by key, in the order they are listed."""
UNTIL = {
    "turn": "its slot has come, no other filter is in backwash and backwash water is there",
    "isolated": "all valves of the filter are seen shut", "drained": "time is over and the level is at the bed",
    "air open": "the air valve is seen open", "time": "the time is over", "blower stands": "the blower is at rest",
    "backwash open": "both backwash valves are seen open", "pump stands": "backwash pump and blower are at rest",
    "rinsed": "time is over and turbidity is below its trip", "waste shut": "filter-to-waste valve is seen shut",
    "in service": "inlet and outlet are seen open, the others shut", "reset": "a person resets",
    "asked": "a cleaning is asked for", "locked out": "the HP pump is off and locked, the way to product is shut",
    "full": "the CIP tank is full", "cip open": "CIP valves are seen open",
    "cip pump stands": "the CIP pump is at rest",
    "warm": "the solution has its temperature", "neutral": "time is over and pH is that of permeate",
    "cip shut": "CIP valves are seen shut", "due": "it is due", "acid stands": "the acid pump is at rest",
    "clean": "ORP is below its trip", "shock over": "the shock dose is off and ORP is below its trip",
    "hypochlorite stands": "the hypochlorite pump is at rest", "ready": "the standby pump has no fault",
    "standby up": "the standby pump gives its flow", "duty stands": "the duty pump is at rest",
    "rest": "the next call", "flush water": "the tank holds a flush and what osmosis draws back",
    "flush open": "the flush valve is seen open", "flushed": "time is over and the flush volume is through",
    "flush pump stands": "the flush pump is at rest", "flush shut": "the flush valve is seen shut",
    "power": "the voltage is there", "all stand": "all motors are at rest",
    "intake up": "the intake pump gives its flow",
    "product up": "the product pump gives its flow"}
"""What a step waits for, in words."""
ALIASES = {"duty": "Duty pump", "standby": "Standby pump", "shock": "Shock dose",
           "raw_dosing": "Dosing to the raw water", "product_dosing": "Dosing to the product"}
"""What stands for equipment of several kinds, or for a second setting of one."""
FOREVER = 1e6
"""How the table writes that a step has no end of its own, s."""


@dataclass(frozen=True)
class Units:
    """What the sequences of a plant rest on, SI.

    Parameters
    ----------
    has : frozenset of str
        Equipment and valves by key.
    sequences : tuple of str
        Those the plant has.
    times : mapping
        Seconds of each line of the design that a step names.
    trains, filters, allowed : int
        Trains; filters of the plant; filters that the schedule takes out of service at once.
    exchanged : tuple of str
        Equipment with a standby.
    source_volumes : float or None
        Backwashes that the source of the backwash water holds; None where it is the raw water.
    bed_depth_time : float
        Time to drain a filter to its bed, s.
    warm_up : float
        Time to warm the CIP tank, s.
    hot : float
        CIP temperature at its trip, as warming over the warming to the set temperature.
    orp_delay, probe_travel, pump_travel : float
        Of the ORP trip; of the feed from quill to probe and from probe to pump, s.
    shock, chlorine : float
        Chlorine at the dechlorination in a shock and in service, over what harms the membranes.
    flush_tank, flush, drawback : float
        Water in the flush tank when full; of the flush of one train; drawn back by one train, m3.
    """

    has: frozenset[str]
    sequences: tuple[str, ...]
    times: Mapping[str, float]
    warm_up: float
    hot: float
    probe_travel: float
    pump_travel: float
    trains: int = 1
    filters: int = 0
    allowed: int = 1
    exchanged: tuple[str, ...] = ()
    source_volumes: float | None = None
    orp_delay: float = 5.0
    shock: float = 0.0
    chlorine: float = 0.0
    flush_tank: float = 1.0
    flush: float = 0.5
    drawback: float = 0.01


@dataclass(frozen=True)
class Step:
    """One step: what is open and runs, what it waits for, for how long, and where it goes."""

    key: str
    sequence: str
    title: str
    open: tuple[str, ...]
    run: tuple[str, ...]
    until: str
    least: float
    watch: float
    then: str
    otherwise: str
    trips: str
    time: str = ""

    @property
    def asked(self) -> tuple[str, ...]:
        """Valves that are open and equipment that runs."""
        return self.open + self.run


def actuator_words(name: str) -> str:
    """A valve or unit inside a sentence: ``backwash inlet valve``, ``CIP pump``."""
    if name in ALIASES:
        return ALIASES[name].lower()
    words = name.replace("-", " ").replace("_", " ")
    words = f"{words.removeprefix('dosing ')} dosing" if words.startswith("dosing ") else words
    return " ".join({"cip": "CIP", "hp": "HP"}.get(w, w) for w in words.split())


def unit_steps(of: Units, sequence: str) -> dict[str, Step]:
    """Steps of one sequence for this plant, by key: those whose equipment is absent are passed over.

    Parameters
    ----------
    of : Units
    sequence : str
        Key of `SEQUENCES`.
    """
    rows = {key: row for key, row in table("unit_sequences").items() if row["sequence"].value == sequence}
    absent = {key for key, row in rows.items() if "needs" in row and row["needs"].value not in of.has}

    def way(key: str) -> str:
        while key in absent:
            key = rows[key]["then"].value
        return key

    return {key: _step(of, row, way) for key, row in rows.items() if key not in absent}


def _step(of: Units, row: Row, way: Any) -> Step:
    def those(name: str) -> tuple[str, ...]:
        words = row[name].value.split() if name in row else []
        return tuple(w for w in words if w in of.has or (w in ALIASES and not w.endswith("_dosing")))

    time = row["time"].value if "time" in row else ""
    least = of.times[time] if time else row["least"].value
    watch = row["watch"].value
    return Step(row.key, row["sequence"].value, row.title, those("open"), those("run"), row["until"].value, least,
                watch if watch >= FOREVER else least + watch, way(row["then"].value), way(row["otherwise"].value),
                row["trips"].value, time)


def listed_steps(of: Units) -> list[dict[str, Any]]:
    """All steps as a table: SI; ``time`` names the line of the design that gives the duration."""
    return [{"key": s.key, "sequence": SEQUENCES[name], "title": s.title, "open": " ".join(s.open),
             "run": " ".join(s.run), "until": s.until, "least": s.least, "watch": s.watch, "then": s.then,
             "otherwise": s.otherwise, "trips": s.trips, "time": s.time}
            for name in of.sequences for s in unit_steps(of, name).values()]
