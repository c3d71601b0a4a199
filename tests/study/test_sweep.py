"""Sweeps: each row is what sizing by hand gives, refusals are rows, order stays, what is done is kept."""

from __future__ import annotations

import pickle
import threading
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor

import pandas as pd
import pytest

import desalbook as db
from desalbook import paths
from desalbook.problems import DesignError, Problem
from desalbook.study import Row, Sweep, grid, numeric_keys, spread
from desalbook.study import sweep as room
from desalbook.study.sweep import first_look
from desalbook.units import to_display
from tests import fakes, shared

KEY = "membrane.recovery"
FOLLOW = ("membrane.feed_pressure", "energy.plant_specific", "membrane.permeate_ions[Cl]", "hp_pump.motor")


@pytest.fixture(scope="module")
def design():
    return db.read(paths.demo("harbour-town.toml"))


@pytest.fixture
def small(monkeypatch):
    """The small plant of the tests downstream of the sweep."""
    real = room._case
    monkeypatch.setattr(room, "_case", lambda *args: real(*args, sized=fakes.sized))
    monkeypatch.setattr(room, "_sized", fakes.sized)
    return fakes.design()


def ids(design) -> tuple[str, ...]:
    plant = shared.plant(design)
    return tuple(i for i in FOLLOW if i in plant)


def test_rows_are_what_sizing_by_hand_gives(design):
    follow = ids(design)
    assert len(follow) >= 3
    study = Sweep(design, {KEY: ["36 %", 0.40, "43 %"]}, follow)
    for row, text in zip(study, ("36 %", "40 %", "43 %"), strict=True):
        plant = shared.plant(design.with_value(KEY, text))
        assert row.texts == {KEY: text} and row.values[KEY] == plant.design.get(KEY)
        for id in follow:
            assert row.figures[id] == float(plant[id]) and type(row.figures[id]) is float
        checks = plant.checks
        assert (row.fails, row.marginal) == tuple(int((checks["verdict"] == v).sum()) for v in ("fails", "marginal"))
        judged = checks[checks["margin"].notna()].sort_values("margin", kind="stable").iloc[0]
        assert row.worst == judged["id"] and row.margin == judged["margin"] and row.title == judged["title"]
        (limit,) = row.limits["membrane.feed_pressure"]
        said = checks[checks["id"] == limit.id].iloc[0]
        assert (limit.title, limit.sense) == (said["title"], said["sense"])
        assert to_display(limit.value, "gauge pressure") == said["limit"]


def test_the_base_is_the_design_as_it_stands(design):
    base = Sweep(design, {KEY: ["36 %"]}, ["membrane.feed_pressure"]).base
    assert base.figures["membrane.feed_pressure"] == float(shared.plant(design)["membrane.feed_pressure"])
    assert base.values[KEY] == design.get(KEY) and base.id == "as it stands"


def test_what_is_refused_is_a_row(small):
    rows = list(Sweep(small, {"duty.train_product_flow": ["2400 m3/d", "nonsense", "9e9 m3/d", "30000 m3/d",
                                                          "12000 m3/d"]}, ["filters.rate"]))
    assert [bool(r.problem) for r in rows] == [False, True, True, True, False]
    assert "nonsense" in rows[1].problem and "outside its range" in rows[2].problem and "more trains" in rows[3].problem
    assert all("\n" not in r.problem and r.figures["filters.rate"] is None for r in rows[1:4])
    assert rows[1].values["duty.train_product_flow"] is None
    assert rows[3].values["duty.train_product_flow"] == pytest.approx(30000 / 86400)
    assert (rows[0].fails, rows[4].fails, rows[4].worst) == (0, 1, "filters.rate.check")


def test_a_defect_of_the_kit_is_no_row(small, monkeypatch):
    def broken(*_args):
        raise ZeroDivisionError("x")

    study = Sweep(small, {"duty.train_product_flow": ["2400 m3/d"]}, ["filters.rate"])
    monkeypatch.setattr(room, "_case", broken)
    with pytest.raises(ZeroDivisionError):
        list(study)


def test_the_table(small):
    key = "duty.train_product_flow"
    si, us = (Sweep(small, {key: ["2400 m3/d", "99 parsecs"]}, ["filters.rate", "filters.count"])
              for _ in range(2))
    frame, other = si.frame(si.rows()), us.frame(us.rows(), "us")
    assert list(frame.columns) == ["id", f"{key}, m3/d", "filters.rate, m/h", "filters.count", "fails", "marginal",
                                   "worst", "verdict", "margin", "problem"]
    assert "filters.rate, gpm/ft2" in other.columns and frame["id"][0] == f"{key}=2400 m3/d"
    assert frame[f"{key}, m3/d"][0] == pytest.approx(2400) and frame["filters.rate, m/h"].isna().tolist() == [
        False, True]
    assert frame["filters.rate, m/h"][0] / other["filters.rate, gpm/ft2"][0] == pytest.approx(2.4446, rel=1e-4)
    assert list(si.frame([]).columns) == list(frame.columns) and len(si.frame([])) == 0


