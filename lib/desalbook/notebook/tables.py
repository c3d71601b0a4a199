"""Tables of a plant to read: units in the heads, numbers to the right, a dash for what is not there."""

from __future__ import annotations

import re
from html import escape
from math import floor, log10
from typing import Any

from desalbook.controls.trial import UNTIL as TRAIN_UNTIL
from desalbook.controls.trial import Case, trace
from desalbook.controls.unit_sequences import SEQUENCES, UNTIL, actuator_words
from desalbook.controls.unit_trial import unit_trace
from desalbook.design.words import KEY
from desalbook.display import calculation_html
from desalbook.fine import fine
from desalbook.notebook.audit_view import Html
from desalbook.notebook.keys import way
from desalbook.notebook.pictures import column
from desalbook.notebook.pictures.controls import fault_course, fault_words
from desalbook.plant.guarantees import shown_rows
from desalbook.plant.sequences import units_of
from desalbook.tables import table
from desalbook.theme import css
from desalbook.trail.ledger import MARGINAL
from desalbook.units import from_display, in_currency, show, to_display, unit_label

__all__ = ["alarm_load", "alarms", "calculations", "cash_flow", "cause_effect", "checks", "chemicals", "costs",
           "devices", "guarantees", "instruments", "limits", "loads", "machines", "meters", "outages", "pairs",
           "permissives",
           "pressures", "ratings", "safety_devices", "sequences", "streams", "tidy", "trial", "unit_sequences",
           "unit_trials", "valves", "washes", "year"]

_CHEMICALS = (("title", "Chemical", ""), ("dose", "Dose", "concentration"), ("basis", "", ""),
              ("mean_mass_rate", "Mass of a day", "mass flow.day"), ("solution_rate", "Solution", "flow.dose"),
              ("lowest_rate", "lowest", "flow.dose"), ("highest_rate", "highest", "flow.dose"),
              ("pump_capacity", "Pump", "flow.dose"), ("day_tank", "Day tank", "volume"), ("store", "Bulk storage",
                                                                                           "volume"),
              ("delivery_interval", "Delivery every", "time.day"),
              ("yearly_use", "Use of a year", "mass"))
_WASH = (("A feed pump", "Feed pump", "flow"), ("A backwash water", "Backwash water", "flow"), ("A waste", "To waste",
                                                                                                "flow"),
         ("raw_tank_short", "Shortfall in the raw tank", "volume"))
_PRESSURES = (("title", "Part", ""), ("working", "Working", "gauge pressure"),
              ("surge", "Surge", "pressure difference"),
              ("credible", "Credible", "gauge pressure"), ("governing", "Governing", "gauge pressure"),
              ("class", "Class", ""), ("rating", "Rating", "gauge pressure"), ("rating_used", "Used", "fraction"),
              ("relief", "Relief set", "gauge pressure"), ("said", "", ""))
_OUTAGES = (("title", "Single failure (N-1)", ""), ("serves", "Serves", ""), ("duty", "Duty", "count"),
            ("standby", "Standby", "count"), ("product_left", "Remaining output", "fraction"),
            ("product_flow", "Product", "flow.day"), ("consequence", "Consequence", ""))
_MACHINES = (("tag", "Tag", ""), ("title", "Equipment", ""), ("running_total", "Running", "count"),
             ("installed_total", "Installed", "count"),
             ("flow", "Flow of one", "flow"), ("head", "Head", "head"), ("air_flow", "Air of one", "flow.air"),
             ("pressure_rise", "Pressure rise", "pressure difference"), ("shaft_power", "Shaft power", "power"),
             ("motor", "Motor", "power"), ("running_power", "All running", "power.electric"),
             ("diameter", "Diameter", "length"), ("volume", "Volume", "volume"), ("rating", "Class", ""),
             ("mass_empty", "Empty, one", "mass"), ("mass_operating", "Operating", "mass"), ("supply", "Supply", ""))
_VALVE_LIST = (("tag", "Tag", ""), ("title", "Valve", ""), ("count", "Number", "count"), ("type", "Type", ""),
               ("size", "Size", ""), ("rating", "Class", ""), ("fail", "On failure", ""), ("at_rest", "At rest", ""),
               ("set_pressure", "Set at", "gauge pressure"), ("material", "Material", ""))
