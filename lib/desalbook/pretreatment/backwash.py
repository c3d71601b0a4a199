"""The wash of a filter: rate, expansion in cold and hot water, volumes, times and what goes to waste.

Filters wash one at a time. Scour air and wash water never start together unless the maker of the media and
of the underdrain allows it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.pipes import Fluid
from desalbook.pretreatment import backwash_relations as r
from desalbook.pretreatment.filters import Battery, Bed, Layers
from desalbook.pretreatment.schedule import STEPS, Schedule, steps, tanks, turns
from desalbook.problems import TrailError
from desalbook.trail import Choice, Column, Figure, assumed, checked, scope

__all__ = ["WashRate", "WashWater", "wash_rate", "wash_water"]

Inp = Callable[[str], Any]


@dataclass(frozen=True)
class WashRate:
    """Rate (m/s), flow (m3/s) and air flow (m3/s) of the wash of one filter; rise of the cold bed (m)."""

    rate: Figure
    flow: Figure
    scour_flow: Figure
    rise_cold: Figure
    bed_head: Figure


@dataclass(frozen=True)
class WashWater:
    """Volumes of one wash (m3), average flows of one train (m3/s), times.

    Parameters
    ----------
    wash_volume, rinse_volume, drain_volume : Figure
        m3, one wash of one filter.
    rinse_flow : Figure
        m3/s, while a filter is rinsed.
    wash_average, rinse_average, waste_average : Figure
        m3/s of one train, as average of a day. Waste is wash and rinse; the wash fills again what was drained.
    washes_per_day : Figure
        1/s, starts of the wash pump for one train.
    off_line : Figure
        s, one wash.
    off_line_share : Figure
    schedule : Schedule
    bridged, swing : Figure
        Deepest draw on the source of the wash and on the raw tank over a run, m3.
    """

    wash_volume: Figure
    rinse_volume: Figure
    drain_volume: Figure
    rinse_flow: Figure
    wash_average: Figure
    rinse_average: Figure
    waste_average: Figure
    washes_per_day: Figure
    off_line: Figure
    off_line_share: Figure
    schedule: Schedule
    bridged: Figure
    swing: Figure


def wash_rate(inp: Inp, of: Bed, area: Figure, waters: Mapping[str, Fluid]) -> WashRate:
    """Wash rate and flow, with the checks that the hottest water still lifts all and the coldest loses none.

    Parameters
    ----------
    of : Bed
    area : Figure
        Of one filter, m2.
    waters : mapping
        The wash water at ``cold``, ``design`` and ``hot``.
    """
    if not {"cold", "hot"} <= set(waters):
        raise TrailError("wants wash water at cold and hot", where="filters.backwash_rate")
    lifted: dict[str, Column] = {}
    galileo: dict[str, Column] = {}
    for corner, fluid in waters.items():
        with scope(corner=corner):
            galileo[corner] = _galileo("filters.wash_galileo_coarse", of.media, "d90", fluid)
            lifted[corner] = r.least_fluidisation.at(
                "filters.fluidisation_rate",
                galileo=galileo[corner],
                viscosity=fluid.viscosity,
                density=fluid.density,
                grain_size=of.media.d90,
            )
    needed = _target(inp, of.media, galileo["hot"], lifted["hot"], waters["hot"])
    rate, flow = _rate_and_flow(inp, area, needed)
    hardest = r.fastest.at(
        "filters.fluidisation_rate_hottest",
        wash_rate=lifted["hot"],
        title="Least fluidisation of the layer that is hardest to lift, hottest water",
    )
    checked(
        "filters.backwash_rate.check",
        rate,
        ">=",
        hardest,
        title="Wash lifts all layers in the hottest water",
        do="raise filters.backwash_rate or choose finer media",
    )
    rises = {}
    for corner, fluid in waters.items():
        with scope(corner=corner):
            rises[corner] = _rise(of.media, rate, fluid)
    checked(
        "filters.bed_rise.check",
        rises["cold"],
        "<=",
        inp("filters.freeboard"),
        title="Rise of the bed in the coldest water",
        do="lower the wash rate in winter, or give more freeboard",
        caution="media that reach the collector are lost",
    )
    with scope(corner="hot"):
        least = r.bed_expansion_of.at("filters.bed_expansion", bed_rise=rises["hot"], depth=of.media.depth)
        checked(
            "filters.bed_expansion.check",
            least,
            ">=",
            inp("filters.expansion_least"),
            title="Expansion of the bed in the hottest water",
            do="raise the wash rate in summer, or choose finer media",
        )
    if of.support is not None:
        _support_rests(of.support, rate, waters["cold"])
    with scope(corner="cold"):
        bed_head = r.bed_weight_head.at(
            "filters.bed_weight_head",
            depth=of.media.depth,
            settled_porosity=of.media.settled_porosity,
            grain_density=of.media.grain_density,
            density=waters["cold"].density,
        )
    scour = r.scour_flow_of.at("filters.scour_flow", air_scour_rate=inp("filters.scour_rate"), area=area)
    return WashRate(rate, flow, scour, rises["cold"], bed_head)


def _galileo(id: str, layers: Layers, size: str, fluid: Fluid) -> Column:
    return r.galileo_of.at(
        id,
        grain_size=getattr(layers, size),
        density=fluid.density,
        grain_density=layers.grain_density,
        viscosity=fluid.viscosity,
    )


def _target(inp: Inp, layers: Layers, galileo: Column, lifted: Column, fluid: Fluid) -> Figure:
    target: Choice = inp("filters.wash_target")
    with scope(because=[target]):
        if target == "fluidisation":
            by_layer = r.wash_target_rate.at(
                "filters.wash_rate_by_layer",
                fluidisation_rate=lifted,
                fluidisation_factor=inp("filters.fluidisation_factor"),
            )
        else:
            porosity = r.porosity_at_expansion.at(
                "filters.wash_porosity_wanted",
                settled_porosity=layers.settled_porosity,
                expansion=inp("filters.wash_expansion"),
            )
            parameter = r.fluidised_parameter.at(
                "filters.wash_parameter", galileo=galileo, expanded_porosity=porosity
            )
            reynolds = r.fluidised_reynolds.at(
                "filters.wash_reynolds_wanted",
                kappa_v=layers.kappa_v,
                kappa_i=layers.kappa_i,
                expanded_porosity=porosity,
                fluidised=parameter,
            )
            by_layer = r.rate_at_reynolds.at(
                "filters.wash_rate_by_layer",
                reynolds=reynolds,
                viscosity=fluid.viscosity,
                density=fluid.density,
                grain_size=layers.d90,
            )
        held = inp("filters.backwash_rate") is not None or inp("filters.backwash_flow") is not None
        id = "filters.backwash_rate_wanted" if held else "filters.backwash_rate"
        return r.fastest.at(id, wash_rate=by_layer, title="Wash rate that the hottest water asks for")


def _rate_and_flow(inp: Inp, area: Figure, needed: Figure) -> tuple[Figure, Figure]:
    rate, flow = inp("filters.backwash_rate"), inp("filters.backwash_flow")
    if flow is not None:
        rate = r.wash_rate_of.at("filters.backwash_rate", wash_flow=flow, area=area)
    elif rate is not None:
        flow = r.wash_flow_of.at("filters.backwash_flow", wash_rate=rate, area=area)
    else:
        rate = needed
        return rate, r.wash_flow_of.at("filters.backwash_flow", wash_rate=rate, area=area)
    checked(
        "filters.backwash_rate_wanted.check",
        rate,
        ">=",
        needed,
        title="Wash rate held, against the one aimed at",
        do="raise filters.backwash_rate or filters.backwash_flow, or leave them out",
    )
    return rate, flow


def _rise(layers: Layers, rate: Figure, fluid: Fluid) -> Figure:
    galileo = _galileo("filters.wash_galileo", layers, "d60", fluid)
    reynolds = r.wash_reynolds.at(
        "filters.wash_reynolds",
        density=fluid.density,
        wash_rate=rate,
        grain_size=layers.d60,
        viscosity=fluid.viscosity,
    )
    porosity = r.expanded_porosity_of.at(
        "filters.wash_porosity",
        reynolds=reynolds,
        galileo=galileo,
        settled_porosity=layers.settled_porosity,
    )
    expansion = r.expansion_of.at(
        "filters.wash_expansion_by_layer",
        expanded_porosity=porosity,
        settled_porosity=layers.settled_porosity,
    )
    return r.bed_rise_of.at("filters.bed_rise", depth=layers.depth, expansion=expansion)


def _support_rests(layers: Layers, rate: Figure, fluid: Fluid) -> None:
    with scope(corner="cold"):
        galileo = _galileo("filters.support_galileo", layers, "effective_size", fluid)
        lifts = r.least_fluidisation.at(
            "filters.support_fluidisation",
            galileo=galileo,
            viscosity=fluid.viscosity,
            density=fluid.density,
            grain_size=layers.effective_size,
        )
        least = r.slowest.at(
            "filters.support_limit", wash_rate=lifts, title="Rate at which the support would move"
        )
    checked(
        "filters.support.check",
        rate,
        "<=",
        least,
        title="Support layers stay at rest",
        do="choose coarser or denser support, or lower the wash rate",
    )


def wash_water(
    inp: Inp, flow: Figure, of: Battery, wash: WashRate, trains: Figure, carries_rinse: Choice
) -> WashWater:
    """Volumes, average flows, times and schedule of the wash.

    Parameters
    ----------
    flow : Figure
        Through the filters of one train to the membranes, m3/s.
    of : Battery
    wash : WashRate
    trains : Figure
    carries_rinse : Choice
        Whether the feed pump gives the rinse on top of the feed.
    """
    run = inp("filters.run_length")
    times = {n: inp(f"filters.{n}_time") for n in STEPS}
    with scope("unit"):
        washed = r.volume_in_time.at(
            "filters.wash_volume", flow=wash.flow, wash_duration=times["wash"], title="Wash water of one wash"
        )
        drained = r.drain_volume_of.at(
            "filters.drain_volume", area=of.area, drain_depth=inp("filters.drain_depth")
        )
        off = r.off_line_time.at("filters.off_line", **{f"{n}_time": t for n, t in times.items()})
        share = r.off_line_share.at("filters.off_line_share", off_line=off, filter_run=run)
    order = turns(inp, of, off, trains)
    with scope("train", count=trains):
        plan = steps(
            inp,
            of,
            flow,
            trains,
            order,
            wash_flow=wash.flow,
            wash_volume=washed,
            drain_volume=drained,
            carries_rinse=carries_rinse,
        )
        washes = r.washes_per_day_of.at("filters.washes_per_day", filters=of.count, filter_run=run)
        wash_mean = _mean("filters.wash_average_flow", washed, washes, "Average flow of wash water")
        rinse_mean = _mean("filters.rinse_average_flow", plan.rinse_volume, washes, "Average flow of rinse")
        waste = r.mean_waste.at(
            "filters.waste_average_flow",
            wash_average=wash_mean,
            rinse_average=rinse_mean,
        )
        r.wash_share.at("filters.waste_share", waste_average=waste, flow=flow)
    store, swing = tanks(plan, wash_mean, rinse_mean, times)
    starts = r.starts_of.at("backwash_pump.starts", washes_per_day=washes, at_once=order.at_once)
    busy = r.busy_share.at(
        "filters.wash_busy", washes_per_day=washes, trains=trains, off_line=off, at_once=order.at_once
    )
    whole = assumed(
        "filters.wash_busy_limit",
        1.0,
        "fraction",
        title="All of the time",
        symbol="x_q",
        text="100 %",
        source="definition",
        place="one turn at a time",
    )
    checked(
        "filters.wash_busy.check",
        busy,
        "<=",
        whole,
        title="Washes one after another",
        do="lengthen the run, shorten the wash, or let more filters wash together",
    )
    return WashWater(
        washed, plan.rinse_volume, drained, plan.rinse, wash_mean, rinse_mean, waste, starts, off, share, plan,
        store, swing
    )


def _mean(id: str, volume: Figure, washes: Figure, title: str) -> Figure:
    return r.average_flow.at(id, volume=volume, washes_per_day=washes, title=title)
