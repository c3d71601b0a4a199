"""Energy by consumer: parts and whole, each consumer's own basis, cost and emissions."""

from __future__ import annotations

import warnings

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.hydraulics.energy import least_work
from desalbook.plant import size
from desalbook.problems import Problem
from tests import shared
from tests.random_designs import feasible, of_draws, wild

KWH = 3.6e6


@pytest.fixture(scope="module", params=["harbour-town.toml", "beach-well.toml"])
def plant(request):
    return shared.sized(request.param)


def harbour(**keys: str):
    return shared.sized(designs.read(paths.demo("harbour-town.toml")).with_values(
        {k.replace("__", "."): v for k, v in keys.items()})).ledger


def test_parts_and_losses_are_the_whole(plant):
    by, ledger = plant.energy.by_consumer, plant.ledger
    assert tuple(by.keys) == tuple(x.key for x in plant.energy.consumers)
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


def test_each_consumer_has_its_own_machine_and_hours():
    base = harbour()
    year = 8766 * 3600
    running = float(base["duty.availability"]) * year
    own = float(base["intake_pump.electric_power"])
    assert base["energy.consumer[intake_pump].year"] == pytest.approx(own * running, rel=1e-12)
    # the product pump delivers the net product, own use stays behind
    hours = float(base["duty.product_flow"]) / float(base["product.flow"]) * year
    assert hours < running
    assert base["energy.consumer[product_pump].year"] == pytest.approx(
        base["product_pump.electric_power"] * hours, rel=1e-12)
    # cleaning is of the calendar year: each batch of each bank, whatever the availability
    warm = float(base["cip.heater_rating"]) * float(base["cip.warm_up_time"])
    turns = float(base["cip.batches"])
    assert turns > 1
    number = float(base["cip.cleanings_expected"])
    assert base["energy.consumer[cip_heater].year"] == pytest.approx(warm * 2 * turns * number * 2, rel=1e-12)
    assert base["energy.consumer[cip_pump].year"] == pytest.approx(
        base["cip.pump_power"] * 8 * 3600 * 2 * turns * number * 2, rel=1e-12)
    rare = harbour(duty__availability="90 %")
    assert rare["energy.train_time"] < base["energy.train_time"]
    each = rare["cip.batches"] * rare["cip.cleanings_expected"]  # more permeate in fewer hours: another flux
    assert rare["energy.cleaning_pump_time"] / each == pytest.approx(
        base["energy.cleaning_pump_time"] / (turns * number), rel=1e-12)
    for key, value in (("energy.cleanings", "0"), ("energy.dosing_power", "0 kW"), ("energy.other_power", "0 kW"),
                       ("energy.stops", "0")):
        assert harbour(**{key.replace(".", "__"): value})["energy.plant_specific"] < base["energy.plant_specific"]


def test_a_product_pump_that_lifts_higher_is_paid_for():
    """From 21 to 158 kW it left the plant's energy unmoved before."""
    base, high = harbour(), harbour(product_pump__delivery_pressure="18 barg")
    assert high["product_pump.electric_power"] > 5 * base["product_pump.electric_power"]
    more = float(high["energy.plant_specific"]) - float(base["energy.plant_specific"])
    own = (float(high["product_pump.electric_power"]) - float(base["product_pump.electric_power"])) / (
        float(base["product.flow"]) * (1 - float(base["energy.loss_fraction"])))
    assert more == pytest.approx(own, rel=1e-9)
    # so is an intake that lifts higher, and one that another lifts is not
    deep = harbour(intake__low_tide="-9 m")
    assert deep["energy.consumer[intake_pump].year"] > 1.3 * base["energy.consumer[intake_pump].year"]
    assert "energy.consumer[intake_pump].year" not in harbour(intake_pump__present="no")
    assert "energy.consumer[product_pump].year" not in harbour(product_pump__present="no")


