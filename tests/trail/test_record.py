"""The record: whole, plain, the same bytes every time; and what its readers make of it."""

from __future__ import annotations

import copy
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from desalbook.problems import DesignError, TrailError
from desalbook.trail import Ledger, given, record
from desalbook.trail.stored import relation_hash
from tests.every import every
from tests.register import by_room, relations
from tests.trail import samples
from tests.trail.build import calculation

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def made() -> dict:
    return record.to_record(calculation(), "text", kit="0", project={"name": "Harbour"})


def test_written_and_read_back_it_is_the_same(made, tmp_path):
    path = record.write(made, tmp_path / "trail.json")
    assert record.read(path) == made and made["format"] == 1
    assert record.write(record.read(path), tmp_path / "again.json").read_bytes() == path.read_bytes()
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith(".")] == []


def test_it_holds_every_line_in_order_and_every_edge(made):
    book = calculation()
    assert [x["id"] for x in made["lines"]] == list(book.lines)
    edges = {(a, b) for a, b, _ in made["edges"]}
    assert edges == {(p, x.id) for x in book.lines.values() for p in x.parents()}
    ids = [x["id"] for x in made["lines"]]
    assert all(ids.index(a) < ids.index(b) for a, b, _ in made["edges"])  # nothing rests on what comes later


def test_it_holds_what_the_lines_rest_on(made):
    used = {x["relation"] for x in made["lines"] if x["relation"]}
    assert used == set(made["relations"])
    assert {x["kind"] for x in made["lines"] if x["kind"]} <= set(made["kinds"])
    assert {x["source"] for x in made["lines"] if x["source"]} <= set(made["sources"])
    assert "codata-2018" in made["sources"]  # of a constant
    assert made["engines"] == [
        {"library": "phreeqc", "version": "0", "data": "pitzer.dat", "checksum": "0" * 64}
    ]
    assert (
        made["input_hash"] == "982d9e3eb996f559e633f4d194def3761d909f5a3b647d1a851fead67c32c9d1"
    )  # SHA-256 of "text"


def test_no_time_no_path_no_odd_number(made):
    text = record.dumps(made)
    assert str(ROOT) not in text and "NaN" not in text and "Infinity" not in text
    assert json.loads(text, parse_constant=lambda c: pytest.fail(c)) == made


def test_a_number_that_is_none_is_refused():
    with Ledger().recording() as book:
        given("a.b", float("nan"), "length", title="t")
    with pytest.raises(TrailError, match=r"a\.b.*not a finite number"):
        record.to_record(book)


def test_an_unknown_source_is_refused():
    with Ledger().recording() as book:
        given("a.b", 1.0, "length", title="t", source="no-such-source")
    with pytest.raises(TrailError, match="no such source"):
        record.to_record(book)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ('{"format": 2}', "newer kit"),
        ("{}", "not a record"),
        ("[]", "not a record"),
        ("no", "not a record"),
        ('{"format": 1}', "not whole"),
        ('{"format": "1"}', "not a record"),
        ('{"format": true}', "not a record"),
    ],
)
def test_reading_refuses_in_one_line(tmp_path, content, says):
    path = tmp_path / "r.json"
    path.write_text(content)
    with pytest.raises(DesignError, match=says) as error:
        record.read(path)
    assert "\n" not in str(error.value)


def test_a_missing_file_is_one_line(tmp_path):
    with pytest.raises(DesignError, match="cannot be read"):
        record.read(tmp_path / "none.json")


def test_the_bytes_do_not_depend_on_the_hash_seed():
    code = (
        "from tests.trail.build import calculation; from desalbook.trail import record; import hashlib;"
        "text = record.dumps(record.to_record(calculation(), 't', kit='0'));"
        "print(hashlib.sha256(text.encode()).hexdigest())"
    )
    got = set()
    for seed in ("0", "1", "77"):
        path = os.pathsep.join([str(ROOT), str(ROOT / "lib")])
        run = subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": path},
            check=False,
        )
        assert run.returncode == 0, run.stderr
        got.add(run.stdout)
    assert len(got) == 1


@pytest.mark.parametrize("room", by_room())
def test_a_stored_relation_carries_its_own_hash(room):
    every(by_room()[room], carries_its_own_hash)


def carries_its_own_hash(key: str) -> None:
    from desalbook.trail.stored import stored_relation

    stored = json.loads(json.dumps(stored_relation(relations()[key]), sort_keys=True))
    assert relation_hash(stored) == relations()[key].hash


def test_floats_survive_to_the_last_bit(tmp_path):
    rng = np.random.default_rng(3)
    with Ledger().recording() as book:
        for i, v in enumerate(rng.uniform(-1, 1, 200) * 10.0 ** rng.integers(-30, 30, 200)):
            given(f"a.n{i}", float(v), "factor", title="t")
    path = record.write(record.to_record(book), tmp_path / "r.json")
    assert [x["value"] for x in record.read(path)["lines"]] == [float(x.value) for x in book.lines.values()]


def test_to_record_leaves_the_ledger_alone():
    book = calculation()
    before = copy.deepcopy(
        {
            k: (v.value if isinstance(v.value, (str, float)) else None, dict(v.more))
            for k, v in book.lines.items()
        }
    )
    record.to_record(book)
    after = {
        k: (v.value if isinstance(v.value, (str, float)) else None, dict(v.more))
        for k, v in book.lines.items()
    }
    assert before == after and samples.medley.key in {
        getattr(x.relation, "key", "") for x in book.lines.values()
    }
