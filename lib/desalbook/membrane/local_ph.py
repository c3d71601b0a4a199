"""How boron's two species move along a vessel, asked of the engine for the very water at hand."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from desalbook.water.phreeqc import Water, complete, speciate

__all__ = ["borate_shift"]

STRENGTHS = (1.5, 2.5)  # times the feed: inside what vessels reach


@lru_cache(maxsize=256)
def borate_shift(water: Water, temperature: float) -> tuple[float, float]:
    """Coefficients for ``Cases.borate_shift``.

    Parameters
    ----------
    water : Water
        The RO feed, with all that was dosed.
    temperature : float
        K.

    Returns
    -------
    (float, float)
        Change of log10(borate/boric acid) with ln(strength) and its square, strength counted from the feed.
        Zero without boron.

    Notes
    -----
    The bulk is the feed concentrated, with its dissolved carbon dioxide left as it was, for that passes the
    membrane as freely as water does. Neglected: salt that passes (a hundredth), the film, and carbon dioxide that
    forms along the vessel and passes in its turn. Natural seawater hardly shifts, for pH and constant fall
    together; acidified water shifts, where borate is a few hundredths. Within 0.02 of the engine up to three
    times the feed.
    """
    whole = water if water.conserved() is not None else complete(water)
    feed = speciate(whole, temperature)
    if feed.boric_acid <= 0 or feed.borate <= 0 or whole.carbon is None or whole.alkalinity is None:
        return 0.0, 0.0
    strong = [Water(tuple((k, v * x) for k, v in whole.molality), whole.alkalinity * x,
                    (whole.carbon - feed.co2) * x + feed.co2, None, whole.temperature) for x in STRENGTHS]
    moved = [np.log10(at.borate / at.boric_acid * feed.boric_acid / feed.borate)
             for at in (speciate(w, temperature) for w in strong)]
    logs = np.log(STRENGTHS)
    one, two = np.linalg.solve(np.stack([logs, logs**2], axis=1), moved)
    return float(one), float(two)
