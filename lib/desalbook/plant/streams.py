"""The streams of the plant as an edge list, and the stops of the water line.

All flows are those of one train at the design temperature with aged membranes, backwash averaged over a day.
Chemicals stand as rows of their own, with the mass of what is dosed for the whole plant and the place where it
enters; their ions are not added to those of the streams, and each row says what is omitted.
"""

from __future__ import annotations

from typing import Any

from desalbook.balances import difference_of_flows
from desalbook.dosing import STEPS
from desalbook.dosing.chemicals import not_followed
from desalbook.hydraulics.energy_recovery import WaterLineRole
from desalbook.hydraulics.head import hydrostatic_pressure
from desalbook.plant.operations import UnitOperations
from desalbook.plant.stage_streams import staged_streams
from desalbook.product.routes import REAGENTS
from desalbook.trail import Figure, values
from desalbook.trail.corner import Corner
from desalbook.units import show
from desalbook.water.species import IONS

__all__ = ["CORNER", "stops", "streams"]

CORNER = Corner("design", "aged")


def _row(key: str, start: str, end: str, title: str, **more: Any) -> dict[str, Any]:
    row: dict[str, Any] = {"key": key, "from": start, "to": end, "title": title, "scope": "train", "corner": CORNER}
    for name, value in more.items():
        row[name] = float(value) if isinstance(value, (Figure, float, int)) else value
        if isinstance(value, Figure):
            row.setdefault("id", value.id)
            row.setdefault("ids", {})[name] = value.id  # for the readers of the record
    return row


def _ions(row: dict[str, Any], water: float, molality, boron: float) -> dict[str, Any]:
    """Add mass of water, moles of each ion and mass of boron a second."""
    row["water_kg_s"] = water
    charge = 0.0
    for ion, b in molality.items():
        if ion == "B":
            continue
        row[f"{ion}_mol_s"] = float(b) * water
        charge += IONS[ion].charge * float(b) * water
    row["boron_kg_s"] = boron
    row["charge_mol_s"] = charge
    return row


