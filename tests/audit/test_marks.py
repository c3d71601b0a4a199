"""Review marks: bound to what was looked at, stale with a reason, and not lost when the writer is killed."""

from __future__ import annotations

import copy
import itertools
import os
import random
import signal
import time
from pathlib import Path

import pytest

from desalbook import api, cli
from desalbook.audit import Marks, marks_file
from desalbook.audit.marks import COVERAGE, STANDING
from desalbook.problems import DesignError
from desalbook.trail import record
from tests import fakes
from tests.trail.build import NASTY, calculation


@pytest.fixture(scope="module")
def made() -> dict:
    return record.to_record(calculation(), "text", kit="0")


@pytest.fixture
def marks(tmp_path) -> Marks:
    return Marks(tmp_path / "my design.toml")


def test_a_mark_stands_beside_the_file(made, marks, tmp_path):
    marks.mark(made, "filters.rate", "accept", "AB")
    assert marks.path == tmp_path / ".desalbook" / "my design.toml.marks" and marks.path.exists()
    got = marks.standing(made)
    assert tuple(got) == STANDING and got["state"].tolist() == ["accepted"] and got["by"].tolist() == ["AB"]
    assert marks.states(made)["filters.rate"] == "accepted" and marks.states(made)["filters.area"] == "unmarked"


def test_the_last_word_of_each_reviewer_and_the_gravest_of_all(made, marks):
    marks.mark(made, "filters.rate", "accept", "AB")
    marks.mark(made, "filters.rate", "reject", "CD", "the area is that of one filter")
    assert marks.states(made)["filters.rate"] == "rejected"
    marks.mark(made, "filters.rate", "accept", "CD")
    assert marks.states(made)["filters.rate"] == "accepted" and len(marks.all) == 3


def stale(made, marks, id, change) -> str:
    new = copy.deepcopy(made)
    change(new, {x["id"]: x for x in new["lines"]})
    row = marks.standing(new).set_index("id").loc[id]
    assert (row["state"] == "stale") == bool(row["stale"])
    return row["stale"]


def test_a_changed_line_makes_its_mark_stale_and_says_why(made, marks):
    for id in ("filters.rate", "water.scaled", "filters.kind", "filters.rate.check_low"):
        marks.mark(made, id, "accept", "AB")

    def of(new, id):
        return next(x for x in new["lines"] if x["id"] == id)

    def equation(new, lines):
        new["relations"][lines["filters.rate"]["relation"]]["hash"] = "0" * 16

    def source(new, lines):
        lines["filters.rate"]["place"] = "p. 99"

    def inputs(new, lines):
        lines["filters.rate"]["inputs"]["area"] = "filters.other"

    def unit(new, lines):
        lines["filters.rate"]["unit"] = "km/s"

    def value(new, lines):
        lines["filters.rate"]["value"] *= 1 + 3e-9

    def rounding(new, lines):
        lines["filters.rate"]["value"] *= 1 + 5e-10
        lines["water.scaled"]["value"][0] *= 1 - 5e-10

    def column(new, lines):
        lines["water.scaled"]["value"][0] *= 1.001

    def choice(new, lines):
        lines["filters.kind"]["value"] = "another"

    def verdict(new, lines):
        lines["filters.rate.check_low"]["more"]["verdict"] = "marginal"

    def gone(new, lines):
        new["lines"].remove(lines["filters.rate"])

    def other(new, lines):
        lines["filters.area"]["value"] *= 2

    assert "equation" in stale(made, marks, "filters.rate", equation)
    assert "source" in stale(made, marks, "filters.rate", source)
    assert "inputs changed" in stale(made, marks, "filters.rate", inputs)
    assert "unit" in stale(made, marks, "filters.rate", unit)
    assert "moved from" in stale(made, marks, "filters.rate", value)
    assert "value" in stale(made, marks, "water.scaled", column)
    assert "value" in stale(made, marks, "filters.kind", choice)
    assert "verdict was" in stale(made, marks, "filters.rate.check_low", verdict)
    assert "not in this record" in stale(made, marks, "filters.rate", gone)
    for id in ("filters.rate", "water.scaled"):
        assert stale(made, marks, id, rounding) == "" == stale(made, marks, id, other)


def test_a_stale_mark_is_never_counted_as_valid(made, marks):
    marks.mark(made, "filters.rate", "accept", "AB")
    new = copy.deepcopy(made)
    next(x for x in new["lines"] if x["id"] == "filters.rate")["value"] *= 2
    assert marks.states(new)["filters.rate"] == "stale"
    row = marks.coverage(new).set_index("id").loc["filters"]
    assert row["accepted"] == 0 and row["stale"] == 1 and row["share"] == 0
    marks.mark(new, "filters.rate", "question", "CD", "twice as fast as before?")
    assert marks.states(new)["filters.rate"] == "questioned"


