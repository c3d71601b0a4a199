"""Plots of a year and of what uncertain inputs move: values in the units asked for, no words on one another."""

from __future__ import annotations

import pandas as pd
import pytest

from desalbook.plots import studies
from desalbook.study import Spread, cost_tornado, life, operating_year, uncertainty
from desalbook.units import show, to_display
from tests import shared

SERIES = pd.DataFrame({"day": [f"d{n}" for n in range(20)], "temperature, degC": [16 + 0.5 * n for n in range(20)]})


@pytest.fixture(scope="module")
def year():
    return operating_year(shared.plant(), SERIES)


def apart(plot) -> None:
    """No title and no note of a panel on one another."""
    renderer = plot.canvas.get_renderer()
    for ax in plot.axes:
        boxes = [t.get_window_extent(renderer) for t in (ax._left_title, *ax.texts) if t.get_text()]
        for i, a in enumerate(boxes):
            assert not any(a.overlaps(b) for b in boxes[i + 1:]), ax.get_title(loc="left")


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_year(year, units):
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    plot = studies.year(year, units)
    FigureCanvasAgg(plot)
    apart(plot)
    assert len(plot.axes) == 5
    drawn = plot.axes[1].lines[0].get_ydata()
    assert drawn == pytest.approx(to_display(year.frame["feed_pressure"].to_numpy(), "gauge pressure", units))
    assert show(year.extremes("feed_pressure")[1][1], "gauge pressure", units) in plot.alternative


def test_a_tornado():
    found = uncertainty(shared.plant(), {"temperature": Spread("16 degC", "28 degC"), "salt_factor": Spread(0.9, 1.1)},
                        {"permeate_boron": "<= 0.7 mg/L as B"}, count=64)
    plot = studies.tornado(found, "permeate_boron")
    bars, rows = plot.axes[0].patches, found.tornado("permeate_boron")
    assert [bar.get_width() for bar in bars] == pytest.approx(1000 * rows["swing"].to_numpy())
    low = plot.axes[0].get_xlim()[0]
    assert low < min(bar.get_x() for bar in bars) and "temperature" in plot.alternative
    assert any("limit 0.7" in t.get_text() for t in plot.axes[0].texts)


def test_a_tornado_of_prices():
    rows = cost_tornado(shared.plant())
    plot = studies.cost_tornado(rows, "USD", most=5)
    ends = [bar.get_x() + bar.get_width() for bar in plot.axes[0].patches]
    assert len(ends) == 10
    assert ends == pytest.approx([*rows["at_low"][:5], *rows["at_high"][:5]])
    assert "USD/m\N{SUPERSCRIPT THREE}" in plot.axes[0].get_xlabel() and "Electricity price" in plot.alternative
    assert "USD/kgal" in studies.cost_tornado(rows, "USD", units="us").axes[0].get_xlabel()


def test_lives_of_two_policies():
    of = {p: life(shared.plant(), p, years="8 years") for p in ("oldest-first", "at-once")}
    plot = studies.lives(of, "us")
    drawn = plot.axes[1].lines[1].get_ydata()
    assert drawn == pytest.approx(to_display(of["at-once"].frame["permeate_boron"].to_numpy(), "concentration as B",
                                             "us"))
    assert len(plot.axes) == 3 and "at-once" in plot.alternative and "psi" in plot.axes[0].get_title(loc="left")