_LOADS = (("title", "Load", ""), ("running", "Duty", "count"), ("spare", "Standby", "count"), ("panel", "Panel", ""),
          ("rating", "Rating", "power"), ("electric_power", "Power", "power.electric"),
          ("power_factor", "Power factor", "fraction"), ("current", "Current", "current"),
          ("start_current", "At start", "current"), ("area", "Section", "conductor area"),
          ("voltage_drop", "Voltage drop", "fraction"), ("device", "Device", "current"))
_METERS = (("tag", "Tag", ""), ("title", "Measures", ""), ("count", "Number", "count"), ("duty", "Proves", ""),
           ("share", "Energy", "fraction"), ("current", "Current", "current"), ("primary", "Rated primary", "current"),
           ("class", "Class", ""), ("meter_class", "Meter", "fraction"),
           ("transformer_class", "Current transformer", "fraction"),
           ("voltage_class", "Voltage transformer", "fraction"))
_SET_POINTS = {"trip_low": "Low trip", "alarm_low": "Low alarm", "normal_low": "Normal, lowest",
               "normal_high": "highest", "alarm_high": "High alarm", "trip_high": "High trip"}
_VALVES = {"feed": "feed", "feed_dump": "feed dump", "discharge": "HP discharge", "dump": "permeate dump",
           "product": "product", "concentrate": "concentrate", "flush": "flush"}
_RUNNING = {"dosing": "dosing", "feed_pump": "feed pump", "booster": "booster", "hp_pump": "HP pump",
            "flush_pump": "flush pump"}
_STOPS = {"cip": "CIP", "divert": "diverts"}
_TRIPS = {"none": "none", "low": "feed side", "high": "feed side and HP pump", "run": "all"}
_FOREVER = 1e6  # s, how the programme writes that a step has no end of its own
_COSTS = (("title", "Item", ""), ("installed", "Installed", "count"), ("unit_price", "Price of one", "money"),
          ("capital", "Capital", "money"), ("spread", "Spread", "fraction"), ("yearly_cost", "Year", "money"),
          ("water_cost", "Water", "money per volume"), ("basis", "Basis", ""))
_RATINGS = (("temperature", "Water", "temperature"), ("age", "Age", "time.year"),
            ("feed_pressure", "Feed pressure", "gauge pressure"), ("permeate_tds", "Permeate solids", "concentration"),
            ("permeate_boron", "Permeate boron", "concentration as B"), ("beta_max", "Polarisation", "factor"),
            ("hp_speed", "Pump speed", "fraction"), ("section_power", "Membrane section", "power.electric"),
            ("specific_energy", "Energy, permeate", "specific energy"), ("reason", "", ""))
_LIMITS = {"flux": "flux", "lead_flux": "flux", "element_recovery": "fraction", "recovery_polarisation": "factor",
           "vessel_feed": "flow", "vessel_concentrate": "flow", "element_drop": "pressure difference",
           "vessel_drop": "pressure difference", "feed_pressure": "gauge pressure"}
_CLASSES = ("pipe_classes", "pressure_classes")
_STREAMS = (("title", "Stream", ""), ("from", "From", ""), ("to", "To", ""), ("volume_flow", "Flow", "flow"),
            ("pressure", "Pressure", "gauge pressure"), ("temperature", "Temperature", "temperature"),
            ("salinity", "Salinity", "salinity"), ("density", "Density", "density"))
_DEVICES = (("title", "ERD", ""), ("specific_energy", "Energy, whole plant", "specific energy"),
            ("membrane_energy", "Membrane section", "specific energy"), ("hp_motor", "HP motor", "power"),
            ("extra_equipment", "Other equipment", ""), ("feed_pressure", "Feed pressure", "gauge pressure"),
            ("product_tds", "Permeate TDS", "concentration"), ("product_boron", "Permeate boron", "concentration as B"),
            ("capital", "Capital", "money"), ("cost_year", "Energy of a year", "money"),
            ("water_cost", "Water", "money per volume"), ("failed", "Checks that fail", ""))
