"""The vessel solver in salt water as it is: order of the slices, balances of random vessels, sheets run forward."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from desalbook.membrane import Laws, solve
from desalbook.membrane.element import _curves, _invert
from desalbook.tables import table
from desalbook.water.purewater import viscosity
from tests.membrane.cases import cases_of
from tests.membrane.reference import Vessel, draw, feed_pressure, march
from tests.membrane.test_vessel import CASE_A, CASE_B, CUMULATIVE, IDEAL, LMH, plain_vessel, wild

HOUR = 3600.0
SHEETS = tuple(k for k, row in table("elements").rows.items() if row["service"].value == "seawater")


def litre_of_water(osmotic_per_kg_m3: float, **laws) -> Laws:
    """Salt takes no room: density 1000 (1 + X), so a concentration is 1000 X and volumes are those of water.

    The viscosity follows the density, so that Reynolds and Schmidt numbers are those of 1025 kg/m3 and
    1.0 mPa s everywhere.
    """
    return Laws(density=lambda x, *_: 1000 * (1 + x), osmotic=lambda x, *_: osmotic_per_kg_m3 * 1000 * x,
                viscosity=lambda x, *_: 1e-3 * 1000 * (1 + x) / 1025, diffusivity=lambda c, *_: 1.5e-9 + 0 * c,
                **laws)


def salted(feed: float, c: float, pressure: float, a: float, b: float):
    """The seven elements of the benchmark at their full salinity."""
    return replace(plain_vessel(feed, c, pressure, a, b, density=1000.0), feed_salinity=c / 1000)


@pytest.mark.parametrize(("sr", "rr", "mtu"), [(0.45, 0.45, 1.2171366), (0.40, 0.50, 1.2167038),
                                               (0.50, 0.40, 1.2047190), (0.30, 0.60, 1.1837730)])
@pytest.mark.parametrize(("slices", "rel"), [(1, 5e-3), (3, 5e-4), (12, 5e-5)])
def test_transfer_units_of_an_ideal_string(sr, rr, mtu, slices, rel):
    """Permeability times area times pressure over feed flow is RR + SR ln[(1 - SR)/(1 - SR - RR)]
    (Banchik, Sharqawy and Lienhard 2014, form from memory, derived again)."""
    feed, c, pressure = 8 / HOUR, 35.0, 60e5
    a = mtu * feed / (7 * 37.16 * pressure)
    laws = litre_of_water(sr * pressure / c, **IDEAL)
    r = solve(salted(feed, c, pressure, a, 0.0), "permeate_flow", slices, laws)
    y = r.permeate_flow[0] / feed
    assert r.solved[0] and y == pytest.approx(rr, rel=rel)
    assert y + sr * np.log((1 - sr) / (1 - sr - y)) == pytest.approx(mtu, rel=2 * rel)


@pytest.mark.parametrize(("pressure", "ideal", "expect"), [(55e5, False, CASE_A), (60e5, True, CASE_B)])
def test_benchmark_in_salt_water(pressure, ideal, expect):
    """Solved apart with 7000 steps, 1025 kg/m3 everywhere. What differs here is the density in the friction
    alone, 1035 to 1065 kg/m3: the loss is that much larger, 1 to 4 %, and no other figure feels it by 0.1 %."""
    laws = litre_of_water(0.75e5, **(IDEAL if ideal else {}))
    r = solve(salted(8 / HOUR, 35.0, pressure, 1.20 * LMH / 1e5, 0.08 * LMH), "permeate_flow", 12, laws)
    assert r.permeate_flow[0] == pytest.approx(expect["permeate"], rel=1e-3)
    assert r.out["flux"][0] == pytest.approx(expect["flux"], rel=1e-3)
    assert r.out["permeate_tds"][0] == pytest.approx(expect["c_p"], rel=1e-3)
    assert r.out["concentrate_tds"][0] == pytest.approx(expect["c_c"], rel=1e-3)
    if ideal:
        assert r.out["pressure_drop"][0] == 0
    else:
        assert 1035 / 1025 < r.out["pressure_drop"][0] / expect["drop"] < 1065 / 1025
        through = (r.state["flux"][0] * 37.16 / 12).reshape(7, 12).sum(axis=1).cumsum() * HOUR
        assert through == pytest.approx(CUMULATIVE, rel=1e-3)


@pytest.mark.full
@pytest.mark.parametrize(("order", "counts", "bounds"), [(2, (3, 6, 12), (1e-3, 3e-4, 1e-4)),
                                                         (4, (2, 4, 8), (2e-4, 2e-5, 1e-6))])
def test_order_of_the_slices(order, counts, bounds):
    """Against the differential equations: with twice the slices the error falls by four, or by sixteen in pairs."""
    rng = np.random.default_rng(17)
    worst = {}
    for v in draw(rng, 6):
        permeate = rng.uniform(0.33, 0.5) * v.feed
        pressure = feed_pressure(v, permeate)
        wanted = march(v, pressure, 1e-12)
        for slices in counts:
            r = solve(cases_of([v], 1.0, pressure), "permeate_flow", slices, order=order)
            found = {"permeate_flow": r.permeate_flow[0]} | {k: r.out[k][0] for k in (
                "permeate_tds", "permeate_boron", "vessel_drop")}
            for name, value in found.items():
                worst.setdefault((name, slices), []).append(abs(value / wanted[name] - 1))
    for name in ("permeate_flow", "permeate_tds", "permeate_boron", "vessel_drop"):
        one, two, three = (np.array(worst[name, n]).max() for n in counts)
        assert one < bounds[0] and two < bounds[1] and three < bounds[2], name
        assert 0.8 < np.log2(one / two) / order < 1.2 and 0.8 < np.log2(two / three) / order < 1.2, name


def test_pairs_need_an_even_number():
    v = draw(np.random.default_rng(1), 1)
    with pytest.raises(ValueError, match="pairs"):
        solve(cases_of(v, 1e-3, 6e6), slices=3, order=4)
    with pytest.raises(ValueError, match="pairs"):
        solve(cases_of(v, 1e-3, 6e6), order=3)


@pytest.mark.parametrize("unknown", ["feed_pressure", "feed_flow", "permeate_flow"])
@pytest.mark.parametrize("elements", [1, 8])
@pytest.mark.parametrize("count", [200, pytest.param(1000, marks=pytest.mark.full)])
def test_short_and_long_vessels_of_any_design(unknown, elements, count):
    """Brackish to brine, hardly any or more permeate than feed, pressure below the osmotic one: numbers or a
    reason, and what is called solved closes its balances of water, salt and boron in every slice."""
    vessels, permeate, pressure = wild(count, 40 + elements)
    vessels = [replace(v, elements=elements, salinity=0.001 if i % 10 == 0 else v.salinity)
               for i, v in enumerate(vessels)]
    with np.errstate(all="raise"):
        r = solve(cases_of(vessels, permeate, pressure, count=3.0), unknown)
    for name, values in {**r.state, **r.out, "pressure": r.feed_pressure, "feed": r.feed_flow}.items():
        assert np.all(np.isfinite(values)), name
    assert [bool(x) for x in r.reason] == list(~r.solved) and "no steady state was found" not in r.reason
    ok = r.solved
    assert 0.06 * count < ok.sum() < count, "too few answers to prove anything"
    s, out = r.state, r.out
    area = np.array([v.area for v in vessels])[:, None] / 2
    water = area * np.array([v.density[0] for v in vessels])[:, None]
    for solute, flux in (("water", s["flux"] * water), ("salt", s["salt_flux"] * area),
                         ("boron", s["boron_flux"] * area)):
        into = s[f"{solute}_in"][:, 0]
        left = s[f"{solute}_in"] - s[f"{solute}_out"] - flux
        assert np.max(np.abs(left[ok]) / into[ok, None]) < 1e-9, solute
        whole = into - s[f"{solute}_out"][:, -1] - flux.sum(axis=1)
        assert np.max(np.abs(whole[ok]) / into[ok]) < 1e-9, solute
    salt_out = out["permeate_tds"] * r.permeate_flow + out["concentrate_tds"] * out["concentrate_flow"]
    np.testing.assert_allclose(salt_out[ok], 3 * out["vessel_salt"][ok], rtol=1e-9)


def test_nothing_is_called_solved_past_the_end_of_the_curves():
    """The water's curves end at 130 g/kg water; past it the osmotic pressure may even turn round."""
    v = replace(draw(np.random.default_rng(2), 1)[0], elements=7, feed=8 / HOUR, salinity=0.036, a=3e-12)
    r = solve(cases_of([v] * 61, np.linspace(0.3, 0.9, 61) * v.feed, 6e6))
    past = np.array([x == "the water at the membrane would pass 130 g/kg" for x in r.reason])
    assert r.solved[:20].all() and past.any() and not r.solved[-1]
    assert np.all(np.diff(r.solved.astype(int)) <= 0), "answers end once, and do not come back"
    assert 0.12 < r.state["wall_salinity"][r.solved].max() <= 0.13, "the end is reached, and not passed"
    assert r.state["wall_salinity"][past].max(axis=1).min() > 0.13
    vessels, permeate, pressure = wild(500, 12)
    for unknown in ("feed_pressure", "feed_flow", "permeate_flow"):
        some = solve(cases_of(vessels, permeate, pressure), unknown)
        assert some.state["wall_salinity"][some.solved].max() <= 0.13


