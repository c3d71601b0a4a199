"""Seawater: salinity, and properties of sea salt in its usual proportions.

Properties come from the property library: fits of an engineering correlation (Sharqawy et al. 2010), 0 to 120 degC
and 0 to 0.12 kg salt per kg of seawater, at one atmosphere; pressure has no effect on any of them. Density lies up
to 0.05 % above TEOS-10 to 45 g/kg and 0.08 % at 80 g/kg. Where a composition is known, density comes from the
geochemical engine, and this is the second opinion.
"""

from __future__ import annotations

from functools import cache

from desalbook.problems import EngineError
from desalbook.trail import constant, maximum, relation, sqrt
from desalbook.units import AbsolutePa, Concentration, Factor, Fraction, K, OsmoticPa, Salinity, SPerM
from desalbook.water.purewater import ATMOSPHERE, LIBRARY, library

__all__ = [
    "DATA",
    "LIBRARY",
    "SOURCE",
    "conductivity_ratio_of",
    "density",
    "heat_capacity",
    "osmotic_d4516",
    "practical_salinity",
    "salinity_by_conductivity",
    "salinity_departure",
    "vapour_pressure",
    "vapour_pressure_lowered",
    "viscosity",
]

ICE = constant("T_0", 273.15, "K", source="definition", title="0 degC")
KELVIN = constant("T_1", 1.0, "K", source="definition", title="One kelvin")
T68 = constant("f_68", 1.00024, "1", source="unesco-44", title="IPTS-68 per ITS-90 degree")
STANDARD = constant("kappa_35", 4.2914, "S/m", source="unesco-44", title="Conductivity at salinity 35 and 15 degC")
REFERENCE = constant("S_R", 0.03516504, "1", source="millero-2008", title="Reference salinity at S = 35")
MG_L = constant("C_1", 0.001, "kg/m^3", source="definition", title="One milligram per litre")
KILOPASCAL = constant("p_1", 1000.0, "Pa", source="definition", title="One kilopascal")

_RANGE = {"temperature": ("-2 degC", "35 degC")}

DATA = "INCOMP::MITSW"
SOURCE = "sharqawy-2010"
LOW, HIGH = 273.15, 373.0  # K: liquid at one atmosphere, whatever its salt
MOST = 0.12  # kg/kg


@relation(
    "Practical salinity",
    symbol="S_P",
    unit="1",
    source="millero-2008",
    place="35.16504/35",
    note="for sea salt in its constant proportions; other waters by their salt content only",
)
def practical_salinity(salinity: Salinity) -> Factor:
    """Practical salinity from salt per kilogram of water.

    Turns the ratio into salt per kilogram of solution and scales it so that reference seawater has 35; it is no
    measured conductivity.
    """
    return 35 * (salinity / (1 + salinity)) / REFERENCE


@relation(
    "Conductivity ratio to salinity 35",
    symbol="R_t",
    unit="1",
    source="unesco-44",
    place="PSS-78, at atmospheric pressure",
    within=_RANGE,
)
def conductivity_ratio_of(conductivity: SPerM, temperature: K) -> Factor:
    """Ratio of conductivity to that of seawater of salinity 35 at the same temperature.

    At the pressure of the surface; the temperature of 1990 is turned into that of 1968, which the polynomial
    speaks.
    """
    return conductivity / STANDARD / (
        0.6766097
        + 2.00564e-2 * (T68 * (temperature - ICE) / KELVIN)
        + 1.104259e-4 * (T68 * (temperature - ICE) / KELVIN) ** 2
        - 6.9698e-7 * (T68 * (temperature - ICE) / KELVIN) ** 3
        + 1.0031e-9 * (T68 * (temperature - ICE) / KELVIN) ** 4
    )


@relation(
    "Practical salinity by conductivity",
    symbol="S_P",
    unit="1",
    source="unesco-44",
    place="PSS-78",
    note="for sea salt in its usual proportions; above 42 an extrapolation, below 2 another equation holds",
    within={**_RANGE, "result": ("2", "42")},
)
def salinity_by_conductivity(conductivity_ratio: Factor, temperature: K) -> Factor:
    """Practical salinity from the conductivity ratio (PSS-78).

    Defined from 2 to 42 for sea salt in its usual proportions; wells and concentrate lie outside.
    """
    return (
        0.0080
        - 0.1692 * sqrt(conductivity_ratio)
        + 25.3851 * conductivity_ratio
        + 14.0941 * conductivity_ratio**1.5
        - 7.0261 * conductivity_ratio**2
        + 2.7081 * conductivity_ratio**2.5
        + (T68 * (temperature - ICE) / KELVIN - 15)
        / (1 + 0.0162 * (T68 * (temperature - ICE) / KELVIN - 15))
        * (
            0.0005
            - 0.0056 * sqrt(conductivity_ratio)
            - 0.0066 * conductivity_ratio
            - 0.0375 * conductivity_ratio**1.5
            + 0.0636 * conductivity_ratio**2
            - 0.0144 * conductivity_ratio**2.5
        )
    )


@relation("Salinity by conductivity, deviation", symbol="d_S", unit="1", source="definition")
def salinity_departure(measured_salinity: Factor, practical_salinity: Factor) -> Fraction:
    """Departure of the salinity by conductivity from that of the analysis, without its sign.

    Small in seawater when both are right; a well of other proportions departs by its composition.
    """
    return maximum(measured_salinity / practical_salinity - 1, 1 - measured_salinity / practical_salinity)


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
    """Density (kg/m3) at 101 325 Pa; temperature in K, salinity in kg salt per kg seawater, 0 to 0.12."""
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


@relation(
    "Vapour pressure over seawater",
    symbol="p_v",
    unit="Pa",
    source="robinson-1954",
    within={"practical_salinity": ("0", "40")},
)
def vapour_pressure_lowered(vapour_pressure: AbsolutePa, practical_salinity: Factor) -> AbsolutePa:
    """Vapour pressure over seawater.

    Lowered by the salt by one fraction at all temperatures; in concentrate it is an extrapolation.
    """
    return vapour_pressure * (1 - 0.000537 * practical_salinity)


@relation(
    "Osmotic pressure by ASTM D4516",
    symbol="pi_A",
    unit="Pa",
    source="astm-d4516",
    place="closed form, from memory",
    note="sodium chloride; for work by this standard only: 3.4 % above the measured value at 32 g/L",
)
def osmotic_d4516(concentration: Concentration, temperature: K) -> OsmoticPa:
    """Osmotic pressure by the standard practice for normalising RO data.

    Concentration in mg/L counts as sodium chloride; for design the osmotic coefficient of this very water is
    used instead.
    """
    return (
        0.2654
        * (concentration / MG_L)
        * (temperature / KELVIN)
        / (1000 - (concentration / MG_L) / 1000)
        * KILOPASCAL
    )
