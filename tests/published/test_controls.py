"""Set points, signals and the conductivity of permeate against hand-worked cases."""

from __future__ import annotations

from tests.points import Point

HAND = "hand arithmetic"
BAR = 1e5


def _p(module: str, name: str, inputs: dict, expect, rel: float = 1e-9, source: str = "definition") -> Point:
    return Point(f"{module}:{name}", inputs, expect, rel, source, "", HAND)


# what is normal, upper end, lower end, at a fifth of the range above; and the room to a trip
CASES = {
    "pressure": (60 * BAR, 100 * BAR, 0.0), "drop": (1 * BAR, 4 * BAR, 0.0), "level": (3.0, 6.0, 0.0),
    "flow": (0.03, 0.05, 0.0), "temperature": (303.15, 333.15, 273.15), "conductivity": (5.4, 10.0, 0.0),
    "ph": (8.0, 14.0, 0.0), "potential": (0.2, 1.0, 0.0), "chlorine": (5e-4, 2e-3, 0.0), "turbidity": (0.1, 10.0, 0.0),
}

POINTS = [
    # 0.25 % of accuracy, 2 % of deadband
    _p("controls.set_points", "order_gap", {"accuracy": 0.0025, "deadband": 0.02}, 0.025, source="common-practice"),
    _p("controls.set_points", "room_wanted", {"order_gap": 0.025}, 0.05, source="common-practice"),
    _p("controls.set_points", "alarm_steps", {"set_point_room": 0.2, "order_gap": 0.025}, 4.0,
       source="common-practice"),
    _p("controls.set_points", "set_offset", {"order_gap": 0.025, "gap_steps": 2.0, "set_side": -1.0}, -0.05),
    _p("controls.signals", "signals_installed", {"signals_used": 58.0, "spare_signals": 0.2}, 70.0,
       source="common-practice"),
    _p("controls.signals", "signals_installed", {"signals_used": 41.0, "spare_signals": 0.2}, 50.0,
       source="common-practice"),
    _p("controls.signals", "signals_installed", {"signals_used": 500.0, "spare_signals": 0.2}, 600.0,
       source="common-practice"),
    _p("plant.control", "low_level", {"depth": 1.7177, "level_fraction": 0.1}, 0.17177, source="common-practice"),
    _p("plant.control", "low_level", {"depth": 1.49, "level_fraction": 0.1}, 0.15, source="common-practice"),
    _p("plant.control", "low_level", {"depth": 1.502, "level_fraction": 0.1}, 0.1502, source="common-practice"),
    _p("plant.control", "permeate_conductivity", {"total_dissolved_solids": 0.25, "conductivity_factor": 1.2}, 0.06,
       source="common-practice"),
    *(_p("controls.set_points", f"set_{name}", {
        f"normal_{name}": normal, "set_distance": 0.2, f"{name}_range_high": high, f"{name}_range_low": low},
        normal + 0.2 * (high - low)) for name, (normal, high, low) in CASES.items()),
    *(_p("controls.set_points", f"room_{name}", {
        f"trip_{name}": normal + 0.1 * (high - low), f"normal_{name}": normal, f"{name}_range_high": high,
        f"{name}_range_low": low, "set_side": 1.0}, 0.1) for name, (normal, high, low) in CASES.items()),
    _p("controls.set_points", "room_pressure", {
        "trip_pressure": 1 * BAR, "normal_pressure": 2 * BAR, "pressure_range_high": 5 * BAR,
        "pressure_range_low": 1 * BAR, "set_side": -1.0}, 0.25),
    *(_p("controls.set_points", f"set_{name}", {
        f"normal_{name}": normal, "set_distance": -0.5, f"{name}_range_high": high, f"{name}_range_low": 0.1 * normal},
        normal - 0.5 * (high - 0.1 * normal)) for name, (normal, high, _) in CASES.items()),
    *(_p("controls.set_points", f"room_{name}", {
        f"trip_{name}": 0.5 * normal, f"normal_{name}": normal, f"{name}_range_high": high,
        f"{name}_range_low": 0.25 * normal, "set_side": -2.0}, normal / (high - 0.25 * normal))
        for name, (normal, high, _) in CASES.items()),
]
