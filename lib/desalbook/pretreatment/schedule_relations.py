"""Relations of the wash schedule: turns over a run, flows in each step of a wash, tanks that bridge them."""

from __future__ import annotations

from typing import Annotated

from desalbook.hydraulics.constants import G
from desalbook.trail import constant, largest, maximum, relation, up
from desalbook.units import (
    KINDS,
    M3,
    Count,
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    Head,
    KgPerM3,
    M3PerS,
    S,
)

__all__ = [
    "at_once_of",
    "bridged",
    "drawn_by_turns",
    "each_in_service",
    "feed_lost",
    "filters_over_together",
    "flow_over_duty",
    "missed_turns",
    "rinse_at_service",
    "step_feed",
    "step_mean",
    "step_pump",
    "step_refill",
    "step_wash",
    "step_waste",
    "suction_while_rinsing",
    "swing_of",
    "time_of_turns",
    "turn_spacing",
    "turns_of_run",
    "with_make_up",
]

Minutes = Annotated[float, KINDS["time.minute"]]
SECOND = constant("t_1", 1.0, "s", source="definition", title="One second")


@relation("Filters washing at one time, whole plant", symbol="n_g", unit="1", source="definition")
def at_once_of(washes_together: Count, trains_washing: Count) -> Count:
    """In one train, times the trains that may wash together."""
    return washes_together * trains_washing


@relation("Filters over those that wash together", symbol="n_fg", unit="1", source="definition")
def filters_over_together(filters: Count, washes_together: Count) -> Count:
    """Eight filters washed two at a time behave as four washed singly."""
    return filters / washes_together


@relation("Turns of one run", symbol="n_k", unit="1", source="definition")
def turns_of_run(filters: Count, washes_together: Count, trains: Count, trains_washing: Count) -> Count:
    """Each filter of each train once; those that wash together share a turn."""
    return up(filters / washes_together) * trains / trains_washing


@relation("Time all turns take", symbol="t_k", unit="s", source="definition")
def time_of_turns(turns: Count, off_line: Minutes) -> S:
    """One after another, without a break."""
    return turns * off_line


@relation("Turns that do not fit into the run", symbol="n_x", unit="1", source="definition")
def missed_turns(turns: Count, off_line: Minutes, filter_run: S) -> Count:
    """Whole turns too many."""
    return maximum(0, up(turns - filter_run / off_line))


@relation("From turn to turn", symbol="t_i", unit="s", source="definition")
def turn_spacing(filter_run: S, turns: Count, off_line: Minutes) -> S:
    """Evenly over the run, and never before the turn before has ended."""
    return maximum(filter_run / turns, off_line)


@relation("Through the filters of one train to what follows", symbol="Q_f", unit="m^3/s", source="definition")
def with_make_up(feed_flow: M3PerS, make_up: M3PerS) -> M3PerS:
    """Feed of the membranes, and filtrate that refills the wash tank."""
    return feed_flow + make_up


@relation("Rinse of one filter", symbol="Q_r", unit="m^3/s", source="definition")
def rinse_at_service(flow: M3PerS, filters: Count, washes_together: Count, rinse_carried: Fraction) -> M3PerS:
    """At the rate of those in service; where the pump gives no more, all filters share what it gives."""
    return flow / (filters - washes_together * rinse_carried)


@relation("Feed pump in each step", symbol="Q_p", unit="m^3/s", source="definition")
def step_pump(
    flow: M3PerS, washes_together: Count, rinse_flow: M3PerS, rinsing: Fraction, rinse_carried: Fraction
) -> M3PerS:
    """What goes on, and the rinse where the pump carries it."""
    return flow + washes_together * rinse_flow * rinsing * rinse_carried


@relation("Each filter in service, in each step", symbol="Q_1", unit="m^3/s", source="definition")
def each_in_service(
    flow: M3PerS, filters: Count, washes_together: Count, rinse_flow: M3PerS, rinsing: Fraction
) -> M3PerS:
    """What the pump gives less the rinse, over the filters that are left."""
    return (flow - washes_together * rinse_flow * rinsing) / (filters - washes_together)


@relation("Feed of the membranes in each step", symbol="Q_F", unit="m^3/s", source="definition")
def step_feed(
    flow: M3PerS, washes_together: Count, rinse_flow: M3PerS, rinsing: Fraction, make_up: M3PerS
) -> M3PerS:
    """Pump less rinse less what refills the wash tank."""
    return flow - washes_together * rinse_flow * rinsing - make_up


