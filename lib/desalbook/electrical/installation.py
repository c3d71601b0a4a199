"""The installation: transformer, starters, cables, devices, harmonics, panel and generator of a load list.

Electricity kills. Design, protection, earthing and commissioning are licensed work under the local code; what stands
here is a first sizing to talk with the panel builder and the utility.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from desalbook.electrical import cables as cb
from desalbook.electrical import harmonics as hm
from desalbook.electrical import panel as pn
from desalbook.electrical import starting as st
from desalbook.electrical import supply as sp
from desalbook.electrical.circuits import (
    PARALLEL,
    CableWay,
    Circuit,
    SupplyLimits,
    grouping_factor,
    pick_cable,
    pick_device,
    set_factor,
    standard_row,
    supply_limits,
)
from desalbook.electrical.load_list import (
    Load,
    LoadList,
    apparent_power,
    case_power,
    case_power_factor,
    case_reactive_power,
    column,
    fraction_of_power,
    load_apparent_power,
    load_list,
    running_of,
    three_phase_current,
    units_of,
)
from desalbook.electrical.medium_voltage import Medium, medium_voltage
from desalbook.electrical.rules import RULES, WiringRules
from desalbook.hydraulics.rows import column_line, least_row, row_line
from desalbook.problems import Infeasible
from desalbook.tables import Row, table
from desalbook.trail import Choice, Column, Figure, assumed, checked, note, picked, scope, values
from desalbook.trail import current as book
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit, limit_source
from desalbook.units import parse, show

__all__ = ["Circuit", "Installation", "Medium", "electrical"]

_WITH = {"booster": ("energy_recovery",), "hp_pump": ("energy_recovery",), "backwash_pump": ("filters",),
         "scour_blower": ("filters",)}
"""Sections of the design that decide on a load beside its own."""



@dataclass(frozen=True)
class Installation:
    """The electrical side of a plant, SI; figures of what the plant does not have are None."""

    rules: WiringRules
    loads: LoadList
    voltage: Figure
    transformers: Figure
    transformer: Figure
    loading: Figure
    fault_current: Figure
    power_factor: Figure
    correction: Figure
    dip: Figure
    circuits: dict[str, Circuit]
    feeders: dict[str, Circuit]
    distortion: Figure | None
    voltage_distortion: Figure | None
    heat: Figure
    air: Figure
    generator: Figure | None = None
    medium: Medium | None = None
    rows: list[dict[str, object]] = field(default_factory=list)


class _Start(NamedTuple):
    """What one motor asks of the busbar when it starts."""

    starter: str
    full: Figure
    current: Figure


def electrical(inp: Inputs, loads: Sequence[Load], trains: Figure,
               decides: Sequence[Choice | Figure] = ()) -> Installation:
    """Size the electrical side of a plant.

    Parameters
    ----------
    inp : Inputs
    loads : sequence of Load
    trains : Figure
    decides : sequence
        What decides which loads there are, and which stand behind a drive.

    Returns
    -------
    Installation

    Raises
    ------
    Infeasible
        No transformer, cable or device of the tables is large enough, by name.
    """
    with scope("plant"):
        rules, because = _rules(inp)
        with scope(because=because):
            given = inp.optional("power.voltage")
            voltage = given if given is not None else assumed(
                "power.voltage_auto", parse(rules.voltage, "voltage", "power.voltage"), "voltage", symbol="U",
                title="Low voltage of the supply", text=rules.voltage, source=rules.source)
            with scope(because=decides):
                listed = load_list(loads, trains, medium_from=inp.number("power.medium_voltage_from"),
                                   intermittent=inp.number("power.intermittent"), standby=inp.number("power.standby"))
            with scope(because=decides):
                medium = medium_voltage(inp, rules, listed, trains)
            starts = _starts(inp, rules, listed, voltage)
            return _installation(inp, rules, listed, voltage, starts, because, decides, medium)


def _rules(inp: Inputs) -> tuple[WiringRules, list[Choice]]:
    chosen, lists = inp.choice("power.rules"), inp.choice("electric.motor_list")
    if chosen == "auto":
        return RULES["nec" if lists == "nema" else "iec"], [chosen, lists]
    return RULES[str(chosen)], [chosen]


def _starts(inp: Inputs, rules: WiringRules, listed: LoadList, voltage: Figure) -> dict[str, _Start]:
    """Full-load and starting current of each motor on low voltage."""
    found = {}
    up_to = inp.number("power.direct_up_to")
    for key, of in listed.loads.items():
        if of.rating is None or of.efficiency is None or not listed.low[key].value:
            continue
        starter = "drive" if of.driven else "direct" if float(of.rating) <= float(up_to) * (1 + 1e-9) else "soft"
        full = _full_load(rules, of, listed.power_factor[key], voltage)
        ratio = row_line(f"power.start_ratio[{key}]", "starters", starter, "ratio", because=[
            *([of.drive] if of.drive is not None else []), of.rating, up_to],
            title=f"Starting current ratio: {of.plain_title}")
        current = st.current_multiple.at(f"power.start_current[{key}]", load_current=full, current_ratio=ratio,
                                         title=f"Line current at start: {of.plain_title}")
        found[key] = _Start(starter, full, current)
    return found


def _full_load(rules: WiringRules, of: Load, power_factor: Figure, voltage: Figure) -> Figure:
    title = f"Full-load current: {of.plain_title}"
    id = f"power.full_load_current[{of.key}]"
    assert of.rating is not None and of.efficiency is not None
    if rules.motor_currents:
        rows = table(rules.motor_currents).ascending("output")
        row = next((r for r in rows if r["output"].value >= float(of.rating) * (1 - 1e-9)), None)
        if row is not None:
            return row_line(id, rules.motor_currents, row.key, "current", because=[of.rating], title=title)
    return st.motor_full_load_current.at(id, motor_rating=of.rating, voltage=voltage, motor_efficiency=of.efficiency,
                                         power_factor=power_factor, title=title)


def _installation(inp: Inputs, rules: WiringRules, listed: LoadList, voltage: Figure, starts: dict[str, _Start],
                  because: list[Choice], decides: Sequence[Choice | Figure], medium: Medium | None) -> Installation:
    largest = sorted(starts, key=lambda k: float(starts[k].current))[-1]
    start = picked("power.largest_start", float(starts[largest].current), "current", title="Largest current at start",
                   symbol="I_st", rule="largest over the motors",
                   candidates=[{"key": k, "value": float(s.current), "won": k == largest} for k, s in starts.items()],
                   inputs={k: s.current for k, s in starts.items()}, why=listed.loads[largest].plain_title)
    limits = supply_limits()
    count, rating, fault, source, impedance = _transformer(inp, rules, listed, voltage, start, limits.busbar_dip,
                                                           because)
    loading = sp.supply_loading.at("power.transformer_loading_at_peak", apparent_power=listed.peak,
                                   units_in_service=count, rated_power_va=rating,
                                   title="Loading of the transformer, largest case")
    checked("power.transformer.check", loading, "<=", inp.number("power.transformer_loading"),
            title="Transformer loading", do="set a larger rating by more transformers (power.transformers)",
            caution="a transformer loaded beyond its rating ages and overheats")
    dip = st.voltage_dip.at("power.dip", line_current=start, fault_current=fault,
                            title="Voltage dip at the busbar, largest start")
    checked("power.dip.check", dip, "<=", limits.busbar_dip, title="Voltage dip at the busbar",
            source=limit_source("voltage-dip-busbar"),
            do="start on a drive, lower power.direct_up_to, or add a transformer (power.transformers)",
            caution="contactors drop out and lights flicker when the voltage dips")
    common = _common_cable(inp, rules, voltage, limits)
    title = "Breaking capacity of the devices"
    capacity = inp.optional("power.breaking_capacity")
    if capacity is None:
        least_row("power.breaking_capacity", "breaking_capacities", "capacity", fault, title=title,
                  rule="smallest standard one not below the fault",
                  do="divide the supply among more transformers with separate busbars")
    else:
        checked("power.breaking_capacity.check", capacity, ">=", fault, title=title,
                do="raise power.breaking_capacity, or clear it",
                caution="a device that cannot break the fault current may burst")
    circuits = {}
    for key in listed.loads:
        if listed.low[key].value:
            with scope(because=[*listed.loads[key].because, *(
                    x for x in decides if str(x.id).partition(".")[0] in (key, *_WITH.get(key, ())))]):
                circuits[key] = _circuit(inp, common, listed, key, starts.get(key), fault)
    _voltage_at_start(circuits, limits.motor_dip)
    with scope(because=decides):
        feeders = _feeders(inp, common, listed, fault)
        distortion, thd = _harmonics(inp, listed, voltage, fault, source, impedance, limits.distortion)
        heat, air = _panel(inp, listed)
    factor, correction = _correction(inp, listed)
    return Installation(
        rules=rules, loads=listed, voltage=voltage, transformers=count, transformer=rating, loading=loading,
        fault_current=fault, power_factor=factor, correction=correction, dip=dip, circuits=circuits, feeders=feeders,
        distortion=distortion, voltage_distortion=thd, heat=heat, air=air,
        generator=_generator(inp, listed, starts, voltage), medium=medium,
        rows=_rows(listed, circuits if medium is None else circuits | medium.circuits))


def _transformer(inp: Inputs, rules: WiringRules, listed: LoadList, voltage: Figure, start: Figure,
                 dip_limit: Figure, because: list[Choice]) -> tuple[Figure, Figure, Figure, Figure, Figure]:
    """Fewest transformers, then the least rating, that carry the largest case and hold the dip at the largest start."""
    held, rows = inp.optional("power.transformers"), table(rules.transformers).ascending("rating")
    kept = inp.optional("power.transformer")
    if kept is not None:
        rows = [standard_row(rows, "rating", kept)]
    source = sp.source_impedance.at("power.source_impedance", voltage=voltage,
                                    fault_power=inp.number("power.source_fault_level"))

    def fault_of(row: Row, count: Figure | float, z: Figure | float, rating: Figure | float) -> tuple:
        own = sp.transformer_impedance.at("power.transformer_impedance", impedance_fraction=z, voltage=voltage,
                                          rated_power_va=rating)
        whole = sp.series_impedance.at("power.busbar_impedance", source_impedance=source, transformer_impedance=own,
                                       units_in_service=count)
        return whole, sp.short_circuit_current.at("power.fault_current", voltage=voltage, impedance=whole,
                                                  title="Short-circuit current at the busbar")

    def needed_of(count: Figure | float) -> Figure:
        return sp.rating_needed.at("power.transformer_needed", apparent_power=listed.peak,
                                   spare_fraction=inp.number("power.spare"),
                                   loading_limit=inp.number("power.transformer_loading"), units_in_service=count)

    judged: list[dict[str, object]] = []
    won: Row | None = None
    for n in [float(held)] if held is not None else [float(i) for i in PARALLEL]:
        judged = []
        with values(keep=False):
            needed = float(needed_of(n))
            for row in rows:
                if won is not None:
                    judged.append({"key": row.key, "value": row["rating"].value, "needed": needed, "won": False})
                    continue
                _, fault = fault_of(row, n, row["impedance"].value, row["rating"].value)
                dip = float(st.voltage_dip.at("power.dip_tried", line_current=start, fault_current=fault))
                fits = row["rating"].value >= needed * (1 - 1e-9) and dip <= float(dip_limit) * (1 + 1e-9)
                judged.append({"key": row.key, "value": row["rating"].value, "needed": needed, "dip": dip,
                               "won": fits})
                won = row if fits else None
        if won is not None:
            break
    if won is None and kept is not None and held is not None:
        won = rows[0]  # checks say what it lacks
    if won is None:
        raise Infeasible("no standard transformer is large enough", where="power.transformers",
                         value=show(needed, "apparent power"), allowed=f"up to {rows[-1]['rating'].text} each",
                         do="raise power.transformers, or lower power.spare")
    count = held if held is not None else picked(
        "power.transformers_auto", n, "count", title="Transformers in service", symbol="n_T",
        rule="fewest of which a standard rating serves", candidates=[{"key": f"{n:g}", "value": n, "won": True}],
        inputs={"peak": listed.peak, "spare": inp.number("power.spare"), "start": start, "dip_limit": dip_limit,
                "loading": inp.number("power.transformer_loading"), "source": source, "voltage": voltage})
    needed = needed_of(count)
    at = rows.index(won)
    rating = kept if kept is not None else picked(
        "power.transformer", won["rating"].value, "apparent power", title="Transformer rating", symbol="S_T",
        rule="smallest standard rating that carries the largest case with its spare and holds the dip at the largest "
             "start", candidates=judged, inputs={"needed": needed, "start": start, "dip_limit": dip_limit,
                                                  "source": source, "voltage": voltage},
        why=f"{rows[at - 1].title} is too small" if at else "the smallest there is", table=rules.transformers,
        source=won.source)
    z = row_line("power.impedance_fraction", rules.transformers, won.key, "impedance", because=[*because, rating])
    whole, fault = fault_of(won, count, z, rating)
    return count, rating, fault, source, whole


def _common_cable(inp: Inputs, rules: WiringRules, voltage: Figure, limits: SupplyLimits) -> CableWay:
    insulation, way = inp.choice("power.insulation"), inp.choice("power.installation")
    with scope(because=[insulation]):
        hot = rules.conductor(str(insulation))
        conductor = assumed("power.conductor_temperature", parse(hot, "temperature", "power.insulation"),
                            "temperature", title="Temperature of a loaded conductor", symbol="theta_m", text=hot,
                            source=rules.source)
        k = "143 A s0.5/mm2" if insulation == "xlpe" else "115 A s0.5/mm2"
        withstand = assumed("power.withstand", parse(k, "thermal withstand", "power.insulation"), "thermal withstand",
                            title="Thermal withstand of copper", symbol="k", text=k, source="iec-60364-4-43",
                            place="Table 43A")
    base = assumed("power.table_ambient", 303.15, "temperature", title="Air temperature of the tables",
                   symbol="theta_0", text="30 degC", source=rules.source)
    reactance = assumed("power.reactance", 0.08e-3, "impedance per length", title="Reactance of a cable", symbol="x",
                        text="0.08 ohm/km", source="iec-60364-5-52", place="Annex G")
    ambient = cb.ambient_factor.at("power.ambient_factor", conductor_temperature=conductor,
                                   cable_ambient=inp.number("power.ambient"), table_ambient=base)
    grouping = grouping_factor(inp, "power.grouping")
    return CableWay(rules, rules.ampacity(str(insulation), str(way)), conductor, ambient, grouping, reactance,
                    withstand, voltage, (insulation, way), limits, inp.optional)


def _circuit(inp: Inputs, of: CableWay, listed: LoadList, key: str, start: _Start | None, fault: Figure) -> Circuit:
    """Cable, device, protective conductor and start of one load."""
    load = listed.loads[key]
    title = load.plain_title
    apparent = listed.apparent[key] if load.rated is None else load_apparent_power.at(
        f"power.rated_apparent[{key}]", electric_power=load.rated, power_factor=listed.power_factor[key],
        title=f"Apparent power at its rating: {title}")
    current = start.full if start is not None else three_phase_current.at(
        f"power.current[{key}]", apparent_power=apparent, voltage=of.voltage, title=f"Line current: {title}")
    motor = start is not None
    conductor = set_factor(f"power.conductor_factor[{key}]", of.rules.conductor_factor, of,
                        f"Conductor / load current: {title}", "k_c")
    area, parallel, drop = pick_cable(
        of, key, title, current, conductor, listed.power_factor[key], inp.number("power.motor_cable"),
        of.limits.motor_drop)
    device = pick_device(of, key, title, current, set_factor(
        f"power.device_factor[{key}]", of.rules.device_factor if motor else "1", of,
        f"Device / load current: {title}", "k_d"))
    cb.let_through_allowed.at(f"power.let_through[{key}]", conductor_area=area, thermal_withstand=of.withstand,
                              title=f"Permitted let-through: {title}")
    guard = cb.protective_area.at(f"power.protective[{key}]", conductor_area=area,
                                  title=f"Protective conductor: {title}")
    if start is None:
        return Circuit(key, load.title, current, area, parallel, drop, device, guard)
    return Circuit(key, load.title, current, area, parallel, drop, device, guard, start.starter, start.current,
                   _at_start(of, inp, key, title, start, parallel, fault))


def _at_start(of: CableWay, inp: Inputs, key: str, title: str, start: _Start, parallel: Figure,
              fault: Figure) -> Figure:
    """Voltage at the terminals while the motor starts: the busbar's own dip and the drop of its cable."""
    cosine = assumed(f"power.start_factor[{key}]", 0.3, "fraction", title=f"Power factor at start: {title}",
                     symbol="cos_phi_st", source="common-practice", note="0.2 to 0.4, from memory")
    own = st.voltage_dip.at(f"power.start_dip[{key}]", line_current=start.current, fault_current=fault,
                            title=f"Busbar dip at start: {title}")
    warm = book()[f"power.cable_resistance[{key}]"]
    drop = cb.voltage_drop.at(f"power.start_drop_volt[{key}]", load_current=start.current,
                              cable_length=inp.number("power.motor_cable"), conductor_resistance=warm,
                              conductor_reactance=of.reactance, power_factor=cosine, cables_in_parallel=parallel,
                              title=f"Cable drop at start: {title}")
    part = cb.drop_fraction.at(f"power.start_drop[{key}]", voltage_drop=drop, voltage=of.voltage,
                               title=f"Cable drop at start / V: {title}")
    return st.terminal_dip.at(f"power.terminal_dip[{key}]", busbar_dip=own, cable_dip=part,
                               title=f"Terminal dip at start: {title}")


