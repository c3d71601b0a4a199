"""`size`: a design goes in, a plant comes out. The walk, stage by stage, along the water."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from functools import partial
from typing import Any

from desalbook import cleaning, dosing, duty, product
from desalbook.balances import partial_flow, total_flow
from desalbook.cost import Estimate
from desalbook.design import Design, lines
from desalbook.design.file import place_of
from desalbook.electrical import Installation, own_loads
from desalbook.electrical.metering import Metering
from desalbook.hydraulics.design_pressure import Section
from desalbook.hydraulics.energy_recovery import Device, device
from desalbook.hydraulics.line_list import PipeLine
from desalbook.plant.array import Array, array
from desalbook.plant.chemical_schedule import chemical_schedule
from desalbook.plant.concentrate import Concentrate, concentrate
from desalbook.plant.control import Controls, control
from desalbook.plant.cost import cost_of_plant, where_counted
from desalbook.plant.design_pressures import design_pressures, pressure_rows, stopped, wall_checks
from desalbook.plant.element_limits import element_limits
from desalbook.plant.element_sheet import element_sheet
from desalbook.plant.energy import EnergyYear, energy
from desalbook.plant.equipment import equipment
from desalbook.plant.feedwater import FeedWater, feedwater
from desalbook.plant.guarantees import guarantees
from desalbook.plant.local_ph import local_ph
from desalbook.plant.metering import energy_meters, proved_energy
from desalbook.plant.more_dosing import more_dosing
from desalbook.plant.operations import Boron, UnitOperations
from desalbook.plant.outages import outages
from desalbook.plant.pipelines import fresh_water, high_pressure_runs, line_rows, pipelines
from desalbook.plant.post_treatment import cleaning_limits, heat_capacity_of, stored
from desalbook.plant.power import power
from desalbook.plant.pressure import Pressure, pressure
from desalbook.plant.pretreat import Pretreated, electric, filter_vessels, load, pretreat
from desalbook.plant.reject_water import reject_waters
from desalbook.plant.scaling import scaling, strengths
from desalbook.plant.streams import stops, streams
from desalbook.plant.transfer import CleaningHead, Transfer, cleaning_head, pick_cleaning_head, transfer
from desalbook.plant.valves import valves
from desalbook.plant.waters import Waters, waters
from desalbook.problems import Problem, TrailError
from desalbook.trail import Choice, Figure, Ledger, Values, assumed, checked, relation, scope
from desalbook.trail.corner import Corner
from desalbook.trail.inputs import Inputs
from desalbook.units import AsB, Fraction

__all__ = ["Sized", "size"]


@dataclass(kw_only=True)
class Sized(UnitOperations):
    """A sized plant: its ledger, what each unit operation found, its streams and its equipment."""

    design: Design
    ledger: Ledger | Values
    energy: EnergyYear
    concentrate: Concentrate
    pipes: dict[str, PipeLine]
    transfer: dict[str, Transfer]
    cleaning_head: CleaningHead
    power: Installation
    metering: Metering
    control: Controls
    cost: Estimate
    sections: dict[str, Section]
    streams: list[dict[str, Any]] = field(default_factory=list)
    equipment: list[dict[str, Any]] = field(default_factory=list)
    valves: list[dict[str, Any]] = field(default_factory=list)
    chemicals: list[dict[str, Any]] = field(default_factory=list)
    stops: dict[str, Any] = field(default_factory=dict)
    lines: list[dict[str, Any]] = field(default_factory=list)
    design_pressures: list[dict[str, Any]] = field(default_factory=list)
    outages: list[dict[str, Any]] = field(default_factory=list)
    guarantees: list[dict[str, Any]] = field(default_factory=list)


@relation("Product boron including guarantee margin", symbol="C_Bg", unit="kg/m^3", source="definition")
def with_margin(boron_permeate: AsB, margin: Fraction) -> AsB:
    """Boron of the product with the margin of the guarantee.

    What is judged against the limit; the margin covers measuring and the scatter of elements.
    """
    return boron_permeate * (1 + margin)




def size(design: Design, recording: bool = True) -> Sized:
    """Size a plant.

    Parameters
    ----------
    design : Design
    recording : bool
        Record every line; otherwise values, picks and verdicts alone, the same to the last bit.

    Returns
    -------
    Sized

    Raises
    ------
    Infeasible
        No catalogue item or no physics answers; names the constraint, and its line in the file of a design that is
        as it was read.
    EngineError
        The geochemical engine refused.
    """
    book: Ledger | Values = Ledger() if recording else Values()
    with book.recording() if isinstance(book, Ledger) else book.running():
        try:
            return _walk(lines(design), design, book)
        except Problem as problem:
            if not isinstance(problem, TrailError):
                problem.place = problem.place or place_of(design, problem.where)
            raise


def _walk(inp: Inputs, design: Design, ledger: Ledger | Values) -> Sized:
    remineralisation: Choice = inp("product.remineralisation")
    d = duty.flows(inp, optional={"contactor": (remineralisation, product.has_contactor(remineralisation))})
    available = duty.availability(inp, d)
    fed: FeedWater = local_ph(inp, feedwater(inp, waters(inp)))
    w = fed.waters
    of: Device = device(inp)
    a: Array = array(inp, w, d.train_permeate, d.trains, of)
    strong = strengths(inp, fed, a)
    element_limits(inp, fed)
    element_sheet(inp, a)
    duty.train_recovery(d.train_permeate, a.feed_flow, d.trains)
    pre: Pretreated = pretreat(inp, w, a.pretreated_flow, d.trains, partial(reject_waters, w, a))
    duty.plant_recovery(d.net_product, partial_flow.at(
        "duty.raw_flow_year", flow=pre.raw_flow, fraction=d.availability, title="Raw water, mean of a calendar day",
        symbol="Q_0y"))
    chemicals, all_feed = _dosing(inp, w, a, pre, d, fed)
    index, lift = load(inp, w, pre, chemicals, a.pretreated_flow, d.trains)
    scale = scaling(inp, fed, a, strong)
    p: Pressure = pressure(inp, w, of, a, pre, d.trains)
    finished, made, tank, boron = _product(inp, w, a, d, chemicals)
    more_dosing(inp, w, a, d, chemicals, feed_flow=all_feed, product_flow=made)
    high = high_pressure_runs(inp, w, a, p.concentrate_flow, d.trains)
    clean, flushed = _cleaning(inp, w, a, d, high.volume)
    with scope(because=[pre.present]):
        cleanings = cleaning.cleanings_expected(inp, ledger["membrane.flux"], index)
    ops = UnitOperations(duty=d, waters=w, feed=fed, array=a, scaling=scale, pretreated=pre, pressure=p, device=of,
                         doses=chemicals, intake_pump=lift, finish=finished, product_flow=made, product_tank=tank,
                         boron=boron, fouling_index=index,
                         cleaning=clean, flush=flushed, cleanings=cleanings, available=available)
    discharged = concentrate(inp, ops)
    pipes = pipelines(inp, ops, high)
    pumps = transfer(inp, ops, pipes)
    cip_head = cleaning_head(inp, ops, pipes["cleaning"])
    own = own_loads(inp, electric(inp))
    used = energy(inp, ops, pumps, own)
    supplied = power(inp, ops, pumps, own)
    sections = design_pressures(inp, ops, pipes, pumps)
    metered = energy_meters(inp, ops, used, supplied)
    controlled = control(inp, ops, sections, pumps, metered)
    proved_energy(inp, ops, used, metered, controlled)
    walls = wall_checks(inp, ops, pipes, pumps, sections)
    ops.pretreated = filter_vessels(inp, pre, d.trains, w.at["cold"].density, sections)
    stopped(inp, ops, pipes)
    schedule = chemical_schedule(inp, ops, pipes, sections)
    with scope(because=[inp("filters.backwash_source")]):
        costs = cost_of_plant(inp, ops, pumps, used, supplied)
    moved = valves(pipes, sections, {row["key"] for row in controlled.signals.rows}, d.trains,
                   None if pre.battery is None else pre.battery.count)
    machines = equipment(inp, ops, pumps, used, sections=sections, pipes=pipes, supplied=supplied, own=own,
                         controlled=controlled, moved=moved, metered=metered)
    for row in machines:
        row["cost"] = where_counted(row, costs)
    return Sized(
        **{f.name: getattr(ops, f.name) for f in fields(ops)}, design=design, ledger=ledger, energy=used,
        concentrate=discharged, pipes=pipes, transfer=pumps, cleaning_head=cip_head, power=supplied, metering=metered,
        control=controlled, cost=costs, sections=sections,
        lines=line_rows(pipes, walls), design_pressures=pressure_rows(sections),
        chemicals=schedule, streams=streams(inp, ops), equipment=machines, valves=moved,
        outages=outages(inp, ops), guarantees=guarantees(inp, ops, used), stops=stops(inp, ops))


def _acid(inp: Inputs, w: Waters, a: Array, d, fed: FeedWater) -> Any:
    with scope(because=[inp("acid.present")]):
        feed = total_flow.at("acid.flow", flow=a.pretreated_flow, units=d.trains, symbol="Q_w",
                             title="Feed that takes acid, all trains") if inp("acid.present") == "yes" else None
        return dosing.acid(inp, feed if feed is not None else a.pretreated_flow, fed.acid_amount,
                           density=w.at["design"].density, lowest_flow=a.pretreated_flow,
                           total_dissolved_solids=w.analysis.total_dissolved_solids)


def _dosing(inp: Inputs, w: Waters, a: Array, pre: Pretreated, d,
            fed: FeedWater) -> tuple[dosing.Doses, Figure]:
    found = dosing.Doses()
    train = a.pretreated_flow
    with scope("plant"):
        found.chlorination = dosing.chlorination(inp, pre.raw_flow, train)
        found.coagulation = dosing.coagulation(inp, pre.raw_flow, train)
    all_feed = total_flow.at("duty.feed_flow_all", flow=train, units=d.trains, symbol="Q_w",
                             title="RO feed of all trains")
    with scope(because=[inp("chlorination.present")]):
        found.dechlorination = dosing.dechlorination(inp, all_feed, found.chlorination, train)
    found.antiscalant = dosing.antiscalant(inp, all_feed, train)
    found.acid = _acid(inp, w, a, d, fed)
    filters = pre.present if pre.present == "yes" else None
    dosing.contradictions(inp, filters=filters, oxidant_sensitive=inp("membrane.element"))
    with scope(because=[pre.present, *[inp(f"{n}.present") for n in dosing.ALONG_THE_FEED]]):
        dosing.order(inp, inp.names("injection.points"), filters=filters)
    return found, all_feed


def _product(inp: Inputs, w: Waters, a: Array, d, chemicals) -> tuple[product.Finish, Figure, Figure, Boron]:
    """Finished water, its flow (m3/s), the volume of one product tank (m3), and boron."""
    use = inp.choice("duty.product_use")
    limits = product.Limits(use, inp)
    post = dosing.post_chlorine_dose(inp, use)
    r, at = a.by_corner["hot-aged"], w.at["hot"]
    ions = a.permeate_ions["hot-aged"]
    none = assumed("product.carbonate_passing", 0.0, "molality", title="Carbonate in the permeate", symbol="b_CO3",
                   source="common-practice", note="a double charge hardly passes")
    an = w.analysis
    finished = product.finish(
        inp, molality=ions, carbon_dioxide=a.carbon_dioxide(Corner("hot", "aged"), at.carbon_dioxide),
        bicarbonate=ions["HCO3"], carbonate=none,
        temperature=at.temperature, density=r["permeate_density"], total_dissolved_solids=r["permeate_tds"],
        chlorine_dose=post.dose, limits=limits, blend=product.Blend(an.molality, an.ph, an.temperature))
    flow = total_flow.at("product.flow", flow=d.train_permeate, units=d.trains, title="Flow of the product",
                         symbol="Q_w")
    chemicals.post_chlorination = dosing.post_chlorination(inp, flow, post, d.train_permeate)
    alkali = finished.sodium_hydroxide_dose
    with scope(because=[inp("product.ph_adjustment"), *([] if alkali is None else [alkali])]):
        # a water that is above its target already takes none, and needs no pump
        chemicals.post_ph = dosing.post_ph(inp, flow, alkali if alkali else None, d.train_permeate)
    with scope(because=[inp("product.remineralisation")]):
        expected = product.boron_of_blend(inp, a.governing["permeate_boron"], w.boron, finished.water_content)
    boron = with_margin.at("product.boron", boron_permeate=expected, margin=inp("membrane.margin_boron"))
    tank = stored(inp, w, flow, finished, post, boron, limits)
    limit = inp("product.boron_limit")
    if limit is not None:
        checked("product.boron.check_limit", boron, "<=", limit, title="Boron of the product, with margin",
                do="choose an element with higher boron rejection (membrane.element), lower membrane.recovery, "
                   "or add a second pass" if a.plan.second is None else
                   "raise membrane.second_pass.share or membrane.second_pass.ph, or choose an element with higher "
                   "boron rejection (membrane.element)",
                caution="Boron above its limit harms people and crops. The local authority sets the limit.")
    return finished, flow, tank, Boron(expected, boron)


def _cleaning(inp: Inputs, w: Waters, a: Array, d,
              pipe_volume: Figure) -> tuple[cleaning.CleaningDesign, cleaning.FlushDesign]:
    cold, r = w.at["cold"], a.by_corner["cold-aged"]
    cp = heat_capacity_of("cip.heat_capacity", cold.temperature)
    done = cleaning.cleaning(inp, vessels=a.vessels, stage_vessels=a.plan.rows[0].vessels,
                             elements_per_vessel=inp("membrane.elements"),
                             inner_diameter=a.element["outer_diameter"], element_length=a.element["length_overall"],
                             density=r["permeate_density"], heat_capacity=cp, temperature_start=cold.temperature,
                             element=cleaning_limits(inp, a.element),
                             pump_head=partial(pick_cleaning_head, inp, fresh_water(w, a)))
    return done, cleaning.flush(inp, vessel_volume=done.vessel_volume, vessels=a.vessels, pipe_volume=pipe_volume,
                                trains_together=d.trains)

