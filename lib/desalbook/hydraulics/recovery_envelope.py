"""Recovery devices over the envelope: one machine is sized, every corner takes what it can give there.

A turbocharger has a fixed opening: what it cannot take passes by an auxiliary valve. A reverse-running pump has a
line of flow and head that moves with the speed of the shaft: a valve before it, or a bypass, takes the difference.
A Pelton wheel takes all flow by its needle and loses when jet and bucket no longer match. An exchanger is a number
of like devices whose drops go with the square of the flow. For each the hydraulic power in equals out plus losses.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from desalbook.hydraulics import pump_curve_relations as c
from desalbook.hydraulics import recovery_curve_relations as k
from desalbook.hydraulics import recovery_relations as r
from desalbook.hydraulics.pump_relations import hydraulic_power_of
from desalbook.trail import Figure, assumed, govern, note, scope
from desalbook.units import show

if TYPE_CHECKING:
    from desalbook.hydraulics.recovery import Device

__all__ = ["Balance", "Best", "Transfer", "exchanger_balance", "exchanger_drops", "passes", "size_device",
           "valve_balance", "wheel_balance"]

ID = "energy_recovery"


@dataclass(frozen=True)
class Best:
    """Best point of the device: flow (m3/s) and pressure drop (Pa) at full speed; what it lacks is None."""

    flow: Figure
    drop: Figure | None = None
    units: Figure | None = None


@dataclass(frozen=True)
class Balance:
    """Hydraulic power that enters, what leaves (streams and shaft), and each loss, W."""

    into: Figure
    out: Figure
    losses: dict[str, Figure] = field(default_factory=dict)


@dataclass(frozen=True)
class Transfer:
    """What passes a wheel at one corner: flow (m3/s), efficiency, gauge pressure before it, pressures in Pa."""

    flow: Figure
    available: Figure
    efficiency: Figure
    inlet_pressure: Figure
    bypass: Figure | None = None
    valve_drop: Figure | None = None


def size_device(of: Device, rejects: Mapping[str, tuple[Figure, Figure, Figure]]) -> Best | None:
    """Best point of one machine for all corners.

    Parameters
    ----------
    rejects : mapping of corner to (reject flow, reject pressure, exhaust pressure)
        m3/s, gauge Pa.

    Returns
    -------
    Best or None
        None where nothing is recovered. A fixed opening is made for the corner that needs the smallest one, so that
        no corner throttles before the wheel; the others pass some flow by it.
    """
    if of.choice == "none":
        return None
    with scope(because=[of.choice]):
        if of.choice == "isobaric":
            most = govern(f"{ID}.best_flow", {n: q for n, (q, _, _) in rejects.items()}, "largest",
                          title="Reject flow that the exchangers are sized for", symbol="Q_b")
            if of.unit_flow is None:
                return Best(most)
            units = k.units_for.at(f"{ID}.units", flow=most, unit_flow=of.unit_flow)
            _one_out(most, units, of.unit_flow)
            return Best(most, units=units)
        drops = {}
        for n, (_, p, out) in rejects.items():
            with scope(corner=n):
                drops[n] = k.available_drop.at(f"{ID}.available_drop", concentrate_pressure=p, exhaust_pressure=out)
        best = govern(f"{ID}.best_drop", drops, "largest", title="Pressure drop at the best point", symbol="Delta_p_b")
        flows = {}
        for n, (q, _, _) in rejects.items():
            with scope(corner=n):
                flows[n] = k.flow_at_drop.at(f"{ID}.flow_at_best", flow=q, pressure_drop=best, reference_drop=drops[n],
                                             title="Flow of the same opening at the best pressure")
        pelton = of.choice == "pelton"
        flow = govern(f"{ID}.best_flow", flows, "largest" if pelton else "smallest", symbol="Q_b",
                      title="Largest opening of the needle, at the best pressure" if pelton
                      else "Best flow, at the best pressure")
    return Best(flow, best)


def _one_out(flow: Figure, units: Figure, unit_flow: Figure) -> None:
    """With one exchanger out the others pass their share; a single one stops the train."""
    if int(units) == 1:
        note(f"{ID}.one_out", title="One exchanger out", verdict="caution", why="there is one only: the train stops",
             do=f"smaller devices side by side (write {ID}.unit_flow), or a spare on the shelf",
             inputs={"units": units})
        return
    left = k.share_left.at(f"{ID}.reject_one_out", flow=flow, unit_flow=unit_flow,
                           units=k.one_less.at(f"{ID}.units_left", units=units))
    whole = int(left.value)
    note(f"{ID}.one_out", title="One exchanger out", verdict="holds" if whole else "caution",
         why=f"the others take {show(float(left), 'fraction', digits=3)} of the reject within their rating",
         do=f"one more exchanger, or less product while one is out; {ID}.unit_flow is the rating of one",
         inputs={"left": left})


def _at_best(of: Device) -> tuple[Figure, Figure]:
    idle, hold = of.idle_share, of.idle_drop
    assert idle is not None and hold is not None
    return idle, hold


def passes(of: Device, best: Best | None, *, reject_flow: Figure, concentrate_pressure: Figure,
           exhaust_pressure: Figure, speed_ratio: Figure | None = None) -> Transfer:
    """What the wheel takes at one corner, and what valve and bypass take; inside the scope of the corner.

    Parameters
    ----------
    best : Best or None
        None takes the device at its best point.
    speed_ratio : Figure, optional
        Of the shaft, of full speed; a turbocharger finds its own.
    """
    assert of.efficiency is not None
    drop = k.available_drop.at(f"{ID}.drop", concentrate_pressure=concentrate_pressure,
                               exhaust_pressure=exhaust_pressure)
    if best is None:
        return Transfer(reject_flow, drop, of.efficiency, concentrate_pressure)
    assert best.drop is not None
    idle, hold = _at_best(of)
    if speed_ratio is None:
        speed_ratio = assumed(f"{ID}.speed_ratio", 1.0, "factor", title="Speed of the rotor, of its best", symbol="r_n",
                              source="common-practice", place="the rotor finds the speed that suits the flow")
    if of.choice == "pelton":
        share = k.jet_share.at(f"{ID}.flow_share", speed_ratio=speed_ratio, best_drop=best.drop, pressure_drop=drop)
        eta = c.efficiency_off_best.at(f"{ID}.efficiency_at", best_efficiency=of.efficiency, flow_share=share,
                                       idle_share=idle, title="Efficiency of the wheel at this speed and jet",
                                       note="the needle takes the flow without loss")
        return Transfer(reject_flow, drop, eta, concentrate_pressure)
    capacity = k.wheel_flow.at(f"{ID}.wheel_capacity", best_flow=best.flow, best_drop=best.drop, pressure_drop=drop,
                               idle_drop=hold, speed_ratio=speed_ratio)
    flow = k.through_wheel.at(f"{ID}.wheel_flow", reject_flow=reject_flow, wheel_capacity=capacity)
    bypass = c.spilt_flow.at(f"{ID}.bypass_flow", available_flow=reject_flow, flow=flow,
                             title="Flow through the auxiliary valve")
    asked = k.wheel_drop.at(f"{ID}.wheel_drop", best_drop=best.drop, idle_drop=hold, speed_ratio=speed_ratio, flow=flow,
                            best_flow=best.flow)
    valve = c.throttled.at(f"{ID}.valve_drop", available_rise=drop, pressure_rise=asked,
                           title="Pressure lost in the valve before the wheel")
    inlet = r.after_drop.at(f"{ID}.wheel_inlet", inlet_pressure=concentrate_pressure, pressure_drop=valve,
                            title="Pressure at the inlet of the wheel")
    share = c.best_point_share.at(f"{ID}.flow_share", flow=flow, best_flow=best.flow, speed_ratio=speed_ratio)
    eta = c.efficiency_off_best.at(f"{ID}.efficiency_at", best_efficiency=of.efficiency, flow_share=share,
                                   idle_share=idle, title="Efficiency of the device at this flow")
    return Transfer(flow, drop, eta, inlet, bypass, valve)


def wheel_balance(t: Transfer, *, reject_flow: Figure, concentrate_pressure: Figure, exhaust_pressure: Figure,
                  power: Figure) -> Balance:
    """Close the balance of a wheel: in equals exhaust, power handed on, wheel, valve and bypass."""
    into = k.power_of_stream.at(f"{ID}.power_in", flow=reject_flow, inlet_pressure=concentrate_pressure,
                                title="Hydraulic power into the device")
    out = k.power_with_shaft.at(f"{ID}.power_out", flow=reject_flow, exhaust_pressure=exhaust_pressure,
                                transferred_power=power)
    net = k.available_drop.at(f"{ID}.wheel_drop_net", concentrate_pressure=t.inlet_pressure,
                              exhaust_pressure=exhaust_pressure, title="Pressure used by the wheel")
    losses = {"wheel": k.wheel_loss.at(f"{ID}.loss_wheel", flow=t.flow, pressure_drop=net,
                                       transfer_efficiency=t.efficiency)}
    if t.bypass is not None and t.valve_drop is not None:
        losses["bypass"] = hydraulic_power_of.at(f"{ID}.loss_bypass", flow=t.bypass, pressure_rise=t.available,
                                                 title="Power lost in the auxiliary valve")
        losses["valve"] = hydraulic_power_of.at(f"{ID}.loss_valve", flow=t.flow, pressure_rise=t.valve_drop,
                                                title="Power lost in the valve before the wheel")
    return Balance(into, out, losses)


def valve_balance(*, reject_flow: Figure, concentrate_pressure: Figure, exhaust_pressure: Figure) -> Balance:
    """Without a device the reject valve burns all."""
    drop = k.available_drop.at(f"{ID}.drop", concentrate_pressure=concentrate_pressure,
                               exhaust_pressure=exhaust_pressure)
    into = k.power_of_stream.at(f"{ID}.power_in", flow=reject_flow, inlet_pressure=concentrate_pressure,
                                title="Hydraulic power into the reject valve")
    out = k.power_of_stream.at(f"{ID}.power_out", flow=reject_flow, inlet_pressure=exhaust_pressure,
                               title="Hydraulic power behind the reject valve")
    lost = hydraulic_power_of.at(f"{ID}.loss_valve", flow=reject_flow, pressure_rise=drop,
                                 title="Power lost in the reject valve")
    return Balance(into, out, {"valve": lost})


def exchanger_drops(of: Device, best: Best | None, *, reject_flow: Figure) -> tuple[Figure, Figure]:
    """Drops of both sides at this flow; the device's own without a `Best`."""
    assert of.high_pressure_drop is not None and of.low_pressure_drop is not None
    if best is None:
        return of.high_pressure_drop, of.low_pressure_drop
    args: dict[str, Any] = {"flow": reject_flow, "reference_flow": best.flow}
    return (k.drop_at_flow.at(f"{ID}.high_drop_at", reference_drop=of.high_pressure_drop, **args,
                              title="Pressure drop of the high-pressure side"),
            k.drop_at_flow.at(f"{ID}.low_drop_at", reference_drop=of.low_pressure_drop, **args,
                              title="Pressure drop of the low-pressure side"))


