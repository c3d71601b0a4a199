"""What every picture of a step keeps to: words for those who do not see it, both themes, text that can be read."""

from __future__ import annotations

import re
import xml.etree.ElementTree as xml

import pytest

from desalbook.notebook import theme
from desalbook.notebook.picture import picture
from desalbook.notebook.steps import STEPS
from tests import shared
from tests.notebook.test_theme import contrast

SHOWN = 520.0  # px, the narrowest column of pictures beside one another; narrower ones are one below the other
SMALLEST = 12.0  # px, which is 9 pt
ALONE = 720.0  # px, the narrowest page: what a picture has that stands alone
DRAWINGS = {f"{s.key}: {title}": (draw, ALONE if len(s.pictures) == 1 else SHOWN)
            for s in STEPS.values() for title, draw in s.drawings()}


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


def roots(html: str) -> list[xml.Element]:
    return [xml.fromstring(s) for s in re.findall(r"<svg.*?</svg>", html, re.S)]


def sizes(html: str, shown: float = SHOWN) -> list[float]:
    """Size of every text at the width shown, px: of the element, its class, the picture, in that order."""
    classes = {name: float(px) for name, px in re.findall(r"\.([\w-]+)\{font-size:([\d.]+)px", html)}
    base = re.search(r" text\{font-size:([\d.]+)px", html)
    found = []
    for root in roots(html):
        wide = float(root.attrib["viewBox"].split()[2])
        whole = root.get("font-size") or (re.findall(r"font(?:-size)?:([\d.]+)px", root.get("style", "")) or [16])[0]
        for text in (e for e in root.iter() if e.tag.rpartition("}")[2] == "text"):
            own = text.get("font-size") or next((classes[c] for c in text.get("class", "").split() if c in classes),
                                                base[1] if base else whole)
            found.append(float(own) * min(1.0, shown / wide))
    return found


@pytest.mark.parametrize("name", DRAWINGS)
@pytest.mark.parametrize("units", ("si", "us"))
def test_every_picture_of_a_step(plant, name, units):
    draw, width = DRAWINGS[name]
    html = draw(plant, units)
    made = roots(html)
    assert made
    for root in made:
        assert root.get("role") == "img" and re.search(r"\d", root.get("aria-label", "")), "says what it shows"
        for rect in (e for e in root.iter() if e.tag.rpartition("}")[2] == "rect"):
            ink = rect.get("fill", "none")
            assert "var(" in ink or ink in ("none", "transparent", "currentColor")
    drawn = re.sub(r"<style>.*?</style>", "", html, flags=re.S)
    assert not re.search(r"#[0-9a-fA-F]{6}\b|(?:fill|background)[:=]\W*(?:white|black)\b", drawn)
    assert min(sizes(html, width)) >= SMALLEST - 1e-9


def test_a_small_text_is_found():
    html = ('<svg viewBox="0 0 1040 10" font-size="12"><text>a</text><text font-size="30">b</text></svg>')
    assert sizes(html) == [6.0, 15.0]


@pytest.mark.parametrize("width", (560, 720, 1100))
def test_the_water_line_is_laid_out_for_its_width(plant, width):
    html = picture(plant, "si", "vessels", width)
    root, = roots(html)
    assert float(root.attrib["viewBox"].split()[2]) == width and "font-size:12px" in html
    assert root.get("aria-label") and "bar g" in root.find("{http://www.w3.org/2000/svg}desc").text


@pytest.mark.parametrize("ground", theme.GROUNDS)
def test_the_ground_of_a_lab_page_carries_the_text_too(ground):
    # the second surface of the page, on which panels and selected rows lie
    other = {"light": "#f5f5f5", "dark": "#212121"}[ground]
    assert min(contrast(theme.colour(r, ground), other) for r in theme.ROLES) >= 4.5


def test_a_check_that_fails_stands_beyond_the_limit(plant):
    from desalbook.notebook.overview_pictures import margins_picture

    def last(html: str, role: str) -> float:
        marks = re.findall(rf'd="M([\d.]+),[\d.]+V[\d.]+" stroke="var\(--db-{role}\)"', html)
        return max(map(float, marks), default=0.0)

    held = margins_picture(plant)
    limit = float(re.search(r'x="([\d.]+)" y="14" text-anchor="middle"[^>]*>limit', held)[1])
    assert last(held, "fails") == 0.0 and max(last(held, "holds"), last(held, "thin")) <= limit + 0.1
    failed = margins_picture(shared.plant(plant.design.with_value("membrane.recovery", "48 %")))
    assert last(failed, "fails") > limit and "fails by" in failed and "✗" in failed
