"""What the chemistry is held to from outside: osmotic pressure, density, pH scales, indices of the manual's water."""

from __future__ import annotations

import gsw
import pytest

from desalbook.water import boron
from desalbook.water import carbonate as cb
from desalbook.water.phreeqc import Water, property_curves, speciate
from desalbook.water.reference_composition import reference_sea
from desalbook.water.seawater import osmotic_d4516
from tests.points import Point
from tests.published.test_calcite import EXAMPLE_1

POINTS = [
    # 32 000 mg/L of sodium chloride: 26.16 bar at 25 degC, 25.72 at 20; 10 000 mg/L by hand
    *[Point("water.seawater:osmotic_d4516", {"concentration": c, "temperature": t + 273.15},
            bar * 1e5, rel, "astm-d4516",
            "closed form from memory, worked by hand", "hand arithmetic")
      for c, t, bar, rel in ((32.0, 25.0, 26.16, 2e-4), (32.0, 20.0, 25.72, 2e-4), (10.0, 25.0, 7.9928293, 1e-7))],
]


def test_bias_of_the_astm_formula():
    """32 000 mg/L of sodium chloride at 25 degC is 0.55468 mol/kg and 25.31 bar; the formula says 3.4 % more. Taken for
    sea salt of 35 g/kg (35.8 g/L, 25.79 bar) it says 14 % more."""
    exact = property_curves(Water.of({"Na": 1.0, "Cl": 1.0}, ph=7.0), 298.15).osmotic.at(0.55468 * 0.0584428)
    assert osmotic_d4516.plain(32.0, 298.15) / exact - 1 == pytest.approx(0.034, abs=0.004)
    assert osmotic_d4516.plain(35.8, 298.15) / 25.79e5 - 1 == pytest.approx(0.14, abs=0.01)


@pytest.mark.parametrize(("mineral", "printed"), [("calcite", 0.75), ("aragonite", 0.61), ("gypsum", -0.64),
                                                  ("anhydrite", -0.93)])
def test_the_manual_s_sea_water_by_the_brine_data(mineral, printed):
    """PHREEQC manual example 1: each index within 0.05 of the printed output, two decimals."""
    assert speciate(EXAMPLE_1, None, "brine").index(mineral) == pytest.approx(printed, abs=0.05 + 0.005)


@pytest.mark.parametrize(("celsius", "last"), [(5.0, 0.060), (10.0, 0.070), (15.0, 0.070), (25.0, 0.080),
                                               (35.0, 0.080), (40.0, 0.070)])
def test_density_of_concentrate(celsius, last):
    """Within 0.02 % of TEOS-10 up to 80 g/kg in warm water, 70 at 10, 15 and 40 degC, 60 at 5 degC. Beyond, the engine
    is up to 0.04 % high (80 g/kg, 5 degC), where TEOS-10 itself is an extension beyond its 42 g/kg."""
    made = property_curves(reference_sea(0.035), 273.15 + celsius)
    for s in (0.02, 0.035, 0.05, last):
        assert made.density.at(s / (1 - s)) == pytest.approx(gsw.rho_t_exact(s * 1e3, celsius, 0.0), rel=2e-4), s


@pytest.mark.parametrize("celsius", [5.0, 15.0, 25.0, 40.0])
def test_density_correlation_as_the_cross_check(celsius):
    """The property library's seawater correlation: within 0.06 % of TEOS-10 up to 45 g/kg, 0.12 % to 80."""
    from CoolProp.CoolProp import PropsSI

    for s, rel in ((0.005, 6e-4), (0.035, 6e-4), (0.045, 6e-4), (0.060, 1.2e-3), (0.080, 1.2e-3)):
        other = PropsSI("D", "T", 273.15 + celsius, "P", 101325.0, f"INCOMP::MITSW[{s}]")
        assert other == pytest.approx(gsw.rho_t_exact(s * 1e3, celsius, 0.0), rel=rel)


def test_one_sample_on_two_scales_yields_one_borate_share():
    """pH_T 8.0459 is pH_NBS 8.1824 at S 35 and 25 degC (pyco2sys): shares 21.9 % either way, to the 0.0065 by which the
    kit's constant difference of 0.13 misses this sample, 0.0011 of the share; mixed scales would give 27.8 %."""
    pk = boron.pkb_saline.plain(298.15, 35.0)
    total = boron.borate_fraction.plain(8.0459, pk)
    assert total == pytest.approx(0.2192, abs=5e-4)
    assert boron.borate_fraction.plain(cb.total_from_nbs.plain(8.1824), pk) == pytest.approx(total, abs=0.003)
    assert boron.borate_fraction.plain(cb.total_from_nbs.plain(cb.nbs_from_total.plain(8.0459)), pk) == pytest.approx(
        total, abs=1e-12)
    assert boron.borate_fraction.plain(8.1824, pk) > total + 0.05


def test_nitrate_and_fluoride_no_longer_vanish():
    """50 mg/L nitrate (0.806 mmol/L) and 1.3 mg/L fluoride (0.068 mmol/L) with their sodium, added to seawater of
    35 g/kg: 2 x 0.875 mmol per litre x phi 0.90 x R T is 0.0391 bar; standing in as chloride they count as much."""
    sea = reference_sea(0.035)
    own = dict(sea.molality)
    per_kg = 1.0232 * (1 - 0.035)  # kg of water in a litre
    nitrate, fluoride = 50e-3 / 62.004 / per_kg, 1.3e-3 / 18.998 / per_kg
    bare = {**own, "F": 0.0}
    full = {**own, "Na": own["Na"] + nitrate + fluoride, "NO3": nitrate, "F": fluoride}

    def osmotic(ions):
        water = Water(tuple(ions.items()), sea.alkalinity, sea.carbon, None, 298.15)
        activity = speciate(water, 298.15, "brine").water_activity
        from math import log

        return -8.314462618 * 298.15 * log(activity) / 0.018015 * 997.05

    by_hand = 2 * (nitrate + fluoride) * 0.90 * 8.314462618 * 298.15 * 997.05
    assert by_hand == pytest.approx(0.0395e5, rel=0.02)
    assert osmotic(full) - osmotic(bare) == pytest.approx(by_hand, rel=0.05)
    lost = {k: v for k, v in full.items() if k not in ("NO3", "F")}
    assert osmotic(lost) - osmotic(bare) < 0.6 * by_hand  # what dropping them without a word would have given
