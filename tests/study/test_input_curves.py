"""Curves that a workbook follows: what they promise between their ends, held against plants sized there."""

from __future__ import annotations

import pytest

from desalbook import api
from desalbook.audit.workbook.formulas import NEAR, Formulas
from desalbook.audit.workbook.places import Places
from desalbook.study import responses
from tests import shared

KEYS = {"membrane.recovery": 0.02, "filters.rate_limit": 0.05}


@pytest.fixture(scope="module")
def made():
    plant = api.size(shared.demo())
    return plant, api.hold(plant), responses(plant.record, plant.design, api.hold(plant), api.size, KEYS)


def test_a_root_lies_on_its_curve_between_the_ends(made):
    plant, held, (recovery, _) = made
    assert recovery.key == "membrane.recovery" and recovery.step == pytest.approx(0.02 * 0.42)
    u = 0.6
    there = api.size(held.with_value("membrane.recovery", f"{42 * (1 + 0.02 * u):.10g} %"))
    count = 0
    for id, curves in recovery.curves.items():
        if "@" not in id or id not in there or not id.startswith("membrane."):
            continue
        now, then = ([float(v) for v in getattr(p[id], "values", [p[id]])] for p in (there, plant))
        scale = max(abs(v) for v in then)
        for a, b, (slope, bend) in zip(now, then, curves, strict=True):
            count += abs(slope) > 0
            assert abs(b + slope * u + bend * u * u - a) <= NEAR * scale, id
    assert count > 500


def test_what_is_another_at_an_end_is_named(made):
    _, _, (recovery, rate) = made
    assert "filters.diameter" in rate.low and "filters.diameter" not in rate.high
    assert rate.ends[0]["filters.diameter"][0] > 2.4 and "filters.diameter" not in rate.ends[1]
    assert not any(abs(a) + abs(b) > 1e-9 for a, b in rate.curves["membrane.feed_salinity@cold-aged"])
    assert "membrane.vessels" not in recovery.high | recovery.low


def test_selections_follow_only_where_their_rule_can_be_looked_up(made):
    plant, _, curves = made
    record = plant.record
    formulas = Formulas(record, Places(record), None, curves)
    lines = {x["id"]: x for x in record["lines"]}
    assert formulas.looked_up(lines["filters.diameter"]) == "filters.diameter_needed"
    text = formulas.live(lines["filters.diameter"])
    assert text.startswith("=INDEX({") and "filters_diameter_needed_" in text
    assert formulas.looked_up(lines["filters.count"]) is None and formulas.fixed(lines["filters.count"])
    assert formulas.looked_up(lines["feed_pump.motor"]) is None  # its margin is that of each size
    assert formulas.gathered(lines["energy.consumers"]) and not formulas.fixed(lines["energy.consumers"])
    root = lines["membrane.feed_salinity@cold-aged"]
    assert "SUMPRODUCT" in formulas.live(root) and "Responses" in formulas.stale(root)
    plain = Formulas(record, Places(record))
    assert plain.live(root) is None and "Responses" not in plain.stale(root)


def test_an_input_at_whose_ends_nothing_can_be_built_is_followed_nearer_or_left_out(made):
    plant, held, _ = made
    assert responses(plant.record, plant.design, held, api.size, {"no.such": 0.1}) == []
    (near,) = responses(plant.record, plant.design, held, api.size, {"water.temperature_design": 0.05})
    assert near.step < 0.05 * 295  # 5 % of kelvin would be hotter than the hottest water
