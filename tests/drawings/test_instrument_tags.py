"""Tags of instruments stand below the water line, each under its step, none on another."""

from __future__ import annotations

import itertools
import re

import pytest

from desalbook.drawings.water_line import plant as water_line
from tests import shared


@pytest.mark.parametrize("name", (shared.HARBOUR, "beach-well.toml"))
@pytest.mark.parametrize("width", (560, 960))
def test_every_instrument_of_the_line_stands_under_its_step(name, width):
    plant = shared.plant(name)
    html = water_line.picture(plant, width=width, tags=True)
    placed = [(float(x), float(y), t) for x, y, t in re.findall(
        r'<text x="([\d.]+)" y="([\d.-]+)" text-anchor="middle">([A-Z]+-\d{3})</text>', html)]
    wanted = {r["tag"] for r in plant.sized.control.rows() if r["at"]}
    assert {t for *_, t in placed} == wanted and len(wanted) > 12
    assert not any(t in wanted for t in re.findall(r">([A-Z]+-\d{3})<", water_line.picture(plant, width=width)))
    for (x, y, a), (u, v, b) in itertools.combinations(placed, 2):
        assert abs(y - v) > 11 or abs(x - u) >= (len(a) + len(b)) / 2 * 7.0, (a, b)
    low = float(re.search(r'viewBox="0 [\d.-]+ \d+ ([\d.]+)"', html)[1])
    top = float(re.search(r'viewBox="0 ([\d.-]+) ', html)[1])
    assert all(0 < x < width and y < top + low for x, y, _ in placed)
    assert "Instruments: " in html
