"""Pictures handed over as files: in a dark notebook each is an SVG that stands alone, dark ink on white."""

from __future__ import annotations

import re
import xml.etree.ElementTree as xml

import pytest

from tests.outside import looks

pytestmark = pytest.mark.outside


@pytest.mark.parametrize("name", ("00-start", "03-membranes"))
def test_every_picture_stands_alone(opened, tmp_path, name):
    book = opened(name, 900)
    page = book.page
    page.wait_for_selector(".db-pictures svg")
    page.get_by_role("button", name="Whole water line").click()
    page.wait_for_selector(".db-top [data-download]")
    page.evaluate(looks.DARK)
    buttons = page.locator("[data-download]")
    assert buttons.count() == 3
    for n in range(buttons.count()):
        with page.expect_download() as got:
            buttons.nth(n).click()
        file = tmp_path / got.value.suggested_filename
        got.value.save_as(file)
        text = file.read_text(encoding="utf-8")
        root = xml.fromstring(text)
        assert "var(" not in text and root.get("width") and root.get("height")
        assert "Harbour town, two trains, revision A" in {e.text for e in root.iter()}  # says what it is of
        alone = page.context.browser.new_page(viewport={"width": 1300, "height": 1000})
        try:
            alone.goto(file.as_uri())
            seen = alone.evaluate("""() => [...document.querySelectorAll('text')].map(t => {
              const s = getComputedStyle(t), a = t.getBoundingClientRect();
              return [t.textContent, s.fill, parseFloat(s.fontSize), s.visibility, a.left, a.right, s.stroke]; })""")
            wide = float(root.get("width"))
        finally:
            alone.close()
        assert len({ink for _, ink, *_ in seen}) > 1  # roles keep their colours
        assert {halo for *_, halo in seen} <= {"none", "rgb(255, 255, 255)"}
        for words, ink, size, shown, left, right, _ in seen:
            if shown == "hidden":
                continue
            shades = [int(v) for v in re.findall(r"\d+", ink)[:3]]
            assert max(shades) <= 170 and size >= 12, (words, ink, size)
            assert left >= -1 and right <= wide + 1, (words, left, right)
    book.quiet()
