"""Post-treatment: stoichiometry of minerals, stripping, contactor, contact time and by-products."""

from __future__ import annotations

from typing import Annotated

from desalbook.trail import constant, relation, up
from desalbook.units import (
    KINDS,
    M2,
    M3,
    AsCaCO3,
    AsCl2,
    Concentration,
    Count,
    Factor,
    FiltrationRate,
    Fraction,
    KgPerM3,
    KgPerS,
    M,
    M3PerS,
    MassFraction,
    MassRatio,
    Molality,
    S,
)

__all__ = [
    "acid_for_calcite",
    "bed_area",
    "bed_depth",
    "bed_volume",
    "blended",
    "brought_by_hypochlorite",
    "calcite_for",
    "calcite_use",
    "caustic_for",
    "chlorate_by_hypochlorite",
    "co2_for_calcite",
    "co2_for_caustic",
    "co2_for_lime",
    "contactors_for",
    "equilibrium_carbon_dioxide",
    "hardness_of",
    "lime_for",
    "refill_time",
    "stripped",
    "t10_of",
    "tank_each",
    "through_contactor",
    "treated_flow",
]

Days = Annotated[float, KINDS["time.day"]]
CALCITE = constant("M_CaCO3", 0.100086, "kg/mol", source="iupac-weights", title="Molar mass of CaCO3")
LIME = constant("M_CaOH2", 0.074092, "kg/mol", source="iupac-weights", title="Molar mass of Ca(OH)2")
GAS = constant("M_CO2", 0.044009, "kg/mol", source="iupac-weights", title="Molar mass of CO2")
ACID = constant("M_H2SO4", 0.098072, "kg/mol", source="iupac-weights", title="Molar mass of H2SO4")
CAUSTIC = constant("M_NaOH", 0.039997, "kg/mol", source="iupac-weights", title="Molar mass of NaOH")
CHLORINE = constant("M_Cl2", 0.07090, "kg/mol", source="iupac-weights", title="Molar mass of Cl2")
CHLORATE = constant("M_ClO3", 0.083447, "kg/mol", source="iupac-weights", title="Molar mass of ClO3")
PI = constant("pi", 3.141592653589793, "1", source="definition", title="Pi")
ATM = constant("p_atm", 1.0, "mol/kg", source="definition", title="One mole per kilogram, at one atmosphere")


@relation("Calcite for hardness", symbol="D_CaCO3", unit="kg/m^3", source="iupac-weights")
def calcite_for(hardness_gained: AsCaCO3) -> Concentration:
    """Hardness is counted as the calcite that would bring it."""
    return 1 * hardness_gained


@relation("Lime for hardness", symbol="D_CaOH2", unit="kg/m^3", source="iupac-weights")
def lime_for(hardness_gained: AsCaCO3) -> Concentration:
    """A mole of lime for a mole of calcium."""
    return hardness_gained * (LIME / CALCITE)


@relation("Caustic for alkalinity", symbol="D_NaOH", unit="kg/m^3", source="iupac-weights")
def caustic_for(alkalinity_gained: AsCaCO3) -> Concentration:
    """Two moles of caustic for a mole of alkalinity as CaCO3."""
    return alkalinity_gained * (2 * CAUSTIC / CALCITE)


@relation(
    "Carbon dioxide that calcite takes up",
    symbol="D_CO2s",
    unit="kg/m^3",
    source="iupac-weights",
    note="CaCO3 + CO2 + H2O = Ca(HCO3)2; the excess that speed asks for is apart",
)
def co2_for_calcite(calcite_dose: Concentration) -> Concentration:
    """Mole for mole."""
    return calcite_dose * (GAS / CALCITE)


@relation(
    "Carbon dioxide that lime takes up",
    symbol="D_CO2s",
    unit="kg/m^3",
    source="iupac-weights",
    note="Ca(OH)2 + 2 CO2 = Ca(HCO3)2",
)
def co2_for_lime(lime_dose: Concentration) -> Concentration:
    """Two moles for one."""
    return lime_dose * (2 * GAS / LIME)


@relation(
    "Carbon dioxide that caustic takes up",
    symbol="D_CO2s",
    unit="kg/m^3",
    source="iupac-weights",
    note="NaOH + CO2 = NaHCO3",
)
def co2_for_caustic(alkali_dose: Concentration) -> Concentration:
    """Mole for mole."""
    return alkali_dose * (GAS / CAUSTIC)


@relation(
    "Sulfuric acid that calcite takes up",
    symbol="D_H2SO4s",
    unit="kg/m^3",
    source="iupac-weights",
    note="2 CaCO3 + H2SO4 = CaSO4 + Ca(HCO3)2: two of hardness for one of alkalinity",
)
def acid_for_calcite(calcite_dose: Concentration) -> Concentration:
    """Half a mole for one."""
    return calcite_dose * (ACID / (2 * CALCITE))


@relation(
    "Carbon dioxide in balance with air",
    symbol="m_CO2e",
    unit="mol/kg",
    source="plummer-busenberg-1982",
    note="fresh water; activity coefficient of dissolved gas taken as one",
)
def equilibrium_carbon_dioxide(pk_henry: Factor, air_share: Factor) -> Molality:
    """Henry's law at one atmosphere."""
    return ATM * air_share * 10 ** (-pk_henry)


