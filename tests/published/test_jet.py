"""Dense jet: the worked case to its printed digits; sums by hand."""

from __future__ import annotations

from desalbook.product import outfall as c
from tests.points import Point

R = "product.outfall"
OF_THE_PLANT = ("carbon_dioxide_gone", "solids_dry", "residual_left")


def _p(name: str, inputs: dict, expect: float, rel: float = 1e-3, source: str = "roberts-1997") -> Point:
    module = "plant.concentrate" if name in OF_THE_PLANT else R
    return Point(f"{module}:{name}", inputs, expect, rel, source, "", "hand arithmetic")


FIELD = {"port_diameter": 0.2, "jet_froude": 18.285}
POINTS = [
    # the case is printed with g of 9.81, a part in 3000 above the standard's
    _p("reduced_gravity", {"jet_density": 1050, "ambient_density": 1025}, 0.23927),
    _p("jet_froude", {"jet_velocity": 4, "reduced_gravity": 0.23927, "port_diameter": 0.2}, 18.285, 1e-4),
    _p("jet_froude", {"jet_velocity": 4, "reduced_gravity": 0.25, "port_diameter": 0.16}, 20.0, 1e-6),
    _p("jet_rise", FIELD, 8.05),
    _p("impact_distance", FIELD, 8.78),
    _p("impact_dilution", {"jet_froude": 18.285}, 29.26, 3e-4),
    _p("near_field_length", FIELD, 32.9, 1e-3),
    _p("near_field_dilution", {"jet_froude": 18.285}, 47.54, 1e-4),
    _p("layer_thickness", FIELD, 2.560, 1e-3),
    _p("excess_at", {"jet_salinity": 0.066, "ambient_salinity": 0.035, "jet_dilution": 29.26}, 0.0360595, 1e-5),
    _p("excess_at", {"jet_salinity": 0.066, "ambient_salinity": 0.035, "jet_dilution": 47.54}, 0.0356521, 1e-5),
    _p("solids_dry", {"raw_flow": 0.05, "suspended_solids": 0.015, "floc_solids": 0.002}, 8.5e-4, source="definition"),
    _p("residual_left", {"residual_chlorine": 5e-4, "bisulfite_multiple": 0.4}, 3e-4, source="definition"),
    _p("residual_left", {"residual_chlorine": 5e-4, "bisulfite_multiple": 0.995}, 2.5e-6, source="definition"),
    _p("residual_left", {"residual_chlorine": 5e-4, "bisulfite_multiple": 2.0}, 0.0, 1e-6, "definition"),
    _p("carbon_dioxide_gone", {"carbon_dioxide": 4e-5, "concentration_factor": 1.75}, 3e-5, 1e-9, "definition"),
    _p("port_flow", {"reject_flow": 0.05, "trains": 3, "ports": 2}, 0.075, 1e-6, "definition"),
    _p("excess_left", {"salinity": 0.0360595, "ambient_salinity": 0.035}, 0.0010595, 1e-6, "definition"),
]


def test_the_worked_case():
    """4 m/s, 0.2 m, 1050 in 1025 kg/m3: F 18.285, rise 8.05, lands at 8.78, dilution 29.3 and 47.5."""
    f = c.jet_froude.plain(4.0, c.reduced_gravity.plain(1050.0, 1025.0), 0.2)
    assert round(f, 2) == 18.29 and round(c.jet_rise.plain(0.2, f), 2) == 8.05
    assert round(c.impact_distance.plain(0.2, f), 2) == 8.78 and round(c.impact_dilution.plain(f), 1) == 29.3
    assert round(c.near_field_length.plain(0.2, f), 1) == 32.9 and round(c.near_field_dilution.plain(f), 1) == 47.5
    assert round(c.excess_at.plain(66.0, 35.0, c.impact_dilution.plain(f)), 2) == 36.06
    assert round(c.excess_at.plain(66.0, 35.0, c.near_field_dilution.plain(f)), 2) == 35.65
