"""From the sea to the suction of the high-pressure pump: tank, filters, backwash, cartridges, feed pump."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from desalbook.balances import flow_per_unit, flow_ratio, sum_of_pressure_drops, total_flow
from desalbook.dosing.doses import Doses
from desalbook.hydraulics import pipes
from desalbook.hydraulics.constants import G
from desalbook.hydraulics.design_pressure import Section, shutoff_rise
from desalbook.hydraulics.head import pressure_head, site_atmosphere, static_lift
from desalbook.hydraulics.low_pressure import (
    DynamicHead,
    backwash_pump_head,
    feed_pump_duty_flow,
    feed_pump_head,
    parabolic_pump_head,
)
from desalbook.hydraulics.motors import Electric
from desalbook.hydraulics.pipes import Fluid, Pipe
from desalbook.hydraulics.pumps import Pump, size_pump
from desalbook.hydraulics.suction import Suction, check_npsh, hp_suction, suction_limits
from desalbook.plant.waters import Waters
from desalbook.pretreatment import (
    backwash,
    bed_limits,
    cartridges,
    filters,
    fouling,
    granular_beds,
    intake,
    media,
    scour_air,
    solids,
    storage,
)
from desalbook.pretreatment import backwash_schedule as schedule
from desalbook.pretreatment.filter_vessel import Vessel, vessel
from desalbook.trail import Choice, Figure, assumed, checked, govern, note, relation, scope
from desalbook.trail.corner import Corner
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit, review_limit
from desalbook.units import Count, DifferencePa, GaugePa, Head, KgPerM3, M3PerS

__all__ = ["Pretreated", "electric", "filter_vessels", "load", "motor_inputs", "pretreat"]


@dataclass(frozen=True)
class Pretreated:
    """What the rest of the plant needs of the low-pressure side."""

    present: Choice
    raw_flow: Figure
    battery: filters.Battery | None
    wash: backwash.BackwashWater | None
    wash_rate: backwash.BackwashRate | None
    clean_drop: dict[str, Figure]
    dirty_drop: Figure
    cartridges: cartridges.Cartridges
    tank: storage.Tank
    feed_pump: Pump
    wash_pump: Pump | None
    suction: Suction
    discharge: Figure
    duty: Figure
    feed_head: DynamicHead
    runs: dict[str, Pipe]
    bed: media.Bed | None = None
    vessel: Vessel | None = None
    wash_fluid: Fluid | None = None
    wash_head: DynamicHead | None = None
    feed_shutoff_rise: Figure | None = None
    blower: scour_air.Blower | None = None


@relation("Raw seawater flow", symbol="Q_0", unit="m^3/s", source="definition")
def raw_flow_of(feed_flow: M3PerS, backwash_average: M3PerS, filter_to_waste_average: M3PerS, trains: Count) -> M3PerS:
    """Raw seawater flow: RO feed of all trains, and what backwash and filter-to-waste take from the sea.

    Mean of a running day; peaks are bridged by the raw tank.
    """
    return (feed_flow + backwash_average + filter_to_waste_average) * trains


@relation("Pressure downstream of the feed pump", symbol="p_d", unit="Pa", source="definition")
def discharge_of(pressure_rise: DifferencePa, density: KgPerM3, static_head: Head, friction_head: Head) -> GaugePa:
    """Pressure downstream of the feed pump: minimum level over it, less the losses of the suction pipe, and what it
    adds.

    In one density from tank to discharge; the velocity head is neglected.
    """
    return density * G * (static_head - friction_head) + pressure_rise


def electric(inp: Inputs) -> Electric:
    """What the plant says of its motors."""
    return Electric(*[inp(f"electric.{k}") for k in ("motor_list", "motor_class", "poles", "frequency")])


_ABSENT = {
    "filters.count": ("count", "Filters per train"),
    "filters.diameter": ("length", "Filter diameter"),
    "filters.rate": ("filtration rate", "Filtration rate"),
    "filters.rate_one_backwashing": ("filtration rate", "Filtration rate, one filter in backwash (N-1)"),
    "filters.backwash_rate": ("filtration rate", "Backwash rate"),
    "filters.backwash_flow": ("flow", "Backwash flow"),
    "filters.clean_head_loss": ("head", "Clean-bed head loss"),
    "backwash_pump.shaft_power": ("power", "Shaft power of the backwash pump"),
    "backwash_pump.motor": ("power", "Motor of the backwash pump"),
}
_HELD = ("filters.count", "filters.diameter", "filters.backwash_rate", "filters.backwash_flow", "backwash_pump.motor")


def _none(id: str, kind: str, title: str) -> Figure:
    return assumed(
        id, 0.0, kind, title=title, text="not in this plant", source="definition", place="the step is absent"
    )


def motor_inputs(inp: Inputs, prefix: str) -> dict[str, Any]:
    """What the design says of a pump's class, speed, motor and drive, as `size_pump` takes it."""
    drive = inp(f"{prefix}.drive")
    return {
        "efficiency": inp(f"{prefix}.efficiency"),
        "pump_class": inp(f"{prefix}.pump_class"),
        "rotation": inp(f"{prefix}.rotation") if inp(f"{prefix}.stages") is not None else None,
        "stages": inp(f"{prefix}.stages") if inp(f"{prefix}.rotation") is not None else None,
        "motor_margin": inp(f"{prefix}.motor_margin"),
        "motor": inp(f"{prefix}.motor"),
        "drive_efficiency": inp(f"{prefix}.drive_efficiency") if drive == "yes" else None,
        "because": [drive, inp.choice("electric.frequency")],
    }


