"""Energy of separation: the least work, the limit of one pressure stage, and identities of specific energy.

Recoveries here are shares of the *water* of the feed unless an argument says otherwise; `water_recovery`
converts from a recovery by volume.
"""

from __future__ import annotations

from typing import Any

from desalbook.trail import Figure, log, relation, where
from desalbook.units import (
    DifferencePa,
    ElectricW,
    Factor,
    Fraction,
    JPerM3,
    KgPerM3,
    M3PerS,
    OsmoticPa,
    Salinity,
)

__all__ = [
    "concentrate_salinity",
    "least_work",
    "osmotic_pressure_fit",
    "restriction_energy",
    "restriction_ratio",
    "separation_energy",
    "specific_energy",
    "stage_energy",
    "water_recovery",
]


@relation("Specific energy", symbol="e", unit="J/m^3", source="definition")
def specific_energy(electric_power: ElectricW, product_flow: M3PerS) -> JPerM3:
    """Specific energy: electrical power over the product flow.

    Of the consumers whose power is put in, at one moment; a year has its own mean.
    """
    return electric_power / product_flow


@relation("Recovery of water", symbol="Y_w", unit="1", source="definition")
def water_recovery(
    recovery: Fraction, permeate_density: KgPerM3, feed_density: KgPerM3, feed_salinity: Salinity
) -> Fraction:
    """Recovery of water by mass, from a recovery by volume.

    Permeate counts as pure water.
    """
    return recovery * permeate_density * (1 + feed_salinity) / feed_density


@relation(
    "Salinity of the concentrate at full rejection",
    symbol="S_c",
    unit="1",
    source="definition",
    note="per kilogram of water; no salt passes",
)
def concentrate_salinity(feed_salinity: Salinity, water_share: Fraction) -> Salinity:
    """Salinity of the concentrate at full rejection: all salt in the water that is left.

    Per kilogram of water; no salt passes.
    """
    return feed_salinity / (1 - water_share)


@relation(
    "Osmotic pressure on a curve",
    symbol="pi",
    unit="Pa",
    source="definition",
    note="a curve fitted to the osmotic pressure of this very water; no better than its fit",
)
def osmotic_pressure_fit(
    salinity: Salinity,
    osmotic_a0: OsmoticPa,
    osmotic_a1: OsmoticPa,
    osmotic_a2: OsmoticPa,
    osmotic_a3: OsmoticPa,
    osmotic_a4: OsmoticPa,
    osmotic_a5: OsmoticPa,
) -> OsmoticPa:
    """Osmotic pressure on a curve fitted to this water: powers of the square root of salinity, from the first on.

    No better than its fit, and not beyond the salinities it was fitted to.
    """
    return salinity * (
        osmotic_a0
        + osmotic_a1 * salinity**0.5
        + osmotic_a2 * salinity
        + osmotic_a3 * salinity**1.5
        + osmotic_a4 * salinity**2
        + osmotic_a5 * salinity**2.5
    )


@relation(
    "Minimum work of separation",
    symbol="w_min",
    unit="J/m^3",
    source="definition",
    place="mean of the osmotic pressure over the water that passes, in closed form",
    within={"water_share": (None, "95 %")},
    note="reversible, isothermal, full rejection, per volume of permeate; at no recovery it is the osmotic "
    "pressure of the feed",
)
def least_work(
    feed_salinity: Salinity,
    water_share: Fraction,
    osmotic_a0: OsmoticPa,
    osmotic_a1: OsmoticPa,
    osmotic_a2: OsmoticPa,
    osmotic_a3: OsmoticPa,
    osmotic_a4: OsmoticPa,
    osmotic_a5: OsmoticPa,
) -> JPerM3:
    """Least work of separation: integral of the osmotic pressure from feed to concentrate, over the recovery.

    In closed form; reversible, isothermal, full rejection, per volume of permeate,
    on the curve of `osmotic_pressure_fit`; at no
    recovery it is the osmotic pressure of the feed.
    """
    return feed_salinity * (
        osmotic_a0 * (where(water_share > 0, -log(1 - water_share), 1) / where(water_share > 0, water_share, 1))
        + osmotic_a1 * feed_salinity**0.5 * (2 / ((1 - water_share) ** 0.5 * (1 + (1 - water_share) ** 0.5)))
        + osmotic_a2 * feed_salinity / (1 - water_share)
        + osmotic_a3
        * feed_salinity**1.5
        * (
            2
            * (1 + (1 - water_share) ** 0.5 + (1 - water_share))
            / (3 * (1 - water_share) ** 1.5 * (1 + (1 - water_share) ** 0.5))
        )
        + osmotic_a4 * feed_salinity**2 * ((2 - water_share) / (2 * (1 - water_share) ** 2))
        + osmotic_a5
        * feed_salinity**2.5
        * (
            2
            * (
                1
                + (1 - water_share) ** 0.5
                + (1 - water_share)
                + (1 - water_share) ** 1.5
                + (1 - water_share) ** 2
            )
            / (5 * (1 - water_share) ** 2.5 * (1 + (1 - water_share) ** 0.5))
        )
    )