def _voltage_at_start(circuits: dict[str, Circuit], allowed: Figure) -> None:
    """Judge the deepest dip at the terminals of a starting motor."""
    dips = {key: c.start_dip for key, c in circuits.items() if c.start_dip is not None}
    worst = sorted(dips, key=lambda k: float(dips[k]))[-1]
    deepest = picked("power.start_dip_largest", float(dips[worst]), "fraction", symbol="Delta_u_m",
                     title="Largest terminal dip at start", rule="largest over the motors",
                     candidates=[{"key": k, "value": float(v), "won": k == worst} for k, v in dips.items()],
                     inputs=dict(dips), why=circuits[worst].title)
    checked("power.start_dip_largest.check", deepest, "<=", allowed, title="Voltage at the motors at start",
            source=limit_source("voltage-dip-motor"),
            do="start on a drive, lower power.direct_up_to, or shorten power.motor_cable",
            caution="torque falls with the square of the voltage: a motor may not come up to speed")


def _feeders(inp: Inputs, of: CableWay, listed: LoadList, fault: Figure) -> dict[str, Circuit]:
    """Cable and device from the main board to the panel of a train, and to the common panel."""
    found = {}
    for panel, title in (("train", "train panel"), ("common", "common panel")):
        counts = {k: float(x.running) * listed.low[k].value * (x.panel == panel) for k, x in listed.loads.items()}
        if not any(counts.values()):
            continue
        units = units_of(f"power.panel_units[{panel}]", counts, f"Loads of the panel: {title}",
                         "what runs on this panel on low voltage", {"low": listed.low, **running_of(listed.loads)})
        active = case_power.at(f"power.panel[{panel}]", load_power=listed.power, units_running=units,
                               title=f"Active power: {title}")
        idle = case_reactive_power.at(f"power.panel_reactive[{panel}]", load_reactive_power=listed.reactive,
                                      units_running=units, title=f"Reactive power: {title}")
        whole = apparent_power.at(f"power.panel_apparent[{panel}]", electric_power=active, reactive_power=idle,
                                  title=f"Apparent power: {title}")
        cosine = case_power_factor.at(f"power.panel_factor[{panel}]", electric_power=active, apparent_power=whole,
                                      title=f"Power factor: {title}")
        current = three_phase_current.at(f"power.current[{panel}]", apparent_power=whole, voltage=of.voltage,
                                         title=f"Line current: {title}")
        device = pick_device(of, panel, title, current, set_factor(f"power.device_factor[{panel}]", "1", of,
                                                            f"Device / load current: {title}", "k_d"))
        with scope(because=[of.because[0]]):
            least = cb.short_circuit_area.at(
                f"power.fault_area[{panel}]", fault_current=fault, clearing_time=inp.number("power.clearing_time"),
                thermal_withstand=of.withstand, title=f"Cable section for fault: {title}")
        # the cable carries what its device lets pass without tripping
        area, parallel, drop = pick_cable(
            of, panel, title, device, set_factor(f"power.conductor_factor[{panel}]", "1", of,
                                              f"Conductor / device rating: {title}", "k_c"),
            cosine, inp.number("power.feeder_cable"), of.limits.feeder_drop, least)
        guard = cb.protective_area.at(f"power.protective[{panel}]", conductor_area=area,
                                      title=f"Protective conductor: {title}")
        found[panel] = Circuit(panel, title.capitalize(), current, area, parallel, drop, device, guard)
    return found


