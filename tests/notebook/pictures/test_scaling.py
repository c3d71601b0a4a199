"""The picture of scaling over recovery: what it shows is what the plant found."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from desalbook import design as designs
from desalbook import paths
from desalbook.notebook.pictures.scaling import draw
from desalbook.plant.scaling import curves
from tests import shared


def test_picture():
    sized = shared.sized()
    given = curves(sized.scaling, sized.array.recovery)
    html = draw(given)
    svg = ElementTree.fromstring(re.search(r"<svg.*</svg>", html, re.DOTALL)[0])
    lines = svg.findall(".//polyline")
    assert len(lines) == len(given["index"]) == 9
    for mineral, line in zip(given["index"], lines, strict=True):
        heights = [float(p.split(",")[1]) for p in line.attrib["points"].split()]
        assert len(heights) == len(given["recovery"])
        if mineral != "brucite":  # which loses more by the falling pH than it gains
            assert heights == sorted(heights, reverse=True), mineral
    assert f'{float(sized.ledger["scaling.wall@hot"]["calcite"]):+.2f}' in html
    assert len(svg.findall(".//circle")) == 9 and html.count("✓") == 9
    assert not re.search(r"#[0-9a-f]{6}", re.search(r"<svg.*</svg>", html, re.DOTALL)[0])  # colours by role only


def test_a_mineral_beyond_its_limit_is_marked():
    design = designs.read(paths.demo("harbour-town.toml")).with_values(
        {"antiscalant.present": "no", "membrane.recovery": "50 %", "coagulation.present": "no"})
    made = shared.sized(design)
    html = draw(curves(made.scaling, made.array.recovery))
    assert "✗" in html and "var(--db-fails)" in html
