"""Advice with a number, found beside the page: cancelled by the next change, told check by check."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Sequence
from typing import Any

from desalbook.design import Design
from desalbook.study import Change, smallest_change
from desalbook.trail.cancellation import Cancelled, until

__all__ = ["Advisor"]


class Advisor:
    """Looks for the smallest change that lets each of some failing checks pass, in a thread."""

    def __init__(self) -> None:
        self._cancel = threading.Event()
        self._beside: threading.Thread | None = None

    def cancel(self) -> None:
        """Stop what is under way at its next value; nothing of it is told any more."""
        self._cancel.set()

    def begin(self, design: Design, checks: Sequence[str], tell: Callable[[str, Change], Any]) -> None:
        """Look for changes, in place of what was looked for before.

        Parameters
        ----------
        design : Design
        checks : sequence of str
            Ids, in the order in which they are looked at.
        tell : callable
            Gets id and change of each check that has one, from the thread.
        """
        self.cancel()
        cancel = self._cancel = threading.Event()

        def beside() -> None:
            with contextlib.suppress(Cancelled), until(cancel):
                for check in checks:
                    found = smallest_change(design, check)
                    if found is not None and not cancel.is_set():
                        tell(check, found)

        self._beside = threading.Thread(target=beside, name="advice", daemon=True)
        self._beside.start()