@relation("Feed missing in each step", symbol="Delta_Q", unit="m^3/s", source="definition")
def feed_lost(feed_flow: M3PerS, step_feed_flow: M3PerS) -> M3PerS:
    """Against the feed the membranes were sized for."""
    return feed_flow - step_feed_flow


@relation("Wash water in each step", symbol="Q_b", unit="m^3/s", source="definition")
def step_wash(wash_flow: M3PerS, washes_together: Count, washing: Fraction) -> M3PerS:
    """Of one train."""
    return wash_flow * washes_together * washing


@relation("Water that drains off or fills a vessel", symbol="Q_d", unit="m^3/s", source="definition",
          note="steady over the step; a step of no length counts as one second")
def step_refill(drain_volume: M3, step_time: Minutes, step_share: Fraction) -> M3PerS:
    """The volume over the time of the step it belongs to."""
    return drain_volume * step_share / maximum(step_time, SECOND)


@relation("To waste in each step", symbol="Q_w", unit="m^3/s", source="definition")
def step_waste(
    washes_together: Count, drain_flow: M3PerS, step_wash_flow: M3PerS, refill_flow: M3PerS,
    rinse_flow: M3PerS, rinsing: Fraction
) -> M3PerS:
    """Drained water, wash water less what fills the vessel again, and rinse."""
    return washes_together * (drain_flow - refill_flow + rinse_flow * rinsing) + step_wash_flow


@relation("Mean over the run", symbol="Q_m", unit="m^3/s", source="definition")
def step_mean(volume: M3, filters: Count, trains: Count, filter_run: S) -> M3PerS:
    """A volume that every filter takes once a run."""
    return volume * filters * trains / filter_run


@relation("Drawn beyond the make-up, after each turn", symbol="V_k", unit="m^3", source="definition",
          note="the tank is full at the first turn; the make-up runs all the time")
def drawn_by_turns(
    turn: Count, at_once: Count, volume: M3, make_up: M3PerS, turn_interval: S, wash_duration: Minutes
) -> M3:
    """Volumes drawn less what came in since the first turn began."""
    return turn * at_once * volume - make_up * ((turn - 1) * turn_interval + wash_duration)


@relation("Volume that bridges the turns", symbol="V_s", unit="m^3", source="definition")
def bridged(drawn_volume: M3) -> M3:
    """Deepest draw of the run."""
    return largest(drawn_volume)


@relation("Swing of the raw tank over a run", symbol="V_s", unit="m^3", source="definition")
def swing_of(drawn_washed: M3, drawn_rinsed: M3) -> M3:
    """Deepest draw after a wash or after its rinse."""
    return maximum(maximum(largest(drawn_washed), largest(drawn_rinsed)), 0)


@relation("Flow over flow at duty", symbol="r_Q", unit="1", source="definition")
def flow_over_duty(flow: M3PerS, duty_flow: M3PerS) -> Factor:
    """How far a pump runs out."""
    return flow / duty_flow


@relation("Suction of the high-pressure pump while a filter is rinsed", symbol="p_s", unit="Pa",
          source="definition", note="loss of the media in proportion to their rate, of pipes to its square")
def suction_while_rinsing(
    pump_head: Head, static_head: Head, friction_head: Head, density: KgPerM3, filter_drop: DifferencePa,
    cartridge_drop: DifferencePa, filters: Count, washes_together: Count, flow_ratio: Factor
) -> GaugePa:
    """All of the feed still drawn, the rinse beside it, filters in service at the rate of fewer."""
    return (
        density * G * (pump_head - static_head - friction_head * flow_ratio**2)
        - filter_drop * filters / (filters - washes_together)
        - cartridge_drop
    )


@relation("Feed missing at the worst step", symbol="Delta_Q", unit="m^3/s", source="definition")
def worst_step(step_feed_flow: M3PerS) -> M3PerS:
    """Largest of the steps."""
    return largest(step_feed_flow)


@relation("Feed pump with all of the feed and the rinse", symbol="Q_r", unit="m^3/s", source="definition")
def rinse_on_top(flow: M3PerS, filters: Count, washes_together: Count) -> M3PerS:
    """Each filter that is rinsed takes as much as each in service."""
    return flow * filters / (filters - washes_together)
