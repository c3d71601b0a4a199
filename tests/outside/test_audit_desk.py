"""The reviewer's desk of 09-audit in a browser: find, follow, mark, compare, export, in both sets of units."""

from __future__ import annotations

import json
import shutil

import pytest

from tests.outside import lab, looks

pytestmark = pytest.mark.outside
BOOK = "09-audit"
DESK = pytest.mark.skipif("audit_desk" not in (lab.ROOT / "notebooks" / f"{BOOK}.ipynb").read_text(encoding="utf-8"),
                          reason="the notebook has no desk")


@pytest.fixture
def files(place):
    """Two designs beside the notebooks: the demo, and the same in colder water."""
    folder = place.shelf / "notebooks"
    one, two = folder / "mine.toml", folder / "colder.toml"
    shutil.copy(place.shelf / "data-demo" / "harbour-town.toml", one)
    two.write_text(one.read_text(encoding="utf-8").replace('"14 degC"', '"10 degC"'), encoding="utf-8")
    yield folder
    for path in [*folder.glob("mine*"), *folder.glob("colder*"), *folder.glob(".desalbook/*")]:
        path.unlink()


@DESK
def test_a_review(opened, place, files):
    book = opened(lab.copy_of(place.shelf, BOOK, "audit-of-mine", design="mine.toml"))
    page = book.page
    desk = page.locator(".db-panel")
    desk.get_by_text("the record agrees with itself").wait_for(timeout=60_000)

    # the plan opens the review and leads to lines, one after the other
    plan = desk.locator(".db-plan").first
    plan.locator("summary").first.filter(has_text="What does not pass").wait_for()
    desk.get_by_role("button", name="Next in the plan").click()
    desk.locator("figure svg").first.wait_for()
    page.wait_for_function("e => e.value !== ''", arg=desk.get_by_label("Value", exact=True).element_handle())
    first = desk.get_by_label("Value", exact=True).input_value()
    lab.until(page, plan.locator(f'[title="{first}"]').count, 1)

    # find, then follow a figure: its picture, its equation; up to what it rests on, and down again
    desk.get_by_label("Find").fill("filtration rate")
    desk.get_by_label("Find").press("Enter")
    desk.get_by_text("lines matching").wait_for()
    desk.get_by_role("button", name="filters.rate", exact=True).click()
    page.wait_for_function("e => e.value === 'filters.rate'",
                           arg=desk.get_by_label("Value", exact=True).element_handle())
    desk.locator("math").first.wait_for()
    followed = desk.get_by_label("Value", exact=True)
    assert followed.input_value() == "filters.rate"
    desk.locator(".db-ways button").first.click()
    page.wait_for_function("e => e.value !== 'filters.rate'", arg=followed.element_handle())
    lab.in_kernel(page, "")  # the ways of the line that was led to
    up = followed.input_value()
    desk.locator(".db-ways", has_text="Used by").wait_for()
    desk.locator(".db-ways button").last.click()  # what it carries leads down
    page.wait_for_function("([e, w]) => e.value !== w", arg=[followed.element_handle(), up])

    # no such line is a sentence, and nothing is marked without initials
    followed.fill("filters.rat")
    followed.press("Enter")
    desk.get_by_text("No figure is called filters.rat").wait_for()
    followed.fill("filters.rate")
    followed.press("Enter")
    desk.locator("math").first.wait_for()
    mark = desk.get_by_role("button", name="Mark", exact=True)
    mark.click()
    desk.locator("[role=alert]", has_text="initials").first.wait_for()
    desk.get_by_label("Initials").fill("AB")
    desk.get_by_label("Verdict").select_option(label="question")
    desk.get_by_label("Note").fill("with one filter backwashing?")
    mark.click()
    desk.locator("[role=status]", has_text="question by AB").wait_for()
    desk.get_by_role("cell", name="questioned", exact=True).wait_for()

    # the designer answers beside the line; the reviewer signs with a remark, for the question is open
    desk.get_by_label("Answer").fill("one out: 14.6 m/h, below 15")
    desk.get_by_role("button", name="Answer", exact=True).click()
    desk.get_by_text("answered, the reviewer has the word").wait_for()
    desk.get_by_label("Full name").fill("Ada Brandt")
    sign = desk.get_by_role("button", name="Sign off", exact=True)
    sign.click()
    desk.locator("[role=alert]", has_text="still open: 1 question").wait_for()
    desk.get_by_label("Remark").fill("closed by phone")
    sign.click()
    desk.locator("[role=status]", has_text="Signed by Ada Brandt").wait_for()
    desk.locator("li", has_text="of the calculation on this desk").wait_for()
    desk.get_by_text("A second reviewer has not signed yet").wait_for()
    kept = [path.read_text(encoding="utf-8") for path in (files / ".desalbook").glob("mine*.marks")]
    assert len(kept) == 1 and "with one filter backwashing?" in kept[0] and "Ada Brandt" in kept[0]

    # units, in what was followed and what was found
    desk.get_by_label("Units").select_option(label="US")
    page.wait_for_function("() => document.querySelector('.db-panel figure').textContent.includes('gpm/ft')")
    desk.get_by_label("Units").select_option(label="SI")
    page.wait_for_function("() => !document.querySelector('.db-panel figure').textContent.includes('gpm/ft')")

    # compare with the other file
    desk.get_by_label("Compare with").select_option(label="colder.toml")
    desk.get_by_role("button", name="Compare", exact=True).click()
    page.wait_for_function("() => document.querySelector('.db-panel').textContent.includes('Minimum water temper')")

    # carried out beside the design
    for button, name in (("Export audit page", "mine-audit.html"), ("Export record", "mine-audit.json")):
        desk.get_by_role("button", name=button).click()
        desk.locator("[role=status]", has_text=name).wait_for(timeout=60_000)  # some thousand equations
    assert "<math" in (files / "mine-audit.html").read_text(encoding="utf-8")
    assert json.loads((files / "mine-audit.json").read_text(encoding="utf-8"))["format"] == 1

    assert not (found := looks.in_both_themes(page)), found[:5]
    assert not (found := looks.nameless(page)), found[:5]
    assert not (found := looks.too_wide(page, 900)), found[:5]
    book.quiet()


def test_the_cells_below_the_desk(opened):
    """What the desk shows is there without it too: lines, graph, doubts, comparison, marks, files."""
    book = opened(BOOK)
    page = book.page
    page.wait_for_function("w => document.querySelector(w).textContent.includes(\"'trail.xlsx'\")", arg=lab.BOOK,
                           timeout=60_000)
    text = page.locator(lab.BOOK).text_content()  # cells out of sight too
    for words in ("Computed lines beyond 1e-12", "filters.rate.check", "questioned", "stale"):
        assert words in text, words
    assert page.locator(".jp-OutputArea-output svg").count() >= 1
    book.quiet()


