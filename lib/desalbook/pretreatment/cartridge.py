"""Cartridge filters of one train: number of cartridges, housings, and loading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.rows import least_row, row_line
from desalbook.trail import Figure, checked, note, relation, scope, up
from desalbook.units import Count, M3PerS

__all__ = [
    "Cartridges",
    "cartridges",
    "cartridges_needed",
    "equivalents_of",
    "housings_left",
    "in_one_housing",
    "loading_of",
]


@dataclass(frozen=True)
class Cartridges:
    """Cartridges on duty in one train, in one housing, and their flow per 250 mm (m3/s)."""

    count: Figure
    per_housing: Figure
    loading: Figure
    clean_drop: Figure
    dirty_drop: Figure


@relation("Cartridge lengths of 250 mm", symbol="n_e", unit="1", source="voutchkov-2013")
def equivalents_of(flow: M3PerS, cartridge_loading: M3PerS) -> Count:
    """Flow over the flow of one length."""
    return up(flow / cartridge_loading)


@relation("Cartridges needed", symbol="n_c", unit="1", source="definition")
def cartridges_needed(equivalents_needed: Count, cartridge_equivalents: Count) -> Count:
    """Whole cartridges of several lengths."""
    return up(equivalents_needed / cartridge_equivalents)


@relation("Cartridges in one housing", symbol="n_c1", unit="1", source="definition")
def in_one_housing(cartridges: Count, housings: Count) -> Count:
    """Shared evenly, rounded up."""
    return up(cartridges / housings)


@relation("Flow per 250 mm of cartridge", symbol="q_c", unit="m^3/s", source="definition")
def loading_of(flow: M3PerS, cartridges: Count, cartridge_equivalents: Count) -> M3PerS:
    """In service."""
    return flow / (cartridges * cartridge_equivalents)


@relation("Cartridges with one housing out", symbol="n_left", unit="1", source="definition")
def housings_left(cartridges_each: Count, housings: Count, housings_standby: Count) -> Count:
    """Housings there are, less one."""
    return cartridges_each * (housings + housings_standby - 1)


@relation("Cartridges installed on duty", symbol="n_c", unit="1", source="definition")
def cartridges_of(cartridges_each: Count, housings: Count) -> Count:
    """All housings on duty are full."""
    return cartridges_each * housings


def cartridges(inp: Callable[[str], Any], flow: Figure, trains: Figure) -> Cartridges:
    """Cartridges of one train.

    Parameters
    ----------
    flow : Figure
        Of one train, m3/s.
    trains : Figure
    """
    choice, housings = inp("cartridge.length"), inp("cartridge.housings")
    each = row_line("cartridge.equivalents", "cartridges", choice, "equivalents", because=[choice])
    limit = inp("cartridge.loading")
    with scope("train", count=trains):
        lengths = equivalents_of.at("cartridge.equivalents_needed", flow=flow, cartridge_loading=limit)
        needed = cartridges_needed.at(
            "cartridge.needed", equivalents_needed=lengths, cartridge_equivalents=each
        )
        held = inp("cartridge.count")
        share = in_one_housing.at(
            "cartridge.in_one_housing", cartridges=needed if held is None else held, housings=housings
        )
        if held is None:
            size, _ = least_row(
                "cartridge.per_housing",
                "cartridge_housings",
                "rounds",
                share,
                title="Cartridges in one housing",
                rule="least standard housing that holds its share",
                do="write more cartridge.housings, or a longer cartridge (cartridge.length)",
            )
            count = cartridges_of.at("cartridge.count", cartridges_each=size, housings=housings)
        else:
            count, size = held, share
            checked(
                "cartridge.count.check",
                held,
                ">=",
                needed,
                title="Number of cartridges",
                do="write a larger cartridge.count or leave it out",
            )
        loading = loading_of.at(
            "cartridge.loading_result", flow=flow, cartridges=count, cartridge_equivalents=each
        )
        left = housings_left.at(
            "cartridge.left",
            cartridges_each=size,
            housings=housings,
            housings_standby=inp("cartridge.housings_standby"),
        )
        _outage(inp, flow, left, each)
    return Cartridges(count, size, loading, inp("cartridge.clean_drop"), inp("cartridge.dirty_drop"))


def _outage(inp: Callable[[str], Any], flow: Figure, left: Figure, each: Figure) -> None:
    if left.value == 0.0:
        note(
            "cartridge.outage",
            title="One cartridge housing out",
            verdict="caution",
            why="there is one housing and none on standby: the train stops while cartridges are changed",
            do="write cartridge.housings_standby = 1",
            inputs={"left": left},
        )
        return
    outage = loading_of.at(
        "cartridge.loading_outage",
        flow=flow,
        cartridges=left,
        cartridge_equivalents=each,
        title="Flow per 250 mm with one housing out",
    )
    checked(
        "cartridge.loading_outage.check",
        outage,
        "<=",
        inp("cartridge.loading_limit"),
        title="Cartridge loading with one housing out",
        do="add a housing on standby or more cartridges",
    )