_YEAR = 4
"""Waters between the coldest and the hottest, both among them."""
_SHARES = ("margin", "hp_speed")  # of a study's columns, which stand there as plain numbers
_CHECKS = (("verdict", "", ""), ("title", "Check", ""), ("at", "At", ""), ("why", "Why", ""), ("do", "Do", ""))
_SHORT = 14  # letters
_JOINT = re.compile(r"(?<=[a-z])([._])(?=[a-z])")
"""Where an id may go on in the next line; a number is left whole."""
_LOOK = """
.desalbook .db-schedule{overflow-x:auto}
.desalbook .db-schedule th button{all:unset;cursor:pointer;font:inherit;font-weight:600;color:inherit}
.desalbook .db-schedule th button:focus-visible{outline:2px solid var(--db-sea);outline-offset:1px}
.desalbook .db-schedule th[aria-sort=ascending] button::after{content:"\\a0\\25B4"}
.desalbook .db-schedule th[aria-sort=descending] button::after{content:"\\a0\\25BE"}
.desalbook .db-schedule th{text-align:right;vertical-align:bottom;font-weight:600;white-space:normal;max-width:9em}
.desalbook .db-schedule td{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
.desalbook .db-schedule :is(th,td).words{text-align:left;white-space:normal}
.desalbook .db-schedule td.short{white-space:nowrap}
.desalbook .db-schedule :is(th,td){padding:.35em .5em;overflow-wrap:break-word}
.desalbook .db-schedule th{overflow-wrap:normal}
@media (max-width:1100px){.desalbook .db-schedule table{font-size:92%}
.desalbook .db-schedule :is(th,td){padding:.3em .2em}
.desalbook .db-schedule td.short{white-space:normal}
.desalbook .db-schedule [data-tail]::after{content:none}}
"""


def _table(columns: tuple[tuple[str, str, str], ...], rows: list[dict[str, Any]], units: str, name: str,
           money: str = "") -> Html:
    """Rows as a table; the kind ``spare`` is a share shown as the verdicts show theirs, ``money`` the currency."""
    def said(value: Any, kind: str) -> str:
        if not kind:
            return "" if value != value else str(value)
        if value != value:
            return "–"
        if kind == "spare":
            return f"{to_display(float(value), 'fraction'):.1f}"
        digits = None if kind == "temperature" else 3
        return show(float(value), kind, units, False, digits, trim=kind in ("time.minute", "time.year"))

    def label(kind: str) -> str:
        unit = unit_label("fraction" if kind == "spare" else kind, units) if kind else ""
        unit = in_currency(unit, kind, money) if money else unit
        return unit.replace(" ", "\N{NO-BREAK SPACE}")

    heads = [", ".join(x for x in (title, label(kind)) if x) for _, title, kind in columns]
    return _drawn([(head, [said(r[key], kind) for r in rows], bool(kind))
                   for head, (key, _, kind) in zip(heads, columns, strict=True)], name)


def _money(plant: Any) -> str:
    """Currency of a plant's prices."""
    return str(plant["energy.currency"]) if "energy.currency" in plant else ""


def _drawn(columns: list[tuple[str, list[str], bool]], name: str, breaks: bool = False) -> Html:
    """Columns as a table: head, cells, whether they are numbers; with `breaks` an id may go on in the next line."""
    def words(text: str) -> str:
        text = fine(escape(text))
        return _JOINT.sub(r"\1<wbr>", text) if breaks else text

    head = "".join(f"<th{'' if number else ' class=words'}>{words(text)}</th>" for text, _, number in columns)
    cells = [[f"<td{tail}>{column.minus(text)}</td>" for text, tail in zip(some, column.tails(some), strict=True)]
             if number else [f"<td class={_kind(some)}>{words(text)}</td>" for text in some]
             for _, some, number in columns]
    body = "".join(f"<tr>{''.join(row)}</tr>" for row in zip(*cells, strict=True))
    return Html(_framed(f"<table><tr>{head}</tr>{body}</table>", name))


