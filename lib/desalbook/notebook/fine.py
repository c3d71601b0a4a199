"""Units and formulas as print has them: m³ for m3, CaCO₃ for CaCO3; what is typed stays as it is typed."""

from __future__ import annotations

import re

__all__ = ["fine"]

_RAISED = str.maketrans("23", "²³")
_LOWERED = str.maketrans("234", "₂₃₄")
_FORMULAS = ("Al2O3", "CO2", "CO3", "CaCO3", "CaSO4", "Cl2", "FeCl3", "Fe2(SO4)3", "H2SO4", "HCO3", "NH3", "NH4",
             "NO2", "NO3", "Na2CO3", "NaHCO3", "NaHSO3", "PO4", "SO2", "SO4", "SiO2")
# no part of an id, of a tag or of a longer word
_PLAIN = re.compile(rf"(?<![\w\[.])(?:(m|ft)([23])|({'|'.join(map(re.escape, _FORMULAS))}))(?!\w)(?![^<>]*>)")


def fine(html: str) -> str:
    """HTML or plain text with exponents of units raised and the numbers of formulas lowered; tags stay as they are."""
    return _PLAIN.sub(lambda m: m[1] + m[2].translate(_RAISED) if m[1] else m[3].translate(_LOWERED), html)
