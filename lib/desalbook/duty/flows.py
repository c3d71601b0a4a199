"""Flows of the duty: from the net product that is guaranteed to permeate, feed and concentrate of one train.

Volumes at feed temperature, as the trade counts them; streams carry mass.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from desalbook.balances import difference_of_flows, flow_per_unit
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, checked, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import KINDS, Count, Fraction, M3PerS

__all__ = [
    "OWN_USES",
    "DutyFlows",
    "TrainFlows",
    "feed_for",
    "flow_of_trains",
    "flows",
    "gross_permeate_of",
    "item_of_own_use",
    "net_of",
    "own_use_of",
    "plant_recovery",
    "recovery_of",
    "train_flows",
    "train_recovery",
]

PerDay = Annotated[float, KINDS["flow.day"]]
OWN_USES = ("flush", "cleaning", "makedown", "contactor", "startup")


@relation("Net product per train, calendar-day average", symbol="Q_t", unit="m^3/s", source="definition")
def net_of_train(net_product: PerDay, trains: Count) -> PerDay:
    """Net product of one train, where that of the whole plant is given.

    Equal trains; a train on standby is not counted.
    """
    return net_product / trains


@relation("Flow of all trains", symbol="Q_net", unit="m^3/s", source="definition")
def flow_of_trains(train_flow: PerDay, trains: Count) -> PerDay:
    """Flow of all running trains, from that of one.

    Equal trains; a train on standby is not counted.
    """
    return train_flow * trains


@relation(
    "Own use, one item",
    symbol="Q_u,i",
    unit="m^3/s",
    source="common-practice",
    note="a share for a first design; the file may state the flow",
)
def item_of_own_use(net_product: PerDay, own_use_share: Fraction) -> PerDay:
    """One item of the plant's own use of permeate, in proportion to its net product.

    Flushing goes with the number of stops and not with flow: a plant that stops often uses more.
    """
    return net_product * own_use_share


@relation("Own use", symbol="Q_u", unit="m^3/s", source="definition")
def own_use_of(
    own_use_flush: PerDay,
    own_use_cleaning: PerDay,
    own_use_makedown: PerDay,
    own_use_contactor: PerDay,
    own_use_startup: PerDay,
) -> PerDay:
    """Permeate that never leaves the plant as product, mean of a calendar day.

    Backwash water of the filters is raw water or concentrate and stands elsewhere.
    """
    return own_use_flush + own_use_cleaning + own_use_makedown + own_use_contactor + own_use_startup


@relation(
    "Gross permeate",
    symbol="Q_g",
    unit="m^3/s",
    source="definition",
    note="while all trains run; standstill is made good by storage",
)
def gross_permeate_of(net_product: PerDay, own_use: PerDay, availability: Fraction) -> PerDay:
    """Gross permeate: net product and own use of a day, made in the hours the plant runs.

    Holds on the average of a year; a stop longer than the storage lasts is a shortage all the same.
    """
    return (net_product + own_use) / availability


@relation("Net product at this permeate", symbol="Q_net", unit="m^3/s", source="definition")
def net_of(gross_permeate: PerDay, own_use: PerDay, availability: Fraction) -> PerDay:
    """Net product that a gross permeate leaves, mean of a calendar day.

    Negative where own use takes more than the plant makes.
    """
    return gross_permeate * availability - own_use


@relation("Feed to the membranes", symbol="Q_f", unit="m^3/s", source="definition")
def feed_for(permeate_flow: M3PerS, recovery: Fraction) -> M3PerS:
    """Membrane feed for a permeate flow at a recovery.

    By volume: the small change of density from feed to permeate and concentrate is neglected.
    """
    return permeate_flow / recovery


@relation("Recovery", symbol="Y", unit="1", source="definition", note="by volume at feed temperature")
def recovery_of(permeate_flow: M3PerS, feed_flow: M3PerS) -> Fraction:
    """Recovery: permeate, or product, over feed, of the boundary the line names.

    Recoveries of two boundaries do not compare: own use and backwash water lie between them.
    """
    return permeate_flow / feed_flow


@dataclass(frozen=True)
class DutyFlows:
    """What the plant must make.

    Parameters
    ----------
    product_flow, own_use, permeate_gross : Figure
        m3/s, whole plant; the first two per calendar day, the last while running.
    net_product : Figure
        m3/s per calendar day that this permeate leaves; equals `product_flow` unless the permeate is held.
    train_permeate : Figure
        m3/s of one train while running.
    trains, availability : Figure
    """

    product_flow: Figure
    own_use: Figure
    permeate_gross: Figure
    net_product: Figure
    train_permeate: Figure
    trains: Figure
    availability: Figure


@dataclass(frozen=True)
class TrainFlows:
    """RO feed, permeate and concentrate of one train (m3/s)."""

    feed: Figure
    permeate: Figure
    reject: Figure


def flows(inp: Inputs, *, optional: Mapping[str, tuple[Choice, bool]] | None = None) -> DutyFlows:
    """Net product, own use and permeate.

    Parameters
    ----------
    inp : Inputs
        Gives the recorded input of an id.
    optional : mapping, optional
        Own uses that stand and fall with a choice of the design, such as ``contactor``: the choice, and whether
        the plant then has it.
    """
    trains, availability = inp.number("duty.trains"), inp.number("duty.availability")
    net, of_train = inp.optional("duty.product_flow"), inp.optional("duty.train_product_flow")
    if net is None:
        net = flow_of_trains.at("duty.product_flow", train_flow=of_train, trains=trains,
                                title="Net product flow, whole plant")
    else:
        with scope("train", count=trains):
            net_of_train.at("duty.train_product_flow", net_product=net, trains=trains)
    depends = optional or {}
    items = {f"own_use_{name}": _own_use(inp, name, net, *depends.get(name, (None, True))) for name in OWN_USES}
    own = own_use_of.at("duty.own_use", **items)
    held = inp.optional("duty.train_permeate")
    if held is None:
        gross = gross_permeate_of.at(
            "duty.permeate_gross", net_product=net, own_use=own, availability=availability
        )
        with scope("train", count=trains):
            train = flow_per_unit.at("duty.train_permeate", flow=gross, units=trains, title="Permeate of one train",
                                     symbol="Q_p")
        return DutyFlows(net, own, gross, net, train, trains, availability)
    needed = gross_permeate_of.at(
        "duty.permeate_needed",
        net_product=net,
        own_use=own,
        availability=availability,
        title="Gross permeate the net product asks for",
    )
    gross = flow_of_trains.at("duty.permeate_gross", train_flow=held, trains=trains,
                              title="Permeate of all running trains", symbol="Q_g")
    left = net_of.at("duty.net_product", gross_permeate=gross, own_use=own, availability=availability)
    checked(
        "duty.permeate_gross.check",
        gross,
        ">=",
        needed,
        title="Permeate for the net product",
        do="raise duty.train_permeate, or clear it to compute it",
    )
    return DutyFlows(net, own, gross, left, held, trains, availability)


def _own_use(inp: Inputs, name: str, net: Figure, choice: Choice | None, present: bool) -> Figure:
    stated = inp.optional(f"duty.own_use_{name}")
    if stated is not None:
        return stated
    row = table("own_use")[name]
    cell = row["share"]
    with scope(because=[choice] if choice is not None else []):
        share = assumed(
            f"duty.own_use_{name}_fraction",
            cell.value if present else 0.0,
            "fraction",
            title=f"{row.title}, of net product",
            symbol=cell.symbol,
            text=cell.text if present else "0 %",
            source=cell.source,
            place=cell.place if present else f"no {name} in this plant",
            table="own_use",
            row=name,
        )
        return item_of_own_use.at(
            f"duty.own_use_{name}",
            net_product=net,
            own_use_share=share,
            title=f"Own use: {row.title.lower()}",
        )


def train_flows(permeate: Figure, recovery: Figure, trains: Figure) -> TrainFlows:
    """RO feed and concentrate of one train, at an RO recovery."""
    with scope("train", count=trains):
        feed = feed_for.at("duty.feed_flow", permeate_flow=permeate, recovery=recovery)
        reject = difference_of_flows.at(
            "duty.reject_flow", flow=feed, second_flow=permeate, title="Concentrate", symbol="Q_r",
            note="by volume; with the densities of the streams the volumes differ by some 0.05 %")
    return TrainFlows(feed, permeate, reject)


def train_recovery(permeate: Figure, feed: Figure, trains: Figure) -> Figure:
    """Permeate over what enters the train: lubrication, leakage and flush streams are in the feed."""
    with scope("train", count=trains):
        return recovery_of.at(
            "duty.train_recovery",
            permeate_flow=permeate,
            feed_flow=feed,
            title="Recovery of the train",
            symbol="Y_t",
        )


def plant_recovery(net_product: Figure, raw_flow: Figure) -> Figure:
    """Net product over raw water, both as average of a calendar day."""
    return recovery_of.at(
        "duty.plant_recovery", permeate_flow=net_product, feed_flow=raw_flow, title="Overall recovery",
        symbol="Y_P",
        note="net product over raw water, backwash and own use included; both as average of a calendar day")
