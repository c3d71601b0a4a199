"""Pictures of the filters: they draw what the plant says, with units and words."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from desalbook import api, paths
from desalbook.drawings.chart import Chart
from desalbook.drawings.filters import battery_plan, wash_timeline
from desalbook.notebook.pictures import filters as fp
from desalbook.units import show
from tests import shared

PICTURES = (wash_timeline, fp.expansion_by_temperature, fp.loss_through_day, battery_plan)


@pytest.fixture(scope="module")
def plants():
    harbour = api.read(paths.demo("harbour-town.toml"))
    return {"one": shared.plant(harbour), "well": shared.plant("beach-well.toml"),
            "two": shared.plant(harbour.with_value("filters.backwashes_together", 2).with_value("filters.count", 8))}


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


def test_the_timeline_has_a_bar_for_each_wash_and_each_step(plants):
    html = wash_timeline(plants["one"])
    n = int(plants["one"]["filters.count"]) * 2
    steps = re.findall(r'<rect(?![^>]* is out from )[^>]*/>', html)
    assert html.count(" is out from ") == n and len(steps) == 6
    minutes = plants["one"].sized.pretreated.wash.schedule.times.values / 60
    for name, t in zip(("drain", "scour", "backwash", "settle", "filter to waste", "return"), minutes, strict=True):
        assert f">{name}, {t:g} min<" in html
    widths = [float(re.search(r'width="([\d.]+)"', x)[1]) for x in steps]
    assert widths == pytest.approx(widths[2] * minutes / minutes[2], abs=0.11)
    assert "at most 2 at one time" in wash_timeline(plants["two"])


def test_the_plan_is_to_scale(plants):
    root = svg(battery_plan(plants["one"]))
    rects = [r for r in root.iter() if r.tag.endswith("rect")]
    outer, first = rects[0], rects[1]
    plant = plants["one"]
    ratio = float(plant["filter_vessel.battery_length"]) / float(plant["filters.diameter"])
    assert float(outer.get("width")) / float(first.get("width")) == pytest.approx(ratio, rel=5e-3)
    assert len(rects) == 1 + int(plant["filters.count"])


def test_measures_of_the_plan_are_the_plants(plants):
    plant = plants["one"]
    for units in ("si", "us"):
        html = battery_plan(plant, units)
        for id in ("filter_vessel.gap", "filter_vessel.aisle", "filter_vessel.battery_length", "filters.diameter"):
            assert show(float(plant[id]), "length", units, digits=3, trim=True) + "<" in html


def test_a_line_keeps_its_shape_where_points_are_left_out():
    x = np.arange(12.0)
    y = np.array([1, 2, 3, 9, 9, 9, np.nan, np.nan, 4, 5, 6, 7.0])
    kept = fp._bends(y)
    assert len(kept) < 12 and np.array_equal(np.isnan(y[kept]).any(), True)
    whole = np.interp(x, x[kept], np.where(np.isnan(y[kept]), -1.0, y[kept]))
    assert whole[~np.isnan(y)] == pytest.approx(y[~np.isnan(y)])


def test_names_at_the_ends_of_lines_do_not_lie_on_one_another():
    chart = Chart((0, 1), (0, 10), "x", "y")
    for k, y in enumerate((5.0, 5.1, 5.05, 1.0)):
        chart.line([0, 1], [y, y], "sea", f"line {k}")
    html = chart.html("Title", "Text")
    at = sorted(float(y) for y in re.findall(r'y="([\d.]+)"[^>]*>line', html))
    assert len(at) == 4 and min(b - a for a, b in itertools.pairwise(at)) > 14


def test_units_of_axes_follow_the_set(plants):
    assert "degC" in fp.expansion_by_temperature(plants["one"])
    assert "degF" in fp.expansion_by_temperature(plants["one"], "us")
    assert "pressure drop, psi" in fp.loss_through_day(plants["one"], "us")
