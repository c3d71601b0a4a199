"""Pelton turbine: an impulse turbine on the shaft of the high-pressure pump, its concentrate free in air.

The needle takes any flow without loss; the efficiency falls when jet and bucket speed no longer match. Where the
concentrate must rise to its outfall, a pump lifts it, for the turbine runs at zero gauge.
"""

from __future__ import annotations

from desalbook.hydraulics.energy_recovery.balance import exhaust_pressure_of_line
from desalbook.hydraulics.energy_recovery.device import (
    ID,
    BestPoint,
    Device,
    DischargeLine,
    Duty,
    Exhaust,
    TurbinePoint,
    WaterLineRole,
    register,
)
from desalbook.hydraulics.energy_recovery.turbine import ShaftTurbine
from desalbook.hydraulics.pump_curves import efficiency_off_bep
from desalbook.trail import Figure, assumed, note, relation
from desalbook.units import DifferencePa, Factor, Fraction

__all__ = ["PeltonTurbine", "jet_speed_ratio"]


@relation("Speed over jet, of its best", symbol="x_u", unit="1", source="white-fluid-mechanics",
          place="impulse turbines: power goes with bucket speed times (jet less bucket); from memory",
          note="the Pelton turbine keeps its diameter; its best is at full speed and the maximum pressure")
def jet_speed_ratio(speed_ratio: Factor, bep_drop: DifferencePa, pressure_drop: DifferencePa) -> Fraction:
    """Bucket speed over jet speed of an impulse turbine, relative to the best: the efficiency is a parabola in it.

    Nozzle losses are taken as the same fraction at every opening; at small openings real nozzles lose more.
    """
    return speed_ratio * (bep_drop / pressure_drop) ** 0.5


class PeltonTurbine(ShaftTurbine):
    """An impulse turbine on the pump's shaft."""

    key = "pelton"
    label = "Pelton turbine on the shaft"
    cost_key = "pelton"
    water_line = WaterLineRole.SHAFT
    free_exhaust = True
    governing_opening = "largest"
    best_flow_title = "Largest needle opening at BEP pressure"

    def exhaust(self, of: Device, line: DischargeLine) -> Exhaust:
        wanted = exhaust_pressure_of_line.at(
            f"{ID}.concentrate_line_pressure", static_head=line.static_head, friction_head=line.friction_head,
            density=line.density, title="Required concentrate-line pressure")
        free = assumed(f"{ID}.exhaust_pressure", 0.0, "gauge pressure", title="Pressure at the exhaust of the ERD",
                       symbol="p_ex", text="0 barg", source="definition", place="a Pelton turbine runs in air")
        return Exhaust(free, line, wanted)

    def judge_exhaust(self, exhaust: Exhaust) -> None:
        wanted = exhaust.line_pressure
        assert wanted is not None
        needs = wanted.value > 0.0
        note(f"{ID}.concentrate_pump", title="Concentrate discharge of the Pelton turbine",
             verdict="review" if needs else "passes",
             why="the Pelton turbine discharges at zero gauge and the concentrate must be pumped" if needs
             else "the concentrate runs off by gravity",
             do="lower the outfall, widen the line, or add a concentrate pump",
             inputs={"wanted": wanted, "exhaust": exhaust.pressure})

    def off_best(self, of: Device, duty: Duty, best: BestPoint, drop: Figure, speed_ratio: Figure) -> TurbinePoint:
        assert best.drop is not None
        share = jet_speed_ratio.at(f"{ID}.flow_fraction", speed_ratio=speed_ratio, bep_drop=best.drop,
                                   pressure_drop=drop)
        peak = self.along_curve(of, duty.reject_flow) if of.curve else best.efficiency
        eta = efficiency_off_bep.at(f"{ID}.efficiency_at", best_efficiency=peak, flow_fraction=share,
                                     no_load_fraction=of.need("no_load_fraction"),
                                     title="Efficiency of the Pelton turbine at this speed and jet",
                                     note="the needle takes the flow without loss")
        return TurbinePoint(duty.reject_flow, drop, eta, duty.concentrate_pressure)

    def equipment(self, units: int) -> str:
        return "turbine, coupling, sump"


register(PeltonTurbine())
