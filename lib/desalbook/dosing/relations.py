"""Doses and feed rates. A dose says what it counts: as the substance, as Cl2, as product."""

from __future__ import annotations

from typing import Annotated

from desalbook.trail import maximum, relation
from desalbook.units import (
    KINDS,
    M3,
    AsCaCO3,
    AsCl2,
    AsProduct,
    Concentration,
    Factor,
    Fraction,
    Kg,
    KgPerM3,
    KgPerS,
    M3PerS,
    MassFraction,
    MassRatio,
    Molality,
    MolarMass,
    S,
)

__all__ = [
    "aged_strength",
    "alkalinity_by_bisulfite",
    "alkalinity_by_ferric",
    "bund_volume",
    "chlorine_dose_of",
    "chlorine_rate",
    "dechlorination_dose",
    "dose_of_amount",
    "excess_oxygen",
    "feed_rate",
    "ferric_as_salt",
    "ferric_solids",
    "mean_chlorine",
    "oxygen_by_excess",
    "per_residual",
    "product_rate",
    "shock_left",
    "stored",
    "substance_rate",
    "turndown",
    "used",
]

DoseFlow = Annotated[float, KINDS["flow.dose"]]
Litres = Annotated[float, KINDS["volume.small"]]
Days = Annotated[float, KINDS["time.day"]]


@relation("Mass rate", symbol="W", unit="kg/s", source="definition")
def substance_rate(flow: M3PerS, dose: Concentration) -> KgPerS:
    """Mass rate of a pure substance.

    Flow times dose; the solution's mass follows through its strength.
    """
    return flow * dose


@relation("Mass rate, as Cl2", symbol="W", unit="kg/s", source="definition")
def chlorine_rate(flow: M3PerS, chlorine_dose: AsCl2) -> KgPerS:
    """Mass rate of available chlorine, as Cl2.

    Flow times dose; the product's own mass follows through its strength.
    """
    return flow * chlorine_dose


@relation("Mass rate, as product", symbol="W", unit="kg/s", source="definition")
def product_rate(flow: M3PerS, antiscalant_dose: AsProduct) -> KgPerS:
    """Mass rate of a product, as bought.

    Flow times dose as product; dilution does not change it.
    """
    return flow * antiscalant_dose


@relation(
    "Strength when used",
    symbol="w_s",
    unit="1",
    source="common-practice",
    note="hypochlorite loses strength with time, warmth and strength itself",
)
def aged_strength(neat_strength: MassFraction, strength_left: Fraction) -> MassFraction:
    """Strength of a chemical when it is used.

    Strength as delivered times what storage leaves of it; only hypochlorite loses enough to matter.
    """
    return neat_strength * strength_left


@relation("Feed rate", symbol="q_c", unit="m^3/s", source="definition")
def feed_rate(mass_flow: KgPerS, strength: MassFraction, solution_density: KgPerM3) -> DoseFlow:
    """Feed rate of a chemical solution.

    Strength in the basis of the dose (as product, as Cl2, as the pure substance) and density at the store's
    temperature.
    """
    return mass_flow / (strength * solution_density)


@relation("Span of the pump", symbol="r_q", unit="1", source="definition")
def turndown(highest_feed: DoseFlow, lowest_feed: DoseFlow) -> Factor:
    """Turndown of a dosing pump: highest over lowest feed rate.

    From the extremes of flow and dose together; it is met by stroke times speed.
    """
    return highest_feed / lowest_feed


@relation("Volume stored", symbol="V_d", unit="m^3", source="definition")
def stored(dosing_flow: DoseFlow, storage_time: Days) -> Litres:
    """Volume fed in a storage time.

    At the mean feed rate; the smallest tank follows from it.
    """
    return dosing_flow * storage_time


@relation("Solution used", symbol="m_u", unit="kg", source="definition", note="plant running all the time")
def used(dosing_flow: DoseFlow, solution_density: KgPerM3, usage_time: Days) -> Kg:
    """Solution used in a time, as a mass.

    Mean feed rate with the plant running all the time; a year with its stops is another relation.
    """
    return dosing_flow * solution_density * usage_time


@relation(
    "Volume of the bund",
    symbol="V_b",
    unit="m^3",
    source="co-8-ccr-1206",
    note="10 % sheltered, 25 % in the rain; local codes govern",
)
def bund_volume(tank_volume: M3, containment_share: Fraction, displaced_volume: M3) -> M3:
    """Bund volume: largest tank, an allowance and what else stands in the bund.

    10 % sheltered and 25 % in the rain by the rule cited; local codes govern.
    """
    return tank_volume * (1 + containment_share) + displaced_volume


@relation(
    "Chlorine dose",
    symbol="D_Cl2",
    unit="kg/m^3",
    source="common-practice",
    note="demand by the water's own test; it changes with season and bloom",
)
def chlorine_dose_of(chlorine_demand: AsCl2, chlorine_residual: AsCl2) -> AsCl2:
    """Chlorine dose: demand of the water plus the residual wanted.

    Demand comes from a test on the water itself and moves with season and algal bloom.
    """
    return chlorine_demand + chlorine_residual


