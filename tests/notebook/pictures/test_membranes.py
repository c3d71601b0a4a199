"""Pictures and tables of the membranes: well formed, said in words, from the plant's own figures."""

from __future__ import annotations

import re
import xml.etree.ElementTree as xml

import numpy as np
import pytest

from desalbook import design as designs
from desalbook.notebook.pictures.membranes import envelope_picture, vessel_picture
from desalbook.plant import envelope, guideline_table, vessel_profile
from desalbook.plant.array import CORNERS
from tests import shared

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


@pytest.fixture(scope="module")
def staged(tmp_path_factory):
    from tests.plant.test_stages import OPTIONS, text_of

    path = tmp_path_factory.mktemp("pictures") / "plant.toml"
    path.write_text(text_of(**OPTIONS["all together"]), encoding="utf-8")
    return shared.plant(designs.read(path))


def svg(html: str) -> xml.Element:
    found = re.search(r"<svg.*</svg>", html, re.S)
    assert found is not None
    return xml.fromstring(found.group(0))


def test_the_profile_sums_to_what_the_train_makes(plant):
    book = plant.ledger
    for corner in ("cold-aged", "hot-new"):
        rows = vessel_profile(plant, corner)
        area = float(book["membrane.element.area"]) * float(book["membrane.vessels"])
        water = rows["flux"].sum() * area * float(book[f"water.density_curve@{corner.split('-')[0]}"]["rho_0"])
        assert water == pytest.approx(float(book[f"membrane.permeate_water@{corner}"]), rel=1e-9)
        assert rows["loss"].sum() == pytest.approx(float(book[f"membrane.vessel_drop@{corner}"]), rel=1e-9)
        assert (np.diff(rows["flux"]) < 0).all() and (np.diff(rows["salinity"]) > 0).all()
        assert (rows["osmotic_wall"] > rows["osmotic"]).all() and (rows["pressure"] > rows["osmotic_wall"]).all()


def test_the_guidelines_say_corner_and_place(plant, staged):
    table = guideline_table(plant)
    ruling = table[table["governs"]].set_index("limit")
    checks = {k: plant.ledger.lines[f"membrane.{k}.check"] for k in ruling.index}
    for name, row in ruling.iterrows():
        assert row["id"].endswith(row["corner"]) and row["margin"] == table[table["limit"] == name]["margin"].min()
        assert row["passes"] == (checks[name].more["verdict"] != "fails")
        assert float(plant.ledger[f"membrane.{name}"]) == pytest.approx(row["value"], rel=1e-12)
    assert ruling.loc["lead_flux", "where"] == "inlet, element 1"
    assert ruling.loc["vessel_concentrate", "where"] == "outlet, element 7"
    assert ruling.loc["vessel_concentrate", "corner"].startswith("hot")
    many = guideline_table(staged)
    assert set(many["pass"]) == {"membrane", "second_pass"} and len(set(many["stage"])) == 4


def test_the_envelope_names_what_governs(plant):
    rows = envelope(plant).set_index("case")
    assert rows.loc["cold-aged", "governs"] == "pressure" and rows.loc["hot-aged", "governs"] == "quality"
    low, high = (rows.loc[f"cold-aged, {e} kJ/mol", "feed_pressure"] for e in (18, 25))
    assert low < rows.loc["cold-aged", "feed_pressure"] < high  # the design has 20 kJ/mol


@pytest.mark.parametrize("units", ["si", "us"])
def test_the_vessel_picture_says_its_ends(plant, staged, units):
    said = svg(vessel_picture(plant, "hot-new", units)).find(f"{SVG}desc")
    assert said is not None and said.text and "element 7" in said.text and ("psi" in said.text) == (units == "us")
    tree = svg(vessel_picture(staged, "cold-aged", units))
    assert len(tree.findall(f".//{SVG}circle")) == 6 * len(vessel_profile(staged, "cold-aged"))


def test_the_envelope_picture_names_every_corner(plant):
    tree = svg(envelope_picture(plant))
    said = tree.find(f"{SVG}desc")
    assert said is not None and said.text and all(c in said.text for c in CORNERS) and "kJ/mol" in said.text
    assert len(tree.findall(f".//{SVG}circle")) == 2 * len(CORNERS) + 2
