"""Units, bases, checks, blend and typical water: definitions by hand, Standard Methods, Reference Composition."""

from __future__ import annotations

from tests.points import Point

HAND = "hand arithmetic"
B, C, M, A = "water.basis", "water.checks", "water.blend", "water.analysis"


def _p(relation, inputs, expect, rel=1e-5, source="definition", place="", status=HAND):
    return Point(relation, inputs, expect, rel, source, place, status)


POINTS = [
    # 118 mg/L as CaCO3 are 143.875 mg/L of HCO3
    _p(f"{B}:by_mass_ratio", {"stated": 0.118, "basis_ratio": 1.219271}, 0.14387398),
    # 7 mg/L of oxygen would ask for some 46 mg/L of bisulfite; 10 mg/L of FeCl3 make 6.6 mg/L of hydroxide
    _p(f"{B}:by_mass_ratio", {"stated": 7e-3, "basis_ratio": 6.504}, 45.53e-3, 2e-4),
    _p(f"{B}:by_mass_ratio", {"stated": 10e-3, "basis_ratio": 0.6589}, 6.589e-3),
    # 412.08 mg/kg at 1023.34 kg/m3
    _p(f"{B}:as_ion_of_share", {"stated_share": 412.08e-6, "basis_ratio": 1.0, "density": 1023.34}, 0.42169795),
    _p(f"{B}:as_ion_of_share", {"stated_share": 100e-6, "basis_ratio": 0.40043, "density": 1000.0}, 0.040043),
    # 10.3 mmol/L of calcium
    _p(f"{B}:as_ion_of_moles", {"stated_amount": 10.3, "molar_mass": 0.040078}, 0.4128034),
    # 20.6 meq/L of calcium
    _p(f"{B}:as_ion_of_equivalents",
       {"stated_equivalents": 20.6, "equivalent_charge": 2.0, "molar_mass": 0.040078}, 0.4128034),
    _p(f"{B}:together", {"concentration": 0.4, "more_concentration": 0.03}, 0.43),
    # 1.354 g/L of magnesium are 111.417 meq/L
    _p(f"{A}:equivalents_of", {"concentration": 1.354, "molar_mass": 0.024305, "charge_number": 2.0}, 111.4174),
    # closing a water of 600 meq/L cations and 590 meq/L anions with chloride: -10 meq/L, 354.5 mg/L more Cl
    _p(f"{A}:missing_charge_of", {"cation_sum": 600.0, "anion_sum": 590.0}, -10.0),
    _p(f"{A}:balanced", {"concentration": 19.0, "balance_mass": -0.03545, "missing_charge": -10.0}, 19.3545),
    _p(f"{A}:carbon_of_alkalinity", {"concentration": 0.1439, "kept_ions": 0.0, "carbon_mark": 1.0,
                                     "carbon_per_alkalinity": 0.87}, 0.125193),
    _p(f"{A}:carbon_of_alkalinity", {"concentration": 20.0, "kept_ions": 1.0, "carbon_mark": 0.0,
                                     "carbon_per_alkalinity": 0.87}, 20.0),
    # alkalinity 100 mg/L as CaCO3 (121.927 mg/L HCO3) counts as 60 mg/L: 1000 - 121.927 + 60
    _p(f"{C}:dried_solids", {"total_dissolved_solids": 1.0, "bicarbonate": 0.121927}, 0.938073, 1e-5,
       "standard-methods", "1030E, factor 0.6 of the alkalinity", "from memory"),
    # strong in bicarbonate, so that the factor itself is seen: 10 g/L alkalinity as CaCO3, 12.1927 g/L HCO3
    _p(f"{C}:dried_solids", {"total_dissolved_solids": 13.0, "bicarbonate": 12.1927}, 6.8073, 2e-4,
       "standard-methods", "1030E, factor 0.6 of the alkalinity", "from memory"),
    _p(f"{C}:tds_ratio", {"measured_tds": 37.0, "total_dissolved_solids": 36.0}, 1.0277778),
    # 35.98 g/L at 53.07 mS/cm: 0.678 mg/L per uS/cm; reference seawater by PSS-78 at 25 degC
    _p(f"{C}:tds_per_conductivity", {"total_dissolved_solids": 35.98, "conductivity": 5.307}, 0.67797, 1e-4,
       "teos-10", "PSS-78, salinity 35 and 25 degC", "computed with a reference library"),
    _p(f"{C}:conductivity_departure", {"measured_conductivity": 6.0, "found_conductivity": 5.0}, 0.2),
    _p(f"{C}:conductivity_departure", {"measured_conductivity": 4.0, "found_conductivity": 5.0}, 0.2),
    _p(f"{C}:water_per_volume", {"density": 1023.22, "total_dissolved_solids": 35.98}, 987.24),
    # 0.44 mg/L of carbon dioxide in seawater
    _p(f"{C}:measured_molality_of", {"concentration": 0.44e-3, "molar_mass": 0.044009, "held_water": 987.24},
       1.012717e-5),
    _p(f"{C}:carbon_dioxide_departure", {"measured_molality": 3e-5, "found_molality": 2e-5}, 0.5),
    _p(f"{C}:carbon_dioxide_departure", {"measured_molality": 1e-5, "found_molality": 2e-5}, 0.5),
    # the Gulf analysis: 2140 mg/L sulfate beside 23.4 g/L chloride, reference 0.14015
    _p(f"{C}:departure", {"concentration": 2.140, "chloride_concentration": 23.4, "reference_ratio": 0.14015}, 0.347462,
       1e-5, "millero-2008", "mass ratio of sulfate to chloride"),
    _p(f"{C}:departure", {"concentration": 0.5, "chloride_concentration": 20.0, "reference_ratio": 0.02}, 0.25),
    # three parts of one, one part of the other
    _p(f"{M}:share_sum", {"analysis_share": 0.75, "more_share": 0.25}, 1.0),
    _p(f"{M}:part_of_blend", {"molality": 0.6, "analysis_share": 0.75, "total_share": 1.0}, 0.45),
    _p(f"{M}:part_of_blend", {"molality": 0.6, "analysis_share": 0.3, "total_share": 0.4}, 0.45),
    _p(f"{M}:temperature_part", {"temperature": 300.0, "analysis_share": 0.75, "total_share": 1.0}, 225.0),
    _p(f"{M}:temperature_part", {"temperature": 300.0, "analysis_share": 0.3, "total_share": 0.4}, 225.0),
    _p(f"{M}:blended_temperature", {"temperature": 225.0, "more_temperature": 72.5}, 297.5),
    # sodium at 35.16504 g/kg: 0.4689674 mol per kg seawater is 0.4860596 mol per kg water
    _p(f"{M}:typical_molality", {"reference_moles": 13.336180, "sea_salinity": 0.03516504}, 0.4860596, 2e-6,
       "millero-2008", "table 4"),
    _p(f"{M}:salinity_of_molality",
       {"molality": [0.5, 0.5, 0.01], "molar_mass": [0.02299, 0.03545, 0.01081], "salt_per_basis": [1.0, 1.0, 5.72]},
       0.029838332),
    _p(f"{M}:solids_per_volume", {"salinity": 0.036445, "density": 1023.22}, 35.97981, 1e-5),
    _p(f"{M}:ions_per_volume", {"molality": 0.4860596, "molar_mass": 0.02299, "density": 1023.34, "salinity": 0.036447},
       11.033204, 1e-5),
]

