"""Hydraulic turbines on the concentrate: one unit is sized, every case takes what it can give there.

A turbocharger has a fixed opening: what it cannot take passes by an auxiliary valve. A pump as turbine has a line of
flow and head that moves with the speed of the shaft: a valve before it, or a bypass, takes the difference. A Pelton
turbine takes all flow by its needle and loses when jet and bucket no longer match. Efficiencies are means over the
range of such turbines; the curve of the one bought replaces them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

from desalbook.hydraulics.energy_recovery.balance import (
    Balance,
    available_pressure_drop,
    hydraulic_power_of_stream,
    hydraulic_power_with_transfer,
    pressure_after_drop,
)
from desalbook.hydraulics.energy_recovery.device import (
    ID,
    BestPoint,
    Device,
    DeviceKind,
    Duty,
    Recovery,
    TurbinePoint,
    check_test,
    pump_duty,
)
from desalbook.hydraulics.pump_curves import bep_flow_ratio, efficiency_off_bep, spill_flow, valve_pressure_drop
from desalbook.hydraulics.pumps import hydraulic_power
from desalbook.trail import Figure, assumed, govern, log, maximum, minimum, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import DifferencePa, Factor, Fraction, GaugePa, M3PerS, W

__all__ = ["TURBINE_COLUMNS", "ShaftTurbine", "Turbine", "efficiency_along_curve", "efficiency_of_power",
           "flow_at_pressure_drop", "shaft_power_recovered",
           "turbine_efficiency_by_size", "turbine_flow", "turbine_flow_capacity", "turbine_loss",
           "turbine_pressure_drop"]

TURBINE_COLUMNS = ("no_load_fraction", "idle_drop")


@relation("Flow through the same opening at another pressure", symbol="Q_o", unit="m^3/s", source="definition",
          place="flow through an opening goes with the square root of the pressure across it")
def flow_at_pressure_drop(flow: M3PerS, pressure_drop: DifferencePa, reference_drop: DifferencePa) -> M3PerS:
    """Flow through one opening at another pressure drop, by the square-root law.

    Turbulent flow without cavitation; density taken as equal at both pressures.
    """
    return flow * (pressure_drop / reference_drop) ** 0.5


@relation("Flow that the Pelton turbine can take", symbol="Q_w", unit="m^3/s", source="common-practice",
          place="parabola through standstill and the best-efficiency point; from memory",
          note="a fixed opening where nothing is held at standstill; a manufacturer's curve replaces it")
def turbine_flow_capacity(bep_flow: M3PerS, bep_drop: DifferencePa, pressure_drop: DifferencePa,
                          idle_drop: Fraction, speed_ratio: Factor) -> M3PerS:
    """Flow capacity of a hydraulic turbine at a pressure drop and a speed.

    A parabola by affinity; none where the pressure is below what the rotor holds at no flow.
    """
    return bep_flow * (maximum(pressure_drop / bep_drop - idle_drop * speed_ratio**2, 0) / (1 - idle_drop)) ** 0.5


@relation("Pressure drop over the Pelton turbine", symbol="Delta_p_w", unit="Pa", source="common-practice",
          place="parabola through standstill and the best-efficiency point; from memory",
          note="a fixed opening where nothing is held at standstill; a manufacturer's curve replaces it")
def turbine_pressure_drop(bep_drop: DifferencePa, idle_drop: Fraction, speed_ratio: Factor, flow: M3PerS,
                          bep_flow: M3PerS) -> DifferencePa:
    """Pressure drop across a hydraulic turbine at a flow and a speed.

    A parabola by affinity; a measured curve differs most far from the best-efficiency point.
    """
    return bep_drop * (idle_drop * speed_ratio**2 + (1 - idle_drop) * (flow / bep_flow) ** 2)


@relation("Flow through the Pelton turbine", symbol="Q_t", unit="m^3/s", source="definition",
          note="what the Pelton turbine cannot take passes by through the auxiliary valve")
def turbine_flow(reject_flow: M3PerS, turbine_capacity: M3PerS) -> M3PerS:
    """Flow through a hydraulic turbine: the concentrate, or its capacity if that is smaller.

    The auxiliary valve is taken to pass all the rest.
    """
    return minimum(reject_flow, turbine_capacity)


@relation(
    "Shaft power recovered",
    symbol="P_r",
    unit="W",
    source="fritzmann-2007",
    note="efficiency: shaft power over hydraulic power of the concentrate from inlet to exhaust",
)
def shaft_power_recovered(
    turbine_efficiency: Fraction,
    reject_flow: M3PerS,
    concentrate_pressure: GaugePa,
    exhaust_pressure: GaugePa,
) -> W:
    """Shaft power of a turbine on the concentrate: efficiency times flow times pressure drop.

    The coupling to the pump's shaft is taken without loss.
    """
    return turbine_efficiency * reject_flow * (concentrate_pressure - exhaust_pressure)


@relation("Power loss in the Pelton turbine", symbol="P_w", unit="W", source="definition")
def turbine_loss(flow: M3PerS, pressure_drop: DifferencePa, transfer_efficiency: Fraction) -> W:
    """Power lost inside a turbine: what is not handed on of the power of the water that passes.

    Losses of valve and bypass are counted apart.
    """
    return flow * pressure_drop * (1 - transfer_efficiency)


@relation(
    "Efficiency of the transfer",
    symbol="eta_r",
    unit="1",
    source="fritzmann-2007",
    place="ranges of such equipment, small to large, from memory; even steps of the logarithm of flow: common practice",
    note="the curve of the unit bought replaces it",
)
def turbine_efficiency_by_size(
    flow: M3PerS, flow_low: M3PerS, flow_high: M3PerS, efficiency_low: Fraction, efficiency_high: Fraction
) -> Fraction:
    """Best efficiency of a hydraulic turbine by its size: from that of a small unit to that of a large one.

    Interpolated in the logarithm of flow and held outside; turbines of one size differ by several per cent.
    """
    return efficiency_low + (efficiency_high - efficiency_low) * minimum(
        maximum(log(flow / flow_low) / log(flow_high / flow_low), 0), 1)


@relation("Efficiency along the curve of the sheet", symbol="eta_c", unit="1", source="definition",
          note="straight between two points of the sheet, held outside them")
def efficiency_along_curve(efficiency: Fraction, flow: M3PerS, from_flow: M3PerS, to_flow: M3PerS,
                           from_efficiency: Fraction, to_efficiency: Fraction) -> Fraction:
    """Efficiency of a turbine at a flow by the points of its sheet: what one stretch between two points adds.

    The stretches are gone through in rising flow, from the efficiency of the first point. The curve holds at the
    pressure and speed of the sheet.
    """
    return efficiency + (to_efficiency - from_efficiency) * minimum(
        maximum((flow - from_flow) / (to_flow - from_flow), 0), 1)


@relation("Efficiency of the test, from its shaft power", symbol="eta_P", unit="1", source="fritzmann-2007")
def efficiency_of_power(shaft_power: W, reject_flow: M3PerS, concentrate_pressure: GaugePa,
                        exhaust_pressure: GaugePa) -> Fraction:
    """Efficiency of a turbine from the shaft power stated for a test: over the hydraulic power of its concentrate.

    From inlet to exhaust; losses of the coupling are in it where the power is stated behind it.
    """
    return shaft_power / (reject_flow * (concentrate_pressure - exhaust_pressure))


class Turbine(DeviceKind):
    """What turbines on the concentrate share: sizing for one opening, operating point, balance."""

    columns = TURBINE_COLUMNS
    by_size = ("efficiency",)
    of_size = ("efficiency_low", "efficiency_high", "flow_low", "flow_high")
    stop_title = "Turbine"
    governing_opening = "smallest"
    """A fixed opening is made for the case that needs the smallest one, so that none throttles before it."""
    best_flow_title = "BEP flow, at the best pressure"

    def size(self, of: Device, rejects: Mapping[str, tuple[Figure, Figure, Figure]]) -> BestPoint | None:
        with scope(because=[of.choice]):
            drops = {}
            for n, (_, p, out) in rejects.items():
                with scope(corner=n):
                    drops[n] = available_pressure_drop.at(f"{ID}.available_drop", concentrate_pressure=p,
                                                          exhaust_pressure=out)
            best = govern(f"{ID}.bep_drop", drops, "largest", title="Pressure drop at the best-efficiency point",
                          symbol="Delta_p_b")
            flows = {}
            for n, (q, _, _) in rejects.items():
                with scope(corner=n):
                    flows[n] = flow_at_pressure_drop.at(
                        f"{ID}.bep_flow_train", flow=q, pressure_drop=best, reference_drop=drops[n],
                        title="Flow of the same opening at the best pressure")
            flow = govern(f"{ID}.bep_flow", flows, self.governing_opening, symbol="Q_b", title=self.best_flow_title)
            return BestPoint(flow, best, efficiency=self.efficiency(of, flow))

    def back_at_test(self, of: Device, flow: Figure, found: Figure, name: str, stated: str) -> None:
        """Judge the efficiency that follows from what a sheet states of its test against that of its curve."""
        with scope(instead=(ID, f"{ID}.test")):
            own = self.efficiency(of, flow)
        near = assumed(
            f"{ID}.test_{name}_tolerance", 0.01, "fraction", title="Test run back: tolerance", symbol="x_t",
            source="common-practice", place=f"a sheet prints {name} and efficiency to three digits")
        check_test(f"test_{name}", f"ERD test: {stated} against efficiency", found, own, near)

    def efficiency(self, of: Device, flow: Figure) -> Figure:
        """Best efficiency: that of the sheet's curve at this flow, written, or that of its size."""
        if of.curve:
            return self.along_curve(of, flow)
        if of.efficiency is not None:
            return of.efficiency
        return turbine_efficiency_by_size.at(
            f"{ID}.efficiency", flow=flow, flow_low=of.need("flow_low"), flow_high=of.need("flow_high"),
            efficiency_low=of.need("efficiency_low"), efficiency_high=of.need("efficiency_high"))

    def along_curve(self, of: Device, flow: Figure) -> Figure:
        """Efficiency at a flow by the points of the sheet."""
        eta = of.curve[0][2]
        for (_, low, first), (name, high, last) in pairwise(of.curve):
            end = name == of.curve[-1][0]
            eta = efficiency_along_curve.at(
                f"{ID}.efficiency" if end else f"{ID}.efficiency_up_to[{name}]", efficiency=eta, flow=flow,
                from_flow=low, to_flow=high, from_efficiency=first, to_efficiency=last)
        return eta

    def turbine_operating_point(self, of: Device, duty: Duty, best: BestPoint | None,
                                speed_ratio: Figure | None) -> TurbinePoint:
        """What the turbine takes in one case, and what valve and bypass take.

        Parameters
        ----------
        best : BestPoint or None
            None takes the turbine at its best-efficiency point.
        speed_ratio : Figure or None
            Of the shaft, of full speed; None where the rotor finds its own.
        """
        drop = available_pressure_drop.at(f"{ID}.drop", concentrate_pressure=duty.concentrate_pressure,
                                          exhaust_pressure=duty.exhaust_pressure)
        if best is None:
            eta = self.efficiency(of, duty.reject_flow)
            return TurbinePoint(duty.reject_flow, drop, eta, duty.concentrate_pressure)
        if speed_ratio is None:
            free: Figure = assumed(f"{ID}.speed_ratio", 1.0, "factor", title="Speed of the rotor, of its best",
                                   symbol="r_n", source="common-practice",
                                   place="the rotor finds the speed that suits the flow")
            return self.off_best(of, duty, best, drop, free)
        return self.off_best(of, duty, best, drop, speed_ratio)

    def off_best(self, of: Device, duty: Duty, best: BestPoint, drop: Figure, speed_ratio: Figure) -> TurbinePoint:
        """A rotor with a line of flow and head: bypass where it is too small, a valve where it is too large."""
        assert best.drop is not None
        capacity = turbine_flow_capacity.at(f"{ID}.turbine_capacity", bep_flow=best.flow, bep_drop=best.drop,
                                            pressure_drop=drop, idle_drop=of.need("idle_drop"),
                                            speed_ratio=speed_ratio)
        flow = turbine_flow.at(f"{ID}.turbine_flow", reject_flow=duty.reject_flow, turbine_capacity=capacity)
        bypass = spill_flow.at(f"{ID}.bypass_flow", available_flow=duty.reject_flow, flow=flow,
                               title="Flow through the auxiliary valve")
        asked = turbine_pressure_drop.at(f"{ID}.turbine_drop", bep_drop=best.drop, idle_drop=of.need("idle_drop"),
                                         speed_ratio=speed_ratio, flow=flow, bep_flow=best.flow)
        valve = valve_pressure_drop.at(f"{ID}.valve_drop", available_rise=drop, pressure_rise=asked,
                             title="Pressure drop across the valve before the Pelton turbine")
        inlet = pressure_after_drop.at(f"{ID}.turbine_inlet", inlet_pressure=duty.concentrate_pressure,
                                       pressure_drop=valve, title="Pressure at the inlet of the Pelton turbine")
        if of.curve:
            return TurbinePoint(flow, drop, self.along_curve(of, flow), inlet, bypass, valve)
        share = bep_flow_ratio.at(f"{ID}.flow_fraction", flow=flow, bep_flow=best.flow, speed_ratio=speed_ratio)
        eta = efficiency_off_bep.at(f"{ID}.efficiency_at", best_efficiency=best.efficiency, flow_fraction=share,
                                     no_load_fraction=of.need("no_load_fraction"),
                                     title="Efficiency of the ERD at this flow")
        return TurbinePoint(flow, drop, eta, inlet, bypass, valve)

    def power_balance(self, of: Device, duty: Duty, recovery: Recovery) -> Balance:
        """Power in equals exhaust, power handed on, and the losses in turbine, valve and bypass."""
        t, power = recovery.passing, self.power_handed_on(duty, recovery)
        assert t is not None
        into = hydraulic_power_of_stream.at(f"{ID}.power_in", flow=duty.reject_flow,
                                            inlet_pressure=duty.concentrate_pressure,
                                            title="Hydraulic power into the ERD")
        out = hydraulic_power_with_transfer.at(f"{ID}.power_out", flow=duty.reject_flow,
                                               exhaust_pressure=duty.exhaust_pressure, transferred_power=power)
        net = available_pressure_drop.at(f"{ID}.turbine_drop_net", concentrate_pressure=t.inlet_pressure,
                                         exhaust_pressure=duty.exhaust_pressure,
                                         title="Pressure used by the Pelton turbine")
        losses = {"wheel": turbine_loss.at(f"{ID}.loss_turbine", flow=t.flow, pressure_drop=net,
                                           transfer_efficiency=t.efficiency)}
        if t.bypass is not None and t.valve_drop is not None:
            losses["bypass"] = hydraulic_power.at(f"{ID}.loss_bypass", flow=t.bypass, pressure_rise=t.available,
                                                     title="Power loss in the auxiliary valve")
            losses["valve"] = hydraulic_power.at(f"{ID}.loss_valve", flow=t.flow, pressure_rise=t.valve_drop,
                                                    title="Power loss in the valve before the Pelton turbine")
        return Balance(into, out, losses)

    def power_handed_on(self, duty: Duty, recovery: Recovery) -> Figure:
        """Power given to the shaft."""
        assert recovery.recovered is not None
        return recovery.recovered


