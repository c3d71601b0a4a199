"""Random batteries: an answer or a named reason; water and solids close."""

from __future__ import annotations

import random

import numpy as np
import pytest

from desalbook.hydraulics.pipes import Fluid
from desalbook.pretreatment.backwash import backwash_rate, backwash_water
from desalbook.pretreatment.backwash_timetable import timetable
from desalbook.pretreatment.bed_limits import bed_limits
from desalbook.pretreatment.filters import battery
from desalbook.pretreatment.inputs import Filters, FilterVessel
from desalbook.pretreatment.media import bed
from desalbook.pretreatment.solids import solids_through_run
from desalbook.problems import DesignError, Infeasible
from desalbook.trail import Choice, Ledger
from tests.pretreatment.test_backwash_schedule import residuals
from tests.random_designs import of_draws
from tests.rooms import figures, inputs

TOP = ("anthracite", "anthracite-fine", "anthracite-coarse", "sand", "sand-coarse")
NEXT = ("sand", "sand-fine", "garnet", "anthracite")
SUPPORT = ("gravel-fine", "torpedo-sand", "garnet-coarse")


def drawn(seed: int) -> tuple[dict, dict]:
    """Keys of the filters, and the waters and flows."""
    r = random.Random(seed)
    layers = [{"name": "one", "media": r.choice(TOP), "depth": f"{r.uniform(0.3, 1.2):.3f} m"}]
    if r.random() < 0.8:
        layers.append({"name": "two", "media": r.choice(NEXT), "depth": f"{r.uniform(0.15, 0.8):.3f} m"})
    if r.random() < 0.7:
        layers.append({"name": "under", "media": r.choice(SUPPORT), "depth": "0.15 m"})
    keys = {
        "layers": layers,
        "rate_limit": f"{r.uniform(6, 25):.2f} m/h",
        "rate_limit_backwashing": f"{r.uniform(8, 30):.2f} m/h",
        "rate_limit_outage": f"{r.uniform(10, 40):.2f} m/h",
        "count_minimum": str(r.randint(3, 12)),
        "run_length": f"{r.choice((6, 12, 17.3, 24, 48)):g} h",
        "backwash_source": r.choice(("raw", "filtrate", "concentrate")),
        "backwashes_together": str(r.choice((1, 1, 1, 2, 3))),
        "trains_together": r.choice(("no", "no", "yes")),
        "backwash_pattern": r.choice(("spread", "row")),
        "scour_time": f"{r.uniform(0, 8):.2f} min",
        "backwash_time": f"{r.uniform(4, 20):.2f} min",
        "filter_to_waste_time": f"{r.uniform(0, 30):.2f} min",
        "freeboard": f"{r.uniform(0.1, 1.2):.2f} m",
    }
    values = {
        "cold_rho": (1028.0, "density"), "cold_mu": (r.uniform(1.2e-3, 1.9e-3), "viscosity"),
        "hot_rho": (1021.0, "density"), "hot_mu": (r.uniform(0.7e-3, 1.1e-3), "viscosity"),
        "trains": (r.randint(1, 5), "count"),
        "flow": (r.uniform(5, 900) * (20 if r.random() < 0.05 else 1) / 3600, "flow"),
    }
    return keys, values


def run(seed: int) -> str:
    """One battery; returns how it ended, having checked all that must hold."""
    keys, values = drawn(seed)
    carries = Choice(random.Random(seed + 1).choice(("yes", "no")), id="flow")
    try:
        with Ledger().recording() as ledger:
            inp, f = inputs({"filters": (Filters, keys), "filter_vessel": (FilterVessel, {})}), figures(values)
            of = battery(inp, f["flow"], f["trains"])
            layers = bed(inp, [layer["name"] for layer in keys["layers"]])
            waters = {c: Fluid(f[f"{c}_rho"], f[f"{c}_mu"]) for c in ("cold", "hot")}
            wash = backwash_rate(inp, layers, of.area, waters)
            bed_limits(inp, layers, wash.rate, waters)
            water = backwash_water(inp, f["flow"], of, wash, f["trains"], carries)
    except (Infeasible, DesignError) as problem:
        assert problem.where and str(problem)
        return type(problem).__name__
    plan = water.schedule
    if float(water.drain_volume) > float(water.backwash_volume):
        assert ledger.lines["filters.refill.check"].more["verdict"] == "fails"
    m = timetable(plan)
    closes(m, plan)
    out = m.state < 6
    assert out.sum(axis=(0, 1)).max() <= float(plan.slots.at_once)
    missed = float(plan.slots.missed)
    assert (missed > 0) == ("filters.schedule.note" in ledger.lines)
    whole = int(plan.trains) * int(of.count)
    assert (len(m.washes) == whole) == (missed == 0), (len(m.washes), whole, missed)
    return "missed" if missed else "sized"


def closes(m, plan) -> None:
    """Water in every minute, solids over the run, from sums of their own."""
    assert max(residuals(m).values()) < 1e-9
    assert np.abs(m.missing[..., -1]).max() < 1e-9 * float(plan.drain_volume)
    raw, filtrate, wash = 12e-3, 0.6e-3, 5e-3
    s = solids_through_run(m, raw, filtrate, wash)
    seconds, done = m.length, m.wash.sum(axis=-1) > 0
    into = float(np.sum((raw * m.pump.sum(axis=0) + wash * m.wash.sum(axis=(0, 1))) * seconds))
    onward = float(np.sum(filtrate * m.filtrate.sum(axis=(0, 1)) * seconds))
    to_waste = float(np.sum(s.waste.sum(axis=(0, 1)) * seconds))
    kept = float(np.sum((s.into - s.onward - s.waste)[~done] * seconds))
    assert abs(into - onward - to_waste - kept) < 1e-9 * into
    assert (s.held >= -1e-9 * s.held.max()).all()


@pytest.mark.parametrize("seed", range(30))
def test_a_sample_of_random_batteries(seed):
    run(seed)


@pytest.mark.full
def test_two_thousand_random_batteries():
    ends = [run(seed) for seed in range(2 * of_draws(1000))]
    assert {"sized", "missed", "Infeasible"} <= set(ends), {e: ends.count(e) for e in set(ends)}


def test_a_lost_hundredth_per_cent_of_solids_is_seen():
    with Ledger().recording():
        _, values = drawn(1)
        values["flow"] = (0.05, "flow")
        inp, f = inputs({"filters": (Filters, {}), "filter_vessel": (FilterVessel, {})}), figures(values)
        of = battery(inp, f["flow"], f["trains"])
        layers = bed(inp, ("anthracite", "sand", "gravel"))
        waters = {c: Fluid(f[f"{c}_rho"], f[f"{c}_mu"]) for c in ("cold", "hot")}
        plan = backwash_water(inp, f["flow"], of, backwash_rate(inp, layers, of.area, waters), f["trains"],
                          Choice("yes", id="flow")).schedule
    m = timetable(plan)
    closes(m, plan)
    m.pump[0] *= 1.0001
    with pytest.raises(AssertionError):
        closes(m, plan)
