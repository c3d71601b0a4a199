"""Carbonate system: acid constants, pH scales, alkalinity and what a dose takes of it, calcium carbonate indices.

In seawater the constants are stoichiometric, mol per kilogram of seawater, on the total pH scale; salinity is
practical salinity. In fresh water they are thermodynamic, at infinite dilution. All as pK = -log10 K. Amounts are per
kilogram of water, so that the salinity stands in each balance. The geochemical engine answers the same for
concentrate and scale, by its own constants; in seawater its pH lies up to 0.07 above these and falls less as the
water warms.

The trade indices stand beside the saturation index of calcite, which judges. The Langelier index (ASTM D3739) is
meant for concentrates of 10 to 10 000 mg/L, the Stiff and Davis index (ASTM D4582) above that. The K of the latter is
a chart in the standard; a closed form of it that circulates lies 0.7 to 1.0 above thermodynamics at the strength of
seawater, which is the unsafe side, and is not used: K is computed, unless the user reads the chart.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.problems import Infeasible
from desalbook.trail import constant, dot, log, log10, relation, values
from desalbook.units import (
    AsCaCO3,
    AsCl2,
    ChargeNumber,
    Concentration,
    Factor,
    Fraction,
    Index,
    K,
    KgPerM3,
    Molality,
    PHNbs,
    PHTotal,
    Salinity,
)

__all__ = [
    "NBS_ABOVE_TOTAL",
    "acid_for_alkalinity",
    "alkalinity_after",
    "alkalinity_at_ph",
    "alkalinity_residual",
    "carbon_at_alkalinity",
    "carbon_per_bicarbonate",
    "concentrate_as_caco3",
    "concentrate_solids",
    "concentrate_strength",
    "free_carbon_dioxide",
    "hypochlorite_amount",
    "nbs_from_total",
    "ph_of",
    "pk1_fresh",
    "pk1_saline",
    "pk2_fresh",
    "pk2_saline",
    "pk_henry",
    "pk_water_saline",
    "reducer_amount",
    "simplified_saturation_ph",
    "stiff_davis_index",
    "strength_of",
    "titrated_alkalinity",
    "total_from_nbs",
]

KELVIN = constant("T_1", 1.0, "K", source="definition", title="One kelvin")
NBS_ABOVE_TOTAL = constant(
    "Delta_pH", 0.13, "1", source="common-practice", title="NBS reading above the total scale in seawater"
)
LN10 = constant("ln_10", 2.302585092994046, "1", source="definition", title="Natural logarithm of ten")
ONE = constant("b_1", 1.0, "mol/kg", source="definition", title="One mole per kilogram")
CHLORINE = constant("M_Cl2", 0.07090, "kg/mol", source="iupac-weights", title="Molar mass of Cl2")
MG_L = constant("C_1", 0.001, "kg/m^3", source="definition", title="One milligram per litre")
MILLION = constant("C_6", 1000.0, "kg/m^3", source="astm-d4582", title="A million milligrams per litre")
CACO3 = constant("M_CaCO3", 0.100086, "kg/mol", source="iupac-weights", title="Molar mass of CaCO3")
LITRE = constant("c_1", 1000.0, "mol/m^3", source="definition", title="One mole per litre")

_SEA = {"temperature": ("2 degC", "35 degC"), "practical_salinity": ("19", "43")}
LOWEST, HIGHEST = 2.0, 12.0
"""Bracket of `ph_of`."""


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
    "First constant of carbonic acid in seawater",
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
    "Second constant of carbonic acid in seawater",
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
    "pK1 of carbonic acid, fresh water",
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
    "pK2 of carbonic acid, fresh water",
    symbol="pK_2",
    unit="1",
    source="plummer-busenberg-1982",
    within={"temperature": ("0 degC", "90 degC")},
)
def pk2_fresh(temperature: K) -> Factor:
    """Second dissociation constant of carbonic acid in pure water, as pK.

    At infinite dilution, against activities; in brackish or seawater it is too high by more than one unit.
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
    "Constant of water in seawater",
    symbol="pK_W^*",
    unit="1",
    source="millero-1995",
    place="as in Dickson and others 2007, chapter 5; equation from memory, check value printed",
    note="total scale",
    within={"temperature": ("0 degC", "45 degC"), "practical_salinity": ("5", "45")},
)
def pk_water_saline(temperature: K, practical_salinity: Factor) -> Factor:
    """Stoichiometric ion product of water in seawater, as pK.

    Per kilogram of seawater and on the total pH scale; it matters above pH 9, as in a second pass.
    """
    return (
        -(
            148.9652
            - 13847.26 / (temperature / KELVIN)
            - 23.6521 * log(temperature / KELVIN)
            + practical_salinity**0.5
            * (118.67 / (temperature / KELVIN) - 5.977 + 1.0495 * log(temperature / KELVIN))
            - 0.01615 * practical_salinity
        )
        / LN10
    )


