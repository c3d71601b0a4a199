"""Product water: stoichiometry from atomic weights, and hand arithmetic."""

from __future__ import annotations

from tests.points import Point

HAND = "hand arithmetic"
T, W, B = "product.stoichiometry", "product.window", "product.blending"
C, D, K, Q = "product.contactor", "product.degasifier", "product.product_tank", "product.quality"


def _p(relation: str, inputs: dict, expect: float, rel: float = 1e-3, place: str = "", source: str = "definition",
       status: str = HAND) -> Point:
    return Point(relation, inputs, expect, rel, source, place, status)


MASSES = "iupac-weights"
POINTS = [
    _p(f"{T}:calcite_for", {"hardness_gained": 0.08}, 0.08, 1e-6),
    _p(f"{T}:lime_for", {"hardness_gained": 0.08}, 0.7403 * 0.08, 1e-4, source=MASSES),
    _p(f"{T}:caustic_for", {"alkalinity_gained": 0.08}, 0.7993 * 0.08, 1e-4, source=MASSES),
    _p(f"{T}:co2_for_calcite", {"calcite_dose": 0.08}, 0.4397 * 0.08, 2e-4, source=MASSES),
    _p(f"{T}:co2_for_lime", {"lime_dose": 0.08}, 0.08 / 0.8418, 1e-4, "0.8418 mg of lime for 1 mg of CO2", MASSES),
    _p(f"{T}:co2_for_caustic", {"alkali_dose": 0.08}, 0.08 / 0.9088, 1e-4, source=MASSES),
    _p(f"{T}:acid_for_calcite", {"calcite_dose": 0.08}, 0.4899 * 0.08, 2e-4, source=MASSES),
    _p(f"{D}:equilibrium_carbon_dioxide", {"pk_henry": 1.468, "air_share": 4.2e-4}, 1.4297e-5, 2e-4,
       "10^-1.468 is 0.034041"),
    _p(f"{D}:stripped", {"carbon_dioxide": 1e-4, "carbon_dioxide_air": 1.4e-5, "approach": 0.95}, 1.83e-5, 1e-6),
    _p(f"{B}:blended", {"molality": 2e-3, "blend_molality": 0.5, "blend_fraction": 0.01}, 6.98e-3, 1e-6),
    _p(f"{C}:through_contactor", {"amount": 6e-4, "bypass": 0.4}, 1e-3, 1e-6),
    _p(f"{C}:treated_flow", {"product_flow": 0.05, "bypass": 0.4}, 0.03, 1e-6),
    _p(f"{C}:contactors_for", {"flow": 100 / 3600, "contactor_rate": 10 / 3600, "contactor_area": 4.9087}, 3.0, 1e-6),
    _p(f"{C}:contactors_for", {"flow": 100 / 3600, "contactor_rate": 10 / 3600, "contactor_area": 5.0}, 2.0, 1e-6),
    _p(f"{C}:contactors_for", {"flow": 100 / 3600, "contactor_rate": 10 / 3600, "contactor_area": 4.99}, 3.0, 1e-6),
    _p(f"{C}:contactor_area_for", {"flow": 100 / 3600, "contactor_rate": 10 / 3600, "contactors": 4}, 2.5, 1e-6),
    _p(f"{C}:bed_depth", {"bed_volume": 25, "contactor_area": 5, "contactors": 2}, 2.5, 1e-6),
    _p(f"{C}:calcite_use", {"product_flow": 0.0277778, "calcite_dose": 0.08, "purity": 0.98}, 2.26757e-3, 1e-4),
    _p(f"{C}:refill_time",
       {"bed_volume": 25, "bulk_density": 1450, "refill_fraction": 0.1, "calcite_rate": 2.26757e-3}, 1598627.0, 1e-5),
    _p(f"{Q}:hardness_of", {"calcium_molality": 1e-3, "magnesium_molality": 2e-4, "water_content": 1000}, 0.1201032,
       1e-5),
    _p(f"{K}:tank_each", {"flow": 0.0277778, "storage_time": 21600, "tanks": 2}, 300.0, 1e-5),
    _p(f"{K}:made_in_step", {"possible": 5000, "demand": 5800, "full_volume": 1333, "stored_volume": 1333},
       5000.0, 1e-12),
    _p(f"{K}:made_in_step", {"possible": 5000, "demand": 3000, "full_volume": 1333, "stored_volume": 533},
       3800.0, 1e-12),
    _p(f"{K}:shortage", {"stored_volume": 533, "made": 5000, "demand": 5800}, 267.0, 1e-12),
    _p(f"{K}:shortage", {"stored_volume": 1333, "made": 5000, "demand": 5800}, 0.0, 1e-12),
    _p(f"{K}:level_after", {"stored_volume": 1333, "made": 5000, "demand": 5800, "full_volume": 1333}, 533.0, 1e-12),
    _p(f"{K}:level_after", {"stored_volume": 533, "made": 5000, "demand": 5800, "full_volume": 1333}, 0.0, 1e-12),
    _p(f"{K}:level_after", {"stored_volume": 1000, "made": 5000, "demand": 3000, "full_volume": 1333}, 1333.0, 1e-12),
    _p(f"{K}:t10_of", {"baffling": 0.3, "tank_volume": 200, "tanks": 2, "flow": 0.0277778}, 4320.0, 1e-5),
    # 0.392 mg of chlorate for each mg of chlorine lost; a fifth lost
    _p(f"{K}:chlorate_by_hypochlorite",
       {"chlorine_dose": 5e-4, "chlorate_delivered": 0.042, "strength_left": 0.8}, 7.529e-5, 2e-4,
       "(0.042 + 0.3923 x 0.2) / 0.8"),
    _p(f"{K}:brought_by_hypochlorite", {"chlorine_dose": 5e-4, "byproduct_ratio": 0.0025, "strength_left": 0.8},
       1.5625e-6, 1e-6),
    _p(f"{W}:aim_above", {"hardness_limit": 0.08, "window_margin": 0.03, "water_content": 997}, 8.2577e-4, 1e-4),
    _p(f"{W}:aim_below", {"hardness_limit": 0.12, "window_margin": 0.03, "water_content": 997}, 1.16651e-3, 1e-4),
    _p(f"{B}:finished_tds", {"permeate_tds": 0.3, "salinity": 0.038, "water_content": 995, "blend_fraction": 0.01,
                             "minerals": 0.14}, 0.8151, 1e-6),
    _p(f"{B}:minerals_added", {"product_tds": 0.44, "unfinished_tds": 0.3}, 0.14, 1e-9),
    _p(f"{B}:blended_boron",
       {"boron_permeate": 8e-4, "boron_ratio": 4.7e-6, "water_content": 1000, "blend_fraction": 0.01}, 8.39e-4, 1e-6),
]
