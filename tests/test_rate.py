"""`rate`: many conditions in one call, the same equations as the sized corners."""

from __future__ import annotations

import re

import numpy as np
import pytest

import desalbook as db
from desalbook.problems import DesignError
from tests import shared
from tests.rate_si import rate_si

YEAR = 31557600.0


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


def test_the_corners_come_out_as_sized(plant):
    cold, hot = (float(plant[f"water.temperature_{k}"]) for k in ("cold", "hot"))
    cases = rate_si(plant, temperature=[cold, cold, hot, hot], age=[0, 3 * YEAR, 0, 3 * YEAR])
    for row, corner in enumerate(("cold-new", "cold-aged", "hot-new", "hot-aged")):
        for name in ("feed_pressure", "permeate_boron", "permeate_tds", "beta_max"):
            assert cases[name][row] == pytest.approx(float(plant[f"membrane.{name}@{corner}"]), rel=1e-8)


def test_conditions_broadcast_and_move_the_right_way(plant):
    cases = rate_si(plant, temperature=np.linspace(288, 303, 4), salinity=np.array([[0.034], [0.040]]))
    assert len(cases) == 8 and list(cases["id"])[:2] == ["rate[0]", "rate[1]"]
    thin, strong = cases[:4], cases[4:]
    assert (strong["feed_pressure"].to_numpy() > thin["feed_pressure"].to_numpy()).all()
    assert (np.diff(thin["feed_pressure"]) < 0).all() and (np.diff(thin["permeate_boron"]) > 0).all()


def test_a_case_beyond_reach_has_a_reason(plant):
    cases = rate_si(plant, salinity=[float(plant["water.salinity"]), 0.25])
    assert cases["reason"][0] == "" and np.isfinite(cases["feed_pressure"][0])
    assert cases["reason"][1] and np.isnan(cases["feed_pressure"][1])


def test_past_the_end_of_the_curves_says_so(plant):
    cases = rate_si(plant, salinity=[0.070, 0.080])
    assert list(cases["reason"]) == ["", "the water at the membrane would pass 130 g/kg"]
    assert list(np.isnan(cases["feed_pressure"])) == [False, True]


def test_an_unknown_control_is_refused(plant):
    with pytest.raises(DesignError, match="product-flow"):
        rate_si(plant, control="by hand")


def test_held_hardware_gives_the_same_plant(plant):
    again = db.size(db.hold(plant))
    for id in ("membrane.feed_pressure", "hp_pump.shaft_power", "filters.rate", "energy.plant_specific",
               "storage.volume"):
        assert float(again[id]) == pytest.approx(float(plant[id]), rel=1e-6), id
    assert not set(again.checks.query("verdict == 'fails'")["id"])


@pytest.fixture(scope="module", params=["isobaric", "turbocharger", "pelton", "none"])
def with_device(request):
    return shared.plant(shared.demo().with_value("energy_recovery.device", request.param))


def test_the_pressure_train_comes_out_as_sized(with_device):
    plant = with_device
    cold, hot = (float(plant[f"water.temperature_{k}"]) for k in ("cold", "hot"))
    cases = rate_si(plant, temperature=[cold, hot], age=[3 * YEAR, 0])
    for row, corner in enumerate(("cold-aged", "hot-new")):
        for name, id in (("hp_power", "hp_pump.power_all"), ("hp_speed", "hp_pump.speed_ratio"),
                         ("hp_load", "hp_pump.motor_load"), ("section_power", "energy.section_power"),
                         ("exhaust_pressure", "energy_recovery.exhaust_pressure")):
            assert cases[name][row] == pytest.approx(float(plant[f"{id}@{corner}"]), rel=1e-8), name


