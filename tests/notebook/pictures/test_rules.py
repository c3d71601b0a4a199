"""What every picture of a step keeps to: words for those who do not see it, both themes, text that can be read."""

from __future__ import annotations

import re
import xml.etree.ElementTree as xml
from itertools import pairwise

import pytest

from desalbook import theme
from desalbook.drawings.water_line.plant import picture
from desalbook.notebook import blocks
from desalbook.notebook.blocks import figure
from desalbook.notebook.pictures.catalogue import drawings
from desalbook.notebook.pictures.membranes import envelope_picture
from desalbook.notebook.pictures.systems import system_picture
from desalbook.notebook.steps import STEPS
from desalbook.units import show
from desalbook.units.display import THIN
from tests import shared
from tests.test_theme import contrast

Segment = tuple[tuple[float, float], tuple[float, float]]
SHOWN = 520.0  # px, the narrowest column of pictures beside one another; narrower ones are one below the other
SMALLEST = 12.0  # px, which is 9 pt
ALONE = 720.0  # px, the narrowest page: what a picture has that stands alone
DRAWINGS = {f"{s.key}: {title}": (draw, ALONE if len(s.pictures) == 1 else SHOWN)
            for s in STEPS.values() for title, draw in drawings(s)}


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


def laid(html: str) -> list[tuple[list[tuple[float, float, float, float, str]], list[Segment]]]:
    """Of each picture the boxes of its upright texts, somewhat narrower than drawn, and the straights of its lines.

    Rules of a grid, axes and leaders are quiet, and a text may lie on them.
    """
    classes = {name: float(px) for name, px in re.findall(r"\.([\w-]+)\{font-size:([\d.]+)px", html)}
    base, found = re.search(r" text\{font-size:([\d.]+)px", html), []
    for root in roots(html):
        whole = root.get("font-size") or (re.findall(r"font(?:-size)?:([\d.]+)px", root.get("style", "")) or [16])[0]
        texts, lines = [], []

        def walk(e: xml.Element, dx: float, dy: float, whole=whole, texts=texts, lines=lines) -> None:
            kind, moved = e.tag.rpartition("}")[2], e.get("transform", "")
            if at := re.fullmatch(r"translate\(([-\d.]+)[ ,]+([-\d.]+)\)", moved):
                dx, dy = dx + float(at[1]), dy + float(at[2])
            if kind == "text" and "rotate" not in moved:
                size = float(e.get("font-size") or next((classes[c] for c in e.get("class", "").split()
                                                         if c in classes), base[1] if base else whole))
                words = "".join(e.itertext())
                wide = float(e.get("textLength") or 0.56 * size * len(words))
                x, y = float(e.attrib["x"]) + dx, float(e.attrib["y"]) + dy
                left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[e.get("text-anchor", "start")] * wide
                texts.append((left, y - 0.75 * size, left + wide, y + 2, words))
            if kind == "path" and "quiet" not in e.get("stroke", "quiet"):
                for run in re.findall(r"M([-\d., L]+)", e.attrib["d"]):
                    points = [(float(a) + dx, float(b) + dy) for a, b in re.findall(r"([-\d.]+)[ ,]([-\d.]+)", run)]
                    lines.extend(pairwise(points))
            for child in e:
                walk(child, dx, dy)

        walk(root, 0.0, 0.0)
        found.append((texts, lines))
    return found


def covered(html: str) -> list[str]:
    """Texts that lie on one another, on a line, or begin left of the picture, where nobody sees them."""
    out = []
    for texts, lines in laid(html):
        out += [f"{words} | beyond the picture" for a, _, c, _, words in texts
                if a < -0.15 * (c - a)]  # letters are narrower than they are taken for here
        for n, (a, b, c, d, words) in enumerate(texts):
            out += [f"{words} | {more}" for p, q, r, s, more in texts[n + 1:]
                    if min(c, r) - max(a, p) > 1 and min(d, s) - max(b, q) > 1]
            along = [(x0 + k / 40 * (x1 - x0), y0 + k / 40 * (y1 - y0)) for (x0, y0), (x1, y1) in lines
                     for k in range(41)]
            if any(a < x < c and b < y < d for x, y in along):
                out.append(f"{words} | a line")
    return out


