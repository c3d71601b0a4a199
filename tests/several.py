"""Long proofs of independent cases, shared among as many processes as the machine has cores to spare."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import Any

from tests.cores import cores

__all__ = ["parted", "several"]


def parted(cases: Sequence[Any], each: int = 40) -> list[list[Any]]:
    """The cases dealt out to processes, `each` or more for one; one part where it is not worth it."""
    parts = max(1, min(cores(), len(cases) // each))
    return [list(cases[n::parts]) for n in range(parts)]


def several(work: Callable[..., Any], parts: Sequence[Any]) -> list[Any]:
    """Answers of `work`, a function of a module, to each part; an error in a process is raised here."""
    if len(parts) < 2:
        return [work(part) for part in parts]
    with ProcessPoolExecutor(len(parts), get_context("spawn")) as pool:
        return list(pool.map(work, parts))
