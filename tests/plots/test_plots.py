"""Plots of a plant: matplotlib figures with units on their axes, words, the theme's colours, and no state of pyplot."""

from __future__ import annotations

import re
import subprocess
import sys
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

import desalbook as db
from desalbook import theme
from desalbook.plots.plant import Plots
from desalbook.problems import DesignError
from tests import shared
from tests.notebook.pictures.test_rules import SMALLEST, covered, sizes

ALL = [n for n in dir(Plots) if not n.startswith("_")]
NAMES = [n for n in ALL if getattr(Plots, n).__annotations__["return"] == "Plot"]
DRAWINGS = sorted(set(ALL) - set(NAMES))


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


@pytest.mark.parametrize("name", NAMES)
def test_a_figure_with_units_words_and_the_colours_of_the_theme(name, plant):
    figure = getattr(plant.plot, name)()
    assert isinstance(figure, Figure) and figure.name and len(figure.alternative) > 40
    for ax in figure.axes:
        words = f"{ax.get_xlabel()} {ax.get_ylabel()} {ax.get_title('left')}"
        assert words.strip(), name
    svg, html = figure.svg(), figure._repr_html_()
    assert svg.startswith("<svg") and f"<title>{figure.name}" in svg and "var(--db-" not in svg
    body = html[html.index("<svg"):]
    assert "<table" not in html and "var(--db-text)" in body
    assert not [r.light for r in theme.ROLES.values() if r.light in body], "a colour that does not follow the ground"
    assert svg == getattr(plant.plot, name)().svg(), "not the same twice"


@pytest.mark.parametrize("name", NAMES)
def test_a_plot_keeps_to_the_rules_of_pictures(name, plant):
    for units in ("si", "us"):
        html = getattr(plant.plot, name)(units=units)._repr_html_()
        assert covered(html) == []
        assert min(sizes(html)) >= SMALLEST
        assert re.findall(r"<style>(.*?)</style>", html, re.S) == [theme.css()], "a rule for the whole page"
        assert set(re.findall(r' id="([^"]*)"', html)) <= set(re.findall(r"#(\w+)", html)), "an id for nothing"


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_stands_alone_as_a_file_on_either_ground(name, plant, tmp_path):
    drawing = getattr(plant.plot, name)()
    assert drawing.name and len(drawing.alternative) > 40 and drawing._repr_html_().startswith("<div")
    for ground in ("light", "dark"):
        path = drawing.save(tmp_path / "new" / f"{ground}.svg", ground)
        root = ElementTree.parse(path).getroot()
        assert root.get("width") and root.get("height") and root.tag.endswith("svg")
        text = path.read_text(encoding="utf-8")
        assert "var(" not in text and theme.GROUNDS[ground] in text and "inherit" not in text
    with pytest.raises(DesignError, match="no such ground"):
        drawing.svg("grey")
    assert "gpm" in getattr(plant.plot, name)("us").alternative or name != "water_line"


@pytest.mark.parametrize("name", NAMES)
def test_no_words_lie_outside_of_the_figure(name, plant):
    figure = getattr(plant.plot, name)()
    figure.draw_without_rendering()
    wide, high = figure.bbox.width, figure.bbox.height
    for ax in figure.axes:
        ticks = [tick.label1 for axis, limits in ((ax.xaxis, sorted(ax.get_xlim())), (ax.yaxis, sorted(ax.get_ylim())))
                 for tick in axis.get_major_ticks() if limits[0] <= tick.get_loc() <= limits[1]]
        for text in (*ax.texts, ax.xaxis.label, ax.yaxis.label, ax.title, *ticks):
            if text.get_text() and text.get_visible():
                box = text.get_window_extent()
                assert box.x0 > -4 and box.y0 > -4 and box.x1 < wide + 4 and box.y1 < high + 4, (name, text.get_text())


