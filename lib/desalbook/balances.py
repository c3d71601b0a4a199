"""Balances and ratios that any unit operation may use: a flow shared among units, sums, differences, fractions.

Titles and symbols are given where they are used: ``flow_per_unit.at("feed_pump.flow", title="Flow of one pump", ...)``.
"""

from __future__ import annotations

from desalbook.trail import relation
from desalbook.units import Count, M3PerS

__all__ = ["flow_per_unit"]


@relation("Flow of one machine", symbol="Q_1", unit="m^3/s", source="definition")
def flow_per_unit(flow: M3PerS, units: Count) -> M3PerS:
    """Flow of one of several like units in parallel.

    Assumes that all of them take the same share; unlike units, or one that is throttled, do not.
    """
    return flow / units
