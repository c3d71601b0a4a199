"""A recording that nobody waits for any more is given up at its next line."""

from __future__ import annotations

import contextlib
import contextvars
import threading
from collections.abc import Iterator

__all__ = ["GivenUp", "told_by", "until"]

_told: contextvars.ContextVar[threading.Event | None] = contextvars.ContextVar("told", default=None)


class GivenUp(BaseException):
    """No error of the calculation: it goes through whatever catches those."""


@contextlib.contextmanager
def until(told: threading.Event) -> Iterator[None]:
    """Ledgers made inside raise `GivenUp` at the next line after ``told`` is set, from whatever thread."""
    token = _told.set(told)
    try:
        yield
    finally:
        _told.reset(token)


def told_by() -> threading.Event | None:
    """What tells a ledger made here to give up; None where nothing does."""
    return _told.get()
