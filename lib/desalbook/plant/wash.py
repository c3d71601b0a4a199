"""Feed pump and high-pressure suction while filters are washed and rinsed."""

from __future__ import annotations

from desalbook.hydraulics.design_pressure import shutoff_rise
from desalbook.hydraulics.head import pressure_head
from desalbook.hydraulics.low_pressure import feed_pump_duty_flow, parabolic_pump_head
from desalbook.hydraulics.pump import Pump
from desalbook.pretreatment import schedule_relations as r
from desalbook.pretreatment.schedule import Schedule
from desalbook.trail import Choice, Figure, checked, current

__all__ = ["pump_duty", "rinsing"]


def pump_duty(of: Schedule, carries_rinse: Choice) -> Figure:
    """Flow the feed pumps of one train are sized for, m3/s.

    The filter that is rinsed takes as much as each in service: with eight filters, eight sevenths.
    """
    shared = r.filters_over_together.at("filters.over_together", filters=of.battery.count,
                                        washes_together=of.turns.together)
    return feed_pump_duty_flow(of.through, shared, carries_rinse)


def rinsing(inp, of: Schedule, density: Figure, duty: Figure, dirty: Figure, cartridge_drop: Figure,
            pump: Pump, kind: Choice) -> None:
    """Suction of the high-pressure pump while a filter is rinsed, coldest water, dirty filters and cartridges.

    The high-pressure pump still draws all of its feed; where the feed pump has no more than that, it runs out
    along its curve and the suction falls. The feed lost is the other way to see it: the suction held, the feed
    less.
    """
    line = current()
    shut = pressure_head.at("feed_pump.shutoff_head", pressure_rise=shutoff_rise("feed_pump", pump.pressure_rise, kind),
                            density=density, title="Head of the feed pump at shut-off")
    lost = r.worst_step.at("filters.rinse_feed_lost", step_feed_flow=of.lost,
                           title="Feed missing while a filter is rinsed, suction held")
    whole = r.rinse_on_top.at("feed_pump.flow_rinsing", flow=of.through, filters=of.battery.count,
                              washes_together=of.turns.together)
    ratio = r.flow_over_duty.at("feed_pump.run_out", flow=whole, duty_flow=duty)
    head = parabolic_pump_head.at("feed_pump.head_rinsing", shutoff_head=shut, pump_head=pump.head, flow_ratio=ratio,
                                  title="Head of the feed pump while a filter is rinsed")
    suction = r.suction_while_rinsing.at(
        "hp_pump.suction_pressure_rinsing", pump_head=head, static_head=line["hp_pump.lift_from_tank"],
        friction_head=line["piping.runs[feed].loss@cold"], density=density, filter_drop=dirty,
        cartridge_drop=cartridge_drop, filters=of.battery.count, washes_together=of.turns.together,
        flow_ratio=ratio)
    checked("hp_pump.suction_pressure_rinsing.check", suction, ">=", inp("hp_pump.low_trip"),
            title=f"Suction pressure while a filter is rinsed; feed missing if it is held: {lost.show()}",
            do="write feed_pump.carries_rinse = yes, rinse while the train is down, or raise hp_pump.suction_wanted",
            caution="the low-pressure trip stops the train")
