"""The year of a plant that is built: membranes and pressure train held, water temperature and age varied."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.plant import rate
from desalbook.units import KINDS, parse, show, to_display, unit_label

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["FOLLOWED", "seasons"]

FOLLOWED = {"feed_pressure": "gauge pressure", "permeate_tds": "concentration", "permeate_boron": "concentration as B",
            "hp_speed": "factor", "section_power": "power", "specific_energy": "specific energy"}
"""Columns of a rating that a season shows, with their kinds; specific energy is per volume of permeate."""


def seasons(plant: Any, temperatures: Sequence[str | float] | None = None,
            ages: Sequence[str | float] | None = None, *, steps: int = 6, control: str = "product-flow",
            units: str = "si") -> pd.DataFrame:
    """Rate a sized plant over temperatures and ages, every pair of them.

    Parameters
    ----------
    plant : Plant or Sized
    temperatures : sequence of str or float, optional
        With units, or K; ``steps`` of them from the coldest to the hottest water of the design if omitted.
    ages : sequence of str or float, optional
        With units, or s; new and the age of the aged case if omitted.
    control : str
        What the plant holds; see `desalbook.plant.rating.CONTROLS`.
    units : {"si", "us"}

    Returns
    -------
    DataFrame
        ``id`` of the case; temperature, age and `FOLLOWED` with their units; ``problem`` where there is no answer.

    Raises
    ------
    DesignError
        A value that cannot be read, or a control that is none.
    """
    import pandas as pd

    sized = getattr(plant, "sized", plant)
    book = sized.ledger
    if temperatures is None:
        cold, hot = (float(book[f"water.temperature_{end}"]) for end in ("cold", "hot"))
        temperatures = [float(x) for x in np.linspace(cold, hot, steps)]
    if ages is None:
        ages = [0.0, float(book["membrane.age"])]
    kinds = {"temperature": "temperature", "age": "time.year"}
    asked = [[parse(x, KINDS[kinds[name]], name) if isinstance(x, str) else float(x) for x in values]
             for name, values in (("temperature", temperatures), ("age", ages))]
    age, temperature = (g.ravel() for g in np.meshgrid(asked[1], asked[0], indexing="ij"))
    got = rate(sized, temperature=temperature, age=age, control=control)
    made: dict[str, Any] = {"id": [
        f"temperature={show(x, 'temperature', trim=True)}; age={show(y, 'time.year', trim=True)}"
        for x, y in zip(temperature, age, strict=True)]}
    for name, kind in (kinds | FOLLOWED).items():
        unit = unit_label(kind, units)
        made[f"{name}, {unit}" if unit else name] = to_display(np.asarray(got[name], dtype=float), kind, units)
    return pd.DataFrame(made | {"problem": [str(x) for x in got["reason"]]})
