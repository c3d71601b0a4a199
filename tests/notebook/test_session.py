"""The kit without a browser: change a field, read what is shown."""

from __future__ import annotations

import pytest

from desalbook import face
from desalbook.notebook.controls import Control, fields
from desalbook.notebook.panel import Panel, why
from desalbook.notebook.session import Session
from desalbook.problems import TrailError
from tests import fakes

FLOW = "duty.train_product_flow"


@pytest.fixture
def session() -> Session:
    return Session(fakes.design(), fakes.size)


@pytest.fixture
def panel(session) -> Panel:
    panel = Panel(session)
    panel.part.value = "duty"
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
    panel = Panel(session)
    assert session.plant is None and "no pump in the table" in panel.head.value
    assert session.apply(FLOW, "2400 m3/d") and "water-line" in panel.line.value and not session.errors


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
    assert session.save(face.write) and not session.unsaved
    assert path.read_text(encoding="utf-8") == session.design.text
    path.write_text(fakes.TEXT + "# by another\n", encoding="utf-8")
    session.apply(FLOW, "5000 m3/d")
    assert not session.save(face.write) and session.messages["save"] and session.unsaved
    assert "# by another" in path.read_text(encoding="utf-8")
    other = tmp_path / "other.toml"
    assert session.save(face.write, other) and session.path == other and not session.unsaved
    session.path = path
    assert not session.save(face.write, other)  # a name that is taken is never written over
    assert "is there" in session.messages["save"]


def test_every_key_of_the_schema_has_a_control(session):
    made = {k: Control(session, k, m) for rows in fields(session.design).values() for k, m in rows.items()}
    assert len(made) > 50
    for key, control in made.items():
        assert control.field.description.startswith(control.meta.title), key
        if control.assumed:  # what is shown reads back as what is assumed
            assert (
                control.meta.form != "quantity"
                or session.design.with_value(key, control._shown()).get(key) == control.meta.default
            )
    assert not session.errors


def test_typing_into_the_panel(panel):
    session, control = panel.session, panel.controls[FLOW]
    assert control.field.value == "2400 m3/d" and not control.assumed
    control.field.value = "4800 m3/d"
    assert session.design.get(FLOW) == pytest.approx(4800 / 86400) and "unsaved changes" in panel.head.value
    control.field.value = "4800"
    assert 'role="alert"' in control.message.value and control.field.value == "4800"
    assert session.design.get(FLOW) == pytest.approx(4800 / 86400)
    control.field.value = "25000 m3/d"
    assert "db-stale" in panel.figures.value and "db-stale" in panel.line.value
    panel.undo.click()
    assert control.field.value == "4800 m3/d" and "db-stale" not in panel.figures.value and not session.errors


def test_an_assumed_value_is_italic_until_confirmed(panel):
    control = panel.controls["duty.availability"]
    assert control.assumed and "db-assumed" in control.field._dom_classes
    control.confirm.click()
    assert panel.session.design.stands("duty.availability") and "db-assumed" not in control.field._dom_classes
    control.field.value = ""  # an empty field takes the key out again
    assert not panel.session.design.stands("duty.availability") and control.field.value == "95 %"
    assert not panel.session.errors


def test_display_sets(panel):
    assert "m/h" in panel.figures.value
    panel.set.value = "us"
    assert "gpm/ft2" in panel.figures.value and "psi" in panel.line.value and not panel.session.errors


def test_every_part_can_be_opened(panel):
    for _, path in panel._parts():
        panel.part.value = path
        assert panel.controls and not panel.session.errors, path


def test_checks_are_in_words_with_a_mark(panel):
    text = panel.watch.value
    assert (
        "holds, " in text and "to spare" in text and "✓" in text and text.index("Bromide") < text.index("✓")
    )
    panel.controls[FLOW].field.value = "12000 m3/d"
    text = panel.watch.value
    assert "fails by" in text and "· add a filter" in text and "✗" in text and "Isolate and drain" in text


def test_why_is_typeset(panel):
    text = why(panel.session.plant, "filters.rate")
    assert text.count("<math display") >= 2 and "Superficial" not in text and "Net product" in text
    assert "href" not in text and ' id="' not in text and "<script" not in text
    assert "Choose" in why(panel.session.plant, "nothing").replace("choose", "Choose")
    for id in panel.session.plant.ledger.lines:
        assert panel.session.plant.ledger.lines[id].title in why(panel.session.plant, id)
    panel.figure.value = "water.scaled[Na]"
    assert "<math" in panel.why.value and not panel.session.errors
