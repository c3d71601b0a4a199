"""Pump as turbine (PAT): a pump that runs in reverse on the shaft of the high-pressure pump.

Its line of flow and head moves with the speed of the shaft; a valve before it and a bypass take the difference, so
that it falls off quickly away from its best-efficiency point.
"""

from __future__ import annotations

from desalbook.hydraulics.energy_recovery.device import WaterLineRole, register
from desalbook.hydraulics.energy_recovery.turbine import ShaftTurbine

__all__ = ["PumpAsTurbine"]


class PumpAsTurbine(ShaftTurbine):
    """A pump as turbine on the pump's shaft; cheap, with a narrow range."""

    key = "pump-as-turbine"
    label = "Pump as turbine on the shaft"
    cost_key = "pump-as-turbine"
    water_line = WaterLineRole.SHAFT

    def equipment(self, units: int) -> str:
        return "pump as turbine, coupling, valve and bypass"


register(PumpAsTurbine())
