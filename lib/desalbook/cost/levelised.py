"""Levelised cost of water: capital recovered over the life, and the cost of a year, per volume of net product."""

from __future__ import annotations

from desalbook.balances import YEAR
from desalbook.trail import relation, total, where
from desalbook.units import M3, Factor, Fraction, M3PerS, Money, MoneyPerM3, S

__all__ = [
    "capital_band",
    "capital_of_a_year",
    "capital_recovery",
    "cost_per_volume",
    "discount_factor",
    "levelised_cost",
    "part_of_last_year",
    "present_value",
    "present_volume",
    "water_cost",
    "water_cost_band",
    "water_cost_delivered",
]


@relation("Capital recovery factor", symbol="CRF", unit="1", source="definition",
          note="payments at the end of each year; without interest one over the years")
def capital_recovery(discount_rate: Fraction, plant_life: S) -> Factor:
    """Capital recovery factor: equal yearly payment over a capital, at a discount rate, over a life in years.

    Payments at the end of each year, nothing left at the end of the life.
    """
    return where(discount_rate > 0, discount_rate, 1) / where(
        discount_rate > 0, 1 - (1 + discount_rate) ** (-plant_life / YEAR), plant_life / YEAR)


@relation("Capital of a year", symbol="C_a", unit="1", source="definition")
def capital_of_a_year(capital_cost: Money, capital_recovery_factor: Factor) -> Money:
    """Equal yearly payment that recovers the capital over the life.

    Real money where the discount rate is real.
    """
    return capital_cost * capital_recovery_factor


@relation("Cost of water by part", symbol="c_w", unit="1/m^3", source="definition")
def cost_per_volume(yearly_cost: Money, net_product: M3PerS) -> MoneyPerM3:
    """Cost of a year over the net product of a year.

    Net product is the mean of calendar days: stops are in it, and are not counted twice.
    """
    return yearly_cost / (net_product * YEAR)


@relation("Levelised cost of water", symbol="c_w", unit="1/m^3", source="definition",
          note="a comparison of designs, not a tariff; its band stands beside it")
def water_cost(cost_by_part: MoneyPerM3) -> MoneyPerM3:
    """Levelised cost of water: sum of its parts, per volume of net product.

    Equal costs and volumes each year, end of year, capital at the start; delivery beyond the plant is neglected.
    """
    return total(cost_by_part)


@relation("Capital at the end of its band", symbol="C_0", unit="1", source="aace-18r-97")
def capital_band(capital_cost: Money, band: Factor) -> Money:
    """Capital at one end of the band of its class.

    What the class of an estimate is said to hold in most cases; no probability is attached.
    """
    return capital_cost * (1 + band)


@relation("Cost of water at the end of its band", symbol="c_w", unit="1/m^3", source="definition")
def water_cost_band(water_cost: MoneyPerM3, capital_parts: MoneyPerM3, band: Factor) -> MoneyPerM3:
    """Cost of water with the capital at one end of its band: what follows the capital moves, all else stays.

    Capital, maintenance and insurance follow; prices of energy, chemicals and labour have spreads of their own.
    """
    return water_cost + total(capital_parts) * band


@relation("Discount factor", symbol="k_t", unit="1", source="definition",
          note="the first year of running is discounted by one year; capital is not discounted")
def discount_factor(discount_rate: Fraction, payment_time: S) -> Factor:
    """Worth today of one paid at a time: money at the end of a year, by the discount rate.

    Real money where the discount rate is real.
    """
    return (1 + discount_rate) ** (-payment_time / YEAR)


@relation("Weight of the last fraction of a year", symbol="w_t", unit="1", source="definition",
          note="one for a whole year")
def part_of_last_year(discount_rate: Fraction, year_part: Fraction) -> Factor:
    """What a part of a year at the end of a life counts, so that the flow and the capital recovery factor agree.

    Worth of steady payments over that part, at its end, over those of a whole year at its end.
    """
    return where(discount_rate > 0, (1 + discount_rate) ** year_part - 1, year_part) / where(
        discount_rate > 0, discount_rate, 1)


@relation("Present value", symbol="C_P", unit="1", source="definition")
def present_value(cash_flow: Money, discount_factor: Factor) -> Money:
    """Worth today of a flow of money over years: each year times its discount factor.

    The flow at the start is in it undiscounted; a spreadsheet that discounts the first flow too gives another sum.
    """
    return total(cash_flow * discount_factor)


@relation("Present volume of water", symbol="V_P", unit="m^3", source="definition")
def present_volume(yearly_volume: M3, discount_factor: Factor) -> M3:
    """Volume of water over years, each year times the discount factor of its money.

    No physical volume: what a price of one for a cubic metre would be worth today.
    """
    return total(yearly_volume * discount_factor)


@relation("Levelised cost of a flow of money", symbol="c_w", unit="1/m^3", source="definition")
def levelised_cost(present_cost: Money, present_volume: M3) -> MoneyPerM3:
    """Levelised cost of water from a cash flow: present value of all costs over present volume of all water.

    A price of so much for each cubic metre gives the flow a net present value of zero.
    """
    return present_cost / present_volume


@relation("Cost of water by outage data", symbol="c_wm", unit="1/m^3", source="definition",
          note="what an outage leaves undelivered costs more where tankers or penalties replace it")
def water_cost_delivered(fixed_cost: Money, delivered: M3PerS, variable_cost: MoneyPerM3) -> MoneyPerM3:
    """Levelised cost of the water that the trains deliver by their outage data: fixed cost over it, and the rest.

    Capital, labour, maintenance, insurance and elements do not go with the volume; energy, chemicals and cartridges do.
    """
    return fixed_cost / (delivered * YEAR) + variable_cost