def chemicals(plant: Any, units: str = "si") -> Html:
    """The schedule of chemicals; rates of solution as fed, with the minimum and the maximum the pump must give.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    return _table(_CHEMICALS, plant.chemicals.to_dict("records"), units, "Schedule of chemicals", _money(plant))


def calculations(*results: Any, units: str = "si") -> Html:
    """Stand-alone calculations one below the other, their equations folded.

    Parameters
    ----------
    *results : Result
    units : {"si", "us"}
    """
    return Html("".join(calculation_html(one, units).replace("<details open>", "<details>") for one in results))


def _kind(some: list[str]) -> str:
    """A column of short words keeps each in one line."""
    return "words" if max(map(len, some), default=0) > _SHORT else "'words short'"


def washes(plant: Any, units: str = "si", most: int = 16) -> Html:
    """The first backwashes of train A: a row where a filter takes its next step.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    most : int
        Rows.

    Returns
    -------
    Html
        A sentence where the plant has no filters.
    """
    frame = plant.backwash_schedule
    steps = [c for c in frame.columns if c.startswith("A") and c.endswith(" step")]
    if not steps:
        return Html("<p class='desalbook'>This plant has no filters.</p>")
    rows, before = [], ()
    for r in frame.to_dict("records"):
        now = tuple(r[c] for c in steps)
        if now == before:
            continue
        busy = [f"{c.partition(' ')[0]} {str(r[c]).replace('_', ' ')}" for c in steps if r[c] != "service"]
        rows.append(r | {"doing": ", ".join(busy) or "all in service"})
        before = now
        if len(rows) == most:
            break
    return _table((("time", "Time", "time.minute"), ("doing", "Filters of train A", ""), *_WASH), rows, units,
                  "Backwashes, step by step")


def checks(plant: Any, most: int = 8) -> Html:
    """The first of the checks, worst first: verdict, what is judged, why, what to do.

    Parameters
    ----------
    plant : Plant
    most : int
        Rows.
    """
    rows = [r | {"verdict": r["verdict"], "at": r["corner"], "do": _named(r["do"])}
            for r in plant.checks.head(most).to_dict("records")]
    shown = _CHECKS if any(r["at"] for r in rows) else tuple(c for c in _CHECKS if c[0] != "at")
    return _table(shown, rows, "si", "Checks, worst first")


def _named(text: str) -> str:
    """A sentence with the names of controls in place of keys."""
    return KEY.sub(lambda hit: way(hit[0]), text)


def ratings(cases: Any, units: str = "si") -> Html:
    """Cases of `desalbook.rate`, a row each; one that cannot be reached says why.

    Parameters
    ----------
    cases : DataFrame
    units : {"si", "us"}
    """
    rows = cases.to_dict("records")
    shown = _RATINGS if any(r["reason"] for r in rows) else _RATINGS[:-1]
    return _table(shown, rows, units, "Ratings")


def year(plant: Any, units: str = "si") -> Html:
    """The plant rated from its coldest to its hottest water, with new and with aged membranes, product held.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    from desalbook.api import rate

    cold, hot = (to_display(float(plant[f"water.temperature_{end}"]), "temperature", "si") for end in ("cold", "hot"))
    waters = [f"{cold + (hot - cold) * n / (_YEAR - 1):.4g} degC" for n in range(_YEAR)]
    aged = f"{float(to_display(float(plant['membrane.age']), 'time.year', 'si')):.6g} year"
    return ratings(rate(plant, temperature=[t for t in waters for _ in range(2)], age=["0 year", aged] * _YEAR), units)


def devices(plant: Any, units: str = "si") -> Html:
    """The design of a plant sized with each energy recovery device.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    from desalbook.plant.comparison import compare_recovery

    # the comparison stands in kWh/m3, kW, bar and mg/L, as a person reads it
    kinds = {"specific_energy": "specific energy", "membrane_energy": "specific energy", "hp_motor": "power",
             "feed_pressure": "gauge pressure", "product_tds": "concentration", "product_boron": "concentration as B"}
    own, rows = str(plant["energy_recovery.device"]), []
    for r in compare_recovery(plant.design).to_dict("records"):
        coherent = {key: from_display(r[key], kind, "si") for key, kind in kinds.items()}
        title = f"{r['title']} (this design)" if r["device"] == own else r["title"]
        rows.append(r | coherent | {"title": title, "extra_equipment": r["reason"] or r["extra_equipment"]})
    return _table(_DEVICES, rows, units, "Energy recovery devices compared", _money(plant))


def streams(plant: Any, units: str = "si") -> Html:
    """The streams of one train in the design case; what is dosed stands in the schedule of chemicals.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    rows = [r for r in plant.streams.to_dict("records") if r["volume_flow"] == r["volume_flow"]]
    return _table(_STREAMS, rows, units, "Streams")


