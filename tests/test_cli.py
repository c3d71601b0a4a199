"""The command line: what it prints, what it writes, how it ends."""

from __future__ import annotations

import io
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pandas as pd
import pytest

import desalbook
from desalbook import api, cli, lab, paths
from desalbook.problems import Conflict, DesignError, EngineError, Infeasible, TrailError
from tests import fakes


@pytest.fixture
def file(tmp_path, monkeypatch) -> Path:
    """A design file, with the small plant of the tests downstream of the face."""
    monkeypatch.setattr(api, "size", fakes.size)
    path = tmp_path / "mine.toml"
    path.write_text(fakes.TEXT, encoding="utf-8")
    return path


def at(file: Path, flow: str) -> Path:
    file.write_text(fakes.TEXT.replace("2400 m3/d", flow), encoding="utf-8")
    return file


def test_one_page(file, capsys):
    assert cli.main(["size", str(file)]) == 0
    out = capsys.readouterr().out
    for part in (
        "TEST & <PLANT>", "rev B", "SI\n", "PRETREATMENT, per train", "3.57 m/h",
        "1 to review", "NEEDS ATTENTION, worst first (1;", "? Bromide", "Have it analysed.", "licensed practice",
    ):
        assert part in out, part
    lines = out.splitlines()
    assert len(lines) <= 64 and max(map(len, lines)) <= 100 and "\033" not in out
    assert cli.main(["size", str(file), "--units", "us"]) == 0
    assert "gpm/ft2" in capsys.readouterr().out


def test_every_command_helps(capsys):
    """A sign of per cent in a help was taken for a format, and the help of ``sweep`` ended in a traceback."""
    with pytest.raises(SystemExit):
        cli.main(["--help"])
    jobs = re.findall(r"^    ([a-z-]+)\b", capsys.readouterr().out, re.M)
    assert len(jobs) >= 16
    for job in jobs:
        with pytest.raises(SystemExit) as done:
            cli.main([job, "--help"])
        out = capsys.readouterr().out
        assert done.value.code == 0 and out.startswith(f"usage: desalbook {job}") and "%%" not in out


def test_version_is_that_of_the_package(capsys):
    with pytest.raises(SystemExit) as done:
        cli.main(["--version"])
    assert done.value.code == 0 and capsys.readouterr().out == f"desalbook {desalbook.__version__}\n"


def test_more_workers_than_a_computer_has_is_a_slip(file, capsys):
    asked = ["sweep", str(file), "duty.train_product_flow", "--from", "2400 m3/d", "--to", "2500 m3/d"]
    assert cli.main([*asked, "--workers", "999999"]) == 2
    assert "workers = 999999" in (said := capsys.readouterr().err) and "1 to 256" in said


def test_everything_on_request(file, capsys):
    assert cli.main(["size", str(file), "--full"]) == 0
    out = capsys.readouterr().out
    for part in ("Test & <plant>", "revision B", "3.571 m/h",
                 ": passes, margin", "Safety notes", "Isolate and drain first."):
        assert part in out, part
    assert max(map(len, out.splitlines())) <= 120


def test_tables_say_their_units_in_the_heads(tmp_path):
    design = str(paths.demo("beach-well.toml"))
    for units, flow, power in (("si", "volume_flow, m3/h", "shaft_power, kW"), ("us", "volume_flow, gpm",
                                                                                "shaft_power, hp")):
        out = tmp_path / units
        assert cli.main(["size", design, "--units", units, "--out", str(out), "--only", "tables"]) == 0
        assert flow in pd.read_csv(out / "streams.csv").columns and power in pd.read_csv(out / "equipment.csv").columns
        heads = [h for name in ("streams", "equipment", "energy",
                                "chemicals") for h in pd.read_csv(out / f"{name}.csv")]
        assert not [h for h in heads if h.endswith(("_kg_s", "_mol_s"))] and sum(", " in h for h in heads) > 40


def test_a_failing_check(file, capsys):
    assert cli.main(["check", str(at(file, "12000 m3/d"))]) == 1
    out = capsys.readouterr().out
    assert "x Media filters: 1 check, 1 fails" in out and "fails by" in out and "> Add a filter" in out
    assert "1 fail," in out or "1 fails," in out
    assert cli.main(["check", str(at(file, "2400 m3/d"))]) == 0
    short = capsys.readouterr().out
    assert cli.main(["check", str(file), "--all"]) == 0
    assert "+ Filtration rate" in capsys.readouterr().out and "+ Filtration rate" not in short


