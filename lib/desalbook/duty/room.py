"""The lines of the duty, in the order the plant needs them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.duty import relations as r
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, checked, scope

__all__ = ["OWN_USES", "DutyFlows", "TrainFlows", "flows", "plant_recovery", "train_flows", "train_recovery"]

OWN_USES = ("flush", "cleaning", "makedown", "contactor", "startup")


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
    """Feed, permeate and reject of the membranes of one train (m3/s)."""

    feed: Figure
    permeate: Figure
    reject: Figure


def flows(inp: Callable[[str], Any], *, contactor: Choice | None = None) -> DutyFlows:
    """Net product, own use and permeate.

    Parameters
    ----------
    inp : callable
        Gives the recorded input of an id.
    contactor : Choice, optional
        The choice of remineralisation; with a calcite contactor its wash of the contactor is assumed.
    """
    trains, availability = inp("duty.trains"), inp("duty.availability")
    net = r.plant_product.at(
        "duty.product_flow", train_product_flow=inp("duty.train_product_flow"), trains=trains
    )
    items = {f"own_use_{name}": _own_use(inp, name, net, contactor) for name in OWN_USES}
    own = r.own_use_of.at("duty.own_use", **items)
    held = inp("duty.train_permeate")
    if held is None:
        gross = r.gross_permeate_of.at(
            "duty.permeate_gross", net_product=net, own_use=own, availability=availability
        )
        with scope("train", count=trains):
            train = r.train_share.at("duty.train_permeate", gross_permeate=gross, trains=trains)
        return DutyFlows(net, own, gross, net, train, trains, availability)
    needed = r.gross_permeate_of.at(
        "duty.permeate_needed",
        net_product=net,
        own_use=own,
        availability=availability,
        title="Gross permeate the net product asks for",
    )
    gross = r.running_net.at("duty.permeate_gross", train_permeate=held, trains=trains)
    left = r.net_of.at("duty.net_product", gross_permeate=gross, own_use=own, availability=availability)
    checked(
        "duty.permeate_gross.check",
        gross,
        ">=",
        needed,
        title="Permeate for the net product",
        do="raise duty.train_permeate, or leave it out so that it is computed",
    )
    return DutyFlows(net, own, gross, left, held, trains, availability)


def _own_use(inp: Callable[[str], Any], name: str, net: Figure, contactor: Choice | None) -> Figure:
    stated = inp(f"duty.own_use_{name}")
    if stated is not None:
        return stated
    row = table("own_use")[name]
    cell = row["share"]
    absent = name == "contactor" and contactor not in ("calcite", "calcite-acid")
    with scope(because=[contactor] if name == "contactor" and contactor is not None else []):
        share = assumed(
            f"duty.own_use_{name}_share",
            0.0 if absent else cell.value,
            "fraction",
            title=f"{row.title}, share of net product",
            symbol=cell.symbol,
            text="0 %" if absent else cell.text,
            source=cell.source,
            place="no contactor in this plant" if absent else cell.place,
            table="own_use",
            row=name,
        )
        return r.item_of_own_use.at(
            f"duty.own_use_{name}",
            net_product=net,
            own_use_share=share,
            title=f"Own use: {row.title.lower()}",
        )


def train_flows(permeate: Figure, recovery: Figure, trains: Figure) -> TrainFlows:
    """Feed and reject of the membranes of one train, at a recovery of the membranes."""
    with scope("train", count=trains):
        feed = r.feed_for.at("duty.feed_flow", permeate_flow=permeate, recovery=recovery)
        reject = r.reject_of.at("duty.reject_flow", feed_flow=feed, permeate_flow=permeate)
    return TrainFlows(feed, permeate, reject)


def train_recovery(permeate: Figure, feed: Figure, trains: Figure) -> Figure:
    """Permeate over what enters the train: lubrication, leakage and flush streams are in the feed."""
    with scope("train", count=trains):
        return r.recovery_of.at(
            "duty.train_recovery",
            permeate_flow=permeate,
            feed_flow=feed,
            title="Recovery of the train",
            symbol="Y_t",
        )


def plant_recovery(net_product: Figure, raw_flow: Figure) -> Figure:
    """Net product over raw water, both as average of a calendar day."""
    return r.raw_to_product.at("duty.plant_recovery", net_product=net_product, raw_flow=raw_flow)
