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
    """Density of a solution whose strength lies between two rows of its table.

    Straight line in strength at 20 degC; beyond the table's ends it is not used.
    """
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
    """Density of a solution after dilution with water.

    Volumes add, which is some tenths of a per cent off for strong acid and caustic.
    """
    return 1 / (
        fed_strength / neat_strength / neat_density + (1 - fed_strength / neat_strength) / water_density
    )


@relation("Water of dilution", symbol="W_w", unit="kg/s", source="definition")
def make_down_water(
    dosing_flow: DoseFlow, solution_density: KgPerM3, neat_flow: DoseFlow, neat_density: KgPerM3
) -> KgPerS:
    """Dilution water of a make-down, as a mass flow.

    What is fed less what is bought; for antiscalant and polymer, softened or permeate water is needed.
    """
    return dosing_flow * solution_density - neat_flow * neat_density


@relation("Capacity the pump needs", symbol="q_w", unit="m^3/s", source="common-practice")
def capacity_wanted(highest_feed: DoseFlow, pump_margin: Factor) -> DoseFlow:
    """Dosing pump capacity required.

    Highest feed rate with a margin for wear and a poor delivery; too large a pump loses accuracy at its low
    end.
    """
    return highest_feed * pump_margin


@relation(
    "Turndown by speed", symbol="r_n", unit="1", source="api-675", note="speed follows the flow of the water"
)
def speed_part(turndown: Factor, speed_span: Factor) -> Factor:
    """Turndown that is covered by speed.

    Speed follows the flow of the water up to the drive's own turndown; the rest is left to the stroke.
    """
    return minimum(turndown, speed_span)


@relation("Turndown by stroke", symbol="r_h", unit="1", source="definition")
def stroke_part(turndown: Factor, speed_turndown: Factor) -> Factor:
    """Turndown that is left to the stroke.

    Set by hand, so it may cover slow changes of dose but not changes of flow.
    """
    return turndown / speed_turndown


@relation("Setting of the pump", symbol="x_q", unit="1", source="definition")
def setting(dosing_flow: DoseFlow, pump_capacity: DoseFlow, stroke_turndown: Factor) -> Fraction:
    """Setting of a dosing pump: feed rate as a fraction of capacity at its stroke.

    Linear in speed; below some 10 % of capacity a diaphragm pump doses unevenly.
    """
    return dosing_flow * stroke_turndown / pump_capacity


@relation("Volume drawn from the column", symbol="V_w", unit="m^3", source="common-practice")
def drawn(pump_capacity: DoseFlow, draw_down_time: Seconds) -> Small:
    """Volume a pump draws from its calibration column.

    At full capacity in the draw-down time; the column has to hold it between its marks.
    """
    return pump_capacity * draw_down_time


@relation("Mixing length", symbol="L_m", unit="m", source="common-practice")
def mixing_length(inner_diameter: M, mixing_diameters: Factor) -> M:
    """Length of pipe a chemical needs to mix, in inner diameters.

    A rule of practice for a quill in the middle of turbulent flow; a static mixer shortens it.
    """
    return inner_diameter * mixing_diameters


@relation("Mixing time", symbol="t_m", unit="s", source="definition")
def mixing_time(length: M, inner_diameter: M, flow: M3PerS) -> Seconds:
    """Time a chemical travels through its mixing length.

    Plug flow in a full pipe; laminar flow does not mix at all.
    """
    return length * PI * inner_diameter**2 / 4 / flow


@relation("Pressure the dosing pump needs", symbol="p_q", unit="Pa", source="common-practice")
def pump_pressure_wanted(injection_pressure: GaugePa, over_pressure: DifferencePa) -> GaugePa:
    """Pressure a dosing pump has to reach.

    Injection against the line at pump shut-off, with an allowance for the injection valve; pulsation is not in
    it.
    """
    return injection_pressure + over_pressure


@relation("Time a tank lasts", symbol="t_l", unit="s", source="definition")
def lasting(volume: M3, dosing_flow: DoseFlow) -> Days:
    """Time a chemical tank lasts at the mean feed rate.

    Usable volume only: what lies below the outlet does not count.
    """
    return volume / dosing_flow


@relation("Interval of deliveries", symbol="t_l", unit="s", source="definition")
def delivery_interval(delivery_volume: M3, dosing_flow: DoseFlow) -> Days:
    """Interval between deliveries of a chemical.

    One delivery at the mean feed rate; peaks shorten it.
    """
    return delivery_volume / dosing_flow


@relation("Volume the store needs", symbol="V_s", unit="m^3", source="wi-nr-811", place="811.40(1)(a)")
def store_wanted(dosing_flow: DoseFlow, storage_time: Days, delivery_volume: M3, load_factor: Factor) -> M3:
    """Bulk storage volume required.

    Days of autonomy, or a full delivery with room to spare, whichever is larger.
    """
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
    """Bund volume: the largest tank with an allowance, or a fraction of all tanks.

    The larger of the two rules holds; rain and fire water follow local codes.
    """
    return maximum(largest_tank * (1 + containment_share), tanks_volume * containment_total)


@relation("Volume of tanks in the bund", symbol="V_T", unit="m^3", source="definition")
def both_tanks(tank_volume: M3, day_tank_volume: M3) -> M3:
    """Volume of all tanks in one bund.

    Bulk storage tank and day tank; what else stands there has to be added.
    """
    return tank_volume + day_tank_volume


@relation("Solution used in a year", symbol="m_y", unit="kg", source="definition")
def used_in_a_year(dosing_flow: DoseFlow, solution_density: KgPerM3, availability: Fraction) -> Kg:
    """Solution used in a year.

    Mean feed rate with the stops of the plant in it; losses when tanks are cleaned are not counted.
    """
    return dosing_flow * solution_density * YEAR * availability


@relation(
    "Cost of a year",
    symbol="C_y",
    unit="1",
    source="common-practice",
    note="in the currency of the design; prices are to be asked for",
)
def cost_of(solution_used: Kg, price: Factor) -> Factor:
    """Yearly cost of a chemical.

    Mass of solution bought times its price as delivered; disposal, rental and demurrage are not in it.
    """
    return solution_used / KILOGRAM * price


@relation("Dose over time", symbol="D_m", unit="kg/m^3", source="definition", note="nothing between shocks")
def mean_of_shocks(product_dose: AsProduct, shock_time: S, shock_interval: S) -> AsProduct:
    """Mean dose of a product that is fed in shocks only.

    Nothing between the shocks; for yearly use and cost, never for the size of the pump.
    """
    return product_dose * shock_time / shock_interval