def test_colour_where_a_terminal_asks_for_it(file, capsys, monkeypatch):
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert cli.main(["check", str(file)]) == 0
    assert "\033[35m? Raw-water analysis" in capsys.readouterr().out
    monkeypatch.setenv("NO_COLOR", "1")
    assert cli.main(["check", str(file)]) == 0
    assert "\033" not in capsys.readouterr().out


def test_files_are_written_whole_and_alike(file, tmp_path, capsys):
    for name in ("a", "b"):
        assert cli.main(["size", str(file), "--out", str(tmp_path / name)]) == 0
    for name in cli.FILES:
        data = (tmp_path / "a" / name).read_bytes()
        assert data and data == (tmp_path / "b" / name).read_bytes(), name
        assert b"\r" not in data or name.endswith(".xlsx"), name
    assert sorted(p.name for p in (tmp_path / "a").iterdir()) == sorted(cli.FILES)
    figures = pd.read_csv(tmp_path / "a" / "figures.csv", float_precision="round_trip").set_index("id")
    plant = fakes.size(api.read(file))
    assert figures.loc["filters.rate"].value_si == float(plant["filters.rate"])  # every digit
    assert list(figures.columns) == list(api.FIGURES[1:])
    said = capsys.readouterr().out
    assert f"record SHA-256 {plant.record['seal']['content']}" in said
    assert cli.main(["recompute", str(tmp_path / "a" / "trail.json")]) == 0
    assert "agrees with itself" in capsys.readouterr().out


def test_only_what_is_wanted_is_written(file, tmp_path, capsys):
    out = tmp_path / "some"
    assert cli.main(["size", str(file), "--out", str(out), "--only", "workbook, tables"]) == 0
    assert sorted(p.name for p in out.iterdir()) == sorted((*cli.EXPORTS["tables"], *cli.EXPORTS["workbook"]))
    assert "written to" in (said := capsys.readouterr().out) and "trail.html" not in said
    with pytest.raises(SystemExit):
        cli.main(["size", str(file), "--out", str(out), "--only", "drawing"])
    assert "allowed: tables, record, page, workbook" in capsys.readouterr().err


def test_an_altered_record_is_noticed(file, tmp_path, capsys):
    cli.main(["size", str(file), "--out", str(tmp_path / "a")])
    record = tmp_path / "a" / "trail.json"
    text = record.read_text(encoding="utf-8")
    record.write_text(text.replace('"value": 7.0', '"value": 7.1'), encoding="utf-8")
    assert record.read_text(encoding="utf-8") != text
    assert cli.main(["recompute", str(record)]) == 1
    assert "does not agree" in capsys.readouterr().out


def test_nothing_is_written_on_a_problem(file, tmp_path, monkeypatch, capsys):
    before = sorted(tmp_path.iterdir())
    assert (
        cli.main(["size", str(at(file, "25000 m3/d")), "--out", str(tmp_path / "out")])
        == Infeasible.exit_code
    )
    assert sorted(tmp_path.iterdir()) == before

    def broken(*_args, **_more):
        raise DesignError("no page")

    monkeypatch.setattr(api.Trail, "page", broken)
    assert cli.main(["size", str(at(file, "2400 m3/d")), "--out", str(tmp_path / "out")]) == 2
    assert sorted(tmp_path.iterdir()) == before
    err = capsys.readouterr().err
    assert len(err.splitlines()) == 2 and "hp_pump.flow: no pump in the table" in err


@pytest.mark.parametrize("problem", [DesignError, Conflict, Infeasible, EngineError])
def test_exit_codes(problem, file, monkeypatch, capsys):
    def size(_design, **asked):
        raise problem("two words", where="a.b", do="do this")

    monkeypatch.setattr(api, "size", size)
    assert cli.main(["size", str(file)]) == problem.exit_code
    got = capsys.readouterr()
    assert got.out == "" and got.err == "a.b: two words. Do this.\n"


@pytest.mark.parametrize("error", [TrailError("a line rests on nothing"), ValueError("deep\ninside")])
def test_a_defect_goes_to_a_log(error, file, tmp_path, monkeypatch, capsys):
    def size(_design, **asked):
        raise error

    monkeypatch.setattr(api, "size", size)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert cli.main(["check", str(file)]) == 70
    err = capsys.readouterr().err
    assert len(err.splitlines()) == 1 and "Traceback" not in err
    logs = list(tmp_path.glob("desalbook-*.log"))
    assert len(logs) == 1 and "Traceback" in logs[0].read_text(encoding="utf-8") and str(logs[0]) in err


