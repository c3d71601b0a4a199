"""Design pressures of every section of the plant, and the permeate side when a train stops."""

from __future__ import annotations

from typing import Any

from desalbook.hydraulics import design_pressure as dp
from desalbook.hydraulics.design_pressure import Pressures, Section, check_section
from desalbook.hydraulics.head import hydrostatic_pressure, pressure_of_head, static_lift
from desalbook.hydraulics.line_list import PipeLine, wall_check
from desalbook.hydraulics.pumps import END_SUCTION, PUMP_CLASSES, affinity_head
from desalbook.plant.between import INTERSTAGE, SECOND_PASS, second_pass_section
from desalbook.plant.operations import UnitOperations
from desalbook.plant.pipelines import HIGH
from desalbook.plant.transfer import Transfer
from desalbook.pretreatment.storage import level_above_site
from desalbook.trail import Choice, Figure, assumed, checked, current, scope, scope_of
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit, limit_source

__all__ = ["SECTION_OF", "design_pressures", "pressure_rows", "stopped"]

SECTION_OF = {"feed-suction": "feed", "feed": "feed", "backwash": "backwash", "high-pressure": "vessels",
               "concentrate-high": "concentrate-high", "concentrate": "concentrate-low", "permeate": "permeate",
               "flush": "flush",
               "product": "product", "cleaning": "cleaning", INTERSTAGE: "vessels", "second-suction": "permeate",
               "second-feed": SECOND_PASS, "second-stages": SECOND_PASS, "second-return": SECOND_PASS}
"""Section a run of pipe belongs to."""


def design_pressures(inp: Inputs, ops: UnitOperations, lines: dict[str, PipeLine],
                     pumps: dict[str, Transfer]) -> dict[str, Section]:
    """Judge every section; feed side, high-pressure side, permeate, backwash and cleaning."""
    d, pre = ops.duty, ops.pretreated
    none = assumed("design_pressure.no_boost", 0.0, "pressure difference", title="Boost, where there is none",
                   source="definition")
    with scope("train", count=d.trains):
        found = _feed(inp, ops, lines, none)
        found |= _high(inp, ops, lines, none, found["feed"].pressures.credible)
        found |= _reject(inp, ops, lines, found["concentrate-high"].pressures.credible, none)
        found["permeate"] = _permeate(inp, ops, lines, found["vessels"].pressures.credible)
        found |= second_pass_section(inp, ops, lines, none)
    with scope("plant"):
        if pre.wash_pump is not None and pre.wash_rate is not None:
            with scope(because=[pre.present]):
                found["backwash"] = _pumped("backwash", "Backwash line", inp, "backwash_pump",
                                            pre.wash_pump.pressure_rise,
                                        inp("backwash_pump.pump_class"), lines["backwash"], none, pre.wash_rate.flow)
        for key, name, title in (("product", "product_pump", "Product line"), ("flush", "flush_pump", "Flush line")):
            of = pumps.get(name)
            if of is not None:
                with scope(because=[of.present]):
                    found[key] = _pumped(key, title, inp, name, of.pump.pressure_rise, inp(f"{name}.pump_class"),
                                         lines[key], none, lines[key].flow, "transfer")
        rise = pressure_of_head.at("cip.pump_rise", head=ops.cleaning.head,
                                   density=ops.array.by_corner["cold-aged"]["permeate_density"],
                                   title="Pressure rise of the CIP pump")
        kind: Choice = assumed("cip.pump_class", END_SUCTION.key, None, title="Kind of CIP pump",
                               options=list(PUMP_CLASSES), source="common-practice")
        found["cleaning"] = _pumped("cleaning", "CIP circuit", inp, "cip", rise, kind, lines["cleaning"], none,
                                    ops.cleaning.flow)
    return found


def wall_checks(inp: Inputs, ops: UnitOperations, lines: dict[str, PipeLine], pumps: dict[str, Transfer],
                sections: dict[str, Section]) -> dict[str, Figure]:
    """Wall that the rating of its section asks of each run, m, with its check."""
    needed = {}
    for name, line in lines.items():
        section = sections.get(SECTION_OF.get(name, ""))
        if section is not None:
            because = [inp("design_pressure.relief_high")] if name in (*HIGH, INTERSTAGE) else _because(
                name, ops.pretreated, pumps)
            with scope(scope_of(f"{line.prefix}.velocity"), because=because):
                needed[name] = wall_check(
                    line, section.rating if name not in (*HIGH, INTERSTAGE) else _held_by(section, sections["vessels"]))
    return needed


