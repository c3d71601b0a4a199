"""Pressure and head: columns of water, static lift, gauge and absolute pressure, and the atmosphere at the site."""

from __future__ import annotations

from desalbook.hydraulics.constants import G
from desalbook.trail import Figure, constant, maximum, relation
from desalbook.units import AbsolutePa, DifferencePa, GaugePa, Head, KgPerM3, M

__all__ = [
    "absolute_from_gauge",
    "atmospheric_pressure",
    "gauge_from_absolute",
    "gauge_pressure_head",
    "hydrostatic_pressure",
    "pressure_head",
    "pressure_of_head",
    "site_atmosphere",
    "static_lift",
]

LAPSE = constant("L_0", 0.0065, "K/m", source="isa-1976", title="Lapse rate of the standard atmosphere")
SEA_LEVEL_T = constant("T_0", 288.15, "K", source="isa-1976", title="Standard temperature at sea level")
SEA_LEVEL_P = constant("p_0", 101325.0, "Pa", source="isa-1976", title="Standard pressure at sea level")


@relation(
    "Atmospheric pressure at the site",
    symbol="p_a",
    unit="Pa",
    source="isa-1976",
    place="troposphere, hydrostatic with a constant lapse rate",
    within={"altitude": ("-500 m", "11 000 m")},
    note="mean value; weather moves it by some 3 %",
)
def atmospheric_pressure(altitude: M) -> AbsolutePa:
    """Atmospheric pressure at an altitude, by the barometric formula of the standard atmosphere.

    Hydrostatic air with a constant lapse rate, up to the tropopause; weather moves it by some 3 %.
    """
    return SEA_LEVEL_P * (1 - LAPSE * altitude / SEA_LEVEL_T) ** 5.25588


@relation("Absolute pressure", symbol="p_abs", unit="Pa", source="definition")
def absolute_from_gauge(gauge_pressure: GaugePa, ambient_pressure: AbsolutePa) -> AbsolutePa:
    """Absolute pressure: gauge pressure plus the atmosphere.

    The atmosphere is that of the site where the gauge stands, not that of sea level.
    """
    return gauge_pressure + ambient_pressure


@relation("Gauge pressure", symbol="p", unit="Pa", source="definition")
def gauge_from_absolute(absolute_pressure: AbsolutePa, ambient_pressure: AbsolutePa) -> GaugePa:
    """Gauge pressure: absolute pressure less the atmosphere.

    Negative below the atmosphere; not below the vapour pressure of the water, where the column breaks.
    """
    return absolute_pressure - ambient_pressure


@relation("Head of a pressure difference", symbol="H", unit="m", source="definition")
def pressure_head(pressure_rise: DifferencePa, density: KgPerM3) -> Head:
    """Pressure head: height of the column of this water that weighs the pressure difference.

    Assumes one density over the whole height: another water or temperature has another head.
    """
    return pressure_rise / (density * G)


@relation("Pressure of a head", symbol="Delta_p", unit="Pa", source="definition")
def pressure_of_head(head: Head, density: KgPerM3) -> DifferencePa:
    """Pressure difference that a head of this water stands for.

    Assumes one density over the whole height.
    """
    return density * G * head


@relation("Head of a wanted pressure", symbol="H_w", unit="m", source="definition")
def gauge_pressure_head(gauge_pressure: GaugePa, density: KgPerM3) -> Head:
    """Head of a gauge pressure: the column of this water that holds it above the atmosphere.

    The atmosphere stands on the open tank as well, so only the gauge pressure is to be lifted.
    """
    return gauge_pressure / (density * G)


@relation("Static lift", symbol="H_s", unit="m", source="definition")
def static_lift(elevation_to: M, elevation_from: M) -> Head:
    """Static lift: level delivered to less level drawn from.

    Negative where the water runs down; both levels are heights above the site's datum.
    """
    return elevation_to - elevation_from


@relation("Standing pressure", symbol="p_0", unit="Pa", source="definition")
def hydrostatic_pressure(density: KgPerM3, static_head: Head) -> GaugePa:
    """Hydrostatic gauge pressure of water at rest below its surface.

    None where the surface stands lower than the point: suction below the atmosphere is not counted on.
    """
    return density * G * maximum(static_head, 0)


def site_atmosphere(altitude: Figure) -> Figure:
    """Atmospheric pressure of the site, ``site.ambient_pressure``; altitude enters nowhere else."""
    return atmospheric_pressure.at("site.ambient_pressure", altitude=altitude)
