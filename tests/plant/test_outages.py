"""The table of single outages: counts, the product left, and the checks that fail."""

from __future__ import annotations

import pytest

from desalbook import design as designs
from desalbook import paths
from tests import shared


@pytest.fixture(scope="module")
def demo():
    return designs.read(paths.demo("harbour-town.toml"))


def _table(design):
    plant = shared.plant(design)
    table = plant.outages.set_index("key")
    assert all(id in plant for id in table["id"])
    return plant, table


def test_two_trains_without_standby_lose_half(demo):
    plant, table = _table(demo)
    for key in ("train", "hp_pump", "booster"):
        assert table.loc[key, "product_left"] == 0.5 and "net product" in table.loc[key, "fails"]
    for key in ("feed_pump", "backwash_pump", "storage", "cartridge", "filters", "dosing_dechlorination"):
        assert table.loc[key, "product_left"] == 1.0, key
    assert table.loc["train", "product_flow"] == pytest.approx(2500 / 86400)
    assert float(plant["outage.minimum"]) == 0.5
    assert set(table["serves"]) == {"each train", "all trains"}


def test_one_of_several_recovery_units_out_leaves_what_the_others_carry(demo):
    """Each train keeps the part of its concentrate that the units left are rated for; one unit alone stops it."""
    plant, table = _table(demo)
    units, rated = float(plant["energy_recovery.units"]), float(plant["energy_recovery.unit_flow"])
    carried = min(1.0, (units - 1) * rated / float(plant["membrane.concentrate_flow"]))
    assert units > 1 and 0.5 < carried < 1
    row = table.loc["recovery"]
    assert row["duty"] == units and row["share"] == pytest.approx(carried)
    assert row["product_left"] == pytest.approx((1 + carried) / 2)
    assert "turns down" in row["consequence"]
    _, alone = _table(demo.with_value("energy_recovery.unit_flow", "400 m3/h"))
    assert alone.loc["recovery", "product_left"] == 0.5 and "stops" in alone.loc["recovery", "consequence"]


def test_counts_move_what_is_left(demo):
    _, spare = _table(demo.with_value("hp_pump.standby_count", "1"))
    assert spare.loc["hp_pump", "product_left"] == 1.0
    _, halves = _table(demo.with_value("hp_pump.duty_count", "2"))
    assert halves.loc["hp_pump", "product_left"] == 0.75 and halves.loc["hp_pump", "share"] == 0.5
    _, stands = _table(demo.with_value("duty.trains_standby", "1"))
    assert stands.loc["train", "product_left"] == 1.0
    keys = ("feed_pump.standby_count", "backwash_pump.standby_count", "cartridge.housings_standby")
    plant, bare = _table(_with(demo, dict.fromkeys(keys, "0") | {"storage.count": "1",
                                                                 "storage.retention_time": "30 min"}))
    assert bare.loc["feed_pump", "product_left"] == 0.5
    assert bare.loc["cartridge", "product_left"] == 0.5 and "cartridge" in bare.loc["cartridge", "fails"]
    assert bare.loc["backwash_pump", "product_left"] == 0.0 == bare.loc["storage", "product_left"]
    assert float(plant["outage.minimum"]) == 0.0


def test_filters_that_would_run_too_fast_name_their_check(demo):
    held = {"filters.count": "5", "filters.diameter": "2.5 m", "filters.rate_limit_outage": "15 m/h"}
    plant, table = _table(_with(demo, held))
    left = 15 / (float(plant["filters.rate"]) * 3600) * 3 / 5
    assert table.loc["filters", "share"] == pytest.approx(left)
    assert table.loc["filters", "product_left"] == pytest.approx((1 + left) / 2)
    assert plant.ledger.lines["filters.rate_outage.check"].title in table.loc["filters", "fails"]


def test_a_step_that_is_absent_has_no_row():
    _, table = _table(designs.read(paths.demo("beach-well.toml")))
    assert not {"filters", "backwash_pump", "dosing_chlorination"} & set(table.index)
    assert table.loc["train", "product_left"] == 0.0


def test_every_machine_has_its_counts_and_totals(demo):
    rows = shared.plant(demo).equipment.set_index("key")
    assert (rows["running_total"] == rows["trains_served"] * rows["duty"]).all()
    assert (rows["installed_total"] == rows["trains_served"] * (rows["duty"] + rows["standby"])).all()
    feed = rows.loc["feed_pump"]
    assert feed["running_flow"] == pytest.approx(2 * feed["flow"])
    assert feed["installed_power"] == pytest.approx(4 * feed["motor"])
    assert feed["running_power"] == pytest.approx(2 * feed["electric_power"])


def _with(design, values: dict[str, str]):
    for key, value in values.items():
        design = design.with_value(key, value)
    return design


def test_the_list_of_machines_has_all_that_stands_on_the_site():
    """Also what is bought beside the pumps; each figure is that of its line."""
    made = shared.sized()
    rows, book = {r["key"]: r for r in made.equipment}, made.ledger
    assert {"intake_pump", "storage", "feed_pump", "backwash_pump", "filters", "cartridge_housing", "cartridge",
            "hp_pump", "energy_recovery", "booster", "vessels", "product_pump", "flush_pump", "product_tank", "cip",
            "cip_pump", "cip_heater"} <= rows.keys()
    for key, name, id in (("intake_pump", "shaft_power", "intake_pump.shaft_power"),
                          ("cip_pump", "head", "cip.pump_head"),
                          ("cip_pump", "electric_power", "cip.pump_power"), ("product_tank", "volume",
                          "product_tank.volume"), ("cip_heater", "electric_power", "cip.heater_rating")):
        assert rows[key][name] == float(book[id]), key
    trains, units = float(book["duty.trains"]), float(book["energy_recovery.units"])
    assert rows["energy_recovery"]["installed_total"] == trains * units > trains
    assert rows["cartridge_housing"]["installed_total"] == trains * 2  # one on standby
    for row in made.equipment:
        assert row["id"] in book, row["key"]
        assert all(row[name] == float(book[id]) for name, id in row.get("ids", {}).items()), row["key"]
    wheel = shared.sized(shared.demo().with_value("energy_recovery.device", "pelton"))
    assert "Energy recovery: Pelton turbine on the shaft" in {r["title"] for r in wheel.equipment}
    without = shared.sized(shared.demo().with_value("energy_recovery.device", "none"))
    assert "energy_recovery" not in {r["key"] for r in without.equipment}
