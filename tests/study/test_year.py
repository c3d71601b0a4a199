"""A year from a series: the same answers as ratings one by one, weighted by time and by what was produced."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pandas as pd
import pytest

import desalbook as db
from desalbook import paths
from desalbook.plant import size
from desalbook.problems import DesignError
from desalbook.study import operating_year, read_series
from tests import shared

DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
WARM = (16, 15.5, 16, 17.5, 20, 23.5, 26, 27.5, 26.5, 24, 20.5, 17.5)
SALT = (38.6, 38.5, 38.4, 38.4, 38.6, 38.9, 39.1, 39.3, 39.3, 39.1, 38.9, 38.7)
MONTHS = pd.DataFrame({"month": [f"{n:02d}" for n in range(1, 13)], "temperature, degC": WARM, "salinity, g/kg": SALT})


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


@pytest.fixture(scope="module")
def year(plant):
    return operating_year(plant, MONTHS, step=[f"{n} d" for n in DAYS], limits={"permeate_boron": "<= 0.6 mg/L as B"})


def test_months_are_rated_as_they_stand_and_weighted_by_their_days(plant, year):
    cases = db.rate(plant, temperature=[f"{t} degC" for t in WARM], salinity=[f"{s} g/kg" for s in SALT])
    for name in ("feed_pressure", "permeate_boron", "section_power"):
        assert (year.frame[name].to_numpy() == cases[name].to_numpy()).all()
    days, power = np.array(DAYS) * 86400.0, cases["section_power"].to_numpy()
    trains = float(plant["duty.trains"])
    assert year.energy == pytest.approx(trains * (power * days).sum(), rel=1e-12)
    made = (cases["permeate_flow"].to_numpy() * days).sum()
    assert year.specific_energy == pytest.approx((power * days).sum() / made, rel=1e-12)
    assert year._mean("temperature") - 273.15 == pytest.approx(20.90685, abs=1e-5)  # of the days, worked by hand
    assert year._mean("temperature") - 273.15 != pytest.approx(np.mean(WARM), abs=0.01)


def test_what_is_outside_is_told_with_its_time(year):
    broken = sum(d for d, b in zip(DAYS, year.frame["permeate_boron"], strict=True) if not b <= 0.6e-3)
    (words,) = [w for w in year.outside if w.startswith("permeate boron")]
    assert 0 < broken < 365 and year.outside[words] == pytest.approx(86400 * broken)
    assert year.extremes("feed_pressure")[1][0] == "02" and year.extremes("permeate_boron")[1][0] in ("08", "09")
    assert "kWh/m3" in year.words() and "kWh/kgal" in year.words("us")


def test_the_demo_year_day_by_day(plant, tmp_path):
    path = paths.demo("harbour-town.toml").with_name("harbour-year.csv")
    year = operating_year(plant, path, results=tmp_path / "a.csv")
    assert len(year.frame) == 365 and year.frame["reason"].eq("").all()
    value = year.frame["feed_pressure"].to_numpy()
    means = np.convolve(value, np.ones(7) / 7, "valid")
    label, mean = year.worst_week("feed_pressure")
    assert label == year.frame["label"].iloc[int(means.argmax())] and mean == pytest.approx(means.max(), rel=1e-12)
    assert year.worst_week("feed_pressure", least=True)[1] == pytest.approx(means.min(), rel=1e-12)
    with ThreadPoolExecutor(2) as pool:
        again = operating_year(plant, path, executor=pool, results=tmp_path / "b.csv")
    assert (tmp_path / "a.csv").read_bytes() == (tmp_path / "b.csv").read_bytes() and again.energy == year.energy


def test_turbidity_and_the_product_follow_the_day(plant):
    """At the turbidity of the design the filter run is that of its worst water; clearer water runs longer."""
    text = pd.DataFrame({"day": ["1", "2", "3"], "turbidity, NTU": [8.0, 2.0, 8.0],
                         "temperature, degC": [29.0, 15.0, 22.0]})
    of, book = operating_year(plant, text, limits={"filtrate_turbidity": "<= 0.05 NTU"}), plant
    assert of.frame["filter_run"][0] == pytest.approx(float(book["filters.run_worst"]), rel=1e-12)
    solids, coagulant = float(book["water.suspended_solids"]), float(plant.sized.doses.coagulation.solids)
    expect = float(book["filters.run_worst"]) * (solids + coagulant) / (solids / 4 + coagulant)
    assert of.frame["filter_run"][1] == pytest.approx(expect, rel=1e-12)
    assert of.frame["filtrate_turbidity"][0] == pytest.approx(float(book["filters.filtrate_turbidity_result"]))
    assert of.outside["filtrate turbidity: above 0.0500 NTU"] == pytest.approx(2 * 86400)
    # hottest water with aged elements governs the product of the design
    assert of.frame["product_tds"][0] == pytest.approx(float(book["product.tds"]), rel=1e-3)
    added = of.frame["product_tds"] - of.frame["permeate_tds"]
    assert np.ptp(added) < 1e-12 < added[0] and (of.frame["product_boron"] == of.frame["permeate_boron"]).all()


def test_treated_feed_in_the_product_goes_with_the_salinity_of_the_day():
    sized = size(shared.demo().with_values({"product.remineralisation": "blend", "product.blend_fraction": "1 %"}),
                 recording=False)
    text = pd.DataFrame({"temperature, degC": [29.0, 29.0], "salinity, g/kg": [37.0, 41.0]})
    of, content = operating_year(sized, text).frame, float(sized.finish.water_content)
    salt = of["salinity"].to_numpy()
    assert np.diff(of["product_tds"] - 0.99 * of["permeate_tds"]) == pytest.approx(0.01 * content * np.diff(salt))
    sea = float(sized.waters.boron) / float(sized.waters.analysis.salinity)
    assert of["product_boron"].to_numpy() == pytest.approx(
        0.99 * of["permeate_boron"].to_numpy() + 0.01 * content * sea * salt, rel=1e-12)


def test_units_in_the_head_are_read(tmp_path):
    (tmp_path / "us.csv").write_text('day,"temperature, degF","age, years"\na,60.8,1\nb,59.9,1\n')
    labels, given = read_series(tmp_path / "us.csv")
    assert labels == ["a", "b"] and given["temperature"] == pytest.approx([289.15, 288.65])
    assert given["age"] == pytest.approx([31557600.0] * 2)
    for text, words in (("day,temperature\na,16\n", "temperature"),
                        ('day,"humidity, %"\na,3\n', "no such condition"),
                        ('"temperature, degC"\nwarm\n', "row 1"),
                        ("day\na\n", "no conditions"), ("", "cannot be read")):
        (tmp_path / "bad.csv").write_text(text)
        with pytest.raises(DesignError, match=words) as caught:
            read_series(tmp_path / "bad.csv")
        assert "\n" not in str(caught.value)
    with pytest.raises(DesignError, match="cannot be read"):
        read_series(tmp_path / "none.csv")


def test_a_step_without_answer_is_time_outside(plant):
    series = pd.DataFrame({"day": ["a", "b"], "temperature, degC": [20, 20], "salinity, g/kg": [37, 125]})
    year = operating_year(plant, series, step="12 h")
    assert any(w.startswith("no answer") and t == 43200.0 for w, t in year.outside.items())
    assert np.isfinite(year.energy) and np.isfinite(year.specific_energy)
    with pytest.raises(DesignError, match="one step a row"):
        operating_year(plant, series, step=["1 d"])


def _town(demand, plant, **more):
    series = pd.DataFrame({"day": [str(n) for n in range(len(demand))], "demand, m3/d": demand})
    return operating_year(plant, series, **more)


def test_tanks_against_demand_worked_by_hand(plant):
    """5000 m3/d can be made; the tanks hold 1333: full, then two days of 5800 and one of 3000."""
    of, sized = _town([4000, 5800, 5800, 3000], plant), shared.sized()
    can = float(sized.duty.net_product) * 86400
    full = float(sized.product_tank) * 2
    assert can == pytest.approx(5000) and of.capacity == pytest.approx(full) and 800 < full < 1600
    assert list(of.frame["made"]) == pytest.approx([4000, can, can, 3000 + full])
    assert list(of.frame["level"]) == pytest.approx([full, full - 800, 0.0, full])
    assert list(of.frame["short"]) == pytest.approx([0, 0, 1600 - full, 0], abs=1e-6)
    assert "demand not met in 1.000 d" in of.words() and "most on 2" in of.words()
    assert list(of.frame["running"]) == pytest.approx([0.95 * 0.8, 0.95, 0.95, 0.95 * (3000 + full) / can])
    whole = of.frame["section_power"] * 86400 * 2 * of.frame["running"]
    assert of.frame["energy"].to_numpy() == pytest.approx(whole.to_numpy(), rel=1e-12)
    half = _town([3000], plant, level="50 %")
    assert half.frame["made"][0] == pytest.approx(3000 + full / 2) and "every demand is met" in half.words()
    with pytest.raises(DesignError, match="fraction of the tanks"):
        _town([4000], plant, level="120 %")


def test_water_is_neither_lost_nor_made(plant):
    of = operating_year(plant, paths.demo("harbour-town.toml").with_name("harbour-year.csv"))
    f, taken = of.frame, of.frame["demand"] * 86400
    had = of.capacity - f["level"].iloc[-1] + f["made"].sum() + f["short"].sum()
    assert had == pytest.approx(taken.sum(), rel=1e-12)
    assert (f["level"] >= 0).all() and (f["level"] <= of.capacity).all() and f["short"].sum() > 0


def test_chemicals_of_a_year_are_those_of_the_plant(plant):
    """The design's own water for a year, the trains running their availability: the bill of chemicals."""
    sized = shared.sized()
    of = _town([6000] * 2, plant, step="182.625 d")
    year = sum(float(r["yearly_cost"]) for r in sized.chemicals)
    assert of.frame["chemicals_cost"].sum() == pytest.approx(year, rel=1e-9)
    row = next(r for r in sized.chemicals if r["key"] == "antiscalant")
    assert of.chemicals["antiscalant"] == pytest.approx(float(row["mean_mass_rate"]) * 0.95 * 31557600, rel=1e-9)
