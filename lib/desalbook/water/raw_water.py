"""The raw water, from a laboratory's analysis to amounts per kilogram of water: read, converted, checked.

The analysis is per litre at the laboratory's temperature. Everything later counts per kilogram of *water*,
the only basis that concentrates and blends exactly, so the density of this very water is needed once; the
geochemical engine gives it for the composition that holds at that density. Several analyses are each read in
this way and then blended (`blend`); a salinity alone gives a typical water (`typical`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from desalbook.problems import DesignError
from desalbook.trail import Choice, Column, Figure, assumed, engine, scope, values
from desalbook.trail.inputs import Inputs
from desalbook.units import KINDS
from desalbook.water import blend, boron, carbonate, checks, seawater
from desalbook.water.analysis import (
    Analysis,
    anions,
    balanced,
    both_scales,
    carbon_of_alkalinity,
    carbonate_alkalinity,
    cations,
    columns,
    engine_says,
    missing_charge_of,
    molality_of,
    salinity_of,
    substituted,
    total_of_constituents,
)
from desalbook.water.basis import WAYS, as_ions, equivalent_charges
from desalbook.water.settle import settled
from desalbook.water.species import IONS

__all__ = ["analyse"]


def analyse(inp: Inputs, density: Figure | None = None, names: Sequence[str] = ()) -> Analysis:
    """Read, convert and check what section ``[water]`` says of the raw water.

    Parameters
    ----------
    inp : Inputs
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
    if names:
        made = {n: read_one(inp, f"water.analyses[{n}]") for n in names}
        found = blend.blend(inp, made)
    elif inp("water.sea_salinity") is not None:
        found = blend.typical(inp)
    else:
        found = read_one(inp, "water", density)
    checks.fouling(inp, found.ions)
    return found


def read_one(inp: Inputs, at: str, density: Figure | None = None) -> Analysis:
    """One analysis, recorded under ``water`` or ``water.analyses[name]``."""
    stated = {way: column for way in WAYS if (column := inp(f"{at}.ions{way}")) is not None}
    basis: Column | None = inp(f"{at}.ions_basis")
    charge, molar_mass, ratio = columns(at, next(iter(stated.values())).keys)
    temperature, titrated = inp(f"{at}.lab_temperature"), inp(f"{at}.bicarbonate_from")
    closing: Choice = inp("water.balance_with")
    ph, ph_total = both_scales(inp, at)
    equivalents = equivalent_charges(at, stated, molar_mass.keys)
    if density is None:
        of = {"charge": charge, "molar_mass": molar_mass, "salt_per_basis": ratio}
        if equivalents is not None:
            of["equivalent_charge"] = equivalents
        with scope(because=[titrated, closing]):
            density = _density(at, stated, basis, of, temperature, ph, str(titrated), str(closing))
    ions = as_ions(at, stated, basis, molar_mass, density, equivalents)
    positive, negative, balance = checks.ion_balance(at, ions, charge, molar_mass)
    checks.proportions(inp, at, ions)
    with scope(because=[closing]):
        ions = _balanced(at, ions, closing, positive, negative)
    alkalinity = carbonate_alkalinity(at, ions)
    with scope(because=[titrated]):
        ions = _carbon(at, ions, molar_mass, density, ratio, ph_total, temperature, titrated)
    tds = total_of_constituents.at(f"{at}.tds", concentration=ions, salt_per_basis=ratio)
    molality = molality_of.at(
        f"{at}.molality", concentration=ions, molar_mass=molar_mass, density=density, total_dissolved_solids=tds)
    salinity = salinity_of.at(f"{at}.salinity", total_dissolved_solids=tds, density=density)
    practical = seawater.practical_salinity.at(f"{at}.practical_salinity", salinity=salinity)
    found = Analysis(ions, charge, molar_mass, molality, tds, density, salinity, practical, balance, ph, ph_total,
                     alkalinity, temperature)
    checks.against_measured(inp, at, found)
    checks.missing(inp, at, ions)
    return found


def _closing_mass(keys: Sequence[str], closing: str) -> list[float]:
    return [IONS[k].basis_molar_mass / IONS[k].charge if k == closing else 0.0 for k in keys]


