"""What a contract guarantees: every promised figure with its margin, its corner and how it is measured."""

from __future__ import annotations

import copy
import re
import zipfile

import pytest

import desalbook as db
from desalbook import paths
from desalbook.audit.verify import derived
from desalbook.notebook import tables
from desalbook.plant.guarantees import shown_rows
from desalbook.sources import source
from desalbook.summary import full
from tests.shared import HARBOUR, demo

PROMISED = {"conductivity", "tds", "boron", "ph_low", "ph_high", "hardness", "sdi", "energy", "availability"}
FACTOR = {"conductivity": 1.15, "tds": 1.15, "hardness": 1.15, "sdi": 1.2, "energy": 1.05, "boron": 1.10}


@pytest.fixture(scope="module")
def plant():
    return db.size(db.read(paths.demo(HARBOUR)))


def test_all_that_is_promised_stands_in_one_table(plant):
    frame = plant.guarantees.set_index("key")
    assert set(frame.index) >= PROMISED and {"chlorination", "antiscalant", "calcite", "co2"} <= set(frame.index)
    for _, row in frame.iterrows():
        assert row["corner"] and row["measured"] and source(row["source"]) and row["title"]
        assert float(plant[row["id"]]) == row["guaranteed"] and float(plant[row["expected_id"]]) == row["expected"]
        assert (row["guaranteed"] >= row["expected"]) if row["sense"] == "≤" else (row["guaranteed"] <= row["expected"])
    for key, factor in FACTOR.items():
        assert frame.loc[key, "guaranteed"] == pytest.approx(factor * frame.loc[key, "expected"], rel=1e-12), key
    assert frame.loc["ph_high", "guaranteed"] - frame.loc["ph_low", "guaranteed"] == pytest.approx(0.6)
    assert frame.loc["availability", "guaranteed"] == pytest.approx(0.94)
    assert frame.loc["calcite", "guaranteed"] == pytest.approx(1.15 * frame.loc["calcite", "expected"])


def test_a_margin_of_the_design_moves_its_promise_alone(plant):
    wider = db.size(demo().with_values({"guarantees.energy": "10 %"})).guarantees.set_index("key")
    before = plant.guarantees.set_index("key")
    assert wider.loc["energy", "guaranteed"] == pytest.approx(1.10 * before.loc["energy", "expected"])
    moved = [k for k in before.index if wider.loc[k, "guaranteed"] != before.loc[k, "guaranteed"]]
    assert moved == ["energy"]


def test_conductivity_is_that_of_the_ions(plant):
    """Sodium chloride of 0.01 mol/kg: 1185 uS/cm at 25 degC (limiting conductivities 50.1 and 76.3 S cm2/mol, less
    some 6 %, common practice); the product's salt lies between 1.4 and 2.2 uS/cm for each mg/L."""
    from desalbook.water.phreeqc import Water, speciate

    found = speciate(Water((("Na", 0.01), ("Cl", 0.01)), 0.0, 1e-6, None, 298.15), 298.15, "fresh").conductivity
    assert found is not None and found * 1e4 == pytest.approx(1185.0, rel=0.01)
    ratio = float(plant["product.conductivity"]) * 1e4 / (float(plant["product.tds"]) * 1e3)
    assert 1.4 < ratio < 2.2


def test_the_table_stands_on_the_page_in_the_workbook_and_in_the_summary(plant, tmp_path):
    """With expected and guaranteed value, margin, case and the standard of each figure, in either set of units."""
    plant.trail.page(tmp_path / "trail.html")
    page = (tmp_path / "trail.html").read_text(encoding="utf-8")
    (section,) = re.findall(r'<h2 id="guarantees">.*?(?=<h2|\Z)', page, re.S)
    assert section.count("<tr") >= 1 + len(plant.guarantees)
    words = full(plant).partition("Guaranteed and expected")[2]
    for units in ("si", "us"):
        for row in shown_rows(plant.guarantees.to_dict("records"), lambda id, units=units: plant.show(id, units)):
            if units == "si":
                line = next(x for x in words.splitlines() if x.startswith(f"  {row['title']} "))
                assert all(row[k] in line for k in ("expected", "margin", "guaranteed", "corner", "standard")), line
                assert row["standard"] in section and row["corner"] in section and row["measured"] in section
            assert row["corner"] in tables.guarantees(plant, units).text
    plant.trail.workbook(tmp_path / "trail.xlsx")
    book = zipfile.ZipFile(tmp_path / "trail.xlsx")
    assert 'name="Guarantees"' in book.read("xl/workbook.xml").decode()


def test_a_promise_that_was_changed_in_the_record_is_found(plant):
    record = copy.deepcopy(plant.record)
    record["guarantees"][0]["guaranteed"] *= 1.01
    assert any("guarantees[conductivity].guaranteed" in str(x) for x in derived(record))


def test_each_promise_names_its_standard(plant):
    frame = plant.guarantees.set_index("key")["standard"]
    for key, standard in {"conductivity": "ISO 7888:1985", "sdi": "ASTM D4189:2014", "tds": "Standard Methods 2540 C",
                          "energy": "common practice"}.items():
        assert frame[key] == standard


def test_a_guarantee_beyond_the_limit_is_for_review(plant):
    """The harbour demo promised 507 mg/L of TDS where 500 are allowed, and nobody said so."""
    found = plant.verdicts["guarantee.within_limits"].more
    assert found["verdict"] == "review" and "507 mg/L" in found["why"] and "500 mg/L" in found["why"]
    assert found["do"] == "lower guarantees.quality to 13 %"
    mended = db.size(demo().with_values({"guarantees.quality": "13 %"})).verdicts["guarantee.within_limits"].more
    assert mended["verdict"] == "passes"
