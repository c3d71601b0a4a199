"""Who runs which test: a run of the whole house is shared among as many processes as the machine has cores.

Tests of one file stay together, for they share plants, but where long tests are named below. The longest are begun
first, so that no process is left alone with one at the end. Tests that compare times run before all others,
in one process while the rest wait: a neighbour on the same core would be measured with them.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Generator, Sequence
from typing import Any

import pytest

from tests.every import tried

__all__ = ["ALONE", "APART", "FIRST", "TOGETHER", "cores", "group", "queue"]

ALONE = (
    "tests/bench/test_two_workers.py::test_two_workers_are_worth_it",
    "tests/bench/test_vessels.py::test_a_million_cases_are_flat",
    "tests/bench/test_vessels.py::test_three_hundred_times_the_reference",
    "tests/bench/test_vessels.py::test_time_of_a_case_is_flat",
    "tests/calc/test_calculation.py::test_a_second_battery_costs_a_fraction_of_the_first",
    "tests/design/test_design.py::test_what_is_nested_or_long_beyond_sense_is_refused_before_it_is_read",
    "tests/membrane/test_vessels.py::test_many_cases_cost_little_more_than_few",
    "tests/published/test_scaling.py::test_a_verdict_costs_no_more_than_the_solutions_it_needs",
    "tests/test_api.py::test_the_import_is_light",
    "tests/test_rate.py::test_chunks_join_and_the_time_of_a_case_stays",
    "tests/water/test_phreeqc.py::test_one_run_for_all_points_costs_no_more_than_its_solutions",
)
"""Tests that gate on a ratio of two times."""
APART = (
    "tests/membrane/test_vessel.py::",
    "tests/test_moving.py::",
    "tests/plant/test_stages.py::test_what_moves_descends_from_what_was_moved",
)
"""Long tests that share nothing worth the wait: each is dealt out by itself."""
TOGETHER = {"tests/outside/test_workbook": "office program", "tests/outside/test_paper.py": "paper",
            "tests/outside/": "browser"}
"""Files that run one after the other: one server and one browser at a time, for two starve each other. A page is
printed by a browser that serves nobody."""
FIRST = (
    "tests/outside/test_audit_desk.py",  # with it all of the browser's
    "tests/test_moving.py::test_what_moves",
    "tests/outside/test_workbook.py",
    "tests/outside/test_paper.py",
    "tests/test_readers.py",
    "tests/plant/test_random_plants.py",
    "tests/plant/test_stages.py",
    "tests/notebook/test_hostile.py",
    "tests/pretreatment/test_random_batteries.py",
    "tests/water/test_random_analyses.py",
    "tests/membrane/test_vessel.py::test_any_design",
    "tests/membrane/test_vessel.py::test_differential_equations_many",
    "tests/audit/test_marks.py",
    "notebooks/09-audit.ipynb",
)
"""The longest, in the order they are begun."""
BY_ITSELF = "by itself"
"""The group of those."""
MOST = 8
"""Processes at most: each has plants of its own, some hundred megabytes."""
ELSEWHERE: list[int] = []
"""Cases tried by name in each of the other processes."""


def cores() -> int:
    """Processes a test may use: as many as there are cores, but one where the tests themselves are shared out."""
    return 1 if "PYTEST_XDIST_WORKER" in os.environ else _allowed()


def _allowed() -> int:
    with contextlib.suppress(AttributeError):  # not every system tells which cores are ours
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _place(test: str, places: Sequence[str]) -> int:
    """Which of the places (files, tests or beginnings of them) a test stands in; their count where in none."""
    return next((n for n, place in enumerate(places) if test.startswith(place)), len(places))


def group(test: str) -> str:
    """Tests of one group run in one process, in their order."""
    if test.startswith(ALONE):
        return BY_ITSELF
    if test.startswith(APART):
        return test
    return next((name for place, name in TOGETHER.items() if test.startswith(place)), test.partition("::")[0])


def queue(tests: Sequence[str]) -> dict[str, list[str]]:
    """Group -> tests, in the order they are begun: alone, the long ones, groups of many, groups of few."""
    groups: dict[str, list[str]] = {}
    for test in tests:
        groups.setdefault(group(test), []).append(test)

    def when(name: str) -> tuple[bool, int, int]:
        return name != BY_ITSELF, min(_place(test, FIRST) for test in groups[name]), -len(groups[name])

    return {name: groups[name] for name in sorted(groups, key=when)}


@pytest.hookimpl(wrapper=True)
def pytest_cmdline_main(config: pytest.Config) -> Generator[None, Any, Any]:
    """As many processes as cores, where nobody says how many and no file or test is named; one more with a browser."""
    option = config.option
    here = hasattr(config, "workerinput") or option.usepdb or option.collectonly or option.keyword
    whole = config.args_source is pytest.Config.ArgsSource.TESTPATHS and not here
    if whole and getattr(option, "numprocesses", 0) is None and option.dist == "no" and _allowed() > 1:
        waits = option.run_all or "outside" in option.markexpr  # on a browser or an office program, a third of its time
        option.numprocesses = min(_allowed() + waits, MOST)
    return (yield)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Deal out the groups, where no other way is asked for."""
    return _dealer()(config, log) if config.getvalue("dist") == "load" else None


