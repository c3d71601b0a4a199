"""The lists of the pack: equipment, valves, instruments, loads, signals, streams, chemicals, set points."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from desalbook.controls.trial import steps_of
from desalbook.pack.document import Block, Cell, Column, Document, Heading, Paragraph, Table, Value
from desalbook.pack.plant_source import Source
from desalbook.plant.cause_effect import ACTS
from desalbook.plant.equipment import unit_tags
from desalbook.plant.sequences import sequence_rows
from desalbook.tables import table

__all__ = ["controls", "electrical", "equipment", "instruments", "processes", "rows_of", "unit_sequence",
           "valves"]

_AREAS = {"1": "Intake and raw water", "2": "Pretreatment", "3": "High pressure", "4": "Product",
          "5": "Flush and CIP", "6": "Chemicals", "7": "Electrical"}
_GROUP = "Lists"


def rows_of(rows: Iterable[Mapping[str, Any]], columns: Sequence[Column]) -> list[dict[str, Cell]]:
    """What the columns ask for of each row, figures as plain numbers."""
    return [{c.key: _plain(row.get(c.key)) for c in columns} for row in rows]


def _plain(value: Any) -> Cell:
    if isinstance(value, str) or value is None:
        return None if value is None else str(value)
    number = float(value)
    return None if number != number else number


def equipment(of: Source) -> Document:
    """The equipment schedule by area."""
    columns = (Column("tag", "Tag", width=0.9), Column("title", "Service", width=2.1),
               Column("units", "Units", width=1.4), Column("duty", "Duty", "count", 0.5),
               Column("standby", "Standby", "count", 0.5), Column("flow", "Flow of one", "flow", 0.8),
               Column("head", "Head", "head", 0.7), Column("motor", "Motor", "power", 0.7),
               Column("power", "Power", "power.electric", 0.7), Column("size", "Size", width=1.5),
               Column("rating", "Class", width=0.9), Column("material", "Material", width=2.2),
               Column("supply", "Supply", width=0.8),
               *((Column("page", "Calculated in 601", width=1.2),) if of.paged else ()))
    blocks: list[Block] = [Paragraph(
        "A tag is that of a group of like units; the units of each train have the number of the train before it and a "
        "letter of the unit after it. The first digit is the area.")]
    for area, name in _AREAS.items():
        rows = []
        for r in of.equipment:
            if r["tag"].partition("-")[2][0] != area:
                continue
            tags = unit_tags(r)
            row = rows_of([r], [c for c in columns if c.key not in ("units", "size", "power", "page")])[0]
            if r["key"].startswith("dosing_") and row["flow"] is not None:
                row["flow"] = of.text(float(r["flow"]), "flow.dose", 3)
            if "air_flow" in r:  # a blower has air, and a pressure in place of a head
                row |= {"flow": of.text(float(r["air_flow"]), "flow.air", 3),
                        "head": of.text(float(r["pressure_rise"]), "pressure difference", 3)}
            row |= {"units": tags[0] if len(tags) == 1 else f"{tags[0]} to {tags[-1]}", "size": _size(of, r),
                    "power": _plain(r.get("electric_power"))}
            if of.paged and r.get("id"):
                row["page"] = of.calculation.where(r["id"])
            rows.append(row)
        if rows:
            blocks += [Heading(name), Table(name, columns, rows, ("tag",))]
    return Document("equipment", "201", "Equipment schedule", blocks, wide=True, group=_GROUP)


def _size(of: Source, r: Mapping[str, Any]) -> str:
    """What says how large one is, in words."""
    said = []
    for key, kind, word in (("diameter", "length", "diameter {}"), ("volume", "volume", "{}"),
                            ("capacity", "flow.dose", "{} maximum"), ("apparent_power", "apparent power", "{}")):
        if r.get(key) is not None and float(r[key]) == float(r[key]):
            small = kind == "volume" and float(r[key]) < 1.0
            said.append(word.format(of.text(r[key], "volume.small" if small else kind, 3)))
    if r.get("elements"):
        said.append(f"{float(r['elements']):.0f} elements")
    if r["key"].partition("[")[0] == "elements" and r.get("area"):
        said.append(of.text(r["area"], "area", 3))
    if r["key"] == "energy_recovery":
        said.append(f"{of.text(float(of.sized.pressure.concentrate_flow), 'flow', 3)} of concentrate, a train")
    if r["key"] == "cartridge_housing":
        said.append(f"{float(r['count']):.0f} cartridges")
    if r.get("modules"):
        said.append(f"{float(r['modules']):.0f} modules")
    return ", ".join(said)


def valves(of: Source) -> Document:
    """Valves the controller moves, relief valves, and what is moved by hand or by the flow."""
    columns = (Column("tag", "Tag", width=0.8), Column("title", "Valve", width=1.9), Column("count", "Number", "count",
                                                                                           0.6),
               Column("type", "Type", width=0.8), Column("run", "Run of pipe", width=2),
               Column("size", "Size", width=1.2), Column("rating", "Class", width=0.8),
               Column("fail", "On failure", width=1), Column("at_rest", "At rest", width=0.8),
               Column("set_pressure", "Set at", "gauge pressure", 0.7), Column("relief_flow", "Relief flow", "flow",
                                                                               0.8),
               Column("material", "Material", width=2))
    rows = rows_of(of.valves, [c for c in columns if c.key != "run"])
    for row, v in zip(rows, of.valves, strict=True):
        row["run"] = table("pipe_runs").row(v["line"], "valves").title
    by_hand = (Column("tag", "Tag", width=0.9), Column("title", "Service", width=2.6),
               Column("count", "Number", "count", 0.6), Column("type", "Type", width=1.1),
               Column("run", "Run of pipe", width=1.9), Column("size", "Size", width=0.8),
               Column("position", "In service", width=0.7), Column("rating", "Class", width=0.7),
               Column("material", "Material", width=2), Column("supply", "Supply", width=0.7))
    found = of.plant.hand_valves.to_dict("records")
    measured = {i["tag"] for i in of.instruments}
    hands = rows_of(found, [c for c in by_hand if c.key != "run"])
    for row, v in zip(hands, found, strict=True):
        row["run"] = v["where"]
    return Document("valves", "202", "Valve list", [
        Heading("Moved by the controller, and relief valves"),
        Paragraph("With their position on failure and at rest."),
        Table("Valves", columns, rows, ("tag",)),
        Heading("Hand valves, check valves and reducers"),
        Paragraph("By rules, common practice: each unit can be shut off, emptied and vented; pumps have check valves "
                  "and reducers; each run is drained at its lowest point, vented at its highest and sampled where the "
                  "water changes. No hand valve stands between the vessels and the permeate tank but at what is in "
                  "that way, and none at a relief valve. A tag is that of a group of like ones, and names their unit "
                  "or line (L). A branch to one of several units is smaller than the run. Valves of a dosing skid "
                  "belong to the skid."),
        Table("Hand valves, check valves and reducers", by_hand, [r for r, v in zip(hands, found, strict=True)
                                                                  if v["of"] not in measured], ("tag",)),
        Heading("Hook-ups of instruments"),
        Paragraph("By rules, common practice: a pressure instrument has a root valve and a manifold, one with a seal "
                  "a flanged root valve and a ring that is flushed, a level instrument an isolation and a drain, an "
                  "analyser on a sample line isolation, throttle, hand sample and drain. What is in the line or its "
                  "pipe (flow, conductivity, temperature, a level measured from the roof) has none and is taken out "
                  "at rest."),
        Table("Hook-ups of instruments", by_hand, [r for r, v in zip(hands, found, strict=True)
                                                   if v["of"] in measured], ("tag",))], wide=True, group=_GROUP)


def instruments(of: Source) -> Document:
    """Instruments with their ranges and set points."""
    sides = {"trip_low": "Low trip", "alarm_low": "Low alarm", "normal_low": "Normal from", "normal_high": "Normal to",
             "alarm_high": "High alarm", "trip_high": "High trip"}
    columns = (Column("tag", "Tag", width=1.05), Column("title", "Instrument", width=1.7),
               Column("count", "No.", "count", 0.4), Column("principle", "Principle", width=1.8),
               Column("range", "Range", width=1.4), *(Column(k, v, width=1) for k, v in sides.items()),
               Column("wetted", "Wetted", width=1.4), Column("priority", "Priority", width=0.7))
    rows = []
    for i in of.instruments:
        row: dict[str, Cell] = {k: str(i[k]) for k in ("tag", "title", "principle", "wetted", "priority")}
        row |= {"count": float(i["count"]), "range": of.reach(i["range_low"], i["range_high"], i["kind"], 3)}
        row |= {k: Value(float(i[k]), i["kind"], 3) for k in sides if i[k] is not None}
        rows.append(row)
    wired = (Column("tag", "Tag", width=0.8), Column("title", "Device", width=2),
             Column("count", "Number", "count", 0.5), Column("set", "Set at", width=1),
             Column("does", "What it does", width=4))
    devices: list[dict[str, Cell]] = [
        {"tag": x["tag"], "title": x["title"], "count": float(x["count"]), "does": x["does"],
         "set": None if x["set_point"] is None else Value(float(x["set_point"]), x["kind"], 3)}
        for x in of.sized.control.safety]
    meters = rows_of((r for r in of.sized.equipment if r["key"].startswith("instrument[meter-")), (
        Column("tag", ""), Column("title", ""), Column("installed_total", "")))
    metered = (Column("tag", "Tag", width=0.8), Column("title", "Meter", width=4),
               Column("installed_total", "Number", "count", 0.5))
    return Document("instruments", "204", "Instrument list", [
        Paragraph("Final set points are those of commissioning."),
        Table("Instruments and set points", columns, rows, ("tag",)),
        *([Table("Hard-wired devices", wired, devices, ("tag",))] if devices else []),
        *([Table("Energy meters", metered, meters, ("tag",))] if meters else [])], wide=True, group=_GROUP)


def electrical(of: Source) -> Document:
    """Loads and signals."""
    loads = (Column("tag", "Tag", width=1.1), Column("title", "Load", width=1.8), Column("panel", "Panel", width=0.8),
             Column("running", "Duty", "count", 0.5),
             Column("spare", "Standby", "count", 0.5), Column("rating", "Rating", "power", 0.7),
             Column("electric_power", "Power", "power.electric", 0.7), Column("starter", "Start", width=0.9),
             Column("current", "Current", "current", 0.7), Column("start_current", "At start", "current", 0.7),
             Column("cables", "Cables", "count", 0.6), Column("area", "Conductor", "conductor area", 0.8),
             Column("voltage_drop", "Voltage drop", "fraction", 0.7), Column("device", "Device", "current", 0.7))
    signals = (Column("tag", "Tag"), Column("title", "From or to", width=3), Column("count", "Number", "count"),
               Column("di", "Digital inputs", "count"), Column("do", "Digital outputs", "count"),
               Column("ai", "Analogue inputs", "count"), Column("ao", "Analogue outputs", "count"))
    used = rows_of(of.sized.power.rows, loads)
    for row, load in zip(used, of.sized.power.rows, strict=True):
        row["tag"] = _tag_of(of, str(load["key"]))
    called = rows_of(of.sized.control.signals.rows, signals)
    for row, signal in zip(called, of.sized.control.signals.rows, strict=True):
        at = of.by_key.get(_named(str(signal.get("key"))), row)
        row |= {"title": at["title"], "tag": at.get("tag") or _tag_of(of, str(signal.get("key")))}
        row |= {k: None for k in ("di", "do", "ai", "ao") if row[k] == 0.0}
    return Document("electrical", "205", "Electrical loads and signals", [
        Heading("Loads"), Table("Load list", loads, used, ("title", "panel")),
        Heading("Signals"), Table("Signals of one of each", signals, called, ("title",))],
                    wide=True, group=_GROUP)


def _named(key: str) -> str:
    """Key in the schedule of what a signal is of."""
    return f"instrument[{key.replace('[', '-')}" if key.startswith("meter[") else key


def _tag_of(of: Source, key: str) -> str:
    """Tag of a load or signal: of its row, of all of a kind (the dosing pumps), or the key where it is one."""
    names = (_named(key), f"valve[{key}]", f"instrument[{key}]")
    found = next((r["tag"] for r in of.sized.equipment if r["key"] in names or r["tag"] == key), "")
    if found:
        return str(found)
    some = [r["tag"] for r in of.equipment if r["key"].startswith(f"{key}_") and r["tag"].startswith("P-")]
    return "" if not some else some[0] if len(some) == 1 else f"{some[0]} to {some[-1]}"


def processes(of: Source) -> Document:
    """Streams, chemicals and energy: what goes in and out."""
    streams = (Column("title", "Stream", width=2.2), Column("scope", "Of", width=0.6),
               Column("from", "From", width=1.2), Column("to", "To", width=1.2),
               Column("volume_flow", "Flow", "flow"), Column("pressure", "Pressure", "gauge pressure"),
               Column("temperature", "Temperature", "temperature"), Column("salinity", "Salinity", "salinity"),
               Column("density", "Density", "density"))
    chemicals = (Column("title", "Line", width=1.7), Column("chemical", "Chemical", width=2.2),
                 Column("dose", "Dose", "concentration", 0.7), Column("basis", "Basis", width=0.8),
                 Column("mass_rate", "Mass rate", "mass flow", 0.7), Column("solution_rate", "Solution", "flow.dose",
                                                                            0.7),
                 Column("day_tank", "Day tank", "volume", 0.6), Column("store", "Bulk", "volume", 0.6),
                 Column("yearly_use", "Use of a year", "mass", 0.8))
    energy = (Column("title", "Consumer", width=2.4), Column("machines", "Running", "count", 0.7),
              Column("electric_power", "Power of one", "power.electric"), Column("running_time", "Time of a year",
                                                                                 "time"),
              Column("energy", "Energy of a year", "energy"), Column("specific_energy", "Per net product",
                                                                     "specific energy"))
    water = [s for s in of.sized.streams if s.get("volume_flow") is not None]
    return Document("process", "101", "Streams, chemicals and energy", [
        Heading("Streams"), Paragraph("Flows of one train at design temperature with aged membranes."),
        Table("Streams", streams, rows_of(water, streams), ("title", "scope")),
        Heading("Chemicals"), Table("Chemicals", chemicals, rows_of(of.chemicals, chemicals), ("title",)),
        Heading("Energy"), Table("Energy of a year", energy, rows_of(of.sized.energy.rows(), energy), ("title",))],
                    wide=True, group="Process")


def controls(of: Source) -> Document:
    """Sequences of a train: steps, what is open and runs, what each waits for."""
    columns = (Column("number", "No.", width=0.4), Column("title", "Step", width=2.4),
               Column("feed", "Feed valve", width=0.7),
               Column("dump", "Dump valve", width=0.7), Column("product", "Product valve", width=0.7),
               Column("concentrate", "Concentrate valve", width=0.8), Column("flush", "Flush valve", width=0.7),
               Column("feed_pump", "Feed pump", width=0.6), Column("hp_pump", "HP pump", width=0.6),
               Column("booster", "Booster", width=0.8), Column("flush_pump", "Flush pump", width=0.6),
               Column("dosing", "Dosing", width=0.7), Column("until", "Goes on when", width=1.6),
               Column("least", "At least", width=0.7), Column("then", "Then", width=0.5),
               Column("otherwise", "Otherwise", width=0.8))
    rows = rows_of(steps_of(of.sized.control.train), columns)
    for row, step in zip(rows, sequence_rows(of.sized, "train"), strict=True):
        row |= {k: str(step[k]) for k in ("number", "then", "otherwise")}
        row |= {"until": step["goes_on"], "least": _time(step["lasts"] or None)}
        if not of.has("booster"):
            row["booster"] = None
        if not of.has("flush_pump"):
            row["flush_pump"] = None
    blocks: list[Block] = [
        Heading("Sequence of a train"),
        Paragraph("One train, step by step. Interlocks act in every step; a trip waits for a person."),
        Table("Sequence of a train", columns, rows, ("title",), "Then, otherwise: number of the step that follows.")]
    for name, title in of.sequences.items():
        blocks += [Heading(title), unit_sequence(of, name, title, True)]
    blocks += [Heading("Cause and effect"), *_causes(of)]
    return Document("controls", "206", "Sequences, cause and effect", blocks, wide=True, group=_GROUP)


def _causes(of: Source) -> list[Block]:
    """What trips or diverts, at which value, and what each trip does to pumps and valves."""
    rows = of.plant.cause_effect.to_dict("records")
    effects: dict[tuple[str, ...], dict[str, Cell]] = {}
    causes: list[dict[str, Cell]] = []
    for x in rows:
        acts = {name: [tag for tag, letters in x.items() if "-" in str(tag) and name in str(letters).split(", ")]
                for name in ACTS}
        own = x["group"] == "exchange"
        key = (str(x["does"]), *([] if own else [" ".join(tags) for tags in acts.values()]))
        number = next((n for n, k in enumerate(effects, 1) if k == key), len(effects) + 1)
        effects.setdefault(key, {"no": f"E{number}", "does": str(x["does"]), **{
            name: ("the unit that failed" if own and name == "S" else "its standby" if own and name == "R" else
                   ", ".join(tags)) for name, tags in acts.items()}})
        point = None if x["set_point"] is None or x["set_point"] != x["set_point"] else Value(
            float(x["set_point"]), str(x["kind"]), 3)
        causes.append({"tag": str(x["tag"]), "title": str(x["title"]), "set": point, "delay": _time(float(x["delay"])),
                       "effect": f"E{number}", "latched": str(x["latched"])})
    return [
        Paragraph("Each cause raises an alarm and has the effect of its number; where it is latched, a person resets "
                  "it. Final lists are those of the programme as commissioned, after a hazard study by people."),
        Table("Effects", (Column("no", "No.", width=0.4), Column("does", "Effect", width=1.4),
                          *(Column(k, w.capitalize(), width=2) for k, w in ACTS.items())), list(effects.values()),
              ("no",)),
        Table("Causes", (Column("tag", "Tag", width=1), Column("title", "Cause", width=3.4),
                         Column("set", "At", width=1), Column("delay", "After", width=0.7),
                         Column("effect", "Effect", width=0.6), Column("latched", "Latched", width=0.6)), causes,
              ("tag", "title"))]


def _time(seconds: float | None) -> Value | None:
    """A time of a step as people read it: short ones in seconds."""
    return None if seconds is None else Value(float(seconds), "time.second" if seconds < 180.0 else "time.minute", 3)


def unit_sequence(of: Source, name: str, title: str, whole: bool) -> Table:
    """A sequence beside that of a train, a row a step; an operator's has neither tags nor ways of faults.

    Parameters
    ----------
    of : Source
    name, title : str
    whole : bool
    """
    columns = (Column("number", "No.", width=0.4), Column("title", "Step", width=2.2),
               *((Column("open", "Open", width=1.4), Column("run", "Running", width=1.4)) if whole else ()),
               Column("goes_on", "Goes on when", width=2.6), Column("lasts", "At least", width=0.7),
               *((Column("waits", "Waits at most", width=0.8),) if whole else ()),
               Column("then", "Then", width=0.5),
               *((Column("otherwise", "Otherwise", width=0.8), Column("on_trip", "On trip", width=0.6))
                 if whole else ()))
    rows: list[dict[str, Cell]] = []
    for step in sequence_rows(of.sized, name):
        row: dict[str, Cell] = {c.key: str(step[c.key]) for c in columns}
        rows.append(row | {"lasts": _time(step["lasts"] or None), "waits": _time(step["waits"])})
    return Table(title, columns, rows, ("number",),
                 "Then, otherwise, on trip: number of the step that follows." if whole else "")
