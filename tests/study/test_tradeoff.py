"""Trade-offs: the front of a grid against brute force, the map's regions against the checks, a point as a file."""

from __future__ import annotations

import itertools
import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

import desalbook as db
from desalbook import study
from desalbook.design import from_text
from desalbook.plots import studies as plots
from desalbook.problems import Conflict, DesignError
from desalbook.study import tradeoff
from tests import shared

GRID = {"membrane.recovery": ["38 %", "42 %", "44 %"], "membrane.vessels": ["28", "32", "36"]}


def beaten(a, b) -> bool:
    """Whether b is at least as good in all and better in one."""
    return all(y <= x for x, y in zip(a, b, strict=True)) and any(y < x for x, y in zip(a, b, strict=True))


def test_non_dominated_of_known_points():
    points = np.array([[1.20, 1.10], [1.30, 0.98], [1.45, 0.93], [1.70, 0.91], [1.50, 1.00], [np.nan, 0.1]])
    assert list(tradeoff.non_dominated(points)) == [True, True, True, True, False, False]
    assert list(tradeoff.non_dominated(np.array([[1.0, 2.0], [1.0, 2.0], [2.0, 3.0]]))) == [True, True, False]
    draws = np.random.default_rng(3).random((200, 3)).round(1)
    on = tradeoff.non_dominated(draws)
    for i, a in enumerate(draws):
        assert on[i] == (not any(beaten(a, b) for b in draws))


def zdt1(place, n=16):
    """A test function of two goals; its front is f2 = 1 - sqrt(f1), where all but the first are zero."""
    x = [i / (n - 1) for i in place]
    g = 1 + 9 * sum(x[1:]) / (len(x) - 1)
    return 0, (x[0], g * (1 - (x[0] / g) ** 0.5))


def _front(tried):
    good = [p for p, (broken, _) in tried.items() if not broken]
    on = tradeoff.non_dominated(np.array([tried[p][1] for p in good]))
    return {p for p, keep in zip(good, on, strict=True) if keep}


@pytest.mark.parametrize("seed", range(2))
def test_a_search_finds_the_front_of_brute_force_with_fewer_points(seed):
    shape, asked = (16, 16, 16), []

    def evaluate(places):
        asked.extend(places)
        return [zdt1(p) for p in places]

    tried, complete = tradeoff.search(evaluate, shape, 900, seed=seed)
    assert complete and len(tried) == len(asked) == len(set(asked)) <= 900 < 16**3
    assert _front(tried) == {(i, 0, 0) for i in range(16)}
    for i in range(16):
        first, second = tried[(i, 0, 0)][1]
        assert second == pytest.approx(1 - first**0.5, abs=1e-12)


def test_a_search_that_meets_limits_goes_to_where_they_are_held():
    """Nine points of 900 hold both limits; where the spread ones all miss, the least broken one shows the way."""
    def evaluate(places):
        return [(sum(max(0, abs(i - 20) - 1) for i in p), (float(p[0]), float(-p[1]))) for p in places]

    tried, complete = tradeoff.search(evaluate, (30, 30), 240, seed=1)
    assert complete and _front(tried) == {(19, 21)}
    options, _ = tradeoff.search(lambda ps: [(0, (float(p[0]), float((p[1] * 7) % 10))) for p in ps], (40, 10), 100,
                                 [True, False], seed=2)
    assert _front(options) == {(0, 0)}
    short, complete = tradeoff.search(lambda ps: [zdt1(p) for p in ps], (24, 24, 24), 50, seed=1)
    assert len(short) == 50 and not complete


@pytest.fixture(scope="module")
def front():
    return study.frontier(shared.demo(), GRID, {"cost.water": "minimum", "energy.plant_specific": "minimum"})


