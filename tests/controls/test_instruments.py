"""Ranges and set points of the instruments of sized plants: their order, their bounds, and when they fail."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from desalbook.api import Plant
from desalbook.controls.instruments import LOW
from desalbook.design import from_text
from desalbook.plant import Sized, size
from desalbook.plant.control import SALT
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
        low = x.place.bound_low
        if low is not None and len(down) > 1 and -down[-1] < float(low):
            found.append(f"{x.key} below its bound")
    return found


def by_case(plant: Sized) -> dict[str, list[float]]:
    """What an instrument reads at each case, for those whose value differs from case to case."""
    rows = plant.array.by_corner.values()
    # stages in series have a drop of their own each, of which the largest stands in the list
    made = {key: [float(r[name]) for r in rows if name in r.figures] for key, name in (
        ("discharge", "feed_pressure"), ("concentrate-pressure", "concentrate_pressure"),
        ("permeate-flow", "permeate_flow"), ("concentrate-flow", "concentrate_flow"), ("vessel-drop", "vessel_drop"))}
    made["permeate-conductivity"] = [float(r["permeate_tds"]) / SALT.value for r in rows]
    made["feed-temperature"] = [float(w.temperature) for w in plant.waters.at.values()]
    return made


def cases_outside(plant: Sized) -> list[str]:
    """Cases whose reading comes nearer to a set point than the deadband, or leaves the share of its range."""
    found, cases = [], by_case(plant)
    for x in plant.control.instruments:
        start, end = float(x.range_low), float(x.range_high)
        band = x.row["deadband"].value * (end - start) * (1 - 1e-9)
        for value in cases.get(x.key, []):
            ups = [float(v) for v in (x.alarm_high, x.trip_high) if v is not None]
            downs = [float(v) for v in (x.alarm_low, x.trip_low) if v is not None]
            if any(u - value < band for u in ups) or any(value - d < band for d in downs):
                found.append(f"{x.key} set point within what is normal")
            if not start - 1e-9 <= value <= start + x.range_used * (end - start) * (1 + 1e-9):
                found.append(f"{x.key} beyond the share of its range")
        if x.range_used > 1.0:
            found.append(f"{x.key} range too short")
    return found


@pytest.mark.parametrize("name", PLANTS)
def test_set_points_stand_in_order_inside_range_and_bound(name):
    plant = shared.sized(name)
    assert len(plant.control.instruments) >= 19
    assert out_of_order(plant) == []
    assert cases_outside(plant) == []
    assert len(by_case(plant)["discharge"]) >= 6


@pytest.mark.parametrize("name", PLANTS)
def test_the_share_of_a_range_is_told_and_leaves_its_margin(name):
    plant = shared.sized(name)
    rows = {r["key"]: r for r in plant.control.rows()}
    for x in plant.control.instruments:
        assert rows[x.key]["range_used"] == pytest.approx(
            (float(x.place.high) - float(x.range_low)) / (float(x.range_high) - float(x.range_low)))
        if len(table("instrument_ranges").series(x.row["quantity"].value.lower().replace(" ", "-")).values) > 1:
            assert x.range_used <= (1 / 1.25 if x.place.trip_high is None else 0.95) * (1 + 1e-9), x.key


@pytest.mark.parametrize("name", PLANTS)
def test_trip_relief_and_rating_stand_in_order(name):
    plant = shared.sized(name)
    for section in plant.sections.values():
        up = [float(v) for v in (section.trip, section.relief, section.rating) if v is not None]
        assert up == sorted(up) and len(set(up[:-1])) == len(up[:-1])
    if "orp" in {x.key for x in plant.control.instruments}:  # the probe sees it before the pump does
        assert float(plant.ledger["injection.warning_travel"]) > float(plant.ledger["injection.reaction_time"])


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
    """Each plant keeps the order at every case, or a check of its says so."""
    sized = 0
    for seed in range(of_draws(500)):
        try:
            plant = size(feasible(seed), recording=False)
        except Infeasible:
            continue
        sized += 1
        bad = {k.partition(" ")[0] for k in (*out_of_order(plant), *cases_outside(plant))}
        told = {id for id, line in Plant(plant).verdicts.items() if line.more["verdict"] == "fails"}
        assert all(any(f"[{k}]" in id for id in told) for k in bad), (seed, bad)
    assert sized >= 0.8 * of_draws(500)


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
