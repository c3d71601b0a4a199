"""The pressure train in one case: concentrate line, energy recovery device, HP pump, booster and all other pumps.

The same functions run recorded, in each case of the sized plant, and in the values context, where each number of a
case is an array over cases; `rate` holds the equipment and calls `run_train`. Sizing (`pressure`) calls the steps in
between, for a unit is sized on what the step before it asks for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from desalbook.balances import flow_per_unit, sum_of_powers
from desalbook.hydraulics import energy_recovery as er
from desalbook.hydraulics import pipes
from desalbook.hydraulics.energy_recovery.balance import pressure_rise
from desalbook.hydraulics.head import pressure_head
from desalbook.hydraulics.pump_curves import Curve, Operating, operate, speed_at
from desalbook.hydraulics.pumps import Pump, run_pump
from desalbook.plant.joints import boosters_of
from desalbook.trail import Choice, Figure, relation, scope
from desalbook.units import Count, DifferencePa, ElectricW, M3PerS, W

__all__ = ["SECOND_PASS_PUMP", "Asked", "Case", "HpDuty", "HpSettings", "Machines", "RejectLine", "StagePumpDuty",
           "TrainRun", "device_duty", "hp_duty", "power_per_unit", "reject_pump_rise", "run_exhaust", "run_machines",
           "run_train", "stage_pump_rises", "throttling_loss", "total_power"]

SECOND_PASS_PUMP = "second_pass_pump"


@relation("Power of equipment on duty", symbol="P_e", unit="W", source="definition")
def total_power(electric_power: ElectricW, duty_count: Count) -> ElectricW:
    """Electric power of like pumps on duty: one times their number.

    Assumes that all run at the same load.
    """
    return electric_power * duty_count


@relation("Recovered power to one shaft", symbol="P_1", unit="W", source="definition")
def power_per_unit(shaft_power: W, duty_count: Count) -> W:
    """Shaft power given back to one of several like pumps.

    Assumes that all take the same share.
    """
    return shaft_power / duty_count


@relation("Power loss in the throttle", symbol="P_th", unit="W", source="definition")
def throttling_loss(flow: M3PerS, pressure_rise: DifferencePa, needed_rise: DifferencePa) -> W:
    """Hydraulic power burnt in a control valve: flow times the rise beyond what the membranes ask for.

    Holds for a valve downstream of the pump; negative where the pump does not reach the pressure.
    """
    return flow * (pressure_rise - needed_rise)


@dataclass(frozen=True)
class RejectLine:
    """The line from the device to the outfall: its pipe, and the rise (m)."""

    pipe: pipes.Pipe
    lift: Figure


Number = Any
"""A Figure in one case; over many cases, in the values context, an array."""


@dataclass(frozen=True)
class StagePumpDuty:
    """Flow (m3/s) through a pump between stages or before a second pass, and its rise: fixed, or up to a discharge.

    `density` is that of its water, kg/m3, where sizing asks for it.
    """

    flow: Number
    rise: Figure | None = None
    discharge: Number = None
    suction: Figure | None = None
    density: Figure | None = None


@dataclass(frozen=True)
class Case:
    """What the membranes of one train ask for, and the waters; over many cases each is an array.

    Parameters
    ----------
    feed_flow, permeate_flow, reject_flow : Figure
        Of one train (first pass), m3/s.
    feed_pressure, concentrate_pressure, suction_pressure : Figure
        Gauge, Pa.
    density : Figure
        Of the raw water, kg/m3.
    reject : Fluid
    stage_pumps : mapping
        Duties of pumps between stages and before a second pass, by the prefix of their lines.
    """

    feed_flow: Figure
    permeate_flow: Figure
    reject_flow: Figure
    feed_pressure: Figure
    concentrate_pressure: Figure
    suction_pressure: Figure
    density: Figure
    reject: pipes.Fluid
    stage_pumps: Mapping[str, StagePumpDuty] = field(default_factory=dict)


@dataclass(frozen=True)
class HpSettings:
    """How the HP pumps of a train run: number on duty, kind, speed drive or not, flow of one at its duty (m3/s)."""

    duty_count: Figure
    pump_class: Choice
    drive: Choice
    speed_limit: Figure
    rated_flow: Figure


@dataclass(frozen=True)
class HpDuty:
    """Asked of one HP pump: flow (m3/s), head (m), and the speed over full speed that control sets."""

    flow: Figure
    head: Figure
    speed: Figure


@dataclass(frozen=True)
class Machines:
    """The equipment of a sized pressure train; what it does not have is None, and its power is a zero with a reason."""

    device: er.Device
    line: RejectLine
    hp: HpSettings
    hp_pump: Pump
    piping_loss: Figure
    best: er.BestPoint | None = None
    curve: Curve | None = None
    booster: Pump | None = None
    concentrate_pump: Pump | None = None
    stage_pumps: Mapping[str, Pump] = field(default_factory=dict)
    no_booster: Figure | None = None
    no_reject_pump: Figure | None = None
    no_stage_pump: Figure | None = None
    because: tuple[Any, ...] = ()

    @property
    def titles(self) -> dict[str, str]:
        """Titles of the pumps that a train has, by key."""
        found = {"hp_pump": "HP pump"}
        if self.booster is not None:
            found["booster"] = "Booster"
        if self.concentrate_pump is not None:
            found["concentrate_pump"] = "Concentrate pump"
        for name in self.stage_pumps:
            found[name] = name.replace("_", " ").replace("[", ", ").rstrip("]").capitalize()
        return found


@dataclass(frozen=True)
class Asked:
    """What one case asks of the equipment."""

    exhaust: er.Exhaust
    recovery: er.Recovery
    hp: HpDuty
    reject_rise: Figure | None = None
    stage_rises: Mapping[str, Figure] = field(default_factory=dict)


@dataclass(frozen=True)
class TrainRun:
    """The pressure train in one case: what the device does, the HP pump, and powers of a train in W.

    ``machines`` holds the electrical power of one unit by its key, W.
    """

    recovery: er.Recovery
    hp: Operating
    hp_power: Figure
    booster_power: Figure
    concentrate_power: Figure
    section_power: Figure
    machines: dict[str, Figure]


def run_exhaust(device: er.Device, line: RejectLine, case: Case) -> er.Exhaust:
    """Head loss in the line to the outfall, and the pressure at the exhaust of the device."""
    run = pipes.pipe_head_loss("piping.runs[concentrate]", line.pipe,
                               device.kind.spent_flow(device, case.reject_flow, "piping.runs[concentrate].flow"),
                               case.reject)
    return er.exhaust(device, er.DischargeLine(line.lift, run.head, case.reject.density))


def device_duty(case: Case, exhaust: er.Exhaust, piping_loss: Figure) -> er.Duty:
    """Duty of the energy recovery device."""
    return er.Duty(case.feed_flow, case.permeate_flow, case.reject_flow, case.feed_pressure,
                   case.concentrate_pressure, case.suction_pressure, exhaust.pressure, piping_loss)


def hp_duty(hp: HpSettings, curve: Curve | None, case: Case, recovery: er.Recovery) -> HpDuty:
    """Flow and head asked of one HP pump, and its speed."""
    with scope(because=[hp.pump_class]):
        flow = flow_per_unit.at("hp_pump.flow_each", flow=recovery.hp_flow, units=hp.duty_count)
        head = pressure_head.at("hp_pump.head", pressure_rise=recovery.hp_rise, density=case.density,
                                title="Required pump head")
        return HpDuty(flow, head, speed_at("hp_pump", hp.rated_flow, curve, hp.drive, flow=flow, head=head))


def reject_pump_rise(exhaust: er.Exhaust) -> Figure | None:
    """Pressure rise of the pump that lifts the concentrate of a device with a free exhaust; None for all others."""
    if exhaust.line_pressure is None:
        return None
    return pressure_rise.at("concentrate_pump.pressure_rise", discharge_pressure=exhaust.line_pressure,
                            suction_pressure=exhaust.pressure, title="Pressure rise of the concentrate pump")


def stage_pump_rises(case: Case) -> dict[str, Figure]:
    """Pressure rises of the pumps between stages and before a second pass, by the prefix of their lines."""
    found = {}
    for name, duty in case.stage_pumps.items():
        found[name] = duty.rise if duty.rise is not None else pressure_rise.at(
            f"{name}.pressure_rise", suction_pressure=duty.suction, discharge_pressure=duty.discharge)
    return found


def run_machines(m: Machines, case: Case, asked: Asked) -> TrainRun:
    """All equipment in one case: operating point of the HP pump, and the power of every one."""
    recovery, n = asked.recovery, m.hp.duty_count
    with scope(because=[m.hp.pump_class]):
        back = None if recovery.recovered is None else power_per_unit.at(
            "hp_pump.recovered_each", shaft_power=recovery.recovered, duty_count=n)
        hp = operate("hp_pump", m.hp_pump, m.curve, m.hp.drive, m.hp.speed_limit, flow=asked.hp.flow,
                     pressure_rise=recovery.hp_rise, head=asked.hp.head, speed=asked.hp.speed, recovered=back,
                     density=case.density)
        hp_power = total_power.at("hp_pump.power_all", electric_power=hp.electric_power, duty_count=n)
        booster = m.no_booster if m.booster is None else run_pump(
            "booster", m.booster, flow=_there(recovery.booster_flow),
            pressure_rise=_there(recovery.booster_pressure_rise)).electric_power
    with scope(because=[m.device.choice]):
        lifted = m.no_reject_pump if m.concentrate_pump is None else run_pump(
            "concentrate_pump", m.concentrate_pump, flow=case.reject_flow,
            pressure_rise=_there(asked.reject_rise)).electric_power
    each = {"hp_pump": hp.electric_power, "booster": _there(booster), "concentrate_pump": _there(lifted)}
    if m.stage_pumps:
        booster = _with_stage_pumps(m, case, asked, _there(booster), each)
    section = sum_of_powers.at("energy.section_power", electric_power=hp_power, other_power=booster,
                               title="Electric power of the membrane section", symbol="P_m")
    return TrainRun(recovery, hp, hp_power, _there(booster), _there(lifted), section, each)


def _with_stage_pumps(m: Machines, case: Case, asked: Asked, booster: Figure, each: dict[str, Figure]) -> Figure:
    """Power of the booster and of the pumps between stages and before a second pass; enters each of them."""
    none = _there(m.no_stage_pump)
    stage, second = none, none
    with scope(because=m.because):
        used = {name: run_pump(name, pump, flow=case.stage_pumps[name].flow,
                               pressure_rise=asked.stage_rises[name]).electric_power
                for name, pump in m.stage_pumps.items()}
        each.update(used)
        for name, power in used.items():
            if name == SECOND_PASS_PUMP:
                second = power
            else:
                stage = sum_of_powers.at(f"energy.{name.replace('[', '_to[')}", electric_power=stage,
                                         other_power=power, title="Pumps between stages")
        return boosters_of.at("energy.boosters", booster_power=booster, stage_power=stage, second_power=second)


def _there(figure: Figure | None) -> Figure:
    assert figure is not None, "sizing selected this unit, so its case has this number"
    return figure


def run_train(m: Machines, case: Case) -> TrainRun:
    """The sized pressure train in one case, or at many in the values context."""
    exhaust = run_exhaust(m.device, m.line, case)
    duty = device_duty(case, exhaust, m.piping_loss)
    recovery = er.run(m.device, duty, m.best)
    hp = hp_duty(m.hp, m.curve, case, recovery)
    recovery = er.shaft_power_with_recovery(m.device, duty, recovery, m.best, hp.speed)
    rise = reject_pump_rise(exhaust) if m.concentrate_pump is not None else None
    return run_machines(m, case, Asked(exhaust, recovery, hp, rise, stage_pump_rises(case)))
