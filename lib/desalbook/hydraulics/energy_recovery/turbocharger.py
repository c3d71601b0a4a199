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
from desalbook.units import DifferencePa, Fraction, GaugePa, M3PerS

__all__ = ["Turbocharger", "turbocharger_boost"]


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

    One efficiency from concentrate to feed; it falls with the size of the machine and away from its best-efficiency
    point.
    """
    return transfer_efficiency * (reject_flow / feed_flow) * (concentrate_pressure - exhaust_pressure)


class Turbocharger(Turbine):
    """Turbine and pump on one free rotor, on the whole feed."""

    key = "turbocharger"
    label = "Hydraulic turbocharger"
    cost_key = "turbocharger"
    water_line = WaterLineRole.IN_FEED
    stop_title = "Turbocharger"
    boosts_feed = True

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
