"""Cancellation and progress: a calculation that nobody waits for any more stops; a long search says how far it is."""

from __future__ import annotations

import contextlib
import contextvars
import threading
from collections.abc import Callable, Iterator

__all__ = ["Cancelled", "cancelled_by", "check_cancelled", "report", "telling", "until"]

Tell = Callable[[str, int, int], object]
"""Gets what is searched for, how many candidates were tried, and how many may be tried at most."""
_cancel: contextvars.ContextVar[threading.Event | None] = contextvars.ContextVar("cancel", default=None)
_tell: contextvars.ContextVar[Tell | None] = contextvars.ContextVar("tell", default=None)


class Cancelled(BaseException):
    """No error of the calculation: it goes through whatever catches those."""


@contextlib.contextmanager
def until(cancel: threading.Event) -> Iterator[None]:
    """Books made inside raise `Cancelled` at the next value or line after ``cancel`` is set, from whatever thread.

    So does the vessel solver, at its next step.
    """
    token = _cancel.set(cancel)
    try:
        yield
    finally:
        _cancel.reset(token)


def cancelled_by() -> threading.Event | None:
    """The event that cancels a book made here; None where nothing does."""
    return _cancel.get()


def check_cancelled() -> None:
    """Raise `Cancelled` where somebody has cancelled: called inside what iterates without making values."""
    cancel = _cancel.get()
    if cancel is not None and cancel.is_set():
        raise Cancelled


@contextlib.contextmanager
def telling(tell: Tell) -> Iterator[None]:
    """Searches inside call ``tell`` before each batch of candidates."""
    token = _tell.set(tell)
    try:
        yield
    finally:
        _tell.reset(token)


def report(what: str, tried: int, most: int) -> None:
    """Tell how far a search is, where somebody asks."""
    tell = _tell.get()
    if tell is not None:
        tell(what, tried, most)
