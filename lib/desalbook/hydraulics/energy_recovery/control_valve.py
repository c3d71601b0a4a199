"""No energy recovery: a control valve burns the pressure of the concentrate."""

from __future__ import annotations

from collections.abc import Mapping

from desalbook.hydraulics.energy_recovery.balance import (
    Balance,
    available_pressure_drop,
    hydraulic_power_of_stream,
)
from desalbook.hydraulics.energy_recovery.device import (
    ID,
    BestPoint,
    Device,
    DeviceKind,
    Duty,
    Recovery,
    WaterLineRole,
    pump_duty,
    register,
)
from desalbook.hydraulics.pumps import hydraulic_power
from desalbook.trail import Figure

__all__ = ["ControlValve"]


class ControlValve(DeviceKind):
    """A valve on the concentrate holds the feed pressure; nothing is given back."""

    key = "none"
    label = "Control valve, no recovery"
    columns = ()
    cost_key = "none"
    water_line = WaterLineRole.VALVE
    stop_title = "Concentrate valve"
    recovers = False

    def size(self, of: Device, rejects: Mapping[str, tuple[Figure, Figure, Figure]]) -> BestPoint | None:
        return None

    def run(self, of: Device, duty: Duty, best: BestPoint | None) -> Recovery:
        return Recovery(duty.feed_flow, duty.feed_pressure, pump_duty(duty, duty.feed_pressure),
                        duty.exhaust_pressure)

    def power_balance(self, of: Device, duty: Duty, recovery: Recovery) -> Balance:
        drop = available_pressure_drop.at(f"{ID}.drop", concentrate_pressure=duty.concentrate_pressure,
                                          exhaust_pressure=duty.exhaust_pressure)
        into = hydraulic_power_of_stream.at(f"{ID}.power_in", flow=duty.reject_flow,
                                            inlet_pressure=duty.concentrate_pressure,
                                            title="Hydraulic power into the concentrate valve")
        out = hydraulic_power_of_stream.at(f"{ID}.power_out", flow=duty.reject_flow,
                                           inlet_pressure=duty.exhaust_pressure,
                                           title="Hydraulic power downstream of the concentrate valve")
        lost = hydraulic_power.at(f"{ID}.loss_valve", flow=duty.reject_flow, pressure_rise=drop,
                                     title="Power loss in the concentrate valve")
        return Balance(into, out, {"valve": lost})

    def equipment(self, units: int) -> str:
        return "concentrate control valve"


register(ControlValve())
