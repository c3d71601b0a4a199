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
]