def _because(name: str, pre, pumps: dict[str, Transfer]) -> list:
    """What decided that this run has a section."""
    if name == "backwash":
        return [pre.present]
    of = pumps.get(f"{name}_pump")
    return [] if of is None else [of.present]


def _held_by(section: Section, vessels: Section) -> Figure:
    """What the high-pressure pipe must hold: the rating its relief valve guards, or all that is credible."""
    return section.pressures.credible if vessels.relief is None else vessels.rating


def _full(inp, ops: UnitOperations) -> Figure:
    """Pressure at the feed pump with the raw tank full."""
    tank, cold = ops.pretreated.tank, ops.waters.at["cold"]
    top = level_above_site.at("storage.high_level_site", elevation=inp("storage.elevation"), level=tank.level,
                               title="Level of the full tank above site")
    head = static_lift.at("feed_pump.suction_static_maximum", elevation_to=top,
                          elevation_from=inp("feed_pump.elevation"),
                          title="Level of the full tank over the pump")
    return hydrostatic_pressure.at("feed_pump.suction_maximum", density=cold.density, static_head=head,
                                        title="Suction of the feed pump, maximum")


def _behind(prefix: str, suction: Figure, rise: Figure, kind: Choice, surge: Figure, boost: Figure, flow: Figure,
            key: str, shut: Figure | None = None) -> Pressures:
    """Working and credible pressure downstream of a pump that draws from a tank; `shut` where the rise is known."""
    working = dp.discharge_pressure.at(f"design_pressure[{key}].working", suction_pressure=suction, pressure_rise=rise,
                                       title="Maximum working pressure")
    if shut is None:
        shut = dp.shutoff_rise(prefix, rise, kind)
    credible = dp.maximum_credible_pressure.at(f"design_pressure[{key}].credible", suction_pressure=suction,
                                               shutoff_rise=shut, boost=boost, surge_pressure=surge)
    return Pressures(working, credible, surge, flow, shut)


def _feed(inp, ops: UnitOperations, lines: dict[str, PipeLine], none: Figure) -> dict[str, Section]:
    pre, line = ops.pretreated, lines["feed"]
    seen = _behind("feed_pump", _full(inp, ops), pre.feed_pump.pressure_rise, inp("feed_pump.pump_class"),
                   line.wave.surge, none, line.flow, "feed", pre.feed_shutoff_rise)
    relieved = inp("design_pressure.relief_feed")
    found = {"feed": check_section("feed", "Feed header", seen, inp, relieved=relieved, class_key="class_feed")}
    parts_of = [("cartridge", "Cartridge housings", "class_cartridge"),
                ("hp-suction", "HP pump suction", "class_feed")]
    with scope(because=[pre.present]):
        if pre.battery is not None:
            parts_of.insert(0, ("filters", "Filters", "class_filters"))
    for key, title, held in parts_of:
        with scope(because=[pre.present] if key == "filters" else []):
            found[key] = check_section(key, title, seen, inp, relieved=relieved, class_key=held,
                                       rating_id="filter_vessel.design_pressure" if key == "filters" else "")
    return found


def _shutoff(inp, p, density: Figure) -> Figure:
    """Rise of the high-pressure pump against a closed valve, at the maximum speed; a ratio where it has no curve."""
    drive = inp("hp_pump.drive")
    with scope(because=[inp("hp_pump.pump_class"), drive]):
        if p.curve is None:
            return dp.shutoff_rise("hp_pump", p.hp_pump.pressure_rise, inp("hp_pump.pump_class"))
        head = p.curve.shutoff_head
        if drive == "yes":
            head = affinity_head.at("hp_pump.shutoff_fastest", head=head, speed_ratio=inp("hp_pump.speed_limit"),
                                    title="Shut-off head at the maximum speed")
        return pressure_of_head.at("hp_pump.shutoff_rise", head=head, density=density,
                                   title="Pressure rise at no flow")


