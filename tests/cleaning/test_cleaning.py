"""The cleaning skid and the flush as lines."""

from __future__ import annotations

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.cleaning import Cip, cleaning, flush
from desalbook.hydraulics.inputs import Piping
from desalbook.plant import size
from desalbook.trail import Ledger
from tests.rooms import figures, inputs

HARDWARE = {
    "membrane.vessels": (20, "count"),
    "membrane.elements_per_vessel": (6, "count"),
    "membrane.vessel_diameter": (0.2032, "length"),
    "membrane.element_length": (1.016, "length"),
    "product.density": (997.0, "density"),
    "product.heat_capacity": (4182.0, "heat capacity"),
    "water.temperature_cold": (288.15, "temperature"),
    "train.pipe_volume": (0.5, "volume"),
    "duty.trains": (2, "count"),
}


def skid(stage=20, **keys):
    with (book := Ledger()).recording():
        inp = inputs({"cip": (Cip, keys), "piping": (Piping, {})})
        f = figures(HARDWARE | {"membrane.stage_vessels": (stage, "count")})
        design = cleaning(
            inp,
            vessels=f["membrane.vessels"],
            elements_per_vessel=f["membrane.elements_per_vessel"],
            inner_diameter=f["membrane.vessel_diameter"],
            element_length=f["membrane.element_length"],
            density=f["product.density"],
            heat_capacity=f["product.heat_capacity"],
            temperature_start=f["water.temperature_cold"],
            stage_vessels=f["membrane.stage_vessels"],
        )
        water = flush(
            inp,
            vessel_volume=design.vessel_volume,
            vessels=f["membrane.vessels"],
            pipe_volume=f["train.pipe_volume"],
            trains_together=f["duty.trains"],
        )
    return book, design, water


def test_a_bank_of_ten():
    book, d, _ = skid(
        vessels_at_once="10", pipe_length="50 ft", pipe_diameter="102.3 mm", submergence_volume="0 m3"
    )
    assert float(d.tank_volume) == pytest.approx(2.6277, rel=1e-4)
    assert float(d.flow) * 3600 == pytest.approx(80.0)
    assert float(d.batches["acid"]) == pytest.approx(2.6277 * 997 * 0.02, rel=1e-4)
    assert book.lines["cip.batches"].value == 2.0
    # the cross-check stands beside the tank and is no part of it
    assert "cip.volume_per_element" not in book.lines["cip.tank_volume"].parents()


@pytest.mark.parametrize(("keys", "at_once", "turns"), [
    ({}, 7, 3),  # a rack of 8: 20 vessels in three even banks
    ({"column_vessels": "10"}, 10, 2),
    ({"bank": "stage"}, 10, 2),  # the larger of two stages has 12
    ({"bank": "train"}, 20, 1),
    ({"vessels_at_once": "6"}, 6, 4),
])
def test_a_train_is_cleaned_by_bank(keys, at_once, turns):
    """Tank, pump, heater and cartridges follow the bank; 8 m3/h a vessel."""
    book, d, _ = skid(stage=12, **keys)
    assert float(d.vessels_at_once) == at_once and float(d.turns) == turns
    assert book.lines["cip.flow"].value * 3600 == pytest.approx(8.0 * at_once)
    assert float(d.tank_volume) == pytest.approx(
        (at_once * float(d.vessel_volume) + book.lines["cip.pipe_volume"].value) * 1.25 + 0.3)
    assert book.lines["cip.cartridges"].value == pytest.approx(8.0 * at_once * 1.5 / 0.8)


def test_flush_of_all_trains_that_trip_together():
    book, _, f = skid()
    one = 3 * (20 * 0.7 * 0.19769 + 0.5)
    assert float(f.train_volume) == pytest.approx(one, rel=1e-4)
    assert float(f.volume) == pytest.approx(2 * one, rel=1e-4)
    assert float(f.flow) * 720 == pytest.approx(one, rel=1e-4)
    assert book.lines["flush.chlorine"].more["verdict"] == "passes"
    assert skid(flush_water="product")[0].lines["flush.chlorine"].more["verdict"] == "review"


