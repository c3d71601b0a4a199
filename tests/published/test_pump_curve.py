"""Pump curve: a published parabola, its speed and flow, efficiency off the BEP, stages, suction, motors."""

from __future__ import annotations

import numpy as np
import pytest

from desalbook.hydraulics import motors as m
from desalbook.hydraulics import pump_curves as c
from desalbook.hydraulics import pumps as r
from desalbook.tables import table
from tests.points import Point

HAND = "hand arithmetic"
FT, GPM, HP = 0.3048, 6.30901964e-5, 745.699872
# pump of the published system curve example, flow in gpm and head in ft: 380 - 0.06 Q - 0.0018 Q2, at 200 gpm
EDB = {"shutoff_head": 380 * FT, "linear_head": -12 * FT, "square_head": 72 * FT, "reference_flow": 200 * GPM}
RISING = {"shutoff_head": 700.0, "linear_head": 60.0, "square_head": 180.0, "reference_flow": 0.03}


def _c(name: str, inputs: dict, expect, rel: float = 1e-6, source: str = "definition", place: str = "",
       status: str = HAND) -> Point:
    return Point(f"hydraulics.pump_curves:{name}", inputs, expect, rel, source, place, status)


POINTS = [
    Point("hydraulics.pumps:shaft_power_saved", {"shaft_power": 100e3, "other_power": 70e3}, 0.3, 1e-9,
          "definition", "", HAND),
    _c("shutoff_head", {"head": 600.0, "shutoff_ratio": 1.2}, 720.0),
    _c("head_fall_to_duty", {"shutoff_head": 720.0, "head": 600.0}, 120.0),
    _c("pump_curve_head", {**EDB, "flow": 200 * GPM, "speed_ratio": 1.0}, 296.0 * FT, 2e-4, "hi-edb",
       "system curve example: pump and system meet at 200 gpm, 296 ft", "printed"),
    # at 0.9 of the speed and 0.9 of the flow the head is 0.81 of it
    _c("pump_curve_head", {**EDB, "flow": 180 * GPM, "speed_ratio": 0.9},
       0.81 * 296.0 * FT, 1e-9, "hi-edb", "Eq. 1.B.6"),
    _c("pump_curve_head", {**RISING, "flow": 0.045, "speed_ratio": 0.8}, 448.0 + 72.0 - 405.0, 1e-9),
    _c("speed_ratio_at_duty", {**EDB, "flow": 200 * GPM, "head": 296.0 * FT},
       1.0, 1e-9, "hi-edb", "system curve example"),
    _c("speed_ratio_at_duty", {**RISING, "flow": 0.045, "head": 115.0}, 0.8, 1e-9),
    _c("speed_ratio_at_duty", {**RISING, "flow": 0.0, "head": 343.0}, 0.7, 1e-9),
    _c("flow_at_head", {**EDB, "head": 296.0 * FT}, 200 * GPM, 1e-9, "hi-edb", "system curve example"),
    _c("flow_at_head", {**RISING, "head": 385.0}, 0.045, 1e-9),
    _c("flow_at_head", {**RISING, "head": 900.0}, 0.01, 1e-9, place="above shut-off: the flow of the top of the curve"),
    _c("bep_flow_ratio", {"flow": 0.024, "bep_flow": 0.03, "speed_ratio": 0.8}, 1.0),
    _c("bep_flow_ratio", {"flow": 0.03, "bep_flow": 0.02, "speed_ratio": 0.75}, 2.0),
    _c("efficiency_off_bep", {"best_efficiency": 0.8, "flow_fraction": 0.5, "no_load_fraction": 0.0}, 0.6),
    _c("efficiency_off_bep", {"best_efficiency": 0.8, "flow_fraction": 0.7, "no_load_fraction": 0.4}, 0.6),
    _c("efficiency_off_bep", {"best_efficiency": 0.8, "flow_fraction": 0.2, "no_load_fraction": 0.4}, 0.0),
    _c("valve_pressure_drop", {"available_rise": 70e5, "pressure_rise": 56e5}, 14e5),
    _c("valve_pressure_drop", {"available_rise": 50e5, "pressure_rise": 56e5}, 0.0),
    _c("spill_flow", {"available_flow": 0.03, "flow": 0.027}, 0.003),
    _c("spill_flow", {"available_flow": 0.02, "flow": 0.027}, 0.0),
    _c("flow_at_bep_fraction", {"bep_flow": 0.03, "flow_fraction": 0.4}, 0.012),
    # 2970 rpm, 500 gpm, 1972 ft, 1000 wanted: head of a stage at most (2970 sqrt(500)/1000)^(4/3) = 269 ft -> 8
    _c("stages_needed", {"rotation": 49.5, "flow": 500 * GPM, "head": 1972 * FT, "specific_speed": 1000.0,
       "most": 16.0},
       8.0, 1e-9),
    _c("stages_needed", {"rotation": 49.5, "flow": 500 * GPM, "head": 268.6 * FT, "specific_speed": 1000.0,
       "most": 16.0},
       1.0, 1e-9),
    _c("stages_needed", {"rotation": 49.5, "flow": 500 * GPM, "head": 269.4 * FT, "specific_speed": 1000.0,
       "most": 16.0},
       2.0, 1e-9),
    _c("stages_needed", {"rotation": 49.5, "flow": 50 * GPM, "head": 1972 * FT, "specific_speed": 1000.0, "most": 16.0},
       16.0, 1e-9),
    # 10.987 m of seawater of 25 degC is an open tank 2.0 m above the pump less 0.8 m of friction: gauge 12.042 kPa
    _c("required_suction_pressure", {"npsh_wanted": 10.9872029, "density": 1023.3, "vapour_pressure": 3109.0,
                          "ambient_pressure": 101325.0}, 1023.3 * 9.80665 * 1.2, 1e-5,
       place="the NPSH example turned round"),
    _c("usable_motor_power", {"motor_rating": 200e3, "service_factor": 1.15}, 230e3),
    *[_c("within_reach", {"speed_ratio": n, "speed_limit": 1.0, "available_rise": a, "pressure_rise": 60e5}, e, 1e-9)
      for n, a, e in ((1.0, 60e5, 1.0), (0.9, 61e5, 1.0), (1.005, 60e5, 0.0), (1.0, 59.9e5, 0.0),
                      (0.995, 60.5e5, 1.0), (0.9, 60.01e5, 1.0))],
    *[Point("hydraulics.motors:drive_part_load_efficiency",
            {"drive_efficiency": full, "load": load, "motor_rating": hp * HP}, eta, 1e-6, "doe-motor-fact-sheet",
            f"drive part-load table, next lower rating of {hp} hp, from memory", "from memory")
      for hps, full, etas in (((5, 10, 49.9), 0.96, (0.90, 0.94, 0.95, 0.96)), ((50.1, 99.8), 0.97,
                              (0.92, 0.95, 0.96, 0.97)), ((100.2, 199.5), 0.97, (0.94, 0.96, 0.97, 0.97)),
                              ((200.5, 400), 0.97, (0.95, 0.96, 0.97, 0.97)))
      for hp in hps for load, eta in zip((0.25, 0.5, 0.75, 1.0), etas, strict=True)],
    *[Point("hydraulics.pumps:pump_temperature_rise",
            {"head": 600.0, "pump_efficiency": 0.8, "heat_capacity": 3990.0}, 0.36867, 1e-4, "definition",
            "9.80665 x 600 x 0.25/3990", HAND)],
]


