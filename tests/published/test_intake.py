"""Intake, fouling indices and cartridges: worked examples of the silt density index, the rest by hand."""

from __future__ import annotations

import pytest

from desalbook.pretreatment import fouling
from desalbook.water.disinfection import virus_ct
from tests.points import Point


def _p(name: str, inputs: dict, expect, rel: float = 1e-9, source: str = "definition", place: str = "") -> Point:
    return Point(f"pretreatment.{name}", inputs, expect, rel, source, place, "hand arithmetic")


_MFI = {
    "first_time": 120.0,
    "first_volume": 2e-3,
    "last_time": 400.0,
    "last_volume": 5e-3,
    "viscosity": 1.0016e-3,
    "pressure_drop": 207e3,
    "area": 13.8e-4,
}
POINTS = [
    _p("intake:screen_area", {"raw_flow": 0.15, "velocity": 0.15, "open_share": 0.5, "clean_share": 0.4}, 5.0),
    _p("intake:opening_velocity", {"raw_flow": 0.15, "area": 5.0, "open_share": 0.5}, 0.06),
    _p("intake:screen_head_loss", {"loss_coefficient": 2.5, "velocity": 0.2}, 0.1 / 19.6133),
    _p(
        "intake:intake_head",
        {
            "elevation_to": 4.0,
            "elevation_from": -1.5,
            "screen_loss": 0.01,
            "friction_head": 6.0,
            "strainer_drop": 98066.5,
            "density": 1000.0,
        },
        21.51,
    ),
    _p("intake:contact_time", {"volume": 400.0, "raw_flow": 0.1, "contact_fraction": 0.3}, 1200.0),
    _p("intake:electrochlorination_power", {"mass_flow": 1 / 3600, "energy": 4.5 * 3.6e6}, 4500.0),
    Point(
        "pretreatment.fouling:plugging_factor",
        {"first_time": 30.0, "last_time": 60.0},
        0.5,
        1e-9,
        "astm-d4189",
        "worked example: 30 and 60 s, 50 %, index 3.333",
        "printed",
    ),
    Point(
        "pretreatment.fouling:silt_density_index",
        {"plugging": 0.5, "interval": 900.0},
        3.333,
        2e-4,
        "astm-d4189",
        "worked example: 30 and 60 s, 50 %, index 3.333",
        "printed",
    ),
    _p("fouling:modified_fouling_index", _MFI, (80000 - 60000) / 3e-3 / 1e6),
    _p(
        "fouling:modified_fouling_index",
        {**_MFI, "viscosity": 2.0032e-3, "pressure_drop": 414e3, "area": 27.6e-4},
        4 * 20 / 3,
    ),
    _p(
        "cartridges:cartridge_life",
        {"capacity": 0.1, "cartridges": 50, "cartridge_equivalents": 4, "flow": 0.05, "solids": 4e-4},
        1e6,
    ),
    _p("cartridges:change_interval", {"by_solids": 1e6, "change_longest": 4.8e6}, 1e6),
    _p("cartridges:change_interval", {"by_solids": 9e6, "change_longest": 4.8e6}, 4.8e6),
]


@pytest.mark.parametrize(
    ("first", "last", "minutes", "index"),
    [(30, 60, 15, 3.333), (30, 36, 15, 1.111), (25, 40, 15, 2.5), (20, 80, 15, 5.0), (20, 60, 10, 6.667)],
)
def test_silt_density_index(first, last, minutes, index):
    """Source: astm-d4189, the first a printed example, the others by its formula; 75 % plugging gives five."""
    plugging = fouling.plugging_factor.plain(first, last)
    assert fouling.silt_density_index.plain(plugging, minutes * 60.0) == pytest.approx(index, abs=5e-4)


def test_ct_of_viruses_by_temperature():
    """Four-log: 12, 8, 6, 4, 3, 2 mg min/L from 0.5 to 25 degC. Source: epa-profiling-1999, table E-7, from memory."""
    for celsius, ct in ((0.5, 12), (5, 8), (10, 6), (15, 4), (20, 3), (25, 2)):
        assert virus_ct.plain(celsius + 273.15) / 0.06 == pytest.approx(ct, rel=1e-6)