def test_order_is_kept_with_an_executor(small):
    flows = [f"{n} m3/d" for n in (9000, 1200, 2400, 25000, 600, 12000)]
    study = Sweep(small, {"duty.train_product_flow": flows}, ["filters.rate"])
    alone = list(study)
    with ThreadPoolExecutor(3) as pool:
        assert list(study.rows(pool)) == alone
    assert [r.texts["duty.train_product_flow"] for r in alone] == flows


def test_real_plants_in_threads_and_processes(design):
    study = Sweep(design, {KEY: ["38 %", "41 %", "37 %"]}, ["membrane.feed_pressure", "energy.plant_specific"])
    alone = list(study)
    with ThreadPoolExecutor(2) as pool:
        assert list(study.rows(pool)) == alone
    with ProcessPoolExecutor(1) as pool:
        assert list(study.rows(pool)) == alone
    assert pickle.loads(pickle.dumps(alone[0])) == alone[0]


def test_a_stopped_study_keeps_what_is_done_and_begins_no_more(small, monkeypatch):
    begun = []
    real = room._case
    monkeypatch.setattr(room, "_case", lambda *a: begun.append(a[1]) or real(*a))
    study = Sweep(small, {"duty.train_product_flow": [f"{n} m3/d" for n in range(600, 1600, 100)]}, ["filters.rate"])
    begun.clear()
    rows = study.rows()
    done = [next(rows), next(rows), next(rows)]
    rows.close()
    assert len(begun) == 3 and len(study.frame(done)) == 3
    stopped = threading.Event()

    def case(*a):
        begun.append(a[1])
        assert len(begun) == 1 or stopped.wait(60)  # the second is under way until the study has stopped
        return real(*a)

    monkeypatch.setattr(room, "_case", case)
    with ThreadPoolExecutor(1) as pool:
        begun.clear()
        rows = study.rows(pool)
        next(rows)
        rows.close()
        stopped.set()
    assert 1 <= len(begun) <= 2  # those that wait are taken back


def test_two_keys_are_a_grid(small):
    study = Sweep(small, {"duty.train_product_flow": ["1200 m3/d", "30000 m3/d"], "water.ph": ["8", "8.1", "8.2"]},
                  ["filters.rate"])
    rows = list(study)
    a, b, table = grid(rows, "duty.train_product_flow", "water.ph", "filters.rate")
    assert len(rows) == len(study) == 6 and b == [8.0, 8.1, 8.2] and len(a) == 2
    assert table.shape == (2, 3) and (table[0] == rows[0].figures["filters.rate"]).all()
    assert (table[1] != table[1]).all()


def test_what_cannot_be_studied_is_said_at_once(small):
    key = "duty.train_product_flow"
    for vary, follow, said in (({"duty.train_flow": None}, (), "unknown key"), ({}, (), "no key"),
                               ({"project.name": ["a"]}, (), "not one value"), ({key: []}, (), "no cases"),
                               ({key: ["1 m3/d"]}, ("filters.rat",), "rate"),
                               ({"water.ions": ["1 mg/L"]}, (), "not one value"),
                               ({key: ["1 m3/d"]}, ("water.mixed", "water.flows"), "several values")):
        with pytest.raises(DesignError, match=said) as caught:
            Sweep(small, vary, follow)
        assert "\n" not in str(caught.value)


def test_every_number_of_a_design_can_be_varied(design):
    keys = numeric_keys(design)
    assert len(keys) > 300 and "water.ions[Na]" in keys and "filters.layers[sand].depth" in keys
    for key, m in keys.items():
        texts = spread(design, key)
        assert 2 <= len(texts) <= 11 and len(set(texts)) == len(texts), key
        low, high = m.usual or m.possible or (None, None)
        ends = [m.read(t, key) for t in texts]
        assert (ends[0], ends[-1]) == (pytest.approx(low), pytest.approx(high))
        assert ends == sorted(ends), key


def test_values_are_spread_as_a_person_would(design):
    assert spread(design, KEY, "40 %", "42 %", 3) == ["40 %", "41 %", "42 %"]
    assert spread(design, "water.temperature_cold", "50 degF", "60 degF", 3) == ["50 degF", "12.78 degC", "60 degF"]
    assert spread(design, "membrane.vessels", "3", "5", 9) == ["3", "4", "5"]
    assert spread(design, KEY, 0.4, 0.45, 2) == ["40 %", "45 %"]
    assert spread(design, KEY, "45 %", "40 %", 2) == ["45 %", "40 %"]
    assert len(spread(design, "energy_recovery.device")) > 2
    for low, high, steps, said in (("40 %", "40 %", 5, "the same"), ("40 %", "4o %", 5, "4o"),
                                   ("40", "45 %", 5, "% sign"), ("40 %", None, 1, "2 to"), ("40 bar", None, 5, "bar"),
                                   ("99 %", "40 %", 5, "outside its range")):
        with pytest.raises(Problem, match=said):
            spread(design, KEY, low, high, steps)


