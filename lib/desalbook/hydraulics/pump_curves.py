"""Pump curves: head and efficiency at any flow and speed, from the duty or the manufacturer's points.

A centrifugal pump is a parabola of head and one of efficiency; a speed drive moves them by affinity, a valve
burns what is too much. A displacement pump gives a flow: speed sets it, or a spill valve takes the rest.
A case that the pump cannot meet is a finding with what can.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from desalbook.balances import flow_ratio
from desalbook.hydraulics.constants import FOOT, GPM, RPM, G, Rotation
from desalbook.hydraulics.head import pressure_of_head
from desalbook.hydraulics.motors import motor_at
from desalbook.hydraulics.pumps import Pump, hydraulic_power, net_shaft_power, pump_kind, shaft_power
from desalbook.hydraulics.rows import row_line
from desalbook.problems import DesignError
from desalbook.trail import (
    Choice,
    Figure,
    assumed,
    checked,
    engine,
    exp,
    govern,
    log,
    maximum,
    minimum,
    note,
    relation,
    scope,
    up,
    values,
)
from desalbook.trail.limits import review_limit
from desalbook.units import AbsolutePa, Count, DifferencePa, Factor, Fraction, GaugePa, Head, KgPerM3, M3PerS, W

__all__ = [
    "Curve",
    "Operating",
    "bep_flow_ratio",
    "curve_of_duty",
    "curve_of_points",
    "efficiency_off_bep",
    "efficiency_on",
    "envelope",
    "flow_at_bep_fraction",
    "flow_at_head",
    "head_fall_to_duty",
    "judge_reach",
    "operate",
    "pump_curve_head",
    "required_suction_pressure",
    "rotation_of",
    "shutoff_head",
    "speed_at",
    "speed_ratio_at_duty",
    "spill_flow",
    "stages_needed",
    "stages_of",
    "usable_motor_power",
    "valve_pressure_drop",
    "within_reach",
]

_Corner = TypeVar("_Corner", bound=str)


@relation("Shut-off head", symbol="H_0", unit="m", source="common-practice",
          place="a rising curve; from memory API 610 asks for a continuous rise to shut-off, best above 10 %")
def shutoff_head(head: Head, shutoff_ratio: Factor) -> Head:
    """Shut-off head of a pump: a ratio of the head at the duty.

    Assumes a curve that rises steadily to shut-off; the manufacturer's curve replaces it.
    """
    return head * shutoff_ratio


@relation("Fall of the curve from shut-off to the duty", symbol="H_2", unit="m", source="definition")
def head_fall_to_duty(shutoff_head: Head, head: Head) -> Head:
    """Fall of the pump curve from shut-off to the duty: the coefficient of the square of flow.

    At the flow of reference; the curve is flat at shut-off.
    """
    return shutoff_head - head


@relation("Head on the curve", symbol="H", unit="m", source="hi-edb",
          place="a parabola carried to another speed by Eqs 1.B.6",
          note="a parabola in the flow; the manufacturer's curve replaces it")
def pump_curve_head(shutoff_head: Head, linear_head: Head, square_head: Head, flow: M3PerS, reference_flow: M3PerS,
               speed_ratio: Factor) -> Head:
    """Head of a centrifugal pump at a flow and a speed: a parabola moved by the affinity laws.

    Poor beyond run-out and near shut-off of steep curves.
    """
    return (shutoff_head * speed_ratio**2 + linear_head * speed_ratio * (flow / reference_flow)
            - square_head * (flow / reference_flow) ** 2)


@relation("Speed over full speed", symbol="r_n", unit="1", source="hi-edb",
          place="Eqs 1.B.6 solved for the speed at which the curve passes the duty")
def speed_ratio_at_duty(shutoff_head: Head, linear_head: Head, square_head: Head, flow: M3PerS, reference_flow: M3PerS,
                  head: Head) -> Factor:
    """Speed ratio at which the pump curve passes a duty: the positive root of the parabola in the speed.

    Affinity laws; whether the drive allows the speed is checked apart.
    """
    return (((linear_head * flow / reference_flow) ** 2
             + 4 * shutoff_head * (square_head * (flow / reference_flow) ** 2 + head)) ** 0.5
            - linear_head * flow / reference_flow) / (2 * shutoff_head)


@relation("Flow at which the pump gives the head, full speed", symbol="Q_H", unit="m^3/s", source="hi-edb",
          place="the parabola solved for the flow")
def flow_at_head(shutoff_head: Head, linear_head: Head, square_head: Head, reference_flow: M3PerS,
                 head: Head) -> M3PerS:
    """Flow at which a pump gives a head at full speed: the larger root of its parabola.

    Where the head lies above shut-off it is the flow at the top of the curve.
    """
    return reference_flow * (linear_head + maximum(
        linear_head**2 + 4 * square_head * (shutoff_head - head), linear_head**2) ** 0.5) / (2 * square_head)


@relation("Flow over the BEP flow at this speed", symbol="x_Q", unit="1", source="definition")
def bep_flow_ratio(flow: M3PerS, bep_flow: M3PerS, speed_ratio: Factor) -> Fraction:
    """Flow over the best-efficiency flow at this speed.

    The best-efficiency flow goes with the speed.
    """
    return flow / (bep_flow * speed_ratio)


@relation("Efficiency away from the BEP flow", symbol="eta_x", unit="1", source="common-practice",
          place="parabola through its best-efficiency point and the flow at which nothing is left; from memory",
          note="equal efficiency along lines of affinity; a manufacturer's curve replaces it")
def efficiency_off_bep(best_efficiency: Fraction, flow_fraction: Fraction, no_load_fraction: Fraction) -> Fraction:
    """Efficiency away from the best-efficiency point: a parabola through it and the flow at which nothing is left.

    Symmetric in flow; real curves fall faster on the side of run-out.
    """
    return best_efficiency * maximum(1 - ((1 - flow_fraction) / (1 - no_load_fraction)) ** 2, 0)


@relation("Pressure drop across the control valve", symbol="Delta_p_v", unit="Pa", source="definition")
def valve_pressure_drop(available_rise: DifferencePa, pressure_rise: DifferencePa) -> DifferencePa:
    """Pressure drop across a control valve: what the pump gives above what is asked.

    None when the pump gives less; then the case is out of reach.
    """
    return maximum(available_rise - pressure_rise, 0)


@relation("Flow spilt back to suction", symbol="Q_s", unit="m^3/s", source="definition")
def spill_flow(available_flow: M3PerS, flow: M3PerS) -> M3PerS:
    """Flow spilt back: what a unit at one speed gives beyond what is asked.

    The spill valve is taken to pass it at any pressure.
    """
    return maximum(available_flow - flow, 0)


@relation("Flow at a fraction of the BEP flow", symbol="Q_x", unit="m^3/s", source="common-practice")
def flow_at_bep_fraction(bep_flow: M3PerS, flow_fraction: Fraction) -> M3PerS:
    """Flow at a fraction of the best-efficiency flow: minimum continuous flow, or run-out.

    A rule of thumb; the manufacturer states both for the pump bought.
    """
    return bep_flow * flow_fraction


@relation("Stages", symbol="i", unit="1", source="hi-edb", place="specific speed of one stage, US units",
          note="the smallest number at which one stage reaches the specific speed wanted, up to the most in one casing")
def stages_needed(rotation: Rotation, flow: M3PerS, head: Head, specific_speed: Factor, most: Count) -> Count:
    """Number of stages at which one stage reaches the specific speed wanted, up to the most in one casing.

    Head of a stage falls as stages are added, and its specific speed rises.
    """
    return minimum(up(head / FOOT * exp(4 / 3 * log(specific_speed / (rotation / RPM * (flow / GPM) ** 0.5)))), most)


@relation("Suction pressure that the pump needs", symbol="p_s_min", unit="Pa", source="hi-9-6-1",
          place="the NPSH wanted, as gauge pressure at the flange; velocity head neglected, on the safe side")
def required_suction_pressure(npsh_wanted: Head, density: KgPerM3, vapour_pressure: AbsolutePa,
                   ambient_pressure: AbsolutePa) -> GaugePa:
    """Suction pressure that the pump requires: vapour pressure and the wanted NPSH, less the atmosphere.

    Gauge pressure at the flange; velocity head is neglected, on the safe side.
    """
    return npsh_wanted * density * G + vapour_pressure - ambient_pressure


@relation("Power that the motor may give", symbol="P_u", unit="W", source="nema-mg1",
          place="rating times service factor; from memory: a motor on a drive has none to give")
def usable_motor_power(motor_rating: W, service_factor: Factor) -> W:
    """Power that a motor may give for good: rating times service factor.

    At rated voltage and ambient temperature; on a drive a motor has no service factor to give.
    """
    return motor_rating * service_factor


@relation("Case within reach", symbol="b_r", unit="1", source="definition",
          note="one when speed and pressure are there, to a billionth")
def within_reach(speed_ratio: Factor, speed_limit: Factor, available_rise: DifferencePa,
                 pressure_rise: DifferencePa) -> Factor:
    """Whether a case is within reach of the pump: one when speed and pressure are there, else zero.

    To a billionth, so that the duty itself counts as reached.
    """
    return maximum(2 - up(speed_ratio / speed_limit), 0) * maximum(2 - up(pressure_rise / available_rise), 0)


@dataclass(frozen=True)
class Curve:
    """Head and efficiency of one pump at full speed.

    Parameters
    ----------
    shutoff_head, linear_head, square_head : Figure
        Coefficients of the parabola in flow over `reference_flow`, m.
    reference_flow, bep_flow : Figure
        m3/s
    best_efficiency : Figure
    no_load_fraction : Figure
        Flow over BEP flow at which nothing is left: zero for a pump.
    """

    shutoff_head: Figure
    linear_head: Figure
    square_head: Figure
    reference_flow: Figure
    bep_flow: Figure
    best_efficiency: Figure
    no_load_fraction: Figure

    @property
    def head_line(self) -> dict[str, Any]:
        """Arguments of the relations of the head."""
        return {"shutoff_head": self.shutoff_head, "linear_head": self.linear_head,
                "square_head": self.square_head, "reference_flow": self.reference_flow}


@dataclass(frozen=True)
class Operating:
    """One pump in one case: powers in W, pressures in Pa, flows in m3/s; what does not exist is None.

    `speed_ratio` is of full speed; `pump_rise` is what the pump itself gives, `valve_loss` what a control valve
    takes of it; `spill` goes back to suction; `reaches` is one where the pump meets the case, else zero.
    """

    flow: Figure
    pressure_rise: Figure
    head: Figure
    speed_ratio: Figure
    flow_fraction: Figure | None
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
    """Stages written; those its kind always has; else the minimum that reach the specific speed wanted."""
    written = inp(f"{prefix}.stages")
    if written is not None:
        return written
    kind: Choice = inp(f"{prefix}.pump_class")
    with scope(because=[kind]):
        always = pump_kind(kind).stages
        if always is not None:
            return assumed(f"{prefix}.stages", float(always), "count", title="Stages", symbol="i", source="definition")
        return stages_needed.at(f"{prefix}.stages", rotation=rotation, flow=flow, head=head,
                               specific_speed=inp(f"{prefix}.specific_speed_wanted"),
                               most=inp(f"{prefix}.stages_maximum"))


def curve_of_duty(prefix: str, flow: Figure, head: Figure, efficiency: Figure, shutoff_ratio: Figure) -> Curve:
    """A parabola through shut-off and the duty, best-efficiency point at the duty; the line says that it is assumed."""
    said = "generated from the duty, taken as the BEP: an assumption until the manufacturer's curve is given"
    shutoff = shutoff_head.at(f"{prefix}.shutoff_head", head=head, shutoff_ratio=shutoff_ratio, note=said)
    straight = assumed(f"{prefix}.linear_head", 0.0, "head", title="Slope of the curve at shut-off", symbol="H_1",
                       text="0 m", source="definition", place="the generated curve is flat at shut-off")
    fall = head_fall_to_duty.at(f"{prefix}.square_head", shutoff_head=shutoff, head=head)
    return Curve(shutoff, straight, fall, flow, flow, efficiency, _idle(prefix))


def _idle(prefix: str) -> Figure:
    return assumed(f"{prefix}.no_load_fraction", 0.0, "fraction", title="Flow at which the efficiency is nothing",
                   text="0 %",
                   symbol="x_0", source="definition", place="a pump without flow does no work on water")


def curve_of_points(prefix: str, points: Sequence[Mapping[str, Figure]]) -> Curve:
    """Minimum-squares parabolas through the maker's points.

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
                          do="enter more points, on both sides of the BEP flow")
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
                 line("bep_flow", top * e1 / (2 * e2), "flow", "BEP flow", "Q_b"),
                 line("best_efficiency", e1**2 / (4 * e2), "fraction", "Best efficiency", "eta_b"), _idle(prefix))


