"""The notebook of the pack in a browser: every control has a name, nothing is too wide, nothing goes wrong."""

from __future__ import annotations

import pytest

from tests.outside import looks

pytestmark = [pytest.mark.full, pytest.mark.outside]


def test_a_pack_is_looked_at_and_made(opened):
    book = opened("15-pack")
    page = book.page
    desk = page.locator(".db-panel").first
    desk.get_by_label("Look at").select_option(label="402 Pressure tests and examinations")
    desk.locator(".db-document caption", has_text="Test pressure of each part").wait_for()
    desk.get_by_label("Units").first.select_option(label="US")
    desk.locator(".db-document th", has_text="psig").first.wait_for()
    desk.get_by_text("Weights, skids and containers", exact=True).last.click()
    desk.get_by_label("Drawing").select_option(label="Elevations")
    desk.locator("caption", has_text="Mass by part").wait_for()
    desk.locator("figcaption", has_text="Elevations").last.wait_for()
    assert not (found := looks.in_both_themes(page)), found[:5]
    assert not (found := looks.nameless(page)), found[:5]
    assert not (found := looks.too_wide(page, 1000)), found[:5]
    book.quiet()
