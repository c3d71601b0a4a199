"""The wash schedule of all trains: whose turn it is, what flows in each step, what the tanks bridge.

Filters wash one at a time and trains one after another, unless the design says otherwise. The six steps of a
wash stand as columns along the axis ``step``, with service as the seventh.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.pretreatment import backwash_relations as b
from desalbook.pretreatment import schedule_relations as r
from desalbook.pretreatment.filters import Battery
from desalbook.trail import Choice, Column, Figure, assumed, checked, note, picked, scope

__all__ = ["SERVICE", "STEPS", "Schedule", "Turns", "steps", "tanks", "turns"]

Inp = Callable[[str], Any]
STEPS = ("drain", "scour", "wash", "settle", "rinse", "return")
SERVICE = "service"


@dataclass(frozen=True)
class Turns:
    """Who washes when: filters of one train and of all together, turns of a run, their spacing (s)."""

    together: Figure
    trains_washing: Figure
    at_once: Figure
    turns: Figure
    interval: Figure
    missed: Figure
    off_line: Figure
    run: Figure
    pattern: Choice


@dataclass(frozen=True)
class Schedule:
    """Turns, and the flows of one train in each step (m3/s, along ``step``).

    Parameters
    ----------
    each, pump, feed, lost, wash, waste : Column
        One filter in service, feed pump, membranes, feed missing, wash water, waste.
    through : Figure
        What the filters pass on while none is rinsed, m3/s.
    rinse, refill, drain : Figure or Column
    make_up : Figure
        Of one train, m3/s; zero where raw water washes.
    """

    turns: Turns
    battery: Battery
    trains: Figure
    source: Choice
    times: Column
    each: Column
    pump: Column
    feed: Column
    lost: Column
    wash: Column
    waste: Column
    through: Figure
    rinse: Figure
    rinse_carried: Figure
    refill: Column
    drain: Column
    make_up: Figure
    wash_volume: Figure
    wash_flow: Figure
    rinse_volume: Figure
    drain_volume: Figure


def turns(inp: Inp, of: Battery, off_line: Figure, trains: Figure) -> Turns:
    """Turns over one run, with the finding where they do not fit.

    Parameters
    ----------
    off_line : Figure
        One wash of one filter, s.
    """
    run, together, pattern = (inp(f"filters.{k}") for k in ("run_length", "washes_together", "wash_pattern"))
    allowed: Choice = inp("filters.trains_together")
    with scope(because=[allowed]):
        washing = trains
        if allowed == "no":
            washing = assumed(
                "filters.trains_washing", 1, "count", title="Trains that wash together", symbol="n_tw",
                source="definition", place="one train at a time",
            )
    at_once = r.at_once_of.at("filters.washes_at_once", washes_together=together, trains_washing=washing)
    count = r.turns_of_run.at(
        "filters.turns", filters=of.count, washes_together=together, trains=trains, trains_washing=washing
    )
    whole = r.time_of_turns.at("filters.turns_time", turns=count, off_line=off_line)
    checked(
        "filters.turns_time.check", whole, "<=", run, title="All washes of a run, one turn after another",
        do="lengthen the run, shorten the wash, or let more filters wash together",
    )
    missed = r.missed_turns.at("filters.turns_missed", turns=count, off_line=off_line, filter_run=run)
    if missed.value:
        note(
            "filters.schedule.note", title="Wash schedule", verdict="fails",
            why=f"cannot keep up: {missed.value:g} of {count.value:g} turns do not fit into a run; "
            f"all turns take {whole.show()}, the run is {run.show()}",
            do="lengthen the run, shorten the wash, or let more filters wash together",
            inputs={"missed": missed, "turns": count, "needed": whole, "run": run},
        )
    with scope(because=[pattern]):
        interval = off_line
        if pattern == "spread":
            interval = r.turn_spacing.at("filters.turn_interval", filter_run=run, turns=count,
                                        off_line=off_line)
    return Turns(together, washing, at_once, count, interval, missed, off_line, run, pattern)


def steps(
    inp: Inp, of: Battery, feed: Figure, trains: Figure, order: Turns, *, wash_flow: Figure, wash_volume: Figure,
    drain_volume: Figure, carries_rinse: Choice,
) -> Schedule:
    """Flows of one train in each step of a wash, along the axis ``step``.

    Parameters
    ----------
    feed : Figure
        Of the membranes of one train, m3/s.
    carries_rinse : Choice
        Whether the feed pump gives the rinse on top of the feed.
    """
    source: Choice = inp("filters.wash_source")
    times = _times(inp)
    on = {n: _on(n) for n in ("drain", "wash", "rinse")}
    with scope(because=[source]):
        if source == "raw":
            make_up = assumed("filters.make_up", 0.0, "flow", title="Refill of the wash tank", symbol="Q_mu",
                              source="definition", place="raw water washes: there is no wash tank")
        else:
            one = assumed("filters.make_up_trains", 1, "count", title="Trains that refill for themselves",
                          symbol="n", source="definition")
            make_up = r.step_mean.at("filters.make_up", volume=wash_volume, filters=of.count, trains=one,
                                     filter_run=order.run, title="Refill of the wash tank, of one train")
        through = feed
        if source == "filtrate":
            through = r.with_make_up.at("filters.through_flow", feed_flow=feed, make_up=make_up)
        of_filters = make_up
        if source == "reject":
            of_filters = assumed("filters.make_up_filtrate", 0.0, "flow", title="Filtrate that refills the wash tank",
                                 symbol="Q_mu", source="definition", place="the reject refills it")
    with scope(because=[carries_rinse]):
        carried = assumed("filters.rinse_carried", 1.0 if carries_rinse == "yes" else 0.0, "fraction",
                          title="Part of the rinse that the feed pump gives on top", symbol="x_rc",
                          source="definition", place="feed_pump.carries_rinse")
        rinse = r.rinse_at_service.at("filters.rinse_flow", flow=through, filters=of.count,
                                      washes_together=order.together, rinse_carried=carried)
    shared = {"washes_together": order.together, "rinse_flow": rinse, "rinsing": on["rinse"]}
    rinsed = b.volume_in_time.at("filters.rinse_volume", flow=rinse, wash_duration=inp("filters.rinse_time"),
                                 title="Rinse of one wash")
    pump = r.step_pump.at("filters.step_pump", flow=through, rinse_carried=carried, **shared)
    each = r.each_in_service.at("filters.step_each", flow=pump, filters=of.count, **shared)
    goes_on = r.step_feed.at("filters.step_feed", flow=pump, make_up=of_filters, **shared)
    lost = r.feed_lost.at("filters.step_feed_lost", feed_flow=feed, step_feed_flow=goes_on)
    wash = r.step_wash.at("filters.step_wash", wash_flow=wash_flow, washes_together=order.together,
                          washing=on["wash"])
    drain = r.step_refill.at("filters.step_drain", drain_volume=drain_volume, step_time=times,
                             step_share=on["drain"], title="Drained from one filter, in each step")
    refill = r.step_refill.at("filters.step_refill", drain_volume=drain_volume, step_time=times,
                              step_share=on["wash"], title="Fills one filter again, in each step")
    waste = r.step_waste.at("filters.step_waste", drain_flow=drain, step_wash_flow=wash, refill_flow=refill, **shared)
    checked("filters.refill.check", wash_volume, ">=", drain_volume, title="Wash fills again what was drained",
            do="lengthen the wash or drain less")
    return Schedule(order, of, trains, source, times, each, pump, goes_on, lost, wash, waste, through, rinse, carried,
                    refill, drain, make_up, wash_volume, wash_flow, rinsed, drain_volume)


def _times(inp: Inp) -> Column:
    parts = {n: inp(f"filters.{n}_time") for n in STEPS}
    return picked(
        "filters.step_time", [float(t) for t in parts.values()], "time.minute", title="Time of each step",
        symbol="t_s", rule="the steps of a wash in their order",
        candidates=[{"key": n, "value": float(t), "won": True} for n, t in parts.items()], inputs=parts,
        axis="step", keys=STEPS,
    )


def _on(step: str) -> Column:
    return picked(
        f"filters.step_is_{step}", [1.0 if n == step else 0.0 for n in STEPS], "fraction",
        title=f"{step.capitalize()} is on", symbol="x_s", rule="one in its own step, nothing in the others",
        candidates=[{"key": step, "value": 1.0, "won": True}], inputs={}, axis="step", keys=STEPS,
    )


def tanks(of: Schedule, wash_average: Figure, rinse_average: Figure, times: dict[str, Figure]) -> tuple[Figure, Figure]:
    """What wash tank and raw tank bridge over a run, m3.

    Parameters
    ----------
    wash_average, rinse_average : Figure
        Of one train, m3/s.
    times : dict
        ``wash``, ``settle`` and ``rinse``, s.

    Returns
    -------
    Figure, Figure
        Deepest draw on the source of the wash, and on the raw tank.
    """
    order = of.turns
    turn = picked(
        "filters.turn", [float(k + 1) for k in range(int(order.turns.value))], "count", title="Turn", symbol="k",
        rule="in their order", candidates=[], inputs={"turns": order.turns}, axis="turn",
        keys=[str(k + 1) for k in range(int(order.turns.value))],
    )
    spaced: dict[str, Any] = {"turn": turn, "at_once": order.at_once, "turn_interval": order.interval}
    with scope(because=[of.source]):
        refill = b.all_trains.at("filters.wash_average_all", flow=wash_average, trains=of.trains,
                                 title="Wash water of all trains, mean")
        drawn = r.drawn_by_turns.at("filters.wash_drawn", volume=of.wash_volume, make_up=refill,
                                    wash_duration=times["wash"], title="Wash water drawn beyond the make-up", **spaced)
        store = r.bridged.at("filters.wash_bridged", drawn_volume=drawn,
                             title="Volume that the source of the wash bridges")
        taken = {"wash": _part(of, "raw_wash", of.wash_volume, of.source == "raw", wash_average),
                 "rinse": _part(of, "raw_rinse", of.rinse_volume, bool(of.rinse_carried.value), rinse_average)}
        volume = b.two_volumes.at("filters.raw_per_wash", wash_volume=taken["wash"][0], rinse_volume=taken["rinse"][0])
        mean = b.two_flows.at("filters.raw_mean_extra", wash_average=taken["wash"][1],
                              rinse_average=taken["rinse"][1], trains=of.trains)
        until = b.until_rinsed.at("filters.until_rinsed", wash_time=times["wash"], settle_time=times["settle"],
                                  rinse_time=times["rinse"])
        rinsed = r.drawn_by_turns.at("filters.raw_drawn_rinsed", volume=volume, make_up=mean, wash_duration=until,
                                     title="Raw water drawn beyond the mean, after each rinse", **spaced)
        washed = b.before_rinse.at("filters.raw_drawn_washed", turn=turn, at_once=order.at_once, volume=volume,
                                   rinse_volume=taken["rinse"][0], make_up=mean, turn_interval=order.interval,
                                   wash_duration=times["wash"])
        swing = r.swing_of.at("storage.swing", drawn_washed=washed, drawn_rinsed=rinsed)
    return store, swing


def _part(of: Schedule, name: str, volume: Figure, taken: bool, mean: Figure) -> tuple[Figure, Figure]:
    if taken:
        return volume, mean
    with scope(because=[of.rinse_carried]):
        said = {"source": "definition", "place": "not drawn from the raw tank beside the feed"}
        return (assumed(f"filters.{name}_volume", 0.0, "volume", title="Not drawn beside the feed", **said),
                assumed(f"filters.{name}_average", 0.0, "flow", title="Not drawn beside the feed", **said))
