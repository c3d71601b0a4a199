"""What a contract guarantees: every promised figure with its margin, its corner and how it is measured."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook import paths
from desalbook.sources import source
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
