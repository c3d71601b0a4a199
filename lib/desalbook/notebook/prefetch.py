"""Plants that are at hand: the latest ones, and the one that will be asked for if a person turns on.

Sizing is pure, so a plant sized beside, while nothing else was asked, is the plant that would be sized when it is
asked for. Undo finds its plant at hand too.
"""

from __future__ import annotations

import contextlib
import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Any

from desalbook.trail.cancellation import Cancelled, until

__all__ = ["Prefetch"]

_MOST = 5
"""Plants kept."""


class Prefetch:
    """A function from design to plant that keeps its latest answers and can begin on one.

    Parameters
    ----------
    size : callable
        Design -> Plant; pure, and may raise `Problem`, which is not kept.
    """

    def __init__(self, size: Callable[[Any], Any]):
        self._size = size
        self._kept: OrderedDict[tuple[str, str], Any] = OrderedDict()
        self._turn = threading.Lock()
        self._beside: threading.Thread | None = None
        self._cancel = threading.Event()
        self._on: tuple[str, str] | None = None

    def __call__(self, design: Any) -> Any:
        """The plant of a design; what is under way beside is cancelled, unless it is this very plant."""
        key = _key(design)
        if self._on == key and self._beside is not None:
            self._beside.join()
        else:
            self._cancel.set()
        with self._turn:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        return self._keep(key, self._size(design))

    def begin(self, design: Callable[[], Any]) -> None:
        """Begin to size a design beside; what that finds wrong is said when it is asked for.

        Parameters
        ----------
        design : callable
            Makes the design; may raise `Problem`.
        """
        self._cancel.set()
        if self._beside is not None:
            self._beside.join()
        cancel = self._cancel = threading.Event()

        def beside() -> None:
            with contextlib.suppress(Exception, Cancelled), until(cancel):
                wanted = design()
                key = _key(wanted)
                with self._turn:
                    if key in self._kept or cancel.is_set():
                        return
                    self._on = key
                try:
                    self._keep(key, self._size(wanted))
                finally:
                    self._on = None

        self._beside = threading.Thread(target=beside, name="prefetch", daemon=True)
        self._beside.start()

    def _keep(self, key: tuple[str, str], plant: Any) -> Any:
        with self._turn:
            self._kept[key] = plant
            while len(self._kept) > _MOST:
                self._kept.popitem(last=False)
        return plant


def _key(design: Any) -> tuple[str, str]:
    return design.text, str(design.path)
