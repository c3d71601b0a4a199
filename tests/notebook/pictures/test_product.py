"""Pictures downstream of the RO membranes: well formed, in words too, and drawn from the record."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from desalbook.drawings.cleaning import cleaning_picture
from desalbook.drawings.outfall import jet_picture
from desalbook.notebook.pictures.product import window_picture
from tests import shared


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


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
    assert "marginal" in html and "passes" in html


def test_window_takes_the_binding_limit_and_its_side(plant):
    """Boron has a guideline and a contract: the lower limit is drawn; what is not to be exceeded is open downward."""
    html = window_picture(plant)
    assert ">1 mg/L as B<" in html and "2.4 mg/L as B" not in html
    band = re.findall(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="22"', html)
    text = re.search(r'y="([\d.]+)"[^>]*>TDS<', html)
    assert text
    left = min(float(x) for x, _, _ in band)
    solids = next(float(x) for x, y, _ in band if abs(float(y) + 16 - float(text.group(1))) < 1)
    alkalinity = next(float(x) for x, y, _ in band
                      if abs(float(y) + 16 - float(re.search(r'y="([\d.]+)"[^>]*>Alkalinity<', html).group(1))) < 1)
    assert solids == left < alkalinity


def test_jet_is_judged_in_words(plant):
    tight = shared.plant(plant.design.with_values({"outfall.excess_limit": "0.2 g/kg", "outfall.ports": "4"}))
    assert "at most 2 g/kg: passes" in jet_picture(plant) and "at most 0.2 g/kg: fails" in jet_picture(tight)


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