def efficiency_on(prefix: str, curve: Curve, *, flow: Figure, head: Figure, name: str = "efficiency") -> Figure:
    """Efficiency of a written curve at the duty, ``{prefix}.{name}``."""
    ratio = speed_ratio_at_duty.at(f"{prefix}.duty_speed_ratio", flow=flow, head=head, **curve.head_line,
                               title="Speed at the duty, over full speed")
    share = bep_flow_ratio.at(f"{prefix}.duty_flow_share", flow=flow, bep_flow=curve.bep_flow, speed_ratio=ratio)
    return efficiency_off_bep.at(f"{prefix}.{name}", best_efficiency=curve.best_efficiency, flow_fraction=share,
                                    no_load_fraction=curve.no_load_fraction)


def _pump_powers(prefix: str, flow: Figure, rise: Figure, efficiency: Figure, recovered: Figure | None) -> Figure:
    hydraulic = hydraulic_power.at(f"{prefix}.hydraulic_power", flow=flow, pressure_rise=rise)
    if recovered is None:
        return shaft_power.at(f"{prefix}.shaft_power", hydraulic_power=hydraulic, pump_efficiency=efficiency)
    gross = shaft_power.at(f"{prefix}.pump_shaft_power", hydraulic_power=hydraulic, pump_efficiency=efficiency)
    return net_shaft_power.at(f"{prefix}.shaft_power", shaft_power=gross, recovered_power=recovered)


