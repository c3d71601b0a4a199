"""Acceptance tests: what a pump or a motor must reach in its works, and what membranes show on fresh water."""

from __future__ import annotations

from desalbook.trail import constant, relation, where
from desalbook.units import DifferencePa, Fraction, GaugePa, Head, W

__all__ = ["freshwater_feed_pressure", "maximum_test_head", "minimum_test_head", "motor_efficiency_accepted"]

LARGE = constant("P_150", 150e3, "W", source="iec-60034-1")
SMALL_LOSS = constant("x_150", 0.15, "1", source="iec-60034-1")
LARGE_LOSS = constant("x_large", 0.10, "1", source="iec-60034-1")
HALF = constant("x_half", 0.5, "1", source="definition")


@relation("Head accepted, minimum", symbol="H_min", unit="m", source="iso-9906")
def minimum_test_head(head: Head, head_tolerance: Fraction) -> Head:
    """Minimum head at the duty flow that the works test accepts.

    The curve need touch only one arm of the cross of flow and head tolerances: this is the stricter reading.
    """
    return head * (1 - head_tolerance)


@relation("Head accepted, maximum", symbol="H_max", unit="m", source="iso-9906")
def maximum_test_head(head: Head, head_tolerance: Fraction) -> Head:
    """Maximum head at the duty flow that the works test accepts.

    The curve need touch only one arm of the cross of flow and head tolerances: this is the stricter reading.
    """
    return head * (1 + head_tolerance)


@relation("Motor efficiency accepted", symbol="eta_acc", unit="1", source="iec-60034-1")
def motor_efficiency_accepted(efficiency: Fraction, motor_rating: W) -> Fraction:
    """Minimum efficiency of a motor in its type test: the stated one, its losses 15 % (above 150 kW 10 %) larger.

    The tolerance is the motor standard's; a guarantee of the plant's energy does not add another.
    """
    return 1 - (1 - efficiency) * (1 + where(motor_rating <= LARGE, SMALL_LOSS, LARGE_LOSS))


@relation("Feed pressure on fresh water", symbol="p_fw", unit="Pa", source="common-practice")
def freshwater_feed_pressure(net_driving_pressure: DifferencePa, permeate_pressure: GaugePa,
                             vessel_drop: DifferencePa) -> GaugePa:
    """Feed pressure at which elements give their flux on water without salt: no osmotic pressure is to be overcome.

    So the high-pressure pump cannot show its duty point against elements in the works, and salt rejection, boron
    and specific energy cannot be shown at all.
    """
    return net_driving_pressure + permeate_pressure + HALF * vessel_drop
