"""Comparison of recovery devices: one product, one boundary, named differences."""

from __future__ import annotations

import math

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.hydraulics.energy_recovery import DEVICES
from desalbook.plant import compare_recovery
from desalbook.plant.comparison import COLUMNS
from desalbook.problems import DesignError
from tests import shared


@pytest.fixture(scope="module")
def harbour():
    return designs.read(paths.demo("harbour-town.toml"))


@pytest.fixture(scope="module")
def frame(harbour):
    return compare_recovery(harbour).set_index("device", drop=False)


def test_a_row_a_device_with_its_id(frame):
    assert list(frame["device"]) == list(DEVICES) and tuple(frame.columns) == COLUMNS
    assert list(frame["id"]) == [f"energy_recovery.comparison[{d}]" for d in DEVICES]
    assert (frame["reason"] == "").all() and (frame["failed"] == 0).all()


def test_the_rows_are_the_plants(frame, harbour):
    for device in ("isobaric", "turbocharger"):
        plant = shared.sized(harbour.with_value("energy_recovery.device", device))
        assert frame.loc[device, "specific_energy"] == pytest.approx(plant.ledger["energy.plant_specific"] / 3.6e6)
        assert frame.loc[device, "hp_motor"] == plant.ledger["hp_pump.motor"] / 1e3


def test_order_and_what_mixing_costs(frame):
    e = frame["specific_energy"]
    assert e["none"] > e["pump-as-turbine"] > e["turbocharger"] > e["isobaric"]
    assert frame.loc["isobaric", "hp_motor"] < frame.loc["turbocharger", "hp_motor"] < frame.loc["none", "hp_motor"]
    # the isobaric ERD mixes: more pressure, saltier product, more boron than all others, which are equal
    rest = frame.drop(index="isobaric")
    for name in ("product_tds", "product_boron", "feed_pressure"):
        assert frame.loc["isobaric", name] > rest[name].max() and rest[name].nunique() == 1
    assert "booster" in frame.loc["isobaric", "extra_equipment"]
    assert "concentrate pump" in frame.loc["pelton", "extra_equipment"]


def test_payback_from_costs_a_person_gives(harbour):
    rates = {"hp-pump": 600.0, "booster": 2500.0, "isobaric": 3000.0, "turbocharger": 550.0}
    f = compare_recovery(harbour, ("turbocharger", "isobaric"), against="turbocharger", costs=rates).set_index("device")
    a, b = f.loc["turbocharger"], f.loc["isobaric"]
    expect = (b["cost_machines"] - a["cost_machines"]) / (a["cost_year"] - b["cost_year"])
    assert b["payback"] == pytest.approx(expect) and 0 < expect < 20
    assert math.isnan(a["payback"])
    # hand sum for the turbocharger: two trains, motor by kilowatt and device by flow of concentrate
    plant = shared.sized(harbour.with_value("energy_recovery.device", "turbocharger"))
    reject = plant.ledger["membrane.concentrate_flow"] * 3600
    assert a["cost_machines"] == pytest.approx(2 * (a["hp_motor"] * 600 + reject * 550), rel=1e-9)


def test_a_device_of_one_s_own_keeps_its_figures(harbour):
    own = harbour.with_value("energy_recovery.mixing", "0 %")
    f = compare_recovery(own, ("isobaric", "turbocharger")).set_index("device")
    assert f.loc["isobaric", "product_tds"] == pytest.approx(f.loc["turbocharger", "product_tds"], rel=1e-9)


def test_what_cannot_be_sized_says_why(harbour):
    f = compare_recovery(harbour.with_values({"duty.trains": "1", "duty.train_product_flow": "29000 m3/d"}), ("none",))
    assert f.loc[0, "reason"] and math.isnan(f.loc[0, "specific_energy"])


def test_slips_are_refused(harbour):
    with pytest.raises(DesignError, match="no such device"):
        compare_recovery(harbour, ("flywheel",))
    with pytest.raises(DesignError, match="no such equipment"):
        compare_recovery(harbour, ("none",), costs={"gearbox": 1.0})
