"""Calculations of pumps and energy recovery: head, suction, power, motor, devices on one duty."""

from __future__ import annotations

from typing import Any

from desalbook.balances import difference_of_flows, sum_of_heads, sum_of_powers
from desalbook.calc.calculation import TEMPERATURE, calculation
from desalbook.calc.piping import DeliveryPipe
from desalbook.duty.flows import feed_for
from desalbook.hydraulics import energy_recovery as er
from desalbook.hydraulics import pipes
from desalbook.hydraulics.energy import specific_energy
from desalbook.hydraulics.head import pressure_head, site_atmosphere
from desalbook.hydraulics.inputs import ProductPump
from desalbook.hydraulics.pumps import Pump, compare_kinds, size_pump
from desalbook.hydraulics.suction import check_npsh
from desalbook.plant.hp_pump import hp_pump as size_hp_pump
from desalbook.plant.pretreat import electric
from desalbook.plant.transfer import transfer_pump
from desalbook.plant.waters import waters
from desalbook.trail import Choice, Figure, assumed, govern, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit
from desalbook.units import DifferencePa, Fraction, GaugePa, Head, M3PerS, Section, field

__all__ = ["energy_recovery", "hp_pump", "pump"]

_FLOW: dict[str, Any] = {"possible": ("0.01 m3/h", "50000 m3/h"), "usual": ("1 m3/h", "5000 m3/h")}
_HIGH: dict[str, Any] = {"possible": ("0 barg", "150 barg"), "usual": ("30 barg", "75 barg")}
PIPE = "piping.runs[pipe]"


class PumpDuty(ProductPump):
    """Arguments of `pump`."""

    total_flow: M3PerS = field("flow", ..., title="Flow of the pumps on duty", symbol="Q", hint="Of all together",
                               **_FLOW)
    equipment_drop: DifferencePa = field(
        "pressure difference", "0 bar", title="Pressure drop of equipment on the way", symbol="Delta_p_e",
        possible=("0 bar", "20 bar"), usual=("0 bar", "3 bar"), hint="Filters, valves, nozzles, dirty where they foul")
    suction_loss: Head = field("head", "0.3 m", title="Head loss in the suction line", symbol="h_s",
                               possible=("0 m", "20 m"), usual=("0.1 m", "1 m"), hint="At the maximum flow")


class HpDuty(Section):
    """Arguments of `hp_pump`."""

    flow: M3PerS = field("flow", ..., title="Flow of one pump", symbol="Q", hint="The maximum", **_FLOW)
    pressure_rise: DifferencePa = field(
        "pressure difference", ..., title="Pressure rise of the pump", symbol="Delta_p", possible=("1 bar", "150 bar"),
        usual=("30 bar", "75 bar"), hint="Discharge less suction, in the hardest case")


class RecoveryDuty(Section):
    """Arguments of `energy_recovery`."""

    permeate_flow: M3PerS = field("flow", ..., title="Permeate flow", symbol="Q_p", hint="Of one train", **_FLOW)
    recovery: Fraction = field("fraction", ..., title="RO recovery", symbol="Y", possible=("5 %", "85 %"),
                               usual=("30 %", "50 %"), hint="Permeate over RO feed, by volume")
    feed_pressure: GaugePa = field("gauge pressure", ..., title="RO feed pressure", symbol="p_f",
                                   hint="At the membranes", **_HIGH)
    concentrate_pressure: GaugePa = field("gauge pressure", ..., title="Concentrate pressure at vessel outlet",
                                          symbol="p_c",
                                          hint="Feed pressure less the drop of the vessels", **_HIGH)
    suction_pressure: GaugePa = field("gauge pressure", "2 barg", title="Suction pressure", symbol="p_s",
                                      possible=("0 barg", "20 barg"), usual=("1.5 barg", "5 barg"),
                                      hint="At the HP pump and the ERD")
    outfall_rise: Head = field("head", "0 m", title="Rise to the outfall", symbol="z", possible=("-30 m", "100 m"),
                               usual=("0 m", "15 m"), hint="Outfall above the exhaust of the ERD")
    outfall_loss: Head = field("head", "1 m", title="Head loss to the outfall", symbol="h_f", possible=("0 m", "100 m"),
                               usual=("0.5 m", "10 m"), hint="Pipe from the ERD to the sea")
    pump_efficiency: Fraction = field("fraction", "85 %", title="HP pump efficiency", symbol="eta_p",
                                      possible=("20 %", "95 %"), usual=("75 %", "90 %"), hint="At this duty")
    booster_efficiency: Fraction = field("fraction", "80 %", title="Booster pump efficiency", symbol="eta_b",
                                         possible=("20 %", "95 %"), usual=("70 %", "88 %"), hint="At this duty")


