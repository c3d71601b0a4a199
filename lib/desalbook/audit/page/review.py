"""What a reviewer reads: basis, streams, equipment, checks, what to look at first, marks, governing lines."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any, NamedTuple
from urllib.parse import quote

from desalbook.audit.chapters import in_process_order
from desalbook.audit.doubt import GROUPS, doubt
from desalbook.audit.graph import id_of
from desalbook.audit.page.parts import Writer, anchor
from desalbook.audit.page.sheets import Block, Section, Table, grid, parts_of
from desalbook.audit.page.sheets import lines as lines_of
from desalbook.audit.page.shown import label, shown
from desalbook.audit.page.style import VERDICTS
from desalbook.audit.page.summary import LONGEST, MARKED, VALUES, case_of, guarantees
from desalbook.trail.systems import RANK, grouped, safety_notes, sentence, system_of
from desalbook.trail.words import chapter, part_key, part_words, verdict_words, with_titles
from desalbook.units import in_units

__all__ = ["cases", "chapters", "governing", "inputs", "printed", "sections"]

STREAM = (("volume_flow", "Flow", "flow"), ("pressure", "Pressure, gauge", "gauge pressure"),
          ("temperature", "Temperature", "temperature"), ("salinity", "Salinity", "salinity"),
          ("density", "Density", "density"))
EQUIPMENT = (("flow", "Flow, each", "flow"), ("head", "Head", "head"), ("shaft_power", "Shaft power", "power"),
             ("motor", "Motor", "power"), ("electric_power", "Power", "power.electric"),
             ("apparent_power", "Apparent power", "apparent power"))
SIZES = (("volume", "volume"), ("diameter", "length"), ("area", "area"))
STEEL = (("rated_pressure", "Rated", "gauge pressure"), ("mass_empty", "Empty", "mass"),
         ("mass_operating", "Operating", "mass"))
VALVES = (("set_pressure", "Set at", "gauge pressure"), ("relief_flow", "Relief flow", "flow"))
_OWN_LIST = ("instrument[", "valve[")
"""Keys of rows of the schedule that stand in lists of their own, with more of them."""
CHEMICALS = (("dose", "Dose", "concentration"), ("mass_rate", "Mass rate", "mass flow"),
             ("day_tank", "Day tank", "volume"), ("store", "Bulk storage", "volume"),
             ("yearly_use", "Use of a year", "mass"))
_SHOWN = {"check": 8, "range": 20, "balance": 12, "residual": 6, "gap": 10, "limit": 14, "source": 12, "assumed": 14}
"""How many of each group the page prints; the workbook lists all."""
_NEAR = 0.15  # of a limit; what is further from it stands in the table of checks alone
_MANY = 7  # keys beside one another


def sections(record: Mapping[str, Any], w: Writer, room: tuple[float, float]) -> list[Section]:
    """All parts but the chapters."""
    wide = room[0]
    made = [("basis", "Basis of design", _basis(record, w, wide)),
            ("streams", "Streams", _rows(record, "streams", STREAM, w, wide, ("from", "to"))),
            ("equipment", "Equipment schedule", _equipment(record, w, wide)),
            ("valves", "Valves", _valves(record, w, wide)),
            ("chemicals", "Chemicals", _rows(record, "chemicals", CHEMICALS, w, wide, ("chemical", "basis"))),
            ("guarantees", "Guaranteed and expected values", _guarantees(record, w, wide)),
            ("energy-of-a-year", "Energy of a year", _energy(record, w, wide)),
            ("loads", "Electrical loads", _loads(record, w, wide)),
            ("costs", "Cost", _costs(record, w, wide)),
            ("instruments", "Instruments and set points", _instruments(record, w, wide)),
            ("alarms", "Alarms", _alarms(record, w, wide)),
            ("cause-and-effect", "Cause and effect", _cause_effect(record, w, wide)),
            ("checks", "Checks", _checks(record, w, wide)),
            ("safety", "Safety notes", _safety(record, wide)),
            ("limits", "Limits that differ from the guidelines", _limits(record, w, wide)),
            ("watch", "Priorities of review", _watch(record, w, wide)),
            ("marks", "Marks and open questions", _marks(record, w, wide))]
    return [Section(name, title, items) for name, title, items in made if items]


def inputs(lines: Sequence[Mapping[str, Any]], w: Writer, wide: float, caption: str = "Inputs") -> Table:
    """Given and assumed lines as one table."""
    rows, attributes = [], []
    for x in lines:
        notes = "".join(f'<br><span class="caution">! {escape(c)}</span>' for c in x["cautions"])
        if x["note"]:
            notes += f'<br><span class="quiet">{escape(x["note"])}</span>'
        number, many = w.value(x), ""
        if x["keys"] is not None:
            number = escape(label(x["kind"], w.units, w.record, True))
            many = "<br>" + ", ".join(f"{escape(k)} {escape(w.bare(v, x['kind']))}"
                                      for k, v in zip(x["keys"], x["value"], strict=True))
        rows.append((f"{escape(x['title'])}{many}{notes}", w.symbol(x), number, x["sort"],
                     "" if x["sort"] == "given" else w.source(x)))
        attributes.append(f' id="{anchor(x["id"])}" class="{x["sort"]}"')
    return grid(("Quantity", "Symbol", "Value", "Type", "Source"), (64, 17, 30, 17, 42), rows, room=wide,
                caption=caption, numbers=(2,), attributes=attributes, kind="inputs")


def _basis(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """What a person wrote, and how many values are the kit's own."""
    lines = record["lines"]
    given = [x for part in in_process_order(chapter(x["id"]) for x in lines)
             for x in lines if x["sort"] == "given" and chapter(x["id"]) == part]
    assumed = sum(x["sort"] == "assumed" for x in lines)
    said = (f"{len(given)} {'value is' if len(given) == 1 else 'values are'} given by the design file; {assumed} are "
            "defaults or values of data tables. Those that most checks rest on are in the part Priorities of review.")
    out: list[Block | Table] = [Block(f"<p>{said}</p>", 11.0)]
    for key, value in record.get("project", {}).items():  # what the head of the sheet has no room for
        if len(value) > LONGEST:
            out.append(Block(f'<p dir="auto"><b>{escape(key.replace("_", " ").capitalize())}</b> {escape(value)}</p>',
                             8.0 + 4.6 * lines_of(value, wide, 9.5)))
    if given:
        rows = [(escape(part_words(chapter(x["id"]))), escape(x["title"]) + _many(x, w),
                 "" if x["keys"] else w.value(x), f"<code>{escape(x['id'])}</code>") for x in given]
        out.append(grid(("Part", "Given", "Value", "Key"), (34, 62, 36, 40), rows, room=wide, size=7.4, numbers=(2,),
                        attributes=[f' id="{anchor(x["id"])}"' if w.printed is not None else "" for x in given]))
    return out


