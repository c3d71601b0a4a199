"""Balances and ratios that any unit operation may use: a flow shared among units, sums, differences, fractions.

Titles and symbols are given where they are used: ``flow_per_unit.at("feed_pump.flow", title="Flow of one pump", ...)``.
"""

from __future__ import annotations

from desalbook.trail import relation, up
from desalbook.units import M3, Count, Factor, M3PerS

__all__ = [
    "difference_of_flows",
    "flow_per_unit",
    "flow_ratio",
    "items_of_groups",
    "sum_of_flows",
    "sum_of_volumes",
    "total_flow",
    "units_for_flow",
    "whole_quotient",
]


@relation("Flow of one machine", symbol="Q_1", unit="m^3/s", source="definition")
def flow_per_unit(flow: M3PerS, units: Count) -> M3PerS:
    """Flow of one of several like units in parallel.

    Assumes that all of them take the same share; unlike units, or one that is throttled, do not.
    """
    return flow / units


@relation("Flow of all units", symbol="Q", unit="m^3/s", source="definition")
def total_flow(flow: M3PerS, units: Count) -> M3PerS:
    """Total flow of several like units in parallel, such as trains.

    All of them in service at the same flow.
    """
    return flow * units


@relation("Sum of two flows", symbol="Q", unit="m^3/s", source="definition")
def sum_of_flows(flow: M3PerS, second_flow: M3PerS) -> M3PerS:
    """Volume flow of two streams that join.

    Of one density; streams of different salinity add by mass.
    """
    return flow + second_flow


@relation("Difference of two flows", symbol="Delta_Q", unit="m^3/s", source="definition")
def difference_of_flows(flow: M3PerS, second_flow: M3PerS) -> M3PerS:
    """What is left of a flow when another is taken from it; negative where more is taken.

    Of one density; streams of different salinity are taken apart by mass.
    """
    return flow - second_flow


@relation("Flow over a reference flow", symbol="r_Q", unit="1", source="definition")
def flow_ratio(flow: M3PerS, reference_flow: M3PerS) -> Factor:
    """Flow over a reference flow, such as the duty of a pump.

    One at the reference; it may be larger.
    """
    return flow / reference_flow


@relation("Units for a flow", symbol="n", unit="1", source="definition")
def units_for_flow(flow: M3PerS, unit_flow: M3PerS) -> Count:
    """Smallest whole number of like units that take a flow, each up to its own.

    They share the flow evenly, so each takes a little less.
    """
    return up(flow / unit_flow)


@relation("Items over a number, rounded up", symbol="n", unit="1", source="definition")
def whole_quotient(items: Count, divisor: Count) -> Count:
    """Items over a number, rounded up: groups of that size, or items in each of so many groups.

    The last group may be smaller than the others.
    """
    return up(items / divisor)


@relation("Items of all groups", symbol="n", unit="1", source="definition")
def items_of_groups(groups: Count, group_size: Count) -> Count:
    """Items in several groups of one size.

    All groups are full.
    """
    return groups * group_size


@relation("Sum of two volumes", symbol="V", unit="m^3", source="definition")
def sum_of_volumes(volume: M3, other_volume: M3) -> M3:
    """Sum of two volumes.

    As they stand: volumes of miscible liquids do not add exactly.
    """
    return volume + other_volume
