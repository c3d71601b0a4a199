"""Callbacks of controls: a front end swallows their errors; here they are kept, and said in one sentence."""

from __future__ import annotations

import functools
import traceback
from collections.abc import Callable
from typing import Any

from desalbook.problems import Problem

__all__ = ["defect", "guarded"]


def defect(error: BaseException, errors: list[str]) -> str:
    """Keep an error that is no refusal among `errors`, and give the sentence that says so."""
    errors.append("".join(traceback.format_exception(error)))
    return f"A defect of this kit: {' '.join(str(error).split()) or type(error).__name__}"


def guarded(what: Callable[..., Any], errors: list[str], tell: Callable[[str], Any]) -> Callable[..., Any]:
    """Wrap a callback: what is refused is told, and so is an error, which is kept besides.

    Parameters
    ----------
    what : callable
    errors : list of str
        Takes the traceback of what is no `Problem`.
    tell : callable
        Gets the sentence.
    """
    @functools.wraps(what)
    def wrapped(*args: Any, **kwargs: Any) -> Any:
        try:
            return what(*args, **kwargs)
        except Problem as problem:
            tell(str(problem))
        except Exception as error:  # nothing may vanish in a callback
            tell(defect(error, errors))
        return None
    return wrapped
