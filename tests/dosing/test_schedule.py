"""The one schedule of chemicals against doses times flows and against the streams of the plant."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook import paths
from desalbook.plant.chemical_schedule import COLUMNS
from desalbook.tables import table
from tests import shared


@pytest.fixture(scope="module", params=["harbour-town.toml", "beach-well.toml"])
def plant(request):
    return shared.plant(request.param)


def mismatch(frame, streams) -> float:
    """Maximum relative gap of two independent sums: dose x flow, and the streams."""
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
        if row.key in plant.sized.minerals:
            continue
        assert row.bund >= 1.1 * row.store - 1e-12 and row.highest_rate <= row.pump_capacity
        assert row.lowest_rate <= row.solution_rate <= row.highest_rate


def test_every_chemical_has_its_use_and_cost_of_a_year(plant):
    """Calcite and carbon dioxide too: kilograms as bought times the price of the table, and their sum."""
    frame = plant.chemicals.set_index("key")
    assert {"calcite", "co2", "cip_acid", "cip_alkali", "antiscalant"} <= set(frame.index)
    assert (frame["yearly_use"] > 0).all() and (frame["yearly_cost"] > 0).all()
    rows = {row.title: row for row in table("chemicals").values()}
    for key, row in frame.iterrows():
        price = rows[row["chemical"]]["price"].value
        assert row["yearly_cost"] == pytest.approx(price * row["yearly_use"], rel=1e-9), key
    assert float(plant["chemicals.yearly_cost"]) == pytest.approx(frame["yearly_cost"].sum(), rel=1e-12)
    pure = frame.loc["calcite", "mass_rate"] * float(plant["duty.availability"]) * 31557600.0
    assert frame.loc["calcite", "yearly_use"] == pytest.approx(pure / 0.98, rel=1e-12)


def test_use_of_a_year_holds_the_dose(plant):
    """kg bought x strength as delivered x what ageing leaves = mean mass rate x a year x availability."""
    share = float(plant["duty.availability"])
    for row in plant.chemicals.dropna(subset=["mass_rate"]).itertuples():
        if row.key in plant.sized.minerals:
            bought = row.yearly_use * float(plant[f"minerals[{row.key}].strength"])
            assert bought == pytest.approx(row.mean_mass_rate * 365.25 * 86400 * share, rel=1e-9)
            continue
        strength = float(plant[f"{row.key}.strength"])
        if f"{row.key}.strength_used" in plant:
            strength = float(plant[f"{row.key}.strength_used"])
        assert row.yearly_use * strength == pytest.approx(row.mean_mass_rate * 365.25 * 86400 * share, rel=1e-9)


def test_no_row_for_a_step_that_is_absent():
    plant = shared.plant("beach-well.toml")
    assert "chlorination" not in set(plant.chemicals["key"])


def places(**keys):
    design = db.read(paths.demo("harbour-town.toml"))
    for key, value in keys.items():
        design = design.with_value(key.replace("__", "."), value)
    return db.size(design)


def test_each_chemical_weighs_dose_times_flow_in_the_schedule_and_where_it_enters(plant):
    """Chemical by chemical, so that no two errors make one right sum; a day of the mean dose beside it."""
    frame, streams = plant.chemicals.dropna(subset=["mass_rate"]), plant.streams
    for row in frame.itertuples():
        day = 86400.0 * row.mass_rate
        assert day == pytest.approx(86400.0 * row.dose * row.flow, rel=1e-12)
        assert row.mean_mass_rate == pytest.approx(row.mean_dose * row.flow, rel=1e-12)
        entry = streams[streams["key"].eq(row.key) & streams["chemical_kg_s"].notna()]
        assert len(entry) == 1 and 86400.0 * entry["chemical_kg_s"].iloc[0] == pytest.approx(day, rel=1e-12)
        assert entry["chemical_mean_kg_s"].iloc[0] == pytest.approx(row.mean_mass_rate, rel=1e-12)
        assert entry["scope"].iloc[0] == "plant" and entry["not_followed"].iloc[0]


def test_a_chemical_enters_a_place_that_the_water_passes():
    plant = places(acid__present="yes", acid__target_ph="7.4")
    streams = plant.streams
    water = set(streams.loc[streams["water_kg_s"].notna(), "to"])
    chemicals = streams[streams["chemical_kg_s"].notna()].set_index("key")
    assert set(chemicals["to"]) <= water | {"product"}
    wanted = {"chlorination": "tank", "coagulation": "filters", "acid": "cartridges", "antiscalant": "cartridges",
              "dechlorination": "cartridges", "post_chlorination": "product"}
    assert {k: chemicals["to"][k] for k in wanted} == wanted


def test_what_the_streams_leave_out_stands_on_the_line_and_in_the_row():
    """Three chloride a mole of ferric chloride: 1 mg/L of iron brings 1.9 mg/L to a sea of 20 g/L, 0.01 %."""
    plant = places()
    line = plant.ledger.lines["coagulation.mass_rate"]
    assert "3 Cl" in line.note and "not in the ions of the streams" in line.note
    row = plant.streams.set_index("key").loc["dechlorination"]
    assert "1 Na and 1 SO4" in row["not_followed"]
    sea = float(plant["water.molality"]["Cl"])
    assert 3 * float(plant["coagulation.amount"]) < 2e-4 * sea