def test_coverage_by_chapter_adds_up(made, marks):
    for x in made["lines"]:
        if x["id"].startswith("pipe"):
            marks.mark(made, x["id"], "accept", "AB")
    got = marks.coverage(made)
    assert tuple(got) == COVERAGE and got["id"].iloc[-1] == "all"
    parts, whole = got.iloc[:-1], got.iloc[-1]
    for name in COVERAGE[1:-1]:
        assert parts[name].sum() == whole[name]
    assert whole["lines"] == len(made["lines"])
    assert got.set_index("id").loc["pipe", "share"] == 1.0 and 0 < whole["share"] < 1
    states = ["accepted", "questioned", "rejected", "stale", "unmarked"]
    assert (got[states].sum(axis=1) == got["lines"]).all()


def test_what_cannot_be_marked(made, marks):
    for id, verdict, by, note, said in (
        ("filters.rat", "accept", "AB", "", "filters.rate"),
        ("filters.rate", "fine", "AB", "", "accept, question, reject"),
        ("filters.rate", "accept", "  ", "", "initials"),
        ("filters.rate", "reject", "AB", " ", "Say why"),
        ("filters.rate", "accept", "AB", "x" * 10_001, "Shorten"),
    ):
        with pytest.raises(DesignError, match=said) as caught:
            marks.mark(made, id, verdict, by, note)
        assert "\n" not in str(caught.value)
    assert not marks.path.exists()


def test_hostile_notes_stay_text(made, marks):
    note = f"=HYPERLINK(1)\n{NASTY}\x00\u202e"
    marks.mark(made, "filters.rate", "question", "A\nB", note)
    marks.mark(made, "filters.area", "accept", "AB")
    got = marks.standing(made).set_index("id")
    assert got.loc["filters.rate", "note"] == note and got.loc["filters.rate", "by"] == "A B" and len(got) == 2


def test_a_line_that_was_cut_anywhere_is_mended_and_no_other_is_lost(made, marks):
    """A writer killed after any number of bytes: the earlier mark is there, and so is the next one."""
    marks.mark(made, "filters.rate", "accept", "AB")
    first = marks.path.read_bytes()
    marks.mark(made, "filters.area", "accept", "CD", "seen")
    both = marks.path.read_bytes()
    for cut in range(len(first), len(both)):
        marks.path.write_bytes(both[:cut])
        seen = [m["id"] for m in marks.all]
        assert seen[0] == "filters.rate" and marks.damaged == []
        assert (len(seen) == 2) == (cut == len(both) - 1)  # whole but for its end
        marks.mark(made, "filters.kind", "accept", "EF")
        assert [m["id"] for m in marks.all] == [*seen, "filters.kind"] and marks.damaged == []


def test_a_line_that_somebody_changed_is_named_and_not_read(made, marks):
    for by in ("AB", "CD", "EF"):
        marks.mark(made, "filters.rate", "accept", by)
    text = marks.path.read_text(encoding="utf-8")
    marks.path.write_text(text.replace('"by": "CD"', '"by": "XY"'), encoding="utf-8")
    assert marks.damaged == [2] and [m["by"] for m in marks.all] == ["AB", "EF"]


def _saver(path: Path, name: str, told: int, start: float) -> None:
    """Mark without end and say so after each; never returns."""
    while time.monotonic() < start:
        pass
    for n in range(100_000):
        marks_file.add(path, {"by": name, "n": n, "note": "x" * (n * 37 % 3000)})
        os.write(told, f"{n}\n".encode())


def _forked(path: Path, name: str, start: float = 0.0) -> tuple[int, int]:
    read, told = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(read)
            _saver(path, name, told, start)
        finally:
            os._exit(1)
    os.close(told)
    return child, read


def _kills(path: Path, times: int) -> int:
    """Kill savers in the middle of their work; every mark that was said to be kept must be there, whole."""
    rng, kept, torn = random.Random(8), 0, 0
    for turn in range(times):
        name = f"r{turn}"
        child, read = _forked(path, name)
        first = os.read(read, 1) if turn % 4 else b""  # mostly once it is at work, sometimes at any time
        time.sleep(rng.uniform(0.0, 0.008))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        with os.fdopen(read, "rb") as pipe:
            said = [int(x) for x in (first + pipe.read()).split()]
        found, damaged = marks_file.read(path)
        mine = [m["n"] for m in found if m["by"] == name]
        assert damaged == []
        assert mine == list(range(len(mine))) and len(mine) in (len(said), len(said) + 1)
        assert all(len(m["note"]) == m["n"] * 37 % 3000 for m in found)
        kept += len(mine)
        torn += len(mine) != len(said)
        assert len(found) == kept  # nothing of the turns before went, either
    return kept


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_kill_while_saving(tmp_path):
    assert _kills(tmp_path / "d.marks", 25) >= 18


