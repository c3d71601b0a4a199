"""Cause and effect, permissives and alarms of a sized plant: what its programme does, as lists a person can check.

Effects are not written here a second time: they are what the steps of the sequences change when a trip comes. Made
when somebody asks. Final lists are those of the programme as it is commissioned, after a hazard study by people.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from desalbook.controls import Instrument
from desalbook.controls.trial import TRAVEL, AlarmPoint, Case, Train, alarm_load, programme
from desalbook.controls.unit_sequences import SEQUENCES, UNTIL, Units, unit_steps
from desalbook.plant.sequences import actuators, asked_in, units_of
from desalbook.tables import table
from desalbook.units import show

__all__ = ["ACTS", "FLOOD", "GROUPS", "alarm_load_rows", "alarm_points", "alarm_rows", "cause_rows",
           "effect_columns", "permissive_rows"]

ACTS = {"S": "stops", "C": "shuts", "O": "opens", "R": "starts"}
"""Letters of the table of cause and effect; A beside them: an alarm is raised."""
GROUPS = {"train": "Trip of a train", "divert": "Permeate to the dump", "backwash": "Backwash stops",
          "cip": "CIP stops", "flush": "Flush stops", "shock": "Shock stops", "exchange": "Standby unit starts",
          "product pump": "Product pump stops", "plant": "All stops"}
"""What a cause does, by key."""
_CHANGES = {"backwash": ("bw-water", "bw-stop"), "cip": ("alkali-circulate", "cip-stop"),
            "flush": ("fl-run", "fl-off"), "shock": ("shock-dose", "shock-stop")}
_FLUSHES = ("flush_pump", "flush-valve")
"""What a train asks for when it is at rest again: their fault stops the flush."""
_TRIPS_TRAIN = ("dosing_dechlorination", "dosing_antiscalant")


def _change(before: Iterable[str], after: Iterable[str]) -> dict[str, str]:
    """What a step does to valves and pumps that the step before had otherwise."""
    old, new = set(before), set(after)
    acts = {name: "C" if _is_valve(name) else "S" for name in old - new}
    return acts | {name: "O" if _is_valve(name) else "R" for name in new - old}


def _is_valve(name: str) -> bool:
    return name.endswith(("-valve", "-dump"))


def _effects(sized: Any, of: Units) -> dict[str, dict[str, str]]:
    """Acts by group and actuator."""
    train = asked_in(sized)
    made = {"train": _change(train["run"], train["trip"]), "divert": _change(train["run"], train["end-shut"]),
            "product pump": {"product_pump": "S"} if "product_pump" in of.has else {},
            "plant": {name: "S" for name in actuators(sized) if not _is_valve(name)}}
    made["plant"] |= {name: act for name, act in made["train"].items() if _is_valve(name)}
    for name, (before, after) in _CHANGES.items():
        if name in of.sequences:
            steps = unit_steps(of, name)
            made[name] = _change(_own(steps[before].asked), _own(steps[after].asked))
    if "scour_blower" in of.has and "backwash" in made:
        made["backwash"]["scour_blower"] = "S"
    return made


def _own(names: Iterable[str]) -> set[str]:
    """Actuators of a step, with the shock dose as the pump that gives it."""
    return {"dosing_chlorination" if n == "shock" else n for n in names}


def _tags(sized: Any) -> dict[str, str]:
    return {row["key"].removeprefix("valve[").removesuffix("]"): row["tag"] for row in sized.equipment}


def effect_columns(sized: Any) -> dict[str, str]:
    """Actuators that a cause moves, by key, with their tags, in the order of the tags' numbers."""
    tags, of = _tags(sized), units_of(sized)
    moved = {name for acts in _effects(sized, of).values() for name in acts if name in tags}
    return {name: tags[name] for name in sorted(moved, key=lambda n: (tags[n].partition("-")[2], tags[n]))}


