"""Duty, analysis and product: definitions worked by hand, and the composition of reference seawater."""

from __future__ import annotations

from desalbook.water.analysis import anions, cations
from desalbook.water.species import IONS, table
from tests.points import Point

HAND = "hand arithmetic"
DAY = 86400.0


def _p(
    relation: str,
    inputs: dict,
    expect,
    rel: float = 1e-4,
    place: str = "",
    source: str = "definition",
    status: str = HAND,
) -> Point:
    return Point(relation, inputs, expect, rel, source, place, status)


D, A, P = "duty.flows", "water.analysis", "product.quality"

POINTS = [
    _p("balances:total_flow", {"flow": 0.05, "units": 3}, 0.15, 1e-9),
    _p("balances:sum_of_flows", {"flow": 0.07, "second_flow": 0.002}, 0.072, 1e-9),
    _p("balances:difference_of_flows", {"flow": 0.08, "second_flow": 0.07}, 0.01, 1e-9),
    _p("balances:flow_ratio", {"flow": 0.08, "reference_flow": 0.07}, 8 / 7, 1e-9),
    _p("balances:units_for_flow", {"flow": 75 / 3600, "unit_flow": 0.75 / 3600}, 100, 1e-9, "an exact division"),
    _p("balances:units_for_flow", {"flow": 75.01 / 3600, "unit_flow": 0.75 / 3600}, 101, 1e-9),
    _p("balances:whole_quotient", {"items": 267, "divisor": 4}, 67, 1e-9),
    _p("balances:whole_quotient", {"items": 67, "divisor": 2}, 34, 1e-9),
    _p("balances:items_of_groups", {"groups": 2, "group_size": 36}, 72, 1e-9),
    _p("balances:sum_of_volumes", {"volume": 40.0, "other_volume": 12.0}, 52.0, 1e-9),
    _p(f"{D}:net_of_train", {"net_product": 5000 / DAY, "trains": 2}, 2500 / DAY),
    _p(f"{D}:flow_of_trains", {"train_flow": 2500 / DAY, "trains": 2}, 5000 / DAY),
    _p(f"{D}:item_of_own_use", {"net_product": 5000 / DAY, "own_use_share": 0.003}, 15 / DAY),
    _p(
        f"{D}:own_use_of",
        {
            "own_use_flush": 1 / DAY,
            "own_use_cleaning": 2 / DAY,
            "own_use_makedown": 4 / DAY,
            "own_use_contactor": 8 / DAY,
            "own_use_startup": 16 / DAY,
        },
        31 / DAY,
    ),
    _p(
        f"{D}:gross_permeate_of",
        {"net_product": 5000 / DAY, "own_use": 60 / DAY, "availability": 0.96},
        5270.83 / DAY,
        1e-6,
    ),
    _p(
        f"{D}:net_of",
        {"gross_permeate": 5270.8333 / DAY, "own_use": 60 / DAY, "availability": 0.96},
        5000 / DAY,
        1e-6,
    ),
    # 1000 m3/d at 42 %: feed 2380.95, concentrate 1380.95 m3/d
    _p(f"{D}:feed_for", {"permeate_flow": 1000 / DAY, "recovery": 0.42}, 2380.95 / DAY, 1e-5),
    _p(f"{D}:recovery_of", {"permeate_flow": 1000 / DAY, "feed_flow": 2380.95 / DAY}, 0.42, 1e-5),
    _p(f"{D}:recovery_of", {"permeate_flow": 900 / DAY, "feed_flow": 2500 / DAY}, 0.36),
    _p(
        f"{A}:total_of_constituents",
        {"concentration": [10.0, 20.0, 0.0045], "salt_per_basis": [1, 1, 5.7198]},
        30.025739,
        1e-6,
        "boron counts as boric acid",
    ),
    _p(
        f"{A}:cations",
        {
            "concentration": [2.299, 0.40078, 3.545],
            "charge_number": [1, 2, -1],
            "molar_mass": [0.02299, 0.040078, 0.03545],
        },
        120.0,
        1e-6,
    ),
    _p(
        f"{A}:anions",
        {
            "concentration": [2.299, 0.40078, 3.545, 0.4803],
            "charge_number": [1, 2, -1, -2],
            "molar_mass": [0.02299, 0.040078, 0.03545, 0.09606],
        },
        110.0,
        1e-6,
    ),
    _p(f"{A}:balance_error", {"cation_sum": 620.0, "anion_sum": 600.0}, 20 / 1220),
    _p(f"{A}:balance_deviation", {"balance": -0.03}, 0.03),
    _p(f"{A}:balance_deviation", {"balance": 0.02}, 0.02),
    *[
        _p(
            f"{A}:balance_limit",
            {"cation_sum": c, "anion_sum": a},
            e,
            1e-4,
            "1030E",
            "standard-methods",
            "from memory",
        )
        for c, a, e in (
            (2.0, 2.0, 0.05),
            (2.99, 2.99, 0.2 / 5.98),
            (3.01, 3.01, 0.02),
            (9.99, 9.99, 0.02),
            (10.01, 10.01, 0.05),
            (600, 600, 0.05),
        )
    ],
    _p(
        f"{A}:alkalinity_equivalents",
        {"bicarbonate": 61.016e-3, "carbonate": 0.0},
        50.043e-3,
        1e-5,
        "50.04 mg/L as CaCO3 a meq/L",
    ),
    _p(f"{A}:alkalinity_equivalents", {"bicarbonate": 0.0, "carbonate": 60.008e-3}, 100.086e-3, 1e-5),
    _p(f"{A}:alkalinity_equivalents", {"bicarbonate": 122.032e-3, "carbonate": 30.004e-3}, 150.129e-3, 1e-5),
    # 32 000 mg/L of NaCl at 25 degC, 1.01914 kg/L: 0.55468 mol per kg of water
    _p(
        f"{A}:molality_of",
        {"concentration": 32.0, "molar_mass": 0.0584428, "density": 1019.14, "total_dissolved_solids": 32.0},
        0.55468,
        2e-5,
        "test solution",
        "phreeqc-2013",
        "computed with a reference library",
    ),
    _p(f"{A}:salinity_of", {"total_dissolved_solids": 35.98, "density": 1023.22}, 0.0364450, 1e-5),
    _p(
        "product.stoichiometry:carbon_of",
        {"carbon_dioxide": 3e-5, "bicarbonate_molality": 2e-5, "carbonate_molality": 1e-6},
        5.1e-5,
    ),
    _p("product.stoichiometry:carbonate_alkalinity", {"bicarbonate_molality": 2e-5, "carbonate_molality": 1e-6},
       2.2e-5),
    _p(f"{P}:water_content_of", {"density": 997.4, "total_dissolved_solids": 0.4}, 997.0, 1e-6),
    _p(
        f"{P}:concentration_of",
        {"molality": [0.005, 4e-5], "molar_mass": [0.02299, 0.01081], "water_content": 997},
        [0.114605, 4.3110e-4],
        1e-4,
    ),
    _p(
        f"{P}:solids_of",
        {"molality": [0.005, 0.005], "molar_mass": [0.02299, 0.03545], "water_content": 997},
        0.291323,
        1e-5,
    ),
    _p(f"{P}:equivalents_as_caco3", {"equivalents": 1e-3, "water_content": 1000}, 50.043e-3, 1e-5),
    _p(f"{P}:as_caco3", {"molality": 8e-4, "water_content": 1000}, 80.069e-3, 1e-5),
    _p(f"{P}:as_caco3", {"molality": 5e-5, "water_content": 1000}, 5.0043e-3, 1e-5),
    _p(f"{P}:langelier_index", {"ph": 8.2, "saturation_ph": 7.923}, 0.277, 1e-6),
    _p("product.stoichiometry:dose_amount", {"dose": 80e-3, "molar_mass": 0.100086, "water_content": 997}, 8.0172e-4,
       1e-4),
    _p(
        f"{P}:concentration_of",
        {"molality": 1e-4, "molar_mass": 0.039997, "water_content": 997},
        3.98770e-3,
        1e-5,
    ),
    # 8 meq/L of sodium on 2 meq/L each of calcium and magnesium: SAR 8/sqrt(2) = 5.657
    _p(
        f"{P}:sodium_adsorption_ratio",
        {
            "sodium_molality": 8e-3,
            "calcium_molality": 1e-3,
            "magnesium_molality": 1e-3,
            "water_content": 1000,
        },
        5.6569,
        2e-5,
        "meq/L form",
        "fao-29",
    ),
    _p("product.stoichiometry:chlorine_amount", {"chlorine_dose": 0.5e-3, "water_content": 997}, 7.0735e-6, 1e-4),
    _p("balances:flow_per_unit", {"flow": 0.1, "units": 2}, 0.05),
    _p("balances:partial_flow", {"flow": 0.08, "fraction": 0.75}, 0.06),
    _p("balances:units_with_one_out", {"units": 4.0}, 3.0),
    _p("balances:flow_fraction", {"flow": 0.045, "reference_flow": 0.1}, 0.45),
    _p("balances:sum_of_molalities", {"molality": 1.7e-3, "more_molality": 2.4e-4}, 1.94e-3, 1e-9),
    _p("balances:sum_of_heads", {"head": 20.0, "other_head": 3.5}, 23.5),
    _p("balances:sum_of_pressure_drops", {"pressure_drop": 9e3, "other_drop": 7e3}, 16e3),
    _p("balances:sum_of_powers", {"electric_power": 250e3, "other_power": 15e3}, 265e3),
    _p("balances:volume_in_time", {"flow": 0.02, "time": 600.0}, 12.0),
    _p("balances:sum_of_two_masses", {"mass": 4500.0, "other_mass": 900.0}, 5400.0),
    _p("balances:time_to_empty", {"volume": 12.0, "flow": 0.02}, 600.0),
]


def test_reference_sea_water_balances():
    """Cations 605.555 meq/kg, equal to the anions (millero-2008; masses by atomic weights)."""
    rows = {k: v for k, v in table("reference_seawater")["moles"].items() if k in IONS and k != "CO2"}
    charges = [IONS[k].charge for k in rows]
    grams = [v * IONS[k].molar_mass for k, v in rows.items()]
    masses = [IONS[k].molar_mass for k in rows]
    positive, negative = (
        cations.plain(grams_(grams), grams_(charges), grams_(masses)),
        anions.plain(grams_(grams), grams_(charges), grams_(masses)),
    )
    assert abs(positive * 1e3 - 605.555) < 0.01
    # borate and hydroxide, 0.109 meq/kg together, are not in the list of an analysis
    assert abs((positive - negative) * 1e3 - (0.1008 + 0.0079)) < 0.001


def grams_(values):
    import numpy as np

    return np.asarray(values, dtype=float)
