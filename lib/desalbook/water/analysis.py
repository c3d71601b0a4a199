"""From a laboratory's analysis to amounts per kilogram of water.

The analysis is per litre at the laboratory's temperature. Everything later counts per kilogram of *water*,
the only basis that concentrates and blends exactly, so the density of this very water is needed once; the
geochemical engine gives it for the composition that holds at that density. Several analyses are each read in
this way and then blended (`blend`); a salinity alone gives a typical water (`typical`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from desalbook.problems import DesignError
from desalbook.trail import (
    Choice,
    Column,
    Figure,
    assumed,
    constant,
    dot,
    engine,
    maximum,
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
    Factor,
    Fraction,
    KgPerM3,
    MassRatio,
    Molality,
    MolarMass,
    Salinity,
)
from desalbook.water import acid_constants
from desalbook.water.basis import WAYS, as_ions, numbers
from desalbook.water.settle import settled
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
    "equivalents_of",
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


@relation("Equivalents of each ion", symbol="e_i", unit="mol/m^3", source="definition")
def equivalents_of(concentration: Concentration, charge_number: ChargeNumber, molar_mass: MolarMass) -> EqPerM3:
    """With the sign of the charge."""
    return concentration / molar_mass * charge_number


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


@relation("Charge the balance lacks", symbol="C_b", unit="mol/m^3", source="definition",
          note="added only because the design asks for it; an error of the laboratory is hidden, not mended")
def missing_charge_of(cation_sum: EqPerM3, anion_sum: EqPerM3) -> EqPerM3:
    """Positive charge to be added; negative where cations exceed anions."""
    return anion_sum - cation_sum


@relation("Ions, balanced on request", symbol="C", unit="kg/m^3", source="definition")
def balanced(concentration: Concentration, balance_mass: MolarMass, missing_charge: EqPerM3) -> Concentration:
    """The ion that balances takes up the whole difference; the others stay."""
    return concentration + balance_mass * missing_charge


@relation("Inorganic carbon of a titrated alkalinity, as HCO3", symbol="C", unit="kg/m^3", source="definition")
def carbon_of_alkalinity(concentration: Concentration, alkalinity_share: Factor) -> Concentration:
    """What a titration counts besides carbon (borate, hydroxide, carbonate twice) is taken off."""
    return concentration * alkalinity_share


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


def analyse(inp: Callable[[str], Any], density: Figure | None = None, names: Sequence[str] = ()) -> Analysis:
    """Read, convert and check what section ``[water]`` says of the raw water.

    Parameters
    ----------
    inp : callable
        Gives the recorded input of an id.
    density : Figure, optional
        kg/m3 at the laboratory's temperature, where one was measured; else the engine answers.
    names : sequence of str
        Of several analyses, which are blended.

    Raises
    ------
    DesignError
        Balancing takes away more of an ion than there is.
    EngineError
        The engine refuses the water.
    """
    from desalbook.water import blend, checks

    if names:
        made = {n: read_one(inp, f"water.analyses[{n}]") for n in names}
        found = blend.blend(inp, made)
    elif inp("water.sea_salinity") is not None:
        found = blend.typical(inp)
    else:
        found = read_one(inp, "water", density)
    checks.fouling(inp, found.ions)
    return found


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


def read_one(inp: Callable[[str], Any], at: str, density: Figure | None = None) -> Analysis:
    """One analysis, recorded under ``water`` or ``water.analyses[name]``."""
    from desalbook.water import checks

    stated = {way: column for way in WAYS if (column := inp(f"{at}.ions{way}")) is not None}
    basis: Column | None = inp(f"{at}.ions_basis")
    charge, molar_mass, ratio = columns(at, next(iter(stated.values())).keys)
    temperature, titrated = inp(f"{at}.lab_temperature"), inp(f"{at}.bicarbonate_from")
    closing: Choice = inp("water.balance_with")
    ph, ph_total = both_scales(inp, at)
    if density is None:
        with scope(because=[titrated, closing]):
            density = _density(at, stated, basis, {"charge": charge, "molar_mass": molar_mass, "salt_per_basis": ratio},
                               temperature, ph, str(titrated), str(closing))
    ions = as_ions(at, stated, basis, molar_mass, density)
    positive, negative, balance = checks.ion_balance(at, ions, charge, molar_mass)
    checks.proportions(inp, at, ions)
    with scope(because=[closing]):
        ions = _balanced(at, ions, closing, positive, negative)
    alkalinity = carbonate_alkalinity(at, ions)
    with scope(because=[titrated]):
        ions = _carbon(at, ions, molar_mass, density, ratio, ph, temperature, titrated)
    tds = total_of_constituents.at(f"{at}.tds", concentration=ions, salt_per_basis=ratio)
    molality = molality_of.at(
        f"{at}.molality", concentration=ions, molar_mass=molar_mass, density=density, total_dissolved_solids=tds)
    salinity = salinity_of.at(f"{at}.salinity", total_dissolved_solids=tds, density=density)
    practical = acid_constants.practical_salinity.at(f"{at}.practical_salinity", salinity=salinity)
    found = Analysis(ions, charge, molar_mass, molality, tds, density, salinity, practical, balance, ph, ph_total,
                     alkalinity, temperature)
    checks.against_measured(inp, at, found)
    checks.missing(inp, at, ions)
    return found


def both_scales(inp: Callable[[str], Any], at: str) -> tuple[Figure, Figure]:
    """pH on the NBS and on the total scale, from the one that stands."""
    ph, total = inp(f"{at}.ph"), inp(f"{at}.ph_total")
    if ph is not None:
        return ph, acid_constants.total_from_nbs.at(f"{at}.ph_on_total_scale", ph=ph)
    return acid_constants.nbs_from_total.at(f"{at}.ph_on_nbs_scale", ph_total=total), total


def carbonate_alkalinity(at: str, ions: Column) -> Figure:
    """Recorded from bicarbonate and carbonate as they stand."""
    carbonate = ions["CO3"] if "CO3" in ions else assumed(
        f"{at}.carbonate", 0.0, "concentration", title="Carbonate, not stated apart", symbol="C_CO3",
        source="definition")
    return alkalinity_equivalents.at(f"{at}.alkalinity", bicarbonate=ions["HCO3"], carbonate=carbonate)


def _closing_mass(keys: Sequence[str], closing: str) -> list[float]:
    return [IONS[k].basis_molar_mass / IONS[k].charge if k == closing else 0.0 for k in keys]


def _balanced(at: str, ions: Column, closing: Choice, positive: Figure, negative: Figure) -> Column:
    if closing == "none":
        return ions
    lacks = missing_charge_of.at(f"{at}.balance_added", cation_sum=positive, anion_sum=negative,
                                 title=f"Charge closed with {IONS[str(closing)].name}")
    mass = assumed(f"{at}.balance_mass", _closing_mass(ions.keys, str(closing)), "molar mass", axis="ion",
                   keys=ions.keys, title="Mass per equivalent of the ion that balances, with its sign", symbol="M_b",
                   source="iupac-weights", table="chemistry/ions")
    made = balanced.at(f"{at}.ions_balanced", concentration=ions, balance_mass=mass, missing_charge=lacks)
    _possible(at, str(closing), float(made[str(closing)]))
    return made


def _possible(at: str, closing: str, left: float) -> None:
    if not left > 0.0:
        raise DesignError(f"closing the balance would take away more {IONS[closing].name} than there is",
                          where="water.balance_with", value=closing,
                          do=f"close it with another ion, or correct {at}.ions")


def _engine_water(keys: Sequence[str], mass: np.ndarray, concentration: np.ndarray, water: float, ph: float,
                  temperature: float, titrated: str) -> Any:
    """The water as the engine takes it; ``water`` is kg of water per m3."""
    from desalbook.water.phreeqc_bridge import Water

    amounts = dict(zip(keys, (concentration / mass / water).tolist(), strict=True))
    if titrated == "titration":
        alkalinity = amounts.pop("HCO3") + 2.0 * amounts.pop("CO3", 0.0)
        return Water.of(amounts, alkalinity=alkalinity, ph=ph, temperature=temperature)
    return Water.of(amounts, ph=ph, temperature=temperature)


def _carbon(at: str, ions: Column, molar_mass: Column, density: Figure, ratio: Column, ph: Figure,
            temperature: Figure, titrated: Choice) -> Column:
    if titrated != "titration":
        return ions
    from desalbook.water.phreeqc_bridge import speciate

    water = float(density) - float(total_of_constituents.plain(ions.values, ratio.values))
    made = _engine_water(ions.keys, molar_mass.values, ions.values, water, float(ph), float(temperature), "titration")
    found = speciate(made, None, "brine")
    share = [found.carbon / found.alkalinity if k == "HCO3" else 0.0 if k == "CO3" else 1.0 for k in ions.keys]
    if "CO3" in ions:  # its equivalents are in the alkalinity; all carbon stands under HCO3 from here on
        x = dict(zip(ions.keys, (ions.values / molar_mass.values).tolist(), strict=True))
        share[ions.keys.index("HCO3")] *= (x["HCO3"] + 2.0 * x["CO3"]) / x["HCO3"]
    column = engine(f"{at}.carbon_per_alkalinity", share, "factor", axis="ion", keys=ions.keys,
                    title="Inorganic carbon per alkalinity stated", symbol="f_C",
                    inputs={"ions": ions, "molar_mass": molar_mass, "density": density, "salt_per_basis": ratio,
                            "ph": ph, "temperature": temperature},
                    source="phreeqc-2013", note="by the engine at this pH; one for the other ions", **engine_says())
    return carbon_of_alkalinity.at(f"{at}.ions_with_carbon", concentration=ions, alkalinity_share=column)


def engine_says(database: str = "brine") -> dict[str, str]:
    """Library, version, data and checksum, for an engine line."""
    from desalbook.water.phreeqc_bridge import engine_record

    about = engine_record(database)
    return {"library": about.library, "version": about.library_version, "data": about.database,
            "checksum": about.sha256}


def substituted(found: Any) -> str:
    """What the data set lacks and what stood in."""
    return "; ".join(f"{s.ion} stands as {s.by} ({s.share:.1e} of the charge)" for s in found.substitutions)


def _density(at: str, stated: Mapping[str, Column], basis: Column | None, of: Mapping[str, Column],
             temperature: Figure, ph: Figure, titrated: str, closing: str) -> Figure:
    """Density of this water by the engine, for the composition that holds at that density."""
    from desalbook.water.phreeqc_bridge import speciate

    mass, z, ratio = of["molar_mass"].values, of["charge"].values, of["salt_per_basis"].values
    keys = of["charge"].keys
    close = np.array(_closing_mass(keys, closing))
    found: Any = None

    def answer(rho: float) -> float:
        nonlocal found
        c = numbers(stated, basis, of["molar_mass"], rho)
        if closing != "none":
            c = balanced.plain(c, close, missing_charge_of.plain(cations.plain(c, z, mass), anions.plain(c, z, mass)))
            _possible(at, closing, c[keys.index(closing)])
        water = rho - float(total_of_constituents.plain(c, ratio))
        found = speciate(_engine_water(keys, mass, c, water, float(ph), float(temperature), titrated), None, "brine")
        return float(found.density)

    rho = settled(answer, 1025.0)
    columns = {f"ions{way}": column for way, column in stated.items()}
    if basis is not None:
        columns["basis_ratio"] = basis
    said = substituted(found)
    return engine(f"{at}.density", rho, KINDS["density"], title="Density of the raw water in the laboratory",
                  symbol="rho", inputs={**columns, **of, "temperature": temperature, "ph": ph}, source="phreeqc-2013",
                  note=f"at 101 325 Pa{'; ' + said if said else ''}", **engine_says())