@relation(
    "Alkalinity at this pH",
    symbol="b_A",
    unit="mol/kg",
    source="dickson-2007",
    place="definition of total alkalinity; phosphate, silicate, fluoride and sulfate neglected",
    note="what is omitted is below 0.2 % of the alkalinity of seawater between pH 6.5 and 8.5",
)
def alkalinity_at_ph(
    carbon: Molality,
    boron_molality: Molality,
    ph_total: PHTotal,
    pk1: Factor,
    pk2: Factor,
    pk_boric: Factor,
    pk_water: Factor,
    salinity: Salinity,
) -> Molality:
    """Total alkalinity of a seawater at a given pH: carbonate, borate, hydroxide less hydrogen ion.

    Constants and pH on the total scale; silicate, phosphate and ammonia are neglected and would matter in wells.
    """
    return (
        carbon * (10 ** (ph_total - pk1) + 2 * 10 ** (2 * ph_total - pk1 - pk2))
        / (1 + 10 ** (ph_total - pk1) + 10 ** (2 * ph_total - pk1 - pk2))
        + boron_molality / (1 + 10 ** (pk_boric - ph_total))
        + (10 ** (ph_total - pk_water) - 10 ** (-ph_total)) * (1 + salinity) * ONE
    )


@relation(
    "Inorganic carbon of an alkalinity at this pH",
    symbol="b_C",
    unit="mol/kg",
    source="dickson-2007",
    place="definition of total alkalinity, solved for the carbon; phosphate, silicate and fluoride neglected",
)
def carbon_at_alkalinity(
    total_alkalinity: Molality,
    boron_molality: Molality,
    ph_total: PHTotal,
    pk1: Factor,
    pk2: Factor,
    pk_boric: Factor,
    pk_water: Factor,
    salinity: Salinity,
) -> Molality:
    """Inorganic carbon that goes with a titrated alkalinity in seawater, at a pH on the total scale.

    What borate and hydroxide take of the titration is taken off; an error of 0.1 in pH moves the carbon of seawater by
    some 3 %.
    """
    return (
        (
            total_alkalinity
            - boron_molality / (1 + 10 ** (pk_boric - ph_total))
            - (10 ** (ph_total - pk_water) - 10 ** (-ph_total)) * (1 + salinity) * ONE
        )
        * (1 + 10 ** (ph_total - pk1) + 10 ** (2 * ph_total - pk1 - pk2))
        / (10 ** (ph_total - pk1) + 2 * 10 ** (2 * ph_total - pk1 - pk2))
    )


@relation("Alkalinity of a titration", symbol="b_A", unit="mol/kg", source="definition")
def titrated_alkalinity(bicarbonate_molality: Molality, carbonate_molality: Molality) -> Molality:
    """Total alkalinity that a laboratory states as bicarbonate, with twice what it states as carbonate.

    In equivalents per kilogram of water; what it is made of is not told by the titration.
    """
    return bicarbonate_molality + 2 * carbonate_molality


@relation("Inorganic carbon per alkalinity stated", symbol="f_C", unit="1", source="definition")
def carbon_per_bicarbonate(carbon: Molality, bicarbonate_molality: Molality) -> Factor:
    """Inorganic carbon over what the laboratory calls bicarbonate.

    Some 0.87 in seawater of pH 8.1, for borate and carbonate take the rest of a titration.
    """
    return carbon / bicarbonate_molality


@relation(
    "Dissolved carbon dioxide",
    symbol="b_CO2",
    unit="mol/kg",
    source="dickson-2007",
    place="from the two constants of carbonic acid",
)
def free_carbon_dioxide(carbon: Molality, ph_total: PHTotal, pk1: Factor, pk2: Factor) -> Molality:
    """Dissolved carbon dioxide, the part of the inorganic carbon that is neither bicarbonate nor carbonate.

    Hydrated and free gas together; a membrane passes all of it, so it sets the pH of the permeate.
    """
    return carbon / (1 + 10 ** (ph_total - pk1) + 10 ** (2 * ph_total - pk1 - pk2))


