"""Pictures of the pressure side: well formed, said in words, from the plant's own figures."""

from __future__ import annotations

import re
import xml.etree.ElementTree as xml

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.notebook.pictures.pressure import devices_picture, energy_picture, pump_picture
from desalbook.plant import compare_recovery
from desalbook.plant.array import CORNERS
from desalbook.plant.pump_lines import pump_lines
from tests import shared


@pytest.fixture(scope="module")
def harbour():
    return designs.read(paths.demo("harbour-town.toml"))


@pytest.fixture(scope="module")
def plant(harbour):
    return shared.sized(harbour)


def svg(html: str) -> xml.Element:
    return xml.fromstring(re.search(r"<svg.*</svg>", html, re.S).group(0))


@pytest.mark.parametrize("units", ["si", "us"])
def test_pump_picture_names_every_corner(plant, units):
    html = pump_picture(plant, units)
    tree = svg(html)
    said = tree.find("{http://www.w3.org/2000/svg}desc").text
    assert all(c in said for c in CORNERS) and ("gpm" in said) == (units == "us")
    assert len(tree.findall(".//{http://www.w3.org/2000/svg}circle")) == len(CORNERS)


def test_lines_pass_the_operating_points(plant):
    import numpy as np

    for c in pump_lines(plant, 2001)["corners"]:
        q, h = c["line"]
        assert np.interp(c["flow"], q, h) == pytest.approx(c["head"], rel=1e-5)


def test_a_displacement_pump_has_no_curve(harbour):
    html = pump_picture(shared.sized(harbour.with_value("hp_pump.pump_class", "positive-displacement")))
    assert "no curve" in html and "<svg" not in html


def test_energy_picture_says_the_whole(plant):
    html = energy_picture(plant)
    said = svg(html).find("{http://www.w3.org/2000/svg}desc").text
    assert plant.ledger["energy.plant_specific"].show() in said and "Minimum work" in said
    assert "Concentrate pump" not in said


def test_devices_picture(harbour):
    frame = compare_recovery(harbour, ("turbocharger", "isobaric"))
    said = svg(devices_picture(frame)).find("{http://www.w3.org/2000/svg}desc").text
    assert "Hydraulic turbocharger" in said and "booster" in said
