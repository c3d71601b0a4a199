"""Many cases of one plant, shared among workers: the same bits in whatever pieces, and a table that may grow."""

from __future__ import annotations

import os
import threading
from collections.abc import Generator, Mapping
from concurrent.futures import Executor
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.design import from_text
from desalbook.plant import Sized, size
from desalbook.plant.hardware import chosen_hardware
from desalbook.plant.rating import CHUNK, conditions, labelled, rate_cases
from desalbook.problems import DesignError, Problem
from desalbook.study.executors import in_order, workers
from desalbook.study.progress import Progress, progress_of
from desalbook.study.results_file import ResultsFile, fingerprint
from desalbook.trail.record import kit_version

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Rating", "hardware", "rated"]

_BLOCKS = 4
"""Blocks of cases in one task at most: some 0.15 s of work, which a worker that dies has to do again."""
_SIZED: dict[str, Sized] = {}
"""The plants this process rated of late, by the text of their design: a worker sizes one once, not for each task."""
_KEPT = 2
_LOCK = threading.Lock()


class Rating:
    """A sized plant and the conditions it is to be rated under, ready to run.

    Parameters
    ----------
    plant : Plant or Sized
    control : str
        See `desalbook.plant.rating.CONTROLS`.
    **said : array_like
        Conditions of `desalbook.rate`, SI.

    Raises
    ------
    DesignError
        As `desalbook.rate`; no case at all.
    """

    def __init__(self, plant: Any, control: str = "product-flow", **said: Any):
        self.sized: Sized = getattr(plant, "sized", plant)
        self.control = control
        self.given = conditions(self.sized, control=control, **said)
        if not len(self):
            raise DesignError("no cases", where="rate", do="give each condition one value or more")

    def __len__(self) -> int:
        return len(self.given["age"])

    def chunk(self, asked: int | None, executor: Executor | None) -> int:
        """Cases of one task: whole blocks of `CHUNK`, so that each case is solved in the same company."""
        if asked is not None and not (isinstance(asked, int) and asked > 0):
            raise DesignError("not a number of cases", where="chunk", value=asked, allowed="1 or more",
                              do=f"give a whole number; it is rounded up to whole blocks of {CHUNK}")
        if asked is not None:
            return -(-asked // CHUNK) * CHUNK
        return CHUNK * max(1, min(_BLOCKS, len(self) // (CHUNK * 4 * workers(executor))))

    def parts(self, executor: Executor | None = None, chunk: int | None = None, first: int = 0,
              cancel: threading.Event | None = None) -> Generator[pd.DataFrame, None, None]:
        """The rows in order, a task's at a time.

        Parameters
        ----------
        executor : concurrent.futures.Executor, optional
        chunk : int, optional
            Cases of one task; rounded up to whole blocks, which moves no bit of any answer.
        first : int
            Cases that are done already.
        cancel : threading.Event, optional
        """
        import pandas as pd

        step, text, own = self.chunk(chunk, executor), self.sized.design.text, hardware(self.sized)
        with _LOCK:
            _keep(text, self.sized)
        begun = first // CHUNK * CHUNK  # a block that is half done is done again, whole
        pieces = [slice(i, i + step) for i in range(begun, len(self), step)]
        tasks = ((text, own, self.control, {k: v[piece] for k, v in self.given.items()}) for piece in pieces)
        for piece, found in zip(pieces, in_order(executor, _task, tasks, cancel), strict=False):
            whole = pd.DataFrame(labelled({k: v[piece] for k, v in self.given.items()}, piece.start) | found)
            yield whole.iloc[max(first - piece.start, 0):]

    def columns(self) -> dict[str, str]:
        """Columns of the table, each with its type."""
        one = {k: v[:1] for k, v in self.given.items()}
        found = labelled(one) | rate_cases(self.sized, one, self.control)
        return {k: "float64" if np.asarray(v).dtype.kind == "f" else "str" for k, v in found.items()}

    def provenance(self) -> dict[str, str]:
        """What stands beside a table on disk."""
        return {"study": "rate", "kit": kit_version(), "design": self.sized.design.hash, "control": self.control}

    def file(self, path: str | os.PathLike[str]) -> ResultsFile:
        """The table on disk that this rating fills."""
        return ResultsFile(path, self.provenance(),
                           fingerprint(self.provenance(), hardware(self.sized), *self.given.values()),
                           self.columns(), len(self))


def rated(rating: Rating, executor: Executor | None = None, chunk: int | None = None,
          results: str | os.PathLike[str] | None = None, progress: Progress = None,
          cancel: threading.Event | None = None) -> pd.DataFrame:
    """All rows of a rating; those that were done where it is cancelled.

    Parameters
    ----------
    rating : Rating
    executor : concurrent.futures.Executor, optional
    chunk : int, optional
        Cases of one task; rounded up to whole blocks.
    results : path, optional
        Grows a table on disk, see `ResultsFile`; goes on where an earlier run of the same rating stopped.
    progress : bool or callable, optional
        See `progress_of`.
    cancel : threading.Event, optional
        Once set, no more cases are rated.
    """
    import pandas as pd

    if results is None:
        tell = progress_of(progress, len(rating), "cases")
        some, done = [], 0
        for part in rating.parts(executor, chunk, cancel=cancel):
            some.append(part)
            done += len(part)
            tell(done)
        if not some:
            some = [pd.DataFrame(columns=list(rating.columns()))]
        return some[0] if len(some) == 1 else pd.concat(some, ignore_index=True)
    file = rating.file(results)
    with file.open():
        done = file.rows
        tell = progress_of(progress, len(rating), "cases", done)
        if not file.complete:
            for part in rating.parts(executor, chunk, done, cancel):
                file.append(part)
                done += len(part)
                tell(done)
    return file.frame()


def hardware(sized: Sized) -> str:
    """Fingerprint of the hardware of a plant, and of the pressure it came to."""
    return fingerprint(chosen_hardware(sized), float(sized.array.governing["feed_pressure"]).hex())


def _keep(text: str, sized: Sized) -> None:
    _SIZED.pop(text, None)
    while len(_SIZED) >= _KEPT:
        del _SIZED[next(iter(_SIZED))]
    _SIZED[text] = sized


def _plant_of(text: str, own: str) -> Sized:
    """The plant of a design in this process; refused where it is another than the one that is rated."""
    with _LOCK:
        if text not in _SIZED:
            _keep(text, size(from_text(text), recording=False))
        found = _SIZED[text]
    if hardware(found) != own:
        raise Problem("a worker sizes another plant of this design", where="executor",
                      do="give all workers the same version of the kit, the same libraries and the same tables")
    return found


def _task(text: str, own: str, control: str, given: Mapping[str, np.ndarray]) -> dict[str, Any]:
    """The answers to some of the cases, from texts and arrays alone, so that it can run in another process."""
    return rate_cases(_plant_of(text, own), dict(given), control)
