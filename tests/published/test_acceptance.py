"""Fabrication relations against worked cases: test pressures, tolerances, spares, desiccant, couples."""

from __future__ import annotations

from tests.points import Point

HAND = "hand arithmetic"
YEAR, DAY = 31557600.0, 86400.0


def _p(module: str, name: str, inputs: dict, expect, rel: float, source: str = "definition", place: str = "",
       status: str = HAND) -> Point:
    return Point(f"fabrication.{module}:{name}", inputs, expect, rel, source, place, status)


TESTS = "pressure_tests"
POINTS = [
    # 127 bar at a ratio of one: the line of a worked selection of test pressures
    _p(TESTS, "metal_pipe_test_pressure", {"design_pressure": 127e5, "stress_fraction": 1.0}, 190.5e5, 1e-9,
       "asme-b31-3", "345.4.2, worked line", "printed"),
    _p(TESTS, "metal_pipe_test_pressure", {"design_pressure": 70e5, "stress_fraction": 1.0}, 105e5, 1e-12,
       "asme-b31-3"),
    _p(TESTS, "metal_pipe_test_pressure", {"design_pressure": 6e5, "stress_fraction": 115 / 138}, 10.8e5, 1e-9,
       "asme-b31-3"),
    # both sides of the largest ratio that counts
    _p(TESTS, "metal_pipe_test_pressure", {"design_pressure": 1e5, "stress_fraction": 1 / 6.49}, 9.735e5, 1e-9),
    _p(TESTS, "metal_pipe_test_pressure", {"design_pressure": 1e5, "stress_fraction": 1 / 6.6}, 9.75e5, 1e-9),
    _p(TESTS, "vessel_test_pressure_asme", {"design_pressure": 70e5, "stress_fraction": 1.0}, 91e5, 1e-12,
       "asme-bpvc-viii-1"),
    _p(TESTS, "vessel_test_pressure_asme", {"design_pressure": 6e5, "stress_fraction": 1 / 1.05}, 8.19e5, 1e-9,
       "asme-bpvc-viii-1"),
    # the two terms of the European rule, one each side of where they switch
    _p(TESTS, "vessel_test_pressure_en", {"design_pressure": 6e5, "stress_fraction": 1 / 1.1}, 8.58e5, 1e-9,
       "en-13445-5"),
    _p(TESTS, "vessel_test_pressure_en", {"design_pressure": 6e5, "stress_fraction": 1 / 1.2}, 9.0e5, 1e-9,
       "en-13445-5"),
    _p(TESTS, "plastic_pipe_test_pressure", {"design_pressure": 6e5}, 9e5, 1e-12, "en-805"),
    _p(TESTS, "plastic_pipe_test_pressure", {"design_pressure": 16e5}, 21e5, 1e-12, "en-805"),
    _p(TESTS, "factored_test_pressure", {"design_pressure": 82.7e5, "test_factor": 1.1}, 90.97e5, 1e-12,
       "asme-bpvc-x"),
    _p(TESTS, "code_stress_fraction", {"temperature": 300.15, "hot_fraction": 0.9}, 1.0, 1e-12),
    _p(TESTS, "code_stress_fraction", {"temperature": 311.15 + 27.5, "hot_fraction": 0.9}, 0.95, 1e-12),
    _p(TESTS, "code_stress_fraction", {"temperature": 311.15 + 5.5, "hot_fraction": 0.8}, 0.98, 1e-12),
    _p("acceptance", "minimum_test_head", {"head": 45.0, "head_tolerance": 0.03}, 43.65, 1e-12, "iso-9906"),
    _p("acceptance", "maximum_test_head", {"head": 45.0, "head_tolerance": 0.03}, 46.35, 1e-12, "iso-9906"),
    _p("acceptance", "motor_efficiency_accepted", {"efficiency": 0.95, "motor_rating": 110e3}, 0.9425, 1e-12,
       "iec-60034-1"),
    _p("acceptance", "motor_efficiency_accepted", {"efficiency": 0.955, "motor_rating": 200e3}, 0.9505, 1e-12,
       "iec-60034-1"),
    # close to each side of 150 kW
    _p("acceptance", "motor_efficiency_accepted", {"efficiency": 0.95, "motor_rating": 149.9e3}, 0.9425, 1e-12),
    _p("acceptance", "motor_efficiency_accepted", {"efficiency": 0.95, "motor_rating": 150.1e3}, 0.945, 1e-12),
    _p("acceptance", "freshwater_feed_pressure", {"net_driving_pressure": 26e5, "permeate_pressure": 0.3e5,
                                                  "vessel_drop": 1.6e5}, 27.1e5, 1e-12, "common-practice"),
    # 240 cartridges changed every 60 days, for a year of 365 days
    _p("spares", "consumed_in_time", {"items_installed": 240.0, "spares_time": 365 * DAY, "change_interval": 60 * DAY},
       1460.0, 1e-12),
    _p("spares", "consumed_in_time", {"items_installed": 2.0, "spares_time": 2 * YEAR, "change_interval": 3 * YEAR},
       2.0, 1e-12),
    _p("spares", "spares_in_stock", {"items_installed": 448.0, "stock_fraction": 0.05, "stock_minimum": 1.0}, 23.0,
       1e-12),
    _p("spares", "spares_in_stock", {"items_installed": 4.0, "stock_fraction": 0.1, "stock_minimum": 2.0}, 2.0, 1e-12),
    _p("spares", "desiccant_units", {"case_volume": 8.0, "air_moisture": 20.0, "foil_area": 24.0,
                                     "foil_moisture": 0.3, "storage_days": 180.0, "unit_uptake": 6.0}, 243.0, 1e-12,
       "din-55474"),
    _p("couples", "couple_voltage", {"noble_potential": 0.05, "base_potential": -0.25}, 0.30, 1e-12),
]
