"""Filter vessels: thickness in the form of the code, weights and place, by hand arithmetic."""

from __future__ import annotations

import math

from tests.points import Point


def _p(name: str, inputs: dict, expect, rel: float = 1e-9, source: str = "definition", place: str = "") -> Point:
    return Point(f"pretreatment.{name}", inputs, expect, rel, source, place, "hand arithmetic")


_THICK = {
    "design_pressure": 1e6,
    "diameter": 2.4,
    "allowable_stress": 138e6,
    "joint_efficiency": 0.85,
    "corrosion_allowance": 1.5e-3,
}
_HARD = {**_THICK, "design_pressure": 40e6}
POINTS = [
    _p("vessel_construction:laminate_thickness", {"plate": 0.0251}, 0.026),
    _p("vessel_construction:laminate_thickness", {"plate": 0.012}, 0.012),
    _p("vessel_construction:laminate_thickness", {"plate": 0.4004}, 0.401),
    _p(
        "vessel_construction:shell_thickness",
        _THICK,
        1.2e6 / 116.7e6 + 1.5e-3,
        place="UG-27",
        source="asme-bpvc-viii-1",
    ),
    _p(
        "vessel_construction:shell_thickness",
        _HARD,
        48e6 / 93.3e6 + 1.5e-3,
        place="far beyond use, so that 0.6 P is seen",
    ),
    _p(
        "vessel_construction:head_thickness", _THICK, 2.4e6 / 234.4e6 + 1.5e-3, place="UG-32", source="asme-bpvc-viii-1"
    ),
    _p("vessel_construction:head_thickness", _HARD, 96e6 / 226.6e6 + 1.5e-3),
    _p(
        "vessel_form:shell_height",
        {"bed_depth": 1.0, "support_depth": 0.15, "freeboard": 0.6, "shell_allowance": 0.45},
        2.2,
    ),
    _p(
        "filter_vessel:shell_mass",
        {"diameter": 2.0, "shell_length": 2.0, "plate": 0.01, "plate_density": 7850.0},
        math.pi * 2.01 * 157,
    ),
    _p("filter_vessel:heads_mass", {"diameter": 2.0, "plate": 0.1, "plate_density": 7850.0}, 2.168 * 4.41 * 785),
    _p("filter_vessel:empty_mass", {"shell": 1000.0, "heads": 600.0, "fittings_fraction": 0.2}, 1920.0),
    _p(
        "filter_vessel:media_mass",
        {"depth": [0.6, 0.4], "settled_porosity": [0.5, 0.4], "grain_density": [1650.0, 2650.0], "area": 4.0},
        4524.0,
    ),
    _p("filter_vessel:grain_volume", {"depth": [0.6, 0.4], "settled_porosity": [0.5, 0.4], "area": 4.0}, 2.16),
    _p("filter_vessel:heads_volume", {"diameter": 2.0}, math.pi * 8 / 12),
    _p(
        "filter_vessel:water_mass",
        {"diameter": 2.0, "shell_length": 2.0, "heads_volume": 2.0, "grain_volume": 1.0, "density": 1000.0},
        1000 * (2 * math.pi + 1),
    ),
    _p(
        "filter_vessel:water_mass",
        {"diameter": 0.6, "shell_length": 6.0, "heads_volume": 0.0565, "grain_volume": 2.2356, "density": 1000.0},
        0.0,
    ),
    _p("filter_vessel:operating_mass", {"empty": 2000.0, "media": 4500.0, "water_load": 7000.0}, 13500.0),
    _p("filter_vessel:battery_length", {"filters": 7, "rows": 2, "filter_pitch": 2.0, "gap": 0.8}, 12.0),
    _p("filter_vessel:battery_length", {"filters": 800, "rows": 2, "filter_pitch": 2.0, "gap": 0.8}, 1120.8),
    _p("filter_vessel:battery_width", {"rows": 3, "filter_reach": 2.0, "aisle": 1.5, "gap": 0.8}, 10.6),
    _p("vessel_form:horizontal_bed_area", {"diameter": 2.5, "drum_length": 6.0}, 15.0),
    _p("vessel_form:horizontal_diameter", {"area": 15.0, "drum_length": 6.0}, 2.5),
    _p("vessel_form:horizontal_reach", {"drum_length": 6.0, "diameter": 2.5}, 7.25),
]
