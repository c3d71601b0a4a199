"""Vessels at low flow, where the water at the membrane comes near the end of the water's curves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from desalbook.membrane import solve
from desalbook.membrane import transport as t
from tests import shared
from tests.membrane import reference
from tests.membrane.cases import cases_of
from tests.membrane.reference import draw, march

END = t.CURVES_END.value


@pytest.fixture(scope="module")
def waters():
    return shared.plant().sized.waters.at


def slow(rng, at):
    """A vessel of this very water with an eighth to a half of the usual feed: low Reynolds numbers, high recovery."""
    v = draw(rng, 1)[0]
    return replace(v, feed=v.feed * rng.uniform(0.12, 0.5), salinity=rng.uniform(0.03, 0.05),
                   a=v.a * rng.uniform(0.8, 1.6), elements=int(rng.integers(4, 9)),
                   osmotic=tuple(at.osmotic_curve.values),
                   density=tuple(at.density_curve.values), temperature=float(at.temperature),
                   water_viscosity=float(at.water_viscosity))


def test_none_with_an_answer_is_refused(waters):
    """Every case ends at a root; only those whose wall passes the curves are refused, and say so."""
    rng, refused = np.random.default_rng(5), []
    for k in range(60):
        v, pressure = slow(rng, waters[("cold", "design", "hot")[k % 3]]), rng.uniform(60e5, 90e5)
        r = solve(cases_of([v], 1e-3, pressure), "permeate_flow")
        assert np.abs(r.state["flux"] - r.state["driven_flux"]).max() < 1e-9 * r.state["flux"].max(), r.reason
        wall = r.state["wall_salinity"].max()
        assert r.solved[0] == (wall <= END), (r.reason, wall)
        if not r.solved[0]:
            refused.append(wall)
            assert "130 g/kg" in r.reason[0]
    assert max(refused, default=0.0) < 0.2  # no false root far out on the curves


def test_an_answer_near_the_end_is_that_of_the_differential_equations(waters, monkeypatch):
    """Among them vessels whose wall comes to 105 g/kg and more; the integrator's own trials may pass the end."""
    honest = reference.salty
    monkeypatch.setattr(reference, "salty", lambda x, a: honest(min(x, END), a) * (max(x, END) / END) ** 1.5)
    rng, near = np.random.default_rng(5), 0
    for k in range(30):
        v, pressure = slow(rng, waters[("cold", "design", "hot")[k % 3]]), rng.uniform(60e5, 90e5)
        r = solve(cases_of([v], 1e-3, pressure), "permeate_flow", slices=8)
        if r.solved[0] and r.state["wall_salinity"].max() > 0.105 and near < 4:
            near += 1
            assert r.permeate_flow[0] == pytest.approx(march(v, pressure, rtol=1e-8)["permeate_flow"], rel=1e-4)
    assert near == 4


def test_osmotic_pressure_rises_and_bends_upwards_beyond_the_end(waters):
    for at in waters.values():
        x = np.linspace(0.05, 0.6, 500)
        pi = t.osmotic_of.plain(x, *at.osmotic_curve.values)
        assert (np.diff(pi) > 0).all() and (np.diff(pi, 2) > -1e-9 * pi[1:-1]).all()
        assert t.osmotic_of.plain(0.0, *at.osmotic_curve.values) == 0.0
