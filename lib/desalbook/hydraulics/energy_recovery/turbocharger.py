"""Hydraulic turbocharger: a turbine on the concentrate drives a pump on the whole feed, downstream of the HP pump.

Its opening is fixed: what it cannot take passes by an auxiliary valve. The rotor finds the speed that suits the flow.
"""

from __future__ import annotations

from desalbook.hydraulics.energy_recovery.balance import pressure_after_drop
from desalbook.hydraulics.energy_recovery.device import (
    ID,
    BestPoint,
    Device,
    Duty,
    Recovery,
    WaterLineRole,
    pump_duty,
    register,
)
from desalbook.hydraulics.energy_recovery.turbine import Turbine
from desalbook.hydraulics.pumps import hydraulic_power
from desalbook.trail import Figure, relation
from desalbook.trail.inputs import Inputs
from desalbook.units import DifferencePa, Fraction, GaugePa, M3PerS

__all__ = ["Turbocharger", "efficiency_of_boost", "turbocharger_boost"]


@relation(
    "Boost of the turbocharger",
    symbol="Delta_p_t",
    unit="Pa",
    source="common-practice",
    note="efficiency: hydraulic power given to the feed over hydraulic power of the concentrate",
)
def turbocharger_boost(
    transfer_efficiency: Fraction,
    reject_flow: M3PerS,
    feed_flow: M3PerS,
    concentrate_pressure: GaugePa,
    exhaust_pressure: GaugePa,
) -> DifferencePa:
    """Boost of a hydraulic turbocharger: pressure that the concentrate gives to the whole feed.

    One efficiency from concentrate to feed; it falls with the size of the unit and away from its best-efficiency
    point.
    """
    return transfer_efficiency * (reject_flow / feed_flow) * (concentrate_pressure - exhaust_pressure)


@relation("Efficiency of the test, from its boost", symbol="eta_b", unit="1", source="common-practice",
          note="hydraulic power given to the feed over hydraulic power of the concentrate")
def efficiency_of_boost(boost: DifferencePa, feed_flow: M3PerS, reject_flow: M3PerS, concentrate_pressure: GaugePa,
                        exhaust_pressure: GaugePa) -> Fraction:
    """Efficiency of a turbocharger from the boost stated for a test.

    Whole feed and whole concentrate pass it; an auxiliary nozzle is closed.
    """
    return boost * feed_flow / (reject_flow * (concentrate_pressure - exhaust_pressure))


class Turbocharger(Turbine):
    """Turbine and pump on one free rotor, on the whole feed."""

    key = "turbocharger"
    label = "Hydraulic turbocharger"
    cost_key = "turbocharger"
    water_line = WaterLineRole.IN_FEED
    stop_title = "Turbocharger"
    boosts_feed = True
    results = ("stated_boost",)

    def run_test(self, of: Device, inp: Inputs, at: str) -> None:
        stated = inp.optional(f"{at}.stated_boost")
        if stated is None:
            return
        flow = inp.number(f"{at}.test_flow")
        found = efficiency_of_boost.at(f"{ID}.test_efficiency", boost=stated, reject_flow=flow,
                                       feed_flow=inp.number(f"{at}.test_feed_flow"),
                                       concentrate_pressure=inp.number(f"{at}.test_pressure"),
                                       exhaust_pressure=inp.number(f"{at}.test_low_pressure"))
        self.back_at_test(of, flow, found, "boost", "boost")

    def run(self, of: Device, duty: Duty, best: BestPoint | None) -> Recovery:
        t = self.turbine_operating_point(of, duty, best, None)
        boost = turbocharger_boost.at(f"{ID}.boost", transfer_efficiency=t.efficiency, reject_flow=t.flow,
                                      feed_flow=duty.feed_flow, concentrate_pressure=t.inlet_pressure,
                                      exhaust_pressure=duty.exhaust_pressure)
        discharge = pressure_after_drop.at("hp_pump.discharge_pressure", inlet_pressure=duty.feed_pressure,
                                           pressure_drop=boost, title="Discharge pressure of the pump", symbol="p_d")
        return Recovery(duty.feed_flow, discharge, pump_duty(duty, discharge), duty.exhaust_pressure, boost,
                        passing=t)

    def power_handed_on(self, duty: Duty, recovery: Recovery) -> Figure:
        """Hydraulic power given to the feed."""
        return hydraulic_power.at(f"{ID}.power_given", flow=duty.feed_flow, pressure_rise=recovery.boost,
                                     title="Hydraulic power given to the feed")

    def equipment(self, units: int) -> str:
        return "turbocharger with auxiliary valve"


register(Turbocharger())