def _high(inp: Inputs, ops: UnitOperations, lines: dict[str, PipeLine], none: Figure,
          suction: Figure) -> dict[str, Section]:
    p, device, a = ops.pressure, ops.device, ops.array
    book, surge = current(), lines["high-pressure"].wave.surge
    relieved = inp.choice("design_pressure.relief_high")
    flow = p.flow
    shut = _shutoff(inp, p, ops.waters.at["cold"].density)
    share = inp("design_pressure.relief_fraction")
    with scope(because=[relieved]):
        rating = book["membrane.pressure_rating"]
        guarded = dp.relief_set_pressure.at("design_pressure[vessels].relief", pressure_rating=rating,
                                            relief_fraction=share) \
            if relieved == "yes" else None

    def seen(key: str, working: Figure, boost: Figure) -> Pressures:
        credible = dp.maximum_credible_pressure.at(f"design_pressure[{key}].credible", suction_pressure=suction,
                                                   shutoff_rise=shut,
                                                   boost=boost, surge_pressure=surge)
        return Pressures(working, credible, surge, flow)

    def high(key: str, title: str, working: Figure, boost: Figure, **more: Any) -> Section:
        return check_section(key, title, seen(key, working, boost), inp, relieved=relieved, guarded=guarded, **more)

    found = {"hp-discharge": high("hp-discharge", "HP pump discharge",
                                  p.discharge_pressure, none, class_key="class_high")}
    with scope(because=[device.choice]):
        boost = p.boost if device.kind.boosts_feed else none
        if p.booster is not None:
            lift = dp.shutoff_rise("booster", p.booster.pressure_rise, inp("booster.pump_class"))
            found["booster"] = high("booster", "Booster discharge", a.governing["feed_pressure"], lift,
                                    class_key="class_high")
        found["vessels"] = high("vessels", "Pressure vessels", a.governing["feed_pressure"], boost, rating=rating,
                                rating_name=str(inp("membrane.pressure_class")))
        found["concentrate-high"] = high("concentrate-high", "Concentrate to the ERD",
                                    book["membrane.concentrate_pressure"], boost, class_key="class_high")
    return found


def _reject(inp, ops: UnitOperations, lines: dict[str, PipeLine], high: Figure, none: Figure) -> dict[str, Section]:
    """Downstream of the recovery device: open to the outfall, shut by a valve, or behind the pump of a free exhaust."""
    line, valve = lines["concentrate"], inp("design_pressure.outfall_valve")
    working = ops.pressure.exhaust_pressure
    at = "design_pressure[concentrate-low].credible"
    pump = ops.pressure.machines.concentrate_pump
    with scope(because=[valve, *([ops.device.choice] if pump is not None else [])]):
        if pump is not None:  # the sump before it is open to the air: nothing of the vessels passes it
            kind: Choice = assumed("concentrate_pump.pump_class", END_SUCTION.key, None,
                                   title="Kind of concentrate pump", options=list(PUMP_CLASSES),
                                   source="common-practice")
            seen = _behind("concentrate_pump", working, pump.pressure_rise, kind, line.wave.surge, none, line.flow,
                           "concentrate-low")
            return _concentrate_section(seen, inp)
        if valve == "yes":
            credible = dp.discharge_pressure.at(at, suction_pressure=high, pressure_rise=line.wave.surge,
                                                title="Maximum credible pressure, the line shut")
        else:
            credible = dp.discharge_pressure.at(at, suction_pressure=working, pressure_rise=line.wave.surge,
                                                title="Maximum credible pressure, the line open")
        return _concentrate_section(Pressures(working, credible, line.wave.surge, line.flow), inp)


def _concentrate_section(seen: Pressures, inp: Inputs) -> dict[str, Section]:
    return {"concentrate-low": check_section("concentrate-low", "Concentrate to the outfall", seen, inp,
                                             relieved=inp("design_pressure.relief_concentrate"),
                                             class_key="class_concentrate")}


def _permeate(inp, ops: UnitOperations, lines: dict[str, PipeLine], vessels: Figure) -> Section:
    line, cold = lines["permeate"], ops.waters.at["cold"]
    credible = dp.blocked_permeate_pressure.at("design_pressure[permeate].credible", credible_pressure=vessels,
                                               osmotic_feed=cold.osmotic_pressure)
    seen = Pressures(inp("membrane.permeate_pressure"), credible, line.wave.surge, line.flow)
    return check_section("permeate", "Permeate header", seen, inp, relieved=inp("design_pressure.relief_permeate"),
                         class_key="class_permeate")


def _pumped(key: str, title: str, inp, prefix: str, rise: Figure, kind: Choice, line: PipeLine, none: Figure,
            flow: Figure, said: str = "") -> Section:
    """Backwash line and CIP circuit: a pump that draws from a tank beside it."""
    suction = assumed(f"{prefix}.suction_maximum", 2e4, "gauge pressure", title="Suction, tank full", symbol="p_s",
                      source="common-practice", place="some 2 m of water over the pump")
    seen = _behind(prefix, suction, rise, kind, line.wave.surge, none, flow, key)
    return check_section(key, title, seen, inp, relieved=inp(f"design_pressure.relief_{said or key}"),
                         class_key=f"class_{said or key}")