def pretreat(
    inp: Inputs, waters: Waters, feed: Figure, trains: Figure, reject: Callable[[], dict[str, Fluid]] | None = None
) -> Pretreated:
    """Size the low-pressure side of one train; the tank is the plant's.

    Parameters
    ----------
    feed : Figure
        RO feed of one train, m3/s.
    concentrate : callable, optional
        Gives the concentrate at each temperature, where it is the backwash water.
    """
    present, carries = inp.choice("filters.present"), inp.choice("feed_pump.carries_filter_to_waste")
    battery = wash = rate = wash_pump = wash_head = bed = shut = blower = None
    clean: dict[str, Figure] = {}
    fluids = {k: w.fluid for k, w in waters.at.items()}
    selected = inp.choice("filters.backwash_source")
    source = storage.SOURCES[selected]
    washing = reject() if present == "yes" and source.takes_concentrate and reject is not None else fluids
    ambient = site_atmosphere(inp.number("site.altitude"))
    with scope("train", count=trains, because=[present]):
        if present == "yes":
            battery = filters.battery(inp, feed, trains)
            bed = media.bed(inp, inp.names("filters.layers"))
            with scope("unit", because=[selected]):
                rate = backwash.backwash_rate(inp, bed, battery.area, washing)
            wash = backwash.backwash_water(inp, feed, battery, rate, trains, carries)
            heads = {}
            for key, fluid in fluids.items():
                with scope(corner=key):
                    at = filters.clean_bed(bed, battery.rate, fluid, inp.number("filters.internals_drop"))
                clean[key], heads[key] = at.pressure_drop, at.head_loss
            worst = govern("filters.clean_drop", clean, "largest", title="Pressure drop of a clean filter")
            check_limit("filters.clean_drop.check", worst, "filter-clean-pressure-drop",
                        do="lower the filtration rate (filters.count), or choose coarser media or less depth")
            granular_beds.compare_head_losses(bed, battery.rate, fluids, heads)
            with scope(because=[selected]):
                bed_limits.bed_limits(inp, bed, rate.rate, washing)
                backwash.underdrain(inp, bed, rate, washing["cold"])
            govern("filters.clean_head_loss", heads, "largest", title="Clean-bed head loss")
            dirty = inp.number("filters.dirty_drop")
        else:
            reason = inp.selected("filters.reason")
            note(
                "filters.absent",
                title="Filters",
                verdict="passes",
                why="not in this plant" if reason is None else f"not in this plant: {reason}",
                do="set filters.present to add them",
                inputs={"present": present} | ({} if reason is None else {"reason": reason}),
            )
            for id, (kind, title) in _ABSENT.items():
                if id not in _HELD or inp(id) is None:
                    _none(id, kind, title)
            dirty = _none("filters.drop_absent", "pressure difference", "Loss of filters")
            clean = dict.fromkeys(fluids, dirty)
        averages = {
            n: getattr(wash, n) if wash is not None else _none(f"filters.{n}", "flow", "Flow of the filters' backwash")
            for n in ("backwash_average", "filter_to_waste_average")
        }
        duty = feed
        if wash is not None:
            duty = _pump_duty(wash.schedule, carries)
            if carries == "no":
                with scope(because=[carries]):
                    averages["filter_to_waste_average"] = _none("filters.rinse_from_sea", "flow",
                                                                "Filter-to-waste beside the feed")
        cart = cartridges.cartridges(inp, feed, trains)
    if wash is not None and source.takes_concentrate:
        with scope(because=[selected]):
            averages["backwash_average"] = _none("filters.wash_from_sea", "flow", "Backwash water taken from the sea")
    raw = raw_flow_of.at("duty.raw_flow", feed_flow=feed, trains=trains, **averages)
    with scope(because=[present]):
        if wash is None or rate is None:
            tank, other = storage.raw_tank(inp, raw), None
        else:
            at_once = total_flow.at("backwash_pump.flow_all", flow=rate.flow, units=wash.schedule.slots.at_once,
                                    title="Backwash flow, all filters in backwash")
            tank = storage.raw_tank(inp, raw, wash.backwash_volume, selected, wash.swing, at_once)
            other = storage.backwash_tank(inp, wash.backwash_volume, selected, wash.bridged, at_once)
    with scope("train", count=trains):
        fed = _feed_pump(inp, waters, duty, tank, clean, dirty, cart, ambient)
        if wash is not None:
            with scope(because=[present]):
                shut = _filter_to_waste(
                    inp, wash.schedule, waters.at["cold"].density, duty, dirty, cart.dirty_drop, fed
                )
    if wash is not None and rate is not None:
        with scope("plant", because=[present, selected]):
            wash_pump, wash_head, fed.runs["backwash"] = _wash_pump(
                inp, waters, washing, rate, at_once, other or tank, ambient,
                fed.runs["feed-suction"],
            )
        scour = inp.choice("filters.scour")
        if backwash.SCOURS[scour].air and bed is not None and battery is not None:
            with scope("plant", because=[present, scour]):
                blower = scour_air.scour_blower(
                    inp, bed, battery.area, wash.schedule.slots.at_once, density=waters.at["cold"].density,
                    electric=electric(inp))
    return Pretreated(
        present,
        raw,
        battery,
        wash,
        rate,
        clean,
        dirty,
        cart,
        tank,
        fed.pump,
        wash_pump,
        fed.suction,
        fed.discharge,
        duty,
        fed.head,
        fed.runs,
        bed,
        wash_fluid=washing["cold"] if wash is not None else None,
        wash_head=wash_head,
        feed_shutoff_rise=shut,
        blower=blower,
    )


