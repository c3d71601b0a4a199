"""Pictures of the filters: they draw what the plant says, with units and words."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from desalbook import face, paths
from desalbook.notebook import filter_pictures as fp

PICTURES = (fp.wash_timeline, fp.bed_expansion, fp.loss_through_day, fp.battery_plan)


@pytest.fixture(scope="module")
def plants():
    harbour = face.read(paths.demo("harbour-town.toml"))
    return {"one": face.size(harbour), "well": face.size(face.read(paths.demo("beach-well.toml"))),
            "two": face.size(harbour.with_value("filters.washes_together", 2).with_value("filters.count", 8))}


def svg(html: str) -> ET.Element:
    return ET.fromstring(re.search(r"<svg.*</svg>", html, re.S).group(0))


@pytest.mark.parametrize("picture", PICTURES, ids=lambda f: f.__name__)
@pytest.mark.parametrize("units", ["si", "us"])
def test_a_picture_is_sound_and_says_what_it_shows(plants, picture, units):
    html = picture(plants["one"], units)
    root = svg(html)
    names = {c.tag.split("}")[1]: c for c in root[:2]}
    assert root.get("role") == "img" and len(names["desc"].text) > 40 and names["title"].text
    assert "nan" not in html and "#" not in re.sub(r"<style>.*?</style>", "", html, flags=re.S)


@pytest.mark.parametrize("picture", PICTURES, ids=lambda f: f.__name__)
def test_no_filters_is_said(plants, picture):
    assert "no filters" in picture(plants["well"])


def test_the_timeline_has_a_bar_for_each_step(plants):
    html = fp.wash_timeline(plants["one"])
    n = int(plants["one"]["filters.count"]) * 2
    assert len(re.findall(r"<rect[^>]*><title>", html)) == 6 * n
    assert "at most 2 at one time" in fp.wash_timeline(plants["two"])


def test_the_plan_is_to_scale(plants):
    root = svg(fp.battery_plan(plants["one"]))
    rects = [r for r in root.iter() if r.tag.endswith("rect")]
    outer, first = rects[0], rects[1]
    plant = plants["one"]
    ratio = float(plant["filter_vessel.battery_length"]) / float(plant["filters.diameter"])
    assert float(outer.get("width")) / float(first.get("width")) == pytest.approx(ratio, rel=5e-3)
    assert len(rects) == 1 + int(plant["filters.count"])


def test_units_of_axes_follow_the_set(plants):
    assert "degC" in fp.bed_expansion(plants["one"]) and "degF" in fp.bed_expansion(plants["one"], "us")
    assert "pressure drop, psi" in fp.loss_through_day(plants["one"], "us")