def test_values_are_those_of_the_plant_in_the_units_asked_for(plant):
    si, us = (plant.plot.energy(u).axes[0] for u in ("si", "us"))
    bars = {t.get_text(): p.get_width() for t, p in zip(si.get_yticklabels(), si.patches, strict=True)}
    assert bars["Whole plant"] == pytest.approx(plant["energy.plant_specific"].to("kWh/m3"))
    assert bars["Minimum work"] == pytest.approx(plant["energy.least_work"].to("kWh/m3"))
    assert us.patches[0].get_width() == pytest.approx(plant["energy.plant_specific"].to("kWh/kgal"))
    assert "kWh/m³" in si.get_xlabel() and "kWh/kgal" in us.get_xlabel()
    curve = plant.plot.pump_curve("us").axes[0]
    marked = {round(float(x), 6) for line in curve.lines if line.get_marker() == "o" for x in line.get_xdata()}
    runs = plant.sized.pressure.operating
    assert marked == {round(float(o.flow) * 15850.323141489, 6) for o in runs.values()}
    assert "gpm" in curve.get_xlabel() and "ft" in curve.get_ylabel()


def test_ions_stand_to_their_sides_by_their_charge(plant):
    row = plant["water.equivalents"]
    ax = plant.plot.ions().axes[0]
    drawn = sorted(float(p.get_width()) for p in ax.patches)
    assert drawn[0] == pytest.approx(-max(row.values)) and drawn[-1] == pytest.approx(-min(row.values))
    assert sum(w for w in drawn if w > 0) == pytest.approx(float(plant["water.anions"]), rel=5e-3)
    with pytest.raises(DesignError, match="no such analysis"):
        plant.plot.ions(analysis="well")


def test_a_motor_that_pulls_the_voltage_down_too_far_is_told_apart(plant):
    dips = {c.title: 100 * float(c.start_dip) for c in plant.sized.power.circuits.values() if c.start_dip is not None}
    patches = plant.plot.motor_starts().axes[0].patches
    assert sorted(p.get_width() for p in patches) == pytest.approx(sorted(dips.values()))
    tight = db.size(plant.design.with_values({"limits.voltage_dip_motor": "5 %"}))
    colours = {p.get_facecolor()[:3] for p in tight.plot.motor_starts().axes[0].patches}
    assert len(colours) == 2 and to_rgb(theme.colour("fails")) in colours


def test_a_vessel_at_a_case(plant):
    from desalbook.plant.vessel_table import vessel_profile

    rows = vessel_profile(plant, "hot-new")
    flux = plant.plot.vessel_profile("hot-new").axes[0].lines[0]
    assert np.allclose(flux.get_ydata(), rows["flux"] * 3.6e6)
    assert "hot-new" in plant.plot.vessel_profile("hot-new").name


def test_a_limit_is_drawn_and_named(plant):
    words = {t.get_text() for ax in plant.plot.vessel_profile().axes for t in ax.texts}
    assert any(w.startswith("limit 35 L/(m² h)") for w in words)


def test_a_person_restyles_and_saves(plant, tmp_path):
    figure = plant.plot.pump_curve()
    ax = figure.axes[0]
    ax.set_title("Our pump")
    ax.lines[-1].set_color("black")
    figure.set_size_inches(6, 4)
    for ending in ("png", "pdf", "svg"):
        figure.savefig(tmp_path / f"pump.{ending}")
        assert (tmp_path / f"pump.{ending}").stat().st_size > 5000
    assert "Our pump" in figure.svg()


def test_a_style_of_somebody_else_is_left_alone_and_not_taken(plant):
    import matplotlib

    plain = plant.plot.energy().svg()
    with matplotlib.rc_context({"font.size": 30, "axes.grid": False}):
        assert plant.plot.energy().svg() == plain
        assert matplotlib.rcParams["font.size"] == 30


@pytest.mark.full
def test_nothing_of_pyplot_is_loaded():
    code = ("import sys, desalbook as db; from tests import shared; p = shared.plant(); p.plot.energy().svg();"
            "print('matplotlib.pyplot' in sys.modules)")
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip().endswith("False")


def test_what_a_plant_does_not_have_is_refused_in_one_line():
    plant = shared.plant("beach-well.toml")
    for name in ("bed", "filter_run", "battery_plan", "backwashes"):
        with pytest.raises(DesignError, match="no filters"):
            getattr(plant.plot, name)()
