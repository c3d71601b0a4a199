"""What a product is judged by: ions, solids, alkalinity, hardness, CCPP, Langelier index and sodium adsorption."""

from __future__ import annotations

from desalbook.product.stoichiometry import CALCITE
from desalbook.trail import Figure, constant, relation, sqrt, total
from desalbook.units import AsCaCO3, Concentration, Index, KgPerM3, Molality, MolarMass, PHNbs

__all__ = [
    "as_caco3",
    "ccpp",
    "concentration_of",
    "equivalents_as_caco3",
    "hardness_of",
    "langelier_index",
    "sodium_adsorption_ratio",
    "solids_of",
    "water_content_of",
]

MILLIMOLE = constant("c_1", 1.0, "mol/m^3", source="definition", title="One millimole per litre")


@relation("Water in a volume of solution", symbol="rho_w", unit="kg/m^3", source="definition")
def water_content_of(density: KgPerM3, total_dissolved_solids: Concentration) -> KgPerM3:
    """Mass of water in a volume of solution: its density less the salt.

    Suspended matter and dissolved gas are neglected.
    """
    return density - total_dissolved_solids


@relation("Concentration", symbol="C_i", unit="kg/m^3", source="definition")
def concentration_of(molality: Molality, molar_mass: MolarMass, water_content: KgPerM3) -> Concentration:
    """Mass in a volume of solution, from moles per kilogram of water.

    In the basis of the molar mass: carbon as HCO3, boron as B, calcite as CaCO3.
    """
    return molality * molar_mass * water_content


@relation(
    "TDS of the product",
    symbol="TDS_P",
    unit="kg/m^3",
    source="definition",
    note="inorganic carbon counts as bicarbonate, boron as boric acid",
)
def solids_of(molality: Molality, molar_mass: MolarMass, water_content: KgPerM3) -> Concentration:
    """Total dissolved solids, the sum over the constituents.

    Not what drying leaves: half of the bicarbonate goes off as gas there.
    """
    return total(molality * molar_mass) * water_content


@relation("Alkalinity as CaCO3", symbol="Alk", unit="kg/m^3", source="definition")
def equivalents_as_caco3(equivalents: Molality, water_content: KgPerM3) -> AsCaCO3:
    """Equivalents as the mass of CaCO3 in a volume, half a mole an equivalent.

    For alkalinity and for charge; moles of calcium or carbonate count whole (`as_caco3`).
    """
    return equivalents * (CALCITE / 2) * water_content


@relation("Calcium as CaCO3", symbol="Ca", unit="kg/m^3", source="definition")
def as_caco3(molality: Molality, water_content: KgPerM3) -> AsCaCO3:
    """Moles of calcium, or of calcite, as the mass of CaCO3 in a volume.

    A mole for a mole; equivalents count half (`equivalents_as_caco3`).
    """
    return molality * CALCITE * water_content


@relation("Hardness", symbol="TH", unit="kg/m^3", source="definition")
def hardness_of(
    calcium_molality: Molality, magnesium_molality: Molality, water_content: KgPerM3
) -> AsCaCO3:
    """Total hardness: calcium and magnesium as CaCO3.

    Strontium is neglected, well below 1 % of it in permeate of seawater.
    """
    return (calcium_molality + magnesium_molality) * CALCITE * water_content


@relation("Langelier index", symbol="LSI", unit="1", source="langelier-1936")
def langelier_index(ph: PHNbs, saturation_ph: PHNbs) -> Index:
    """Langelier saturation index: pH over the pH of saturation with calcite; positive is supersaturated.

    Says what the water does to calcite, not to metal, and nothing of how much: a water of little alkalinity may
    have a high index and hardly anything to precipitate (see `ccpp`).
    """
    return ph - saturation_ph


@relation("Sodium adsorption ratio", symbol="SAR", unit="1", source="fao-29")
def sodium_adsorption_ratio(
    sodium_molality: Molality,
    calcium_molality: Molality,
    magnesium_molality: Molality,
    water_content: KgPerM3,
) -> Index:
    """Sodium adsorption ratio: sodium over the root of half the sum of calcium and magnesium, in meq/L.

    Without regard to calcite that forms in the soil; of water that is blended, the blend counts.
    """
    return (
        sodium_molality
        * water_content
        / MILLIMOLE
        / sqrt((calcium_molality + magnesium_molality) * water_content / MILLIMOLE)
    )


def ccpp(id: str, precipitable: Figure, water_content: Figure, title: str = "") -> Figure:
    """Calcium carbonate precipitation potential (CCPP), from moles of calcite that can precipitate.

    As standard-methods 2330 counts it: positive can precipitate, negative can dissolve, in a closed system.
    """
    return as_caco3.at(
        id, molality=precipitable, water_content=water_content, symbol="CCPP",
        title=title or "Calcium carbonate precipitation potential",
        note="positive: can precipitate; negative: can dissolve. Closed system, calcite")
