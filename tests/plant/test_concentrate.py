"""The concentrate at the outfall, and the balance of the plant by adding up its streams."""

from __future__ import annotations

import copy

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.plant.concentrate import balance
from tests import shared

PLANTS = ("harbour-town.toml", "beach-well.toml")


@pytest.fixture(scope="module")
def plants():
    return {name: shared.sized(name) for name in PLANTS}


@pytest.mark.parametrize("name", PLANTS)
def test_balance_closes(plants, name):
    got = balance(plants[name].streams)
    assert got["relative"].drop("charge_mol_s").abs().max() < 1e-9 and abs(got.loc["charge_mol_s", "gap"]) < 1e-9
    assert {"water_kg_s", "Cl_mol_s", "boron_kg_s"} <= set(got.index)


@pytest.mark.parametrize("key", ["permeate", "concentrate"])
def test_a_planted_error_of_a_hundredth_of_a_per_cent_is_seen(plants, key):
    rows = copy.deepcopy(plants["harbour-town.toml"].streams)
    next(r for r in rows if r["key"] == key)["water_kg_s"] *= 1.0001
    assert abs(balance(rows).loc["water_kg_s", "relative"]) > 1e-5


@pytest.mark.parametrize("name", PLANTS)
def test_the_reject_at_the_outfall(plants, name):
    made = plants[name].concentrate
    lines = plants[name].ledger.lines
    # salt is conserved: the factor is that of salinity, but for what passes the membranes
    assert float(made.jet.froude) > 20 and float(made.jet.near_field) > float(made.jet.rise) > 0
    assert float(made.chlorine) == 0.0
    assert 1.4 < lines["concentrate.factor"].value < 2.0
    assert float(made.ph) == pytest.approx(lines["water.ph"].value, abs=0.3)
    jet = lines["outfall.velocity"].value, lines["outfall.port"].value
    assert jet[0] * 3.14159265 / 4 * jet[1] ** 2 == pytest.approx(lines["outfall.port_flow"].value, rel=1e-6)


def test_chlorine_without_dechlorination_reaches_the_sea():
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    bare = text.replace('[dechlorination]\npresent = "yes"', '[dechlorination]\npresent = "no"')
    assert bare != text
    lines = shared.sized(designs.from_text(bare)).ledger.lines
    assert lines["concentrate.chlorine"].value == pytest.approx(0.5e-3)
    assert lines["concentrate.chlorine.check"].more["verdict"] == "fails"
