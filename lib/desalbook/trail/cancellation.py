"""Cancellation: a calculation that nobody waits for any more stops at its next value or line."""

from __future__ import annotations

import contextlib
import contextvars
import threading
from collections.abc import Iterator

__all__ = ["Cancelled", "cancelled_by", "until"]

_cancel: contextvars.ContextVar[threading.Event | None] = contextvars.ContextVar("cancel", default=None)


class Cancelled(BaseException):
    """No error of the calculation: it goes through whatever catches those."""


@contextlib.contextmanager
def until(cancel: threading.Event) -> Iterator[None]:
    """Books made inside raise `Cancelled` at the next value or line after ``cancel`` is set, from whatever thread."""
    token = _cancel.set(cancel)
    try:
        yield
    finally:
        _cancel.reset(token)


def cancelled_by() -> threading.Event | None:
    """The event that cancels a book made here; None where nothing does."""
    return _cancel.get()
