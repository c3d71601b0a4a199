"""The low-pressure side: heads of feed and wash pump, line by line, and the rinse of a filter.

Surfaces of tanks are open.
"""

from __future__ import annotations

from desalbook.hydraulics.constants import G
from desalbook.hydraulics.piping import head_of
from desalbook.trail import Choice, Figure, checked, note, relation, scope
from desalbook.units import Count, Fraction, GaugePa, Head, KgPerM3, M, M3PerS

__all__ = [
    "duty_with_rinse",
    "each_of",
    "feed_duty",
    "feed_head",
    "feed_head_of",
    "head_of_gauge",
    "lift_of",
    "rinse_shortfall",
    "wash_head",
    "wash_head_of",
]


@relation("Static lift", symbol="H_s", unit="m", source="definition")
def lift_of(elevation_to: M, elevation_from: M) -> Head:
    """From the level drawn from to the level delivered to; negative when the water runs down."""
    return elevation_to - elevation_from


@relation("Head of a wanted pressure", symbol="H_w", unit="m", source="definition")
def head_of_gauge(gauge_pressure: GaugePa, density: KgPerM3) -> Head:
    """Above the atmosphere that also stands on the tank."""
    return gauge_pressure / (density * G)


@relation("Head of the feed pump", symbol="H_f", unit="m", source="definition")
def feed_head_of(
    static_head: Head, friction_head: Head, filter_head: Head, cartridge_head: Head, suction_wanted: Head
) -> Head:
    """Line by line: lift, pipes, dirty filters, dirty cartridges, pressure at the next pump."""
    return static_head + friction_head + filter_head + cartridge_head + suction_wanted


@relation("Head of the wash pump", symbol="H_w", unit="m", source="definition")
def wash_head_of(
    static_head: Head, friction_head: Head, bed_head: Head, underdrain_head: Head, outlet_head: Head
) -> Head:
    """Lift, pipes, the weight of the fluidised bed, underdrain with nozzles, pressure at the outlet."""
    return static_head + friction_head + bed_head + underdrain_head + outlet_head


@relation(
    "Duty of the feed pumps while a filter is rinsed",
    symbol="Q_r",
    unit="m^3/s",
    source="definition",
    within={"filters": ("2", None)},
)
def duty_with_rinse(flow: M3PerS, filters: Count) -> M3PerS:
    """The filter that is rinsed takes as much as each of those in service."""
    return flow * filters / (filters - 1)


@relation("Production lost while a filter is rinsed", symbol="x_r", unit="1", source="definition")
def rinse_shortfall(filters: Count) -> Fraction:
    """Share of the feed that the rinse takes where the feed pump gives no more than the feed."""
    return 1 / filters


@relation("Flow of one machine", symbol="Q_1", unit="m^3/s", source="definition")
def each_of(flow: M3PerS, duty_count: Count) -> M3PerS:
    """Machines on duty share the flow."""
    return flow / duty_count


def feed_duty(flow: Figure, filters: Figure, carries_rinse: Choice) -> Figure:
    """Flow that the feed pumps of one train are sized for, ``feed_pump.duty_flow`` (m3/s).

    Where they do not carry the rinse, the shortfall at that moment is reported.
    """
    with scope(because=[carries_rinse]):
        if carries_rinse == "yes":
            return duty_with_rinse.at("feed_pump.duty_flow", flow=flow, filters=filters)
        short = rinse_shortfall.at("filters.rinse_shortfall", filters=filters)
        note(
            "filters.rinse_shortfall.note",
            title="Rinse of a filter at service rate",
            verdict="caution",
            why="the feed pump gives the feed and no more: while a filter is rinsed production falls",
            do="write feed_pump.carries_rinse = yes, or rinse while the train is down",
            inputs={"shortfall": short},
        )
        return flow


