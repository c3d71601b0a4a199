"""Cost relations against worked cases: scaling, escalation, roll-up, recovery of capital, levelised cost."""

from __future__ import annotations

import pytest

from desalbook import balances
from desalbook.cost import capital, levelised, operating
from tests.points import Point

HAND = "hand arithmetic"
YEAR = 31557600.0


def _p(module: str, name: str, inputs: dict, expect, rel: float, source: str = "definition", place: str = "",
       status: str = HAND) -> Point:
    return Point(f"cost.{module}:{name}", inputs, expect, rel, source, place, status)


def _b(name: str, inputs: dict, expect, rel: float) -> Point:
    return Point(f"balances:{name}", inputs, expect, rel, "definition", "", HAND)


FLOW = 167900.0 / YEAR
"""Net product of the worked plant: 500 m3/d at 92 %."""
L1 = (147685.7, 72532.8, 4125.0, 2014.8, 7555.5, 48000.0, 36250.0, 7250.0)
PER = (0.87961, 0.43200, 0.02457, 0.01200, 0.04500, 0.28588, 0.21590, 0.04318)

POINTS = [
    _p("capital", "apparent_ratio", {"item_apparent": 300e3, "base_apparent": 100e3}, 3.0, 1e-12),
    _p("capital", "rating_ratio", {"item_power": 55e3, "base_power": 30e3}, 1.8333333, 1e-7),
    _p("capital", "volume_ratio", {"item_volume": 500.0, "base_volume": 100.0}, 5.0, 1e-12),
    _p("capital", "area_ratio", {"item_area": 7.4, "base_area": 37.0}, 0.2, 1e-12),
    _p("capital", "count_ratio", {"item_places": 100.0, "base_places": 50.0}, 2.0, 1e-12),
    _p("capital", "volume_of_one", {"volume_together": 904.8, "tanks": 2.0}, 452.4, 1e-12),
    # 1.2 M at 500 m3/d, at 2000 m3/d: six-tenths, eight-tenths, four copies
    _p("capital", "scaled_cost", {"base_cost": 1.2e6, "size_ratio": 4.0, "size_exponent": 0.6}, 2.7569e6, 2e-5,
       "williams-1947", "1.2 M at 500 m3/d, at 2000 m3/d"),
    _p("capital", "scaled_cost", {"base_cost": 1.2e6, "size_ratio": 4.0, "size_exponent": 0.8}, 3.6377e6, 2e-5,
       "williams-1947"),
    _p("capital", "scaled_cost", {"base_cost": 1.2e6, "size_ratio": 4.0, "size_exponent": 1.0}, 4.8e6, 1e-12,
       "williams-1947"),
    _p("capital", "escalated_cost", {"scaled_cost": 1.0, "price_index": 798.8, "base_price_index": 381.7}, 2.09274,
       2e-6, "vatavuk-2002", "1996 to 2024"),
    _p("capital", "pressure_cost_factor", {"item_pressure": 82.8e5, "base_pressure": 69e5, "pressure_exponent": 0.4},
       1.075654, 1e-6, "common-practice"),
    _p("capital", "material_cost_factor", {"material_fraction": 0.3, "material_price": 2.9,
                                           "base_material_price": 2.0}, 1.135, 1e-12, "common-practice"),
    _p("capital", "curve_price", {"escalated_cost": 1000.0, "ex_works_factor": 0.8, "pressure_factor": 1.1,
                                  "material_factor": 1.2, "exchange_rate": 0.9, "location_factor": 1.3}, 1235.52,
       1e-12),
    # 900 installed with a quarter of the price ex works in it
    _p("capital", "ex_works_factor", {"installation_within": 0.25}, 0.8, 1e-12),
    _p("capital", "item_price", {"quoted_price": 0.0, "estimated_price": 900.0}, 900.0, 1e-12),
    _p("capital", "item_price", {"quoted_price": 0.005, "estimated_price": 900.0}, 0.005, 1e-12),
    _p("capital", "item_price", {"quoted_price": 1200.0, "estimated_price": 900.0}, 1200.0, 1e-12),
    _p("capital", "item_capital", {"unit_price": 550.0, "items_installed": 60.0}, 33000.0, 1e-12),
    _b("sum_of_costs", {"costs": (400e3, 150e3, 70e3)}, 620e3, 1e-12),
    _b("sum_of_costs", {"costs": (3313.5, 250.0, 36.5)}, 3600.0, 1e-9),
    # a roll-up of 620 000 worked by hand
    _b("fraction_of_cost", {"base_of_fraction": 620e3, "fraction": 0.25}, 155e3, 1e-12),
    _p("capital", "direct_cost", {"equipment_cost": 620e3, "parts_cost": (155e3, 93e3, 74.4e3, 111.6e3, 31e3),
                                  "sea_works": 0.0}, 1085e3, 1e-12),
    _p("capital", "direct_cost", {"equipment_cost": 620e3, "parts_cost": (155e3, 93e3, 74.4e3, 111.6e3, 31e3),
                                  "sea_works": 50e3}, 1135e3, 1e-12),
    _p("capital", "indirect_cost", {"direct_cost": 1085e3, "equipment_cost": 620e3, "engineering_fraction": 0.10,
                                    "commissioning_fraction": 0.03, "freight_fraction": 0.05}, 172050.0, 1e-12),
    _p("capital", "contingency_cost", {"direct_cost": 1085e3, "indirect_cost": 172050.0,
                                       "contingency_fraction": 0.15}, 188557.5, 1e-12),
    _p("capital", "capital_cost", {"direct_cost": 1085e3, "indirect_cost": 172050.0, "contingency_cost": 188557.5},
       1445607.5, 1e-12),
    _p("capital", "specific_capital", {"capital_cost": 1445607.5, "net_product": 500 / 86400}, 2891.215 * 86400, 1e-9),
    # the year of a plant of 500 m3/d, worked by hand
    _p("operating", "replacement_cost", {"items_installed": 60.0, "unit_price": 550.0, "yearly_fraction": 0.125},
       4125.0, 1e-12),
    _p("operating", "cartridge_cost", {"items_installed": 20.0, "unit_price": 15.0, "change_interval": 56 * 86400.0,
                                       "availability": 0.92}, 1800.16, 1e-5),
    _p("operating", "labour_cost", {"staff": 1.5, "salary": 32000.0}, 48000.0, 1e-12),
    _b("fraction_of_cost", {"base_of_fraction": 1.45e6, "fraction": 0.025}, 36250.0, 1e-12),
    _p("operating", "discharge_cost", {"raw_flow": 2.5 * FLOW, "net_product": FLOW, "discharge_fee": 0.02},
       5037.0, 1e-9),
    _b("sum_of_costs", {"costs": L1[1:]}, 177728.1, 1e-9),
    # capital recovery: printed digits of tables of compound interest
    *[_p("levelised", "capital_recovery", {"discount_rate": i, "plant_life": n * YEAR}, expect, 5e-7 / expect)
      for i, n, expect in ((0.03, 30, 0.051019), (0.05, 20, 0.080243), (0.05, 30, 0.065051), (0.08, 5, 0.250456),
                           (0.08, 20, 0.101852), (0.10, 25, 0.110168), (0.12, 15, 0.146824))],
    _p("levelised", "capital_recovery", {"discount_rate": 0.0, "plant_life": 25 * YEAR}, 0.04, 1e-12),
    _p("levelised", "capital_recovery", {"discount_rate": 0.001, "plant_life": 10 * YEAR}, 0.100550825, 1e-7),
    _p("levelised", "capital_of_a_year", {"capital_cost": 1.45e6, "capital_recovery_factor": 0.10185221}, 147685.7,
       1e-6),
    _p("levelised", "capital_of_a_year", {"capital_cost": 98e6, "capital_recovery_factor": 0.0650514}, 6375041.0,
       1e-6, "definition", "94 625 m3/d, 5 %, 30 years"),
    _p("levelised", "cost_per_volume", {"yearly_cost": 147685.7, "net_product": FLOW}, 0.87961, 6e-6),
    _p("levelised", "cost_per_volume", {"yearly_cost": 21051901.0, "net_product": 31084312.5 / YEAR}, 0.67725, 8e-6,
       "definition", "94 625 m3/d, load factor 0.9"),
    _p("levelised", "water_cost", {"cost_by_part": PER}, 1.938141, 3e-6),
    _p("levelised", "capital_band", {"capital_cost": 1.45e6, "band": -0.5}, 725e3, 1e-12, "aace-18r-97",
       "class 5, lower end"),
    _p("levelised", "capital_band", {"capital_cost": 1.45e6, "band": 1.0}, 2.9e6, 1e-12, "aace-18r-97",
       "class 5, upper end"),
    _p("levelised", "discount_factor", {"discount_rate": 0.08, "payment_time": 4 * YEAR}, 0.735029853, 1e-9),
    _p("levelised", "discount_factor", {"discount_rate": 0.08, "payment_time": 0.0}, 1.0, 1e-12),
    _p("levelised", "part_of_last_year", {"discount_rate": 0.08, "year_part": 1.0}, 1.0, 1e-12),
    _p("levelised", "part_of_last_year", {"discount_rate": 0.08, "year_part": 0.5}, 0.490381056766, 1e-9),
    _p("levelised", "part_of_last_year", {"discount_rate": 0.001, "year_part": 0.5}, 0.499875062461, 1e-9),
    _p("levelised", "part_of_last_year", {"discount_rate": 0.0, "year_part": 0.5}, 0.5, 1e-12),
    # a flow whose worth at 8 % is printed in the handbook of a library of finance
    _p("levelised", "present_value", {"cash_flow": (-40e3, 5e3, 8e3, 12e3, 30e3), "discount_factor": (
        1.0, 0.9259259259, 0.8573388203, 0.7938322410, 0.7350298528)}, 3065.22267, 1e-7),
    _p("levelised", "present_volume", {"yearly_volume": (0.0, 1000.0, 1000.0), "discount_factor": (
        1.0, 0.9259259259, 0.8573388203)}, 1783.2647462, 1e-9),
    _p("levelised", "levelised_cost", {"present_cost": 3202608.43, "present_volume": 1648466.95}, 1.942780, 3e-7),
    _p("levelised", "water_cost_delivered", {"fixed_cost": 120e3, "delivered": 2e5 / YEAR,
                                             "variable_cost": 0.45}, 1.05, 1e-9),
    # the swing of 20 % of capital with what follows it
    _p("levelised", "water_cost_band", {"water_cost": 1.938141, "capital_parts": (PER[0], PER[6], PER[7]),
                                        "band": 0.2}, 2.16588, 5e-6),
    _p("levelised", "water_cost_band", {"water_cost": 1.938141, "capital_parts": (PER[0], PER[6], PER[7]),
                                        "band": -0.2}, 1.71040, 5e-6),
]