def _many(x: Mapping[str, Any], w: Writer) -> str:
    if x["keys"] is None:
        return ""
    unit = escape(label(x["kind"], w.units, w.record, True))
    return f", {unit}<br>" + ", ".join(f"{escape(k)} {escape(w.bare(v, x['kind']))}"
                                       for k, v in zip(x["keys"], x["value"], strict=True))


def _rows(record: Mapping[str, Any], name: str, columns: Sequence[tuple[str, str, str]], w: Writer, wide: float,
          texts: Sequence[str]) -> list[Block | Table]:
    """A table of the record with the columns that its rows fill."""
    # what is dosed has a list of its own
    rows = [r for r in record.get(name) or () if any(isinstance(r.get(c[0]), (int, float)) for c in columns)]
    used = [c for c in columns if any(isinstance(r.get(c[0]), (int, float)) for r in rows)]
    if not rows:
        return []
    cells = []
    for r in rows:
        found = [_number(r, key, kind, w) for key, _, kind in used]
        head = w.link(r["id"], escape(str(r.get("title", "")))) if r.get("id") else escape(str(r.get("title", "")))
        cells.append((head, *(escape(str(r.get(t, "")).replace("_", " ")) for t in texts), *found))
    heads = (name.capitalize().removesuffix("s") if name == "streams" else "Item",
             *(t.capitalize() for t in texts), *(title for _, title, _ in used))
    said = {"streams": "Flow of one train in the design case.", "chemicals":
            "Doses in the basis named; a year at the mean dose."}[name]
    return [*([Block(f"<p>{said}</p>", 7.0)] if said else []),
            grid(heads, (40, *(34 if t == "chemical" else 18 for t in texts), *[24] * len(used)), cells, room=wide,
                 size=7.4, numbers=range(1 + len(texts), len(heads)))]


