"""Chemical tanks and deliveries: day tank, bulk storage, bund, use and cost of a year, neighbours in storage."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Any

from desalbook.balances import YEAR, sum_of_volumes
from desalbook.dosing.chemicals import Chemical, chemical
from desalbook.dosing.chlorination import ageing
from desalbook.dosing.dosing_line import Dose, stored
from desalbook.dosing.dosing_pumps import Place, calibration_column, mixing, pump_against_line, pump_capacity
from desalbook.dosing.dosing_steps import PLACES
from desalbook.hydraulics.rows import standard_size
from desalbook.tables import Row, table
from desalbook.trail import (
    Figure,
    assumed,
    checked,
    constant,
    maximum,
    note,
    picked,
    relation,
    scope,
    values,
)
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit, limit_source
from desalbook.trail.words import unit_words
from desalbook.units import (
    KINDS,
    M3,
    Factor,
    Fraction,
    Kg,
    KgPerM3,
    Money,
)

__all__ = [
    "Hardware",
    "bulk_storage_wanted",
    "bund_volume",
    "containment",
    "cost_of",
    "hardware",
    "incompatible",
    "lasting",
    "price_of",
    "shared_limits",
    "side_by_side",
    "used_in_a_year",
]

DoseFlow = Annotated[float, KINDS["flow.dose"]]
Litres = Annotated[float, KINDS["volume.small"]]
Days = Annotated[float, KINDS["time.day"]]
Seconds = Annotated[float, KINDS["time.second"]]
KILOGRAM = constant("kg_1", 1.0, "kg", source="definition", title="One kilogram")


@relation("Time a tank lasts", symbol="t_l", unit="s", source="definition")
def lasting(volume: M3, dosing_flow: DoseFlow) -> Days:
    """Time a chemical tank lasts at the mean feed rate.

    Usable volume only: what lies below the outlet does not count.
    """
    return volume / dosing_flow


@relation("Required bulk-storage volume", symbol="V_s", unit="m^3", source="wi-nr-811", place="811.40(1)(a)")
def bulk_storage_wanted(dosing_flow: DoseFlow, storage_time: Days, delivery_volume: M3, load_factor: Factor) -> M3:
    """Bulk storage volume required.

    Days of autonomy, or a full delivery with room to spare, whichever is larger.
    """
    return maximum(dosing_flow * storage_time, delivery_volume * load_factor)


@relation(
    "Volume of the bund",
    symbol="V_b",
    unit="m^3",
    source="uk-oil-storage-2001",
    place="110 % of the largest tank or 25 % of all; an analogue of practice for chemicals",
    note="other items in the bund come on top; local codes govern",
)
def containment(largest_tank: M3, containment_fraction: Fraction, tanks_volume: M3, containment_total: Fraction) -> M3:
    """Bund volume: the largest tank with an allowance, or a fraction of all tanks.

    The larger of the two rules holds; rain and fire water follow local codes.
    """
    return maximum(largest_tank * (1 + containment_fraction), tanks_volume * containment_total)


@relation("Solution used in a year", symbol="m_y", unit="kg", source="definition")
def used_in_a_year(dosing_flow: DoseFlow, solution_density: KgPerM3, availability: Fraction) -> Kg:
    """Solution used in a year.

    Mean feed rate with the stops of the plant in it; losses when tanks are cleaned are not counted.
    """
    return dosing_flow * solution_density * YEAR * availability


@relation(
    "Cost of a year",
    symbol="C_y",
    unit="1",
    source="common-practice",
    note="in the currency of the design; prices are to be asked for",
)
def cost_of(solution_used: Kg, price: Factor) -> Money:
    """Yearly cost of a chemical.

    Mass of solution bought times its price as delivered; disposal, rental and demurrage are not in it.
    """
    return solution_used / KILOGRAM * price


@relation(
    "Volume of the bund",
    symbol="V_b",
    unit="m^3",
    source="co-8-ccr-1206",
    note="10 % sheltered, 25 % in the rain; local codes govern",
)
def bund_volume(tank_volume: M3, containment_fraction: Fraction, displaced_volume: M3) -> M3:
    """Bund volume: largest tank, an allowance and what else stands in the bund.

    10 % sheltered and 25 % in the rain by the rule cited; local codes govern.
    """
    return tank_volume * (1 + containment_fraction) + displaced_volume


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


def price_of(id: str, of: Chemical) -> Figure:
    """Price of a kilogram as bought, as a line."""
    cell = of.row["price"]
    return assumed(id, cell.value, cell.kind, title=f"{cell.title}, {of.row.title.partition(',')[0].lower()}",
                   symbol=cell.symbol,
                   text=cell.text, source=cell.source, place=cell.place, table="chemicals", row=of.key)


def shared_limits(inp: Inputs) -> None:
    """What all dosing lines share against its limits: the day tank and the draw-down of the calibration column."""
    checked("dosing.day_tank_time.check", inp("dosing.day_tank_time"), "<=", limit("day-tank-high"),
            title="Day-tank autonomy", source=limit_source("day-tank-high"),
            do="shorten dosing.day_tank_time: the tank limits what a mistake can dose")
    checked("dosing.draw_down_time.check", inp("dosing.draw_down_time"), ">=", limit("calibration-time"),
            title="Draw-down time of the calibration columns", source=limit_source("calibration-time"),
            do="lengthen dosing.draw_down_time")


def hardware(
    inp: Inputs, prefix: str, line: Dose, place: Place, *, availability: Figure, places: Sequence[str] = ()
) -> Hardware:
    """Size what one dosing line is built of.

    Parameters
    ----------
    inp : callable
    prefix : str
        Part of the ids, for example ``"antiscalant"``.
    line : Dose
    place : Place
    availability : Figure
        Share of the year the plant runs.
    places : sequence of str
        Names of ``injection.points``; the travel time downstream of the quill is judged where it is among them.
    """
    row = line.neat.chemical.row
    with scope("plant", because=[line.feed_rate]):
        capacity, turned = pump_capacity(inp, prefix, line)
        pump_against_line(inp, prefix, place, line)
        calibration_column(inp, prefix, capacity)
        mixing(inp, prefix, place, places)
        day = standard_size(
            inp,
            f"{prefix}.day_tank_volume",
            "chemical_tanks",
            "volume",
            line.day_tank,
            title="Day tank, size",
            rule="smallest size that holds the day-tank autonomy",
            do="shorten dosing.day_tank_time, or fill it more often",
        )
        store, wanted, delivery, interval = _store(inp, prefix, line)
        tanks = sum_of_volumes.at(f"{prefix}.tanks_volume", volume=store, other_volume=day, symbol="V_T",
                                  title="Volume of tanks in the bund")
        bund = containment.at(
            f"{prefix}.bund",
            largest_tank=store,
            tanks_volume=tanks,
            containment_fraction=inp("dosing.containment_fraction"),
            containment_total=inp("dosing.containment_total"),
        )
        lasting.at(
            f"{prefix}.storage_autonomy",
            volume=store,
            dosing_flow=line.mean_neat,
            title="Storage autonomy of a full tank",
        )
        made = None
        if line.neat.chemical.role.ages:
            # a tank of the next size up is filled no further than what is wanted, so its solution grows no older
            oldest = lasting.at(f"{prefix}.storage_age", volume=wanted, dosing_flow=line.mean_neat,
                                title="Age at end of storage, filled as wanted")
            made = ageing(inp, prefix, line, oldest)
        used = used_in_a_year.at(
            f"{prefix}.yearly_use",
            dosing_flow=line.mean_neat,
            solution_density=line.neat.density,
            availability=availability,
        )
        price = price_of(f"{prefix}.price", line.neat.chemical)
        cost = cost_of.at(f"{prefix}.yearly_cost", solution_used=used, price=price)
    return Hardware(row, capacity, turned, day, store, bund, delivery, interval, line.monthly_use, used, cost, made)


def _store(inp: Inputs, prefix: str, line: Dose) -> tuple[Figure, Figure, str, Figure]:
    """Delivery that lasts long enough, and the store that takes it: its size and the volume wanted in it (m3)."""
    least = inp("dosing.delivery_time")
    rows = table("deliveries").ascending("volume")
    needed = stored.at(
        f"{prefix}.delivery_minimum", dosing_flow=line.mean_neat, storage_time=least,
        title="Smallest volume of a delivery"
    )
    enough = [x for x in rows if x["volume"].value >= needed.value * (1 - 1e-9)]
    won = enough[0] if enough else rows[-1]
    rule = "smallest delivery that lasts the interval, or the largest there is"
    time, ages = inp("dosing.storage_time"), line.neat.chemical.role.ages
    if ages and _outlasts(won, line, time):
        # what loses strength is brought more often, in loads that do not outlast the storage time
        fresh = [x for x in rows if x["volume"].value < won["volume"].value and not _outlasts(x, line, time)]
        won = fresh[-1] if fresh else rows[0]
        rule += "; of what loses strength, the largest whose stock does not outlast the storage time"
    volume = picked(
        f"{prefix}.delivery_volume",
        won["volume"].value,
        "volume",
        title="Volume of one delivery",
        symbol="V_l",
        rule=rule,
        candidates=[{"key": x.key, "value": x["volume"].value, "won": x is won} for x in rows],
        inputs={"least": needed} | ({"dosing_flow": line.mean_neat, "storage_time": time} if ages else {}),
        why=won.title,
        table="deliveries",
        source=won.source,
    )
    cell = won["load_factor"]
    with scope(because=[volume]):
        factor = assumed(
            f"{prefix}.load_factor",
            cell.value,
            cell.kind,
            title=cell.title,
            symbol=cell.symbol,
            text=cell.text,
            source=cell.source,
            place=cell.place,
            table="deliveries",
            row=won.key,
        )
    wanted = bulk_storage_wanted.at(
        f"{prefix}.bulk_storage_wanted",
        dosing_flow=line.mean_neat,
        storage_time=time,
        delivery_volume=volume,
        load_factor=factor,
    )
    store = standard_size(
        inp,
        f"{prefix}.bulk_storage_volume",
        "chemical_tanks",
        "volume",
        wanted,
        title="Bulk storage tank",
        rule="smallest size that holds the supply and a delivery",
        do="shorten dosing.storage_time or dosing.delivery_time",
    )
    interval = lasting.at(f"{prefix}.delivery_interval", volume=volume, dosing_flow=line.mean_neat,
                          title="Interval of deliveries")
    return store, wanted, won.title, interval


def _outlasts(delivery: Row, line: Dose, time: Figure) -> bool:
    """Whether the stock that a delivery asks for lasts longer than the storage time."""
    with values(keep=False):
        wanted = bulk_storage_wanted.at("", dosing_flow=line.mean_neat, storage_time=time,
                                        delivery_volume=delivery["volume"].value,
                                        load_factor=delivery["load_factor"].value)
        return float(lasting.at("", volume=wanted, dosing_flow=line.mean_neat)) > float(time) * (1 + 1e-9)


def incompatible(one: str, other: str) -> Row | None:
    """Row of the table of pairs for two chemicals, keys of the table of chemicals; None where none is listed."""
    roles = {chemical(k).role.key for k in (one, other)}
    return next(
        (x for x in table("incompatible_pairs").values() if {x["first"].value, x["second"].value} == roles), None
    )


def side_by_side(inp: Inputs, bays: Sequence[str], lines: Mapping[str, Dose], *, because: Iterable[Any] = ()) -> None:
    """Refuse neighbours that react where no wall stands between them, or one bund holds both.

    Parameters
    ----------
    bays : sequence of str
        Names of ``chemical_storage.bays``, as they stand.
    lines : mapping
        Dosing lines of the plant by name.
    because : iterable of Choice or Figure
        What decides which lines the plant has.
    """
    fed = {n: x.feed_rate for n, x in lines.items()}
    with scope("plant", because=[*because, *fed.values()]):
        lost = [n for n in lines if n in PLACES and n not in bays]
        note(
            "chemical_storage.complete",
            title="Every chemical has its bay",
            verdict="fails" if lost else "passes",
            why=f"no bay for {', '.join(PLACES[n].lower() for n in lost)}" if lost else "all have one",
            do="add a row to chemical_storage.bays",
            inputs=fed,
        )
        here = [n for n in bays if n in lines]
        for first, second in pairwise(here):
            pair = incompatible(lines[first].neat.chemical.key, lines[second].neat.chemical.key)
            if pair is None:
                continue
            between = bays[bays.index(first) : bays.index(second)]
            walls = {f"wall {n}": inp(f"chemical_storage.bays[{n}].wall") for n in between}
            bunds = {f"bund {n}": inp(f"chemical_storage.bays[{n}].shares_bund") for n in between}
            open_, shared = all(w == "no" for w in walls.values()), all(b == "yes" for b in bunds.values())
            how = "in one bund" if shared else "side by side" if open_ else "apart"
            note(
                f"chemical_storage.beside[{first}-{second}]",
                title=f"Bays: {unit_words(first)} / {unit_words(second)}",
                verdict="fails" if open_ or shared else "passes",
                why=f"{how}; together they make {pair['makes'].value}",
                do="set a wall between them, and give each its own bund, vent, drain and fill coupling",
                inputs=walls | bunds,
                caution=f"{pair['caution'].value} The safety data sheets and local codes govern.",
            )
