"""Feed pump and high-pressure suction while filters are washed and rinsed."""

from __future__ import annotations

from desalbook.hydraulics.low_pressure import feed_duty
from desalbook.pretreatment import schedule_relations as r
from desalbook.pretreatment.schedule import Schedule
from desalbook.trail import Choice, Figure, assumed, checked, current

__all__ = ["pump_duty", "rinsing"]


def pump_duty(of: Schedule, carries_rinse: Choice) -> Figure:
    """Flow the feed pumps of one train are sized for, m3/s.

    The filter that is rinsed takes as much as each in service: with eight filters, eight sevenths.
    """
    shared = r.filters_over_together.at("filters.over_together", filters=of.battery.count,
                                        washes_together=of.turns.together)
    return feed_duty(of.through, shared, carries_rinse)


def rinsing(inp, of: Schedule, density: Figure, duty: Figure, dirty: Figure, cartridge_drop: Figure) -> Figure:
    """Suction of the high-pressure pump while a filter is rinsed, coldest water, dirty filters and cartridges.

    The high-pressure pump still draws all of its feed; where the feed pump has no more than that, it runs out
    along its curve and the suction falls. The feed lost is the other way to see it: the suction held, the feed
    less.

    Returns
    -------
    Figure
        Shut-off head of the feed pump over its head at duty.
    """
    line = current()
    ratio = assumed("feed_pump.shut_off_ratio", 1.2, "factor", title="Shut-off head over head at duty",
                    symbol="r_0", source="common-practice", place="end-suction pumps, 1.1 to 1.3")
    lost = r.worst_step.at("filters.rinse_feed_lost", step_feed_flow=of.lost,
                             title="Feed missing while a filter is rinsed, suction held")
    whole = r.rinse_on_top.at("feed_pump.flow_rinsing", flow=of.through, filters=of.battery.count,
                              washes_together=of.turns.together)
    head = r.head_on_curve.at("feed_pump.head_rinsing", pump_head=line["feed_pump.head"], shut_off_ratio=ratio,
                              flow=whole, duty_flow=duty)
    suction = r.suction_while_rinsing.at(
        "hp_pump.suction_pressure_rinsing", pump_head=head, static_head=line["hp_pump.lift_from_tank"],
        friction_head=line["piping.runs[feed].loss@cold"], density=density, filter_drop=dirty,
        cartridge_drop=cartridge_drop, filters=of.battery.count, washes_together=of.turns.together, flow=whole,
        duty_flow=duty)
    checked("hp_pump.suction_pressure_rinsing.check", suction, ">=", inp("hp_pump.low_trip"),
            title=f"Suction pressure while a filter is rinsed; feed missing if it is held: {lost.show()}",
            do="write feed_pump.carries_rinse = yes, rinse while the train is down, or raise hp_pump.suction_wanted",
            caution="the low-pressure trip stops the train")
    return ratio