def stopped(inp, ops: UnitOperations, lines: dict[str, PipeLine]) -> None:
    """The permeate side when a train stops: back-pressure, draw-back, and the tank that feeds it."""
    a, w, d = ops.array, ops.waters, ops.duty
    fresh = a.by_corner["cold-aged"]["permeate_density"]
    with scope("train", count=d.trains):
        lift = static_lift.at("permeate.lift", elevation_to=inp("design_pressure.permeate_elevation"),
                              elevation_from=inp("design_pressure.vessel_elevation"), title="Rise of the permeate line")
        standing = hydrostatic_pressure.at("permeate.standing_pressure", density=fresh, static_head=lift,
                                                title="Permeate at the vessels, at rest")
        needed = dp.discharge_pressure.at("permeate.pressure_needed", suction_pressure=standing,
                                          pressure_rise=lines["permeate"].pressure_drop,
                                          title="Permeate pressure for lift and losses")
        checked("permeate.pressure.check", inp("membrane.permeate_pressure"), ">=", needed,
                title="Permeate pressure for lift and losses",
                do="raise membrane.permeate_pressure, lower the tank, or widen piping.runs[permeate]")
        drop = static_lift.at("permeate.feed_lift", elevation_to=inp("energy_recovery.outfall_elevation"),
                              elevation_from=inp("design_pressure.vessel_elevation"),
                              title="Outfall elevation above the vessels")
        rest = hydrostatic_pressure.at("permeate.feed_at_rest", density=w.at["hot"].density, static_head=drop,
                                            title="Feed side at the vessels, at rest")
        over = dp.permeate_over_feed.at("permeate.over_feed", permeate_pressure=standing, gauge_pressure=rest)
        checked("permeate.over_feed.check", over, "<=", limit("permeate-over-feed"),
                title="Permeate back-pressure at shutdown",
                do="lower design_pressure.permeate_elevation, break the siphon, or fit a check valve at each vessel",
                caution="Back-pressure on the permeate side can delaminate elements in a single shutdown. Vent "
                        "the permeate line, "
                        "or fit a check and a relief valve.",
                source=limit_source("permeate-over-feed"))
        hold_up = dp.train_hold_up.at("permeate.hold_up", volume=ops.flush.train_volume,
                                      hold_ups=inp("cip.flush_hold_ups"))
        area = dp.train_membrane_area.at("permeate.membrane_area", element_area=a.element["area"],
                                         elements_per_vessel=inp("membrane.elements"), vessels=a.vessels)
        osmotic = dp.mean_feed_side_osmotic_pressure.at("permeate.feed_side_osmotic",
                                                        osmotic_feed=w.at["hot"].osmotic_pressure,
                                                        recovery=a.recovery)
        back = dp.osmotic_drawback.at("permeate.drawback", hold_up=hold_up, membrane_area=area,
                                      osmotic_concentrate=osmotic,
                                      permeability=current()["membrane.water_permeability@hot-new"],
                                      time=inp("design_pressure.drawback_time"))
    kept = dp.permeate_reserve.at("permeate.kept", flush_volume=ops.flush.volume, volume=back, trains=d.trains)
    held = inp("design_pressure.drawback_tank")
    if held is not None:
        checked("permeate.kept.check", held, ">=", kept, title="Permeate for draw-back and flush",
                do="raise design_pressure.drawback_tank, or clear it",
                caution="Elements that draw in air dry out and lose permeability permanently. Keep the permeate "
                        "line flooded.")


def pressure_rows(found: dict[str, Section]) -> list[dict[str, Any]]:
    """Rows of the table of sections: SI values, gauge; the id of the governing pressure leads into the trail."""
    book = current().lines
    failed = [x for id, x in book.items() if x.sort == "checked" and x.more.get("verdict") == "fails"
              and id.startswith("design_pressure[")]
    rows = []
    for key, of in found.items():
        at = f"design_pressure[{key}]"
        bad = [x.title for x in failed if x.id.startswith(f"{at}.")]
        rows.append({
            "key": key, "id": f"{at}.governing", "title": of.title, "scope": scope_of(f"{at}.governing"),
            "working": float(of.pressures.working), "surge": float(of.pressures.surge),
            "credible": float(of.pressures.credible), "governing": float(of.governing), "class": of.rating_name,
            "rating": float(of.rating), "rating_used": float(of.rating_used),
            "trip": float(of.trip), "relief": None if of.relief is None else float(of.relief),
            "relief_flow": None if of.relief is None else float(of.pressures.relief_flow),
            "verdict": "fails" if bad else "passes", "fails": "; ".join(bad), "caution": dp.CAUTION,
        })
    return rows
