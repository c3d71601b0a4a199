"""Element types by position, joints and other correlations, held to differential equations element by element."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from desalbook.membrane import channel, laws_named, solve
from desalbook.membrane import transport as t
from tests.membrane.cases import cases_of
from tests.membrane.reference import SEA, _local, _rho, draw

JOINT = 0.04e5


def march(types, pressure: float):
    """Permeate flow, its salt, drop and recovery of each element, from one vessel's worth of element types."""
    first = types[0]
    water = first.feed * _rho(first.salinity, first.density) / (1 + first.salinity)
    y = np.array([water, water * first.salinity, pressure - first.port_loss / 2])
    start, shares, beta = y.copy(), [], 0.0
    for i, v in enumerate(types):
        def slopes(_, y, v=v):
            j, through, _, slope, _ = _local(v, *y)
            drawn = j * v.area * v.density[0]
            return [-drawn, -drawn * through, -slope * v.length]

        beta = max(beta, _local(v, *y)[2])
        end = solve_ivp(slopes, (0.0, 1.0), y, method="DOP853", rtol=1e-10, atol=[1e-12, 1e-14, 1e-4]).y[:, -1]
        beta = max(beta, _local(v, *end)[2])
        shares.append(1 - end[0] / y[0])
        y = end - [0, 0, JOINT if i + 1 < len(types) else 0]
    permeate, salt = start[0] - y[0], start[1] - y[1]
    flow = (permeate + salt) / _rho(salt / permeate, first.density)
    return flow, salt / flow, start[2] - y[2], np.array(shares), beta


def mixed(seed: int):
    """Seven elements: tight ones in front, open ones behind, a wider channel in the last two."""
    v = replace(draw(np.random.default_rng(seed), 1)[0], elements=7, salinity=0.036, osmotic=SEA["osmotic"],
                density=SEA["density"], feed=8 / 3600)
    types = [replace(v, a=2.0e-12, b=1e-8)] * 3 + [replace(v, a=4.5e-12, b=2.5e-8)] * 2
    types += [replace(v, a=5.5e-12, b=3e-8, area=33.0, height=8.6e-4, porosity=0.9)] * 2

    def row(name):
        return np.array([[getattr(x, name) for x in types]])

    cases = replace(
        cases_of([v], 1.0, 62e5), interconnector_loss=JOINT, water_permeability=row("a"), salt_permeability=row("b"),
        element_area=row("area"), element_length=row("length"), spacer_height=row("height"),
        spacer_porosity=row("porosity"))
    return types, cases


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_mixed_elements_and_joints(seed):
    types, cases = mixed(seed)
    flow, tds, drop, shares, beta = march(types, 62e5)
    r = solve(cases, "permeate_flow")
    assert r.solved[0]
    assert r.permeate_flow[0] == pytest.approx(flow, rel=2e-4)
    assert r.out["permeate_tds"][0] == pytest.approx(tds, rel=2e-4)
    assert r.out["vessel_drop"][0] == pytest.approx(drop, rel=2e-4)
    assert r.out["beta_max"][0] == pytest.approx(beta, rel=2e-4)
    assert r.state["element_recovery"][0] == pytest.approx(shares, rel=2e-4)
    assert r.out["element_recovery"][0] == pytest.approx(shares.max(), rel=2e-4)
    again = solve(replace(cases, permeate_flow=r.permeate_flow), "feed_pressure")
    assert again.feed_pressure[0] == pytest.approx(62e5, rel=1e-9)


def test_tight_elements_in_front_even_the_flux():
    """What they are mixed for: less flux in front, more downstream of, at the same permeate."""
    _, cases = mixed(1)
    mean = np.mean(cases.water_permeability)
    r = solve(replace(cases, permeate_flow=3.3 / 3600))
    even = solve(replace(cases, permeate_flow=3.3 / 3600, water_permeability=mean))
    assert r.out["lead_flux"][0] < 0.9 * even.out["lead_flux"][0]
    turned = replace(cases, water_permeability=cases.water_permeability[:, ::-1])
    assert solve(replace(turned, permeate_flow=3.3 / 3600)).out["lead_flux"][0] > even.out["lead_flux"][0]


def test_a_wrong_shape_is_refused():
    _, cases = mixed(1)
    with pytest.raises(ValueError, match="7 elements"):
        solve(replace(cases, water_permeability=np.full((1, 6), 3e-12)))
    with pytest.raises(ValueError, match="feed_flow"):
        solve(replace(cases, feed_flow=np.full((1, 7), 3e-3)))


@pytest.mark.parametrize("mass_transfer", channel.MASS_TRANSFER)
@pytest.mark.parametrize("friction", channel.FRICTION)
def test_other_correlations(mass_transfer, friction):
    """A plain relation in the place of the default is what the solver uses, and the answer moves."""
    v = draw(np.random.default_rng(4), 1)[0]
    usual, other = (solve(cases_of([v], 0.4 * v.feed, 6e6), laws=laws) for laws in (
        None, laws_named(mass_transfer, friction)))
    assert other.solved[0]
    re = other.state["reynolds"]
    np.testing.assert_allclose(other.state["friction"], channel.FRICTION[friction].plain(re), rtol=1e-12)
    np.testing.assert_allclose(other.state["sherwood"], channel.MASS_TRANSFER[mass_transfer].plain(
        re, other.state["schmidt"]), rtol=1e-12)
    same = mass_transfer == friction == "schock-miquel"
    assert (abs(other.feed_pressure[0] / usual.feed_pressure[0] - 1) < 1e-12) == same
    assert np.abs(other.state["flux"] - other.state["driven_flux"]).max() < 1e-9 * other.state["flux"].max()
    assert t.sherwood_schock is channel.MASS_TRANSFER["schock-miquel"]