def cause_rows(sized: Any) -> list[dict[str, Any]]:
    """The table of cause and effect: a row a cause, a column an actuator by its tag; SI set points.

    Letters as in `ACTS`; a trip is latched until a person resets it. A cause without letters raises an alarm alone.
    """
    of = units_of(sized)
    effects, columns = _effects(sized, of), effect_columns(sized)
    rows = []
    for x in alarm_rows(sized):
        group = x["stops"]
        if not group:
            continue
        acts = _exchange(x) if group == "exchange" else effects.get(group, {})
        if x["key"] == "orp-trip-high":  # whatever chlorine it sees, no more is given
            acts = effects.get("shock", {}) | acts
        letters = {tag: acts.get(name, "") for name, tag in columns.items()}
        rows.append({"key": x["key"], "tag": x["tag"], "title": x["title"], "fault": x["fault"],
                     "set_point": x["set_point"],
                     "kind": x["kind"], "delay": x["delay"], "does": GROUPS.get(group, group), "group": group,
                     "latched": "no" if group in ("divert", "exchange") else "yes", "alarm": "A", **letters,
                     "id": x["id"], "ids": x["ids"]})
    return rows


def _exchange(row: Mapping[str, Any]) -> dict[str, str]:
    """A unit that fails stops, and the other of its group starts: one tag, both letters."""
    return {row["actuator"]: "S, R"}


def _measured(sized: Any) -> list[dict[str, Any]]:
    """Alarms and trips of measured values."""
    found = []
    for x in sized.control.instruments:
        row, letters = x.row, x.row["letters"].value.removesuffix("IT")
        stop = row["stop"].value if "stop" in row else ""
        for side, mark, words in (("low", "L", "low"), ("high", "H", "high")):
            alarm, trip = getattr(x, f"alarm_{side}"), getattr(x, f"trip_{side}")
            for name, of in (("alarm", alarm), ("trip", trip)):
                if of is None:
                    continue
                only = name == "alarm" and trip is None and stop == "divert"
                stops = stop if name == "trip" or only else ""
                found.append({
                    "key": f"{x.key}-{name}-{side}", "tag": f"{letters}A{mark * (1 + (name == 'trip'))}-"
                    f"{row['number'].value}", "title": f"{row.title} {words}{' (trip)' if name == 'trip' else ''}",
                    "fault": "",
                    "count": x.units, "kind": row["quantity"].value, "set_point": float(of),
                    "delay": x.delay, "priority": row["priority"].value if name == "alarm" else "low",
                    "consequence": _sentence(x.words("consequence")), "response": x.words("response"),
                    "respond": row["respond"].value if name == "alarm" else None, "stops": stops, "actuator": "",
                    "id": of.id, "ids": {"set_point": of.id}})
    return found


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _of_equipment(sized: Any) -> list[dict[str, Any]]:
    """Alarms of motors, day tanks, valves, signals, supply and emergency stop."""
    tags, of = _tags(sized), units_of(sized)
    counts = {r["key"]: int(r["count"]) for r in sized.control.signals.rows}
    times = programme().times
    titles = {row["key"].removeprefix("valve[").removesuffix("]"): row["title"] for row in sized.equipment}
    found: list[dict[str, Any]] = []

    def add(kind: str, key: str, tag: str, title: str, count: int, stops: str, factor: float = 1.0) -> None:
        row = table("equipment_alarms").row(kind, "alarms")
        found.append({"key": f"{key}-{kind}", "tag": tag, "title": f"{title}: {row.title}", "fault": row.title,
                      "count": count, "kind": "",
                      "set_point": None, "delay": factor * times[row["delay"].value], "priority": row["priority"].value,
                      "consequence": row["consequence"].value, "response": row["response"].value,
                      "respond": row["respond"].value, "stops": stops, "actuator": key, "id": "", "ids": {}})

    for name, sequences in sorted(actuators(sized).items(), key=lambda x: tags.get(x[0], "")):
        if name not in tags:
            continue
        apart = sequences - {"train"} if name in _FLUSHES else sequences
        first = "train" if "train" in apart else next(s for s in SEQUENCES if s in apart)
        own = first if first in GROUPS else ""
        if _is_valve(name):
            kind = "travel-train" if first == "train" else "travel-filter" if first == "backwash" else "travel-plant"
            add(kind, name, tags[name], titles[name], counts[name], own, TRAVEL)
        elif name.startswith("dosing_"):
            hard = name in _TRIPS_TRAIN
            add("day-tank-critical" if hard else "day-tank", name, tags[name].replace("P-", "T-"),
                titles[name].replace("Dosing pump", "Day tank"), 1, "train" if hard else "")
        elif name in of.exchanged:
            add("motor-standby", name, tags[name], titles[name], counts[name], "exchange")
        else:
            kind = "heater" if "heater" in name else "motor-train" if first == "train" else "motor-plant"
            add(kind, name, tags[name], titles[name], counts[name], own)
    for x in sized.control.instruments:
        stop = x.row["stop"].value if "stop" in x.row else ""
        kind = "signal-train" if stop == "train" else "signal"
        add(kind, x.key, x.tag, x.row.title, x.units, "train" if stop == "train" else "")
    add("supply", "supply", tags.get("panel_common", "CP-702"), "Supply", 1, "plant")
    stop = next(x for x in sized.control.safety if x["trial"] == "emergency")
    add("emergency", "emergency", stop["tag"], stop["title"], stop["count"], "plant")
    return found


