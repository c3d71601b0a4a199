"""The page of a step: a field, what it changes and the check it turns stand in view together, on the open plant."""

from __future__ import annotations

import shutil

import pytest

from tests import plants
from tests.outside import lab, looks

pytestmark = pytest.mark.outside
KEY = '.db-turn [data-key="membrane.recovery"]'
# what is within the part of the notebook that is in view, not covered by the line that stays on top
_IN_VIEW = """(which) => {
  const page = document.querySelector('.jp-NotebookPanel:not(.lm-mod-hidden) .jp-WindowedPanel-outer');
  const room = page.getBoundingClientRect(), top = document.querySelector('.db-top').getBoundingClientRect();
  const bottom = Math.min(room.bottom, window.innerHeight);
  return which.map(w => { const e = document.querySelector(w); if (!e) return [w, 'is not there'];
    const r = e.getBoundingClientRect(), from = e.closest('.db-top') ? room.top - 1 : top.bottom - 1;
    return r.top >= from && r.bottom <= bottom + 1 && r.height > 0 ? null
      : [w, r.top, r.bottom, 'not within', from, bottom]; }).filter(x => x !== null); }"""
_BOXES = """() => [...document.querySelectorAll('.db-panel, .db-panel *')].filter(e => {
  const s = getComputedStyle(e);
  return ['auto', 'scroll'].includes(s.overflowY) && e.scrollHeight > e.clientHeight + 1 && e.clientHeight > 0
    && !e.closest('svg') && !['INPUT', 'SELECT', 'TEXTAREA', 'OPTION'].includes(e.tagName); })
  .map(e => `${e.tagName} ${e.className}`)"""
_TO_PANEL = """() => {
  const page = document.querySelector('.jp-NotebookPanel:not(.lm-mod-hidden) .jp-WindowedPanel-outer');
  page.scrollTop += document.querySelector('.db-columns').getBoundingClientRect().top
    - page.getBoundingClientRect().top - document.querySelector('.db-top').offsetHeight - 4; }"""


def beside(page, title: str) -> list[str]:
    """What stands beside a value: now, before, in the file."""
    return page.evaluate("""(t) => { const dt = [...document.querySelectorAll('.db-panel dl.db-key dt')]
      .find(e => e.innerText.trim().endsWith(t)); const all = []; let e = dt.nextElementSibling;
      while (e && e.tagName === 'DD') { all.push(e.innerText.trim()); e = e.nextElementSibling; }
      return [all[0], all[2], all[3]]; }""", title)


def write(page, text: str) -> None:
    was = page.inner_text(".db-panel .db-top .quiet")
    field = page.locator(KEY).first
    field.click()
    field.fill(text)
    page.keyboard.press("Enter")
    page.wait_for_function("t => document.querySelector('.db-panel .db-top .quiet').innerText !== t", arg=was)