def _balanced(at: str, ions: Column, closing: Choice, positive: Figure, negative: Figure) -> Column:
    if closing == "none":
        return ions
    lacks = missing_charge_of.at(f"{at}.balance_added", cation_sum=positive, anion_sum=negative,
                                 title=f"Charge closed with {IONS[str(closing)].name}")
    mass = assumed(f"{at}.balance_mass", _closing_mass(ions.keys, str(closing)), "molar mass", axis="ion",
                   keys=ions.keys, title="Equivalent mass of the balancing ion", symbol="M_b",
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
    from desalbook.water.phreeqc import Water

    amounts = dict(zip(keys, (concentration / mass / water).tolist(), strict=True))
    if titrated == "titration":
        alkalinity = amounts.pop("HCO3") + 2.0 * amounts.pop("CO3", 0.0)
        return Water.of(amounts, alkalinity=alkalinity, ph=ph, temperature=temperature)
    return Water.of(amounts, ph=ph, temperature=temperature)


def _amount(column: Column, key: str, none: Figure) -> Figure:
    """An entry, or nothing of it."""
    return column[key] if key in column.keys else none


def _carbon(at: str, ions: Column, molar_mass: Column, density: Figure, ratio: Column, ph_total: Figure,
            temperature: Figure, titrated: Choice) -> Column:
    """Ions with the carbon behind a titration, by the published constants of seawater; the pH decides it."""
    if titrated != "titration":
        return ions
    solids = total_of_constituents.at(f"{at}.tds_as_stated", concentration=ions, salt_per_basis=ratio,
                                      title="TDS, the alkalinity counted as bicarbonate")
    stated = molality_of.at(f"{at}.molality_as_stated", concentration=ions, molar_mass=molar_mass, density=density,
                            total_dissolved_solids=solids, title="Molality, alkalinity as bicarbonate")
    salinity = salinity_of.at(f"{at}.salinity_as_stated", total_dissolved_solids=solids, density=density,
                              title="Salinity, alkalinity as bicarbonate")
    here = {"temperature": temperature, "practical_salinity": seawater.practical_salinity.at(
        f"{at}.practical_salinity_as_stated", salinity=salinity)}
    pk = {"pk1": carbonate.pk1_saline.at(f"{at}.pk1", **here), "pk2": carbonate.pk2_saline.at(f"{at}.pk2", **here),
          "pk_boric": boron.pkb_saline.at(f"{at}.pk_boric", **here),
          "pk_water": carbonate.pk_water_saline.at(f"{at}.pk_water", **here)}
    none = assumed(f"{at}.none", 0.0, "molality", title="None of it analysed", symbol="b_0", source="definition")
    bicarbonate = stated["HCO3"]
    alkalinity = carbonate.titrated_alkalinity.at(
        f"{at}.titrated_alkalinity", bicarbonate_molality=bicarbonate,
        carbonate_molality=_amount(stated, "CO3", none))
    carbon = carbonate.carbon_at_alkalinity.at(
        f"{at}.carbon", total_alkalinity=alkalinity, boron_molality=_amount(stated, "B", none),
        ph_total=ph_total, salinity=salinity, **pk)
    per = carbonate.carbon_per_bicarbonate.at(f"{at}.carbon_per_alkalinity", carbon=carbon,
                                              bicarbonate_molality=bicarbonate)
    kept, mark = (assumed(f"{at}.{name}", [float(marked(k)) for k in ions.keys], "factor", axis="ion", keys=ions.keys,
                          title=title, symbol=symbol, source="definition")
                  for name, title, symbol, marked in (
                      ("kept_ions", "Ions outside the titration", "k", lambda k: k not in ("HCO3", "CO3")),
                      ("carbon_mark", "Inorganic carbon position", "c", lambda k: k == "HCO3")))
    return carbon_of_alkalinity.at(f"{at}.ions_with_carbon", concentration=ions, kept_ions=kept, carbon_mark=mark,
                                   carbon_per_alkalinity=per)


def _density(at: str, stated: Mapping[str, Column], basis: Column | None, of: Mapping[str, Column],
             temperature: Figure, ph: Figure, titrated: str, closing: str) -> Figure:
    """Density of this water by the engine, for the composition that holds at that density."""
    from desalbook.water.phreeqc import speciate

    mass, z, ratio = of["molar_mass"].values, of["charge"].values, of["salt_per_basis"].values
    keys = of["charge"].keys
    close = np.array(_closing_mass(keys, closing))
    found: Any = None

    def answer(rho: float) -> float:
        nonlocal found
        with values(keep=False):
            read = as_ions(at, stated, basis, of["molar_mass"], rho, of.get("equivalent_charge"))
            c = read.values if isinstance(read, Column) else read
            if closing != "none":
                positive = cations.at(f"{at}.cations", concentration=c, charge_number=z, molar_mass=mass)
                negative = anions.at(f"{at}.anions", concentration=c, charge_number=z, molar_mass=mass)
                lacks = missing_charge_of.at(f"{at}.balance_added", cation_sum=positive, anion_sum=negative)
                c = balanced.at(f"{at}.ions_balanced", concentration=c, balance_mass=close, missing_charge=lacks)
                _possible(at, closing, c[keys.index(closing)])
            water = rho - float(total_of_constituents.at(f"{at}.tds", concentration=c, salt_per_basis=ratio))
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