def load(inp: Inputs, waters: Waters, pre: Pretreated, chemicals: Doses, feed: Figure,
         trains: Figure) -> tuple[Figure, Pump | None]:
    """What solids and chlorine make of intake, tank, filters and cartridges.

    Gives the fouling index of the feed, and the intake pump; None where the water arrives by itself.
    """
    cold, hot = waters.at["cold"], waters.at["hot"]
    level = storage.level_above_site.at(
        "intake.full_level",
        elevation=inp.number("storage.elevation"),
        level=pre.tank.level,
        title="Full level above site",
        symbol="z_f",
    )
    drawn = total_flow.at("intake.drawn", flow=pre.duty, units=trains, title="Maximum drawdown of the raw tank")
    review_limit("water.toc.usual", inp.number("water.toc"), "feed-toc",
                 do="coagulate, clean more often, and look for the source of the organic carbon (water.toc)")
    head = intake.intake(inp, pre.raw_flow, level, pre.tank.volume, drawn, hot.density)
    pump = _intake_pump(inp, pre.raw_flow, head, cold.density)
    chlorine = chemicals.chlorination
    if chlorine is not None:
        with scope(because=[inp.choice("chlorination.present")]):
            intake.contact(
                inp, pre.raw_flow, pre.tank.volume, cold.temperature, chlorine.residual, chlorine.line.mass_rate
            )
    with scope(because=[pre.present]):
        index = fouling.fouling(inp, filtered=pre.battery is not None)
    with scope("train", count=trains, because=[pre.present]):
        coagulant = chemicals.coagulation
        with scope(because=[inp.choice("coagulation.present")]):
            made = (
                coagulant.solids
                if coagulant is not None
                else _none("filters.coagulant_solids", "concentration", "Solids of the coagulant")
            )
            if pre.battery is not None and pre.wash is not None:
                carried = solids.filling(
                    inp, pre.battery, pre.wash.schedule, pre.clean_drop["cold"], cold.density, made
                )
            else:  # as with filters, the usual water and not the worst
                carried = solids.solids_to_filters.at(
                    "cartridge.solids",
                    suspended_solids=inp.number("water.suspended_solids"),
                    solids_fraction=inp.number("filters.solids_fraction"),
                    coagulant_solids=made,
                    title="Solids to the cartridges, usual water",
                )
                solids.check_ro_feed(inp.number("water.turbidity"))
        cartridges.cartridge_changes(inp, pre.cartridges, feed, carried)
    return index, pump


