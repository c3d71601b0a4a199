"""The high-pressure side sized: recovery device, HP pump, booster, and the pump of a free concentrate, on all cases.

Each unit is sized on its governing case and then run at all of them by the functions of `pressure_train`.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass
from typing import Any

from desalbook.balances import flow_per_unit
from desalbook.hydraulics import energy_recovery as er
from desalbook.hydraulics import pipes
from desalbook.hydraulics.energy_recovery.balance import pressure_rise
from desalbook.hydraulics.head import static_lift
from desalbook.hydraulics.motors import largest_motor
from desalbook.hydraulics.pump_curves import Curve, Operating, judge_reach
from desalbook.hydraulics.pumps import Pump, size_pump
from desalbook.plant import pressure_train as pt
from desalbook.plant.array import CORNERS, Array
from desalbook.plant.hp_pump import hp_checks, hp_pump
from desalbook.plant.pretreat import Pretreated, electric
from desalbook.plant.reject_water import reject_fluid
from desalbook.plant.stage_pumps import size_stage_pumps, stage_pump_duties
from desalbook.plant.waters import Waters
from desalbook.problems import Infeasible
from desalbook.trail import Figure, assumed, govern, picked, scope, values
from desalbook.trail.corner import Corner
from desalbook.trail.figure import figure_of
from desalbook.trail.inputs import Inputs
from desalbook.units.kinds import KINDS

__all__ = ["Pressure", "pressure"]


@dataclass(frozen=True)
class Pressure:
    """Equipment of the high-pressure side, how it runs in each case, and what governs over the cases.

    Parameters
    ----------
    machines, runs
    flow, concentrate_flow : Figure
        Of the HP pumps of a train, and its concentrate, m3/s.
    discharge_pressure, exhaust_pressure : Figure
        Downstream of the HP pump and at the exhaust of the energy recovery device, gauge, Pa.
    boost : Figure
        Pressure the device adds to the feed, Pa.
    """

    machines: pt.Machines
    runs: dict[Corner, pt.TrainRun]
    flow: Figure
    concentrate_flow: Figure
    spent_flow: Figure
    discharge_pressure: Figure
    exhaust_pressure: Figure
    boost: Figure

    @property
    def by_corner(self) -> dict[Corner, er.Recovery]:
        """What the energy recovery device does."""
        return {c: run.recovery for c, run in self.runs.items()}

    @property
    def operating(self) -> dict[Corner, Operating]:
        """Operating points of one HP pump."""
        return {c: run.hp for c, run in self.runs.items()}

    @property
    def hp_pump(self) -> Pump:
        """One HP pump."""
        return self.machines.hp_pump

    @property
    def curve(self) -> Curve | None:
        """Curve of the HP pump; None for a displacement pump."""
        return self.machines.curve

    @property
    def booster(self) -> Pump | None:
        """Booster of the high-pressure loop, where the device needs one."""
        return self.machines.booster


def pressure(inp: Inputs, waters: Waters, of: er.Device, a: Array, pre: Pretreated, trains: Figure) -> Pressure:
    """Size pump, device and booster on their governing cases and run them at all."""
    with scope("train", count=trains):
        most = govern("membrane.concentrate_flow", {c: r["concentrate_flow"] for c, r in a.by_corner.items()},
                      "largest", title="Concentrate flow")
        spent = of.kind.spent_flow(of, most, "energy_recovery.spent_flow")
        line = pt.RejectLine(pipes.size_pipe("piping.runs[concentrate]", inp, spent), static_lift.at(
            "energy_recovery.outfall_rise", elevation_to=inp("energy_recovery.outfall_elevation"),
            elevation_from=inp("energy_recovery.elevation")))
        cases = {c: _case(inp, waters, a, pre, c) for c in CORNERS}
        sizing = _Sizing(inp, of, cases, line)
        best = sizing.device()
        boost = _boost(of, sizing.recoveries, pre)
        hp, pump, curve = sizing.high_pressure_pump(waters)
        booster = sizing.booster(waters)
        with scope(because=[of.choice]):
            no_booster: Figure | None = assumed(
                "booster.power_absent", 0.0, "power.electric", title="Booster", text="not in this plant",
                source="definition") if booster is None else None
        concentrate_pump, no_reject_pump, reject_rises = sizing.concentrate_pump(a)
        stage_rises = {}
        for c, case in cases.items():
            with scope(corner=c):
                stage_rises[c] = pt.stage_pump_rises(case)
        stage_pumps, no_stage_pump = size_stage_pumps(a.plan, cases, stage_rises, waters, electric(inp))
        machines = pt.Machines(
            of, line, hp, pump, sizing.piping_loss, best, curve, booster, concentrate_pump, stage_pumps, no_booster,
            no_reject_pump, no_stage_pump, tuple(a.plan.because) if a.plan.joined else ())
        runs: dict[Corner, pt.TrainRun] = {}
        for c, case in cases.items():
            with scope(corner=c):
                asked = pt.Asked(sizing.exhausts[c], sizing.recoveries[c], sizing.hp_duties[c], reject_rises.get(c),
                                 stage_rises[c])
                runs[c] = pt.run_machines(machines, case, asked)
                with scope(because=[hp.pump_class, hp.drive]):
                    judge_reach("hp_pump", pump, curve, hp.speed_limit, runs[c].hp, c)
        made = Pressure(machines, runs, sizing.flow, most, spent, sizing.discharge, sizing.exhaust, boost)
        hp_checks(inp, waters, pump, curve, made.operating)
    return made


def _case(inp: Inputs, waters: Waters, a: Array, pre: Pretreated, corner: Corner) -> pt.Case:
    r = a.by_corner[corner]
    return pt.Case(
        feed_flow=a.mixed_flow[corner], permeate_flow=r.figures.get("first_permeate_flow", r["permeate_flow"]),
        reject_flow=r["concentrate_flow"], feed_pressure=r["feed_pressure"],
        concentrate_pressure=r["concentrate_pressure"], suction_pressure=pre.suction.pressure,
        density=waters.at[corner.temperature].density, reject=reject_fluid(waters, a, corner),
        stage_pumps=stage_pump_duties(a, corner))


_SIDE_BY_SIDE = range(1, 9)
"""HP pumps of a train that are tried."""


class _Sizing:
    """Equipment sized one after another, each on what the steps before it ask for in all cases."""

    def __init__(self, inp: Inputs, of: er.Device, cases: dict[Corner, pt.Case], line: pt.RejectLine):
        self.inp, self.of, self.cases = inp, of, cases
        self.piping_loss: Figure = inp("booster.piping_loss")
        self.exhausts: dict[Corner, er.Exhaust] = {}
        for c, case in cases.items():
            with scope(corner=c):
                self.exhausts[c] = pt.run_exhaust(of, line, case)
                er.judge_exhaust(of, self.exhausts[c])
        self.duties = {c: pt.device_duty(case, self.exhausts[c], self.piping_loss) for c, case in cases.items()}
        self.recoveries: dict[Corner, er.Recovery] = {}
        self.hp_duties: dict[Corner, pt.HpDuty] = {}

    def device(self) -> er.BestPoint | None:
        """Size the energy recovery device, and what it leaves for the pumps."""
        self.best = self.of.kind.size(self.of, {
            c: (case.reject_flow, case.concentrate_pressure, self.exhausts[c].pressure)
            for c, case in self.cases.items()})
        for c, duty in self.duties.items():
            with scope(corner=c):
                self.recoveries[c] = er.run(self.of, duty, self.best)
        return self.best

    def high_pressure_pump(self, waters: Waters) -> tuple[pt.HpSettings, Pump, Curve | None]:
        """Size one HP pump on the largest flow and rise, with the power that a device on its shaft gives back."""
        inp, left = self.inp, self.recoveries
        self.exhaust = govern("energy_recovery.exhaust_pressure", {c: r.exhaust_pressure for c, r in left.items()},
                              "largest",
               title="Pressure at the exhaust of the ERD")
        self.discharge = govern("hp_pump.discharge_pressure", {c: r.hp_discharge for c, r in left.items()}, "largest",
                                title="HP pump discharge pressure")
        self.flow = flow = govern("hp_pump.flow", {c: r.hp_flow for c, r in left.items()}, "largest",
                                  title="HP pump flow per train")
        rise = govern("hp_pump.pressure_rise", {c: r.hp_rise for c, r in left.items()}, "largest",
                      title="Pressure rise of the HP pump")
        n = inp.optional("hp_pump.duty_count")
        if n is None:
            n = self._pumps(waters, flow, rise)
            inp.settle("hp_pump.duty_count", n)
        pump, hp, curve = self._one_pump(waters, flow, rise, n)
        for c, r in left.items():
            with scope(corner=c):
                left[c] = er.with_balance(self.of, self.duties[c], r)
        return hp, pump, curve

    def _pumps(self, waters: Waters, flow: Figure, rise: Figure) -> Figure:
        """Fewest HP pumps side by side whose motor is in the list; one where none helps, which then says why."""
        largest = largest_motor(electric(self.inp))
        tried: list[dict[str, Any]] = []
        if float(flow) * float(rise) < 0.5 * largest:  # far from the end of the list: no need to try
            tried = [{"key": "1", "value": 1.0, "won": True}]
        for count in (float(n) for n in _SIDE_BY_SIDE if not tried or not tried[-1]["won"]):
            fits = True
            beside = copy.copy(self)
            beside.recoveries, beside.hp_duties = dict(self.recoveries), {}
            n = figure_of(count, "hp_pump.duty_count", KINDS["count"], "n", "Duty HP pumps per train")
            with values():
                try:
                    beside._one_pump(waters, flow, rise, n)
                except Infeasible as refusal:
                    if refusal.where != "hp_pump.motor":
                        raise
                    fits = False
            tried.append({"key": f"{count:g}", "value": count, "won": fits})
        if not tried[-1]["won"]:
            tried[0]["won"] = True
        won = next(x for x in tried if x["won"])
        stated = {k: x for k in ("efficiency", "motor", "motor_margin", "drive_efficiency")
                  if (x := self.inp.optional(f"hp_pump.{k}")) is not None}
        decides = [self.inp("electric.motor_list"), self.inp("hp_pump.pump_class"), self.inp("hp_pump.drive"),
                   self.of.choice]
        with scope(because=decides):
            return picked("hp_pump.duty_count", won["value"], "count", title="Duty HP pumps per train", symbol="n",
                          rule="fewest side by side whose motor is in the list of standard ratings", candidates=tried,
                          inputs={"flow": flow, "rise": rise, **stated},
                          why="one is enough" if won["value"] == 1 else "no standard motor drives fewer")

    def _one_pump(self, waters: Waters, flow: Figure, rise: Figure,
                  n: Figure) -> tuple[Pump, pt.HpSettings, Curve | None]:
        """One of ``n`` pumps side by side."""
        inp, left = self.inp, self.recoveries
        each = flow_per_unit.at("hp_pump.flow_each", flow=flow, units=n)
        hp = pt.HpSettings(n, inp("hp_pump.pump_class"), inp("hp_pump.drive"), inp("hp_pump.speed_limit"), each)

        def shaft_power(curve: Curve | None) -> Figure:
            self._speeds(hp, curve)
            for c, r in left.items():
                with scope(corner=c):
                    left[c] = er.shaft_power_with_recovery(self.of, self.duties[c], r, self.best,
                                                           self.hp_duties[c].speed)
            least = govern("energy_recovery.recovered_power", {c: r.recovered for c, r in left.items()
                                                               if r.recovered is not None}, "smallest",
                           title="Recovered shaft power, minimum")
            return pt.power_per_unit.at("hp_pump.recovered_each", shaft_power=least, duty_count=n)

        pump, curve = hp_pump(inp, waters, each, rise, shaft_power if self.of.kind.on_shaft else None)
        if not self.hp_duties:
            self._speeds(hp, curve)
        return pump, hp, curve

    def _speeds(self, hp: pt.HpSettings, curve: Curve | None) -> None:
        for c, r in self.recoveries.items():
            with scope(corner=c):
                self.hp_duties[c] = pt.hp_duty(hp, curve, self.cases[c], r)

    def booster(self, waters: Waters) -> Pump | None:
        """Size the booster of the high-pressure loop; None where the device needs none."""
        if not self.of.kind.needs_booster:
            return None
        flows = {c: r.booster_flow for c, r in self.recoveries.items() if r.booster_flow is not None}
        rises = {c: r.booster_pressure_rise for c, r in self.recoveries.items() if r.booster_pressure_rise is not None}
        with scope(because=[self.of.choice]):
            return size_pump(
                "booster", flow=govern("booster.flow", flows, "largest", title="Flow of the booster"),
                density=waters.at["cold"].density, electric=electric(self.inp),
                pressure_rise=govern("booster.pressure_rise", rises, "largest",
                                     title="Pressure rise of the booster"),
                **_booster(self.inp))

    def concentrate_pump(self, a: Array) -> tuple[Pump | None, Figure | None, dict[Corner, Figure]]:
        """Size the pump that lifts the concentrate of a device with a free exhaust; a zero power where it runs off."""
        with scope(because=[self.of.choice]):
            wanted = {c: out.line_pressure for c, out in self.exhausts.items() if out.line_pressure is not None}
            most = govern("energy_recovery.concentrate_line_pressure", wanted, "largest",
                          title="Required concentrate-line pressure") if wanted else None
            if most is None or most.value <= 0:
                with scope(because=[most] if most is not None else []):
                    none: Figure = assumed("concentrate_pump.power_absent", 0.0, "power.electric",
                                           title="Concentrate pump",
                                           text="not in this plant", source="definition")
                return None, none, {}
            rises: dict[Corner, Figure] = {}
            for c, out in self.exhausts.items():
                with scope(corner=c):
                    rise = pt.reject_pump_rise(out)
                    if rise is not None:
                        rises[c] = rise
            flows = {c: case.reject_flow for c, case in self.cases.items()}
            pump = size_pump(
                "concentrate_pump", flow=govern("concentrate_pump.flow", flows, "largest",
                                                title="Flow of the concentrate pump"),
                density=a.by_corner["cold-aged"].figures["concentrate_density"], electric=electric(self.inp),
                pressure_rise=govern("concentrate_pump.pressure_rise", rises, "largest",
                                     title="Pressure rise of the concentrate pump"),
                efficiency=self.inp("energy_recovery.concentrate_pump_efficiency"),
                motor=self.inp("energy_recovery.concentrate_pump_motor"))
            return pump, None, rises


def _boost(of: er.Device, by_corner: dict[Corner, er.Recovery], pre: Pretreated) -> Figure:
    """What the device adds to the pressure of the feed, or of the part of the feed that passes it."""
    title = "Pressure recovered by the ERD"
    with scope(because=[of.choice]):
        boosts = {c: r.boost for c, r in by_corner.items() if r.boost is not None}
        for c, r in by_corner.items():
            if r.feed_out is not None:
                with scope(corner=c):
                    boosts[c] = pressure_rise.at("energy_recovery.boost", discharge_pressure=r.feed_out,
                                                 suction_pressure=pre.suction.pressure, title=title)
        if boosts:
            return govern("energy_recovery.boost", boosts, "largest", title=title)
        return assumed("energy_recovery.boost", 0.0, "pressure difference", title=title, text="not in this plant",
                       source="definition", place="this ERD gives its energy to the shaft, or there is none")


def _booster(inp: Inputs) -> dict[str, Any]:
    drive = inp("booster.drive")
    return {"efficiency": inp("booster.efficiency"), "pump_class": inp("booster.pump_class"),
            "motor_margin": inp("booster.motor_margin"), "motor": inp("booster.motor"),
            "because": [drive, inp("electric.frequency")],
            "drive_efficiency": inp("booster.drive_efficiency") if drive == "yes" else None}
