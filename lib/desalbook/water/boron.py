"""Boron: boric acid and borate in seawater and in fresh water.

In seawater the constant is stoichiometric, on the total pH scale, per kilogram of seawater; in fresh water
thermodynamic. As pK = -log10 K. How either species passes a membrane is the membrane's room.
"""

from __future__ import annotations

from desalbook.trail import constant, log, relation
from desalbook.units import Factor, Fraction, K, PHNbs, PHTotal

__all__ = [
    "borate_fraction",
    "borate_fraction_fresh",
    "pkb_fresh",
    "pkb_saline",
]

KELVIN = constant("T_1", 1.0, "K", source="definition", title="One kelvin")
LN10 = constant("ln_10", 2.302585092994046, "1", source="definition", title="Natural logarithm of ten")

_SEA_B = {"temperature": ("0 degC", "45 degC"), "practical_salinity": ("5", "45")}


@relation(
    "Constant of boric acid in seawater",
    symbol="pK_B^*",
    unit="1",
    source="dickson-1990",
    note="total scale; outside the range an extrapolation",
    within=_SEA_B,
)
def pkb_saline(temperature: K, practical_salinity: Factor) -> Factor:
    """Stoichiometric dissociation constant of boric acid in seawater, as pKb of boron.

    Per kilogram of seawater and on the total pH scale; concentrate lies beyond the salinities it was measured
    at.
    """
    return (
        -(
            (
                -8966.90
                - 2890.53 * practical_salinity**0.5
                - 77.942 * practical_salinity
                + 1.728 * practical_salinity**1.5
                - 0.0996 * practical_salinity**2
            )
            / (temperature / KELVIN)
            + 148.0248
            + 137.1942 * practical_salinity**0.5
            + 1.62142 * practical_salinity
            - (24.4344 + 25.085 * practical_salinity**0.5 + 0.2474 * practical_salinity)
            * log(temperature / KELVIN)
            + 0.053105 * practical_salinity**0.5 * (temperature / KELVIN)
        )
        / LN10
    )


@relation(
    "Constant of boric acid in fresh water",
    symbol="pK_B",
    unit="1",
    source="owen-1934",
    place="equation from memory",
    note="infinite dilution; in a permeate below 1 g/L within 0.1",
    within={"temperature": ("5 degC", "50 degC")},
)
def pkb_fresh(temperature: K) -> Factor:
    """Dissociation constant of boric acid in pure water, as pKb of boron.

    At infinite dilution; salt lowers it, by some 0.6 in seawater, so a second pass is judged by this and a
    first pass is not.
    """
    return 2237.94 / (temperature / KELVIN) + 0.016883 * (temperature / KELVIN) - 3.305


@relation("Fraction of boron that is borate", symbol="f_B", unit="1", source="definition")
def borate_fraction(ph_total: PHTotal, pk: Factor) -> Fraction:
    """Fraction of dissolved boron present as borate ion, in seawater or concentrate.

    Henderson-Hasselbalch with pH and pK both on the total scale; mixing scales, which
    lie some 0.13 apart, changes the borate by up to a third.
    """
    return 1 / (1 + 10 ** (pk - ph_total))


@relation("Fraction of boron that is borate", symbol="f_B", unit="1", source="definition")
def borate_fraction_fresh(ph: PHNbs, pk: Factor) -> Fraction:
    """Fraction of dissolved boron present as borate ion, in fresh water such as a permeate.

    Takes the meter's pH as the activity of hydrogen; above some 1 g/L of salt the form for seawater holds.
    """
    return 1 / (1 + 10 ** (pk - ph))