def _dealer() -> type:
    """Made when it is asked for: the library that runs the processes need not be there."""
    from xdist.scheduler import LoadScopeScheduling

    class Dealer(LoadScopeScheduling):
        """A process takes a group and gets its tests two at a time: one begins when the next is known, or that
        none comes. Few are on their way when the run shall stop at a failure."""

        def __init__(self, config: pytest.Config, log: Any) -> None:
            super().__init__(config, log)
            self.waiting: dict[str, list[str]] = {}
            self.given: dict[Any, list[str]] = {}
            self.owner: dict[str, Any] = {}

        @property
        def has_pending(self) -> bool:
            return any(self.waiting.values()) or any(self.given.values())

        @property
        def tests_finished(self) -> bool:
            return self.collection is not None and not self.has_pending

        def add_node(self, node: Any) -> None:
            super().add_node(node)
            self.given[node] = []

        def remove_node(self, node: Any) -> str | None:
            """What a process that died was at; the rest of its group waits anew."""
            self.assigned_work.pop(node)
            crashed, *rest = self.given.pop(node) or [None]
            for name in [name for name, by in self.owner.items() if by is node]:
                del self.owner[name]
            for test in reversed(rest):
                self.waiting.setdefault(group(test), []).insert(0, test)
            for other in self.nodes:
                self._fill(other)
            return crashed

        def mark_test_complete(self, node: Any, item_index: int, duration: float = 0) -> None:
            test = self.registered_collections[node][item_index]
            self.given[node].remove(test)
            if group(test) == BY_ITSELF and not self._left(BY_ITSELF):
                self.owner.pop(BY_ITSELF, None)
            for other in self.nodes:
                self._fill(other)

        def schedule(self) -> None:
            if self.collection is None:
                if not self._check_nodes_have_same_collection():
                    return
                self.collection = list(next(iter(self.registered_collections.values())))
                self.number = {test: n for n, test in enumerate(self.collection)}
                self.waiting = queue(self.collection)
            for node in self.nodes:
                self._fill(node)

        def _fill(self, node: Any) -> None:
            """Two tests, or the word that no more come; nothing while tests run alone in another process."""
            while not node.shutting_down and len(self.given[node]) < 2:
                name = next((name for name in self.waiting if self.owner.get(name, node) is node), None)
                if name is None:
                    return node.shutdown()
                if self.owner.get(BY_ITSELF, node) is not node:
                    return None
                self.owner[name] = node
                test = self.waiting[name].pop(0)
                if not self.waiting[name]:
                    del self.waiting[name]
                self.given[node].append(test)
                node.send_runtest_some([self.number[test]])
            return None

        def _left(self, name: str) -> bool:
            return name in self.waiting or any(group(test) == name for tests in self.given.values() for test in tests)

    return Dealer


def pytest_sessionfinish(session: pytest.Session) -> None:
    """What this process tried is told to the one that deals out the tests."""
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["tried"] = tried()


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    ELSEWHERE.append(getattr(node, "workeroutput", {}).get("tried", 0))


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """A grouped test counts as one above; here the cases in them are told."""
    if whole := tried() + sum(ELSEWHERE):
        terminalreporter.write_line(f"{whole} cases tried by name in grouped tests")
