"""From amounts per kilogram of water to what a product is judged by."""

from __future__ import annotations

from desalbook.trail import constant, relation, sqrt, total
from desalbook.units import (
    AsCaCO3,
    Concentration,
    Index,
    KgPerM3,
    Molality,
    MolarMass,
    PHNbs,
)

__all__ = [
    "as_calcite",
    "calcium_as_caco3",
    "carbon_of",
    "carbonate_alkalinity",
    "concentration_of",
    "dose_amount",
    "dose_from_amount",
    "equivalents_as_caco3",
    "langelier_index",
    "sodium_adsorption_ratio",
    "solids_of",
    "water_content_of",
]

CALCITE = constant("M_CaCO3", 0.100086, "kg/mol", source="iupac-weights", title="Molar mass of CaCO3")
MILLIMOLE = constant("c_1", 1.0, "mol/m^3", source="definition", title="One millimole per litre")


@relation("Inorganic carbon of the permeate", symbol="m_C", unit="mol/kg", source="definition")
def carbon_of(
    carbon_dioxide: Molality, bicarbonate_molality: Molality, carbonate_molality: Molality
) -> Molality:
    """Carbon dioxide passes freely, ions hardly."""
    return carbon_dioxide + bicarbonate_molality + carbonate_molality


@relation(
    "Alkalinity of the permeate",
    symbol="m_Alk",
    unit="mol/kg",
    source="definition",
    note="bicarbonate and carbonate; borate that passed is below 1e-5 eq/kg",
)
def carbonate_alkalinity(bicarbonate_molality: Molality, carbonate_molality: Molality) -> Molality:
    """Equivalents per kilogram of water."""
    return bicarbonate_molality + 2 * carbonate_molality


@relation("Water in a volume of solution", symbol="rho_w", unit="kg/m^3", source="definition")
def water_content_of(density: KgPerM3, total_dissolved_solids: Concentration) -> KgPerM3:
    """Density less the salt."""
    return density - total_dissolved_solids


@relation("Concentration", symbol="C_i", unit="kg/m^3", source="definition")
def concentration_of(molality: Molality, molar_mass: MolarMass, water_content: KgPerM3) -> Concentration:
    """From moles per kilogram of water, in the basis of the molar mass."""
    return molality * molar_mass * water_content


@relation(
    "Dissolved solids of the product",
    symbol="TDS_P",
    unit="kg/m^3",
    source="definition",
    note="inorganic carbon counts as bicarbonate, boron as boric acid",
)
def solids_of(molality: Molality, molar_mass: MolarMass, water_content: KgPerM3) -> Concentration:
    """Sum over the constituents."""
    return total(molality * molar_mass) * water_content


@relation("Alkalinity as CaCO3", symbol="Alk", unit="kg/m^3", source="definition")
def equivalents_as_caco3(equivalents: Molality, water_content: KgPerM3) -> AsCaCO3:
    """Half a mole of CaCO3 an equivalent."""
    return equivalents * (CALCITE / 2) * water_content


@relation("Calcium as CaCO3", symbol="Ca", unit="kg/m^3", source="definition")
def calcium_as_caco3(calcium_molality: Molality, water_content: KgPerM3) -> AsCaCO3:
    """A mole of CaCO3 a mole of calcium."""
    return calcium_molality * CALCITE * water_content


@relation(
    "Calcium carbonate precipitation potential",
    symbol="CCPP",
    unit="kg/m^3",
    source="standard-methods",
    place="2330",
    note="positive: can precipitate; negative: can dissolve. Closed system, calcite",
)
def as_calcite(precipitable: Molality, water_content: KgPerM3) -> AsCaCO3:
    """As the mass of CaCO3 in a volume."""
    return precipitable * CALCITE * water_content


@relation("Langelier index", symbol="LSI", unit="1", source="langelier-1936")
def langelier_index(ph: PHNbs, saturation_ph: PHNbs) -> Index:
    """Positive: supersaturated with calcite."""
    return ph - saturation_ph


@relation("Amount dosed", symbol="m_d", unit="mol/kg", source="definition")
def dose_amount(dose: Concentration, molar_mass: MolarMass, water_content: KgPerM3) -> Molality:
    """Moles per kilogram of the water that is dosed."""
    return dose / (molar_mass * water_content)


@relation("Dose", symbol="D", unit="kg/m^3", source="definition")
def dose_from_amount(amount: Molality, molar_mass: MolarMass, water_content: KgPerM3) -> Concentration:
    """Mass per volume of the water that is dosed."""
    return amount * molar_mass * water_content


@relation("Sodium adsorption ratio", symbol="SAR", unit="1", source="fao-29")
def sodium_adsorption_ratio(
    sodium_molality: Molality,
    calcium_molality: Molality,
    magnesium_molality: Molality,
    water_content: KgPerM3,
) -> Index:
    """Sodium over the root of half the sum of calcium and magnesium, in meq/L."""
    return (
        sodium_molality
        * water_content
        / MILLIMOLE
        / sqrt((calcium_molality + magnesium_molality) * water_content / MILLIMOLE)
    )