# practical salinity, temperature (K), conductivity (S/m) by gsw.C_from_SP; the ratio to salinity 35 at that
# temperature worked apart with numpy
PSS = [
    (35, 288.1464008637927, 4.291400008314587, 0.9999999999999998),
    (35, 298.15, 5.307103204872762, 0.9999999999999998),
    (5, 275.15, 0.5103210742178942, 0.1658148083580838),
    (40, 303.15, 6.566563884979752, 1.1252408423928595),
    (12, 307.15, 2.3839829519013622, 0.380410409973913),
    (42, 278.15, 3.9398794411459455, 1.1776521176203225),
    (20, 285.15, 2.410477783287676, 0.6026375195811348),
    (3, 306.15, 0.6479237843354572, 0.10520899340119311),
]
PSS_BY = ("unesco-44", "PSS-78", "computed with a reference library")
POINTS += [_p("water.seawater:conductivity_ratio_of", {"conductivity": c, "temperature": t}, r, 1e-9, *PSS_BY)
           for _, t, c, r in PSS]
POINTS += [_p("water.seawater:salinity_by_conductivity", {"conductivity_ratio": r, "temperature": t}, s, 1e-9, *PSS_BY)
           for s, t, _, r in PSS]
POINTS += [
    _p("water.seawater:salinity_departure", {"measured_salinity": 36.0, "practical_salinity": 30.0}, 0.2),
    _p("water.seawater:salinity_departure", {"measured_salinity": 24.0, "practical_salinity": 30.0}, 0.2),
]
