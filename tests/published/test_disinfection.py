"""Contact-time tables and the regressions to them, and chlorine with bromide."""

from __future__ import annotations

import pytest

from desalbook.water import disinfection as d
from tests.points import Point

ROOM = "water.disinfection"


def _giardia(t: float, ph: float, mg: float) -> dict:
    return {"temperature": t + 273.15, "ph": ph, "chlorine_residual": mg * 1e-3, "log_removal": 3.0}


# The regression of the manual, worked by hand with its printed coefficients
REGRESSION = (
    (0.5, 8, 1.0, 317),
    (5, 7, 1.0, 161),
    (10, 7, 1.0, 116),
    (15, 7.5, 1.2, 101),
    (20, 7, 1.0, 58.4),
    (25, 7, 1.0, 41.5),
)
# The table of the rule it was fitted to
TABLE = ((0.5, 8, 1.0, 304), (5, 7, 1.0, 149), (10, 7, 1.0, 112), (15, 7.5, 1.2, 92))

POINTS = [
    *[Point(f"{ROOM}:hypobromous_share", {"ph": ph, "pk": 8.65}, v, 1e-5, "definition", "one over one plus ten to the "
            "difference", "hand arithmetic") for ph, v in ((8.65, 0.5), (7.65, 0.9090909), (8.15, 0.7597469))],
    # a third of a day at 2 a day: exp(-2/3) of what the demand left
    *[Point(f"{ROOM}:residual_left", {"chlorine_dose": dose, "chlorine_demand": 1.2e-3, "decay_rate": 2.0 / 86400,
                                      "time": 28800.0}, v, 1e-6, "definition", "worked by hand", "hand arithmetic")
      for dose, v in ((2.0e-3, 0.8e-3 * 0.51341712), (1.0e-3, 0.0))],
    *[
        Point(
            f"{ROOM}:giardia_ct",
            _giardia(t, ph, c),
            ct * 0.06,
            0.51 / ct if ct > 100 else 0.051 / ct,
            "smith-1995",
            "EPA manual, app. E",
            "hand arithmetic",
        )
        for t, ph, c, ct in REGRESSION
    ],
    # on both sides of the change of regression at 12.5 degC
    *[
        Point(
            f"{ROOM}:giardia_ct",
            _giardia(t, 7, 1.0),
            ct * 0.06,
            1e-6,
            "smith-1995",
            "EPA manual, app. E",
            "hand arithmetic",
        )
        for t, ct in ((12.4, 99.212680), (12.6, 95.921247))
    ],
    # 4-digit hand arithmetic of the same form, to see small slips
    Point(
        f"{ROOM}:giardia_ct", _giardia(5, 7, 1.0), 161.1758 * 0.06, 1e-5, "smith-1995", "", "hand arithmetic"
    ),
    Point(
        f"{ROOM}:giardia_ct", _giardia(20, 7, 1.0), 58.36016 * 0.06, 1e-5, "smith-1995", "", "hand arithmetic"
    ),
    *[
        Point(
            f"{ROOM}:virus_ct",
            {"temperature": t + 273.15},
            ct * 0.06,
            1e-6,
            "epa-profiling-1999",
            "Table E-7",
            "from memory",
        )
        for t, ct in ((0.5, 12), (5, 8), (10, 6), (15, 4), (20, 3), (25, 2))
    ],
    Point(
        f"{ROOM}:chlorine_ct",
        {"chlorine_residual": 0.5e-3, "contact_time": 1800},
        15 * 0.06,
        1e-6,
        "definition",
        "0.5 mg/L over 30 min",
        "hand arithmetic",
    ),
    Point(
        f"{ROOM}:inactivation_ratio",
        {"provided_ct": 0.9, "required_ct": 0.48},
        1.875,
        1e-6,
        "definition",
        "",
        "hand arithmetic",
    ),
    Point(
        f"{ROOM}:membrane_exposure",
        {"chlorine_residual": 0.05e-3, "time": 3600 * 100},
        18.0,
        1e-6,
        "definition",
        "5 mg h/L",
        "hand arithmetic",
    ),
    Point(
        f"{ROOM}:bromination_half_life",
        {"bromide": 0.8421},
        0.531,
        2e-3,
        "kumar-margerum-1987",
        "0.53 s in seawater of S 35",
        "hand arithmetic",
    ),
    Point(
        f"{ROOM}:bromide_holds",
        {"bromide_concentration": 67e-3, "bromide_per_chlorine": 1.1270},
        59.45e-3,
        1e-3,
        "iupac-weights",
        "one bromide a mole of Cl2: 59.5 mg/L on 67 mg/L of bromide",
        "hand arithmetic",
    ),
]


@pytest.mark.parametrize(("t", "ph", "c", "ct"), TABLE)
def test_regression_stays_on_the_safe_side_of_the_table(t, ph, c, ct):
    """The regression was made to lie above the rule's own table, by up to a tenth."""
    got = float(d.giardia_ct.plain(**_giardia(t, ph, c))) / 0.06
    assert 1.0 <= got / ct <= 1.11
