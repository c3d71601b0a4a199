"""Writing a design file to disk: locked, compared, replaced at once, with a history beside it."""

from __future__ import annotations

import datetime as dt
import glob
import json
import os
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

from desalbook.design.file import Design, digest, load
from desalbook.paths import beside
from desalbook.problems import Conflict, DesignError
from desalbook.trail.locks import locked

__all__ = ["damaged", "revisions", "write"]

def write(
    design: Design, path: str | Path, expected: str | None = None, *, made_by: str | None = None
) -> Design:
    """Write a design to a file, unless the file changed meanwhile.

    Parameters
    ----------
    design : Design
        Its text is written as it is.
    path : str or Path
    expected : str, optional
        Hash of the text that should be on disk. If omitted, the text on disk must be this design or
        one that it was edited from.
    made_by : str, optional
        For the history; else ``[project] made_by``.

    Returns
    -------
    Design
        The design, now standing at `path`.

    Raises
    ------
    Conflict
        The file holds something else. It is left alone, and this text is kept beside it.
    DesignError
        The file cannot be written.
    """
    try:
        path = Path(os.path.realpath(path))  # a link stays a link
        os.fsencode(path)
    except ValueError:
        raise DesignError("cannot be written: not a file name", where=Path(path).name,
                          do="give another name") from None
    who = str(design.get("project.made_by") or "") if made_by is None else made_by
    try:
        with locked(path, "save again"):
            for left in path.parent.glob(f".{glob.escape(path.name)}.*.part"):  # of a write that was killed
                left.unlink(missing_ok=True)
            found = load(path) if path.exists() else None
            _compare(design, path, found, expected)
            if found != design.text:
                if found is not None:
                    _note(path, found, "", only_if_new=True)
                _replace(path, design.text)
            _note(path, design.text, who, only_if_new=found == design.text)
    except OSError as error:
        raise DesignError(
            f"cannot be written: {(error.strerror or 'unknown reason').lower()}",
            where=path.name,
            do="check the folder and the rights on it",
        ) from None
    return replace(design, path=path)


def _compare(design: Design, path: Path, found: str | None, expected: str | None) -> None:
    on_disk = None if found is None else digest(found)
    here = design.path is not None and os.path.realpath(design.path) == str(path)
    new = found is None and expected is None and not here  # a file that was read and is gone is not made anew unasked
    if on_disk == design.hash or (found is not None and on_disk == expected) or new:
        return
    if expected is None and on_disk in design.ancestors:
        return
    mine = path.with_name(f"{path.stem}.mine-{design.hash[:8]}{path.suffix or '.toml'}")
    _replace(mine, design.text)
    raise Conflict(
        "the file is gone" if found is None else "the file changed since it was read",
        where=path.name,
        do=f"compare it with {mine.name}, which keeps your text, then read it again and repeat the change",
    )


def _replace(path: Path, text: str) -> None:
    """All of the text or none of it, whatever happens meanwhile."""
    part = path.with_name(f".{path.name}.{os.getpid()}-{time.monotonic_ns()}.part")
    try:
        with open(part, "xb") as file:
            file.write(text.encode("utf-8"))
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            os.chmod(part, path.stat().st_mode & 0o777)
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
    if hasattr(os, "O_DIRECTORY"):  # the new name itself must survive a loss of power
        folder = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _history(path: Path) -> Path:
    return beside(path, "revisions.jsonl")


def revisions(path: str | Path) -> list[dict[str, Any]]:
    """History of a design file, oldest first.

    Returns
    -------
    list of dict
        Keys revision, hash, previous, time (UTC), made_by, text. A revision without made_by was found on
        disk: somebody changed the file by other means. Lines that are damaged are omitted, see `damaged`.

    Raises
    ------
    DesignError
        The history cannot be read.
    """
    return _past(Path(os.path.realpath(path)))[0]


def damaged(path: str | Path) -> list[int]:
    """Numbers of the lines of a history that are no revisions: somebody or something changed them.

    They stay in the file; a line cut short by a loss of power is one of them.
    """
    return _past(Path(os.path.realpath(path)))[1]


def _past(path: Path) -> tuple[list[dict[str, Any]], list[int]]:
    history = _history(path)
    try:
        data = history.read_bytes()
    except FileNotFoundError:
        return [], []
    except OSError as error:
        raise DesignError(
            f"the history cannot be read: {(error.strerror or 'unknown reason').lower()}",
            where=history.name,
            do="check the rights on it, or move it away",
        ) from None
    found, bad = [], []
    for number, line in enumerate(data.split(b"\n"), 1):
        if line.strip():
            entry = _entry(line)
            if entry is None:
                bad.append(number)
            else:
                found.append(entry)
    return found, bad


_ENTRY = {"revision": int, "hash": str, "time": str, "made_by": str, "text": str}


def _entry(line: bytes) -> dict[str, Any] | None:
    """A revision whose text is the one its hash was made of, or None."""
    try:
        entry = json.loads(line)
        whole = isinstance(entry, dict) and all(type(entry.get(k)) is t for k, t in _ENTRY.items())
        return entry if whole and digest(entry["text"]) == entry["hash"] else None
    except (ValueError, RecursionError):
        return None


def _note(path: Path, text: str, made_by: str, *, only_if_new: bool) -> None:
    past = revisions(path)
    last = past[-1] if past else None
    if only_if_new and last is not None and last["hash"] == digest(text):
        return
    entry = {
        "revision": int(last["revision"]) + 1 if last else 1,
        "hash": digest(text),
        "previous": last["hash"] if last else None,
        "time": dt.datetime.now(dt.UTC).isoformat(timespec="seconds"),
        "made_by": made_by,
        "text": text,
    }
    history = _history(path)
    torn = history.exists() and not history.read_bytes().endswith(b"\n") and history.stat().st_size > 0
    history.parent.mkdir(exist_ok=True)
    line = ("\n" if torn else "") + json.dumps(entry, ensure_ascii=False) + "\n"
    with open(history, "ab") as file:
        file.write(line.encode("utf-8"))
        file.flush()
        os.fsync(file.fileno())
