"""Ratings shared among workers: the same bits whatever the pieces; a table on disk that a stopped run goes on with."""

from __future__ import annotations

import json
import multiprocessing
import threading
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor

import numpy as np
import pandas as pd
import pytest

import desalbook as db
from desalbook import study
from desalbook.plant.rating import CHUNK
from desalbook.problems import Conflict, DesignError, Problem
from desalbook.study import Rating, read_results
from desalbook.study import results_file as room
from tests import shared
from tests.rate_si import rate_si

COUNT = 3 * CHUNK + 217


def draw(count: int = COUNT) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(11)
    return {"temperature": rng.uniform(286, 303, count), "age": rng.uniform(0, 9e7, count),
            "salinity": np.where(rng.uniform(size=count) < 0.01, 0.2, rng.uniform(0.033, 0.039, count)),
            "water_factor": rng.normal(1, 0.05, count)}


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


@pytest.fixture(scope="module")
def alone(plant):
    """All cases here, in one call."""
    return rate_si(plant, **draw())


def same(a: pd.DataFrame, b: pd.DataFrame) -> None:
    """Every bit of every number and every text."""
    assert list(a.columns) == list(b.columns) and len(a) == len(b)
    for name in a.columns:
        x, y = a[name].to_numpy(), b[name].to_numpy()
        if x.dtype.kind == "f":
            assert x.tobytes() == y.astype(x.dtype).tobytes(), name
        else:
            assert list(x) == list(y), name


def test_the_pieces_move_no_bit(plant, alone):
    assert (alone["reason"] != "").any() and (alone["reason"] == "").sum() > 3000
    for chunk in (1, CHUNK, 2 * CHUNK, 10**9):
        same(rate_si(plant, **draw(), chunk=chunk), alone)
    with ThreadPoolExecutor(3) as pool:
        same(rate_si(plant, **draw(), executor=pool, chunk=1), alone)


@pytest.mark.full
def test_processes_that_size_the_plant_themselves_move_no_bit(plant, alone):
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
        same(rate_si(plant, **draw(), executor=pool, chunk=CHUNK), alone)


def test_a_plant_of_a_record_and_one_of_values_are_one(plant):
    assert Rating(plant).given and room.fingerprint(1.0, "a", np.ones(3)) != room.fingerprint(1.0, "a", np.ones(4))
    from desalbook.plant import size
    from desalbook.study.ratings import hardware

    assert hardware(size(shared.demo(), recording=True)) == hardware(size(shared.demo(), recording=False))


def test_a_worker_with_other_tables_is_refused(plant, monkeypatch):
    from desalbook.study import ratings

    monkeypatch.setattr(ratings, "_SIZED", {plant.design.text: shared.sized("beach-well.toml")})
    with pytest.raises(Problem, match="another plant"):
        ratings._task(plant.design.text, ratings.hardware(plant.sized), "product-flow", {})


@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_a_table_on_disk_is_the_same_table(plant, alone, tmp_path, ending, monkeypatch):
    if ending == "parquet":
        pytest.importorskip("pyarrow")
        monkeypatch.setattr(room, "GROUP", 1500)
    path, seen = tmp_path / f"cases.{ending}", []
    same(rate_si(plant, **draw(), results=path, chunk=1, progress=lambda done, total: seen.append((done, total))),
         alone)
    assert seen == [(min((i + 1) * CHUNK, COUNT), COUNT) for i in range(4)]
    same(read_results(path), alone)
    whole = path.read_bytes()
    with ThreadPoolExecutor(2) as pool:
        same(rate_si(plant, **draw(), results=tmp_path / f"again.{ending}", executor=pool, chunk=2 * CHUNK), alone)
    assert (tmp_path / f"again.{ending}").read_bytes() == whole
    said = json.loads((tmp_path / f"cases.{ending}.run.json").read_text())
    assert said["design"] == plant.design.hash and said["rows"] == said["rows_in_all"] == COUNT
    # asked once more, nothing is solved again
    monkeypatch.setattr(Rating, "parts", None)
    same(rate_si(plant, **draw(), results=path), alone)
    assert path.read_bytes() == whole


