"""Structure by hand in a panel: lists, sheets and the composition of the water, on the text of the design alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from desalbook import api, paths
from desalbook.design import from_text
from desalbook.design.sections import LISTS
from desalbook.notebook import controls
from desalbook.notebook.board import Panel
from desalbook.notebook.session import Session
from desalbook.notebook.steps import STEPS
from desalbook.problems import Problem
from tests import shared

BARE = {"pictures": (), "tabs": ()}


def panel(step: str, size=shared.plant) -> Panel:
    demo = paths.demo("harbour-town.toml")
    return Panel(Session(api.read(demo), size, demo), step=replace(STEPS[step], **BARE))


def adds(one: Panel) -> dict[str, dict]:
    return {r["key"]: r for r in one.turn.rows if r["form"] == "list"}


@pytest.mark.full
def test_stages_a_second_pass_elements_and_a_sheet_come_and_go():
    one = panel("membranes")
    session, first = one.session, one.session.design.text
    one.unfold("membrane")
    assert {"membrane.stages", "membrane.element_by_position", "membrane.second_pass"} <= adds(one).keys()
    sent = []
    one.turn.send = lambda content, buffers=None: sent.append(content)

    # a stage, whose fields come into view; then taken back by one undo, and again, and removed
    one.turn.ask({"add": "membrane.stages", "entries": {"second": {}}})
    assert not session.stale and session.design.names("membrane.stages") == ("second",)
    assert one.turn.row("membrane.stages[second].vessel_fraction") and sent[-1] == {"show": "membrane.stages[second]"}
    assert "# write \"demo-a-standard\" here" in session.design.text  # comments stay
    assert session.undo() and session.design.text == first and session.redo()
    one.turn.ask({"add": "membrane.stages", "entries": {"second": {}}})
    assert "name is there" in one.turn.row("membrane.stages")["said"]
    one.turn.ask({"add": "membrane.stages", "entries": {"a b": {}}})
    assert "not a name" in one.turn.row("membrane.stages")["said"] and session.design.names("membrane.stages") == (
        "second",)
    gone = [g for g in one.turn.groups if g["remove"]]
    assert [g["key"] for g in gone] == ["membrane.stages[second]"]
    one.turn.ask({"remove": "membrane.stages[second]"})
    assert session.design.text == first and "Undo brings it back" in one.head.html

    # a second pass, where there was none
    one.turn.ask({"add": "membrane.second_pass", "entries": {"": {}}})
    assert not session.stale and "second_pass.flux" in session.plant and "membrane.second_pass" not in adds(one)
    one.turn.ask({"remove": "membrane.second_pass"})
    assert session.design.text == first

    # a sheet of one's own begins as the product in use, and can then be chosen
    one.unfold("elements")
    row = adds(one)["elements"]
    assert all(w["text"] for w in row["wants"]) and row["wants"][0]["key"] == "area"
    own = {w["key"]: w["text"] for w in row["wants"]} | {"area": "41 m2"}
    one.turn.ask({"add": "elements", "entries": {"own": own}})
    assert not session.stale and session.design.get("elements[own].area") == pytest.approx(41)
    was = float(session.plant["membrane.flux"])
    one.change("membrane.element", "own")
    assert not session.stale and float(session.plant["membrane.flux"]) != was and not session.errors
    one.turn.ask({"remove": "elements[own]"})  # it is in use
    assert session.design.stands("elements[own]") and "own" in one.head.html + str(one.turn.rows)


def test_a_layer_that_the_kit_fills_in_is_removed():
    one = panel("pretreatment", lambda design: shared.plant())
    one.unfold("filters")
    one.turn.ask({"remove": "filters.layers[gravel]"})
    assert one.session.design.names("filters.layers") == ("anthracite", "sand") and not one.session.errors
    assert one.session.undo() and not one.session.design.stands("filters.layers")


def test_points_of_injection_come_and_go_in_their_place():
    one = panel("dosing", lambda design: shared.plant())
    session, first = one.session, one.session.design
    one.unfold("injection")
    every = first.names("injection.points")
    row = adds(one)["injection.points"]
    assert [p for p, _ in row["places"]] == list(every) and "acid" not in [c for c, _ in row["choices"]]
    one.turn.ask({"remove": "injection.points[acid]"})
    assert session.design.names("injection.points") == tuple(n for n in every if n != "acid")
    assert ["acid", dict(row["places"])["acid"]] in adds(one)["injection.points"]["choices"]
    one.turn.ask({"add": "injection.points", "entries": {"acid": {}}, "after": "coagulation"})
    moved = session.design.names("injection.points")
    assert moved.index("acid") == moved.index("coagulation") + 1 and sorted(moved) == sorted(every) != list(moved)
    assert session.design.get("injection.points[orp].travel_time") == first.get("injection.points[orp].travel_time")
    one.turn.ask({"add": "injection.points", "entries": {"acid": {}}, "after": "coagulation"})
    assert "name is there" in one.turn.row("injection.points")["said"]
    assert session.undo() and session.undo() and session.design.text == first.text

    # where the list stands in the text, comments of it stay
    text = first.text + '\n[[injection.points]]\nname = "acid"  # first\n[[injection.points]]\nname = "pump"\n'
    new = from_text(text).with_entries("injection.points", {"antiscalant": {"travel_time": "20 s"}, "orp": {}}, "acid")
    assert new.names("injection.points") == ("acid", "antiscalant", "orp", "pump") and "# first" in new.text
    with pytest.raises(Problem, match="to follow"):
        new.with_entries("injection.points", {"biocide": {}}, "cartridge")


def test_the_recycle_is_set_and_cleared():
    one = panel("membranes", lambda design: shared.plant())
    one.unfold("membrane")
    first = one.session.design.text
    assert one.turn.row("membrane.recycle")["wait"].startswith("auto")
    one.change("membrane.recycle", "10 %")
    assert one.session.design.get("membrane.recycle") == pytest.approx(0.1)
    one.turn.ask({"reset": "membrane.recycle"})
    assert one.session.design.text == first


def test_a_manufacturers_sheet_is_imported(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    one = panel("membranes", lambda design: shared.plant())
    session, entry = one.session, one.sheets
    first = session.design.text
    entry.unfold.value = True
    assert "no such table" in entry.told.value and not entry.file.options
    entry.list.value = "elements"
    entry.blank.click()
    (blank,) = tmp_path.glob("*.xlsx")
    assert entry.file.value == str(blank)
    entry.take.click()
    assert "states nothing" in entry.told.value and session.design.text == first

    own = {w["key"]: w["text"] for w in controls.adding(session, "elements", LISTS["elements"])["wants"]}
    stated = own | {"name": "offered", "area": "41 m2"}
    rows = [["sheet", "elements"], ["key", "title", "unit", "sheet 1"], *([k, "", "", v] for k, v in stated.items())]
    (tmp_path / "offer.csv").write_text("\n".join(";".join(row) for row in rows), encoding="utf-8")
    entry.unfold.value = False
    entry.unfold.value = True
    entry.file.value = str(tmp_path / "offer.csv")
    entry.preview.click()
    assert f"{len(stated)} properties would be taken" in entry.told.value and "41 m²" in entry.told.value
    assert session.design.text == first
    entry.take.click()
    assert session.design.get("elements[offered].area") == pytest.approx(41.0)
    assert session.design.get("membrane.element") == "offered" and "Imported offer.csv" in entry.told.value
    assert session.design.text == api.add_sheets(from_text(first), tmp_path / "offer.csv").with_value(
        "membrane.element", "offered").text  # what the command line writes
    entry.take.click()
    assert "already has a sheet of this name" in entry.told.value
    entry.replace.value = True
    entry.take.click()
    assert "Imported" in entry.told.value and not session.messages
    assert session.undo() and session.design.text == first
    assert not session.errors


def test_a_curve_needs_its_points_together():
    one = panel("pressure", lambda design: shared.plant())
    one.unfold("hp_pump")
    row = adds(one)["hp_pump.curve"]
    assert row["least"] == 3 and [w["key"] for w in row["wants"]] == ["flow", "head", "efficiency"]
    points = {"p1": ("60 m3/h", "700 m", "75 %"), "p2": ("110 m3/h", "640 m", "84 %"),
              "p3": ("130 m3/h", "560 m", "80 %")}
    one.turn.ask({"add": "hp_pump.curve", "entries": {
        name: dict(zip(("flow", "head", "efficiency"), x, strict=True)) for name, x in points.items()}})
    assert one.session.design.names("hp_pump.curve") == tuple(points) and not one.session.messages


@pytest.mark.full
def test_each_way_of_stating_the_water_is_left_for_another():
    one = panel("raw-water")
    entry, session = one.water, one.session
    first = session.design.text

    # a laboratory's sheet: what is not understood is said, then shown, then taken
    entry.way.value = "sheet"
    entry.sheet.value = str(paths.shelf() / "data-demo" / "lab-sheet.csv")
    entry.decimal.value = ","
    entry.preview.click()
    assert "below detection" in entry.shown.value and session.design.text == first
    entry.below.value, entry.skip.value = "limit", "Colour"
    entry.preview.click()
    assert "24 rows would be taken" in entry.shown.value and "11 352 mg/L" in entry.shown.value
    entry.take.click()
    assert session.design.get("water.ph") == pytest.approx(8.12) and not session.stale
    assert session.design.get("water.temperature_cold") == pytest.approx(287.15)  # what is no laboratory's stays

    # part of a blend: the shares give way, and the amounts are a copy to be corrected
    entry.way.value, entry.name.value, entry.share.value = "blend", "well", "30 %"
    entry.blend.click()
    assert session.design.names("water.analyses") == ("present", "well") and not session.stale
    one.turn.ask({"add": "water.analyses", "entries": {"third": {"share": "50 %"}}})
    shares = [session.design.get(f"water.analyses[{n}].share") for n in ("present", "well", "third")]
    assert shares == pytest.approx([0.35, 0.15, 0.5])
    one.turn.ask({"remove": "water.analyses[third]"})
    assert session.design.get("water.analyses[present].share") == pytest.approx(0.7)

    # a salinity, and from it an analysis again: the same water
    entry.salinity.value = "42 g/kg"
    entry.replace.click()
    assert not session.design.stands("water.analyses") and not entry.write_out.disabled
    salt = float(session.plant["water.salinity"])
    entry.write_out.click()
    assert session.design.stands("water.ions") and entry.write_out.disabled
    assert float(session.plant["water.salinity"]) == pytest.approx(salt, rel=1e-4)
    assert abs(float(session.plant["water.balance"])) < 1e-3
    while session.undo():
        pass
    assert session.design.text == first and not session.errors


def test_the_net_product_is_that_of_the_plant_or_of_a_train():
    design = from_text('format = 1\n[duty]\nproduct_flow = "1 320 000 gal/d"\ntrains = 2\n[water]\nsea_salinity = '
                       '"35 g/kg"\n[membrane]\nrecovery = "42 %"\n')
    other = design.with_value("duty.train_product_flow", "660 000 gal/d")
    assert not other.stands("duty.product_flow")  # one states what the other did
    one, two = api.size(design), api.size(other)
    assert float(one["duty.train_product_flow"]) == pytest.approx(float(two["duty.train_product_flow"]), rel=1e-12)
    assert float(one["membrane.feed_pressure"]) == pytest.approx(float(two["membrane.feed_pressure"]), rel=1e-12)
    assert one.show("duty.train_product_flow", "us") == two.show("duty.train_product_flow", "us")
    assert not other.with_value("duty.product_flow", "5000 m3/d").stands("duty.train_product_flow")


def test_loads_of_the_site_come_and_go_in_the_panel():
    one = panel("power")
    session, first, year = one.session, one.session.design.text, float(one.session.plant["energy.year"])
    one.unfold("power")
    row = adds(one)["power.consumers"]
    assert [w["key"] for w in row["wants"]] == ["power"]
    one.turn.ask({"add": "power.consumers", "entries": {"workshop": {"power": "20 kW"}}})
    own = "power.consumers[workshop]"
    assert not session.stale and session.design.names("power.consumers") == ("workshop",)
    assert one.turn.row(f"{own}.load_factor")["wait"] == "auto: 80"
    before = float(session.plant["energy.year"])
    assert before > year and "own-workshop" in session.plant.sized.power.loads.loads
    one.change(f"{own}.hours", "8 h")
    assert float(session.plant["energy.year"]) - year == pytest.approx((before - year) / 3, rel=1e-9)
    one.change(f"{own}.kind", "workshop")
    assert one.turn.row(f"{own}.load_factor")["wait"] == "auto: 30"
    keys = {r["key"] for r in one.turn.rows}
    assert f"{own}.drive" not in keys and f"{own}.on_generator" not in keys  # no motor, no generator
    one.change(f"{own}.motor", "22 kW")
    assert one.turn.row(f"{own}.drive")
    one.turn.ask({"remove": own})
    assert session.design.text == first and float(session.plant["energy.year"]) == year
