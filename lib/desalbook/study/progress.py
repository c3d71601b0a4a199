"""How far a study is: told to a person, or to whoever asks."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

__all__ = ["Progress", "Teller", "progress_of"]

Progress = bool | Callable[[int, int], object] | None
"""True writes a line to the terminal; a function is called with what is done and what there is."""
_PAUSE = 0.1  # s between two lines


class Teller:
    """One line that is written over: how many are done and how long the rest takes at the pace so far.

    Parameters
    ----------
    total : int
    noun : str
        What is counted.
    first : int
        What an earlier run has done; it says nothing about the pace of this one.
    """

    def __init__(self, total: int, noun: str, first: int = 0):
        self.total, self.noun, self.first = total, noun, first
        self._began = self._last = time.monotonic()

    def __call__(self, done: int) -> None:
        now, made = time.monotonic(), done - self.first
        if done < self.total and made > 1 and now - self._last < _PAUSE:
            return
        self._last = now
        left = f", {(now - self._began) / made * (self.total - done):.0f} s left" if made and done < self.total else ""
        said = f"{_counted(done)} of {_counted(self.total)} {self.noun}{left}"
        print(f"\r{said:<60}", end="\n" if done == self.total else "", file=sys.stderr, flush=True)


def _counted(number: int) -> str:
    """Thin spaces between groups of three, from five digits on."""
    return f"{number:,}".replace(",", "\N{THIN SPACE}") if number >= 10_000 else str(number)


def progress_of(asked: Progress, total: int, noun: str, first: int = 0) -> Callable[[int], object]:
    """What is called with the number that are done.

    Parameters
    ----------
    first : int
        How many an earlier run has done.
    """
    if not asked:
        return lambda done: None
    if asked is True:
        return Teller(total, noun, first)
    told = asked
    return lambda done: told(done, total)
