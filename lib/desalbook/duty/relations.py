"""Balances of the duty. Volumes at feed temperature, as the trade counts them; streams carry mass."""

from __future__ import annotations

from typing import Annotated

from desalbook.trail import relation
from desalbook.units import KINDS, Count, Fraction, M3PerS

__all__ = [
    "feed_for",
    "gross_permeate_of",
    "item_of_own_use",
    "net_of",
    "own_use_of",
    "plant_product",
    "raw_to_product",
    "recovery_of",
    "reject_of",
    "running_net",
    "train_share",
]

PerDay = Annotated[float, KINDS["flow.day"]]


@relation("Net product of the plant", symbol="Q_net", unit="m^3/s", source="definition")
def plant_product(train_product_flow: PerDay, trains: Count) -> PerDay:
    """On the average of a calendar day."""
    return train_product_flow * trains


@relation(
    "Own use, one item",
    symbol="Q_u,i",
    unit="m^3/s",
    source="common-practice",
    note="a share for a first design; the file may state the flow",
)
def item_of_own_use(net_product: PerDay, own_use_share: Fraction) -> PerDay:
    """In proportion to the plant."""
    return net_product * own_use_share


@relation("Own use", symbol="Q_u", unit="m^3/s", source="definition")
def own_use_of(
    own_use_flush: PerDay,
    own_use_cleaning: PerDay,
    own_use_makedown: PerDay,
    own_use_contactor: PerDay,
    own_use_startup: PerDay,
) -> PerDay:
    """Permeate that never leaves the plant as product."""
    return own_use_flush + own_use_cleaning + own_use_makedown + own_use_contactor + own_use_startup


@relation(
    "Gross permeate",
    symbol="Q_g",
    unit="m^3/s",
    source="definition",
    note="while all trains run; standstill is made good by storage",
)
def gross_permeate_of(net_product: PerDay, own_use: PerDay, availability: Fraction) -> PerDay:
    """Net product and own use of a day, made in the hours the plant runs."""
    return (net_product + own_use) / availability


@relation("Net product at this permeate", symbol="Q_net", unit="m^3/s", source="definition")
def net_of(gross_permeate: PerDay, own_use: PerDay, availability: Fraction) -> PerDay:
    """What is left on the average of a calendar day."""
    return gross_permeate * availability - own_use


@relation("Permeate of one train", symbol="Q_p", unit="m^3/s", source="definition")
def train_share(gross_permeate: PerDay, trains: Count) -> M3PerS:
    """Equal trains."""
    return gross_permeate / trains


@relation("Permeate of all running trains", symbol="Q_g", unit="m^3/s", source="definition")
def running_net(train_permeate: M3PerS, trains: Count) -> PerDay:
    """Equal trains."""
    return train_permeate * trains


@relation("Feed to the membranes", symbol="Q_f", unit="m^3/s", source="definition")
def feed_for(permeate_flow: M3PerS, recovery: Fraction) -> M3PerS:
    """At the recovery of the membranes."""
    return permeate_flow / recovery


@relation(
    "Reject",
    symbol="Q_r",
    unit="m^3/s",
    source="definition",
    note="by volume; with the densities of the streams the volumes differ by some 0.05 %",
)
def reject_of(feed_flow: M3PerS, permeate_flow: M3PerS) -> M3PerS:
    """What the membranes do not pass."""
    return feed_flow - permeate_flow


@relation("Recovery", symbol="Y", unit="1", source="definition", note="by volume at feed temperature")
def recovery_of(permeate_flow: M3PerS, feed_flow: M3PerS) -> Fraction:
    """Permeate over feed, of the boundary the line names."""
    return permeate_flow / feed_flow


@relation(
    "Recovery, raw to product",
    symbol="Y_P",
    unit="1",
    source="definition",
    note="net product over raw water, wash and own use included; both as average of a calendar day",
)
def raw_to_product(net_product: PerDay, raw_flow: M3PerS) -> Fraction:
    """The recovery the intake sees."""
    return net_product / raw_flow