@calculation("Pump", own={"pump": PumpDuty, PIPE: DeliveryPipe}, omits=("present", "standby_count", "stop_time"),
             keys=("feed_pump.npsh_required", "feed_pump.npsh_ratio", "feed_pump.npsh_margin",
                   "elevation=feed_pump.elevation", "site.altitude", "electric.motor_list", "electric.motor_class",
                   *TEMPERATURE),
             shows=("pump.head", "pump.static_lift", "pump.friction_head", "pump.npsh_available", "pump.efficiency",
                    "pump.hydraulic_power", "pump.shaft_power", "pump.motor", "pump.electric_power"))
def pump(inp: Inputs) -> None:
    """Pump: total dynamic head, NPSH available, hydraulic and shaft power, motor.

    Lift, pipe, equipment and outlet pressure line by line; the efficiency is what makers reach at this flow unless it
    is given; the next motor of the list above shaft power and margin. NPSH from an open tank at its lowest level.
    """
    at, flow = waters(inp).at["design"], inp.number("pump.total_flow")
    pipe = pipes.size_pipe(PIPE, inp, flow)
    run = pipes.pipe_head_loss(PIPE, pipe, flow, at.fluid)
    equipment = pressure_head.at("pump.equipment_head", pressure_rise=inp.number("pump.equipment_drop"),
                                 density=at.density, title="Head loss across equipment")
    friction = sum_of_heads.at("pump.friction_head", head=run.head, other_head=equipment,
                               title="Head loss across pipe and equipment", symbol="h_f")
    transfer_pump("pump", inp, flow, at.density, friction)
    check_npsh("pump", level=inp.number("pump.tank_low_level"), pump_elevation=inp.number("feed_pump.elevation"),
               friction_head=inp.number("pump.suction_loss"), density=at.density,
               ambient_pressure=site_atmosphere(inp.number("site.altitude")), vapour_pressure=at.vapour_pressure,
               **{name: inp.number(f"feed_pump.{name}") for name in ("npsh_required", "npsh_ratio", "npsh_margin")})


@calculation("HP pump", own={"hp_pump": HpDuty},
             keys=("hp_pump.pump_class", "hp_pump.efficiency", "hp_pump.rotation", "hp_pump.stages",
                   "hp_pump.motor_margin", "hp_pump.motor", "hp_pump.drive", "hp_pump.drive_efficiency",
                   "hp_pump.shutoff_ratio", "electric.motor_list", "electric.motor_class", "electric.frequency",
                   *TEMPERATURE),
             shows=("hp_pump.head", "hp_pump.stages", "hp_pump.specific_speed", "hp_pump.efficiency",
                    "hp_pump.hydraulic_power", "hp_pump.shaft_power", "hp_pump.motor", "hp_pump.electric_power"))
def hp_pump(inp: Inputs) -> None:
    """High-pressure pump: head, stages, efficiency, shaft power, motor, electrical power.

    On its duty point; efficiency by kind, size and specific speed unless it is given. Other kinds of pump are compared
    at the same duty. High-pressure water cuts: isolate, drain and prove zero pressure before opening anything.
    """
    flow = inp.number("hp_pump.flow")
    made, _ = size_hp_pump(inp, waters(inp), flow, inp.number("hp_pump.pressure_rise"), None)
    compare_kinds("hp_pump", inp.choice("hp_pump.pump_class"), made, flow)


