"""`desalbook.rate` for tests that think in coherent SI: bare numbers are given their unit."""

from __future__ import annotations

from typing import Any

import numpy as np

import desalbook as db
from desalbook.plant.rating import CONDITIONS
from desalbook.units import KINDS, registry
from desalbook.units.registry import to_pint


def rate_si(plant: Any, **given: Any) -> Any:
    """As `desalbook.rate`; a bare number or array is in the coherent SI unit of its condition."""
    for name in given.keys() & CONDITIONS.keys():
        value, si = given[name], KINDS[CONDITIONS[name]].si
        bare = value is not None and not hasattr(value, "attrs") and not hasattr(value, "kind")
        if bare and si != "1":
            given[name] = registry().Quantity(np.asarray(value, dtype=float), registry().parse_units(to_pint(si)))
        elif bare and name == "salinity":  # has no bare spelling: it is salt per water, not per seawater
            given[name] = registry().Quantity(np.asarray(value, dtype=float), "")
        elif bare:  # what is no number is for `rate` itself to tell, case by case
            given[name] = np.atleast_1d(np.asarray(value, dtype=float))
    return db.rate(plant, **given)
