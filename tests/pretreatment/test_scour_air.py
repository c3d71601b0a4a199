"""The scour-air blower: pressure and power by hand, and one value of it in all lists that name it."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook.controls.unit_sequences import unit_steps
from desalbook.plant.data_sheets import data_sheets
from desalbook.plant.fabrication import fabricate
from desalbook.plant.sequences import units_of
from desalbook.units import show, unit_label
from tests import shared
from tests.test_moving import below, descendants

KEY = "scour_blower"


def varied(**keys: str):
    return shared.plant(shared.demo().with_values({k.replace("__", "."): v for k, v in keys.items()}))


def test_pressure_power_and_heat_by_hand():
    """Water over the nozzles and both losses; adiabatic work of an ideal gas over 60 %. Source: hand arithmetic."""
    book = shared.sized().ledger
    depth = 0.6 + 0.4 + 0.15 + (0.6 - 0.5)
    rise = float(book["water.density@cold"]) * 9.80665 * depth + 5e3 + 8e3
    assert float(book["scour_blower.pressure_rise"]) == pytest.approx(rise, rel=1e-9)
    start = 101325.0
    flow = 55 / 3600 * float(book["filters.area"])
    stretch = ((start + rise) / start) ** (0.4 / 1.4) - 1
    assert float(book["scour_blower.shaft_power"]) == pytest.approx(3.5 * start * flow * stretch / 0.6, rel=1e-9)
    assert float(book["scour_blower.outlet_temperature"]) == pytest.approx(313.15 * (1 + stretch / 0.6), rel=1e-9)


def test_every_list_has_the_same_blower():
    sized = shared.sized()
    book, blower = sized.ledger, sized.pretreated.blower
    row = next(r for r in sized.equipment if r["key"] == KEY)
    load = next(r for r in sized.power.rows if r["key"] == KEY)
    year = next(r for r in sized.energy.rows() if r["key"] == KEY)
    power = float(blower.electric_power)
    assert row["electric_power"] == row["mean_power"] == load["electric_power"] == year["electric_power"] == power
    assert row["motor"] == load["rating"] == float(blower.motor_rating) > float(blower.shaft_power)
    assert "flow" not in row and row["air_flow"] == float(book["filters.scour_flow"])
    assert (load["duty"], load["panel"], load["running"], load["spare"]) == ("intermittent", "common", 1.0, 0.0)
    hours = float(book["duty.trains"]) * float(book["filters.count"]) / 24 * (4 / 60) * 8766
    assert year["running_time"] == pytest.approx(hours * 3600 * float(book["duty.availability"]), rel=1e-9)
    assert year["energy"] == pytest.approx(power * year["running_time"], rel=1e-12)
    case, idle = (float(sized.power.loads.case_power[k]) for k in ("scour", "normal"))
    assert case - idle == pytest.approx(power, rel=1e-9)
    assert sum(r["mean_power"] * r["running_total"] * r["running_time"] for r in sized.equipment
               if r.get("mean_power") and r["key"] == KEY) == pytest.approx(year["energy"], rel=1e-12)


def test_its_air_is_cubic_feet_a_minute_to_an_american():
    plant = shared.plant()
    assert unit_label("flow.air", "us") == "cfm"
    flow = float(plant["filters.scour_flow"])
    assert show(flow, plant["filters.scour_flow"].kind, "us") == f"{flow * 60 / 0.3048**3:.1f} cfm"
    shown = plant.equipment("us").set_index("key")
    assert shown.loc[KEY, "air_flow, cfm"] == pytest.approx(flow * 60 / 0.3048**3, rel=1e-9)
    assert shown.loc[KEY, "flow, gpm"] != shown.loc[KEY, "flow, gpm"], "air is no water"


def test_its_sheets_ask_for_duty_and_motor():
    sized = shared.sized()
    book = sized.ledger.branch()
    made = {s.number: {x.name: x for x in s.fields} for s in data_sheets(sized, book, fabricate(sized, book).weighed)}
    blower, motor = made["DS-K-201"], made["DS-K-201-M"]
    for name, id in (("air_flow", "flow"), ("pressure_rise", "pressure_rise"), ("shaft_power", "shaft_power"),
                     ("outlet_temperature", "outlet_temperature")):
        assert blower[name].required == float(sized.ledger[f"scour_blower.{id}"]), name
    assert blower["noise"].required == "85" and blower["efficiency"].takes == "scour_blower.efficiency"
    assert motor["motor"].required == float(sized.ledger["scour_blower.motor"])
    assert motor["current"].required == float(sized.ledger["power.full_load_current[scour_blower]"])


@pytest.mark.full
def test_without_air_there_is_none_and_the_backwash_is_the_same():
    with_air, without = shared.plant(), varied(filters__scour="none")
    book = without.sized.ledger
    made = [{id for id, x in of.sized.ledger.lines.items() if "scour" in id and x.sort not in ("given", "assumed")
             and not id.startswith("filters.")} for of in (with_air, without)]
    assert made[0] >= {"energy.scour_time", "power.case[scour]", "scour_blower.flow"} and not made[1]
    assert not {r["key"] for r in without.sized.equipment} & {KEY}
    assert not {r["key"] for r in without.sized.power.rows} & {KEY}
    assert without.sized.pretreated.blower is None and "scour_blower.shaft_power" not in book
    for id in ("backwash_pump.shaft_power", "backwash_pump.electric_power", "energy.consumer[backwash_pump].year",
               "power.case[backwash]"):
        assert float(without[id]) == float(with_air[id]), id
    less = float(with_air["energy.year"]) - float(without["energy.year"])
    own = float(with_air["energy.consumer[scour_blower].year"])
    assert less == pytest.approx(own / (1 - float(with_air["energy.loss_fraction"])), rel=1e-6)


@pytest.mark.full
def test_air_with_water_has_a_blower_too():
    plant = varied(filters__scour="air-with-water")
    assert {r["key"] for r in plant.sized.equipment} >= {KEY}
    assert "bw-scour" in unit_steps(units_of(plant.sized), "backwash")


@pytest.mark.full
def test_a_held_plant_keeps_its_motor_and_judges_it():
    plant = shared.plant()
    held = db.hold(plant)
    assert held.get("scour_blower.motor") == pytest.approx(float(plant["scour_blower.motor"]))
    weak = db.size(held.with_values({"scour_blower.line_drop": "0.4 bar", "scour_blower.efficiency": "40 %"}))
    assert float(weak["scour_blower.motor"]) == float(plant["scour_blower.motor"])
    assert weak.verdicts["scour_blower.motor.check"].more["verdict"] == "fails"


@pytest.mark.full
def test_filters_together_and_a_fixed_pressure():
    one, two = shared.plant(), varied(filters__backwashes_together="2", scour_blower__duty_count="2",
                                      scour_blower__standby_count="1", scour_blower__pressure_rise="0.2 bar")
    assert float(two["scour_blower.flow"]) == pytest.approx(float(one["scour_blower.flow"]), rel=1e-9)
    rise = float(one["scour_blower.pressure_rise"])
    assert float(two["scour_blower.pressure_needed"]) == pytest.approx(rise, rel=1e-9)
    assert two.verdicts["scour_blower.pressure_rise.check"].more["verdict"] == "fails"
    row = next(r for r in two.sized.equipment if r["key"] == KEY)
    assert (row["duty"], row["standby"], row["installed_total"]) == (2, 1, 3)


@pytest.mark.full
def test_what_it_rests_on_moves_it():
    """An input of the blower is an ancestor of its power; the water line knows nothing of it."""
    lines = shared.sized().ledger.lines
    children = descendants(lines, {})
    for key in ("scour_blower.nozzle_drop", "scour_blower.line_drop", "scour_blower.efficiency", "filters.drain_depth",
                "filters.scour_rate"):
        moved = below(key, children)
        assert {"scour_blower.shaft_power", "energy.consumer[scour_blower].year", "energy.year"} <= moved, key
        assert not moved & {"backwash_pump.shaft_power", "membrane.feed_pressure"}, key