def _equipment(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """The schedule in two tables: what each item does, and what it is; instruments and valves have their own lists."""
    rows = [_with_air(r) for r in record.get("equipment", ()) if not r["key"].startswith(_OWN_LIST)]
    if not rows:
        return []
    said = ("One row for each group of like units; duty and standby of one train, or of the plant. Instruments and "
            "valves of the schedule stand in their own parts. A material is the usual one unless the design names it. "
            "Masses are estimates for an offer; certified masses replace them.")
    does = [(escape(r.get("tag", "")), _item(r, w), r.get("scope", ""),
             " + ".join(str(r[k]) for k in ("duty", "standby") if k in r),
             r.get("supply", ""),
             *(_number(r, key, kind, w) for key, _, kind in EQUIPMENT)) for r in rows]
    has = [(escape(r.get("tag", "")), _item(r, w), _size(r, w),
            *(_number(r, key, kind, w) for key, _, kind in STEEL),
            escape(r.get("rating", "")), escape(r.get("material", "")),
            escape(part_words(chapter(r["id"]))) if r.get("id") in w.lines else "") for r in rows]
    return [Block(f"<p>{said}</p>", 12.0),
            grid(("Tag", "Item", "Each", "Duty + spare", "Supply", *(t for _, t, _ in EQUIPMENT)),
                 (17, 42, 13, 19, 18, 22, 19, 20, 19, 22, 21), does, room=wide, size=7.0,
                 numbers=(3, 5, 6, 7, 8, 9, 10), caption="Duty, and who supplies it"),
            grid(("Tag", "Item", "Size", *(t for _, t, _ in STEEL), "Class", "Material", "Chapter"),
                 (18, 38, 31, 28, 24, 26, 31, 43, 31), has, room=wide, size=6.8, numbers=range(3, 6),
                 caption="Size, mass of one, class, material, and the chapter that sizes it")]


def _with_air(r: Mapping[str, Any]) -> Mapping[str, Any]:
    """A blower in the columns of pumps: its air as the flow, its pressure rise in place of a head."""
    ids = r.get("ids", {})
    if "air_flow" not in ids:
        return r
    return {**r, "flow": r["air_flow"], "head": r["pressure_rise"],
            "ids": {**ids, "flow": ids["air_flow"], "head": ids["pressure_rise"]}}


def _size(r: Mapping[str, Any], w: Writer) -> str:
    """Volume, diameter and area of one, as far as it has them."""
    return "; ".join(text for key, kind in SIZES if (text := _number(r, key, kind, w)))


def _item(r: Mapping[str, Any], w: Writer) -> str:
    return w.link(r["id"], escape(r["title"])) if r.get("id") in w.lines else escape(r["title"])


def _valves(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """Valves the controller moves, and relief valves."""
    rows = [(escape(r["tag"]), f"{_item(r, w)} ({r['count']})", escape(r["size"]), escape(r["rating"]), r["type"],
             escape(r["fail"]), escape(r["at_rest"]), *(_number(r, key, kind, w) for key, _, kind in VALVES),
             escape(r["material"])) for r in record.get("valves", ())]
    if not rows:
        return []
    said = ("Without hand valves, drains and vents. Relief valves are sized, set and tested under the local "
            "pressure-equipment law.")
    return [Block(f"<p>{said}</p>", 8.0),
            grid(("Tag", "Service (number)", "Size", "Class", "Type", "On failure", "At rest",
                  *(t for _, t, _ in VALVES), "Material"), (18, 38, 24, 20, 17, 18, 14, 22, 22, 42), rows,
                 room=wide, size=6.8, numbers=(7, 8))]


def _number(row: Mapping[str, Any], key: str, kind: str, w: Writer) -> str:
    value = row.get(key)
    if not isinstance(value, (int, float)):
        return ""
    line = w.lines.get(id_of(row.get("ids", {}).get(key, [""])))
    return escape(shown(float(value), line["kind"] if line is not None else kind, w.units, w.record))


def _guarantees(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """Guaranteed beside expected values with how each is measured."""
    said = ("For the raw water and the duty of this sheet; the contract, its test procedure and the local authority "
            "decide.")
    tables = guarantees(record, w, wide, measured=True)
    return [Block(f"<p>{said}</p>", 8.0), *tables] if tables else []


def _energy(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """Energy of a year by consumer; its sums are the bill."""
    columns = (("electric_power", "Power of one", "power.electric"), ("running_time", "Running time", "time"),
               ("energy", "Energy of a year", "energy.year"), ("specific_energy", "Per net product", "specific energy"))
    rows = [*record.get("energy", ())]
    if not rows:
        return []
    cells = [(w.link(r["id"], escape(r["title"])), str(r.get("machines", "")),
              *(escape(shown(r.get(k), kind, w.units, record)) for k, _, kind in columns),
              escape(shown(r["cost"], "money", w.units, record)), escape(r["basis"])) for r in rows]
    sums = [escape(shown(sum(r[k] for r in rows), kind, w.units, record))
            for k, _, kind in (*columns[2:], ("cost", "Cost", "money"))]
    cells.append(("Sum", "", "", "", sums[0], sums[1], sums[2], ""))
    money = f"Cost, {record_text(record, 'energy.currency')}".removesuffix(", ")
    return [grid(("Consumer", "Running", *(t for _, t, _ in columns), money, "Basis"),
                 (31, 17, 20, 18, 20, 27, 17, 37), cells, room=wide, size=7.6, numbers=(1, 2, 3, 4, 5, 6))]


def _loads(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """Electrical loads: what each draws, and the cable and device that feed it."""
    columns = (("rating", "Rating", "power"), ("electric_power", "Power", "power.electric"),
               ("power_factor", "Power factor", "fraction"), ("current", "Current", "current"),
               ("start_current", "At start", "current"), ("area", "Section", "conductor area"),
               ("voltage_drop", "Voltage drop", "fraction"), ("device", "Device", "current"))
    rows = [(w.link(r["id"], escape(r["title"])) if r["id"] in w.lines else escape(r["title"]),
             f"{r['running']:g} + {r['spare']:g}", escape(r["panel"]),
             escape(r.get("starter") or "") + (", medium voltage" if r.get("voltage_level") == "medium" else ""),
             *(escape(shown(r.get(k), kind, w.units, record)) for k, _, kind in columns))
            for r in record.get("loads", ())]
    if not rows:
        return []
    said = "Each of one unit. Design, protection, earthing and commissioning are licensed work under the local code."
    return [Block(f"<p>{said}</p>", 7.0),
            grid(("Load", "Duty + spare", "Panel", "Starter", *(t for _, t, _ in columns)),
                 (29, 13, 17, 16, 18, 18, 16, 17, 17, 20, 17, 17), rows, room=wide, size=6.6,
                 numbers=(1, 4, 5, 6, 7, 8, 9, 10, 11)), *_meters(record, w, wide)]


def _meters(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """Energy meters, and how well they prove the specific energy."""
    listed = record.get("meters", ())
    columns = [("share", "Energy", "fraction"), ("current", "Current", "current"),
               ("primary", "Rated", "current"), ("meter_class", "Meter", "fraction"),
               ("transformer_class", "Current tr.", "fraction")]
    if any(r.get("voltage_class") is not None for r in listed):
        columns.append(("voltage_class", "Voltage", "fraction"))
    rows = [(escape(r["tag"]), f"{_item(r, w)} ({r['count']})", escape(r["duty"]),
             *(escape(shown(r.get(k), kind, w.units, record)) for k, _, kind in columns))
            for r in listed]
    if not rows:
        return []
    return [grid(("Tag", "Energy meter of (number)", "Proves", *(t for _, t, _ in columns)),
                 (18, 50, 24, *[20] * len(columns)), rows, room=wide, size=6.8,
                 numbers=tuple(range(3, 3 + len(columns))), caption="Energy meters, limits of error by class")]


def _costs(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """Capital by item and by part of the works; cost of a year; class and band beside the sums."""
    rows = [*record.get("costs", ())]
    if not rows:
        return []
    money = record_text(record, "energy.currency")

    def value(id: str) -> str:
        line = w.lines[id]
        return escape(_money(shown(line["value"], line["kind"], w.units, record), money))

    def cell(row: Mapping[str, Any], key: str, kind: str) -> str:
        return escape(_money(shown(row.get(key), kind, w.units, record), money)) if row.get(key) is not None else ""

    said = (f"{escape(record_text(record, 'cost.estimate_class', True))}. In {escape(money)} of "
            f"{escape(record_text(record, 'cost.price_year'))}. A comparison of designs, not a quotation. "
            f"Capital {value('cost.capital')}, band {value('cost.capital_low')} to {value('cost.capital_high')}. "
            f"Cost of water {value('cost.water')}, band {value('cost.water_low')} to {value('cost.water_high')}.")
    capital = [r for r in rows if r["group"] != "year"]
    cells = [(w.link(r["id"], escape(r["title"])), cell(r, "installed", "count"), cell(r, "unit_price", "money"),
              cell(r, "capital", "money"), cell(r, "spread", "fraction"), escape(r["basis"])) for r in capital]
    cells.append(("Sum", "", "", escape(shown(sum(r["capital"] for r in capital), "money", w.units, record)), "", ""))
    year = [r for r in rows if r["group"] == "year"]
    running: list[tuple[str, ...]] = [(w.link(r["id"], escape(r["title"])), cell(r, "yearly_cost", "money"),
                cell(r, "water_cost", "money per volume")) for r in year]
    sums = [escape(_money(shown(sum(r[k] for r in year), kind, w.units, record), money))
            for k, kind in (("yearly_cost", "money"), ("water_cost", "money per volume"))]
    running.append(("Sum", sums[0], sums[1]))
    return [Block(f"<p>{said}</p>", 8.0),
            grid(("Item", "Installed", "Price of one", "Capital", "Spread of its curve", "Basis"),
                 (60, 18, 24, 24, 20, 44), cells, room=wide, size=7.4, numbers=(1, 2, 3, 4)),
            grid(("Cost of a year", "Year", "Per net product"), (60, 30, 30), running, room=wide, size=7.4,
                 numbers=(1, 2))]


def _money(text: str, currency: str) -> str:
    """A value per volume with the currency before its unit."""
    return text.replace(" 1/", f" {currency}/").replace("\u202f1/", f"\u202f{currency}/")


def record_text(record: Mapping[str, Any], id: str, title: bool = False) -> str:
    """A choice or a text of the design as the record has it; with its title where it is asked for."""
    line = next((x for x in record["lines"] if x["id"] == id), None)
    if line is None:
        return ""
    return str((line["more"].get("text") if title else None) or line["value"])


def _instruments(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """Instruments with range and set points; what an operator does on an alarm stands in the alarm list."""
    rows = []
    for r in record.get("instruments", ()):
        def said(key: str, r: Mapping[str, Any] = r) -> str:
            return escape(shown(r.get(key), r["kind"], w.units, record))

        name = w.link(r["id"], escape(r["title"])) if r["id"] in w.lines else escape(r["title"])
        pairs = [" to ".join(dict.fromkeys(t for t in (said(f"{word}_low"), said(f"{word}_high")) if t))
                 for word in ("normal", "alarm", "trip")]
        stops = f"{escape(r['stops'])}, after {r['delay']:g} s" if r["stops"] else ""
        rows.append((escape(r["tag"]), f"{name} ({r['count']})", said("range_high"),
                     f"{r['range_used'] * 100:.0f} %", *pairs, stops))
    if not rows:
        return []
    says = ("Starting values: commissioning sets the final ones. A programme&#39;s trips come on top of relief valves "
            "and hard-wired stops.")
    return [Block(f"<p>{says}</p>", 8.0),
            grid(("Tag", "Service (number)", "Range to", "Used", "Normal", "Alarm", "Trip", "Trip stops"),
                 (16, 44, 22, 12, 38, 34, 28, 34), rows, room=wide, size=6.8, numbers=(3,))]


def _alarms(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """The alarm list, and how the priorities share it; like faults of equipment in one row."""
    rows = record.get("alarms", ())
    if not rows:
        return []
    shares = ", ".join(f"{sum(r['priority'] == p for r in rows) / len(rows) * 100:.0f}&nbsp;% {p}"
                       for p in ("high", "medium", "low"))
    says = (f"{len(rows)} alarms and trips of {sum(r['count'] for r in rows)} units: {shares}; common practice aims at "
            "5&nbsp;%, 15&nbsp;% and 80&nbsp;%. Trips act by themselves and stand with their causes in the next part; "
            f"{'' if w.printed is None else 'alarms of low priority and '}each single fault are in the workbook. "
            "Delays in seconds.")
    cells = []
    told = [r for r in rows if r["respond"] is not None and (w.printed is None or r["priority"] != "low")]
    for some in _alike(told, w, record):
        r = some.row
        within = f"{r['respond'] / 60:.0f} min" if r["respond"] < 7200 else f"{r['respond'] / 3600:.0f} h"
        cells.append((some.tag, f"{some.title} ({sum(x['count'] for x in some.rows)})", some.point, f"{r['delay']:g}",
                      escape(r["priority"]), escape(r["consequence"]), escape(r["response"]), within))
    return [Block(f"<p>{says}</p>", 12.0),
            grid(("Tag", "Alarm (number)", "Set at", "Delay", "Priority", "Consequence", "Response", "Within"),
                 (18, 45, 24, 13, 18, 48, 46, 14), cells, room=wide, size=6.2, numbers=(2, 3, 7)),
            *_alarm_load(record, wide)]


def _alarm_load(record: Mapping[str, Any], wide: float) -> list[Block | Table]:
    """Alarms in the ten minutes from a start and from each fault, against what an operator follows."""
    rows = record.get("alarm_load", ())
    if not rows:
        return []
    cells = [(escape(r["title"]), f"{r['trains']}", f"{r['plain']}", f"{r['suppressed']}", escape(r["verdict"]),
              escape(r["first"])) for r in rows]
    return [grid(("Alarms in ten minutes from", "Trains", "As they come", "Suppressed", "For one operator", "First"),
                 (60, 14, 22, 22, 36, 60), cells, room=wide, size=6.2, numbers=(1, 2, 3),
                 caption=f"Alarm load: target {rows[0]['target']}, manageable {rows[0]['manageable']}, a flood above "
                         f"{rows[0]['flood']} in ten minutes (ISA-18.2, from memory)")]


class _Alike(NamedTuple):
    """Rows of a list that say the same of several tags."""

    rows: list[Mapping[str, Any]]
    tag: str
    title: str
    point: str

    @property
    def row(self) -> Mapping[str, Any]:
        return self.rows[0]


def _alike(rows: Sequence[Mapping[str, Any]], w: Writer, record: Mapping[str, Any]) -> list[_Alike]:
    """A measured value a row; faults of equipment that differ in the tag alone in one."""
    groups: dict[Any, list[Mapping[str, Any]]] = {}
    for r in rows:
        # a unit with a standby moves its own tag, and stands alone where effects are shown
        same = tuple((k, str(v)) for k, v in r.items() if k not in ("key", "tag", "title", "count", "actuator", "ids"))
        groups.setdefault(same if r["fault"] else r["key"], []).append(r)
    made = []
    for some in groups.values():
        r, tags = some[0], [x["tag"] for x in some]
        point = "" if r["set_point"] is None else escape(shown(r["set_point"], r["kind"], w.units, record))
        if len(some) == 1:
            made.append(_Alike(some, escape(tags[0]), _item(r, w), point))
        else:
            heads = ", ".join(dict.fromkeys(t.partition("-")[0] for t in tags))
            listed = ", ".join(t.replace("-", "\N{NON-BREAKING HYPHEN}") for t in tags)
            made.append(_Alike(some, heads, escape(f"{r['fault'].capitalize()}: {listed}"), point))
    return made


def _cause_effect(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """Causes against effects, a table a group of causes with the columns they move, then what a start waits for."""
    rows = record.get("cause_effect", ())
    if not rows:
        return []
    own = {"key", "tag", "title", "fault", "set_point", "kind", "delay", "does", "group", "latched", "alarm", "id",
           "ids"}
    says = ("S stops, C shuts, O opens, R starts. Every cause raises its alarm (A); a trip stays latched until a "
            "person resets it. Effects are those of the sequences; a hazard study by people comes first.")
    out: list[Block | Table] = [Block(f"<p>{says}</p>", 12.0)]
    for title, groups in _CAUSES:
        some = [r for r in rows if r["group"] in groups]
        tags = [t for t in rows[0] if t not in own and any(r[t] for r in some)]
        if some:
            cells = [(x.tag, x.title, x.point, f"{x.row['delay']:g} s", *(escape(x.row[t]) for t in tags))
                     for x in _alike(some, w, record)]
            out.append(grid(("Tag", "Cause", "Set at", "After", *(t.replace("-", "-<wbr>") for t in tags)),
                            (20, 58, 20, 12, *[9] * len(tags)), cells, room=wide, size=6.2, numbers=(2, 3),
                            caption=title))
    stopped = [r for r in rows if r["group"] == "plant"]
    if stopped:
        r = stopped[0]
        moved = [f"{t} {'opens' if r[t] == 'O' else 'shuts'}" for t in r if t not in own and r[t] in ("O", "C")]
        causes = " and ".join(f"{x['title'].replace(':', '').lower()} ({x['tag']})" for x in stopped)
        said = escape(f"{causes[0].upper()}{causes[1:]} stop every motor at once; {', '.join(moved)}.")
        spare = ", ".join(x["tag"] for x in rows if x["group"] == "exchange")
        said += f" Where a motor of {escape(spare)} fails it stops, and its standby starts." if spare else ""
        out.append(Block(f"<p>{said}</p>", 12.0))
    safe = [(escape(r["tag"]), f"{escape(r['title'])} ({r['count']})",
             "" if r["set_point"] is None else escape(shown(r["set_point"], r["kind"], w.units, record)),
             escape(r["does"])) for r in record.get("safety_devices", ())]
    if safe:
        out.append(grid(("Tag", "Device (number)", "Set at", "What it does"), (18, 56, 22, 88), safe, room=wide,
                        size=6.2, numbers=(2,), caption="Hard-wired, beside the programme"))
    # what the other sequences wait for stands in their steps
    starts = [(escape(r["starts"]), escape(r["wants"]), escape(r["where"])) for r in record.get("permissives", ())
              if not r["key"].startswith("permit-")]
    if starts:
        out.append(grid(("Start of", "Waits until", "Step"), (40, 84, 60), starts, room=wide, size=6.8,
                        caption="Permissives and interlocks"))
    return out


_CAUSES = (("Causes that stop a train, or lead its permeate to the dump", ("train", "divert")),
           ("Causes that stop another sequence", ("backwash", "cip", "flush", "shock", "product pump")))
"""Groups of causes that stand in one table."""


def _checks(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """What does not pass with what to do, then all that passes as rows, by system."""
    checks = [x for x in record["lines"] if x["sort"] == "checked"]
    some = sorted((x for x in checks if x["more"]["verdict"] != "passes"),
                  key=lambda x: (RANK[x["more"]["verdict"]], x["more"].get("margin") or 0.0))
    groups = grouped({"id": x["id"], "title": x["title"], "verdict": x["more"]["verdict"],
                      "margin": x["more"].get("margin"), "corner": x["corner"] or ""} for x in checks)
    out: list[Block | Table] = [
        grid(("System", "Verdict", "Checks, and the worst of them"), (46, 23, 115),
             [(escape(g.title), f'<span class="verdict v-{g.verdict}">{VERDICTS[g.verdict][1]} {g.verdict}</span>',
               escape(g.words())) for g in groups], room=wide, size=7.4)] if groups else []
    for x in some:
        out += parts_of(w.check(x), (wide, 1e9), 5.0)
    passing = sorted((x for x in checks if x["more"]["verdict"] == "passes"), key=lambda x: system_of(x["id"])[0])

    def limit(x: Mapping[str, Any]) -> str:
        sense = "max" if x["more"]["sense"] == "<=" else "min"
        return f"{sense} {escape(shown(x['more']['limit'], x['kind'], w.units, record, True))}"

    if passing:
        rows = [(escape(system_of(x["id"])[1]), escape(x["title"]) + _assumed(x),
                 *((w.value(x), limit(x)) if "sense" in x["more"] else ("", "")), _margin(x), case_of(x))
                for x in passing]
        out.append(grid(("System", "Check", "Value", "Limit", "Passes", "Case"), (38, 55, 24, 29, 20, 18), rows,
                        room=wide, caption=f"Passes: {len(passing)}", numbers=(2, 3, 4), size=6.6,
                        attributes=[f' id="{anchor(x["id"])}"' for x in passing]))
    return out


def _safety(record: Mapping[str, Any], wide: float) -> list[Block | Table]:
    """Safety notes by hazard, each once."""
    checks = [x for x in record["lines"] if x["sort"] == "checked" and x["more"].get("caution")]
    found = safety_notes((x["id"], x["more"]["caution"]) for x in checks)
    rows = [(escape(hazard) if n == 0 else "", escape(note)) for hazard, some in found.items()
            for n, note in enumerate(some)]
    return [grid(("Hazard", "Consequence and precaution"), (34, 150), rows, room=wide, size=7.4)] if rows else []


def _margin(x: Mapping[str, Any]) -> str:
    """What is left of a limit."""
    return verdict_words("passes", x["more"].get("margin")).removeprefix("passes").removeprefix(", ")


def _assumed(x: Mapping[str, Any]) -> str:
    """On which defaults a verdict rests that nobody confirmed."""
    some = x["more"].get("assumed")
    said = f"passes on an assumed value. Assumed: {', '.join(some)}." if some else ""
    return f'<br><span class="quiet">{escape(said)}</span>' if said else ""


def _limits(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """Limits that the design states for itself, beside those of the guidelines."""
    rows = [(w.link(r["key"]) if r["key"] in w.lines else escape(r["title"]), escape(r["sense"]),
             *(escape(shown(r[k], r["kind"], w.units, record)) for k in ("value", "table")))
            for r in record.get("limits", ())]
    return [grid(("Limit", "", "This design", "Guidelines"), (90, 20, 30, 30), rows, room=wide,
                 numbers=(2, 3))] if rows else []


def _watch(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """What to look at first: the gravest of each group, and how many more there are."""
    frame = doubt(record, w.units).to_dict("records")
    out: list[Block | Table] = []
    for group, title in GROUPS.items():
        some = [r for r in frame if r["group"] == group]
        if not some:
            out.append(Block(f"<h3>{escape(title)}: 0</h3>", 6.5))
            continue
        taken = some[: _SHOWN[group]]
        rows = [(*_doubted(r, group, w), f"{r['checks']} check{'' if r['checks'] == 1 else 's'} below"
                 if r["checks"] else "") for r in taken]
        if len(some) > len(taken):
            rows.append((f'<span class="quiet">and {len(some) - len(taken)} more</span>', "", ""))
        out.append(grid((f"{escape(title)}: {len(some)}", "", ""), (66, 84, 24), rows, room=wide, size=7.2,
                        numbers=(2,)))
    return out


def _doubted(r: Mapping[str, Any], group: str, w: Writer) -> tuple[str, str]:
    if group == "source":
        name = w.to(r["id"], escape(r["title"])) if r["id"] in w.lines else (
            f'<a href="#{quote(r["id"], safe="")}">{escape(r["title"])}</a>')
    else:
        name = w.link(r["id"]) if r["id"] in w.lines else escape(r["title"])
    many = f", {r['lines']} lines" if r["lines"] > 1 and group in ("source", "range", "gap") else ""
    return name, f"{escape(r['what'])}{many}"


def _marks(record: Mapping[str, Any], w: Writer, wide: float) -> list[Block | Table]:
    """What reviewers said of lines: open questions first, then what is stale, then what they accepted."""
    marks = record.get("marks")
    if not marks:
        return [Block("<p>No line is marked yet: none accepted, questioned or rejected.</p>", 7.0)]
    count = ", ".join(f"{n} {state}" for state in MARKED if (n := sum(m["state"] == state for m in marks)))
    rows = [(f"stale, was {m['verdict']}" if m["state"] == "stale" else m["state"],
             w.link(m["id"]) if m["id"] in w.lines else escape(m["id"] or m["title"]), escape(m["by"]),
             escape(m["time"][:10]),
             escape(m["note"]) + (f"<br><i>{escape(sentence(m['stale']))}</i>" if m["stale"] else ""))
            for m in sorted(marks, key=lambda m: MARKED.index(m["state"]))]
    return [Block(f"<p>Marks: {count}.</p>", 7.0),
            grid(("State", "Line", "By", "Date", "Note"), (22, 58, 14, 20, 58), rows, room=wide)]


# the chapters ------------------------------------------------------------------------------------------------


def governing(record: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Lines that decide: what a check judges with less than 15 % of its limit to spare, a governing case, the
    ten values, roots that stand for the plant, and what was selected; inputs apart."""
    lines = {x["id"]: x for x in record["lines"]}
    wanted = {i for i in VALUES if i in lines}
    # what the tables of loads and instruments show already stands there
    told = {str(i) for name in ("loads", "meters", "instruments") for row in record.get(name, ())
            for i in row["ids"].values()}
    for x in record["lines"]:
        m = x["more"]
        if x["sort"] == "checked" and "sense" in m:
            if m["margin"] < _NEAR:
                wanted.add(id_of(x["inputs"]["provided"]))
            if m["verdict"] != "passes":
                wanted.update(id_of(p) for p in x["inputs"].values())
        elif (x["corner"] is None and x["sort"] in ("picked", "solved") and x["id"] not in told and not _gathers(x)
              and not (x["sort"] == "solved" and x["keys"] is not None)):  # slices along a vessel are in the annex
            wanted.add(x["id"])
            wanted.update(id_of(w) for w in _won(x))
    return [x for x in record["lines"] if x["id"] in wanted and x["sort"] not in ("given", "assumed", "checked")]


def _gathers(x: Mapping[str, Any]) -> bool:
    """A row of values put together in order, which selects nothing."""
    return x["sort"] == "picked" and x["keys"] is not None and all(c.get("won") for c in x["more"]["candidates"])


def _won(x: Mapping[str, Any]) -> list[Any]:
    """The line of the case that governs."""
    won = [c["key"] for c in x["more"].get("candidates", ()) if c.get("won")]
    governs = x["more"].get("rule", "").endswith("over the cases")
    return [x["inputs"][k] for k in won if k in x["inputs"]] if governs else []


def printed(record: Mapping[str, Any]) -> set[str]:
    """Ids that a page of this depth has a place for."""
    return {x["id"] for x in record["lines"] if x["sort"] in ("given", "checked")} | {
        x["id"] for x in governing(record)}


def chapters(record: Mapping[str, Any], w: Writer, room: tuple[float, float]) -> list[Section]:
    """The governing lines of each chapter, in the order of the water: cases, what was selected, equations."""
    found: dict[str, list[Mapping[str, Any]]] = {}
    for x in governing(record):
        found.setdefault(chapter(x["id"]), []).append(x)
    out = []
    for number, part in enumerate(in_process_order(found), 1):
        items: list[Block | Table] = []
        governed = [x for x in found[part] if x["sort"] == "picked" and _won(x)]
        selected = [x for x in found[part] if x["sort"] == "picked" and not _won(x)]
        if governed:
            items.append(_governed(governed, w, room[0]))
        if selected:
            items.append(_selected(selected, w, room[0]))
        for x in found[part]:
            if x["sort"] != "picked":
                items += parts_of(w.step(x, brief=True), room)
        out.append(Section(f"chapter-{part}", f"{number}. {escape(part_words(part))}", items))
    return out


def _governed(some: Sequence[Mapping[str, Any]], w: Writer, wide: float) -> Table:
    """Values that one case governs, beside what the others give."""
    rows = []
    for x in some:
        many = [c["value"] for c in x["more"]["candidates"] if isinstance(c.get("value"), (int, float))]
        span = " to ".join(dict.fromkeys(escape(shown(v, x["kind"], w.units, w.record))
                                         for v in (min(many), max(many)))) if many else ""
        rows.append((w.link(_won(x)[0], escape(x["title"])) if w.lines[id_of(_won(x)[0])]["corner"] is None
                     else w.to(id_of(_won(x)[0]), escape(x["title"])), w.value(x), case_of(x), span))
    return grid(("Governing case", "Value", "Case", "All cases"), (70, 28, 34, 40), rows, room=wide, numbers=(1, 3),
                size=7.8, attributes=[f' id="{anchor(x["id"])}"' for x in some])


def _selected(some: Sequence[Mapping[str, Any]], w: Writer, wide: float) -> Table:
    """What was selected from a table: the rule, and why the next does not do."""
    rows = []
    for x in some:
        m = x["more"]
        n = len(m["candidates"])
        of = f" ({n} candidates)" if n > 1 else ""
        said = [sentence(with_titles(t, w.title)) for t in (
            m["rule"] + of, in_units(m.get("why", ""), w.units)) if t]
        rows.append((_apart(x, some), w.value(x), escape(" ".join(said))))
    return grid(("Selected", "Value", "Rule, and why the next does not do"), (44, 32, 98), rows, room=wide, size=7.4,
                attributes=[f' id="{anchor(x["id"])}"' for x in some])


def _apart(x: Mapping[str, Any], some: Sequence[Mapping[str, Any]]) -> str:
    """Title of a line; with the part it belongs to where another line of the table bears the same."""
    alike = sum(y["title"] == x["title"] for y in some) > 1
    part = part_key(x["id"].partition("]")[0] + "]") if alike and "]" in x["id"] else ""
    return escape(x["title"] + (f", {part}" if part else ""))


def cases(base: str, group: Sequence[Mapping[str, Any]], w: Writer, wide: float) -> Table:
    """The same value in every case, as one table; where it has many keys, a row each."""
    first = group[0]
    unit = escape(label(first["kind"], w.units, w.record, True))
    title = f"{escape(first['title'])} <code>{escape(base)}</code>" + (f", {unit}" if unit else "")
    names = ["" if x["id"] in w.full else f' id="{anchor(x["id"])}"' for x in group]
    keys = first["keys"] if isinstance(first["value"], list) else None
    if keys is None or len(keys) <= _MANY:
        rows = [(escape(x["corner"].replace("-", ", ")), *_cells(x, w)) for x in group]
        heads = ("Case", *(escape(k) for k in keys)) if keys else ("Case", unit or "Value")
        widths = (30, *[18] * len(keys), *[18] * (_MANY - len(keys))) if keys else (30, 40, 100)
        rows = [(*row, *[""] * (len(widths) - len(row))) for row in rows]
        heads = (*heads, *[""] * (len(widths) - len(heads)))
        return grid(heads, widths, rows, room=wide, caption=title, numbers=range(1, len(heads)), attributes=names)
    columns = [_cells(x, w) for x in group]
    heads = ("Key", *(f'<span{n}>{escape(x["corner"].replace("-", ", "))}</span>'
                      for x, n in zip(group, names, strict=True)))
    rows = [(escape(k), *(c[n] for c in columns)) for n, k in enumerate(keys)]
    return grid(heads, (20, *[24] * len(group)), rows, room=wide, caption=title, numbers=range(1, len(heads)))


def _cells(x: Mapping[str, Any], w: Writer) -> list[str]:
    many: Iterable[Any] = x["value"] if isinstance(x["value"], list) else [x["value"]]
    return [escape(v if isinstance(v, str) else "" if v is None else w.bare(v, x["kind"])) for v in many]
