"""The backwash schedule of all trains: slots of a run, what flows in each step, what the tanks bridge.

Filters are backwashed one at a time and trains one after another, unless the design says otherwise. The six steps of a
backwash stand as columns along the axis ``step``, with service as the seventh.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from desalbook.balances import (
    difference_of_flows,
    items_of_groups,
    sum_of_flows,
    sum_of_volumes,
    total_flow,
    volume_in_time,
)
from desalbook.hydraulics.constants import G
from desalbook.pretreatment.filters import Battery
from desalbook.pretreatment.media import Number
from desalbook.pretreatment.storage import SOURCES, BackwashSource
from desalbook.trail import (
    Choice,
    Column,
    Figure,
    assumed,
    checked,
    constant,
    largest,
    maximum,
    note,
    picked,
    relation,
    scope,
    up,
)
from desalbook.trail.inputs import Inputs
from desalbook.units import KINDS, M3, Count, DifferencePa, Factor, Fraction, GaugePa, Head, KgPerM3, M3PerS, PerS, S

__all__ = [
    "PATTERNS",
    "SECOND",
    "SERVICE",
    "STEPS",
    "Pattern",
    "Schedule",
    "Slots",
    "average_flow",
    "backwash_flow_in_step",
    "backwash_slots",
    "deepest_draw",
    "drain_or_refill_flow",
    "drawn_after_slots",
    "equivalent_filters",
    "feed_pump_flow_in_step",
    "filter_to_waste_flow",
    "flow_per_filter_in_step",
    "flows_in_steps",
    "largest_shortfall",
    "mean_over_run",
    "missed_slots",
    "pump_flow_with_filter_to_waste",
    "raw_drawn_before_filter_to_waste",
    "raw_tank_swing",
    "raw_water_beside_feed",
    "ro_feed_in_step",
    "slot_interval",
    "slots",
    "steps",
    "suction_during_filter_to_waste",
    "tanks",
    "time_of_slots",
    "time_to_end_of_filter_to_waste",
    "waste_flow_in_step",
]


STEPS = ("drain", "scour", "backwash", "settle", "filter_to_waste", "return")
SERVICE = "service"
Minutes = Annotated[float, KINDS["time.minute"]]
SECOND = constant("t_1", 1.0, "s", source="definition", title="One second")


@relation("Backwash groups", symbol="n_fg", unit="1", source="definition")
def equivalent_filters(filters: Count, backwashes_together: Count) -> Count:
    """Filters over those backwashed together.

    Eight filters backwashed two at a time behave as four backwashed singly.
    """
    return filters / backwashes_together


@relation("Slots of one run", symbol="n_k", unit="1", source="definition")
def backwash_slots(filters: Count, backwashes_together: Count, trains: Count, trains_backwashing: Count) -> Count:
    """Backwash slots of one run: each filter of each train once.

    Filters backwashed together share a slot; a last group may be smaller.
    """
    return up(filters / backwashes_together) * trains / trains_backwashing


@relation("Time of all backwash slots", symbol="t_k", unit="s", source="definition")
def time_of_slots(turns: Count, off_line: Minutes) -> S:
    """Time that all backwash slots of a run take, one after another.

    Without a break between two slots.
    """
    return turns * off_line


@relation("Slots that do not fit into the run", symbol="n_x", unit="1", source="definition")
def missed_slots(turns: Count, off_line: Minutes, filter_run: S) -> Count:
    """Backwash slots that do not fit into the run.

    Whole slots; zero where all fit.
    """
    return maximum(0, up(turns - filter_run / off_line))


@relation("Slot to slot", symbol="t_i", unit="s", source="definition")
def slot_interval(filter_run: S, turns: Count, off_line: Minutes) -> S:
    """Interval from backwash slot to backwash slot.

    Evenly over the run, and never before the slot before has ended; where slots do not fit, the run is longer than
    its setting.
    """
    return maximum(filter_run / turns, off_line)


@relation("Filter-to-waste flow per filter", symbol="Q_r", unit="m^3/s", source="definition")
def filter_to_waste_flow(flow: M3PerS, filters: Count, backwashes_together: Count,
                         filter_to_waste_carried: Fraction) -> M3PerS:
    """Filter-to-waste flow of one filter, at the rate of those in service.

    Where the feed pump gives no more for it, all filters share what it gives. Valves that throttle it are neglected.
    """
    return flow / (filters - backwashes_together * filter_to_waste_carried)


@relation("Feed pump in each step", symbol="Q_p", unit="m^3/s", source="definition")
def feed_pump_flow_in_step(
    flow: M3PerS, backwashes_together: Count, filter_to_waste_flow: M3PerS, rinsing: Fraction,
    filter_to_waste_carried: Fraction
) -> M3PerS:
    """Feed pump flow of one train in each step of a backwash.

    Filtered flow, and filter-to-waste where the pump carries it on top.
    """
    return flow + backwashes_together * filter_to_waste_flow * rinsing * filter_to_waste_carried


@relation("Each filter in service, in each step", symbol="Q_1", unit="m^3/s", source="definition")
def flow_per_filter_in_step(
    flow: M3PerS, filters: Count, backwashes_together: Count, filter_to_waste_flow: M3PerS, rinsing: Fraction
) -> M3PerS:
    """Flow through each filter in service in each step of a backwash.

    What the pump gives less filter-to-waste, shared evenly over the filters that are left.
    """
    return (flow - backwashes_together * filter_to_waste_flow * rinsing) / (filters - backwashes_together)


@relation("RO feed in each step", symbol="Q_F", unit="m^3/s", source="definition")
def ro_feed_in_step(
    flow: M3PerS, backwashes_together: Count, filter_to_waste_flow: M3PerS, rinsing: Fraction, make_up: M3PerS
) -> M3PerS:
    """RO feed of one train in each step of a backwash.

    Pump less filter-to-waste less what refills the backwash tank; storage in pipes and vessels is neglected.
    """
    return flow - backwashes_together * filter_to_waste_flow * rinsing - make_up


@relation("Feed missing at the worst step", symbol="Delta_Q", unit="m^3/s", source="definition")
def largest_shortfall(step_feed_flow: M3PerS) -> M3PerS:
    """Largest RO feed shortfall over the steps of a backwash.

    Negative where no step lacks feed.
    """
    return largest(step_feed_flow)


@relation("Backwash water in each step", symbol="Q_b", unit="m^3/s", source="definition")
def backwash_flow_in_step(wash_flow: M3PerS, backwashes_together: Count, washing: Fraction) -> M3PerS:
    """Backwash water of one train in each step.

    All filters of the slot at the same rate.
    """
    return wash_flow * backwashes_together * washing


@relation(
    "Water that drains off or fills a vessel",
    symbol="Q_d",
    unit="m^3/s",
    source="definition",
    note="steady over the step; a step of no length counts as one second",
)
def drain_or_refill_flow(drain_volume: M3, step_time: Minutes, step_share: Fraction) -> M3PerS:
    """Flow that drains from a vessel or fills it again in a step.

    Steady over the step; a step of no length counts as one second.
    """
    return drain_volume * step_share / maximum(step_time, SECOND)


@relation("To waste in each step", symbol="Q_w", unit="m^3/s", source="definition")
def waste_flow_in_step(
    backwashes_together: Count,
    drain_flow: M3PerS,
    step_wash_flow: M3PerS,
    refill_flow: M3PerS,
    filter_to_waste_flow: M3PerS,
    rinsing: Fraction,
) -> M3PerS:
    """Flow to waste of one train in each step.

    Drained water, backwash water less what fills the vessel again, and filter-to-waste.
    """
    return backwashes_together * (drain_flow - refill_flow + filter_to_waste_flow * rinsing) + step_wash_flow


@relation("Mean over the run", symbol="Q_m", unit="m^3/s", source="definition")
def mean_over_run(volume: M3, filters: Count, trains: Count, filter_run: S) -> M3PerS:
    """Mean flow of a volume that every filter takes once a run.

    Over all filters of the trains given.
    """
    return volume * filters * trains / filter_run


@relation(
    "Extra draw after each slot",
    symbol="V_k",
    unit="m^3",
    source="definition",
    note="the tank is full at the first turn; the make-up runs all the time",
)
def drawn_after_slots(
    turn: Count, at_once: Count, volume: M3, make_up: M3PerS, slot_interval: S, wash_duration: Minutes
) -> M3:
    """Volume drawn from a tank beyond its make-up after each backwash slot.

    The tank is full at the first slot and the make-up runs all the time; level control that stops it is neglected.
    """
    return turn * at_once * volume - make_up * ((turn - 1) * slot_interval + wash_duration)


@relation("Volume between slots", symbol="V_s", unit="m^3", source="definition")
def deepest_draw(drawn_volume: M3) -> M3:
    """Deepest draw of a run on the source of the backwash water.

    The volume that the source must bridge.
    """
    return largest(drawn_volume)


@relation("Average flow of a step", symbol="Q_m", unit="m^3/s", source="definition")
def average_flow(volume: M3, backwashes_per_day: PerS) -> M3PerS:
    """Average flow of a step: volume of one backwash times backwashes per unit of time.

    Over a whole run; the peak flow sizes pipes and pumps.
    """
    return volume * backwashes_per_day


@relation("Raw water beside the feed, mean", symbol="Q_m", unit="m^3/s", source="definition")
def raw_water_beside_feed(backwash_average: M3PerS, filter_to_waste_average: M3PerS, trains: Count) -> M3PerS:
    """Mean raw water beside the feed for backwash and filter-to-waste of all trains.

    A mean over a run; the raw tank bridges the peaks.
    """
    return (backwash_average + filter_to_waste_average) * trains


@relation("Backwash start to end of filter-to-waste", symbol="t", unit="s", source="definition")
def time_to_end_of_filter_to_waste(backwash_time: Minutes, settle_time: Minutes,
                                   filter_to_waste_time: Minutes) -> Minutes:
    """Time from the start of backwash to the end of filter-to-waste.

    Three steps in a row: backwash, settle, filter-to-waste.
    """
    return backwash_time + settle_time + filter_to_waste_time


@relation(
    "Extra raw-water draw after each backwash",
    symbol="V_kw",
    unit="m^3",
    source="definition",
    note="the filter-to-waste step of this slot is still to come",
)
def raw_drawn_before_filter_to_waste(
    turn: Count, at_once: Count, volume: M3, filter_to_waste_volume: M3, make_up: M3PerS, slot_interval: S,
    wash_duration: Minutes
) -> M3:
    """Raw water drawn beyond the mean at the end of each backwash, before its filter-to-waste.

    As after the filter-to-waste, less its volume and at the earlier time. The tank is full at the first slot.
    """
    return at_once * (turn * volume - filter_to_waste_volume) - make_up * ((turn - 1) * slot_interval + wash_duration)


@relation("Raw-tank level swing over a run", symbol="V_s", unit="m^3", source="definition")
def raw_tank_swing(drawn_washed: M3, drawn_rinsed: M3) -> M3:
    """Swing of the raw tank over a run: deepest draw after a backwash or after its filter-to-waste.

    Never below zero; the intake runs at the mean of what is drawn.
    """
    return maximum(maximum(largest(drawn_washed), largest(drawn_rinsed)), 0)


@relation("Feed pump, feed and filter-to-waste flow", symbol="Q_r", unit="m^3/s", source="definition")
def pump_flow_with_filter_to_waste(flow: M3PerS, filters: Count, backwashes_together: Count) -> M3PerS:
    """Feed pump flow with all of the feed and filter-to-waste on top of it.

    A filter that is rinsed takes as much as each in service.
    """
    return flow * filters / (filters - backwashes_together)


@relation(
    "HP suction during filter-to-waste",
    symbol="p_s",
    unit="Pa",
    source="definition",
    note="loss of the media in proportion to their rate, of pipes to its square",
)
def suction_during_filter_to_waste(
    pump_head: Head,
    static_head: Head,
    friction_head: Head,
    density: KgPerM3,
    filter_drop: DifferencePa,
    cartridge_drop: DifferencePa,
    filters: Count,
    backwashes_together: Count,
    flow_ratio: Factor,
) -> GaugePa:
    """Suction pressure of the high-pressure pump during filter-to-waste.

    All of the feed still drawn and filter-to-waste beside it: pipes lose with the square of flow, media in proportion
    to their rate. Cartridges are taken at their terminal drop.
    """
    return (
        density * G * (pump_head - static_head - friction_head * flow_ratio**2)
        - filter_drop * filters / (filters - backwashes_together)
        - cartridge_drop
    )


@dataclass(frozen=True)
class Slots:
    """When each filter is backwashed: filters of one train and of all together, slots of a run, their interval (s)."""

    together: Figure
    trains_backwashing: Figure
    at_once: Figure
    count: Figure
    time: Figure
    interval: Figure
    missed: Figure
    off_line: Figure
    run: Figure
    pattern: Choice


@dataclass(frozen=True)
class Schedule:
    """Slots, and the flows of one train in each step (m3/s, along ``step``).

    Parameters
    ----------
    each, pump, feed, lost, wash, waste : Column
        One filter in service, feed pump, membranes, feed missing, backwash water, waste.
    through : Figure
        What the filters pass on while none is rinsed, m3/s.
    rinse, refill, drain : Figure or Column
    make_up : Figure
        Of one train, m3/s; zero where raw water backwashes.
    """

    slots: Slots
    battery: Battery
    trains: Figure
    source: BackwashSource
    selected: Choice
    times: Column
    each: Column
    pump: Column
    feed: Column
    lost: Column
    wash: Column
    waste: Column
    through: Figure
    rinse: Figure
    filter_to_waste_carried: Figure
    refill: Column
    drain: Column
    make_up: Figure
    backwash_volume: Figure
    wash_flow: Figure
    filter_to_waste_volume: Figure
    drain_volume: Figure


def _spread(run: Figure, count: Figure, off_line: Figure) -> Figure:
    return slot_interval.at("filters.slot_interval", filter_run=run, turns=count, off_line=off_line)


def _in_a_row(run: Figure, count: Figure, off_line: Figure) -> Figure:
    return off_line


@dataclass(frozen=True)
class Pattern:
    """How backwashes lie in a run: interval from slot to slot (s), from run, number of slots and time of one."""

    key: str
    title: str
    interval: Callable[[Figure, Figure, Figure], Figure]


PATTERNS = {
    pattern.key: pattern
    for pattern in (
        Pattern("spread", "Spread evenly over the run", _spread),
        Pattern("row", "In a row, one turn right after another", _in_a_row),
    )
}


def slots(inp: Inputs, of: Battery, off_line: Figure, trains: Figure) -> Slots:
    """Slots over one run, with the finding where they do not fit.

    Parameters
    ----------
    off_line : Figure
        One backwash of one filter, s.
    """
    run, together = inp.number("filters.run_length"), inp.number("filters.backwashes_together")
    pattern, allowed = inp.choice("filters.backwash_pattern"), inp.choice("filters.trains_together")
    with scope(because=[allowed]):
        washing = trains
        if allowed == "no":
            washing = assumed(
                "filters.trains_backwashing",
                1,
                "count",
                title="Trains in backwash at once",
                symbol="n_tw",
                source="definition",
                place="one train at a time",
            )
    at_once = items_of_groups.at(
        "filters.backwashes_at_once",
        groups=washing,
        group_size=together,
        title="Filters backwashing at one time, whole plant",
        symbol="n_g",
    )
    count = backwash_slots.at(
        "filters.slots", filters=of.count, backwashes_together=together, trains=trains, trains_backwashing=washing
    )
    whole = time_of_slots.at("filters.slots_time", turns=count, off_line=off_line)
    checked(
        "filters.slots_time.check",
        whole,
        "<=",
        run,
        title="Backwash slots within one filter run",
        do="lengthen the run, shorten the backwash, or let more filters backwash together",
    )
    missed = missed_slots.at("filters.slots_missed", turns=count, off_line=off_line, filter_run=run)
    if missed.value:
        note(
            "filters.schedule.note",
            title="Backwash schedule",
            verdict="fails",
            why=f"cannot keep up: {missed.value:g} of {count.value:g} turns do not fit into a run; "
            f"all turns take {whole.show()}, the run is {run.show()}",
            do="lengthen the run, shorten the backwash, or let more filters backwash together",
            inputs={"missed": missed, "turns": count, "needed": whole, "run": run},
        )
    with scope(because=[pattern]):
        interval = PATTERNS[pattern].interval(run, count, off_line)
    return Slots(together, washing, at_once, count, whole, interval, missed, off_line, run, pattern)


def steps(
    inp: Inputs,
    of: Battery,
    feed: Figure,
    trains: Figure,
    order: Slots,
    *,
    wash_flow: Figure,
    backwash_volume: Figure,
    drain_volume: Figure,
    carries_filter_to_waste: Choice,
) -> Schedule:
    """Flows of one train in each step of a backwash, along the axis ``step``.

    Parameters
    ----------
    feed : Figure
        RO feed of one train, m3/s.
    carries_filter_to_waste : Choice
        Whether the feed pump gives the rinse on top of the feed.
    """
    selected = inp.choice("filters.backwash_source")
    source = SOURCES[selected]
    times = _times(inp)
    on = {n: _on(n) for n in ("drain", "backwash", "filter_to_waste")}
    with scope(because=[selected]):
        if not source.has_tank:
            make_up = assumed(
                "filters.make_up",
                0.0,
                "flow",
                title="Backwash-tank refill",
                symbol="Q_mu",
                source="definition",
                place="raw water backwashes: there is no backwash tank",
            )
        else:
            one = assumed(
                "filters.make_up_trains",
                1,
                "count",
                title="Trains with own refill",
                symbol="n",
                source="definition",
            )
            make_up = mean_over_run.at(
                "filters.make_up",
                volume=backwash_volume,
                filters=of.count,
                trains=one,
                filter_run=order.run,
                title="Backwash-tank refill per train",
            )
        through = feed
        if source.refilled_by_filters:
            through = sum_of_flows.at(
                "filters.through_flow",
                flow=feed,
                second_flow=make_up,
                title="Filtrate flow per train",
                symbol="Q_f",
            )
        of_filters = make_up
        if source.takes_concentrate:
            of_filters = assumed(
                "filters.make_up_filtrate",
                0.0,
                "flow",
                title="Filtrate to refill the backwash tank",
                symbol="Q_mu",
                source="definition",
                place="the concentrate refills it",
            )
    with scope(because=[carries_filter_to_waste]):
        carried = assumed(
            "filters.filter_to_waste_carried",
            1.0 if carries_filter_to_waste == "yes" else 0.0,
            "fraction",
            title="Filter-to-waste flow from the feed pump",
            symbol="x_rc",
            source="definition",
            place="feed_pump.carries_filter_to_waste",
        )
        rinse = filter_to_waste_flow.at(
            "filters.filter_to_waste_flow", flow=through, filters=of.count, backwashes_together=order.together,
            filter_to_waste_carried=carried
        )
    shared = {"backwashes_together": order.together, "filter_to_waste_flow": rinse, "rinsing": on["filter_to_waste"]}
    rinsed = volume_in_time.at(
        "filters.filter_to_waste_volume", flow=rinse, time=inp.number("filters.filter_to_waste_time"),
        title="Filter-to-waste volume per backwash"
    )
    pump, each = flows_in_steps(through, of.count, order.together, rinse, on["filter_to_waste"], carried)
    goes_on = ro_feed_in_step.at("filters.step_feed", flow=pump, make_up=of_filters, **shared)
    lost = difference_of_flows.at(
        "filters.step_feed_lost", flow=feed, second_flow=goes_on, title="Feed missing in each step", symbol="Delta_Q"
    )
    wash = backwash_flow_in_step.at(
        "filters.step_backwash", wash_flow=wash_flow, backwashes_together=order.together, washing=on["backwash"]
    )
    drain = drain_or_refill_flow.at(
        "filters.step_drain",
        drain_volume=drain_volume,
        step_time=times,
        step_share=on["drain"],
        title="Drained from one filter, in each step",
    )
    refill = drain_or_refill_flow.at(
        "filters.step_refill",
        drain_volume=drain_volume,
        step_time=times,
        step_share=on["backwash"],
        title="Fills one filter again, in each step",
    )
    waste = waste_flow_in_step.at(
        "filters.step_waste", drain_flow=drain, step_wash_flow=wash, refill_flow=refill, **shared
    )
    checked(
        "filters.refill.check",
        backwash_volume,
        ">=",
        drain_volume,
        title="Backwash volume refills the drained vessel",
        do="lengthen the backwash or drain less",
    )
    return Schedule(
        order,
        of,
        trains,
        source,
        selected,
        times,
        each,
        pump,
        goes_on,
        lost,
        wash,
        waste,
        through,
        rinse,
        carried,
        refill,
        drain,
        make_up,
        backwash_volume,
        wash_flow,
        rinsed,
        drain_volume,
    )


def flows_in_steps(
    through: Number, filters: Number, together: Number, rinse: Number, rinsing: Number, carried: Number
) -> tuple[Column, Column]:
    """Feed pump, and each filter in service, in each step of a backwash (m3/s); recorded or in the values context.

    Parameters
    ----------
    through : Number
        What the filters pass on while none runs to waste, m3/s.
    rinsing : Number
        One in the step of filter-to-waste, zero in the others.
    carried : Number
        Fraction of the filter-to-waste that the feed pump gives on top.
    """
    shared = {"backwashes_together": together, "filter_to_waste_flow": rinse, "rinsing": rinsing}
    pump = feed_pump_flow_in_step.at("filters.step_pump", flow=through, filter_to_waste_carried=carried, **shared)
    return pump, flow_per_filter_in_step.at("filters.step_each", flow=pump, filters=filters, **shared)


def _times(inp: Inputs) -> Column:
    parts = {n: inp.number(f"filters.{n}_time") for n in STEPS}
    return picked(
        "filters.step_time",
        [float(t) for t in parts.values()],
        "time.minute",
        title="Time of each step",
        symbol="t_s",
        rule="the steps of a backwash in their order",
        candidates=[{"key": n, "value": float(t), "won": True} for n, t in parts.items()],
        inputs=parts,
        axis="step",
        keys=STEPS,
    )


def _on(step: str) -> Column:
    return picked(
        f"filters.step_is_{step}",
        [1.0 if n == step else 0.0 for n in STEPS],
        "fraction",
        title=f"{step.capitalize()} is on",
        symbol="x_s",
        rule="one in its own step, nothing in the others",
        candidates=[{"key": step, "value": 1.0, "won": True}],
        inputs={},
        axis="step",
        keys=STEPS,
    )


def tanks(of: Schedule, backwash_average: Figure, filter_to_waste_average: Figure,
          times: dict[str, Figure]) -> tuple[Figure, Figure]:
    """What backwash tank and raw tank bridge over a run, m3.

    Parameters
    ----------
    backwash_average, filter_to_waste_average : Figure
        Of one train, m3/s.
    times : dict
        ``wash``, ``settle`` and ``rinse``, s.

    Returns
    -------
    Figure, Figure
        Deepest draw on the source of the backwash, and on the raw tank.
    """
    order = of.slots
    turn = picked(
        "filters.slot",
        [float(k + 1) for k in range(int(order.count))],
        "count",
        title="Slot",
        symbol="k",
        rule="in their order",
        candidates=[],
        inputs={"turns": order.count},
        axis="turn",
        keys=[str(k + 1) for k in range(int(order.count))],
    )
    spaced: dict[str, Any] = {"turn": turn, "at_once": order.at_once, "slot_interval": order.interval}
    with scope(because=[of.selected]):
        refill = total_flow.at(
            "filters.backwash_average_all", flow=backwash_average, units=of.trains,
            title="Backwash water of all trains, mean"
        )
        drawn = drawn_after_slots.at(
            "filters.backwash_drawn",
            volume=of.backwash_volume,
            make_up=refill,
            wash_duration=times["backwash"],
            title="Backwash water beyond the make-up",
            **spaced,
        )
        store = deepest_draw.at(
            "filters.backwash_bridged", drawn_volume=drawn, title="Backwash-source storage drawn"
        )
        taken = {
            "backwash": _part(of, "raw_wash", of.backwash_volume, not of.source.has_tank, backwash_average),
            "filter_to_waste": _part(of, "raw_rinse", of.filter_to_waste_volume,
                                     bool(of.filter_to_waste_carried.value), filter_to_waste_average),
        }
        volume = sum_of_volumes.at(
            "filters.raw_per_backwash",
            volume=taken["backwash"][0],
            other_volume=taken["filter_to_waste"][0],
            title="Raw water of one backwash",
        )
        mean = raw_water_beside_feed.at(
            "filters.raw_mean_extra", backwash_average=taken["backwash"][1],
            filter_to_waste_average=taken["filter_to_waste"][1], trains=of.trains
        )
        until = time_to_end_of_filter_to_waste.at(
            "filters.until_rinsed", backwash_time=times["backwash"], settle_time=times["settle"],
            filter_to_waste_time=times["filter_to_waste"]
        )
        rinsed = drawn_after_slots.at(
            "filters.raw_drawn_rinsed",
            volume=volume,
            make_up=mean,
            wash_duration=until,
            title="Extra raw-water draw after filter-to-waste",
            **spaced,
        )
        washed = raw_drawn_before_filter_to_waste.at(
            "filters.raw_drawn_backwashed",
            turn=turn,
            at_once=order.at_once,
            volume=volume,
            filter_to_waste_volume=taken["filter_to_waste"][0],
            make_up=mean,
            slot_interval=order.interval,
            wash_duration=times["backwash"],
        )
        swing = raw_tank_swing.at("storage.swing", drawn_washed=washed, drawn_rinsed=rinsed)
    return store, swing


def _part(of: Schedule, name: str, volume: Figure, taken: bool, mean: Figure) -> tuple[Figure, Figure]:
    if taken:
        return volume, mean
    with scope(because=[of.filter_to_waste_carried]):
        said = {"source": "definition", "place": "not drawn from the raw tank beside the feed"}
        return (
            assumed(f"filters.{name}_volume", 0.0, "volume", title="Not drawn beside the feed", **said),
            assumed(f"filters.{name}_average", 0.0, "flow", title="Not drawn beside the feed", **said),
        )
