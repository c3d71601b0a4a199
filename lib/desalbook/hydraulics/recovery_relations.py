"""Relations of the energy recovery devices.

There is no standard definition of the efficiency of such a device; each relation says which one it uses.
"""

from __future__ import annotations

from desalbook.hydraulics.constants import G
from desalbook.trail import maximum, relation
from desalbook.units import DifferencePa, Fraction, GaugePa, Head, KgPerM3, KgPerS, M3PerS, Salinity, W

__all__ = [
    "after_drop",
    "boost_of",
    "booster_flow_of",
    "booster_rise",
    "device_efficiency",
    "exchanged_salinity",
    "exhaust_of",
    "exhaust_with_least",
    "hp_flow_of",
    "hp_with_boost",
    "leakage_of",
    "mixed_salinity",
    "recovered_of",
    "rise_of",
]


@relation("Pressure rise of the pump", symbol="Delta_p", unit="Pa", source="definition")
def rise_of(discharge_pressure: GaugePa, suction_pressure: GaugePa) -> DifferencePa:
    """Discharge less suction."""
    return discharge_pressure - suction_pressure


@relation("Pressure at the exhaust of the device", symbol="p_ex", unit="Pa", source="definition")
def exhaust_of(static_head: Head, friction_head: Head, density: KgPerM3) -> GaugePa:
    """Head of the line that it feeds: rise to the outfall and losses."""
    return density * G * (static_head + friction_head)


@relation("Pressure at the low-pressure outlet", symbol="p_ex", unit="Pa", source="common-practice")
def exhaust_with_least(
    static_head: Head, friction_head: Head, density: KgPerM3, back_pressure: GaugePa
) -> GaugePa:
    """Head of the line that it feeds, or the least the device needs, held by a valve."""
    return maximum(density * G * (static_head + friction_head), back_pressure)


@relation(
    "Shaft power recovered",
    symbol="P_r",
    unit="W",
    source="fritzmann-2007",
    note="efficiency: shaft power over hydraulic power of the reject from inlet to exhaust",
)
def recovered_of(
    turbine_efficiency: Fraction,
    reject_flow: M3PerS,
    concentrate_pressure: GaugePa,
    exhaust_pressure: GaugePa,
) -> W:
    """A wheel or a reverse-running pump on the shaft of the pump."""
    return turbine_efficiency * reject_flow * (concentrate_pressure - exhaust_pressure)


@relation(
    "Boost of the turbocharger",
    symbol="Delta_p_t",
    unit="Pa",
    source="common-practice",
    note="efficiency: hydraulic power given to the feed over hydraulic power of the reject",
)
def boost_of(
    transfer_efficiency: Fraction,
    reject_flow: M3PerS,
    feed_flow: M3PerS,
    concentrate_pressure: GaugePa,
    exhaust_pressure: GaugePa,
) -> DifferencePa:
    """Pressure that the reject gives to the whole feed."""
    return transfer_efficiency * (reject_flow / feed_flow) * (concentrate_pressure - exhaust_pressure)


@relation("Discharge pressure of the pump", symbol="p_d", unit="Pa", source="definition")
def hp_with_boost(feed_pressure: GaugePa, boost: DifferencePa) -> GaugePa:
    """Feed pressure less what the device adds behind the pump."""
    return feed_pressure - boost


@relation("Pressure behind a loss", symbol="p_o", unit="Pa", source="definition")
def after_drop(inlet_pressure: GaugePa, pressure_drop: DifferencePa) -> GaugePa:
    """Inlet less what the device takes."""
    return inlet_pressure - pressure_drop


@relation("Leakage of the exchanger", symbol="Q_l", unit="m^3/s", source="common-practice")
def leakage_of(exchanger_leakage: Fraction, reject_flow: M3PerS) -> M3PerS:
    """High-pressure water that lubricates the device and leaves with the low-pressure reject."""
    return exchanger_leakage * reject_flow


@relation("Flow of the high-pressure pump", symbol="Q_hp", unit="m^3/s", source="definition")
def hp_flow_of(permeate_flow: M3PerS, leakage_flow: M3PerS) -> M3PerS:
    """Beside an exchanger the pump makes up permeate and leakage."""
    return permeate_flow + leakage_flow


@relation("Flow of the booster pump", symbol="Q_b", unit="m^3/s", source="definition")
def booster_flow_of(reject_flow: M3PerS, leakage_flow: M3PerS) -> M3PerS:
    """Feed that the exchanger lifts: the reject less the leakage."""
    return reject_flow - leakage_flow


@relation("Pressure rise of the booster pump", symbol="Delta_p_b", unit="Pa", source="definition")
def booster_rise(
    feed_pressure: GaugePa,
    concentrate_pressure: GaugePa,
    high_pressure_drop: DifferencePa,
    piping_loss: DifferencePa,
) -> DifferencePa:
    """Losses of vessels, device and piping of the high-pressure loop."""
    return feed_pressure - (concentrate_pressure - high_pressure_drop) + piping_loss


@relation(
    "Salinity behind the exchanger",
    symbol="S_x",
    unit="1",
    source="stover-2007",
    note="mixing is measured by volume; taken here as share of water, which moves it by some 3 % of itself",
)
def exchanged_salinity(
    feed_salinity: Salinity, concentrate_salinity: Salinity, exchanger_mixing: Fraction
) -> Salinity:
    """Feed that takes up a share of the reject."""
    return feed_salinity + exchanger_mixing * (concentrate_salinity - feed_salinity)


@relation("Salinity of two streams that join", symbol="S_m", unit="1", source="definition")
def mixed_salinity(
    first_water: KgPerS, first_salinity: Salinity, second_water: KgPerS, second_salinity: Salinity
) -> Salinity:
    """Balance of salt over water: flows are of water, salinities per kilogram of water."""
    return (first_water * first_salinity + second_water * second_salinity) / (first_water + second_water)


@relation(
    "Efficiency of the exchanger",
    symbol="eta_x",
    unit="1",
    source="macharg-2008",
    note="efficiency: sum of pressure times flow out over in, gauge",
)
def device_efficiency(
    high_out_pressure: GaugePa,
    high_out_flow: M3PerS,
    exhaust_pressure: GaugePa,
    low_out_flow: M3PerS,
    concentrate_pressure: GaugePa,
    reject_flow: M3PerS,
    low_in_pressure: GaugePa,
    low_in_flow: M3PerS,
) -> Fraction:
    """Feed at high and reject at low pressure, over reject at high and feed at low."""
    return (high_out_pressure * high_out_flow + exhaust_pressure * low_out_flow) / (
        concentrate_pressure * reject_flow + low_in_pressure * low_in_flow
    )
