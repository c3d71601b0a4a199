"""Ranges and set points of the instruments of sized plants: their order, their bounds, and when they fail."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from desalbook.api import Plant
from desalbook.controls.instruments import LOW
from desalbook.design import from_text
from desalbook.plant import Sized, size
from desalbook.problems import Infeasible
from desalbook.tables import table
from tests import shared
from tests.random_designs import feasible, of_draws

PLANTS = (shared.HARBOUR, "beach-well.toml")


def out_of_order(plant: Sized) -> list[str]:
    """Instruments whose set points are not normal < alarm < trip, with a gap between, inside the range."""
    found = []
    for x in plant.control.instruments:
        row = x.row
        start = LOW.get(row["quantity"].value, 0.0)
        span = float(x.range_high) - start
        gap = (2 * row["accuracy"].value + row["deadband"].value) * span * (1 - 1e-9)
        up = [float(v) for v in (x.place.high, x.alarm_high, x.trip_high) if v is not None]
        down = [-float(v) for v in (x.place.low, x.alarm_low, x.trip_low) if v is not None]
        for side in (up, down):
            if any(b - a < gap for a, b in itertools.pairwise(side)):
                found.append(x.key)
        if up[-1] > start + 0.95 * span * (1 + 1e-9) and x.trip_high is not None:
            found.append(f"{x.key} beyond its range")
        bound = x.place.bound_high
        if bound is not None and up[-1] > float(bound):
            found.append(f"{x.key} beyond its bound")
    return found


@pytest.mark.parametrize("name", PLANTS)
def test_set_points_stand_in_order_inside_range_and_bound(name):
    plant = shared.sized(name)
    assert len(plant.control.instruments) >= 19
    assert out_of_order(plant) == []


@pytest.mark.parametrize("name", PLANTS)
def test_every_case_lies_inside_the_range(name):
    plant = shared.sized(name)
    by = {x.key: x for x in plant.control.instruments}
    for case in plant.array.by_corner.values():
        assert float(case["feed_pressure"]) <= float(by["discharge"].range_high) / 1.25
        assert float(by["concentrate-flow"].trip_low) < float(case["concentrate_flow"])
        assert float(case["permeate_flow"]) < float(by["permeate-flow"].alarm_high)


def test_no_smaller_range_would_do():
    for x in shared.sized().control.instruments:
        listed = table("instrument_ranges").series(x.row["quantity"].value.lower().replace(" ", "-")).values
        at = int(np.argmin(np.abs(np.asarray(listed) - float(x.range_high))))
        if at == 0:
            continue
        start = LOW.get(x.row["quantity"].value, 0.0)
        span, normal = listed[at - 1] - start, float(x.place.high) - start
        last = [float(v) for v in (x.alarm_high, x.trip_high) if v is not None]
        tight = span < 1.25 * normal or any(v - start > 0.95 * span * (1 - 1e-9) for v in last[-1:])
        gap = 2 * x.row["accuracy"].value + x.row["deadband"].value
        assert tight or normal + 2 * gap * span > 0.95 * span, x.key


def test_a_trip_too_near_to_what_is_normal_fails_its_check():
    text = shared.demo().text
    assert "trip_margin" not in text
    near = from_text(f'{text}\n[design_pressure]\ntrip_margin = "0.5 %"\ntrip_minimum = "0.05 bar"\n'
                     if "[design_pressure]" not in text else
                     text.replace("[design_pressure]",
                                  '[design_pressure]\ntrip_margin = "0.5 %"\ntrip_minimum = "0.05 bar"'))
    assert Plant(size(near)).verdicts["control.high_order[discharge].check"].more["verdict"] == "fails"


def test_a_place_whose_machine_is_absent_falls_away():
    well = {x.key for x in shared.sized("beach-well.toml").control.instruments}
    town = {x.key for x in shared.sized().control.instruments}
    assert "filter-drop" in town - well and "discharge" in town & well


def test_each_tag_stands_once_and_each_letter_is_of_the_standard():
    tags = [x.tag for x in shared.sized().control.instruments]
    assert len(set(tags)) == len(tags)
    assert all(t[0] in "APFLTE" and "IT-" in t for t in tags)


def test_signals_are_counted_device_by_device():
    of = shared.sized().control.signals
    for name in ("di", "do", "ai", "ao"):
        assert float(of.used[name]) == sum(r[name] * r["count"] for r in of.rows)
        assert float(of.installed[name]) == np.ceil(float(of.used[name]) * 1.2 - 1e-9)
    assert {r["type"] for r in of.rows} >= {"Transmitter", "Motor or drive", "Dosing pump", "On-off valve"}


@pytest.mark.full
def test_order_over_random_plants():
    """Each plant keeps the order, or a check of its says so."""
    for seed in range(of_draws(500)):
        try:
            plant = size(feasible(seed))
        except Infeasible:
            continue
        bad = {k.partition(" ")[0] for k in out_of_order(plant)}
        told = {id for id, line in Plant(plant).verdicts.items() if line.more["verdict"] == "fails"}
        assert all(any(f"[{k}]" in id for id in told) for k in bad), (seed, bad)


def test_a_range_beyond_the_table_is_a_failed_check_and_no_refusal():
    text = shared.demo().text
    assert not any(id.endswith(".short") for id in shared.plant().verdicts)
    far = Plant(size(from_text(f'{text}\n[control]\ntrip_in_range = "50 %"\n')))
    assert far.verdicts["control.range[product-ph].short"].more["verdict"] == "fails"
    assert float(far["control.range[product-ph]"]) == 14.0


@pytest.mark.parametrize(("key", "text"), (("control.range_factor", "2"), ("control.trip_in_range", "65 %")))
def test_a_rule_for_ranges_leaves_the_ph_scale_alone(key, text):
    by = {x.key: x for x in size(shared.plant().design.with_value(key, text)).control.instruments}
    assert float(by["product-ph"].range_high) == 14.0
    wider = {"control.range_factor": "permeate-flow", "control.trip_in_range": "discharge"}[key]
    was = next(x for x in shared.sized().control.instruments if x.key == wider)
    assert float(by[wider].range_high) > float(was.range_high)
