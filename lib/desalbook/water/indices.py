"""Trade indices of calcium carbonate in a concentrate: the Langelier and the Stiff and Davis index.

They stand beside the saturation index of calcite, which judges. The Langelier index (ASTM D3739) is meant for
concentrates of 10 to 10 000 mg/L, the Stiff and Davis index (ASTM D4582) above that. The K of the latter is a chart
in the standard; a closed form of it that circulates lies 0.7 to 1.0 above thermodynamics at the strength of sea
water, which is the unsafe side, and is not used: K is computed, unless the user reads the chart.
"""

from __future__ import annotations

from desalbook.trail import constant, dot, log10, relation
from desalbook.units import (
    AsCaCO3,
    ChargeNumber,
    Concentration,
    Factor,
    Fraction,
    Index,
    K,
    Molality,
    PHNbs,
)
from desalbook.water.acid_constants import KELVIN

__all__ = [
    "concentrate_alkalinity",
    "concentrate_hardness",
    "concentrate_solids",
    "concentrate_strength",
    "simplified_saturation_ph",
    "stiff_davis_index",
    "strength_of",
]

MG_L = constant("C_1", 0.001, "kg/m^3", source="definition", title="One milligram per litre")
MILLION = constant("C_6", 1000.0, "kg/m^3", source="astm-d4582", title="A million milligrams per litre")
CACO3 = constant("M_CaCO3", 0.100086, "kg/mol", source="iupac-weights", title="Molar mass of CaCO3")
LITRE = constant("c_1", 1000.0, "mol/m^3", source="definition", title="One mole per litre")


@relation("Calcium of the reject", symbol="Ca_c", unit="kg/m^3", source="astm-d4582", place="7.1")
def concentrate_hardness(calcium: AsCaCO3, recovery: Fraction, solute_passage: Fraction) -> AsCaCO3:
    """Calcium of the concentrate, by recovery and passage.

    A balance by volume; a passage of zero errs on the safe side of scaling.
    """
    return calcium * (1 - recovery * solute_passage) / (1 - recovery)


@relation("Alkalinity of the reject", symbol="Alk_c", unit="kg/m^3", source="astm-d4582", place="7.2")
def concentrate_alkalinity(alkalinity: AsCaCO3, recovery: Fraction, solute_passage: Fraction) -> AsCaCO3:
    """Alkalinity of the concentrate, by recovery and passage.

    A balance by volume, as the standards for saturation indices take it; pH of the concentrate is another
    matter.
    """
    return alkalinity * (1 - recovery * solute_passage) / (1 - recovery)


@relation("Dissolved solids of the reject, by recovery", symbol="TDS_c", unit="kg/m^3", source="astm-d4582",
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
    "Ionic strength of the reject",
    symbol="I_c",
    unit="mol/kg",
    source="astm-d4582",
    place="7.4, from memory; the standard is meant for rejects above 10 000 mg/L",
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
