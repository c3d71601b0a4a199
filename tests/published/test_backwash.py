"""Backwash of filters: fluidisation and expansion as printed, and cases by hand arithmetic."""

from __future__ import annotations

import pytest

from desalbook.pretreatment import granular_beds
from tests.points import Point

HAND = "hand arithmetic"
RHO, MU = 998.2, 1.0016e-3  # fresh water of 20 degC
# Sand C of the printed table: settled porosity 0.407, specific gravity 2.655; its temperature and equivalent
# size are not on the page: 20 degC and 0.701 mm are one fitted pair, so this proves the shape of the curve.
SIZE, SETTLED, DEPTH = 0.701e-3, 0.407, 0.457
CURVE = [
    (18, 0.460),
    (20, 0.469),
    (25, 0.490),
    (30, 0.510),
    (35, 0.529),
    (40, 0.548),
    (45, 0.567),
    (50, 0.585),
    (60, 0.623),
]


def _p(name: str, inputs: dict, expect, rel: float = 1e-4, place: str = "", source: str = "definition") -> Point:
    return Point(f"pretreatment.{name}", inputs, expect, rel, source, place, HAND)


def _ga(size: float, density: float, expect: float) -> Point:
    return _p(
        "granular_beds:galileo_number",
        {"grain_size": size, "density": RHO, "grain_density": density, "viscosity": MU},
        expect,
        1e-6,
        source="wen-yu-1966",
    )


def _mf(galileo: float, size: float, expect: float) -> Point:
    return _p(
        "granular_beds:minimum_fluidisation_velocity",
        {"galileo": galileo, "viscosity": MU, "density": RHO, "grain_size": size},
        expect,
        1e-6,
        "v_mf, not yet times 1.3",
        "wen-yu-1966",
    )


def _porosity(reynolds: float, galileo: float, expect: float, place: str, settled: float = SETTLED) -> Point:
    return _p(
        "granular_beds:expanded_porosity",
        {"reynolds": reynolds, "galileo": galileo, "settled_porosity": settled},
        expect,
        1e-6,
        place,
        "cleasby-fan-1981",
    )


POINTS = [
    _ga(1e-3, 2650, 16117.8486),
    _ga(1.5e-3, 1650, 21465.3386),
    _mf(16117.848568841368, 1e-3, 0.008676806016),
    _mf(3783.3229424591477, 0.5e-3, 0.004449624840),
    _p(
        "backwash:backwash_rate_by_factor",
        {"fluidisation_rate": 31.23650 / 3600, "fluidisation_factor": 1.3},
        40.60745 / 3600,
        1e-6,
    ),
    _p("backwash:largest_layer_rate", {"wash_rate": [0.009, 0.011, 0.007]}, 0.011, 1e-9),
    _p("backwash:smallest_layer_rate", {"wash_rate": [0.009, 0.011, 0.007]}, 0.007, 1e-9),
    _p(
        "granular_beds:porosity_at_expansion",
        {"settled_porosity": 0.52, "expansion": 0.30},
        0.6307692,
        1e-6,
        "example 11-3; the book rounds to 0.63",
        "mwh-2012",
    ),
    _p(
        "granular_beds:fluidised_bed_parameter",
        {"galileo": 11630.189485, "expanded_porosity": 0.6307692308},
        2918.75936,
        1e-6,
    ),
    _p(
        "granular_beds:fluidised_bed_reynolds",
        {"kappa_v": 228, "kappa_i": 4.4, "expanded_porosity": 0.6307692308, "fluidised": 2918.759361},
        17.9084832,
        1e-6,
        "example 11-3: about 17.9",
        "mwh-2012",
    ),
    _p(
        "granular_beds:rate_at_reynolds",
        {"reynolds": 17.9084832, "viscosity": 1.139e-3, "density": 999.0, "grain_size": 1.3e-3},
        56.542654 / 3600,
        1e-6,
        "example 11-3: about 56 m/h",
        "mwh-2012",
    ),
    _p(
        "granular_beds:superficial_reynolds",
        {"density": RHO, "superficial_velocity": 30 / 3600, "grain_size": SIZE, "viscosity": MU},
        5.821836728,
        1e-6,
    ),
    _porosity(3.4931020367412144, 5552.892001230064, 0.4111204960, "low"),
    _porosity(11.643673455804047, 5552.892001230064, 0.5649719546, "high"),
    _porosity(2000.0, 5e6, 0.7154715455, "coarse grains: the second term governs"),
    _porosity(0.5, 5552.892, 0.407, "not fluidised"),
    _porosity(200.0, 5000.0, 0.98, "washed out"),
    _p("granular_beds:layer_expansion", {"expanded_porosity": 0.5, "settled_porosity": 0.4}, 0.2, 1e-9),
    _p("granular_beds:layer_expansion", {"expanded_porosity": 0.7, "settled_porosity": 0.4}, 1.0, 1e-9),
    _p("granular_beds:expanded_bed_rise", {"depth": [0.6, 0.4], "expansion": [0.25, 0.5]}, 0.35, 1e-9),
    _p(
        "granular_beds:fluidised_bed_head_loss",
        {"depth": [0.6, 0.4], "settled_porosity": [0.5, 0.4], "grain_density": [1650.0, 2650.0], "density": 1000.0},
        0.591,
        1e-9,
    ),
    _p("backwash:flow_at_rate", {"wash_rate": 45 / 3600, "area": 7.068583}, 318.0863 / 3600, 1e-6, "3.0 m diameter"),
    Point(
        "pretreatment.backwash:flow_at_rate",
        {"wash_rate": 36 / 3600, "area": 5.2 * 5.5},
        0.286,
        1e-4,
        "davis-2010",
        "example 11-7: 0.286 m3/s",
    ),
    _p("backwash:rate_at_flow", {"wash_flow": 0.286, "area": 28.6}, 0.01, 1e-9),
    _p("backwash:scour_air_flow", {"air_scour_rate": 60 / 3600, "area": 7.2}, 0.12, 1e-9),
    _p("backwash:drained_volume", {"area": 7.0686, "drain_depth": 0.5}, 3.5343, 1e-9),
    _p(
        "backwash:time_out_of_service",
        {
            "drain_time": 180,
            "scour_time": 240,
            "backwash_time": 720,
            "settle_time": 120,
            "filter_to_waste_time": 600,
            "return_time": 60,
        },
        1920,
        1e-9,
    ),
    _p("backwash:fraction_out_of_service", {"off_line": 1800, "filter_run": 86400}, 0.0208333333, 1e-8),
    _p("backwash:backwash_frequency", {"filters": 8, "filter_run": 86400}, 8 / 86400, 1e-9),
    _p("granular_beds:bed_expansion", {"bed_rise": 0.2, "depth": [0.6, 0.4]}, 0.2, 1e-9),
    _p(
        "backwash_schedule:raw_water_beside_feed",
        {"backwash_average": 0.004, "filter_to_waste_average": 0.002, "trains": 2},
        0.012,
        1e-9,
    ),
    _p(
        "backwash_schedule:time_to_end_of_filter_to_waste",
        {"backwash_time": 720, "settle_time": 120, "filter_to_waste_time": 600},
        1440,
        1e-9,
    ),
    _p(
        "backwash_schedule:raw_drawn_before_filter_to_waste",
        {
            "turn": [1.0, 3.0],
            "at_once": 2,
            "volume": 50.0,
            "filter_to_waste_volume": 10.0,
            "make_up": 0.01,
            "slot_interval": 3600.0,
            "wash_duration": 720.0,
        },
        [72.8, 200.8],
        1e-9,
    ),
    _p("backwash:pump_start_frequency", {"backwashes_per_day": 8 / 86400, "at_once": 2}, 4 / 86400, 1e-9),
    _p(
        "backwash:backwash_system_occupancy",
        {"backwashes_per_day": 8 / 86400, "trains": 3, "off_line": 1800, "at_once": 2},
        0.25,
        1e-9,
    ),
    _p("backwash_schedule:average_flow", {"volume": 43.2, "backwashes_per_day": 8 / 86400}, 0.004, 1e-9),
]