def _intake_pump(inp: Inputs, flow: Figure, head: Figure, density: Figure) -> Pump | None:
    """The pump of the raw water, where there is one and it has something to lift."""
    present = inp.choice("intake_pump.present")
    with scope("plant", because=[present, head]):
        if present != "yes":
            note("intake_pump.absent", title="Intake pump", verdict="passes", why="not in this plant",
                 do="set intake_pump.present to add it", inputs={"present": present})
            return None
        if float(head) <= 0.0:
            return None
        each = flow_per_unit.at("intake_pump.flow", flow=flow, units=inp.number("intake_pump.duty_count"))
        return size_pump("intake_pump", flow=each, density=density, electric=electric(inp), head=head,
                         efficiency=inp("intake_pump.efficiency"), pump_class=inp("intake_pump.pump_class"),
                         motor_margin=inp("intake_pump.motor_margin"), motor=inp("intake_pump.motor"),
                         because=[inp("electric.frequency")])


@dataclass(frozen=True)
class _Fed:
    """The feed pump: its head and runs of pipe, lift to the HP pump (m), pressure downstream of it, HP suction."""

    pump: Pump
    suction: Suction
    head: DynamicHead
    runs: dict[str, Pipe]
    lift: Figure
    discharge: Figure


def _feed_pump(
    inp: Inputs,
    waters: Waters,
    flow: Figure,
    tank: storage.Tank,
    clean: dict[str, Figure],
    dirty: Figure,
    cart: cartridges.Cartridges,
    ambient: Figure,
) -> _Fed:
    cold, hot = waters.at["cold"], waters.at["hot"]
    each = flow_per_unit.at("feed_pump.flow", flow=flow, units=inp.number("feed_pump.duty_count"))
    pipe, suction_pipe = (pipes.size_pipe(f"piping.runs[{n}]", inp, flow) for n in ("feed", "feed-suction"))
    runs = {}
    for key, at in waters.at.items():
        with scope(corner=key):
            runs[key] = (
                pipes.pipe_head_loss("piping.runs[feed]", pipe, flow, at.fluid),
                pipes.pipe_head_loss("piping.runs[feed-suction]", suction_pipe, flow, at.fluid),
            )
    lift = static_lift.at(
        "hp_pump.lift_from_tank", elevation_to=inp.number("hp_pump.elevation"), elevation_from=tank.low_level
    )
    head = feed_pump_head(
        density=cold.density,
        level=tank.low_level,
        hp_elevation=inp.number("hp_pump.elevation"),
        friction_head=runs["cold"][0].head,
        filter_drop=dirty,
        cartridge_drop=cart.dirty_drop,
        suction_wanted=inp.number("hp_pump.suction_wanted"),
        held=inp.optional("feed_pump.pressure_rise"),
    )
    pump = size_pump(
        "feed_pump",
        flow=each,
        density=cold.density,
        electric=electric(inp),
        head=head.total,
        pressure_rise=inp.optional("feed_pump.pressure_rise"),
        **motor_inputs(inp, "feed_pump"),
    )
    drawn = check_npsh(
        "feed_pump",
        level=tank.low_level,
        pump_elevation=inp.number("feed_pump.elevation"),
        friction_head=runs["cold"][1].head,
        density=hot.density,
        ambient_pressure=ambient,
        vapour_pressure=hot.vapour_pressure,
        npsh_required=inp.number("feed_pump.npsh_required"),
        npsh_ratio=inp.number("feed_pump.npsh_ratio"),
        npsh_margin=inp.number("feed_pump.npsh_margin"),
    )
    discharge = discharge_of.at(
        "feed_pump.discharge_pressure",
        pressure_rise=pump.pressure_rise,
        density=cold.density,
        static_head=drawn.static_head,
        friction_head=runs["cold"][1].head,
    )
    by_corner = {}
    for key, at in waters.at.items():
        for state, filter_drop, cartridge_drop in (
            ("clean", clean[key], cart.clean_drop),
            ("dirty", dirty, cart.dirty_drop),
        ):
            corner = Corner(key, filters=state)
            with scope(corner=corner):
                by_corner[corner] = hp_suction(
                    head=head.total,
                    static_lift=lift,
                    friction_head=runs[key][0].head,
                    fluid=at.fluid,
                    filter_drop=filter_drop,
                    cartridge_drop=cartridge_drop,
                    ambient_pressure=ambient,
                    vapour_pressure=at.vapour_pressure,
                )
    suction = suction_limits(
        by_corner,
        npsh_required=inp.number("hp_pump.npsh_required"),
        npsh_ratio=inp.number("hp_pump.npsh_ratio"),
        npsh_margin=inp.number("hp_pump.npsh_margin"),
        trip=inp.number("hp_pump.low_trip"),
        limit=inp.number("hp_pump.suction_limit"),
    )
    return _Fed(pump, suction, head, {"feed": pipe, "feed-suction": suction_pipe}, lift, discharge)


