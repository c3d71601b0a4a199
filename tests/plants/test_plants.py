"""Seven plants against bands of common practice: what an engineer of the trade would say of each figure.

A bound is common practice, no source, unless it says otherwise: it is what single-stage seawater plants of these
kinds are built to. A figure outside is a finding about the kit or the design, never a reason to widen the band.
"""

from __future__ import annotations

import pytest

from desalbook.design import Design
from desalbook.design import read as read_design
from tests import shared
from tests.plant.test_signs import negative
from tests.plants import NAMES, path

# id, unit, minimum, maximum; the comment says where the bound is from, common practice where it says nothing
OPEN = [
    ("membrane.flux", "L/(m2 h)", 11, 15),
    ("membrane.lead_flux", "L/(m2 h)", 20, 35),
    ("filters.rate", "m/h", 8, 12),
    ("filters.rate_one_backwashing", "m/h", 9, 15),
    ("filters.backwash_rate", "m/h", 40, 65),  # seawater over 0.9 mm anthracite and 0.5 mm sand
    ("chlorination.dose", "mg/L as Cl2", 0.5, 3),
    ("coagulation.dose", "mg/L", 0.3, 5),  # as iron
    ("dechlorination.dose", "mg/L", 0.7, 5),  # as bisulfite: 1.5 to 3 times what the residual asks for
    ("antiscalant.dose", "mg/L as product", 0.5, 4),
    ("feed_pump.head", "m", 30, 60),  # dirty filters and cartridges, some 2 bar at the HP pump
]
WELL = [
    ("membrane.flux", "L/(m2 h)", 14, 18),
    ("membrane.lead_flux", "L/(m2 h)", 22, 35),
    ("antiscalant.dose", "mg/L as product", 0.5, 4),
    ("feed_pump.head", "m", 20, 50),
]
EIGHT_INCH = [
    ("membrane.vessel_concentrate", "m3/h", 3, 9),
    ("membrane.element_recovery", "%", 6, 15),
    ("cip.flow_per_vessel", "m3/h", 6, 10),
    ("cip.volume_per_element", "L", 30, 75),
]
FOUR_INCH = [
    ("membrane.vessel_concentrate", "m3/h", 0.7, 2.5),
    ("membrane.element_recovery", "%", 6, 15),
    ("cip.flow_per_vessel", "m3/h", 1.5, 2.7),
    ("cip.volume_per_element", "L", 8, 30),
]
DRUNK = [
    ("product.calcium", "mg/L as CaCO3", 60, 120),
    ("product.alkalinity", "mg/L as CaCO3", 60, 150),
    ("product.ph", "", 7.5, 8.5),
    ("product.ccpp", "mg/L as CaCO3", 3, 10),
    ("post_chlorination.dose", "mg/L as Cl2", 0.2, 2),
    ("product.sodium_hydroxide_dose", "mg/L", 0, 20),
]

