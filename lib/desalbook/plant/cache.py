"""Answers of pure functions of numbers, kept by the content of their arguments.

Only bare numbers go in and come out: no figure is ever kept, so every trail is recorded anew. A kept answer is
the very one that would be computed again, so results do not depend on what was run before.
"""

from __future__ import annotations

import dataclasses
import functools
import hashlib
import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Any

import numpy as np

__all__ = ["cached", "content"]


def content(*values: Any) -> bytes:
    """Digest of numbers, texts, arrays, mappings and dataclasses of them, by value.

    Raises
    ------
    TypeError
        Anything else, for its content is not known.
    """
    into = hashlib.blake2b(digest_size=20)

    def feed(x: Any) -> None:
        if x is None or isinstance(x, (bool, str)):
            into.update(f"{type(x).__name__}:{x};".encode())
        elif isinstance(x, (int, float, np.number)):
            into.update(f"{float(x).hex()};".encode())
        elif isinstance(x, np.ndarray):
            into.update(f"{x.dtype.str}{x.shape}:".encode())
            into.update(np.ascontiguousarray(x).tobytes())
        elif isinstance(x, dict):
            for k in sorted(x):
                into.update(f"{k}=".encode())
                feed(x[k])
        elif dataclasses.is_dataclass(x) and not isinstance(x, type):
            into.update(f"{type(x).__name__}(".encode())
            feed({f.name: getattr(x, f.name) for f in dataclasses.fields(x)})
        elif isinstance(x, (list, tuple)):
            into.update(f"{len(x)}[".encode())
            for one in x:
                feed(one)
        else:
            raise TypeError(f"the content of a {type(x).__name__} is not known")

    feed(list(values))
    return into.digest()


def cached(most: int) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Keep the latest ``most`` answers of a function; arguments whose content is not known are computed.

    Parameters
    ----------
    most : int
        How many answers; the one not asked for the longest goes first.
    """
    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        store: OrderedDict[bytes, Any] = OrderedDict()
        turn = threading.Lock()  # a study sizes plants in a thread beside the panels

        @functools.wraps(function)
        def asked(*args: Any, **kwargs: Any) -> Any:
            try:
                key = content(list(args), kwargs)
            except TypeError:
                return function(*args, **kwargs)
            with turn:
                if key in store:
                    store.move_to_end(key)
                    return store[key]
            answer = function(*args, **kwargs)
            with turn:
                store[key] = answer
                if len(store) > most:
                    store.popitem(last=False)
            return answer

        asked.store = store  # type: ignore[attr-defined]
        return asked

    return decorate
