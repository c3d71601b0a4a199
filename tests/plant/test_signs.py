"""Signs: no machine has negative power, no tank negative volume; water that runs down by itself is gravity flow."""

from __future__ import annotations

import numpy as np
import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.problems import Infeasible
from desalbook.trail import Ledger
from desalbook.units import KINDS
from tests import shared
from tests.random_designs import feasible, wild

# What a kind has no sign for, and a line may have: what a balance leaves, what a water could still precipitate, or
# heat that crosses a wall either way.
SIGNED_LINES = ("residual", "precipitable", "contactor_potential", "ccpp", "_curve", "drawn", "power.wall_heat")
GRAVITY = {
    "storage.elevation": ("60 m", "feed_pump"),
    "backwash_pump.outlet_elevation": ("-30 m", "backwash_pump"),
    "product_pump.tank_low_level": ("60 m", "product_pump"),
    "flush_pump.tank_low_level": ("60 m", "flush_pump"),
}


ROUNDING = 1e-12
"""Of what a difference is made of: two equal flows may differ in their last digit."""


def negative(ledger: Ledger) -> dict[str, float]:
    """Lines below zero whose kind has no sign."""
    found = {}
    for id, line in ledger.lines.items():
        if line.sort == "checked" or line.kind is None or isinstance(line.value, str) or line.value is None:
            continue
        if line.kind.may_be_negative or any(word in id for word in SIGNED_LINES):
            continue
        least = float(np.min(line.value))
        made_of = [float(np.max(np.abs(getattr(x, "values", x)))) for x in line.inputs.values()
                   if getattr(x, "kind", None) is not None and x.kind.si == line.kind.si]
        if least < -ROUNDING * max(made_of, default=0.0):
            found[id] = least
    return found


@pytest.fixture(scope="module")
def demo():
    return designs.read(paths.demo("harbour-town.toml"))


def test_what_may_be_negative_is_said_of_every_kind():
    assert {k.family for k in KINDS.values() if k.may_be_negative} < {k.family for k in KINDS.values()}
    for name in ("flow", "power", "power.electric", "mass", "mass flow", "volume", "energy", "concentration", "time"):
        assert not KINDS[name].may_be_negative, name


@pytest.mark.parametrize("name", ["harbour-town.toml", "beach-well.toml"])
def test_no_line_of_a_demo_is_negative(name):
    ledger = shared.sized(name).ledger
    assert not negative(ledger)
    assert any(float(np.min(x.value)) < 0 for x in ledger.lines.values()
               if x.kind is not None and x.kind.may_be_negative and isinstance(x.value, float))


@pytest.mark.parametrize("draw", [feasible, wild])
def test_no_line_of_a_random_design_is_negative(draw):
    sized = 0
    for seed in range(6):
        try:
            ledger = shared.sized(draw(seed)).ledger
        except Infeasible:
            continue
        sized += 1
        assert not negative(ledger), seed
    assert sized >= 4


@pytest.mark.parametrize("key", GRAVITY)
def test_water_that_runs_down_needs_no_pump(demo, key):
    """One level moved: the pump's power was negative, and the plant was credited with it."""
    value, pump = GRAVITY[key]
    ledger = shared.sized(demo.with_value(key, value)).ledger
    assert ledger[f"{pump}.head"] == ledger[f"{pump}.electric_power"] == 0.0
    assert ledger.lines[f"{pump}.gravity"].more["verdict"] == "passes"
    assert not negative(ledger)
    # no consumer pays more for it but the intake, which lifts to the tank
    before = shared.sized(demo).ledger["energy.by_consumer"]
    for key, part in ledger["energy.by_consumer"].items():
        assert key == "intake_pump" or float(part) <= float(before[key]) * (1 + 1e-9), key
    assert f"{pump}.gravity" not in shared.sized(demo).ledger


def test_a_high_tank_takes_the_feed_pump_off_the_bill_and_gives_no_credit(demo):
    for level in ("50 m", "60 m"):
        ledger = shared.sized(demo.with_value("storage.elevation", level)).ledger
        by = ledger["energy.by_consumer"]
        assert by["feed_pump"] == 0.0 and all(float(v) >= 0 for v in by)


def test_the_sea_above_the_tank_needs_no_intake_pump(demo):
    ledger = shared.sized(demo.with_value("intake.low_tide", "60 m")).ledger
    assert ledger["intake.head"] == 0.0 and "intake.gravity" in ledger and not negative(ledger)
    assert "intake_pump.electric_power" not in ledger and "energy.consumer[intake_pump].year" not in ledger


@pytest.mark.parametrize("warm", ["10 degC", "13.5 degC"])
def test_a_permeate_warm_enough_needs_no_heater(demo, warm):
    ledger = shared.sized(demo.with_value("cip.temperature", warm)).ledger
    if float(ledger["cip.temperature_rise"]) <= 0:
        assert ledger["cip.heater_power"] == ledger["cip.warm_up_time"] == 0.0 and "cip.heater_none" in ledger
    assert ledger["energy.consumer[cip_pump].year"] > 0 and not negative(ledger)


def test_what_is_fed_stronger_than_it_is_bought_takes_no_water(demo):
    """The make-down had negative dilution water; the check of the fed strength reports it."""
    ledger = shared.sized(demo.with_value("chlorination.fed_strength", "11 % w/w")).ledger
    assert ledger["chlorination.dilution_water"] == 0.0 and not negative(ledger)
    assert ledger.lines["chlorination.fed_strength.check"].more["verdict"] == "fails"


def test_a_cip_that_takes_longer_than_the_year_is_refused_by_name(demo):
    with pytest.raises(Infeasible, match="CIP pump") as caught:
        shared.sized(demo.with_values({"energy.cleanings": "60", "energy.batches": "3", "cip.vessels_at_once": "1"}))
    assert caught.value.where == "energy.cleanings" and "cip.vessels_at_once" in str(caught.value)


def test_backwashes_that_take_longer_than_the_year_are_refused_by_name(demo):
    with pytest.raises(Infeasible, match="backwash pump would run") as caught:
        shared.sized(demo.with_values({"filters.run_length": "2 h", "filters.backwash_time": "30 min"}))
    assert caught.value.where == "filters.backwash_time" and "filters.backwashes_together" in str(caught.value)
