"""Units and formulas as print has them: m³ for m3, °C for degC, CaCO₃ for CaCO3; what is typed stays as typed."""

from __future__ import annotations

import re

__all__ = ["fine"]

_FORMULAS = ("Al2O3", "CO2", "CO3", "CaCO3", "CaSO4", "Cl2", "FeCl3", "Fe2(SO4)3", "H2SO4", "HCO3", "NH3", "NH4",
             "NO2", "NO3", "Na2CO3", "NaHCO3", "NaHSO3", "PO4", "SO2", "SO4", "SiO2")
_DEGREES = {"degC": "°C", "degF": "°F"}
_FINE = _DEGREES | {u + n: u + n.translate(str.maketrans("23", "²³")) for u in ("m", "mm", "ft") for n in "23"} | {
    x: x.translate(str.maketrans("234", "₂₃₄")) for x in _FORMULAS}
# no part of an id, of a tag or of a longer word; what stands before is asked last, so that the search goes by first
# letters
_PLAIN = re.compile("(?:" + "|".join(rf"{x}(?<![\w\[.]{x})" for x in map(re.escape, _FINE)) + r")(?!\w)(?![^<>]*>)")


def fine(html: str) -> str:
    """HTML or plain text with exponents raised, numbers of formulas lowered and degrees by their sign; tags stay."""
    return _PLAIN.sub(lambda m: _FINE[m[0]], html)
