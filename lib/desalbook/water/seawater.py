"""Sea water of the usual proportions from the property library: density, viscosity, heat capacity, vapour pressure.

Fits of an engineering correlation (Sharqawy et al. 2010), 0 to 120 degC and 0 to 0.12 kg salt per kg of sea water, at
one atmosphere; pressure has no effect on any of them. Density lies up to 0.05 % above TEOS-10 to 45 g/kg and 0.08 %
at 80 g/kg. Where a composition is known, density comes from the geochemical engine, and this is the second opinion.
"""

from __future__ import annotations

from functools import cache

from desalbook.problems import EngineError
from desalbook.water.purewater import ATMOSPHERE, LIBRARY, library

__all__ = ["DATA", "LIBRARY", "SOURCE", "density", "heat_capacity", "vapour_pressure", "viscosity"]

DATA = "INCOMP::MITSW"
SOURCE = "sharqawy-2010"
LOW, HIGH = 273.15, 373.0  # K: liquid at one atmosphere, whatever its salt
MOST = 0.12  # kg/kg


@cache
def _property(name: str, temperature: float, salinity: float) -> float:
    for where, value, low, high, unit in (("temperature", temperature, LOW, HIGH, "K"),
                                          ("salinity", salinity, 0.0, MOST, "kg/kg")):
        if not low <= value <= high:
            raise EngineError("outside the range of the property library", where=where, value=value, unit=unit,
                              allowed=f"{low:g} to {high:g} {unit}",
                              do="check the analysis, or lower the recovery")
    try:
        found = library().PropsSI(name, "T", temperature, *(("Q", 0.0) if name == "P" else ("P", ATMOSPHERE)),
                                  f"{DATA}[{salinity!r}]")
    except ValueError as error:
        raise EngineError(f"the property library refused: {error}", where=LIBRARY, value=temperature,
                          unit="K") from None
    return float(found)


def density(temperature: float, salinity: float) -> float:
    """Density (kg/m3) at 101 325 Pa; temperature in K, salinity in kg salt per kg sea water, 0 to 0.12."""
    return _property("D", float(temperature), float(salinity))


def viscosity(temperature: float, salinity: float) -> float:
    """Dynamic viscosity (Pa s); a fit of the published formula, up to 0.9 % off it."""
    return _property("V", float(temperature), float(salinity))


def heat_capacity(temperature: float, salinity: float) -> float:
    """Isobaric heat capacity (J/(kg K)) at 101 325 Pa; K and kg/kg."""
    return _property("C", float(temperature), float(salinity))


def vapour_pressure(temperature: float, salinity: float) -> float:
    """Vapour pressure (Pa, absolute); K and kg/kg."""
    return _property("P", float(temperature), float(salinity))
