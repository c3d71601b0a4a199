"""Every notebook in a real browser: run, turn a control, write nonsense, switch units and theme."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.outside import lab, looks

pytestmark = pytest.mark.outside
ROOT = Path(__file__).parents[2]
BOOKS = sorted(p.stem for p in (ROOT / "notebooks").glob("*.ipynb"))
PANELS = [b for b in BOOKS if b[:2] not in ("08", "09", "10", "11", "15", "16")]
SHOWN = ".db-panel dl.db-key"
AT_HAND = """
from ipywidgets.widgets.widget import _instances
panels = [one for one in _instances.values() if hasattr(one, "session")]
print(*(text for one in panels for text, _ in one.session._size._kept))
"""


@pytest.mark.parametrize(("name", "width"), [*((name, 1280) for name in PANELS), ("02-pretreatment", 980),
                                             ("05-dosing", 800)])
def test_a_step(opened, name, width):
    book = opened(name, width)
    page = book.page
    page.wait_for_selector(SHOWN)
    assert page.locator(".db-panel svg").filter(has_text="Outfall").first.is_visible()
    line = page.locator(".db-panel svg").first.text_content()
    places = looks.places(page)

    # a slider moved by the keyboard writes into the field and is followed
    slider = page.locator(".db-turn input[type=range]").first
    row = slider.locator("xpath=..")
    field = row.locator("input[type=text]")
    was = field.input_value()
    slider.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function("([e, w]) => e.value !== w", arg=[field.element_handle(), was])
    page.wait_for_selector("text=unsaved changes")
    assert page.evaluate("() => document.activeElement.type") == "range"
    assert not looks.moved(places, now := looks.places(page)), (places, now)  # nothing jumped
    if name == "01-raw-water":  # one step on the same way is ready before it is asked for
        step, unit = float(slider.get_attribute("step")), field.input_value().partition(" ")[2]
        ahead = f"{float(slider.input_value()) + step:g} {unit}"
        for _ in range(100):
            if ahead in lab.in_kernel(page, AT_HAND):
                break
            page.wait_for_timeout(100)
        assert ahead in lab.in_kernel(page, AT_HAND)

    # nonsense is answered beside the field in one sentence, and what was shown stays
    shown = page.inner_text(SHOWN)
    field.fill("nonsense")
    field.press("Enter")
    page.wait_for_function("e => e.querySelector('[role=alert]').innerText.includes('nonsense')",
                           arg=row.element_handle())
    assert "\n" not in row.locator("[role=alert]").inner_text().strip()
    assert field.get_attribute("aria-invalid") == "true" and field.input_value() == "nonsense"
    assert page.inner_text(SHOWN) == shown
    page.get_by_role("button", name="Undo", exact=True).click()
    page.wait_for_function("([e, w]) => e.value === w", arg=[field.element_handle(), was])

    # units, themes, names, room
    page.locator(".db-panel").get_by_label("Units", exact=True).select_option(label="US")
    page.wait_for_function("() => document.querySelector('.db-panel svg').textContent.includes('psi')")
    assert "barg" in line and "psi" in page.locator(".db-panel svg").first.text_content()
    lab.in_kernel(page, "")  # the figures too are drawn anew
    assert looks.cut(page) <= 1
    assert not (found := looks.in_both_themes(page)), found[:5]
    assert not (found := looks.nameless(page)), found[:5]
    assert not (found := looks.too_wide(page, 900)), found[:5]
    book.quiet()


def test_the_exercises(opened):
    from desalbook.notebook.exercises import BOOK, draw
    from desalbook.units import show

    book = opened("10-exercises")
    page = book.page
    page.wait_for_selector(".db-desk dl.db-givens")
    first, second = list(BOOK.values())[:2]
    d, desk = draw(first, "student"), page.locator(".db-desk")
    answer = desk.get_by_label("Answer")

    def give(text: str, words: str) -> None:
        answer.fill(text)
        answer.press("Enter")
        desk.locator("[role=status]").filter(has_text=words).wait_for()

    give("12", "the unit is missing")
    give("about twelve", "not one number and one unit")
    give("12 bar", "not of filtration rate")
    for m in first.mistakes:
        give(show(first.wrong(d.values, m), first.answer, "us"), m.words)
    give(show(d.right, first.answer), "Right")
    give(show(d.right, first.answer, "us"), f"1 of {len(BOOK)} done")
    for _ in d.hints():
        page.get_by_role("button", name="Hint").click()
    desk.locator("li").nth(len(d.hints()) - 1).wait_for()
    page.get_by_role("button", name="Solution").click()
    page.wait_for_selector(".db-desk math")
    assert not (found := looks.in_both_themes(page)), found[:5]
    page.get_by_role("button", name="Next exercise").click()
    desk.locator("p").filter(has_text=second.text).wait_for()
    desk.get_by_label("Student").fill("ada")
    desk.get_by_label("Student").press("Enter")
    number = draw(second, "ada").parts()[0][2]
    desk.locator("dd").filter(has_text=re.compile(f"^{re.escape(number)}$")).wait_for()
    desk.get_by_label("Units").select_option(label="US")
    page.wait_for_function("n => ![...document.querySelectorAll('.db-desk dd')].some(e => e.innerText === n)",
                           arg=number)
    assert not (found := looks.nameless(page)), found[:5]
    assert not (found := looks.too_wide(page, 900)), found[:5]
    book.quiet()


def test_the_calculations(opened):
    book = opened("11-calculations")
    page = book.page
    page.locator(".db-calc", has_text="Outfall").first.wait_for()
    # all are made by one function: three say what all would
    page.evaluate("() => { for (const e of [...document.querySelectorAll('.db-calc')].slice(3)) e.remove(); }")
    for words in page.locator(".db-calc summary", has_text="Equations").all():
        words.click()
    page.locator(".db-calc math").first.wait_for()
    assert not (found := looks.in_both_themes(page)), found[:5]
    assert not (found := looks.nameless(page)), found[:5]
    assert not (found := looks.too_wide(page, 900)), found[:5]
    book.quiet()


def test_a_class(opened):
    """Handed out, answered, read: two desks on one folder, and a solution that opens only when it is released."""
    from desalbook.notebook.exercises import BOOK

    trainer = opened("16-class")
    desk = trainer.page.locator(".db-desk")
    desk.get_by_label("Class name").fill("week one")
    desk.get_by_label("Students").fill("ada\nben")
    desk.get_by_label("Exercises").select_option(label=[
        f"{n}. {e.title} (level {e.level})" for n, (k, e) in enumerate(BOOK.items(), 1)
        if k in ("filter-rate", "defend-dose")])
    desk.get_by_role("button", name="Hand out").click()
    desk.locator("[role=status]", has_text="2 students, 2 exercises handed out").wait_for()
    desk.get_by_role("button", name="Show the answers").click()
    desk.locator(".db-sheet").first.wait_for()
    assert not (found := looks.in_both_themes(trainer.page)), found[:5]
    assert not (found := looks.nameless(trainer.page)), found[:5]
    assert not (found := looks.too_wide(trainer.page, 900)), found[:5]

    student = opened("10-exercises")
    seat = student.page.locator(".db-desk")
    seat.locator("dl.db-givens").wait_for()
    seat.get_by_label("Class").select_option(label="week one")
    seat.locator("[role=status]", has_text="Enter your name in Student").wait_for()
    seat.get_by_label("Student").fill("ben")
    seat.get_by_label("Student").press("Enter")
    seat.locator("[role=status]", has_text="week one: 0 of 2 exercises done").wait_for()
    seat.get_by_label("Answer").fill("-5 m/h")
    seat.get_by_label("Answer").press("Enter")
    seat.locator("[role=status]", has_text="wrong sign").wait_for()
    seat.get_by_role("button", name="Solution").click()
    seat.locator("[role=status]", has_text="when the trainer releases it").wait_for()

    desk.get_by_role("button", name="Release solutions").click()
    desk.locator("[role=status]", has_text="Solutions released").wait_for()
    seat.get_by_role("button", name="Solution").click()
    seat.locator("math").first.wait_for()
    desk.get_by_role("button", name="Read answers").click()
    desk.locator("[role=status]", has_text="1 of 2 students have answered").wait_for()
    desk.locator("[aria-label='Class sheet'] tr", has_text="ben").filter(has_text="not yet, 1 try").wait_for()
    assert not (found := looks.in_both_themes(trainer.page)), found[:5]
    student.quiet()
    trainer.quiet()


def test_an_error_that_nobody_sees_is_seen(opened):
    book = opened("10-exercises")
    page = book.page
    page.wait_for_selector(".db-desk dl.db-givens")
    book.quiet()
    lab.in_kernel(page, """
import asyncio, threading
from desalbook.notebook.session import Session
async def task(): raise ValueError("planted in a task")
def thread(): raise ValueError("planted in a thread")
def callback(): raise ValueError("planted in a callback")
asyncio.ensure_future(task())
t = threading.Thread(target=thread); t.start(); t.join()
kept = Session.__new__(Session); kept.errors, kept.messages, kept._listeners = [], {}, []
kept.guard(callback)()
await asyncio.sleep(0)
""")
    seen = " ".join(lab.went_wrong(page))
    assert all(f"planted in a {where}" in seen for where in ("task", "thread", "callback")), seen
    with pytest.raises(AssertionError, match="planted"):
        book.quiet()


def test_notebooks_are_small():
    for name in BOOKS:
        book = json.loads((ROOT / "notebooks" / f"{name}.ipynb").read_text(encoding="utf-8"))
        assert sum(c["cell_type"] == "code" for c in book["cells"]) <= 12