def agrees(plant) -> None:
    """The energy table against the equipment list, each machine's power times number times running time."""
    sized = getattr(plant, "sized", plant)
    table = {row["key"]: row for row in sized.energy.rows()}
    machines = {row["key"].replace("[", "-").rstrip("]"): row for row in sized.equipment}
    drawing = {key for key, row in machines.items() if "electric_power" in row}
    assert drawing == set(table) - {"other", "losses"}  # no machine without hours, no consumer without a machine
    total = 0.0
    for key in sorted(drawing):
        row = machines[key]
        own = row["mean_power"] * row["running_total"] * row["running_time"]
        assert own == pytest.approx(table[key]["energy"], rel=1e-12), key
        assert 0 <= row["mean_power"] <= row["electric_power"] * (1 + 1e-9), key  # never more than at its own duty
        assert 0 <= row["running_time"] <= 8766 * 3600, key
        total += own
    year, lost = float(sized.ledger["energy.year"]), float(sized.ledger["energy.loss_fraction"])
    assert total + table["other"]["energy"] == pytest.approx(year * (1 - lost), rel=1e-12)
    assert sum(row["energy"] for row in table.values()) == pytest.approx(year, rel=1e-12)
    paid = sum(row["cost"] for row in table.values())
    assert paid == pytest.approx(float(sized.ledger["energy.bill_year"]), rel=1e-12)


def test_the_table_is_the_equipment_times_its_hours(plant):
    agrees(plant)


def over_random_designs(draw, seeds) -> int:
    tried = 0
    for seed in seeds:
        try:
            sized = size(draw(seed), recording=False)
        except Problem:
            continue
        try:
            agrees(sized)
        except AssertionError as error:
            raise AssertionError(f"{draw.__name__}({seed}): {error}") from None
        tried += 1
    return tried


def test_the_table_is_the_equipment_times_its_hours_in_some_random_designs():
    assert over_random_designs(feasible, range(900, 903)) >= 2


@pytest.mark.full
def test_the_table_is_the_equipment_times_its_hours_in_random_designs():
    assert over_random_designs(feasible, range(of_draws(120))) >= 0.9 * of_draws(120)
    assert over_random_designs(wild, range(of_draws(60))) >= of_draws(60) // 3


def test_what_a_plant_does_not_have_is_no_row():
    rows = {x.key for x in shared.sized("beach-well.toml").energy.consumers}
    assert "backwash_pump" not in rows and "dosing_chlorination" not in rows
    bare = harbour(energy_recovery__device="none")
    assert "energy.consumer[booster].year" not in bare and "energy.consumer[hp_pump].year" in bare


def test_a_driven_feed_pump_follows_its_cartridges_where_there_are_no_filters():
    at = [shared.sized(designs.read(paths.demo("beach-well.toml")).with_values({"feed_pump.drive": drive})).ledger
          for drive in ("no", "yes")]
    assert at[0]["energy.consumer[feed_pump].year"] == pytest.approx(
        at[0]["feed_pump.electric_power"] * at[0]["energy.train_time"] * at[0]["energy.consumer[feed_pump].machines"])
    assert at[1]["feed_pump.service_head"] < at[1]["feed_pump.head"]


def test_a_wheel_must_lift_its_reject():
    up = harbour(energy_recovery__device="pelton")
    assert up["concentrate_pump.pressure_rise"] > 0 and up["energy.consumer[concentrate_pump].year"] > 0
    down = harbour(energy_recovery__device="pelton", energy_recovery__outfall_elevation="-40 m")
    assert "energy.consumer[concentrate_pump].year" not in down
    assert down["energy.plant_specific"] < up["energy.plant_specific"]


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
    assert base["energy.consumer[feed_pump].year"] == pytest.approx(
        mean * 2 * base["energy.train_time"], rel=1e-12)  # one pump on duty in each train
    # a pump on line climbs its curve when it gives less, a driven one slows down
    assert base["feed_pump.service_head"] > base["feed_pump.head"]
    driven = harbour(feed_pump__drive="yes")
    assert driven["feed_pump.service_head"] < driven["feed_pump.head"]
    assert driven["feed_pump.mean_power"] < mean
    assert driven["energy.plant_specific"] < base["energy.plant_specific"]
    never = harbour(feed_pump__carries_filter_to_waste="no")
    assert never["energy.consumer[feed_pump].year"] == pytest.approx(
        never["feed_pump.electric_power"] * 2 * never["energy.train_time"], rel=1e-12)