def _correction(inp: Inputs, listed: LoadList) -> tuple[Figure, Figure]:
    """Capacitors for the power factor of all trains in service."""
    before = case_power_factor.at("power.factor_before", electric_power=listed.case_power["normal"],
                                  apparent_power=listed.case_apparent["normal"],
                                  title="Power factor, all trains in service")
    held, wanted = inp.optional("power.correction_bank"), inp.number("power.power_factor")
    reactive = held if held is not None else sp.correction_power.at(
        "power.correction", electric_power=listed.case_power["normal"], power_factor=before, power_factor_wanted=wanted)
    after = sp.corrected_power_factor.at("power.factor_after", electric_power=listed.case_power["normal"],
                                         reactive_power=listed.case_reactive["normal"], correction=reactive)
    if held is not None:
        checked("power.factor_after.check", after, ">=", wanted, title="Power factor with correction",
                do="raise power.correction_bank, or clear it", caution="the utility may charge for reactive power")
    return after, reactive


def _harmonics(inp: Inputs, listed: LoadList, voltage: Figure, fault: Figure, source: Figure,
               impedance: Figure, thd_limit: Figure) -> tuple[Figure | None, Figure | None]:
    """Harmonic currents of the drives and distortion of the voltage; None without a drive."""
    driven = {k: x for k, x in listed.loads.items() if x.driven and listed.low[k].value}
    if not driven:
        return None, None
    counts = [listed.units["normal"][k].value * (k in driven) for k in listed.loads]
    units = picked("power.drive_units", counts, "count", title="Speed drives in service", symbol="n_v",
                   rule="loads with a drive, all trains in service",
                   candidates=[{"key": k, "value": v, "won": True} for k, v in zip(listed.loads, counts, strict=True)],
                   inputs={"units": listed.units["normal"]}, axis="load", keys=tuple(listed.loads))
    power = case_power.at("power.drives", load_power=listed.power, units_running=units,
                          title="Active power of the speed drives")
    first = next(iter(driven))
    apparent = load_apparent_power.at("power.drives_apparent", electric_power=power,
                                      power_factor=listed.power_factor[first],
                                      title="Apparent power of speed drives, fundamental")
    drives = three_phase_current.at("power.drive_current", apparent_power=apparent, voltage=voltage,
                                    title="Current of the speed drives, fundamental")
    demand = three_phase_current.at("power.demand_current", apparent_power=listed.peak, voltage=voltage,
                                    title="Demand current at the busbar")
    where = inp.choice("power.coupling")
    with scope(because=[where]):
        at = fault if where == "low" else sp.short_circuit_current.at(
            "power.coupling_fault", voltage=voltage, impedance=source,
            title="Coupling-point fault current at the busbar")
        ratio = hm.short_circuit_ratio.at("power.coupling_ratio", fault_current=at, demand_current=demand)
    row = next(r for r in table("harmonic_limits").ascending("up_to")
               if float(ratio) < r["up_to"].value or r.key == "ratio-above")
    kinds = table("harmonic_orders")
    keys = list(kinds)
    limits = column_line("power.harmonic_limits", "harmonic_limits",
                         [(k, row[of["band"].value]) for k, of in kinds.items()], axis="order",
                         title="Limits of harmonic currents", because=[ratio])
    tdd_limit = row_line("power.distortion_limit", "harmonic_limits", row.key, "demand", because=[ratio],
                         title="Limit of the demand distortion")
    orders = column_line("power.orders", "harmonic_orders", [(k, of["order"]) for k, of in kinds.items()], axis="order",
                         title="Harmonic orders")
    chosen = inp.choice("power.front_end")

    def distorted(ratios: Column) -> tuple[Figure, Figure, Figure]:
        amps = hm.harmonic_current.at("power.harmonics", drive_current=drives, harmonic_ratio=ratios)
        tdd = hm.total_demand_distortion.at("power.demand_distortion", harmonic_current=amps, demand_current=demand)
        part = st.current_fraction.at("power.harmonic_fractions", line_current=amps, reference_current=demand,
                                      title="Harmonic currents over the demand current")
        use = hm.harmonic_use.at("power.harmonic_use", harmonic_fraction=part, harmonic_limit=limits)
        thd = hm.voltage_distortion.at("power.voltage_distortion", harmonic_current=amps, harmonic_order=orders,
                                       impedance=impedance, voltage=voltage,
                                       title="Distortion of the voltage at the busbar")
        return tdd, use, thd

    def spectrum(front: Row, because: list[Choice | Figure]) -> Column:
        return column_line("power.spectrum", "drive_fronts", [(k, front[k]) for k in keys], axis="order",
                           title=f"Harmonic ratios: {front.title}", because=because)

    fronts, judged, won = list(table("drive_fronts").values()), [], None
    for front in fronts if chosen == "auto" else [table("drive_fronts")[str(chosen)]]:
        with values(keep=False):
            tried = [float(x) for x in distorted(spectrum(front, []))]
        fits = all(x <= most for x, most in zip(tried, (float(tdd_limit), 1.0, float(thd_limit)), strict=True))
        judged.append({"key": front.key, "value": tried[0], "use": tried[1], "voltage": tried[2], "won": False})
        won = front
        if fits:
            break
    assert won is not None
    judged[-1]["won"] = True
    with scope(because=[chosen]):
        front = picked(
            "power.front_end_auto", won.key, None, title="Line side of the speed drives",
            rule="first of the table that meets the limits, else the last", candidates=judged,
            inputs={"drives": drives, "demand": demand, "limits": limits, "demand_limit": tdd_limit,
                    "voltage_limit": thd_limit, "impedance": impedance, "voltage": voltage, "orders": orders},
            table="drive_fronts") if chosen == "auto" else chosen
    tdd, use, thd = distorted(spectrum(won, [front]))
    do = "choose another power.front_end, a filter, or a stronger network (power.source_fault_level)"
    caution = "harmonics heat transformers, cables and capacitors; the utility's rules come first"
    checked("power.demand_distortion.check", tdd, "<=", tdd_limit, title="Total demand distortion", source="ieee-519",
            do=do, caution=caution)
    one = assumed("power.harmonic_use_limit", 1.0, "fraction", title="Harmonic currents at their limits", symbol="1",
                  source="definition")
    checked("power.harmonic_use.check", use, "<=", one, title="Harmonic currents of single orders", source="ieee-519",
            do=do, caution=caution)
    checked("power.voltage_distortion.check", thd, "<=", thd_limit, title="Distortion of the voltage",
            source=limit_source("voltage-distortion"), do=do, caution=caution)
    return tdd, thd


