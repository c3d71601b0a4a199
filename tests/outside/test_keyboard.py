"""The walk with the keyboard alone: Tab, arrows, Enter, Space, Escape and typing; where the focus is can be seen."""

from __future__ import annotations

import re

import pytest

from tests.outside import lab, looks

pytestmark = pytest.mark.outside
# what has the focus, and how it is seen: by an outline, or in the picture by the stroke of the piece
FOCUS = """() => {
  const e = document.activeElement, s = getComputedStyle(e), hit = e.querySelector(':scope > .hit');
  const drawn = hit ? getComputedStyle(hit) : null;
  return {ours: Boolean(e.closest('.db-panel, .db-desk')),
          name: e.getAttribute('aria-label') || (e.labels?.length ? e.labels[0].textContent : '') || e.textContent,
          tag: e.tagName, key: e.dataset.key || '', ask: e.dataset.ask || '', type: e.type || '',
          where: e.closest('.db-ways') ? 'db-ways' : '',
          seen: (s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2)
                || (drawn !== null && drawn.stroke !== 'none' && parseFloat(drawn.strokeWidth) >= 2)};
}"""
MOST = 400
HEAD = ".db-panel .desalbook .quiet"


def tab(page, *wanted, back: bool = False):
    """Press Tab until what has the focus is what is wanted; in our widgets the focus is always seen.

    Each of ``wanted`` is ``(what, value)`` of the dictionary that FOCUS gives; a name may begin so.
    """
    for _ in range(MOST):
        page.keyboard.press("Shift+Tab" if back else "Tab")
        at = page.evaluate(FOCUS)
        assert at["seen"] or not at["ours"], f"no ring: {at}"
        if all(at[k].strip().startswith(v) for k, v in wanted):
            return at
    raise AssertionError(f"Tab does not reach {wanted}")


def ready(page, what: str, arg=None) -> None:
    page.wait_for_function(what, arg=arg)


def value(page, key: str) -> str:
    return page.locator(f'.db-turn [data-key="{key}"]').input_value()