def limits(plant: Any, units: str = "si") -> Html:
    """Each membrane limit in the case and the place in the vessel where it is nearest, the nearest first.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    from desalbook.plant.vessel_table import guideline_table

    rows = []
    for r in guideline_table(plant).to_dict("records"):
        if not r["governs"]:
            continue
        kind, sense = _LIMITS[r["limit"]], "at most" if r["sense"] == "<=" else "at least"
        figure, allowed = (show(r[k], kind, units).replace(" ", "\N{NO-BREAK SPACE}") for k in ("value", "allowed"))
        check = plant.verdicts.get(f"{r['pass']}.{r['limit']}.check")
        judged = check.more["verdict"] if check is not None else ""
        verdict = "fails" if not r["passes"] else judged if judged in ("passes", "marginal") else (
            "marginal" if r["margin"] < MARGINAL else "passes")
        rows.append(r | {"figure": figure, "verdict": verdict, "most": f"{sense} {allowed}"})
    rows.sort(key=lambda r: r["margin"])
    columns = (("title", "Limit", ""), ("figure", "Value", ""), ("most", "Allowed", ""),
               ("margin", "To spare", "spare"), ("corner", "Case", ""), ("where", "Where", ""),
               *((("stage", "Stage", ""),) if len({r["stage"] for r in rows}) > 1 else ()), ("verdict", "", ""))
    return _table(columns, rows, units, "Membrane limits")


def pressures(plant: Any, units: str = "si") -> Html:
    """Design pressures and ratings, part by part, with the check that fails, if any.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    checks, rows = plant.checks, []
    for r in plant.design_pressures.to_dict("records"):
        some = set(checks.loc[checks["id"].str.startswith(f"design_pressure[{r['key']}]."), "verdict"])
        worst = next((v for v in ("fails", "review", "marginal") if v in some), "passes")
        rows.append(r | {"class": _class(r["class"]), "said": r["fails"] or worst})
    return _table(_PRESSURES, rows, units, "Design pressures")


def _class(key: str) -> str:
    """What a class of pressure is called in its table."""
    found = [rows[key].title for rows in map(table, _CLASSES) if key in rows]
    return found[0] if found else key


def outages(plant: Any, units: str = "si") -> Html:
    """What is left of the product when one thing fails.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    return _table(_OUTAGES, plant.outages.to_dict("records"), units, "Single outages")


def guarantees(plant: Any, units: str = "si") -> Html:
    """Guaranteed and expected: each promised figure with its margin, its case and how it is measured.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    rows = shown_rows(plant.guarantees.to_dict("records"), lambda id: plant.show(id, units))
    heads = {"title": "Quantity", "expected": "Expected", "margin": "Margin", "guaranteed": "Guaranteed",
             "corner": "Case", "measured": "Measured", "standard": "Standard"}
    return _drawn([(head, [r[key] for r in rows], key in ("expected", "margin", "guaranteed"))
                   for key, head in heads.items()], "Guaranteed and expected")


def loads(plant: Any, units: str = "si") -> Html:
    """The load list: duty and standby, power, current, start, cable and device of one of each.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    return _table(_LOADS, plant.loads.to_dict("records"), units, "Electrical loads")


def meters(plant: Any, units: str = "si") -> Html:
    """Energy meters: what each measures, its share of the energy of a year, current transformers and classes.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    return _table(_METERS, plant.meters.astype({"voltage_class": float, "share": float}).to_dict("records"), units,
                  "Energy meters")


