"""Cause and effect, permissives and alarms say what the sequences do, and the trial trips where they say."""

from __future__ import annotations

import pytest

from desalbook.controls.trial import Case, programme, trace
from desalbook.plant.cause_effect import FLOOD, GROUPS, alarm_load_rows, alarm_rows, cause_rows, permissive_rows
from desalbook.plant.sequences import sequence_rows
from desalbook.tables import table
from tests import shared

PLANTS = (shared.HARBOUR, "beach-well.toml")


@pytest.mark.parametrize("name", PLANTS)
def test_every_trip_has_an_effect_and_every_tag_is_in_the_schedule(name):
    plant = shared.sized(name)
    rows = cause_rows(plant)
    tags = {r["tag"] for r in plant.equipment}
    fixed = {"key", "tag", "title", "fault", "set_point", "kind", "delay", "does", "group", "latched", "alarm", "id",
             "ids"}
    heads = [c for c in rows[0] if c not in fixed]
    assert set(heads) <= tags and len({r["key"] for r in rows}) == len(rows)
    for r in rows:
        assert r["group"] in GROUPS and any(r[h] for h in heads), r["title"]
        assert r["tag"].partition("-")[2] in {t.partition("-")[2] for t in tags} or r["key"].startswith("emergency")
        assert r["delay"] >= programme().times["scan"]
    stopping = {x.key for x in plant.control.instruments if x.trip_low is not None or x.trip_high is not None}
    assert {k for k in stopping if any(r["key"].startswith(f"{k}-trip") for r in rows)} == stopping


def test_a_trip_of_a_train_does_what_its_step_says():
    row = next(r for r in cause_rows(shared.sized()) if r["key"] == "discharge-trip-high")
    assert (row["P-301"], row["P-201"], row["XV-301"], row["XV-305"], row["XV-308"]) == ("S", "S", "C", "C", "O")
    assert row["P-101"] == "" and row["set_point"] == pytest.approx(float(shared.plant()[row["id"]]))
    orp = next(r for r in cause_rows(shared.sized()) if r["key"] == "orp-trip-high")
    assert orp["P-601"] == "S" and row["P-601"] == "", "an ORP trip ends the hypochlorite as well"


def test_the_effects_follow_the_table_of_sequences(monkeypatch):
    rows = table("sequences")
    changed = dict(rows["trip"].cells) | {"dump": rows["trip"]["feed"]}  # the dump shut in a trip
    monkeypatch.setitem(rows._rows, "trip", type(rows["trip"])(**{**vars(rows["trip"]), "cells": changed}))
    row = next(r for r in cause_rows(shared.sized()) if r["key"] == "discharge-trip-high")
    assert row.get("XV-308", "") == ""


@pytest.mark.full
@pytest.mark.parametrize("fault", ("hp_pump fails", "suction low", "feed stuck", "power lost", "dosing empty"))
def test_what_the_table_trips_trips_in_the_trial(fault):
    at = "purge" if fault == "feed stuck" else "run"
    told = trace(shared.sized().control.train, Case((fault,), "fill" if fault == "feed stuck" else at))
    assert "trip" in [step for _, step, _ in told]


@pytest.mark.parametrize("name", PLANTS)
def test_delays_of_the_list_are_those_of_the_programme(name):
    plant = shared.sized(name)
    times, by = programme().times, {x.key: x for x in plant.control.instruments}
    for key, own in {"suction": "suction-delay", "discharge": "pressure-delay", "permeate-pressure": "pressure-delay",
                     "concentrate-flow": "flow-delay", "permeate-conductivity": "quality-delay",
                     "raw-level": "level-delay"}.items():
        assert by[key].delay == times[own], key
    if "orp" in by:
        assert by["orp"].delay == plant.control.train.orp_delay


@pytest.mark.parametrize("name", PLANTS)
def test_each_alarm_says_what_follows_and_what_to_do(name):
    plant = shared.sized(name)
    rows = alarm_rows(plant)
    assert len({r["key"] for r in rows}) == len(rows)
    assert all(r["consequence"] and r["response"] and r["priority"] in ("high", "medium", "low") for r in rows)
    # who has little time is told with high priority, and the other way round
    assert all((r["respond"] <= 600.0) for r in rows if r["priority"] == "high" and r["respond"] is not None)
    assert all(r["respond"] >= 600.0 for r in rows if r["priority"] == "low" and r["respond"] is not None)
    assert sum(r["priority"] == "high" for r in rows) / len(rows) < 0.12
    set_points = [x for r in rows if r["id"] for x in (r["id"],)]
    book = plant.ledger
    assert set_points and all(float(book[r["id"]]) == r["set_point"] for r in rows if r["id"])


@pytest.mark.parametrize("name", PLANTS)
def test_a_start_waits_for_level_suction_and_a_feed_free_of_chlorine(name):
    rows = permissive_rows(shared.sized(name))
    wants = " ".join(r["wants"] for r in rows)
    assert "raw tank" in wants and "suction" in wants and "XV-302 is seen open" in wants
    assert ("ORP" in wants) == (name == shared.HARBOUR)


@pytest.mark.full
def test_suppression_by_design_keeps_a_trip_readable():
    rows = {r["key"]: r for r in alarm_load_rows(shared.sized())}
    assert all(r["suppressed"] <= r["plain"] for r in rows.values())
    assert rows["start"]["plain"] >= 3 and rows["start"]["suppressed"] == 0, "low flows and pressures of rest"
    assert max(r["plain"] for r in rows.values()) > FLOOD >= max(r["suppressed"] for r in rows.values())
    assert all(r["suppressed"] >= 1 for key, r in rows.items() if key != "start"), "no trip without an alarm"
    assert rows["power-lost"]["trains"] == 2


def test_a_sequence_is_printed_with_tags_durations_and_numbers_of_steps():
    plant = shared.sized()
    tags = {r["tag"] for r in plant.equipment}
    rows = {r["key"]: r for r in sequence_rows(plant, "backwash")}
    assert set(", ".join(r["open"] for r in rows.values() if r["open"]).split(", ")) <= tags
    water, off = rows["bw-water"], rows["bw-stop"]
    assert water["lasts"] == pytest.approx(float(plant.ledger["filters.backwash_time"]))
    steps = list(rows.values())
    after = steps[water["then"] - 1]
    assert after["begins"] == pytest.approx(water["begins"] + water["lasts"]) and off["begins"] is None
    train = sequence_rows(plant, "train")
    assert train[-1]["waits"] is None and all(1 <= r["then"] <= len(train) for r in train)
