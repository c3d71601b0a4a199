"""Picking the number of vessels: all candidates and corners in one call, the minimum that holds everywhere."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np

from desalbook.membrane import Limit, judge, least_vessels, solve
from tests.membrane.cases import cases_of
from tests.membrane.reference import SEA, draw

HOUR = 3600.0
CORNERS = ["cold-new", "cold-aged", "hot-new", "hot-aged"]
FACTORS = ((0.66, 0.5), (0.5, 0.65), (1.15, 1.6), (0.9, 2.0))  # on water and salt permeability
COUNTS = np.arange(20.0, 44.0)
LIMITS = [
    Limit("flux", "Average flux", "<=", 15e-3 / HOUR),
    Limit("lead_flux", "Flux of the lead element", "<=", 30e-3 / HOUR),
    Limit("element_recovery", "Recovery of one element", "<=", 0.15),
    Limit("beta_max", "CP factor", "<=", 1.22),
    Limit("vessel_feed", "Feed per vessel", "<=", 16 / HOUR),
    Limit("vessel_concentrate", "Concentrate per vessel", ">=", 3.6 / HOUR),
    Limit("feed_pressure", "Feed pressure within the element", "<=", 83e5),
]


def table(limits=LIMITS):
    """Candidates times corners in one call: a train of 102 m3/h at 42 %."""
    base = replace(draw(np.random.default_rng(2), 1)[0], elements=7, salinity=0.036, a=3.2e-12, b=1.4e-8,
                   osmotic=SEA["osmotic"], height=7.9e-4, area=37.2, temperature=298.15, water_viscosity=8.9e-4)
    vessels = [replace(base, a=base.a * w, b=base.b * s) for _ in COUNTS for w, s in FACTORS]
    cases = cases_of(vessels, 102 / HOUR, 60e5)
    cases = replace(cases, vessels=np.repeat(COUNTS, len(CORNERS)), feed_flow=102 / 0.42 / HOUR)
    r = solve(cases)
    return r, *least_vessels(judge(r, limits), COUNTS, CORNERS)


def test_the_least_count_that_holds_at_every_corner():
    r, winner, candidates = table()
    assert winner is not None and 0 < winner < len(COUNTS) - 1
    assert [c["key"] for c in candidates if c.get("won")] == [str(int(COUNTS[winner]))]
    names = [(x.name, x.sense, x.value) for x in LIMITS]

    def holds(row):
        for name, sense, limit in names:
            value = r.feed_pressure[row] if name == "feed_pressure" else r.out[name][row]
            if not (value <= limit if sense == "<=" else value >= limit):
                return False
        return bool(r.solved[row])

    rows = [range(j * len(CORNERS), (j + 1) * len(CORNERS)) for j in range(len(COUNTS))]
    assert all(holds(i) for i in rows[winner])
    assert not any(all(holds(i) for i in rows[j]) for j in range(winner))
    assert "at" in candidates[winner - 1]["why"] and candidates[winner]["why"] == "meets every limit"


def test_lifting_the_limit_that_stops_the_next_smaller_moves_the_pick():
    _, winner, candidates = table()
    why = candidates[winner - 1]["why"]
    title = next(x.title for x in LIMITS if why.startswith(x.title))
    _, other, rest = table([x for x in LIMITS if x.title != title])
    assert other < winner and not any(c["why"].startswith(title) for c in rest)


def test_limits_that_exclude_one_another_leave_no_count():
    tight = [replace(x, value=6 / HOUR) if x.name == "vessel_concentrate" else x for x in LIMITS]
    _, winner, candidates = table(tight)
    assert winner is None and not any(c.get("won") for c in candidates)
    assert {c["why"].split(" at ")[0] for c in candidates[-3:]} == {"Concentrate per vessel"}


def test_an_unsolved_case_is_judged_by_its_reason():
    r, _, _ = table()
    r.solved[0], r.reason[0] = False, "the feed pressure would pass 200 bar"
    assert judge(r, LIMITS)[0] == "the feed pressure would pass 200 bar"


def test_many_cases_cost_little_more_than_few():
    """A hundred times the cases in well under a hundred times the time (ratio in one run)."""
    vessels = [replace(v, elements=7) for v in draw(np.random.default_rng(1), 600)]
    permeate = 0.4 * np.array([v.feed for v in vessels])
    few, all_of_them = cases_of(vessels[:6], permeate[:6], 6e6), cases_of(vessels, permeate, 6e6)
    solve(few)

    def best(cases):
        spent = []
        for _ in range(3):
            start = time.process_time()
            solve(cases)
            spent.append(time.process_time() - start)
        return min(spent)

    assert best(all_of_them) < 40 * best(few)
