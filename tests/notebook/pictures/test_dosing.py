"""The chemicals along the plant: every dosed one in its order, failures in words, units of the set."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from desalbook import api, paths
from desalbook.dosing import PLACES
from desalbook.notebook.pictures.dosing import dosing_picture
from desalbook.units import show
from tests import shared


@pytest.fixture(scope="module")
def harbour():
    return api.read(paths.demo("harbour-town.toml"))


@pytest.fixture(scope="module")
def plant(harbour):
    return shared.plant(harbour)


def words(html: str) -> list[tuple[float, str]]:
    """Height and text of every word in the picture."""
    svg = ElementTree.fromstring(html[html.index("<svg"): html.index("</div>")])
    assert svg.get("role") == "img" and svg.get("aria-label") and len(svg[0].text) > 200
    return [(float(t.get("y")), t.text) for t in svg.iter("{http://www.w3.org/2000/svg}text")]


def test_every_dosed_chemical_stands_in_the_order_of_the_water(plant):
    said = words(dosing_picture(plant))
    place = {text: y for y, text in reversed(said)}
    dosed = plant.chemicals[plant.chemicals["dose"].notna()]
    assert set(dosed["title"]) <= set(place) and len(dosed) == 8
    order = ["Sea", "Hypochlorite", "Coagulant", "Media filters", "Dechlorination agent", "ORP probe",
             "Cartridge filters",
             "HP pump", "Membranes", "Hypochlorite for the product"]
    assert [place[x] for x in order] == sorted(place[x] for x in order)


def test_mass_of_a_day_and_store_are_those_of_the_schedule(plant):
    for units in ("si", "us"):
        texts = [t for _, t in words(dosing_picture(plant, units))]
        for row in plant.chemicals[plant.chemicals["dose"].notna()].to_dict("records"):
            assert show(row["mean_mass_rate"], "mass flow.day", units, digits=3) in texts
            if row["store"] == row["store"]:
                lasts = show(float(plant[f"{row['key']}.storage_autonomy"]), "time.day", units, digits=3)
                assert f"{show(row['store'], 'volume', units, trim=True)} lasts {lasts}" in texts


def test_a_stroke_for_each_delivery_that_the_store_holds(plant):
    strokes = 0
    for name in PLACES:
        if f"{name}.storage_autonomy" in plant.ledger.lines:
            lasts, comes = (float(plant[f"{name}.{x}"]) for x in ("storage_autonomy", "delivery_interval"))
            strokes += int(lasts / comes * (1 + 1e-9))
    html = dosing_picture(plant)
    assert len(re.findall(r'stroke="var\(--db-chemical\)" stroke-width="2"', html)) == strokes > 6


def test_a_failure_is_said_in_words_under_its_chemical(harbour):
    small = harbour.with_value("chlorination.pump_capacity", "40 L/h")
    texts = [t for _, t in words(dosing_picture(shared.plant(small)))]
    assert "✗ fails" in texts and any(t.startswith("Dosing-pump capacity, ") for t in texts)
    assert not any("fails" in t for _, t in words(dosing_picture(shared.plant(harbour))))


def test_places_follow_the_file(harbour):
    moved = api.read(paths.demo("beach-well.toml"))
    texts = [t for _, t in words(dosing_picture(shared.plant(moved)))]
    assert "Media filters" not in texts and "ORP probe" not in texts and "Antiscalant" in texts
