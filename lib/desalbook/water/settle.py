"""A number that answers itself: x = f(x), where f hardly moves with x and costs much to ask."""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["settled"]


def settled(answer: Callable[[float], float], start: float, close: float = 1e-7, most: int = 16) -> float:
    """Where a function of slope well below one gives back what it is given.

    Parameters
    ----------
    answer : callable
        float -> float.
    start : float
        First guess.
    close : float
        Relative change that counts as settled.
    most : int
        Calls at most; after them the latest value stands.

    Notes
    -----
    A line through two answers is closer than one more turn. What it adds to the second answer is known to a tenth
    of itself at worst, so an addition below ten times `close` ends the search without another call.
    """
    x, before = start, None
    for _ in range(most):
        y = answer(x)
        slope = 0.0 if before is None else (y - before[1]) / (x - before[0])
        root = y + slope / (1.0 - slope) * (y - x)
        done = abs(root - x) < close * abs(root) or (before is not None and abs(root - y) < 10.0 * close * abs(root))
        before, x = (x, y), root
        if done:
            break
    return x
