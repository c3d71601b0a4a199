"""Exercises: right answers in two unit systems, each mistake by its name, over many seeds."""

from __future__ import annotations

import pytest

from desalbook.notebook.exercises import BOOK, class_sheet, draw
from desalbook.notebook.exercises.kit import Exercise, Given, Mistake, scaled
from desalbook.notebook.exercises.table import Desk, solution
from desalbook.problems import DesignError
from desalbook.units import show

QUICK, ALL = 25, 500


def test_there_are_enough_and_each_has_its_mistakes():
    assert len(BOOK) >= 12 and {e.level for e in BOOK.values()} == {1, 2, 3}
    assert all(e.mistakes for e in BOOK.values())
    keys = {m.key for e in BOOK.values() for m in e.mistakes}
    assert {"polarisation", "ppm", "gauge", "gpm", "scale", "basis"} <= keys


def judged(key: str, seeds: range) -> None:
    ex = BOOK[key]
    for seed in seeds:
        d = draw(ex, seed)
        for units in ("si", "us"):
            reply = d.check(show(d.right, ex.answer, units))
            assert reply.right and not reply.mistake, (key, seed, reply)
            for m in ex.mistakes:
                wrong = d.check(show(ex.wrong(d.values, m), ex.answer, units))
                assert not wrong.right and wrong.mistake == m.key, (key, seed, m.key, wrong)
                assert m.words in wrong.words


@pytest.mark.parametrize("key", BOOK)
def test_answers_and_mistakes(key):
    judged(key, range(QUICK))


@pytest.mark.full
@pytest.mark.parametrize("key", BOOK)
def test_answers_and_mistakes_over_many_seeds(key):
    judged(key, range(QUICK, ALL))


@pytest.mark.parametrize("key", BOOK)
def test_students_get_other_numbers_and_the_same_one_the_same(key):
    first, again, other = draw(BOOK[key], "ada"), draw(BOOK[key], "ada"), draw(BOOK[key], "ben")
    assert first.values == again.values and first.right == again.right
    assert first.values != other.values


def test_tolerance_is_neither_blind_nor_sharp():
    d = draw(BOOK["flux"], 1)
    t = d.exercise.tolerance
    for factor, right in ((1 + 0.9 * t, True), (1 - 0.9 * t, True), (1 + 1.2 * t, False), (1 - 1.2 * t, False)):
        text = f"{d.right * factor * 3.6e6:.9f} L/(m2 h)"
        assert d.check(text).right is right, text


def test_an_answer_without_a_unit_is_refused_in_one_line():
    reply = draw(BOOK["tank"], 3).check("120")
    assert not reply.right and "unit" in reply.words and "\n" not in reply.words and not reply.mistake
    assert "bar" in draw(BOOK["boost"], 3).unit and "psi" in draw(BOOK["boost"], 3).unit
    assert "No usual mistake" in draw(BOOK["tank"], 3).check("7 m3").words


def test_answers_that_cannot_be_told_apart_are_drawn_again():
    ex = BOOK["tank"]
    near = Exercise("near", "", 1, "", (Given("flow", "Q", "Q", "flow", "100 m3/h", "500 m3/h"),
                                        Given("detention", "t", "t", "time", "1 h", "1.2 h"),
                                        Given("usable", "u", "u", "fraction", "90 %", "99.9 %")), ex.answer, ex.work,
                    (ex.mistakes[0],), 0.01)
    drawn = [draw(near, s).values["usable"] for s in range(60)]
    assert max(drawn) < 0.971  # a usable part nearer to the whole than three tolerances was drawn again
    blind = Exercise("blind", "", 1, "", ex.givens, ex.answer, ex.work, (Mistake("none", "", scaled("flow", 1.0)),))
    with pytest.raises(DesignError, match="told apart"):
        draw(blind, 1)


def test_the_solution_is_a_trail():
    d = draw(BOOK["shaft"], 5)
    text = solution(d)
    assert text.count("<math") >= 6 and d.hints()[0].startswith("Step 1 of 3") and "Hydraulic power" in text
    assert show(d.right, "power") in text


def test_the_class_sheet_has_every_student():
    sheet = class_sheet(["ada", "ben"], ["shaft", "cip"])
    assert list(sheet.columns) == ["id", "student", "level", "given", "answer", "within", "mistakes"]
    assert len(sheet) == 4 and sheet["answer"].nunique() == 4
    assert sheet.iloc[0]["answer"] == show(draw(BOOK["shaft"], "ada").right, "power")


def test_the_desk():
    desk = Desk("ada")
    desk.choice.value = "bisulfite"
    d = desk.drawn
    desk.hint.click()
    assert "Step 1" in desk.more.value
    desk.answer.value = "3"
    assert "✗" in desk.said.value and "unit" in desk.said.value
    desk.answer.value = show(d.right, d.exercise.answer)
    assert "✓" in desk.said.value and "bisulfite" in desk.done and desk.choice.value == "bisulfite"
    assert next(t for t, k in desk.choice.options if k == "bisulfite").startswith("✓")
    desk.solution.click()
    assert "<math" in desk.more.value
    desk.set.value = "us"
    desk.choice.value = "flux"
    assert "gpm" in desk.text.value and desk.said.value == "" and desk.answer.value == ""
    assert not desk.errors
    desk.choice.options = [("gone", "gone")]
    desk.choice.value = "gone"
    assert desk.errors and "defect" in desk.said.value
