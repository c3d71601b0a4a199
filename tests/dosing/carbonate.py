"""An independent carbonate solver for tests: published constants, scipy, nothing of the library.

Fresh water: Plummer & Busenberg 1982 (K1, K2), Marshall-Franck type K_w at 25 degC by the van 't Hoff line of
Harned & Owen, B(OH)3 pK 9.24, activity coefficients of Davies. Seawater: Lueker et al. 2000 (K1*, K2*),
Dickson 1990 (KB*), Millero 1995 (KW*), all on the total scale, mol per kg of solution.
"""

from __future__ import annotations

from math import exp, log, log10, sqrt

from scipy.optimize import brentq

__all__ = ["fresh_ph", "saline_alkalinity", "saline_ph"]


def fresh_constants(t: float) -> tuple[float, float, float]:
    """-log10 K1, K2, KW at t in K."""
    k1 = -356.3094 - 0.06091964 * t + 21834.37 / t + 126.8339 * log10(t) - 1684915 / t**2
    k2 = -107.8871 - 0.03252849 * t + 5151.79 / t + 38.92561 * log10(t) - 563713.9 / t**2
    kw = -(4470.99 / t - 6.0875 + 0.01706 * t)
    return -k1, -k2, -kw


def davies(charge: int, strength: float, t: float) -> float:
    """Activity coefficient."""
    a = 1.82483e6 * sqrt(1.0) / ((87.74 - 0.4008 * (t - 273.15) + 9.398e-4 * (t - 273.15) ** 2) * t) ** 1.5
    return 10 ** (-a * charge**2 * (sqrt(strength) / (1 + sqrt(strength)) - 0.3 * strength))


def fresh_ph(alkalinity: float, carbon: float, strength: float, t: float, boron: float = 0.0,
             calcium: float = 0.0) -> float:
    """pH, activity scale; eq and mol per kg of water, ionic strength mol/kg; calcium pairs with carbonate."""
    pk1, pk2, pkw = fresh_constants(t)
    g1, g2 = davies(1, strength, t), davies(2, strength, t)
    # association constants of CaHCO3+ and CaCO3, Plummer & Busenberg 1982
    bicarbonate = 10 ** (1209.120 + 0.31294 * t - 34765.05 / t - 478.782 * log10(t))
    carbonate = 10 ** (-1228.732 - 0.299444 * t + 35512.75 / t + 485.818 * log10(t))

    def gap(ph: float) -> float:
        a = 10**-ph
        h, oh = a / g1, 10**-pkw / a / g1
        r1 = 10**-pk1 / a / g1           # HCO3 over CO2
        r2 = 10**-pk2 * g1 / a / g2      # CO3 over HCO3
        free = calcium
        for _ in range(60):
            p1 = bicarbonate * g2 * free                # CaHCO3 over HCO3
            p2 = carbonate * g2 * g2 * free             # CaCO3 over CO3
            hco3 = carbon / (1 / r1 + 1 + p1 + r2 * (1 + p2))
            free = calcium / (1 + bicarbonate * g2 * hco3 + carbonate * g2 * g2 * r2 * hco3)
        borate = boron / (1 + a * g1 / 10**-9.24)
        return hco3 * (1 + p1 + 2 * r2 * (1 + p2)) + borate + oh - h - alkalinity

    return float(brentq(gap, 2.0, 13.0, xtol=1e-12))  # type: ignore[arg-type]


def saline_constants(s: float, t: float) -> tuple[float, float, float, float]:
    """K1*, K2*, KB*, KW*, total scale."""
    k1 = 10 ** -(3633.86 / t - 61.2172 + 9.67770 * log(t) - 0.011555 * s + 0.0001152 * s * s)
    k2 = 10 ** -(471.78 / t + 25.9290 - 3.16967 * log(t) - 0.01781 * s + 0.0001122 * s * s)
    kb = exp((-8966.90 - 2890.53 * s**0.5 - 77.942 * s + 1.728 * s**1.5 - 0.0996 * s * s) / t
             + 148.0248 + 137.1942 * s**0.5 + 1.62142 * s
             - (24.4344 + 25.085 * s**0.5 + 0.2474 * s) * log(t) + 0.053105 * s**0.5 * t)
    kw = exp(148.9652 - 13847.26 / t - 23.6521 * log(t)
             + (118.67 / t - 5.977 + 1.0495 * log(t)) * s**0.5 - 0.01615 * s)
    return k1, k2, kb, kw


def saline_alkalinity(ph: float, carbon: float, boron: float, s: float, t: float) -> float:
    """eq per kg of solution at a pH on the total scale."""
    k1, k2, kb, kw = saline_constants(s, t)
    h = 10**-ph
    both = h * h + k1 * h + k1 * k2
    return carbon * (k1 * h + 2 * k1 * k2) / both + boron * kb / (kb + h) + kw / h - h


def saline_ph(alkalinity: float, carbon: float, boron: float, s: float, t: float) -> float:
    """pH on the total scale; per kg of solution."""
    def gap(ph: float) -> float:
        return saline_alkalinity(ph, carbon, boron, s, t) - alkalinity

    return float(brentq(gap, 3.0, 12.0, xtol=1e-12))  # type: ignore[arg-type]
