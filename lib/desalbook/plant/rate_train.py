"""The pressure train over many cases: pump, recovery device, booster and motors, by the relations of the record.

The pump runs on its curve, the device as it was sized; the suction pressure is what the walk found.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.balances import flow_per_unit
from desalbook.hydraulics import energy_recovery as er
from desalbook.hydraulics import motor as mo
from desalbook.hydraulics import pipes
from desalbook.hydraulics import pump_curve_relations as cr
from desalbook.hydraulics import pump_relations as pr
from desalbook.hydraulics.energy import specific_energy
from desalbook.hydraulics.head import pressure_head, pressure_of_head
from desalbook.hydraulics.pump_relations import displacement_speed as cr_speed
from desalbook.plant.energy_relations import section_of
from desalbook.plant.pressure import of_all, one_power
from desalbook.trail import relation, values
from desalbook.units import DifferencePa, M3PerS, W

__all__ = ["electric", "throttle_loss_of", "train"]


@relation("Power lost in the throttle", symbol="P_th", unit="W", source="definition")
def throttle_loss_of(flow: M3PerS, pressure_rise: DifferencePa, needed_rise: DifferencePa) -> W:
    """Rise of the pump beyond what the membranes ask for, burnt in a valve."""
    return flow * (pressure_rise - needed_rise)


def _friction(reynolds: np.ndarray, relative: float) -> np.ndarray:
    """Darcy factors from the property library, case by case."""
    from fluids.friction import friction_factor

    return np.array([friction_factor(Re=float(x), eD=relative) for x in reynolds])


def _line_head(ledger: Any, flow: np.ndarray, density: np.ndarray, viscosity: np.ndarray) -> np.ndarray:
    run = "piping.runs[reject]"
    bore = float(ledger[f"{run}.diameter"])
    velocity = pipes.pipe_velocity.plain(flow, bore)
    reynolds = pipes.reynolds_number.plain(density, velocity, bore, viscosity)
    factor = _friction(reynolds, float(ledger[f"{run}.roughness"]) / bore)
    return pipes.darcy_weisbach_head_loss.plain(factor, float(ledger[f"{run}.length"]), bore,
                                                float(ledger[f"{run}.fitting_losses"]), velocity)


def electric(pump: Any, flow: Any, rise: Any, efficiency: Any, recovered: Any = None) -> tuple[Any, Any]:
    """Electric power and load of one machine."""
    shaft = pr.shaft_power_of.plain(pr.hydraulic_power_of.plain(flow, rise), efficiency)
    if recovered is not None:
        shaft = pr.net_shaft_power.plain(shaft, recovered)
    load = mo.motor_load.plain(shaft, float(pump.motor_rating))
    efficiency = mo.part_load_efficiency.plain(float(pump.motor_full_load_efficiency), load)
    power = mo.electric_power_of.plain(shaft, efficiency)
    if pump.drive_efficiency is not None:
        power = mo.through_drive.plain(power, mo.drive_at_load.plain(float(pump.drive_efficiency), load))
    return power, load


def train(sized: Any, control: str, *, feed_flow: np.ndarray, permeate_flow: np.ndarray, reject_flow: np.ndarray,
          feed_pressure: np.ndarray, concentrate_pressure: np.ndarray, reject_density: np.ndarray,
          reject_viscosity: np.ndarray, density: np.ndarray) -> dict[str, np.ndarray]:
    """Flows, pressures and electric power of the pressure train, one row a case.

    Parameters
    ----------
    sized : Sized
    control : str
        With ``throttle`` a pump at full speed and a valve, with ``speed`` a drive; else what the plant has.
    feed_flow, permeate_flow, reject_flow : array
        Of the membranes of one train (their first pass), m3/s.
    feed_pressure, concentrate_pressure : array
        Gauge, Pa.
    reject_density, density, reject_viscosity : array
        Of reject and raw water, kg/m3; of the reject, Pa s.

    Returns
    -------
    dict
        ``hp_flow``, ``hp_rise``, ``hp_speed``, ``hp_power``, ``hp_load``, ``hp_reaches`` (one when the pump can),
        ``booster_power``, ``section_power``, ``specific_energy`` (J per m3 of permeate), ``throttle_loss``,
        ``exhaust_pressure``.
    """
    ledger, p, of = sized.ledger, sized.pressure, sized.device
    suction, n = float(sized.pretreated.suction.pressure), float(ledger["hp_pump.duty_count"])
    with values(keep=False):
        out = er.exhaust(of, er.DischargeLine(
            ledger["energy_recovery.outfall_rise"], _line_head(ledger, reject_flow, reject_density, reject_viscosity),
            reject_density)).pressure
        duty = er.Duty(feed_flow, permeate_flow, reject_flow, feed_pressure, concentrate_pressure, suction, out,
                       ledger["booster.piping_loss"] if p.booster is not None else None)
        left = er.run(of, duty, p.best)
    flow, asked, booster = left.hp_flow, left.hp_rise, np.zeros_like(feed_pressure)
    if p.booster is not None:
        booster, _ = electric(p.booster, left.booster_flow, left.booster_pressure_rise, float(p.booster.efficiency))
    one, head = flow_per_unit.plain(flow, n), pressure_head.plain(asked, density)
    drive = {"throttle": False, "speed": True}.get(control, str(ledger["hp_pump.drive"]) == "yes")
    pumped, rise, eta, given = one, asked, float(p.hp_pump.efficiency), asked
    if p.curve is None:
        speed = cr_speed.plain(one, float(p.hp_pump.flow)) if drive else np.ones_like(one)
        if not drive:
            pumped = np.full_like(one, float(p.hp_pump.flow))
    else:
        line = {k: float(v) for k, v in p.curve.head_line.items()}
        speed = cr.running_speed.plain(flow=one, head=head, **line) if drive else np.ones_like(one)
        if not drive:
            gives = cr.curve_head.plain(flow=one, speed_ratio=speed, **line)
            given = rise = pressure_of_head.plain(gives, density)
        share = cr.best_point_share.plain(one, float(p.curve.best_flow), speed)
        eta = cr.efficiency_off_best.plain(float(p.curve.best_efficiency), share, float(p.curve.idle_share))
    reaches = cr.within_reach.plain(speed, float(ledger["hp_pump.speed_limit"]), given, asked)
    with values(keep=False):
        shaft = er.shaft_power_with_recovery(of, duty, left, p.best, speed).recovered
    recovered = None if shaft is None else one_power.plain(shaft, n)
    power, load = electric(p.hp_pump, pumped, rise, eta, recovered)
    hp = of_all.plain(power, n)
    section = section_of.plain(hp, booster)
    return {"hp_flow": flow, "hp_rise": rise, "hp_speed": speed, "hp_power": hp, "hp_load": load,
            "hp_reaches": reaches, "booster_power": booster, "section_power": section,
            "specific_energy": specific_energy.plain(section, permeate_flow),
            "throttle_loss": throttle_loss_of.plain(flow, rise, asked),
            "exhaust_pressure": np.broadcast_to(out, feed_pressure.shape)}
