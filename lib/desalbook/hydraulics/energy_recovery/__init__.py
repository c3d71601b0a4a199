"""Energy recovery devices: one module a kind, each an object in one registry.

To add a kind: a row in ``data/energy_recovery.toml`` and one in ``data/machine_costs.toml``, a module with a
`DeviceKind`, and its import here.
"""

# ruff: noqa: I001, F401  kinds are imported in the order of the lists of choice
from desalbook.hydraulics.energy_recovery import control_valve
from desalbook.hydraulics.energy_recovery import pump_as_turbine
from desalbook.hydraulics.energy_recovery import pelton
from desalbook.hydraulics.energy_recovery import turbocharger
from desalbook.hydraulics.energy_recovery import isobaric
from desalbook.hydraulics.energy_recovery.balance import Balance
from desalbook.hydraulics.energy_recovery.device import (
    DEVICES,
    BestPoint,
    Device,
    DeviceKind,
    DischargeLine,
    Duty,
    Exhaust,
    Recovery,
    TurbinePoint,
    WaterLineRole,
    complete,
    device,
    exhaust,
    judge_exhaust,
    kind_of,
    kinds,
    recover,
    register,
    registered,
    run,
    shaft_power_with_recovery,
    with_balance,
)

complete()

DEFAULT_DEVICE = isobaric.IsobaricDevice.key
"""What a design that says nothing of it has."""

__all__ = ["DEFAULT_DEVICE", "DEVICES", "Balance", "BestPoint", "Device", "DeviceKind", "DischargeLine", "Duty",
           "Exhaust", "Recovery", "TurbinePoint", "WaterLineRole", "complete", "device", "exhaust", "judge_exhaust",
           "kind_of", "kinds", "recover", "register", "registered", "run", "shaft_power_with_recovery",
           "with_balance"]
