"""What each price, factor and fraction of the cost section moves: the cost of water at the low and high end of each.

The hardware and what it uses stay, so the room of cost alone runs again, with one key changed at a time.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from desalbook.cost import Estimate
from desalbook.design import Design
from desalbook.design.reader import asked
from desalbook.plant.cost import cost_of_plant
from desalbook.plant.energy import yearly_energy_cost
from desalbook.plant.rating import CONDITIONS
from desalbook.plant.walk import Sized
from desalbook.problems import DesignError
from desalbook.study.sweep import numeric_keys
from desalbook.study.uncertainty import spreads_of
from desalbook.trail import Values
from desalbook.units import FieldMeta, show

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["cost_tornado", "costs_again", "money_keys"]

TARIFF = "energy.tariff"
PUMPS = "hp_pump.duty_count"
_NO_SPREAD = ("cost.exchange_rate", "cost.price_index")
"""Say in which money the sums are, and are no uncertainty."""


class _Beside(Values):
    """A book that looks up in another what it does not hold itself."""

    def __init__(self, other: Any):
        super().__init__()
        self.other = other

    def __getitem__(self, id: str) -> Any:
        return super().__getitem__(id) if super().__contains__(id) else self.other[id]

    def __contains__(self, id: object) -> bool:
        return super().__contains__(str(id)) or id in self.other


def costs_again(sized: Sized, design: Design) -> Estimate:
    """The costs of a sized plant with the prices of another text of its design; hardware and use stay.

    Parameters
    ----------
    sized : Sized
    design : Design
        Differs from that of the plant in section ``[cost]`` and in ``energy.tariff`` alone.
    """
    with _Beside(sized.ledger).running():
        inp = asked(design)
        if inp.optional(PUMPS) is None:  # settled while the plant was sized
            inp.settle(PUMPS, sized.ledger[PUMPS])
        bill = yearly_energy_cost.at("energy.bill_year", energy=sized.energy.year, tariff=inp.number(TARIFF))
        return cost_of_plant(inp, sized, sized.transfer, replace(sized.energy, bill=bill), sized.power)


def money_keys(design: Design) -> dict[str, FieldMeta]:
    """Keys of a design that are prices, factors or fractions of money and have a low and a high value.

    What is zero is omitted: the design has none of it.
    """
    return {k: m for k, m in numeric_keys(design).items()
            if ((k.startswith("cost.") and "[" not in k and k not in _NO_SPREAD) or k == TARIFF)
            and m.usual and design.get(k) and None not in m.usual}


def _stated(design: Design) -> dict[str, tuple[float, float]]:
    """Bounds of spreads that the design states for its keys."""
    found = {}
    for key, one in spreads_of(design)[0].items():
        if key not in CONDITIONS and one.low is not None and one.high is not None:
            m = design.meta(key)
            found[key] = tuple(float(m.read(x, f"spreads[{key}]")) for x in (one.low, one.high))
    return found


def _range(m: FieldMeta) -> tuple[float, float]:
    assert m.usual is not None and m.usual[0] is not None and m.usual[1] is not None
    return m.usual[0], m.usual[1]


def cost_tornado(plant: Any, keys: Iterable[str] | None = None) -> pd.DataFrame:
    """Cost of water at the low and the high value of each price and factor, all else as designed.

    Low and high are those that the design states under ``[[spreads]]``, else of the usual range of each key; where its
    value lies outside, the range reaches to it. The ranges are not equally likely, so a long bar says what to ask for
    first, not what will happen.

    Parameters
    ----------
    plant : Plant or Sized
    keys : iterable of str, optional
        Of section ``[cost]``, and ``energy.tariff``; all that have a range if omitted.

    Returns
    -------
    DataFrame
        ``key``, ``title``, ``low`` and ``high`` as texts, ``at_low``, ``at_high`` and ``base`` (1/m3), ``swing`` (the
        size of the difference); the widest first.

    Raises
    ------
    DesignError
        A key that is no price or factor with a range.
    """
    import pandas as pd

    sized = getattr(plant, "sized", plant)
    design = sized.design
    known = money_keys(design)
    base, stated = float(sized.cost.water), _stated(design)
    rows = []
    for key in known if keys is None else keys:
        if key not in known:
            raise DesignError("no price or factor with a usual range", where="keys", value=key,
                              allowed=", ".join(known), do="name some of these")
        m = known[key]
        assert m.kind is not None
        low, high = stated[key] if key in stated else _range(m)
        own = float(design.get(key))
        ends = [min(own, low), max(own, high)]
        texts = [show(x, m.kind, trim=True) for x in ends]
        at = [float(costs_again(sized, design.with_value(key, text)).water) for text in texts]
        rows.append({"key": key, "title": m.title, "low": texts[0], "high": texts[1], "at_low": at[0],
                     "at_high": at[1], "base": base, "swing": abs(at[1] - at[0])})
    return pd.DataFrame(rows).sort_values("swing", ascending=False, ignore_index=True, kind="stable")
