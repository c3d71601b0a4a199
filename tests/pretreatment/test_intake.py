"""Intake, contact, fouling and cartridges, through the plant."""

from __future__ import annotations

import pytest

from tests.pretreatment.test_backwash_schedule import plant


def test_a_lower_tide_raises_the_lift_alone():
    high, low = plant(intake__low_tide="0 m").ledger, plant(intake__low_tide="-3 m").ledger
    assert low["intake.head"] - high["intake.head"] == pytest.approx(3.0, abs=1e-9)
    assert low["intake.screen_area"] == high["intake.screen_area"]


def test_how_long_the_tank_lasts():
    ledger = plant().ledger
    hours = ledger["intake.tank_usable"] / (ledger["feed_pump.duty_flow"] * 2) / 3600
    assert ledger["intake.tank_lasts"] / 3600 == pytest.approx(hours, rel=1e-12) and 0.7 < hours < 1.0
    assert "lasts" in ledger.lines["intake.event.note"].more["why"]


def test_a_fast_screen_fails():
    assert plant(intake__screen_velocity="0.4 m/s").ledger.lines["intake.screen_velocity.check"].more[
        "verdict"] == "fails"


def test_a_well_has_no_screen_and_no_weed():
    """Wells were given a screen velocity to keep and a warning of weed and oil."""
    ledger = plant(water__source="beach-well").ledger
    assert "intake.screen_velocity.check" not in ledger and "intake.screen_area" not in ledger
    event = ledger.lines["intake.event.note"].more
    assert "weed" not in event["why"] and "oil" not in event["why"] and "well" in event["why"]
    sea = plant().ledger
    assert sea["intake.head"] - ledger["intake.head"] == pytest.approx(float(sea["intake.screen_head"]), rel=1e-9)
    assert "weed" in sea.lines["intake.event.note"].more["why"]


def test_cartridges_are_judged_with_the_usual_water_with_filters_and_without():
    """Without filters the worst solids counted, with them the usual ones."""
    bare = plant(filters__present="no", coagulation__present="no").ledger
    assert bare["cartridge.solids"] == pytest.approx(
        float(bare["water.suspended_solids"]) * float(bare["filters.solids_fraction"]), rel=1e-12)
    life = 0.1 / (float(bare["cartridge.loading_result"]) * float(bare["cartridge.solids"]))
    assert float(bare["cartridge.life"]) == pytest.approx(life, rel=1e-9)


def test_turbidity_without_a_coagulant_is_held_back_less():
    """99 % was taken with a coagulant and without."""
    with_it, without = plant().ledger, plant(coagulation__present="no").ledger
    for book, removal in ((with_it, 0.99), (without, 0.90)):
        assert float(book["filters.filtrate_turbidity_result"]) == pytest.approx(
            float(book["water.turbidity"]) * (1 - removal), rel=1e-9)
    low = plant(coagulation__present="no", filters__turbidity_removal="70 %").ledger
    assert float(low["filters.turbidity_removal_reached"]) == pytest.approx(0.7)


def test_a_written_test_replaces_the_expected_index():
    lines = plant(fouling__first_time="20 s", fouling__last_time="80 s").ledger.lines
    assert lines["fouling.sdi"].value == pytest.approx(5.0) and lines["fouling.sdi.check"].value == pytest.approx(5.0)
    bad = plant(fouling__first_time="20 s", fouling__last_time="100 s").ledger.lines
    assert bad["fouling.plugging.check"].more["verdict"] == "fails"
    assert bad["fouling.sdi.check"].more["verdict"] == "fails"
    half = plant(fouling__first_time="20 s").ledger.lines
    assert half["fouling.test.note"].more["verdict"] == "review" and "fouling.sdi" not in half


def test_contact_is_an_indication_and_cells_need_power():
    ledger = plant().ledger
    assert "indication" in ledger.lines["chlorination.ct"].note
    rate = float(ledger["chlorination.mass_rate"]) * 3600
    assert ledger["chlorination.cell_power"] / 1e3 == pytest.approx(4.5 * rate, rel=1e-9)
    off = plant(chlorination__present="no", dechlorination__present="no").ledger
    assert "chlorination.ct" not in off


def test_worse_filtrate_shortens_the_life_of_cartridges():
    good, bad = (plant(filters__solids_removal=x).ledger for x in ("99 %", "80 %"))
    assert bad["cartridge.life"] < good["cartridge.life"] / 10
    assert bad["cartridge.change_interval"] <= good["cartridge.change_interval"]