def test_what_one_control_finds_another_takes_back(plant):
    conditions = {"temperature": np.linspace(288, 301, 5), "age": 2 * YEAR, "water_factor": [0.95, 1, 1, 1, 1.1]}
    first = rate_si(plant, **conditions)
    held = rate_si(plant, **conditions, feed_pressure=first["feed_pressure"], control="pressure")
    asked = rate_si(plant, **conditions, feed_pressure=first["feed_pressure"], control="recovery")
    for again in (held, asked):
        assert not again["reason"].any()
        for name in ("permeate_flow", "recovery", "feed_pressure", "permeate_boron", "specific_energy"):
            assert again[name].to_numpy() == pytest.approx(first[name].to_numpy(), rel=1e-8), name


def test_a_throttled_pump_wastes_what_speed_saves(plant):
    conditions = {"temperature": [float(plant["water.temperature_cold"]), 300.0]}
    speed = rate_si(plant, **conditions, control="speed")
    valve = rate_si(plant, **conditions, control="throttle")
    assert valve["throttle_loss"][1] > 1e3 and abs(speed["throttle_loss"]).max() < 1e-6
    assert valve["hp_power"][1] > speed["hp_power"][1] and speed["hp_speed"][1] < 1
    beyond = rate_si(plant, temperature=276.0, control="throttle")
    assert "does not reach" in beyond["reason"][0] and np.isnan(beyond["specific_energy"][0])


def test_each_condition_moves_what_it_should(plant):
    base = rate_si(plant).iloc[0]
    fouled = rate_si(plant, fouling=0.8).iloc[0]
    leaky = rate_si(plant, salt_factor=1.2).iloc[0]
    eager = rate_si(plant, recovery=0.45).iloc[0]
    assert fouled["feed_pressure"] > base["feed_pressure"] and eager["feed_pressure"] > base["feed_pressure"]
    assert 1.1 < leaky["permeate_tds"] / base["permeate_tds"] < 1.25
    assert eager["feed_flow"] < base["feed_flow"] and eager["permeate_boron"] > base["permeate_boron"]
    assert eager["hp_rise"] > base["hp_rise"] and eager["recovery"] == pytest.approx(0.45)


@pytest.mark.parametrize(("condition", "words"), [
    ({"temperature": 400.0}, "temperature"), ({"salinity": -1.0}, "salinity"), ({"age": np.nan}, "age"),
    ({"fouling": 0.0}, "permeability left"), ({"recovery": 1.2}, "recovery is outside"),
    ({"water_factor": np.inf}, "factor"), ({"recovery": 0.93}, "would pass 130 g/kg"),
    ({"control": "pressure", "feed_pressure": 5e5}, "osmotic pressure"),
    ({"control": "recovery", "feed_pressure": 25e5}, "no feed flow|osmotic pressure"),
    ({"fouling": 0.01}, "200 bar")])
def test_a_refusal_names_its_reason_and_harms_no_neighbour(plant, condition, words):
    good = {"temperature": 295.0, "salinity": 0.036, "age": 0.0, "fouling": 1.0, "recovery": 0.39, "water_factor": 1.0}
    (key, value), *_ = [(k, v) for k, v in condition.items() if k != "control"]
    first = float(plant["membrane.feed_pressure"]) if key == "feed_pressure" else good[key]
    said = {"control": condition.get("control", "product-flow"), key: [first, value]}
    cases = rate_si(plant, **said)
    assert cases["reason"][0] == "" and np.isfinite(cases["specific_energy"][0])
    assert re.search(words, cases["reason"][1]), cases["reason"][1]
    assert np.isnan(cases["specific_energy"][1])


def test_conditions_a_control_gives_back_are_refused(plant):
    with pytest.raises(DesignError, match="gives back"):
        rate_si(plant, control="recovery", recovery=0.4)
    with pytest.raises(DesignError, match="gives back"):
        rate_si(plant, feed_pressure=60e5)


