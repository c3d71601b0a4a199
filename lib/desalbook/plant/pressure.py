"""The high-pressure side at every corner: recovery device, pump, booster, and the pump of a wheel's reject."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from desalbook.balances import flow_per_unit
from desalbook.hydraulics import energy_recovery as er
from desalbook.hydraulics import pipes
from desalbook.hydraulics.energy_recovery.balance import pressure_rise
from desalbook.hydraulics.head import pressure_head, static_lift
from desalbook.hydraulics.pump import Pump, run_pump, size_pump
from desalbook.hydraulics.pump_curve import Curve, Operating, operate, speed_at
from desalbook.plant.array import CORNERS, Array
from desalbook.plant.boosters import boosters
from desalbook.plant.hp_pump import hp_checks, hp_pump
from desalbook.plant.pretreat import Pretreated, electric
from desalbook.plant.reject_water import reject_fluid
from desalbook.plant.waters import Waters
from desalbook.trail import Figure, assumed, govern, relation, scope
from desalbook.trail.corner import Corner
from desalbook.units import Count, ElectricW, W

__all__ = ["Pressure", "of_all", "pressure"]


@dataclass(frozen=True)
class Pressure:
    """Machines of the high-pressure side, and their power by corner."""

    by_corner: dict[str, er.Recovery]
    hp_pump: Pump
    booster: Pump | None
    power: dict[str, dict[str, Figure]]
    curve: Curve | None = None
    operating: dict[str, Operating] = field(default_factory=dict)
    more: dict[str, Pump] = field(default_factory=dict)
    best: er.BestPoint | None = None


@relation("Power of machines on duty", symbol="P_e", unit="W", source="definition")
def of_all(electric_power: ElectricW, duty_count: Count) -> ElectricW:
    """One machine times those that run."""
    return electric_power * duty_count


@relation("Power given to one shaft", symbol="P_1", unit="W", source="definition")
def one_power(shaft_power: W, duty_count: Count) -> W:
    """Shared evenly."""
    return shaft_power / duty_count


def pressure(inp, waters: Waters, of: er.Device, a: Array, pre: Pretreated, trains: Figure) -> Pressure:
    """Size pump, device and booster on their governing corners and run them at all."""
    with scope("train", count=trains):
        most = govern("membrane.concentrate_flow", {c: r["concentrate_flow"] for c, r in a.by_corner.items()},
                      "largest", title="Reject flow")
        pipe = pipes.size_pipe("piping.runs[reject]", inp, most)
        lift = static_lift.at("energy_recovery.outfall_rise", elevation_to=inp("energy_recovery.outfall_elevation"),
                              elevation_from=inp("energy_recovery.elevation"))
        exhausts = {c: _exhaust(waters, of, a, c, pipe, lift) for c in CORNERS}
        best = of.kind.size(of, {c: (r["concentrate_flow"], r["concentrate_pressure"], exhausts[c].pressure)
                                 for c, r in a.by_corner.items()})
        duties = {c: _duty(inp, a, pre, c, exhausts[c]) for c in CORNERS}
        by_corner: dict[str, er.Recovery] = {}
        for c, duty in duties.items():
            with scope(corner=c):
                by_corner[c] = er.run(of, duty, best)
        _boost(of, by_corner, pre)
        govern("energy_recovery.exhaust_pressure", {c: r.exhaust_pressure for c, r in by_corner.items()}, "largest",
               title="Pressure at the exhaust of the device")
        govern("hp_pump.discharge_pressure", {c: r.hp_discharge for c, r in by_corner.items()}, "largest",
               title="Discharge pressure of the high-pressure pump")
        flow = govern("hp_pump.flow", {c: r.hp_flow for c, r in by_corner.items()}, "largest",
                      title="Flow of the high-pressure pumps of a train")
        rise = govern("hp_pump.pressure_rise", {c: r.hp_rise for c, r in by_corner.items()}, "largest",
                      title="Pressure rise of the high-pressure pump")
        n = inp("hp_pump.duty_count")
        each = flow_per_unit.at("hp_pump.flow_each", flow=flow, units=n)
        speeds: dict[str, tuple[Figure, Figure, Figure]] = {}

        def turn(curve: Curve | None) -> None:
            for c, r in by_corner.items():
                with scope(corner=c, because=[inp("hp_pump.pump_class")]):
                    q1 = flow_per_unit.at("hp_pump.flow_each", flow=r.hp_flow, units=n)
                    head = pressure_head.at("hp_pump.head", pressure_rise=r.hp_rise, title="Head asked of the pump",
                                            density=waters.at[c.temperature].density)
                    speeds[c] = q1, head, speed_at("hp_pump", each, curve, inp("hp_pump.drive"), flow=q1, head=head)

        def given_back(curve: Curve | None) -> Figure:
            turn(curve)
            for c, r in by_corner.items():
                with scope(corner=c):
                    by_corner[c] = er.shaft_power_with_recovery(of, duties[c], r, best, speeds[c][2])
            least = govern("energy_recovery.recovered_power", {c: r.recovered for c, r in by_corner.items()
                                                               if r.recovered is not None}, "smallest",
                           title="Shaft power given back, least")
            return one_power.at("hp_pump.recovered_each", shaft_power=least, duty_count=n)

        hp, curve = hp_pump(inp, waters, each, rise, given_back if of.kind.on_shaft else None)
        if not speeds:
            turn(curve)
        for c, r in by_corner.items():
            with scope(corner=c):
                by_corner[c] = er.with_balance(of, duties[c], r)
        boost = None
        if of.kind.needs_booster:
            with scope(because=[of.choice]):
                q = govern("booster.flow", {c: r.booster_flow for c, r in by_corner.items()}, "largest",
                           title="Flow of the booster")
                dp = govern("booster.pressure_rise", {c: r.booster_pressure_rise for c, r in by_corner.items()},
                            "largest", title="Pressure rise of the booster")
                args = _booster(inp)
                boost = size_pump("booster", flow=q, density=waters.at["cold"].density, electric=electric(inp),
                                  pressure_rise=dp, **args)
        power: dict[str, dict[str, Figure]] = {}
        runs: dict[str, Operating] = {}
        with scope(because=[of.choice]):
            none = assumed("booster.power_absent", 0.0, "power.electric", title="Booster",
                           text="not in this plant", source="definition") if boost is None else None
        for c, r in by_corner.items():
            with scope(corner=c, because=[inp("hp_pump.pump_class")]):
                back = one_power.at("hp_pump.recovered_each", shaft_power=r.recovered,
                                    duty_count=n) if r.recovered is not None else None
                q1, head, speed = speeds[c]
                runs[c] = operate("hp_pump", hp, curve, inp("hp_pump.drive"), inp("hp_pump.speed_limit"), flow=q1,
                                  pressure_rise=r.hp_rise, head=head, speed=speed, recovered=back, corner=c,
                                  density=waters.at[c.temperature].density)
                p_hp = of_all.at("hp_pump.power_all", electric_power=runs[c].electric_power, duty_count=n)
                p_b = none if boost is None else run_pump(
                    "booster", boost, flow=r.booster_flow, pressure_rise=r.booster_pressure_rise).electric_power
                power[c] = {"hp_power": p_hp, "booster_power": p_b}
        lifted = _reject_pump(inp, of, a, by_corner, exhausts)
        for c in power:
            power[c]["reject_power"] = lifted[c]
        more = boosters(inp, waters, a, power, electric(inp))
        hp_checks(inp, waters, hp, curve, runs)
    return Pressure(by_corner, hp, boost, power, curve, runs, more, best)


def _boost(of: er.Device, by_corner: dict[str, er.Recovery], pre: Pretreated) -> None:
    """What the device adds to the pressure of the feed, or of the part of the feed that passes it."""
    title = "Pressure the recovery device adds"
    with scope(because=[of.choice]):
        boosts = {c: r.boost for c, r in by_corner.items() if r.boost is not None}
        for c, r in by_corner.items():
            if r.feed_out is not None:
                with scope(corner=c):
                    boosts[c] = pressure_rise.at("energy_recovery.boost", discharge_pressure=r.feed_out,
                                           suction_pressure=pre.suction.pressure, title=title)
        if boosts:
            govern("energy_recovery.boost", boosts, "largest", title=title)
        else:
            assumed("energy_recovery.boost", 0.0, "pressure difference", title=title, text="not in this plant",
                    source="definition", place="this device gives its energy to the shaft, or there is none")


def _booster(inp) -> dict[str, Any]:
    drive = inp("booster.drive")
    return {"efficiency": inp("booster.efficiency"), "pump_class": inp("booster.pump_class"),
            "motor_margin": inp("booster.motor_margin"), "motor": inp("booster.motor"),
            "because": [drive, inp("electric.frequency")],
            "drive_efficiency": inp("booster.drive_efficiency") if drive == "yes" else None}


def _exhaust(waters: Waters, of: er.Device, a: Array, corner: Corner, pipe: Any, lift: Figure) -> er.Exhaust:
    r, fluid = a.by_corner[corner], reject_fluid(waters, a, corner)
    with scope(corner=corner):
        run = pipes.pipe_head_loss("piping.runs[reject]", pipe, r["concentrate_flow"], fluid)
        out = er.exhaust(of, er.DischargeLine(lift, run.head, fluid.density))
        er.judge_exhaust(of, out)
        return out


def _duty(inp, a: Array, pre: Pretreated, corner: Corner, out: er.Exhaust) -> er.Duty:
    r = a.by_corner[corner]
    return er.Duty(feed_flow=a.mixed_flow[corner],
                   permeate_flow=r.figures.get("first_permeate_flow", r["permeate_flow"]),
                   reject_flow=r["concentrate_flow"], feed_pressure=r["feed_pressure"],
                   concentrate_pressure=r["concentrate_pressure"], suction_pressure=pre.suction.pressure,
                   exhaust_pressure=out.pressure, piping_loss=inp("booster.piping_loss"))


def _reject_pump(inp, of: er.Device, a: Array, by_corner: dict[str, er.Recovery],
                 exhausts: dict[Corner, er.Exhaust]) -> dict[str, Figure]:
    """Electric power of the pump that lifts a wheel's reject, by corner; nothing where it runs off."""
    with scope(because=[of.choice]):
        wanted = {c: out.line_pressure for c, out in exhausts.items() if out.line_pressure is not None}
        most = govern("energy_recovery.reject_line_pressure", wanted, "largest",
                      title="Pressure the reject line asks for") if wanted else None
        if most is None or most.value <= 0:
            with scope(because=[most] if most is not None else []):
                none: Figure = assumed("reject_pump.power_absent", 0.0, "power.electric", title="Reject pump",
                                       text="not in this plant", source="definition")
            absent: dict[str, Figure] = dict.fromkeys(by_corner, none)
            return absent
        rises = {}
        for c, r in by_corner.items():
            with scope(corner=c):
                rises[c] = pressure_rise.at("reject_pump.pressure_rise", discharge_pressure=wanted[c],
                                      suction_pressure=r.exhaust_pressure, title="Pressure rise of the reject pump")
        flows = {c: a.by_corner[c]["concentrate_flow"] for c in by_corner}
        pump = size_pump(
            "reject_pump", flow=govern("reject_pump.flow", flows, "largest", title="Flow of the reject pump"),
            density=a.by_corner["cold-aged"].figures["concentrate_density"], electric=electric(inp),
            pressure_rise=govern("reject_pump.pressure_rise", rises, "largest",
                                 title="Pressure rise of the reject pump"),
            efficiency=inp("energy_recovery.reject_pump_efficiency"))
        found = {}
        for c in by_corner:
            with scope(corner=c):
                found[c] = run_pump("reject_pump", pump, flow=flows[c], pressure_rise=rises[c]).electric_power
    return found