def instruments(plant: Any, units: str = "si") -> Html:
    """The list of instruments: range, what is normal over the cases, alarm and trip on each side, each in its unit.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    rows = plant.instruments.to_dict("records")

    def said(row: dict[str, Any], name: str) -> str:
        return "–" if row[name] != row[name] else show(row[name], row["kind"], units, False, trim=True)

    def words(name: str) -> list[str]:
        return [str(r[name]) for r in rows]

    ranges = [f"{said(r, 'range_low')} to {said(r, 'range_high')}".replace(" ", "\N{NO-BREAK SPACE}") for r in rows]
    tags = [r["tag"].replace("-", "\N{NON-BREAKING HYPHEN}") for r in rows]
    return _drawn([("Tag", tags, False), ("Instrument", words("title"), False), ("Installed", words("count"), True),
                   ("Unit", [unit_label(r["kind"], units) for r in rows], False), ("Range", ranges, False),
                   ("Used, %", [f"{to_display(r['range_used'], 'fraction'):.0f}" for r in rows], True),
                   *((head, [said(r, name) for r in rows], True) for name, head in _SET_POINTS.items()),
                   ("Delay, s", [show(r["delay"], "time.second", units, False, trim=True) for r in rows], True),
                   ("Stops", [_STOPS.get(x, x) for x in words("stops")], False),
                   ("Alarm priority", words("priority"), False)], "Instruments")


def sequences(plant: Any, units: str = "si") -> Html:
    """The sequences of a train, a row a step: what is open and runs, what is waited for, and where it goes.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Time is in seconds in both.
    """
    rows = plant.sequences.to_dict("records")
    place = {r["key"]: str(n) for n, r in enumerate(rows, 1)}

    def those(row: dict[str, Any], names: dict[str, str], asked: dict[str, str]) -> str:
        return ", ".join(f"{word}{asked[row[name]]}" for name, word in names.items() if row[name] in asked) or "none"

    def to(row: dict[str, Any], name: str) -> str:
        return place.get(row[name]) or next(place[r["then"]] for r in _left_out() if r["key"] == row[name])

    def until(row: dict[str, Any]) -> str:
        # without dosing there is no chlorine to wait for
        return TRAIN_UNTIL["time" if row["until"] == "clean" and row["dosing"] == "" else row["until"]]

    def time(value: float) -> str:
        return "–" if value >= _FOREVER else show(value, "time.second", units, False, trim=True)

    return _drawn([("No.", list(place.values()), True), ("Step", [r["title"] for r in rows], False),
                   ("Valves open", [those(r, _VALVES, {"open": "", "control": " in control"}) for r in rows], False),
                   ("Running", [those(r, _RUNNING, {"on": "", "down": " down its ramp"}) for r in rows], False),
                   ("Goes on when", [until(r) for r in rows], False),
                   ("Lasts at least, s", [time(r["least"]) for r in rows], True),
                   ("Waits at most, s", [time(r["watch"]) for r in rows], True),
                   ("Then", [to(r, "then") for r in rows], True),
                   ("Otherwise", [to(r, "otherwise") for r in rows], True),
                   ("Trips that act", [_TRIPS[r["trips"]] for r in rows], False)], "Sequences of a train")


def _left_out() -> list[dict[str, Any]]:
    """Steps of the programme, those too that a plant goes without."""
    return [{"key": key, "then": row["then"].value} for key, row in table("sequences").items()]


def unit_sequences(plant: Any, sequence: str = "", units: str = "si") -> Html:
    """The sequences beside those of a train, a row a step; one of them where it is named.

    Parameters
    ----------
    plant : Plant
    sequence : str
        backwash, cip, shock, exchange, flush, power; all where none is named.
    units : {"si", "us"}
        Time is in seconds and minutes in both.
    """
    title = SEQUENCES.get(sequence, "")
    rows = [r for r in plant.unit_sequences.to_dict("records") if title in ("", r["sequence"])]
    place = {r["key"]: str(n) for n, r in enumerate(rows, 1)}

    def names(text: str) -> str:
        return ", ".join(actuator_words(x) for x in text.split()) or "none"

    def time(value: float) -> str:
        return "–" if value >= _FOREVER else show(value, "time.minute", units, False, digits=3, trim=True)

    return _drawn([("No.", list(place.values()), True),
                   *([] if title else [("Sequence", [r["sequence"] for r in rows], False)]),
                   ("Step", [r["title"] for r in rows], False),
                   ("Valves open", [names(r["open"]) for r in rows], False),
                   ("Running", [names(r["run"]) for r in rows], False),
                   ("Goes on when", [UNTIL[r["until"]] for r in rows], False),
                   ("Lasts at least, min", [time(r["least"]) for r in rows], True),
                   ("Waits at most, min", [time(r["watch"]) for r in rows], True),
                   ("Then", [place[r["then"]] for r in rows], True),
                   ("Otherwise", [place[r["otherwise"]] for r in rows], True),
                   ("On a trip", [place.get(r["trips"], "–") for r in rows], True)],
                  title or "Sequences beside those of a train")


def cause_effect(plant: Any, units: str = "si") -> Html:
    """Causes against effects: S stops, C shuts, O opens, R starts; a column a tag.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    rows = plant.cause_effect.to_dict("records")
    own = ("key", "tag", "title", "fault", "set_point", "kind", "delay", "does", "group", "latched", "alarm", "id")
    hyphen = "\N{NON-BREAKING HYPHEN}"
    return _drawn([("Tag", [r["tag"].replace("-", hyphen) for r in rows], False),
                   ("Cause", [r["title"] for r in rows], False), ("Set at", [_point(r, units) for r in rows], True),
                   ("After, s", [show(r["delay"], "time.second", units, False, trim=True) for r in rows], True),
                   *((tag, [r[tag] or "" for r in rows], False) for tag in rows[0] if tag not in own)],
                  "Cause and effect")