@pytest.mark.parametrize(("rate", "height"), CURVE)
def test_expansion_curve_of_a_sand(rate, height):
    """Nine printed heights of a backwashed bed, each within a millimetre of the print.

    Source: hendricks, example 12.9 and its table of sand C. The printed page gives neither the temperature
    nor the equivalent size of the grains; one pair of them is fitted (see above).
    """
    galileo = SIZE**3 * RHO**2 * 1.655 * 9.80665 / MU**2
    reynolds = float(granular_beds.superficial_reynolds.plain(SIZE, rate / 3600, RHO, MU))
    porosity = float(granular_beds.expanded_porosity.plain(reynolds, galileo, SETTLED))
    expansion = float(granular_beds.layer_expansion.plain(porosity, SETTLED))
    assert DEPTH * (1 + expansion) == pytest.approx(height, abs=1e-3)


@pytest.mark.parametrize(
    ("size", "density", "rate"),
    [(1.0e-3, 2650, 31.25), (0.9e-3, 2650, 26.05), (1.5e-3, 1650, 26.9), (0.5e-3, 4100, 16.0)],
)
def test_least_fluidisation_of_four_media(size, density, rate):
    """d90 of sand, anthracite and garnet at 20 degC. Source: hand arithmetic on wen-yu-1966; 0.5 %."""
    galileo = float(granular_beds.galileo_number.plain(size, RHO, density, MU))
    assert float(granular_beds.minimum_fluidisation_velocity.plain(galileo, MU, RHO, size)) * 3600 == pytest.approx(
        rate, rel=5e-3
    )


def test_wash_rate_for_thirty_per_cent():
    """Anthracite of 1.3 mm, 15 degC: about 56 m/h is printed; 56.5 without the book's rounding of porosity.

    Source: mwh-2012, example 11-3 (inputs from memory). 1 %.
    """
    porosity = granular_beds.porosity_at_expansion.plain(0.52, 0.30)
    galileo = granular_beds.galileo_number.plain(1.3e-3, 999.0, 1700.0, 1.139e-3)
    reynolds = granular_beds.fluidised_bed_reynolds.plain(
        228.0, 4.4, porosity, granular_beds.fluidised_bed_parameter.plain(galileo, porosity)
    )
    assert granular_beds.rate_at_reynolds.plain(reynolds, 1.139e-3, 999.0, 1.3e-3) * 3600 == pytest.approx(
        56.0, rel=0.01
    )