@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_a_stopped_run_goes_on_to_the_same_bytes(plant, alone, tmp_path, ending, monkeypatch):
    if ending == "parquet":
        pytest.importorskip("pyarrow")
        monkeypatch.setattr(room, "GROUP", 1500)
    whole, path = tmp_path / f"whole.{ending}", tmp_path / f"stopped.{ending}"
    rate_si(plant, **draw(), results=whole)

    def stop(done, total):
        if done >= 2 * CHUNK:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        rate_si(plant, **draw(), results=path, chunk=1, progress=stop)
    assert json.loads((tmp_path / f"{path.name}.run.json").read_text())["rows"] == 2 * CHUNK
    if ending == "csv":
        assert len(read_results(path)) == 2 * CHUNK  # a power cut in the middle of a line
        path.write_bytes(path.read_bytes() + b"rate[99],287.1")
    done = []
    cancel = threading.Event()
    part = rate_si(plant, **draw(), results=path, chunk=1, cancel=cancel,
                   progress=lambda n, _total: (done.append(n), cancel.set()))
    assert done[0] <= 3 * CHUNK and len(part) < COUNT
    same(rate_si(plant, **draw(), results=path), alone)
    assert path.read_bytes() == whole.read_bytes()
    assert not [p for p in tmp_path.iterdir() if p.name.endswith(("part", "parts"))]


def test_a_table_of_another_study_is_left_alone(plant, tmp_path):
    path = tmp_path / "cases.csv"
    rate_si(plant, temperature=[290.0, 295.0], results=path)
    was = path.read_bytes()
    for other in ({"temperature": [290.0, 296.0]}, {"temperature": [290.0, 295.0], "control": "pressure"}):
        with pytest.raises(Conflict, match="of another study"):
            rate_si(plant, **other, results=path)
    (tmp_path / "own.csv").write_text("my figures")
    for name, said in (("own.csv", "not a study table"), ("a.xlsx", r"\.csv or \.parquet"),
                       ("no/a.csv", "no such folder"), (".", r"\.csv or \.parquet")):
        with pytest.raises(DesignError, match=said) as caught:
            rate_si(plant, temperature=[290.0], results=tmp_path / name)
        assert "\n" not in str(caught.value)
    assert path.read_bytes() == was and (tmp_path / "own.csv").read_text() == "my figures"
    with pytest.raises(DesignError, match="no table of a study"):
        read_results(tmp_path / "own.csv")


def test_a_cancelled_rating_gives_what_is_done(plant, alone):
    cancel = threading.Event()
    some = rate_si(plant, **draw(), chunk=1, cancel=cancel, progress=lambda *_: cancel.set())
    same(some, alone[:CHUNK])
    assert list(rate_si(plant, **draw(), cancel=cancel).columns) == list(alone.columns)


def test_what_cannot_be_rated_is_said(plant):
    for said, words in (({"temperature": []}, "no cases"),
                        ({"temperature": [280.0] * 2, "age": [0.0] * 3}, "go together"),
                        ({"chunk": 0}, "number of cases"), ({"chunk": "many"}, "number of cases")):
        with pytest.raises(DesignError, match=words):
            rate_si(plant, **said)


def test_progress_is_one_line(plant, capsys):
    rate_si(plant, **draw(), chunk=1, progress=True)
    said = capsys.readouterr().err
    # how often it is told hangs on the time between two blocks; the end is always told
    assert said.endswith("3289 of 3289 cases".ljust(len(said.rstrip("\n").rpartition("\r")[2])) + "\n")
    assert said.count("\n") == 1 and said.count("\r") >= 2 and "of 3289 cases, " in said and "s left" in said


@pytest.mark.full
def test_dask_gives_the_same_bits_and_survives_a_killed_worker(plant, alone, tmp_path):
    distributed = pytest.importorskip("distributed")
    import os
    import signal

    two = {"n_workers": 2, "threads_per_worker": 1, "dashboard_address": None, "silence_logs": 40}
    with distributed.LocalCluster(**two) as cluster, distributed.Client(cluster) as client:
        pool = client.get_executor(pure=False)
        same(rate_si(plant, **draw(), executor=pool, chunk=CHUNK), alone)
        victim, *_ = client.run(os.getpid).values()
        killed = []

        def kill(done, _total):
            if not killed:
                killed.append(os.kill(victim, signal.SIGKILL))

        same(rate_si(plant, **draw(), executor=pool, chunk=CHUNK, results=tmp_path / "a.csv", progress=kill), alone)
        assert killed
        rows = db.sweep(plant.design, {"membrane.recovery": ["38 %", "39 %", "40 %"]}, executor=pool)
        pd.testing.assert_frame_equal(rows, db.sweep(plant.design, {"membrane.recovery": ["38 %", "39 %", "40 %"]}))
        keys, goals = {"membrane.recovery": ["40 %", "42 %"]}, ["cost.water", "cost.capital"]
        front = study.frontier(plant.design, keys, goals, executor=pool)
        assert [r.figures for r in front.rows] == [r.figures for r in study.frontier(plant.design, keys, goals).rows]
