"""Designs on disk, through the page: save, take up again, two notebooks on one file, a page loaded again, stale."""

from __future__ import annotations

import re
import shutil

import pytest

from tests.outside import lab, looks

pytestmark = pytest.mark.outside
SHOWN = ".db-panel dl.db-key"
FLOW = "duty.train_product_flow"
NEW = re.compile("^(New file|File)$")
"""Name of the field for the name of a new file."""


def field(page, key: str = FLOW):
    return page.locator(f'.db-turn [data-key="{key}"]')


def write(page, text: str, key: str = FLOW) -> None:
    """Type into a field and press Enter."""
    field(page, key).fill(text)
    field(page, key).press("Enter")


def press(page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def holds(page, text: str, key: str = FLOW) -> None:
    """Wait until a field says this."""
    page.wait_for_function("([k, t]) => document.querySelector(`.db-turn [data-key='${k}']`)?.value === t",
                           arg=[key, text])


@pytest.fixture
def design(place):
    """A function that lays a copy of the demo design beside the notebooks."""
    def laying(name: str):
        path = place.shelf / "notebooks" / name
        shutil.copy(place.shelf / "data-demo" / "harbour-town.toml", path)
        return path
    return laying


def test_saving_and_revisions(opened, place):
    demo = (place.shelf / "data-demo" / "harbour-town.toml").read_bytes()
    book = opened("00-start")
    page = book.page
    page.wait_for_selector(SHOWN)
    write(page, "2600 m3/d")
    page.wait_for_selector(".db-panel >> text=unsaved changes")
    press(page, "Save")
    page.wait_for_selector(".db-panel >> text=demo designs stay as delivered")
    page.get_by_role("textbox", name=NEW).fill("a-name")
    press(page, "Save as")
    page.wait_for_selector(".db-panel b:has-text('a-name.toml')")  # to the last letter
    page.wait_for_selector(".db-panel >> text=/saved · design/")
    path = place.shelf / "notebooks" / "a-name.toml"
    assert '"2600 m3/d"' in path.read_text(encoding="utf-8")

    # a second revision, the first taken up again, and that undone
    write(page, "2700 m3/d")
    page.wait_for_selector(".db-panel >> text=unsaved changes")
    press(page, "Save")
    page.wait_for_function("() => [...document.querySelectorAll('.db-panel select option')]"
                           ".filter(o => /\\d\\s·\\s[0-9a-f]{8}$/.test(o.textContent)).length === 2")
    assert '"2700 m3/d"' in path.read_text(encoding="utf-8")
    past = page.get_by_label("Revision")
    past.select_option(index=2)
    take(page)
    holds(page, "2600 m3/d")
    page.wait_for_selector(".db-panel >> text=unsaved changes")
    press(page, "Undo")
    holds(page, "2700 m3/d")
    page.wait_for_selector(".db-panel >> text=/saved · design/")
    assert (place.shelf / "data-demo" / "harbour-town.toml").read_bytes() == demo
    book.quiet()


def take(page) -> None:
    """Where a revision is taken up by a button of its own, press it."""
    button = page.get_by_role("button", name="Restore", exact=True)
    if button.count():
        button.click()


def test_two_notebooks_on_one_file(opened, place, design):
    path = design("pair.toml")
    one = opened(lab.copy_of(place.shelf, "00-start", "pair-one", design="pair.toml"))
    two = opened(lab.copy_of(place.shelf, "00-start", "pair-two", design="pair.toml"))
    for book in (one, two):
        book.page.wait_for_selector(SHOWN)
    write(one.page, "2600 m3/d")
    one.page.wait_for_selector(".db-panel >> text=unsaved changes")
    write(two.page, "2300 m3/d")
    two.page.wait_for_selector(".db-panel >> text=unsaved changes")
    press(one.page, "Save")
    one.page.wait_for_selector(".db-panel >> text=/saved · design/")

    # the other notices as soon as it is looked at, and offers to read it again
    two.page.bring_to_front()
    two.page.evaluate("() => window.dispatchEvent(new Event('focus'))")
    two.page.wait_for_selector(".db-panel >> text=The file changed on disk")
    assert field(two.page).input_value() == "2300 m3/d"

    # saving over it is refused: the file stays, this text is kept beside it and here
    press(two.page, "Save")
    two.page.wait_for_selector(".db-panel >> text=the file changed since it was read")
    assert '"2600 m3/d"' in path.read_text(encoding="utf-8")
    kept = list(path.parent.glob("pair.mine-*.toml"))
    assert len(kept) == 1 and '"2300 m3/d"' in kept[0].read_text(encoding="utf-8")
    holds(two.page, "2300 m3/d")

    # read again: theirs stands, mine is one undo away, and can then go under another name
    press(two.page, "Read it again")
    holds(two.page, "2600 m3/d")
    two.page.wait_for_selector(".db-panel >> text=The file changed on disk", state="detached")
    press(two.page, "Undo")
    holds(two.page, "2300 m3/d")
    two.page.get_by_role("textbox", name=NEW).fill("pair-mine")
    press(two.page, "Save as")
    two.page.wait_for_selector(".db-panel b:has-text('pair-mine.toml')")
    assert '"2600 m3/d"' in path.read_text(encoding="utf-8")
    for book in (one, two):
        book.quiet()


def test_the_page_loaded_again(opened, place, design):
    design("again.toml")
    book = opened(lab.copy_of(place.shelf, "00-start", "again", design="again.toml"))
    page = book.page
    page.wait_for_selector(SHOWN)
    write(page, "2600 m3/d")
    page.wait_for_selector(".db-panel >> text=unsaved changes")
    lab.in_kernel(page, "")  # cells after the panel have run
    page.evaluate("window.jupyterapp.commands.execute('docmanager:save')")
    page.reload()  # the kernel lives: the widgets come back as they were, and answer
    page.wait_for_selector(SHOWN, timeout=60_000)
    holds(page, "2600 m3/d")
    page.wait_for_selector(".db-panel >> text=unsaved changes")
    write(page, "2650 m3/d")
    page.wait_for_function("() => document.querySelector('.db-panel [role=alert]:not(:empty)') === null")
    press(page, "Undo")
    holds(page, "2600 m3/d")
    press(page, "Undo")
    holds(page, "2500 m3/d")
    book.quiet()


def test_what_cannot_be_built_is_said_and_the_last_plant_stays(opened):
    book = opened("00-start")
    page = book.page
    page.wait_for_selector(SHOWN)
    page.get_by_role("textbox", name="Search the fields").fill("membrane.vessels")
    vessels = field(page, "membrane.vessels")
    vessels.wait_for()
    shown, line = page.inner_text(SHOWN), page.locator(".db-panel svg desc").first.text_content()
    places = looks.places(page)
    write(page, "2", "membrane.vessels")  # the schema takes it, no pump could press the water through
    row = vessels.locator("xpath=..")
    page.wait_for_function("e => e.querySelector('[role=alert]').innerText.length > 10", arg=row.element_handle())
    said = row.locator("[role=alert]").inner_text()
    assert "\n" not in said.strip() and "Traceback" not in said
    page.wait_for_selector(".db-panel .db-stale")
    page.wait_for_function("() => document.querySelectorAll('.db-panel .db-stale').length >= 3")
    assert "from the last valid design" in page.inner_text(".db-panel")
    assert vessels.input_value() == "2" and vessels.get_attribute("aria-invalid") == "true"
    assert page.inner_text(SHOWN) == shown and page.locator(".db-panel svg desc").first.text_content() == line
    assert not looks.moved(places, now := looks.places(page)), (places, now)  # nothing jumped

    # undone it is as before; done again it is said again
    press(page, "Undo")
    page.wait_for_selector(".db-panel .db-stale", state="detached")
    page.wait_for_function("e => e.querySelector('[role=alert]').innerText === ''", arg=row.element_handle())
    assert page.inner_text(SHOWN) == shown
    press(page, "Redo")
    page.wait_for_selector(".db-panel .db-stale")
    page.wait_for_function("e => e.querySelector('[role=alert]').innerText.includes('200 bar')",
                           arg=row.element_handle())
    press(page, "Undo")
    page.wait_for_selector(".db-panel .db-stale", state="detached")
    assert not re.search("defect", page.inner_text(".db-panel"), re.I)
    book.quiet()


def test_nothing_moves_by_itself(opened):
    """A reader who asked for less motion gets none: no animation, no transition in what is ours."""
    book = opened("00-start", reduced_motion="reduce")
    page = book.page
    page.wait_for_selector(SHOWN)
    moving = page.evaluate("""() => [...document.querySelectorAll('.db-panel, .db-panel *')].filter(e => {
      const s = getComputedStyle(e); const own = e.closest('.db-turn, svg, dl, figure');
      return own && (s.animationName !== 'none' || s.transitionDuration.split(',').some(t => parseFloat(t) > 0)); })
      .map(e => e.outerHTML.slice(0, 80))""")
    assert moving == [] and page.locator(".db-panel animate, .db-panel animateTransform").count() == 0
    book.quiet()


RESTART = """async () => {
  const context = window.jupyterapp.shell.currentWidget.sessionContext;
  await context.restartKernel();
  await context.session.kernel.info;
}"""


def test_a_restarted_kernel_loses_nothing(opened, place, design):
    """One line and a way on; the file, units and groups as they were, and the unsaved text offered as a draft."""
    design("lasting.toml")
    book = opened("00-start")
    page = book.page
    page.wait_for_selector(SHOWN)
    page.get_by_label("Design file").select_option(label="lasting.toml")
    press(page, "Open")
    page.wait_for_selector(".db-panel b:has-text('lasting.toml')")
    page.get_by_label("Units").select_option(label="US")
    page.wait_for_function("() => document.querySelector('.db-panel svg').textContent.includes('psi')")
    write(page, "2600 m3/d")
    page.wait_for_selector(".db-panel >> text=unsaved changes")
    assert [p.name for p in (place.shelf / "notebooks").glob("lasting*")] == ["lasting.toml"]  # side files are hidden

    page.evaluate(RESTART)
    line = page.locator(".db-ended")
    line.wait_for()
    assert "kept as a draft" in line.inner_text() and line.count() == 1
    page.wait_for_function("() => [...document.querySelectorAll('.db-panel > :not(.db-ended)')].every(e => e.inert)")
    lab.watch(page)
    line.get_by_role("button", name="Run this notebook again").click()
    line.wait_for(state="detached")
    page.wait_for_selector(".db-panel b:has-text('lasting.toml')")
    page.wait_for_function("() => document.querySelector('.db-panel svg').textContent.includes('psi')")
    restore = page.get_by_role("button", name="Restore the draft")
    restore.wait_for()
    assert page.locator(".db-panel >> text=unsaved changes").count() == 0  # not taken silently
    restore.click()
    page.wait_for_selector(".db-panel >> text=unsaved changes")
    lab.until(page, lambda: field(page).input_value().replace("\N{THIN SPACE}", ""), "686847 gpd")  # 2600 m3/d
    press(page, "Save")
    page.wait_for_selector(".db-panel >> text=Saved in")
    text = (place.shelf / "notebooks" / "lasting.toml").read_text(encoding="utf-8")
    assert 'train_product_flow = "2600 m3/d"' in text

    # another notebook opens the same file in the same units, without being told
    other = opened("06-product-water")
    other.page.wait_for_selector(".db-panel b:has-text('lasting.toml')")
    other.page.wait_for_function("() => document.querySelector('.db-panel svg').textContent.includes('psi')")
    book.quiet()
    other.quiet()