def _panel(inp: Inputs, listed: LoadList) -> tuple[Figure, Figure]:
    """Heat of the panel of one train, and the air that carries it out."""
    here = {k: x for k, x in listed.loads.items() if x.panel == "train" and listed.low[k].value}
    lost = {k: pn.drive_loss.at(f"power.drive_heat[{k}]", electric_power=x.electric_power,
                                drive_efficiency=x.drive_efficiency, title=f"Heat of the drive: {x.plain_title}")
            for k, x in here.items() if x.driven and x.drive_efficiency is not None}
    through = book()["power.panel[train]"]
    if lost:
        counts = {k: float(here[k].running) for k in lost}
        each = column("power.drive_heats", lost, "power.electric", "Heat of one drive", "P_v", "drive")
        units = units_of("power.drive_heat_units", counts, "Drives of one train", "drives of one train in service",
                         {k: x.running for k, x in here.items() if k in lost and isinstance(x.running, Figure)},
                         "n_v", "drive")
        drives = case_power.at("power.drive_heat", load_power=each, units_running=units, title="Heat of the drives")
    else:
        drives = assumed("power.drive_heat", 0.0, "power.electric", title="Heat of the drives", symbol="P_v",
                         text="no speed drive in this panel", source="definition")
    share = assumed("power.gear_fraction", 0.01, "fraction", title="Heat of the gear over what passes", symbol="x_g",
                    source="common-practice", note="0.5 to 1 %")
    gear = fraction_of_power.at("power.gear_heat", electric_power=through, power_fraction=share,
                                title="Heat of the gear", symbol="P_g")
    surface = pn.panel_surface.at("power.panel_surface", panel_height=inp.number("power.panel_height"),
                                  panel_width=inp.number("power.panel_width"),
                                  panel_depth=inp.number("power.panel_depth"))
    k = assumed("power.heat_transfer", 5.5, "heat transfer", title="Heat through a painted steel wall", symbol="k_w",
                text="5.5 W/(m2 K)", source="common-practice")
    inside, room = inp.number("power.panel_inside"), inp.number("power.panel_room")
    wall = pn.shed_heat.at("power.wall_heat", panel_surface=surface, heat_transfer=k, inside_temperature=inside,
                           room_temperature=room)
    rest = pn.surplus_heat.at("power.surplus_heat", drive_heat=drives, gear_heat=gear, wall_heat=wall)
    if float(wall) <= 0.0:
        note("power.panel_inside.check", title="Cooling of the panels by air of the room", verdict="review",
             why=f"the room has up to {show(float(room), 'temperature')}, the air in the panel at most "
                 f"{show(float(inside), 'temperature')}: air of the room cannot cool it",
             do="fit a cooler for the heat to carry out, ventilate the room (power.panel_room), or take gear for a "
                "warmer panel (power.panel_inside)",
             inputs={"inside_temperature": inside, "room_temperature": room, "heat": rest})
    density = assumed("power.air_density", 1.2, "density", title="Density of air", symbol="rho_a",
                      text="1.2 kg/m3", source="common-practice")
    cp = assumed("power.air_heat_capacity", 1005.0, "heat capacity", title="Heat capacity of air", symbol="c_pa",
                 text="1005 J/(kg K)", source="common-practice")
    rise = assumed("power.air_rise", 10.0, "temperature difference", title="Rise of the cooling air",
                   symbol="Delta_theta", text="10 K", source="common-practice")
    air = pn.cooling_air.at("power.cooling_air", heat=rest, air_density=density, air_heat_capacity=cp, air_rise=rise)
    return rest, air