def test_the_worked_plant_costs_what_its_parts_sum_to():
    """Levelised cost of a plant of 500 m3/d from its inputs, through the relations, to the printed digits."""
    crf = levelised.capital_recovery.plain(0.08, 20 * YEAR)
    parts = [levelised.capital_of_a_year.plain(1.45e6, crf), 3.6 * 167900 * 0.12,
             operating.replacement_cost.plain(60.0, 550.0, 0.125), 0.012 * 167900, 0.045 * 167900,
             operating.labour_cost.plain(1.5, 32000.0), balances.fraction_of_cost.plain(1.45e6, 0.025),
             balances.fraction_of_cost.plain(1.45e6, 0.005)]
    assert sum(parts) == pytest.approx(325413.80, abs=0.01)
    by_part = [levelised.cost_per_volume.plain(x, FLOW) for x in parts]
    assert by_part == pytest.approx(PER, abs=6e-6)
    assert sum(by_part) == pytest.approx(1.938141, abs=6e-7)


def test_a_study_example_of_levelised_cost():
    """2.23 for 1 m3 a year at 7 % over 30 years, 0.097 fixed: 0.276708 for 1 m3."""
    assert 2.23 * levelised.capital_recovery.plain(0.07, 30 * YEAR) + 0.097 == pytest.approx(0.276708, abs=6e-7)