@pytest.mark.full
def test_the_front_of_plants_is_that_of_brute_force(front):
    sized = {}
    for recovery, vessels in itertools.product(*GRID.values()):
        plant = db.size(shared.demo().with_values({"membrane.recovery": recovery, "membrane.vessels": vessels}))
        fails = int((plant.checks["verdict"] == "fails").sum())
        sized[recovery, vessels] = fails, (float(plant["cost.water"]), float(plant["energy.plant_specific"]))
    good = {k: v for k, (fails, v) in sized.items() if not fails}
    expect = {k for k, v in good.items() if not any(beaten(v, w) for w in good.values())}
    assert {tuple(r.texts.values()) for r in front.front} == expect and front.complete
    assert 0 < len(expect) < len(good) < len(sized)
    for row in front.rows:
        assert (row.figures["cost.water"], row.figures["energy.plant_specific"]) == sized[tuple(row.texts.values())][1]
    assert "break a limit" in front.words() and list(front.frame()["fails"]) == [0] * len(front.front)


@pytest.mark.full
def test_a_point_becomes_a_design_file_with_its_reason(front, tmp_path):
    row = front.front[0]
    table = front.differences(row)
    goals = ["cost.water", "energy.plant_specific", "fails"]
    assert list(table["id"])[:5] == [*GRID, *goals] and "storage.diameter" in set(table["id"][5:])
    assert table["today"][0] == "42 %" and table["then"][0] == row.texts["membrane.recovery"]
    was, now = front.study.base, row
    assert sum(now.parts.values()) == pytest.approx(now.figures["cost.water"], rel=1e-12)
    changes = {k: now.parts[k] - was.parts[k] for k in was.parts}
    said, largest = study.why(front.study, row), max(changes, key=lambda k: abs(changes[k]))
    whole = now.figures["cost.water"] - was.figures["cost.water"]
    assert f"costs {abs(whole):.2g} USD/m3 {'less' if whole < 0 else 'more'}" in said
    assert largest == "capital" and f"today: capital recovered {changes['capital']:.2g}".replace("-", "−") in said
    assert f"cost.water_by_part[{largest}]" in set(table["id"]) and said.lower()[1:] in front.words().lower()
    made = study.save(shared.demo(), row, tmp_path / "new.toml", "cheapest of nine, boron holds")
    again = db.read(tmp_path / "new.toml")
    assert again == made and again.get("membrane.recovery") == row.values["membrane.recovery"]
    assert again.get("project.note").endswith(f"{row.id}: cheapest of nine, boron holds")
    assert shared.demo().get("project.note") in again.get("project.note")
    with pytest.raises(DesignError, match="no reason"):
        study.save(shared.demo(), row, tmp_path / "other.toml", " ")
    with pytest.raises(Conflict):
        study.save(shared.demo().with_value("project.client", "Invented"), row, tmp_path / "new.toml", "another")


@pytest.mark.full
def test_a_map_names_what_shapes_it(front):
    with ThreadPoolExecutor(2) as pool:
        of = study.map(shared.demo(), GRID, ["energy.plant_specific"], executor=pool)
    assert of.region.shape == (3, 3) == of.values["energy.plant_specific"].shape
    by = {tuple(r.texts.values()): r for r in front.rows}
    for (i, recovery), (j, vessels) in itertools.product(enumerate(GRID["membrane.recovery"]),
                                                         enumerate(GRID["membrane.vessels"])):
        row = by[recovery, vessels]
        assert of.region[j, i] == (row.title if row.fails else "")
        assert of.values["energy.plant_specific"][j, i] == row.figures["energy.plant_specific"]
    assert "Average flux" in of.shaped_by and len(of.shaped_by) == 2 and "Average flux fails" in of.words()
    best = of.best("energy.plant_specific")
    assert best is not None and not best.fails
    plot = plots.two_keys(of)
    legend = [t.get_text() for t in plot.axes[0].get_legend().get_texts()]
    assert "fails: Average flux" in legend and any("lowest" in t for t in legend)
    drawn = plots.frontier(front)
    legend = [t.get_text() for t in drawn.axes[0].get_legend().get_texts()]
    assert f"not beaten in 2 goals, {len(front.front)}" in legend


