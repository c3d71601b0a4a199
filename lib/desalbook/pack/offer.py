"""The offer: technical part, scope and battery limits, price page, and the skeleton of the operating manual."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from desalbook.balances import sum_of_costs
from desalbook.controls.trial import steps_of
from desalbook.guidelines import guideline
from desalbook.pack import text
from desalbook.pack.acceptance import guaranteed
from desalbook.pack.compliance import answers_to, sentence_of
from desalbook.pack.document import Block, Cell, Column, Document, Drawn, Heading, Paragraph, Points, Table, Value
from desalbook.pack.lists import unit_sequence
from desalbook.pack.plant_source import Source, plural
from desalbook.pack.words import context
from desalbook.plant.sequences import sequence_rows
from desalbook.summary import GENERAL
from desalbook.tables import table
from desalbook.trail import constant
from desalbook.trail.systems import safety_notes, sentence

__all__ = ["battery_limits", "exclusions", "manual", "offer", "price", "scope", "warranty"]

_GROUP = "Offer"
_BASIS = ("duty.train_product_flow", "duty.trains", "duty.product_flow", "duty.availability", "duty.plant_recovery",
          "duty.raw_flow", "site.altitude", "site.ambient_pressure", "water.temperature_cold",
          "water.temperature_design", "water.temperature_hot", "water.tds", "water.ph", "water.turbidity",
          "water.suspended_solids", "fouling.expected_sdi", "membrane.recovery", "membrane.flux", "membrane.age",
          "energy_recovery.device")
_THING = (Column("title", "Value", width=3), Column("value", "", width=1.4), Column("basis", "Basis", width=2))


def _titled(of: Source, id: str, basis: str = "") -> dict[str, Cell]:
    found = of.plant[id]
    value: Cell = of.option(id) if isinstance(found, str) else of.value(id)
    return {"title": of.plant.design.meta(id).title if isinstance(found, str) else found.title, "value": value,
            "basis": basis}


def basis(of: Source) -> Table:
    """Duty and design basis, as given or assumed."""
    design = of.plant.design
    trail = {x: "given" if design.stands(x) else "assumed" for x in _BASIS
             if x in of.ids and _is_key(of, x) and (design.stands(x) or design.get(x) is not None)}
    rows = [_titled(of, id, trail.get(id, "calculated")) for id in _BASIS if id in of.ids]
    return Table("Duty and design basis", (Column("title", "Quantity", width=3), Column("value", "Value", width=1.6),
                                           Column("basis", "Given, assumed or calculated", width=2)), rows, ("title",))


def _is_key(of: Source, id: str) -> bool:
    try:
        of.plant.design.meta(id)
    except KeyError:
        return False
    return True


def water(of: Source) -> Table:
    """The seawater analysis the offer counts on."""
    ions = of.plant["water.ions"] if "water.ions" in of.ids else None
    rows: list[dict[str, Cell]] = []
    if ions is not None:
        rows = [{"ion": key, "value": float(value)} for key, value in ions.items()]
    return Table("Seawater analysis", (Column("ion", "Constituent", width=2), Column("value", "As stated",
                                                                                     "concentration", 1)), rows,
                 ("ion",), "An analysis of the site replaces it; a change of the water is a change of the offer.")


def warranty(of: Source) -> Table:
    """Conditions of the warranty: what the water and the operation keep to, with what is measured."""
    tag = {i["key"]: i["tag"] for i in of.instruments}
    wanted: list[tuple[str, str, Cell, str]] = [
        ("SDI15 of the RO feed", "maximum", of.value("fouling.sdi_limit"), "daily, logged"),
        ("Free chlorine of the RO feed", "maximum", of.value("limits.membrane_oxidant"), tag.get("orp", "daily test")),
        ("Temperature of the RO feed", "maximum", of.value("membrane.element.max_temperature"),
         tag.get("feed-temperature", "")),
        ("Feed pressure", "maximum", of.value("membrane.element.max_pressure"), tag.get("discharge", "")),
        ("Pressure drop of a vessel", "maximum", of.value("limits.vessel_drop"), tag.get("vessel-drop", "")),
        ("Pressure drop of an element", "maximum", of.value("membrane.element.max_pressure_drop"), ""),
        ("Feed flow of a vessel", "maximum", of.value("membrane.element.max_feed_flow"), ""),
        ("Concentrate flow of a vessel", "minimum", of.value("membrane.element.min_concentrate_flow"), ""),
        ("RO recovery", "maximum", of.value("membrane.recovery"), tag.get("permeate-flow", "")),
        ("Turbidity of the RO feed", "maximum", of.value("limits.feed_turbidity"), tag.get("filtrate-turbidity", "")),
        ("TOC of the RO feed", "maximum", of.value("limits.feed_toc"), "monthly"),
        ("Temperature of CIP solutions", "maximum", of.value("cip.temperature"), tag.get("cip-temperature", ""))]
    for key, title in (("cleaning-flow-loss", "Normalised permeate flow: cleaned before it falls by"),
                       ("cleaning-salt-rise", "Salt passage: cleaned before it rises by"),
                       ("cleaning-pressure-drop-rise", "Pressure drop: cleaned before it rises by")):
        limit = guideline(key)
        wanted.append((title, "", Value(limit.value, limit.kind), "normalised data, weekly"))
    rows: list[dict[str, Cell]] = [{"title": title, "sense": sense, "value": value, "measured": by}
                                   for title, sense, value, by in wanted if value is not None]
    return Table("Conditions of the warranty", (
        Column("title", "Condition", width=3), Column("sense", "", width=0.8), Column("value", "Limit", width=1.3),
        Column("measured", "Shown by", width=1.6)), rows, ("title",),
        "Limits are those of the design and of the element's sheet. Logs of each are handed over with a claim.")


def schedule(of: Source) -> Table:
    """Weeks from the order, as shares of the delivery time."""
    weeks = (of.number("offer.delivery_time") or 0.0) / 604800.0
    steps = (("Order, data and advance received", 0.0), ("Drawings and lists for approval", 0.2),
             ("Approval back", 0.3), ("Long-lead items ordered: HP pump, energy recovery, metals, drives", 0.3),
             ("Skids and pipe welded and tested", 0.75), ("Factory acceptance test", 0.9),
             ("Ready at the works' gate", 1.0))
    rows: list[dict[str, Cell]] = [{"step": step, "week": f"{math.ceil(part * weeks - 1e-9):.0f}"}
                                   for step, part in steps]
    return Table("Schedule", (Column("step", "Step", width=4), Column("week", "Week from order", width=1)), rows,
                 ("step",), "Shares of the delivery time, common practice; the order fixes the dates.")


def offer(of: Source) -> Document:
    """The technical part of the offer."""
    from desalbook.drawings.water_line import plant as water_line

    line = {u: water_line.picture(of.plant, u, width=720) for u in ("si", "us")} if of.plant.stops else None
    analysed = water(of)
    listed = Table("Documents of the pack", (Column("number", "No.", width=0.6), Column("title", "Document", width=4)),
                   [{"number": n, "title": t} for n, t in of.listed_documents], ("number",))
    fails = [x.title for x in of.plant.verdicts.values() if x.more["verdict"] == "fails"]
    named = "; ".join(fails[:3]) + (f"; and {len(fails) - 3} more" if len(fails) > 3 else "")
    status = (f"{plural(len(fails), 'check')} of the calculation fail{'s' if len(fails) == 1 else ''} ({named}): the "
              "design is not finished." if fails else "")
    deviations = sentence_of(answers_to(of, of.requirements)) if of.requirements is not None else ""
    made = text.blocks("offer", context(of) | {"deviations": deviations, "status": status}, {
        "basis": basis(of), "water": analysed if analysed.rows else None, "water-line":
        Drawn("The water line: height is pressure, width is flow, tint is salinity.", line) if line else None,
        "guaranteed": guaranteed(of), "warranty": warranty(of), "schedule": schedule(of), "documents": listed})
    return Document("offer", "001", "Offer, technical part", made, group=_GROUP)


def exclusions(of: Source) -> list[str]:
    """What is not supplied, of what a plant like this needs."""
    others = [r for r in of.equipment if r["supply"] != "package"]
    said = [f"{r['title']} ({r['tag']})" for r in others if not r["tag"].startswith("BU-")]
    lines = ["Civil works, foundations, drains, building, ventilation and lighting.",
             "Intake works and outfall in the sea, with their permits." if of.choice("water.source") == "open-intake"
             else "Wells, well pumps where they are not listed, and outfall, with their permits.",
             "Power to the terminals of the panels, and the earthing grid.",
             "Pipe and cable between the battery limits of skids and others' works.",
             "Compressor, dryer and receiver of the instrument air.",
             "Offloading, placing and storage at site.",
             "First fill of chemicals and lubricants, and laboratory tests.",
             "Taxes, duties, licences and inspection by third parties, unless stated.",
             "Spares beyond those for start-up."]
    if said:
        lines.insert(0, f"Equipment listed as supplied by others: {', '.join(said)}.")
    return lines


def scope(of: Source) -> Document:
    """Scope split, battery limits and exclusions."""
    rows: list[dict[str, Cell]] = []
    for r in of.equipment:
        ours = r["supply"] == "package"
        rows.append({"tag": r["tag"], "title": r["title"], "number": float(r["installed_total"]), "design": "S",
                     "supply": "S" if ours else "P", "install": "P", "start": "S" if ours else "P"})
    split = Table("Scope", (
        Column("tag", "Tag", width=0.9), Column("title", "Item", width=3), Column("number", "Number", "count", 0.7),
        Column("design", "Sizing", width=0.7), Column("supply", "Supply", width=0.7),
        Column("install", "Erection", width=0.8), Column("start", "Start-up", width=0.8)), rows, ("tag",),
        "Erection at site by the purchaser under the supplier's supervision; of loose items and others' supply the "
        "kit gives the size alone.")
    made = text.blocks("scope", context(of) | {"exclusions": exclusions(of)},
                       {"scope": split, "limits": battery_limits(of)})
    return Document("scope", "002", "Scope, battery limits and exclusions", made, wide=True, group=_GROUP)


AIR = constant("p_a", 6e5, "Pa", source="common-practice", title="Instrument air at the battery limit, gauge").value


def battery_limits(of: Source) -> Table:
    """Where the package ends: each with direction, size, flow, pressure and temperature at the point."""
    lines = {x["key"]: x for x in of.lines}
    n = float(of.trains)
    cold, hot = of.show("water.temperature_cold", 3), of.show("water.temperature_hot", 3)
    warm = f"{cold} to {hot}"
    rows: list[dict[str, Cell]] = []

    def add(service: str, way: str, run: str, flow: float | None, pressure: float | None, quality: str,
            temperature: str = "") -> None:
        line = lines.get(run)
        rows.append({"no": f"TP-{len(rows) + 1:02d}", "service": service, "way": way,
                     "size": line["size"] if line else "", "material": "" if line is None else
                     table("pipes").row(line["material"], "limits").title, "flow": flow,
                     "pressure": None if pressure is None else Value(pressure, "gauge pressure", 3),
                     "temperature": temperature or warm, "quality": quality})

    streams = {str(s["key"]): s for s in of.sized.streams}
    add("Raw water from the raw water tank", "in", "feed-suction", _times(lines.get("feed-suction"), n),
        of.number("feed_pump.suction_maximum"),
        f"seawater, {of.show('water.tds', 3)} dissolved solids; pressure with the tank full, "
        f"{of.show('storage.level', 2)} of water")
    out = streams.get("concentrate")
    add("Concentrate to the outfall", "out", "concentrate", _times(lines.get("concentrate"), n),
        None if out is None or out.get("pressure") is None else float(out["pressure"]),
        f"concentrate, {of.show('membrane.concentrate_tds', 3)} dissolved solids"
        if "membrane.concentrate_tds" in of.ids else "concentrate")
    add("Product", "out", "product", of.number("product_pump.flow") or _times(lines.get("permeate"), n),
        of.number("product_pump.delivery_pressure"), "as guaranteed")
    if "backwash" in lines:
        add("Backwash water to waste", "out", "backwash", float(lines["backwash"]["flow"]), 0.0,
            "seawater with solids of the filters")
    add("CIP and flush to waste", "out", "cleaning", of.number("cip.flow"), 0.0, "neutralised before discharge")
    rows.append({"no": f"TP-{len(rows) + 1:02d}", "service": "Power", "way": "in",
                 "size": of.text(of.sized.power.voltage, "voltage"), "quality": of.text(
                     of.sized.power.transformer, "apparent power") + " transformer"})
    moved = sum(int(v["count"]) for v in of.valves if v["set_pressure"] is None)
    if moved:
        rows.append({"no": f"TP-{len(rows) + 1:02d}", "service": "Instrument air", "way": "in", "size": "DN 25",
                     "pressure": Value(AIR, "gauge pressure", 3),
                     "quality": f"dry and free of oil, {plural(moved, 'valve')} moved by air; "
                                                 "consumption with the actuators"})
    for c in of.chemicals:
        if c.get("solution_rate") is not None and c["key"] in of.sized.doses.lines():
            rows.append({"no": f"TP-{len(rows) + 1:02d}", "service": f"{c['title']}: fill of the day tank", "way": "in",
                         "quality": c["chemical"]})
        elif c["key"] in of.sized.minerals:
            how = "food grade; tank and feed by others" if c["key"] == "co2" else "filled by hand"
            rows.append({"no": f"TP-{len(rows) + 1:02d}", "service": c["title"], "way": "in",
                         "quality": f"{c['chemical']}, {of.text(c['mass_rate'], 'mass flow', 3)}; {how}"})
    return Table("Battery limits", (
        Column("no", "No.", width=0.6), Column("service", "Service", width=2.4), Column("way", "In or out", width=0.6),
        Column("size", "Size", width=1), Column("material", "Material", width=1.5),
        Column("flow", "Maximum flow", "flow", 0.9), Column("pressure", "Pressure", "gauge pressure", 0.8),
        Column("temperature", "Temperature", width=1.3), Column("quality", "Quality, remarks", width=2)), rows, ("no",))


def _times(line: Any, n: float) -> float | None:
    return None if line is None else float(line["flow"]) * (n if line["scope"] == "train" else 1.0)


def price(of: Source) -> Document:
    """The price page, from the cost estimate and marked as one."""
    currency = of.words("energy.currency")
    groups = {"equipment": "Equipment, ex works", "works": "Works and services"}
    columns = (Column("title", "Item", width=3), Column("installed", "Number", "count", 0.7),
               Column("unit_price", f"Price of one, {currency}", "money", 1), Column("capital", f"Sum, {currency}",
                                                                                     "money", 1),
               Column("basis", "Estimated by", width=1.8), Column("supply", "Supply", width=0.8))
    blocks: list[Block] = [
        Paragraph(f"ESTIMATE, not a quotation. {of.option('cost.estimate_class')}; prices of "
                  f"{of.option('cost.price_year')}, in {currency}. The sum is expected between "
                  f"{of.show('cost.capital_low', 3)} and {of.show('cost.capital_high', 3)} {currency}. Quotations "
                  "replace the curves item by item (section cost.quotes of the design)."),
    ]
    for key, title in groups.items():
        rows: list[dict[str, Cell]] = []
        for r in of.sized.cost.rows:
            if r["group"] == key and float(r["capital"]) > 0.0:
                one, all_ = r.get("unit_price"), r.get("installed")
                rows.append({"title": r["title"], "installed": None if all_ is None else float(all_),
                             "unit_price": None if one is None else Value(float(one), "money", 3),
                             "capital": Value(float(r["capital"]), "money", 3), "basis": r["basis"],
                             "supply": _supply(of, r)})
        blocks += [Heading(title), Table(title, columns, rows, ("title",))]
    year: list[dict[str, Cell]] = [{"title": r["title"], "yearly": Value(float(r["yearly_cost"]), "money", 3),
                                    "water": float(r["water_cost"])}
                                   for r in of.sized.cost.rows if r["group"] == "year" and float(r["yearly_cost"]) > 0]
    places: dict[str, list[str]] = {}
    for r in of.sized.equipment:
        if not r["cost"].startswith("Own price"):
            places.setdefault(r["cost"], []).append(r["tag"])
    counted: list[dict[str, Cell]] = [{"place": place, "tags": ", ".join(dict.fromkeys(tags))}
                                      for place, tags in sorted(places.items())]
    total: list[dict[str, Cell]] = [{"title": title, "sum": of.value(id, 3)} for title, id in (
        ("Equipment, ex works", "cost.equipment"), ("Direct cost", "cost.direct"),
        ("Engineering, freight, start-up", "cost.indirect"), ("Sum, with contingency", "cost.capital"))]
    theirs = [float(r["capital"]) for r in of.sized.cost.rows if _supply(of, r) == "others"]
    if theirs:
        others = of.at(sum_of_costs, "money", costs=np.array(theirs))
        total.insert(1, {"title": "of it supplied by others (002)", "sum": Value(others.value, "money", 3)})
        blocks.append(Paragraph("The estimate is of the whole plant. What others supply is not in the supplier's "
                                "price, nor are the works that document 002 excludes (civil, building, at sea)."))
    blocks += [Heading("Sum"), Table("Sum", (Column("title", "", width=3), Column("sum", f"{currency}", width=1)),
                                     total, ("title",)),
               Heading("Where the rest of the schedule is counted"),
               Paragraph("Every other line of the equipment schedule has a price of its own above."),
               Table("Where the rest of the schedule is counted", (
                   Column("place", "Counted in", width=2), Column("tags", "Lines of the schedule", width=5)), counted,
                   ("place",)),
               Heading("Cost of a year"), Table("Cost of a year", (
                   Column("title", "Part", width=3), Column("yearly", f"Of a year, {currency}", width=1),
                   Column("water", f"Of net product, {currency}", "money per volume", 1)), year, ("title",)),
               Heading("Payment"), Points((
                   "Usual shares, to be agreed: 30 % with the order, 20 % with drawings and long-lead items, 40 % on "
                   "readiness for shipping, 10 % on commissioning.",
                   f"Delivery: {of.option('offer.delivery_terms')}. Taxes and duties are not included."))]
    return Document("price", "003", "Price page (estimate)", blocks, group=_GROUP)


def _supply(of: Source, row: Mapping[str, Any]) -> str:
    """Who supplies an item of the estimate; empty of works."""
    found = of.by_key.get(str(row["key"]))
    return "" if row["group"] != "equipment" else "package" if found is None else str(found["supply"])


def manual(of: Source) -> Document:
    """The skeleton of the operating manual."""
    said = [(id, x.more["caution"]) for id, x in of.plant.verdicts.items() if x.more.get("caution")]
    hazards = [{"title": hazard, "general": sentence(GENERAL.get(hazard, "")), "notes": notes}
               for hazard, notes in safety_notes(said).items()]
    steps = list(steps_of(of.sized.control.train))
    titles = {str(s["key"]): str(s["title"]) for s in steps}
    columns = (Column("title", "Step", width=2), Column("until", "Goes on when", width=2),
               Column("least", "At least", "time.second", 0.7), Column("then", "Then", width=1.8))
    keys = [str(s["key"]) for s in steps]
    cut = keys.index("run") + 1
    waits = {row["title"]: row["goes_on"] for row in sequence_rows(of.sized, "train")}
    moves = [{"title": str(s["title"]), "until": waits[str(s["title"])], "least": float(s["least"]),
              "then": titles.get(str(s["then"]), str(s["then"]))} for s in steps]
    made = text.blocks("manual", context(of) | {"hazards": hazards}, {
        **{f"sequence-{name}": unit_sequence(of, name, title, False) for name, title in of.sequences.items()},
        "start": Table("Start of a train", columns, moves[:cut], ("title",)),
        "stop": Table("Stop and trip of a train", columns, moves[cut:], ("title",)),
        "alarms": alarms(of), "maintenance": maintenance(of), "log": log(of), "trouble": trouble(of)})
    return Document("manual", "501", "Operating manual, skeleton", made, group="Operation")


def alarms(of: Source) -> Table:
    """Each alarm and trip with what it means and what to do."""
    rows: list[dict[str, Cell]] = []
    for i in of.instruments:
        for side in ("low", "high"):
            alarm, trip = i[f"alarm_{side}"], i[f"trip_{side}"]
            if alarm is None and trip is None:
                continue
            rows.append({"tag": i["tag"], "title": f"{i['title']}, {side}",
                         "alarm": None if alarm is None else Value(float(alarm), i["kind"], 3),
                         "trip": None if trip is None else Value(float(trip), i["kind"], 3),
                         "consequence": i["consequence"], "response": i["response"],
                         "respond": float(i["respond"])})
    return Table("Alarms and responses", (
        Column("tag", "Tag", width=0.9), Column("title", "Alarm", width=1.8), Column("alarm", "Alarm at", width=1),
        Column("trip", "Trip at", width=1), Column("consequence", "If nothing is done", width=2),
        Column("response", "Response", width=2), Column("respond", "Within", "time.minute", 0.7)), rows, ("title",))


def maintenance(of: Source) -> Table:
    """What is looked after, by interval, for what the plant has."""
    rows: list[tuple[str, str, str]] = [
        ("Shift", "", "log sheet, leaks, noise, levels of day tanks"),
        ("Day", "", "SDI15 of the RO feed" + "".join(
            f"; free chlorine of the {water}" for step, water in (("chlorination", "RO feed"),
                                                                  ("post_chlorination", "product"))
            if f"dosing_{step}" in of.by_key)),
        ("Week", "", "normalised permeate flow, salt passage and pressure drop")]
    for r in of.equipment:
        base, tag = r["key"].partition("[")[0], r["tag"]
        if base == "cartridge":
            rows.append((of.show("cartridge.change_interval", 2) or "By pressure drop", tag,
                         f"cartridges changed, or earlier at {of.show('limits.cartridge_change_pressure_drop', 2)}"))
        elif base == "filters":
            rows.append(("Year", tag, "media level and mud balls looked at with the manway open; lining inspected"))
        elif base.startswith("dosing_"):
            rows.append(("Month", tag, "draw-down on the calibration column"))
        elif "head" in r:
            rows.append(("3 months", tag, "bearings, seal, alignment, vibration; lubricant as its manufacturer says"))
        elif base == "scour_blower":
            rows.append(("3 months", tag, "oil, belts, inlet filter, noise; relief valve lifts; check valve holds"))
        elif base == "energy_recovery":
            rows.append(("3 months", tag, "noise, pressures and flows against the curve; seals by its manufacturer"))
        elif base == "vessels":
            rows.append(("Year", tag, "head seals and thrust ends; straps; no weeping"))
        elif base == "contactor":
            rows.append(("Month", tag, "calcite filled up; level marked"))
        elif base.startswith("panel_"):
            rows.append(("Year", tag, "terminals tightened, filters of fans, thermal picture under load"))
    if any(v["set_pressure"] is not None for v in of.valves):
        rows.append(("Year", ", ".join(v["tag"] for v in of.valves if v["set_pressure"] is not None),
                     "relief valves tested on a bench, as the local law says"))
    return Table("Maintenance", (Column("when", "Every", width=1), Column("tag", "Tag", width=1),
                                 Column("what", "What", width=4)),
                 [{"when": w, "tag": t, "what": x} for w, t, x in rows], ("when", "tag", "what"),
                 "Common practice; the manufacturers' intervals come first.")


def log(of: Source) -> Table:
    """Log sheet of a shift: each instrument with its normal range and an empty field."""
    rows: list[dict[str, Cell]] = []
    for i in of.instruments:
        low, high = i.get("normal_low"), i.get("normal_high")
        ends = [of.text(x, i["kind"], 3) for x in (low, high) if x is not None]
        normal = " to ".join(dict.fromkeys(ends))
        rows.append({"tag": i["tag"], "title": i["title"], "normal": normal, "found": ""})
    return Table("Log sheet of a shift", (Column("tag", "Tag", width=0.9), Column("title", "Value", width=2),
                                          Column("normal", "Normal", width=1.8), Column("found", "Found", width=1.6)),
                 rows, ("tag",))


def trouble(of: Source) -> Table:
    """Signs of trouble with the membranes, and where to look first."""
    rows: list[dict[str, Cell]] = [
        {"sign": "Permeate flow falls, salt passage as before", "where": "mostly fouling",
         "first": "SDI15, cartridges, cleaning with alkali"},
        {"sign": "Pressure drop of the first elements rises", "where": "particles or growth",
         "first": "filtrate, cartridges seated, biocide or shock" if of.has("filters") else "cartridges seated, well"},
        {"sign": "Pressure drop of the last elements rises", "where": "scale",
         "first": "antiscalant dose, RO recovery, acid cleaning" if "dosing_antiscalant" in of.by_key
         else "RO recovery, acid cleaning"},
        {"sign": "Salt passage rises at once, in one vessel", "where": "an O-ring or a seal",
         "first": "conductivity along the vessel"},
        {"sign": "Salt passage rises slowly, flow rises too", "where": "oxidation",
         "first": "ORP, chlorine of the RO feed, dechlorination" if "dosing_dechlorination" in of.by_key
         else "chlorine of the RO feed"}]
    if of.sized.device.kind.mixes:
        rows.append({"sign": "Feed conductivity at the vessels rises", "where": "mixing in the energy recovery device",
                     "first": "flows of both sides balanced"})
    return Table("Trouble and first steps", (Column("sign", "Sign", width=2.4), Column("where", "Mostly", width=1.4),
                                             Column("first", "Look first at", width=2.4)), rows, ("sign",),
                 "Common practice.")
