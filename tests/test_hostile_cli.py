"""The command line with arguments nobody should give: the exit code of the contract, one line, no traceback."""

from __future__ import annotations

import json

import pytest

from desalbook import api, cli
from desalbook.study import sweep as study
from tests import fakes

FLOW = "duty.train_product_flow"
ROWS = ["sweep", "a.toml", FLOW, "--steps", "2", "--follow", "filters.rate"]
USAGE = (
    [], ["nosuch"], ["size"], ["size", "a.toml", "x"], ["size", "a.toml", "--units", "xx"], ["check", "--"],
    ["sweep", "a.toml"], ["map", "a.toml", FLOW], ["frontier", "a.toml"], ["choices", "a.toml"],
    ["frontier", "a.toml", FLOW, "--hardware", "new"],
    ["sweep", "a.toml", FLOW, "--steps", "x"], ["mark", "a.toml", "filters.rate", "accept"], ["compare", "a.toml"],
    ["mark", "a.toml", "filters.rate", "maybe", "--by", "A"], ["lab", "--port", "x"],
)
REFUSED = (
    ["size", ""], ["size", "no.toml"], ["size", "folder"], ["size", "x" * 5000], ["check", "/dev/null"], ["check",
    "-"],
    ["size", "a.toml", "--out", "a.toml"], ["size", "a.toml", "--out", "/dev/null/x"], ["size", "a.toml", "--out",
    "x" * 5000],
    ["sweep", "a.toml", ""], ["sweep", "a.toml", "duty"], ["sweep", "a.toml", "duty."], ["sweep", "a.toml",
    "duty[x].y"],
    ["sweep", "a.toml", "water.ions"], ["sweep", "a.toml", "project.name"], ["sweep", "a.toml", FLOW, "--steps",
    "0"],
    ["sweep", "a.toml", FLOW, "--steps", "999999"], ["sweep", "a.toml", FLOW, "--from", "nan", "--to", "inf"],
    ["sweep", "a.toml", FLOW, "--from", "", "--to", ""], ["sweep", "a.toml", FLOW, "--from", "3 bar"],
    ["sweep", "a.toml", FLOW, "--from", "9 m3/d", "--to", "9 m3/d"], [*ROWS[:3], "--follow", "no.such"],
    [*ROWS, "--out", "no/x.csv"], [*ROWS, "--out", "folder"], [*ROWS, "--out", "a.toml"], [*ROWS, "--out",
    "r.json"],
    ["map", "a.toml", FLOW, "nosuch"], ["map", "a.toml", FLOW, ""], ["map", "a.toml", FLOW, "duty.trains", "--range",
    FLOW, "x", "y"], ["frontier", "a.toml", "duty"], ["frontier", "a.toml", FLOW, "--minimum", "no.such"],
    ["frontier", "a.toml", FLOW, "--steps", "2", "--minimum", "filters.rate", "--out", "folder"],
    ["choices", "a.toml", "nosuch"], ["choices", "a.toml", FLOW, "x"], ["choices", "no.toml", FLOW],
    ["recompute", ""], ["recompute", "a.toml"], ["recompute", "folder"], ["compare", "a.toml", "no"],
    ["mark", "a.toml", "filters.rate", "accept", "--by", " \n"], ["mark", "a.toml", "filters.rate", "question",
    "--by", "A"],
    ["mark", "a.toml", "nosuch", "accept", "--by", "A"], ["mark", "a.toml", "filters.rate", "accept", "--by",
    "x" * 99],
    ["mark", "a.toml", "filters.rate", "reject", "--by", "A", "--note", "y" * 20_000], ["marks", "no"], ["lab",
    "no.toml"],
    ["lab", "--port", "99999"], ["lab", "--port", "-1"], ["lab", "r.png"],
    ["size", "a.toml", "--out", ""], ["size", "a.toml", "--out", "a\0b"], ["size", "a.toml", "--only", "page"],
    ["pack", "a.toml", "--out", "a.toml"], ["reference", "a.toml"], ["blank-sheet", "nosuch", "b.csv"],
    ["sweep", "a.toml", "recovery"], ["sweep", "a.toml", "membrane.element", "--from", "a"],
    ["lab", "--copy-only", "a.toml"], ["lab", "--copy-only", "/dev/null"], ["lab", "--copy-only", "x" * 400],
)
RECORDS = {
    "cut": lambda t: t[:1000], "list": lambda t: "[]", "empty": lambda t: "{}", "deep": lambda t: "[" * 100_000,
    "digits": lambda t: '{"format": 1' + "0" * 5000 + "}", "newer": lambda t: t.replace('"format": 1',
    '"format": 2'),
    "lines of numbers": lambda t: json.dumps(json.loads(t) | {"lines": [3]}),
    "lines of nothing": lambda t: json.dumps(json.loads(t) | {"lines": [{}]}),
    "relations of a list": lambda t: json.dumps(json.loads(t) | {"relations": []}),
}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with a design, its record and the small plant of the tests; the folder of logs is another."""
    real = study._case
    monkeypatch.setattr(study, "_case", lambda *args, **_: real(*args, sized=fakes.sized))
    monkeypatch.setattr(study, "_sized", fakes.sized)
    monkeypatch.setattr(api, "size", fakes.size)
    here = tmp_path / "here"
    (here / "folder").mkdir(parents=True)
    monkeypatch.chdir(here)
    (here / "r.png").write_bytes(b"\x89PNG\r\n")
    (here / "a.toml").write_text(fakes.TEXT, encoding="utf-8")
    fakes.size(fakes.design()).trail.record(here / "r.json")
    return here


def run(words, capsys) -> tuple[int, str]:
    """Exit code, and what stands on the error stream once its lines of progress are wiped."""
    try:
        code = cli.main(words)
    except SystemExit as stopped:
        code = int(stopped.code or 0)
    err = capsys.readouterr().err
    return code, "\n".join(x.rpartition("\r")[2] for x in err.split("\n")).strip()


def files(folder) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()
            and not p.name.endswith(".lock")}


@pytest.mark.parametrize("words", USAGE, ids=" ".join)
def test_wrong_usage(words, folder, capsys):
    before = files(folder)
    code, err = run(words, capsys)
    assert code == 2 and "usage" in err and "Traceback" not in err and files(folder) == before


@pytest.mark.parametrize("words", REFUSED, ids=lambda words: " ".join(words)[:60])
def test_refused_in_one_line(words, folder, capsys):
    before = files(folder)
    code, err = run(words, capsys)
    assert code == 2 and len(err.splitlines()) == 1 and len(err) < 700 and "defect" not in err, (code, err)
    assert files(folder) == before  # above all, the design stands as it stood


@pytest.mark.parametrize("which", RECORDS)
@pytest.mark.parametrize("words", (["recompute", "d.json"], ["marks", "d.json"], ["compare", "r.json", "d.json"],
                                   ["mark", "d.json", "filters.rate", "accept", "--by", "A"]),
                                   ids=lambda words: words[0])
def test_damaged_records(words, which, folder, capsys):
    (folder / "d.json").write_text(RECORDS[which]((folder / "r.json").read_text(encoding="utf-8")),
    encoding="utf-8")
    code, err = run(words, capsys)
    assert code == 2 and len(err.splitlines()) == 1 and "defect" not in err, (code, err)
    assert not (folder / "d.json.marks").exists()


def test_a_table_may_be_written_again(folder, capsys):
    for _ in range(2):
        assert run([*ROWS, "--out", "x.csv"], capsys)[0] == 0
    assert (folder / "x.csv").read_text(encoding="utf-8").count("\n") == 3
