"""Recovery devices away from their best-efficiency point: openings, lines of a pump as turbine, jets, balances."""

from __future__ import annotations

import numpy as np
import pytest

from desalbook.hydraulics.energy_recovery.pelton import jet_speed_ratio
from tests.points import Point

HAND = "hand arithmetic"
BAR = 1e5


def _k(name: str, inputs: dict, expect, rel: float = 1e-9, source: str = "definition", place: str = "") -> Point:
    return Point(f"hydraulics.energy_recovery.{name}", inputs, expect, rel, source, place, HAND)


LINE = {"bep_flow": 0.04, "bep_drop": 60 * BAR}
SIZES = {"flow_low": 10 / 3600, "flow_high": 1000 / 3600, "efficiency_low": 0.55, "efficiency_high": 0.80}
POINTS = [
    _k("turbine:turbine_efficiency_by_size", {**SIZES, "flow": 100 / 3600}, 0.675, source="fritzmann-2007",
       place="range from memory; half way between the logarithms"),
    _k("turbine:turbine_efficiency_by_size", {**SIZES, "flow": 31.6227766 / 3600}, 0.6125, source="fritzmann-2007"),
    _k("turbine:turbine_efficiency_by_size", {**SIZES, "flow": 5 / 3600}, 0.55, source="fritzmann-2007"),
    _k("turbine:turbine_efficiency_by_size", {**SIZES, "flow": 2000 / 3600}, 0.80, source="fritzmann-2007"),
    _k("balance:available_pressure_drop", {"concentrate_pressure": 60.5 * BAR, "exhaust_pressure": 1.0 * BAR},
        59.5 * BAR),
    _k("turbine:flow_at_pressure_drop", {"flow": 0.04, "pressure_drop": 49 * BAR, "reference_drop": 64 * BAR}, 0.035),
    _k("balance:pressure_drop_at_flow", {"reference_drop": 0.7 * BAR, "flow": 0.03, "reference_flow": 0.04},
        0.39375 * BAR),
    _k("turbine:turbine_flow_capacity", {**LINE, "pressure_drop": 60 * BAR, "idle_drop": 0.4, "speed_ratio": 1.0},
        0.04),
    # at 0.9 speed the line holds 0.324; of 0.924 the square 0.6 is left
    _k("turbine:turbine_flow_capacity", {**LINE, "pressure_drop": 55.44 * BAR, "idle_drop": 0.4, "speed_ratio": 0.9},
        0.04),
    _k("turbine:turbine_flow_capacity", {**LINE, "pressure_drop": 33 * BAR, "idle_drop": 0.4, "speed_ratio": 1.0},
        0.02),
    _k("turbine:turbine_flow_capacity", {**LINE, "pressure_drop": 20 * BAR, "idle_drop": 0.4, "speed_ratio": 1.0}, 0.0),
    _k("turbine:turbine_flow_capacity", {**LINE, "pressure_drop": 15 * BAR, "idle_drop": 0.0, "speed_ratio": 0.5},
        0.02),
    _k("turbine:turbine_pressure_drop", {**LINE, "idle_drop": 0.4, "speed_ratio": 0.9, "flow": 0.04}, 55.44 * BAR),
    _k("turbine:turbine_pressure_drop", {**LINE, "idle_drop": 0.4, "speed_ratio": 1.0, "flow": 0.02}, 33 * BAR),
    _k("turbine:turbine_pressure_drop", {**LINE, "idle_drop": 0.0, "speed_ratio": 1.0, "flow": 0.06}, 135 * BAR),
    _k("turbine:turbine_flow", {"reject_flow": 0.04, "turbine_capacity": 0.037}, 0.037),
    _k("turbine:turbine_flow", {"reject_flow": 0.03, "turbine_capacity": 0.037}, 0.03),
    _k("pelton:jet_speed_ratio", {"speed_ratio": 0.9, "bep_drop": 64 * BAR, "pressure_drop": 49 * BAR}, 0.9 * 8 / 7,
       source="white-fluid-mechanics"),
    _k("isobaric:reject_taken_one_out", {"flow": 0.06, "unit_flow": 0.015, "units": 3.0}, 0.75),
    _k("isobaric:reject_taken_one_out", {"flow": 0.06, "unit_flow": 0.015, "units": 5.0}, 1.0),
    _k("balance:hydraulic_power_of_stream", {"flow": 0.04, "inlet_pressure": 60 * BAR}, 240e3),
    _k("balance:hydraulic_power_of_two_streams", {"first_flow": 0.04, "first_pressure": 60 * BAR, "second_flow": 0.039,
                                "second_pressure": 2 * BAR}, 247.8e3),
    _k("balance:hydraulic_power_with_transfer", {"flow": 0.04, "exhaust_pressure": 1 * BAR, "transferred_power": 180e3},
        184e3),
    _k("turbine:turbine_loss", {"flow": 0.04, "pressure_drop": 60 * BAR, "transfer_efficiency": 0.75}, 60e3),
]


def test_impulse_wheel_against_its_equation():
    """Efficiency over its best is 2x - x2 with x = (bucket over jet)/(best of it), best at half the jet.

    Source: white-fluid-mechanics (from memory): power is proportional to u (V - u).
    """
    from desalbook.hydraulics.pump_curves import efficiency_off_bep

    u, drops = 40.0, np.array([40.0, 50.0, 60.0]) * BAR
    jet = np.sqrt(2 * drops / 1025)
    whole = u * (jet - u) / jet**2 * 4
    bep_drop = 1025 / 2 * (2 * u) ** 2
    share = jet_speed_ratio.plain(1.0, bep_drop, drops)
    assert efficiency_off_bep.plain(1.0, share, 0.0) == pytest.approx(whole, rel=1e-12)
