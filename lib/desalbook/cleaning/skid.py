"""Cleaning skid (CIP): tank, pump, filter, heater, chemicals and pipe of one bank of vessels."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated

from desalbook.balances import total_flow, whole_quotient
from desalbook.cleaning.solutions import CAUTION, chemical_solutions, sequence, solutions
from desalbook.hydraulics.constants import PI
from desalbook.hydraulics.head import pressure_of_head
from desalbook.hydraulics.motors import motor_input_power
from desalbook.hydraulics.pipes import Pipe, run_input, size_pipe
from desalbook.hydraulics.pumps import hydraulic_power, shaft_power
from desalbook.trail import Figure, assumed, checked, constant, is_given, maximum, minimum, note, relation, scope, up
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit, limit, limit_source
from desalbook.units import (
    KINDS,
    M3,
    Count,
    DeltaK,
    ElectricW,
    Factor,
    Fraction,
    JPerKgK,
    K,
    Kg,
    KgPerM3,
    M,
    M3PerS,
    MassFraction,
    S,
    show,
)

__all__ = [
    "CleaningDesign",
    "cartridges_for",
    "chemical_mass",
    "cleaning",
    "cleaning_pipe",
    "heater_power",
    "heater_rating_of",
    "next_step",
    "per_element",
    "pipe_contents",
    "rise",
    "tank_for",
    "total_volume",
    "turns",
    "vessel_contents",
    "warm_up_time",
]

Small_M = Annotated[float, KINDS["length.small"]]
Small = Annotated[float, KINDS["volume.small"]]
RUN = "piping.runs[cleaning]"


EIGHT_INCH = constant("D_8", 0.2, "m", source="definition", title="Diameter of an 8-inch element")
WATT = constant("W", 1.0, "W", source="definition", title="One watt")


@relation(
    "Empty volume of one vessel",
    symbol="V_v",
    unit="m^3",
    source="definition",
    note="a cylinder as long as its elements; end caps and ports are in the allowance",
)
def vessel_contents(inner_diameter: M, element_length: M, elements_per_vessel: Count) -> Small:
    """Empty volume of one pressure vessel: a cylinder as long as its elements.

    End caps and ports are neglected; the allowance on volume covers them.
    """
    return PI / 4 * inner_diameter**2 * element_length * elements_per_vessel


@relation("Volume of the cleaning pipes", symbol="V_p", unit="m^3", source="definition")
def pipe_contents(inner_diameter: M, length: M) -> M3:
    """Volume of a run of pipe, here out and back.

    Fittings and hoses count by their length.
    """
    return PI / 4 * inner_diameter**2 * length


@relation("Volume of all", symbol="V", unit="m^3", source="definition")
def total_volume(volume_each: Small, count: Count) -> M3:
    """Volume of like things, from that of one.

    Equal things, all of them at once.
    """
    return volume_each * count


@relation(
    "CIP tank volume",
    symbol="V_t",
    unit="m^3",
    source="cip-skid-2006",
    note="empty vessels, so that the elements' own volume is reserve",
)
def tank_for(bank_volume: M3, pipe_volume: M3, volume_factor: Factor, submergence_volume: M3) -> M3:
    """Volume of the CIP tank: vessels and pipes with an allowance, and what keeps the pump submerged.

    Empty vessels: the elements' own volume, some 30 %, is reserve. Freeboard comes on top.
    """
    return (bank_volume + pipe_volume) * volume_factor + submergence_volume


@relation(
    "Tank volume per element",
    symbol="V_e",
    unit="m^3",
    source="common-practice",
    note="a cross-check against some 35 to 40 L for 8-inch elements, never added",
)
def per_element(tank_volume: M3, vessels_cleaned: Count, elements_per_vessel: Count) -> Small:
    """Cleaning volume for each element, another common rule, as a cross-check.

    For elements of 8 inch; never added to the tank.
    """
    return tank_volume / (vessels_cleaned * elements_per_vessel)


@relation("CIP flow by diameter", symbol="Q_D", unit="m^3/s", source="common-practice",
          note="the same velocity in the channels of smaller elements")
def flow_for_diameter(flow_eight_inch: M3PerS, inner_diameter: M) -> M3PerS:
    """CIP flow of a vessel from that of an 8-inch one.

    By the area of smaller vessels: spacers of like height take like velocities. Never above that of 8-inch ones.
    """
    return flow_eight_inch * minimum(inner_diameter / EIGHT_INCH, 1) ** 2


@relation("CIP batches per train", symbol="n_turn", unit="1", source="definition")
def turns(vessels: Count, vessels_cleaned: Count) -> Factor:
    """Turns of cleaning for one train: banks that are cleaned one after another.

    Rounded up; the last bank may be smaller.
    """
    return up(vessels / vessels_cleaned)


@relation("Diameter of the cleaning pipe", symbol="D_i", unit="m", source="definition")
def next_step(least_diameter: M, diameter_step: M) -> Small_M:
    """Diameter of the cleaning pipe: the next whole step.

    A step is no bore of a standard; where none is written, a standard bore is picked.
    """
    return up(least_diameter / diameter_step) * diameter_step


@relation("CIP cartridges, 250 mm lengths", symbol="n_ct", unit="1", source="common-practice")
def cartridges_for(cleaning_flow: M3PerS, filter_factor: Factor, cartridge_flow: M3PerS) -> Count:
    """Cartridges of the cleaning filter, in whole lengths of 250 mm.

    At a multiple of the flow, room for the dirt of a cleaning; loosened matter may need a change midway.
    """
    return up(cleaning_flow * filter_factor / cartridge_flow)


@relation("Temperature rise of the solution", symbol="Delta_T", unit="K", source="definition")
def rise(temperature: K, temperature_start: K) -> DeltaK:
    """Temperature rise of the solution over the coldest permeate.

    The tank stands in a room that may be warmer; the cold case sizes the heater.
    """
    return temperature - temperature_start


@relation(
    "Power of the heater",
    symbol="P_q",
    unit="W",
    source="definition",
    note="heat that the pump brings and that vessels and pipes take up is omitted",
)
def heater_power(
    tank_volume: M3,
    density: KgPerM3,
    heat_capacity: JPerKgK,
    temperature_rise: DeltaK,
    heating_time: S,
    heater_efficiency: Fraction,
) -> ElectricW:
    """Heater power that warms the tank in the time given.

    Heat that the pump brings and that vessels, pipes and room take up is neglected; none where the permeate is warmer
    than the cleaning.
    """
    return tank_volume * density * heat_capacity * maximum(temperature_rise, 0) / (heating_time * heater_efficiency)


@relation("Rating of the heater", symbol="P_H", unit="W", source="definition")
def heater_rating_of(electric_power: ElectricW, power_step: ElectricW) -> ElectricW:
    """Heater rating: the next whole step of power.

    Heaters switch in stages of their own; the offer decides.
    """
    return up(electric_power / power_step) * power_step


@relation("Time to warm the tank", symbol="t_w", unit="s", source="definition")
def warm_up_time(
    tank_volume: M3,
    density: KgPerM3,
    heat_capacity: JPerKgK,
    temperature_rise: DeltaK,
    heater_rating: ElectricW,
    heater_efficiency: Fraction,
) -> S:
    """Time to warm the tank with the heater that is fitted.

    Without losses to the room; they count where warming takes a day. None where the permeate is warm enough.
    """
    return (tank_volume * density * heat_capacity * maximum(temperature_rise, 0)
            / (maximum(heater_rating, WATT) * heater_efficiency))


@relation("Chemical for one batch", symbol="m_c", unit="kg", source="definition")
def chemical_mass(tank_volume: M3, density: KgPerM3, solution_share: MassFraction) -> Kg:
    """Chemical for one batch: the pure substance in one full tank.

    At the density of permeate; what is bought is weaker.
    """
    return tank_volume * density * solution_share


@dataclass(frozen=True)
class CleaningDesign:
    """The cleaning skid: volumes (m3), flow (m3/s), powers (W), its run of pipe.

    `batches` holds the chemical of one batch (kg) by the step that takes it, such as ``acid``.
    """

    vessel_volume: Figure
    vessels_at_once: Figure
    tank_volume: Figure
    flow: Figure
    pump_power: Figure
    heater_power: Figure
    shaft_power: Figure
    heater_rating: Figure
    batches: dict[str, Figure]
    turns: Figure
    head: Figure
    warm_up: Figure
    train_time: Figure
    pipe: Pipe


def cleaning(
    inp: Inputs,
    *,
    vessels: Figure,
    elements_per_vessel: Figure,
    inner_diameter: Figure,
    element_length: Figure,
    density: Figure,
    heat_capacity: Figure,
    temperature_start: Figure,
    stage_vessels: Figure | None = None,
    element: Mapping[str, Figure] | None = None,
    pump_head: Callable[[Figure, Pipe], Figure] | None = None,
) -> CleaningDesign:
    """Size the cleaning skid.

    Parameters
    ----------
    inp : Inputs
    vessels : Figure
        Of one train.
    elements_per_vessel, inner_diameter, element_length : Figure
        Inner diameter of the vessel and length of an element, m.
    density, heat_capacity : Figure
        Of the permeate the solution is made of.
    temperature_start : Figure
        K, coldest permeate.
    stage_vessels : Figure, optional
        Vessels of the largest stage, where there are several.
    element : mapping, optional
        ``ph_low``, ``ph_high``, ``ph_cleaning_low``, ``ph_cleaning_high``, ``max_temperature`` of its sheet.
    pump_head : callable, optional
        Of the flow (m3/s) and the pipe: the head (m) where none is written; without it 45 m.
    """
    at_once = _bank(inp, vessels, stage_vessels or vessels)
    with scope("vessel"):
        one = vessel_contents.at(
            "cip.vessel_volume",
            inner_diameter=inner_diameter,
            element_length=element_length,
            elements_per_vessel=elements_per_vessel,
        )
    bank = total_volume.at("cip.bank_volume", volume_each=one, count=at_once, title="Empty volume of the bank",
                           symbol="V_b")
    each = inp.optional("cip.flow_per_vessel")
    with scope("vessel"):
        if each is None:
            usual = assumed("cip.flow_eight_inch", 8 / 3600, "flow", title="CIP flow of one 8-inch vessel",
                            symbol="Q_8", text="8 m3/h", source="awwa-m46", place="6 to 9 m3/h; from memory")
            each = flow_for_diameter.at("cip.flow_per_vessel", flow_eight_inch=usual, inner_diameter=inner_diameter,
                                        title="CIP flow of one vessel", symbol="Q_v")
        least = flow_for_diameter.at("cip.flow_per_vessel_minimum", flow_eight_inch=limit("cleaning-flow"),
                                     inner_diameter=inner_diameter, title="Minimum CIP flow of one vessel")
    flow = total_flow.at("cip.flow", flow=each, units=at_once, title="CIP flow",
                         symbol="Q_cl")
    pipe = cleaning_pipe(inp, flow)
    pipes = pipe_contents.at("cip.pipe_volume", inner_diameter=pipe.diameter, length=pipe.length)
    tank = tank_for.at(
        "cip.tank_volume",
        bank_volume=bank,
        pipe_volume=pipes,
        volume_factor=inp.number("cip.volume_factor"),
        submergence_volume=inp.number("cip.submergence_volume"),
    )
    per_element.at(
        "cip.volume_per_element",
        tank_volume=tank,
        vessels_cleaned=at_once,
        elements_per_vessel=elements_per_vessel,
    )
    number = turns.at("cip.batches", vessels=vessels, vessels_cleaned=at_once)
    head = inp.optional("cip.pump_head")
    if head is None:
        head = pump_head(flow, pipe) if pump_head is not None else assumed(
            "cip.pump_head", 45.0, "head", title="Head of the CIP pump", symbol="H", text="45 m",
            source="common-practice")
    hydraulic = hydraulic_power.at(
        "cip.hydraulic_power",
        flow=flow,
        pressure_rise=pressure_of_head.at("cip.pump_pressure", head=head, density=density),
    )
    shaft = shaft_power.at(
        "cip.shaft_power", hydraulic_power=hydraulic, pump_efficiency=inp.number("cip.pump_efficiency")
    )
    power = motor_input_power.at(
        "cip.pump_power", shaft_power=shaft, motor_efficiency=inp.number("cip.motor_efficiency")
    )
    cartridges_for.at("cip.cartridges", cleaning_flow=flow, filter_factor=inp.number("cip.filter_factor"),
                        cartridge_flow=inp.number("cip.cartridge_flow"))
    warmer = rise.at(
        "cip.temperature_rise",
        temperature=inp.number("cip.temperature"),
        temperature_start=temperature_start,
    )
    heater = heater_power.at(
        "cip.heater_power",
        tank_volume=tank,
        density=density,
        heat_capacity=heat_capacity,
        temperature_rise=warmer,
        heating_time=inp.number("cip.heating_time"),
        heater_efficiency=inp.number("cip.heater_efficiency"),
    )
    if float(warmer) <= 0.0:
        note("cip.heater_none", title="Heater of the CIP tank", verdict="passes", inputs={"rise": warmer},
             why="the coldest permeate is as warm as the cleaning: no heat is needed",
             do="compare cip.temperature with water.temperature_cold")
    rating = inp.optional("cip.heater_rating")
    if rating is None:
        rating = heater_rating_of.at("cip.heater_rating", electric_power=heater,
                                     power_step=inp.number("cip.heater_step"))
    else:
        checked("cip.heater_rating.check", rating, ">=", heater, title="Heater rating",
                do="raise cip.heater_rating, or lengthen cip.heating_time")
    warm = warm_up_time.at(
        "cip.warm_up_time",
        tank_volume=tank,
        density=density,
        heat_capacity=heat_capacity,
        temperature_rise=warmer,
        heater_rating=rating,
        heater_efficiency=inp.number("cip.heater_efficiency"),
    )
    batches = {
        one.step: chemical_mass.at(f"cip.{one.step}_mass", tank_volume=tank, density=density,
                                   solution_share=inp.number(f"cip.{one.step}_fraction"), title=one.batch)
        for one in chemical_solutions()
    }
    for key, figure, do in (
        ("cleaning-pressure", inp.number("cip.pressure"), "lower cip.pressure; cleaning must not make permeate"),
        ("cleaning-temperature", inp.number("cip.temperature"), "lower cip.temperature, or see the element's sheet"),
    ):
        check_limit(f"{figure.id}.check", figure, key, do=do, caution=CAUTION)
    checked("cip.flow_per_vessel.check", each, ">=", least, title="CIP flow of one vessel",
            source=limit_source("cleaning-flow"), caution=CAUTION,
            do="raise cip.flow_per_vessel, or clean fewer at once (cip.vessels_at_once)")
    solutions(inp, tank=tank, density=density, batches=batches, element=element or {})
    time = sequence(number)
    return CleaningDesign(
        vessel_volume=one, vessels_at_once=at_once, tank_volume=tank, flow=flow, pump_power=power,
        heater_power=heater, shaft_power=shaft, heater_rating=rating, batches=batches, turns=number, head=head,
        warm_up=warm, train_time=time, pipe=pipe)


def _bank(inp: Inputs, vessels: Figure, stage_vessels: Figure) -> Figure:
    """Vessels cleaned at once: as many as the design says, else an even bank of the kind it chooses."""
    stated = inp.optional("cip.vessels_at_once")
    if stated is not None:
        return stated
    bank = inp.choice("cip.bank")
    most = {"column": inp.number("cip.column_vessels"), "stage": stage_vessels, "train": vessels}[bank]
    with scope(because=[bank]):
        banks = whole_quotient.at("cip.banks", items=vessels, divisor=most, title="Banks of one train", symbol="n_b")
        return whole_quotient.at("cip.vessels_cleaned", items=vessels, divisor=banks, title="Vessels cleaned at once",
                                 symbol="n_c")


def cleaning_pipe(inp: Inputs, flow: Figure) -> Pipe:
    """Pipe of the CIP circuit at its flow (m3/s): what ``[cip]`` says of it, else what its run says.

    The volume of the pipe, its loss, its wall and its surge all take this one.
    """
    step = inp.optional("cip.pipe_step")

    def whole(id: str, least: Figure) -> Figure:
        return next_step.at(id, least_diameter=least, diameter_step=step)

    held, length = inp.optional("cip.pipe_diameter"), inp.optional("cip.pipe_length")
    for key, one, other in (("pipe_diameter", held, run_input(inp, RUN, "diameter")),
                            ("pipe_length", length, run_input(inp, RUN, "length"))):
        _compare(f"cip.{key}", one, other)
    return size_pipe(RUN, inp, flow, held=held, length=length, velocity_limit=inp.optional("cip.pipe_velocity"),
                     pick=None if step is None else whole)


def _compare(id: str, one: Figure | None, other: Figure | None) -> None:
    """Where both sections say it, they say the same."""
    if one is None or other is None or not is_given(other.id):
        return
    same = math.isclose(float(one), float(other), rel_tol=1e-6)
    note(f"{id}.check", title=f"{one.title}: given twice",
         verdict="passes" if same else "fails",
         why="both say the same" if same else
         f"it says {show(float(one), one.kind)}, {other.id} says {show(float(other), other.kind)}; the first is taken",
         do=f"clear {id}, or give the same value in both places", inputs={"first": one, "second": other})
