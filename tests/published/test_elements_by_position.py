"""Element types by position: each relation by hand, slices of two elements of two slices."""

from __future__ import annotations

from tests.points import Point

_OF = {
    "water_permeability_placed": ("rest_permeability", "permeability", 2e-12, 5e-12),
    "salt_permeability_placed": ("rest_salt_permeability", "salt_permeability", 1e-8, 3e-8),
    "area_placed": ("rest_area", "element_area", 37.0, 41.0),
    "length_placed": ("rest_length", "element_length", 0.96, 0.9),
    "height_placed": ("rest_height", "spacer_height", 7e-4, 8.6e-4),
    "porosity_placed": ("rest_porosity", "spacer_porosity", 0.89, 0.91),
}
POINTS = [
    Point(f"membrane.by_position:{name}", {rest: a, this: b, "placed": [0.0, 0.0, 1.0, 1.0]}, [a, a, b, b], 1e-12,
          "definition", "either one or the other", "hand arithmetic")
    for name, (rest, this, a, b) in _OF.items()
] + [
    Point("membrane.by_position:mean_area", {"slice_area": [18.5, 18.5, 20.5, 20.5], "elements_per_vessel": 2.0}, 39.0,
          1e-12, "definition", "78 m2 in two elements", "hand arithmetic"),
    Point("plant.positions:drop_used", {"pressure_drop": 0.4e5, "drop_limit": 1e5}, 0.4, 1e-12, "definition",
          "by hand", "hand arithmetic"),
    Point("plant.positions:element_flux", {"node_in": 3.0, "node_out": 2.626, "water_density": 997.0,
                                           "element_area": 37.2}, 0.374 / 37088.4, 1e-12, "definition",
          "997 x 37.2 = 37 088.4 kg/m", "hand arithmetic"),
] + [
    # leaf of 0.8 + 0.55 = 1.35 mm on 18.5 m2 is 0.024975 m3; ring pi/4 (0.2^2 - 0.03^2) x 1 m is 0.0307091 m3
    Point("membrane.element:leaves_over_ring", {"element_area": 37.0, "element_length": 1.0, "spacer_height": 0.8e-3,
                                                "outer_diameter": 0.2, "tube_diameter": 0.03}, 0.813277, 2e-6,
          "definition", "18.5 m2 x 1.35 mm in pi/4 x 0.0391 m2 x 1 m", "hand arithmetic"),
    # 1 % in flow, 20 % in salt passage, 5 % in boron passage; then with flow, then with boron the largest
    Point("membrane.element:test_deviation", {"permeate_flow": 0.99, "wanted_flow": 1.0, "rejection": 0.988,
                                              "rated_rejection": 0.99, "boron_rejection": 0.895,
                                              "rated_boron_rejection": 0.9}, 0.2, 1e-9, "definition",
          "0.012 over 0.010", "hand arithmetic"),
    Point("membrane.element:test_deviation", {"permeate_flow": 1.3, "wanted_flow": 1.0, "rejection": 0.988,
                                              "rated_rejection": 0.99, "boron_rejection": 0.895,
                                              "rated_boron_rejection": 0.9}, 0.3, 1e-9, "definition",
          "30 % in flow", "hand arithmetic"),
    Point("membrane.element:test_deviation", {"permeate_flow": 1.1, "wanted_flow": 1.0, "rejection": 0.988,
                                              "rated_rejection": 0.99, "boron_rejection": 0.86,
                                              "rated_boron_rejection": 0.9}, 0.4, 1e-9, "definition",
          "0.14 over 0.10", "hand arithmetic"),
    Point("plant.element_sheet:feed_pressure_at_tolerance", {
        "feed_pressure": 60e5, "flux": 4e-6, "permeability": 2e-12, "flow_tolerance": 0.2}, 65e5, 1e-12,
        "definition", "net driving pressure 20 bar, 0.2/0.8 of it more", "hand arithmetic"),
    Point("plant.element_sheet:permeate_at_minimum_rejection", {
        "permeate_concentration": 0.2, "rated_rejection": 0.998, "minimum_rejection": 0.995}, 0.5, 1e-9, "definition",
        "five parts for two", "hand arithmetic"),
]
