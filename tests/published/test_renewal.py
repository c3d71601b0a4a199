"""Elements of several ages: tabled mean performance by replacement policy, and what they pass together."""

from __future__ import annotations

import numpy as np
import pytest

from desalbook.membrane.renewal import mean_over_ages, renewed
from tests.points import Point

HAND = "hand arithmetic"

POINTS = [
    Point("membrane.renewal:mean_over_ages", {"age_fraction": (0.5, 0.25, 0.25), "age_factor": (1.0, 0.9, 0.7)}, 0.9,
          1e-12, "definition", "", HAND),
    Point("membrane.renewal:aged_water_factor", {"yearly_loss": 0.07, "age_years": 5.0}, 0.6957, 8e-5,
          "common-practice", "", HAND),
    Point("membrane.renewal:salt_rise_factor", {"yearly_rise": 0.1, "age_years": 3.0}, 1.3, 1e-12, "common-practice",
          "", HAND),
]

TABLE = {0.10: ((0.61350, 0.73717), (0.78740, 0.87525), (10.0, 1.59374), (2.70270, 1.38164), (9.0, 4.5)),
         0.125: ((0.67114, 0.78646), (0.82645, 0.90107), (3.33333, 1.42949), (1.96078, 1.28248), (7.0, 3.5)),
         1 / 7: ((0.70423, 0.81286), (0.84746, 0.91437), (2.50000, 1.35531), (1.72414, 1.23629), (6.0, 3.0)),
         0.20: ((0.78125, 0.86946), (0.89286, 0.94177), (1.66667, 1.22102), (1.38889, 1.15015), (4.0, 2.0))}
FACTORS = (0.93, 0.97, 1.10, 1.07)
"""Mean just after the yearly change, without regard to age and oldest first: flux kept 7 and 3 % a year, salt passage
compounding 10 and 7 % a year; then the mean age in years."""


def _mean(row, factor: float) -> float:
    return float(mean_over_ages.plain(np.asarray(row), factor ** np.arange(float(len(row)))))


def _after(policy: str, fraction: float, years: int = 600) -> np.ndarray:
    """Ages just after the change of the last year but one: what is a year old a year later was new then."""
    ages, _ = renewed(policy, years, fraction)
    return ages[-1][1:]


@pytest.mark.parametrize("fraction", TABLE)
def test_steady_mix_after_the_yearly_change(fraction):
    for column, policy in enumerate(("any", "oldest-first")):
        row = _after(policy, fraction)
        assert row.sum() == pytest.approx(1.0, abs=1e-12)
        for factor, expect in zip(FACTORS, TABLE[fraction], strict=False):
            if factor * (1 - fraction) < 0.98:  # nearer to one the old tail needs more years than a page
                assert _mean(row, factor) == pytest.approx(expect[column], abs=6e-6), (policy, factor)
        mean_age = float(mean_over_ages.plain(row, np.arange(float(len(row)))))
        assert mean_age == pytest.approx(TABLE[fraction][-1][column], abs=1e-9)


def test_before_the_change_the_mix_is_a_year_older():
    ages, _ = renewed("oldest-first", 40, 0.125)
    assert _mean(ages[-1], 0.93) == pytest.approx(0.73141, abs=6e-6)
    assert _mean(ages[-1], 1.10) == pytest.approx(1.57243, abs=6e-6)


def test_the_way_there_from_new():
    ages, replaced = renewed("any", 11, 0.125)
    got = [(1 - 0.125) * _mean(row, 0.93) + 0.125 for row in ages[:-1]]
    assert got[:5] == pytest.approx([0.93875, 0.88891, 0.84835, 0.81534, 0.78849], abs=6e-6)
    assert got[9] == pytest.approx(0.71301, abs=6e-6)
    assert replaced[:-1] == pytest.approx(0.125) and replaced[-1] == 0.0


def test_mixing_in_parallel():
    """Half new, half five years old at 7 % a year: flow of the mix; salt passage where its coefficient grew 10 %."""
    flow = float(mean_over_ages.plain(np.array([0.5, 0.5]), np.array([1.0, 0.93**5])))
    salt = float(mean_over_ages.plain(np.array([0.5, 0.5]), np.array([1.0, 1.10**5])))
    assert flow == pytest.approx(0.847844, abs=6e-7) and salt / flow == pytest.approx(1.539499, abs=6e-7)