def _on_generator(listed: LoadList) -> Figure:
    """Active power that the generator carries: the case of one train, and of the owner's loads those that are on it."""
    own = {k: x for k, x in listed.loads.items() if x.on_generator is not None}
    if not own:
        return listed.case_power["one_train"]
    case = listed.units["one_train"]
    counts = {k: case[k].value if k not in own else float(x.running) * listed.low[k].value * (x.on_generator == "yes")
              for k, x in listed.loads.items()}
    with scope(because=[x.on_generator for x in own.values() if x.on_generator is not None]):
        units = units_of("power.generator_units", counts, "On the standby generator",
                         "what runs with one train; of the owner's loads those on the generator",
                         {"units": case, "low": listed.low, **running_of(own)})
        return case_power.at("power.generator_power", load_power=listed.power, units_running=units,
                             title="Active power on the standby generator")


def _generator(inp: Inputs, listed: LoadList, starts: dict[str, _Start], voltage: Figure) -> Figure | None:
    """A standby generator for one train: it carries the load and holds the dip at its largest start."""
    wanted = inp.choice("power.generator")
    if wanted != "yes":
        return None
    with scope(because=[wanted]):
        cosine = assumed("power.generator_factor", 0.8, "fraction", title="Rated power factor of the generator",
                         symbol="cos_phi_G", source="common-practice")
        needed = sp.generator_rating.at("power.generator_needed", electric_power=_on_generator(listed),
                                        generator_power_factor=cosine,
                                        loading_limit=inp.number("power.generator_loading"))
        here = [k for k in starts if listed.loads[k].on_generator in (None, "yes")]
        key = sorted(here, key=lambda k: float(starts[k].current))[-1]
        start = st.starting_apparent_power.at("power.generator_start", voltage=voltage,
                                              line_current=starts[key].current,
                                              title=f"Apparent power at start: {listed.loads[key].plain_title}")
        allowed, reactance = limit("voltage-dip-generator"), inp.number("power.generator_reactance")

        def dip_of(rating: Figure | float) -> Figure:
            return sp.generator_dip.at("power.generator_dip", starting_power=start, generator_reactance=reactance,
                                       rated_power_va=rating)

        dip_title, dip_do = "Voltage dip on the generator", ("start the largest motor on a drive, or lower "
                                                             "power.generator_loading")
        held = inp.optional("power.generator_rating")
        if held is not None:
            checked("power.generator_rating.check", held, ">=", needed, title="Standby generator rating",
                    do="raise power.generator_rating, or clear it")
            checked("power.generator_dip.check", dip_of(held), "<=", allowed, title=dip_title,
                    source=limit_source("voltage-dip-generator"), do=dip_do,
                    caution="exhaust, fuel and transfer switching follow the local code")
            return held
        rows, judged, won = table("generators").ascending("rating"), [], None
        for row in rows:
            with values(keep=False):
                dip = float(dip_of(row["rating"].value))
            fits = won is None and row["rating"].value >= float(needed) * (1 - 1e-9) and dip <= float(allowed)
            judged.append({"key": row.key, "value": row["rating"].value, "dip": dip, "won": fits})
            won = row if fits else won
        if won is None:
            raise Infeasible("no standard generator is large enough", where="power.generator",
                             value=show(float(needed), "apparent power"), allowed=f"up to {rows[-1]['rating'].text}",
                             do="set power.generator = \"no\", or divide the plant among more trains (duty.trains)")
        rating = picked("power.generator_rating", won["rating"].value, "apparent power",
                        title="Standby generator rating", symbol="S_G",
                        rule="smallest standard rating that carries one train and holds the dip at its largest start",
                        candidates=judged, inputs={"needed": needed, "start": start, "reactance": reactance,
                                                   "limit": allowed}, table="generators", source=won.source)
        checked("power.generator_dip.check", dip_of(rating), "<=", allowed, title=dip_title,
                source=limit_source("voltage-dip-generator"), do=dip_do,
                caution="exhaust, fuel and transfer switching follow the local code")
        return rating


def _rows(listed: LoadList, circuits: dict[str, Circuit]) -> list[dict[str, object]]:
    """The load list as a table: SI values, and the id of the figure that leads into the trail."""
    found = []
    for key, of in listed.loads.items():
        c = circuits.get(key)
        row: dict[str, object] = {
            "id": of.electric_power.id, "key": key, "title": of.title, "panel": of.panel, "duty": of.duty,
            "running": float(of.running), "spare": float(of.spare),
            "rating": None if of.rating is None else float(of.rating), "electric_power": float(of.electric_power),
            "power_factor": listed.power_factor[key].value, "apparent_power": listed.apparent[key].value,
            "voltage_level": "low" if listed.low[key].value else "medium"}
        ids = {"electric_power": of.electric_power.id} | ({} if of.rating is None else {"rating": of.rating.id})
        if c is not None:
            figures = {"current": c.current, "start_current": c.start, "cables": c.parallel, "area": c.area,
                       "voltage_drop": c.drop, "device": c.device, "protective_area": c.protective}
            row["starter"] = c.starter
            row |= {name: None if x is None else float(x) for name, x in figures.items()}
            ids |= {name: x.id for name, x in figures.items() if x is not None}
        found.append(row | {"ids": ids})
    return found