def test_many_temperatures_take_interpolated_curves(plant):
    few, cold, hot = 9, 285.0, 303.0
    some = np.linspace(cold, hot, few)
    many = np.concatenate([some, np.linspace(cold, hot, 40) + 1e-3])
    direct, read = rate_si(plant, temperature=some), rate_si(plant, temperature=many)[:few]
    for name, rel in (("feed_pressure", 1e-6), ("permeate_tds", 1e-6), ("specific_energy", 1e-6)):
        assert read[name].to_numpy() == pytest.approx(direct[name].to_numpy(), rel=rel), name


@pytest.mark.full
def test_chunks_join_and_the_time_of_a_case_stays(plant, monkeypatch):
    import time

    from desalbook.plant import rating

    rng = np.random.default_rng(4)
    draw = {"temperature": rng.uniform(287, 302, 30_000), "water_factor": rng.normal(1, 0.05, 30_000)}
    start = time.process_time()
    large = rating.rate(plant.sized, **draw)
    middle = time.process_time()
    small = rating.rate(plant.sized, **{k: v[:3000] for k, v in draw.items()})
    end = time.process_time()
    assert len(large["id"]) == 30_000 and not any(large["reason"])
    assert small["specific_energy"] == pytest.approx(large["specific_energy"][:3000], rel=1e-6)
    assert (middle - start) / 30_000 < 2 * (end - middle) / 3000
    monkeypatch.setattr(rating, "CHUNK", 500)
    again = rating.rate(plant.sized, **{k: v[:3000] for k, v in draw.items()})
    assert again["feed_pressure"] == pytest.approx(small["feed_pressure"], rel=1e-9)


def test_hot_permeate_salinity_and_boron_rise_faster_than_flow(plant):
    """At one feed pressure and feed flow: salt has a larger activation energy than water, boron the largest."""
    hot = rate_si(plant, temperature=np.arange(288.15, 304.0, 3.0), control="pressure")
    assert not hot["reason"].any()
    flow, salt, boron = (np.diff(np.log(hot[k].to_numpy())) for k in ("permeate_flow", "permeate_tds",
                                                                     "permeate_boron"))
    assert (flow > 0).all() and (salt > 1.5 * flow).all() and (boron > 1.2 * salt).all()


def test_reject_at_120_g_per_kg_is_answered_or_refused_with_its_reason(plant):
    """At a low recovery the wall stays on the curves; at a high one it would pass their end, and that is said."""
    salinity = np.arange(0.040, 0.116, 0.005)
    cases = rate_si(plant, salinity=salinity, recovery=1 - salinity / 0.120)
    answered = cases["reason"].to_numpy() == ""
    assert answered.any() and not answered.all()
    assert set(cases["reason"][~answered]) == {"the water at the membrane would pass 130 g/kg"}
    got = cases[answered]
    assert np.isfinite(got.drop(columns=["id", "reason", "caution"]).to_numpy(dtype=float)).all()
    # kilogram per cubic metre over the mass of brine in one: 120 g per kg of water is 107 g per kg of brine
    assert got["concentrate_tds"].between(112.0, 122.0).all()
    assert np.isnan(cases.loc[~answered, "feed_pressure"]).all()


@pytest.mark.full
def test_a_million_cases_stay_under_two_gibibytes(plant, monkeypatch):
    """Bytes a case from two lengths in one run, and what one chunk needs besides: kept profiles would pass it."""
    import tracemalloc

    from desalbook.plant import rating

    small = 256

    def peak(count: int) -> int:
        conditions = np.linspace(288.0, 303.0, count)
        rating.rate(plant.sized, temperature=conditions[:8])
        tracemalloc.start()
        rating.rate(plant.sized, temperature=conditions)
        found = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return found

    chunk = rating.CHUNK / small
    monkeypatch.setattr(rating, "CHUNK", small)
    one, four, eight = peak(small), peak(4 * small), peak(8 * small)
    each = (eight - four) / (4 * small)
    assert chunk * one + 1e6 * each < 2 * 2**30