@pytest.mark.parametrize("name", DRAWINGS)
def test_no_text_lies_on_another_or_on_a_line(plant, name):
    draw, _ = DRAWINGS[name]
    for units in ("si", "us"):
        assert covered(draw(plant, units)) == []


def test_a_text_on_a_line_or_on_another_is_found():
    html = ('<svg viewBox="0 0 99 99" style="font-size:12px"><g transform="translate(10 0)">'
            '<text x="0" y="20">lead</text><text x="30" y="22">flux</text></g><text x="20" y="22">on</text>'
            '<text x="40" y="60" text-anchor="end">a long name</text>'
            '<path d="M40,5L50,30" stroke="var(--db-sea)"/><path d="M0,16H99" stroke="var(--db-quiet)"/></svg>')
    assert covered(html) == ["a long name | beyond the picture", "lead | on", "flux | a line"]


def test_figures_of_a_step_read_as_print_has_them(plant):
    for units in ("si", "us"):
        for step in STEPS.values():
            shown = [figure(title, draw(plant, units), "x", plant) for title, draw in drawings(step)]
            shown.append(blocks.follows(plant, step.follows, plant.judged(units), units))
            for html in shown:
                words = re.sub(r"<style>.*?</style>|<[^>]*>", " ", html, flags=re.S)
                assert not re.search(r"\bdeg[CF]\b|\b(?:m|ft)[23]\b|CaCO3", words), step.key


def test_axes_part_thousands_and_limits_have_the_digits_of_their_checks(plant):
    html = envelope_picture(plant, "us")
    assert f">1{THIN}150<" in html and ">1150<" not in html
    limit = show(float(plant.ledger.lines["membrane.feed_pressure.check"].more["limit"]), "gauge pressure", "us")
    assert f"limit of the element {limit}<" in html


def test_pumps_are_named_at_their_curves(plant):
    html = system_picture(plant)
    assert html.count(">pump</text>") == html.count(">flow of one, m³/h</text>") > 2


def test_a_small_text_is_found():
    html = ('<svg viewBox="0 0 1040 10" font-size="12"><text>a</text><text font-size="30">b</text></svg>')
    assert sizes(html) == [6.0, 15.0]


@pytest.mark.parametrize("width", (560, 720, 1100))
def test_the_water_line_is_laid_out_for_its_width(plant, width):
    html = picture(plant, "si", "vessels", width)
    root, = roots(html)
    assert float(root.attrib["viewBox"].split()[2]) == width and "font-size:12px" in html
    assert root.get("aria-label") and "barg" in root.find("{http://www.w3.org/2000/svg}desc").text


@pytest.mark.parametrize("ground", theme.GROUNDS)
def test_the_ground_of_a_lab_page_carries_the_text_too(ground):
    # the second surface of the page, on which panels and selected rows lie
    other = {"light": "#f5f5f5", "dark": "#212121"}[ground]
    assert min(contrast(theme.colour(r, ground), other) for r in theme.ROLES) >= 4.5


def test_a_check_that_fails_stands_beyond_the_limit(plant):
    from desalbook.notebook.pictures.margins import margins_picture

    def last(html: str, role: str) -> float:
        marks = re.findall(rf'd="M([\d.]+),[\d.]+V[\d.]+" stroke="var\(--db-{role}\)"', html)
        return max(map(float, marks), default=0.0)

    held = margins_picture(plant)
    limit = float(re.search(r'x="([\d.]+)" y="14" text-anchor="middle"[^>]*>limit', held)[1])
    assert last(held, "fails") == 0.0 and max(last(held, "passes"), last(held, "marginal")) <= limit + 0.1
    failed = margins_picture(shared.plant(plant.design.with_value("membrane.recovery", "48 %")))
    assert last(failed, "fails") > limit and "fails by" in failed and "✗" in failed
