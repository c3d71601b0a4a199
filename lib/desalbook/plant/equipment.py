"""The equipment schedule: every unit, vessel, tank, panel, instrument and valve that the kit sizes, in one table.

Tags: letters, then a number whose first digit is the area, so that instruments and equipment share one scheme
(``P-301``, ``PIT-302``): 1 intake and raw water, 2 pretreatment, 3 high pressure, 4 product, 5 flush and CIP,
6 chemicals, 7 electrical. Letters: P pump, T tank, F filter or contactor, FC cartridge, S screen, V pressure vessel,
RO membrane elements, ER energy recovery, E heater, K blower, DG degasifier, BU bund, CP panel, TR transformer,
G generator, PFC power-factor correction, U load of the owner's; instruments as ISA-5.1 has them, energy meters among
them; XV, PV and PSV valves. A tag is that of a group of like units; `unit_tags` names each of them. Letters, numbers,
usual supply and material are the table ``equipment``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from string import ascii_uppercase
from typing import Any

from desalbook.controls.signals import sum_of
from desalbook.dosing import Doses
from desalbook.electrical import Installation, OwnLoad
from desalbook.electrical.metering import Meter, Metering
from desalbook.hydraulics.design_pressure import Section
from desalbook.hydraulics.line_list import PipeLine
from desalbook.plant.between import SECOND_PASS
from desalbook.plant.control import Controls
from desalbook.plant.energy import EnergyYear
from desalbook.plant.operations import UnitOperations, dosing_title
from desalbook.plant.transfer import Transfer
from desalbook.plant.valves import class_title, metal_of
from desalbook.tables import table
from desalbook.trail import Figure, current
from desalbook.trail.words import low_first

__all__ = ["equipment", "unit_tags"]

_TANK = "atmospheric"
_STEPS = tuple(f.name for f in fields(Doses))
"""Dosing steps; the place of a step among them is its place in the tags, whatever other steps the plant has."""


def _row(key: str, title: str, trains, duty, standby, **figures: Any) -> dict[str, Any]:
    """One unit: `duty` and `standby` are of one group; a group serves each train, or all of them (`trains` 1)."""
    n, d, s = float(trains), float(duty), float(standby)
    row: dict[str, Any] = {"key": key, "title": title, "trains_served": int(n), "duty": int(d), "standby": int(s),
                           "running_total": int(n * d), "installed_total": int(n * (d + s))}
    for name, kind in (("flow", "running_flow"), ("electric_power", "running_power"), ("motor", "installed_power")):
        if isinstance(of := figures.get(name), Figure):
            row[kind] = float(of) * row["installed_total" if name == "motor" else "running_total"]
    for name, value in figures.items():
        row[name] = float(value) if isinstance(value, Figure) else value
        if isinstance(value, Figure):
            row.setdefault("id", value.id)
            row.setdefault("ids", {})[name] = value.id  # for the readers of the record
    return row


class _Schedule:
    """Rows as they are added, each with what the table says of its kind."""

    def __init__(self, trains: Figure, sections: Mapping[str, Section], pipes: Mapping[str, PipeLine]):
        self.trains, self.sections, self.pipes = trains, sections, pipes
        self.rows: list[dict[str, Any]] = []

    def add(self, kind: str, duty, standby: Figure | float = 0, *, key: str = "", title: str = "", place: int = 0,
            material: str = "", within: str = "", **figures: Any) -> dict[str, Any]:
        """One group: `kind` is its row of the table, `place` its place among like groups; `within` its section."""
        of = table("equipment").row(kind, "equipment")
        per = of["per"].value
        made = _row(key or kind, title or of.title, self.trains if per == "train" else 1, duty, standby, **figures)
        made |= {"tag": f"{of['letters'].value}-{int(of['number'].value) + place}", "scope": per,
                 "supply": of["supply"].value, "material": material or self._material(of), "rating": ""}
        held = within or (of["section"].value if "section" in of else "")
        if held == _TANK:
            made["rating"] = _TANK
        elif held in self.sections:
            section = self.sections[held]
            made |= {"rating": class_title(section.rating_name), "rated_pressure": float(section.rating)}
            made.setdefault("ids", {})["rated_pressure"] = section.rating.id
        self.rows.append(made)
        return made

    def pump(self, kind: str, machine, duty, standby, **more: Any) -> None:
        """A pump with its motor at its duty point."""
        self.add(kind, duty, standby, flow=machine.flow, head=machine.head, pressure_rise=machine.pressure_rise,
                 shaft_power=machine.shaft_power, motor=machine.motor_rating, electric_power=machine.electric_power,
                 **more)

    def _material(self, of) -> str:
        """The metal of the run beside it where the design has one there, else what is usual."""
        usual = of["material"].value if "material" in of else ""
        line = self.pipes.get(of["run"].value) if "run" in of else None
        if line is None:
            return usual
        metal = metal_of(line)
        return f"{metal}, wetted parts" if metal else usual


def equipment(inp, ops: UnitOperations, pumps: Mapping[str, Transfer], used: EnergyYear, *,
              sections: Mapping[str, Section], pipes: Mapping[str, PipeLine], supplied: Installation,
              own: Sequence[OwnLoad] = (), controlled: Controls, moved: Sequence[Mapping[str, Any]],
              metered: Metering) -> list[dict[str, Any]]:
    """Rows by area, equipment before instruments and valves; SI values, ``id`` leads into the trail.

    A unit that draws power says its mean electrical power while it runs (W) and its running time of a year (s).

    Parameters
    ----------
    pumps : mapping
        Product and flush pump, where the plant has them.
    used : EnergyYear
    sections, pipes : mapping
        Sections of design pressure and runs of pipe, for ratings and metals.
    supplied : Installation
    own : sequence of OwnLoad
        What the design lists beside the kit's own equipment.
    controlled : Controls
    moved : sequence of mapping
        The list of valves.
    metered : Metering
        Energy meters.
    """
    made = _Schedule(ops.duty.trains, sections, pipes)
    _raw_and_pretreatment(inp, ops, made)
    _high_pressure(inp, ops, made)
    _product_and_cleaning(inp, ops, pumps, supplied, made)
    _chemicals(inp, ops, made)
    _electrical(supplied, controlled, made)
    for place, of in enumerate(own):
        load = of.load
        made.add(f"own_{load.panel}", load.running, load.spare, key=f"own[{load.key.partition('-')[2]}]",
                 title=load.title, place=place, motor=load.rating, electric_power=load.electric_power)
    over_a_year = {x.key: x for x in used.consumers}
    for row in made.rows:
        x = over_a_year.get(row["key"].replace("[", "-").rstrip("]"))
        if x is not None:
            row.update(mean_power=float(x.power), running_time=float(x.time))
            row.setdefault("ids", {}).update(mean_power=x.power.id, running_time=x.time.id)
    listed = sorted(made.rows, key=lambda row: row["tag"].partition("-")[2][0])
    listed += [_instrument(row, ops.duty.trains) for row in controlled.rows()]
    listed += [_safety(x, ops.duty.trains) for x in controlled.safety]
    listed += [_meter(x, ops.duty.trains) for x in metered.meters]
    return listed + [_valve(row, ops.duty.trains) for row in moved]


def _raw_and_pretreatment(inp, ops: UnitOperations, made: _Schedule) -> None:
    pre, book = ops.pretreated, current()
    if "intake.screen_area" in book:
        made.add("intake_screen", 1, area=book["intake.screen_area"])
    if ops.intake_pump is not None:
        made.pump("intake_pump", ops.intake_pump, inp("intake_pump.duty_count"), inp("intake_pump.standby_count"))
    made.add("storage", pre.tank.count, volume=pre.tank.capacity, diameter=pre.tank.diameter)
    made.pump("feed_pump", pre.feed_pump, inp("feed_pump.duty_count"), inp("feed_pump.standby_count"))
    if pre.battery is not None:
        plate = table("vessel_plates").row(str(inp.choice("filter_vessel.material")), "equipment")
        made.add("filters", pre.battery.count, diameter=pre.battery.diameter, area=pre.battery.area,
                 material=plate.title)
        if (air := pre.blower) is not None:
            made.add("scour_blower", inp("scour_blower.duty_count"), inp("scour_blower.standby_count"),
                     air_flow=air.flow, pressure_rise=air.pressure_rise, shaft_power=air.shaft_power,
                     motor=air.motor_rating, electric_power=air.electric_power)
    if "backwash_tank.capacity" in book:
        made.add("backwash_tank", book["backwash_tank.count"], volume=book["backwash_tank.capacity"],
                 diameter=book["backwash_tank.diameter"])
    if pre.wash_pump is not None:
        made.pump("backwash_pump", pre.wash_pump, inp("backwash_pump.duty_count"), inp("backwash_pump.standby_count"))
    made.add("cartridge_housing", pre.cartridges.housings, inp("cartridge.housings_standby"),
             count=pre.cartridges.per_housing)
    made.add("cartridge", pre.cartridges.count, count=pre.cartridges.count)


def _high_pressure(inp, ops: UnitOperations, made: _Schedule) -> None:
    a, p, book = ops.array, ops.pressure, current()
    made.pump("hp_pump", p.hp_pump, inp("hp_pump.duty_count"), inp("hp_pump.standby_count"))
    if ops.device.kind.recovers:
        units = book["energy_recovery.units"] if "energy_recovery.units" in book else 1  # noqa: SIM401, no mapping
        made.add("energy_recovery", units, title=f"Energy recovery: {ops.device.kind.label}",
                 id=ops.device.choice.id)
    if p.booster is not None:
        made.pump("booster", p.booster, 1, inp("booster.standby_count"))
    if p.machines.concentrate_pump is not None:
        made.pump("concentrate_pump", p.machines.concentrate_pump, 1, 0)
    for place, (name, machine) in enumerate(p.machines.stage_pumps.items()):
        second = made.pipes.get("second-feed") if name.startswith("second_") else None
        made.pump("stage_pump", machine, 1, 0, key=name, title=p.machines.titles[name], place=place,
                  within=SECOND_PASS if second is not None else "",
                  material="" if second is None else f"{metal_of(second) or second.pipe.material}, wetted parts")
    if not a.plan.joined:
        made.add("vessels", a.vessels, elements=inp("membrane.elements"))
        made.add("elements", float(a.vessels) * float(inp("membrane.elements")), area=a.element["area"])
        return
    for place, stage in enumerate((*a.plan.rows, *a.plan.second_rows)):
        of = "second pass, stage" if stage in a.plan.second_rows else "stage"
        at = f"[{stage.prefix.replace('[', '-').rstrip(']')}]"
        made.add("vessels", stage.vessels, key=f"vessels{at}", title=f"Pressure vessel, {of} {stage.name}",
                 place=place, elements=stage.elements,
                 within=SECOND_PASS if stage in a.plan.second_rows else "")
        assert stage.vessels is not None
        made.add("elements", float(stage.vessels) * float(stage.elements), key=f"elements{at}", place=place,
                 title=f"Membrane element, {of} {stage.name}", area=stage.sheet.element["area"])


def _product_and_cleaning(inp, ops: UnitOperations, pumps: Mapping[str, Transfer], supplied: Installation,
                          made: _Schedule) -> None:
    clean, book = ops.cleaning, current()
    if inp.choice("product.degasifier") != "no":
        made.add("degasifier", 1, flow=ops.product_flow)
    if "contactor.count" in book:
        made.add("contactor", book["contactor.count"], 1, diameter=book["contactor.diameter"],
                 area=book["contactor.area"])
    made.add("product_tank", inp("product_tank.count"), volume=ops.product_tank)
    for name, of in pumps.items():
        made.pump(name, of.pump, inp(f"{name}.duty_count"), inp(f"{name}.standby_count"))
    held = inp.optional("cip.flush_tank")
    made.add("flush_tank", 1, volume=ops.flush.volume if held is None else held)
    made.add("cip", 1, volume=clean.tank_volume)
    made.add("cip_pump", 1, flow=clean.flow, head=clean.head, pressure_rise=book["cip.pump_pressure"],
             shaft_power=clean.shaft_power, motor=supplied.loads.loads["cip_pump"].rating,
             electric_power=clean.pump_power)
    if float(clean.heater_rating) > 0.0:
        made.add("cip_heater", 1, electric_power=clean.heater_rating)
    made.add("cip_cartridge", 1, flow=clean.flow, count=book["cip.cartridges"])


def _chemicals(inp, ops: UnitOperations, made: _Schedule) -> None:
    book = current()
    for name, line in ops.doses.lines().items():
        place, of = _STEPS.index(name), dosing_title(name).partition(", ")[2] or name
        day, bulk = book[f"{name}.day_tank_volume"], book[f"{name}.bulk_storage_volume"]
        made.add("dosing", 1, 1, key=f"dosing_{name}", title=dosing_title(name), place=place,
                 flow=line.feed_rate_maximum, capacity=book[f"{name}.pump_capacity"], day_tank=day, bulk_storage=bulk,
                 calibration_column=book[f"{name}.calibration_column"], rated_pressure=inp("dosing.pump_pressure"),
                 electric_power=inp("energy.dosing_power"))
        made.add("day_tank", 1, key=f"day_tank_{name}", title=f"Day tank, {of}", place=place, volume=day)
        made.add("bulk_storage", 1, key=f"bulk_storage_{name}", title=f"Bulk storage tank, {of}", place=place,
                 volume=bulk)
        made.add("bund", 1, key=f"bund_{name}", title=f"Bund, {of}", place=place, volume=book[f"{name}.bund"])


def _electrical(supplied: Installation, controlled: Controls, made: _Schedule) -> None:
    book = current()
    made.add("transformer", supplied.transformers, apparent_power=supplied.transformer)
    if (medium := supplied.medium) is not None:
        made.add("medium_transformer", medium.transformers, apparent_power=medium.transformer)
        made.add("medium_switchgear", 1, apparent_power=medium.power)
    if supplied.generator is not None:
        made.add("generator", 1, apparent_power=supplied.generator)
    for name in supplied.feeders:
        made.add(f"panel_{name}", 1, apparent_power=book[f"power.panel_apparent[{name}]"])
    if float(supplied.correction) > 0.0:
        made.add("correction", 1, apparent_power=supplied.correction)
    modules = controlled.signals.modules
    made.add("controller", 1, id=modules["di"].id, modules=int(sum_of(float(n) for n in modules.values())))


def _instrument(of: Mapping[str, Any], trains: Figure) -> dict[str, Any]:
    """An instrument as a row of the schedule; range and set points stand in its own list."""
    own = table("instruments").row(of["key"], "equipment")["per"].value
    groups = 1 if own == "plant" else trains
    row = _row(f"instrument[{of['key']}]", of["title"], groups, of["count"] / float(groups), 0)
    return row | {"tag": of["tag"], "scope": "plant" if own == "plant" else "train", "supply": "package",
                  "material": of["wetted"], "rating": "", "id": of["id"]}


def _safety(of: Mapping[str, Any], trains: Figure) -> dict[str, Any]:
    """A safety device as a row of the schedule, among the instruments."""
    train = of["per"] == "train"
    row = _row(f"instrument[{of['key']}]", of["title"], trains if train else 1,
               of["count"] / float(trains) if train else of["count"], 0)
    return row | {"tag": of["tag"], "scope": "train" if train else "plant", "supply": "package", "material": "",
                  "rating": "", "id": of["id"] or "control.signals[di]"}


def _meter(of: Meter, trains: Figure) -> dict[str, Any]:
    """An energy meter as a row of the schedule, among the instruments; it stands in a panel."""
    groups = trains if of.per_train else 1
    row = _row(f"instrument[meter-{of.key}]", f"Energy meter, {low_first(of.title)}", groups,
               of.number / float(groups), 0)
    return row | {"tag": of.tag, "scope": "train" if of.per_train else "plant", "supply": "package", "material": "",
                  "rating": "", "id": of.primary.id}


def _valve(of: Mapping[str, Any], trains: Figure) -> dict[str, Any]:
    """A valve of the list as a row of the schedule; those of the filters count for each train."""
    groups = 1 if of["scope"] == "plant" else int(trains)
    row = _row(f"valve[{of['key']}]", of["title"], groups, of["count"] / groups, 0)
    row |= {k: of[k] for k in ("tag", "supply", "material", "rating", "size", "id") if k in of}
    row["scope"] = "plant" if of["scope"] == "plant" else "train"
    if of.get("rated_pressure") is not None:
        row |= {"rated_pressure": of["rated_pressure"], "ids": {"rated_pressure": of["ids"]["rated_pressure"]}}
    return row


def unit_tags(row: Mapping[str, Any]) -> list[str]:
    """Tag of each unit of a row: the train's number before it, a letter or a number of the unit after it.

    Parameters
    ----------
    row : mapping
        Of the schedule.

    Returns
    -------
    list of str
        ``1-P-301A`` for the first of the first train; without the train for what serves the plant, without a letter
        where there is one unit; numbers in place of letters for more than 26.
    """
    trains = row["trains_served"]
    each = row["installed_total"] // trains
    ends = [""] if each == 1 else list(ascii_uppercase[:each]) if each <= len(ascii_uppercase) else [
        f"/{n + 1:0{len(str(each))}d}" for n in range(each)]
    heads = [f"{n + 1}-" for n in range(trains)] if row["scope"] == "train" else [""]
    return [f"{head}{row['tag']}{end}" for head in heads for end in ends]
