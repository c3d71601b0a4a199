"""Motors too large for low voltage: transformer, fault level, starters, cables and devices of medium voltage.

A first sizing to talk with the utility and the supplier of the switchgear. Medium voltage kills at a distance: design,
protection, switching and commissioning are licensed work under the local code.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

from desalbook.electrical import cables as cb
from desalbook.electrical import starting as st
from desalbook.electrical import supply as sp
from desalbook.electrical.circuits import (
    CableWay,
    Circuit,
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
    case_reactive_power,
    running_of,
    units_of,
)
from desalbook.electrical.rules import WiringRules
from desalbook.hydraulics.rows import least_row, row_line
from desalbook.tables import table
from desalbook.trail import Figure, assumed, checked, note, picked, values
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit, limit_source
from desalbook.units import parse

__all__ = ["Medium", "medium_voltage"]


@dataclass(frozen=True)
class Medium:
    """The medium-voltage side, SI: voltage, transformers, fault current, power, largest dip, circuits by load."""

    voltage: Figure
    transformers: Figure
    transformer: Figure
    fault_current: Figure
    power: Figure
    dip: Figure
    circuits: dict[str, Circuit]


def medium_voltage(inp: Inputs, rules: WiringRules, listed: LoadList, trains: Figure) -> Medium | None:
    """The medium-voltage side of motors too large for low voltage: transformer, starters, cables, devices.

    A transformer of its own brings the network's voltage down to that of the motors. Loads of all trains count as they
    run in service; power factor and harmonic currents of medium voltage are left to the network study.
    """
    high = {k: x for k, x in listed.loads.items() if not listed.low[k].value}
    if not high:
        return None
    given = inp.optional("power.medium_voltage")
    level = given if given is not None else assumed(
        "power.medium_voltage_auto", parse(rules.medium_voltage, "voltage", "power.medium_voltage"), "voltage",
        symbol="U_m", title="Medium voltage of the supply", text=rules.medium_voltage, source=rules.source)
    n = float(trains)
    counts = {k: float(x.running) * (n if x.panel == "train" else 1.0) * (1.0 - listed.low[k].value)
              for k, x in listed.loads.items()}
    units = units_of("power.medium_units", counts, "In service on medium voltage",
                     "what runs on medium voltage, all trains in service",
                     {"trains": trains, "low": listed.low, **running_of(high)})
    active = case_power.at("power.medium_active", load_power=listed.power, units_running=units,
                           title="Active power on medium voltage")
    idle = case_reactive_power.at("power.medium_reactive", load_reactive_power=listed.reactive, units_running=units,
                                  title="Reactive power on medium voltage")
    whole = apparent_power.at("power.medium_power", electric_power=active, reactive_power=idle,
                              title="Apparent power on medium voltage")
    many, rating, fault = _medium_transformer(inp, rules, level, whole)
    common = _medium_cable(inp, rules, level)
    circuits, dips = {}, {}
    for key, of in high.items():
        full = st.motor_full_load_current.at(
            f"power.full_load_current[{key}]", motor_rating=of.rating, voltage=level, motor_efficiency=of.efficiency,
            power_factor=listed.power_factor[key], title=f"Full-load current: {of.plain_title}")
        starter, start, dips[key] = _medium_start(of, full, fault)
        circuits[key] = _medium_circuit(inp, common, listed, of, full, starter, start, dips[key], fault)
    worst = sorted(dips, key=lambda k: float(dips[k]))[-1]
    deepest = picked("power.medium_dip", float(dips[worst]), "fraction", symbol="Delta_u_m",
                     title="Largest dip of the medium voltage at start", rule="largest over its motors",
                     candidates=[{"key": k, "value": float(v), "won": k == worst} for k, v in dips.items()],
                     inputs=dict(dips), why=high[worst].title)
    checked("power.medium_dip.check", deepest, "<=", limit("voltage-dip-busbar"),
            title="Voltage dip on medium voltage", source=limit_source("voltage-dip-busbar"),
            do="start on a drive (hp_pump.drive), or raise power.source_fault_level with the utility",
            caution="medium voltage is licensed work under the local code")
    if any(of.driven for of in high.values()):
        note("power.medium_harmonics", title="Harmonics on medium voltage", verdict="review",
             why="a drive on medium voltage has a line side of its own, which its supplier states",
             do="ask for the harmonic currents of the drive offered, and judge them at the point of coupling",
             caution="medium voltage is licensed work under the local code", inputs={"power": whole, "level": level})
    return Medium(level, many, rating, fault, whole, deepest, circuits)


def _medium_transformer(inp: Inputs, rules: WiringRules, level: Figure,
                        whole: Figure) -> tuple[Figure, Figure, Figure]:
    """Fewest and then smallest transformers to medium voltage that carry its motors, and the fault current."""
    spare, loading_limit = inp.number("power.spare"), inp.number("power.transformer_loading")
    rows = table(rules.transformers).ascending("rating")
    largest = rows[-1]["rating"].value * (1 + 1e-9)
    with values(keep=False):
        alone = assumed("power.medium_alone", 1.0, "count", title="One transformer", source="definition")
        least = float(sp.rating_needed.at("power.medium_needed_alone", apparent_power=whole, spare_fraction=spare,
                                          loading_limit=loading_limit, units_in_service=alone))
    many = next(n for n in itertools.count(1) if least / n <= largest)
    held, kept = inp.optional("power.medium_transformers"), inp.optional("power.medium_transformer")
    one = held if held is not None else picked(
        "power.medium_transformers_auto", float(many), "count", symbol="n_T", title="Transformers to medium voltage",
        table=rules.transformers, rule="fewest alike whose largest standard rating carries the motors with their spare",
        candidates=[{"key": str(n), "value": least / n, "won": n == many} for n in range(1, many + 1)],
        inputs={"power": whole, "spare": spare, "loading": loading_limit})
    needed = sp.rating_needed.at("power.medium_transformer_needed", apparent_power=whole,
                                 spare_fraction=spare, loading_limit=loading_limit, units_in_service=one)
    if kept is None:
        rating, row = least_row(
            "power.medium_transformer", rules.transformers, "rating", needed, title="Transformer to medium voltage",
            rule="smallest standard rating that carries its motors with their spare",
            do="raise power.medium_transformers, or raise power.medium_voltage_from")
    else:
        rating, row = kept, standard_row(rows, "rating", kept)
    z = row_line("power.medium_impedance_fraction", rules.transformers, row.key, "impedance", because=[rating],
                 title="Impedance of the medium-voltage transformer")
    source = sp.source_impedance.at("power.medium_source_impedance", voltage=level,
                                    fault_power=inp.number("power.source_fault_level"))
    own = sp.transformer_impedance.at("power.medium_transformer_impedance", impedance_fraction=z, voltage=level,
                                      rated_power_va=rating)
    total = sp.series_impedance.at("power.medium_busbar_impedance", source_impedance=source, transformer_impedance=own,
                                   units_in_service=one)
    fault = sp.short_circuit_current.at("power.medium_fault_current", voltage=level, impedance=total,
                                        title="Short-circuit current on medium voltage")
    loading = sp.supply_loading.at("power.medium_loading", apparent_power=whole, units_in_service=one,
                                   rated_power_va=rating, title="Loading of the transformer to medium voltage")
    checked("power.medium_transformer.check", loading, "<=", loading_limit,
            title="Loading of the transformer to medium voltage",
            do="raise power.medium_transformers, or raise power.medium_voltage_from",
            caution="a transformer loaded beyond its rating ages and overheats")
    return one, rating, fault


def _medium_start(of: Load, full: Figure, fault: Figure) -> tuple[str, Figure, Figure]:
    """Starter, line current and dip of one motor: direct on line where the dip allows it, else a soft starter."""
    allowed = limit("voltage-dip-busbar")

    def tried(starter: str) -> float:
        with values(keep=False):
            current = float(full) * table("starters")[starter]["ratio"].value
            return float(st.voltage_dip.at("power.medium_dip_tried", line_current=current, fault_current=fault))

    ways = ("drive",) if of.driven else ("direct", "soft")
    judged = [{"key": way, "value": tried(way)} for way in ways]
    starter = next((x["key"] for x in judged if x["value"] <= float(allowed) * (1 + 1e-9)), ways[-1])
    because = [full, fault, allowed, *([of.drive] if of.drive is not None else [])]
    ratio = row_line(f"power.start_ratio[{of.key}]", "starters", starter, "ratio", because=because,
                     title=f"Starting current ratio: {of.plain_title}")
    current = st.current_multiple.at(f"power.start_current[{of.key}]", load_current=full, current_ratio=ratio,
                                     title=f"Line current at start: {of.plain_title}")
    dip = st.voltage_dip.at(f"power.start_dip[{of.key}]", line_current=current, fault_current=fault,
                            title=f"Busbar dip at start: {of.plain_title}")
    return starter, current, dip


def _medium_cable(inp: Inputs, rules: WiringRules, level: Figure) -> CableWay:
    """What the medium-voltage cables have in common: XLPE in air, whatever the low-voltage side has."""
    conductor = assumed("power.medium_conductor", parse("90 degC", "temperature", "power"), "temperature",
                        title="Conductor temperature, medium voltage", symbol="theta_m", text="90 degC",
                        source="iec-60502-2")
    withstand = assumed("power.medium_withstand", parse("143 A s0.5/mm2", "thermal withstand", "power"),
                        "thermal withstand", title="Thermal withstand of copper, medium voltage", symbol="k",
                        text="143 A s0.5/mm2", source="iec-60364-4-43", place="Table 43A, XLPE")
    base = assumed("power.medium_table_ambient", 303.15, "temperature", symbol="theta_0", text="30 degC",
                   title="Air temperature of the medium-voltage table", source="iec-60502-2")
    reactance = assumed("power.medium_reactance", 0.1e-3, "impedance per length", symbol="x", text="0.1 ohm/km",
                        title="Reactance of a medium-voltage cable", source="common-practice", place="from memory")
    ambient = cb.ambient_factor.at("power.medium_ambient_factor", conductor_temperature=conductor,
                                   cable_ambient=inp.number("power.ambient"), table_ambient=base)
    grouping = grouping_factor(inp, "power.medium_grouping", title="Grouping factor, medium voltage")
    return CableWay(replace(rules, cables="cables_medium", devices="breakers_medium"), "xlpe_air", conductor, ambient,
                  grouping, reactance, withstand, level, (), supply_limits(), inp.optional)


def _medium_circuit(inp: Inputs, of: CableWay, listed: LoadList, load: Load, full: Figure, starter: str, start: Figure,
                    dip: Figure, fault: Figure) -> Circuit:
    """Cable and device of one motor; the cable bears a fault until it is cleared."""
    key, title = load.key, load.plain_title
    least = cb.short_circuit_area.at(f"power.fault_area[{key}]", fault_current=fault,
                                     clearing_time=inp.number("power.clearing_time"), thermal_withstand=of.withstand,
                                     title=f"Cable section for fault: {title}")
    area, parallel, drop = pick_cable(of, key, title, full, set_factor(f"power.conductor_factor[{key}]",
                                                                of.rules.conductor_factor, of,
                                                                f"Conductor / load current: {title}", "k_c"),
                                  listed.power_factor[key], inp.number("power.motor_cable"), of.limits.motor_drop,
                                  least)
    device = pick_device(of, key, title, full, set_factor(f"power.device_factor[{key}]", "1.25", of,
                                                   f"Device / load current: {title}", "k_d"))
    guard = cb.protective_area.at(f"power.protective[{key}]", conductor_area=area,
                                  title=f"Protective conductor: {title}")
    return Circuit(key, load.title, full, area, parallel, drop, device, guard, starter, start, dip)
