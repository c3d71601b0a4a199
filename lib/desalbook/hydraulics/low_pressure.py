"""Low-pressure pumps: total dynamic head line by line, system curve, pump curve, and where the two cross.

Surfaces of tanks are open. A pump's curve is a parabola through shut-off and duty until the curve of the pump
bought is at hand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.head import gauge_pressure_head, pressure_head, static_lift
from desalbook.trail import Choice, Figure, checked, maximum, note, relation, scope, sqrt
from desalbook.units import Count, Factor, Fraction, Head, M3PerS

__all__ = [
    "DynamicHead",
    "PumpSystem",
    "backwash_pump_head",
    "cleaning_total_dynamic_head",
    "feed_flow_with_filter_to_waste",
    "feed_pump_duty_flow",
    "feed_pump_head",
    "filter_to_waste_shortfall",
    "mean_service_head",
    "operating_flow_ratio",
    "parabolic_pump_head",
    "system_curve_head",
    "total_dynamic_head",
    "transfer_total_dynamic_head",
]


@dataclass(frozen=True)
class DynamicHead:
    """Total dynamic head of one pump (m): the sum or what the design holds, and the lines it was built up from.

    Parameters
    ----------
    total, static_lift, friction, outlet : Figure
        Head of the pump; lift, pipes, and the pressure wanted at the end as head.
    equipment : Figure or None
        Cartridges, underdrain and the like.
    """

    total: Figure
    static_lift: Figure
    friction: Figure
    outlet: Figure
    equipment: Figure | None = None


@dataclass(frozen=True)
class PumpSystem:
    """A low-pressure pump and the system it works on, at the duty of one unit: flow in m3/s, heads in m.

    Parameters
    ----------
    flow, pump_head, shutoff_head : Figure
    static_head, friction_head : Figure
        What does not change with flow, and what goes with its square.
    media_head : mapping of state to Figure
        What goes with the flow, ``clean`` and ``dirty``.
    """

    flow: Figure
    pump_head: Figure
    shutoff_head: Figure
    static_head: Figure
    friction_head: Figure
    media_head: Mapping[str, Figure]

    def head_asked(self, state: str, flow_ratio: Any) -> Any:
        """System curve: head over flow ratio (a number or an array), m; call it in the values context."""
        return system_curve_head.at("system.head", static_head=self.static_head, friction_head=self.friction_head,
                                    media_head=self.media_head[state], flow_ratio=flow_ratio)

    def head_given(self, flow_ratio: Any) -> Any:
        """Pump curve: head over flow ratio (a number or an array), m; call it in the values context."""
        return parabolic_pump_head.at("pump.head", shutoff_head=self.shutoff_head, pump_head=self.pump_head,
                                      flow_ratio=flow_ratio)

    def operating_ratio(self, state: str) -> Any:
        """Flow over duty where the two curves cross; call it in the values context."""
        return operating_flow_ratio.at("pump.flow_ratio", shutoff_head=self.shutoff_head, pump_head=self.pump_head,
                                       static_head=self.static_head, friction_head=self.friction_head,
                                       media_head=self.media_head[state])


@relation("Total dynamic head", symbol="H", unit="m", source="definition")
def total_dynamic_head(
    static_head: Head, friction_head: Head, bed_head: Head, equipment_head: Head, outlet_head: Head
) -> Head:
    """Total dynamic head of a pump: lift, pipes, bed of the filters, equipment, pressure wanted at the end.

    At the duty flow. In service the bed and the cartridges are taken dirty; in a backwash the bed is fluidised and
    carries its weight whatever the rate, though before it lifts it may ask for more. None where the water runs down
    by itself: that is gravity flow.
    """
    return maximum(static_head + friction_head + bed_head + equipment_head + outlet_head, 0)


@relation("Head of a transfer pump", symbol="H_t", unit="m", source="definition")
def transfer_total_dynamic_head(static_head: Head, friction_head: Head, outlet_head: Head) -> Head:
    """Total dynamic head of a transfer pump: lift, pipes and fittings, pressure wanted at the end.

    At the duty flow and the minimum level drawn from; none where the water runs down by itself: that is gravity flow.
    """
    return maximum(static_head + friction_head + outlet_head, 0)


@relation("Head the CIP pump needs", symbol="H_cl", unit="m", source="definition")
def cleaning_total_dynamic_head(static_head: Head, friction_head: Head, cartridge_head: Head,
                                outlet_head: Head) -> Head:
    """Total dynamic head of the CIP pump: lift, pipes out and back, cartridges, pressure at the vessels.

    At the CIP flow; foulants that the cartridges catch raise it while they are cleaned.
    """
    return maximum(static_head + friction_head + cartridge_head + outlet_head, 0)


@relation(
    "Feed-pump duty during filter-to-waste",
    symbol="Q_r",
    unit="m^3/s",
    source="definition",
    within={"filters": ("2", None)},
)
def feed_flow_with_filter_to_waste(flow: M3PerS, filters: Count) -> M3PerS:
    """Feed pump duty while one filter runs to waste: it takes as much as each of those in service.

    Filters share the flow evenly and one at a time runs to waste; none where there is one filter.
    """
    return flow * filters / (filters - 1)


@relation("Production lost during filter-to-waste", symbol="x_r", unit="1", source="definition")
def filter_to_waste_shortfall(filters: Count) -> Fraction:
    """Fraction of the feed lost while one filter runs to waste and the feed pump gives no more than the feed.

    Lasts for the filter-to-waste step only; filters share the flow evenly.
    """
    return 1 / filters


@relation(
    "Head the system asks for",
    symbol="H_sys",
    unit="m",
    source="hi-edb",
    place="system curve",
    note="turbulent pipes with the square of flow, media and cartridges in proportion to it",
)
def system_curve_head(static_head: Head, friction_head: Head, media_head: Head, flow_ratio: Factor) -> Head:
    """System curve: static head, pipes with the square of flow, media and cartridges in proportion to it.

    Losses are those at duty; wholly turbulent pipes and laminar media, which real ones only approach.
    """
    return static_head + friction_head * flow_ratio**2 + media_head * flow_ratio


@relation("Head asked for, mean of clean and dirty", symbol="H_m", unit="m", source="definition")
def mean_service_head(clean_head: Head, dirty_head: Head) -> Head:
    """Head a system asks for over a filter run, mean of clean and dirty.

    The loss grows in proportion to time; a run cut short by turbidity or by the clock stays below it.
    """
    return (clean_head + dirty_head) / 2


@relation(
    "Head of the pump",
    symbol="H_p",
    unit="m",
    source="common-practice",
    place="parabola through shut-off and duty",
    note="the curve of the pump bought replaces it",
)
def parabolic_pump_head(shutoff_head: Head, pump_head: Head, flow_ratio: Factor) -> Head:
    """Head of a centrifugal pump as a parabola through shut-off and duty.

    Stands in for the curve of the pump bought, which replaces it; beyond some 1.3 of the duty real curves fall faster.
    """
    return shutoff_head - (shutoff_head - pump_head) * flow_ratio**2


@relation(
    "Flow where pump and system meet, over flow at duty",
    symbol="r_Q",
    unit="1",
    source="definition",
    note="at full speed, nothing throttled",
)
def operating_flow_ratio(
    shutoff_head: Head, pump_head: Head, static_head: Head, friction_head: Head, media_head: Head
) -> Factor:
    """Operating point: flow over duty at which pump curve and system curve cross.

    Positive root of the quadratic of the two curves, full speed and nothing throttled; none where the static head
    passes the shut-off head.
    """
    return (2 * (shutoff_head - static_head)) / (
        media_head
        + sqrt(media_head**2 + 4 * (friction_head + shutoff_head - pump_head) * (shutoff_head - static_head))
    )


def feed_pump_duty_flow(flow: Figure, filters: Figure, carries_filter_to_waste: Choice) -> Figure:
    """Flow that the feed pumps of one train are sized for, ``feed_pump.duty_flow`` (m3/s).

    Where they do not carry the rinse, the shortfall at that moment is reported.
    """
    with scope(because=[carries_filter_to_waste]):
        if carries_filter_to_waste == "yes":
            return feed_flow_with_filter_to_waste.at("feed_pump.duty_flow", flow=flow, filters=filters)
        short = filter_to_waste_shortfall.at("filters.rinse_shortfall", filters=filters)
        note(
            "filters.rinse_shortfall.note",
            title="Filter-to-waste at service rate",
            verdict="review",
            why="the feed pump gives the feed alone: production falls during filter-to-waste",
            do="set feed_pump.carries_filter_to_waste = yes, or carry out filter-to-waste with the train stopped",
            inputs={"shortfall": short},
        )
        return flow


def feed_pump_head(
    *,
    density: Figure,
    level: Figure,
    hp_elevation: Figure,
    friction_head: Figure,
    filter_drop: Figure,
    cartridge_drop: Figure,
    suction_wanted: Figure,
    held: Figure | None = None,
) -> DynamicHead:
    """Head of the feed pump line by line, ``feed_pump.head`` (m).

    Parameters
    ----------
    density : Figure
        kg/m3, coldest water is on the safe side.
    level, hp_elevation : Figure
        Minimum level drawn from and centre line of the high-pressure pump, m.
    friction_head : Figure
        All pipes between them, m.
    filter_drop, cartridge_drop : Figure
        Dirty, Pa.
    suction_wanted : Figure
        Gauge pressure wanted at the high-pressure pump, Pa.
    held : Figure, optional
        ``feed_pump.pressure_rise`` as written; the sum becomes ``feed_pump.head_needed`` and is checked.
    """
    lift = static_lift.at("feed_pump.static_lift", elevation_to=hp_elevation, elevation_from=level)
    filters = pressure_head.at(
        "feed_pump.filter_loss",
        pressure_rise=filter_drop,
        density=density,
        title="Head loss in dirty filters",
    )
    cartridges = pressure_head.at(
        "feed_pump.cartridge_loss",
        pressure_rise=cartridge_drop,
        density=density,
        title="Head loss in dirty cartridges",
    )
    wanted = gauge_pressure_head.at("feed_pump.suction_head_wanted", gauge_pressure=suction_wanted, density=density)
    parts = {
        "static_head": lift,
        "friction_head": friction_head,
        "bed_head": filters,
        "equipment_head": cartridges,
        "outlet_head": wanted,
    }
    if held is None:
        head = total_dynamic_head.at("feed_pump.head", **parts, title="Head of the feed pump", symbol="H_f")
        return DynamicHead(head, lift, friction_head, wanted, cartridges)
    needed = total_dynamic_head.at("feed_pump.head_needed", **parts, title="Head the feed pump needs", symbol="H_f")
    head = pressure_head.at("feed_pump.head", pressure_rise=held, density=density, title="Head of the feed pump")
    checked(
        "feed_pump.head.check",
        head,
        ">=",
        needed,
        title="Head of the feed pump with dirty filters",
        do="raise feed_pump.pressure_rise, or clear it",
    )
    return DynamicHead(head, lift, friction_head, wanted, cartridges)


def backwash_pump_head(
    *,
    density: Figure,
    level: Figure,
    outlet_elevation: Figure,
    friction_head: Figure,
    bed_head: Figure,
    underdrain_drop: Figure,
    outlet_pressure: Figure,
    held: Figure | None = None,
) -> DynamicHead:
    """Head of the backwash pump line by line, ``backwash_pump.head`` (m).

    Parameters
    ----------
    level, outlet_elevation : Figure
        Minimum level of the backwash source and top of the backwash outlet, m.
    friction_head, bed_head : Figure
        Pipes, and weight of the fluidised media in water, m.
    underdrain_drop : Figure
        Underdrain, nozzles, face piping and valves at the backwash flow, Pa.
    outlet_pressure : Figure
        Gauge pressure left at the outlet for its line, Pa.
    held : Figure, optional
        ``backwash_pump.pressure_rise`` as written; the sum becomes ``.head_needed`` and is checked.
    """
    lift = static_lift.at("backwash_pump.static_lift", elevation_to=outlet_elevation, elevation_from=level)
    under = pressure_head.at(
        "backwash_pump.underdrain_loss",
        pressure_rise=underdrain_drop,
        density=density,
        title="Head loss in underdrain and face piping",
    )
    outlet = gauge_pressure_head.at(
        "backwash_pump.outlet_head",
        gauge_pressure=outlet_pressure,
        density=density,
        title="Head at the outlet",
    )
    parts = {
        "static_head": lift,
        "friction_head": friction_head,
        "bed_head": bed_head,
        "equipment_head": under,
        "outlet_head": outlet,
    }
    if held is None:
        head = total_dynamic_head.at("backwash_pump.head", **parts, title="Head of the backwash pump", symbol="H_w")
        return DynamicHead(head, lift, friction_head, outlet, under)
    needed = total_dynamic_head.at("backwash_pump.head_needed", **parts, title="Required backwash-pump head",
                                   symbol="H_w")
    head = pressure_head.at(
        "backwash_pump.head", pressure_rise=held, density=density, title="Head of the backwash pump"
    )
    checked(
        "backwash_pump.head.check",
        head,
        ">=",
        needed,
        title="Head of the backwash pump",
        do="raise backwash_pump.pressure_rise, or clear it",
    )
    return DynamicHead(head, lift, friction_head, outlet, under)