@pytest.mark.parametrize("elements", [1, 8])
def test_feasible_short_and_long_vessels_are_answered(elements):
    """The flow a vessel gives at some pressure is asked of it: at least 99 in 100 find the pressure again."""
    vessels = [replace(v, elements=elements) for v in draw(np.random.default_rng(31), 300)]
    pressure = np.random.default_rng(2).uniform(40e5, 80e5, 300)
    built = solve(cases_of(vessels, 1.0, pressure), "permeate_flow")
    asked = np.where(built.solved, built.permeate_flow, 1e-4)
    back = solve(cases_of(vessels, asked, 6e6))
    ok = built.solved
    assert ok.mean() > 0.99 and back.solved[ok].mean() >= 0.99
    both = ok & back.solved
    np.testing.assert_allclose(back.feed_pressure[both], pressure[both], rtol=1e-8)


@pytest.mark.parametrize("name", SHEETS)
def test_rated_test_comes_back(name):
    """Permeabilities found from the sheet, run forward from the pressure alone, give the sheet again."""
    row = {k: v.value for k, v in table("elements")[name].items()}
    curves = _curves(row["test_temperature"])
    c = row["test_concentration"]
    x = c / 1020
    for _ in range(60):
        x = c / (curves.density.at(x) - c)
    ph, borate = row["test_ph"] - 0.13, 2.8e-8
    a, b, acid, _ = _invert(row["area"], row["length"], row["spacer_height"], row["spacer_porosity"], row["rated_flow"],
                         row["rated_rejection"], row["rated_boron_rejection"], row["test_pressure"], x,
                         row["test_temperature"], row["test_recovery"], ph, borate, 2)
    v = Vessel(elements=1, feed=row["rated_flow"] / row["test_recovery"], salinity=x,
               temperature=row["test_temperature"], permeate_pressure=0.0, port_loss=0.0, a=a, b=b, b_acid=acid,
               b_borate=borate, boron=5e-6, ph=ph, water_viscosity=viscosity(row["test_temperature"]),
               osmotic=curves.osmotic.coefficients, density=curves.density.coefficients, area=row["area"],
               length=row["length"], height=row["spacer_height"], porosity=row["spacer_porosity"])
    r = solve(cases_of([v], 1.0, row["test_pressure"]), "permeate_flow")
    assert r.permeate_flow[0] == pytest.approx(row["rated_flow"], rel=1e-9)
    assert r.out["permeate_tds"][0] / c == pytest.approx(1 - row["rated_rejection"], rel=1e-9)
    feed_boron = 5e-6 * c / x
    assert r.out["permeate_boron"][0] / feed_boron == pytest.approx(1 - row["rated_boron_rejection"], rel=1e-9)


