"""The desk of studies without a browser: it runs beside a loop, stops, loses nothing and says what is wrong."""

from __future__ import annotations

import asyncio
import re
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from desalbook import api, study
from desalbook.design import field_meta as room_meta
from desalbook.notebook import controls
from desalbook.notebook import widgets as turn
from desalbook.notebook.pictures.study import describe, study_picture
from desalbook.notebook.study_desk import Desk, headlines
from desalbook.study import sweep as room
from desalbook.units import show
from tests import fakes

FLOW = "duty.train_product_flow"


@pytest.fixture
def small(monkeypatch):
    """A desk on the small plant of the tests."""
    real = room._case
    monkeypatch.setattr(api, "size", fakes.size)
    monkeypatch.setattr(room, "size", fakes.size)
    monkeypatch.setattr(room, "_case", lambda *args, **_: real(*args, sized=fakes.size))
    desk = Desk(fakes.design())
    desk.part.value, desk.key.value = "duty", FLOW
    desk.add.value = "filters.rate"
    for name, text in (("from", "2400 m3/d"), ("to", "24000 m3/d"), ("points", "4")):
        desk.write(name, text)
    return desk


def field(desk: Desk, name: str) -> dict:
    return desk.turn.row(name)


def test_its_rows_have_all_that_the_controls_read(small):
    script = Path(turn.__file__).with_name("turn.js").read_text(encoding="utf-8")
    read = set(re.findall(r"\brow\.(\w+)", script))
    assert {"ways", "said", "text"} <= read <= set(field(small, "from"))
    assert read <= set(controls.row(small.session, FLOW, room_meta(FLOW)))


def test_without_a_loop_it_runs_through(small):
    small.run()
    assert small.runner.said == "done, 4 of 4" and not small.running and not small.errors
    assert [r.texts[FLOW] for r in small.rows] == ["2400 m3/d", "9600 m3/d", "16800 m3/d", "24000 m3/d"]
    assert [r.fails for r in small.rows] == [0, 0, 1, 0] and small.rows[3].problem
    table = small.table.table
    assert table.count("<tr>") == 5 and "m³/d</span></th>" in table and "3.571" in table and "not feasible." in table
    assert "1 check fails" in table and "Filtration rate: fails by" in table
    assert small.runner.csv.splitlines()[0].startswith(f'id,"{FLOW}, m3/d","filters.rate, m/h",fails')
    assert len(small.runner.csv.splitlines()) == 5 and small.runner.name == f"study-{FLOW}.csv"


def test_the_picture_marks_and_says_what_fails(small):
    small.run()
    svg = small.picture.html
    assert "a check fails" in svg and "not feasible" in svg and "no check fails" in svg and "as it stands" in svg
    titles = small._titles()
    told = describe(small.study, small.rows, "filters.rate", titles)
    assert told in svg.replace("&#x27;", "'") and "a check fails at 1" in told and "not feasible: 1" in told
    assert svg.count("<circle") == 3 and "m/h" in svg  # two values where all holds, and the key
    # the limits of the two regimes are 3600 and 0.036 m/h; the last that was met is drawn or said
    assert "Filtration rate" in svg and "at most" in svg
    small.set.value = "us"
    assert "gpm/ft" in small.picture.html and "gpm/ft2" in small.runner.csv and "gpm/ft" in small.table.table
    assert not small.errors


def test_wrong_fields_are_said_and_stay(small):
    for name, text, said in (("from", "nonsense", "nonsense"), ("to", "5 bar", "bar"),
                             ("points", "some", "whole number"), ("points", "1", "2 to"),
                             ("points", "2001", "2 to 2000")):
        was = dict(small.first.texts())
        small.write(name, text)
        assert said in field(small, name)["said"] and field(small, name)["text"] == text
        assert "\n" not in field(small, name)["said"]
        small.run()
        assert "Not run" in small.runner.said and small.study is None
        small.write(name, was[name])
        assert not field(small, name)["said"]
    small.write("from", "24000 m3/d")
    assert "the same" in field(small, "to")["said"]
    small.add.value = "filters.rat"
    assert "Did you mean filters.rate" in small.list.html and small.add.value == "filters.rat"
    small.add.value = "water.flows"
    assert "not one number" in small.list.html
    assert not small.errors


def test_what_was_typed_is_kept_by_key(small):
    small.part.value = "water"
    small.key.value = "water.ph"
    assert field(small, "from")["text"] == "" and field(small, "from")["wait"]
    small.write("from", "8")
    small.part.value = "duty"
    small.key.value = FLOW
    assert field(small, "from")["text"] == "2400 m3/d"
    small.turn.ask({"reset": "from", "n": 1})
    assert field(small, "from")["text"] == "" and not field(small, "from")["stands"]