BANDS = {
    "harbour-town": [
        *OPEN, *EIGHT_INCH, *DRUNK,
        ("membrane.recovery", "%", 40, 45),  # single stage, seven elements in a vessel
        ("membrane.feed_pressure", "bar", 58, 68),
        ("energy.membrane_specific", "kWh/m3", 2.0, 2.8),  # isobaric ERD, 37 g/kg, coldest 14 degC
        ("energy.plant_specific", "kWh/m3", 2.8, 4.0),
        ("product.tds", "mg/L", 200, 500),
        ("product.boron", "mg/L as B", 0.6, 1.0),  # one pass at 29 degC, tight elements
        ("hp_pump.efficiency", "%", 74, 85),  # multistage, 110 m3/h
        ("cip.tank_volume", "m3", 1.5, 6),
    ],
    "beach-well": [
        *WELL, *EIGHT_INCH, *DRUNK,
        ("membrane.recovery", "%", 38, 45),
        ("membrane.feed_pressure", "bar", 55, 69),
        ("energy.membrane_specific", "kWh/m3", 2.0, 3.5),
        ("energy.plant_specific", "kWh/m3", 2.8, 4.6),
        ("product.tds", "mg/L", 200, 500),
        ("product.boron", "mg/L as B", 0.3, 1.0),
        ("cip.tank_volume", "m3", 1, 4),
    ],
    "hotel-well": [
        *WELL, *EIGHT_INCH, *DRUNK,
        ("membrane.recovery", "%", 38, 45),
        ("membrane.feed_pressure", "bar", 58, 72),
        ("energy.membrane_specific", "kWh/m3", 2.0, 2.8),  # positive-displacement pump and isobaric ERD
        ("energy.plant_specific", "kWh/m3", 2.8, 4.0),
        ("product.tds", "mg/L", 200, 500),
        ("product.boron", "mg/L as B", 0.3, 1.0),
        ("hp_pump.efficiency", "%", 85, 93),  # positive displacement
        ("cip.tank_volume", "m3", 1, 4),
    ],
    "gulf": [
        *OPEN, *EIGHT_INCH, *DRUNK,
        ("membrane.recovery", "%", 33, 40),  # 45 g/kg
        ("membrane.feed_pressure", "bar", 62, 78),
        ("energy.membrane_specific", "kWh/m3", 2.2, 3.2),
        ("energy.plant_specific", "kWh/m3", 3.0, 4.6),
        ("product.tds", "mg/L", 250, 500),
        ("product.boron", "mg/L as B", 0.7, 2.0),
        ("hp_pump.efficiency", "%", 78, 87),
        ("cip.tank_volume", "m3", 1.5, 6),
    ],
    "boron": [
        *OPEN, *EIGHT_INCH, *DRUNK,
        ("membrane.recovery", "%", 40, 45),
        ("membrane.feed_pressure", "bar", 58, 72),
        ("second_pass.flux", "L/(m2 h)", 28, 40),  # permeate of the first pass hardly fouls
        ("membrane.second_pass.recovery", "%", 85, 90),
        ("energy.plant_specific", "kWh/m3", 3.3, 4.8),  # some 0.4 to 0.6 more than one pass
        ("product.tds", "mg/L", 100, 350),
        ("product.boron", "mg/L as B", 0.2, 0.5),  # the limit of the design
        ("cip.tank_volume", "m3", 1.5, 6),
    ],
    "container": [
        *OPEN, *FOUR_INCH, *DRUNK,
        ("membrane.recovery", "%", 30, 40),
        ("membrane.feed_pressure", "bar", 55, 69),
        ("energy.membrane_specific", "kWh/m3", 2.0, 3.2),
        ("energy.plant_specific", "kWh/m3", 3.0, 5.5),  # small pumps and motors
        ("product.tds", "mg/L", 300, 600),
        ("product.boron", "mg/L as B", 0.7, 2.4),  # who-gdwq: at most 2.4
        ("hp_pump.efficiency", "%", 85, 93),
        ("filters.diameter", "m", 0.6, 1.2),
        ("cip.tank_volume", "m3", 0.2, 1.2),
    ],
    "industrial-us": [
        *OPEN, *EIGHT_INCH,
        ("membrane.recovery", "%", 38, 45),
        ("membrane.feed_pressure", "psi", 800, 1000),
        ("energy.membrane_specific", "kWh/m3", 2.5, 3.6),  # hydraulic turbocharger
        ("energy.plant_specific", "kWh/m3", 3.2, 4.6),
        ("product.tds", "mg/L", 100, 400),
        ("product.boron", "mg/L as B", 0.4, 1.5),
        ("hp_pump.efficiency", "%", 76, 87),
        ("filters.diameter", "in", 48, 72),
        ("storage.retention_time", "h", 1, 1),
        ("duty.train_product_flow", "gal/d", 550_000, 550_000),
        ("cip.tank_volume", "m3", 1.5, 6),
    ],
}


def design(name: str) -> Design:
    return read_design(path(name))


@pytest.mark.parametrize("name", NAMES)
def test_no_check_fails(name):
    checks = shared.plant(design(name)).checks
    failing = checks[checks["verdict"] == "fails"]
    assert not len(failing), list(failing[["id", "why"]].itertuples(index=False, name=None))


@pytest.mark.parametrize("name", NAMES)
def test_figures_lie_within_the_bands_of_the_trade(name):
    plant = shared.plant(design(name))
    outside = []
    for id, unit, low, high in BANDS[name]:
        figure = plant[id]
        value = float(figure.to(unit)) if unit else float(figure)
        if not low * (1 - 1e-6) <= value <= high * (1 + 1e-6):
            outside.append((id, plant.show(id), low, high, unit))
    assert not outside, outside


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_negative_that_may_not_be(name):
    assert not negative(shared.sized(design(name)).ledger)


def test_a_plant_with_a_second_pass_is_not_told_to_add_one():
    """Less of the permeate taken: boron fails, and the way out is to take more of it."""
    less = design("boron").with_value("membrane.second_pass.share", "55 %")
    check = shared.sized(less).ledger.lines["product.boron.check_limit"]
    assert check.more["verdict"] == "fails"
    assert "membrane.second_pass.share" in check.more["do"] and "add a second pass" not in check.more["do"]
    assert "add a second pass" in shared.sized("harbour-town.toml").ledger.lines["product.boron.check_limit"].more["do"]
