"""Uncertain conditions: samples, indices and intervals against published values, and what they say of a plant."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pandas as pd
import pytest

from desalbook.problems import DesignError
from desalbook.study import Spread, indices, interval, sample, uncertainty
from tests import shared

PI = np.pi
TWO = {"water_factor": Spread(0.85, 1.15), "temperature": Spread("16 degC", "28 degC")}
BORON = {"permeate_boron": "<= 0.62 mg/L as B"}  # near the middle of what this plant gives


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


def run(function, width: int, count: int, seed: int):
    """Indices of a function of the unit cube."""
    cube = sample(count, 2 * width, seed)
    a, b = cube[:, :width], cube[:, width:]
    mixed = []
    for i in range(width):
        one = a.copy()
        one[:, i] = b[:, i]
        mixed.append(function(one))
    return indices(function(a), function(b), np.array(mixed), [f"x{i + 1}" for i in range(width)])


def ishigami(u: np.ndarray, a: float = 7.0, b: float = 0.1) -> np.ndarray:
    x = PI * (2 * u - 1)
    return np.sin(x[:, 0]) + a * np.sin(x[:, 1]) ** 2 + b * x[:, 2] ** 4 * np.sin(x[:, 0])


@pytest.mark.parametrize(("b", "first", "total"), [
    (0.1, (0.313905, 0.442411, 0.0), (0.557589, 0.442411, 0.243684)),
    (0.05, (0.218519, 0.686895, 0.0), (0.313105, 0.686895, 0.094587))])
def test_ishigami(b, first, total):
    """Printed to two digits in the documentation of open libraries; the closed form gives the others."""
    found = run(lambda u: ishigami(u, b=b), 3, 4096, 5)
    assert [*found.first.values()] == pytest.approx(first, abs=0.015)
    assert [*found.total.values()] == pytest.approx(total, abs=0.015)
    assert found.ranking[0] == ("x1" if b == 0.1 else "x2")


@pytest.mark.parametrize(("a", "first", "total"), [
    ((0, 1, 4.5, 9, 99, 99, 99, 99), (0.716192, 0.179048, 0.023676, 0.007162),
     (0.787144, 0.242198, 0.034317, 0.010460)),
    ((0, 0.5, 3, 9, 99, 99), (0.586781, 0.260792, 0.036674, 0.005868), (0.690086, 0.356173, 0.056334, 0.009171))])
def test_g_function(a, first, total):
    a = np.array(a, dtype=float)
    found = run(lambda u: np.prod((np.abs(4 * u - 2) + a) / (1 + a), axis=1), len(a), 8192, 3)
    assert [*found.first.values()][:4] == pytest.approx(first, abs=0.02)
    assert [*found.total.values()][:4] == pytest.approx(total, abs=0.02)


def test_indices_of_a_small_case_are_exact():
    """f = x1 (1 + x2) at four points, worked by hand with centred estimators (population variance)."""
    a = np.array([[.1, .6], [.4, .2], [.7, .9], [.9, .3]])
    b = np.array([[.5, .8], [.2, .4], [.8, .1], [.3, .7]])

    def f(x):
        return x[:, 0] * (1 + x[:, 1])

    ab = [np.column_stack([b[:, 0], a[:, 1]]), np.column_stack([a[:, 0], b[:, 1]])]
    found = indices(f(a), f(b), np.array([f(x) for x in ab]), ("x1", "x2"))
    assert [*found.first.values()] == pytest.approx([0.66680095, -0.31812277], abs=1e-8)
    assert [*found.total.values()] == pytest.approx([0.89567451, 0.36255602], abs=1e-8)


def test_a_product_of_two_is_shared_with_its_interaction():
    """Energy cost: 3.0 to 4.2 kWh/m3 times 0.08 to 0.16 per kWh."""
    found = run(lambda u: (3 + 1.2 * u[:, 0]) * (0.08 + 0.08 * u[:, 1]), 2, 4096, 7)
    assert [*found.first.values()] == pytest.approx([0.198529, 0.794118], abs=0.01)
    assert sum(found.total.values()) - sum(found.first.values()) == pytest.approx(2 * 0.007353, abs=0.01)


@pytest.mark.parametrize(("misses", "count", "low", "high"), [
    (18, 20, 0.6830172859809, 0.9876514728297), (4, 20, 0.0573339970500, 0.4366140029967),
    (4, 200, 0.0054755658796, 0.0504136090899), (190, 200, 0.9099724622986, 0.9757658345279),
    (7, 50, 0.05819170033997, 0.26739600249701), (0, 200, 0.0, 0.018275), (25, 1000, 0.016243, 0.036685)])
def test_interval_of_a_proportion(misses, count, low, high):
    """Exact intervals as printed in the documentation of open libraries."""
    assert interval(misses, count) == pytest.approx((low, high), abs=6e-7)


def test_samples_are_stratified_and_come_again():
    cube = sample(100, 3, 4, "latin-hypercube")
    for column in cube.T:
        assert sorted(np.floor(100 * column).astype(int)) == list(range(100))
    assert (sample(64, 5, 9) == sample(64, 5, 9)).all() and (sample(64, 5, 9) != sample(64, 5, 10)).any()
    assert (sample(128, 5, 9)[:64] == sample(64, 5, 9)).all()  # a doubled sample keeps its points
    for said, words in (((100, 2, 1), "power of two"), ((8, 2, 1), "16 or more"), ((64, 2, 1, "dice"), "sobol")):
        with pytest.raises(DesignError, match=words):
            sample(*said)


def test_spreads_are_drawn_as_stated():
    u = sample(4096, 1, 2)[:, 0]
    for spread, mean, deviation in (
            (Spread(mean="22 degC", deviation="3 K", distribution="normal"), 295.15, 2.96),
            (Spread("18 degC", "28 degC"), 296.15, 10 / 12**0.5),
            (Spread("18 degC", "30 degC", "triangular", mode="21 degC"), 273.15 + 23, 2.55)):
        x = spread.of("temperature", "temperature").ppf(u)
        assert (x.mean(), x.std()) == (pytest.approx(mean, abs=0.02), pytest.approx(deviation, abs=0.02))
    x = Spread(0.5, 2.0, "lognormal", mean=1.0, deviation=0.1).of("salt_factor", "factor").ppf(u)
    assert x.mean() == pytest.approx(1, abs=2e-3) and x.std() == pytest.approx(0.1, abs=2e-3) and x.min() >= 0.5
    for bad, words in ((Spread("28 degC", "18 degC"), "do not rise"), (Spread("18 bar", "20 degC"), "bar"),
                       (Spread(distribution="normal", mean="20 degC"), "standard deviation"),
                       (Spread("1 degC", "2 degC", "cauchy"), "uniform"),
                       (Spread("18 degC", "30 degC", "triangular", mode="3 degC"), "between")):
        with pytest.raises(DesignError, match=words):
            bad.of("temperature", "temperature")


def test_a_plant_says_how_often_it_misses_and_why(plant):
    found = uncertainty(plant, TWO, BORON, count=256)
    values = found.frame["permeate_boron"].to_numpy()[:256]
    one = found.missed["permeate_boron"]
    assert one.misses == int((values > 0.62e-3).sum()) and 20 < one.misses < 236 and one.count == 256
    assert one.low < one.probability < one.high
    assert f"{one.misses} of 256" in found.words() and "varies mostly with temperature" in found.words()
    shares = found.shares["permeate_boron"]
    assert shares.ranking == ("temperature", "water_factor")
    assert 0.9 < sum(shares.first.values()) < 1.05
    tornado = found.tornado("permeate_boron")
    assert list(tornado["input"]) == ["temperature", "water_factor"] and tornado["at_high"][0] > tornado["at_low"][0]
    assert len(found.frame) == 256 * 4


def test_workers_and_seeds(plant, tmp_path):
    alone = uncertainty(plant, TWO, BORON, count=512, seed=3, results=tmp_path / "one.csv")
    with ThreadPoolExecutor(2) as pool:
        two = uncertainty(plant, TWO, BORON, count=512, seed=3, results=tmp_path / "two.csv", executor=pool, chunk=1)
    pd.testing.assert_frame_equal(alone.frame, two.frame)
    assert (tmp_path / "one.csv").read_bytes() == (tmp_path / "two.csv").read_bytes()
    assert alone.missed == two.missed and alone.shares == two.shares
    other = uncertainty(plant, TWO, BORON, count=512, seed=4)
    assert not other.frame["temperature"].equals(alone.frame["temperature"])


def test_correlated_inputs_move_together_and_have_no_indices(plant):
    spreads = {"temperature": Spread("16 degC", "28 degC"), "salinity": Spread("35 g/kg", "39 g/kg")}
    found = uncertainty(plant, spreads, BORON, count=1024, correlation={("temperature", "salinity"): 0.9})
    r = found.frame[["temperature", "salinity"]].corr("spearman").iloc[0, 1]
    assert r == pytest.approx(6 / PI * np.arcsin(0.45), abs=0.02) and not found.shares  # Pearson of the copula to ranks
    for said, words in (({("temperature", "age"): 0.5}, "with a spread"),
                        ({("temperature", "salinity"): 1.5}, "below 1")):
        with pytest.raises(DesignError, match=words):
            uncertainty(plant, spreads, BORON, correlation=said)


def test_points_are_doubled_until_the_answer_stands(plant):
    found = uncertainty(plant, TWO, BORON, count=64, within=0.05)
    assert found.settled and [n for n, *_ in found.rounds] == [64 * 2**i for i in range(len(found.rounds))]
    assert found.rounds[-1][1] <= 0.05 < found.rounds[0][1] and found.count == found.rounds[-1][0]
    short = uncertainty(plant, TWO, BORON, count=64, within=0.0001, most=128)
    assert not short.settled and "take more points" in short.words()


def test_what_cannot_be_studied_is_said(plant):
    for spreads, limits, words in (({"temprature": Spread(1, 2)}, BORON, "temperature"),
                                   (TWO, {"boron": "1 mg/L"}, "product_boron"),
                                   (TWO, {"permeate_boron": "1 bar"}, "bar"),
                                   ({"water_factor": Spread()}, BORON, "lower bound")):
        with pytest.raises(DesignError, match=words) as caught:
            uncertainty(plant, spreads, limits, count=16)
        assert "\n" not in str(caught.value)
    never = uncertainty(plant, {"water_factor": Spread(0.99, 1.01)}, {"permeate_boron": ">= 0 mg/L as B"}, count=64)
    assert never.missed["permeate_boron"].misses == 0 and "met in all 64 cases" in never.words()
