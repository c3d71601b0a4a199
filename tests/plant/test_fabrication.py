"""Weights and the line list both ways: each item of the schedule is weighed, each run is listed, sums are of parts."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import pytest

import desalbook as db
from desalbook import paths
from desalbook.plant import Sized, size
from desalbook.plant.fabrication import Fabricated, fabricate
from desalbook.tables import table
from desalbook.trail import what_if
from tests import shared
from tests.every import every

DEMOS = ("harbour-town.toml", "beach-well.toml")


@cache
def made(name: str = "harbour-town.toml") -> Fabricated:
    sized = shared.sized(name)
    return fabricate(sized, sized.ledger.branch())


def whole(sized: Sized, of: Fabricated) -> None:
    """Every row of the schedule has a mass and every mass a row; every run of pipe a line; sums are their parts."""
    assert [x["tag"] for x in of.weights] == [row["tag"] for row in sized.equipment]
    for x, row in zip(of.weights, sized.equipment, strict=True):
        assert x["count"] == row["installed_total"] and x["basis"] and 0 < x["spread"] <= 1.2, x["tag"]
        assert 0 < x["mass_empty"] <= x["mass_operating"] and x["mass_empty"] <= x["mass_test"], x["tag"]
        for state in ("empty", "operating", "test"):
            assert math.isclose(x[f"total_{state}"], x[f"mass_{state}"] * x["count"], rel_tol=1e-12), x["tag"]
    assert [x["key"] for x in of.lines] == [*sized.pipes]
    assert len({x["number"] for x in of.lines}) == len(of.lines)
    known = {row["tag"] for row in sized.equipment}
    for x in of.lines:
        for end in (x["begins"], x["ends"]):
            assert end in known or end.startswith("Battery limit"), (x["number"], end)
        held = next(r for r in table("flange_classes").values() if r.title == x["flange_class"])
        assert held["rating"].value >= x["rated_pressure"] * (1 - 1e-9) or held.key == "class-900"
        assert x["supports"] >= 2 and x["flanges"] >= 2 and x["mass_empty"] < x["mass_full"], x["number"]
    for state in ("empty", "operating", "test"):
        parts = {p["part"]: p["mass"] for p in of.parts if p["state"] == state}
        total = parts.pop("plant")
        assert math.isclose(total, math.fsum(parts.values()), rel_tol=1e-9)
        assert math.isclose(parts["equipment"], math.fsum(x[f"total_{state}"] for x in of.weights), rel_tol=1e-9)
        pipes = math.fsum(x["mass_empty"] * x["count"] for x in of.lines)
        assert math.isclose(parts["pipes"], pipes, rel_tol=1e-9)
        if state != "empty":
            water = math.fsum((x["mass_full"] - x["mass_empty"]) * x["count"] for x in of.lines)
            assert math.isclose(parts["contents"], water, rel_tol=1e-9)


def test_the_weights_and_lines_of_the_demos():
    every(DEMOS, lambda name: whole(shared.sized(name), made(name)))


def test_the_test_sees_what_is_missing():
    sized, of = shared.sized(), made()

    def told(**changed: Any) -> bool:
        try:
            whole(sized, Fabricated(**{**vars(of), **changed}))
        except AssertionError:
            return True
        return False

    assert not told()
    assert told(weights=of.weights[1:]) and told(lines=of.lines[:-1])
    assert told(weights=[of.weights[0] | {"mass_empty": 1.001 * of.weights[0]["mass_empty"]}, *of.weights[1:]])
    assert told(lines=[of.lines[0] | {"ends": "P-999"}, *of.lines[1:]])
    assert told(parts=[p | {"mass": p["mass"] * (1 + 1e-8)} if p["part"] == "plant" else p for p in of.parts])


def test_masses_are_what_a_fabricator_would_expect():
    """Two runs of a demo by hand: a filter, a rack, a run of super duplex."""
    row = {x["key"]: x for x in made().weights}
    book = shared.sized().ledger
    assert row["filters"]["mass_empty"] == float(book["filter_vessel.empty_weight"])
    assert row["filters"]["mass_operating"] == pytest.approx(float(book["filter_vessel.operating_weight"]))
    assert row["filters"]["mass_test"] < row["filters"]["mass_operating"]  # media weigh more than the water they take
    vessel = 147 * (0.2 / 0.2019)**2 * (0.25 + 0.75 * 82.737 / 69)
    assert row["vessels"]["mass_empty"] == pytest.approx(vessel, rel=1e-3)
    assert row["elements"]["mass_empty"] == pytest.approx(16.5, rel=0.02)
    line = {x["key"]: x for x in made().lines}["high-pressure"]
    plain = math.pi * (0.2191 - 0.00818) * 0.00818 * 7800 * 8
    flanges = 4 * 16.5 * 2.0274**1.68
    assert line["mass_empty"] == pytest.approx(1.3 * plain + flanges, rel=1e-3)
    assert line["flange_class"] == "Class 600" and line["number"] == "DN200-RF-301-PN100-SD"
    assert row["hp_pump"]["basis"] == "correlation" and row["storage"]["basis"] == "geometry"


def test_a_given_mass_takes_the_place_of_an_estimate():
    given = shared.demo().with_values({"fabrication.weights[P-301]": "5200 kg", "fabrication.weights[T-101]": "30 t"})
    sized = size(given, recording=False)
    rows = {x["tag"]: x for x in fabricate(sized, sized.ledger.branch()).weights}
    assert rows["P-301"]["mass_empty"] == 5200.0 and rows["P-301"]["basis"] == "as given"
    assert rows["P-301"]["mass_operating"] == pytest.approx(5200 * 1.04)
    assert rows["T-101"]["mass_empty"] == 30000.0
    assert rows["P-201"]["mass_empty"] == {x["tag"]: x for x in made().weights}["P-201"]["mass_empty"]


def test_the_public_tables_have_units():
    plant = db.size(db.read(paths.demo("beach-well.toml")))
    us, si = plant.weights("us"), plant.weights("si")
    assert us["mass_empty, lb"].sum() == pytest.approx(si["mass_empty, kg"].sum() / 0.45359237)
    assert "support_span, ft" in plant.line_list("us") and "mass_full, kg" in plant.line_list("si")
    assert list(plant.equipment["mass_empty"]) == list(plant.weights["mass_empty"])
    id = plant.weights["id"].iloc[0]
    assert float(plant.fabrication[id]) == plant.weights["mass_empty"].iloc[0] and id not in plant
    assert all(row["mass_empty"] > 0 for row in plant.record["equipment"])


@pytest.mark.full
def test_the_trail_of_fabrication_moves_as_it_says():
    """A moved input changes no line that does not rest on it, and each key of the section moves something."""
    from tests.test_moving import below, changed, descendants, moves

    before = size(shared.demo())
    first = before.ledger.branch()
    fabricate(before, first)
    wanted = [m for m in moves(first.lines) if m[0].startswith("fabrication.") or m[0] not in before.ledger.lines]
    own = [m for m in wanted if not m[0].startswith(("weight[", "line["))] + wanted[::25]
    idle = []
    for id, key, by in dict.fromkeys(own):
        with what_if({key: by}):
            again = size(shared.demo()) if id in before.ledger.lines else before
            book = again.ledger.branch()
            fabricate(again, book)
        differs = changed(first.lines, book.lines)
        assert differs <= below(id, descendants(first.lines, book.lines)), (id, sorted(differs)[:5])
        if len(differs) < 2:
            idle.append(id)
    assert {id for id in idle if id.startswith("fabrication.")} <= IDLE, sorted(idle)


IDLE = {"fabrication.container", "fabrication.sling_angle", "fabrication.sling_legs", "fabrication.weight_contingency",
        "fabrication.dynamic_factor", "fabrication.frame_load", "fabrication.gap", "fabrication.aisle",
        "fabrication.withdrawal", "fabrication.push_out", "fabrication.lowest_vessel", "fabrication.vessel_pitch",
        "fabrication.spool_length"}
"""Keys that move nothing of this plant; a spool a hundredth longer makes no spool less."""