def alarm_rows(sized: Any) -> list[dict[str, Any]]:
    """All alarms: set point, delay (s), priority, consequence, response, time to respond (s), what they stop.

    ``count`` is how many of them the plant has. A trip of a measured value acts by itself: it has no time to respond,
    and its message ranks low beside the alarm before it.
    """
    return [*_measured(sized), *_of_equipment(sized)]


def permissive_rows(sized: Any) -> list[dict[str, Any]]:
    """What must be true before something may start: a train, a pump, each sequence beside the train's."""
    of, tags, train = units_of(sized), _tags(sized), sized.control.train
    words = {"level": "the raw tank is above its low trip", "suction": "suction pressure is above 90 % of normal",
             "clean": "ORP is below its trip", "time": ""}
    steps, key, found = programme().steps, "permit", []

    def add(key: str, starts: str, wants: str, where: str) -> None:
        found.append({"key": key, "starts": starts, "wants": wants, "where": where})

    add("reset", "Train", "no trip of the train is latched; CIP valves are shut and the CIP lock is released",
        steps["idle"]["title"])
    while key != "ramp":
        step = steps[key]
        # without dosing there is no chlorine to wait for
        text = "" if step["until"] == "clean" and "dosing" not in train.has else words.get(step["until"], "")
        held = f"{show(step['least'], 'time.second', trim=True)} in the step" if step["least"] else ""
        if key not in ("balance",) or "booster" in of.has:
            add(f"start-{key}", "HP pump", ", ".join(t for t in (text, held) if t), step["title"])
        key = str(step["then"])
    for pump, valve in (("feed_pump", "feed-valve"), ("hp_pump", "hp-discharge-valve"), ("flush_pump", "flush-valve"),
                        ("backwash_pump", "backwash-inlet-valve"), ("cip_pump", "cip-feed-valve"),
                        ("scour_blower", "scour-valve")):
        if pump in of.has and valve in of.has:
            add(f"open-{pump}", tags[pump], f"{tags[valve]} is seen open", "Interlock, all modes")
    if "cip_heater" in of.has:
        add("heater", tags["cip_heater"], "CIP flow is seen, the tank is above its low level", "Interlock, all modes")
    for sequence in of.sequences:
        for step in list(unit_steps(of, sequence).values())[:3]:
            if step.until not in ("time", "due", "asked", "rest") and not step.key.endswith(("held", "stop")):
                add(f"permit-{step.key}", SEQUENCES[sequence], UNTIL[step.until], step.title)
    return found


_SIGNALS = {"raw-level": ("level", "depth", 1), "suction": ("suction", "own", 1),
            "discharge": ("discharge", "own", 2), "permeate-pressure": ("permeate", "own", 1), "orp": ("orp", "own", 1),
            "permeate-conductivity": ("conductivity", "limit", 3),
            "concentrate-flow": ("concentrate_flow", "normal", 3), "permeate-flow": ("permeate_flow", "normal", 3)}
