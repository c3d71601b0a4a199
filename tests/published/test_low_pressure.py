"""Heads line by line, suction, tanks and cartridges: hand arithmetic and rules of the trade."""

from __future__ import annotations

from tests.points import Point

HAND = "hand arithmetic"


def _p(
    room: str, name: str, inputs: dict, expect, rel: float = 1e-6, source: str = "definition", place: str = ""
):
    return Point(f"{room}:{name}", inputs, expect, rel, source, place, HAND)


LOW, SUCTION, HEAD = "hydraulics.low_pressure", "hydraulics.suction", "hydraulics.head"
STORE, CARTRIDGE = "pretreatment.storage", "pretreatment.cartridges"

POINTS = [
    _p(HEAD, "static_lift", {"elevation_to": 3.5, "elevation_from": 0.8}, 2.7),
    _p(HEAD, "gauge_pressure_head", {"gauge_pressure": 2e5, "density": 1025.0}, 19.8969017),
    _p(
        LOW,
        "total_dynamic_head",
        {
            "static_head": 0.5,
            "friction_head": 3.0,
            "bed_head": 7.0,
            "equipment_head": 6.5,
            "outlet_head": 20.0,
        },
        37.0,
    ),
    _p(
        LOW,
        "total_dynamic_head",
        {
            "static_head": 2.7,
            "friction_head": 4.0,
            "bed_head": 0.6,
            "equipment_head": 4.2,
            "outlet_head": 2.0,
        },
        13.5,
    ),
    _p(LOW, "feed_flow_with_filter_to_waste", {"flow": 0.07, "filters": 8}, 0.08),
    _p(LOW, "total_dynamic_head", {"static_head": -56.5, "friction_head": 3.0, "bed_head": 7.0, "equipment_head": 6.5,
                                   "outlet_head": 20.0}, 0.0),
    _p(LOW, "mean_service_head", {"clean_head": 30.0, "dirty_head": 42.0}, 36.0),
    _p(LOW, "filter_to_waste_shortfall", {"filters": 8}, 0.125),
    _p(
        SUCTION,
        "hp_suction_pressure",
        {
            "pump_head": 42.0,
            "static_head": 1.0,
            "friction_head": 4.0,
            "density": 1025.0,
            "filter_drop": 7e4,
            "cartridge_drop": 5e4,
        },
        251917.2,
        1e-6,
    ),
    _p(SUCTION, "npsh_required_with_margin", {"npsh_required": 8.0, "npsh_ratio": 1.3, "npsh_margin": 0.6}, 10.4),
    _p(SUCTION, "npsh_required_with_margin", {"npsh_required": 1.0, "npsh_ratio": 1.3, "npsh_margin": 0.6}, 1.6),
    Point(
        f"{SUCTION}:npsh_required_with_margin",
        {"npsh_required": 20.0, "npsh_ratio": 1.3, "npsh_margin": 0.6},
        26.0,
        1e-9,
        "crane-tp410",
        "example 7.32: 20 ft needed, 26 ft wanted",
    ),
    _p(STORE, "retention_volume", {"raw_flow": 0.05, "detention": 3600.0, "usable": 0.9}, 200.0),
    _p(STORE, "backwash_store", {"backwash_volume": 17.0, "washes": 2.0, "bridged_volume": 16.0, "usable": 0.85}, 40.0),
    _p(STORE, "backwash_store", {"backwash_volume": 17.0, "washes": 2.0, "bridged_volume": 68.0, "usable": 0.85}, 80.0),
    _p(STORE, "tank_diameter", {"volume": 56.5486678, "tanks": 2, "height": 4.0}, 3.0),
    _p(STORE, "tank_capacity", {"tanks": 2, "diameter": 3.0, "height": 4.0}, 56.5486678),
    _p(STORE, "tank_level", {"volume": 56.5486678, "tanks": 2, "diameter": 3.0}, 4.0),
    _p(STORE, "level_above_site", {"elevation": 0.2, "level": 0.6}, 0.8),
    _p(STORE, "usable_volume", {"volume": 200.0, "usable": 0.85}, 170.0),
    _p(
        CARTRIDGE,
        "cartridge_loading",
        {"flow": 200 / 3600, "cartridges": 67, "cartridge_equivalents": 4},
        0.7462686567 / 3600,
    ),
    _p(CARTRIDGE, "cartridges_with_housing_out", {"cartridges_each": 36, "housings": 2, "housings_standby": 1}, 72,
       1e-9),
]


def test_cartridges_of_a_hundred_lengths():
    """Exact divisions are not rounded up by the last digit of a conversion of units."""
    from desalbook.balances import units_for_flow

    assert units_for_flow.plain(75 / 3600, 0.75 / 3600) == 100
