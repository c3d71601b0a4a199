"""The picture of the ion balance: heights, gap, words, and that it is drawn from the record alone."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree as Xml

import pytest

from desalbook.notebook.pictures.ions import Balance, draw, ions_picture
from desalbook.problems import DesignError
from tests import shared


def svg(text: str) -> Xml.Element:
    return Xml.fromstring(text[text.index("<svg"):text.index("</div>")])


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


def test_heights_are_equivalents(plant):
    made = svg(ions_picture(plant))
    rects = [r for r in made.iter("rect") if "stroke-dasharray" not in r.attrib]
    named = {r.attrib["data-read"].split(" ")[0]: float(r.attrib["height"])
             for r in made.iter("rect") if "data-read" in r.attrib}
    e = plant["water.equivalents"]
    assert named["Na"] / named["Cl"] == pytest.approx(-float(e["Na"]) / float(e["Cl"]), rel=1e-3)
    assert named["Mg"] / named["SO₄"] == pytest.approx(-float(e["Mg"]) / float(e["SO4"]), rel=1e-3)
    assert len(rects) >= 8 and "others:" in " ".join(named) + ions_picture(plant)


def test_the_gap_is_drawn_to_scale_on_the_short_side():
    one = Balance({"Na": 600.0, "Cl": -540.0}, 600.0, 540.0, 60 / 1140, "fails", 0.05)
    made = svg(draw(one))
    gap = next(r for r in made.iter("rect") if "stroke-dasharray" in r.attrib)
    bars = {r.attrib["data-read"].split(" ")[0]: r for r in made.iter("rect") if "data-read" in r.attrib}
    assert float(gap.attrib["height"]) / float(bars["Na"].attrib["height"]) == pytest.approx(0.1, rel=1e-3)
    assert gap.attrib["x"] == bars["Cl"].attrib["x"]
    foot = float(gap.attrib["y"]) + float(gap.attrib["height"])
    assert foot == pytest.approx(float(bars["Cl"].attrib["y"]), abs=0.02)
    other = svg(draw(Balance({"Na": 540.0, "Cl": -600.0}, 540.0, 600.0, -60 / 1140, "fails", 0.05)))
    gap = next(r for r in other.iter("rect") if "stroke-dasharray" in r.attrib)
    assert gap.attrib["x"] != bars["Cl"].attrib["x"]


def test_words_say_what_the_picture_shows(plant):
    label = svg(ions_picture(plant)).attrib["aria-label"]
    for word in ("Cations", "Anions", "Na ", "Cl ", "meq/L", "passes", "allowed"):
        assert word in label
    assert "+5.26 %, fails: anions short by 60.00 meq/L" in draw(
        Balance({"Na": 600.0, "Cl": -540.0}, 600.0, 540.0, 60 / 1140, "fails", 0.05))


def test_colours_come_from_the_theme(plant):
    text = ions_picture(plant)
    drawn = text[text.index("<svg"):]
    assert not re.search(r"#[0-9a-fA-F]{3,8}\b", drawn) and "var(--db-" in drawn


def test_labels_do_not_touch():
    ions = {"Na": 300.0, "Mg": 100.0, "Ca": 20.0, "K": 9.0, "NH4": 4.0, "Sr": 3.0, "Fe": 2.0, "Cl": -400.0,
            "SO4": -30.0, "HCO3": -3.0, "Br": -2.0, "NO3": -2.1}
    made = svg(draw(Balance(ions, 438.0, 437.1, 0.001, "passes", 0.05)))
    for end in ("end", "start"):
        ys = sorted(float(t.attrib["y"]) for t in made.iter("text") if t.attrib.get("text-anchor") == end)
        assert len(ys) > 4 and all(b - a >= 16.9 for a, b in pairwise(ys))
        assert ys[0] > 60 and ys[-1] < 372


@pytest.mark.parametrize(("keys", "said"), [({"cations": 0.0}, "cannot be drawn"), ({"verdict": "good"}, "verdict")])
def test_refuses(keys, said):
    with pytest.raises(DesignError, match=said):
        Balance(**{"equivalents": {}, "cations": 1.0, "anions": 1.0, "error": 0.0, "verdict": "passes", "limit": 0.05}
                | keys)


def test_an_unknown_analysis_is_refused(plant):
    with pytest.raises(DesignError, match="no such analysis"):
        ions_picture(plant, analysis="water.analyses[x]")