"""Measuring places of the trial: its signal, its scale, and from which level of trips on its alarm acts."""
_COMMON = ("power lost", "raw water stops", "chlorine high", "dosing empty")
"""Faults that all trains share."""
TARGET, MANAGEABLE, FLOOD = 1, 2, 10
"""Alarms of one operator in ten minutes: aimed at on average, manageable at most, and from which one speaks of a flood;
ISA-18.2 and IEC 62682, from memory."""


def alarm_points(sized: Any) -> list[AlarmPoint]:
    """Alarms of a train that its trial sees."""
    of: Train = sized.control.train
    found = []
    for x in sized.control.instruments:
        if x.key not in _SIGNALS:
            continue
        signal, scale, acts = _SIGNALS[x.key]
        row = x.row
        for side in ("low", "high"):
            alarm, normal = getattr(x, f"alarm_{side}"), float(getattr(x.place, side))
            if alarm is not None:
                found.append(AlarmPoint(f"{x.key}-{side}", f"{row.title} {side}", signal, side,
                                        _level(of, x, scale, float(alarm), normal), x.delay, acts))
    return found


def _level(of: Train, x: Instrument, scale: str, alarm: float, normal: float) -> float:
    """An alarm in the numbers of the trial."""
    if scale == "depth":  # of the raw tank, as a time at full draw above its trip
        trip = float(x.place.trip_low or 0.0)
        return of.level * (alarm - trip) / max(normal - trip, 1e-9)
    return {"own": alarm, "limit": of.quality_limit, "normal": alarm / normal}[scale]


def alarm_load_rows(sized: Any) -> list[dict[str, Any]]:
    """Alarms in the ten minutes from a start, and from each fault in service that stops a train.

    ``plain`` without suppression, ``suppressed`` with alarms that wait for their equipment to run, both with the alarm
    of the fault itself; of the plant where a fault strikes all trains. Above `FLOOD` in ten minutes nobody can follow.
    """
    of: Train = sized.control.train
    faults = ("hp_pump fails", "feed_pump fails", "booster fails", "concentrate shuts", "seal leaks", "chlorine high",
              "dosing empty", "raw water stops", "power lost", "suction low")
    here = [f for f in faults if not (f.split()[0] in ("booster", "dosing") and f.split()[0] not in of.has)
            and not (f == "chlorine high" and "dosing" not in of.has)]
    cases = [Case((), "run"), *(Case((f,), "run") for f in here)]
    rows, n = [], int(sized.duty.trains)
    for row in alarm_load(of, alarm_points(sized), cases):
        fault = row["case"]
        own = int(fault.split()[0] in _TOLD)
        many = n if fault in _COMMON else 1

        def count(keys: Iterable[str], own: int = own, many: int = many) -> int:
            return own + sum(1 if key.startswith("raw-level") else many for key in keys)

        rows.append({"key": fault.replace(" ", "-").replace("_", "-"), "title": _CASES[fault], "trains": many,
                     "plain": count(row["plain"]), "suppressed": count(row["suppressed"]),
                     "first": row["first"] or ("The fault itself" if own else "None")})
        rows[-1] |= {"verdict": _judged(rows[-1]["suppressed"]), "target": TARGET, "manageable": MANAGEABLE,
                     "flood": FLOOD}
    return rows


def _judged(alarms: int) -> str:
    """Alarms of ten minutes in words."""
    return ("on target" if alarms <= TARGET else "manageable" if alarms <= MANAGEABLE
            else "more than manageable" if alarms <= FLOOD else "a flood")


_TOLD = ("hp_pump", "feed_pump", "booster", "dosing", "power", "suction")
"""Faults that raise an alarm of their own."""
_CASES = {"start": "Start of a train", "hp_pump fails": "HP pump fails", "feed_pump fails": "Feed pump fails",
          "booster fails": "Booster fails", "concentrate shuts": "Concentrate valve shuts",
          "seal leaks": "A seal leaks",
          "chlorine high": "More chlorine than the agent takes", "dosing empty": "Day tank of dechlorination empty",
          "raw water stops": "Raw water stops", "power lost": "Supply lost",
          "suction low": "Suction transmitter fails"}
