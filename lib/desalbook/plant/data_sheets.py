"""Data and enquiry sheets: what is asked of each item of the schedule, with blanks for the bidder.

One sheet a row of the schedule, two for a pump or a blower (the second for its motor). Fields, senses and what is
asked of a bidder are the table ``sheet_fields``; the values are the plant's own, at its duty and in all its cases. What
a code, an authority or the purchaser asks besides comes first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from desalbook.design import field_meta
from desalbook.hydraulics.pumps import POSITIVE_DISPLACEMENT
from desalbook.plant.system_curves import operating_points
from desalbook.plant.weights import Weighed, element_stem, item_of
from desalbook.tables import Row, table
from desalbook.trail import Choice, Column, Figure, constant
from desalbook.units import parse, show, unit_label

__all__ = ["SENSES", "DataSheet", "Field", "data_sheets", "vibration_limit"]

SENSES = {">=": "at least", "<=": "at most", "=": "equal", "text": "as named", "yes": "yes or no",
          "state": "to be stated", "info": ""}
"""How an offer is held against what is required, in words."""


@dataclass(frozen=True)
class Field:
    """One row of a sheet.

    Parameters
    ----------
    name, title, group : str
    kind : str
        Kind of number; empty for a text or a number with a unit of its own.
    sense : str
        One of `SENSES`.
    required : float, str or None
        SI, or text; None where nothing is required.
    asked : bool
        Whether the bidder fills it in.
    tolerance : float
        Fraction of what is required.
    unit : str
        Of a plain number.
    takes : str
        Key of the design an offer is taken to; empty where there is none.
    id : str
        Line of the trail behind the value.
    """

    name: str
    title: str
    group: str
    kind: str = ""
    sense: str = "info"
    required: Any = None
    asked: bool = False
    tolerance: float = 0.0
    unit: str = ""
    takes: str = ""
    id: str = ""

    def words(self, units: str = "si") -> tuple[str, str]:
        """What is required and its unit, as people read them."""
        if self.required is None:
            return "", unit_label(self.kind, units) if self.kind else self.unit
        if not self.kind:
            return str(self.required), self.unit
        return show(float(self.required), self.kind, units, False, trim=True), unit_label(self.kind, units)


@dataclass(frozen=True)
class DataSheet:
    """One data sheet.

    Parameters
    ----------
    tag, kind, title : str
        Tag of the row of the schedule; kind of sheet, ``pump`` for one; what it serves.
    number : str
        Of the sheet: ``DS-P-301``, with ``-M`` for the motor of a pump or a blower.
    count : int
        Installed in the plant.
    supply : str
    fields : list of Field
    """

    tag: str
    kind: str
    title: str
    number: str
    count: int
    supply: str
    fields: list[Field] = field(default_factory=list)

    def rows(self, units: str = "si") -> list[dict[str, Any]]:
        """Rows as people read them: group, field, title, sense, required, unit, asked, id."""
        found = []
        for x in self.fields:
            required, unit = x.words(units)
            found.append({"group": x.group, "field": x.name, "title": x.title, "sense": SENSES[x.sense],
                          "required": required, "unit": unit, "asked": "yes" if x.asked else "", "id": x.id})
        return found

    @property
    def table(self) -> Any:
        """The sheet as a DataFrame, SI as people read it."""
        import pandas as pd

        return pd.DataFrame(self.rows())


def data_sheets(sized: Any, book: Any, weighed: list[Weighed]) -> list[DataSheet]:
    """Sheets of every row of the schedule, in its order; cartridges are bought by their housing, bunds are civil works.

    Parameters
    ----------
    sized : Sized
    book : Ledger or Values
        Of the fabrication.
    weighed : list of Weighed
    """
    made, points = [], operating_points(sized)
    for x in weighed:
        of = item_of(x.row)
        if "sheet" not in of:
            continue
        kind, values = of["sheet"].value, _Values(sized, book, x)
        _BY_KIND[kind](values, points) if kind == "pump" else _BY_KIND[kind](values)
        made.append(_sheet(x, kind, values, f"DS-{x.row['tag']}"))
        if kind in _WITH_MOTOR:
            motor = _Values(sized, book, x)
            _motor(motor)
            made.append(_sheet(x, "motor", motor, f"DS-{x.row['tag']}-M"))
    return made


@cache
def _fields_of(kind: str) -> tuple[Row, ...]:
    """Rows of a kind of sheet: a plant has some hundred sheets, the table some hundred rows."""
    return tuple(r for r in table("sheet_fields").values() if r["sheet"].value == kind)


def _sheet(x: Weighed, kind: str, values: _Values, number: str) -> DataSheet:
    row = x.row
    names = {"tag": row["tag"], "key": values.key, "dose": row["key"].removeprefix("dosing_")}
    fields = []
    for f in _fields_of(kind):
        name, asked = f["name"].value, f["ask"].value == "yes"
        value, id = values.found.get(name, (None, ""))
        if value is None and "text" in f:
            value = f["text"].value
        sense = f["sense"].value
        if value is None and (not asked or (sense not in ("state", "yes") and name not in _ASKED_ALWAYS)):
            continue
        said = f["kind"].value if "kind" in f else ""
        fields.append(Field(name, f.title, f["group"].value, values.kind if said == "{kind}" else said,
                            "state" if value is None and sense != "yes" else sense, value, asked,
                            _tolerance(f), f["unit"].value if "unit" in f else "",
                            _key(f["takes"].value.format(**names)) if "takes" in f else "", id))
    order = {"Duty": 0, "Duty by case": 1, "Fluid": 2, "Site": 3, "Supply": 4, "Limits": 5, "Construction": 6,
             "Sizes and masses": 7, "Tests": 8, "Documents": 9, "Commercial": 10}
    fields = sorted([*fields, *values.cases], key=lambda one: order[one.group])
    title = f"Motor of the {row['title'][0].lower() + row['title'][1:]}" if kind == "motor" else row["title"]
    if row["title"][:2].isupper() and kind == "motor":
        title = f"Motor of the {row['title']}"
    return DataSheet(row["tag"], kind, title, number, row["installed_total"], row["supply"], fields)


def _tolerance(f: Row) -> float:
    """Tolerance of a field as a fraction; none where the table states none."""
    return float(parse(f["tolerance"].value, "fraction", f.where)) if "tolerance" in f else 0.0


def _key(id: str) -> str:
    """The id where the design has such a key."""
    try:
        field_meta(id)
    except KeyError:
        return ""
    return id


_ASKED_ALWAYS = {"npsh", "mixing", "leakage", "vibration"}
"""Asked of a bidder even where the plant requires nothing of it."""


class _Values:
    """Values of one sheet by name of its field, each with the line behind it."""

    def __init__(self, sized: Any, book: Any, of: Weighed):
        self.sized, self.book, self.of, self.row = sized, book, of, of.row
        self.key = str(of.row["key"])
        self.kind = ""
        self.found: dict[str, tuple[Any, str]] = {}
        self.cases: list[Field] = []
        for name, id in of.row.get("ids", {}).items():
            self.line(name, id)
        for name in ("material", "size"):
            if of.row.get(name):
                self.found[name] = (str(of.row[name]), "")
        self.found["mass_empty"] = (float(of.empty), of.empty.id)
        self.found["mass_operating"] = (float(of.operating), of.operating.id)
        if of.box is not None:
            for name in ("length", "width", "height"):
                side = getattr(of.box, name)
                self.found[name] = (float(side), side.id)

    def line(self, name: str, id: str) -> None:
        """A value by its id, where the plant has it."""
        if id not in self.book:
            return
        x = self.book[id]
        if isinstance(x, Figure):
            self.found[name] = (float(x), id)
        elif isinstance(x, Choice):
            self.found[name] = (str(x), id)

    def text(self, name: str, value: str, id: str = "") -> None:
        self.found[name] = (value, id)

    def put(self, name: str, x: Figure | None) -> None:
        if x is not None:
            self.found[name] = (float(x), x.id)

    def water(self, fluid: str) -> None:
        self.text("fluid", fluid)
        for case in ("cold", "hot"):
            self.put(f"temperature_{case}", self.sized.waters.at[case].temperature)
        self.put("density", self.sized.waters.at["cold"].density)

    def site(self) -> None:
        self.line("ambient", "power.ambient")
        self.line("altitude", "site.altitude")

    def case(self, name: str, title: str, kind: str, x: Figure) -> None:
        self.cases.append(Field(name, title, "Duty by case", kind, "info", float(x), id=x.id))


_SEA = "Seawater"
_FLUIDS = {"product_pump": "Product water", "flush_pump": "Permeate", "cip_pump": "CIP solution, acid and alkaline",
           "contactor": "Permeate", "cip_cartridge": "CIP solution, acid and alkaline",
           "concentrate_pump": "Concentrate", "second_pass_pump": "Permeate", "second_stage_pump": "Permeate"}
_SUCTIONS = {"hp_pump": "hp-suction", "booster": "concentrate-high", "concentrate_pump": "concentrate-low",
             "stage_pump": "vessels", "second_pass_pump": "permeate", "second_stage_pump": "second-pass"}
"""Section whose governing pressure a pump may find at its suction, where no tank feeds it."""


LARGE_PUMP = constant("P_l", 200e3, "W", source="iso-10816-7",
                      title="Shaft power over which the wider limit of vibration counts").value


def vibration_limit(power: float, plunger: bool) -> str:
    """Row of ``acceptance_limits`` for the vibration of a pump, for its sheet and for its test.

    Parameters
    ----------
    power : float
        At the shaft, W.
    plunger : bool
    """
    return "vibration-plunger" if plunger else "vibration-large" if power > LARGE_PUMP else "vibration-small"


def _pump(v: _Values, points: list[dict[str, Any]]) -> None:
    key = v.key
    v.water(_FLUIDS.get(key.partition("[")[0], _SEA))
    if key == "cip_pump":
        v.line("temperature_hot", "cip.temperature")
    book = v.book
    v.line("efficiency", "cip.pump_efficiency" if key == "cip_pump" else f"{key}.efficiency")
    v.line("npsh", f"{key}.npsh_required")
    v.line("suction_pressure", "cip.suction_maximum" if key == "cip_pump" else f"{key}.suction_maximum")
    plunger = f"{key}.pump_class" in book and str(book[f"{key}.pump_class"]) == POSITIVE_DISPLACEMENT.key
    limit = table("acceptance_limits").row(vibration_limit(float(v.row["shaft_power"]), plunger), v.row["tag"])
    if "vibration" in limit:
        v.found["vibration"] = (limit["vibration"].value, "")
    section = v.sized.sections.get(_SUCTIONS.get(key.partition("[")[0], ""))
    if section is not None:
        v.put("suction_pressure", section.governing)
    if key == "intake_pump":
        v.text("suction_limit", "From the sea or well; level and pressure are the purchaser's battery limit")
    v.line("minimum_flow", f"{key}.minimum_continuous")
    v.line("shutoff_head", f"{key}.shutoff_head")
    if f"{key}.shutoff_head" not in book:
        v.found.pop("shutoff_head", None)
    runs = v.sized.pressure.runs
    for case, run in runs.items():
        pairs = {"hp_pump": [("flow", "flow", getattr(run.hp, "flow", None)),
                             ("head", "head", getattr(run.hp, "head", None)),
                             ("speed_ratio", "factor", getattr(run.hp, "speed_ratio", None)),
                             ("shaft_power", "power", getattr(run.hp, "shaft_power", None))],
                 "booster": [("flow", "flow", run.recovery.booster_flow),
                             ("pressure_rise", "pressure difference", run.recovery.booster_pressure_rise)]}
        for name, kind, x in pairs.get(key, ()):
            if isinstance(x, Figure):
                v.case(f"{name}@{case}", f"{name.replace('_', ' ').capitalize()}, {case.replace('-', ', ')}", kind, x)
    for p in points:
        if p["pump"] == key:
            for name, kind in (("flow", "flow"), ("head", "head")):
                v.cases.append(Field(f"{name}@{p['state']}", f"{name.capitalize()}, {p['state']}", "Duty by case", kind,
                                     "info", float(p[name])))


def _blower(v: _Values) -> None:
    v.site()
    v.text("fluid", "Air, free of oil at the outlet")
    for name, id in (("inlet_pressure", "scour_blower.inlet_pressure"), ("efficiency", f"{v.key}.efficiency"),
                     ("outlet_temperature", f"{v.key}.outlet_temperature")):
        v.line(name, id)


def _motor(v: _Values) -> None:
    v.site()
    key = v.key
    load = next((r for r in v.sized.power.rows if r["key"] == key), None)
    for name in ("efficiency", "voltage", "mass_empty"):
        v.found.pop(name, None)
    v.line("efficiency", "cip.motor_efficiency" if key == "cip_pump" else f"{key}.motor_efficiency_full_load")
    _supply(v, load is not None and load["voltage_level"] == "medium")
    if load is not None:
        v.text("drive", "yes" if "drive" in str(load.get("starter", "")) else "no")
        for name in ("current", "start_current"):
            if isinstance(load.get(name), float) and load[name] == load[name]:
                v.found[name] = (load[name], load["ids"].get(name, ""))
        if isinstance(load.get("power_factor"), float):
            v.found["power_factor"] = (load["power_factor"], load["ids"].get("power_factor", ""))


def _supply(v: _Values, medium: bool = False) -> None:
    """Voltage and frequency of the plant."""
    level = "power.medium_voltage" if medium else "power.voltage"
    for id in (f"{level}_auto", level):
        v.line("voltage", id)
    v.text("frequency", str(v.book["electric.frequency"]).replace("-hz", " Hz"), "electric.frequency")


def _filter_vessel(v: _Values) -> None:
    if v.key.startswith("contactor"):
        v.water("Permeate")
        v.line("shell", f"weight[{v.row['tag']}].plate")
        v.line("head", f"weight[{v.row['tag']}].plate")
        v.line("shell_length", f"weight[{v.row['tag']}].shell_length")
        v.line("rate", "contactor.rate")
        v.text("bed", "Calcite")
        return
    v.water("Raw seawater")
    for name, id in (("flow", "filter_vessel.service_flow"), ("rate", "filters.rate"),
                     ("shell", "filter_vessel.shell_plate"), ("head", "filter_vessel.head_plate"),
                     ("shell_length", "filter_vessel.drum_length"), ("shell_length", "filter_vessel.shell_length"),
                     ("nozzle_service", "filter_vessel.service_nozzle"), ("backwash_flow", "filters.backwash_flow"),
                     ("nozzle_backwash", "filter_vessel.backwash_nozzle")):
        v.line(name, id)
    wash = v.sized.pretreated.wash_rate
    if wash is not None:
        v.put("backwash_flow", wash.flow)
    depth = v.sized.pretreated.bed.media.depth if hasattr(v.sized.pretreated, "bed") else None
    if isinstance(depth, Column):
        layers = (f"{k.replace('-', ' ')} {show(d, 'length', trim=True)}" for k, d in depth.items())
        v.text("bed", "; ".join(layers), depth.id)


def _housing(v: _Values) -> None:
    v.water(_FLUIDS.get(v.key, _SEA))
    if v.key == "cip_cartridge":
        v.line("temperature_hot", "cip.temperature")
    for name, id in (("rating", "cartridge.rating"), ("clean_drop", "cartridge.clean_drop")):
        v.line(name, id)
    if v.key == "cartridge_housing":
        v.put("flow", v.sized.pretreated.duty)


def _energy_recovery(v: _Values) -> None:
    v.water("Concentrate and seawater")
    device = v.sized.device
    v.text("device", device.kind.label, device.choice.id)
    v.put("flow", v.sized.pressure.concentrate_flow)
    for name in ("unit_flow", "efficiency", "mixing", "leakage", "high_pressure_drop", "low_pressure_drop",
                 "back_pressure"):
        v.put(name, getattr(device, name, None))
    if device.unit_flow is not None and device.kind.parallel_units:
        v.found.pop("flow", None)  # the flow of one is that of the unit
    for case, run in v.sized.pressure.runs.items():
        for name, title, kind in (("spent_flow", "Concentrate flow of a train", "flow"),
                                  ("feed_out", "High-pressure outlet", "gauge pressure"),
                                  ("exhaust_pressure", "Low-pressure outlet", "gauge pressure")):
            x = getattr(run.recovery, name, None)
            if isinstance(x, Figure):
                v.case(f"{name}@{case}", f"{title}, {case.replace('-', ', ')}", kind, x)


def _membrane_vessel(v: _Values) -> None:
    v.put("temperature_hot", v.sized.waters.at["hot"].temperature)
    of = "second_pass" if v.key.startswith("vessels[second_pass") else "membrane"
    v.line("feed_pressure", f"{of}.feed_pressure")
    v.line("flow", f"{of}.vessel_feed")
    stem = _element_stem(v)
    v.line("bore", f"{stem}.outer_diameter")
    for case in v.sized.pressure.runs:
        for id, title, kind in ((f"{of}.feed_pressure", "Feed pressure", "gauge pressure"),
                                (f"{of}.vessel_feed", "Feed flow of one", "flow"),
                                (f"{of}.vessel_concentrate", "Concentrate flow of one", "flow")):
            if f"{id}@{case}" in v.book and isinstance(x := v.book[f"{id}@{case}"], Figure):
                v.case(f"{id.partition('.')[2]}@{case}", f"{title}, {case.replace('-', ', ')}", kind, x)


def _element_stem(v: _Values) -> str:
    key = v.key.partition("[")[2]
    row = next(r for r in v.sized.equipment if r["key"].startswith("elements") and r["key"].partition("[")[2] == key)
    return element_stem(v.book, row["ids"]["area"])


def _element(v: _Values) -> None:
    stem = _element_stem(v)
    for f in table("sheet_fields").values():
        if f["sheet"].value == "element":
            v.line(f["name"].value, f"{stem}.{f['name'].value}")
    v.found["mass_empty"] = (float(v.of.empty), v.of.empty.id)


def _tank(v: _Values) -> None:
    name = v.row["key"]
    v.text("contents", "CIP solution" if name == "cip" else v.row["title"].partition(", ")[2] or "Water")
    if v.of.box is not None:
        v.put("diameter", v.of.box.length)
        v.put("height", v.of.box.height)
    v.put("density", v.sized.waters.at["cold"].density)
    for at in ("day_tank_", "bulk_storage_"):
        if name.startswith(at):
            v.line("density", f"{name.removeprefix(at)}.density")


def _dosing(v: _Values) -> None:
    dose = v.row["key"].removeprefix("dosing_")
    found = next((r for r in v.sized.chemicals if r["key"] == dose), None)
    v.text("chemical", v.row["title"].partition(", ")[2] if found is None else found["chemical"])
    for name, id in (("strength", "strength"), ("density", "density"), ("flow_minimum", "feed_rate_minimum"),
                     ("turndown", "turndown")):
        v.line(name, f"{dose}.{id}")


def _instrument(v: _Values) -> None:
    row = next((r for r in v.sized.control.rows() if r["tag"] == v.row["tag"]), None)
    if row is None:  # a hard-wired device says what it does, an energy meter what it is
        device = next((x for x in v.sized.control.safety if x["tag"] == v.row["tag"]), None)
        v.text("principle", v.row["title"] if device is None else device["does"])
        return
    v.kind = row["kind"]
    v.text("principle", row["principle"])
    for name in ("range_low", "range_high", "normal_low", "normal_high"):
        if isinstance(row.get(name), float) and row[name] == row[name]:
            v.found[name] = (row[name], row["id"])


def _panel(v: _Values) -> None:
    v.site()
    _supply(v)
    v.line("spare", "power.spare")
    if v.row.get("modules"):
        v.found["modules"] = (float(v.row["modules"]), v.row["id"])


def _valve(v: _Values) -> None:
    row = next(r for r in v.sized.valves if r["tag"] == v.row["tag"])
    v.text("type", row["type"])
    if row["fail"]:
        v.text("fail", row["fail"])
    for name in ("set_pressure", "relief_flow"):
        if row.get(name) is not None:
            v.found[name] = (float(row[name]), row["ids"][name])


def _general(v: _Values) -> None:
    v.site()


_BY_KIND: Mapping[str, Callable[..., None]] = {
    "pump": _pump, "filter_vessel": _filter_vessel, "housing": _housing, "energy_recovery": _energy_recovery,
    "membrane_vessel": _membrane_vessel, "element": _element, "tank": _tank, "dosing": _dosing,
    "instrument": _instrument, "panel": _panel, "valve": _valve, "blower": _blower, "general": _general}
_WITH_MOTOR = ("pump", "blower")
"""Kinds of sheet with a second one for the motor."""