def _point(row: dict[str, Any], units: str) -> str:
    """A set point in the unit of its row; a dash for a fault."""
    value = row["set_point"]
    return "–" if value is None or value != value else show(value, row["kind"], units, trim=True)


def permissives(plant: Any, units: str = "si") -> Html:
    """What a start waits for.

    Parameters
    ----------
    plant : Plant
    """
    rows = plant.permissives.to_dict("records")
    return _drawn([(head, [r[key] for r in rows], False) for key, head in (
        ("starts", "Start of"), ("wants", "Waits until"), ("where", "Step"))], "Permissives and interlocks")


def _set(rows: list[dict[str, Any]], what: str, units: str) -> list[tuple[str, list[str], bool]]:
    """Columns of what has a set point: tag, title, number and where it is set."""
    return [("Tag", [r["tag"].replace("-", "\N{NON-BREAKING HYPHEN}") for r in rows], False),
            (what, [r["title"] for r in rows], False), ("Number", [str(r["count"]) for r in rows], True),
            ("Set at", [_point(r, units) for r in rows], True)]


def alarms(plant: Any, units: str = "si") -> Html:
    """The alarm list: set point, delay, priority, what follows, what to do, and within what time.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    rows = plant.alarms.to_dict("records")
    return _drawn([*_set(rows, "Alarm", units),
                   ("Delay, s", [show(r["delay"], "time.second", units, False, trim=True) for r in rows], True),
                   ("Priority", [r["priority"] for r in rows], False),
                   ("Consequence", [r["consequence"] for r in rows], False),
                   ("Response", [r["response"] for r in rows], False),
                   ("Within, min", ["–" if r["respond"] != r["respond"] else show(
                       r["respond"], "time.minute", units, False, trim=True) for r in rows], True)], "Alarms")


def safety_devices(plant: Any, units: str = "si") -> Html:
    """Hard-wired safety devices: what each does beside the programme.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    rows = plant.safety_devices.to_dict("records")
    return _drawn([*_set(rows, "Device", units),
                   ("What it does", [r["does"] for r in rows], False)], "Hard-wired safety devices")


def alarm_load(plant: Any, units: str = "si") -> Html:
    """Alarms in the ten minutes from a start and from faults in service, with and without suppression by design.

    Parameters
    ----------
    plant : Plant
    """
    rows = plant.alarm_load.to_dict("records")
    return _drawn([("Case", [r["title"] for r in rows], False),
                   ("Trains it strikes", [str(r["trains"]) for r in rows], True),
                   ("Alarms as they come", [str(r["plain"]) for r in rows], True),
                   ("With suppression by design", [str(r["suppressed"]) for r in rows], True),
                   ("For one operator", [r["verdict"] for r in rows], False),
                   ("First of them", [r["first"] for r in rows], False)], "Alarms in ten minutes")


def trial(plant: Any, units: str = "si", pairs: bool = False, sequence: str = "train") -> Html:
    """What a trial of the sequences under faults found, a row for each thing that must never happen.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Time is in seconds in both.
    pairs : bool
        Every pair of faults at some steps instead of every single fault at every step.
    sequence : str
        ``train``, or a sequence beside it.
    """
    rows = plant.trial(pairs, sequence).to_dict("records")
    steps = plant.sequences if sequence == "train" else plant.unit_sequences
    titles = dict(zip(*(steps[c] for c in ("key", "title")), strict=True))
    soonest = ["–" if r["after"] != r["after"] or r["after"] is None
               else show(r["after"], "time.second", units, False, trim=True) for r in rows]
    made = _drawn([("What must hold", [r["title"][0].upper() + r["title"][1:] for r in rows], False),
                   ("Cases tried", [str(r["cases"]) for r in rows], True),
                   ("Cases that break it", [str(r["broken"]) for r in rows], True),
                   ("Soonest after the fault, s", soonest, True),
                   ("By", [fault_words(r["faults"]) or "–" for r in rows], False),
                   ("At", [titles.get(r["at"], "–") for r in rows], False)], "Trial of the sequences")
    broken = [r for r in rows if r["broken"]]
    return Html(made.text + "".join(_course(plant, sequence, r) for r in broken)) if broken else made


