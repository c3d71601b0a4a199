"""Acid constants of carbonic and boric acid, in sea water and in fresh water, and what follows from them.

In sea water: stoichiometric constants, mol per kilogram of sea water, on the total pH scale; salinity is
practical salinity. In fresh water: thermodynamic constants at infinite dilution. All as pK = -log10 K.
"""

from __future__ import annotations

from desalbook.trail import constant, log, log10, relation
from desalbook.units import AbsolutePa, Factor, Fraction, K, PHNbs, PHTotal, Salinity

__all__ = [
    "NBS_ABOVE_TOTAL",
    "borate_share",
    "borate_share_fresh",
    "nbs_from_total",
    "pk1_fresh",
    "pk1_saline",
    "pk2_fresh",
    "pk2_saline",
    "pk_boric_fresh",
    "pk_boric_saline",
    "pk_henry",
    "practical_salinity",
    "total_from_nbs",
    "vapour_pressure_lowered",
]

KELVIN = constant("T_1", 1.0, "K", source="definition", title="One kelvin")
REFERENCE = constant("S_R", 0.03516504, "1", source="millero-2008", title="Reference salinity at S = 35")
NBS_ABOVE_TOTAL = constant(
    "Delta_pH", 0.13, "1", source="common-practice", title="NBS reading above the total scale in sea water"
)
LN10 = constant("ln_10", 2.302585092994046, "1", source="definition", title="Natural logarithm of ten")

_SEA = {"temperature": ("2 degC", "35 degC"), "practical_salinity": ("19", "43")}
_SEA_B = {"temperature": ("0 degC", "45 degC"), "practical_salinity": ("5", "45")}


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
    "pH on the total scale",
    symbol="pH_T",
    unit="1",
    source="dickson-2007",
    place="scales of pH",
    note="a constant difference; it moves by a few hundredths with salinity, temperature and electrode",
)
def total_from_nbs(ph: PHNbs) -> PHTotal:
    """pH on the total scale, from a meter set in NBS buffers.

    Such a meter reads too high in seawater, for the junction potential of the electrode; the difference here is
    a usual one.
    """
    return ph - NBS_ABOVE_TOTAL


@relation(
    "pH on the NBS scale",
    symbol="pH",
    unit="1",
    source="dickson-2007",
    place="scales of pH",
    note="a constant difference; it moves by a few hundredths with salinity, temperature and electrode",
)
def nbs_from_total(ph_total: PHTotal) -> PHNbs:
    """pH a meter set in NBS buffers reads in seawater, from pH on the total scale.

    A constant difference for seawater near 25 degC; it is not to be used in fresh water, where the scales
    agree.
    """
    return ph_total + NBS_ABOVE_TOTAL


@relation(
    "First constant of carbonic acid in sea water",
    symbol="pK_1^*",
    unit="1",
    source="lueker-2000",
    note="total scale; outside the range an extrapolation that bends the wrong way in concentrate",
    within=_SEA,
)
def pk1_saline(temperature: K, practical_salinity: Factor) -> Factor:
    """First stoichiometric dissociation constant of carbonic acid in seawater, as pK.

    Per kilogram of seawater and on the total pH scale; only for sea salt in its constant proportions.
    """
    return (
        3633.86 / (temperature / KELVIN)
        - 61.2172
        + 9.67770 * log(temperature / KELVIN)
        - 0.011555 * practical_salinity
        + 0.0001152 * practical_salinity**2
    )


@relation(
    "Second constant of carbonic acid in sea water",
    symbol="pK_2^*",
    unit="1",
    source="lueker-2000",
    note="total scale; outside the range an extrapolation",
    within=_SEA,
)
def pk2_saline(temperature: K, practical_salinity: Factor) -> Factor:
    """Second stoichiometric dissociation constant of carbonic acid in seawater, as pK.

    Per kilogram of seawater and on the total pH scale; only for sea salt in its constant proportions.
    """
    return (
        471.78 / (temperature / KELVIN)
        + 25.9290
        - 3.16967 * log(temperature / KELVIN)
        - 0.01781 * practical_salinity
        + 0.0001122 * practical_salinity**2
    )