@pytest.mark.parametrize("unknown", ["feed_pressure", "feed_flow", "permeate_flow"])
def test_a_search_that_begins_nearby_ends_at_the_same_answer(unknown):
    """Where it begins, even at nonsense, and how coarse the passes before were, decides nothing but the speed."""
    vessels, permeate, pressure = wild(150, seed=11)
    cases = cases_of(vessels, permeate, pressure)
    cold = solve(cases, unknown)
    coarse = solve(cases, unknown, tolerance=1e-6, finished=False)
    near = {"feed_pressure": coarse.feed_pressure, "feed_flow": coarse.feed_flow, "flux": coarse.state["flux"],
            "salt_flux": coarse.state["salt_flux"]}
    odd = {k: v * 3.0 for k, v in near.items()}
    both = cold.solved.copy()
    # a pressure and a permeate may be met by two feed flows, so there a far start may end at the other
    for start in (near,) if unknown == "feed_flow" else (near, odd):
        warm = solve(cases, unknown, near=start)
        both &= warm.solved
        for name in ("feed_pressure", "feed_flow", "permeate_flow"):
            assert getattr(warm, name)[both] == pytest.approx(getattr(cold, name)[both], rel=2e-9), name
        assert warm.out["permeate_boron"][both] == pytest.approx(cold.out["permeate_boron"][both], rel=2e-9)
    assert both.sum() >= 0.95 * cold.solved.sum() > 10
    assert "beta_max" not in coarse.out and "beta_max" in cold.out