def test_unreadable_files_are_one_line(tmp_path, capsys):
    (tmp_path / "x.toml").write_text("format = 1\n[duty\n", encoding="utf-8")
    for job, name in (("size", "no.toml"), ("size", "x.toml"), ("check", "."), ("recompute", "x.toml")):
        assert cli.main([job, str(tmp_path / name)]) == 2
        err = capsys.readouterr().err
        assert len(err.splitlines()) == 1 and "Traceback" not in err


def test_output_goes_through_a_narrow_terminal(file, monkeypatch):
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
    assert cli.main(["check", str(file), "--all"]) == 0
    sys.stdout.flush()
    assert "at most" in raw.getvalue().decode("utf-8")


def test_copying_never_overwrites(tmp_path, capsys):
    assert cli.main(["lab", "--copy-only", str(tmp_path)]) == 0
    start, demo = tmp_path / "notebooks" / "00-start.ipynb", tmp_path / "data-demo" / "harbour-town.toml"
    assert (
        start.read_bytes() == (paths.shelf() / "notebooks" / "00-start.ipynb").read_bytes() and demo.is_file()
    )
    demo.write_text("mine", encoding="utf-8")
    start.unlink()
    assert lab.copy(tmp_path) == [start] and demo.read_text(encoding="utf-8") == "mine"
    capsys.readouterr()


def test_the_server_ends_with_the_program_that_started_it(tmp_path):
    """SIGTERM to `desalbook lab` ends the server, which would hold its port else."""
    note = tmp_path / "server.pid"
    child = f"import os, time; open({str(note)!r}, 'w').write(str(os.getpid())); time.sleep(60)"
    code = ("import os, sys, pathlib; from desalbook import lab; "
            f"lab._served([sys.executable, '-c', {child!r}], dict(os.environ), pathlib.Path('.'))")
    started = subprocess.Popen([sys.executable, "-c", code])
    until = time.monotonic() + 60
    while not (note.exists() and note.read_text()) and time.monotonic() < until:
        time.sleep(0.05)
    server = int(note.read_text())
    started.send_signal(signal.SIGTERM)
    started.wait(30)
    with pytest.raises(ProcessLookupError):
        os.kill(server, 0)


def test_the_lab_can_be_rooted_at_a_work_folder_without_terminals(tmp_path, monkeypatch):
    seen = []
    monkeypatch.setattr(lab, "_served", lambda line, env, root: seen.append((line, root)) or 0)
    monkeypatch.setattr(lab, "_reference", lambda folder: None)
    work = tmp_path / "work"
    assert cli.main(["lab", "--folder", str(work), "--no-terminals", "--no-browser"]) == 0
    line, root = seen[0]
    assert root == work.resolve() and (work / "notebooks" / "00-start.ipynb").is_file()
    assert f"--ServerApp.root_dir={work.resolve()}" in line and "--ServerApp.terminals_enabled=False" in line
    assert cli.main(["lab", "--no-browser"]) == 0
    assert not any("terminals" in x for x in seen[1][0]) and seen[1][1] != root


def test_the_server_is_started_with_settings_of_its_own(tmp_path, monkeypatch):
    seen = {}

    class Server:
        def __init__(self, command, env, cwd):
            call(command, env, cwd)

        def wait(self):
            return 0

        def poll(self):
            return 0

    def call(command, env, cwd):
        folder = Path(env["JUPYTER_CONFIG_PATH"].split(os.pathsep)[0]) / "labconfig"
        seen.update(
            command=command, env=env, cwd=cwd, own=(folder / "default_setting_overrides.json").read_text()
        )

    monkeypatch.setattr("subprocess.Popen", Server)
    monkeypatch.setattr(lab, "_reference", lambda folder: None)
    design = tmp_path / "mine.toml"
    design.write_text(fakes.TEXT, encoding="utf-8")
    assert cli.main(["lab", str(design), "--no-browser", "--port", "8899"]) == 0
    line = seen["command"]
    assert (
        line[:3] == [sys.executable, "-m", "jupyterlab"] and "--port=8899" in line and "--no-browser" in line
    )
    assert "--LabApp.default_url=/lab/tree/notebooks/00-start.ipynb" in line
    assert f"--ServerApp.root_dir={paths.repository()}" in line and '"fetchNews": "false"' in seen["own"]
    assert seen["env"][paths.DESIGN] == str(design) and "JUPYTER_CONFIG_DIR" not in set(seen["env"]) - set(
        os.environ
    )
    assert cli.main(["lab", str(tmp_path / "none.toml")]) == 2


