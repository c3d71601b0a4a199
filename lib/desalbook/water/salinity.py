"""Practical salinity from conductivity (PSS-78), and what it says of an analysis."""

from __future__ import annotations

from desalbook.trail import constant, maximum, relation, sqrt
from desalbook.units import Factor, Fraction, K, SPerM

__all__ = ["conductivity_ratio_of", "salinity_by_conductivity", "salinity_departure"]

ICE = constant("T_0", 273.15, "K", source="definition", title="0 degC")
KELVIN = constant("T_1", 1.0, "K", source="definition", title="One kelvin")
T68 = constant("f_68", 1.00024, "1", source="unesco-44", title="Degrees of the scale of 1968 per degree of 1990")
STANDARD = constant("kappa_35", 4.2914, "S/m", source="unesco-44", title="Conductivity at salinity 35 and 15 degC")

_RANGE = {"temperature": ("-2 degC", "35 degC")}


@relation(
    "Conductivity over that of salinity 35 at the same temperature",
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


@relation("Salinity by conductivity, departure from the analysis", symbol="d_S", unit="1", source="definition")
def salinity_departure(measured_salinity: Factor, practical_salinity: Factor) -> Fraction:
    """Departure of the salinity by conductivity from that of the analysis, without its sign.

    Small in seawater when both are right; a well of other proportions departs by its composition.
    """
    return maximum(measured_salinity / practical_salinity - 1, 1 - measured_salinity / practical_salinity)
