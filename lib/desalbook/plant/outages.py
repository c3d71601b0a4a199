"""The table of single outages: for each unit that may be out, the product left and the checks that fail."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from desalbook.balances import partial_flow
from desalbook.dosing import ALONG_THE_FEED
from desalbook.duty import DutyFlows
from desalbook.plant.operations import UnitOperations
from desalbook.tables import table
from desalbook.trail import Figure, assumed, current, minimum, picked, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import Count, FiltrationRate, Fraction

__all__ = ["outages"]


@relation(
    "Remaining capacity, one out (N-1)",
    symbol="x_u",
    unit="1",
    source="definition",
    note="like equipment side by side share the flow; none gives more than its duty",
)
def unit_share_of(duty_count: Count, standby_count: Count) -> Fraction:
    """Fraction of its duty a group of like units does with one out of service.

    Units left over those on duty, at most all of it; none gives more than its duty.
    """
    return minimum(1, (duty_count + standby_count - 1) / duty_count)


@relation(
    "Capacity of remaining filters",
    symbol="x_f",
    unit="1",
    source="definition",
    note="one out while another is backwashed; at the maximum rate allowed for that case",
)
def filter_share_of(rate_limit_outage: FiltrationRate, filter_rate: FiltrationRate, filters: Count) -> Fraction:
    """Fraction of the flow the filters left can take.

    One out of service while another is backwashed, at the maximum rate for that case; never above all of it.
    """
    return minimum(1, rate_limit_outage * (filters - 2) / (filter_rate * filters))


@relation("Capacity of remaining tanks", symbol="x_u", unit="1", source="definition")
def tank_share_of(tanks: Count) -> Fraction:
    """Fraction of the flow the tanks left can carry.

    All of it where there is another tank, else nothing: a tank is in the line or it is not.
    """
    return minimum(1, tanks - 1)


@relation(
    "Output, one train at part load",
    symbol="x_p",
    unit="1",
    source="definition",
    note="the train turns down in proportion, as far as its vessels keep their minimum concentrate flow",
)
def left_per_train(unit_share: Fraction, trains: Count, trains_standby: Count) -> Fraction:
    """Fraction of product left when one train's group loses one.

    The other trains go on and a standby train takes its place; the train turns down in proportion.
    """
    return minimum(1, (trains - 1 + unit_share + trains_standby) / trains)


@relation("Output, all trains alike", symbol="x_p", unit="1", source="definition")
def left_of_shared(unit_share: Fraction) -> Fraction:
    """Fraction of product left when a group that all trains share loses one.

    All trains turn down alike to what the group still carries.
    """
    return unit_share


@dataclass(frozen=True)
class Group:
    """Like units side by side: on duty, on standby, and the part of their duty they do with one out of service."""

    duty: Figure
    standby: Figure
    share: Figure


def outages(inp: Inputs, ops: UnitOperations) -> list[dict[str, Any]]:
    """Record the product left for each single outage and give the table its rows (SI)."""
    d, pre = ops.duty, ops.pretreated
    one = assumed("outage.one", 1.0, "count", title="One unit per train", source="definition")
    none = assumed("outage.none", 0.0, "count", title="No standby unit", source="definition")
    groups: dict[str, Group] = {}

    def group(key: str, duty: Figure, standby: Figure, share: Figure | None = None) -> None:
        with scope("train" if table("outages")[key]["serves"].value == "train" else "plant"):
            found = share if share is not None else unit_share_of.at(
                f"outage[{key}].share", duty_count=duty, standby_count=standby)
        groups[key] = Group(duty, standby, found)

    lost = assumed("outage[train].share", 0.0, "fraction", title="Fraction of a train stopped", source="definition")
    group("train", d.trains, inp("duty.trains_standby"), lost)
    group("storage", pre.tank.count, none,
          tank_share_of.at("outage[storage].share", tanks=pre.tank.count))
    group("feed_pump", inp("feed_pump.duty_count"), inp("feed_pump.standby_count"))
    with scope(because=[pre.present]):
        if pre.battery is not None:
            group("filters", pre.battery.count, none, filter_share_of.at(
                "outage[filters].share", rate_limit_outage=inp("filters.rate_limit_outage"),
                filter_rate=pre.battery.rate, filters=pre.battery.count))
            group("backwash_pump", inp("backwash_pump.duty_count"), inp("backwash_pump.standby_count"))
    group("cartridge", pre.cartridges.housings, inp("cartridge.housings_standby"))
    group("hp_pump", inp("hp_pump.duty_count"), inp("hp_pump.standby_count"))
    device = ops.device.choice
    with scope(because=[device]):
        if ops.device.kind.recovers:
            best = ops.pressure.machines.best
            if best is not None and best.units is not None and best.one_out is not None:
                group("recovery", best.units, none, best.one_out)
            else:
                group("recovery", one, none)
        if ops.pressure.booster is not None:
            group("booster", one, inp("booster.standby_count"))
    spare = assumed("outage.dosing_standby", 1.0, "count", title="Standby dosing pumps per chemical",
                    source="il-35-iac-604", place="two feeders for what is essential, the standby replaces the largest")
    said = [pre.present, inp("duty.product_use"), inp("product.ph_adjustment"), inp("product.remineralisation"),
            *[inp(f"{name}.present") for name in ALONG_THE_FEED]]
    for name in ops.doses.lines():
        if f"dosing_{name}" in table("outages"):
            with scope(because=said):
                group(f"dosing_{name}", one, spare)
    rows, left = [], {}
    for key, of in groups.items():
        left[key] = _left(key, of.share, d, inp)
        flow = partial_flow.at(f"outage[{key}].product_flow", flow=d.net_product, fraction=left[key],
                               title="Remaining net product", symbol="Q_left")
        rows.append(_table_row(key, of, left[key], flow, d.trains))
    worst = sorted(left, key=lambda key: float(left[key]))[0]
    picked("outage.minimum", float(left[worst]), "fraction", title="Output, worst single failure (N-1)", symbol="x_p",
           rule="smallest over the outages", inputs=dict(left), why=f"{table('outages')[worst].title.lower()} is out",
           candidates=[{"key": k, "value": float(v), "won": k == worst} for k, v in left.items()])
    return rows


def _left(key: str, share: Figure, d: DutyFlows, inp: Inputs) -> Figure:
    id = f"outage[{key}].product_left"
    if key == "train" or table("outages")[key]["serves"].value == "train":
        return left_per_train.at(id, unit_share=share, trains=d.trains, trains_standby=inp("duty.trains_standby"))
    return left_of_shared.at(id, unit_share=share)


_CHECKS = {"filters": ("filters.rate_outage.check",), "cartridge": ("cartridge.loading_outage.check",
                                                                   "cartridge.outage")}


def _table_row(key: str, of: Group, left: Figure, flow: Figure, trains: Figure) -> dict[str, Any]:
    row, book = table("outages")[key], current().lines
    each = row["serves"].value == "train"
    bad = [book[id].title for id in _CHECKS.get(key, ()) if id in book
           and book[id].more["verdict"] in ("fails", "review")]
    lost = float(left) < 1.0
    partly = row.get("consequence_partly") if float(of.share) else None
    consequence = (partly or row["consequence"]).value
    if lost:
        bad.insert(0, f"net product: {float(left):.0%} left")
    return {"key": key, "id": f"outage[{key}].product_left", "title": row.title,
            "serves": "each train" if each else "all trains", "trains_served": int(trains),
            "duty": int(of.duty), "standby": int(of.standby), "share": float(of.share),
            "product_left": float(left), "product_flow": float(flow), "fails": "; ".join(bad),
            "consequence": consequence if lost else _taken_over(float(of.duty), float(of.standby))}


def _taken_over(duty: float, standby: float) -> str:
    """Who does the work of one that is out, where nothing is lost."""
    if standby:
        return "the standby takes over"
    return "the other takes over" if duty == 2 else "the others take over"
