"""Relations of a pump's curve: head and efficiency at any flow and speed, and what each way of control costs."""

from __future__ import annotations

from desalbook.hydraulics.constants import FOOT, GPM, RPM, G, Rotation
from desalbook.trail import exp, log, maximum, minimum, relation, up
from desalbook.units import AbsolutePa, Count, DifferencePa, Factor, Fraction, GaugePa, Head, KgPerM3, M3PerS, W

__all__ = ["best_point_share", "curve_fall", "curve_head", "efficiency_off_best", "flow_at_head", "running_speed",
           "share_of_flow", "shutoff_head_of", "spilt_flow", "stages_for", "suction_needed", "throttled",
           "usable_power", "within_reach"]


@relation("Shut-off head", symbol="H_0", unit="m", source="common-practice",
          place="a rising curve; from memory API 610 asks for a continuous rise to shut-off, best above 10 %")
def shutoff_head_of(head: Head, shutoff_ratio: Factor) -> Head:
    """Head at no flow, from the head of the duty."""
    return head * shutoff_ratio


@relation("Fall of the curve from shut-off to the duty", symbol="H_2", unit="m", source="definition")
def curve_fall(shutoff_head: Head, head: Head) -> Head:
    """The coefficient of the square, at the flow of reference."""
    return shutoff_head - head


@relation("Head on the curve", symbol="H", unit="m", source="hi-edb",
          place="a parabola carried to another speed by Eqs 1.B.6",
          note="a parabola in the flow; the maker's curve replaces it")
def curve_head(shutoff_head: Head, linear_head: Head, square_head: Head, flow: M3PerS, reference_flow: M3PerS,
               speed_ratio: Factor) -> Head:
    """Head that the pump gives at a flow and a speed."""
    return (shutoff_head * speed_ratio**2 + linear_head * speed_ratio * (flow / reference_flow)
            - square_head * (flow / reference_flow) ** 2)


@relation("Speed over full speed", symbol="r_n", unit="1", source="hi-edb",
          place="Eqs 1.B.6 solved for the speed at which the curve passes the duty")
def running_speed(shutoff_head: Head, linear_head: Head, square_head: Head, flow: M3PerS, reference_flow: M3PerS,
                  head: Head) -> Factor:
    """The positive root of the parabola in the speed."""
    return (((linear_head * flow / reference_flow) ** 2
             + 4 * shutoff_head * (square_head * (flow / reference_flow) ** 2 + head)) ** 0.5
            - linear_head * flow / reference_flow) / (2 * shutoff_head)


@relation("Flow at which the pump gives the head, full speed", symbol="Q_H", unit="m^3/s", source="hi-edb",
          place="the parabola solved for the flow")
def flow_at_head(shutoff_head: Head, linear_head: Head, square_head: Head, reference_flow: M3PerS,
                 head: Head) -> M3PerS:
    """Larger root; no flow where the head lies above shut-off."""
    return reference_flow * (linear_head + maximum(
        linear_head**2 + 4 * square_head * (shutoff_head - head), linear_head**2) ** 0.5) / (2 * square_head)


@relation("Flow over the best flow at this speed", symbol="x_Q", unit="1", source="definition")
def best_point_share(flow: M3PerS, best_flow: M3PerS, speed_ratio: Factor) -> Fraction:
    """The best flow goes with the speed."""
    return flow / (best_flow * speed_ratio)


@relation("Efficiency away from the best flow", symbol="eta_x", unit="1", source="common-practice",
          place="parabola through its best point and the flow at which nothing is left; from memory",
          note="equal efficiency along lines of affinity; a maker's curve replaces it")
def efficiency_off_best(best_efficiency: Fraction, flow_share: Fraction, idle_share: Fraction) -> Fraction:
    """No efficiency at the idle flow (none for a pump), the best at the best flow."""
    return best_efficiency * maximum(1 - ((1 - flow_share) / (1 - idle_share)) ** 2, 0)


@relation("Pressure lost in the control valve", symbol="Delta_p_v", unit="Pa", source="definition")
def throttled(available_rise: DifferencePa, pressure_rise: DifferencePa) -> DifferencePa:
    """What the pump gives above what is asked; none when it gives less."""
    return maximum(available_rise - pressure_rise, 0)


@relation("Flow spilt back to suction", symbol="Q_s", unit="m^3/s", source="definition")
def spilt_flow(available_flow: M3PerS, flow: M3PerS) -> M3PerS:
    """A displacement pump at one speed delivers one flow; the rest goes back through a valve."""
    return maximum(available_flow - flow, 0)


@relation("Flow at a share of the best flow", symbol="Q_x", unit="m^3/s", source="common-practice")
def share_of_flow(best_flow: M3PerS, flow_share: Fraction) -> M3PerS:
    """Least continuous flow, or run-out."""
    return best_flow * flow_share


@relation("Stages", symbol="i", unit="1", source="hi-edb", place="specific speed of one stage, US units",
          note="the least number at which one stage reaches the specific speed wanted, up to the most in one casing")
def stages_for(rotation: Rotation, flow: M3PerS, head: Head, specific_speed: Factor, most: Count) -> Count:
    """Head of one stage falls as stages are added, and its specific speed rises."""
    return minimum(up(head / FOOT * exp(4 / 3 * log(specific_speed / (rotation / RPM * (flow / GPM) ** 0.5)))), most)


@relation("Suction pressure that the pump needs", symbol="p_s_min", unit="Pa", source="hi-9-6-1",
          place="the suction head wanted, as gauge pressure at the flange; velocity head left out, on the safe side")
def suction_needed(npsh_wanted: Head, density: KgPerM3, vapour_pressure: AbsolutePa,
                   ambient_pressure: AbsolutePa) -> GaugePa:
    """Vapour pressure and the head wanted, less the atmosphere."""
    return npsh_wanted * density * G + vapour_pressure - ambient_pressure


@relation("Power that the motor may give", symbol="P_u", unit="W", source="nema-mg1",
          place="rating times service factor; from memory: a motor on a drive has none to give")
def usable_power(motor_rating: W, service_factor: Factor) -> W:
    """Continuous load at rated voltage and ambient."""
    return motor_rating * service_factor


@relation("Corner within reach", symbol="b_r", unit="1", source="definition",
          note="one when speed and pressure are there, to a billionth")
def within_reach(speed_ratio: Factor, speed_limit: Factor, available_rise: DifferencePa,
                 pressure_rise: DifferencePa) -> Factor:
    """Speed not above its limit, and the pump gives at least what is asked."""
    return maximum(2 - up(speed_ratio / speed_limit), 0) * maximum(2 - up(pressure_rise / available_rise), 0)