@relation(
    "Minimum energy of one pressure stage",
    symbol="e_lim",
    unit="J/m^3",
    source="elimelech-phillip-2011",
    note="pressure equal to the osmotic pressure of the concentrate, ideal pump and recovery, no losses",
)
def restriction_energy(osmotic_concentrate: OsmoticPa) -> JPerM3:
    """Thermodynamic restriction: practical minimum energy of one stage at constant pressure.

    Feed pressure equal to the osmotic pressure of the concentrate, ideal pump and recovery, no losses.
    """
    return osmotic_concentrate


@relation(
    "Energy of a stage over the osmotic pressure of the feed",
    symbol="e_n",
    unit="1",
    source="zhu-2009",
    note="at the thermodynamic restriction, osmotic pressure proportional to salinity, full rejection",
)
def restriction_ratio(exchanger_efficiency: Fraction, recovery: Fraction) -> Factor:
    """Energy of one stage at the thermodynamic restriction over the osmotic pressure of the feed, with energy recovery.

    Osmotic pressure in proportion to salinity, full rejection, ideal pump.
    """
    return (1 - exchanger_efficiency * (1 - recovery)) / (recovery * (1 - recovery))


@relation("Energy of a stage", symbol="e_st", unit="J/m^3", source="zhu-2009")
def stage_energy(
    pressure_rise: DifferencePa, exchanger_efficiency: Fraction, recovery: Fraction, pump_efficiency: Fraction
) -> JPerM3:
    """Energy of one stage: pump work per permeate, the pressure of the concentrate recovered at an efficiency.

    One pressure, one efficiency of pump and device; losses beside them are neglected.
    """
    return pressure_rise * (1 - exchanger_efficiency * (1 - recovery)) / (pump_efficiency * recovery)


def separation_energy(
    *,
    feed_salinity: Figure,
    recovery: Figure,
    permeate_density: Figure,
    feed_density: Figure,
    curve: tuple[Figure, ...],
) -> tuple[Figure, Figure]:
    """Least work, ``energy.least_work``, and the limit of one stage, ``energy.stage_limit`` (J/m3).

    Parameters
    ----------
    feed_salinity : Figure
        kg per kg of water.
    recovery : Figure
        RO recovery, by volume.
    permeate_density, feed_density : Figure
        kg/m3
    curve : six Figures
        Coefficients of `curve_osmotic`, Pa.
    """
    share = water_recovery.at(
        "energy.water_recovery",
        recovery=recovery,
        permeate_density=permeate_density,
        feed_density=feed_density,
        feed_salinity=feed_salinity,
    )
    a: dict[str, Any] = {f"osmotic_a{n}": c for n, c in enumerate(curve)}
    least = least_work.at("energy.least_work", feed_salinity=feed_salinity, water_share=share, **a)
    brine = concentrate_salinity.at("energy.brine_salinity", feed_salinity=feed_salinity, water_share=share)
    osmotic = osmotic_pressure_fit.at("energy.brine_osmotic", salinity=brine, **a)
    limit = restriction_energy.at("energy.stage_limit", osmotic_concentrate=osmotic)
    return least, limit
