"""Cartridge filters of one train: number, housings, loading, rating, and when cartridges are changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from desalbook.balances import items_of_groups, units_for_flow, whole_quotient
from desalbook.hydraulics.rows import least_row, row_line
from desalbook.problems import Infeasible
from desalbook.tables import table
from desalbook.trail import Figure, assumed, checked, constant, minimum, note, picked, relation, scope, values
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit
from desalbook.units import Concentration, Count, Kg, M3PerS, S

__all__ = [
    "Cartridges",
    "cartridge_changes",
    "cartridge_life",
    "cartridge_loading",
    "cartridges",
    "cartridges_with_housing_out",
    "change_interval",
]


MOST_HOUSINGS = constant("n_h,max", 20, "1", source="common-practice", title="Most housings of one train")


@dataclass(frozen=True)
class Cartridges:
    """Housings and cartridges on duty in one train, flow per 250 mm of cartridge (m3/s), lengths of 250 mm in one."""

    housings: Figure
    count: Figure
    per_housing: Figure
    loading: Figure
    equivalents: Figure
    clean_drop: Figure
    dirty_drop: Figure


@relation("Flow per 250 mm of cartridge", symbol="q_c", unit="m^3/s", source="definition")
def cartridge_loading(flow: M3PerS, cartridges: Count, cartridge_equivalents: Count) -> M3PerS:
    """Flow per 250 mm of cartridge in service.

    The mean: a partly plugged cartridge passes its flow to the others.
    """
    return flow / (cartridges * cartridge_equivalents)


@relation("Cartridges, one housing out (N-1)", symbol="n_left", unit="1", source="definition")
def cartridges_with_housing_out(cartridges_each: Count, housings: Count, housings_standby: Count) -> Count:
    """Cartridges in service with one housing out of service.

    Standby housings are taken into service; zero with one housing and none on standby.
    """
    return cartridges_each * (housings + housings_standby - 1)


@relation("Life of cartridges by their solids", symbol="t_m", unit="s", source="from-memory")
def cartridge_life(
    capacity: Kg, cartridges: Count, cartridge_equivalents: Count, flow: M3PerS, solids: Concentration
) -> S:
    """Life of cartridges by the solids they hold.

    All solids are taken to be caught, which is on the safe side; biofouling ends the life sooner.
    """
    return capacity * cartridges * cartridge_equivalents / (flow * solids)


@relation("Cartridges changed after", symbol="t_c", unit="s", source="common-practice")
def change_interval(by_solids: S, change_longest: S) -> S:
    """Interval of cartridge changes: the sooner of solids and longest time in service.

    The longest time stands for biofouling, which no balance of solids sees.
    """
    return minimum(by_solids, change_longest)


def _pick_housings(wanted: Figure) -> Figure:
    """Smallest number of housings of which none holds more than the largest standard one."""
    largest = float(table("cartridge_housings").ascending("rounds")[-1]["rounds"].value)
    candidates: list[dict[str, Any]] = []
    with values(keep=False):
        for number in range(1, int(MOST_HOUSINGS.value) + 1):
            each = float(whole_quotient.at("cartridge.in_one_housing", items=wanted, divisor=number))
            fits = each <= largest
            candidates.append({"key": str(number), "value": number, "each": each, "won": fits})
            if fits:
                break
    won = candidates[-1]
    if not won["won"]:
        raise Infeasible(
            "no number of housings takes the cartridges",
            where="cartridge.housings",
            value=MOST_HOUSINGS.value,
            allowed=f"{largest:g} cartridges in one housing",
            do="choose a longer cartridge (cartridge.length), or divide the flow among more trains (duty.trains)",
        )
    return picked(
        "cartridge.housings",
        won["value"],
        "count",
        title="Housings on duty",
        symbol="n_h",
        rule="smallest number, none with more cartridges than the largest standard housing",
        candidates=candidates,
        inputs={"cartridges": wanted},
        why=(
            f"{won['value'] - 1} would hold {candidates[-2]['each']:g} cartridges each"
            if len(candidates) > 1
            else "one is enough"
        ),
        source="common-practice",
    )


def _housing_size(share: Figure) -> Figure:
    """Smallest standard housing; where fixed housings ask for more than the largest, their share, which fails."""
    largest = table("cartridge_housings").ascending("rounds")[-1]
    cell = largest["rounds"]
    if float(share) > cell.value:
        most = assumed(
            "cartridge.per_housing_limit",
            cell.value,
            "count",
            title="Cartridges in the largest housing",
            symbol=cell.symbol,
            source=cell.source,
            place=cell.place,
            table="cartridge_housings",
            row=largest.key,
        )
        checked(
            "cartridge.per_housing.check",
            share,
            "<=",
            most,
            title="Cartridges in one housing",
            do="increase cartridge.housings, or use a longer cartridge (cartridge.length)",
        )
        return share
    size, _ = least_row(
        "cartridge.per_housing",
        "cartridge_housings",
        "rounds",
        share,
        title="Cartridges in one housing",
        rule="smallest standard housing that holds its share",
        do="increase cartridge.housings, or use a longer cartridge (cartridge.length)",
    )
    return size


def cartridges(inp: Inputs, flow: Figure, trains: Figure) -> Cartridges:
    """Cartridges of one train.

    Parameters
    ----------
    flow : Figure
        Of one train, m3/s.
    trains : Figure
    """
    choice = inp.choice("cartridge.length")
    each = row_line("cartridge.equivalents", "cartridges", choice, "equivalents", because=[choice])
    limit = inp.number("cartridge.loading")
    with scope("train", count=trains):
        lengths = units_for_flow.at(
            "cartridge.equivalents_needed",
            flow=flow,
            unit_flow=limit,
            title="Cartridge lengths of 250 mm",
            symbol="n_e",
        )
        needed = whole_quotient.at(
            "cartridge.needed", items=lengths, divisor=each, title="Required cartridges", symbol="n_c"
        )
        held, housings = inp.optional("cartridge.count"), inp.optional("cartridge.housings")
        if housings is None:
            housings = _pick_housings(needed if held is None else held)
        share = whole_quotient.at(
            "cartridge.in_one_housing",
            items=needed if held is None else held,
            divisor=housings,
            title="Cartridges in one housing",
            symbol="n_c1",
        )
        if held is None:
            size = _housing_size(share)
            count = items_of_groups.at(
                "cartridge.count", groups=housings, group_size=size, title="Cartridges in service per train",
                symbol="n_c"
            )
        else:
            count, size = held, share
            checked(
                "cartridge.count.check",
                held,
                ">=",
                needed,
                title="Number of cartridges",
                do="increase cartridge.count, or clear it to size automatically",
            )
        loading = cartridge_loading.at(
            "cartridge.loading_result", flow=flow, cartridges=count, cartridge_equivalents=each
        )
        left = cartridges_with_housing_out.at(
            "cartridge.left",
            cartridges_each=size,
            housings=housings,
            housings_standby=inp.number("cartridge.housings_standby"),
        )
        _outage(inp, flow, left, each)
    return Cartridges(
        housings, count, size, loading, each, inp.number("cartridge.clean_drop"), inp.number("cartridge.dirty_drop")
    )


def _outage(inp: Inputs, flow: Figure, left: Figure, each: Figure) -> None:
    if not float(left):
        note(
            "cartridge.outage",
            title="One cartridge housing out of service",
            verdict="review",
            why="there is one housing and none on standby: the train stops while cartridges are changed",
            do="set cartridge.housings_standby = 1",
            inputs={"left": left},
        )
        return
    outage = cartridge_loading.at(
        "cartridge.loading_outage",
        flow=flow,
        cartridges=left,
        cartridge_equivalents=each,
        title="Flow per 250 mm, one housing out (N-1)",
    )
    checked(
        "cartridge.loading_outage.check",
        outage,
        "<=",
        inp.number("cartridge.loading_limit"),
        title="Cartridge loading, one housing out (N-1)",
        do="add a standby housing (cartridge.housings_standby), or more cartridges (cartridge.count)",
    )


def cartridge_changes(inp: Inputs, of: Cartridges, flow: Figure, solids: Figure) -> None:
    """Rating ahead of membranes, and when cartridges are changed: by their solids or by slime."""
    for key, row, do in (
        ("rating", "cartridge-rating", "choose a finer cartridge.rating"),
        ("clean_drop", "cartridge-clean-pressure-drop", "lower cartridge.loading, so that more cartridges are taken"),
        ("dirty_drop", "cartridge-change-pressure-drop", "lower cartridge.dirty_drop: cartridges collapse and let go"),
    ):
        check_limit(f"cartridge.{key}.check", inp.number(f"cartridge.{key}"), row, do=do)
    if not float(solids):
        return
    life = cartridge_life.at(
        "cartridge.life",
        capacity=inp.number("cartridge.capacity"),
        cartridges=of.count,
        flow=flow,
        cartridge_equivalents=of.equivalents,
        solids=solids,
    )
    every = change_interval.at(
        "cartridge.change_interval", by_solids=life, change_longest=inp.number("cartridge.change_longest")
    )
    least = assumed(
        "cartridge.change_minimum",
        14 * 86400.0,
        "time.day",
        title="Shortest interval people bear",
        symbol="t_cl",
        source="common-practice",
        place="six to eight weeks are usual",
    )
    checked(
        "cartridge.change_interval.check",
        every,
        ">=",
        least,
        title="Interval of cartridge changes",
        decided_by=[inp.number("cartridge.capacity")],
        do="improve the filtration upstream, or use more cartridges (cartridge.count)",
    )
