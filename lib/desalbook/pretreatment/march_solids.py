"""Solids through a run: what each filter holds, what goes on, what leaves with the wash."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from desalbook.pretreatment.march_wash import March

__all__ = ["Solids", "march_solids"]


@dataclass(frozen=True)
class Solids:
    """Of each filter (t, n, m): kg/s in, on to the membranes, to waste; kg held above a clean filter at the end.

    ``washed_out`` (t, n) is what one wash takes out, kg.
    """

    into: np.ndarray
    onward: np.ndarray
    waste: np.ndarray
    held: np.ndarray
    washed_out: np.ndarray


def march_solids(of: March, raw: float, filtrate: float, wash: float) -> Solids:
    """Solids of one run that repeats itself.

    Parameters
    ----------
    of : March
    raw, filtrate, wash : float
        Solids of the water into the filters, out of them, and of the wash water, kg/m3.

    Notes
    -----
    What a run has left in a filter leaves during its wash, evenly over the minutes of the wash. A filter whose
    wash did not fit into the run keeps what it caught.
    """
    into = raw * of.into + wash * of.wash
    onward = filtrate * of.filtrate
    washing = of.wash > 0
    steady = filtrate * of.rinse + raw * of.drain + wash * (of.wash - of.refill)
    kept = np.sum((into - onward - steady) * of.length, axis=-1)
    share = np.where(washing, of.wash, 0.0)
    total = np.sum(share * of.length, axis=-1)
    washed_out = np.where(total > 0, kept, 0.0)
    flush = share * np.divide(washed_out, total, out=np.zeros_like(total), where=total > 0)[..., None]
    waste = steady + flush
    held = np.cumsum((into - onward - waste) * of.length, axis=-1)
    held -= np.minimum(held.min(axis=-1, keepdims=True), 0.0)
    return Solids(into, onward, waste, held, washed_out)

