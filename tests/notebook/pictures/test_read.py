"""What a pointer reads of a picture: each mark and each point of a curve says its value with its unit."""

from __future__ import annotations

import re
import xml.etree.ElementTree as xml

import pytest

from desalbook.drawings import read
from desalbook.drawings.chart import shown
from desalbook.notebook.pictures.catalogue import PICTURES
from desalbook.notebook.pictures.membranes import governing_vessel
from desalbook.plant.vessel_table import vessel_profile
from tests import shared

DRAWN = {"battery-plan", "single-line", "outfall"}
"""Drawings to scale or of a scheme, whose measures are written beside them."""
WITHOUT = {"product-window", "scaling"}
"""An index and pH have no unit."""
_VALUE = re.compile(r"[-−]?\d[\d\u2009.]*(?:e[+−]?\d+)?")


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


def marked(html: str) -> list[xml.Element]:
    return [e for s in re.findall(r"<svg.*?</svg>", html, re.S) for e in xml.fromstring(s).iter()
            if e.get("data-read") is not None or e.get("data-xs") is not None]


@pytest.mark.parametrize("key", [k for k in PICTURES if k not in DRAWN])
@pytest.mark.parametrize("units", ("si", "us"))
def test_every_plot_can_be_read(plant, key, units):
    html = PICTURES[key].draw(plant, units)
    some = marked(html)
    assert len(some) >= 2 and 'tabindex="0"' in read.focusable(html)
    for e in some:
        if (words := e.get("data-read")) is not None:
            unit = "" if key in WITHOUT else r"[\s\u2009]?(%|[A-Za-z°])"
            assert re.search(rf"\d{unit}|^CP factor", words) and not re.search(r"\bnan\b|degC|m3\b", words), words
            continue
        xs, ys = e.get("data-xs").split(";"), e.get("data-ys").split(";")
        places = re.findall(r"-?\d*\.?\d+", e.get("d") or e.get("points"))
        assert len(xs) == len(ys) == len(places) / 2 and all(_VALUE.fullmatch(v) for v in xs + ys), (xs, ys)
        assert len(e.get("data-axes").split("|")) == 4 and e.get("data-name") is not None


def test_a_curve_has_the_values_of_the_plant(plant):
    for units in ("si", "us"):
        rows = vessel_profile(plant, "cold-aged")
        one = next(e for e in marked(governing_vessel(plant, units)) if "|flux|" in (e.get("data-axes") or ""))
        got = [float(v.replace("\u2009", "")) for v in one.get("data-ys").split(";")]
        assert got == pytest.approx(shown(rows["flux"], "flux", units)[:len(got)], rel=5e-4)
        assert one.get("data-xs") == ";".join(str(int(n)) for n in rows["element"][:len(got)])
        assert one.get("data-axes").split("|")[3] == {"si": "L/(m² h)", "us": "gfd"}[units]


def test_words_are_escaped_and_large_numbers_parted():
    assert read.mark('a "b" & 3 m3') == ' data-read="a &quot;b&quot; &amp; 3 m³"'
    told = read.curve("x<y", "flow, m3/h", "head", [12345.6, -0.5], [1.23456, 1e-7])
    assert 'data-name="x&lt;y"' in told and 'data-axes="flow|m³/h|head|"' in told
    assert 'data-xs="12\u2009346;−0.5"' in told and 'data-ys="1.235;1e−07"' in told
