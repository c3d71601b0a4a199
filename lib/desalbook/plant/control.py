"""Measuring places of a plant, from its streams, equipment and limits, handed to the room of instruments."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from desalbook.controls import Instrument, Place, Signals, Train, instruments, signals
from desalbook.controls.safety import safety_devices
from desalbook.electrical.load_list import column
from desalbook.electrical.metering import Metering
from desalbook.fabrication.vessel_weight import tank_diameter, tank_height
from desalbook.guidelines import limit_key
from desalbook.hydraulics.design_pressure import Section
from desalbook.hydraulics.rows import row_line
from desalbook.plant.operations import UnitOperations, decides_on_dosing, decides_on_machines
from desalbook.plant.transfer import Transfer
from desalbook.pretreatment.media import total_depth
from desalbook.tables import table
from desalbook.trail import Figure, constant, current, govern, maximum, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit
from desalbook.units import Concentration, Factor, M, SPerM

__all__ = ["Controls", "control"]

SUCTION = constant("h_s", 0.15, "m", source="common-practice",
                   title="Minimum water above the floor of a tank at a pump")
SALT = constant("k_p", 5.0, "kg m/(m^3 S)", source="common-practice",
                title="TDS over conductivity of permeate, 0.5 mg/L for 1 uS/cm at 25 degC")


@dataclass(frozen=True)
class Controls:
    """Instruments of a plant and the signals of its controller."""

    instruments: list[Instrument]
    signals: Signals
    train: Train
    safety: list[dict[str, Any]] = field(default_factory=list)

    def rows(self) -> list[dict[str, Any]]:
        """The list of instruments, SI."""
        return [x.listed() for x in self.instruments]


@relation("Conductivity of the permeate", symbol="kappa_p", unit="S/m", source="common-practice",
          note="sodium chloride is most of it; an analysis of the permeate replaces it")
def permeate_conductivity(total_dissolved_solids: Concentration, conductivity_factor: Factor) -> SPerM:
    """Conductivity of the permeate from its TDS, times a factor for an alarm.

    A ratio of common practice for sodium chloride at 25 degC.
    """
    return total_dissolved_solids / SALT * conductivity_factor


@relation("Low level of a tank", symbol="h_l", unit="m", source="common-practice")
def low_level(depth: M, level_fraction: Factor) -> M:
    """Level at which a pump is stopped: a fraction of the depth of its tank, at least what its suction pipe needs.

    Above the floor of an upright tank; a vortex plate, or a sump, allows less.
    """
    return maximum(depth * level_fraction, SUCTION)


def control(inp: Inputs, ops: UnitOperations, sections: Mapping[str, Section],
            pumps: Mapping[str, Transfer], metered: Metering) -> Controls:
    """Instruments with their set points, and the count of signals.

    Parameters
    ----------
    sections : dict
        Sections of design pressure, for trips, relief and rating.
    pumps : dict
        Product and flush pump, where the plant has them.
    metered : Metering
        Energy meters, for their signals.
    """
    battery = ops.pretreated.battery
    filters = None if battery is None else battery.count
    with scope("plant"):
        found = instruments(inp, [*_pretreatment(inp, ops, sections), *_pressure(inp, ops, sections),
                                  *_product(inp, ops, pumps), *_cip(inp, ops, sections),
                                  *_tanks(inp, ops, pumps)], ops.duty.trains, filters)
        machines = _machines(inp, ops, pumps)
        decided = decides_on_machines(inp, ops)
        safe = safety_devices(machines, {x.key: x for x in found}, int(ops.duty.trains))
        others = [(f"meter[{x.key}]", f"Energy meter: {x.title}", "meter-incomer" if x.revenue else "meter", x.number)
                  for x in metered.meters]
        others += [(r["key"], r["title"], r["signals"], float(r["count"])) for r in safe if r["signals"]]
        return Controls(found, signals(inp, found, machines, ops.duty.trains, decided,
                                       filters, others, metered.units),
                        _trained(inp, ops, sections, {x.key: x for x in found}, machines), safe)


def _ends(id: str, by_case: Mapping[Any, Figure], title: str) -> tuple[Figure, Figure]:
    """Lowest and highest over the cases."""
    return (govern(f"control.{id}_low", by_case, "smallest", title=f"{title}, lowest over the cases"),
            govern(f"control.{id}_high", by_case, "largest", title=f"{title}, highest over the cases"))


def _pretreatment(inp: Inputs, ops: UnitOperations, sections: Mapping[str, Section]) -> list[Place]:
    pre, w, book = ops.pretreated, ops.waters, current()
    low = inp.number("storage.low_level")
    full = book["storage.level"]
    decided = tuple(decides_on_dosing(inp, ops))
    found = [Place("raw-level", full, full, trip_low=low), Place("raw-flow", pre.raw_flow, pre.raw_flow),
             Place("raw-turbidity", inp.number("water.turbidity"), inp.number("water.turbidity"))]
    feed = sections["feed"]
    found.append(Place("feed-pressure", book["feed_pump.discharge_pressure"], book["feed_pump.discharge_pressure"],
                       trip_high=feed.trip, bound_high=feed.rating))
    if pre.battery is not None:
        found.append(Place("filter-drop", inp.number("filters.dirty_drop"), inp.number("filters.dirty_drop"),
                           because=(pre.present,)))
        wanted = inp.number("filters.filtrate_turbidity")
        found.append(Place("filtrate-turbidity", wanted, wanted, trip_high=inp.number("control.turbidity_trip"),
                           because=(pre.present,)))
    found.append(Place("cartridge-drop", inp.number("cartridge.clean_drop"), inp.number("cartridge.dirty_drop"),
                       bound_high=limit("cartridge-collapse")))
    if ops.doses.dechlorination is not None:
        found.append(Place("orp", inp.number("dechlorination.orp_control"), inp.number("dechlorination.orp_control"),
                           trip_high=inp.number("dechlorination.orp_alarm"),
                           delay=inp.number("injection.delay_time"), because=decided))
    if inp.choice("acid.present") == "yes":
        found.append(Place("feed-ph", book["membrane.feed_ph_low"], book["membrane.feed_ph_high"],
                           bound_low=book["membrane.element.ph_low"], bound_high=book["membrane.element.ph_high"],
                           because=(inp.choice("acid.present"),)))
    found.append(Place("feed-conductivity", book["water.conductivity_found"], book["water.conductivity_found"]))
    cold, hot = w.at["cold"].temperature, w.at["hot"].temperature
    found.append(Place("feed-temperature", cold, hot, trip_high=book["membrane.element.max_temperature"]))
    return found


def _pressure(inp: Inputs, ops: UnitOperations, sections: Mapping[str, Section]) -> list[Place]:
    a, book = ops.array, current()
    suction_low, suction_high = book["hp_pump.suction_pressure"], book["hp_pump.suction_pressure_maximum"]
    pressure = _ends("discharge", {c: a.by_corner[c]["feed_pressure"] for c in a.by_corner}, "Feed pressure")
    back = _ends("concentrate", {c: a.by_corner[c]["concentrate_pressure"] for c in a.by_corner},
                 "Concentrate pressure")
    flow = _ends("permeate_flow", {c: a.by_corner[c]["permeate_flow"] for c in a.by_corner}, "Permeate flow")
    rest = _ends("concentrate_flow", {c: a.by_corner[c]["concentrate_flow"] for c in a.by_corner}, "Concentrate flow")
    vessels, permeate = sections["vessels"], sections["permeate"]
    tds = a.governing["permeate_tds"]
    one = inp.number("control.conductivity_factor")
    salt = permeate_conductivity.at("control.permeate_conductivity", total_dissolved_solids=tds,
                                    conductivity_factor=one, title="Conductivity of the permeate with its margin")
    found = [
        Place("suction", suction_low, suction_high, trip_low=inp.number("hp_pump.low_trip"),
              bound_low=book["hp_pump.npsh_suction_required"], bound_high=inp.number("hp_pump.suction_limit")),
        Place("discharge", *pressure, trip_high=vessels.trip, bound_high=vessels.relief or vessels.rating),
        Place("concentrate-pressure", *back, bound_high=sections["concentrate-high"].rating),
        Place("vessel-drop", book["membrane.vessel_drop"], book["membrane.vessel_drop"],
              trip_high=book[own if (own := limit_key("vessel-pressure-drop")) in book else "limits.vessel_drop"]),
        Place("permeate-flow", *flow), Place("concentrate-flow", *rest),
        Place("permeate-pressure", inp.number("membrane.permeate_pressure"), inp.number("membrane.permeate_pressure"),
              trip_high=permeate.trip, bound_high=permeate.relief or permeate.rating),
        Place("permeate-conductivity", salt, salt)]
    return found


def _product(inp: Inputs, ops: UnitOperations, pumps: Mapping[str, Transfer]) -> list[Place]:
    book = current()
    height = inp.number("storage.height")
    level = inp.number("storage.low_level")
    found = [Place("product-level", height, height, trip_low=level),
             Place("product-ph", book["product.ph"], book["product.ph"])]
    if ops.doses.post_chlorination is not None:
        residual = inp.number("post_chlorination.residual")
        found.append(Place("product-chlorine", residual, residual, because=tuple(decides_on_dosing(inp, ops))))
    if "product_pump" in pumps:
        found.append(Place("product-flow", ops.product_flow, ops.product_flow,
                           because=(pumps["product_pump"].present,)))
    return found


def _cip(inp: Inputs, ops: UnitOperations, sections: Mapping[str, Section]) -> list[Place]:
    warm, wanted = inp.number("cip.temperature"), inp.number("cip.pressure")
    cleaning = sections["cleaning"]
    return [Place("cip-temperature", warm, warm, bound_high=current()["membrane.element.max_temperature"]),
            Place("cip-pressure", wanted, cleaning.pressures.working, trip_high=cleaning.trip,
                  bound_high=cleaning.rating),
            Place("cip-flow", ops.cleaning.flow, ops.cleaning.flow)]


def _tanks(inp: Inputs, ops: UnitOperations, pumps: Mapping[str, Transfer]) -> list[Place]:
    """Levels that the sequences beside those of a train wait for, and the pH of a cleaning.

    CIP and flush tank are upright cylinders of the slenderness that the fabrication states.
    """
    book, pre = current(), ops.pretreated
    depth = _depth(inp, "cip", "CIP tank", ops.cleaning.tank_volume)
    low, high = inp.number("cip.acid_ph"), inp.number("cip.alkali_ph")
    found = [Place("cip-level", depth, depth, trip_low=_low(depth, "cip", "CIP tank", "cip-low")),
             Place("cip-ph", low, high, trip_low=book["cip.element_ph_cleaning_low"],
                   trip_high=book["cip.element_ph_cleaning_high"])]
    if "flush_pump" in pumps:
        held = inp.optional("cip.flush_tank")
        of = pumps["flush_pump"].present
        with scope(because=[of]):
            depth = _depth(inp, "flush", "flush tank", ops.flush.volume if held is None else held)
            found.append(Place("flush-level", depth, depth, trip_low=_low(depth, "flush", "flush tank", "empty"),
                               because=(of,)))
    if pre.battery is not None:
        with scope(because=[pre.present]):
            layers = {"media": book["filters.media_depth"]}
            if "filters.support.depth" in book:  # nozzles in a plate carry the media without one
                layers["support"] = total_depth.at("control.filter_support", depth=book["filters.support.depth"],
                                                   title="Support of a filter")
            bed, full = (total_depth.at(f"control.filter_level[{name}]", title=title, depth=column(
                f"control.filter_depths[{name}]", of, "length", f"Depths up to the level, {name}", "L", "depth"))
                for name, of, title in (("bed", layers, "Level of a drained filter"), (
                    "full", layers | {"water": inp.number("filters.drain_depth")}, "Level of a full filter")))
            found.append(Place("filter-level", bed, full, because=(pre.present,)))
    if "backwash_tank.capacity" in book:
        full = inp.number("backwash_tank.height")
        found.append(Place("backwash-level", full, full, trip_low=inp.number("backwash_tank.low_level"),
                           because=(pre.present, inp.choice("filters.backwash_source"))))
    return found


def _depth(inp: Inputs, key: str, title: str, volume: Figure) -> Figure:
    wide = tank_diameter.at(f"control.tank_diameter[{key}]", volume=volume,
                            slenderness=inp.number("fabrication.tank_slenderness"), title=f"Diameter, {title}")
    return tank_height.at(f"control.tank_depth[{key}]", volume=volume, diameter=wide, title=f"Depth, {title}")


def _low(depth: Figure, key: str, title: str, level: str) -> Figure:
    fraction = row_line(f"control.tank_fraction[{key}]", "trial_levels", level, "level",
                        title=f"Low level / depth, {title}")
    return low_level.at(f"control.tank_low[{key}]", depth=depth, level_fraction=fraction,
                             title=f"Low level, {title}")


def _trained(inp: Inputs, ops: UnitOperations, sections: Mapping[str, Section], by: Mapping[str, Instrument],
             machines: Mapping[str, Any]) -> Train:
    """The train of the trial of sequences: values of the sized plant, and its set points."""
    book, times = current(), {k: row["time"].value for k, row in table("dynamics").items()}
    vessels, permeate = sections["vessels"], sections["permeate"]
    salt, dosed = by["permeate-conductivity"], "dosing_dechlorination" in machines
    has = {n for n in ("booster", "flush_pump") if n in machines} | ({"dosing"} if dosed else set())

    def trip(key: str, side: str) -> float:
        return float(getattr(by[key], f"trip_{side}"))

    flow = by["concentrate-flow"]
    assert flow.trip_low is not None and salt.alarm_high is not None, "rows of the table of instruments"
    with scope(because=decides_on_dosing(inp, ops)):
        strength = float(inp.number("chlorination.residual")) / float(limit("membrane-oxidant")) if dosed else 0.0
    return Train(
        feed_pressure=float(by["discharge"].place.high), suction=float(by["suction"].place.low),
        osmotic=float(book["water.osmotic_pressure"]), permeate=float(by["permeate-pressure"].place.high),
        shutoff=float(vessels.pressures.credible),
        trips={"suction": trip("suction", "low"), "discharge": trip("discharge", "high"),
               "permeate": trip("permeate-pressure", "high"), "orp": trip("orp", "high") if dosed else 1.0,
               "level": 0.0, "concentrate_flow": float(flow.trip_low) / float(flow.place.low)},
        relief=float(vessels.relief or vessels.rating), permeate_relief=float(permeate.relief or permeate.rating),
        quality_limit=(float(salt.alarm_high) / float(salt.place.high)
                       * float(inp.number("control.conductivity_factor"))),
        probe_travel=float(book["injection.probe_travel"]) if dosed else 1.0,
        pump_travel=float(book["injection.warning_travel"]) if dosed else 1.0,
        probe_time=float(inp.number("injection.probe_time")), orp_delay=float(inp.number("injection.delay_time")),
        orp=float(inp.number("dechlorination.orp_control")) if dosed else 0.0, chlorine=strength,
        ramp=float(limit("pressure-ramp")), level=times["raw-tank"],
        flush_time=float(inp.number("cip.flush_time")), has=frozenset(has))


def _machines(inp: Inputs, ops: UnitOperations, pumps: Mapping[str, Transfer]) -> dict[str, tuple[Figure | int, str]]:
    """Equipment the controller starts: how many of each train or of the plant, and the row of its signals."""
    p = ops.pressure.machines

    def both(name: str) -> Figure:
        return inp.number(f"{name}.duty_count")

    found: dict[str, tuple[Figure | int, str]] = {"feed_pump": (both("feed_pump"), "train"),
                                                   "hp_pump": (both("hp_pump"), "train")}
    if p.booster is not None:
        found["booster"] = (1, "train")
    if p.concentrate_pump is not None:
        found["concentrate_pump"] = (1, "train")
    for name in p.stage_pumps:
        found[name] = (1, "train")
    if ops.intake_pump is not None:
        found["intake_pump"] = (both("intake_pump"), "plant")
    if ops.pretreated.wash_pump is not None:
        found["backwash_pump"] = (both("backwash_pump"), "plant")
    if ops.pretreated.blower is not None:
        found["scour_blower"] = (both("scour_blower"), "plant")
    for name in pumps:
        found[name] = (both(name), "plant")
    found["cip_pump"] = (1, "plant")
    if float(ops.cleaning.heater_rating) > 0.0:
        found["cip_heater"] = (1, "plant")
    for name in ops.doses.lines():
        found[f"dosing_{name}"] = (1, "plant")
    return found
