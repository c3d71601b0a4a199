"""Tasks shared among workers: few under way, answers in order, a worker that dies costs no answer."""

from __future__ import annotations

import os
import signal
import threading
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path

import pytest

from desalbook.problems import DesignError, Problem
from desalbook.study.executors import AHEAD, TRIES, in_order, workers


def double(n: int) -> int:
    return 2 * n


def refuse(n: int) -> int:
    if n == 3:
        raise DesignError("not possible", where="a.b", value=n)
    return n


def die_once(n: int, mark: str) -> int:
    """The worker that takes 5 is killed as the system kills one that takes all memory; the next does it."""
    if n == 5 and not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return n


def die(n: int) -> int:
    if n == 5:
        os.kill(os.getpid(), signal.SIGKILL)
    return n


class Slow(Executor):
    """An executor of somebody's own, which ends what it was asked last first."""

    def __init__(self) -> None:
        self.asked: list[tuple[Future, int]] = []
        self.most = 0

    def submit(self, fn, /, *args, **kwargs):
        future: Future = Future()
        self.asked.append((future, fn(*args, **kwargs)))
        self.most = max(self.most, len(self.asked))
        if len(self.asked) == AHEAD * workers(self) + 1:
            self.end()
        return future

    def end(self) -> None:
        while self.asked:
            future, value = self.asked.pop()
            future.set_result(value)


def test_answers_come_in_order_and_few_are_under_way():
    begun = []

    def arguments():
        for n in range(1000):
            begun.append(n)
            yield (n,)

    with ThreadPoolExecutor(2) as pool:
        answers = in_order(pool, double, arguments())
        for n in range(100):
            assert next(answers) == 2 * n and len(begun) <= n + 1 + AHEAD * 2 + 1
        answers.close()
    assert len(begun) < 110
    assert list(in_order(None, double, ((n,) for n in range(4)))) == [0, 2, 4, 6]


def test_an_executor_of_ones_own_that_ends_in_another_order():
    own = Slow()
    count = 3 * (AHEAD * workers(own) + 1)
    answers = in_order(own, double, ((n,) for n in range(count)))
    got = []
    for answer in answers:
        got.append(answer)
        own.end()  # what was asked since
    assert got == [2 * n for n in range(count)] and own.most == AHEAD * workers(own) + 1


@pytest.mark.parametrize("kind", [ThreadPoolExecutor, ProcessPoolExecutor])
def test_a_refusal_arrives_whole(kind):
    with kind(1) as pool, pytest.raises(DesignError, match=r"a\.b = 3: not possible"):
        list(in_order(pool, refuse, ((n,) for n in range(6))))


def test_a_killed_worker_costs_no_answer(tmp_path):
    mark = tmp_path / "died"
    with ProcessPoolExecutor(2) as pool:
        assert list(in_order(pool, die_once, ((n, str(mark)) for n in range(12)))) == list(range(12))
        assert mark.exists()
        # the pool that was given is broken for good, and still the next study is answered
        assert list(in_order(pool, double, ((n,) for n in range(5)))) == [0, 2, 4, 6, 8]


def test_what_kills_every_worker_is_said_and_ends():
    done = []
    with ProcessPoolExecutor(2) as pool, pytest.raises(Problem, match=f"died {TRIES} times"):
        for answer in in_order(pool, die, ((n,) for n in range(12))):
            done.append(answer)
    assert done == list(range(len(done))) and len(done) <= 5


def test_a_cancelled_study_gives_no_more():
    cancel, got = threading.Event(), []
    with ThreadPoolExecutor(2) as pool:
        for answer in in_order(pool, double, ((n,) for n in range(100)), cancel):
            got.append(answer)
            if len(got) == 7:
                cancel.set()
    assert got == [2 * n for n in range(7)]
    assert list(in_order(None, double, ((n,) for n in range(9)), cancel)) == []