def streams(inp, ops: UnitOperations) -> list[dict[str, Any]]:
    """Edge list of one train; see the module's text."""
    a, pre, w, p = ops.array, ops.pretreated, ops.waters, ops.pressure
    at, r, an = w.at["design"], a.by_corner[CORNER], w.analysis
    device = p.by_corner[CORNER]
    feed_water, x_b = float(a.feed_water[CORNER]), float(w.boron)
    per_flow = feed_water / float(a.feed_flow)
    sea = {"temperature": at.temperature, "salinity": an.salinity, "density": at.density}

    def raw(key, start, end, title, flow, pressure):
        row = _row(key, start, end, title, volume_flow=flow, pressure=pressure, **sea)
        water = per_flow * float(flow)
        return _ions(row, water, an.molality, water * x_b)

    rows = []
    taken = {"backwash": 0.0,
             "filter_to_waste": 0.0}  # what is drained, the backwash fills again: it is counted in the backwash
    if pre.wash is not None:
        taken = {"backwash": float(pre.wash.backwash_average),
                 "filter_to_waste": float(pre.wash.filter_to_waste_average)}
        if pre.wash.schedule.source.takes_concentrate:
            taken["backwash"] = 0.0
        if inp("feed_pump.carries_filter_to_waste") == "no":
            taken["filter_to_waste"] = 0.0  # the table stands for a moment without rinse; the feed lost then is a line
    total = float(a.pretreated_flow) + taken["backwash"] + taken["filter_to_waste"]
    rows.append(raw("raw", "sea", "tank", "Raw water", total, 0.0))
    suction = pre.suction.pressure
    if pre.wash is not None:
        if taken["backwash"]:
            rows.append(raw("backwash", "tank", "waste", "Backwash water, mean", taken["backwash"], 0.0))
        rows.append(raw("filtered", "tank", "filters", "Into the filters",
                        float(a.pretreated_flow) + taken["filter_to_waste"], pre.discharge))
        rows.append(raw("filter_to_waste", "filters", "waste", "Filter-to-waste, mean", taken["filter_to_waste"], 0.0))
        rows.append(raw("filtrate", "filters", "cartridges", "Filtrate", float(a.pretreated_flow),
                        float(pre.discharge) - float(pre.dirty_drop)))
    else:
        rows.append(raw("filtrate", "tank", "cartridges", "To the cartridges", float(a.pretreated_flow), pre.discharge))
    joint = "feed joint" if a.plan.joined else "pressure section"
    rows.append(raw("ro_feed", "cartridges", joint, "Feed of the pressure section", a.pretreated_flow, suction))
    if ops.device.over_flush is not None:
        with values(keep=False):
            more = difference_of_flows.at("value", flow=a.pretreated_flow, second_flow=a.feed_flow)
        rows.append(raw("over_flush", joint, "outfall", "Over-flush of the ERD", more, device.exhaust_pressure))
    if a.plan.joined:
        return rows + staged_streams(a, CORNER, _row, _ions) + _chemicals(inp, ops, joint)
    permeate = _row("permeate", "pressure section", "product", "Permeate", volume_flow=r["permeate_flow"],
                    pressure=inp("membrane.permeate_pressure"), temperature=at.temperature,
                    salinity=r["permeate_salinity"], density=r.figures["permeate_density"])
    rows.append(_ions(permeate, float(r["permeate_water"]), a.permeate_ions[CORNER],
                      float(r.figures["permeate_boron_flow"])))
    water_c = float(r["concentrate_water"])
    reject = _row("concentrate", "pressure section", "outfall", "Concentrate", volume_flow=r["concentrate_flow"],
                  pressure=device.exhaust_pressure, temperature=at.temperature,
                  salinity=r["concentrate_salinity"], density=r.figures["concentrate_density"])
    boron_c = float(r.figures["concentrate_boron_flow"])
    if ops.device.mixing is not None:
        # the isobaric ERD gives part of the concentrate's salt back to the feed: what leaves is what came in less
        # permeate
        boron_c = feed_water * x_b - float(r.figures["permeate_boron_flow"])
    rows.append(_ions(reject, water_c, a.concentrate_ions[CORNER], boron_c))
    return rows + _chemicals(inp, ops, joint)


def _chemicals(inp, ops: UnitOperations, joint: str) -> list[dict[str, Any]]:
    """Mass of each chemical where it enters, and what of it the ions of the streams leave out."""
    rows, places = [], _places(inp, ops, joint)
    for name, line in ops.doses.lines().items():
        rows.append(_row(name, "dosing", places.get(name, "product"), name.replace("_", " ").capitalize(),
                         chemical_kg_s=line.mass_rate, chemical_mean_kg_s=line.mean_mass_rate,
                         not_followed=not_followed(line.neat.chemical.key)) | {"scope": "plant"})
    for name, rate in ops.minerals.items():
        rows.append(_row(name, "dosing", "product", REAGENTS[name].title, chemical_kg_s=rate, chemical_mean_kg_s=rate,
                         not_followed="the composition of the product has it; its row among the streams is permeate")
                    | {"scope": "plant"})
    return rows


def _places(inp, ops: UnitOperations, joint: str) -> dict[str, str]:
    """Where the chemicals of the feed enter, by the order of the points; those of the product are not in it."""
    names = inp.names("injection.points")
    filtered = ops.pretreated.battery is not None
    order = [n for n in names if n in ("filter", "cartridge")]
    found, passed = {"interpass_ph": "second pass"}, 0
    for name in names:
        if name in order:
            passed = order.index(name) + 1
            continue
        behind = set(order[:passed])
        found[name] = joint if "cartridge" in behind else \
            "cartridges" if "filter" in behind or not filtered else "filters"
    return found | {"chlorination": "tank"}  # at the screen, at the intake pump or into the tank