@relation("Carbon dioxide after the degasifier", symbol="m_CO2d", unit="mol/kg", source="definition")
def stripped(carbon_dioxide: Molality, carbon_dioxide_air: Molality, approach: Fraction) -> Molality:
    """The tower takes its share of the distance to balance with air."""
    return carbon_dioxide + approach * (carbon_dioxide_air - carbon_dioxide)


@relation("Blend", symbol="m_m", unit="mol/kg", source="definition")
def blended(molality: Molality, blend_molality: Molality, blend_share: Fraction) -> Molality:
    """Amounts per kilogram of water, by share of the water."""
    return molality * (1 - blend_share) + blend_molality * blend_share


@relation("Amount in the contactor", symbol="m_c", unit="mol/kg", source="definition")
def through_contactor(amount: Molality, bypass: Fraction) -> Molality:
    """What the whole product gets is brought into the part that is treated."""
    return amount / (1 - bypass)


@relation("Flow through the contactors", symbol="Q_c", unit="m^3/s", source="definition")
def treated_flow(product_flow: M3PerS, bypass: Fraction) -> M3PerS:
    """The product less what passes by."""
    return product_flow * (1 - bypass)


@relation("Calcite bed, empty-bed volume", symbol="V_bed", unit="m^3", source="definition")
def bed_volume(flow: M3PerS, bed_time: S) -> M3:
    """Flow times empty-bed contact time."""
    return flow * bed_time


@relation("Area of one contactor", symbol="A_c", unit="m^2", source="definition")
def bed_area(diameter: M) -> M2:
    """A circle."""
    return PI / 4 * diameter**2


@relation(
    "Contactors in service",
    symbol="n_c",
    unit="1",
    source="definition",
    note="one more stands by for refilling",
)
def contactors_for(flow: M3PerS, contactor_rate: FiltrationRate, contactor_area: M2) -> Count:
    """Whole contactors that keep to the loading."""
    return up(flow / (contactor_rate * contactor_area))


@relation("Depth of the calcite bed", symbol="h_bed", unit="m", source="definition")
def bed_depth(bed_volume: M3, contactor_area: M2, contactors: Count) -> M:
    """The volume over the area in service."""
    return bed_volume / (contactor_area * contactors)


@relation("Calcite used", symbol="W_cal", unit="kg/s", source="definition")
def calcite_use(product_flow: M3PerS, calcite_dose: Concentration, purity: MassFraction) -> KgPerS:
    """Dissolved, and what is not calcite."""
    return product_flow * calcite_dose / purity


@relation("Time between refills", symbol="t_fill", unit="s", source="definition")
def refill_time(bed_volume: M3, bulk_density: KgPerM3, refill_share: Fraction, calcite_rate: KgPerS) -> Days:
    """Until the share of the bed that may be used up is gone."""
    return bed_volume * bulk_density * refill_share / calcite_rate


@relation("Hardness", symbol="TH", unit="kg/m^3", source="definition")
def hardness_of(
    calcium_molality: Molality, magnesium_molality: Molality, water_content: KgPerM3
) -> AsCaCO3:
    """Calcium and magnesium."""
    return (calcium_molality + magnesium_molality) * CALCITE * water_content


@relation("Volume of one product tank", symbol="V_t", unit="m^3", source="definition")
def tank_each(flow: M3PerS, storage_time: S, tanks: Count) -> M3:
    """The store shared between like tanks."""
    return flow * storage_time / tanks


@relation(
    "Contact time with one tank out",
    symbol="t_10",
    unit="s",
    source="epa-profiling-1999",
    note="after this time a tenth of the water has left; one tank alone leaves no contact",
)
def t10_of(tank_volume: M3, tanks: Count, baffling: Factor, flow: M3PerS) -> S:
    """Baffling factor times the time at the full flow."""
    return baffling * tank_volume * (tanks - 1) / flow


@relation(
    "Chlorate brought by hypochlorite",
    symbol="C_ClO3",
    unit="kg/m^3",
    source="adam-gordon-1999",
    note="three hypochlorite give one chlorate; what gives off oxygen instead, one part in nine, is left out",
)
def chlorate_by_hypochlorite(
    chlorine_dose: AsCl2, chlorate_delivered: MassRatio, strength_left: Fraction
) -> Concentration:
    """What was delivered and what the loss of strength made, over the chlorine that is left."""
    return (
        chlorine_dose
        * (chlorate_delivered + CHLORATE / (3 * CHLORINE) * (1 - strength_left))
        / strength_left
    )


@relation("By-product brought by hypochlorite", symbol="C_by", unit="kg/m^3", source="definition")
def brought_by_hypochlorite(
    chlorine_dose: AsCl2, byproduct_ratio: MassRatio, strength_left: Fraction
) -> Concentration:
    """What was delivered per chlorine, over the chlorine that is left."""
    return chlorine_dose * byproduct_ratio / strength_left