@relation("Alkalinity after the dose", symbol="b_A", unit="mol/kg", source="definition")
def alkalinity_after(total_alkalinity: Molality, amount: Molality, acid_equivalents: ChargeNumber) -> Molality:
    """Total alkalinity after a dose of acid.

    Each equivalent of hydrogen ion takes one of alkalinity; inorganic carbon stays as long as no gas leaves.
    """
    return total_alkalinity - amount * acid_equivalents


@relation("Alkalinity residual", symbol="r_A", unit="mol/kg", source="definition")
def alkalinity_residual(total_alkalinity: Molality, found_alkalinity: Molality) -> Molality:
    """Residual of the pH solution: alkalinity less alkalinity found again.

    Zero when solved; it proves the root and means nothing else.
    """
    return total_alkalinity - found_alkalinity


@relation("Acid for the target pH", symbol="m_a", unit="mol/kg", source="definition",
          note="closed system: the carbon dioxide that forms stays")
def acid_for_alkalinity(
    total_alkalinity: Molality, found_alkalinity: Molality, acid_equivalents: ChargeNumber
) -> Molality:
    """Acid dose that brings the total alkalinity down to that of a target pH.

    In a closed system the carbon dioxide that forms stays dissolved; where it leaves, pH rises again.
    """
    return (total_alkalinity - found_alkalinity) / acid_equivalents


@relation("Hypochlorite per water", symbol="m_h", unit="mol/kg", source="definition",
          note="one mole for a mole of available chlorine")
def hypochlorite_amount(chlorine_demand: AsCl2, chlorine_residual: AsCl2, water_content: KgPerM3) -> Molality:
    """Amount of hypochlorite dosed per kilogram of water, from the chlorine it counts as.

    The steady dose, demand and residual; what a delivery holds of free sodium hydroxide and chloride is neglected.
    """
    return (chlorine_demand + chlorine_residual) / CHLORINE / water_content


@relation("Dechlorination agent per water", symbol="m_r", unit="mol/kg", source="definition",
          note="the excess is counted as oxidised in the end, which takes the same alkalinity")
def reducer_amount(
    residual_chlorine: AsCl2, reducer_moles: Factor, bisulfite_multiple: Factor, water_content: KgPerM3
) -> Molality:
    """Dechlorination agent dosed, moles per kilogram of water.

    Stoichiometric to the residual chlorine, times the dose ratio of practice; residual is total oxidant as
    chlorine.
    """
    return residual_chlorine / CHLORINE * reducer_moles * bisulfite_multiple / water_content


def ph_of(total_alkalinity: Any, **rest: Any) -> Any:
    """pH on the total scale at which the balance holds.

    Parameters
    ----------
    total_alkalinity : float or array
        eq per kg water.
    **rest : float or array
        The other arguments of `alkalinity_at_ph` but `ph_total`; they broadcast.

    Returns
    -------
    float or ndarray
        To 1e-12; alkalinity rises with pH throughout, so there is one root.

    Raises
    ------
    Infeasible
        No pH between 2 and 12.
    """
    wanted = np.asarray(total_alkalinity, dtype=float)
    shape = np.broadcast_shapes(wanted.shape, *(np.shape(v) for v in rest.values()))
    low, high = np.full(shape, LOWEST), np.full(shape, HIGHEST)

    def over(ph: Any) -> Any:
        return alkalinity_at_ph.at("feed.alkalinity_at_ph", ph_total=ph, **rest) - wanted

    with values(keep=False):
        at_low, at_high = over(low), over(high)
        if np.any(at_low > 0.0) or np.any(at_high < 0.0):
            raise Infeasible("no pH between 2 and 12 has this alkalinity", where="feed.alkalinity",
                             value=f"{float(np.min(wanted)) * 1e3:.4g}", unit="meq/kg",
                             do="lower the doses of acid and ferric, or check the analysis")
        ph = 0.5 * (low + high)
        for _ in range(60):  # Newton, kept within the bracket by halving
            here = over(ph)
            low, high = np.where(here <= 0.0, ph, low), np.where(here > 0.0, ph, high)
            slope = (over(ph + 1e-6) - here) / 1e-6
            step = ph - here / slope
            new = np.where((step >= low) & (step <= high), step, 0.5 * (low + high))
            if np.max(np.abs(new - ph)) < 1e-13 * HIGHEST:
                ph = new
                break
            ph = new
    return float(ph) if shape == () else ph