def test_figures_are_followed_and_left(small):
    small.add.value = "water.factor"
    assert small.followed == ["filters.rate", "water.factor"] and small.drawn == "water.factor"
    small.list.ask({"draw": "filters.rate"})
    small.list.ask({"remove": "filters.rate"})
    assert small.followed == ["water.factor"] and small.drawn == "water.factor"
    small.list.ask({"remove": "water.factor"})
    small.run()
    assert "follow at least one figure" in small.runner.said and small.study is None
    small.add.value = "filters.rate"
    small.run()
    small.add.value = "water.factor"
    assert "was not followed" in small.picture.html and not small.errors


def gate(monkeypatch):
    """Cases that wait until they are let through, one at a time."""
    go, begun = threading.Semaphore(0), []
    real = room._case

    def waiting(*args, **more):
        begun.append(args[1])
        if args[1]:
            assert go.acquire(timeout=10)
        return real(*args, **more)

    monkeypatch.setattr(room, "_case", waiting)
    return go, begun


async def until(what):
    for _ in range(2000):
        if what():
            return
        await asyncio.sleep(0.005)
    raise AssertionError("it did not come to that")


def test_cancel_keeps_what_is_done(small, monkeypatch):
    go, begun = gate(monkeypatch)
    small.write("points", "12")

    async def play():
        small.runner._handle_custom_msg({"run": True}, [])
        await until(lambda: len(begun) == 2)  # the design as it stands, and the first value
        assert small.running and small.runner.count == "0 of 12"
        go.release(3)
        await until(lambda: small.runner.done == 3 and len(begun) == 5)  # and the next value is under way
        assert re.fullmatch(r"3 of 12, \d+ s left", small.runner.count)
        assert small.table.table.count("<tr>") == 4  # it fills while one looks
        small.set.value = "us"  # and the desk hears what a person does meanwhile
        assert "gpm/ft" in small.table.table
        small.run()  # a second Run while one is under way does nothing
        small.runner._handle_custom_msg({"cancel": True}, [])
        assert small.runner.count == "stopping"
        go.release(50)
        await small.task

    asyncio.run(play())
    assert small.runner.said == "cancelled after 3 of 12" and not small.running and not small.errors
    assert len(begun) == 5 and len(small.rows) == 3 and len(small.runner.csv.splitlines()) == 4  # one was left


def kept(folder: Path) -> list[Path]:
    return sorted((folder / ".desalbook" / "studies").glob("*.csv"))


def test_a_study_that_was_stopped_goes_on_to_the_same_file(small, monkeypatch, tmp_path):
    """Stopped after two of four with two workers that are both at work; continued at another desk of that folder."""
    monkeypatch.chdir(tmp_path)
    small.run()
    assert not kept(tmp_path) and not small.runner.kept  # a desk in a test keeps nothing
    small.keeps = True
    small._look()
    assert not small.runner.kept
    small.run()
    (file,) = kept(tmp_path)
    whole = file.read_bytes()
    assert small.runner.kept == "Show 4 kept" and len(whole.splitlines()) == 5

    go, begun, real = threading.Event(), [], room._case

    def last_two_wait(*args, **more):
        if args[1].get(FLOW) in ("16800 m3/d", "24000 m3/d"):
            begun.append(args[1])
            assert go.wait(10)
        return real(*args, **more)

    monkeypatch.setattr(room, "_case", last_two_wait)
    small.processes.value, small._pool = "2", ThreadPoolExecutor(2)

    async def play():
        small.run()
        await until(lambda: small.runner.done == 2 and len(begun) == 2)
        small.cancel()
        await small.task  # although two are still at work
        go.set()

    asyncio.run(play())
    small._pool.shutdown()
    assert small.runner.said == "cancelled after 2 of 4" and small.runner.kept == "Continue, 2 of 4 kept"
    small.write("points", "3")
    assert small.runner.kept == ""  # another study
    small.write("points", "4")
    assert whole.startswith(file.read_bytes()) and small.runner.kept
    small.processes.value = "1"
    small.runner._handle_custom_msg({"continue": True}, [])
    assert small.runner.said == "done, 4 of 4" and file.read_bytes() == whole
    svg, csv = small.picture.html, small.runner.csv
    assert "at most" in svg  # the limit, of rows that were read
    small.runner._handle_custom_msg({"continue": True}, [])
    assert small.picture.html == svg and small.runner.csv == csv

    small.name.value = "mine"
    assert small.runner.kept == ""
    small.run()
    assert (tmp_path / "mine.csv").read_bytes() == whole
    small.run()
    assert "mine.csv holds 4 of 4 rows" in small.runner.said and small.runner.kept == "Show 4 kept"
    small.write("points", "3")
    small.run()
    assert "another study" in small.runner.said and (tmp_path / "mine.csv").read_bytes() == whole
    small.name.value = "../out"
    small.run()
    assert "file name" in small.runner.said and not small.errors


