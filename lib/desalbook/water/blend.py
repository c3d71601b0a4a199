"""Several waters made one, and a typical water from its salinity alone: both start from amounts per kilogram.

A blend conserves every constituent and its charge, and besides them alkalinity and inorganic carbon; its pH is
what the engine finds for those two. Shares are of the mass of water. Nothing precipitates and no gas leaves.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from desalbook.balances import sum_of_molalities
from desalbook.trail import Column, Figure, assumed, dot, engine, note, relation
from desalbook.units import (
    AbsoluteSalinity,
    Concentration,
    Fraction,
    K,
    KgPerM3,
    MassRatio,
    Molality,
    MolarMass,
    Salinity,
)
from desalbook.water import analysis as a
from desalbook.water import carbonate, checks, seawater
from desalbook.water.species import IONS, table

__all__ = ["blend", "mix", "typical"]



@relation("Shares of the waters, together", symbol="w_t", unit="1", source="definition")
def share_sum(analysis_share: Fraction, more_share: Fraction) -> Fraction:
    """Sum of the fractions of the waters of a blend, up to this one.

    Need not be exactly one: what each brings is divided by it.
    """
    return analysis_share + more_share


@relation("Molality brought into the blend", symbol="b", unit="mol/kg", source="definition")
def part_of_blend(molality: Molality, analysis_share: Fraction, total_share: Fraction) -> Molality:
    """Amount one water brings into the blend, per kilogram of the blend's water.

    By its fraction of the mass of water; fractions that add up to 99 or 101 % are taken in proportion.
    """
    return molality * analysis_share / total_share


@relation("Temperature brought into the blend", symbol="T", unit="K", source="definition",
          note="equal heat capacity of the waters; the blend loses no heat")
def temperature_part(temperature: K, analysis_share: Fraction, total_share: Fraction) -> K:
    """Temperature one water brings into the blend, in proportion to its mass.

    With one heat capacity for all the waters; heat of mixing is nil at these strengths.
    """
    return temperature * analysis_share / total_share


@relation("Temperature of the blend", symbol="T", unit="K", source="definition",
          note="equal heat capacity of the waters; the blend loses no heat")
def blended_temperature(temperature: K, more_temperature: K) -> K:
    """Temperature of a blend, one water more added.

    Heat is conserved with one heat capacity for all the waters; true to some per cent of the difference between
    sea and fresh water.
    """
    return temperature + more_temperature


@relation("Molality of a typical seawater", symbol="b", unit="mol/kg", source="millero-2008",
          note="Reference Composition: the constant proportions of the open ocean; carbonate and carbon dioxide "
               "stand under HCO3, borate under B")
def typical_molality(reference_moles: Molality, sea_salinity: AbsoluteSalinity) -> Molality:
    """Molality of a typical seawater of a given salinity, from the reference composition.

    The open ocean's constant proportions; estuaries, gulfs near rivers and beach wells depart from them.
    """
    return reference_moles * sea_salinity / (1 - sea_salinity)


@relation("Salinity", symbol="X", unit="1", source="definition")
def salinity_of_molality(molality: Molality, molar_mass: MolarMass, salt_per_basis: MassRatio) -> Salinity:
    """Salt per kilogram of water from the amounts of the ions.

    Boron counts as boric acid and silica as SiO2, as in the sum of constituents.
    """
    return dot(molality * molar_mass, salt_per_basis)


@relation("TDS, sum of constituents", symbol="TDS", unit="kg/m^3", source="definition")
def solids_per_volume(salinity: Salinity, density: KgPerM3) -> Concentration:
    """Total dissolved solids per volume from salt per kilogram of water.

    Goes through the density of this water; holds at the temperature of that density only.
    """
    return salinity * density / (1 + salinity)


@relation("Ions per volume", symbol="C", unit="kg/m^3", source="definition")
def ions_per_volume(molality: Molality, molar_mass: MolarMass, density: KgPerM3, salinity: Salinity) -> Concentration:
    """Ions per volume from amounts per kilogram of water, as a laboratory would report them.

    Goes through the density and salinity of the blend; the way back is the molality of an analysis.
    """
    return molality * molar_mass * density / (1 + salinity)


def mix(waters: Mapping[str, tuple[float, Any]], temperature: float, database: str = "brine") -> Any:
    """A blend of waters as the engine takes them, by mass of water.

    Parameters
    ----------
    waters : mapping
        Name to (share, `phreeqc.Water`); shares in any unit, taken in proportion.
    temperature : float
        K, of the blend.

    Returns
    -------
    phreeqc.Water
        Amounts, alkalinity and carbon are the weighted sums; its pH is the engine's.
    """
    from desalbook.water.phreeqc import Water, complete

    whole = math.fsum(share for share, _ in waters.values())
    ions: dict[str, float] = {}
    alkalinity = carbon = 0.0
    for share, water in waters.values():
        full, w = complete(water, database), share / whole
        for k, b in full.molality:
            ions[k] = ions.get(k, 0.0) + w * b
        held = full.conserved() or (0.0, 0.0)
        alkalinity, carbon = alkalinity + w * held[0], carbon + w * held[1]
    return complete(Water(tuple(ions.items()), alkalinity, carbon, None, temperature), database)


def blend(inp: Callable[[str], Any], made: Mapping[str, a.Analysis]) -> a.Analysis:
    """Blend analyses that were read; recorded under ``water``."""
    share = {n: inp(f"water.analyses[{n}].share") for n in made}
    names = list(made)
    whole: Figure = share[names[0]]
    for n in names[1:]:
        id = "water.share_sum" if n == names[-1] else f"water.share_sum_to[{n}]"
        whole = share_sum.at(id, analysis_share=share[n], more_share=whole)
    molality: Column | None = None
    temperature: Figure | None = None
    for n, one in made.items():
        part = part_of_blend.at(f"water.blend[{n}].molality", molality=one.molality, analysis_share=share[n],
                                total_share=whole)
        warm = temperature_part.at(f"water.blend[{n}].temperature", temperature=one.temperature,
                                   analysis_share=share[n], total_share=whole)
        if molality is None or temperature is None:
            molality, temperature = part, warm
            continue
        last = n == names[-1]
        molality = sum_of_molalities.at("water.molality" if last else f"water.blend_to[{n}].molality", molality=part,
                              more_molality=molality, title="Molality of the blend")
        temperature = blended_temperature.at(
            "water.blend_temperature" if last else f"water.blend_to[{n}].temperature", temperature=warm,
            more_temperature=temperature)
    assert molality is not None and temperature is not None
    inputs: dict[str, Any] = {}
    for n, one in made.items():
        inputs |= {f"molality_{n}": one.molality, f"ph_{n}": one.ph, f"temperature_{n}": one.temperature,
                   f"share_{n}": share[n]}
    from desalbook.water.phreeqc import Water

    mixed = mix({n: (float(share[n]), Water.of({k: float(v) for k, v in one.molality.items()}, ph=float(one.ph),
                                               temperature=float(one.temperature)))
                 for n, one in made.items()}, float(temperature))
    ph = engine("water.blend_ph", mixed.ph, "ph.nbs", title="pH of the blend", symbol="pH",
                inputs={**inputs, "temperature": temperature}, source="phreeqc-2013",
                note="alkalinity and carbon of the blend are the weighted sums; no gas leaves, nothing precipitates",
                **a.engine_says())
    total_ph = carbonate.total_from_nbs.at("water.ph_on_total_scale", ph=ph)
    charge, molar_mass, ratio = a.columns("water", molality.keys)
    found = _from_molality(molality, charge, molar_mass, ratio, ph, total_ph, temperature)
    checks.against_measured(_nothing_measured(inp), "water", found)
    return found


def typical(inp: Callable[[str], Any]) -> a.Analysis:
    """A water of the usual proportions at a salinity; recorded under ``water``."""
    salinity: Figure = inp("water.sea_salinity")
    data = table("reference_seawater")
    moles, per = data["moles"], data["salinity"]
    amount = {k: moles[k] for k in IONS if k in moles and not IONS[k].carbonate}
    amount |= {"HCO3": moles["HCO3"] + moles["CO3"] + moles["CO2"], "B": moles["B(OH)3"] + moles["B(OH)4"]}
    keys = tuple(k for k in IONS if k in amount)
    reference = assumed("water.reference_moles", [amount[k] / per for k in keys], "molality", axis="ion", keys=keys,
                        title="Amount per mass of sea salt", symbol="n_R", source="millero-2008",
                        place="table 4, from memory", table="chemistry/reference_seawater")
    molality = typical_molality.at("water.molality", reference_moles=reference, sea_salinity=salinity)
    if inp("water.ph") is None and inp("water.ph_total") is None:
        ph = assumed("water.ph_typical", 8.1, "ph.nbs", title="pH of open seawater", symbol="pH",
                     source="common-practice", note="NBS scale; 8.0 to 8.3")
        total_ph = carbonate.total_from_nbs.at("water.ph_on_total_scale", ph=ph)
    else:
        ph, total_ph = a.both_scales(inp, "water")
    charge, molar_mass, ratio = a.columns("water", keys)
    found = _from_molality(molality, charge, molar_mass, ratio, ph, total_ph, inp("water.lab_temperature"))
    checks.against_measured(inp, "water", found)
    checks.missing(inp, "water", found.ions)
    note("water.typical", title="Composition from a salinity alone", verdict="review",
         why="the ions follow the proportions of the open ocean; coasts, gulfs and wells differ",
         do="have the water analysed before anything is guaranteed", inputs={"sea_salinity": salinity})
    return found


def _from_molality(molality: Column, charge: Column, molar_mass: Column, ratio: Column, ph: Figure, ph_total: Figure,
                   temperature: Figure) -> a.Analysis:
    from desalbook.water.phreeqc import Water, speciate

    answer = speciate(Water.of({k: float(v) for k, v in molality.items()}, ph=float(ph),
                               temperature=float(temperature)), None, "brine")
    said = a.substituted(answer)
    density = engine("water.density", answer.density or 0.0, "density", title="Density of the raw water", symbol="rho",
                     inputs={"molality": molality, "ph": ph, "temperature": temperature}, source="phreeqc-2013",
                     note=f"at 101 325 Pa{'; ' + said if said else ''}", **a.engine_says())
    salinity = salinity_of_molality.at("water.salinity", molality=molality, molar_mass=molar_mass,
                                       salt_per_basis=ratio)
    tds = solids_per_volume.at("water.tds", salinity=salinity, density=density)
    ions = ions_per_volume.at("water.concentration", molality=molality, molar_mass=molar_mass, density=density,
                              salinity=salinity)
    *_, balance = checks.ion_balance("water", ions, charge, molar_mass, "the blend")
    practical = seawater.practical_salinity.at("water.practical_salinity", salinity=salinity)
    alkalinity = a.carbonate_alkalinity("water", ions)
    return a.Analysis(ions, charge, molar_mass, molality, tds, density, salinity, practical, balance, ph, ph_total,
                      alkalinity, temperature)


def _nothing_measured(inp: Callable[[str], Any]) -> Callable[[str], Any]:
    """Of a blend nothing was measured: each analysis was compared with its own measurements."""
    return lambda id: inp(id) if id == "water.conductivity_temperature" else None
