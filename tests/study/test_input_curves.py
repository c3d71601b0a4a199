"""Curves that a workbook follows: what they promise between their ends, held against plants sized there."""

from __future__ import annotations

import pytest

from desalbook import api, paths
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
    ((needed, sizes),) = formulas.looked_up(lines["filters.diameter"])
    assert needed == "filters.diameter_needed" and sizes == sorted(sizes) and 2.4 in sizes
    text = formulas.live(lines["filters.diameter"])
    assert text.startswith("=INDEX({") and "filters_diameter_needed_" in text
    assert formulas.looked_up(lines["filters.count"]) is None and formulas.fixed(lines["filters.count"])
    by_size = formulas.looked_up(lines["feed_pump.motor"])  # its margin is that of each size
    assert [key for (_, key), _ in by_size] == list(lines["feed_pump.motor_needed"]["keys"])
    assert sorted(v for _, some in by_size for v in some) == [v for _, some in by_size for v in some]
    assert formulas.gathered(lines["energy.consumers"]) and not formulas.fixed(lines["energy.consumers"])
    assert formulas.gathered(lines["cost.yearly"])["energy"] == ["cost.operating_parts", "energy"]
    root = lines["membrane.feed_salinity@cold-aged"]
    assert "SUMPRODUCT" in formulas.live(root) and "Responses" in formulas.stale(root)
    plain = Formulas(record, Places(record))
    assert plain.live(root) is None and "Responses" not in plain.stale(root)


@pytest.mark.full
def test_a_number_searched_for_jumps_where_it_does_in_a_plant_sized_anew():
    """Three per cent more product asks for a seventh vessel: nearly nothing followed before."""
    key, design = "duty.train_product_flow", api.read(paths.demo("beach-well.toml"))
    plant = api.size(design)
    (flow,) = responses(plant.record, design, api.hold(plant), api.size, {key: 0.04})
    (switch,) = flow.switches
    assert switch.side == 1.0 and 0 < switch.first - switch.last < 0.01 and "membrane.vessels" not in flow.high
    base = float(plant[key])
    for u, count in ((switch.last - 0.02, 6.0), (0.5 * (switch.first + 1), 7.0), (0.9, 7.0)):
        there = api.size(design.with_value(key, f"{(base + u * flow.step) * 86400:.12g} m3/d"))
        assert float(there["membrane.vessels"]) == count
        for id in ("membrane.vessels", "membrane.feed_salinity@cold-aged", "membrane.feed_pressure@cold-aged"):
            if id not in switch.curves:
                continue
            ((a, b, c),), ((slope, bend),) = switch.curves[id], flow.curves[id]
            move = a + b * u + c * u * u if count == 7.0 else slope * u + bend * u * u
            assert float(plant[id]) + move == pytest.approx(float(there[id]), rel=NEAR), (id, u)


def test_an_input_at_whose_ends_nothing_can_be_built_is_followed_nearer_or_left_out(made):
    plant, held, _ = made
    assert responses(plant.record, plant.design, held, api.size, {"no.such": 0.1}) == []
    (near,) = responses(plant.record, plant.design, held, api.size, {"water.temperature_design": 0.05})
    assert near.step < 0.05 * 295  # 5 % of kelvin would be hotter than the hottest water