def _course(plant: Any, sequence: str, row: dict[str, Any]) -> str:
    """The soonest case that breaks what must hold, along time."""
    of, case = getattr(plant, "sized", plant), Case(tuple(filter(None, row["faults"].split(", "))), row["at"])
    told = trace(of.control.train, case) if sequence == "train" else unit_trace(units_of(of), sequence, case)
    return fault_course(told, f"Broken: {row['title']}")


def pairs(plant: Any, units: str = "si") -> Html:
    """The trial of pairs of faults: a train at start, in service, at stop and flush, the others at their main steps.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    there = set(plant.unit_sequences["sequence"])
    listed = {"train": "A train"} | {key: title for key, title in SEQUENCES.items() if title in there}
    return Html("".join(f"<p class='desalbook'><b>{escape(title)}</b></p>{trial(plant, units, True, key).text}"
                        for key, title in listed.items()))


def unit_trials(plant: Any, units: str = "si") -> Html:
    """The trial of every sequence beside those of a train, one below the other.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    there = set(plant.unit_sequences["sequence"])
    return Html("".join(f"<p class='desalbook'><b>{escape(title)}</b></p>{trial(plant, units, sequence=key).text}"
                        for key, title in SEQUENCES.items() if title in there))


def costs(plant: Any, units: str = "si") -> Html:
    """The cost table: price and capital of each item, parts of the works, cost of a year and of a cubic metre.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    return _table(_COSTS, plant.costs.to_dict("records"), units, "Cost, a comparison of designs", _money(plant))


def cash_flow(plant: Any, units: str = "si") -> Html:
    """The money of a plant year by year, with a fraction of its elements replaced each year, and in words all at once.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Money is per cubic metre in both.
    """
    from desalbook.study import cash_flow as of

    flow, together = of(plant), of(plant, replace_every="5 years")
    said = (("A fraction of the elements replaced each year", flow), ("All elements replaced every 5 years", together))
    words = "".join(f"<p class='desalbook'>{escape(title)}: {fine(escape(one.words()))}</p>" for title, one in said)
    return Html(words + tidy(flow.frame).text)


def machines(plant: Any, units: str = "si") -> Html:
    """The equipment schedule: tag, how many run and stand installed, duty, size, class, material and who supplies it.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    frame = plant.equipment
    air = "air_flow" in frame and bool(frame["air_flow"].notna().any())
    columns = tuple(c for c in _MACHINES if air or c[0] not in ("air_flow", "pressure_rise"))
    return _table(columns, frame.to_dict("records"), units, "Equipment")


def valves(plant: Any, units: str = "si") -> Html:
    """The list of valves: size and class, position on failure and at rest, setting of relief valves.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    return _table(_VALVE_LIST, plant.valves.to_dict("records"), units, "Valves")


def tidy(frame: Any) -> Html:
    """A table of a study without its ids and without columns that say nothing, points below one another.

    Parameters
    ----------
    frame : DataFrame
        From `desalbook.sweep` or `desalbook.study.seasons`.
    """
    numbers = {c for c in frame.columns if frame[c].dtype.kind in "fi"}
    said = {c for c in frame.columns if c not in numbers and frame[c].fillna("").ne("").any()}
    keep = [c for c in frame.columns if c != "id" and (c in numbers or c in said)]
    return _drawn([(f"{c}, %" if c in _SHARES else c, _texts(c, frame[c].tolist()) if c in numbers else
                    ["" if v != v else str(v) for v in frame[c]], c in numbers) for c in keep], "Rows of the study",
                  breaks=True)


def _texts(name: str, values: list[float]) -> list[str]:
    """Numbers of one column: whole ones without decimals, else four digits of the largest, or of each far apart."""
    if name in _SHARES:
        return ["–" if v != v else f"{to_display(v, 'fraction'):.2f}" for v in values]
    if all(float(v).is_integer() for v in values):
        return [f"{v:.0f}" for v in values]
    there = [abs(v) for v in values if v == v and v]
    most = max(there, default=1.0)
    if most > 100 * min(there, default=1.0):
        return ["–" if v != v else f"{v:#.4g}".rstrip(".") for v in values]
    return ["–" if v != v else f"{v:.{max(3 - floor(log10(most)), 0)}f}" for v in values]


def _framed(table: str, name: str) -> str:
    return (f"<div class='desalbook'><style>{css()}{_LOOK}{column.LOOK}</style><div class='db-schedule' tabindex='0' "
            f"role='group' aria-label='{escape(name)}'>{table}</div></div>")