def test_trains_of_a_power_law():
    """Capital of trains in number over one train, by an exponent of 0.8: tabled ratios."""
    for trains, share, expect in ((2, 0.5, 1.149), (3, 0.5, 1.723), (4, 1 / 3, 1.661), (5, 0.25, 1.649)):
        found = capital.item_capital.plain(capital.scaled_cost.plain(1.0, share, 0.8), trains)
        assert found == pytest.approx(expect, abs=5e-4)


def _worked(*, capital=1.45e6, available=0.92, rate=0.08, use=3.6, power=0.12, life=20.0, staff=1.5, chemicals=0.045,
            replaced=0.125):
    """Cost of water of the plant of 500 m3/d, by the relations."""
    made = 500 * available / 0.92 * 335.8
    a_year = [levelised.capital_of_a_year.plain(capital, levelised.capital_recovery.plain(rate, life * YEAR)),
              use * made * power, operating.replacement_cost.plain(60.0, 550.0, replaced), 0.012 * made,
              chemicals * made, operating.labour_cost.plain(staff, 32000.0),
              balances.fraction_of_cost.plain(capital, 0.025), balances.fraction_of_cost.plain(capital, 0.005)]
    return sum(levelised.cost_per_volume.plain(x, made / YEAR) for x in a_year)


def test_the_tornado_of_the_worked_plant():
    """Each input at its low and high value, all else as it was; maintenance and insurance follow the capital."""
    for name, low, high, at_low, at_high in (
            ("capital", 1.16e6, 1.74e6, 1.71040, 2.16588), ("available", 0.82, 0.97, 2.11487, 1.86344),
            ("rate", 0.064, 0.096, 1.83610, 2.04537), ("use", 2.88, 4.32, 1.85174, 2.02454),
            ("power", 0.096, 0.144, 1.85174, 2.02454), ("life", 16.0, 24.0, 2.03421, 1.87877),
            ("staff", 1.2, 1.8, 1.88096, 1.99532), ("chemicals", 0.036, 0.054, 1.92914, 1.94714),
            ("replaced", 0.10, 0.15, 1.93323, 1.94305)):
        assert [_worked(**{name: x}) for x in (low, high)] == pytest.approx([at_low, at_high], abs=6e-6), name