def exchanger_balance(*, reject_flow: Figure, leakage: Figure, feed_flow: Figure, concentrate_pressure: Figure,
                      suction_pressure: Figure, high_out: Figure, low_out: Figure, high_drop: Figure,
                      low_drop: Figure) -> Balance:
    """Reject and low-pressure feed in; high-pressure feed and spent reject out; leakage and two drops lost."""
    into = k.power_of_two_streams.at(f"{ID}.power_in", first_flow=reject_flow, first_pressure=concentrate_pressure,
                                     second_flow=feed_flow, second_pressure=suction_pressure,
                                     title="Hydraulic power into the exchanger")
    out = k.power_of_two_streams.at(f"{ID}.power_out", first_flow=feed_flow, first_pressure=high_out,
                                    second_flow=reject_flow, second_pressure=low_out,
                                    title="Hydraulic power out of the exchanger")
    across = k.available_drop.at(f"{ID}.leakage_drop", concentrate_pressure=concentrate_pressure,
                                 exhaust_pressure=suction_pressure, title="Pressure that the leakage loses")
    return Balance(into, out, {
        "leakage": hydraulic_power_of.at(f"{ID}.loss_leakage", flow=leakage, pressure_rise=across,
                                         title="Power lost with the leakage"),
        "high_side": hydraulic_power_of.at(f"{ID}.loss_high_side", flow=feed_flow, pressure_rise=high_drop,
                                           title="Power lost on the high-pressure side"),
        "low_side": hydraulic_power_of.at(f"{ID}.loss_low_side", flow=reject_flow, pressure_rise=low_drop,
                                          title="Power lost on the low-pressure side")})
