"""Torn streams closed for many cases at once: x = again(x), a few numbers a case.

Each case has its own secant matrix (Broyden's update), which begins as plain repeated substitution; a loop
that repeated substitution closes twentyfold a pass is closed to rounding in some four passes. Cases that are
closed, and cases the solver inside refuses, take no further part.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

__all__ = ["Again", "solve_tear_streams"]

Again = Callable[[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]
PATIENCE = 3  # refusals in a row before a case is given up: a poor guess may be refused where the answer is not


def solve_tear_streams(again: Again, start: np.ndarray, scale: np.ndarray, tolerance: float = 1e-13,
                       steps: int = 40, longest: float = 0.3,
                       inverse: np.ndarray | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Tear streams of a flowsheet with recycles, converged by Broyden's method from successive substitution.

    Parameters
    ----------
    again : callable
        ``again(x, rows)``: torn numbers, shape (rows, k), and the cases they belong to -> the same numbers found
        again, and for each case whether it was answered.
    start, scale : array (cases, k)
        First guess; what a number's gap is measured by.
    tolerance : float
        Largest gap in proportion to its scale that counts as closed.
    steps : int
        Most passes.
    longest : float
        Longest step of a pass in proportion to the number itself or its scale.

    inverse : array (cases, k, k), optional
        Secant matrices of an earlier closing of the same loops; brought up to date in place.

    Returns
    -------
    x : array (cases, k)
        The last numbers that were put in, so that what the last pass found belongs to them.
    gap : array (cases,)
        Largest gap left, in proportion.
    """
    x = np.array(start, dtype=float)
    n, k = x.shape
    gap = np.full(n, np.inf)
    rows, refused = np.arange(n), np.zeros(n, dtype=int)
    inverse = np.tile(np.eye(k), (n, 1, 1)) if inverse is None else inverse
    last_x, last_f = np.full((n, k), np.nan), np.full((n, k), np.nan)
    for step in range(steps):
        found, good = again(x[rows], rows)
        good = good & np.all(np.isfinite(found), axis=1)
        f = np.where(good[:, None], (found - x[rows]) / scale[rows], np.nan)
        gap[rows] = np.where(good, np.max(np.abs(f), axis=1), np.inf)
        # a case that was never answered has nowhere to go back to: the same guess would be refused once more
        stuck = ~np.all(np.isfinite(last_x[rows]), axis=1)
        refused[rows] = np.where(good, 0, np.where(stuck, PATIENCE, refused[rows] + 1))
        going = (gap[rows] > tolerance) & (refused[rows] < PATIENCE)
        if not np.any(going) or step == steps - 1:
            break
        here = rows[going]
        x_s, f, found = x[here] / scale[here], f[going], found[going]
        moved, grown = x_s - last_x[here], f - last_f[here]
        h = inverse[here]
        hy = np.einsum("nij,nj->ni", h, grown)
        sh = np.einsum("ni,nij->nj", moved, h)
        below = np.einsum("ni,ni->n", moved, hy)
        usable = np.isfinite(below) & (np.abs(below) > 1e-300)
        # the update of -1/J: `inverse` maps the gap to the step, so moved + inverse . grown should vanish
        update = np.einsum("ni,nj->nij", -moved - hy, sh) / np.where(usable, below, 1.0)[:, None, None]
        h = np.where(usable[:, None, None], h + np.nan_to_num(update), h)
        inverse[here] = h
        good_here = np.all(np.isfinite(f), axis=1)
        go = np.einsum("nij,nj->ni", h, np.nan_to_num(f))
        room = longest * np.maximum(np.abs(x_s), 1e-3)
        too_long = np.max(np.abs(go) / room, axis=1)
        go = go / np.maximum(too_long, 1.0)[:, None]
        # a refused guess goes halfway back to the last that was answered
        back = np.where(np.isfinite(last_x[here]), (last_x[here] - x_s) / 2, 0.0)
        go = np.where(good_here[:, None], go, back)
        keep = good_here[:, None]
        last_x[here], last_f[here] = np.where(keep, x_s, last_x[here]), np.where(keep, f, last_f[here])
        x[here] = (x_s + go) * scale[here]
        rows = here
    return x, gap