def _wash_pump(
    inp: Inputs,
    waters: Waters,
    washing: dict[str, Fluid],
    rate: backwash.BackwashRate,
    flow: Figure,
    tank: storage.Tank,
    ambient: Figure,
    suction_pipe: Pipe,
) -> tuple[Pump, DynamicHead, Pipe]:
    """The vapour pressure stays that of the raw water: more salt only lowers it."""
    cold, hot = washing["cold"], washing["hot"]
    each = flow_per_unit.at("backwash_pump.flow", flow=flow, units=inp.number("backwash_pump.duty_count"))
    pipe = pipes.size_pipe("piping.runs[backwash]", inp, flow)
    with scope(corner="cold"):
        run = pipes.pipe_head_loss("piping.runs[backwash]", pipe, flow, cold)
        draw = pipes.pipe_head_loss("piping.backwash_suction", suction_pipe, flow, cold)
    head = backwash_pump_head(
        density=cold.density,
        level=tank.low_level,
        outlet_elevation=inp.number("backwash_pump.outlet_elevation"),
        friction_head=run.head,
        bed_head=rate.bed_head,
        underdrain_drop=sum_of_pressure_drops.at(
            "filters.backwash_drop",
            pressure_drop=inp.number("filters.underdrain_drop"),
            other_drop=inp.number("filters.face_piping_drop"),
            title="Backwash-line equipment loss",
            symbol="Delta_p_b",
        ),
        outlet_pressure=inp.number("backwash_pump.outlet_pressure"),
        held=inp.optional("backwash_pump.pressure_rise"),
    )
    pump = size_pump(
        "backwash_pump",
        flow=each,
        density=cold.density,
        electric=electric(inp),
        head=head.total,
        pressure_rise=inp.optional("backwash_pump.pressure_rise"),
        **motor_inputs(inp, "backwash_pump"),
    )
    check_npsh(
        "backwash_pump",
        level=tank.low_level,
        pump_elevation=inp.number("backwash_pump.elevation"),
        friction_head=draw.head,
        density=hot.density,
        ambient_pressure=ambient,
        vapour_pressure=waters.at["hot"].vapour_pressure,
        npsh_required=inp.number("backwash_pump.npsh_required"),
        npsh_ratio=inp.number("backwash_pump.npsh_ratio"),
        npsh_margin=inp.number("backwash_pump.npsh_margin"),
    )
    return pump, head, pipe


