"""Balances and ratios that any unit operation may use: a flow shared among units, sums, differences, fractions.

Titles and symbols are given where they are used: ``flow_per_unit.at("feed_pump.flow", title="Flow of one pump", ...)``.
"""

from __future__ import annotations

from desalbook.trail import constant, relation, total, up
from desalbook.units import M3, Count, DifferencePa, ElectricW, Factor, Fraction, Head, Kg, M3PerS, Molality, Money, S

__all__ = [
    "YEAR",
    "difference_of_flows",
    "flow_fraction",
    "flow_per_unit",
    "flow_ratio",
    "fraction_of_cost",
    "items_of_groups",
    "partial_flow",
    "sum_of_costs",
    "sum_of_counts",
    "sum_of_flows",
    "sum_of_heads",
    "sum_of_molalities",
    "sum_of_powers",
    "sum_of_pressure_drops",
    "sum_of_volumes",
    "time_to_empty",
    "total_flow",
    "units_for_flow",
    "units_with_one_out",
    "volume_in_time",
    "whole_quotient",
]

YEAR = constant("year", 31557600.0, "s", source="definition", title="One year of 365.25 days")


@relation("Flow per unit", symbol="Q_1", unit="m^3/s", source="definition")
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


@relation("Two numbers together", symbol="n", unit="1", source="definition")
def sum_of_counts(count: Count, other_count: Count) -> Count:
    """Number of two groups of like items together.

    Such as duty and standby trains, or the vessels of two stages.
    """
    return count + other_count


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


@relation("Sum of costs", symbol="C", unit="1", source="definition", note="in the currency of the design")
def sum_of_costs(costs: Money) -> Money:
    """Sum of costs along one axis: of items, of parts of the works, of a year.

    In one currency and of one year.
    """
    return total(costs)


@relation("Fraction of a cost", symbol="C", unit="1", source="definition", note="the base must be stated with it")
def fraction_of_cost(base_of_fraction: Money, fraction: Fraction) -> Money:
    """A cost as a fraction of another: part of the works of the equipment, maintenance of the capital.

    A convention of early estimates: the same number on another base is another sum.
    """
    return base_of_fraction * fraction


@relation("Sum of two masses", symbol="m", unit="kg", source="definition")
def sum_of_two_masses(mass: Kg, other_mass: Kg) -> Kg:
    """Sum of two masses: a part and what it holds, media and their support.

    Both of one item.
    """
    return mass + other_mass


@relation("Sum of two volumes", symbol="V", unit="m^3", source="definition")
def sum_of_volumes(volume: M3, other_volume: M3) -> M3:
    """Sum of two volumes.

    As they stand: volumes of miscible liquids do not add exactly.
    """
    return volume + other_volume


@relation("Sum of two molalities", symbol="b", unit="mol/kg", source="definition")
def sum_of_molalities(molality: Molality, more_molality: Molality) -> Molality:
    """Sum of two amounts per kilogram of water, such as the parts of a blend or the species of one element.

    Both per kilogram of the same water, so that amount and charge are conserved; pH is no part of it.
    """
    return molality + more_molality


@relation("Fraction of a flow", symbol="Q_x", unit="m^3/s", source="definition")
def partial_flow(flow: M3PerS, fraction: Fraction) -> M3PerS:
    """Part of a flow: a side stream, a mean over time, a flow that is left.

    The fraction is by volume; density is taken as that of the whole flow.
    """
    return flow * fraction


@relation("Flow over flow of reference", symbol="x_Q", unit="1", source="definition")
def flow_fraction(flow: M3PerS, reference_flow: M3PerS) -> Fraction:
    """Fraction of a flow: a recovery, the use of a limit.

    By volume, at one moment or over the same time.
    """
    return flow / reference_flow


@relation("Units remaining (N-1)", symbol="n_l", unit="1", source="definition")
def units_with_one_out(units: Count) -> Count:
    """Units in service with one out of service (N-1).

    No spare unit is counted; none is left of one, and the outage stands by itself.
    """
    return units - 1


@relation("Sum of two heads", symbol="H", unit="m", source="definition")
def sum_of_heads(head: Head, other_head: Head) -> Head:
    """Head of two lines of a system in series.

    Both in metres of the same water.
    """
    return head + other_head


@relation("Sum of two pressure drops", symbol="Delta_p", unit="Pa", source="definition")
def sum_of_pressure_drops(pressure_drop: DifferencePa, other_drop: DifferencePa) -> DifferencePa:
    """Pressure drop of two parts in series.

    Both at the flow that passes them; static height between them is neglected.
    """
    return pressure_drop + other_drop


@relation("Sum of two powers", symbol="P_e", unit="W", source="definition")
def sum_of_powers(electric_power: ElectricW, other_power: ElectricW) -> ElectricW:
    """Electrical power of two consumers together.

    At one moment or as means over the same time.
    """
    return electric_power + other_power


@relation("Volume in a time", symbol="V", unit="m^3", source="definition")
def volume_in_time(flow: M3PerS, time: S) -> M3:
    """Volume that a steady flow fills, draws or stores in a time.

    The flow is a mean over that time.
    """
    return flow * time


@relation("Time that a volume lasts", symbol="t", unit="s", source="definition")
def time_to_empty(volume: M3, flow: M3PerS) -> S:
    """Time in which a steady flow empties a volume, or the interval at which it must be filled.

    The flow is a mean over that time; none of the volume is held back.
    """
    return volume / flow
