"""Acid and base in sea water by the published saline constants: alkalinity, what a dose takes of it, pH.

All amounts per kilogram of water, the constants per kilogram of sea water on the total scale, so that the
salinity stands in each balance. The geochemical engine answers the same for concentrate and scale, by its own
constants; in sea water its pH lies up to 0.07 above these and falls less as the water warms.
"""

from __future__ import annotations

from desalbook.trail import constant, log, relation
from desalbook.units import AsCl2, ChargeNumber, Factor, K, KgPerM3, Molality, PHTotal, Salinity
from desalbook.water.acid_constants import KELVIN, LN10

__all__ = [
    "acid_for_alkalinity",
    "alkalinity_after",
    "alkalinity_at_ph",
    "alkalinity_left_over",
    "free_carbon_dioxide",
    "inorganic_carbon",
    "pk_water_saline",
    "reducer_amount",
]

ONE = constant("b_1", 1.0, "mol/kg", source="definition", title="One mole per kilogram")
CHLORINE = constant("M_Cl2", 0.07090, "kg/mol", source="iupac-weights", title="Molar mass of Cl2")


@relation(
    "Constant of water in sea water",
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


@relation("Inorganic carbon", symbol="b_C", unit="mol/kg", source="definition")
def inorganic_carbon(bicarbonate_molality: Molality, carbonate_molality: Molality) -> Molality:
    """Total inorganic carbon per kilogram of water.

    As the analysis states it under bicarbonate and carbonate; free carbon dioxide has to be under one of them.
    """
    return bicarbonate_molality + carbonate_molality


@relation(
    "Alkalinity at this pH",
    symbol="b_A",
    unit="mol/kg",
    source="dickson-2007",
    place="definition of total alkalinity; phosphate, silicate, fluoride and sulfate left out",
    note="what is left out is below 0.2 % of the alkalinity of sea water between pH 6.5 and 8.5",
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

    Constants and pH on the total scale; silicate, phosphate and ammonia are left out and would matter in wells.
    """
    return (
        carbon * (10 ** (ph_total - pk1) + 2 * 10 ** (2 * ph_total - pk1 - pk2))
        / (1 + 10 ** (ph_total - pk1) + 10 ** (2 * ph_total - pk1 - pk2))
        + boron_molality / (1 + 10 ** (pk_boric - ph_total))
        + (10 ** (ph_total - pk_water) - 10 ** (-ph_total)) * (1 + salinity) * ONE
    )


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


@relation("Alkalinity less alkalinity found again", symbol="r_A", unit="mol/kg", source="definition")
def alkalinity_left_over(total_alkalinity: Molality, found_alkalinity: Molality) -> Molality:
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


@relation("Reducing agent per water", symbol="m_r", unit="mol/kg", source="definition",
          note="the excess is counted as oxidised in the end, which takes the same alkalinity")
def reducer_amount(
    residual_chlorine: AsCl2, reducer_moles: Factor, bisulfite_multiple: Factor, water_content: KgPerM3
) -> Molality:
    """Reducing agent dosed, moles per kilogram of water.

    Stoichiometric to the residual chlorine, times the dose ratio of practice; residual is total oxidant as
    chlorine.
    """
    return residual_chlorine / CHLORINE * reducer_moles * bisulfite_multiple / water_content