def feed_head(
    *,
    density: Figure,
    level: Figure,
    hp_elevation: Figure,
    friction_head: Figure,
    filter_drop: Figure,
    cartridge_drop: Figure,
    suction_wanted: Figure,
    held: Figure | None = None,
) -> Figure:
    """Head of the feed pump line by line, ``feed_pump.head`` (m).

    Parameters
    ----------
    density : Figure
        kg/m3, coldest water is on the safe side.
    level, hp_elevation : Figure
        Lowest level drawn from and centre line of the high-pressure pump, m.
    friction_head : Figure
        All pipes between them, m.
    filter_drop, cartridge_drop : Figure
        Dirty, Pa.
    suction_wanted : Figure
        Gauge pressure wanted at the high-pressure pump, Pa.
    held : Figure, optional
        ``feed_pump.pressure_rise`` as written; the sum becomes ``feed_pump.head_needed`` and is checked.

    Returns
    -------
    Figure
        Head of the pump: the sum, or that of the pressure rise held.
    """
    lift = lift_of.at("feed_pump.static_lift", elevation_to=hp_elevation, elevation_from=level)
    filters = head_of.at(
        "feed_pump.filter_loss",
        pressure_rise=filter_drop,
        density=density,
        title="Head lost in dirty filters",
    )
    cartridges = head_of.at(
        "feed_pump.cartridge_loss",
        pressure_rise=cartridge_drop,
        density=density,
        title="Head lost in dirty cartridges",
    )
    wanted = head_of_gauge.at("feed_pump.suction_head_wanted", gauge_pressure=suction_wanted, density=density)
    parts = {
        "static_head": lift,
        "friction_head": friction_head,
        "filter_head": filters,
        "cartridge_head": cartridges,
        "suction_wanted": wanted,
    }
    if held is None:
        return feed_head_of.at("feed_pump.head", **parts)
    needed = feed_head_of.at("feed_pump.head_needed", **parts, title="Head the feed pump needs")
    head = head_of.at("feed_pump.head", pressure_rise=held, density=density, title="Head of the feed pump")
    checked(
        "feed_pump.head.check",
        head,
        ">=",
        needed,
        title="Head of the feed pump with dirty filters",
        do="raise feed_pump.pressure_rise or leave it out",
    )
    return head


def wash_head(
    *,
    density: Figure,
    level: Figure,
    outlet_elevation: Figure,
    friction_head: Figure,
    bed_head: Figure,
    underdrain_drop: Figure,
    outlet_pressure: Figure,
    held: Figure | None = None,
) -> Figure:
    """Head of the wash pump line by line, ``backwash_pump.head`` (m).

    Parameters
    ----------
    level, outlet_elevation : Figure
        Lowest level of the wash source and top of the wash outlet, m.
    friction_head, bed_head : Figure
        Pipes, and weight of the fluidised media in water, m.
    underdrain_drop : Figure
        Underdrain, nozzles and valves at the wash flow, Pa.
    outlet_pressure : Figure
        Gauge pressure left at the outlet for its line, Pa.
    held : Figure, optional
        ``backwash_pump.pressure_rise`` as written; the sum becomes ``.head_needed`` and is checked.
    """
    lift = lift_of.at("backwash_pump.static_lift", elevation_to=outlet_elevation, elevation_from=level)
    under = head_of.at(
        "backwash_pump.underdrain_loss",
        pressure_rise=underdrain_drop,
        density=density,
        title="Head lost in the underdrain",
    )
    outlet = head_of_gauge.at(
        "backwash_pump.outlet_head",
        gauge_pressure=outlet_pressure,
        density=density,
        title="Head at the outlet",
    )
    parts = {
        "static_head": lift,
        "friction_head": friction_head,
        "bed_head": bed_head,
        "underdrain_head": under,
        "outlet_head": outlet,
    }
    if held is None:
        return wash_head_of.at("backwash_pump.head", **parts)
    needed = wash_head_of.at("backwash_pump.head_needed", **parts, title="Head the wash pump needs")
    head = head_of.at(
        "backwash_pump.head", pressure_rise=held, density=density, title="Head of the wash pump"
    )
    checked(
        "backwash_pump.head.check",
        head,
        ">=",
        needed,
        title="Head of the wash pump",
        do="raise backwash_pump.pressure_rise or leave it out",
    )
    return head
