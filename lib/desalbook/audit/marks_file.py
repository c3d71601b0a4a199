"""The file of review marks: one line of text a mark, only ever added to, whole or not there at all.

A writer holds the lock, adds its line with one call and waits until the disk has it; only then is the mark said
to be kept. If it is killed before, what it left is a last line without an end. The next writer completes that
line when it is whole and takes it away when it is not: its mark was never said to be kept. Each line carries a
check sum, so that a damaged one is named and never read as a mark.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from desalbook.paths import beside as side
from desalbook.problems import DesignError
from desalbook.trail.locks import locked

__all__ = ["add", "read", "where"]



def where(beside: str | os.PathLike) -> Path:
    """Path of the marks that belong to a design file or a record; a file of marks itself is taken as it is."""
    path = Path(os.path.realpath(beside))
    return path if path.suffix == ".marks" else side(path, "marks")


def add(path: Path, mark: Mapping[str, Any]) -> None:
    """Add one mark; when this returns it is on the disk.

    Raises
    ------
    Conflict
        Another program holds the file for long.
    DesignError
        The file cannot be written.
    """
    try:
        path.parent.mkdir(exist_ok=True)
        with locked(path, "mark again"), open(path, "a+b") as file:
            _mend(file)
            file.write(_line(mark))
            file.flush()
            os.fsync(file.fileno())
        if hasattr(os, "O_DIRECTORY"):  # the name of a new file must survive a loss of power, too
            folder = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
    except OSError as error:
        raise DesignError("cannot be written", where=path.name,
                          do=f"check the folder and the rights on it ({error.strerror or 'unknown reason'})") from None


def read(path: Path, whole: Callable[[Mapping[str, Any]], bool] = bool) -> tuple[list[dict[str, Any]], list[int]]:
    """Marks in the order they were made, and the numbers of lines that are damaged.

    A last line without its end is a mark that is being written or whose writer was killed; it is omitted
    unless it is whole. A mark that `whole` refuses counts as damaged.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return [], []
    except OSError as error:
        raise DesignError("cannot be read", where=path.name,
                          do=f"check the rights on it ({error.strerror or 'unknown reason'})") from None
    marks, damaged = [], []
    *ended, last = data.split(b"\n")
    for number, text in enumerate((*ended, last), 1):
        if not text:
            continue
        mark = _parse(text)
        if mark is not None and whole(mark):
            marks.append(mark)
        elif number <= len(ended):
            damaged.append(number)
    return marks, damaged


def _sum(body: str) -> str:
    return hashlib.sha256(body.encode()).hexdigest()[:12]


def _line(mark: Mapping[str, Any]) -> bytes:
    body = json.dumps(mark, sort_keys=True, ensure_ascii=True, allow_nan=False)
    return f"{_sum(body)} {body}\n".encode()


def _parse(text: bytes) -> dict[str, Any] | None:
    try:
        sum_, _, body = text.decode().removesuffix("\r").partition(" ")  # an editor may have changed the line ends
        mark = json.loads(body) if sum_ == _sum(body) else None
    except (ValueError, RecursionError):
        return None
    return mark if isinstance(mark, dict) else None


def _mend(file: Any) -> None:
    """Complete or take away a last line without its end."""
    file.seek(0)
    data = file.read()
    if data and not data.endswith(b"\n"):
        start = data.rfind(b"\n") + 1
        if _parse(data[start:]) is not None:
            file.write(b"\n")
        else:
            file.truncate(start)
    file.seek(0, os.SEEK_END)