def _pump_duty(of: schedule.Schedule, carries_filter_to_waste: Choice) -> Figure:
    """Flow the feed pumps of one train are sized for, m3/s.

    The filter that runs to waste takes as much as each in service: with eight filters, eight sevenths.
    """
    equivalent = schedule.equivalent_filters.at(
        "filters.over_together", filters=of.battery.count, backwashes_together=of.slots.together
    )
    return feed_pump_duty_flow(of.through, equivalent, carries_filter_to_waste)


def _filter_to_waste(
    inp: Inputs, of: schedule.Schedule, density: Figure, duty: Figure, dirty: Figure, cartridge_drop: Figure, fed: _Fed
) -> Figure:
    """Suction of the high-pressure pump during filter-to-waste, coldest water, dirty filters and cartridges.

    The high-pressure pump still draws all of its feed; where the feed pump has no more than that, it runs out
    along its curve and the suction falls. The feed lost is the other way to see it: the suction held, the feed
    less. Gives the pressure rise of the feed pump at shut-off, Pa.
    """
    rise = shutoff_rise("feed_pump", fed.pump.pressure_rise, inp.choice("feed_pump.pump_class"))
    shut = pressure_head.at(
        "feed_pump.shutoff_head", pressure_rise=rise, density=density, title="Head of the feed pump at shut-off"
    )
    schedule.largest_shortfall.at(
        "filters.filter_to_waste_feed_lost", step_feed_flow=of.lost,
        title="Feed shortfall during filter-to-waste"
    )
    together = {"filters": of.battery.count, "backwashes_together": of.slots.together}
    whole = schedule.pump_flow_with_filter_to_waste.at("feed_pump.flow_rinsing", flow=of.through, **together)
    ratio = flow_ratio.at("feed_pump.run_out", flow=whole, reference_flow=duty, title="Flow over flow at duty")
    head = parabolic_pump_head.at(
        "feed_pump.head_rinsing",
        shutoff_head=shut,
        pump_head=fed.pump.head,
        flow_ratio=ratio,
        title="Feed-pump head during filter-to-waste",
    )
    suction = schedule.suction_during_filter_to_waste.at(
        "hp_pump.suction_pressure_rinsing",
        pump_head=head,
        static_head=fed.lift,
        friction_head=fed.head.friction,
        density=density,
        filter_drop=dirty,
        cartridge_drop=cartridge_drop,
        flow_ratio=ratio,
        **together,
    )
    checked(
        "hp_pump.suction_pressure_rinsing.check",
        suction,
        ">=",
        inp.number("hp_pump.low_trip"),
        title="HP suction during filter-to-waste",
        do="set feed_pump.carries_filter_to_waste = yes, carry out filter-to-waste with the train stopped, or raise "
           "hp_pump.suction_wanted",
        caution="Low suction pressure trips the train and can cavitate the HP pump. Keep the trip active.",
    )
    return rise


def filter_vessels(
    inp: Inputs, pre: Pretreated, trains: Figure, density: Figure, sections: Mapping[str, Section]
) -> Pretreated:
    """Plates, mass and place of the filters, built for the rating of their section.

    Parameters
    ----------
    density : Figure
        Of the coldest water, kg/m3.
    sections : mapping
        Of `design_pressures`; one of them the filters, where the plant has them.
    """
    battery, bed, rate = pre.battery, pre.bed, pre.wash_rate
    if battery is None or bed is None or rate is None:
        return pre
    with scope("train", count=trains, because=[pre.present]), scope("unit"):
        most = backwash.flow_at_rate.at(
            "filter_vessel.service_flow",
            wash_rate=battery.rate_outage,
            area=battery.area,
            title="Maximum flow per filter, N-2",
        )
        return replace(
            pre,
            vessel=vessel(
                inp,
                battery,
                bed,
                service_flow=most,
                wash_flow=rate.flow,
                density=density,
                design_pressure=sections["filters"].rating,
            ),
        )