def test_the_whole_walk_by_keyboard(opened, place):
    book = opened("00-start")
    page = book.page
    page.wait_for_selector(".db-panel dl.db-key")
    keys = page.keyboard
    buttons = [b.strip() for b in page.locator(".db-panel button, .db-panel input").evaluate_all(
        "all => all.map(e => e.textContent || e.labels?.[0]?.textContent || '')")]
    before_the_name = buttons.index("Save as") < next(i for i, b in enumerate(buttons) if b in ("New file", "File"))
    here = "() => window.jupyterapp.shell.currentWidget.content.activeCellIndex"
    page.wait_for_function("() => document.activeElement.closest('.jp-Cell')")

    # from the notebook to a control: up to the cell of the panel, then in
    while "start(" not in page.evaluate("() => window.jupyterapp.shell.currentWidget.content.activeCell.model"
                                        ".sharedModel.getSource()"):
        before = page.evaluate(here)
        keys.press("ArrowUp")
        ready(page, f"n => ({here})() < n", before)
    tab(page, ("tag", "SELECT"), ("name", "Units"))
    keys.press("ArrowDown")  # a list turns where it stands, and the focus stays in the panel
    ready(page, "() => document.querySelector('.db-panel svg').textContent.includes('psi')")
    assert page.evaluate(FOCUS)["tag"] == "SELECT"
    keys.press("ArrowUp")
    ready(page, "() => document.querySelector('.db-panel svg').textContent.includes('barg')")

    # a typed field, then its slider
    key = "duty.train_product_flow"
    tab(page, ("key", key))
    assert value(page, key) == "2500 m3/d"
    keys.press("Control+a")
    keys.type("2600 m3/d")
    keys.press("Enter")
    page.wait_for_selector("text=unsaved changes")
    tab(page, ("type", "range"))
    keys.press("ArrowRight")
    ready(page, "k => document.querySelector(`[data-key='${k}']`).value !== '2600 m3/d'", key)

    # another part of the design: found by its name, and folded groups opened
    tab(page, ("tag", "INPUT"), ("name", "Search the fields"))
    keys.type("recovery maximum")
    page.wait_for_selector("text=not apply to this plant")
    keys.press("Escape")  # clears the search, and does not leave the panel
    page.wait_for_selector("text=not apply to this plant", state="detached")
    for group in ("Membranes", "Membrane"):
        tab(page, ("tag", "SUMMARY"), ("name", group))
        keys.press("Enter")
        lab.in_kernel(page, "")  # what was folded is there before the next key
    page.wait_for_selector('.db-turn [data-key="membrane.row"]')

    # an assumed value is confirmed with Space, and the focus goes to its field; then reset
    tab(page, ("name", "Confirm "))
    keys.press("Space")
    ready(page, "() => document.activeElement.dataset.key && !document.activeElement.closest('.db-assumed')")
    confirmed = page.evaluate(FOCUS)["key"]
    tab(page, ("name", "Reset "))
    keys.press("Enter")
    ready(page, "k => document.activeElement.dataset.key === k && document.activeElement.closest('.db-assumed')",
          confirmed)

    # back by three changes, forward by one, back again
    tab(page, ("name", "Undo"), back=True)
    was = [page.inner_text(HEAD)]
    for what in ("Undo", "Undo", "Undo", "Redo", "Undo"):
        if not page.evaluate(FOCUS)["name"].startswith(what):
            tab(page, ("name", what), back=what == "Undo")
        keys.press("Enter" if len(was) % 2 else "Space")
        ready(page, "([w, t]) => document.querySelector(w).innerText !== t", [HEAD, was[-1]])
        was.append(page.inner_text(HEAD))
    assert was[0] == was[2] and was[3] == was[5] != was[4] == was[2], was  # reset undoes the confirmation

    # why, and up the trail: the focus stays in it
    tab(page, ("name", "Why Feed pressure"))
    keys.press("Enter")
    page.wait_for_selector(".db-ways")
    lab.in_kernel(page, "")
    trail = []
    for _ in range(3):
        if page.evaluate(FOCUS)["where"] != "db-ways":
            tab(page, ("where", "db-ways"))
        at, shown = page.evaluate(FOCUS), page.inner_text(".db-ways")
        trail.append(at["ask"])
        keys.press("Enter")
        ready(page, "t => document.querySelector('.db-ways').innerText !== t", shown)
        lab.in_kernel(page, "")  # drawn to the end before the next key
        assert page.evaluate(FOCUS)["ours"], at
    assert len(set(trail)) == 3, trail

    # saved under a new name
    tab(page, ("name", page.locator(".db-panel label", has_text=re.compile("^(New file|File)$")).inner_text()),
        ("tag", "INPUT"), back=True)
    keys.type("by-hand")
    keys.press("Shift+Tab" if before_the_name else "Tab")
    if not page.evaluate(FOCUS)["name"].startswith("Save as"):
        tab(page, ("name", "Save as"), back=before_the_name)
    keys.press("Enter")
    page.wait_for_selector(".db-panel b:has-text('by-hand.toml')")
    assert "2600 m3/d" in (place.shelf / "notebooks" / "by-hand.toml").read_text(encoding="utf-8")

    # out of the panel, down to the link to the next notebook
    keys.press("Escape")
    ready(page, "() => document.activeElement.classList.contains('jp-Cell')")
    tab(page, ("tag", "A"), ("name", "01-raw-water"))
    book.quiet()
    keys.press("Enter")
    page.wait_for_function("() => window.jupyterapp.shell.currentWidget.title.label.startsWith('01-raw-water')")
    page.wait_for_function("() => document.activeElement.closest('.jp-Cell')")


def test_a_picture_by_keyboard(opened):
    book = opened("03-membranes")
    page = book.page
    page.wait_for_selector(".db-panel figure")
    page.locator(".db-panel select").first.focus()
    tab(page, ("name", "Download"))
    with page.expect_download() as got:
        page.keyboard.press("Enter")
    text = got.value.path().read_text(encoding="utf-8")
    assert got.value.suggested_filename.endswith(".svg")
    assert text.startswith("<svg") and "var(--" not in text and "xmlns" in text
    assert not looks.nameless(page)
    book.quiet()
