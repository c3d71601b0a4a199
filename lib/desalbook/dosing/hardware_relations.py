"""From a feed rate to pump, column, mixing, tanks, bund, deliveries and money."""

from __future__ import annotations

from typing import Annotated

from desalbook.trail import constant, maximum, minimum, relation
from desalbook.units import (
    KINDS,
    M3,
    AsProduct,
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    Kg,
    KgPerM3,
    KgPerS,
    M,
    M3PerS,
    MassFraction,
    S,
)

__all__ = [
    "capacity_wanted",
    "containment",
    "cost_of",
    "delivery_interval",
    "density_between",
    "lasting",
    "make_down_water",
    "mixing_length",
    "mixing_time",
    "pump_pressure_wanted",
    "setting",
    "speed_part",
    "store_wanted",
    "stroke_part",
    "used_in_a_year",
]

PI = constant("pi", 3.141592653589793, "1", source="definition", title="Pi")
KILOGRAM = constant("kg_1", 1.0, "kg", source="definition", title="One kilogram")
YEAR = constant("year", 31557600.0, "s", source="definition", title="One year of 365.25 days")

DoseFlow = Annotated[float, KINDS["flow.dose"]]
Small = Annotated[float, KINDS["volume.small"]]
Days = Annotated[float, KINDS["time.day"]]
Seconds = Annotated[float, KINDS["time.second"]]


@relation(
    "Density at a strength",
    symbol="rho_c",
    unit="kg/m^3",
    source="definition",
    note="straight line between two rows of the table of densities, at 20 degC",
)
def density_between(
    strength: MassFraction,
    strength_low: MassFraction,
    density_low: KgPerM3,
    strength_high: MassFraction,
    density_high: KgPerM3,
) -> KgPerM3:
    """Of a solution whose strength lies between two rows."""
    return density_low + (density_high - density_low) * (strength - strength_low) / (
        strength_high - strength_low
    )


@relation(
    "Density after dilution",
    symbol="rho_f",
    unit="kg/m^3",
    source="definition",
    note="volumes add; for solutions no table holds",
)
def density_diluted(
    fed_strength: MassFraction, neat_strength: MassFraction, neat_density: KgPerM3, water_density: KgPerM3
) -> KgPerM3:
    """Of a solution thinned with water."""
    return 1 / (
        fed_strength / neat_strength / neat_density + (1 - fed_strength / neat_strength) / water_density
    )


@relation("Water of dilution", symbol="W_w", unit="kg/s", source="definition")
def make_down_water(
    dosing_flow: DoseFlow, solution_density: KgPerM3, neat_flow: DoseFlow, neat_density: KgPerM3
) -> KgPerS:
    """What is fed less what is bought."""
    return dosing_flow * solution_density - neat_flow * neat_density


@relation("Capacity the pump needs", symbol="q_w", unit="m^3/s", source="common-practice")
def capacity_wanted(highest_feed: DoseFlow, pump_margin: Factor) -> DoseFlow:
    """Highest feed with a margin for wear and for the strength of a poor delivery."""
    return highest_feed * pump_margin


@relation(
    "Turndown by speed", symbol="r_n", unit="1", source="api-675", note="speed follows the flow of the water"
)
def speed_part(turndown: Factor, speed_span: Factor) -> Factor:
    """What speed covers of the turndown, as far as it reaches."""
    return minimum(turndown, speed_span)


@relation("Turndown by stroke", symbol="r_h", unit="1", source="definition")
def stroke_part(turndown: Factor, speed_turndown: Factor) -> Factor:
    """What is left for the stroke, which is set by hand."""
    return turndown / speed_turndown


@relation("Setting of the pump", symbol="x_q", unit="1", source="definition")
def setting(dosing_flow: DoseFlow, pump_capacity: DoseFlow, stroke_turndown: Factor) -> Fraction:
    """Speed as a share of full speed at a stroke of 1 over its turndown."""
    return dosing_flow * stroke_turndown / pump_capacity


@relation("Volume drawn from the column", symbol="V_w", unit="m^3", source="common-practice")
def drawn(pump_capacity: DoseFlow, draw_down_time: Seconds) -> Small:
    """By the pump at full capacity in the draw-down time."""
    return pump_capacity * draw_down_time


@relation("Mixing length", symbol="L_m", unit="m", source="common-practice")
def mixing_length(inner_diameter: M, mixing_diameters: Factor) -> M:
    """Pipe from quill to where the chemical is spread."""
    return inner_diameter * mixing_diameters


@relation("Mixing time", symbol="t_m", unit="s", source="definition")
def mixing_time(length: M, inner_diameter: M, flow: M3PerS) -> Seconds:
    """Travel through the mixing length."""
    return length * PI * inner_diameter**2 / 4 / flow


@relation("Pressure the dosing pump needs", symbol="p_q", unit="Pa", source="common-practice")
def pump_pressure_wanted(injection_pressure: GaugePa, over_pressure: DifferencePa) -> GaugePa:
    """To feed against the line at shut-off."""
    return injection_pressure + over_pressure


@relation("Time a tank lasts", symbol="t_l", unit="s", source="definition")
def lasting(volume: M3, dosing_flow: DoseFlow) -> Days:
    """At the mean feed."""
    return volume / dosing_flow


@relation("Interval of deliveries", symbol="t_l", unit="s", source="definition")
def delivery_interval(delivery_volume: M3, dosing_flow: DoseFlow) -> Days:
    """One delivery at the mean feed."""
    return delivery_volume / dosing_flow


@relation("Volume the store needs", symbol="V_s", unit="m^3", source="wi-nr-811", place="811.40(1)(a)")
def store_wanted(dosing_flow: DoseFlow, storage_time: Days, delivery_volume: M3, load_factor: Factor) -> M3:
    """Days of supply, and room for a delivery."""
    return maximum(dosing_flow * storage_time, delivery_volume * load_factor)


@relation(
    "Volume of the bund",
    symbol="V_b",
    unit="m^3",
    source="uk-oil-storage-2001",
    place="110 % of the largest tank or 25 % of all; an analogue of practice for chemicals",
    note="what else stands in the bund comes on top; local codes govern",
)
def containment(
    largest_tank: M3, containment_share: Fraction, tanks_volume: M3, containment_total: Fraction
) -> M3:
    """Largest tank and its allowance, or the share of all tanks."""
    return maximum(largest_tank * (1 + containment_share), tanks_volume * containment_total)


@relation("Volume of tanks in the bund", symbol="V_T", unit="m^3", source="definition")
def both_tanks(tank_volume: M3, day_tank_volume: M3) -> M3:
    """Store and day tank."""
    return tank_volume + day_tank_volume


@relation("Solution used in a year", symbol="m_y", unit="kg", source="definition")
def used_in_a_year(dosing_flow: DoseFlow, solution_density: KgPerM3, availability: Fraction) -> Kg:
    """Mean feed over a year with the stops in it."""
    return dosing_flow * solution_density * YEAR * availability


@relation(
    "Cost of a year",
    symbol="C_y",
    unit="1",
    source="common-practice",
    note="in the currency of the design; prices are to be asked for",
)
def cost_of(solution_used: Kg, price: Factor) -> Factor:
    """Mass bought times its price."""
    return solution_used / KILOGRAM * price


@relation("Dose over time", symbol="D_m", unit="kg/m^3", source="definition", note="nothing between shocks")
def mean_of_shocks(product_dose: AsProduct, shock_time: S, shock_interval: S) -> AsProduct:
    """Of a product that is fed in shocks only."""
    return product_dose * shock_time / shock_interval
