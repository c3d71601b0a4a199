"""Exercises: right answers in two unit systems, each mistake by its name, over many seeds."""

from __future__ import annotations

from dataclasses import replace

import pytest

from desalbook.fine import fine
from desalbook.notebook.exercises import BOOK, class_page, class_sheet, draw, kit
from desalbook.notebook.exercises.kit import Exercise, Given, Mistake, scaled
from desalbook.notebook.exercises.table import Desk
from desalbook.problems import DesignError
from desalbook.units import show

QUICK, ALL = 25, 500
NUMBERS = [k for k, e in BOOK.items() if isinstance(e, Exercise)]


def test_there_are_enough_and_each_has_its_mistakes():
    assert len(NUMBERS) >= 25 and {e.level for e in BOOK.values()} == {1, 2, 3}
    assert all(BOOK[k].mistakes for k in NUMBERS)
    keys = {m.key for k in NUMBERS for m in BOOK[k].mistakes}
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


@pytest.mark.parametrize("key", NUMBERS)
def test_answers_and_mistakes(key):
    judged(key, range(QUICK))


@pytest.mark.full
@pytest.mark.parametrize("key", NUMBERS)
def test_answers_and_mistakes_over_many_seeds(key):
    judged(key, range(QUICK, ALL))


@pytest.mark.parametrize("near", [True, False], ids=["all is right", "nothing is right"])
def test_judging_can_fail(monkeypatch, near):
    d = draw(BOOK["flux"], 0)
    monkeypatch.setattr(kit, "_near", lambda a, b, tolerance: near)
    reply = d.check(show(BOOK["flux"].wrong(d.values, BOOK["flux"].mistakes[0]), "flux"))
    assert reply.right is near and not reply.mistake
    monkeypatch.setattr("tests.notebook.test_exercises.draw", lambda ex, seed: d)
    with pytest.raises(AssertionError):
        judged("flux", range(1))


def test_judging_notices_a_mistake_that_is_another():
    """Words of one mistake over the answer of another: what `judged` would miss if it only asked for some mistake."""
    ex = BOOK["flux"]
    d = draw(ex, 0)
    first, second = ex.mistakes[:2]
    swapped = replace(ex, mistakes=(Mistake(first.key, first.words, second.change),
                                    Mistake(second.key, second.words, first.change)))
    reply = kit.Drawn(swapped, "0", d.values).check(show(ex.wrong(d.values, first), ex.answer))
    assert reply.mistake == second.key != first.key


@pytest.mark.parametrize("key", NUMBERS)
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
    assert "not correct yet" in draw(BOOK["tank"], 3).check("7 m3").words


def test_money_has_its_currency():
    d = draw(BOOK["capital-per-volume"], "ada")
    assert d.answer().endswith(" USD/m3") and d.answer("us").endswith(" USD/kgal")
    assert dict(d.question())["Capital"].endswith(" USD")
    number = d.answer().split()[0]
    assert all(d.check(f"{number} {unit}").right for unit in ("USD/m3", "usd / m3", "1/m3"))
    assert "USD/m3" in d.check("3 USD/m3").words and not d.check("3 EUR/m3").judged
    whole = draw(BOOK["capital"], "ada")
    assert whole.check(whole.answer()).right and whole.check(whole.answer().removesuffix(" USD")).right


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
    text = d.solution()
    assert text.count("<math") >= 6 and d.hints()[0].startswith("Step 1 of 3") and "Hydraulic power" in text
    assert show(d.right, "power") in text


def test_the_class_sheet_has_every_student():
    sheet = class_sheet(["ada", "ben"], ["shaft", "cip"])
    assert list(sheet.columns) == ["id", "student", "level", "given", "answer", "within", "mistakes"]
    assert len(sheet) == 4 and sheet["answer"].nunique() == 4
    assert sheet.iloc[0]["answer"] == show(draw(BOOK["shaft"], "ada").right, "power")


def test_the_class_page_shows_every_number_of_the_sheet():
    names, keys = ["ada", "ben <b>", "chidi", "dana", "emre"], ["shaft", "wall"]
    for units in ("si", "us"):
        html = class_page(names, keys, units)._repr_html_()
        assert html.count("<table>") == 2 and html.count("<tr>") == 2 * 6 and "ben &lt;b&gt;" in html
        for key in keys:
            for name in names:
                d = draw(BOOK[key], name)
                assert f">{show(d.right, d.exercise.answer, units, False)}</td>" in html
                for m in d.exercise.mistakes:
                    assert f">{show(d.exercise.wrong(d.values, m), d.exercise.answer, units, False)}</td>" in html
                    assert fine(m.words) in html


def test_another_student_and_the_next_exercise(tmp_path):
    desk = Desk("ada", folder=tmp_path)
    assert "1 % counts" in desk.text.value
    desk.answer.value = show(desk.drawn.right, desk.drawn.exercise.answer)
    assert f"1 of {len(BOOK)} done" in desk.said.value and desk.done
    desk.next.click()
    assert desk.choice.value == list(BOOK)[1] and desk.said.value == ""
    desk.check.click()
    assert "Enter an answer" in desk.said.value
    was = desk.text.value
    desk.student.value = " ben "
    assert desk.seed == "ben" and not desk.done and desk.text.value != was and desk.choice.value == list(BOOK)[1]
    assert not any(t.startswith("✓") for t, _ in desk.choice.options)
    desk.student.value = "  "
    assert desk.student.value == "ben"
    desk.choice.value = list(BOOK)[-1]
    desk.next.click()
    assert desk.choice.value == next(iter(BOOK))
    hints = desk.drawn.hints()
    for _ in hints:
        desk.hint.click()
    assert hints[-1].split(":")[0] in desk.more.value and "last step" not in desk.more.value
    desk.hint.click()
    assert "last step" in desk.more.value and not desk.errors


def test_the_desk(tmp_path):
    desk = Desk("ada", folder=tmp_path)
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
    desk.choice.value = "gone"  # not an exercise of the book
    assert desk.errors and "defect" in desk.said.value
