"""Unsaved text of a design, kept as it is changed, so that a kernel that ends takes nothing with it.

A draft is never taken up by itself: the panel says that there is one, and a person restores or discards it. Each
session has a draft of its own, so two notebooks on one file keep both texts; a draft whose kernel still runs belongs
to that notebook and is not offered elsewhere.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import itertools
import json
import os
from dataclasses import dataclass
from pathlib import Path

from desalbook.paths import hidden

__all__ = ["Draft", "Drafts"]

_COUNT = itertools.count(1)
_MOST = 3


@dataclass(frozen=True)
class Draft:
    """Unsaved text of a design.

    Parameters
    ----------
    path : Path
        Where it is kept.
    text : str
    time : str
        When it was last changed, UTC.
    """

    path: Path
    text: str
    time: str

    def older(self, file: Path | None) -> bool:
        """Whether the file was changed after it: what was changed there would be undone by it."""
        try:
            return file is not None and file.stat().st_mtime > dt.datetime.fromisoformat(self.time).timestamp() + 1.0
        except (OSError, ValueError):
            return False

    def discard(self) -> None:
        """Take it away."""
        with contextlib.suppress(OSError):
            self.path.unlink()


class Drafts:
    """The draft of one session, and those that others left."""

    def __init__(self) -> None:
        self._own = f"{os.getpid()}-{next(_COUNT)}"
        self._written: Path | None = None

    def keep(self, folder: Path, file: Path | None, text: str) -> None:
        """Keep the text; where that cannot be written nothing is said, for nothing is lost yet."""
        path = hidden(folder) / f"{_stem(file)}.{self._own}.draft"
        if self._written is not None and self._written != path:
            self.drop()
        made = {"file": str(file or ""), "text": text, "time": dt.datetime.now(dt.UTC).isoformat(timespec="seconds")}
        part = path.with_name(f".{path.name}.part")
        with contextlib.suppress(OSError):
            path.parent.mkdir(exist_ok=True)
            part.write_text(json.dumps(made, ensure_ascii=False), encoding="utf-8")
            os.replace(part, path)
            self._written = path

    def drop(self) -> None:
        """Saved, or as it was: there is nothing to be kept."""
        if self._written is not None:
            with contextlib.suppress(OSError):
                self._written.unlink()
            self._written = None

    def left(self, folder: Path, file: Path | None, text: str) -> list[Draft]:
        """Drafts of a file that no running notebook holds and that are not this text, the latest first."""
        found = []
        for path in hidden(folder).glob(f"{_stem(file)}.*.draft"):
            owner = path.name.removesuffix(".draft").rpartition(".")[2]
            if owner == self._own or _runs(owner.partition("-")[0]):
                continue
            try:
                data = json.loads(path.read_text(encoding="utf-8"))
                one = Draft(path, str(data["text"]), str(data["time"]))
            except (OSError, ValueError, KeyError, TypeError):
                continue
            if one.text == text:
                one.discard()
            else:
                found.append(one)
        return sorted(found, key=lambda d: d.time, reverse=True)[:_MOST]


def _stem(file: Path | None) -> str:
    """A name for a file that two files of one name in other folders do not share."""
    if file is None:
        return "design"
    return f"{file.name}-{hashlib.sha256(str(file.resolve()).encode()).hexdigest()[:8]}"


def _runs(pid: str) -> bool:
    """A kernel of that number, other than this one, is running."""
    if not pid.isdecimal() or int(pid) == os.getpid():
        return False
    try:
        os.kill(int(pid), 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