@pytest.mark.full
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_kill_while_saving_two_hundred_times(tmp_path):
    assert _kills(tmp_path / "d.marks", 200) >= 150


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_two_writers_at_once_lose_nothing(tmp_path):
    path = tmp_path / "d.marks"
    start = time.monotonic() + 0.05
    both = [_forked(path, name, start) for name in ("AB", "CD")]
    time.sleep(1.0)
    for child, _ in both:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
    found, damaged = marks_file.read(path)
    assert damaged == []
    for name, (_, read) in zip(("AB", "CD"), both, strict=True):
        with os.fdopen(read) as pipe:
            said = [int(x) for x in pipe.read().split()]
        mine = [m["n"] for m in found if m["by"] == name]
        assert len(said) > 3 and mine[: len(said)] == said and len(mine) <= len(said) + 1
    names = [m["by"] for m in found]
    assert sum(a != b for a, b in itertools.pairwise(names)) > 3  # they did take turns


def test_without_mending_a_kill_would_damage_the_file(tmp_path, monkeypatch):
    """The test above can fail: this is what a plain appending writer leaves downstream of."""
    path = tmp_path / "d.marks"
    marks_file.add(path, {"n": 0})
    with open(path, "ab") as file:
        file.write(b'0123456789ab {"n": 1, "no')
    monkeypatch.setattr(marks_file, "_mend", lambda file: None)
    marks_file.add(path, {"n": 2})
    assert marks_file.read(path) == ([{"n": 0}], [2])


def test_commands(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(api, "size", fakes.size)
    file = tmp_path / "mine.toml"
    file.write_text(fakes.TEXT, encoding="utf-8")
    assert cli.main(["mark", str(file), "filters.rate", "accept", "--by", "AB"]) == 0
    assert "mine.toml.marks" in capsys.readouterr().out
    assert cli.main(["mark", str(file), "filters.area", "question", "--by", "AB", "--note", "whose area?"]) == 0
    assert cli.main(["mark", str(file), "filters.area", "reject", "--by", "AB"]) == 2
    capsys.readouterr()
    assert cli.main(["marks", str(file)]) == 0
    out = capsys.readouterr().out
    assert "filters" in out and "filters.area questioned by AB: whose area?" in out and "Stale" not in out
    file.write_text(fakes.TEXT.replace("2400 m3/d", "3000 m3/d"), encoding="utf-8")
    assert cli.main(["marks", str(file), "--units", "us"]) == 0
    out = capsys.readouterr().out
    assert "Stale: 1" in out and "filters.rate accepted by AB" in out and "gpm/ft2" in out.replace("²", "2")


def test_marks_travel_in_page_workbook_and_record_and_are_stale_where_they_must_be(made, tmp_path):
    import openpyxl

    from desalbook.audit.verify import derived, verified
    from desalbook.export import Trail
    from desalbook.trail.seal import broken

    path = tmp_path / "my design.toml"
    trail = Trail(lambda: made).with_marks(path)
    assert trail.record() == made  # nothing is marked: nothing is added
    marks = Marks(path)
    marks.mark(made, "filters.rate", "accept", "AB")
    marks.mark(made, "filters.area", "question", "CD", f"is that one filter? {NASTY}")
    changed = copy.deepcopy(made)
    next(x for x in changed["lines"] if x["id"] == "filters.rate")["value"] *= 2
    later = Trail(lambda: changed).with_marks(path)
    for one, state in ((trail, "accepted"), (later, "stale")):
        kept = record.read((tmp_path / "r.json") if one.record(tmp_path / "r.json") else "")
        assert {m["id"]: m["state"] for m in kept["marks"]} == {"filters.rate": state, "filters.area": "questioned"}
        assert broken(kept) == [] and kept["seal"]["content"] != made["seal"]["content"]
        text = one.page(tmp_path / "p.html", depth="review").read_text(encoding="utf-8")
        part = text[text.index('<h2 id="marks">'):]
        said = f">{state}{', was' * (state == 'stale')}"
        assert "is that one filter?" in part and said in part and "<script>alert" not in text
        book = openpyxl.load_workbook(one.workbook(tmp_path / "b.xlsx"))
        rows = [[c.value for c in row] for row in book["Marks"].iter_rows()]
        assert any(state in row and "filters.rate" in row for row in rows)
    # a mark that was changed in the record is named by its seal, and beside the design by the marks kept there
    forged = copy.deepcopy(kept)
    forged["marks"][0]["by"] = "XY"
    assert "marks" in {d.where for d in derived(forged)}
    assert "marks" in {d.where for d in verified(forged, later.record())}
    marks.mark(changed, "filters.count", "accept", "EF")  # made since: no fault of the record
    assert not [d for d in verified(kept, later.record()) if d.where == "marks"]