def test_si_numbers_read_back_as_they_were(design):
    for key, m in numeric_keys(design).items():
        low, high = m.usual or m.possible or (None, None)
        assert low is not None and high is not None and m.kind is not None
        value = low + (high - low) / 3
        if m.kind.name != "count":
            assert m.read(room._text(m, value), key) == pytest.approx(value, rel=1e-14, abs=1e-18), key


def test_the_public_face(design, tmp_path):
    frame = db.sweep(design, {"energy_recovery.device": None}, follow=["energy.plant_specific"])
    assert len(frame) == len(spread(design, "energy_recovery.device")) and frame["id"].is_unique
    column = "energy.plant_specific, kWh/m3"
    done = frame[frame["problem"] == ""]
    assert done[column].nunique() == len(done) >= 3
    path = tmp_path / "x.toml"
    db.write(design, path)
    again = db.sweep(path, {KEY: ["39 %"]})
    assert len(again.columns) == 1 + 6 + 6 and isinstance(Row({}), Row)


def test_held_hardware_stays(design):
    held = db.hold(shared.plant(design))
    rows = list(Sweep(held, {KEY: ["37 %", "50 %"]}, ["membrane.vessels", "hp_pump.motor"]))
    assert len({tuple(r.figures.values()) for r in rows}) == 1 and rows[1].fails > 0
    free = list(Sweep(design, {KEY: ["37 %", "50 %"]}, ["membrane.vessels", "hp_pump.motor"]))
    assert free[0].figures != free[1].figures


def test_more_cases_than_anybody_sizes_cost_nothing_to_name(small):
    study = Sweep(small, {"duty.train_product_flow": [f"{n} m3/d" for n in range(1000, 3000)],
                          "water.ph": [f"{n / 1000:.3f}" for n in range(7500, 8500)]}, ["filters.rate"])
    assert len(study) == 2_000_000 and study.cases[-1] == {"duty.train_product_flow": "2999 m3/d", "water.ph": "8.499"}
    assert study.cases[999:1001] == [{"duty.train_product_flow": "1000 m3/d", "water.ph": "8.499"},
                                     {"duty.train_product_flow": "1001 m3/d", "water.ph": "7.500"}]
    rows = study.rows()
    assert next(rows).texts == study.cases[0]
    with pytest.raises(IndexError):
        study.cases[2_000_000]


@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_a_stopped_sweep_goes_on_to_the_same_bytes(small, tmp_path, ending, monkeypatch):
    if ending == "parquet":
        pytest.importorskip("pyarrow")
    vary = {"duty.train_product_flow": [f"{n} m3/d" for n in (1200, 30000, 2400, 600)] + ["nonsense"],
            "water.ph": ["8", "8.1"]}
    whole, path, begun = tmp_path / f"a.{ending}", tmp_path / f"b.{ending}", []
    real = room._case
    monkeypatch.setattr(room, "_case", lambda *a: begun.append(a[1]) or real(*a))
    plain = db.sweep(small, vary, follow=["filters.rate"])
    full = db.sweep(small, vary, follow=["filters.rate"], results=whole)
    pd.testing.assert_frame_equal(full, plain.fillna({"worst": ""}))
    cancel = threading.Event()
    some = db.sweep(small, vary, follow=["filters.rate"], results=path, cancel=cancel,
                    progress=lambda done, _: cancel.set() if done == 3 else None)
    assert len(some) == 3
    begun.clear()
    with ThreadPoolExecutor(3) as pool:
        again = db.sweep(small, vary, follow=["filters.rate"], results=path, executor=pool, chunk=2)
    pd.testing.assert_frame_equal(again, full)
    assert path.read_bytes() == whole.read_bytes()
    assert sum(bool(x) for x in begun) == 7  # what was done is not done again


def test_a_sweep_of_a_design_without_a_plant_has_its_units(small, tmp_path):
    lost = small.with_value("duty.train_product_flow", "30000 m3/d")
    vary = {"duty.train_product_flow": ["40000 m3/d", "2400 m3/d"]}
    frame = db.sweep(lost, vary, follow=["filters.rate"], units="us", results=tmp_path / "a.csv")
    assert "filters.rate, gpm/ft2" in frame.columns and frame["problem"][0] and not frame["problem"][1]


def test_a_count_is_looked_at_around_what_the_plant_has():
    design = shared.demo()
    vessels, recovery = design.meta("membrane.vessels"), design.meta("membrane.recovery")
    assert first_look(vessels, 32.0) == (25, 39) and first_look(vessels, 1.0) == (1, 2)
    assert first_look(vessels) == (vessels.usual or vessels.possible)
    assert first_look(recovery, 0.42) == recovery.usual == pytest.approx((0.35, 0.5))
