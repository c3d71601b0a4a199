"""What a fabricator, a buyer, a reviewer and a commissioning engineer look for in a pack, and find."""

from __future__ import annotations

import math
from functools import cache

import pytest

from desalbook.pack import documents
from desalbook.pack.document import Table
from desalbook.pack.plant_source import Source
from tests import shared


@cache
def rows(key: str, title: str, units: str = "si") -> list[dict]:
    made = next(d for d in documents(shared.plant(), units, [key]) if d.key == key)
    return list(next(b for b in made.blocks if isinstance(b, Table) and b.title == title).rows)


def test_the_price_says_who_supplies_what():
    """The estimate is of the whole plant; the sum of what others supply is named beside it."""
    schedule = {r["key"]: r["supply"] for r in shared.plant().sized.equipment}
    theirs = [float(r["capital"]) for r in shared.plant().sized.cost.rows if schedule.get(r["key"]) == "others"]
    shown = {r["title"]: r for r in rows("price", "Equipment, ex works")}
    assert shown["Intake pump"]["supply"] == "others" and shown["HP pump"]["supply"] == "package"
    total = {r["title"]: r["sum"].value for r in rows("price", "Sum")}
    assert math.isclose(total["of it supplied by others (002)"], math.fsum(theirs), rel_tol=1e-12) and len(theirs) > 5


def test_every_thing_that_crosses_the_limit_is_named():
    """Air for the valves, carbon dioxide and calcite, and the pressure of the raw water."""
    limits = {r["service"]: r for r in rows("scope", "Battery limits")}
    moved = sum(v["count"] for v in shared.plant().sized.valves if v["set_pressure"] is None)
    assert f"{moved} valves" in limits["Instrument air"]["quality"]
    assert {"Carbon dioxide of the product", "Calcium carbonate of the contactor"} <= set(limits)
    raw = limits["Raw water from the raw water tank"]["pressure"].value
    assert raw == float(shared.plant()["feed_pump.suction_maximum"])


def test_loads_and_signals_bear_tags():
    known = {r["tag"] for r in shared.plant().sized.equipment}
    loads = rows("electrical", "Load list")
    assert {r["tag"].partition(" ")[0] for r in loads} <= known | {""}
    assert [r["title"] for r in loads if not r["tag"]] == ["Controls, lights"]
    blank = [r["title"] for r in rows("electrical", "Signals of one of each") if r["tag"] not in known]
    assert blank == ["Panel: stop, supply, common alarm"]


def test_causes_point_to_effects():
    """Each cause of the plant is listed with the number of what it does, which names what moves."""
    effects = {r["no"]: r for r in rows("controls", "Effects")}
    causes = rows("controls", "Causes")
    plant = shared.plant().cause_effect
    assert [r["tag"] for r in causes] == list(plant["tag"]) and {r["effect"] for r in causes} == set(effects)
    pressure = next(r for r in causes if r["tag"] == "PAHH-302")
    stops = plant[plant.tag == "PAHH-302"].iloc[0]
    assert set(effects[pressure["effect"]]["S"].split(", ")) == {c for c in plant.columns if stops[c] == "S"}


@pytest.mark.parametrize(("units", "unit"), (("si", "mm/s"), ("us", "in/s")))
def test_vibration_is_one_limit(units, unit):
    """The sheet a pump is bought by and the test it is accepted by ask for the same."""
    asked = next(f.required for s in shared.plant().data_sheets() if s.number == "DS-P-301" for f in s.fields
                 if f.name == "vibration")
    assert asked == pytest.approx(0.0052)
    said = next(r["limit"] for r in rows("factory-test", "Pumps", units) if r["test"] == "HP pump: vibration")
    assert said.startswith(Source(shared.plant(), units).text(asked, "vibration velocity")) and unit in said


@pytest.mark.full
def test_no_answer_names_a_machine_that_is_not_there():
    plant = shared.plant(shared.designs.read("data-demo/beach-well.toml"))
    said = {i["key"]: i for i in plant.sized.control.rows()}
    assert "filter" not in said["raw-turbidity"]["consequence"] and "coagulant" not in said["raw-turbidity"]["response"]
    there = {i["key"]: i for i in shared.plant().sized.control.rows()}
    assert "filter" in there["raw-turbidity"]["consequence"]
    assert next(c for c in plant.containers.to_dict("records") if "F-401A" in c["contents"])["fits"] == "yes"
