"""Relations of recovery devices away from their best point, and the powers that enter and leave them."""

from __future__ import annotations

from desalbook.trail import maximum, minimum, relation, up
from desalbook.units import Count, DifferencePa, Factor, Fraction, GaugePa, M3PerS, W

__all__ = ["available_drop", "drop_at_flow", "flow_at_drop", "jet_share", "one_less",
           "power_of_stream", "power_of_two_streams", "power_with_shaft", "share_left", "through_wheel",
           "units_for", "wheel_drop", "wheel_flow", "wheel_loss"]


@relation("Pressure at the disposal of the device", symbol="Delta_p_a", unit="Pa", source="definition")
def available_drop(concentrate_pressure: GaugePa, exhaust_pressure: GaugePa) -> DifferencePa:
    """Reject header less exhaust."""
    return concentrate_pressure - exhaust_pressure


@relation("Flow through the same opening at another pressure", symbol="Q_o", unit="m^3/s", source="definition",
          place="flow through an opening goes with the square root of the pressure across it")
def flow_at_drop(flow: M3PerS, pressure_drop: DifferencePa, reference_drop: DifferencePa) -> M3PerS:
    """Flow at one pressure, from the flow at a pressure of reference."""
    return flow * (pressure_drop / reference_drop) ** 0.5


@relation("Pressure drop at another flow", symbol="Delta_p", unit="Pa", source="definition",
          place="turbulent loss goes with the square of the flow")
def drop_at_flow(reference_drop: DifferencePa, flow: M3PerS, reference_flow: M3PerS) -> DifferencePa:
    """Drop at the flow of reference, carried to another flow."""
    return reference_drop * (flow / reference_flow) ** 2


@relation("Flow that the wheel can take", symbol="Q_w", unit="m^3/s", source="common-practice",
          place="parabola through standstill and the best point; from memory",
          note="a fixed opening where nothing is held at standstill; a maker's curve replaces it")
def wheel_flow(best_flow: M3PerS, best_drop: DifferencePa, pressure_drop: DifferencePa, idle_drop: Fraction,
               speed_ratio: Factor) -> M3PerS:
    """Flow at which its line asks for this pressure."""
    return best_flow * (maximum(pressure_drop / best_drop - idle_drop * speed_ratio**2, 0) / (1 - idle_drop)) ** 0.5


@relation("Pressure drop over the wheel", symbol="Delta_p_w", unit="Pa", source="common-practice",
          place="parabola through standstill and the best point; from memory",
          note="a fixed opening where nothing is held at standstill; a maker's curve replaces it")
def wheel_drop(best_drop: DifferencePa, idle_drop: Fraction, speed_ratio: Factor, flow: M3PerS,
               best_flow: M3PerS) -> DifferencePa:
    """What its line asks for at this flow and speed."""
    return best_drop * (idle_drop * speed_ratio**2 + (1 - idle_drop) * (flow / best_flow) ** 2)


@relation("Flow through the wheel", symbol="Q_t", unit="m^3/s", source="definition",
          note="what the wheel cannot take passes by through the auxiliary valve")
def through_wheel(reject_flow: M3PerS, wheel_capacity: M3PerS) -> M3PerS:
    """The reject, or as much as passes."""
    return minimum(reject_flow, wheel_capacity)


@relation("Speed over jet, of its best", symbol="x_u", unit="1", source="white-fluid-mechanics",
          place="impulse turbines: power goes with bucket speed times (jet less bucket); from memory",
          note="the wheel keeps its diameter; its best is at full speed and the greatest pressure")
def jet_share(speed_ratio: Factor, best_drop: DifferencePa, pressure_drop: DifferencePa) -> Fraction:
    """Bucket speed over jet speed, relative to the best: the efficiency is a parabola in it."""
    return speed_ratio * (best_drop / pressure_drop) ** 0.5


@relation("Devices side by side", symbol="n_x", unit="1", source="definition")
def units_for(flow: M3PerS, unit_flow: M3PerS) -> Count:
    """Whole devices for the flow."""
    return up(flow / unit_flow)


@relation("Devices left with one out", symbol="n_l", unit="1", source="definition")
def one_less(units: Count) -> Count:
    """One is being repaired."""
    return units - 1


@relation("Reject that the devices left can take", symbol="x_l", unit="1", source="definition")
def share_left(flow: M3PerS, unit_flow: M3PerS, units: Count) -> Fraction:
    """Their rating over the flow, at most all of it."""
    return minimum(units * unit_flow / flow, 1)


@relation("Hydraulic power of a stream", symbol="P_q", unit="W", source="definition", note="above atmosphere")
def power_of_stream(flow: M3PerS, inlet_pressure: GaugePa) -> W:
    """Flow times gauge pressure."""
    return flow * inlet_pressure


@relation("Hydraulic power of two streams", symbol="P_q", unit="W", source="definition", note="above atmosphere")
def power_of_two_streams(first_flow: M3PerS, first_pressure: GaugePa, second_flow: M3PerS,
                         second_pressure: GaugePa) -> W:
    """Sum of flow times gauge pressure."""
    return first_flow * first_pressure + second_flow * second_pressure


@relation("Power that leaves the device", symbol="P_o", unit="W", source="definition")
def power_with_shaft(flow: M3PerS, exhaust_pressure: GaugePa, transferred_power: W) -> W:
    """Hydraulic power of the reject at the exhaust, and what is handed on."""
    return flow * exhaust_pressure + transferred_power


@relation("Power lost in the wheel", symbol="P_w", unit="W", source="definition")
def wheel_loss(flow: M3PerS, pressure_drop: DifferencePa, transfer_efficiency: Fraction) -> W:
    """What is not handed on of the power of the water that passes."""
    return flow * pressure_drop * (1 - transfer_efficiency)
