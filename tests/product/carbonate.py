"""An independent solver of fresh water: charge balance with Davies activities, constants as published.

Carbonic acid and the pairs of calcium with bicarbonate and carbonate: Plummer and Busenberg 1982; water: WATEQ
form; boric acid: 9.24 at 25 degC with its enthalpy (from memory). Pairs of sodium and magnesium are left out.
"""

from __future__ import annotations

import math

from scipy.optimize import brentq


def constants(t: float) -> dict[str, float]:
    log = math.log10
    k1 = -356.3094 - 0.06091964 * t + 21834.37 / t + 126.8339 * log(t) - 1684915 / t**2
    k2 = -107.8871 - 0.03252849 * t + 5151.79 / t + 38.92561 * log(t) - 563713.9 / t**2
    kw = -283.971 - 0.05069842 * t + 13323.0 / t + 102.24447 * log(t) - 1119669.0 / t**2
    kb = -9.24 - 13800 / 8.314462 / math.log(10) * (1 / t - 1 / 298.15)
    pair1 = 1209.12 + 0.31294 * t - 34765.05 / t - 478.782 * log(t)
    pair2 = -1228.732 - 0.299444 * t + 35512.75 / t + 485.818 * log(t)
    return {"k1": 10**k1, "k2": 10**k2, "kw": 10**kw, "kb": 10**kb, "pair1": 10**pair1, "pair2": 10**pair2}


def activity(z: int, strength: float, t: float) -> float:
    e = 87.74 - 0.40008 * (t - 273.15) + 9.398e-4 * (t - 273.15) ** 2 - 1.41e-6 * (t - 273.15) ** 3
    a = 1.8246e6 / (e * t) ** 1.5
    root = math.sqrt(strength)
    return 10 ** (-a * z * z * (root / (1 + root) - 0.3 * strength))


def ph(t: float, alkalinity: float, carbon: float, boron: float = 0.0, strength: float = 0.005,
       calcium: float = 0.0) -> float:
    """pH on the activity scale of a closed water; mol and eq per kg of water."""
    k, one, two = constants(t), activity(1, strength, t), activity(2, strength, t)

    def excess(x: float) -> float:
        h = 10**-x
        k1, k2 = k["k1"] / one, k["k2"] * one / two  # carbon dioxide's own activity is taken as one
        free = calcium
        for _ in range(30):  # pairs: CaHCO3+ and CaCO3
            p1, p2 = k["pair1"] * two * free, k["pair2"] * two * two * free
            shape = (h * h, k1 * h, k1 * k2, k1 * h * p1, k1 * k2 * p2)
            unit = carbon / sum(shape)
            free = calcium / (1 + k["pair1"] * two * shape[1] * unit + k["pair2"] * two * two * shape[2] * unit)
        held = unit * (shape[1] + shape[3] + 2 * (shape[2] + shape[4]))
        hydroxide = k["kw"] / h / one
        borate = boron * k["kb"] / one / (k["kb"] / one + h)
        return held + hydroxide + borate - h / one - alkalinity

    return brentq(excess, 2.5, 12.0, xtol=1e-10)


def ionic_strength(molality: dict[str, float], charges: dict[str, int], bicarbonate: float) -> float:
    return 0.5 * (sum(v * charges[i] ** 2 for i, v in molality.items()) + bicarbonate)
