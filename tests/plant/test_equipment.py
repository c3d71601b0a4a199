"""The equipment schedule both ways: what the rooms size is in it, what is in it was sized, each tag once."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

import desalbook as db
from desalbook import paths
from desalbook.design import read
from desalbook.hydraulics.pumps import Pump
from desalbook.plant import Sized, size
from desalbook.plant.data_sheets import data_sheets
from desalbook.plant.equipment import unit_tags
from desalbook.plant.fabrication import fabricate
from desalbook.problems import Problem
from desalbook.tables import table
from tests import shared
from tests.every import every
from tests.plant.test_data_sheets import complete
from tests.plant.test_fabrication import arranged, whole
from tests.random_designs import feasible, of_draws, wild

TAG = re.compile(r"[A-Z]{1,4}-([1-7])\d\d")
PLANTS = sorted((Path(__file__).parent.parent / "plants").glob("*.toml"))
DEMOS = ("harbour-town.toml", "beach-well.toml")


def pumps(of: Any, name: str = "") -> dict[str, Pump]:
    """Every pump found anywhere in what the rooms answered, by its first place."""
    if isinstance(of, Pump):
        return {name: of}
    found: dict[str, Pump] = {}
    if isinstance(of, dict):
        parts = {str(k): v for k, v in of.items()}
    elif type(of).__module__.startswith("desalbook.plant") and hasattr(of, "__dataclass_fields__"):
        parts = {f.name: getattr(of, f.name) for f in fields(of)}
    else:
        return found
    for key, part in parts.items():
        found |= pumps(part, f"{name}.{key}" if name else key)
    return found


def machines(sized: Sized) -> dict[str, tuple[str, float]]:
    """What the rooms sized, from their own answers: by key, the column and the value that must stand in the row."""
    book, pre, clean = sized.ledger, sized.pretreated, sized.cleaning
    found: dict[str, tuple[str, Any]] = {
        "storage": ("volume", pre.tank.capacity), "product_tank": ("volume", sized.product_tank),
        "cip": ("volume", clean.tank_volume), "cip_pump": ("flow", clean.flow),
        "cip_cartridge": ("count", book["cip.cartridges"]), "cartridge": ("count", pre.cartridges.count),
        "cartridge_housing": ("count", pre.cartridges.per_housing), "hp_pump": ("head", sized.pressure.hp_pump.head),
        "feed_pump": ("head", pre.feed_pump.head), "transformer": ("apparent_power", sized.power.transformer),
        "flush_tank": ("volume", book["cip.flush_tank"] if "cip.flush_tank" in book  # noqa: SIM401, no mapping
                       else sized.flush.volume),
        "controller": ("modules", sum(float(n) for n in sized.control.signals.modules.values()))}
    if sized.intake_pump is not None:
        found["intake_pump"] = ("head", sized.intake_pump.head)
    if "intake.screen_area" in book:
        found["intake_screen"] = ("area", book["intake.screen_area"])
    if pre.battery is not None:
        found["filters"] = ("diameter", pre.battery.diameter)
        if book["filters.scour"] != "none":
            assert pre.blower is not None
            found["scour_blower"] = ("air_flow", pre.blower.flow)
    if "backwash_tank.capacity" in book:
        found["backwash_tank"] = ("volume", book["backwash_tank.capacity"])
    if pre.wash_pump is not None:
        found["backwash_pump"] = ("head", pre.wash_pump.head)
    if float(clean.heater_rating) > 0:
        found["cip_heater"] = ("electric_power", clean.heater_rating)
    if book["product.degasifier"] != "no":
        found["degasifier"] = ("flow", sized.product_flow)
    if "contactor.count" in book:
        found["contactor"] = ("diameter", book["contactor.diameter"])
    if sized.device.kind.recovers:
        units = book["energy_recovery.units"] if "energy_recovery.units" in book else 1  # noqa: SIM401, no mapping
        found["energy_recovery"] = ("duty", units)
    for key, pump in (("booster", sized.pressure.booster),
                      ("concentrate_pump", sized.pressure.machines.concentrate_pump),
                      *((key, of.pump) for key, of in sized.transfer.items()),
                      *sized.pressure.machines.stage_pumps.items()):
        if pump is not None:
            found[key] = ("head", pump.head)
    for name, line in sized.doses.lines().items():
        found |= {f"dosing_{name}": ("flow", line.feed_rate_maximum),
                  **{f"{part}_{name}": ("volume", book[f"{name}.{id}"]) for part, id in (
                      ("day_tank", "day_tank_volume"), ("bulk_storage", "bulk_storage_volume"), ("bund", "bund"))}}
    plan = sized.array.plan
    if plan.joined:
        for stage in (*plan.rows, *plan.second_rows):
            at = f"[{stage.prefix.replace('[', '-').rstrip(']')}]"
            found[f"vessels{at}"] = ("duty", stage.vessels)
            found[f"elements{at}"] = ("duty", float(stage.vessels or 0) * float(stage.elements))
    else:
        found["vessels"] = ("duty", sized.array.vessels)
        found["elements"] = ("duty", float(sized.array.vessels) * float(book["membrane.elements"]))
    for name in {str(row["panel"]) for row in sized.power.rows}:
        found[f"panel_{name}"] = ("apparent_power", book[f"power.panel_apparent[{name}]"])
    if float(sized.power.correction) > 0:
        found["correction"] = ("apparent_power", sized.power.correction)
    if sized.power.medium is not None:
        found["medium_transformer"] = ("apparent_power", sized.power.medium.transformer)
        found["medium_switchgear"] = ("apparent_power", sized.power.medium.power)
    if sized.power.generator is not None:
        found["generator"] = ("apparent_power", sized.power.generator)
    found |= {f"instrument[{x.key}]": ("installed_total", x.units) for x in sized.control.instruments}
    found |= {f"instrument[{x['key']}]": ("installed_total", x["count"]) for x in sized.control.safety}
    found |= {f"instrument[meter-{x.key}]": ("installed_total", x.number) for x in sized.metering.meters}
    n = float(sized.duty.trains)
    for row in sized.control.signals.rows:  # what the controller moves
        if row["key"] in table("valves"):
            found[f"valve[{row['key']}]"] = ("installed_total", row["count"])
    for key, section in sized.sections.items():
        if section.relief is not None and key in table("relief_valves"):
            each = table("relief_valves")[key]["per"].value == "train"
            found[f"valve[relief-{key}]"] = ("installed_total", n if each else 1)
    return {key: (column, float(value)) for key, (column, value) in found.items()}


def both_ways(sized: Sized) -> None:
    """Each sized machine has a row with its value, each row a machine, each tag stands once."""
    rows = {row["key"]: row for row in sized.equipment}
    assert len(rows) == len(sized.equipment)
    wanted = machines(sized)
    assert wanted.keys() - rows.keys() == set() and rows.keys() - wanted.keys() == set()
    wrong = {key: (rows[key].get(column), value) for key, (column, value) in wanted.items()
             if rows[key].get(column) != pytest.approx(value, rel=1e-12)}
    assert not wrong
    heads = Counter(round(float(row["head"]), 9) for row in rows.values() if "head" in row)
    missing = {name for name, pump in pumps(sized).items() if round(float(pump.head), 9) not in heads}
    assert not missing  # a pump that another room adds, whatever it is called
    loads = {str(row["key"]) for row in sized.power.rows} - {"other", "dosing"}
    listed = {key.replace("[", "_").rstrip("]").replace(".", "_") for key in rows}
    assert loads <= listed  # whatever stands on the list of loads
    twice = [tag for tag, n in Counter(row["tag"] for row in sized.equipment).items() if n > 1]
    assert not twice
    units = [tag for row in sized.equipment for tag in unit_tags(row)]
    assert len(units) == len(set(units)) == sum(row["installed_total"] for row in sized.equipment)
    for row in sized.equipment:
        assert TAG.fullmatch(row["tag"]) and row["title"] and row["id"] in sized.ledger, row["key"]
        assert row["scope"] in ("train", "plant") and row["supply"] in ("package", "others"), row["key"]
        assert row["trains_served"] == (float(sized.duty.trains) if row["scope"] == "train"
                                        else row["trains_served"]), row["key"]


def test_the_schedule_and_the_machines_of_the_demos():
    every(DEMOS, lambda name: both_ways(shared.sized(name)))


@pytest.mark.full
def test_the_schedule_and_the_machines_of_the_plants():
    every({path.stem: path for path in PLANTS}, lambda path: both_ways(size(read(path))))


@pytest.mark.full
def test_the_schedule_and_the_machines_of_random_designs():
    answered, seeds = 0, {"feasible": range(of_draws(300)), "wild": range(of_draws(100))}

    def check(of) -> None:
        nonlocal answered
        draw, seed = of
        try:
            made = size(draw(seed), recording=False)
        except Problem:
            return
        both_ways(made)
        built = fabricate(made, book := made.ledger.branch())
        whole(made, built)
        arranged(made, built)
        if seed % 8 == 0:
            complete(made, built, data_sheets(made, book, built.weighed))
        answered += 1

    every({f"{draw.__name__}({seed})": (draw, seed) for draw in (feasible, wild) for seed in seeds[draw.__name__]},
          check)
    assert answered >= 0.8 * of_draws(400)


def test_the_test_sees_what_is_missing_twice_or_never_sized():
    sized = shared.sized()
    whole = list(sized.equipment)

    def told(rows: list[dict[str, Any]]) -> bool:
        sized.equipment = rows
        try:
            both_ways(sized)
        except AssertionError:
            return True
        finally:
            sized.equipment = whole
        return False

    assert not told(whole)
    assert all(told(whole[:n] + whole[n + 1:]) for n in range(len(whole)))
    assert told([*whole, whole[0] | {"key": "another", "tag": "P-999"}])
    assert told([whole[0] | {"tag": whole[1]["tag"]}, *whole[1:]])


def test_the_valves_say_where_they_go():
    rows = {row["key"]: row for row in shared.sized().valves}
    assert [row["tag"] for row in rows.values()] == [
        row["tag"] for row in shared.sized().equipment if row["key"].startswith("valve[")]
    assert rows["permeate-dump"]["fail"] == "open" and rows["permeate-valve"]["fail"] == "shut"
    assert rows["permeate-dump"]["at_rest"] == "open" and rows["feed-valve"]["at_rest"] == "shut"
    book = shared.sized().ledger
    assert rows["relief-vessels"]["set_pressure"] == float(book["design_pressure[vessels].relief"])
    assert rows["relief-vessels"]["set_pressure"] <= rows["relief-vessels"]["rated_pressure"]
    assert not {"backwash-valve", "waste-valve"} & {row["key"] for row in shared.sized("beach-well.toml").valves}


def test_metals_and_classes_are_those_of_the_design():
    design = shared.demo()
    row = {x["key"]: x for x in shared.sized().equipment}
    assert "S32750" in row["hp_pump"]["material"] and row["hp_pump"]["rating"] == "PN 100"
    other = size(design.with_values({"filter_vessel.material": "gfrp-wound", "design_pressure.class_feed": "pn-16"}),
                 recording=False)
    changed = {x["key"]: x for x in other.equipment}
    assert changed["filters"]["material"] == table("vessel_plates")["gfrp-wound"].title != row["filters"]["material"]
    assert changed["feed_pump"]["rating"] == "PN 16" and changed["feed_pump"]["rated_pressure"] == 16e5


def test_units_have_tags_of_their_own():
    plant = {"tag": "P-101", "scope": "plant", "trains_served": 1}
    assert unit_tags(plant | {"installed_total": 1}) == ["P-101"]
    assert unit_tags(plant | {"installed_total": 2}) == ["P-101A", "P-101B"]
    train = {"tag": "P-301", "scope": "train", "trains_served": 2}
    assert unit_tags(train | {"installed_total": 4}) == ["1-P-301A", "1-P-301B", "2-P-301A", "2-P-301B"]
    assert unit_tags(train | {"installed_total": 80})[39:41] == ["1-P-301/40", "2-P-301/01"]


def test_both_unit_sets_and_the_record_have_the_same_rows():
    plant = shared.plant()
    si, us = plant.equipment("si"), plant.equipment("us")
    assert list(si["tag"]) == list(us["tag"]) == [row["tag"] for row in plant.record["equipment"]]
    at = list(si["key"]).index("filters")
    assert us["diameter, ft"][at] == pytest.approx(si["diameter, m"][at] / 0.3048)
    at = list(si["key"]).index("transformer")
    assert si["apparent_power, kVA"][at] == us["apparent_power, kVA"][at] == pytest.approx(
        float(plant["power.transformer"]) / 1000)
    assert [row["tag"] for row in plant.record["valves"]] == list(plant.valves("us")["tag"])


def test_a_wheel_without_a_device_has_no_row():
    plant = db.size(db.read(paths.demo("harbour-town.toml")).with_values({"energy_recovery.device": "none"}))
    assert not {"energy_recovery", "booster"} & set(plant.equipment["key"])