def test_cause_and_effect_are_in_one_view(opened):
    book = opened("03-membranes", 1280, 800)
    page = book.page
    page.wait_for_selector(".db-panel dl.db-key")
    # beside the list of files, which a fresh JupyterLab opens with
    page.evaluate("window.jupyterapp.commands.execute('filebrowser:activate')")
    page.wait_for_function("() => document.querySelector('.db-panel').clientWidth < 880")
    looks.settled(page)
    page.evaluate(_TO_PANEL)
    line = page.locator(".db-top .water-line svg").first.bounding_box()
    assert line["width"] > 0.9 * page.locator(".db-panel").first.bounding_box()["width"] and 120 < line["height"] < 200
    assert page.locator(".db-first .db-row").count() <= 9
    at = page.evaluate("() => document.querySelector('.jp-WindowedPanel-outer').scrollTop")
    assert not (page.evaluate(_IN_VIEW, [KEY, ".db-panel dl.db-key", ".db-watching", ".db-top .water-line svg"]))

    # a change: the check it turns comes first, a value that fails is among the results, and what it was stands beside
    first = beside(page, "Feed pressure")
    assert first[1:] == ["", ""]
    write(page, "50 %")
    turned = page.locator(".db-watch li").first
    turned.filter(has_text="fails").wait_for()
    shown = page.locator(".db-panel dl.db-key dt.fails").filter(has_text="lead element")
    shown.wait_for()
    view = [KEY, ".db-panel dl.db-key", ".db-watch li:first-child", ".db-top svg"]
    lab.until(page, lambda: page.evaluate(_IN_VIEW, view), [])
    second = beside(page, "Feed pressure")
    assert second[1:] == [first[0], ""] and second[0] != first[0]  # before is the file's: said once

    # one more: against the change before, and against the file
    write(page, "42.5 %")
    page.locator(".db-watch li").filter(has_text="before: fails").first.wait_for()
    shown.wait_for(state="detached")
    third = beside(page, "Feed pressure")
    assert third[1:] == [second[0], first[0]]
    assert page.evaluate("() => document.querySelector('.jp-WindowedPanel-outer').scrollTop") == at

    page.evaluate("window.jupyterapp.shell.collapseLeft()")
    page.wait_for_function("() => document.querySelector('.db-top svg').viewBox.baseVal.width > 1000")
    looks.settled(page)
    page.evaluate(_TO_PANEL)
    lab.until(page, lambda: page.evaluate(_IN_VIEW, view), [])
    page.set_viewport_size({"width": 1600, "height": 1000})
    page.wait_for_function("() => document.querySelector('.db-top svg').viewBox.baseVal.width > 1200")
    looks.settled(page)
    page.evaluate(_TO_PANEL)
    lab.until(page, lambda: page.evaluate(_IN_VIEW, view), [])
    page.set_viewport_size({"width": 1280, "height": 800})
    looks.settled(page)

    # a field far down in a folded group still has its results beside it
    page.locator(".db-turn details[data-group=membrane] > summary").click()
    far = page.locator('.db-turn [data-key="membrane.borate_permeability"]')
    far.wait_for()
    far.evaluate("e => e.scrollIntoView({block: 'end'})")
    where = '.db-turn [data-key="membrane.borate_permeability"]'
    lab.until(page, lambda: page.evaluate(_IN_VIEW, [where, ".db-panel dl.db-key", ".db-top svg"]), [])
    assert not (found := page.evaluate(_BOXES)), found

    # only what applies is there: the recovery is written, so nothing proposes one; what is found says so
    assert page.locator('.db-turn [data-key="membrane.recovery_maximum"]').count() == 0
    page.get_by_role("textbox", name="Search the fields").fill("recovery_maximum")
    page.get_by_text("1 more does not apply to this plant").wait_for()
    page.get_by_role("textbox", name="Search the fields").fill("shut-off head")
    page.locator('.db-found [data-key="hp_pump.shutoff_ratio"]').wait_for()

    # auto says what it took
    vessels = page.locator('.db-turn [data-key="membrane.vessels"]').first
    assert vessels.get_attribute("placeholder").startswith("auto: ")
    page.get_by_role("button", name="Whole water line").click()
    page.locator(".db-top figure").wait_for()
    whole = page.locator(".db-top .water-line svg").first
    lab.until(page, lambda: whole.bounding_box()["height"] > 350)
    assert not (found := looks.in_both_themes(page)), found[:5]
    assert not (found := looks.too_wide(page, 900)), found[:5]
    book.quiet()


