"""Ions along the vessel, held to differential equations of the tests' own."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from desalbook.membrane import march_ions, solve
from desalbook.membrane import transport as t
from desalbook.tables import table
from desalbook.water.species import IONS
from tests.membrane.cases import cases_of
from tests.membrane.reference import Vessel, _local, draw
from tests.membrane.test_vessel import many

FED = {"Na": 0.4860, "Mg": 0.0547, "Ca": 0.0107, "K": 0.0106, "Sr": 0.00009, "Cl": 0.5657, "SO4": 0.0293,
       "HCO3": 0.0024, "Br": 0.0009, "F": 0.00007, "NO3": 0.00001, "SiO2": 0.00003}
ROWS = table("ion_passage")
CHARGE = np.array([float(ROWS[k]["charge"].value) for k in FED])
PASSAGE = np.array([float(ROWS[k]["passage"].value) for k in FED])
MASS = np.array([IONS[k].molar_mass for k in FED])
B_FED = np.array(list(FED.values()))


def passing(bulk, x_p):
    """mol/kg of each ion in water that carries x_p of salt, from the bulk: the tests' own words for it."""
    weight = bulk * PASSAGE
    plus = weight[CHARGE > 0] @ CHARGE[CHARGE > 0]
    minus = -(weight[CHARGE < 0] @ CHARGE[CHARGE < 0])
    weight = weight * np.sqrt(minus / plus) ** np.sign(CHARGE)
    return weight / (weight @ MASS) * x_p


def march(v: Vessel, feed_pressure: float):
    """Permeate and concentrate, mol/kg water, by adaptive integration of water, pressure and every ion."""
    fed = B_FED * v.salinity / (B_FED @ MASS)
    rho = v.density[0] + v.salinity * (v.density[1] + v.density[2] * v.salinity**0.5 + v.density[3] * v.salinity)
    water = v.feed * rho / (1 + v.salinity)

    def slopes(_, y):
        w, p, ions = y[0], y[1], y[2:] * fed
        j, through, _, slope, _ = _local(v, w, ions @ MASS, p)
        drawn = j * v.area * v.density[0]
        return np.concatenate([[-drawn, -slope * v.length], -drawn * passing(ions / w, through) / fed])

    start = np.concatenate([[water, feed_pressure - v.port_loss / 2], np.full(len(fed), water)])
    end = solve_ivp(slopes, (0.0, float(v.elements)), start, method="DOP853", rtol=1e-10, atol=1e-13).y[:, -1]
    return (water - end[2:]) * fed / (water - end[0]), end[2:] * fed / end[0]


def _compare(count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    for v in draw(rng, count):
        pressure = rng.uniform(50e5, 72e5)
        r = solve(cases_of([v], 1.0, pressure), "permeate_flow")
        found = march_ions(r, B_FED, MASS, PASSAGE, CHARGE)
        permeate, reject = march(v, pressure)
        np.testing.assert_allclose(found.permeate[0], permeate, rtol=2e-4)
        np.testing.assert_allclose(found.concentrate[0], reject, rtol=2e-4)


def test_each_ion_by_differential_equations():
    _compare(6, 5)


@pytest.mark.full
def test_each_ion_by_differential_equations_many():
    _compare(200, 6)


def test_ions_and_charge_close_in_every_case():
    vessels, permeate = many(200, 14)
    r = solve(cases_of(vessels, permeate, 6e6))
    m = march_ions(r, B_FED, MASS, PASSAGE, CHARGE)
    water_p = np.sum(r.state["water_in"] - r.state["water_out"], axis=1)[:, None]
    fed = m.flow_in[:, 0]
    np.testing.assert_allclose(m.permeate * water_p + m.flow_out[:, -1], fed, rtol=1e-12)
    np.testing.assert_allclose(m.concentrate * r.state["water_out"][:, -1:], m.flow_out[:, -1], rtol=1e-12)
    np.testing.assert_allclose(m.permeate @ MASS, r.out["permeate_salinity"], rtol=1e-9)
    np.testing.assert_allclose(m.flow_out @ MASS, r.state["salt_out"], rtol=1e-9)
    charge = np.abs(m.passed @ CHARGE) / (m.passed @ np.abs(CHARGE))
    assert charge.max() < 1e-12, "every slice"
    into, out = fed @ CHARGE, m.flow_out[:, -1] @ CHARGE
    assert np.max(np.abs(into - out) / (fed @ np.abs(CHARGE))) < 1e-12, "the feed's own imbalance stays in it"


def test_what_the_march_notices(monkeypatch):
    """A passage, the collocation or the charge made wrong moves the answer; slice by slice is not vessel by vessel."""
    vessels, permeate = many(3, 2)
    r = solve(cases_of(vessels, permeate, 6e6))
    right = march_ions(r, B_FED, MASS, PASSAGE, CHARGE).permeate
    assert np.abs(march_ions(r, B_FED, MASS, PASSAGE * (1 + 0.001 * (CHARGE == 2)), CHARGE).permeate / right
                  - 1).max() > 1e-4
    lumped = np.array([passing(B_FED, x) for x in r.out["permeate_salinity"]])
    assert np.abs(lumped / right - 1).max() > 1e-3
    bulk, honest = march_ions(r, B_FED, MASS, PASSAGE, CHARGE).bulk, t.slice_mean.plain
    monkeypatch.setattr(t.slice_mean, "plain", lambda *a, **k: honest(*a, **k) * 1.001)
    assert np.abs(march_ions(r, B_FED, MASS, PASSAGE, CHARGE).bulk / bulk - 1).max() > 5e-4
