"""Every notebook in a real browser: run, turn a control, write nonsense, switch units and theme, save, reopen."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.outside import lab

pytestmark = pytest.mark.outside
ROOT = Path(__file__).parents[2]
BOOKS = sorted(p.stem for p in (ROOT / "notebooks").glob("*.ipynb"))
PANELS = [b for b in BOOKS if b[:2] not in ("08", "09", "10")]
SIZED = 20_000  # ms; a machine may be busy
OURS = ".db-panel, .db-desk"
SERIOUS = {"serious", "critical"}
DARK = "window.jupyterapp.commands.execute('apputils:change-theme', {theme: 'JupyterLab Dark'})"
LIGHT = DARK.replace("Dark", "Light")


@pytest.fixture(scope="module")
def place(program, tmp_path_factory):
    """A server and a browser for all notebooks."""
    chromium = program("chromium", "chromium-browser", "google-chrome")
    driver = pytest.importorskip("playwright.sync_api")
    with lab.server(tmp_path_factory.mktemp("walk")) as address, driver.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=list(lab.CHROMIUM))
        try:
            yield address, browser
        finally:
            browser.close()


@pytest.fixture
def opened(place):
    """A function that opens a notebook, runs all its cells and gives the page and what the console said."""
    address, browser = place
    pages = []

    def opening(name: str, width: int = 1280):
        page = browser.new_page(viewport={"width": width, "height": 1600})
        pages.append(page)
        page.set_default_timeout(SIZED)
        said: list[str] = []
        page.on("pageerror", lambda e: said.append(str(e)))
        page.on("console", lambda m: said.append(m.text) if m.type == "error" else None)
        page.route(re.compile(r"^https?://(?!127\.0\.0\.1)"), lambda route: route.abort())
        page.goto(f"{address}/doc/tree/notebooks/{name}.ipynb?token={lab.TOKEN}")
        page.wait_for_selector(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-Cell", timeout=30_000)
        page.evaluate(lab.RUN_ALL)
        return page, said

    yield opening
    for page in pages:
        page.close()


def serious(page) -> list[str]:
    """What the accessibility rules find in our own widgets, if it is serious."""
    import axe_playwright_python

    script = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
    page.evaluate(script)
    found = page.evaluate(
        "async (where) => (await axe.run({include: where.split(', ').filter(w => document.querySelector(w))"
        ".map(w => [w])})).violations", OURS)
    return [f"{v['id']}: {n['html'][:120]}" for v in found if v["impact"] in SERIOUS for n in v["nodes"]]


def quiet(page, said: list[str], name: str) -> None:
    text = page.inner_text(".jp-NotebookPanel:not(.lm-mod-hidden)")
    assert "Traceback" not in text and page.locator("[data-mime-type*=stderr]").count() == 0, name
    assert not said, said


@pytest.mark.parametrize("name", PANELS)
def test_a_step(opened, name):
    page, said = opened(name)
    page.wait_for_selector(".db-panel dl.db-key")
    assert page.locator(".db-panel svg").filter(has_text="Outfall").first.is_visible()
    line = page.locator(".db-panel svg").first.text_content()

    # a slider moved by the keyboard writes into the field and is followed
    slider = page.locator(".db-turn input[type=range]").first
    row = slider.locator("xpath=..")
    field = row.locator("input[type=text]")
    was = field.input_value()
    slider.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function("([e, w]) => e.value !== w", arg=[field.element_handle(), was])
    page.wait_for_selector("text=unsaved changes")

    # nonsense is answered beside the field in one sentence, and what was shown stays
    shown = page.inner_text(".db-panel dl.db-key")
    field.fill("nonsense")
    field.press("Enter")
    page.wait_for_function("e => e.querySelector('[role=alert]').innerText.includes('nonsense')",
                           arg=row.element_handle())
    assert "\n" not in row.locator("[role=alert]").inner_text().strip()
    assert page.inner_text(".db-panel dl.db-key") == shown
    page.get_by_role("button", name="Undo", exact=True).click()
    page.wait_for_function("([e, w]) => e.value === w", arg=[field.element_handle(), was])

    # units and theme
    page.locator(".db-panel select").first.select_option(label="US")
    page.wait_for_function("() => document.querySelector('.db-panel svg').textContent.includes('psi')")
    assert "bar g" in line and "psi" in page.locator(".db-panel svg").first.text_content()
    found = serious(page)
    page.evaluate(DARK)
    page.wait_for_selector("body[data-jp-theme-light=false]", state="attached")
    found += serious(page)
    page.evaluate(LIGHT)
    assert not found, found[:5]
    quiet(page, said, name)


def test_saving_and_opening_again(opened):
    page, said = opened("00-start")
    page.wait_for_selector(".db-panel dl.db-key")
    field = page.locator('.db-turn input[data-key="duty.train_product_flow"]')
    field.fill("2600 m3/d")
    field.press("Enter")
    page.wait_for_selector("text=unsaved changes")
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_selector("text=demo designs stay as delivered")
    page.get_by_role("textbox", name="File").fill("mine")
    page.get_by_role("button", name="Save as", exact=True).click()
    page.wait_for_selector(".db-panel b:has-text('mine.toml')")
    page.wait_for_selector("text=/saved · design/")
    page.reload()  # the kernel is alive: the widgets come back with their values
    page.wait_for_selector(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-Cell", timeout=30_000)
    page.evaluate(lab.RUN_ALL)
    page.wait_for_selector(".db-panel dl.db-key")
    quiet(page, said, "00-start")


def test_the_exercises(opened):
    from desalbook.notebook.exercises import BOOK, draw
    from desalbook.units import show

    page, said = opened("10-exercises")
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
    found = serious(page)
    page.get_by_role("button", name="Next exercise").click()
    desk.locator("p").filter(has_text=second.text).wait_for()
    desk.get_by_label("Student").fill("ada")
    desk.get_by_label("Student").press("Enter")
    number = draw(second, "ada").parts()[0][2]
    desk.locator("dd").filter(has_text=re.compile(f"^{re.escape(number)}$")).wait_for()
    assert page.locator(".db-sheet tr").count() == 3 * 6
    assert not found, found[:5]
    quiet(page, said, "10-exercises")


def test_notebooks_are_small():
    for name in BOOKS:
        book = json.loads((ROOT / "notebooks" / f"{name}.ipynb").read_text(encoding="utf-8"))
        assert sum(c["cell_type"] == "code" for c in book["cells"]) <= 12