def test_curve_carries_the_table_of_speeds():
    """200, 1800, 2200 gpm at 1740 rpm become 180, 1620, 1980 at 1566, with 166.9, 109.4 and 79.4 ft.

    Source: hi-edb, table 1.B.2, which prints 108 and 75 ft for the last two: its own rule gives these.
    """
    ratio = 1566 / 1740
    flows, heads = np.array([200.0, 1800.0, 2200.0]), np.array([206.0, 135.0, 98.0])
    h0, h1, h2 = np.linalg.solve(np.stack([flows**0, flows / 2200, -((flows / 2200) ** 2)], 1), heads)
    got = c.pump_curve_head.plain(h0, h1, h2, flows * ratio, 2200.0, ratio)
    assert got == pytest.approx([166.9, 109.35, 79.38], abs=0.05)
    assert c.speed_ratio_at_duty.plain(h0, h1, h2, flows * ratio, 2200.0, got) == pytest.approx([ratio] * 3, rel=1e-9)


def test_high_pressure_pump_of_the_worked_case():
    """238.1 m3/h over 60 bar at 0.85: 396.83 kW, 466.86 kW, 487.33 kW at 95.8 %, 502.40 kW at 97 %, 560 kW list.

    Source: hand arithmetic.
    """
    hydraulic = r.hydraulic_power.plain(238.1 / 3600, 60e5)
    shaft = r.shaft_power.plain(hydraulic, 0.85)
    terminals = m.motor_input_power.plain(shaft, 0.958)
    found = [hydraulic, shaft, terminals, m.drive_input_power.plain(terminals, 0.97)]
    assert np.array(found) / 1e3 == pytest.approx([396.83, 466.86, 487.33, 502.40], abs=0.006)
    needed = m.motor_power_with_margin.plain(shaft, 1.10)
    assert needed / 1e3 == pytest.approx(513.5, abs=0.06)
    ratings = [row["output"].value for row in table("motors").ascending("output") if row["output"].value >= needed]
    assert ratings[0] in (530e3, 560e3)