class ShaftTurbine(Turbine):
    """A turbine on the shaft of the high-pressure pump: the motor is sized for what remains."""

    on_shaft = True
    results = ("stated_power",)

    def run_test(self, of: Device, inp: Inputs, at: str) -> None:
        stated = inp.optional(f"{at}.stated_power")
        if stated is None:
            return
        flow = inp.number(f"{at}.test_flow")
        found = efficiency_of_power.at(f"{ID}.test_efficiency", shaft_power=stated, reject_flow=flow,
                                       concentrate_pressure=inp.number(f"{at}.test_pressure"),
                                       exhaust_pressure=inp.number(f"{at}.test_low_pressure"))
        self.back_at_test(of, flow, found, "power", "shaft power")

    def run(self, of: Device, duty: Duty, best: BestPoint | None) -> Recovery:
        return Recovery(duty.feed_flow, duty.feed_pressure, pump_duty(duty, duty.feed_pressure),
                        duty.exhaust_pressure)

    def shaft_power(self, of: Device, duty: Duty, recovery: Recovery, best: BestPoint | None,
                    speed_ratio: Figure | None) -> Recovery:
        t = self.turbine_operating_point(of, duty, best, speed_ratio)
        power = shaft_power_recovered.at(f"{ID}.recovered_power", turbine_efficiency=t.efficiency,
                                         reject_flow=t.flow, concentrate_pressure=t.inlet_pressure,
                                         exhaust_pressure=duty.exhaust_pressure)
        return replace(recovery, recovered=power, passing=t)