@pytest.mark.full
def test_two_processes_write_the_same_bytes(tmp_path):
    """Nothing of a machine's hashing, clock, language or folder gets into what is written."""
    root = Path(__file__).parents[1]
    code = "import sys; from desalbook import cli; sys.exit(cli.main(sys.argv[1:]))"
    design = str(paths.demo("harbour-town.toml"))
    runs = (("1", "UTC", "C", "a"), ("77", "Pacific/Auckland", "tr_TR.UTF-8", "b"))
    for seed, zone, language, folder in runs:
        cwd = tmp_path / f"cwd-{folder}"
        cwd.mkdir()
        env = dict(os.environ, PYTHONHASHSEED=seed, TZ=zone, LC_ALL=language, PYTHONPATH=str(root / "lib"))
        command = [sys.executable, "-c", code, "size", design, "--out", str(tmp_path / folder)]
        done = subprocess.run(command, cwd=cwd, env=env, capture_output=True, timeout=120)
        assert done.returncode == 0, done.stderr.decode(errors="replace")
        assert not list(cwd.iterdir())
    for name in ("figures.csv", "checks.csv", "trail.json", "trail.html"):
        first = (tmp_path / "a" / name).read_bytes()
        assert len(first) > 10_000 and first == (tmp_path / "b" / name).read_bytes(), name


def test_a_map_a_frontier_and_choices(file, capsys, tmp_path, monkeypatch):
    """Of a small plant: what is printed, what a file holds, what goes on after a stop, what is saved of it."""
    from desalbook.study import sweep as study

    real, begun = study._case, []
    monkeypatch.setattr(study, "_case", lambda *args, **_: begun.append(args[1]) or real(*args, sized=fakes.size))
    flow, trains = "duty.train_product_flow", "duty.trains"
    two = [str(file), flow, trains, "--range", flow, "2400 m3/d", "24000 m3/d", "--values", trains, "1", "2",
           "--steps", "3"]
    on = [*two, "--follow", "filters.rate"]
    assert cli.main(["map", *on, "--picture", str(tmp_path / "m.svg")]) == 0
    said = capsys.readouterr().out
    head, across, first, second = said.splitlines()[:4]
    assert head.startswith("filters.rate, m/h") and across.split() == ["2400", "m3/d", "13200", "m3/d", "24000", "m3/d"]
    assert [x.split() for x in (first, second)] == [[n, "3.571", "19.64", "x", "-"] for n in ("1", "2")]
    assert "6 plants, 2 meet every limit" in said and "Filtration rate fails: 2 of them" in said
    assert "Cannot be built: 2 of them" in said and (tmp_path / "m.svg").read_text(encoding="utf-8").startswith("<svg")

    whole, cut = tmp_path / "whole.csv", tmp_path / "cut.csv"
    front = ["frontier", *two, "--minimum", "filters.rate"]
    assert cli.main([*front, "--out", str(whole)]) == 0 and "6 rows written" in capsys.readouterr().out

    def stopped(*args, **more):
        begun.append(args[1])
        if len(begun) == 4:  # the design as it stands, two plants, then the key
            raise KeyboardInterrupt
        return real(*args, sized=fakes.size)

    begun.clear()
    kept, _ = study._case, monkeypatch.setattr(study, "_case", stopped)
    assert cli.main([*front, "--out", str(cut)]) == 130
    said = capsys.readouterr()
    assert "stopped after 2 plants; the same command goes on" in said.err and "2 are not beaten" in said.out
    monkeypatch.setattr(study, "_case", kept)
    begun.clear()
    new = tmp_path / "new.toml"
    assert cli.main([*front, "--out", str(cut), "--save", "1", str(new), "the smallest rate"]) == 0
    # as it stands, the four that were left, and once more the one whose cost is told by part
    assert len(begun) == 1 + 4 + 1 and cut.read_bytes() == whole.read_bytes()
    assert "the smallest rate" in api.read(new).get("project.note") and "plant 1 written" in capsys.readouterr().out
    for words, what in (((*front, "--save", "9", "x.toml", "none"), "no plant of that number"),
                        ((*front, "--values", "duty.hours", "3"), "not a key of this study"),
                        ((*front, "--values", trains), "no values"),
                        (("map", str(file), flow, flow), "two keys"),
                        (("map", *on, "--picture", "m.png"), "end in .svg"),
                        (("choices", str(file), flow), "takes a number"),
                        (("choices", str(file), flow, "2400 m3/d", "--also", trains, "1", "2"), "one value for each"),
                        ((*front, "--workers", "0"), "workers")):
        assert cli.main(list(words)) == 2 and what in capsys.readouterr().err

    assert cli.main(["choices", str(file), flow, "2400 m3/d", "12000 m3/d", "--follow", "filters.rate", "--also",
                     trains, "1", "2"]) == 0 and begun[-1] == {flow: "12000 m3/d", trains: "2"}
    head, rate, fails, worst = capsys.readouterr().out.splitlines()
    assert head.split()[:3] == ["value", "as", "designed"] and "12000 m3/d" in head
    assert "3.571 m/h" in rate and fails.split()[-1] == "1" and "Filtration rate" in worst