def _stop(key: str, title: str, pressure, flow, salinity, kind: str, note: str = "") -> dict[str, Any]:
    return {"key": key, "title": title, "pressure": float(pressure), "flow": float(flow),
            "salinity": float(salinity), "kind": kind, "note": note}


def stops(inp, ops: UnitOperations) -> dict[str, Any]:
    """Stops of the water line from sea to product, from the same figures as the streams."""
    a, pre, w, p = ops.array, ops.pretreated, ops.waters, ops.pressure
    r, device, x = a.by_corner[CORNER], p.by_corner[CORNER], float(w.analysis.salinity)
    q, kind = float(a.pretreated_flow), ops.device.kind
    with values(keep=False):
        head = hydrostatic_pressure.at("storage.level_pressure", density=w.at["design"].density,
                                       static_head=pre.tank.level)
    cart = float(pre.cartridges.clean_drop)
    feed = [_stop("sea", "Sea", 0.0, q, x, "sea"), _stop("storage", "Storage", head, q, x, "tank"),
            _stop("feed_pump", "Feed pump", pre.discharge, q, x, "pump")]
    pressure = float(pre.discharge)
    if pre.battery is not None:
        pressure = pressure - float(pre.dirty_drop)
        feed.append(_stop("filters", "Media filters", pressure, q, x, "resistance"))
    feed.append(_stop("cartridge", "Cartridge", float(pre.suction.pressure), q, x, "resistance",
                      note=f"loses {show(cart, 'pressure difference')} when clean"))
    q_hp = float(device.hp_flow)
    feed.append(_stop("hp_pump", "HP pump", device.hp_discharge, q_hp, x, "pump"))
    x_m = float(r.figures["columns"]["salinity"].values[0])
    branch, reject = None, []
    if kind.water_line is WaterLineRole.IN_FEED:
        feed.append(_stop("recovery", kind.stop_title, r["feed_pressure"], q, x, "recovery",
                          note=f"gives {device.boost.show()} to the feed" if device.boost is not None else ""))
    if kind.water_line is WaterLineRole.BRANCH and device.booster_pressure_rise is not None:
        behind = float(r["feed_pressure"]) - float(device.booster_pressure_rise)
        branch = [_stop("recovery", kind.stop_title, behind, device.booster_flow, x_m, "recovery"),
                  _stop("booster", "Booster", r["feed_pressure"], device.booster_flow, x_m, "pump")]
    feed.append(_stop("vessels", "Vessels", r["concentrate_pressure"], a.mixed_flow[CORNER], x_m, "vessels",
                      note=f"{int(a.vessels)} x {int(inp('membrane.elements'))} elements"))
    key, sort = ("recovery", "recovery") if kind.recovers else ("valve", "resistance")
    reject.append(_stop(key, kind.stop_title, device.exhaust_pressure, r["concentrate_flow"],
                        r["concentrate_salinity"], sort))
    reject.append(_stop("outfall", "Outfall", 0.0, r["concentrate_flow"], r["concentrate_salinity"], "outfall"))
    after, made = inp("membrane.permeate_pressure"), ops.finish
    dosed = {STEPS[name].stop for name in ops.doses.lines()}
    if ops.minerals or "product" in dosed:  # what post-treatment made of it stands in its tank, open to the air
        permeate = [_stop("permeate", "Permeate", after, r["permeate_flow"], r["permeate_salinity"], "product"),
                    _stop("product", "Product", 0.0, r["permeate_flow"], float(made.tds) / float(made.water_content),
                          "product")]
    else:
        permeate = [_stop("product", "Permeate", after, r["permeate_flow"], r["permeate_salinity"], "product")]
    there = {of["key"] for of in permeate}
    marks = [("product" if (at := STEPS[name].stop) == "permeate" and at not in there else at, STEPS[name].words,
              line.dose.show()) for name, line in ops.doses.lines().items()]
    return {"feed": feed, "permeate": permeate, "reject": reject, "exchanger_branch": branch,
            "chemicals": marks, "recovery": kind.water_line}
