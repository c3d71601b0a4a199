"""From the feed rates of a dosing line to what is bought: pump, column, mixing, tanks, bund, deliveries, money."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from desalbook.dosing import decay
from desalbook.dosing import hardware_relations as h
from desalbook.dosing import relations as r
from desalbook.dosing.line import Dose
from desalbook.hydraulics.rows import least_row
from desalbook.tables import Row, table
from desalbook.trail import Figure, assumed, checked, note, picked, scope
from desalbook.trail.inputs import Inputs

__all__ = ["Hardware", "Place", "hardware"]

@dataclass(frozen=True)
class Place:
    """Where a chemical enters the water.

    Parameters
    ----------
    bore : Figure or None
        Inner diameter of the pipe, m; None where it is not known.
    flow : Figure
        m3/s in that pipe.
    shut_off : Figure
        Highest pressure of the line, Pa gauge.
    """

    bore: Figure | None
    flow: Figure
    shut_off: Figure


@dataclass(frozen=True)
class Hardware:
    """What one dosing line is built of and uses; m3, m3/s, s, kg, and the currency of the design.

    Parameters
    ----------
    row : Row
        Of the table of chemicals.
    pump_capacity, turndown, day_tank, store, bund : Figure
        Of the equipment as picked.
    delivery : str
        Words for the way it comes; ``delivery_interval`` its time.
    monthly_use, yearly_use, yearly_cost : Figure
        kg as bought; in 30 days of running, in a year with its stops.
    chlorate : Figure or None
        kg/m3 that hypochlorite brings with it.
    """

    row: Row
    pump_capacity: Figure
    turndown: Figure
    day_tank: Figure
    store: Figure
    bund: Figure
    delivery: str
    delivery_interval: Figure
    monthly_use: Figure
    yearly_use: Figure
    yearly_cost: Figure
    chlorate: Figure | None


def hardware(inp: Inputs, prefix: str, line: Dose, place: Place, *, availability: Figure,
             places: Sequence[str] = ()) -> Hardware:
    """Size what one dosing line is built of.

    Parameters
    ----------
    inp : Inputs
    prefix : str
        Part of the ids, for example ``"antiscalant"``.
    line : Dose
    place : Place
    availability : Figure
        Share of the year the plant runs.
    places : sequence of str
        Names of ``injection.points``; the travel time behind the quill is judged where it is among them.
    """
    row = table("chemicals")[line.neat.chemical]
    with scope("plant", because=[line.feed_rate]):
        capacity, turned = _pump(inp, prefix, line)
        _pressure(inp, prefix, place, line)
        _column(inp, prefix, capacity)
        _mixing(inp, prefix, place, places)
        day, _ = least_row(f"{prefix}.day_tank_volume", "chemical_tanks", "volume", line.day_tank,
                           title="Day tank, size", rule="least size that holds the supply of a day tank",
                           do="write a shorter dosing.day_tank_time, or fill it more often")
        store, delivery, interval = _store(inp, prefix, line)
        tanks = h.both_tanks.at(f"{prefix}.tanks_volume", tank_volume=store, day_tank_volume=day)
        bund = h.containment.at(f"{prefix}.bund", largest_tank=store, tanks_volume=tanks,
                                containment_share=inp("dosing.containment_share"),
                                containment_total=inp("dosing.containment_total"))
        lasts = h.lasting.at(f"{prefix}.store_time", volume=store, dosing_flow=line.mean_neat,
                             title="Age of the store when it runs out")
        made = decay.ageing(inp, prefix, line, lasts) if row["role"].value == "oxidant" else None
        used = h.used_in_a_year.at(f"{prefix}.yearly_use", dosing_flow=line.mean_neat,
                                   solution_density=line.neat.density, availability=availability)
        cell = row["price"]
        price = assumed(f"{prefix}.price", cell.value, cell.kind, title=f"{cell.title}, {row.title.lower()}",
                        symbol=cell.symbol, text=cell.text, source=cell.source, place=cell.place,
                        table="chemicals", row=row.key)
        cost = h.cost_of.at(f"{prefix}.yearly_cost", solution_used=used, price=price)
        _handling(prefix, row, line)
    return Hardware(row, capacity, turned, day, store, bund, delivery, interval, line.monthly_use, used, cost, made)


def _pump(inp: Inputs, prefix: str, line: Dose) -> tuple[Figure, Figure]:
    wanted = h.capacity_wanted.at(f"{prefix}.capacity_wanted", highest_feed=line.feed_rate_highest,
                                  pump_margin=inp("dosing.pump_margin"))
    capacity = inp(f"{prefix}.pump_capacity")
    if capacity is None:
        capacity, _ = least_row(f"{prefix}.pump_capacity", "dosing_pumps", "capacity", wanted,
                                title="Capacity of the dosing pump",
                                rule="least capacity that gives the highest feed with its margin",
                                do=f"write {prefix}.pump_capacity to hold another, or a stronger solution "
                                   f"({prefix}.strength)")
    else:
        checked(f"{prefix}.pump_capacity.check", capacity, ">=", wanted, title="Capacity of the dosing pump",
                do=f"write a larger {prefix}.pump_capacity, or leave it out", caution=line.neat.caution)
    turned = r.turndown.at(f"{prefix}.turndown", highest_feed=capacity, lowest_feed=line.feed_rate_lowest,
                           title="Turndown the pump must make", symbol="r_q")
    speed = h.speed_part.at(f"{prefix}.speed_turndown", turndown=turned, speed_span=inp("dosing.speed_span"))
    stroke = h.stroke_part.at(f"{prefix}.stroke_turndown", turndown=turned, speed_turndown=speed)
    whole = assumed(f"{prefix}.full_stroke", 1.0, "factor", title="Full stroke", symbol="r_h", source="definition")
    for suffix, flow, at, words in (("", line.feed_rate, whole, "usual dose, full stroke"),
                                    ("_highest", line.feed_rate_highest, whole, "highest dose, full stroke"),
                                    ("_lowest", line.feed_rate_lowest, stroke, "lowest dose, least stroke")):
        h.setting.at(f"{prefix}.speed{suffix}", dosing_flow=flow, pump_capacity=capacity, stroke_turndown=at,
                     title=f"Speed of the dosing pump, {words}")
    checked(f"{prefix}.turndown.check", turned, "<=", inp("dosing.span"), title="Turndown of the dosing pump",
            do="split the range between two pumps, thin the solution, or write a larger dosing.span",
            caution=line.neat.caution)
    return capacity, turned


def _pressure(inp: Inputs, prefix: str, place: Place, line: Dose) -> None:
    wanted = h.pump_pressure_wanted.at(f"{prefix}.pump_pressure", injection_pressure=place.shut_off,
                                       over_pressure=inp("dosing.over_pressure"))
    checked(f"{prefix}.pressure.check", inp("dosing.pump_pressure"), ">=", wanted,
            title="Dosing pump against the line at shut-off",
            do="write a higher dosing.pump_pressure, or move the quill to where the line is weaker",
            caution=line.neat.caution)


def _column(inp: Inputs, prefix: str, capacity: Figure) -> None:
    needed = h.drawn.at(f"{prefix}.draw_down", pump_capacity=capacity, draw_down_time=inp("dosing.draw_down_time"))
    least_row(f"{prefix}.calibration_column", "calibration_columns", "volume", needed, title="Calibration column",
              rule="least column that holds the draw-down", do="write a shorter dosing.draw_down_time")


def _mixing(inp: Inputs, prefix: str, place: Place, places: Sequence[str]) -> None:
    if place.bore is None:
        return
    kind = inp("dosing.mixing")
    row = table("mixing").row(kind, "dosing.mixing")
    cell = row["diameters"]
    with scope(because=[kind]):
        diameters = assumed(f"{prefix}.mixing_diameters", cell.value, cell.kind, title=cell.title,
                            symbol=cell.symbol, text=cell.text, source=cell.source, place=cell.place,
                            table="mixing", row=row.key)
    length = h.mixing_length.at(f"{prefix}.mixing_length", inner_diameter=place.bore, mixing_diameters=diameters)
    time = h.mixing_time.at(f"{prefix}.mixing_time", length=length, inner_diameter=place.bore, flow=place.flow)
    if prefix in places:
        checked(f"{prefix}.mixing.check", inp(f"injection.points[{prefix}].travel_time"), ">=", time,
                title="Travel time behind the quill against the mixing time",
                do="move the next place downstream, or write a static mixer")


def _store(inp: Inputs, prefix: str, line: Dose) -> tuple[Figure, str, Figure]:
    """Delivery that lasts long enough, and the store that takes it."""
    least = inp("dosing.delivery_time")
    rows = table("deliveries").ascending("volume")
    needed = r.stored.at(f"{prefix}.delivery_least", dosing_flow=line.mean_neat, storage_time=least,
                         title="Least volume of a delivery")
    enough = [x for x in rows if x["volume"].value >= needed.value * (1 - 1e-9)]
    won = enough[0] if enough else rows[-1]
    volume = picked(
        f"{prefix}.delivery_volume", won["volume"].value, "volume", title="Volume of one delivery", symbol="V_l",
        rule="least delivery that lasts the interval, or the largest there is",
        candidates=[{"key": x.key, "value": x["volume"].value, "won": x is won} for x in rows],
        inputs={"least": needed}, why=won.title, table="deliveries", source=won.source)
    cell = won["load_factor"]
    with scope(because=[volume]):
        factor = assumed(f"{prefix}.load_factor", cell.value, cell.kind, title=cell.title, symbol=cell.symbol,
                         text=cell.text, source=cell.source, place=cell.place, table="deliveries", row=won.key)
    wanted = h.store_wanted.at(f"{prefix}.store_wanted", dosing_flow=line.mean_neat,
                               storage_time=inp("dosing.storage_time"), delivery_volume=volume, load_factor=factor)
    store, _ = least_row(f"{prefix}.store_volume", "chemical_tanks", "volume", wanted, title="Store, size",
                         rule="least size that holds the supply and a delivery",
                         do="write a shorter dosing.storage_time, or a shorter dosing.delivery_time")
    interval = h.delivery_interval.at(f"{prefix}.delivery_interval", delivery_volume=volume,
                                      dosing_flow=line.mean_neat)
    return store, won.title, interval


def _handling(prefix: str, row: Row, line: Dose) -> None:
    note(f"{prefix}.handling", title=f"Handling of {row.title.lower()}", verdict="holds",
         why=f"{row['hazard'].value} {row['caution'].value} {row['keeping'].value}",
         do="follow the safety data sheet and local codes: eyewash and shower within 10 s, ventilation, "
            "protective gear, a bund and a fill coupling of its own",
         inputs={"feed_rate": line.feed_rate},
         caution="The safety data sheet, local codes and licensed practice govern.")
