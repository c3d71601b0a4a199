"""Energy recovery: what each device leaves for the high-pressure pump to do.

A function for each device, with one answer (`Recovery`), so that devices are compared at equal permeate,
equal feed pressure and the same boundary. Call them inside the scope of a corner. A device is bought on its
maker's curve: efficiencies here are means over the range of such devices.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from desalbook.hydraulics import recovery_envelope as env
from desalbook.hydraulics import recovery_relations as r
from desalbook.hydraulics.pump_relations import hydraulic_power_of
from desalbook.hydraulics.rows import row_line
from desalbook.trail import Choice, Figure, assumed, checked, note, scope

__all__ = ["DEVICES", "Device", "Recovery", "Reject", "device", "exhaust", "give_back", "recover"]

DEVICES = {
    "none": "None, reject throttled",
    "reverse-running-pump": "Reverse-running pump on the shaft",
    "pelton": "Pelton wheel on the shaft",
    "turbocharger": "Hydraulic turbocharger",
    "isobaric": "Isobaric exchanger with booster",
}


@dataclass(frozen=True)
class Device:
    """A device and its data; what a device does not have is None.

    Parameters
    ----------
    choice : Choice
        Key of `DEVICES`.
    efficiency, mixing, leakage : Figure or None
        Fractions.
    high_pressure_drop, low_pressure_drop : Figure or None
        Pa
    back_pressure : Figure or None
        Least gauge pressure at the low-pressure outlet, Pa.
    idle_share, idle_drop : Figure or None
        Of a wheel: flow that gives nothing, and pressure held without flow, over those of the best point.
    unit_flow : Figure or None
        Reject of one exchanger, m3/s.
    """

    choice: Choice
    efficiency: Figure | None = None
    mixing: Figure | None = None
    leakage: Figure | None = None
    high_pressure_drop: Figure | None = None
    low_pressure_drop: Figure | None = None
    back_pressure: Figure | None = None
    idle_share: Figure | None = None
    idle_drop: Figure | None = None
    unit_flow: Figure | None = None


@dataclass(frozen=True)
class Reject:
    """The line behind the device: rise to the outfall and losses (m), density of the reject (kg/m3)."""

    static_head: Figure
    friction_head: Figure
    density: Figure


@dataclass(frozen=True)
class Recovery:
    """What is left for the pumps; what a device does not have is None.

    Parameters
    ----------
    hp_flow : Figure
        Of the high-pressure pumps of the train, m3/s.
    hp_discharge, exhaust_pressure : Figure
        Gauge, Pa.
    hp_rise : Figure
        Pa
    boost : Figure or None
        Pressure that the device adds behind the pump, Pa.
    recovered : Figure or None
        Shaft power given back, W.
    booster_flow, booster_pressure_rise, leakage : Figure or None
        m3/s, Pa, m3/s.
    efficiency : Figure or None
        Of an exchanger, computed from its drops and leakage.
    balance : Balance or None
        Hydraulic power in, out and lost.
    passing : Transfer or None
        What passes a wheel, and what valve and bypass take.
    """

    hp_flow: Figure
    hp_discharge: Figure
    hp_rise: Figure
    exhaust_pressure: Figure | None
    boost: Figure | None = None
    recovered: Figure | None = None
    booster_flow: Figure | None = None
    booster_pressure_rise: Figure | None = None
    leakage: Figure | None = None
    efficiency: Figure | None = None
    balance: env.Balance | None = None
    passing: env.Transfer | None = None


_WHEEL = ("efficiency", "idle_share", "idle_drop")
_WANTS = {
    "none": (),
    "reverse-running-pump": _WHEEL,
    "pelton": _WHEEL,
    "turbocharger": _WHEEL,
    "isobaric": ("mixing", "leakage", "high_pressure_drop", "low_pressure_drop", "back_pressure", "unit_flow"),
}


def device(inp: Callable[[str], Any]) -> Device:
    """The device of the design; what is not written is read from the table of devices."""
    choice: Choice = inp("energy_recovery.device")
    found = {}
    for name in _WANTS[choice]:
        written = inp(f"energy_recovery.{name}")
        found[name] = (
            row_line(f"energy_recovery.{name}", "energy_recovery", choice, name, because=[choice])
            if written is None
            else written
        )
    return Device(choice, **found)


def exhaust(of: Device, line: Reject) -> Figure:
    """Gauge pressure at the exhaust, ``energy_recovery.exhaust_pressure``.

    A Pelton wheel discharges free, at zero gauge: where its reject must rise, a pump is needed, and a
    finding says so.
    """
    id = "energy_recovery.exhaust_pressure"
    heads: dict[str, Any] = {
        "static_head": line.static_head,
        "friction_head": line.friction_head,
        "density": line.density,
    }
    with scope(because=[of.choice]):
        if of.choice == "pelton":
            wanted = r.exhaust_of.at(
                "energy_recovery.reject_line_pressure", **heads, title="Pressure the reject line asks for"
            )
            free = assumed(
                id,
                0.0,
                "gauge pressure",
                title="Pressure at the exhaust of the device",
                symbol="p_ex",
                text="0 bar g",
                source="definition",
                place="a wheel runs in air",
            )
            needs = wanted.value > 0.0
            note(
                "energy_recovery.reject_pump",
                title="Reject after the wheel",
                verdict="caution" if needs else "holds",
                why="the wheel discharges at zero gauge and the reject must be pumped"
                if needs
                else "the reject runs off by gravity",
                do="lower the outfall, widen the line, or count a reject pump's energy",
                inputs={"wanted": wanted, "exhaust": free},
            )
            return free
        if of.back_pressure is not None:
            return r.exhaust_with_least.at(id, **heads, back_pressure=of.back_pressure)
        return r.exhaust_of.at(id, **heads)


def recover(
    of: Device,
    *,
    feed_flow: Figure,
    permeate_flow: Figure,
    reject_flow: Figure,
    feed_pressure: Figure,
    concentrate_pressure: Figure,
    suction_pressure: Figure,
    exhaust_pressure: Figure,
    piping_loss: Figure | None = None,
    best: env.Best | None = None,
    shaft_later: bool = False,
) -> Recovery:
    """Flow, discharge and rise of the high-pressure pump with this device, and what the device does.

    Parameters
    ----------
    feed_flow, permeate_flow, reject_flow : Figure
        Of the membranes of one train, m3/s.
    feed_pressure, concentrate_pressure : Figure
        Gauge, at the feed and reject header, Pa.
    suction_pressure : Figure
        Gauge, at the high-pressure pump, Pa.
    exhaust_pressure : Figure
        From `exhaust`. An exchanger's outlet follows from the feed line and is checked against it.
    piping_loss : Figure, optional
        Of the high-pressure loop of an exchanger, Pa; wanted there only.
    best : Best, optional
        From `size_device`; None takes the device at its best point.
    shaft_later : bool
        Leave the shaft power of a machine on the pump's shaft to `give_back`, once the speed is known.
    """
    with scope(because=[of.choice]):
        if of.choice == "isobaric":
            return _isobaric(
                of,
                permeate_flow,
                reject_flow,
                feed_pressure,
                concentrate_pressure,
                suction_pressure,
                exhaust_pressure,
                piping_loss,
                best,
            )
        ends: dict[str, Figure] = {
            "reject_flow": reject_flow,
            "concentrate_pressure": concentrate_pressure,
            "exhaust_pressure": exhaust_pressure,
        }
        if of.choice == "turbocharger":
            t = env.passes(of, best, **ends)
            boost = r.boost_of.at(
                "energy_recovery.boost",
                transfer_efficiency=t.efficiency,
                reject_flow=t.flow,
                feed_flow=feed_flow,
                concentrate_pressure=t.inlet_pressure,
                exhaust_pressure=exhaust_pressure,
            )
            discharge = r.hp_with_boost.at(
                "hp_pump.discharge_pressure", feed_pressure=feed_pressure, boost=boost
            )
            given = hydraulic_power_of.at(
                "energy_recovery.power_given",
                flow=feed_flow,
                pressure_rise=boost,
                title="Hydraulic power given to the feed",
            )
            return Recovery(
                feed_flow,
                discharge,
                _rise(discharge, suction_pressure),
                exhaust_pressure,
                boost,
                balance=env.wheel_balance(t, **ends, power=given),
                passing=t,
            )
        rise = _rise(feed_pressure, suction_pressure)
        if of.choice == "none":
            return Recovery(
                feed_flow, feed_pressure, rise, exhaust_pressure, balance=env.valve_balance(**ends)
            )
        plain = Recovery(feed_flow, feed_pressure, rise, exhaust_pressure)
        return plain if shaft_later else _given(of, plain, best, ends, None)


def give_back(
    of: Device,
    recovery: Recovery,
    best: env.Best | None,
    *,
    reject_flow: Figure,
    concentrate_pressure: Figure,
    speed_ratio: Figure,
) -> Recovery:
    """Shaft power of a wheel or reverse-running pump at the speed of the pump's shaft, at one corner."""
    assert recovery.exhaust_pressure is not None
    ends = {
        "reject_flow": reject_flow,
        "concentrate_pressure": concentrate_pressure,
        "exhaust_pressure": recovery.exhaust_pressure,
    }
    with scope(because=[of.choice]):
        return _given(of, recovery, best, ends, speed_ratio)


