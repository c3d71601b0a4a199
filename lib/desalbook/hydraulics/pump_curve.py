"""The high-pressure pump on its curve: from the duty or from the maker's points, run at every corner.

A centrifugal pump is a parabola of head and one of efficiency; a speed drive moves them by affinity, a valve
burns what is too much. A displacement pump gives a flow: speed sets it, or a spill valve takes the rest.
A corner that the pump cannot meet is a finding with what can.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from desalbook.hydraulics import pump_curve_relations as c
from desalbook.hydraulics import pump_relations as r
from desalbook.hydraulics.head import pressure_of_head
from desalbook.hydraulics.motor import motor_at
from desalbook.hydraulics.pump import Pump
from desalbook.hydraulics.rows import row_line
from desalbook.problems import DesignError
from desalbook.trail import Choice, Figure, assumed, checked, engine, govern, note, scope, values

__all__ = ["Curve", "Operating", "curve_of_duty", "curve_of_points", "efficiency_on", "envelope", "judge_reach",
           "operate", "rotation_of", "speed_at", "stages_of"]


@dataclass(frozen=True)
class Curve:
    """Head and efficiency of one pump at full speed.

    Parameters
    ----------
    shutoff_head, linear_head, square_head : Figure
        Coefficients of the parabola in flow over `reference_flow`, m.
    reference_flow, best_flow : Figure
        m3/s
    best_efficiency : Figure
    idle_share : Figure
        Flow over best flow at which nothing is left: zero for a pump.
    """

    shutoff_head: Figure
    linear_head: Figure
    square_head: Figure
    reference_flow: Figure
    best_flow: Figure
    best_efficiency: Figure
    idle_share: Figure

    @property
    def head_line(self) -> dict[str, Any]:
        """Arguments of the relations of the head."""
        return {"shutoff_head": self.shutoff_head, "linear_head": self.linear_head,
                "square_head": self.square_head, "reference_flow": self.reference_flow}


@dataclass(frozen=True)
class Operating:
    """One pump at one corner: powers in W, pressures in Pa, flows in m3/s; what does not exist is None.

    `speed_ratio` is of full speed; `pump_rise` is what the pump itself gives, `valve_loss` what a control valve
    takes of it; `spill` goes back to suction; `reaches` is one where the pump meets the case, else zero.
    """

    flow: Figure
    pressure_rise: Figure
    head: Figure
    speed_ratio: Figure
    flow_share: Figure | None
    efficiency: Figure
    pump_rise: Figure
    shaft_power: Figure
    motor_load: Figure
    motor_efficiency: Figure
    electric_power: Figure
    valve_loss: Figure | None = None
    spill: Figure | None = None
    reaches: Figure | float = 1.0

    @property
    def met(self) -> bool:
        """Whether the pump reaches what this one case asks for."""
        return bool(self.reaches)


def rotation_of(prefix: str, inp: Callable[[str], Any]) -> Figure:
    """Speed written, else the full-load speed of the motor."""
    written = inp(f"{prefix}.rotation")
    if written is not None:
        return written
    poles, frequency = inp("electric.poles"), inp("electric.frequency")
    return row_line(f"{prefix}.rotation", "motor_speeds", f"{frequency}-{poles}p", "speed", because=[poles, frequency])


def stages_of(prefix: str, inp: Callable[[str], Any], *, rotation: Figure, flow: Figure, head: Figure) -> Figure:
    """Stages written; one of an end-suction pump; else the least that reach the specific speed wanted."""
    written = inp(f"{prefix}.stages")
    if written is not None:
        return written
    kind: Choice = inp(f"{prefix}.pump_class")
    with scope(because=[kind]):
        if kind == "end-suction":
            return assumed(f"{prefix}.stages", 1.0, "count", title="Stages", symbol="i", source="definition")
        return c.stages_for.at(f"{prefix}.stages", rotation=rotation, flow=flow, head=head,
                               specific_speed=inp(f"{prefix}.specific_speed_wanted"), most=inp(f"{prefix}.stages_most"))


def curve_of_duty(prefix: str, flow: Figure, head: Figure, efficiency: Figure, shutoff_ratio: Figure) -> Curve:
    """A parabola through shut-off and the duty, best point at the duty; the line says that it is assumed."""
    said = "generated from the duty, best point at the duty: a stated assumption until the maker's curve is there"
    shutoff = c.shutoff_head_of.at(f"{prefix}.shutoff_head", head=head, shutoff_ratio=shutoff_ratio, note=said)
    straight = assumed(f"{prefix}.linear_head", 0.0, "head", title="Slope of the curve at shut-off", symbol="H_1",
                       text="0 m", source="definition", place="the generated curve is flat at shut-off")
    fall = c.curve_fall.at(f"{prefix}.square_head", shutoff_head=shutoff, head=head)
    return Curve(shutoff, straight, fall, flow, flow, efficiency, _idle(prefix))


def _idle(prefix: str) -> Figure:
    return assumed(f"{prefix}.idle_share", 0.0, "fraction", title="Flow at which the efficiency is nothing", text="0 %",
                   symbol="x_0", source="definition", place="a pump without flow does no work on water")


def curve_of_points(prefix: str, points: Sequence[Mapping[str, Figure]]) -> Curve:
    """Least-squares parabolas through the maker's points.

    Parameters
    ----------
    points : sequence of {flow, head, efficiency}
        At full speed, three or more.

    Raises
    ------
    DesignError
        The points do not fall, or their efficiency has no top.
    """
    flow, head, eta = (np.array([float(p[k]) for p in points]) for k in ("flow", "head", "efficiency"))
    top = float(np.max(flow))
    x = flow / top
    h0, h1, h2 = np.linalg.lstsq(np.stack([x**0, x, -(x**2)], 1), head, rcond=None)[0]
    e1, e2 = np.linalg.lstsq(np.stack([x, -(x**2)], 1), eta, rcond=None)[0]
    if not np.all(np.array([h0, h2, e1, e2, 2 * h2 - h1]) > 0):
        raise DesignError("the points are not the curve of a centrifugal pump", where=f"{prefix}.curve",
                          allowed="head falling, efficiency rising from nothing to a top and falling again",
                          do="write more points, on both sides of the best flow")
    inputs = {f"{k}_{n}": p[k] for n, p in enumerate(points, 1) for k in ("flow", "head", "efficiency")}
    off = float(np.max(np.abs(h0 + h1 * x - h2 * x**2 - head) / head))
    off_eta = float(np.max(np.abs(e1 * x - e2 * x**2 - eta)))
    said: dict[str, Any] = {"inputs": inputs, "library": "numpy", "version": np.__version__, "source": "definition",
                            "note": f"least squares; worst point off by {off:.1%} of head, {off_eta:.1%} of efficiency"}

    def line(name: str, value: float, kind: str, title: str, symbol: str) -> Figure:
        return engine(f"{prefix}.{name}", value, kind, title=title, symbol=symbol, **said)

    return Curve(line("shutoff_head", h0, "head", "Shut-off head", "H_0"),
                 line("linear_head", h1, "head", "Slope of the curve at shut-off", "H_1"),
                 line("square_head", h2, "head", "Fall of the curve with the square of flow", "H_2"),
                 line("reference_flow", top, "flow", "Flow of reference of the curve", "Q_r"),
                 line("best_flow", top * e1 / (2 * e2), "flow", "Best flow", "Q_b"),
                 line("best_efficiency", e1**2 / (4 * e2), "fraction", "Best efficiency", "eta_b"), _idle(prefix))


def efficiency_on(prefix: str, curve: Curve, *, flow: Figure, head: Figure, name: str = "efficiency") -> Figure:
    """Efficiency of a written curve at the duty, ``{prefix}.{name}``."""
    ratio = c.running_speed.at(f"{prefix}.duty_speed_ratio", flow=flow, head=head, **curve.head_line,
                               title="Speed at the duty, over full speed")
    share = c.best_point_share.at(f"{prefix}.duty_flow_share", flow=flow, best_flow=curve.best_flow, speed_ratio=ratio)
    return c.efficiency_off_best.at(f"{prefix}.{name}", best_efficiency=curve.best_efficiency, flow_share=share,
                                    idle_share=curve.idle_share)


def _pump_powers(prefix: str, flow: Figure, rise: Figure, efficiency: Figure, recovered: Figure | None) -> Figure:
    hydraulic = r.hydraulic_power_of.at(f"{prefix}.hydraulic_power", flow=flow, pressure_rise=rise)
    if recovered is None:
        return r.shaft_power_of.at(f"{prefix}.shaft_power", hydraulic_power=hydraulic, pump_efficiency=efficiency)
    gross = r.shaft_power_of.at(f"{prefix}.pump_shaft_power", hydraulic_power=hydraulic, pump_efficiency=efficiency)
    return r.net_shaft_power.at(f"{prefix}.shaft_power", shaft_power=gross, recovered_power=recovered)


def speed_at(prefix: str, rated_flow: Figure, curve: Curve | None, drive: Choice, *, flow: Figure,
             head: Figure) -> Figure:
    """Speed over full speed at one corner: what the drive sets, or one."""
    with scope(because=[drive]):
        if drive != "yes":
            return assumed(f"{prefix}.speed_ratio", 1.0, "factor", title="Speed over full speed", symbol="r_n",
                           source="definition", place="no speed drive")
        if curve is None:
            return r.displacement_speed.at(f"{prefix}.speed_ratio", flow=flow, available_flow=rated_flow)
        return c.running_speed.at(f"{prefix}.speed_ratio", flow=flow, head=head, **curve.head_line)


def operate(prefix: str, pump: Pump, curve: Curve | None, drive: Choice, speed_limit: Figure, *, flow: Figure,
            pressure_rise: Figure, head: Figure, speed: Figure, density: Figure,
            recovered: Figure | None = None) -> Operating:
    """One pump at one case, inside the scope of that case.

    Parameters
    ----------
    curve : Curve or None
        None for a displacement pump.
    drive : Choice
        ``yes`` for a speed drive; else a valve (or a spill valve) does it.
    speed_limit, speed : Figure
        Greatest speed, and that from `speed_at`, over full speed.
    flow, pressure_rise, head, density : Figure
        Asked of one pump, m3/s, Pa, m, kg/m3.
    recovered : Figure, optional
        Shaft power a machine on the same shaft gives back to one pump, W.
    """
    valve = spill = share = None
    with scope(because=[drive]):
        if curve is None:
            pumped, rise, eta = flow, pressure_rise, pump.efficiency
            if drive != "yes":
                pumped = pump.flow
                spill = c.spilt_flow.at(f"{prefix}.spill", available_flow=pump.flow, flow=flow)
        else:
            pumped, rise = flow, pressure_rise
            if drive != "yes":
                gives = c.curve_head.at(f"{prefix}.head_given", flow=flow, speed_ratio=speed, **curve.head_line)
                full = pressure_of_head.at(f"{prefix}.rise_given", head=gives, density=density,
                                           title="Pressure that the pump gives")
                valve = c.throttled.at(f"{prefix}.valve_loss", available_rise=full, pressure_rise=pressure_rise)
                rise = full
            share = c.best_point_share.at(f"{prefix}.flow_share", flow=flow, best_flow=curve.best_flow,
                                          speed_ratio=speed)
            eta = c.efficiency_off_best.at(f"{prefix}.efficiency_at", best_efficiency=curve.best_efficiency,
                                           flow_share=share, idle_share=curve.idle_share)
        shaft = _pump_powers(prefix, pumped, rise, eta, recovered)
        motor = motor_at(prefix, shaft, pump.motor_rating, pump.motor_full_load_efficiency, pump.drive_efficiency)
    with values(keep=False):
        reaches = c.within_reach.at("reach", speed_ratio=speed, speed_limit=speed_limit, available_rise=rise,
                                    pressure_rise=pressure_rise)
    return Operating(flow, pressure_rise, head, speed, share, eta, rise, shaft, motor.load, motor.efficiency,
                     motor.electric_power, valve, spill, reaches)


def judge_reach(prefix: str, pump: Pump, curve: Curve | None, limit: Figure, at: Operating, corner: str = "") -> None:
    """Finding of one case: named when the case is out of reach, with what reaches it."""
    flow, head, speed = at.flow, at.head, at.speed_ratio
    inputs: dict[str, Any] = {"speed": speed, "limit": limit, "flow": flow, "head": head, "duty": pump.flow,
                              "given": at.pump_rise, "asked": at.pressure_rise}

    def said(value: Any, like: Figure) -> str:
        return Figure(float(value), id=prefix, kind=like.kind).show()

    why = f"{head.show()} at {flow.show()} are asked"
    if curve is None:
        if not at.met:
            why += f"; at the greatest speed the pump gives {said(pump.flow.value * limit.value, flow)}"
        do = f"a pump of {flow.show()}, or one more pump on duty"
    else:
        inputs |= curve.head_line
        if not at.met:
            with values(keep=False):
                best = c.curve_head.at("best", **curve.head_line, flow=flow,
                                       speed_ratio=1.0 if speed.value == 1.0 else limit)
                there = said(c.flow_at_head.at("there", **curve.head_line, head=head), flow)
            above = bool(np.greater(head.value, curve.shutoff_head.value))
            why += (f"; the pump gives {said(best, head)} at that flow, and that head "
                    + ("at no flow" if above else f"only up to {there}") + " at full speed")
        do = (f"a pump whose curve passes {head.show()} at {flow.show()}, more stages, "
              f"{said(speed, speed)} times full speed with a drive, or more vessels to ask for less pressure")
    note(f"{prefix}.reach", title=f"High-pressure pump at {corner}" if corner else "High-pressure pump",
         verdict="holds" if at.met else "fails", why=why, do=do, inputs=inputs)


def envelope(prefix: str, by_corner: Mapping[str, Operating], pump: Pump, curve: Curve | None,
             inp: Callable[[str], Any], service_factor: Figure) -> None:
    """Checks over all corners: minimum flow, run-out, speed, load of the motor."""
    if curve is not None:
        shares = {k: o.flow_share for k, o in by_corner.items() if o.flow_share is not None}
        low = govern(f"{prefix}.flow_share_least", shares, "smallest", title="Flow over best flow, least")
        high = govern(f"{prefix}.flow_share_most", shares, "largest", title="Flow over best flow, greatest")
        checked(f"{prefix}.flow_share_least.check", low, ">=", inp(f"{prefix}.minimum_flow"),
                title="Least continuous flow", do="a smaller pump, or a bypass that opens below this flow",
                caution="a pump without flow boils within minutes")
        checked(f"{prefix}.flow_share_most.check", high, "<=", inp(f"{prefix}.runout"), title="Run-out",
                do="a larger pump, or one more on duty", source="api-610")
        c.share_of_flow.at(f"{prefix}.minimum_continuous", best_flow=curve.best_flow,
                           flow_share=inp(f"{prefix}.minimum_flow"), title="Least continuous flow at full speed")
        c.share_of_flow.at(f"{prefix}.runout_flow", best_flow=curve.best_flow,
                           flow_share=inp(f"{prefix}.runout"), title="Run-out flow at full speed")
    govern(f"{prefix}.speed_ratio", {k: o.speed_ratio for k, o in by_corner.items()}, "largest",
           title="Speed over full speed, greatest")
    most = govern(f"{prefix}.shaft_power_greatest", {k: o.shaft_power for k, o in by_corner.items()}, "largest",
                  title="Shaft power over the envelope, greatest")
    usable = c.usable_power.at(f"{prefix}.motor_usable", motor_rating=pump.motor_rating, service_factor=service_factor)
    checked(f"{prefix}.motor_usable.check", most, "<=", usable, title="Motor at its greatest load",
            do=f"a larger {prefix}.motor", caution="protection and wiring follow local codes")