def answers_a_pointer(page) -> None:
    """A picture tells the value nearest to the pointer, or the next one by keys, in the units that are set."""
    tip = page.locator(".db-pictures").locator("xpath=ancestor::*[.//*[contains(@class, 'db-tip')]][1]/*").last
    energy, pump = (page.locator(f".db-pictures figure:has-text('{t}') svg").first
                    for t in ("Energy by consumer", "case, speed"))
    bar = energy.locator("[data-read^='HP pump']")
    bar.hover()
    tip.filter(has_text=bar.get_attribute("data-read")).wait_for()
    curve = pump.locator("[data-name='full speed']")
    x, y = curve.evaluate("""e => { e.scrollIntoView({block: 'center'});
      const q = e.getPointAtLength(0).matrixTransform(e.getScreenCTM());
      return [q.x + 1, q.y - 2]; }""")
    page.mouse.move(x, y)
    head, unit = curve.get_attribute("data-ys").split(";")[0], curve.get_attribute("data-axes").split("|")[3]
    tip.filter(has_text=f"full speed: head {head}\u00a0{unit} at flow 0").wait_for()
    page.mouse.move(0, 0)
    tip.wait_for(state="hidden")

    page.get_by_role("button", name="Download Energy by consumer as SVG").focus()
    page.keyboard.press("Tab")
    tip.filter(has_text="Whole plant").wait_for()
    page.keyboard.press("ArrowRight")
    tip.filter(has_text=energy.locator("[data-read]").nth(1).get_attribute("data-read")).wait_for()
    page.keyboard.press("Escape")
    tip.wait_for(state="hidden")


def test_tables_below_follow_the_open_plant(opened, place):
    """Tables sort and filter, follow each change, and are of whatever file is open, in the units that are set."""
    shutil.copy(plants.path("industrial-us"), place.shelf / "notebooks" / "works.toml")
    book = opened("04-pressure-and-energy", 1280, 900)
    page = book.page
    page.wait_for_selector(".db-panel dl.db-key")
    tab = page.locator(".db-tab")
    answers_a_pointer(page)

    def show(name: str) -> None:
        page.locator(".db-tabs").get_by_role("button", name=name, exact=True).click()
        page.wait_for_function("t => document.querySelector('.db-tabs [aria-pressed=true]')?.innerText === t", arg=name)

    # the comparison is sized beside, and again of what is changed
    show("ERDs compared")
    own = tab.get_by_text("Isobaric ERD with booster pump (this design)")
    own.wait_for()
    page.locator('.db-turn select[data-key="energy_recovery.device"]').select_option("pelton")
    tab.get_by_text("Pelton turbine on the shaft (this design)").wait_for()
    page.get_by_role("button", name="Undo", exact=True).click()
    own.wait_for()
    energy = tab.get_by_role("columnheader").nth(1)
    energy.get_by_role("button").click()
    assert energy.get_attribute("aria-sort") == "ascending"
    assert tab.get_by_role("row").nth(1).inner_text().startswith("Isobaric ERD")
    tab.get_by_label("Filter the rows").fill("turbine")
    assert tab.locator("tr:visible").count() == 1 + 2

    # another file, in its own units: the same table of that plant; what was sorted and filtered stays so
    page.get_by_label("Design file").select_option(label="works.toml")
    page.get_by_role("button", name="Open", exact=True).click()
    tab.get_by_text("Hydraulic turbocharger (this design)").wait_for(state="attached")
    page.locator(".db-panel").get_by_label("Units", exact=True).select_option(label="US")
    tab.get_by_text("kWh/kgal").first.wait_for()
    assert tab.get_by_role("columnheader").nth(1).get_attribute("aria-sort") == "ascending"
    show("Design pressures")
    tab.get_by_text("Governing, psig").wait_for()
    told = lab.in_kernel(page, """
from desalbook.notebook import tables, tabs
print(step.pictures.html.endswith(tabs.sorting(tables.pressures(step.session.plant, "us").text) + "</div>"))
print(step.session.path.name, tables.pressures(plant).text in step.pictures.html)
""")
    assert told.split() == ["True", "works.toml", "False"]
    show("Single failures (N-1)")
    assert not (found := looks.in_both_themes(page)), found[:5]
    assert not (found := looks.too_wide(page, 900)), found[:5]
    assert not (found := page.evaluate(_BOXES)), found
    book.quiet()
