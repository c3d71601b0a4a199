"""What an analysis says about itself: charge, sums, conductivity, constant proportions, gaps.

A check that fails is a result: the laboratory, not the calculation, has to answer it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from desalbook.trail import Choice, Column, Figure, assumed, checked, constant, engine, govern, maximum, note, relation
from desalbook.trail import scope as scoped
from desalbook.units import (
    Concentration,
    Factor,
    Fraction,
    KgPerM3,
    MassRatio,
    Molality,
    MolarMass,
    SPerM,
)
from desalbook.water import analysis as a
from desalbook.water.analysis import Analysis, engine_says, substituted
from desalbook.water.seawater import conductivity_ratio_of, salinity_by_conductivity, salinity_departure
from desalbook.water.species import IONS, table

__all__ = [
    "MAJORS",
    "against_measured",
    "conductivity_departure",
    "departure",
    "dried_solids",
    "fouling",
    "ion_balance",
    "missing",
    "proportions",
    "reference_ratios",
    "tds_per_conductivity",
    "tds_ratio",
]

MAJORS = ("Na", "Mg", "Ca", "K", "SO4", "Br", "B")
"""Constituents that keep their proportion to chloride in the sea (common practice: to 1 % in the open sea)."""

WANTED = {
    "K": "its part of the balance", "Ca": "calcite and gypsum", "Mg": "hardness and brucite", "SO4": "all sulfates",
    "Sr": "celestite", "Ba": "barite", "F": "fluorite and the product's fluoride", "SiO2": "silica in the concentrate",
    "B": "boron in the product", "Br": "the oxidant that chlorine makes",
}
WANTED_OF_WELLS = {"Fe": "iron on the membranes", "Mn": "manganese on the membranes",
                   "NO3": "nitrate of the land", "NH4": "ammonium, which takes chlorine"}

BICARBONATE_DRIED = constant("r_dry", 0.4921, "1", source="standard-methods",
                             title="Carbonate residue on drying")
MG_PER_L = constant("C_1", 1e-3, "kg/m^3", source="definition", title="One milligram per litre")
US_PER_CM = constant("kappa_1", 1e-4, "S/m", source="definition", title="One microsiemens per centimetre")


@relation("TDS, as a dried residue", symbol="TDS_180", unit="kg/m^3", source="standard-methods",
          place="1030E, from memory",
          note="bicarbonate counts as the carbonate it leaves; magnesium chloride of seawater also loses acid and "
               "holds water, by a few per cent either way")
def dried_solids(total_dissolved_solids: Concentration, bicarbonate: Concentration) -> Concentration:
    """Total dissolved solids as a residue dried at 180 degC would weigh.

    Bicarbonate leaves as carbonate; water held by magnesium salts makes a real residue some per cent heavier.
    """
    return total_dissolved_solids - (1 - BICARBONATE_DRIED) * bicarbonate


@relation("TDS measured over calculated", symbol="r_TDS", unit="1", source="standard-methods",
          place="1030E")
def tds_ratio(measured_tds: Concentration, total_dissolved_solids: Concentration) -> Factor:
    """Ratio of total dissolved solids measured to calculated.

    Below one, something is counted that is not there; far above, something was not analysed.
    """
    return measured_tds / total_dissolved_solids


@relation("TDS per conductivity", symbol="TDS/kappa", unit="1", source="definition",
          note="mg/L per uS/cm at 25 degC; 0.68 in seawater of 35 g/kg and 0.78 at 80 g/kg, so no fixed factor holds")
def tds_per_conductivity(total_dissolved_solids: Concentration, conductivity: SPerM) -> Factor:
    """Ratio of total dissolved solids to conductivity, in mg/L per uS/cm.

    It rises with strength, so the fixed factor of a handheld meter holds for one water only.
    """
    return (total_dissolved_solids / MG_PER_L) / (conductivity / US_PER_CM)


@relation("Conductivity deviation from the analysis", symbol="d_kappa", unit="1",
          source="standard-methods", place="1030E")
def conductivity_departure(measured_conductivity: SPerM, found_conductivity: SPerM) -> Fraction:
    """Departure of the conductivity measured from that of the analysis, without its sign.

    The engine's conductivity is 0.3 to 1.8 % low in seawater, and the meter's own temperature conversion is in
    it.
    """
    return maximum(measured_conductivity / found_conductivity - 1, 1 - measured_conductivity / found_conductivity)


@relation("Carbon dioxide measured", symbol="b_m", unit="mol/kg", source="definition")
def measured_molality_of(concentration: Concentration, molar_mass: MolarMass,
                         held_water: Concentration) -> Molality:
    """Carbon dioxide measured, per kilogram of water.

    From mass per volume through the water that volume holds; for comparison with the engine's answer.
    """
    return concentration / molar_mass / held_water


@relation("CO2 deviation from pH and bicarbonate", symbol="d_CO2", unit="1", source="definition")
def carbon_dioxide_departure(measured_molality: Molality, found_molality: Molality) -> Fraction:
    """Departure of the carbon dioxide measured from that of pH and bicarbonate, without its sign.

    0.1 in pH moves it by a quarter, and gas leaves a sample on its way: a large departure is a question, not a
    proof.
    """
    return maximum(measured_molality / found_molality - 1, 1 - measured_molality / found_molality)


@relation("Departure from constant proportions", symbol="d_i", unit="1", source="millero-2008",
          note="against reference seawater; without its sign")
def departure(concentration: Concentration, chloride_concentration: Concentration,
              reference_ratio: MassRatio) -> Fraction:
    """Departure of a major ion from constant proportions to chloride, without its sign.

    Holds for seawater of an open intake; ground exchanges ions, so a well may depart without an error.
    """
    return maximum(concentration / chloride_concentration / reference_ratio - 1,
                   1 - concentration / chloride_concentration / reference_ratio)


def reference_ratios() -> dict[str, float]:
    """Mass of each major constituent, as reported (boron as B), per mass of chloride in reference seawater."""
    moles = table("reference_seawater")["moles"]
    amount = {k: moles[k] for k in MAJORS if k in moles} | {"B": moles["B(OH)3"] + moles["B(OH)4"]}
    chloride = moles["Cl"] * IONS["Cl"].basis_molar_mass
    return {k: amount[k] * IONS[k].basis_molar_mass / chloride for k in MAJORS}


def _one(at: str) -> str:
    """Name of one water of a blend, at the end of a title: ``water.analyses[well]`` gives ", well"."""
    return f", {at.partition('[')[2].rstrip(']')}" if at.endswith("]") else ""


def ion_balance(at: str, ions: Column, charge: Column, molar_mass: Column,
                of: str = "the analysis") -> tuple[Figure, Figure, Figure]:
    """Sums of cations and anions and the balance error, recorded and judged by strength of the water."""
    a.equivalents_of.at(f"{at}.equivalents", concentration=ions, charge_number=charge, molar_mass=molar_mass)
    positive = a.cations.at(f"{at}.cations", concentration=ions, charge_number=charge, molar_mass=molar_mass)
    negative = a.anions.at(f"{at}.anions", concentration=ions, charge_number=charge, molar_mass=molar_mass)
    balance = a.balance_error.at(f"{at}.balance", cation_sum=positive, anion_sum=negative)
    off = a.balance_deviation.at(f"{at}.balance_deviation", balance=balance)
    limit = a.balance_limit.at(f"{at}.balance_limit", cation_sum=positive, anion_sum=negative)
    checked(f"{at}.balance.check", off, "<=", limit, title=f"Ion balance of {of}{_one(at)}", source="standard-methods",
            do="ask the laboratory to repeat the ions that do not fit; do not add chloride or sodium to close it")
    return positive, negative, balance


def proportions(inp: Callable[[str], Any], at: str, ions: Column) -> None:
    """Each major ion over chloride against reference seawater; a departure is a finding."""
    source: Choice = inp("water.source")
    band: Figure = inp("water.proportion_band")
    known = reference_ratios()
    keys = tuple(k for k in MAJORS if k in ions)
    ratio = assumed(f"{at}.proportion_reference", [known[k] for k in keys], "mass ratio", axis="ion", keys=keys,
                    title="Ion per chloride in reference seawater", symbol="r_R", source="millero-2008",
                    table="chemistry/reference_seawater")
    off = {k: departure.at(f"{at}.proportion[{k}]", concentration=ions[k], chloride_concentration=ions["Cl"],
                           reference_ratio=ratio[k], title=f"Proportion deviation, {IONS[k].name}")
           for k in keys}
    worst = govern(f"{at}.proportion", off, "largest", title="Largest departure from constant proportions")
    said = [f"{IONS[k].name} {_sign(ions, k, known)}" for k in keys if float(off[k]) > float(band)]
    why = ", ".join(said) if said else "all within the band"
    with scoped(because=[source]):
        if source == "open-intake":
            checked(f"{at}.proportion.check", worst, "<=", band, title=f"Deviation from seawater proportions{_one(at)}",
                    source="millero-2008",
                    do=f"ask the laboratory to repeat it ({why} against reference seawater)" if said else
                    "keep the analysis as it is")
            return
        note(f"{at}.proportion.which", title=f"Ions out of proportion to chloride{_one(at)}",
             verdict="review" if said else "passes", why=why,
             do="the ground exchanges ions, so a well may show this; a laboratory's error looks the same: have them "
             "repeated",
             inputs={**off, "band": band, "chloride": ions["Cl"], "ions": ions})


def _sign(ions: Column, key: str, known: dict[str, float]) -> str:
    return f"{100 * (float(ions[key]) / float(ions['Cl']) / known[key] - 1):+.0f} %"


def against_measured(inp: Callable[[str], Any], at: str, water: Analysis) -> None:
    """Sum of the ions against dried residue, conductivity and carbon dioxide, where they were measured."""
    from desalbook.water.phreeqc import Water, speciate

    base = {"molality": water.molality, "ph": water.ph, "lab_temperature": water.temperature}
    made = Water.of({k: float(v) for k, v in water.molality.items()}, ph=float(water.ph),
                    temperature=float(water.temperature))
    warm: Figure = inp(f"{at}.conductivity_temperature")
    answer = speciate(made, float(warm), "brine")
    said = substituted(answer)
    found = engine(f"{at}.conductivity_found", answer.conductivity or 0.0, "conductivity",
                   title="Conductivity of this composition", symbol="kappa_e", inputs={**base, "temperature": warm},
                   source="phreeqc-2013",
                   note="0.3 to 1.8 % below the practical salinity scale in seawater, 2 % at 5 degC"
                   + (f"; {said}" if said else ""),
                   **engine_says())
    tds_per_conductivity.at(f"{at}.tds_per_conductivity", total_dissolved_solids=water.total_dissolved_solids,
                            conductivity=found)
    measured = inp(f"{at}.conductivity")
    if measured is not None:
        off = conductivity_departure.at(f"{at}.conductivity_departure", measured_conductivity=measured,
                                        found_conductivity=found)
        band = assumed(f"{at}.conductivity_band", 0.1, "fraction", title="Departure of the conductivity allowed",
                       symbol="d_max", source="standard-methods", place="1030E, from memory")
        checked(f"{at}.conductivity.check", off, "<=", band, title=f"Conductivity against the analysis{_one(at)}",
                source="standard-methods",
                do="check the temperature the meter converts to, then have the main ions repeated")
        _by_salinity(at, measured, warm, water)
    solids = inp(f"{at}.measured_tds")
    if solids is not None:
        dried = dried_solids.at(f"{at}.tds_dried", total_dissolved_solids=water.total_dissolved_solids,
                                bicarbonate=water.ions["HCO3"])
        ratio = tds_ratio.at(f"{at}.tds_ratio", measured_tds=solids, total_dissolved_solids=dried)
        for end, sense, value, do in (
                ("low", ">=", 1.0, "have the main ions repeated: more was found in parts than as a whole"),
                ("high", "<=", 1.2, "look for a constituent that was not analysed")):
            limit = assumed(f"{at}.tds_ratio_{end}", value, "factor", title="Measured over calculated, limit",
                            symbol="r", source="standard-methods", place="1030E, from memory")
            checked(f"{at}.tds_ratio.check_{end}", ratio, sense, limit, source="standard-methods", do=do,
                    title=f"Measured / calculated TDS, {'max' if end == 'high' else 'min'}{_one(at)}")
    gas = inp(f"{at}.carbon_dioxide")
    if gas is not None:
        _carbon_dioxide(at, gas, water, base, made)


def _by_salinity(at: str, measured: Figure, warm: Figure, water: Analysis) -> None:
    """Practical salinity by the meter against that of the analysis; in its own proportions only seawater agrees."""
    ratio = conductivity_ratio_of.at(f"{at}.conductivity_ratio", conductivity=measured, temperature=warm)
    practical = salinity_by_conductivity.at(f"{at}.salinity_by_conductivity", conductivity_ratio=ratio,
                                            temperature=warm)
    salinity_departure.at(f"{at}.salinity_departure", measured_salinity=practical,
                          practical_salinity=water.practical_salinity)


def _carbon_dioxide(at: str, gas: Figure, water: Analysis, base: dict[str, Any], made: Any) -> None:
    from desalbook.water.phreeqc import speciate

    found = engine(f"{at}.carbon_dioxide_found", speciate(made, None, "brine").co2, "molality",
                   title="Carbon dioxide by pH and bicarbonate", symbol="b_e", inputs=base, source="phreeqc-2013",
                   note="some 8 % more than the published constants in seawater", **engine_says())
    mass = assumed(f"{at}.carbon_dioxide_mass", IONS["CO2"].molar_mass, "molar mass",
                   title="Molar mass of carbon dioxide", symbol="M_CO2", source="iupac-weights")
    held = water_per_volume.at(f"{at}.water_per_volume", density=water.density,
                               total_dissolved_solids=water.total_dissolved_solids)
    there = measured_molality_of.at(f"{at}.carbon_dioxide_measured", concentration=gas, molar_mass=mass,
                                     held_water=held)
    off = carbon_dioxide_departure.at(f"{at}.carbon_dioxide_departure", measured_molality=there, found_molality=found)
    band = assumed(f"{at}.carbon_dioxide_band", 0.5, "fraction", title="Departure of carbon dioxide allowed",
                   symbol="d_max", source="common-practice", note="0.1 in pH moves it by a quarter")
    checked(f"{at}.carbon_dioxide.check", off, "<=", band, title=f"Carbon dioxide against pH and bicarbonate{_one(at)}",
            do="measure pH and carbon dioxide again on the spot: gas leaves a sample on its way")


def missing(inp: Callable[[str], Any], at: str, ions: Column) -> None:
    """What was not analysed, and what cannot be said without it."""
    source: Choice = inp("water.source")
    with scoped(because=[source]):
        wanted = WANTED | (WANTED_OF_WELLS if source == "beach-well" else {})
        lacks = [f"{IONS[k].name} ({why})" for k, why in wanted.items() if k not in ions]
        note(f"{at}.missing", title=f"Constituents that were not analysed{_one(at)}",
             verdict="review" if lacks else "passes",
             why=f"not stated: {', '.join(lacks)}" if lacks else "all that the kit uses are stated",
             do="ask the laboratory for them: a constituent that is not stated counts as absent", inputs={"ions": ions})


def fouling(inp: Callable[[str], Any], ions: Column) -> None:
    """Iron, manganese, sulfide, oil and oxidant of the raw water."""
    source: Choice = inp("water.source")
    sulfide = inp("water.sulfide")
    with scoped(because=[source]):
        found = {k: ions[k] for k in ("Fe", "Mn") if k in ions}
        names = [f"{IONS[k].name} {v.show()}" for k, v in found.items() if float(v) != 0.0]
        if float(sulfide) != 0.0:
            names.append(f"sulfide {sulfide.show()}")
        note(
            "water.reduced",
            title="Reduced iron, manganese and sulfide",
            verdict="review" if names else "passes",
            why=f"{', '.join(names)}: air or chlorine upstream of the RO membranes makes solids of it"
            if names
            else "none stated",
            do="keep air and oxidant out up to the membranes, or remove it first",
            inputs={**found, "sulfide": sulfide},
        )
    oil, oxidant = inp("water.oil"), inp("water.residual_oxidant")
    if oil is not None:
        note("water.oil.finding", title="Oil and grease", verdict="review" if float(oil) != 0.0 else "passes",
             why=f"{oil.show()} in the worst case" if float(oil) != 0.0 else "none",
             do="remove it by flotation or stop the intake: membranes tolerate almost none", inputs={"oil": oil})
    if oxidant is not None:
        note("water.residual_oxidant.finding", title="Oxidant in the raw water",
             verdict="review" if float(oxidant) != 0.0 else "passes",
             why=f"{oxidant.show()} arrives with the raw water" if float(oxidant) != 0.0 else "none",
             do="dechlorinate upstream of the RO membranes even where this plant doses no chlorine",
             inputs={"residual_oxidant": oxidant})


@relation("Water in the volume", symbol="rho_w", unit="kg/m^3", source="definition")
def water_per_volume(density: KgPerM3, total_dissolved_solids: Concentration) -> Concentration:
    """Mass of water in a volume of solution.

    Its density less its dissolved solids; both have to be at one temperature.
    """
    return density - total_dissolved_solids