NEMA = {  # hp: premium, 60 Hz, 2 and 4 poles (nema-mg1 table 12-12, as read in an open data file)
    15: (91.0, 92.4), 20: (91.0, 93.0), 25: (91.7, 93.6), 30: (91.7, 93.6), 40: (92.4, 94.1), 50: (93.0, 94.5),
    60: (93.6, 95.0), 75: (93.6, 95.4), 100: (94.1, 95.4), 125: (95.0, 95.4), 150: (95.0, 95.8), 200: (95.4, 96.2),
    250: (95.8, 96.2), 300: (95.8, 96.2), 500: (95.8, 96.2)}


@pytest.mark.parametrize("horse", NEMA)
def test_sixty_hertz_table(horse):
    """Full-load efficiency of premium motors, to the printed digit. Source: nema-mg1, table 12-12."""
    row = table("motor_efficiency_60hz")[m._row_60hz(horse * HP)]
    got = tuple(row[f"premium_{p}p"].value * 100 for p in (2, 4))
    assert got == pytest.approx(NEMA[horse], abs=0.051)


def test_three_horsepower_slip_in_an_open_data_file():
    """An open data file gives a 3 hp, 4-pole, 60 Hz premium motor 86.5 %; the law (us-10-cfr-431) has 89.5 %."""
    rows = [r_ for r_ in table("motor_efficiency_60hz").values() if abs(r_["output"].value - 3 * HP) < 60]
    assert not rows or rows[0]["premium_4p"].value == pytest.approx(0.895, abs=5e-4)


def test_part_load_of_the_two_hundred_horsepower_motor():
    """25, 50, 75, 100, 125 % of load: 93.04, 94.95, 95.69, 95.63, 94.67 %. Source: ornl-pump, unit test."""
    loads = np.array([0.25, 0.5, 0.75, 1.0, 1.25])
    got = m.motor_part_load_efficiency.plain(0.9563, loads) * 100
    assert got == pytest.approx([93.04, 94.95, 95.69, 95.63, 94.67], abs=0.006)


LEGAL = {  # type, rpm, m3/h, m, stages: specific speed, minimum efficiency at two indices
    "escc-2900": (2900, 100, 50, 1, 25.705, 68.96, 74.12), "esob-1450": (1450, 200, 32, 1, 25.402, 74.81, 79.32),
    "msv-2900": (2900, 50, 150, 5, 26.662, 63.69, 67.93), "mss-2900": (2900, 30, 60, 3, 27.992, 65.06, 70.58)}


@pytest.mark.parametrize("key", LEGAL)
def test_specific_speed_as_a_european_rule_counts_it(key):
    """Worked points of eu-547-2012, in rpm, m3/s and m of one stage: 51.64 times less than in US units."""
    rpm, flow, head, stages, ns, _, _ = LEGAL[key]
    assert float(r.specific_speed.plain(rpm / 60, flow / 3600, head, stages)) / 51.64 == pytest.approx(ns, rel=1e-3)
