"""What a failing check says to do leads to a fix: each remedy that names a key is tried."""

from __future__ import annotations

import re

import pytest

import desalbook as db
from desalbook import paths
from desalbook.design import field_meta
from desalbook.problems import Infeasible

KEY = re.compile(r"\b[a-z][a-z_]*\.[a-z][a-z_]*\b(?![\[.])")

# change of the demo plant that makes the check fail, then each key of its remedy with a value to write
TRIED = [
    ("chlorination.ageing.check", {"dosing.storage_temperature": "30 degC"},
     {"dosing.storage_temperature": "20 degC", "chlorination.strength": "8 % w/w",
      "chlorination.strength_left": "70 %"}),
    ("outfall.rise.check", {"duty.trains": "5", "energy_recovery.device": "turbocharger",
                            "outfall.ports": "1"},
     {"outfall.ports": "2", "outfall.port_velocity": "4.5 m/s", "outfall.depth": "14 m"}),
    ("membrane.recovery_polarisation.check", {"membrane.vessels": "110", "membrane.elements": "2",
                                              "membrane.recovery": "45 %"},
     {"membrane.recovery": "36 %", "membrane.elements": "4"}),
    ("membrane.element_recovery.check", {"membrane.vessels": "56", "membrane.recovery": "45 %"},
     {"membrane.vessels": "36", "membrane.recovery": "40 %"}),
    ("membrane.flux.check", {"membrane.vessels": "24"}, {"membrane.vessels": "32"}),
    ("membrane.lead_flux.check", {"membrane.vessels": "18"},
     {"membrane.vessels": "24", "membrane.recovery": "34 %"}),
    ("membrane.vessel_concentrate.check", {"membrane.vessels": "56"},
     {"membrane.vessels": "40", "membrane.recovery": "33 %"}),
    ("filters.rate_one_backwashing.check", {"filters.count": "4", "filters.diameter": "2.5 m"},
     {"filters.count": "5", "filters.diameter": "3 m"}),
    ("product_tank.ct_ratio_one_out[giardia].check", {"water.temperature_cold": "12 degC"},
     {"post_chlorination.residual": "0.5 mg/L as Cl2", "product_tank.storage_time": "12 h",
      "product_tank.baffling": "0.7", "product_tank.count": "3", "product.ph_target": "7.8"}),
    ("intake.screen_velocity.check", {"intake.screen_velocity": "0.2 m/s"}, {"intake.screen_velocity": "0.12 m/s"}),
    ("product.boron.check_limit", {"membrane.element": "demo-a-standard"},
     {"membrane.element": "demo-a-high-rejection"}),
]


def _check(design, id):
    return {c["id"]: c for c in db.size(design).checks.to_dict("records")}[id]


@pytest.fixture(scope="module")
def demo():
    return db.read(paths.demo("harbour-town.toml"))


@pytest.mark.parametrize(("id", "spoiled", "remedies"), TRIED, ids=[t[0] for t in TRIED])
def test_a_remedy_leads_to_a_fix(demo, id, spoiled, remedies):
    for key, text in spoiled.items():
        demo = demo.with_value(key, text)
    failed = _check(demo, id)
    # an outage asks for a second look, a check that is judged fails
    assert failed["verdict"] == ("review" if "one_out" in id else "fails")
    for key, text in remedies.items():
        assert key in failed["do"], (key, failed["do"])
        mended = _check(demo.with_value(key, text), id)
        if "one_out" in id:
            assert mended["verdict"] == "passes", (key, mended)
            continue
        assert mended["verdict"] != "fails" and mended["margin"] > failed["margin"], (key, mended)


def test_keys_that_a_remedy_names_are_keys_of_a_design(demo):
    """Over the demo plants with every recovery device; a word with a dot that is no key would lead nowhere."""
    seen = set()
    for name in ("harbour-town.toml", "beach-well.toml"):
        for device in ("none", "turbocharger", "isobaric"):
            plant = db.size(db.read(paths.demo(name)).with_value("energy_recovery.device", device))
            seen |= {do for do in plant.checks["do"] if do}
    named = {key for do in seen for key in KEY.findall(do)}
    assert len(named) > 40
    for key in named:
        field_meta(key)


def test_tanks_past_the_largest_diameter_are_more_tanks(demo):
    """20 m is the largest standard tank: eight trains take two or more; one that is fixed fails its level."""
    many = demo.with_value("duty.trains", "8")
    plant = db.size(many.without("storage.count") if many.get("storage.count") is not None else many)
    assert plant["storage.count"] >= 2 and plant["storage.diameter"] <= 20.0
    one = db.size(many.with_value("storage.count", "1"))
    check = one.checks.set_index("id").loc["storage.level.check"]
    assert check["verdict"] == "fails" and "storage.count" in check["do"] and "storage.height" in check["do"]
    assert db.size(many.with_value("storage.count", "4"))["storage.diameter"] > 0


def test_cartridges_past_the_largest_housing_are_more_housings(demo):
    large = demo.with_value("duty.train_product_flow", "6100 m3/d")
    assert db.size(large)["cartridge.housings"] == 2
    one = db.size(large.with_value("cartridge.housings", "1"))
    check = one.checks.set_index("id").loc["cartridge.per_housing.check"]
    assert check["verdict"] == "fails" and "cartridge.housings" in check["do"]


@pytest.mark.parametrize(("spoiled", "mended"), [
    ({"filters.count": "3"}, {"filters.count": "6"}),
    ({"design_pressure.class_filters": "pn-63"}, {"filter_vessel.material": "s32750"}),
])
def test_where_a_table_ends_the_way_out_is_a_key_and_works(demo, spoiled, mended):
    """What cannot be built says what to turn; it used to name figures that are no keys."""
    for key, text in spoiled.items():
        demo = demo.with_value(key, text)
    with pytest.raises(Infeasible, match="no standard size is large enough") as caught:
        db.size(demo)
    named = KEY.findall(caught.value.do)
    assert set(mended) <= set(named)
    for key in named:
        field_meta(key)
    for key, text in mended.items():
        demo = demo.with_value(key, text)
    assert db.size(demo)["membrane.vessels"] > 0