def _given(
    of: Device,
    recovery: Recovery,
    best: env.Best | None,
    ends: dict[str, Figure],
    speed_ratio: Figure | None,
) -> Recovery:
    t = env.passes(of, best, **ends, speed_ratio=speed_ratio)
    recovered = r.recovered_of.at(
        "energy_recovery.recovered_power",
        turbine_efficiency=t.efficiency,
        reject_flow=t.flow,
        concentrate_pressure=t.inlet_pressure,
        exhaust_pressure=ends["exhaust_pressure"],
    )
    return replace(
        recovery,
        recovered=recovered,
        balance=env.wheel_balance(t, **ends, power=recovered),
        passing=t,
    )


def _rise(discharge: Figure, suction: Figure) -> Figure:
    return r.rise_of.at("hp_pump.pressure_rise", discharge_pressure=discharge, suction_pressure=suction)


def _isobaric(
    of: Device,
    permeate_flow: Figure,
    reject_flow: Figure,
    feed_pressure: Figure,
    concentrate_pressure: Figure,
    suction_pressure: Figure,
    exhaust_pressure: Figure,
    piping_loss: Figure | None,
    best: env.Best | None,
) -> Recovery:
    high_drop, low_drop = env.exchanger_drops(of, best, reject_flow=reject_flow)
    leakage = r.leakage_of.at(
        "energy_recovery.leakage_flow", exchanger_leakage=of.leakage, reject_flow=reject_flow
    )
    flow = r.hp_flow_of.at("hp_pump.flow", permeate_flow=permeate_flow, leakage_flow=leakage)
    booster = r.booster_flow_of.at("booster.flow", reject_flow=reject_flow, leakage_flow=leakage)
    rise = r.booster_rise.at(
        "booster.pressure_rise",
        feed_pressure=feed_pressure,
        concentrate_pressure=concentrate_pressure,
        high_pressure_drop=high_drop,
        piping_loss=piping_loss,
    )
    out = r.after_drop.at(
        "energy_recovery.high_pressure_out",
        inlet_pressure=concentrate_pressure,
        pressure_drop=high_drop,
        title="Pressure of the feed behind the exchanger",
    )
    low_out = r.after_drop.at(
        "energy_recovery.low_pressure_out",
        inlet_pressure=suction_pressure,
        pressure_drop=low_drop,
        title="Pressure of the reject behind the exchanger",
    )
    checked(
        "energy_recovery.low_pressure_out.check",
        low_out,
        ">=",
        exhaust_pressure,
        title="Low-pressure outlet of the exchanger",
        do="raise hp_pump.suction_wanted, lower the outfall, or widen the reject line",
        caution="below its least back-pressure the device cavitates",
    )
    efficiency = r.device_efficiency.at(
        "energy_recovery.device_efficiency",
        high_out_pressure=out,
        high_out_flow=booster,
        exhaust_pressure=low_out,
        low_out_flow=reject_flow,
        concentrate_pressure=concentrate_pressure,
        reject_flow=reject_flow,
        low_in_pressure=suction_pressure,
        low_in_flow=booster,
    )
    return Recovery(
        flow,
        feed_pressure,
        _rise(feed_pressure, suction_pressure),
        exhaust_pressure,
        booster_flow=booster,
        booster_pressure_rise=rise,
        leakage=leakage,
        efficiency=efficiency,
        balance=env.exchanger_balance(
            reject_flow=reject_flow,
            leakage=leakage,
            feed_flow=booster,
            concentrate_pressure=concentrate_pressure,
            suction_pressure=suction_pressure,
            high_out=out,
            low_out=low_out,
            high_drop=high_drop,
            low_drop=low_drop,
        ),
    )
