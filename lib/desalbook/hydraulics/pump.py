"""Pumps: power, efficiency, suction head, speed, and one function that sizes a pump and its motor.

High-pressure water injures and hoses whip; lock out electricity and stored pressure before work. A size
found here is checked against the curve of the pump bought.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics import pump_relations as r
from desalbook.hydraulics.head import pressure_head, pressure_of_head
from desalbook.hydraulics.motor import Electric, motor_at, size_motor
from desalbook.hydraulics.rows import column_line
from desalbook.problems import TrailError
from desalbook.tables import table
from desalbook.trail import Choice, Column, Figure, picked, scope

__all__ = ["HP_CLASSES", "PUMP_CLASSES", "Pump", "Running", "attainable", "run_pump", "size_pump"]

PUMP_CLASSES = {"end-suction": "End suction", "multistage": "Multistage"}
HP_CLASSES = {**PUMP_CLASSES, "positive-displacement": "Positive displacement"}
_FIT = ("c0", "c1", "c2", "c3", "c4", "m0", "m1", "m2", "m3", "m4")


@dataclass(frozen=True)
class Pump:
    """A pump and its motor, SI; `efficiency` is the pump's, `motor_efficiency` the motor's at this load."""

    flow: Figure
    head: Figure
    pressure_rise: Figure
    efficiency: Figure
    hydraulic_power: Figure
    shaft_power: Figure
    motor_rating: Figure
    motor_full_load_efficiency: Figure
    motor_efficiency: Figure
    electric_power: Figure
    drive_efficiency: Figure | None = None


@dataclass(frozen=True)
class Running:
    """A pump that has been sized, at another duty: powers in W."""

    shaft_power: Figure
    motor_efficiency: Figure
    electric_power: Figure


def attainable(prefix: str, flow: Figure, pump_class: Choice, specific_speed: Figure | None = None) -> Figure:
    """Efficiency that makers reach at this flow, ``{prefix}.efficiency``.

    Parameters
    ----------
    prefix : str
    flow : Figure
        At the best point, m3/s.
    pump_class : Choice
        A key of `PUMP_CLASSES`.
    specific_speed : Figure, optional
        US units, one stage; None leaves its loss out, and the line says so.
    """
    fit = _fit(prefix, flow, pump_class)
    average = r.average_efficiency.at(
        f"{prefix}.efficiency_average", flow=flow, **{f"fit_{n}": fit[f"c{n}"] for n in range(5)}
    )
    more: dict[str, Any] = {f"fit_{n + 5}": fit[f"m{n}"] for n in range(5)}
    if specific_speed is None:
        return r.attainable_efficiency.at(
            f"{prefix}.efficiency",
            average=average,
            flow=flow,
            **more,
            note="the loss for specific speed is left out: speed and stages are not given",
        )
    best = r.attainable_efficiency.at(f"{prefix}.efficiency_attainable", average=average, flow=flow, **more)
    return r.derated_efficiency.at(f"{prefix}.efficiency", attainable=best, specific_speed=specific_speed)


def _fit(prefix: str, flow: Figure, pump_class: Choice) -> Column:
    rows = table("pump_efficiency")
    name = pump_class.replace("-", " ")
    mine = [row for row in rows.values() if row["pump_class"].value == name]
    mine.sort(key=lambda row: row["flow_low"].value)
    won = next((row for row in mine if flow.value < row["flow_high"].value), mine[-1])
    with scope(because=[pump_class]):
        key = picked(
            f"{prefix}.efficiency_row",
            won.key,
            None,
            title="Branch of the efficiency curve",
            rule="the row whose range of flow holds the flow",
            candidates=[{"key": row.key, "value": row["flow_high"].value, "won": row is won} for row in mine],
            inputs={"flow": flow},
            table="pump_efficiency",
            source=won.source,
        )
    return column_line(
        f"{prefix}.efficiency_fit",
        "pump_efficiency",
        [(c, won[c]) for c in _FIT],
        axis="coefficient",
        title="Coefficients of the efficiency curve",
        because=[key],
    )


def size_pump(
    prefix: str,
    *,
    flow: Figure,
    density: Figure,
    electric: Electric,
    head: Figure | None = None,
    pressure_rise: Figure | None = None,
    efficiency: Figure | Callable[[Figure], Figure] | None = None,
    pump_class: Choice | None = None,
    rotation: Figure | None = None,
    stages: Figure | Callable[[Figure], Figure] | None = None,
    motor_margin: Figure | None = None,
    motor: Figure | None = None,
    drive_efficiency: Figure | None = None,
    recovered: Figure | Callable[[Figure, Figure], Figure] | None = None,
    because: Sequence[Any] = (),
) -> Pump:
    """Power of a pump and its motor, from flow and head (or pressure rise).

    Records ``{prefix}.head`` or ``{prefix}.pressure_rise`` (the one not given), ``.hydraulic_power``,
    ``.shaft_power``, ``.motor`` (unless held), ``.motor_load``, ``.motor_efficiency``, ``.electric_power``,
    and ``.efficiency`` when none is given.

    Parameters
    ----------
    prefix : str
        Id of the machine, such as ``feed_pump``.
    flow : Figure
        Of one machine, m3/s.
    density : Figure
        kg/m3
    electric : Electric
        Motor list, class, poles and frequency.
    head, pressure_rise : Figure
        One of the two, m or Pa; both when both are recorded already.
    efficiency : Figure or callable, optional
        Of the pump; a callable is given the head; None takes what makers reach, for which `pump_class` is needed.
    rotation, stages : Figure, optional
        For the loss of efficiency at low specific speed; both or neither. Stages may be a callable of the head.
    motor_margin, motor, drive_efficiency : Figure, optional
        See `size_motor`.
    recovered : Figure, optional
        Shaft power that a wheel on the same shaft gives back, W; the motor is sized for what remains. A callable is
        given head and efficiency.
    because : sequence
        Choices that decided that this pump exists.
    """
    if head is None and pressure_rise is None:
        raise TrailError("wants a head or a pressure rise", where=prefix)
    with scope(because=because):
        if pressure_rise is None:
            pressure_rise = pressure_of_head.at(
                f"{prefix}.pressure_rise", head=head, density=density, title="Pressure rise of the pump"
            )
        elif head is None:
            head = pressure_head.at(
                f"{prefix}.head", pressure_rise=pressure_rise, density=density, title="Head of the pump"
            )
        assert head is not None and pressure_rise is not None
        if callable(efficiency):
            efficiency = efficiency(head)
        if efficiency is None:
            if pump_class is None:
                raise TrailError("wants an efficiency or a kind of pump", where=prefix)
            speed = None
            if rotation is not None and stages is not None:
                if callable(stages):
                    stages = stages(head)
                speed = r.specific_speed_of.at(
                    f"{prefix}.specific_speed", rotation=rotation, flow=flow, head=head, stages=stages
                )
            efficiency = attainable(prefix, flow, pump_class, speed)
        hydraulic = r.hydraulic_power_of.at(
            f"{prefix}.hydraulic_power", flow=flow, pressure_rise=pressure_rise
        )
        if callable(recovered):
            recovered = recovered(head, efficiency)
        if recovered is None:
            shaft = r.shaft_power_of.at(
                f"{prefix}.shaft_power", hydraulic_power=hydraulic, pump_efficiency=efficiency
            )
        else:
            gross = r.shaft_power_of.at(
                f"{prefix}.pump_shaft_power", hydraulic_power=hydraulic, pump_efficiency=efficiency
            )
            shaft = r.net_shaft_power.at(
                f"{prefix}.shaft_power", shaft_power=gross, recovered_power=recovered
            )
        m = size_motor(
            prefix, shaft, electric, margin=motor_margin, motor=motor, drive_efficiency=drive_efficiency
        )
    return Pump(
        flow,
        head,
        pressure_rise,
        efficiency,
        hydraulic,
        shaft,
        m.rating,
        m.full_load_efficiency,
        m.efficiency,
        m.electric_power,
        drive_efficiency,
    )


def run_pump(
    prefix: str, pump: Pump, *, flow: Figure, pressure_rise: Figure, recovered: Figure | None = None
) -> Running:
    """Power of a sized pump at another duty; call it inside the scope of a corner.

    The efficiency of the pump is held: its curve is not in the kit.

    Parameters
    ----------
    flow, pressure_rise : Figure
        m3/s, Pa
    recovered : Figure, optional
        Shaft power that a wheel on the same shaft gives back, W.
    """
    hydraulic = r.hydraulic_power_of.at(f"{prefix}.hydraulic_power", flow=flow, pressure_rise=pressure_rise)
    if recovered is None:
        shaft = r.shaft_power_of.at(
            f"{prefix}.shaft_power", hydraulic_power=hydraulic, pump_efficiency=pump.efficiency
        )
    else:
        gross = r.shaft_power_of.at(
            f"{prefix}.pump_shaft_power", hydraulic_power=hydraulic, pump_efficiency=pump.efficiency
        )
        shaft = r.net_shaft_power.at(f"{prefix}.shaft_power", shaft_power=gross, recovered_power=recovered)
    point = motor_at(
        prefix, shaft, pump.motor_rating, pump.motor_full_load_efficiency, pump.drive_efficiency
    )
    return Running(shaft, point.efficiency, point.electric_power)
