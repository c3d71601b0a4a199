"""Many small checks of one sort in one test: each is tried, and all that fail are told, each by its name."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from typing import Any

import pytest

__all__ = ["every", "gathered", "tried"]

TRIED = 0
LONGEST = 600


def every(cases: Iterable[Any] | Mapping[Any, Any], check: Callable[..., Any]) -> None:
    """Try a check on each case; fail at the end with every failure by name.

    Parameters
    ----------
    cases : iterable or mapping
        Cases that are their own names, or name -> case.
    check : callable
        Called with one case; what it raises is that case's failure.
    """
    global TRIED
    named = cases if isinstance(cases, Mapping) else {case: case for case in cases}
    assert named, "a group without a case proves nothing"
    failures = []
    for name, case in named.items():
        TRIED += 1
        try:
            check(case)
        except (Exception, pytest.fail.Exception) as error:
            failures.append(f"{name}: {_said(error)}")
    if failures:
        pytest.fail(f"{len(failures)} of {len(named)} fail\n" + "\n".join(failures), pytrace=False)


def _said(error: BaseException) -> str:
    text = str(error).strip()[:LONGEST]
    kind = "" if isinstance(error, AssertionError) and text else f"{type(error).__name__}: "
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    where = "" if trace is None else f" (line {trace.tb_lineno} of {trace.tb_frame.f_code.co_name})"
    return f"{kind}{text}{where}"


def gathered(cases: Iterable[Any], by: Callable[[Any], Hashable]) -> dict[Any, list[Any]]:
    """Cases by what they have in common, in the order of their first."""
    found: dict[Any, list[Any]] = {}
    for case in cases:
        found.setdefault(by(case), []).append(case)
    return found


def tried() -> int:
    """Cases tried so far in this run."""
    return TRIED
