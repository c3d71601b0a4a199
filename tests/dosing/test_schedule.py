"""The one schedule of chemicals against doses times flows and against the streams of the plant."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook import paths
from desalbook.plant.chemical_schedule import COLUMNS


@pytest.fixture(scope="module", params=["harbour-town.toml", "beach-well.toml"])
def plant(request):
    return db.size(db.read(paths.demo(request.param)))


def mismatch(frame, streams) -> float:
    """Greatest relative gap of two independent sums: dose x flow, and the streams."""
    frame = frame.dropna(subset=["mass_rate"])  # cleaning is by batches, not by flow
    by_dose = sum(d * q for d, q in zip(frame["dose"], frame["flow"], strict=True))
    by_stream = streams["chemical_kg_s"].dropna().sum()
    scheduled = frame["mass_rate"].sum()
    return max(abs(by_dose / scheduled - 1), abs(by_stream / scheduled - 1))


def test_schedule_sums_to_the_balance_of_the_plant(plant):
    frame = plant.chemicals
    assert mismatch(frame, plant.streams) < 1e-9
    streams = plant.streams
    flowing = set(streams.loc[streams["chemical_kg_s"].notna(), "key"])
    assert set(frame.loc[frame["mass_rate"].notna(), "key"]) == flowing and "calcite" in flowing


@pytest.mark.parametrize("column", ["dose", "flow", "mass_rate"])
def test_a_planted_error_is_seen(plant, column):
    frame = plant.chemicals
    frame.loc[0, column] *= 1.0001
    assert mismatch(frame, plant.streams) > 1e-9


def test_each_dose_once_with_an_id_of_the_trail(plant):
    frame = plant.chemicals
    assert tuple(frame.columns) == COLUMNS and frame["id"].is_unique and frame["key"].is_unique
    for row in frame.itertuples():
        if row.key.startswith("cip_"):
            assert float(plant[row.id]) == row.yearly_use > 0
            continue
        assert float(plant[row.id]) == row.mass_rate and row.yearly_use > 0
        if row.key in plant.sized.parts["minerals"]:
            continue
        assert row.bund >= 1.1 * row.store - 1e-12 and row.highest_rate <= row.pump_capacity
        assert row.lowest_rate <= row.solution_rate <= row.highest_rate


def test_use_of_a_year_holds_the_dose(plant):
    """kg bought x strength as delivered x what ageing leaves = mean mass rate x a year x availability."""
    share = float(plant["duty.availability"])
    for row in plant.chemicals.dropna(subset=["mass_rate"]).itertuples():
        if row.key in plant.sized.parts["minerals"]:
            assert row.yearly_use == pytest.approx(row.mean_mass_rate * 365.25 * 86400 * share, rel=1e-9)
            continue
        strength = float(plant[f"{row.key}.strength"])
        if f"{row.key}.strength_used" in plant:
            strength = float(plant[f"{row.key}.strength_used"])
        assert row.yearly_use * strength == pytest.approx(row.mean_mass_rate * 365.25 * 86400 * share, rel=1e-9)


def test_no_row_for_a_step_that_is_absent():
    plant = db.size(db.read(paths.demo("beach-well.toml")))
    assert "chlorination" not in set(plant.chemicals["key"])
