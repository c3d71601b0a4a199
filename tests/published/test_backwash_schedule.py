"""Turns, steps and tanks of the backwash, by hand arithmetic."""

from __future__ import annotations

from tests.points import Point


def _p(name: str, inputs: dict, expect, place: str = "", rel: float = 1e-9) -> Point:
    return Point(f"pretreatment.{name}", inputs, expect, rel, "definition", place, "hand arithmetic")


EIGHT = {"filters": 8, "backwashes_together": 1}
POINTS = [
    _p(
        "backwash_timetable:pressure_drop_in_run",
        {"clean_drop": 2e4, "filter_drop": 7e4, "since_backwash": 43200.0, "filter_run": 108000.0, "flow_ratio": 1.25},
        5e4,
    ),
    _p("backwash_schedule:equivalent_filters", {"filters": 8, "backwashes_together": 2}, 4),
    _p(
        "backwash_schedule:backwash_slots",
        {"filters": 5, "backwashes_together": 2, "trains": 4, "trains_backwashing": 2},
        6,
        "three turns a train, two trains at a time",
    ),
    _p(
        "backwash_schedule:backwash_slots",
        {"filters": 400, "backwashes_together": 2, "trains": 3, "trains_backwashing": 1},
        600,
        "many, so that a hundredth is seen",
    ),
    _p("backwash_schedule:backwash_slots", {"filters": 3, "backwashes_together": 2, "trains": 1,
                                            "trains_backwashing": 1}, 2),
    _p("backwash_schedule:time_of_slots", {"turns": 16, "off_line": 1920}, 30720),
    _p("backwash_schedule:missed_slots", {"turns": 16, "off_line": 1920, "filter_run": 21600}, 5, "11.25 fit"),
    _p("backwash_schedule:missed_slots", {"turns": 10, "off_line": 1920, "filter_run": 86400}, 0),
    _p("backwash_schedule:missed_slots", {"turns": 900, "off_line": 1000, "filter_run": 500000}, 400),
    _p("backwash_schedule:slot_interval", {"filter_run": 86400, "turns": 16, "off_line": 1920}, 5400),
    _p("backwash_schedule:slot_interval", {"filter_run": 21600, "turns": 16, "off_line": 1920}, 1920, "cannot keep up"),
    _p(
        "backwash_schedule:filter_to_waste_flow",
        {"flow": 0.07, **EIGHT, "filter_to_waste_carried": 1},
        0.01,
        "eight filters, one rinsed",
    ),
    _p("backwash_schedule:filter_to_waste_flow", {"flow": 0.08, **EIGHT, "filter_to_waste_carried": 0}, 0.01),
    _p(
        "backwash_schedule:filter_to_waste_flow",
        {"flow": 0.06, "filters": 8, "backwashes_together": 2, "filter_to_waste_carried": 1},
        0.01,
    ),
    _p(
        "backwash_schedule:feed_pump_flow_in_step",
        {"flow": 0.07, "backwashes_together": 2, "filter_to_waste_flow": 0.01, "rinsing": [0, 1.0],
         "filter_to_waste_carried": 0.5},
        [0.07, 0.08],
    ),
    _p(
        "backwash_schedule:flow_per_filter_in_step",
        {"flow": 0.08, **EIGHT, "filter_to_waste_flow": 0.01, "rinsing": [0, 1.0]},
        [0.08 / 7, 0.01],
    ),
    _p(
        "backwash_schedule:flow_per_filter_in_step",
        {"flow": 0.08, "filters": 8, "backwashes_together": 2, "filter_to_waste_flow": 0.01, "rinsing": 1.0},
        0.01,
    ),
    _p(
        "backwash_schedule:ro_feed_in_step",
        {"flow": 0.08, "backwashes_together": 2, "filter_to_waste_flow": 0.01, "rinsing": [0, 1.0], "make_up": 0.002},
        [0.078, 0.058],
    ),
    _p(
        "backwash_schedule:backwash_flow_in_step",
        {"wash_flow": 0.05, "backwashes_together": 2, "washing": [0, 1.0]},
        [0, 0.1],
    ),
    _p(
        "backwash_schedule:drain_or_refill_flow",
        {"drain_volume": 3.6, "step_time": [180.0, 240.0], "step_share": [1.0, 0]},
        [0.02, 0],
    ),
    _p(
        "backwash_schedule:drain_or_refill_flow",
        {"drain_volume": 3.6, "step_time": 1.002, "step_share": 1.0},
        3.6 / 1.002,
    ),
    _p("backwash_schedule:drain_or_refill_flow", {"drain_volume": 3.6, "step_time": 0.998, "step_share": 1.0}, 3.6),
    _p(
        "backwash_schedule:waste_flow_in_step",
        {
            "backwashes_together": 2,
            "drain_flow": 0.02,
            "step_wash_flow": 0.1,
            "refill_flow": 0.005,
            "filter_to_waste_flow": 0.01,
            "rinsing": 0.5,
        },
        0.14,
    ),
    _p("backwash_schedule:mean_over_run", {"volume": 43.2, "filters": 4, "trains": 2, "filter_run": 86400}, 0.004),
    _p(
        "backwash_schedule:drawn_after_slots",
        {
            "turn": [1.0, 3.0],
            "at_once": 2,
            "volume": 50.0,
            "make_up": 0.01,
            "slot_interval": 3600.0,
            "wash_duration": 720.0,
        },
        [92.8, 220.8],
    ),
    _p("backwash_schedule:deepest_draw", {"drawn_volume": [40.0, 55.0, 50.0]}, 55.0),
    _p("backwash_schedule:raw_tank_swing", {"drawn_washed": [40.0, 55.0], "drawn_rinsed": [48.0, 50.0]}, 55.0),
    _p("backwash_schedule:raw_tank_swing", {"drawn_washed": [40.0, 45.0], "drawn_rinsed": [48.0, 50.0]}, 50.0),
    _p("backwash_schedule:raw_tank_swing", {"drawn_washed": [-4.0, -5.0], "drawn_rinsed": [-8.0, -5.0]}, 0.0),
    _p(
        "backwash_schedule:suction_during_filter_to_waste",
        {
            "pump_head": 40.0,
            "static_head": 2.0,
            "friction_head": 3.0,
            "density": 1025.0,
            "filter_drop": 7e4,
            "cartridge_drop": 7e4,
            "filters": 8,
            "backwashes_together": 1,
            "flow_ratio": 8 / 7,
        },
        192582.308929,
        "",
        1e-8,
    ),
    _p(
        "backwash_schedule:suction_during_filter_to_waste",
        {
            "pump_head": 40.0,
            "static_head": 2.0,
            "friction_head": 3.0,
            "density": 1025.0,
            "filter_drop": 7e4,
            "cartridge_drop": 7e4,
            "filters": 3,
            "backwashes_together": 2,
            "flow_ratio": 1.0,
        },
        71813.56875,
        "",
        1e-8,
    ),
    _p("backwash_schedule:largest_shortfall", {"step_feed_flow": [0.0, 0.01, 0.0]}, 0.01),
    _p("backwash_schedule:pump_flow_with_filter_to_waste", {"flow": 0.07, **EIGHT}, 0.08),
    _p("backwash_schedule:pump_flow_with_filter_to_waste", {"flow": 0.06, "filters": 8, "backwashes_together": 2},
       0.08),
]
