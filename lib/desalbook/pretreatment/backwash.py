"""Backwash of a filter: rate, bed expansion in cold and hot water, scour, volumes, times and what goes to waste.

Filters are backwashed one at a time. Scour air and backwash water never start together unless the manufacturer of the
media and of the underdrain allows it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated

from desalbook.balances import flow_fraction, sum_of_flows, volume_in_time
from desalbook.hydraulics.pipes import Fluid
from desalbook.pretreatment.backwash_schedule import STEPS, Schedule, average_flow, slots, steps, tanks
from desalbook.pretreatment.filters import Battery
from desalbook.pretreatment.granular_beds import (
    ExpansionIds,
    bed_expansion,
    expanded_bed_rise,
    fluidised_bed_head_loss,
    fluidised_bed_parameter,
    fluidised_bed_reynolds,
    galileo_number,
    layer_expansions,
    layer_fluidisation_rate,
    minimum_fluidisation_velocity,
    porosity_at_expansion,
    rate_at_reynolds,
)
from desalbook.pretreatment.media import Bed, Layers, support_grading, total_depth
from desalbook.problems import TrailError
from desalbook.trail import (
    Choice,
    Column,
    Figure,
    assumed,
    checked,
    constant,
    largest,
    maximum,
    relation,
    scope,
    smallest,
)
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit, review_limit
from desalbook.units import (
    KINDS,
    M2,
    M3,
    Count,
    DifferencePa,
    Factor,
    FiltrationRate,
    Fraction,
    KgPerM3,
    M,
    M3PerS,
    PerS,
    S,
    ScourRate,
)

__all__ = [
    "CFM_FT2",
    "SCOURS",
    "TARGETS",
    "BackwashRate",
    "BackwashWater",
    "Scour",
    "Target",
    "backwash_frequency",
    "backwash_rate",
    "backwash_rate_by_factor",
    "backwash_system_occupancy",
    "backwash_water",
    "collapse_pulsing_rate",
    "drained_volume",
    "flow_at_rate",
    "fraction_out_of_service",
    "largest_layer_rate",
    "nozzle_pressure_drop",
    "pump_start_frequency",
    "rate_at_flow",
    "scour_air_flow",
    "smallest_layer_rate",
    "time_out_of_service",
    "underdrain",
]


Minutes = Annotated[float, KINDS["time.minute"]]
AirFlow = Annotated[float, KINDS["flow.air"]]
CFM_FT2 = constant("cfm/ft2", 0.00508, "m/s", source="definition", title="One cubic foot a minute on a square foot")


@relation("Backwash rate aimed at", symbol="v_w", unit="m/s", source="hendricks", place="1.3 times v_mf of d90")
def backwash_rate_by_factor(fluidisation_rate: FiltrationRate, fluidisation_factor: Factor) -> FiltrationRate:
    """Backwash rate aimed at: a multiple of minimum fluidisation.

    Of one layer; the layer that is hardest to fluidise governs the bed.
    """
    return fluidisation_rate * fluidisation_factor


@relation("Largest over the layers", symbol="v_w", unit="m/s", source="definition")
def largest_layer_rate(wash_rate: FiltrationRate) -> FiltrationRate:
    """Largest rate over the layers: the layer that is hardest to fluidise.

    All layers see the same rate, so that the others expand more than they need to.
    """
    return largest(wash_rate)


@relation("Smallest over the layers", symbol="v_w", unit="m/s", source="definition")
def smallest_layer_rate(wash_rate: FiltrationRate) -> FiltrationRate:
    """Smallest rate over the layers: the layer that moves first.

    What a layer at rest may not exceed.
    """
    return smallest(wash_rate)


@relation("Backwash flow", symbol="Q_b", unit="m^3/s", source="definition")
def flow_at_rate(wash_rate: FiltrationRate, area: M2) -> M3PerS:
    """Flow through one filter at a superficial velocity.

    Over the bed area at its middle; a horizontal shell is narrower above and below.
    """
    return wash_rate * area


@relation("Backwash rate", symbol="v_b", unit="m/s", source="definition")
def rate_at_flow(wash_flow: M3PerS, area: M2) -> FiltrationRate:
    """Superficial velocity in one filter at a flow that is fixed.

    Over the bed area at its middle.
    """
    return wash_flow / area


@relation("Flow of scour air", symbol="Q_a", unit="m^3/s", source="definition")
def scour_air_flow(air_scour_rate: ScourRate, area: M2) -> AirFlow:
    """Flow of scour air to one filter.

    At inlet conditions of the blower, as the rate is; at the bed the air takes less volume.
    """
    return air_scour_rate * area


@relation(
    "Water beside the scour air",
    symbol="v_p",
    unit="m/s",
    source="amirtharajah-1993",
    place="from memory",
    note="collapse and pulsing: air and water together scour best here",
)
def collapse_pulsing_rate(air_scour_rate: ScourRate, fluidisation_rate: FiltrationRate) -> FiltrationRate:
    """Backwash rate beside air scour at collapse-pulsing.

    A fraction of minimum fluidisation that falls with the square of the air rate; zero where the air alone is enough.
    Found on sand, anthracite and dual media at ordinary air rates; do not extrapolate to others.
    """
    return fluidisation_rate * maximum(41.9 - 0.45 * (air_scour_rate / CFM_FT2) ** 2, 0) / 100


@relation(
    "Loss in the nozzles of the underdrain",
    symbol="Delta_p_n",
    unit="Pa",
    source="common-practice",
    note="sharp orifices; the manufacturer's curve replaces it",
)
def nozzle_pressure_drop(
    wash_rate: FiltrationRate, orifice_fraction: Fraction, orifice_coefficient: Factor, density: KgPerM3
) -> DifferencePa:
    """Pressure drop across the openings of the underdrain at the backwash rate.

    Sharp orifices of equal size, each with the mean velocity; the manufacturer's curve replaces it.
    """
    return density / 2 * (wash_rate / (orifice_fraction * orifice_coefficient)) ** 2


@relation("Volume drained", symbol="V_d", unit="m^3", source="definition")
def drained_volume(area: M2, drain_depth: M) -> M3:
    """Volume drained from above the media before air scour.

    Over the bed area; water in the pores of the bed stays.
    """
    return area * drain_depth


@relation("Filter off line for one backwash", symbol="t_o", unit="s", source="definition")
def time_out_of_service(
    drain_time: Minutes,
    scour_time: Minutes,
    backwash_time: Minutes,
    settle_time: Minutes,
    filter_to_waste_time: Minutes,
    return_time: Minutes,
) -> Minutes:
    """Time a filter is out of service for one backwash: all its steps.

    Steps follow one another without waiting for a pump or an operator.
    """
    return drain_time + scour_time + backwash_time + settle_time + filter_to_waste_time + return_time


@relation("Off-line time fraction", symbol="x_o", unit="1", source="definition")
def fraction_out_of_service(off_line: Minutes, filter_run: S) -> Fraction:
    """Fraction of time that a filter is out of service.

    The run counts from backwash to backwash, so that it holds the backwash itself.
    """
    return off_line / filter_run


@relation("Backwashes a day", symbol="n_w", unit="1/s", source="definition")
def backwash_frequency(filters: Count, filter_run: S) -> PerS:
    """Backwashes of all filters of one train per unit of time.

    By the clock of the run; a backwash started by head loss or turbidity comes sooner.
    """
    return filters / filter_run


@relation("Starts of the backwash pump for one train", symbol="n_s", unit="1/s", source="definition")
def pump_start_frequency(backwashes_per_day: PerS, at_once: Count) -> PerS:
    """Starts of the backwash pump per unit of time, for one train.

    Filters that are backwashed together share a start.
    """
    return backwashes_per_day / at_once


@relation("Backwash time fraction", symbol="x_q", unit="1", source="definition")
def backwash_system_occupancy(backwashes_per_day: PerS, trains: Count, off_line: Minutes, at_once: Count) -> Fraction:
    """Fraction of time that the backwash system is in use.

    Slots follow one another; above one, the backwashes of a run do not fit into it.
    """
    return backwashes_per_day * trains * off_line / at_once


@dataclass(frozen=True)
class BackwashRate:
    """Rate (m/s), flow (m3/s) and air flow (m3/s) of the backwash of one filter; rise of the cold bed (m).

    Parameters
    ----------
    bed_head : Figure
        Head loss of the fluidised bed in the coldest water, m.
    fluidisation_cold : Column
        Minimum fluidisation velocity of each layer in the coldest water, m/s.
    """

    rate: Figure
    flow: Figure
    scour_flow: Figure
    rise_cold: Figure
    bed_head: Figure
    fluidisation_cold: Column


@dataclass(frozen=True)
class BackwashWater:
    """Volumes of one backwash (m3), average flows of one train (m3/s), times.

    Parameters
    ----------
    backwash_volume, filter_to_waste_volume, drain_volume : Figure
        m3, one backwash of one filter.
    filter_to_waste_flow : Figure
        m3/s, while a filter is rinsed.
    backwash_average, filter_to_waste_average, waste_average : Figure
        m3/s of one train, as average of a day. Waste is backwash and filter-to-waste; the backwash fills again what
        was drained.
    backwashes_per_day : Figure
        1/s, starts of the backwash pump for one train.
    off_line : Figure
        s, one backwash.
    off_line_fraction : Figure
    schedule : Schedule
    bridged, swing : Figure
        Deepest draw on the source of the backwash and on the raw tank over a run, m3.
    """

    backwash_volume: Figure
    filter_to_waste_volume: Figure
    drain_volume: Figure
    filter_to_waste_flow: Figure
    backwash_average: Figure
    filter_to_waste_average: Figure
    waste_average: Figure
    backwashes_per_day: Figure
    off_line: Figure
    off_line_fraction: Figure
    schedule: Schedule
    bridged: Figure
    swing: Figure


def backwash_rate(inp: Inputs, of: Bed, area: Figure, waters: Mapping[str, Fluid]) -> BackwashRate:
    """Backwash rate and flow, with the checks that the hottest water still lifts all and the coldest loses none.

    Parameters
    ----------
    of : Bed
    area : Figure
        Of one filter, m2.
    waters : mapping
        The backwash water at ``cold``, ``design`` and ``hot``.
    """
    if not {"cold", "hot"} <= set(waters):
        raise TrailError("wants backwash water at cold and hot", where="filters.backwash_rate")
    lifted: dict[str, Column] = {}
    for corner, fluid in waters.items():
        with scope(corner=corner):
            galileo = _galileo("filters.backwash_galileo_coarse", of.media.d90, of.media, fluid)
            lifted[corner] = minimum_fluidisation_velocity.at(
                "filters.fluidisation_rate",
                galileo=galileo,
                viscosity=fluid.viscosity,
                density=fluid.density,
                grain_size=of.media.d90,
            )
    needed = _target(inp, of.media, lifted["hot"], waters["hot"])
    rate, flow = _rate_and_flow(inp, area, needed)
    hardest = largest_layer_rate.at(
        "filters.fluidisation_rate_hottest",
        wash_rate=lifted["hot"],
        title="Minimum fluidisation, hottest water",
    )
    checked(
        "filters.backwash_rate.check",
        rate,
        ">=",
        hardest,
        title="Backwash rate fluidises all layers, hottest",
        do="raise filters.backwash_rate or choose finer media",
    )
    rises = {}
    for corner, fluid in waters.items():
        with scope(corner=corner):
            rises[corner] = _layers_expand(inp, of.media, rate, fluid)
    checked(
        "filters.bed_rise.check",
        rises["cold"],
        "<=",
        inp.number("filters.freeboard"),
        title="Bed expansion, coldest water",
        do="lower the backwash rate in winter, or increase the freeboard (filters.freeboard)",
        caution="Media that reach the collector are lost, and the bed no longer filters. Lower the rate in cold water.",
    )
    with scope(corner="hot"):
        bed_expansion.at("filters.bed_expansion", bed_rise=rises["hot"], depth=of.media.depth)
    if of.support is not None:
        _support_rests(of.support, rate, waters["cold"])
    with scope(corner="cold"):
        bed_head = fluidised_bed_head_loss.at(
            "filters.bed_weight_head",
            depth=of.media.depth,
            settled_porosity=of.media.settled_porosity,
            grain_density=of.media.grain_density,
            density=waters["cold"].density,
        )
    scour = scour_air_flow.at("filters.scour_flow", air_scour_rate=inp.number("filters.scour_rate"), area=area)
    return BackwashRate(rate, flow, scour, rises["cold"], bed_head, lifted["cold"])


def _galileo(id: str, size: Column, layers: Layers, fluid: Fluid) -> Column:
    return galileo_number.at(
        id, grain_size=size, density=fluid.density, grain_density=layers.grain_density, viscosity=fluid.viscosity
    )


def _target(inp: Inputs, layers: Layers, lifted: Column, fluid: Fluid) -> Figure:
    target = inp.choice("filters.backwash_target")
    with scope(because=[target]):
        by_layer = TARGETS[target].rate_by_layer(inp, layers, lifted, fluid)
        held = inp.optional("filters.backwash_rate") is not None or inp.optional("filters.backwash_flow") is not None
        id = "filters.backwash_rate_wanted" if held else "filters.backwash_rate"
        return largest_layer_rate.at(id, wash_rate=by_layer, title="Backwash rate for the hottest water")


def _by_fluidisation(inp: Inputs, layers: Layers, lifted: Column, fluid: Fluid) -> Column:
    return backwash_rate_by_factor.at(
        "filters.backwash_rate_by_layer",
        fluidisation_rate=lifted,
        fluidisation_factor=inp.number("filters.fluidisation_factor"),
    )


def _by_expansion(inp: Inputs, layers: Layers, lifted: Column, fluid: Fluid) -> Column:
    galileo = _galileo("filters.backwash_galileo_wanted", layers.d60, layers, fluid)
    porosity = porosity_at_expansion.at(
        "filters.wash_porosity_wanted",
        settled_porosity=layers.settled_porosity,
        expansion=inp.number("filters.backwash_expansion"),
    )
    parameter = fluidised_bed_parameter.at("filters.wash_parameter", galileo=galileo, expanded_porosity=porosity)
    reynolds = fluidised_bed_reynolds.at(
        "filters.wash_reynolds_wanted",
        kappa_v=layers.kappa_v,
        kappa_i=layers.kappa_i,
        expanded_porosity=porosity,
        fluidised=parameter,
    )
    return rate_at_reynolds.at(
        "filters.backwash_rate_by_layer",
        reynolds=reynolds,
        viscosity=fluid.viscosity,
        density=fluid.density,
        grain_size=layers.d60,
    )


@dataclass(frozen=True)
class Target:
    """What a backwash rate aims at: rate of each layer from inputs, layers, fluidisation and water."""

    key: str
    title: str
    rate_by_layer: Callable[[Inputs, Layers, Column, Fluid], Column]


TARGETS = {
    target.key: target
    for target in (
        Target("fluidisation", "A multiple of minimum fluidisation", _by_fluidisation),
        Target("expansion", "An expansion", _by_expansion),
    )
}


def _rate_and_flow(inp: Inputs, area: Figure, needed: Figure) -> tuple[Figure, Figure]:
    rate, flow = inp.optional("filters.backwash_rate"), inp.optional("filters.backwash_flow")
    if flow is not None:
        rate = rate_at_flow.at("filters.backwash_rate", wash_flow=flow, area=area)
    elif rate is not None:
        flow = flow_at_rate.at("filters.backwash_flow", wash_rate=rate, area=area)
    else:
        rate = needed
        return rate, flow_at_rate.at("filters.backwash_flow", wash_rate=rate, area=area)
    checked(
        "filters.backwash_rate_wanted.check",
        rate,
        ">=",
        needed,
        title="Fixed backwash rate / design rate",
        do="raise filters.backwash_rate or filters.backwash_flow, or clear them",
    )
    return rate, flow


_BED = ExpansionIds.under("filters.backwash_")


def _layers_expand(inp: Inputs, layers: Layers, rate: Figure, fluid: Fluid) -> Figure:
    """Rise of the bed (m), with a verdict on each layer; call it inside the scope of a case."""
    layer_fluidisation_rate("filters.layer_fluidisation", layers, fluid)
    expansion = layer_expansions(_BED, "filters.backwash_expansion_by_layer", layers, rate, fluid)
    for name in layers.depth.keys:
        checked(
            f"filters.layer_expansion[{name}].check",
            expansion[name],
            ">=",
            inp.number("filters.expansion_minimum"),
            title=f"Expansion of the {name}",
            do="raise the backwash rate (filters.backwash_expansion), or choose finer or lighter media",
            caution="A layer that is not fluidised is not cleaned, and mud balls form. Check the rate in the "
                    "hottest water.",
        )
    return expanded_bed_rise.at("filters.bed_rise", depth=layers.depth, expansion=expansion)


def _support_rests(layers: Layers, rate: Figure, fluid: Fluid) -> None:
    with scope(corner="cold"):
        galileo = _galileo("filters.support_galileo", layers.effective_size, layers, fluid)
        lifts = minimum_fluidisation_velocity.at(
            "filters.support_fluidisation",
            galileo=galileo,
            viscosity=fluid.viscosity,
            density=fluid.density,
            grain_size=layers.effective_size,
        )
        least = smallest_layer_rate.at(
            "filters.support_limit", wash_rate=lifts, title="Support-gravel fluidisation rate"
        )
    checked(
        "filters.support.check",
        rate,
        "<=",
        least,
        title="Support layers remain static",
        do="choose coarser or denser support, or lower the backwash rate",
    )


def backwash_water(
    inp: Inputs, flow: Figure, of: Battery, wash: BackwashRate, trains: Figure, carries_filter_to_waste: Choice
) -> BackwashWater:
    """Volumes, average flows, times and schedule of the backwash.

    Parameters
    ----------
    flow : Figure
        Through the filters of one train to the membranes, m3/s.
    of : Battery
    backwash : BackwashRate
    trains : Figure
    carries_filter_to_waste : Choice
        Whether the feed pump gives the rinse on top of the feed.
    """
    run = inp.number("filters.run_length")
    times = {n: inp.number(f"filters.{n}_time") for n in STEPS}
    with scope("unit"):
        washed = volume_in_time.at(
            "filters.backwash_volume", flow=wash.flow, time=times["backwash"], title="Backwash water of one backwash"
        )
        drained = drained_volume.at("filters.drain_volume", area=of.area, drain_depth=inp.number("filters.drain_depth"))
        off = time_out_of_service.at("filters.off_line", **{f"{n}_time": t for n, t in times.items()})
        share = fraction_out_of_service.at("filters.off_line_fraction", off_line=off, filter_run=run)
    order = slots(inp, of, off, trains)
    with scope("train", count=trains):
        plan = steps(
            inp,
            of,
            flow,
            trains,
            order,
            wash_flow=wash.flow,
            backwash_volume=washed,
            drain_volume=drained,
            carries_filter_to_waste=carries_filter_to_waste,
        )
        washes = backwash_frequency.at("filters.backwashes_per_day", filters=of.count, filter_run=run)
        wash_mean = _mean("filters.backwash_average_flow", washed, washes, "Average backwash flow")
        rinse_mean = _mean("filters.filter_to_waste_average_flow", plan.filter_to_waste_volume, washes,
                           "Average filter-to-waste flow")
        waste = sum_of_flows.at(
            "filters.waste_average_flow",
            flow=wash_mean,
            second_flow=rinse_mean,
            title="Average flow to waste",
            symbol="Q_w",
        )
        flow_fraction.at(
            "filters.waste_fraction", flow=waste, reference_flow=flow,
            title="Backwash and filter-to-waste / filtered water", symbol="x_w"
        )
        fraction = flow_fraction.at(
            "filters.backwash_fraction", flow=wash_mean, reference_flow=flow,
            title="Backwash water over filtered water", symbol="x_b"
        )
        check_limit("filters.backwash_fraction.check", fraction, "backwash-water-fraction",
                    do="lengthen filters.run_length, or shorten filters.backwash_time")
    _times_are_usual(times["backwash"], off, run)
    store, swing = tanks(plan, wash_mean, rinse_mean, times)
    starts = pump_start_frequency.at("backwash_pump.starts", backwashes_per_day=washes, at_once=order.at_once)
    busy = backwash_system_occupancy.at(
        "filters.backwash_busy", backwashes_per_day=washes, trains=trains, off_line=off, at_once=order.at_once
    )
    whole = assumed(
        "filters.backwash_busy_limit",
        1.0,
        "fraction",
        title="All of the time",
        symbol="x_q",
        text="100 %",
        source="definition",
        place="one turn at a time",
    )
    checked(
        "filters.backwash_busy.check",
        busy,
        "<=",
        whole,
        title="Backwash sequence within the run",
        do="lengthen the run, shorten the backwash, or let more filters backwash together",
    )
    return BackwashWater(
        washed,
        plan.filter_to_waste_volume,
        drained,
        plan.rinse,
        wash_mean,
        rinse_mean,
        waste,
        starts,
        off,
        share,
        plan,
        store,
        swing,
    )


def _times_are_usual(backwash_time: Figure, off: Figure, run: Figure) -> None:
    """Run, duration of the water step and time off line against what is usual."""
    check_limit("filters.run_length.check", run, "filter-run", do="lengthen filters.run_length")
    check_limit("filters.backwash_time.check", backwash_time, "backwash-duration", do="lengthen filters.backwash_time",
                caution="solids that are not washed out harden to mud balls")
    review_limit("filters.off_line.check", off, "backwash-off-line",
                 do="allow for valves, air and settling: lengthen the steps of the backwash (filters.scour_time, "
                    "filters.settle_time, filters.filter_to_waste_time)")


def _mean(id: str, volume: Figure, washes: Figure, title: str) -> Figure:
    return average_flow.at(id, volume=volume, backwashes_per_day=washes, title=title)


@dataclass(frozen=True)
class Scour:
    """How a bed is scoured before the backwash: with air, and with water beside the air."""

    key: str
    title: str
    air: bool
    water: bool


SCOURS = {
    scour.key: scour
    for scour in (
        Scour("air", "Air, then water", air=True, water=False),
        Scour("air-with-water", "Air with some water, then water", air=True, water=True),
        Scour("none", "Water alone", air=False, water=False),
    )
}


def underdrain(inp: Inputs, of: Bed, rate: BackwashRate, fluid: Fluid) -> None:
    """Nozzle loss against the allowance in the backwash pump's head; support over what lies on it; scour."""
    drop = nozzle_pressure_drop.at(
        "filters.nozzle_drop",
        wash_rate=rate.rate,
        orifice_fraction=inp.number("filters.orifice_fraction"),
        orifice_coefficient=inp.number("filters.orifice_coefficient"),
        density=fluid.density,
    )
    checked(
        "filters.nozzle_drop.check",
        inp.number("filters.underdrain_drop"),
        ">=",
        drop,
        title="Underdrain allowance covers nozzle loss",
        do="raise filters.underdrain_drop, which is in the head of the backwash pump, or open the underdrain",
    )
    support_grading(of)
    depth = total_depth.at("filters.media_depth", depth=of.media.depth)
    check_limit("filters.media_depth.check", depth, "media-depth", do="deepen a layer (filters.layers)")
    check_limit("filters.freeboard.check", inp.number("filters.freeboard"), "collector-clearance",
                do="raise filters.freeboard",
                caution="Media that reach the collector are lost, and the bed no longer filters. Lower the rate "
                "in cold water.")
    check_limit("filters.dirty_drop.check", inp.number("filters.dirty_drop"), "filter-dirty-pressure-drop",
                do="lower filters.dirty_drop: solids driven deep into the bed are hard to wash out")
    review_limit("filters.backwash_rate.usual", rate.rate, "backwash-rate",
                 do="see that each layer expands; light or fine media need less, others a higher "
                    "filters.backwash_expansion")
    scour = inp.choice("filters.scour")
    method = SCOURS[scour]
    with scope(because=[scour]):
        if method.air and method.water:
            least = smallest_layer_rate.at(
                "filters.scour_lift",
                wash_rate=rate.fluidisation_cold,
                title="Minimum fluidisation, coldest water",
            )
            collapse_pulsing_rate.at(
                "filters.scour_water_rate", air_scour_rate=inp.number("filters.scour_rate"), fluidisation_rate=least
            )
        if method.air:
            for key in ("air-scour-low", "air-scour-high"):
                check_limit(f"filters.scour_rate.check_{key.rpartition('-')[2]}", inp.number("filters.scour_rate"), key,
                            do="change filters.scour_rate")
            enough = assumed(
                "filters.scour_depth",
                0.75,
                "length",
                title="Smallest depth that stands air",
                symbol="L_a",
                source="davis-2010",
                place="Table 11-10: not where 0.75 m or less",
            )
            checked(
                "filters.scour_depth.check",
                depth,
                ">=",
                enough,
                title="Bed deep enough for air",
                do="set filters.scour = none, or deepen the bed",
            )