@calculation("Energy recovery", own={"train": RecoveryDuty},
             keys=("energy_recovery.device", "energy_recovery.efficiency", "energy_recovery.leakage",
                   "energy_recovery.high_pressure_drop", "energy_recovery.low_pressure_drop",
                   "energy_recovery.back_pressure", "energy_recovery.unit_flow", "piping_loss=booster.piping_loss",
                   "electric.motor_list", "electric.motor_class", *TEMPERATURE),
             shows=("train.feed_flow", "train.concentrate_flow",
                    *(f"{id}@{kind.key}" for kind in er.kinds() for id in (
                        "energy_recovery.recovered_power", "energy_recovery.boost", "hp_pump.shaft_power",
                        "booster.shaft_power", "energy.membrane_specific")), "energy.membrane_specific"))
def energy_recovery(inp: Inputs) -> None:
    """Energy recovery devices on one duty: none, turbines, turbocharger, isobaric; power and specific energy of each.

    Each device gets the same flows and pressures; keys of ``energy_recovery`` that are given describe the device that
    is named, the others are as their table says. Values of a device end in its name, ``hp_pump.shaft_power@pelton``.
    What mixing in an isobaric ERD does to the feed pressure is not in it: size a plant for that.
    """
    at = waters(inp).at["design"]
    permeate = inp.number("train.permeate_flow")
    feed = feed_for.at("train.feed_flow", permeate_flow=permeate, recovery=inp.number("train.recovery"))
    reject = difference_of_flows.at("train.concentrate_flow", flow=feed, second_flow=permeate,
                                    title="Concentrate flow", symbol="Q_c")
    line = er.DischargeLine(inp.number("train.outfall_rise"), inp.number("train.outfall_loss"), at.density)
    told = inp.choice("energy_recovery.device")
    energies = {}
    limit("motor-load")  # one line for all devices, or each machine of a device would write it again
    for kind in er.kinds():
        with scope(corner=kind.key):
            chosen = assumed("energy_recovery.device", kind.key, None, title="Energy recovery device",
                             source="definition", options=[k.key for k in er.kinds()])
            of = er.device(_of_kind(inp, kind, chosen, told))
            out = er.exhaust(of, line)
            pressure = inp.number("train.concentrate_pressure")
            duty = er.Duty(feed, permeate, reject, inp.number("train.feed_pressure"), pressure,
                           inp.number("train.suction_pressure"), out.pressure, inp.number("booster.piping_loss"))
            energies[kind.key] = specific_energy.at(
                "energy.membrane_specific", electric_power=_power(inp, at.density, of, duty), product_flow=permeate,
                title=f"Specific energy of the membrane section, {kind.label}")
    govern("energy.membrane_specific", energies, "smallest", title="Specific energy, RO section, minimum")


def _power(inp: Inputs, density: Figure, of: er.Device, duty: er.Duty) -> Figure:
    """Electrical power of HP pump and booster with a device, W; inside the scope of the device."""
    # sized on this one duty, it runs at its best-efficiency point
    found = er.recover(of, duty, None)
    machine: Pump = size_pump("hp_pump", flow=found.hp_flow, density=density, electric=electric(inp),
                              pressure_rise=found.hp_rise, efficiency=inp.number("train.pump_efficiency"),
                              recovered=found.recovered)
    if found.booster_flow is None or found.booster_pressure_rise is None:
        return machine.electric_power
    booster = size_pump("booster", flow=found.booster_flow, density=density, electric=electric(inp),
                        pressure_rise=found.booster_pressure_rise, efficiency=inp.number("train.booster_efficiency"))
    return sum_of_powers.at("energy.section_power", electric_power=machine.electric_power,
                            other_power=booster.electric_power, title="Electrical power of the membrane section",
                            symbol="P_m")


def _of_kind(inp: Inputs, kind: er.DeviceKind, chosen: Choice, told: Choice) -> Inputs:
    """Inputs as they are for one kind: what is given of a device describes the one that is named."""
    own = {f"energy_recovery.{name}" for each in er.kinds() for name in (*each.columns, *each.by_size, "sheet")}

    def value(id: str) -> Any:
        if id == "energy_recovery.device":
            return chosen
        return None if id in own and kind.key != told else inp(id)

    return Inputs(value, inp.names)
