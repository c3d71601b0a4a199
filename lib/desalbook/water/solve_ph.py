"""pH of a sea water from its alkalinity: the root of `carbonate.alkalinity_at_ph`."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.problems import Infeasible
from desalbook.trail import values
from desalbook.water.carbonate import alkalinity_at_ph

__all__ = ["ph_of"]

LOWEST, HIGHEST = 2.0, 12.0


def ph_of(total_alkalinity: Any, **rest: Any) -> Any:
    """pH on the total scale at which the balance holds.

    Parameters
    ----------
    total_alkalinity : float or array
        eq per kg water.
    **rest : float or array
        The other arguments of `alkalinity_at_ph` but `ph_total`; they broadcast.

    Returns
    -------
    float or ndarray
        To 1e-12; alkalinity rises with pH throughout, so there is one root.

    Raises
    ------
    Infeasible
        No pH between 2 and 12.
    """
    wanted = np.asarray(total_alkalinity, dtype=float)
    shape = np.broadcast_shapes(wanted.shape, *(np.shape(v) for v in rest.values()))
    low, high = np.full(shape, LOWEST), np.full(shape, HIGHEST)

    def over(ph: Any) -> Any:
        return alkalinity_at_ph.at("feed.alkalinity_at_ph", ph_total=ph, **rest) - wanted

    with values(keep=False):
        at_low, at_high = over(low), over(high)
        if np.any(at_low > 0.0) or np.any(at_high < 0.0):
            raise Infeasible("no pH between 2 and 12 has this alkalinity", where="feed.alkalinity",
                             value=f"{float(np.min(wanted)) * 1e3:.4g}", unit="meq/kg",
                             do="lower the doses of acid and ferric, or check the analysis")
        ph = 0.5 * (low + high)
        for _ in range(60):  # Newton, kept within the bracket by halving
            here = over(ph)
            low, high = np.where(here <= 0.0, ph, low), np.where(here > 0.0, ph, high)
            slope = (over(ph + 1e-6) - here) / 1e-6
            step = ph - here / slope
            new = np.where((step > low) & (step < high), step, 0.5 * (low + high))
            if np.max(np.abs(new - ph)) < 1e-13 * HIGHEST:
                ph = new
                break
            ph = new
    return float(ph) if shape == () else ph
