"""Energy by consumer: parts and whole, each consumer's own basis, cost and emissions."""

from __future__ import annotations

import warnings

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.hydraulics.energy import least_work
from desalbook.plant.energy import CONSUMERS
from tests import shared

KWH = 3.6e6


@pytest.fixture(scope="module", params=["harbour-town.toml", "beach-well.toml"])
def plant(request):
    return shared.sized(request.param)


def harbour(**keys: str):
    return shared.sized(designs.read(paths.demo("harbour-town.toml")).with_values(
        {k.replace("__", "."): v for k, v in keys.items()})).ledger


def test_parts_and_losses_are_the_whole(plant):
    by, ledger = plant.energy.by_consumer, plant.ledger
    assert tuple(by.keys) == tuple(CONSUMERS)
    parts = sum(float(v) for v in by) + float(ledger["energy.losses_specific"])
    assert parts == pytest.approx(float(ledger["energy.plant_specific"]), rel=1e-9)
    assert abs(parts * 1.0001 / float(ledger["energy.plant_specific"]) - 1) > 1e-5
    assert 0.15 < ledger["energy.of_ideal"] < 0.45  # a third or less (common practice)
    assert ledger["energy.least_work"] < ledger["energy.stage_limit"] < ledger["energy.plant_specific"]


def test_whole_plants_lie_in_the_published_range():
    """2.5 to 4.0 kWh/m3, typical 3.1. Source: voutchkov-2018 (from memory)."""
    assert 2.5 < harbour()["energy.plant_specific"] / KWH < 4.0


def test_year_cost_and_carbon(plant):
    ledger = plant.ledger
    used = ledger["energy.year"]
    net = float(plant.duty.net_product) * 8766 * 3600  # m3 in a year
    assert used / KWH == pytest.approx(ledger["energy.plant_specific"] / KWH * net, rel=1e-9)
    assert ledger["energy.bill_year"] == pytest.approx(used / KWH * 0.12, rel=1e-9)
    assert ledger["energy.emissions_year"] == pytest.approx(used / KWH * 0.45, rel=1e-9)


def test_each_consumer_has_its_own_basis():
    base = harbour()
    rho, g = float(base["water.density@design"]), 9.80665
    assert base["energy.intake_power"] == pytest.approx(rho * g * base["duty.raw_flow"] / 2 * 12 / 0.68, rel=1e-9)
    assert harbour(energy__intake_head="0 m")["energy.intake_power"] == 0.0
    assert harbour(energy__product_head="60 m")["energy.product_power"] == pytest.approx(
        2 * base["energy.product_power"], rel=1e-9)
    assert base["energy.dosing_pumps"] >= 4
    heat = base["cip.heater_power"] * base["cip.heating_time"] + base["cip.pump_power"] * 8 * 3600
    assert base["energy.cleaning_power"] == pytest.approx(heat * 2 * 4 / (8766 * 3600), rel=1e-9)
    for key, value in (("energy.cleanings", "0"), ("energy.dosing_power", "0 kW"), ("energy.other_power", "0 kW")):
        assert harbour(**{key.replace(".", "__"): value})["energy.plant_specific"] < base["energy.plant_specific"]


def test_a_wheel_must_lift_its_reject():
    up = harbour(energy_recovery__device="pelton")
    assert up["concentrate_pump.pressure_rise"] > 0 and up["energy.concentrate_power_year"] > 0
    down = harbour(energy_recovery__device="pelton", energy_recovery__outfall_elevation="-40 m")
    assert down["energy.concentrate_power_year"] == 0.0 and down["energy.plant_specific"] < up["energy.plant_specific"]


def test_least_work_at_no_recovery_says_nothing_on_the_console():
    """The limit at no recovery is the osmotic pressure, found without dividing by zero."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        curve = (7.2e7, -4e7, 2e8, 1e8, 3e8, 5e8)
        assert least_work.plain(0.0363, 0.0, *curve) == pytest.approx(2644506.479416129, rel=1e-12)


def test_the_feed_pump_is_charged_for_what_it_does():
    """Most of the time it gives the feed; its full duty lasts while a filter runs to waste."""
    base = harbour()
    duty, mean = float(base["feed_pump.electric_power"]), float(base["feed_pump.mean_power"])
    service, part = float(base["feed_pump.service.electric_power"]), float(base["filters.filter_to_waste_fraction"])
    assert 0 < part < 0.2 and mean == pytest.approx(service * (1 - part) + duty * part, rel=1e-12)
    assert service < 0.95 * duty
    assert base["energy.feed_power"] == pytest.approx(mean, rel=1e-12)  # one pump on duty
    # a pump on line climbs its curve when it gives less, a driven one slows down
    assert base["feed_pump.service_head"] > base["feed_pump.head"]
    driven = harbour(feed_pump__drive="yes")
    assert driven["feed_pump.service_head"] < driven["feed_pump.head"]
    assert driven["feed_pump.mean_power"] < mean
    assert driven["energy.plant_specific"] < base["energy.plant_specific"]
    never = harbour(feed_pump__carries_filter_to_waste="no")
    assert never["energy.feed_power"] == pytest.approx(never["feed_pump.electric_power"], rel=1e-12)
