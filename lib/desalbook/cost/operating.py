"""Operating cost of a year beside energy and chemicals: replacement, labour, maintenance, insurance, discharge."""

from __future__ import annotations

from desalbook.balances import YEAR
from desalbook.trail import relation
from desalbook.units import Count, Factor, Fraction, M3PerS, Money, MoneyPerM3, S

__all__ = [
    "cartridge_cost",
    "discharge_cost",
    "labour_cost",
    "replacement_cost",
]


@relation("Replacement of elements in a year", symbol="C_y", unit="1", source="definition")
def replacement_cost(items_installed: Count, unit_price: Money, yearly_fraction: Fraction) -> Money:
    """Cost of replacement in a year: a fraction of all that are installed, at the price of one.

    The same number each year; changed all at once the cost of a year is the same in the mean.
    """
    return items_installed * unit_price * yearly_fraction


@relation("Replacement of cartridges in a year", symbol="C_y", unit="1", source="definition")
def cartridge_cost(items_installed: Count, unit_price: Money, change_interval: S, availability: Fraction) -> Money:
    """Cost of cartridges in a year: changes while the plant runs, times their number and price.

    Disposal and work are in labour.
    """
    return items_installed * unit_price * availability * YEAR / change_interval


@relation("Labour of a year", symbol="C_y", unit="1", source="definition")
def labour_cost(staff: Factor, salary: Money) -> Money:
    """Cost of labour in a year: full-time equivalents times the cost of one.

    Shifts, leave and social charges are in the number and in the cost of one.
    """
    return staff * salary


@relation("Discharge of a year", symbol="C_y", unit="1", source="definition")
def discharge_cost(raw_flow: M3PerS, net_product: M3PerS, discharge_fee: MoneyPerM3) -> Money:
    """Cost of discharge in a year: what is drawn from the sea and not delivered, times its fee.

    Both flows are means of calendar days; no fee where the authority asks for none.
    """
    return (raw_flow - net_product) * YEAR * discharge_fee
