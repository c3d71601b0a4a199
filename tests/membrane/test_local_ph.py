"""Boron's species along the vessel: held to the engine at other strengths, and used by the solver."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from desalbook.membrane import borate_shift, solve
from desalbook.water.phreeqc import Water, complete, speciate
from tests.membrane.cases import cases_of
from tests.membrane.reference import SEA, draw, march

SEA_WATER = {"Na": 0.4860, "Mg": 0.0547, "Ca": 0.0107, "K": 0.0106, "Cl": 0.5657, "SO4": 0.0293, "HCO3": 0.0024,
             "Br": 0.0009, "B": 0.00043}


@pytest.mark.parametrize("ph", [6.5, 7.0, 8.1, 9.2])
@pytest.mark.parametrize("kelvin", [288.15, 303.15])
def test_the_curve_meets_the_engine_elsewhere(ph, kelvin):
    water = Water.of(SEA_WATER, ph=ph, temperature=298.15)
    one, two = borate_shift(water, kelvin)
    whole = complete(water)
    feed = speciate(whole, kelvin)
    for strength in (1.2, 2.0, 3.0):
        there = Water(tuple((k, v * strength) for k, v in whole.molality), whole.alkalinity * strength,
                      (whole.carbon - feed.co2) * strength + feed.co2, None, whole.temperature)
        at = speciate(there, kelvin)
        moved = np.log10(at.borate / at.boric_acid) - np.log10(feed.borate / feed.boric_acid)
        assert one * np.log(strength) + two * np.log(strength) ** 2 == pytest.approx(moved, abs=0.02)


def test_acid_water_shifts_and_sea_water_does_not():
    acid, natural = (borate_shift(Water.of(SEA_WATER, ph=ph, temperature=298.15), 298.15) for ph in (7.0, 8.1))
    assert acid[0] + acid[1] > 0.3 and abs(natural[0] + natural[1]) < 0.05


def test_water_without_boron_has_no_shift():
    fresh = {k: v for k, v in SEA_WATER.items() if k != "B"}
    assert borate_shift(Water.of(fresh, ph=8.1, temperature=298.15), 298.15) == (0.0, 0.0)


def test_the_solver_follows_the_shift():
    """The boron of an acid feed falls as the species move, and by as much as the differential equations say."""
    v = replace(draw(np.random.default_rng(3), 1)[0], ph=8.0, osmotic=SEA["osmotic"], elements=7,
                shift=borate_shift(Water.of(SEA_WATER, ph=7.0, temperature=298.15), 298.15))
    moved, still = (solve(cases_of([x], 1.0, 6e6), "permeate_flow").out["permeate_boron"][0]
                    for x in (v, replace(v, shift=(0.0, 0.0))))
    assert moved < 0.99 * still
    assert moved == pytest.approx(march(v, 6e6)["permeate_boron"], rel=2e-4)