@pytest.mark.parametrize(
    ("key", "value", "fails"),
    [
        ("pressure", "6 bar", True),
        ("pressure", "3 bar", False),
        ("temperature", "50 degC", True),
        ("flow_per_vessel", "4 m3/h", True),
    ],
)
def test_limits(key, value, fails):
    book = skid(**{key: value})[0]
    assert (book.lines[f"cip.{key}.check"].more["verdict"] == "fails") is fails


ELEMENT = {"ph_cleaning_low": (1.0, "ph.nbs"), "ph_cleaning_high": (12.0, "ph.nbs"),
           "max_temperature": (318.15, "temperature")}


def against(element=ELEMENT, **keys):
    with (book := Ledger()).recording():
        inp = inputs({"cip": (Cip, keys), "piping": (Piping, {})})
        f = figures(HARDWARE)
        limits = {k.partition(".")[2]: v for k, v in figures({f"element.{k}": v for k, v in element.items()}).items()}
        cleaning(inp, vessels=f["membrane.vessels"], elements_per_vessel=f["membrane.elements_per_vessel"],
                 inner_diameter=f["membrane.vessel_diameter"], element_length=f["membrane.element_length"],
                 density=f["product.density"], heat_capacity=f["product.heat_capacity"],
                 temperature_start=f["water.temperature_cold"], element=limits)
    return book


@pytest.mark.parametrize(("keys", "check"), [
    ({"alkali_ph": "12.5"}, "cip.alkali_ph.check_element"),
    ({"acid_ph": "0.8"}, "cip.acid_ph.check_element"),
    ({"temperature": "46 degC"}, "cip.temperature.check_element"),
    ({"temperature": "38 degC"}, "cip.alkali_temperature_maximum.check"),
])
def test_a_limit_of_the_element_passed_is_a_named_finding(keys, check):
    book = against(**keys)
    assert book.lines[check].more["verdict"] == "fails" and book.lines[check].more["do"]
    assert against().lines[check].more["verdict"] in ("passes", "marginal")


def test_caustic_by_weight_passes_the_ph_and_the_sheet_says_so():
    """0.1 % NaOH is 0.025 mol/kg: pH 14.0 - 1.6 - 0.06 for the activity = 12.3; it takes as much acid."""
    book = against(alkali_fraction="0.1 % w/w")
    assert book.lines["cip.alkali_ph_alone"].value == pytest.approx(12.33, abs=0.05)
    assert book.lines["cip.alkali_ph.trim"].more["verdict"] == "review"
    tank = book.lines["cip.tank_volume"].value
    assert book.lines["cip.waste_acid"].value == pytest.approx(0.025027 * 0.036458 * 997 * tank, rel=2e-3)


def test_power_of_the_pump_and_speed_in_a_pipe_that_is_written():
    book = against(vessels_at_once="10", pipe_diameter="100 mm", pump_head="35 m")
    assert book.lines["cip.hydraulic_power"].value == pytest.approx(997 * 9.80665 * 35 * 80 / 3600, rel=1e-6)
    assert book.lines["cip.pump_power"].value == pytest.approx(
        book.lines["cip.hydraulic_power"].value / 0.68 / 0.9, rel=1e-6)
    check = book.lines["piping.runs[cleaning].diameter.check"]
    assert check.more["verdict"] == "marginal" and check.inputs["provided"].id == "cip.pipe_diameter"
    narrow = against(vessels_at_once="10", pipe_diameter="100 mm", pipe_velocity="2.5 m/s").lines
    least = (4 * 80 / 3600 / 2.5 / 3.14159265) ** 0.5
    assert narrow["piping.runs[cleaning].diameter.check"].more["limit"] == pytest.approx(least, rel=1e-6)
    assert narrow["piping.runs[cleaning].diameter.check"].more["verdict"] == "fails"


def test_bore_of_the_cleaning_pipe_by_standard_or_by_step():
    by_step = {"vessels_at_once": "10", "pipe_velocity": "2.5 m/s", "pipe_step": "25 mm"}
    assert against(**by_step).lines["piping.runs[cleaning].diameter"].value == pytest.approx(0.125)
    line = against(vessels_at_once="10").lines["piping.runs[cleaning].diameter"]
    assert line.sort == "picked" and line.value >= (4 * 80 / 3600 / 3 / 3.14159265) ** 0.5