def speed_at(prefix: str, rated_flow: Figure, curve: Curve | None, drive: Choice, *, flow: Figure,
             head: Figure) -> Figure:
    """Speed over full speed in one case: what the drive sets, or one."""
    with scope(because=[drive]):
        if drive != "yes":
            return assumed(f"{prefix}.speed_ratio", 1.0, "factor", title="Speed over full speed", symbol="r_n",
                           source="definition", place="no speed drive")
        if curve is None:
            return flow_ratio.at(f"{prefix}.speed_ratio", flow=flow, reference_flow=rated_flow,
                                 title="Speed of a displacement pump over full speed", symbol="r_n",
                                 note="slip held: the flow goes with the speed at any pressure")
        return speed_ratio_at_duty.at(f"{prefix}.speed_ratio", flow=flow, head=head, **curve.head_line)


def operate(prefix: str, pump: Pump, curve: Curve | None, drive: Choice, speed_limit: Figure, *, flow: Figure,
            pressure_rise: Figure, head: Figure, speed: Figure, density: Figure,
            recovered: Figure | None = None) -> Operating:
    """One pump in one case, inside the scope of that case.

    Parameters
    ----------
    curve : Curve or None
        None for a displacement pump.
    drive : Choice
        ``yes`` for a speed drive; else a valve (or a spill valve) does it.
    speed_limit, speed : Figure
        Maximum speed, and that from `speed_at`, over full speed.
    flow, pressure_rise, head, density : Figure
        Asked of one pump, m3/s, Pa, m, kg/m3.
    recovered : Figure, optional
        Shaft power a unit on the same shaft gives back to one pump, W.
    """
    valve = spill = share = None
    with scope(because=[drive]):
        if curve is None:
            pumped, rise, eta = flow, pressure_rise, pump.efficiency
            if drive != "yes":
                pumped = pump.flow
                spill = spill_flow.at(f"{prefix}.spill", available_flow=pump.flow, flow=flow)
        else:
            pumped, rise = flow, pressure_rise
            if drive != "yes":
                gives = pump_curve_head.at(f"{prefix}.head_given", flow=flow, speed_ratio=speed, **curve.head_line)
                full = pressure_of_head.at(f"{prefix}.rise_given", head=gives, density=density,
                                           title="Pressure that the pump gives")
                valve = valve_pressure_drop.at(f"{prefix}.valve_loss", available_rise=full, pressure_rise=pressure_rise)
                rise = full
            share = bep_flow_ratio.at(f"{prefix}.flow_fraction", flow=flow, bep_flow=curve.bep_flow,
                                          speed_ratio=speed)
            eta = efficiency_off_bep.at(f"{prefix}.efficiency_at", best_efficiency=curve.best_efficiency,
                                           flow_fraction=share, no_load_fraction=curve.no_load_fraction)
        shaft = _pump_powers(prefix, pumped, rise, eta, recovered)
        motor = motor_at(prefix, shaft, pump.motor_rating, pump.motor_full_load_efficiency, pump.drive_efficiency)
    with values(keep=False):
        reaches = within_reach.at("reach", speed_ratio=speed, speed_limit=speed_limit, available_rise=rise,
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

    why = f"{head.show()} at {flow.show()} required"
    if curve is None:
        if not at.met:
            why += f"; at the maximum speed the pump gives {said(pump.flow.value * limit.value, flow)}"
        do = f"select a pump of {flow.show()}, or add one on duty"
    else:
        inputs |= curve.head_line
        if not at.met:
            with values(keep=False):
                best = pump_curve_head.at("best", **curve.head_line, flow=flow,
                                       speed_ratio=1.0 if speed.value == 1.0 else limit)
                there = said(flow_at_head.at("there", **curve.head_line, head=head), flow)
            above = bool(np.greater(head.value, curve.shutoff_head.value))
            why += (f"; the pump gives {said(best, head)} at that flow, and that head "
                    + ("at no flow" if above else f"only up to {there}") + " at full speed")
        do = (f"select a pump whose curve passes {head.show()} at {flow.show()}, more stages, "
              f"{said(speed, speed)} times full speed with a drive, or more vessels for a lower feed pressure")
    note(f"{prefix}.reach", title="HP pump operating point",
         verdict="passes" if at.met else "fails", why=why, do=do, inputs=inputs)


def envelope(prefix: str, by_corner: Mapping[_Corner, Operating], pump: Pump, curve: Curve | None,
             inp: Callable[[str], Any], service_factor: Figure) -> None:
    """Checks over all cases: minimum flow, run-out, speed, load of the motor."""
    if curve is not None:
        shares = {k: o.flow_fraction for k, o in by_corner.items() if o.flow_fraction is not None}
        low = govern(f"{prefix}.flow_fraction_minimum", shares, "smallest", title="Flow / BEP flow, minimum")
        high = govern(f"{prefix}.flow_fraction_maximum", shares, "largest", title="Flow / BEP flow, maximum")
        checked(f"{prefix}.flow_fraction_minimum.check", low, ">=", inp(f"{prefix}.minimum_flow"),
                title="Minimum continuous flow, HP pump",
                do="select a smaller pump, or a bypass that opens below this flow",
                caution="A dead-headed pump overheats within minutes. Fit a minimum-flow bypass or trip.")
        checked(f"{prefix}.flow_fraction_maximum.check", high, "<=", inp(f"{prefix}.runout"), title="Run-out, HP pump",
                do="select a larger pump, or add one on duty", source="api-610")
        review_limit(f"{prefix}.flow_fraction_minimum.preferred", low, "pump-flow-ratio-low",
                     title="HP pump within its preferred operating region",
                     do=f"choose a smaller pump or one with a flatter duty, or a drive ({prefix}.drive)")
        flow_at_bep_fraction.at(f"{prefix}.minimum_continuous", bep_flow=curve.bep_flow,
                           flow_fraction=inp(f"{prefix}.minimum_flow"), title="Minimum continuous flow at full speed")
        flow_at_bep_fraction.at(f"{prefix}.runout_flow", bep_flow=curve.bep_flow,
                           flow_fraction=inp(f"{prefix}.runout"), title="Run-out flow at full speed")
    govern(f"{prefix}.speed_ratio", {k: o.speed_ratio for k, o in by_corner.items()}, "largest",
           title="Speed over full speed, maximum")
    most = govern(f"{prefix}.shaft_power_maximum", {k: o.shaft_power for k, o in by_corner.items()}, "largest",
                  title="Shaft power over the envelope, maximum")
    usable = usable_motor_power.at(f"{prefix}.motor_usable", motor_rating=pump.motor_rating,
                                   service_factor=service_factor)
    checked(f"{prefix}.motor_usable.check", most, "<=", usable, title="HP motor load, maximum",
            do=f"increase {prefix}.motor, or clear it to size automatically",
            caution="An overloaded motor overheats and can start a fire. Protection and wiring follow local codes.")
