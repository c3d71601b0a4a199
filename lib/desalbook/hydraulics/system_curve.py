"""System curve against pump curve: head over flow, and where they cross.

A pump's curve is a parabola through shut-off and duty until the curve of the pump bought is at hand.
"""

from __future__ import annotations

from desalbook.trail import relation, sqrt
from desalbook.units import Factor, Head

__all__ = ["cleaning_head_of", "crossing_of", "pump_curve_of", "system_head_of", "transfer_head_of"]


@relation("Head of a transfer pump", symbol="H_t", unit="m", source="definition")
def transfer_head_of(static_head: Head, friction_head: Head, outlet_head: Head) -> Head:
    """Lift, pipes and fittings, pressure wanted."""
    return static_head + friction_head + outlet_head


@relation("Head the cleaning pump needs", symbol="H_cl", unit="m", source="definition")
def cleaning_head_of(static_head: Head, friction_head: Head, cartridge_head: Head, outlet_head: Head) -> Head:
    """Lift, pipes out and back, cartridges, pressure at the vessels."""
    return static_head + friction_head + cartridge_head + outlet_head


@relation(
    "Head the system asks for",
    symbol="H_sys",
    unit="m",
    source="hi-edb",
    place="system curve",
    note="turbulent pipes with the square of flow, media and cartridges in proportion to it",
)
def system_head_of(static_head: Head, friction_head: Head, media_head: Head, flow_ratio: Factor) -> Head:
    """Static, pipes and media, from their losses at duty."""
    return static_head + friction_head * flow_ratio**2 + media_head * flow_ratio


@relation(
    "Head of the pump",
    symbol="H_p",
    unit="m",
    source="common-practice",
    place="parabola through shut-off and duty",
    note="the curve of the pump bought replaces it",
)
def pump_curve_of(shutoff_head: Head, pump_head: Head, flow_ratio: Factor) -> Head:
    """Falls from shut-off with the square of flow."""
    return shutoff_head - (shutoff_head - pump_head) * flow_ratio**2


@relation(
    "Flow where pump and system meet, over flow at duty",
    symbol="r_Q",
    unit="1",
    source="definition",
    note="at full speed, nothing throttled",
)
def crossing_of(
    shutoff_head: Head, pump_head: Head, static_head: Head, friction_head: Head, media_head: Head
) -> Factor:
    """Positive root of the quadratic equation of the two curves."""
    return (2 * (shutoff_head - static_head)) / (
        media_head
        + sqrt(media_head**2 + 4 * (friction_head + shutoff_head - pump_head) * (shutoff_head - static_head))
    )
