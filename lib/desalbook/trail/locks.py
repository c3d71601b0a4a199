"""One writer at a time: a lock beside a file, freed by the system when its holder dies."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Iterator
from pathlib import Path

from desalbook.problems import Conflict

__all__ = ["PATIENCE", "locked"]

PATIENCE = 10.0  # s to wait for another writer; a write takes milliseconds


@contextlib.contextmanager
def locked(path: Path, then: str) -> Iterator[None]:
    """Hold the lock beside a file. The system frees it when its holder dies, so none goes stale.

    Parameters
    ----------
    path : Path
    then : str
        What to do once the other program is done, for example ``write again``.

    Raises
    ------
    Conflict
        Another program holds it for longer than `PATIENCE`.
    """
    handle = os.open(path.with_name(f".{path.name}.lock"), os.O_RDWR | os.O_CREAT, 0o666)
    try:
        until = time.monotonic() + PATIENCE
        while not _try(handle):
            if time.monotonic() > until:
                raise Conflict("another program is writing this file", where=path.name,
                               do=f"wait until it is done, then {then}")
            time.sleep(0.005)
        yield
    finally:
        os.close(handle)


def _try(handle: int) -> bool:
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True
