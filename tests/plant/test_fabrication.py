"""Weights and the line list both ways: each item of the schedule is weighed, each run is listed, sums are of parts."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

import desalbook as db
from desalbook import paths
from desalbook.design import from_text
from desalbook.plant import Sized, size
from desalbook.plant.fabrication import Fabricated, fabricate
from desalbook.tables import table
from desalbook.trail import what_if
from tests import shared
from tests.every import every
from tests.readers import MIXED

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


def arranged(sized: Sized, of: Fabricated) -> None:
    """Every item of the package that has a place is on a skid or on the plan, once; masses and centres are of parts."""
    kinds = table("skid_kinds")
    held = {x.row["tag"] for x in of.weighed if x.box is None}
    small = {row["tag"] for row in sized.equipment if row["key"].startswith(("valve[", "instrument["))}
    on_skids = [i["of"] for i in of.items if i["of"] and i["of"] not in small]
    on_plan = [p.tag for p in of.placed]
    assert len(on_plan) == len(set(on_plan))
    tags = {s["tag"] for s in of.skids}
    for x in of.weighed:
        tag = x.row["tag"]
        if tag in held | small:
            continue
        if x.skid and x.row["supply"] == "package":
            alike = int(sized.duty.trains) if kinds[x.skid]["per"].value == "train" else 1
            assert on_skids.count(tag) * alike == x.row["installed_total"], (tag, on_skids.count(tag))
        else:
            there = sum(bool(re.fullmatch(rf"(\d+-)?{tag}([A-Z]+|/\d+)?", p)) for p in on_plan)
            assert there == x.row["installed_total"], (tag, there)
    assert {i["skid"] for i in of.items} == tags and len(tags) == len(of.skids)
    for s in of.skids:
        pieces = [i for i in of.items if i["skid"] == s["tag"]]
        assert math.isclose(s["mass_empty"], math.fsum(i["mass_empty"] for i in pieces), rel_tol=1e-9)
        for axis, side in (("x", "length"), ("y", "width"), ("z", "height")):
            moment = math.fsum(i["mass_empty"] * (i[axis] + i[side] / 2) for i in pieces)
            assert math.isclose(s[f"centre_{axis}"], moment / s["mass_empty"], rel_tol=1e-9)
            assert 0 < s[f"centre_{axis}"] < s[side]
        solid = [i for i in pieces if i["of"] and i["of"] not in small]
        for n, a in enumerate(solid):
            assert a["x"] >= 0 and a["y"] >= 0 and a["z"] >= 0
            assert a["x"] + a["length"] <= s["length"] + 1e-9 and a["y"] + a["width"] <= s["width"] + 1e-9
            for b in solid[n + 1:]:
                assert not _meet(a, b, ("x", "length"), ("y", "width"), ("z", "height")), (a["tag"], b["tag"])
        assert (s["fits"] == "no") == bool(s["sticks_out"])
    placed = [vars(p) | {"x": p.x - p.clear_begin, "length": p.length + p.clear_begin + p.clear_end}
              for p in of.placed if not p.tag.startswith("T-6")]  # bulk storage is in its bund
    for n, a in enumerate(placed):
        for b in placed[n + 1:]:
            assert not _meet(a, b, ("x", "length"), ("y", "width")), (a["tag"], b["tag"])
    shipped = [t for c in of.containers for t in c["contents"].split(", ")]
    for s in of.skids:
        heads = [f"{n + 1}-" for n in range(s["count"])] if s["scope"] == "train" else [""]
        assert all(shipped.count(f"{h}{s['tag']}") == 1 for h in heads), s["tag"]
    package = math.fsum(x["total_empty"] for x in of.weights if x["supply"] == "package")
    own = math.fsum(i["mass_empty"] * next(s["count"] for s in of.skids if s["tag"] == i["skid"]) for i in of.items
                    if not i["of"])
    loose = {r["key"] for r in of.lines} - {i["tag"].removeprefix("pipe-") for i in of.items}
    spools = math.fsum(float(r.empty + r.supports) * r.row["count"] for r in of.runs if r.key in loose)
    assert math.isclose(math.fsum(c["mass"] for c in of.containers), package + own + spools, rel_tol=1e-9)


def _meet(a: Any, b: Any, *sides: tuple[str, str]) -> bool:
    return all(a[x] + a[d] > b[x] + 1e-9 and b[x] + b[d] > a[x] + 1e-9 for x, d in sides)


def test_the_weights_and_lines_of_the_demos():
    every(DEMOS, lambda name: whole(shared.sized(name), made(name)))


def test_skids_and_plan_of_the_demos():
    every(DEMOS, lambda name: arranged(shared.sized(name), made(name)))


def test_the_test_of_the_arrangement_sees_what_is_missing_or_in_the_way():
    sized, of = shared.sized(), made()

    def told(**changed: Any) -> bool:
        try:
            arranged(sized, Fabricated(**{**vars(of), **changed}))
        except AssertionError:
            return True
        return False

    pump = next(n for n, i in enumerate(of.items) if i["of"] == "P-301")
    first = of.items[pump]
    assert told(items=of.items[:pump] + of.items[pump + 1:])
    assert told(items=[*of.items[:pump], first | {"x": first["x"] + 2.0}, *of.items[pump + 1:]])
    assert told(items=[*of.items[:pump], first | {"mass_empty": first["mass_empty"] + 1.0}, *of.items[pump + 1:]])
    assert told(placed=of.placed[1:]) and told(placed=[*of.placed, of.placed[0]])
    assert told(containers=of.containers[1:])


@pytest.mark.full
def test_skids_are_split_and_checked_by_the_container():
    """A short container splits, tells what sticks out, and judges vessels by their length."""
    sized = size(shared.demo().with_values({"fabrication.container": "20", "membrane.elements": "5"}), recording=False)
    book = sized.ledger.branch()
    short = fabricate(sized, book)
    arranged(sized, short)
    assert len(short.skids) > len(made().skids)
    assert any("height" in s["sticks_out"] for s in short.skids)  # panels on a base do not go through a low door
    assert book.lines["shipment.elements_most[V-301].check"].more["verdict"] == "fails"
    rack = next(s for s in short.skids if s["key"] == "rack")
    assert rack["fits"] == "no" and "length" in rack["sticks_out"]
    assert {x.more["verdict"] for x in book.lines.values() if x.id.endswith("_across.check")
            and x.id.startswith("skid[")} <= {"passes", "marginal", "fails"}


@pytest.mark.full
def test_a_heavy_or_lopsided_skid_fails_its_checks():
    """A pump set of ten times its mass is too heavy; one heavy panel moves the centre of gravity of its skid."""
    given = shared.demo().with_values({"fabrication.weights[P-301]": "70 t"})
    sized = size(given, recording=False)
    book = sized.ledger.branch()
    fabricate(sized, book)
    heavy = next(s["tag"] for s in fabricate(sized, sized.ledger.branch()).skids if s["key"] == "pressure")
    assert book.lines[f"skid[{heavy}].payload.check"].more["verdict"] == "fails"
    assert book.lines[f"skid[{heavy}].floor_load.check"].more["verdict"] == "fails"
    given = {"fabrication.weights[P-501]": "5 kg", "fabrication.weights[F-502]": "9 t"}
    uneven = size(shared.demo().with_values(given), recording=False)
    book = uneven.ledger.branch()
    fabricate(uneven, book)
    found = {id: x.more["verdict"] for id, x in book.lines.items() if ".offset_" in id and id.endswith(".check")}
    assert "fails" in found.values() and found["skid[SK-302A].offset_along.check"] == "passes"


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


ODD = {"mixed elements": MIXED, "horizontal filters": '\n[filter_vessel]\nform = "horizontal"\n',
       "a high class": '\n[design_pressure]\nclass_permeate = "pn-100"\n'}
"""Designs a reader of the schedule has stumbled over."""


@pytest.mark.full
@pytest.mark.parametrize("name", ODD)
def test_odd_designs_are_weighed_and_arranged(name: str):
    sized = size(from_text(shared.demo().text + ODD[name]), recording=False)
    of = fabricate(sized, sized.ledger.branch())
    whole(sized, of)
    arranged(sized, of)


@pytest.mark.full
def test_a_product_that_flows_by_gravity_has_its_line():
    sized = size(shared.demo().with_values({"product_pump.present": "no"}), recording=False)
    of = fabricate(sized, sized.ledger.branch())
    whole(sized, of)
    line = {x["key"]: x for x in of.lines}["product"]
    assert line["begins"] == "T-401" and line["rating"] == {x["key"]: x for x in of.lines}["permeate"]["rating"]


@pytest.mark.full
def test_a_given_mass_takes_the_place_of_an_estimate():
    given = shared.demo().with_values({"fabrication.weights[P-301]": "5200 kg", "fabrication.weights[T-101]": "30 t"})
    sized = size(given, recording=False)
    rows = {x["tag"]: x for x in fabricate(sized, sized.ledger.branch()).weights}
    assert rows["P-301"]["mass_empty"] == 5200.0 and rows["P-301"]["basis"] == "as given"
    assert rows["P-301"]["mass_operating"] == pytest.approx(5200 * 1.04)
    assert rows["T-101"]["mass_empty"] == 30000.0
    assert rows["P-201"]["mass_empty"] == {x["tag"]: x for x in made().weights}["P-201"]["mass_empty"]


@pytest.mark.full
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
    own = [m for m in wanted if not m[0].startswith(("weight[", "line["))] + wanted[::60]
    idle = []
    for id, key, by in dict.fromkeys(own):
        book = before.ledger.branch()
        if id in book.lines:  # a key of the design moves nothing of the plant itself
            was = book.lines[id]
            book.lines[id] = replace(was, value=by if isinstance(by, str) else was.value * by)
        with what_if({key: by}):
            fabricate(before, book)
        differs = changed(first.lines, book.lines)
        children = descendants(first.lines, book.lines)
        assert differs <= below(id, children), (id, sorted(differs - below(id, children))[:5])
        if len(differs) < 2:
            idle.append(id)
    assert {id for id in idle if id.startswith("fabrication.")} <= IDLE, sorted(idle)


IDLE = {"fabrication.spool_length", "fabrication.highest_vessel", "fabrication.aisle", "fabrication.withdrawal",
        "fabrication.push_out"}
"""Keys that move no line of this plant: a spool a hundredth longer makes no spool less, its design says how high a
column of vessels is, and clear spaces move the plan alone."""