@pytest.mark.full
def test_choices_side_by_side():
    table = study.columns(shared.demo(), {"Pelton": {"energy_recovery.device": "pelton"},
                                          "too far": {"membrane.recovery": "75 %"}}, ["cost.water", "hp_pump.motor"])
    plant = shared.plant()
    assert list(table.columns) == ["value", "as designed", "Pelton", "too far"]
    today = table["as designed"][0]
    assert today == plant["cost.water"].show().replace(" 1/", " USD/") and table["Pelton"][0] != today
    assert table["too far"].iloc[-1] and not table["Pelton"].iloc[-1]
    assert list(table["value"]) == ["cost.water", "hp_pump.motor", "checks that fail", "problem"]
    with pytest.raises(DesignError, match="no plant of these has such a value"):
        study.columns(shared.demo(), {}, ["cost.nothing"])


SPREAD = """
[[spreads]]
input = "salt_factor"
low = "1"
high = "2.4"
"""


@pytest.mark.full
def test_a_stopped_study_goes_on_to_the_same_file_and_knows_ground_and_risk(tmp_path):
    """Cut off after three of four plants and begun again, here and on two workers: the same bytes; rows as sized."""
    design = from_text(shared.demo().text + SPREAD)
    grid = {"membrane.recovery": ["40 %", "44 %"], "membrane.vessels": ["30", "34"]}
    goals = ["cost.water", "arrangement.footprint", "guarantee.risk"]

    def run(name, executor=None, cut=99):
        stop, heard = threading.Event(), []
        told = lambda done, total: stop.set() if done >= cut else None  # noqa: E731
        of = study.frontier(design, grid, goals, results=tmp_path / name, executor=executor, progress=told, cancel=stop,
                            each=lambda _, row: heard.append(row.id))
        return of, heard

    whole, heard = run("whole.csv")
    assert heard == [r.id for r in whole.rows] and len(heard) == 4 and whole.complete
    short, heard = run("cut.csv", cut=3)
    assert len(short.rows) == 3 == len(heard) and not short.complete
    with ThreadPoolExecutor(2) as pool:
        on, heard = run("cut.csv", pool)
    assert (tmp_path / "cut.csv").read_bytes() == (tmp_path / "whole.csv").read_bytes()
    assert [r.figures for r in on.rows] == [r.figures for r in whole.rows] and on.front[0].id == whole.front[0].id
    assert on.differences(on.rows[0]).equals(whole.differences(whole.rows[0]))  # sized again: no hardware in the file
    assert [r.margins for r in on.rows] == [r.margins for r in whole.rows]
    with pytest.raises(Conflict, match="another study"):
        study.frontier(design, grid, goals[:2], results=tmp_path / "cut.csv")

    row = whole.rows[-1]
    plant = db.size(design.with_values(row.texts))
    assert row.figures["arrangement.footprint"] == float(plant.fabrication["arrangement.footprint"])
    placed = plant.arrangement
    length = (placed["x"] + placed["length"] + placed["clear_end"]).max() - (placed["x"] - placed["clear_begin"]).min()
    width, aisle = (placed["y"] + placed["width"]).max() - placed["y"].min(), float(plant["fabrication.aisle"])
    around = (length + 2 * aisle) * (width + 2 * aisle)
    assert row.figures["arrangement.footprint"] == pytest.approx(around, rel=1e-12)
    promised = {r["key"]: r["guaranteed"] for r in db.size(design).sized.guarantees}
    limits = {"product_boron": ("<=", promised["boron"]), "product_tds": ("<=", promised["tds"])}
    judged = study.uncertainty(plant, None, limits, count=256, shares=False)
    assert row.figures["guarantee.risk"] == judged.any_missed >= max(m.probability for m in judged.missed.values())
    risks = {r.id: r.figures["guarantee.risk"] for r in whole.rows}
    assert len(set(risks.values())) > 1 and max(risks.values()) > 0.02


def test_what_is_asked_wrongly_is_refused():
    design = shared.demo()
    with pytest.raises(DesignError, match="neither minimum nor maximum"):
        study.frontier(design, GRID, {"cost.water": "small"})
    with pytest.raises(DesignError, match="two keys"):
        study.map(design, {"membrane.recovery": None})
    with pytest.raises(DesignError, match="hardware"):
        study.map(design, GRID, hardware="new")
    stop = threading.Event()
    stop.set()
    none = study.frontier(design, GRID, ["cost.water"], cancel=stop)
    assert none.rows == () and none.front == () and not none.complete
