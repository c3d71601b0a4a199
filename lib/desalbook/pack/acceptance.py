"""Factory and site acceptance: tests with their pass limits, read from the plant, and the list of calibrations."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from desalbook.controls.trial import steps_of
from desalbook.fabrication.acceptance import (
    freshwater_feed_pressure,
    maximum_test_head,
    minimum_test_head,
    motor_efficiency_accepted,
)
from desalbook.pack.document import Block, Cell, Column, Document, Heading, Note, Paragraph, Points, Table, Value
from desalbook.pack.plant_source import Source, plural
from desalbook.plant.data_sheets import vibration_limit
from desalbook.tables import table
from desalbook.trail.words import low_first

__all__ = ["calibrations", "factory", "site"]

_TEST = (Column("no", "No.", width=0.5), Column("test", "Test", width=2.2), Column("tag", "Tag", width=1.2),
         Column("how", "How", width=2.6), Column("limit", "Passes when", width=2.8), Column("found", "Found", width=1),
         Column("sign", "Date, signed", width=1))
_PLUNGER = "positive-displacement"


def _numbered(rows: list[dict[str, Cell]], letter: str) -> list[dict[str, Cell]]:
    return [{"no": f"{letter}{n + 1}", "found": "", "sign": ""} | row for n, row in enumerate(rows)]


def _of_limit(key: str) -> tuple[str, str]:
    row = table("acceptance_limits").row(key, "acceptance")
    return row["limit"].value, row["method"].value


def _row(test: str, tag: str, how: str, limit: str) -> dict[str, Cell]:
    return {"test": test, "tag": tag, "how": how, "limit": limit}


def _pumps(of: Source) -> list[dict[str, Cell]]:
    """A works test of each kind of pump at its duty: head within the grade, vibration, noise."""
    grade = table("pump_grades").row(of.choice("offer.pump_grade"), "acceptance")
    rows, noise = [], _of_limit("noise")
    for item in of.equipment:
        if "head" not in item or "flow" not in item or item["supply"] != "package":
            continue
        key = item["key"]
        plunger = f"{key}.pump_class" in of.ids and of.choice(f"{key}.pump_class") == _PLUNGER
        flow = of.text(item["flow"], "flow")
        if plunger:
            limit = f"{flow} at {of.text(item['pressure_rise'], 'pressure difference')}, flow no less"
        else:
            low, high = (of.at(r, "head", head=item["head"], head_tolerance=grade["head_tolerance"].value)
                         for r in (minimum_test_head, maximum_test_head))
            limit = f"at {flow}: head {low.text(of.units)} to {high.text(of.units)}"
        rows.append(_row(f"{item['title']}: duty point", item["tag"],
                         "manufacturer's works, cold water, at duty speed" if plunger else
                         f"{grade.title}, five points", limit))
        kind = vibration_limit(item["shaft_power"], plunger)
        words, how = _of_limit(kind)
        most = table("acceptance_limits")[kind]
        amount = f"{of.text(most['vibration'].value, 'vibration velocity')} " if "vibration" in most else ""
        rows.append(_row(f"{item['title']}: vibration", item["tag"], how, f"{amount}{words}"))
        if f"{key}.motor_efficiency" in of.ids and item.get("motor"):
            least = of.at(motor_efficiency_accepted, "fraction", efficiency=of.number(f"{key}.motor_efficiency"),
                          motor_rating=item["motor"])
            rows.append(_row(f"{item['title']}: motor", item["tag"], "type test or certificate of the type",
                             f"efficiency {least.text(of.units)} minimum at full load"))
    for item in of.equipment:
        if "air_flow" in item and item["supply"] == "package":
            rows.append(_row(f"{item['title']}: duty point", item["tag"],
                             "manufacturer's works, at duty speed, brought to inlet conditions",
                             f"{of.text(item['air_flow'], 'flow.air')} at "
                             f"{of.text(item['pressure_rise'], 'pressure difference')}, flow no less"))
    return [*rows, _row("Noise, each driven unit", "", noise[1], noise[0])]


def _grade(of: Source) -> str:
    """What the acceptance grade says, in a sentence."""
    grade = table("pump_grades").row(of.choice("offer.pump_grade"), "acceptance")
    flow, head, efficiency = (of.text(grade[f"{x}_tolerance"].value, "fraction")
                              for x in ("flow", "head", "efficiency"))
    return (f"Centrifugal pumps are accepted to {grade.title}: flow ±{flow}, head ±{head}, efficiency −{efficiency}. "
            "The heads below are the stricter reading, at the duty flow itself.")


def _trips(of: Source) -> list[dict[str, Cell]]:
    """Each alarm and each trip, by a simulated signal at its set point."""
    rows = []
    for i in of.instruments:
        for side, word in (("low", "falls to"), ("high", "rises to")):
            trip, alarm = i[f"trip_{side}"], i[f"alarm_{side}"]
            if alarm is not None:
                rows.append(_row(f"{i['title']}: {side} alarm", i["tag"], "simulated signal",
                                 f"alarm of {i['priority']} priority when it {word} {of.text(alarm, i['kind'], 4)}, "
                                 f"after {of.text(i['delay'], 'time.second')}"))
            if trip is not None:
                rows.append(_row(f"{i['title']}: {side} trip", i["tag"], "simulated signal, reset by a person",
                                 f"{_stops(i)} when it {word} {of.text(trip, i['kind'], 4)}"))
    return rows


def _stops(i: Mapping[str, Any]) -> str:
    return {"train": "the train stops", "divert": "permeate goes to the dump", "": "it trips"}.get(
        i["stops"], f"{i['stops'].replace('cip', 'CIP')} stops")


def _valve_tests(of: Source) -> list[dict[str, Cell]]:
    rows = []
    for v in of.valves:
        if v["set_pressure"] is not None:
            rows.append(_row(f"{v['title']}: set pressure", v["tag"], "test bench, certificate",
                             f"opens at {of.text(v['set_pressure'], 'gauge pressure')}, "
                             "within 3 % or the code's tolerance"))
        else:
            rows.append(_row(f"{v['title']}: stroke", v["tag"], "moved full stroke; air and power taken away",
                             f"both end positions reported; on failure: {v['fail']}"))
    return rows


def factory(of: Source) -> Document:
    """The factory acceptance test: what is shown before shipping."""
    signals = of.sized.control.signals
    steps = [str(s["title"]) for s in steps_of(of.sized.control.train)]
    used = {kind: sum(float(r["count"]) * float(r[kind]) for r in signals.rows) for kind in ("di", "do", "ai", "ao")}
    inspected = [
        _row("Documents", "", "against the index of this pack", "all at the revision of the index, certificates there"),
        _row("Visual and dimensions", "", "against schedule, arrangement and tags",
             f"{plural(sum(r['installed_total'] for r in of.equipment if r['supply'] == 'package'), 'unit')} of the "
             "package tagged as listed; no damage"),
        _row("Pressure tests", "", "document 402", "each part of the list tested and signed"),
        _row("Leak test of low-pressure circuits", "", _of_limit("leak")[1], _of_limit("leak")[0])]
    electrical = [
        _row("Insulation", "", _of_limit("insulation")[1], _of_limit("insulation")[0]),
        _row("Protective bonding", "", _of_limit("continuity")[1], _of_limit("continuity")[0]),
        _row("Inputs and outputs", of.tag("controller"), "each simulated from the terminal to the screen",
             f"{used['di']:.0f} digital and {used['ai']:.0f} analogue inputs, {used['do']:.0f} digital and "
             f"{used['ao']:.0f} analogue outputs, all of them"),
        _row("Controller", of.tag("controller"), _of_limit("spare")[1], _of_limit("spare")[0]),
        _row("Power lost and back", of.tag("controller"), "supply taken away in service",
             "valves go to their position on failure; nothing starts by itself"),
        _row("Rotation and soft or driven start", "", "each motor uncoupled or wet", "right direction; ramp as set")]
    sequences = [
        _row("Start and stop sequence", of.tag("controller"), f"{len(steps)} steps, simulated process",
             f"from '{steps[0]}' to '{next(s for s in steps if s == 'In service')}' and back, each step as listed"),
        _row("Emergency stop", of.tag("controller"), "each button", "all motors off at once; reset by a person"),
        _row("Faults in the sequences", of.tag("controller"), "single faults at each step",
             "none of what must never happen, as the trial of the sequences lists it")]
    wired = [_row(f"{x['title']}: hard-wired", x["tag"], "made to act, or its contact opened", low_first(x["does"]))
             for x in of.sized.control.safety]
    dosing = [_row(f"{r['title']}: calibration", r["tag"],
                   f"calibration column of {of.text(r['calibration_column'], 'volume.small')}, water",
                   f"{of.text(r['capacity'], 'flow.dose')} minimum at full stroke")
              for r in of.equipment if r["key"].startswith("dosing")]
    blocks: list[Block] = [
        Paragraph("Each test names its limit; where one is missed, the finding goes on the punch list: A before "
                  "shipping, B before handing over, C later. Witnessed tests are announced ten working days ahead."),
        Heading("Inspection and pressure"), Table("Inspection", _TEST, _numbered(inspected, "I"), ("test",)),
        Heading("Electrical and controls"), Table("Electrical and controls", _TEST, _numbered(electrical, "E"),
                                                  ("test",)),
        Table("Sequences", _TEST, _numbered(sequences, "S"), ("test",)),
        Table("Alarms and trips", _TEST, _numbered(_trips(of), "T"), ("test",)),
        *([Table("Hard-wired devices", _TEST, _numbered(wired, "H"), ("test",))] if wired else []),
        Heading("Valves"), Table("Valves", _TEST, _numbered(_valve_tests(of), "V"), ("test",)),
        Heading("Pumps and dosing"), Paragraph(_grade(of)),
        Table("Pumps", _TEST, _numbered(_pumps(of), "P"), ("test",)),
        *([Table("Dosing", _TEST, _numbered(dosing, "D"), ("test",))] if dosing else []),
        Heading("What fresh water shows, and what it does not"), *_fresh_water(of)]
    return Document("factory-test", "403", "Factory acceptance test", blocks, wide=True, group="Materials and tests")


def _fresh_water(of: Source) -> list[Block]:
    """The feed pressure to expect without salt, where elements are loaded for the test."""
    id = "membrane.node_net_driving_pressure@design-new"
    if id not in of.ids or "membrane.vessel_drop@design-new" not in of.ids:
        return [Paragraph("Elements are not loaded at the works.")]
    mean = float(np.mean(np.asarray(of.plant[id], dtype=float)))
    expected = of.at(freshwater_feed_pressure, "gauge pressure", net_driving_pressure=mean,
                     permeate_pressure=of.number("membrane.permeate_pressure") or 0.0,
                     vessel_drop=of.number("membrane.vessel_drop@design-new"))
    pressure = of.show("membrane.feed_pressure")
    return [Paragraph(f"On fresh water there is no osmotic pressure: new elements give their flux at about "
                      f"{expected.text(of.units)} of feed pressure, against {pressure} in service. Salt rejection, "
                      "boron and specific energy are not shown at the works."),
            Points(("Elements are usually not loaded; the pressure of the HP pump is shown against a valve.",
                    "Where elements are loaded, the permeate stays within their rated flow.",
                    "Water for the test is free of chlorine."))]


def site(of: Source) -> Document:
    """The site acceptance test: loading, first start, and the run that shows what is guaranteed."""
    limit = of.show("limits.membrane_oxidant")
    before = [
        _row("Transport damage, shock and tilt marks", "", "each case, photographs", "none, or listed and repaired"),
        _row("Level, anchorage, alignment", "", "against the arrangement", "within the manufacturers' limits"),
        _row("Earthing and supply", of.tag("transformer") or of.tag("panel_train"), "measured",
             f"rotation, and {of.text(of.sized.power.voltage, 'voltage')} within 10 %"),
        _row("Loops", "", "from the process to the screen", "each instrument of the list, and its set points"),
        _row("Flushing of the feed line", "", "filtered water, cartridges in, elements not loaded",
             "clear water, no chips on the cartridges"),
        _row("SDI15 of the RO feed, before loading", "", "three measurements in a row",
             f"{of.show('fouling.sdi_limit')} maximum")]
    if limit:
        before.append(_row("Free chlorine of the RO feed, before loading", "", "colorimeter, three times in an hour",
                           f"{limit} maximum"))
    elements = sum(r["installed_total"] for r in of.equipment if r["key"].partition("[")[0] == "elements")
    tags = ", ".join(r["tag"] for r in of.equipment if r["key"].partition("[")[0] == "elements")
    loading = [_row("Loading record", tags, "serial number, vessel, position, weight",
                    f"{plural(elements, 'element')}, interconnectors shimmed")]
    start = [
        _row("First permeate", "", "discarded until the conductivity is steady", "one hour minimum"),
        _row("Feed pressure of new elements", of_tag(of, "discharge"), "at design temperature, or corrected to it",
             f"{of.show('membrane.feed_pressure@design-new')} expected, "
             f"{of.show('membrane.feed_pressure')} maximum over age and season"),
        _row("Pressure drop of a vessel", of_tag(of, "vessel-drop"), "at design flow",
             f"{of.show('membrane.vessel_drop@design-new')} expected"),
        _row("RO recovery", of_tag(of, "permeate-flow"), "permeate over feed",
             f"{of.show('membrane.recovery')} set"),
        _row("Conductivity of each vessel", of_tag(of, "permeate-conductivity"), "sample port of each vessel",
             "none more than 20 % above the mean of its bank; otherwise probed along its length"),
        _row("Noise and vibration", "", "as at the works", "as at the works")]
    blocks: list[Block] = [
        Note("The first start puts seawater under pressure on new joints. Keep away from couplings and vessel ends "
             "until the train has reached its pressure once and has been inspected."),
        Heading("Before elements are loaded"), Table("Before loading", _TEST, _numbered(before, "B"), ("test",)),
        Heading("Loading and first start"), Table("Loading", _TEST, _numbered(loading, "L"), ("test",)),
        Table("First start", _TEST, _numbered(start, "F"), ("test",)),
        Heading("Performance run"),
        Paragraph(f"The plant runs {of.duration('offer.test_run')} at its net product of "
                  f"{of.show('duty.product_flow')} within the envelope of the design. A measured value is accepted "
                  "with the declared uncertainty of its instrument; tolerances are not set twice."),
        guaranteed(of)]
    return Document("site-test", "404", "Site acceptance test", blocks, wide=True, group="Materials and tests")


def of_tag(of: Source, key: str) -> str:
    """Tag of an instrument by its key; empty where the plant has none."""
    return next((i["tag"] for i in of.instruments if i["key"] == key), "")


def guaranteed(of: Source) -> Table:
    """Guaranteed and expected values, as the record has them."""
    words = {"≤": "maximum", "≥": "minimum"}
    digits = {"mass flow": 3}
    rows = [{"title": r["title"], "expected": Value(r["expected"], r["kind"], digits.get(r["kind"])),
             "guaranteed": f"{of.text(r['guaranteed'], r['kind'], digits.get(r['kind']))} {words[r['sense']]}",
             "case": r["corner"],
             "measured": r["measured"], "standard": r["standard"]} for r in of.sized.guarantees]
    return Table("Guaranteed and expected values", (
        Column("title", "Quantity", width=2), Column("expected", "Expected", width=1.1),
        Column("guaranteed", "Guaranteed", width=1.5), Column("case", "Condition", width=1.5),
        Column("measured", "Measured", width=2.2), Column("standard", "Standard", width=1.2)), rows, ("title",))


def calibrations(of: Source) -> Document:
    """The calibration list: each instrument, its range, what it must meet, how often."""
    by_kind = {kind: r for r in table("calibrations").values() for kind in r["kinds"].value.split(", ")}
    rows = []
    for i in of.instruments:
        row: dict[str, Cell] = {"tag": i["tag"], "title": i["title"], "count": float(i["count"]),
                                "range": f"{of.text(i['range_low'], i['kind'])} to "
                                         f"{of.text(i['range_high'], i['kind'])}", "found": ""}
        known = by_kind.get(i["kind"])
        if known is not None:
            row |= {"accuracy": known["accuracy"].value, "interval": of.span(known["interval"].value, 0.01),
                    "method": known["method"].value}
        rows.append(row)
    columns = (Column("tag", "Tag", width=0.9), Column("title", "Instrument", width=1.8),
               Column("count", "Number", "count", 0.6), Column("range", "Range", width=1.8),
               Column("accuracy", "Accuracy", width=1.3), Column("interval", "Interval", width=0.8),
               Column("method", "Method", width=2.4), Column("found", "Certificate, date", width=1.2))
    return Document("calibrations", "405", "Calibration list",
                    [Table("Calibration of instruments", columns, rows, ("tag",),
                           "Before the performance run each instrument that shows a guaranteed value has a certificate "
                           "no older than its interval.")], wide=True, group="Materials and tests")
