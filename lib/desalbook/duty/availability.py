"""Availability of trains: how often how many of them can run, by their outage data, and what is delivered then."""

from __future__ import annotations

from dataclasses import dataclass
from math import comb

from desalbook.balances import sum_of_counts
from desalbook.duty.flows import DutyFlows, net_of
from desalbook.trail import Column, Figure, minimum, note, picked, relation, total, where
from desalbook.trail.inputs import Inputs
from desalbook.units import Count, Fraction, S

__all__ = ["Availability", "availability", "full_output", "mean_output", "state_probability", "train_availability",
           "train_unavailability"]


@relation("Availability of one train", symbol="A_1", unit="1", source="definition",
          note="steady; of stops that nobody planned")
def train_availability(failure_interval: S, repair_time: S) -> Fraction:
    """Fraction of the time in which a train is able to run: mean time between failures over that and the repair.

    Mean times; it says nothing of how long the longest outage lasts.
    """
    return failure_interval / (failure_interval + repair_time)


@relation("Unavailability of one train", symbol="U_1", unit="1", source="definition")
def train_unavailability(failure_interval: S, repair_time: S) -> Fraction:
    """Fraction of the time in which a train is under repair: mean time of repair over that and the time to failure.

    One less its availability; of stops that nobody planned.
    """
    return repair_time / (failure_interval + repair_time)


@relation("Probability of so many trains", symbol="P_j", unit="1", source="billinton-allan-1992",
          note="trains fail independently; what they share stands in the shared availability")
def state_probability(state_ways: Count, train_availability: Fraction, train_unavailability: Fraction,
                      trains_able: Count, trains_stopped: Count) -> Fraction:
    """Probability that so many of the installed trains are able to run, by the binomial distribution.

    Independent failures and as many repair crews as trains; common causes make large outages likelier.
    """
    return state_ways * train_availability**trains_able * train_unavailability**trains_stopped


@relation("Time fraction at full output", symbol="A_k", unit="1", source="billinton-allan-1992", place="k of n")
def full_output(state_probability: Fraction, trains_able: Count, trains: Count, shared_availability: Fraction,
                planned_stop: Fraction) -> Fraction:
    """Fraction of the year in which as many trains as the duty asks for are able to run, k of n.

    In series with what all trains share and with planned stops, which are no chance and are subtracted apart.
    """
    return shared_availability * (1 - planned_stop) * total(where(trains_able >= trains, state_probability, 0))


@relation("Mean output, fraction of the duty", symbol="A_m", unit="1", source="billinton-allan-1992",
          place="expected output of parallel units")
def mean_output(state_probability: Fraction, trains_able: Count, trains: Count, shared_availability: Fraction,
                planned_stop: Fraction) -> Fraction:
    """Mean of the year of what the trains that are able to run make, over the duty.

    Each train makes its own duty and no more; without standby, dividing a plant in more trains does not raise it.
    """
    return shared_availability * (1 - planned_stop) * total(state_probability * minimum(1, trains_able / trains))


@dataclass(frozen=True)
class Availability:
    """What the outage data of the trains come to.

    Parameters
    ----------
    installed : Figure
        Trains, standby included.
    mean, full : Figure
        Fractions of the year: mean output over the duty, and time at full output.
    delivered : Figure
        Net product of a calendar day at the mean output, m3/s.
    """

    installed: Figure
    mean: Figure
    full: Figure
    delivered: Figure


def availability(inp: Inputs, d: DutyFlows) -> Availability:
    """Availability by the outage data of the trains, beside the one that the duty states."""
    shared, planned = inp.number("duty.shared_availability"), inp.number("duty.planned_stop")
    outage = {"failure_interval": inp.number("duty.failure_interval"), "repair_time": inp.number("duty.repair_time")}
    one = train_availability.at("duty.train_availability", **outage)
    lost = train_unavailability.at("duty.train_unavailability", **outage)
    n = sum_of_counts.at("duty.trains_installed", count=d.trains, other_count=inp.number("duty.trains_standby"),
                         title="Trains installed", symbol="n")
    states = range(int(n) + 1)
    able = _states("duty.trains_able", [float(j) for j in states], "Trains able to run, by state", n)
    stopped = _states("duty.trains_stopped", [float(n) - j for j in states], "Trains under repair, by state", n)
    ways = _states("duty.state_ways", [float(comb(int(n), j)) for j in states], "Ways to choose these of all trains", n)
    p = state_probability.at("duty.state_probability", state_ways=ways, train_availability=one,
                             train_unavailability=lost, trains_able=able, trains_stopped=stopped)
    each = {"state_probability": p, "trains_able": able, "trains": d.trains, "shared_availability": shared,
            "planned_stop": planned}
    full = full_output.at("duty.full_output", **each)
    mean = mean_output.at("duty.mean_output", **each)
    delivered = net_of.at("duty.delivered_mean", gross_permeate=d.permeate_gross, own_use=d.own_use, availability=mean,
                          title="Net product by outage data", symbol="Q_m")
    short = float(mean) < float(d.availability) * (1 - 1e-9)
    note("duty.availability.check", title="Availability by outage data", verdict="review" if short else "passes",
         why=f"outage data give a mean output of {mean.show()}, the duty counts on {d.availability.show()}",
         do="Add a standby train (duty.trains_standby), or lower duty.availability, or enter outage data of the site "
            "(duty.failure_interval, duty.repair_time).",
         inputs={"mean_output": mean, "availability": d.availability})
    return Availability(n, mean, full, delivered)


def _states(id: str, values: list[float], title: str, n: Figure) -> Column:
    keys = tuple(str(j) for j in range(len(values)))
    return picked(id, values, "count", title=title, symbol="n_j", rule="each number from none to all",
                  candidates=[{"key": k, "value": v, "won": True} for k, v in zip(keys, values, strict=True)],
                  inputs={"trains_installed": n}, axis="state", keys=keys)
