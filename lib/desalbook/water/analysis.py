"""A water analysis: equivalents and their balance, alkalinity, dissolved solids, molality and salinity.

`raw_water` reads an analysis with these equations, `checks` judges it, `blend` joins several.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.trail import (
    Column,
    Figure,
    assumed,
    constant,
    dot,
    maximum,
    relation,
    where,
)
from desalbook.units import (
    AsCaCO3,
    ChargeNumber,
    Concentration,
    EqPerM3,
    Factor,
    Fraction,
    KgPerM3,
    MassRatio,
    Molality,
    MolarMass,
    Salinity,
)
from desalbook.water import carbonate
from desalbook.water.basis import HALF_CACO3
from desalbook.water.species import IONS

__all__ = [
    "Analysis",
    "alkalinity_equivalents",
    "anions",
    "balance_deviation",
    "balance_error",
    "balance_limit",
    "cations",
    "equivalents_of",
    "molality_of",
    "salinity_of",
    "total_of_constituents",
]

BICARBONATE = constant("M_HCO3", 0.061016, "kg/mol", source="iupac-weights", title="Molar mass of HCO3")
CARBONATE = constant("M_CO3", 0.060008, "kg/mol", source="iupac-weights", title="Molar mass of CO3")
DILUTE = constant(
    "C_eq1", 3.0, "mol/m^3", source="standard-methods", title="Anion sum below which 0.2 meq/L holds"
)
MIDDLE = constant(
    "C_eq2", 10.0, "mol/m^3", source="standard-methods", title="Anion sum below which 2 % holds"
)
ALLOWED = constant(
    "dC_eq", 0.2, "mol/m^3", source="standard-methods", title="Difference allowed in dilute water"
)


@relation(
    "TDS, sum of constituents",
    symbol="TDS",
    unit="kg/m^3",
    source="standard-methods",
    place="1030E, here with all bicarbonate counted",
    note="bicarbonate counts in full, not as dry residue",
)
def total_of_constituents(concentration: Concentration, salt_per_basis: MassRatio) -> Concentration:
    """Total dissolved solids as the sum of the constituents analysed.

    Boron counts as boric acid and the others as reported; what was not analysed is not in it.
    """
    return dot(concentration, salt_per_basis)


@relation("Equivalents of each ion", symbol="e_i", unit="mol/m^3", source="definition")
def equivalents_of(concentration: Concentration, charge_number: ChargeNumber, molar_mass: MolarMass) -> EqPerM3:
    """Equivalents of each ion per volume, with the sign of its charge.

    Fails to say how much there is for boron, silica and phosphate, whose charge moves with pH.
    """
    return concentration / molar_mass * charge_number


@relation("Sum of cations", symbol="C_+", unit="mol/m^3", source="standard-methods", place="1030E")
def cations(concentration: Concentration, charge_number: ChargeNumber, molar_mass: MolarMass) -> EqPerM3:
    """Sum of cations of an analysis, in equivalents.

    Ions that were not analysed are missing from it; iron and metals in traces hardly count.
    """
    return dot(concentration / molar_mass, maximum(charge_number, 0))


@relation("Sum of anions", symbol="C_-", unit="mol/m^3", source="standard-methods", place="1030E")
def anions(concentration: Concentration, charge_number: ChargeNumber, molar_mass: MolarMass) -> EqPerM3:
    """Sum of anions of an analysis, in equivalents.

    Given as a positive number; ions that were not analysed are missing from it without a sign.
    """
    return dot(concentration / molar_mass, maximum(-charge_number, 0))


@relation("Ion balance", symbol="e_b", unit="1", source="standard-methods", place="1030E")
def balance_error(cation_sum: EqPerM3, anion_sum: EqPerM3) -> Fraction:
    """Ion balance error of an analysis: difference over sum of equivalents.

    Positive when cations exceed anions; two errors of the laboratory can hide one another in it.
    """
    return (cation_sum - anion_sum) / (cation_sum + anion_sum)


@relation("Ion balance, without its sign", symbol="|e_b|", unit="1", source="definition")
def balance_deviation(balance: Fraction) -> Fraction:
    """Magnitude of the ion balance error.

    What is judged; which side is short is told by the error with its sign.
    """
    return maximum(balance, -balance)


@relation(
    "Ion balance allowed",
    symbol="e_max",
    unit="1",
    source="standard-methods",
    place="1030E, from memory",
    note="the 5 % of the method ends at 800 meq/L of anions; stronger waters are judged the same here",
    within={"anion_sum": (None, "800 meq/L")},
)
def balance_limit(cation_sum: EqPerM3, anion_sum: EqPerM3) -> Fraction:
    """Ion balance error that a laboratory may leave, by strength of the water.

    0.2 meq/L up to 3 meq/L of anions, 2 % up to 10 and 5 % above: too coarse for seawater, where constant
    proportions see more.
    """
    return where(
        anion_sum <= DILUTE, ALLOWED / (cation_sum + anion_sum), where(anion_sum <= MIDDLE, 0.02, 0.05)
    )


@relation(
    "Alkalinity",
    symbol="Alk",
    unit="kg/m^3",
    source="definition",
    note="bicarbonate and carbonate only; in seawater borate adds some 4 % to a titration",
)
def alkalinity_equivalents(bicarbonate: Concentration, carbonate: Concentration) -> AsCaCO3:
    """Carbonate alkalinity as CaCO3.

    Equivalents of bicarbonate and twice those of carbonate; borate and hydroxide, which a titration counts, are
    not in it.
    """
    return (bicarbonate / BICARBONATE + 2 * carbonate / CARBONATE) * HALF_CACO3


@relation("Molality", symbol="m", unit="mol/kg", source="definition")
def molality_of(
    concentration: Concentration,
    molar_mass: MolarMass,
    density: KgPerM3,
    total_dissolved_solids: Concentration,
) -> Molality:
    """Amount of each ion per kilogram of water.

    A volume holds its mass less its dissolved solids in water, so density and total have to be those of this
    very water.
    """
    return concentration / (molar_mass * (density - total_dissolved_solids))


@relation("Salinity", symbol="X", unit="1", source="definition")
def salinity_of(total_dissolved_solids: Concentration, density: KgPerM3) -> Salinity:
    """Salt per kilogram of water.

    Not per kilogram of solution, as absolute salinity is; only per kilogram of water do concentration and
    blending stay exact.
    """
    return total_dissolved_solids / (density - total_dissolved_solids)


@relation("Charge the balance lacks", symbol="C_b", unit="mol/m^3", source="definition",
          note="added only because the design asks for it; an error of the laboratory is hidden, not mended")
def missing_charge_of(cation_sum: EqPerM3, anion_sum: EqPerM3) -> EqPerM3:
    """Positive charge an analysis lacks; negative where cations exceed anions.

    What a balancing ion would have to bring; large values are a reason to repeat the analysis.
    """
    return anion_sum - cation_sum


@relation("Ions, balanced on request", symbol="C", unit="kg/m^3", source="definition")
def balanced(concentration: Concentration, balance_mass: MolarMass, missing_charge: EqPerM3) -> Concentration:
    """Concentrations after the ion balance is closed with one ion.

    That ion takes up the whole difference and the others stay; it makes the analysis neutral, not right.
    """
    return concentration + balance_mass * missing_charge


@relation("Inorganic carbon from alkalinity, as HCO3", symbol="C", unit="kg/m^3", source="definition")
def carbon_of_alkalinity(
    concentration: Concentration, kept_ions: Factor, carbon_mark: Factor, carbon_per_alkalinity: Factor
) -> Concentration:
    """Ions with the inorganic carbon behind a titrated alkalinity stated as HCO3, in place of the alkalinity.

    Takes off what the titration counts besides carbon (borate, hydroxide, carbonate twice); all carbon stands under
    HCO3 from here on, and the other ions stay.
    """
    return concentration * (kept_ions + carbon_mark * carbon_per_alkalinity)


@dataclass(frozen=True)
class Analysis:
    """The raw water as the kit carries it on.

    Parameters
    ----------
    ions : Column
        Concentrations as analysed along axis ``ion`` (kg/m3).
    charge, molar_mass : Column
        Of each ion; kg/mol of the basis it is reported in.
    molality : Column
        mol per kg water.
    total_dissolved_solids, density : Figure
        kg/m3, at the laboratory's temperature.
    salinity : Figure
        kg salt per kg water.
    practical_salinity : Figure
    balance : Figure
        Ion balance error, -1 to 1.
    ph, ph_total : Figure
        On the NBS and on the total scale, at the laboratory's temperature.
    alkalinity : Figure
        kg/m3 as CaCO3.
    temperature : Figure
        K, of the laboratory.
    """

    ions: Column
    charge: Column
    molar_mass: Column
    molality: Column
    total_dissolved_solids: Figure
    density: Figure
    salinity: Figure
    practical_salinity: Figure
    balance: Figure
    ph: Figure
    ph_total: Figure
    alkalinity: Figure
    temperature: Figure


def columns(at: str, keys: tuple[str, ...]) -> tuple[Column, Column, Column]:
    """Charge, molar mass as reported and salt per reported mass of these ions, recorded."""
    rows = [IONS[k] for k in keys]
    said: dict[str, Any] = {"axis": "ion", "keys": keys, "source": "iupac-weights", "table": "chemistry/ions"}
    return (
        assumed(f"{at}.ion_charge", [r.charge for r in rows], "charge number", title="Charge", symbol="z", **said),
        assumed(f"{at}.ion_molar_mass", [r.basis_molar_mass for r in rows], "molar mass",
                title="Molar mass as reported", symbol="M", **said),
        assumed(f"{at}.salt_per_basis", [r.molar_mass / r.basis_molar_mass for r in rows], "mass ratio",
                title="Salt per reported mass", symbol="r", **said))


def both_scales(inp: Callable[[str], Any], at: str) -> tuple[Figure, Figure]:
    """pH on the NBS and on the total scale, from the one that stands."""
    ph, total = inp(f"{at}.ph"), inp(f"{at}.ph_total")
    if ph is not None:
        return ph, carbonate.total_from_nbs.at(f"{at}.ph_on_total_scale", ph=ph)
    return carbonate.nbs_from_total.at(f"{at}.ph_on_nbs_scale", ph_total=total), total


def carbonate_alkalinity(at: str, ions: Column) -> Figure:
    """Recorded from bicarbonate and carbonate as they stand."""
    carbonate = ions["CO3"] if "CO3" in ions else assumed(
        f"{at}.carbonate", 0.0, "concentration", title="Carbonate, not stated apart", symbol="C_CO3",
        source="definition")
    return alkalinity_equivalents.at(f"{at}.alkalinity", bicarbonate=ions["HCO3"], carbonate=carbonate)


def engine_says(database: str = "brine") -> dict[str, str]:
    """Library, version, data and checksum, for an engine line."""
    from desalbook.water.phreeqc import engine_record

    about = engine_record(database)
    return {"library": about.library, "version": about.library_version, "data": about.database,
            "checksum": about.sha256}


def substituted(found: Any) -> str:
    """What the data set lacks and what stood in."""
    return "; ".join(f"{s.ion} stands as {s.by} ({s.share:.1e} of the charge)" for s in found.substitutions)
