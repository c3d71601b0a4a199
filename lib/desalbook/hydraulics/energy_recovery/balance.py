"""Pressures and hydraulic powers that any energy recovery device shares: what enters, what leaves, what is lost.

There is no standard definition of the efficiency of such a device; each relation says which one it uses.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from desalbook.hydraulics.constants import G
from desalbook.trail import Figure, maximum, relation
from desalbook.units import DifferencePa, GaugePa, Head, KgPerM3, M3PerS, W

__all__ = ["Balance", "available_pressure_drop", "exhaust_pressure_held", "exhaust_pressure_of_line",
           "hydraulic_power_of_stream", "hydraulic_power_of_two_streams", "hydraulic_power_with_transfer",
           "pressure_after_drop", "pressure_drop_at_flow", "pressure_rise"]


@dataclass(frozen=True)
class Balance:
    """Hydraulic power that enters a device, what leaves it (streams and shaft), and each loss, W.

    `efficiency` is out over in of an isobaric device, None for all others.
    """

    into: Figure
    out: Figure
    losses: dict[str, Figure] = field(default_factory=dict)
    efficiency: Figure | None = None


@relation("Pressure rise of the pump", symbol="Delta_p", unit="Pa", source="definition")
def pressure_rise(discharge_pressure: GaugePa, suction_pressure: GaugePa) -> DifferencePa:
    """Pressure rise of a pump or booster: discharge less suction.

    Gauge pressures at both flanges, brought to one level; velocity heads are neglected.
    """
    return discharge_pressure - suction_pressure


@relation("Pressure at the disposal of the ERD", symbol="Delta_p_a", unit="Pa", source="definition")
def available_pressure_drop(concentrate_pressure: GaugePa, exhaust_pressure: GaugePa) -> DifferencePa:
    """Pressure drop available to an energy recovery device: concentrate header less exhaust.

    Losses of the pipe between header and device are not in it.
    """
    return concentrate_pressure - exhaust_pressure


@relation("Pressure downstream of a loss", symbol="p_o", unit="Pa", source="definition")
def pressure_after_drop(inlet_pressure: GaugePa, pressure_drop: DifferencePa) -> GaugePa:
    """Pressure downstream of a pressure drop, or upstream of a pressure gain.

    Holds for one stream at one level; velocity heads are neglected.
    """
    return inlet_pressure - pressure_drop


@relation("Pressure at the exhaust of the ERD", symbol="p_ex", unit="Pa", source="definition")
def exhaust_pressure_of_line(static_head: Head, friction_head: Head, density: KgPerM3) -> GaugePa:
    """Exhaust pressure of an energy recovery device: head of the line to the outfall, static and friction.

    Not below the atmosphere: a line that falls by more than its friction takes is vented at its high point and runs
    partly full, so no siphon is credited. An outfall above the device asks for its whole head.
    """
    return maximum(density * G * (static_head + friction_head), 0)


@relation("Pressure at the low-pressure outlet", symbol="p_ex", unit="Pa", source="common-practice")
def exhaust_pressure_held(
    static_head: Head, friction_head: Head, density: KgPerM3, back_pressure: GaugePa
) -> GaugePa:
    """Exhaust pressure with a minimum back-pressure that a valve keeps: the larger of line and minimum.

    The valve is taken to hold its set point exactly; below the minimum the device cavitates.
    """
    return maximum(density * G * (static_head + friction_head), back_pressure)


@relation("Pressure drop at another flow", symbol="Delta_p", unit="Pa", source="definition",
          place="turbulent loss goes with the square of the flow")
def pressure_drop_at_flow(reference_drop: DifferencePa, flow: M3PerS, reference_flow: M3PerS) -> DifferencePa:
    """Pressure drop at another flow, by the square law.

    Fully turbulent passages; at a small fraction of the reference flow the drop is underestimated.
    """
    return reference_drop * (flow / reference_flow) ** 2


@relation("Hydraulic power of a stream", symbol="P_q", unit="W", source="definition", note="above atmosphere")
def hydraulic_power_of_stream(flow: M3PerS, inlet_pressure: GaugePa) -> W:
    """Hydraulic power of one stream: flow times gauge pressure.

    Water counts as incompressible; kinetic energy is neglected.
    """
    return flow * inlet_pressure


@relation("Hydraulic power of two streams", symbol="P_q", unit="W", source="definition", note="above atmosphere")
def hydraulic_power_of_two_streams(first_flow: M3PerS, first_pressure: GaugePa, second_flow: M3PerS,
                                   second_pressure: GaugePa) -> W:
    """Hydraulic power of two streams: the sum of flow times gauge pressure.

    Water counts as incompressible; kinetic energy is neglected.
    """
    return first_flow * first_pressure + second_flow * second_pressure


@relation("Power that leaves the ERD", symbol="P_o", unit="W", source="definition")
def hydraulic_power_with_transfer(flow: M3PerS, exhaust_pressure: GaugePa, transferred_power: W) -> W:
    """Power that leaves a device: the concentrate at the exhaust and what is handed on to shaft or feed.

    Heat and noise are losses, not output.
    """
    return flow * exhaust_pressure + transferred_power
