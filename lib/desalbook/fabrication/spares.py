"""Spares and packing: how many for a stated time, and desiccant for a closed case."""

from __future__ import annotations

from desalbook.trail import maximum, relation, up
from desalbook.units import Count, Factor, Fraction, S

__all__ = ["consumed_in_time", "desiccant_units", "spares_in_stock"]


@relation("Items consumed", symbol="n_sp", unit="1", source="definition")
def consumed_in_time(items_installed: Count, spares_time: S, change_interval: S) -> Count:
    """Items that wear out in a stated time when all are changed at an interval, rounded up.

    An interval is the manufacturer's or the design's; dirty water and hard use shorten it.
    """
    return up(items_installed * spares_time / change_interval)


@relation("Items in stock", symbol="n_st", unit="1", source="common-practice")
def spares_in_stock(items_installed: Count, stock_fraction: Fraction, stock_minimum: Count) -> Count:
    """Items kept for what may fail: a fraction of those installed, and a minimum number.

    Says nothing of the risk that is left; critical items follow from the single-failure cases.
    """
    return maximum(up(items_installed * stock_fraction), stock_minimum)


@relation("Desiccant units", symbol="n_de", unit="1", source="din-55474", place="from memory")
def desiccant_units(case_volume: Factor, air_moisture: Factor, foil_area: Factor, foil_moisture: Factor,
                    storage_days: Factor, unit_uptake: Factor) -> Count:
    """Units of desiccant in a sealed case: moisture of its air and what passes the foil, over what a unit takes up.

    Volume in m3, area in m2, moisture in g/m3 and g/(m2 d), time in days, uptake in g, as the standard counts them;
    no moist packing inside. A torn foil makes the number void.
    """
    return up((case_volume * air_moisture + foil_area * foil_moisture * storage_days) / unit_uptake)