def test_a_sweep(file, capsys, tmp_path, monkeypatch):
    from desalbook.study import sweep as study

    real = study._case
    monkeypatch.setattr(study, "_case", lambda *args: real(*args, sized=fakes.size))
    words = ["sweep", str(file), "duty.train_product_flow", "--from", "2400 m3/d", "--to", "24000 m3/d",
             "--steps", "3", "--follow", "filters.rate"]
    assert cli.main(words) == 0
    said = capsys.readouterr()
    assert "1 of 3 cases, " in said.err and "s left" in said.err and "3 of 3 cases" in said.err
    head, first, second, third = said.out.splitlines()
    assert "filters.rate, m/h" in head and "3.5714" in first and "filters.rate.check" in second
    assert "no pump in the table" in third and "nan" not in third.lower()
    assert cli.main([*words, "--units", "us", "--out", str(tmp_path / "a.csv")]) == 0
    frame = pd.read_csv(tmp_path / "a.csv")
    assert len(frame) == 3 and "filters.rate, gpm/ft2" in frame.columns and "id" in frame.columns
    capsys.readouterr()
    # Ctrl-C keeps the rows that are done
    begun = []

    def stopped(*args):
        begun.append(args)
        if len(begun) == 4:  # the design as it stands, two rows, then the key
            raise KeyboardInterrupt
        return real(*args, sized=fakes.size)

    monkeypatch.setattr(study, "_case", stopped)
    assert cli.main([*words[:-3], "9", *words[-2:]]) == 130
    said = capsys.readouterr()
    assert "stopped after 2 of 9" in said.err and len(said.out.splitlines()) == 3
    # in a file, the same command goes on
    begun.clear()
    again = [*words[:-3], "9", *words[-2:], "--out", str(tmp_path / "b.csv")]
    assert cli.main(again) == 130 and "goes on from there" in capsys.readouterr().err
    monkeypatch.setattr(study, "_case", lambda *args: begun.append(args) or real(*args, sized=fakes.size))
    begun.clear()
    assert cli.main(again) == 0 and "9 rows written" in capsys.readouterr().out
    assert len(begun) == 1 + 7 and len(pd.read_csv(tmp_path / "b.csv")) == 9
    assert cli.main([*words, "--out", str(tmp_path / "b.csv")]) == 3
    assert "of another study" in capsys.readouterr().err
    assert cli.main([*words, "--workers", "0"]) == 2
    assert cli.main(["sweep", str(file), "duty.train_flow"]) == 2
    assert "train_product_flow" in capsys.readouterr().err
    assert cli.main(["sweep", str(file), "duty.trains", "--from", "1", "--to", "x"]) == 2


@pytest.mark.full
def test_the_reference_is_written_beside_the_notebooks(tmp_path, monkeypatch):
    import time

    pytest.importorskip("jupyterlab")
    (tmp_path / "notebooks").mkdir()
    monkeypatch.setattr(lab.paths, "repository", lambda: tmp_path)
    monkeypatch.setattr(lab, "_served", lambda *_: 0)
    assert lab.start(browser=False) == 0
    for _ in range(600):
        if (tmp_path / "notebooks" / "reference.html").exists():
            break
        time.sleep(0.2)
    assert (tmp_path / "notebooks" / "reference.html").stat().st_size > 1e6


def test_a_command_that_ends_its_process_looks_for_no_cycles(monkeypatch, capsys):
    """They took a quarter of its time; words given by a caller, and what may go on for hours, leave them alone."""
    done = []
    monkeypatch.setattr(cli.gc, "disable", lambda: done.append("off"))
    monkeypatch.setattr(cli.atexit, "register", lambda what: done.append(what))
    assert cli.main(["check", "none.toml"]) == 2 and not done
    for job, want in (("check", [cli.gc.freeze, "off"]), ("sweep", [cli.gc.freeze])):
        monkeypatch.setattr(cli.sys, "argv", ["desalbook", job, "none.toml", "duty.trains"][:3 + (job == "sweep")])
        assert cli.main() == 2 and done == want
        done.clear()
