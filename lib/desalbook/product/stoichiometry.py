"""Stoichiometry of post-treatment: moles and masses of what is dosed, and what takes up what."""

from __future__ import annotations

from desalbook.trail import constant, relation
from desalbook.units import AsCaCO3, AsCl2, Concentration, KgPerM3, Molality, MolarMass

__all__ = [
    "CALCITE",
    "CHLORINE",
    "acid_for_calcite",
    "calcite_for",
    "carbon_of",
    "carbonate_alkalinity",
    "caustic_for",
    "chlorine_amount",
    "co2_for_calcite",
    "co2_for_caustic",
    "co2_for_lime",
    "dose_amount",
    "lime_for",
]

CALCITE = constant("M_CaCO3", 0.100086, "kg/mol", source="iupac-weights", title="Molar mass of CaCO3")
LIME = constant("M_CaOH2", 0.074092, "kg/mol", source="iupac-weights", title="Molar mass of Ca(OH)2")
GAS = constant("M_CO2", 0.044009, "kg/mol", source="iupac-weights", title="Molar mass of CO2")
ACID = constant("M_H2SO4", 0.098072, "kg/mol", source="iupac-weights", title="Molar mass of H2SO4")
CAUSTIC = constant("M_NaOH", 0.039997, "kg/mol", source="iupac-weights", title="Molar mass of NaOH")
CHLORINE = constant("M_Cl2", 0.07090, "kg/mol", source="iupac-weights", title="Molar mass of Cl2")


@relation("Inorganic carbon of the permeate", symbol="m_C", unit="mol/kg", source="definition")
def carbon_of(
    carbon_dioxide: Molality, bicarbonate_molality: Molality, carbonate_molality: Molality
) -> Molality:
    """Total inorganic carbon: dissolved carbon dioxide, bicarbonate and carbonate.

    Ion pairs of carbonate are not counted apart; in permeate they are negligible, in seawater not.
    """
    return carbon_dioxide + bicarbonate_molality + carbonate_molality


@relation(
    "Alkalinity of the permeate",
    symbol="m_Alk",
    unit="mol/kg",
    source="definition",
    note="bicarbonate and carbonate; borate that passed is below 1e-5 eq/kg",
)
def carbonate_alkalinity(bicarbonate_molality: Molality, carbonate_molality: Molality) -> Molality:
    """Carbonate alkalinity, equivalents per kilogram of water.

    Hydroxide and borate are neglected: no measure for a water above pH 9.
    """
    return bicarbonate_molality + 2 * carbonate_molality


@relation("Amount dosed", symbol="m_d", unit="mol/kg", source="definition")
def dose_amount(dose: Concentration, molar_mass: MolarMass, water_content: KgPerM3) -> Molality:
    """Dose as moles per kilogram of the water that is dosed.

    The water the solution itself brings is neglected, some 0.01 % of the flow at such doses.
    """
    return dose / (molar_mass * water_content)


@relation("Hypochlorite dosed", symbol="m_OCl", unit="mol/kg", source="definition")
def chlorine_amount(chlorine_dose: AsCl2, water_content: KgPerM3) -> Molality:
    """Hypochlorite dosed: one mole for each mole of Cl2 it is counted as.

    Caustic that deliveries hold in excess is neglected; it lifts pH a little more.
    """
    return chlorine_dose / (CHLORINE * water_content)


@relation("Calcite for hardness", symbol="D_CaCO3", unit="kg/m^3", source="iupac-weights")
def calcite_for(hardness_gained: AsCaCO3) -> Concentration:
    """Calcite dissolved for a gain of hardness, which is counted as that calcite.

    Pure calcite: dolomite in the medium brings magnesium, and less mass for the same hardness.
    """
    return 1 * hardness_gained


@relation("Lime for hardness", symbol="D_CaOH2", unit="kg/m^3", source="iupac-weights")
def lime_for(hardness_gained: AsCaCO3) -> Concentration:
    """Hydrated lime for a gain of hardness: a mole for a mole of calcium.

    As pure Ca(OH)2 that dissolves whole; what stays undissolved comes on top.
    """
    return hardness_gained * (LIME / CALCITE)


@relation("Sodium hydroxide for alkalinity", symbol="D_NaOH", unit="kg/m^3", source="iupac-weights")
def caustic_for(alkalinity_gained: AsCaCO3) -> Concentration:
    """Caustic soda for a gain of alkalinity: two moles for a mole as CaCO3.

    Brings no hardness; carbon dioxide must stand by, or pH runs away.
    """
    return alkalinity_gained * (2 * CAUSTIC / CALCITE)


@relation(
    "Carbon dioxide that calcite takes up",
    symbol="D_CO2s",
    unit="kg/m^3",
    source="iupac-weights",
    note="CaCO3 + CO2 + H2O = Ca(HCO3)2; the excess that speed asks for is apart",
)
def co2_for_calcite(calcite_dose: Concentration) -> Concentration:
    """Carbon dioxide that calcite takes up, mole for mole.

    Stoichiometry alone: equilibrium leaves some gas free, and a bed of finite depth more.
    """
    return calcite_dose * (GAS / CALCITE)


@relation(
    "Carbon dioxide that lime takes up",
    symbol="D_CO2s",
    unit="kg/m^3",
    source="iupac-weights",
    note="Ca(OH)2 + 2 CO2 = Ca(HCO3)2",
)
def co2_for_lime(lime_dose: Concentration) -> Concentration:
    """Carbon dioxide that lime takes up, two moles for one.

    With less, hydroxide and carbonate are left over, and pH lies far above that of drinking water.
    """
    return lime_dose * (2 * GAS / LIME)


@relation(
    "Carbon dioxide that sodium hydroxide takes up",
    symbol="D_CO2s",
    unit="kg/m^3",
    source="iupac-weights",
    note="NaOH + CO2 = NaHCO3",
)
def co2_for_caustic(alkali_dose: Concentration) -> Concentration:
    """Carbon dioxide that caustic soda takes up, mole for mole, to bicarbonate.

    Holds near pH 8.3; above it part of the carbon is carbonate.
    """
    return alkali_dose * (GAS / CAUSTIC)


@relation(
    "Sulfuric acid that calcite takes up",
    symbol="D_H2SO4s",
    unit="kg/m^3",
    source="iupac-weights",
    note="2 CaCO3 + H2SO4 = CaSO4 + Ca(HCO3)2: two of hardness for one of alkalinity",
)
def acid_for_calcite(calcite_dose: Concentration) -> Concentration:
    """Sulfuric acid that calcite takes up, half a mole for one.

    Gives two of hardness for one of alkalinity, and sulfate with it.
    """
    return calcite_dose * (ACID / (2 * CALCITE))
