"""Pictures behind the membranes: well formed, in words too, and drawn from the record."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.notebook.product_pictures import cleaning_picture, jet_picture, window_picture
from desalbook.plant import size


@pytest.fixture(scope="module")
def plant():
    return size(designs.read(paths.demo("harbour-town.toml")))


@pytest.mark.parametrize("draw", [window_picture, cleaning_picture, jet_picture])
@pytest.mark.parametrize("units", ["si", "us"])
def test_picture_is_well_formed_and_says_itself(plant, draw, units):
    html = draw(plant, units)
    svg = ElementTree.fromstring(html[html.index("<svg"): html.index("</div>")])
    assert svg.get("role") == "img" and svg.get("aria-label")
    assert len(svg[0].text) > 60
    assert draw(plant, units) == html


def test_window_shows_each_figure_with_its_verdict(plant):
    html = window_picture(plant)
    for key in ("alkalinity", "calcium", "ccpp", "lsi", "ph"):
        assert plant.ledger.lines[f"product.{key}"].figure().show() in html
    assert "thin margin" in html and "holds" in html


def test_jet_is_to_scale(plant):
    """Rise over distance in the drawing is that of the record."""
    html = jet_picture(plant)
    x0, bed, rise_x, rise_y, end = (float(v) for v in re.search(
        r'd="M([\d.]+),([\d.]+)C([\d.]+),([-\d.]+) [\d.]+,[-\d.]+ ([\d.]+),', html).groups())
    lines = plant.ledger.lines
    drawn = (bed - rise_y) * 0.75 / (end - x0)
    assert drawn == pytest.approx(lines["outfall.rise"].value / lines["outfall.impact"].value, rel=0.01)
    assert rise_x > x0


def test_cleaning_names_every_step(plant):
    html = cleaning_picture(plant)
    assert html.count("min</text>") == len(plant.ledger.lines["cip.steps"].keys)
