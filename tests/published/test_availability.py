"""Availability of trains, k of n, and cleaning by flux: tabled values of the formulas, and what follows for a plant."""

from __future__ import annotations

from math import comb

import pytest

from desalbook.cleaning import interval
from desalbook.duty.availability import full_output, mean_output, state_probability
from tests.points import Point

YEAR, LMH = 31557600.0, 1 / 3.6e6
BOOK, HABIT = "billinton-allan-1992", "common-practice"


def _p(module: str, name: str, inputs: dict, expect, rel: float, source: str = "definition") -> Point:
    return Point(f"{module}:{name}", inputs, expect, rel, source, "", "hand arithmetic")


THREE = {"state_probability": (1.25e-4, 7.125e-3, 0.135375, 0.857375), "trains_able": (0.0, 1.0, 2.0, 3.0),
         "trains": 2.0}
"""Three trains of 95 %, two on duty."""

POINTS = [
    _p("duty.availability", "train_availability", {"failure_interval": 8000 * 3600.0, "repair_time": 120 * 3600.0},
       0.985222, 5e-7),
    _p("duty.availability", "train_unavailability", {"failure_interval": 8000 * 3600.0, "repair_time": 120 * 3600.0},
       0.014778, 3e-5),
    _p("duty.availability", "state_probability", {"state_ways": 3.0, "train_availability": 0.95,
                                                  "train_unavailability": 0.05, "trains_able": 2.0,
                                                  "trains_stopped": 1.0}, 0.135375, 1e-9, BOOK),
    _p("duty.availability", "state_probability", {"state_ways": 4.0, "train_availability": 0.92,
                                                  "train_unavailability": 0.08, "trains_able": 1.0,
                                                  "trains_stopped": 3.0}, 0.00188416, 1e-9, BOOK),
    _p("duty.availability", "full_output", THREE | {"shared_availability": 1.0, "planned_stop": 0.0}, 0.99275, 1e-9,
       BOOK),
    _p("duty.availability", "full_output", THREE | {"shared_availability": 0.99, "planned_stop": 0.02},
       0.99275 * 0.9702, 1e-9, BOOK),
    _p("duty.availability", "mean_output", THREE | {"shared_availability": 1.0, "planned_stop": 0.0}, 0.9963125, 1e-9,
       BOOK),
    _p("duty.availability", "mean_output", THREE | {"shared_availability": 0.99, "planned_stop": 0.02},
       0.9963125 * 0.9702, 1e-9, BOOK),
    # 14 to 16 L/(m2 h): the interval is 0.765625 of what it was
    _p("cleaning.interval", "expected_cleanings", {
        "reference_cleanings": 4.0, "flux": 16 * LMH, "reference_flux": 14 * LMH, "flux_exponent": 2.0, "sdi": 3.0,
        "reference_sdi": 3.0, "sdi_exponent": 1.0}, 4 / 0.765625, 1e-9, HABIT),
    _p("cleaning.interval", "expected_cleanings", {
        "reference_cleanings": 1.0, "flux": 17 * LMH, "reference_flux": 14 * LMH, "flux_exponent": 3.0, "sdi": 1.5,
        "reference_sdi": 3.0, "sdi_exponent": 2.0}, (17 / 14) ** 3 / 4, 1e-9, HABIT),
    _p("cleaning.interval", "element_life", {"longest_life": 10 * YEAR, "cleanings": 4.0, "cleanings_of_life": 160.0},
       8 * YEAR, 1e-9, HABIT),
    _p("cleaning.interval", "element_life", {"longest_life": 10 * YEAR, "cleanings": 12.0, "cleanings_of_life": 120.0},
       5 * YEAR, 1e-9, HABIT),
    _p("cleaning.interval", "replaced_in_year", {"element_life": 8 * YEAR}, 0.125, 1e-12),
]

K_OF_N = ((2, 2), (1, 2), (2, 3), (3, 4), (4, 5), (2, 4))
TABLE = {0.92: (0.846400, 0.993600, 0.981824, 0.965573, 0.945639, 0.998075),
         0.95: (0.902500, 0.997500, 0.992750, 0.985981, 0.977407, 0.999519),
         0.98: (0.960400, 0.999600, 0.998816, 0.997664, 0.996158, 0.999968)}


def _of(k: int, n: int, one: float) -> tuple[float, float]:
    import numpy as np

    able = np.arange(n + 1.0)
    ways = np.array([float(comb(n, int(j))) for j in able])
    p = state_probability.plain(ways, one, 1 - one, able, n - able)
    assert float(p.sum()) == pytest.approx(1.0, abs=1e-12)
    return (float(full_output.plain(p, able, float(k), 1.0, 0.0)),
            float(mean_output.plain(p, able, float(k), 1.0, 0.0)))


@pytest.mark.parametrize("one", TABLE)
def test_k_of_n(one):
    assert [_of(k, n, one)[0] for k, n in K_OF_N] == pytest.approx(TABLE[one], abs=6e-7)


def test_mean_output_of_trains_with_and_without_standby():
    """Dividing a plant without standby does not raise its mean output; a standby train does."""
    for n in (1, 2, 3, 5):
        assert _of(n, n, 0.95)[1] == pytest.approx(0.95, abs=1e-12)
    for k, n, at_95, at_92 in ((2, 3, 0.996313, 0.990656), (3, 4, 0.995165, 0.987869), (4, 5, 0.994055, 0.985230)):
        assert (_of(k, n, 0.95)[1], _of(k, n, 0.92)[1]) == pytest.approx((at_95, at_92), abs=6e-7)


def test_cleanings_follow_flux_by_the_stated_exponent():
    for exponent, expect in ((2.0, 1.4745), (3.0, 1.7905)):
        assert interval.expected_cleanings.plain(1.0, 17 * LMH, 14 * LMH, exponent, 3.0, 3.0, 1.0) == pytest.approx(
            expect, abs=6e-5)