def built(**keys):
    design = designs.read(paths.demo("harbour-town.toml"))
    for key, value in keys.items():
        design = design.with_value(key.replace("__", "."), value)
    return size(design)


def test_volume_loss_and_wall_take_one_pipe():
    """Bore and length of [cip] rule the run of pipe too, and what is written nowhere is the run's."""
    def row(sized):
        return next(r for r in sized.lines if r["key"] == "cleaning")

    plain, said = built(), built(cip__pipe_diameter="90 mm", cip__pipe_length="35 m")
    for sized, bore, length in ((plain, None, 20.0), (said, 0.09, 35.0)):
        one = row(sized)
        assert bore is None or (one["inner_diameter"], one["length"]) == (bore, length)
        whole = 3.14159265 / 4 * one["inner_diameter"] ** 2 * one["length"]
        assert float(sized.ledger["cip.pipe_volume"]) == pytest.approx(whole, rel=1e-8)
        assert "cip.pipe_bore" not in sized.ledger.lines
    assert row(said)["pressure_drop"] > 2 * row(plain)["pressure_drop"]


def test_the_cleaning_pipe_written_twice_is_compared():
    run = {"piping__runs[cleaning]__diameter": "200 mm"}
    alone = built(**run).ledger
    assert float(alone["piping.runs[cleaning].diameter"]) == 0.2 and "cip.pipe_diameter.check" not in alone.lines
    other = built(**run, cip__pipe_diameter="150 mm").ledger.lines["cip.pipe_diameter.check"]
    assert other.more["verdict"] == "fails" and "200.0 mm" in other.more["why"]
    same = built(**run, cip__pipe_diameter="0.2 m").ledger.lines["cip.pipe_diameter.check"]
    assert same.more["verdict"] == "passes"


def test_a_warm_up_with_the_heater_that_is_fitted_takes_no_longer_than_allowed():
    book = against(heating_time="4 h")
    assert book.lines["cip.heater_rating"].value % 5000 == 0
    assert 0 < book.lines["cip.warm_up_time"].value <= 4 * 3600


def test_sequence_and_turns():
    book = against(vessels_at_once="10")
    steps = book.lines["cip.steps"]
    assert book.lines["cip.sequence_time"].value == pytest.approx(sum(steps.value))
    assert book.lines["cip.train_time"].value == pytest.approx(2 * sum(steps.value))
    assert book.lines["cip.batches"].value == 2 and next(iter(steps.keys)) == "drain"


def test_a_flush_tank_too_small_for_all_trains_fails():
    book = skid(flush_tank="15 m3")[0]
    assert book.lines["cip.flush_tank.check"].more["verdict"] == "fails"
    assert skid(flush_tank="60 m3")[0].lines["cip.flush_tank.check"].more["verdict"] == "passes"


def test_a_four_inch_vessel_is_cleaned_at_a_quarter_of_the_flow():
    """Blank, 8 m3/h in a vessel of 0.2 m and 2 m3/h in one of 0.1 m; the minimum of 6 m3/h goes with it."""
    found = {}
    for diameter in (0.2, 0.1):
        with (book := Ledger()).recording():
            inp = inputs({"cip": (Cip, {}), "piping": (Piping, {})})
            f = figures(HARDWARE | {"membrane.vessel_diameter": (diameter, "length")})
            cleaning(inp, vessels=f["membrane.vessels"], elements_per_vessel=f["membrane.elements_per_vessel"],
                     inner_diameter=f["membrane.vessel_diameter"], element_length=f["membrane.element_length"],
                     density=f["product.density"], heat_capacity=f["product.heat_capacity"],
                     temperature_start=f["water.temperature_cold"])
        check = book.lines["cip.flow_per_vessel.check"]
        assert check.more["verdict"] == "passes"
        found[diameter] = [float(book[x]) * 3600 for x in ("cip.flow_per_vessel", "cip.flow_per_vessel_minimum")]
    assert found[0.2] == pytest.approx([8.0, 6.0]) and found[0.1] == pytest.approx([2.0, 1.5])
