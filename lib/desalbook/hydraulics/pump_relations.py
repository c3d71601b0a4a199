"""Relations of pumps: powers, suction head, speed, and the efficiency that makers reach."""

from __future__ import annotations

from desalbook.hydraulics.constants import FOOT, GPM, RPM, G, Rotation
from desalbook.tables import table
from desalbook.trail import Lookup, exp, log10, lookup, relation
from desalbook.units import (
    Count,
    DeltaK,
    DifferencePa,
    Factor,
    Fraction,
    Head,
    JPerKgK,
    M3PerS,
    W,
)

__all__ = [
    "SPEED_LOSS",
    "affinity_flow",
    "affinity_head",
    "affinity_power",
    "attainable_efficiency",
    "average_efficiency",
    "derated_efficiency",
    "displacement_speed",
    "hydraulic_power_of",
    "net_shaft_power",
    "shaft_power_of",
    "specific_speed_of",
    "temperature_rise_of",
]


def _speed_loss() -> Lookup:
    rows = table("pump_specific_speed").ascending("specific_speed")
    return Lookup(
        "SPEED_LOSS",
        "Efficiency lost to specific speed",
        tuple(row["specific_speed"].value for row in rows),
        tuple(row["loss"].value for row in rows),
        "1",
        "1",
        rows[0].source,
        rows[0].place,
    )


SPEED_LOSS = _speed_loss()


@relation("Hydraulic power", symbol="P_h", unit="W", source="definition")
def hydraulic_power_of(flow: M3PerS, pressure_rise: DifferencePa) -> W:
    """What the water takes up."""
    return flow * pressure_rise


@relation("Shaft power", symbol="P_shaft", unit="W", source="hi-edb", place="Eq. 1.B.4")
def shaft_power_of(hydraulic_power: W, pump_efficiency: Fraction) -> W:
    """What the pump takes from its shaft."""
    return hydraulic_power / pump_efficiency


@relation("Shaft power left for the motor", symbol="P_net", unit="W", source="definition")
def net_shaft_power(shaft_power: W, recovered_power: W) -> W:
    """Pump shaft less what a wheel on the same shaft gives back."""
    return shaft_power - recovered_power


@relation(
    "Temperature rise in the pump",
    symbol="Delta_T",
    unit="K",
    source="definition",
    note="all losses heat the water; compression heating left out",
)
def temperature_rise_of(head: Head, pump_efficiency: Fraction, heat_capacity: JPerKgK) -> DeltaK:
    """Losses over the heat capacity of the water that passes."""
    return G * head * (1 / pump_efficiency - 1) / heat_capacity


@relation("Flow at another speed", symbol="Q_2", unit="m^3/s", source="hi-edb", place="Eq. 1.B.6")
def affinity_flow(flow: M3PerS, speed_ratio: Factor) -> M3PerS:
    """Flow goes with speed."""
    return flow * speed_ratio


@relation("Head at another speed", symbol="H_2", unit="m", source="hi-edb", place="Eq. 1.B.6")
def affinity_head(head: Head, speed_ratio: Factor) -> Head:
    """Head goes with the square of speed."""
    return head * speed_ratio**2


@relation("Shaft power at another speed", symbol="P_2", unit="W", source="hi-edb", place="Eq. 1.B.6")
def affinity_power(shaft_power: W, speed_ratio: Factor) -> W:
    """Power goes with the cube of speed, at equal efficiency."""
    return shaft_power * speed_ratio**3


@relation(
    "Speed of a displacement pump over full speed",
    symbol="r_n",
    unit="1",
    source="definition",
    note="slip held: the flow goes with the speed at any pressure",
)
def displacement_speed(flow: M3PerS, available_flow: M3PerS) -> Factor:
    """Flow asked over flow at full speed."""
    return flow / available_flow


@relation(
    "Specific speed, US units",
    symbol="N_s",
    unit="1",
    source="hi-edb",
    place="turns a minute, gallons a minute and feet of one stage",
)
def specific_speed_of(rotation: Rotation, flow: M3PerS, head: Head, stages: Count) -> Factor:
    """Type number of one stage at its best point."""
    return rotation / RPM * (flow / GPM) ** 0.5 / (head / (stages * FOOT)) ** 0.75


@relation(
    "Average efficiency of such pumps",
    symbol="eta_av",
    unit="1",
    source="ornl-pump",
    place="fit after the curves of HI 20.3",
    within={"flow": ("1 gpm", "10 000 gpm")},
    note="at the best point, clean water, before the loss for specific speed",
)
def average_efficiency(
    flow: M3PerS, fit_0: Factor, fit_1: Factor, fit_2: Factor, fit_3: Factor, fit_4: Factor
) -> Fraction:
    """Two exponentials in the flow in gallons a minute."""
    return (fit_0 + fit_1 * exp(-fit_2 * (flow / GPM)) + fit_3 * exp(-fit_4 * (flow / GPM))) / 100


@relation(
    "Attainable efficiency of such pumps",
    symbol="eta_max",
    unit="1",
    source="ornl-pump",
    place="fit after the curves of HI 20.3",
    within={"flow": ("1 gpm", "10 000 gpm")},
    note="the best that makers reach, before the loss for specific speed",
)
def attainable_efficiency(
    average: Fraction,
    flow: M3PerS,
    fit_5: Factor,
    fit_6: Factor,
    fit_7: Factor,
    fit_8: Factor,
    fit_9: Factor,
) -> Fraction:
    """The average raised by a few per cent that shrink with size."""
    return average * (
        1 + (fit_5 + fit_6 * exp(-fit_7 * log10(flow / GPM)) + fit_8 * exp(-fit_9 * log10(flow / GPM))) / 100
    )


@relation(
    "Efficiency at its specific speed",
    symbol="eta_p",
    unit="1",
    source="ornl-pump",
    within={"specific_speed": ("600", "2500")},
)
def derated_efficiency(attainable: Fraction, specific_speed: Factor) -> Fraction:
    """Less the loss for a low specific speed, read from a table."""
    return attainable - lookup(SPEED_LOSS, specific_speed)
