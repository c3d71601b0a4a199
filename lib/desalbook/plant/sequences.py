"""The sequences beside those of a train, for a sized plant: what it has, and the durations of its own design.

Made when somebody asks: a sizing does without it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from desalbook.controls.trial import UNTIL as TRAIN_UNTIL
from desalbook.controls.trial import programme, steps_of
from desalbook.controls.unit_sequences import ALIASES, FOREVER, SEQUENCES, UNTIL, Units, unit_steps
from desalbook.tables import table
from desalbook.trail import constant

__all__ = ["PRODUCT", "RAW", "actuators", "asked_in", "measured_by", "sequence_rows", "units_of"]

RAW = ("chlorination", "coagulation", "acid")
"""Dosing steps that go with the raw water."""
PRODUCT = ("post_chlorination", "post_ph", "corrosion_inhibitor")
"""Dosing steps downstream of the RO membranes; all others go with the RO feed of a train."""
WARM = constant("T_w", 300.0, "K", source="common-practice", title="CIP temperature where the design has none")
WARM_UP = constant("t_w", 3600.0, "s", source="common-practice", title="Time to warm where the design has no heater")


def units_of(sized: Any) -> Units:
    """What the sequences beside those of a train rest on in a sized plant.

    Parameters
    ----------
    sized : Sized
    """
    book, of, train = sized.ledger, sized.control, sized.control.train
    battery = sized.pretreated.battery

    def number(id: str, default: float) -> float:
        try:
            return float(np.max(np.asarray(book[id], dtype=float)))  # of mixed elements the one that asks most
        except KeyError:
            return default

    has = {row["key"] for row in of.signals.rows} - {x.tag for x in of.instruments}
    has |= {name for name, steps in (("raw_dosing", RAW), ("product_dosing", PRODUCT))
            if any(f"dosing_{step}" in has for step in steps)}
    exchanged = tuple(row["key"] for row in sized.equipment if row.get("standby") and row["key"] in has)
    shock, residual = number("chlorination.residual_shock", 0.0), number("chlorination.residual", 0.0)
    there = {"backwash": "backwash_pump" in has and battery is not None, "cip": "cip_pump" in has,
             "shock": shock > 0.0 and "dosing" in train.has, "exchange": bool(exchanged),
             "flush": "flush_pump" in has, "power": True}
    times = {row["time"].value: number(row["time"].value, 0.0)
             for row in table("unit_sequences").values() if "time" in row}
    cold, warm = float(sized.waters.at["cold"].temperature), number("cip.temperature", WARM.value)
    hot = next(float(x.trip_high) for x in of.instruments if x.key == "cip-temperature" and x.trip_high is not None)
    trains = int(sized.duty.trains)
    return Units(
        has=frozenset(has), sequences=tuple(name for name in SEQUENCES if there[name]), times=times, trains=trains,
        filters=0 if battery is None else int(battery.count) * trains,
        allowed=int(number("filters.backwashes_at_once", 1.0)), exchanged=exchanged,
        source_volumes=number("backwash_tank.capacity", 0.0) / number("filters.backwash_volume", 1.0)
        if "backwash_tank.capacity" in book else None,
        warm_up=number("cip.warm_up_time", WARM_UP.value), hot=(hot - cold) / max(warm - cold, 1.0),
        orp_delay=train.orp_delay, probe_travel=train.probe_travel, pump_travel=train.pump_travel,
        chlorine=train.chlorine, shock=train.chlorine * shock / residual if residual else 0.0,
        flush_tank=number("cip.flush_tank", number("flush.volume", 1.0)), flush=number("flush.train_volume", 0.5),
        drawback=number("permeate.drawback", 0.0))


def _columns(sized: Any, of: Units) -> dict[str, list[str]]:
    """Valves and equipment behind each column of the sequences of a train."""
    doses = [key for key in of.has if key.startswith("dosing_")]
    moved = {row["step"].value: key for key, row in table("valves").items() if "step" in row}
    stages = [key for key in of.has if "stage" in key or key in ("booster", "concentrate_pump")]
    return {**{c: [key] for c, key in moved.items()}, "feed_pump": ["feed_pump"], "hp_pump": ["hp_pump"],
            "booster": stages, "flush_pump": ["flush_pump"],
            "dosing": [d for d in doses if d.removeprefix("dosing_") not in (*RAW, *PRODUCT)]}


def asked_in(sized: Any) -> dict[str, set[str]]:
    """Valves that are open and equipment that runs in each step of a train, by key of the equipment schedule.

    Parameters
    ----------
    sized : Sized
    """
    columns = _columns(sized, units_of(sized))
    return {row["key"]: {name for column, names in columns.items() if str(row[column]) not in ("", "shut", "off")
                         for name in names} for row in steps_of(sized.control.train)}


def actuators(sized: Any) -> dict[str, set[str]]:
    """Valves and equipment that a sequence moves, by key of the equipment schedule, with the names of the sequences.

    Parameters
    ----------
    sized : Sized
    """
    found: dict[str, set[str]] = {}
    of = units_of(sized)

    def add(names: Iterable[str], where: str) -> None:
        for name in names:
            found.setdefault(name, set()).add(where)

    doses = [key for key in of.has if key.startswith("dosing_")]
    aliases = {"duty": of.exchanged, "standby": of.exchanged, "shock": ("dosing_chlorination",),
               "raw_dosing": [d for d in doses if d.removeprefix("dosing_") in RAW],
               "product_dosing": [d for d in doses if d.removeprefix("dosing_") in PRODUCT]}
    for names in asked_in(sized).values():
        add(names, "train")
    for sequence in of.sequences:
        for step in unit_steps(of, sequence).values():
            for name in step.asked:
                add(aliases.get(name, (name,)), sequence)
    return found


_READ = {"filter level": "filter-level", "turbidity": "filtrate-turbidity", "CIP level": "cip-level",
         "CIP temperature": "cip-temperature", "CIP pH": "cip-ph", "CIP flow": "cip-flow", "orp": "orp",
         "flush level": "flush-level", "flush flow": "concentrate-flow", "suction": "suction",
         "discharge": "discharge", "permeate": "permeate-pressure", "conductivity": "permeate-conductivity",
         "level": "raw-level", "concentrate_flow": "concentrate-flow"}
"""Measuring place of each signal of the trials; a flush leaves through the concentrate line."""


def measured_by(sized: Any, signal: str) -> str:
    """Measuring place that gives a signal of the trials: a row of the list of instruments.

    Parameters
    ----------
    sized : Sized
    signal : str
    """
    if signal == "source level":
        return "backwash-level" if "backwash_tank.capacity" in sized.ledger else "raw-level"
    return _READ[signal]


def sequence_rows(sized: Any, sequence: str) -> list[dict[str, Any]]:
    """One sequence as a document prints it, a row a step: tags in place of keys, words in place of conditions; SI.

    ``lasts`` is the time a step takes at least (s), ``begins`` when it begins where nothing is waited for longer (s;
    None off the way of a run without faults), ``waits`` how long it waits in all before it takes the other way (s;
    None without end). ``then``, ``otherwise`` and ``on_trip`` are numbers of steps, empty where there is none.

    Parameters
    ----------
    sized : Sized
    sequence : str
        ``train``, or one that `units_of` has among its sequences.
    """
    steps = _train_steps(sized) if sequence == "train" else _unit_rows(sized, sequence)
    number = {row["key"]: n for n, row in enumerate(steps, 1)}
    begins, key, clock = {}, steps[0]["key"], 0.0
    while key not in begins:
        row = steps[number[key] - 1]
        begins[key], clock, key = clock, clock + row["lasts"], row["then"]
    return [row | {"number": number[row["key"]], "begins": begins.get(row["key"]),
                   "waits": None if row["waits"] >= FOREVER else row["waits"],
                   **{name: number.get(row[name], "") for name in ("then", "otherwise", "on_trip")}} for row in steps]


def _tags(sized: Any) -> dict[str, str]:
    """Tags of valves and equipment by the keys that steps know them by."""
    return {row["key"].removeprefix("valve[").removesuffix("]"): row["tag"] for row in sized.equipment}


def _train_steps(sized: Any) -> list[dict[str, Any]]:
    """Steps of a train: those whose equipment is absent are passed over, on the way as well."""
    of, tags, asked = sized.control.train, _tags(sized), asked_in(sized)
    own = programme().steps
    rows = steps_of(of)
    here = {row["key"] for row in rows}

    def way(key: str) -> str:
        while key not in here:
            key = str(own[key]["then"])
        return key

    def those(key: str, valves: bool) -> str:
        names = [n for n in asked[key] if n.endswith(("-valve", "-dump")) == valves]
        return ", ".join(sorted({tags.get(n, n) for n in names}))

    return [{"key": row["key"], "title": row["title"], "open": those(row["key"], True), "run": those(row["key"], False),
             "goes_on": TRAIN_UNTIL["time" if row["until"] == "clean" and "dosing" not in of.has else row["until"]],
             "lasts": float(row["least"]), "waits": float(row["watch"]), "then": way(row["then"]),
             "otherwise": way(row["otherwise"]), "on_trip": "" if row["trips"] == "none" else "trip"} for row in rows]


def _unit_rows(sized: Any, sequence: str) -> list[dict[str, Any]]:
    """Steps of a sequence beside those of a train."""
    tags = _tags(sized)

    def those(names: Iterable[str]) -> str:
        return ", ".join(tags.get(n) or ALIASES.get(n, n) for n in names)

    return [{"key": s.key, "title": s.title, "open": those(s.open), "run": those(s.run), "goes_on": UNTIL[s.until],
             "lasts": s.least, "waits": s.watch, "then": s.then, "otherwise": s.otherwise, "on_trip": s.trips}
            for s in unit_steps(units_of(sized), sequence).values()]