@relation("Concentration in the concentrate, by volume", symbol="C_c", unit="kg/m^3", source="astm-d4582",
          place="7.1 and 7.2")
def concentrate_as_caco3(feed_as_caco3: AsCaCO3, recovery: Fraction, solute_passage: Fraction) -> AsCaCO3:
    """Calcium or alkalinity of the concentrate, as CaCO3, from that of the feed.

    By volume and with one passage for the whole train, as the standard has it; a passage of zero is on the safe side.
    """
    return feed_as_caco3 * (1 - recovery * solute_passage) / (1 - recovery)


@relation("TDS of the concentrate, by recovery", symbol="TDS_c", unit="kg/m^3", source="astm-d4582",
          place="7.4", note="nothing passes")
def concentrate_solids(total_dissolved_solids: Concentration, recovery: Fraction) -> Concentration:
    """Total dissolved solids of the concentrate, by recovery alone.

    Takes nothing to pass; high by the salt passage, which is below 1 % for seawater membranes.
    """
    return total_dissolved_solids / (1 - recovery)


@relation("Ionic strength", symbol="I", unit="mol/kg", source="astm-d4582", place="7.3",
          note="stoichiometric: ion pairs count as their ions")
def strength_of(molality: Molality, charge_number: ChargeNumber) -> Molality:
    """Ionic strength on the molal scale.

    Half the sum of molality times charge squared; stoichiometric, so it is higher than that of the free ions.
    """
    return dot(molality, charge_number**2) / 2


@relation(
    "Ionic strength of the concentrate",
    symbol="I_c",
    unit="mol/kg",
    source="astm-d4582",
    place="7.4, from memory; the standard is meant for concentrates above 10 000 mg/L",
    within={"concentrate_tds": ("10000 mg/L", None)},
)
def concentrate_strength(
    ionic_strength: Molality, total_dissolved_solids: Concentration, concentrate_tds: Concentration
) -> Molality:
    """Ionic strength of the concentrate, scaled from the feed.

    In proportion to salt over water with a litre taken as a kilogram, as in the standard; ion pairs are not
    looked at.
    """
    return (
        ionic_strength
        * (concentrate_tds / (MILLION - concentrate_tds))
        / (total_dissolved_solids / (MILLION - total_dissolved_solids))
    )


@relation(
    "pH of saturation, simplified",
    symbol="pH_s",
    unit="1",
    source="astm-d3739",
    place="the reprinted form with A, B, C and D",
    note="older constants: the index it gives lies some 0.2 below thermodynamics",
    within={"total_dissolved_solids": ("10 mg/L", "10000 mg/L"), "temperature": ("0 degC", "90 degC")},
)
def simplified_saturation_ph(
    total_dissolved_solids: Concentration, temperature: K, calcium: AsCaCO3, alkalinity: AsCaCO3
) -> PHNbs:
    """pH of saturation for the Langelier index, simplified form 9.3 + A + B - C - D.

    For waters up to 10 g/L; in seawater and concentrate the Stiff and Davis index or the engine's is used.
    """
    return (
        9.3
        + (log10(total_dissolved_solids / MG_L) - 1) / 10
        + (-13.12 * log10(temperature / KELVIN) + 34.55)
        - (log10(calcium / MG_L) - 0.4)
        - log10(alkalinity / MG_L)
    )


@relation(
    "Stiff and Davis index",
    symbol="S&DSI",
    unit="1",
    source="astm-d4582",
    place="pH - pCa - pAlk - K",
    note="positive: calcium carbonate can precipitate; with the thermodynamic K it is near the saturation index",
)
def stiff_davis_index(ph: PHNbs, calcium: AsCaCO3, alkalinity: AsCaCO3, stiff_davis_k: Factor) -> Index:
    """Stiff and Davis stability index of calcium carbonate in saline water.

    pH plus the logarithms of calcium (mol/L) and alkalinity (eq/L) less K; for concentrate above 10 g/L,
    without inhibitor.
    """
    return ph + log10(calcium / CACO3 / LITRE) + log10(2 * alkalinity / CACO3 / LITRE) - stiff_davis_k