@relation("Chlorine dose, mean", symbol="D_m", unit="kg/m^3", source="definition")
def mean_chlorine(chlorine_dose: AsCl2, shock_dose: AsCl2, shock_time: S, shock_interval: S) -> AsCl2:
    """Mean chlorine dose over time, shocks included.

    For use and by-products over a year; the pump follows the shock.
    """
    return chlorine_dose + (shock_dose - chlorine_dose) * shock_time / shock_interval


@relation(
    "Residual during a shock",
    symbol="C_r,sh",
    unit="kg/m^3",
    source="common-practice",
    note="demand as in continuous dosing, so the residual is a high estimate",
)
def shock_left(shock_dose: AsCl2, chlorine_demand: AsCl2) -> AsCl2:
    """Residual chlorine the dechlorination meets during a shock.

    Demand as in continuous dosing, so the residual is a high estimate, on the safe side.
    """
    return maximum(shock_dose - chlorine_demand, 0)


@relation(
    "Dose of reducing agent",
    symbol="D_s",
    unit="kg/m^3",
    source="awwa-dechlorination",
    note="stoichiometry times a practical multiple; oxygen is not counted",
)
def dechlorination_dose(
    residual_chlorine: AsCl2, per_chlorine: MassRatio, bisulfite_multiple: Factor
) -> Concentration:
    """Dose of dechlorination agent for the residual at its point.

    Stoichiometric dose times the dose ratio of practice; slow mixing, not stoichiometry, is what lets chlorine
    slip.
    """
    return residual_chlorine * per_chlorine * bisulfite_multiple


@relation("Reducing agent per residual chlorine", symbol="r_s", unit="1", source="definition")
def per_residual(per_chlorine: MassRatio, bisulfite_multiple: Factor) -> MassRatio:
    """Reducing agent per residual chlorine, with the dose ratio of practice.

    Mass of product per mass of Cl2; the ratio covers poor mixing and an aged solution.
    """
    return per_chlorine * bisulfite_multiple


@relation(
    "Oxygen the excess could take",
    symbol="C_O2",
    unit="kg/m^3",
    source="iupac-weights",
    note="reported, never added to the dose: oxygen is taken slowly",
)
def oxygen_by_excess(
    bisulfite_dose: Concentration, residual_chlorine: AsCl2, per_chlorine: MassRatio, per_oxygen: MassRatio
) -> Concentration:
    """Dissolved oxygen the excess of reducing agent could take.

    Reported and never added to the dose, for oxygen is taken slowly; some plants see slime where it is.
    """
    return (bisulfite_dose - residual_chlorine * per_chlorine) / per_oxygen


@relation(
    "Reducing agent for all oxygen",
    symbol="D_O2",
    unit="kg/m^3",
    source="iupac-weights",
    note="for comparison only; no plant doses this",
)
def excess_oxygen(concentration: Concentration, per_oxygen: MassRatio) -> Concentration:
    """Reducing agent all dissolved oxygen would ask for.

    For comparison only: the reaction is slow without a catalyst, and no plant doses for it.
    """
    return concentration * per_oxygen


@relation(
    "Alkalinity taken by dechlorination",
    symbol="dAlk",
    unit="kg/m^3",
    source="iupac-weights",
    note="two equivalents a mole: bisulfite with hypochlorous acid; with hypochlorite one, half of this",
)
def alkalinity_by_bisulfite(residual_chlorine: AsCl2, alkalinity_per_chlorine: MassRatio) -> AsCaCO3:
    """Alkalinity taken by dechlorination with bisulfite, as CaCO3.

    Two equivalents a mole of chlorine: bisulfite turns to sulfate and acid; sulfite salts take less.
    """
    return residual_chlorine * alkalinity_per_chlorine


@relation("Ferric chloride dose", symbol="D_FeCl3", unit="kg/m^3", source="iupac-weights")
def ferric_as_salt(coagulant_dose: Concentration, iron_content: MassRatio) -> Concentration:
    """Ferric chloride dose, from a dose counted as iron.

    By molar masses; which of the two a specification means has to be asked.
    """
    return coagulant_dose / iron_content


@relation("Alkalinity taken by the coagulant", symbol="dAlk", unit="kg/m^3", source="iupac-weights")
def alkalinity_by_ferric(ferric_dose: Concentration, per_ferric: MassRatio) -> AsCaCO3:
    """Alkalinity taken by ferric coagulant, as CaCO3.

    Three equivalents a mole of iron, all hydrolysed; free acid of the product comes on top.
    """
    return ferric_dose * per_ferric


@relation(
    "Solids of the coagulant",
    symbol="dTSS",
    unit="kg/m^3",
    source="iupac-weights",
    note="dry Fe(OH)3; bound water makes up to 1.2 times as much",
)
def ferric_solids(ferric_dose: Concentration, per_ferric: MassRatio) -> Concentration:
    """Solids a ferric coagulant makes, as dry hydroxide.

    All iron precipitates; bound water makes the load on the filters up to 1.2 times as much.
    """
    return ferric_dose * per_ferric


@relation("Dose by volume", symbol="D", unit="kg/m^3", source="definition")
def dose_of_amount(
    amount: Molality, molar_mass: MolarMass, density: KgPerM3, total_dissolved_solids: Concentration
) -> Concentration:
    """Dose per volume, from moles per kilogram of water.

    Goes through the water a volume holds, its density less its salt.
    """
    return amount * molar_mass * (density - total_dissolved_solids)