def test_a_defect_in_the_task_is_kept_and_the_rows_too(small, monkeypatch):
    real, begun = room._case, []

    def broken(*args, **more):
        begun.append(args)
        if len(begun) == 4:
            raise ZeroDivisionError("something of ours")
        return real(*args, **more)

    monkeypatch.setattr(room, "_case", broken)

    async def play():
        small.run()
        await small.task

    asyncio.run(play())
    assert len(small.errors) == 1 and "ZeroDivisionError" in small.errors[0]
    assert "something of ours" in small.runner.said and len(small.rows) == 2 and not small.running
    begun.clear()
    monkeypatch.setattr(room, "_case", real)
    small.run()
    assert small.runner.said == "done, 4 of 4"


def test_the_real_plant():
    from desalbook import paths

    desk = Desk(paths.demo("harbour-town.toml"))
    assert desk.key.value == "membrane.recovery" and len(desk.followed) == 4
    assert field(desk, "from")["wait"] == "35 %" and "35 to 50 %" in desk.about.html
    desk.write("points", "3")
    desk.run()
    assert len(desk.rows) == 3 and not desk.errors and "at most 80 barg" in desk.picture.html.replace("\u2009", "")
    assert desk.rows[0].figures != desk.rows[2].figures
    desk.hardware.value = "held"
    desk.run()
    assert desk.runner.said == "done, 3 of 3" and desk.study is not None
    assert "as it stands" in desk.picture.html and not desk.errors
    assert sum(len(v) for v in desk.fields.values()) > 300
    text = headlines(desk.study.frame(desk.rows), "membrane.feed_pressure")
    assert len(text.splitlines()) == 3 and text.endswith("barg")


@pytest.fixture(scope="module")
def real():
    from desalbook import paths

    return Desk(paths.demo("harbour-town.toml"))


@pytest.mark.full
def test_choices_are_varied_and_named(real):
    real.part.value, real.key.value = "energy_recovery", "energy_recovery.device"
    assert len(real.first.options.options) >= 4 and not real.turn.rows and real.first.options.layout.display is None
    real.first.options.value = ()
    real.run()
    assert "choose a value" in real.runner.said and real.study is None
    real.first.options.value = ("isobaric", "pelton", "turbocharger")
    real.drawn = "energy.plant_specific"
    real.run()
    assert [r.texts["energy_recovery.device"] for r in real.rows] == ["isobaric", "pelton", "turbocharger"]
    words = {v: w for w, v in real.first.options.options}
    svg = real.picture.html
    assert all(words[r.texts["energy_recovery.device"]] in svg for r in real.rows) and not real.errors
    for r in real.rows:
        assert show(r.figures["energy.plant_specific"], r.kinds["energy.plant_specific"], "si", False) in svg


@pytest.mark.full
def test_two_keys_give_a_curve_for_each_value_of_the_second(real):
    real.part.value, real.key.value = "membrane", "membrane.recovery"
    for name, text in (("from", "38 %"), ("to", "44 %"), ("points", "3")):
        real.write(name, text)
    real.second.part.value, real.second.key.value = "membrane", "membrane.recovery"
    real.run()
    assert "two keys are the same" in real.runner.said
    real.second.key.value = "membrane.age"
    for name, text in (("from", "1 year"), ("to", "5 year"), ("points", "2")):
        real.second.turn.ask({"write": name, "text": text})
    real.drawn = "membrane.feed_pressure"
    real.run()
    assert real.runner.said == "done, 6 of 6" and real.study.keys == ("membrane.recovery", "membrane.age")
    svg = real.picture.html
    assert ">1 year<" in svg and ">5 year<" in svg and svg.count("<circle") >= 2 and not real.jumps
    aged = {r.texts["membrane.recovery"]: r.figures["membrane.feed_pressure"] for r in real.rows
            if r.texts["membrane.age"] == "5 year"}
    assert all(aged[r.texts["membrane.recovery"]] >= r.figures["membrane.feed_pressure"] for r in real.rows)
    real.second.turn.ask({"write": "points", "text": "1900"})
    real.run()
    assert "at most 2000" in real.runner.said
    real.second.part.value = ""
    assert real.second.key.layout.display == "none" and real.part.layout.display is None and not real.errors


