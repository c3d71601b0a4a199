"""How the tests are dealt out: each once, groups whole and in their order, tests that compare times by themselves."""

from __future__ import annotations

import ast
import os
import random
import re
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from tests import cores
from tests.every import every

ROOT = Path(__file__).parents[1]
CLOCK = re.compile(r"\b(perf_counter|process_time|thread_time)\b")


def written(path: Path) -> dict[str, str]:
    """Name -> text of the tests of a file."""
    text = path.read_text(encoding="utf-8")
    return {f.name: ast.get_source_segment(text, f) or "" for f in ast.parse(text).body
            if isinstance(f, ast.FunctionDef) and f.name.startswith("test_")}


def test_what_is_named_is_there():
    def there(place: str) -> None:
        file, _, name = place.partition("::")
        found = sorted(ROOT.glob(f"{file}*"))
        assert found, file
        assert not name or any(test.startswith(name.partition("[")[0]) for test in written(found[0])), name

    every([*cores.ALONE, *cores.APART, *cores.FIRST, *cores.TOGETHER], there)


def test_a_test_that_compares_times_runs_by_itself():
    found = 0
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        if path == Path(__file__) or not CLOCK.search(path.read_text(encoding="utf-8")):
            continue
        file = path.relative_to(ROOT).as_posix()
        assert any(place.startswith(file) for place in cores.ALONE), file
        for name, text in written(path).items():
            if CLOCK.search(text):
                assert f"{file}::{name}".startswith(cores.ALONE), name
                found += 1
    assert found >= 4


TESTS = [*(f"notebooks/a.ipynb::Cell {n}" for n in range(4)), *(f"tests/test_few.py::test_{n}" for n in range(3)),
         *(f"tests/test_long.py::test_{n}" for n in range(5)), *(f"tests/test_wide.py::test_{n}" for n in range(6)),
         "tests/test_clock.py::test_ratio", "tests/test_clock.py::test_ratio_of_many", "tests/test_clock.py::test_sum"]


@pytest.fixture
def named(monkeypatch):
    monkeypatch.setattr(cores, "ALONE", ("tests/test_clock.py::test_ratio",))
    monkeypatch.setattr(cores, "APART", ("tests/test_wide.py",))
    monkeypatch.setattr(cores, "FIRST", ("tests/test_long.py", "tests/test_wide.py::test_3"))


def test_order_in_which_they_are_begun(named):
    made = cores.queue(TESTS)
    assert list(made)[:5] == ["by itself", "tests/test_long.py", "tests/test_wide.py::test_3", "notebooks/a.ipynb",
                              "tests/test_few.py"]
    assert made["by itself"] == TESTS[-3:-1] and made["tests/test_clock.py"] == TESTS[-1:]
    assert sorted(test for tests in made.values() for test in tests) == sorted(TESTS)


class Process:
    """What the dealer sees of a process, with what it was sent."""

    def __init__(self, name: str):
        self.gateway = SimpleNamespace(id=name)
        self.sent: list[int] = []
        self.shutting_down = False

    def send_runtest_some(self, indices):
        assert not self.shutting_down
        self.sent += indices

    def shutdown(self):
        self.shutting_down = True

    @property
    def at(self) -> str | None:
        """The test it is at: it begins one only when it knows what comes after."""
        return TESTS[self.sent[0]] if len(self.sent) > 1 or (self.sent and self.shutting_down) else None


def dealt(processes: list[Process]):
    config = SimpleNamespace(getvalue=lambda name: ["popen"] * len(processes))
    dealer = cores._dealer()(config, None)
    for process in processes:
        dealer.add_node(process)
        dealer.add_node_collection(process, TESTS)
    assert dealer.collection_is_completed
    dealer.schedule()
    return dealer


@pytest.mark.parametrize("count", [1, 2, 3, 9])
def test_every_test_is_run_once_its_group_in_one_process(named, count):
    for seed in range(30):
        chance = random.Random(seed)
        processes = [Process(f"p{n}") for n in range(count)]
        dealer, ran = dealt(processes), []
        while busy := [p for p in processes if p.at]:
            if by_itself := [p for p in busy if cores.group(p.at) == "by itself"]:
                assert busy == by_itself, "a test that compares times has company"
            process = chance.choice(busy)
            ran.append((process.at, process))
            dealer.mark_test_complete(process, process.sent.pop(0))
        assert sorted(test for test, _ in ran) == sorted(TESTS)
        assert dealer.tests_finished and not dealer.has_pending and all(p.shutting_down for p in processes)
        for tests in cores.queue(TESTS).values():
            mine = [(test, by) for test, by in ran if test in tests]
            assert [test for test, _ in mine] == tests and len({id(by) for _, by in mine}) == 1


@pytest.mark.parametrize("after", range(8))
def test_what_a_dead_process_left_is_run_by_the_others(named, after):
    one, two = Process("one"), Process("two")
    dealer, ran = dealt([one, two]), []
    for _ in range(after):
        process = next(p for p in (one, two) if p.at)
        ran.append(process.at)
        dealer.mark_test_complete(process, process.sent.pop(0))
    was_at = one.at
    assert dealer.remove_node(one) == was_at
    three = Process("three")
    dealer.add_node(three)
    dealer.add_node_collection(three, TESTS)
    dealer.schedule()
    while process := next((p for p in (two, three) if p.at), None):
        ran.append(process.at)
        dealer.mark_test_complete(process, process.sent.pop(0))
    assert sorted([*ran, was_at]) == sorted(TESTS) and dealer.tests_finished


def _pytest(*words: str) -> str:
    done = subprocess.run([sys.executable, "-m", "pytest", "-q", *words], cwd=ROOT, capture_output=True, text=True,
                          env={k: v for k, v in os.environ.items() if not k.startswith("PYTEST_")})
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.mark.full
def test_cases_are_summed_and_one_file_runs_in_one_process():
    """A file named needs no other processes; how many cases it tried is the same with them."""
    alone = _pytest("tests/test_every.py")
    shared = _pytest("-n", "2", "tests/test_every.py")
    bare = _pytest("-p", "no:xdist", "tests/test_every.py")
    assert "nodes..." not in alone + bare and "nodes..." in shared
    told = [re.findall(r"(\d+) cases tried by name", said) for said in (alone, shared, bare)]
    assert told[0] and told[0] == told[1] == told[2]
