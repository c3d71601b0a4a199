"""The kit without a browser: change a field, read what is shown."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from desalbook import api
from desalbook.fine import fine
from desalbook.notebook import controls, steps
from desalbook.notebook.board import Panel
from desalbook.notebook.pictures import catalogue
from desalbook.notebook.session import Session
from desalbook.notebook.why import why
from desalbook.problems import DesignError, TrailError
from tests import fakes

BARE = replace(steps.STEPS["start"], pictures=(), tabs=())  # the small plant has nothing to draw but its water line
FLOW = "duty.train_product_flow"


@pytest.fixture
def session() -> Session:
    return Session(fakes.design(), fakes.size)


@pytest.fixture
def panel(session) -> Panel:
    panel = Panel(session, step=BARE)
    panel.unfold("duty")
    return panel


def test_a_change_is_sized_and_taken_back(session):
    was, first = session.design.text, float(session.plant["filters.rate"])
    assert session.apply(FLOW, "4800 m3/d") and session.unsaved
    assert float(session.plant["filters.rate"]) == pytest.approx(2 * first)
    assert "# what the contract says" in session.design.text
    assert session.undo() and session.design.text == was and not session.can_undo and not session.unsaved
    assert not session.undo()


def test_what_cannot_be_read_is_not_taken_over(session):
    was, plant = session.design.text, session.plant
    assert not session.apply(FLOW, "2,400 m3/d")
    assert session.design.text == was and session.plant is plant and not session.stale
    assert session.messages[FLOW].startswith(FLOW) and not session.can_undo
    assert session.apply(FLOW, "2500 m3/d") and not session.messages


def test_what_cannot_be_built_is_kept_and_marked(session):
    plant = session.plant
    assert not session.apply(FLOW, "25000 m3/d")
    assert session.stale and session.plant is plant and "25000 m3/d" in session.design.text
    assert "no pump in the table" in session.messages[FLOW]
    assert session.undo() and not session.stale


def test_no_plant_at_the_start():
    session = Session(fakes.design("25000 m3/d"), fakes.size)
    panel = Panel(session, step=BARE)
    assert session.plant is None and "no pump in the table" in panel.head.html
    assert session.apply(FLOW, "2400 m3/d") and "water-line" in panel.line.html and not session.errors


def test_callbacks_pass_one_wrapper(session):
    def broken(_):
        raise ZeroDivisionError("deep inside")

    session.guard(broken)(None)
    assert (
        "ZeroDivisionError" in session.errors[0] and "deep inside" in session.messages[""] and session.stale
    )

    def problem(_):
        raise TrailError("a line rests on nothing")

    session.guard(problem)(None)
    assert session.messages[""].startswith("a line rests on nothing") and len(session.errors) == 1


def test_saving_keeps_both_texts(session, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(session.design.text, encoding="utf-8")
    session.path = path
    session.apply(FLOW, "4800 m3/d")
    assert session.save(api.write) and not session.unsaved
    assert path.read_text(encoding="utf-8") == session.design.text
    path.write_text(fakes.TEXT + "# by another\n", encoding="utf-8")
    session.apply(FLOW, "5000 m3/d")
    assert not session.save(api.write) and session.messages["save"] and session.unsaved
    assert "# by another" in path.read_text(encoding="utf-8")
    other = tmp_path / "other.toml"
    assert session.save(api.write, other) and session.path == other and not session.unsaved
    session.path = path
    assert not session.save(api.write, other)  # a name that is taken is never written over
    assert "is there" in session.messages["save"]


def test_every_key_of_the_schema_has_a_control(session):
    made = {k: (controls.row(session, k, m), m) for rows in controls.fields(session.design).values()
            for k, m in rows.items()}
    assert len(made) > 50
    for key, (row, m) in made.items():
        assert row["title"] == fine(m.title) and key in row["help"], key
        if m.form == "quantity":
            assert row["unit"] or m.kind.si == "1" or m.kind.show_si == "", key
        if row["low"] is not None:
            assert row["low"] < row["high"] and row["step"] > 0
        if row["assumed"] and m.form == "quantity":  # what is shown reads back as what is assumed
            assert session.design.with_value(key, row["text"]).get(key) == session.design.get(key)
    assert not session.errors


def test_named_values_are_controls_of_their_own(session):
    rows = controls.fields(session.design)["water"]
    assert "water.ions[Na]" in rows and rows["water.ions[Na]"].kind.show_si == "mg/L"
    assert session.apply("water.ions[SO4]", "2800 mg/L") and session.design.get("water.ions[SO4]") == 2.8
    assert session.apply("water.ions[SO4]", None) and not session.design.stands("water.ions[SO4]")


def test_typing_into_the_panel(panel):
    session, row = panel.session, panel.turn.row
    assert row(FLOW)["text"] == "2400 m3/d" and not row(FLOW)["assumed"]
    panel.change(FLOW, "4800 m3/d")
    assert session.design.get(FLOW) == pytest.approx(4800 / 86400) and "unsaved changes" in panel.head.html
    assert row(FLOW)["number"] == pytest.approx(4800) and row(FLOW)["text"] == "4800 m3/d"
    answered = panel.turn.answered
    panel.change(FLOW, "4800")
    assert row(FLOW)["said"].startswith(FLOW) and panel.turn.answered > answered
    assert session.design.get(FLOW) == pytest.approx(4800 / 86400)
    panel.change(FLOW, "25000 m3/d")
    assert "db-stale" in panel.figures.html and "db-stale" in panel.line.html
    panel.undo.click()
    assert row(FLOW)["text"] == "4800 m3/d" and "db-stale" not in panel.figures.html and not session.errors
    panel.undo.click()
    assert not panel.redo.disabled and row(FLOW)["text"] == "2400 m3/d"
    panel.redo.click()
    assert row(FLOW)["text"] == "4800 m3/d" and not session.errors


def test_an_assumed_value_is_marked_until_confirmed(panel):
    key = "duty.availability"
    assert panel.turn.row(key)["assumed"]
    panel.turn.ask({"confirm": key})
    assert panel.session.design.stands(key) and not panel.turn.row(key)["assumed"]
    panel.turn.ask({"reset": key})
    assert not panel.session.design.stands(key) and panel.turn.row(key)["text"] == "95 %"
    panel.change(key, "90 %")
    panel.change(key, "")  # an empty field takes the key out again
    assert not panel.session.design.stands(key) and not panel.session.errors


def test_display_sets(panel):
    assert "m/h" in panel.figures.html
    panel.set.value = "us"
    assert "gpm/ft²" in panel.figures.html and "psi" in panel.line.html and not panel.session.errors
    text, row = panel.session.design.text, panel.turn.row(FLOW)
    assert row["unit"] == "gpd" and row["text"].endswith("gpd") and row["number"] == pytest.approx(634013, rel=1e-4)
    panel.change(FLOW, "700 000 gpd")
    panel.set.value = "si"
    assert panel.turn.row(FLOW)["text"].endswith("m3/d") and "700 000 gpd" in panel.session.design.text
    panel.undo.click()
    assert panel.session.design.text == text  # showing another unit writes nothing


@pytest.mark.full
def test_every_part_can_be_opened(panel):
    groups = [g for g in panel.fields.groups() if not g["key"].startswith("step ")]
    assert {g["under"] for g in groups} <= {g["key"] for g in panel.fields.groups()}
    for g in groups:
        panel.unfold(g["key"])
        assert not panel.session.errors, g
        mine = [r for r in panel.turn.rows if r["group"] == g["key"]]
        assert mine or any(other["under"] == g["key"] for other in groups), g
        panel.unfold(g["key"], False)


def test_checks_are_in_words_with_a_mark(panel):
    text = panel.watch.html
    assert (
        "passes, margin" in text and "✓" in text and text.index("Bromide") < text.index("✓")
    )
    panel.change(FLOW, "12000 m3/d")
    text = panel.watch.html
    assert "fails by" in text and "· add a filter" in text and "✗" in text and "Isolate and drain" in text


def test_why_is_typeset(panel):
    text = why(panel.session.plant, "filters.rate")
    assert text.count("<math display") >= 2 and "Superficial" not in text and "Net product" in text
    assert "href" not in text and ' id="' not in text and "<script" not in text
    assert "Choose" in why(panel.session.plant, "nothing").replace("choose", "Choose")
    for id in panel.session.plant.ledger.lines:
        assert panel.session.plant.ledger.lines[id].title in why(panel.session.plant, id)
    panel.head.ask({"why": "water.scaled[Na]"})
    assert panel.figure.value == "water.scaled[Na]" and "<math" in panel.why.html and not panel.session.errors


def test_steps_show_their_own_part(session):
    panel = Panel(session, step=steps.step("filters"))
    assert [g for g in panel.turn.groups if g["key"].startswith("filters")] and panel.turn.rows
    assert all(r["key"].startswith("filters") for r in panel.turn.rows) and "dl" in panel.figures.html
    assert steps.step("membranes").parts == ("membrane", "elements", "vessel_classes")
    pressure = steps.step("pressure")
    assert pressure.mine("design_pressure[vessels].relief.check_trip") and not pressure.mine("filters.rate.check")
    with pytest.raises(DesignError, match="no such step"):
        steps.step("engine room")


def test_figures_of_the_steps_and_their_sections_exist():
    from desalbook import api, paths
    from desalbook.design.sections import LISTS, SECTIONS

    plant = api.size(paths.demo("harbour-town.toml"))
    for s in steps.STEPS.values():
        assert all(i in plant for i in s.follows), (s.key, [i for i in s.follows if i not in plant])
        assert all(p in SECTIONS or p in LISTS for p in s.parts), s.key
        assert all(draw(plant, "si") for _, draw in catalogue.drawings(s))


def test_a_file_changed_by_another_is_noticed(session, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(session.design.text, encoding="utf-8")
    session.path = path
    panel = Panel(session, step=BARE)
    panel.change(FLOW, "4800 m3/d")
    assert "Read it again" not in panel.head.html and not session.moved_on
    path.write_text(fakes.TEXT.replace("2400", "3000"), encoding="utf-8")
    panel.turn.ask({"seen": True})
    assert "changed on disk" in panel.head.html
    panel.head.ask({"reload": True})
    assert session.design.get(FLOW) == pytest.approx(3000 / 86400) and not session.unsaved
    assert session.undo() and session.design.get(FLOW) == pytest.approx(4800 / 86400) and session.unsaved


def test_demo_designs_are_never_written_over(session):
    from desalbook import paths

    demo = paths.demo("harbour-town.toml")
    was = demo.read_bytes()
    session.path, session.saved = demo, api.read(demo).hash
    session.apply(FLOW, "4800 m3/d")
    assert not session.save(api.write) and "stay as delivered" in session.messages["save"]
    assert demo.read_bytes() == was


def test_revisions_come_back(session, tmp_path):
    session.path = None
    panel = Panel(session, step=BARE)
    assert session.save(api.write, tmp_path / "mine")
    first = session.design.text
    panel.change(FLOW, "4800 m3/d")
    panel.files.save.click()
    texts = [t for _, t in panel.files.past.options]
    assert len(texts) == 3 and first in texts and not session.errors
    panel.files.past.value = first
    assert session.design.text != first  # choosing is not yet taking
    panel.files.take.click()
    assert session.design.text == first and session.unsaved and session.undo()


@pytest.mark.parametrize(("value", "limit", "sense", "share"), [
    (12.0, 10.0, "<=", 1.2), (5.0, 10.0, "<=", 0.5), (20.0, 10.0, ">=", 0.5), (8.0, 10.0, ">=", 1.25)])
def test_a_bar_is_the_share_of_the_limit_used(value, limit, sense, share):
    from desalbook.audit.page.bars import used

    room = limit - value if sense == "<=" else value - limit
    assert used(room / limit, sense) == pytest.approx(share)


def test_a_safety_note_is_said_once_and_is_no_check():
    from desalbook.notebook.blocks import watch

    one = {"id": "hp_pump.check", "title": "A", "corner": "", "why": "", "verdict": "marginal", "do": "raise it",
           "margin": 0.01, "caution": "hot"}
    said = watch([one, dict(one, id="hp_pump.b", title="B"), dict(one, id="cip.check", title="C", caution="cold")])
    assert said.count("Hot.") == 1 and said.index("B:") < said.index("Hot.") and said.count("Cold.") == 1
    assert "2 safety notes" in said and "<b>HP pump</b>" in said and "2 of 2 checks to see" in said


def test_what_still_fails_stands_above_what_was_mended():
    from desalbook.notebook.blocks import watch

    one = {"id": "a", "title": "A", "corner": "", "why": "", "verdict": "fails", "do": "raise it", "margin": -0.1,
           "caution": ""}
    mended = [dict(one, id=f"b{n}", title=f"B{n}", verdict="passes", margin=0.1) for n in range(6)]
    said = watch([*mended, one], turned={c["id"]: "fails" for c in mended})
    assert said.index("A:") < said.index("B0:") and said.index("A:") < said.index("more to see") < said.index("B5:")


def test_a_failing_entry_of_a_list_is_shown_as_the_number_that_was_judged():
    """Warm water of 42 g/kg fails the chloride of the product, which is one ion of thirteen."""
    from desalbook.notebook.blocks import follows
    from desalbook.study.composition import scaled
    from tests import shared

    plant = api.size(scaled(shared.plant().design, "42 g/kg").with_values(
        {"water.temperature_design": "34 degC", "water.temperature_hot": "36 degC"}))
    checks = plant.judged("si")
    assert next(c for c in checks if c["id"] == "product.chloride.check_product_chloride")["verdict"] == "fails"
    said = follows(plant, (), checks, "si")
    assert "along ion" not in said and "Chloride in product</dt>" in said
    assert plant.show("product.ions[Cl]").partition(" ")[0] in said and "at most 250" in said
    assert "assumed" not in re.sub(r'aria-label="[^"]*"', "", said)  # beside a bar stands the limit alone


def test_a_water_is_left_for_a_salinity_and_taken_back():
    from desalbook.notebook.steps import STEPS
    from tests import shared

    session = Session(shared.plant().design, api.size)
    panel = Panel(session, step=replace(STEPS["raw-water"], pictures=()))
    was, row = session.design, panel.water
    assert row.layout.display == "flex" and not row.scale.disabled
    row.way.value = "salinity"
    assert row.write_out.layout.display == "none" and row.scale.layout.display is None  # that one alone is hidden
    row.salinity.value = "42 g/kg"
    row.scale.click()
    assert session.done.startswith("The analysis is scaled to 42 g/kg") and not session.stale
    assert session.plant["water.salinity"] == pytest.approx(0.042 / 0.958, rel=1e-4)
    row.replace.click()
    assert not session.design.stands("water.ions") and "Undo" in panel.head.html and row.scale.disabled
    row.salinity.value = "40 g/kg"  # without an analysis Enter is enough
    assert session.plant["water.salinity"] == pytest.approx(0.04 / 0.96, rel=1e-4)
    assert row.salinity.placeholder == "now 40 g/kg"
    row.salinity.value = "high"
    row.replace.click()
    assert "not one number and one unit" in panel.head.html and not session.errors  # above the row, in view
    assert all(session.undo() for _ in range(3)) and session.design.text == was.text and not row.scale.disabled
    assert Panel(session, step=replace(STEPS["cleaning"], pictures=())).water.layout.display == "none"
