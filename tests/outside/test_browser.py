"""The start notebook in a real browser: the picture, the figures, a change, and what is said to nonsense."""

from __future__ import annotations

import re

import pytest

from tests.outside import lab
from tests.outside.conftest import SIZED

pytestmark = pytest.mark.outside


@pytest.fixture(scope="module")
def page(place):
    """The start notebook in the whole of JupyterLab, all cells run."""
    page = place.browser.new_page(viewport={"width": 1500, "height": 1400})
    page.set_default_timeout(SIZED)
    lab.visit(page, place.address, "00-start", "lab")
    page.evaluate(lab.RUN_ALL)
    page.wait_for_selector(".db-panel dl.db-key")
    yield page
    page.evaluate(lab.END_KERNEL)
    page.close()
    place.tidy()


def figures(page) -> dict[str, str]:
    """Title and text of the key figures."""
    return dict(page.eval_on_selector_all(
        ".db-panel dl.db-key dt", "all => all.map(t => { const n = t.nextElementSibling, u = n.nextElementSibling;"
        " return [t.innerText, `${n.innerText} ${u.innerText}`]; })"))


def field(page, part: str, key: str):
    """The typed field of a key, on the page of its part of the design."""
    page.get_by_role("textbox", name="Search the fields").fill(f"{part} {key}")
    found = page.locator(f'.db-turn input[type=text][data-key="{key}"]')
    found.wait_for()
    return found


def changed(page, text: str) -> dict[str, str]:
    """The key figures once they say something else than ``text``."""
    page.wait_for_function(
        "old => { const t = document.querySelector('.db-panel dl.db-key'); return t && t.innerText !== old; }",
        arg=text, timeout=SIZED)
    return figures(page)


def test_all_cells_run(page):
    assert page.locator(".jp-OutputArea-output[data-mime-type*='stderr']").count() == 0
    text = page.inner_text(".jp-NotebookPanel:not(.lm-mod-hidden)")
    assert "Traceback" not in text and "Error:" not in text


def test_the_water_line(page):
    line = page.locator(".db-panel svg").filter(has_text="Outfall").first
    assert line.is_visible()
    words = " ".join(page.locator(".db-panel svg text").all_text_contents())
    for part in ("Sea", "Feed pump", "HP pump", "Vessels", "Isobaric ERD", "Product", "Outfall"):
        assert part in words, part
    assert line.bounding_box()["width"] > 600


def test_key_figures(page):
    shown = figures(page)
    assert set(shown) >= {"RO recovery", "Feed pressure", "Average flux"}
    assert shown["RO recovery"] == "42.00 %"
    assert shown["Feed pressure"].endswith("barg") and shown["Average flux"].endswith("L/(m² h)")


def test_a_change_is_followed_and_nonsense_is_answered(page):
    first, text = figures(page), page.inner_text(".db-panel dl.db-key")
    recovery = field(page, "Membrane", "membrane.recovery")
    recovery.fill("37 %")
    recovery.press("Enter")
    second = changed(page, text)
    assert second["RO recovery"] == "37.00 %"
    assert second["Feed pressure"] != first["Feed pressure"] and second["Average flux"] != ""

    recovery.fill("137 %")
    recovery.press("Enter")
    said = page.locator(".db-panel [role=alert], .db-panel .db-wrong").filter(has_text=re.compile("137"))
    said.first.wait_for(timeout=SIZED)
    assert said.count() == 1
    sentence = said.first.inner_text()
    assert "\n" not in sentence and "allowed" in sentence and "Traceback" not in sentence
    assert figures(page) == second