@pytest.mark.full
def test_another_file_is_opened_and_studied(real, tmp_path, monkeypatch):
    from desalbook import paths

    real.files.there.value = str(paths.demo("beach-well.toml").resolve())
    real.files.opening.click()
    assert "beach-well.toml" in real.head.html and real.session.path.name == "beach-well.toml"
    real.part.value, real.key.value = "membrane", "membrane.recovery"
    for name, text in (("from", "38 %"), ("to", "42 %"), ("points", "2")):
        real.write(name, text)
    real.run()
    assert real.runner.said == "done, 2 of 2" and real.study.design.text == real.session.design.text
    plant = api.size(real.session.design.with_value("membrane.recovery", "42 %"))
    assert real.rows[1].figures["membrane.feed_pressure"] == float(plant["membrane.feed_pressure"])
    words = [b.description for row in real.files.children for b in row.children]
    assert "Save" not in words and not [x for x in words if x.startswith("Export")] and not real.errors


@pytest.mark.full
def test_a_jump_is_named_and_its_cause_is_proved():
    """With the named selection put back, the step is what its neighbours let expect."""
    from desalbook import paths
    from desalbook.study import Sweep, spread
    from desalbook.study.jumps import jumps

    key, id = "membrane.recovery", "energy.plant_specific"
    design = api.read(paths.demo("harbour-town.toml"))
    study = Sweep(design, {key: spread(design, key, "42 %", "46 %", 9)}, [id])
    rows = list(study.rows())
    (found,) = jumps(study, rows, id)
    assert found.after.texts[key] == "44 %" and found.picks[0] == "storage.diameter"
    assert "diameter of a tank 12 to 10 m" in found.words() and "ft" in found.words("us")
    held = api.size(design.with_values({key: "44 %", "storage.diameter": "12 m"}))
    before = float(found.before.figures[id])
    assert abs(float(held[id]) - before) < 0.5 * abs(float(found.after.figures[id]) - before)
    svg = study_picture(study, rows, id, {}, "si", [found])
    assert svg.count("diameter of a tank 12 to 10 m") >= 3  # on the curve, when pointed at, and below
    assert "It jumps at 44 %" in svg
    still = Sweep(api.hold(api.size(design)), {key: spread(design, key, "41 %", "46 %", 5)}, [id])
    assert not jumps(still, list(still.rows()), id)


@pytest.fixture(scope="module")
def trading():
    from desalbook import paths

    return Desk(paths.demo("harbour-town.toml"))


def typed(axis, low, high, points):
    for name, text in (("from", low), ("to", high), ("points", points)):
        axis.turn.ask({"write": name, "text": text})


