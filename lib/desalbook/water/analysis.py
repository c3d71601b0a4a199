"""From a laboratory's analysis to amounts per kilogram of water, with its own checks.

The analysis is per litre at the laboratory's temperature. Everything later counts per kilogram of *water*,
the only basis that concentrates and blends exactly, so the density of this very water is needed once; the
geochemical engine gives it for the composition that holds at that density.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.trail import (
    Choice,
    Column,
    Figure,
    assumed,
    checked,
    constant,
    dot,
    engine,
    maximum,
    note,
    relation,
    scope,
    where,
)
from desalbook.units import (
    KINDS,
    AsCaCO3,
    ChargeNumber,
    Concentration,
    EqPerM3,
    Fraction,
    KgPerM3,
    MassRatio,
    Molality,
    MolarMass,
    Salinity,
)
from desalbook.water import acid_constants
from desalbook.water.species import IONS

__all__ = [
    "Analysis",
    "alkalinity_equivalents",
    "analyse",
    "anions",
    "balance_deviation",
    "balance_error",
    "balance_limit",
    "cations",
    "molality_of",
    "salinity_of",
    "total_of_constituents",
]

HALF_CACO3 = constant("M_eq", 0.050043, "kg/mol", source="iupac-weights", title="Equivalent mass of CaCO3")
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
    "Dissolved solids, sum of constituents",
    symbol="TDS",
    unit="kg/m^3",
    source="standard-methods",
    place="1030E, here with all bicarbonate counted",
    note="bicarbonate counts in full, not as dry residue",
)
def total_of_constituents(concentration: Concentration, salt_per_basis: MassRatio) -> Concentration:
    """Boron counts as boric acid, the others as reported."""
    return dot(concentration, salt_per_basis)


@relation("Sum of cations", symbol="C_+", unit="mol/m^3", source="standard-methods", place="1030E")
def cations(concentration: Concentration, charge_number: ChargeNumber, molar_mass: MolarMass) -> EqPerM3:
    """Equivalents of positive ions."""
    return dot(concentration / molar_mass, maximum(charge_number, 0))


@relation("Sum of anions", symbol="C_-", unit="mol/m^3", source="standard-methods", place="1030E")
def anions(concentration: Concentration, charge_number: ChargeNumber, molar_mass: MolarMass) -> EqPerM3:
    """Equivalents of negative ions, as a positive number."""
    return dot(concentration / molar_mass, maximum(-charge_number, 0))


@relation("Ion balance", symbol="e_b", unit="1", source="standard-methods", place="1030E")
def balance_error(cation_sum: EqPerM3, anion_sum: EqPerM3) -> Fraction:
    """Difference over sum; positive when cations exceed anions."""
    return (cation_sum - anion_sum) / (cation_sum + anion_sum)


@relation("Ion balance, without its sign", symbol="|e_b|", unit="1", source="definition")
def balance_deviation(balance: Fraction) -> Fraction:
    """For the check."""
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
    """By strength of the water: 0.2 meq/L, 2 % or 5 %."""
    return where(
        anion_sum <= DILUTE, ALLOWED / (cation_sum + anion_sum), where(anion_sum <= MIDDLE, 0.02, 0.05)
    )


@relation(
    "Alkalinity",
    symbol="Alk",
    unit="kg/m^3",
    source="definition",
    note="bicarbonate and carbonate only; in sea water borate adds some 4 % to a titration",
)
def alkalinity_equivalents(bicarbonate: Concentration, carbonate: Concentration) -> AsCaCO3:
    """Carbonate alkalinity as CaCO3."""
    return (bicarbonate / BICARBONATE + 2 * carbonate / CARBONATE) * HALF_CACO3


@relation("Molality", symbol="m", unit="mol/kg", source="definition")
def molality_of(
    concentration: Concentration,
    molar_mass: MolarMass,
    density: KgPerM3,
    total_dissolved_solids: Concentration,
) -> Molality:
    """Amount per kilogram of water: a litre holds its mass less its salt in water."""
    return concentration / (molar_mass * (density - total_dissolved_solids))


@relation("Salinity", symbol="X", unit="1", source="definition")
def salinity_of(total_dissolved_solids: Concentration, density: KgPerM3) -> Salinity:
    """Salt per kilogram of water."""
    return total_dissolved_solids / (density - total_dissolved_solids)


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


def analyse(inp: Callable[[str], Any], density: Figure | None = None) -> Analysis:
    """Read, convert and check the analysis of section ``[water]``.

    Parameters
    ----------
    inp : callable
        Gives the recorded input of an id.
    density : Figure, optional
        kg/m3 at the laboratory's temperature, where one was measured; else the engine answers.
    """
    ions: Column = inp("water.ions")
    keys = ions.keys
    rows = [IONS[k] for k in keys]
    charge = assumed(
        "water.ion_charge",
        [r.charge for r in rows],
        "charge number",
        axis="ion",
        keys=keys,
        title="Charge",
        symbol="z",
        source="iupac-weights",
        table="chemistry/ions",
    )
    molar_mass = assumed(
        "water.ion_molar_mass",
        [r.basis_molar_mass for r in rows],
        "molar mass",
        axis="ion",
        keys=keys,
        title="Molar mass as reported",
        symbol="M",
        source="iupac-weights",
        table="chemistry/ions",
    )
    ratio = assumed(
        "water.salt_per_basis",
        [r.molar_mass / r.basis_molar_mass for r in rows],
        "mass ratio",
        axis="ion",
        keys=keys,
        title="Salt per reported mass",
        symbol="r",
        source="iupac-weights",
        table="chemistry/ions",
    )
    tds = total_of_constituents.at("water.tds", concentration=ions, salt_per_basis=ratio)
    positive = cations.at("water.cations", concentration=ions, charge_number=charge, molar_mass=molar_mass)
    negative = anions.at("water.anions", concentration=ions, charge_number=charge, molar_mass=molar_mass)
    balance = balance_error.at("water.balance", cation_sum=positive, anion_sum=negative)
    off = balance_deviation.at("water.balance_deviation", balance=balance)
    limit = balance_limit.at("water.balance_limit", cation_sum=positive, anion_sum=negative)
    checked(
        "water.balance.check",
        off,
        "<=",
        limit,
        title="Ion balance of the analysis",
        source="standard-methods",
        do="ask the laboratory to repeat the ions that do not fit; do not add chloride or sodium to close it",
    )
    temperature = inp("water.lab_temperature")
    ph, ph_total = _both_scales(inp)
    if density is None:
        density = _density(ions, molar_mass, temperature, ph, tds)
    molality = molality_of.at(
        "water.molality",
        concentration=ions,
        molar_mass=molar_mass,
        density=density,
        total_dissolved_solids=tds,
    )
    salinity = salinity_of.at("water.salinity", total_dissolved_solids=tds, density=density)
    practical = acid_constants.practical_salinity.at("water.practical_salinity", salinity=salinity)
    carbonate = (
        ions["CO3"]
        if "CO3" in ions
        else assumed(
            "water.carbonate",
            0.0,
            "concentration",
            title="Carbonate, not stated apart",
            symbol="C_CO3",
            source="definition",
        )
    )
    alkalinity = alkalinity_equivalents.at("water.alkalinity", bicarbonate=ions["HCO3"], carbonate=carbonate)
    _reduced(inp, ions)
    return Analysis(
        ions,
        charge,
        molar_mass,
        molality,
        tds,
        density,
        salinity,
        practical,
        balance,
        ph,
        ph_total,
        alkalinity,
        temperature,
    )


def _both_scales(inp: Callable[[str], Any]) -> tuple[Figure, Figure]:
    ph, total = inp("water.ph"), inp("water.ph_total")
    if ph is not None:
        return ph, acid_constants.total_from_nbs.at("water.ph_on_total_scale", ph=ph)
    return acid_constants.nbs_from_total.at("water.ph_on_nbs_scale", ph_total=total), total


def _density(ions: Column, molar_mass: Column, temperature: Figure, ph: Figure, tds: Figure) -> Figure:
    """Density of this water by the engine, for the composition that holds at that density."""
    from desalbook.water.phreeqc_bridge import Water, speciate

    rho, found = 1000.0 + 0.7 * float(tds), None
    for _ in range(12):
        amounts = {k: float(c) / (float(molar_mass[k]) * (rho - float(tds))) for k, c in ions.items()}
        found = speciate(Water.of(amounts, ph=float(ph), temperature=float(temperature)), None, "brine")
        before, rho = rho, float(found.density or rho)
        if abs(rho - before) < 1e-7 * rho:
            break
    record = found.engine
    said = "; ".join(f"{s.ion} stands as {s.by} ({s.share:.1e} of the charge)" for s in found.substitutions)
    return engine(
        "water.density",
        rho,
        KINDS["density"],
        title="Density of the raw water in the laboratory",
        symbol="rho",
        inputs={
            "ions": ions,
            "molar_mass": molar_mass,
            "temperature": temperature,
            "ph": ph,
            "total_dissolved_solids": tds,
        },
        library=record.library,
        version=record.library_version,
        data=record.database,
        checksum=record.sha256,
        source="phreeqc-2013",
        note=f"at 101 325 Pa{'; ' + said if said else ''}",
    )


def _reduced(inp: Callable[[str], Any], ions: Column) -> None:
    """Iron, manganese and sulfide foul membranes once they meet an oxidant."""
    source: Choice = inp("water.source")
    sulfide = inp("water.sulfide")
    with scope(because=[source]):
        found = {k: ions[k] for k in ("Fe", "Mn") if k in ions}
        names = [f"{IONS[k].name} {v.show()}" for k, v in found.items() if float(v) != 0.0]
        if float(sulfide) != 0.0:
            names.append(f"sulfide {sulfide.show()}")
        note(
            "water.reduced",
            title="Reduced iron, manganese and sulfide",
            verdict="caution" if names else "holds",
            why=f"{', '.join(names)}: air or chlorine ahead of the membranes makes solids of it"
            if names
            else "none stated",
            do="keep air and oxidant out up to the membranes, or remove it first",
            inputs={**found, "sulfide": sulfide},
        )
