"""The collector of cyclic garbage waits while a plant is recorded.

Some thousand lines are made and every one of them stays: to search them for garbage again and again finds
none, and takes up to a third of the time of a plant.
"""

from __future__ import annotations

import contextlib
import gc
import threading
from collections.abc import Iterator

__all__ = ["waiting"]

_turn = threading.Lock()  # a study sizes plants in a thread beside the panels
_inside = 0
_was_on = False


@contextlib.contextmanager
def waiting() -> Iterator[None]:
    """Inside, nothing is searched for garbage; after the last to leave, the collector is as it was before."""
    global _inside, _was_on
    with _turn:
        if not _inside:
            _was_on = gc.isenabled()
            gc.disable()
        _inside += 1
    try:
        yield
    finally:
        with _turn:
            _inside -= 1
            if not _inside and _was_on:
                gc.enable()
