"""Tasks of a study shared among the workers of any executor: few under way at a time, answers in their order.

The executor is one of `concurrent.futures`, or one that behaves like these, such as dask's
``client.get_executor(pure=False)``. A worker that dies costs time and no answer: what it was at is done again.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, ProcessPoolExecutor, wait
from typing import TYPE_CHECKING, Any

from desalbook.problems import Problem

if TYPE_CHECKING:
    import threading

__all__ = ["AHEAD", "TRIES", "in_order", "processes", "workers"]

AHEAD = 2
"""Tasks under way for each worker: one it is at and one that waits, so that none idles and few are held."""
TRIES = 3
"""How often a task is begun before it is held to be what the workers die of."""
_POLL = 0.1  # s between two looks whether the study is cancelled
_LOST = ("KilledWorker", "FutureCancelledError", "FutureLostError")  # what dask calls a task whose worker died


def workers(executor: Executor | None) -> int:
    """How many tasks an executor runs at once; the cores of this computer where it does not say."""
    if executor is None:
        return 1
    if isinstance(known := getattr(executor, "_max_workers", None), int):
        return known
    client = getattr(executor, "_client", None)
    if client is not None:
        return max(1, sum(client.nthreads().values()))
    return os.cpu_count() or 1


def processes(count: int, clean: bool = False) -> ProcessPoolExecutor:
    """Processes of this computer that size plants.

    An interrupt from the keyboard is for this process alone, and they end with it however it ends.

    Parameters
    ----------
    count : int
    clean : bool
        Whether they begin as new programs, which takes a second or two and is safe where threads run here.
    """
    import multiprocessing

    context = multiprocessing.get_context("spawn") if clean else None
    return ProcessPoolExecutor(count, mp_context=context, initializer=_serve)


def _serve() -> None:
    """Leave interrupts to the parent, and end with it: a killed parent takes nobody along."""
    import signal
    import threading
    from multiprocessing import parent_process

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()

    def end() -> None:
        if parent is not None:
            parent.join()
            os._exit(1)

    threading.Thread(target=end, daemon=True).start()


def in_order(executor: Executor | None, task: Callable[..., Any], arguments: Iterable[tuple[Any, ...]],
             cancel: threading.Event | None = None) -> Generator[Any, None, None]:
    """The answers of a task to each of its arguments, in the order of these, one at a time.

    Parameters
    ----------
    executor : concurrent.futures.Executor, optional
        If omitted, each task runs here when its answer is asked for.
    task : callable
        Of a module, so that other processes find it.
    arguments : iterable of tuple
        Read only as far as tasks are begun: at most `AHEAD` for each worker, and one more, are under way.
    cancel : threading.Event, optional
        Once set, no task is begun and no answer given any more.

    Raises
    ------
    Problem
        A task whose worker died `TRIES` times.
    """
    if executor is None:
        for one in arguments:
            if cancel is not None and cancel.is_set():
                return
            yield task(*one)
        return
    pool = _Pool(executor)
    waiting: deque[_Task] = deque()
    most, left = AHEAD * workers(executor) + 1, iter(arguments)
    try:
        while cancel is None or not cancel.is_set():
            while len(waiting) < most and (one := next(left, None)) is not None:
                waiting.append(_Task(one))
                pool.begin(task, waiting[-1])
            if not waiting:
                return
            first = waiting[0].future
            assert first is not None
            if not wait([first], timeout=None if cancel is None else _POLL).done:
                continue
            if _lost(first):
                pool.again(task, waiting)
                continue
            waiting.popleft()
            yield first.result()
    finally:
        for one in waiting:
            if one.future is not None:
                one.future.cancel()
        pool.close()


class _Task:
    """What one task is asked, where its answer comes, and how often it was begun."""

    def __init__(self, arguments: tuple[Any, ...]):
        self.arguments, self.future, self.begun = arguments, None, 0
        self.future: Future[Any] | None


def _lost(future: Future[Any]) -> bool:
    """Whether the worker died, and not the task failed."""
    try:
        error = future.exception()
    except CancelledError:
        return True
    return isinstance(error, BrokenExecutor) or type(error).__name__ in _LOST


class _Pool:
    """The executor that was given; or, once a pool of processes broke, one like it."""

    def __init__(self, executor: Executor):
        self.given, self.own = executor, None
        self.own: Executor | None

    def begin(self, task: Callable[..., Any], one: _Task) -> None:
        if one.begun >= TRIES:
            raise Problem(f"the worker died {TRIES} times at one part of the study", where="executor",
                          do="take smaller chunks or fewer workers, for memory is what workers die of most often")
        one.begun += 1
        try:
            one.future = (self.own or self.given).submit(task, *one.arguments)
        except BrokenExecutor:
            self._renew()
            one.future = (self.own or self.given).submit(task, *one.arguments)

    def again(self, task: Callable[..., Any], waiting: Iterable[_Task]) -> None:
        """Begin anew whatever was lost, in order; a pool of processes loses all it was asked at once.

        Only the first of them may be what the worker died of, so the others are not held to account.
        """
        for place, one in enumerate(waiting):
            if one.future is not None and one.future.done() and _lost(one.future):
                if place:
                    one.begun -= 1
                self.begin(task, one)

    def _renew(self) -> None:
        broken = self.own or self.given
        if not isinstance(broken, ProcessPoolExecutor):
            raise Problem("the executor is broken and takes no more tasks", where="executor",
                          do="make a new one and run the study again; with a results file it goes on where it was")
        self.close()
        like: dict[str, Any] = {name.removeprefix("_"): getattr(broken, name, None) for name in (
            "_max_workers", "_mp_context", "_initializer")}
        self.own = ProcessPoolExecutor(**like, initargs=getattr(broken, "_initargs", ()))

    def close(self) -> None:
        if self.own is not None:
            self.own.shutdown(wait=False, cancel_futures=True)
            self.own = None
