"""Plants that are at hand: the latest ones, and the one that will be asked for if a person turns on.

Sizing is pure, so a plant sized beside, while nothing else was asked, is the plant that would be sized when it is
asked for; the trail is recorded in full either way. Undo finds its plant at hand too.
"""

from __future__ import annotations

import contextlib
import threading
from collections import OrderedDict, deque
from collections.abc import Callable
from typing import Any

from desalbook.trail.giving_up import GivenUp, until

__all__ = ["Foresight"]

_MOST = 5
"""Plants kept; each holds some 3600 lines."""


class Foresight:
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
        self._told = threading.Event()
        self._on: tuple[str, str] | None = None
        self._gone: deque[Any] = deque(maxlen=_MOST)

    def __call__(self, design: Any) -> Any:
        """The plant of a design; what is under way beside is given up, unless it is this very plant."""
        key = _key(design)
        if self._on == key and self._beside is not None:
            self._beside.join()
        else:
            self._told.set()
        with self._turn:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        return self._keep(key, self._size(design))

    def look(self, design: Callable[[], Any]) -> None:
        """Begin to size a design beside; what that finds wrong is said when it is asked for.

        Parameters
        ----------
        design : callable
            Makes the design; may raise `Problem`.
        """
        self.rest()
        told = self._told = threading.Event()

        def beside() -> None:
            with contextlib.suppress(Exception, GivenUp), until(told):
                wanted = design()
                key = _key(wanted)
                with self._turn:
                    if key in self._kept or told.is_set():
                        return
                    self._on = key
                try:
                    self._keep(key, self._size(wanted))
                finally:
                    self._on = None

        self._beside = threading.Thread(target=beside, name="foresight", daemon=True)
        self._beside.start()

    def rest(self) -> None:
        """Give up what is under way beside, and let go of plants that are no longer kept: it takes a while."""
        self._told.set()
        if self._beside is not None:
            self._beside.join()
        self._gone.clear()

    def _keep(self, key: tuple[str, str], plant: Any) -> Any:
        with self._turn:
            self._kept[key] = plant
            while len(self._kept) > _MOST:
                self._gone.append(self._kept.popitem(last=False)[1])
        return plant


def _key(design: Any) -> tuple[str, str]:
    return design.text, str(design.path)