@relation(
    "Constant of boric acid in sea water",
    symbol="pK_B^*",
    unit="1",
    source="dickson-1990",
    note="total scale; outside the range an extrapolation",
    within=_SEA_B,
)
def pk_boric_saline(temperature: K, practical_salinity: Factor) -> Factor:
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
    "First constant of carbonic acid in fresh water",
    symbol="pK_1",
    unit="1",
    source="plummer-busenberg-1982",
    within={"temperature": ("0 degC", "90 degC")},
)
def pk1_fresh(temperature: K) -> Factor:
    """First dissociation constant of carbonic acid in pure water, as pK.

    At infinite dilution, against activities; ionic strength has to be brought in by activity coefficients.
    """
    return -(
        -356.3094
        - 0.06091964 * (temperature / KELVIN)
        + 21834.37 / (temperature / KELVIN)
        + 126.8339 * log10(temperature / KELVIN)
        - 1684915 / (temperature / KELVIN) ** 2
    )


@relation(
    "Second constant of carbonic acid in fresh water",
    symbol="pK_2",
    unit="1",
    source="plummer-busenberg-1982",
    within={"temperature": ("0 degC", "90 degC")},
)
def pk2_fresh(temperature: K) -> Factor:
    """Second dissociation constant of carbonic acid in pure water, as pK.

    At infinite dilution, against activities; in brackish or sea water it is too high by more than one unit.
    """
    return -(
        -107.8871
        - 0.03252849 * (temperature / KELVIN)
        + 5151.79 / (temperature / KELVIN)
        + 38.92561 * log10(temperature / KELVIN)
        - 563713.9 / (temperature / KELVIN) ** 2
    )


@relation(
    "Solubility of carbon dioxide",
    symbol="pK_H",
    unit="1",
    source="plummer-busenberg-1982",
    within={"temperature": ("0 degC", "90 degC")},
)
def pk_henry(temperature: K) -> Factor:
    """Henry constant of carbon dioxide in pure water, as pK.

    Moles per kilogram and atmosphere at infinite dilution; salt drives gas out and is not in it.
    """
    return -(
        108.3865
        + 0.01985076 * (temperature / KELVIN)
        - 6919.53 / (temperature / KELVIN)
        - 40.45154 * log10(temperature / KELVIN)
        + 669365 / (temperature / KELVIN) ** 2
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
def pk_boric_fresh(temperature: K) -> Factor:
    """Dissociation constant of boric acid in pure water, as pKb of boron.

    At infinite dilution; salt lowers it, by some 0.6 in seawater, so a second pass is judged by this and a
    first pass is not.
    """
    return 2237.94 / (temperature / KELVIN) + 0.016883 * (temperature / KELVIN) - 3.305


@relation("Share of boron that is borate", symbol="f_B", unit="1", source="definition")
def borate_share(ph_total: PHTotal, pk: Factor) -> Fraction:
    """Fraction of dissolved boron present as borate ion, in seawater or concentrate.

    Henderson-Hasselbalch with pH and pK both on the total scale; mixing scales, which
    lie some 0.13 apart, changes the borate by up to a third.
    """
    return 1 / (1 + 10 ** (pk - ph_total))


@relation("Share of boron that is borate", symbol="f_B", unit="1", source="definition")
def borate_share_fresh(ph: PHNbs, pk: Factor) -> Fraction:
    """Fraction of dissolved boron present as borate ion, in fresh water such as a permeate.

    Takes the meter's pH as the activity of hydrogen; above some 1 g/L of salt the form for seawater holds.
    """
    return 1 / (1 + 10 ** (pk - ph))


@relation(
    "Vapour pressure over sea water",
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
