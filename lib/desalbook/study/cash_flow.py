"""Money of a plant year by year: the flow behind its levelised cost, and elements changed each year or all at once."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.balances import YEAR
from desalbook.cost.levelised import (
    discount_factor,
    levelised_cost,
    part_of_last_year,
    present_value,
    present_volume,
)
from desalbook.problems import DesignError
from desalbook.trail import values
from desalbook.units import KINDS, parse, show

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["CashFlow", "cash_flow"]

_ROUNDING = 1e-9  # of the capital: a balance nearer to zero than this is zero
_WHOLE = 1e-9  # years: a life of 20 years read from a text is one of 20 years


@dataclass(frozen=True)
class CashFlow:
    """Money of a plant over its life.

    Parameters
    ----------
    frame : DataFrame
        One row a year, the start with its capital first: ``year``, ``capital``, each part of the operating cost,
        ``cost`` (their sum), ``volume`` (m3), ``discount_factor``, ``present_cost``, ``income`` and ``net`` at
        `price`, and ``balance``, the present value of all net flows up to that year.
    water : float
        Levelised cost of this flow, 1/m3.
    price : float
        Of a cubic metre sold, 1/m3: the levelised cost where none was stated.
    net_present_value : float
        At that price.
    currency : str
    """

    frame: pd.DataFrame
    water: float
    price: float
    net_present_value: float
    currency: str

    def words(self, units: str = "si") -> str:
        """The flow in three lines; a comparison of designs, not a quotation."""
        def money(value: float) -> str:
            return f"{show(value, 'money', units)} {self.currency}"

        def water(value: float) -> str:
            return show(value, "money per volume", units).replace("1/", f"{self.currency}/")

        years, small = self.frame["year"].iloc[-1], _ROUNDING * float(self.frame["capital"].iloc[0])
        clear = self.frame.loc[self.frame["balance"] >= -small, "year"]
        worth = self.net_present_value if abs(self.net_present_value) > small else 0.0
        paid = (f"capital and its interest are paid back in year {clear.iloc[0]:g}" if len(clear) and worth >= 0
                else "capital and its interest are not paid back within the life")
        return "\n".join([
            f"Levelised cost of water over {years:g} years: {water(self.water)}",
            f"Sold at {water(self.price)}: net present value {money(worth)}; {paid}",
            "A comparison of designs, not a quotation: capital within the band of its class."])


def cash_flow(plant: Any, *, replace_every: str | None = None, price: str | float | None = None) -> CashFlow:
    """The cash flow of a sized plant over its life, in the money of its price year.

    Capital at the start, costs and water at the end of each year, nothing left at the end. Production and prices stay;
    taxes, loans and interest during construction are neglected. With a share of the elements changed each year its
    levelised cost is that of the estimate.

    Parameters
    ----------
    plant : Plant or Sized
    replace_every : str, optional
        ``5 years``: all elements are changed at once, so often; none in the last year. A share of them each year,
        ``cost.element_replacement``, if omitted.
    price : str or float, optional
        Of a cubic metre sold, ``1.20 1/m3``; the levelised cost if omitted.

    Returns
    -------
    CashFlow

    Raises
    ------
    DesignError
        An interval or a price that cannot be.
    """
    import pandas as pd

    sized = getattr(plant, "sized", plant)
    book, of = sized.ledger, sized.cost
    rate, life = float(book["cost.discount_rate"]), float(book["cost.plant_life"])
    whole = floor(life / YEAR.value + _WHOLE)
    part = life / YEAR.value - whole
    ends = np.arange(whole + 1.0)
    parts = {k: float(of.yearly[k]) for k in of.yearly.keys if k != "capital"}
    with values(keep=False):
        weight = np.where(ends > 0, 1.0, 0.0)
        if part > _WHOLE:
            last = float(part_of_last_year.at("value", discount_rate=rate, year_part=part))
            ends, weight = np.append(ends, life / YEAR.value), np.append(weight, last)
        worth = np.asarray(discount_factor.at("value", discount_rate=rate, payment_time=ends * YEAR.value))
        money = {k: x * weight for k, x in parts.items()}
        if replace_every is not None:
            money["elements"] = _at_once(of, ends, life, replace_every)
        capital = np.where(ends == 0, float(of.capital), 0.0)
        cost = capital + sum(money.values())
        volume = float(sized.duty.net_product) * YEAR.value * weight
        every = float(present_volume.at("value", yearly_volume=volume, discount_factor=worth))
        paid = float(present_value.at("value", cash_flow=cost, discount_factor=worth))
        water = float(levelised_cost.at("value", present_cost=paid, present_volume=every))
        sold = water if price is None else float(parse(price, KINDS["money per volume"], "price")) if isinstance(
            price, str) else float(price)
        net = sold * volume - cost
        worth_of_all = float(present_value.at("value", cash_flow=net, discount_factor=worth))
    frame = pd.DataFrame({"year": ends, "capital": capital, **money, "cost": cost, "volume": volume,
                          "discount_factor": worth, "present_cost": cost * worth, "income": sold * volume,
                          "net": net, "balance": np.cumsum(net * worth)})
    return CashFlow(frame, water, sold, worth_of_all, str(sized.design.get("energy.currency")))


def _at_once(of: Any, ends: np.ndarray, life: float, text: str) -> np.ndarray:
    """Money of each year where all elements are changed together."""
    every = float(parse(text, KINDS["time.year"], "replace_every")) / YEAR.value
    if not every >= 1 or abs(every - round(every)) > _WHOLE:
        raise DesignError("not an interval between changes of all elements", where="replace_every", value=text,
                          allowed="1 year or more, in whole years", do="enter 5 years, for example")
    all_elements = sum(float(of.capital_by_item[x.key]) for x in of.items if x.row == "element")
    due = (ends > 0) & (ends % round(every) == 0) & (ends < life / YEAR.value - _WHOLE)
    return np.where(due, all_elements, 0.0)
