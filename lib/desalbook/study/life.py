"""A plant over its life: its elements age and are replaced by a policy; pressure, quality and energy year by year."""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.balances import YEAR
from desalbook.membrane.renewal import POLICIES, aged_water_factor, mean_over_ages, renewed, salt_rise_factor
from desalbook.plant.energy import consumer_yearly_energy, yearly_energy_cost
from desalbook.plant.rating import RATED
from desalbook.problems import DesignError
from desalbook.study.ratings import Rating, rated
from desalbook.trail import values
from desalbook.units import KINDS, parse, show

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Life", "life"]

_YEARS = "20 years"
_WORDS = {"coldest_pressure": "Feed pressure in the coldest water", "permeate_tds": "Permeate TDS in the hottest water",
          "permeate_boron": "Permeate boron in the hottest water", "specific_energy": "RO section energy"}
_SIDES = ("permeate_tds", "permeate_boron")


@dataclass(frozen=True)
class Life:
    """What came of a policy.

    Parameters
    ----------
    frame : DataFrame
        One row a year, SI, at its end before elements are replaced: ``year``, ``mean_age`` (years), ``replaced``
        (fraction of all elements), ``water_factor`` and ``salt_factor`` (of the mix over new elements),
        ``feed_pressure`` and ``specific_energy`` at the design temperature, ``coldest_pressure``, ``permeate_tds``
        and ``permeate_boron`` in the hottest water, ``energy`` of the membrane section of all trains (J),
        ``energy_cost`` and ``elements_cost`` of that year, ``reason`` where there is no answer.
    policy : str
    elements : float
        Installed.
    currency : str
    """

    frame: pd.DataFrame
    policy: str
    elements: float
    currency: str

    def words(self, units: str = "si") -> str:
        """The life in a few lines."""
        lines = [f"Elements replaced: {POLICIES[self.policy]}; "
                 f"{self.frame['replaced'].sum() * self.elements:.0f} over {len(self.frame)} years"]
        for name in _WORDS:
            kind = RATED["feed_pressure" if name == "coldest_pressure" else name]
            value = self.frame[name].to_numpy()
            if not np.isfinite(value).any():
                continue
            worst = int(np.nanargmax(value))
            lines.append(f"{_WORDS[name]}: {show(float(value[0]), kind, units)} in year 1, "
                         f"at most {show(float(value[worst]), kind, units)} in year "
                         f"{int(self.frame['year'].iloc[worst])}, {show(float(value[-1]), kind, units)} in the last")
        money = float(np.nansum(self.frame["energy_cost"] + self.frame["elements_cost"]))
        lines.append(f"Energy of the membrane section and elements over these years: {show(money, 'money', units)} "
                     f"{self.currency}, undiscounted")
        return "\n".join(lines)


def life(plant: Any, policy: str = "oldest-first", *, fraction: str | float | None = None, every: str = "5 years",
         years: str = _YEARS, executor: Executor | None = None) -> Life:
    """Rate a sized plant through a life in which its elements age and are replaced.

    Pumps and vessels are held, product and recovery too; each year is rated at its end, before elements are replaced
    and before a cleaning, so that it is the worst of that year. Elements of several ages are taken as their mean.

    Parameters
    ----------
    plant : Plant or Sized
    policy : {"oldest-first", "any", "at-once"}
    fraction : str or float, optional
        Of all elements, replaced each year, ``12.5 %``; that of the cost of a year if omitted.
    every : str
        Between replacements of all at once, in whole years.
    years : str
        Length of the life, in whole years, at most 20.
    executor : concurrent.futures.Executor, optional
        As for `desalbook.rate`.

    Returns
    -------
    Life

    Raises
    ------
    DesignError
        An unknown policy, a fraction or an interval that cannot be.
    """
    import pandas as pd

    sized = getattr(plant, "sized", plant)
    book = sized.ledger
    count = _whole(years, "years")
    share = _fraction(book) if fraction is None else float(
        parse(fraction, KINDS["fraction"], "fraction") if isinstance(fraction, str) else fraction)
    ages, replaced = renewed(policy, count, share, _whole(every, "every"))
    old = np.arange(count + 1.0)
    loss, rise = (float(book[f"membrane.{k}"]) for k in ("yearly_flow_loss", "yearly_salt_rise"))
    with values(keep=False):
        by_age = (np.asarray(aged_water_factor.at("value", yearly_loss=loss, age_years=old)),
                  np.asarray(salt_rise_factor.at("value", yearly_rise=rise, age_years=old)), old)
        water, salt, mean = (np.array([float(mean_over_ages.at("value", age_fraction=row, age_factor=of))
                                       for row in ages]) for of in by_age)
    at = _rated(sized, water, salt, executor)
    trains, running = float(book["duty.trains"]), float(book["energy.train_time"])
    elements = {x.key: x for x in sized.cost.items if x.row == "element"}
    price = sum(float(sized.cost.capital_by_item[k]) for k in elements)
    with values(keep=False):
        energy = consumer_yearly_energy.at("value", electric_power=at["design"]["section_power"].to_numpy(),
                                           running_count=trains, running_time=running)
        bill = yearly_energy_cost.at("value", energy=energy, tariff=float(book["energy.tariff"]))
    reason = ["; ".join(dict.fromkeys(x for x in some if x)) for some in
              zip(*(at[k]["reason"] for k in at), strict=True)]
    frame = pd.DataFrame({
        "year": np.arange(1, count + 1), "mean_age": mean, "replaced": replaced, "water_factor": water,
        "salt_factor": salt, "feed_pressure": at["design"]["feed_pressure"],
        "specific_energy": at["design"]["specific_energy"], "coldest_pressure": at["cold"]["feed_pressure"],
        **{k: at["hot"][k] for k in _SIDES}, "energy": energy, "energy_cost": bill, "elements_cost": replaced * price,
        "reason": reason})
    return Life(frame, policy, sum(x.number for x in elements.values()), str(sized.design.get("energy.currency")))


def _rated(sized: Any, water: np.ndarray, salt: np.ndarray, executor: Executor | None) -> dict[str, pd.DataFrame]:
    """Ratings of all years at the design temperature, in the coldest and in the hottest water."""
    count, names = len(water), ("design", "cold", "hot")
    temperature = np.repeat([float(sized.waters.at[k].temperature) for k in names], count)
    found = rated(Rating(sized, temperature=temperature, age=np.zeros(3 * count),
                         fouling=float(sized.ledger["membrane.fouling_factor"]), water_factor=np.tile(water, 3),
                         salt_factor=np.tile(salt, 3)), executor)
    return {k: found.iloc[i * count:(i + 1) * count].reset_index(drop=True) for i, k in enumerate(names)}


def _fraction(book: Any) -> float:
    """Fraction of the elements replaced in a year that the cost of the plant counts on."""
    return float(book["cost.element_fraction"] if "cost.element_fraction" in book else book["cost.element_replacement"])


def _whole(text: str, where: str) -> int:
    found = float(parse(text, KINDS["time.year"], where)) / YEAR.value
    if not (found >= 1 and abs(found - round(found)) < 1e-9 and (where != "years" or found <= 20)):
        raise DesignError("not a number of whole years", where=where, value=str(text),
                          allowed="1 to 20 years" if where == "years" else "1 year or more",
                          do="enter 5 years, for example")
    return round(found)