@pytest.mark.full
def test_a_map_names_its_limits_and_a_point_of_it_becomes_a_file(trading, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    desk = trading
    desk.kind.value = "map"
    assert desk.followed == ["cost.water", "energy.plant_specific", "membrane.permeate_boron"]
    assert (desk.first.chosen, desk.second.chosen) == ("membrane.recovery", "membrane.vessels")
    typed(desk.first, "40 %", "46 %", "3")
    typed(desk.second, "28", "36", "3")
    desk.run()
    assert desk.runner.said == "done, 9 of 9" and not desk.errors
    svg = desk.picture.html
    assert "fails: Average flux" in svg and "limit: Average flux" in svg and svg.count("data-ask") == 9
    assert all(words in svg for words in ("Levelised cost of water, USD/m³", "Specific energy", "mg/L as B"))
    edge = re.search(r'<path d="M[^"]*"[^>]*stroke-width="2.6"[^>]*><title>Average flux: limit</title>', svg)
    assert edge and svg.count('fill="url(#db-hatch-') >= 3
    good = [r for r in desk.rows if not r.fails]
    best = min(good, key=lambda r: r.figures["cost.water"])
    first = re.search(r'pick&quot;:(\d+)', desk.offered.html)
    assert first and desk.rows[int(first[1])] is best

    desk.offered.ask({"pick": int(first[1])})
    said = desk.chosen.page.html
    assert best.id in said and "filter_vessel.head_plate" in said
    desk.chosen.write()
    assert "no name" in desk.chosen.said.html
    desk.chosen.name.value = "cheaper"
    desk.chosen.write()
    assert "no reason" in desk.chosen.said.html and not (tmp_path / "cheaper.toml").exists()
    desk.chosen.reason.value = "lowest cost of water"
    desk.chosen.write()
    made = api.read(tmp_path / "cheaper.toml")
    assert "Saved as cheaper.toml" in desk.chosen.said.html
    assert made.get("project.note").endswith("lowest cost of water")
    assert made.get("membrane.vessels") == best.values["membrane.vessels"]
    assert str((tmp_path / "cheaper.toml").resolve()) in [p for _, p in desk.files.there.options]
    desk.chosen.reason.value = "again"
    desk.chosen.write()
    assert "Saved" not in desk.chosen.said.html and "alert" in desk.chosen.said.html


@pytest.mark.full
def test_a_map_over_a_choice_is_columns_side_by_side(trading):
    desk = trading
    desk.kind.value = "map"
    desk.first.part.value, desk.first.key.value = "energy_recovery", "energy_recovery.device"
    desk.first.options.value = ("isobaric", "pelton")
    typed(desk.second, "30", "36", "2")
    desk.run()
    assert desk.runner.said == "done, 4 of 4" and not desk.errors
    svg, words = desk.picture.html, {v: w for w, v in desk.first.options.options}
    assert svg.count("data-ask") == 4 == svg.count("<rect x=")
    assert all(words[v].split()[0] in svg for v in desk.first.options.value)
    kinds = desk.study.kinds()
    for row in desk.rows:
        assert f">{show(row.figures['cost.water'], kinds['cost.water'], 'si', False)} USD/m3<" in svg
        assert f">{show(row.figures['energy.plant_specific'], kinds['energy.plant_specific'], 'si', False)}<" in svg
    failing = {r.title for r in desk.rows if r.fails}
    assert failing and all(f"fails: {t}" in svg for t in failing)
    best = min((r for r in desk.rows if not r.fails), key=lambda r: r.figures["cost.water"])
    shown = show(best.figures["cost.water"], kinds["cost.water"], "si", False)
    assert re.search(rf'font-weight="600"[^>]*>{shown} USD', svg) and svg.count('font-weight="600"') == 1
    desk.offered.ask({"pick": desk.rows.index(best)})
    assert "The water costs" in desk.chosen.page.html and 'stroke-width="3"/>' in desk.picture.html
    desk.first.part.value, desk.first.key.value = "membrane", "membrane.recovery"


@pytest.mark.full
def test_a_frontier_shows_each_point_as_it_comes_and_stops_at_once(trading, monkeypatch):
    desk, begun = trading, threading.Event()
    desk.kind.value = "frontier"
    assert desk.third.layout.display is None and list(desk.goals) == desk.followed
    desk._follow("guarantee.risk")
    assert "states no spreads" in desk.list.html
    desk._follow("arrangement.footprint")
    assert desk.goals["arrangement.footprint"] == "minimum"
    desk.list.ask({"goal": "cost.capital"})
    assert desk.goals["cost.capital"] == "maximum"
    desk.list.ask({"goal": "cost.capital"})
    assert "cost.capital" not in desk.goals and "Goal: none" in desk.list.html
    desk.most.value = "many"
    desk.run()
    assert "plants at most is many" in desk.runner.said
    desk.most.value = "5"
    drawn = []
    desk.picture.observe(lambda c: drawn.append(c["new"].count("data-ask")), names="html")

    async def play():
        desk.run()
        await desk.task

    asyncio.run(play())
    assert desk.runner.said == "done, 5 of 5" and sorted(set(drawn)) == [0, 1, 2, 3, 4, 5]
    front = study.tradeoff.front_of(desk.rows, desk.goals)
    assert desk.offered.html.count("Choose</button>") == len(front) > 0

    real, go, left = room.size, threading.Event(), []

    def watched(*args, **kwargs):
        begun.set()
        go.wait(60)
        try:
            return real(*args, **kwargs)
        except BaseException:
            left.append(len(desk.rows))
            raise

    desk.most.value = "40"

    async def stop():
        desk.run()
        await until(lambda: len(desk.rows) >= 2)
        monkeypatch.setattr(room, "size", watched)
        await until(begun.is_set)
        desk.cancel()
        go.set()
        await desk.task

    asyncio.run(stop())
    assert re.fullmatch(r"cancelled after \d of \d+", desk.runner.said) and not desk.errors
    assert left == [len(desk.rows)]  # the plant under way was left at its next line, and none begun after it
    assert len(desk.rows) < 10 and desk.offered.html
