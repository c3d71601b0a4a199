"""Each stand-alone calculation against a published or hand-worked value, with its source beside it."""

from __future__ import annotations

from typing import Any, NamedTuple

from desalbook import calc
from desalbook.units import parse
from tests.every import every


class Worked(NamedTuple):
    """One calculation with a result somebody else found.

    Parameters
    ----------
    name : str
        Of the calculation.
    given : dict
    expected : dict
        Id and text with unit.
    within : float
        Relative, from the digits that are printed or from the physics that differs.
    source : str
    """

    name: str
    given: dict[str, Any]
    expected: dict[str, str]
    within: float
    source: str


EX1 = {"Ca": "412.3 mg/kg", "Mg": "1291.8 mg/kg", "Na": "10768 mg/kg", "K": "399.1 mg/kg", "Cl": "19353 mg/kg",
       "HCO3": "141.682 mg/kg", "SO4": "2712 mg/kg", "SiO2": "4.28 mg/kg"}
FRESH = {"Ca": "60.07 mg/L", "HCO3": "34 mg/L as CaCO3", "Na": "53.6 mg/L", "Cl": "164.9 mg/L"}
SEA = {"Na": "10000 mg/L", "Cl": "18000 mg/L", "Ca": "400 mg/L", "Mg": "1280 mg/L", "SO4": "2650 mg/L", "K": "400 mg/L",
       "HCO3": "140 mg/L"}
WELL = {ion: f"{float(text.split()[0]) / 2:g} mg/L" for ion, text in SEA.items()}
OCEAN = {ion: f"{mass:g} mg/kg" for ion, mass in (
    ("Na", 10730.8), ("Mg", 1277.7), ("Ca", 410.15), ("K", 397.2), ("Sr", 7.91), ("Cl", 19261.9), ("SO4", 2699.6),
    ("HCO3", 122.04), ("Br", 66.96), ("F", 1.294), ("B", 4.4943))}
PIPE = "piping.runs[pipe]"
DUTY = dict(permeate_flow="100 m3/h", recovery="42 %", feed_pressure="62 barg", concentrate_pressure="60.5 barg",
            suction_pressure="2 barg", pump_efficiency="85 %")
TANK = dict(flow="100 m3/h", residual="1.2 mg/L as Cl2", ph=7.5, temperature="15 degC", log_removal=3)

WORKED = {
    "tank": Worked(
        "tank", dict(raw_flow="420 m3/h", retention_time="1 h", usable="80 %"), {"storage.volume": "525 m3"}, 1e-9,
        "worked by hand: 420 m3/h for an hour, in four fifths of the volume"),
    "filters, one out of service": Worked(
        "filters", dict(flow="18400 m3/d", count=4, diameter="5.2073 m", rate_limit="20 m/h",
                        rate_limit_backwashing="20 m/h", rate_limit_outage="30 m/h"),
        {"filters.rate": "9 m/h", "filters.rate_one_backwashing": "12 m/h", "filters.rate_outage": "18 m/h"}, 1e-3,
        "Davis, Water and Wastewater Engineering (2010), example 11-5: 18 400 m3/d on 4 filters at 216 m3/(d m2) "
        "is 21.296 m2 each; with one out the rate is 4/3, with two out 2"),
    "filters, number and diameter": Worked(
        "filters", dict(flow="285 m3/h"), {"filters.count": "5", "filters.diameter": "2.5 m",
                                           "filters.area_needed": "4.75 m2"}, 1e-9,
        "worked by hand with the limits 12, 15 and 25 m/h: 4 filters need 285/45 = 6.33 m2, wider than the 4.91 m2 of "
        "2.5 m; 5 need 285/60 = 4.75 m2, 2.46 m"),
    "backwash, volume of one": Worked(
        "backwash", dict(flow="353.43 m3/h", count=5, diameter="3 m", backwash_rate="45 m/h", backwash_time="12 min"),
        {"filters.backwash_flow": "318.1 m3/h", "filters.backwash_volume": "63.6 m3"}, 5e-4,
        "worked by hand: 7.069 m2 of a filter of 3 m at 45 m/h for 12 min"),
    "cartridges": Worked(
        "cartridges", dict(flow="200 m3/h", loading="0.75 m3/h"),
        {"cartridge.equivalents_needed": "267", "cartridge.needed": "67"}, 1e-9,
        "worked by hand: 200/0.75 = 266.7 lengths of 250 mm, four to a cartridge of 1 m"),
    "pump, system head": Worked(
        "pump", dict(total_flow="200 gpm", tank_low_level="0 m", delivery_elevation="265 ft",
                     delivery_pressure="0 barg", length="1255 ft", diameter="4.026 inch", fitting_losses=3.79,
                     material="super-duplex"), {"pump.head": "296 ft"}, 0.006,
        "Hydraulic Institute Engineering Data Book, system curve: 296.0 ft at 200 gpm with a friction factor of 0.02, "
        "which stands here at its Colebrook value, 5 % less on 31 ft of friction"),
    "pump, power": Worked(
        "pump", dict(total_flow="1840 gpm", tank_low_level="0 m", delivery_elevation="180 ft", equipment_drop="2.9 bar",
                     delivery_pressure="0 barg", length="0 m", fitting_losses=0, efficiency="71.554 %",
                     salinity="1 g/kg", temperature="15 degC"),
        {"pump.shaft_power": "179.811 hp"}, 0.002,
        "US DOE pump assessment library, its own test: 1840 gpm, 277 ft, efficiency 71.554 % at 179.811 hp; here 180 "
        "ft of lift and 97 ft across equipment, in water of 999.9 kg/m3"),
    "pump, suction": Worked(
        "pump", dict(total_flow="100 m3/h", tank_low_level="2.5 m", elevation="0.5 m", suction_loss="0.8 m",
                     altitude="0 m", temperature="25 degC", salinity="35 g/kg"),
        {"pump.npsh_available": "10.987 m"}, 1e-3,
        "worked by hand: (101.325 - 3.109) kPa over 1023.3 kg/m3 is 9.787 m, 2.0 m of level, 0.8 m of friction"),
    "hp_pump": Worked(
        "hp_pump", dict(flow="238.1 m3/h", pressure_rise="60 bar", efficiency="85 %"),
        {"hp_pump.hydraulic_power": "396.83 kW", "hp_pump.shaft_power": "466.86 kW", "hp_pump.motor": "560 kW",
         "hp_pump.electric_power": "502.4 kW"}, 1e-3,
        "worked by hand: 238.1 m3/h x 60 bar; over 0.85; motor 95.8 % and drive 97 %; next IEC rating above 513.5 kW"),
    "energy_recovery, pelton": Worked(
        "energy_recovery", dict(**DUTY, device="pelton", efficiency="88 %"),
        {"energy_recovery.recovered_power@pelton": "204.23 kW", "energy.membrane_specific@pelton": "2.750 kWh/m3",
         "energy.membrane_specific@none": "4.889 kWh/m3"}, 0.005,
        "worked by hand: 138.095 m3/h x 60.5 bar x 0.88; motor 95.5 % there, that of its rating here, within 0.4 %"),
    "energy_recovery, turbine": Worked(
        "energy_recovery", dict(**DUTY, device="pump-as-turbine", efficiency="75 %", outfall_rise="9 m",
                                outfall_loss="0.975 m", salinity="35 g/kg", temperature="25 degC"),
        {"energy_recovery.recovered_power@pump-as-turbine": "171.18 kW",
         "energy.membrane_specific@pump-as-turbine": "3.096 kWh/m3"}, 0.004,
        "worked by hand: 138.095 m3/h x (60.5 - 1.0) bar x 0.75, one bar at the exhaust; motor 95.5 % there"),
    "energy_recovery, turbocharger": Worked(
        "energy_recovery", dict(**DUTY, device="turbocharger", efficiency="68 %", outfall_rise="9 m",
                                outfall_loss="0.975 m", salinity="35 g/kg", temperature="25 degC"),
        {"energy_recovery.boost@turbocharger": "23.467 bar", "energy.membrane_specific@turbocharger": "2.977 kWh/m3"},
        0.004, "worked by hand: 0.68 x 138.095/238.095 x (60.5 - 1.0) bar"),
    "energy_recovery, isobaric": Worked(
        "energy_recovery", dict(**DUTY, device="isobaric", leakage="1.5 %", high_pressure_drop="0.7 bar",
                                low_pressure_drop="0.6 bar", booster_efficiency="80 %", piping_loss="0 bar"),
        {"hp_pump.shaft_power@isobaric": "200.14 kW", "energy.membrane_specific@isobaric": "2.207 kWh/m3"}, 0.004,
        "worked by hand: (100 + 0.015 x 138.095) m3/h x 60 bar over 0.85, booster 136.02 m3/h x 2.2 bar"),
    "pipe": Worked(
        "pipe", dict(flow="200 m3/h", diameter="200 mm", length="100 m", fitting_losses=0, material="grp",
                     temperature="25 degC", salinity="35 g/kg"),
        {f"{PIPE}.velocity": "1.768 m/s", f"{PIPE}.reynolds": "377400", f"{PIPE}.friction_factor": "0.01495",
         f"{PIPE}.loss": "1.191 m"}, 2e-3,
        "worked by hand with the Colebrook equation: roughness 0.02 mm, 0.959 mPa s; 1.191 m of 100 m"),
    "wall": Worked(
        "wall", dict(flow="200 m3/h", pressure="83 barg", material="super-duplex"),
        {f"{PIPE}.outer_diameter": "168.3 mm", f"{PIPE}.wall_pressure": "2.584 mm", f"{PIPE}.wall_needed": "2.953 mm",
         f"{PIPE}.thickness": "3.4 mm"}, 3e-4,
        "worked by hand, ASME B31.3 304.1.2: 8.3 MPa, 168.3 mm, 267 MPa, Y 0.4; mill tolerance 12.5 %"),
    "surge": Worked(
        "surge", dict(velocity="2 m/s", inner_diameter="300 mm", thickness="10 mm", elastic_modulus="20 GPa",
                      length="500 m"), {"surge.wave_speed": "711 m/s", "surge.surge": "14.6 bar"}, 2e-3,
        "worked by hand: seawater 2.34 GPa and 1025 kg/m3 in glass-fibre pipe; Joukowsky"),
    "surge, steel": Worked(
        "surge", dict(velocity="2 m/s", inner_diameter="400 mm", thickness="8 mm", elastic_modulus="205 GPa",
                      length="500 m", density="1000 kg/m3", bulk_modulus="2.2 GPa"),
        {"surge.wave_speed": "1196.6 m/s", "surge.surge": "23.93 bar"}, 1e-3,
        "worked by hand after Wylie and Streeter: steel of 205 GPa, fresh water of 2.2 GPa"),
    "membranes": Worked(
        "membranes", dict(train_permeate="2400 m3/d", recovery="42 %", vessels=26, elements=7),
        {"duty.feed_flow": "238.095 m3/h", "membrane.flux": "14.85 L/(m2 h)"}, 1e-3,
        "worked by hand: 100 m3/h over 0.42; 100 m3/h over 26 x 7 elements of 37 m2"),
    "element": Worked(
        "element", dict(area="37.16 m2", rated_flow="25.7 m3/d", rated_rejection="99.75 %", test_pressure="55.2 barg",
                        test_concentration="32000 mg/L", test_recovery="8 %", test_temperature="25 degC",
                        length="0.96 m", spacer_height="0.71 mm", spacer_porosity="89 %"),
        {"membrane.element.water_permeability": "1.16981 L/(m2 h bar)",
         "membrane.element.salt_permeability": "0.06219 L/(m2 h)"}, 0.04,
        "worked by hand in one lump with the osmotic pressure of ASTM D4516, which is 3.4 % high at 32 g/L and so "
        "raises A by 4 % of its driving pressure"),
    "least_work": Worked(
        "least_work", dict(recovery="30 %", salinity="35.165 g/kg", temperature="25 degC"),
        {"water.osmotic_pressure@design": "25.92 bar", "energy.least_work": "0.8659 kWh/m3"}, 0.01,
        "TEOS-10: 25.920 bar and 0.8659 kWh/m3 at a recovery of 30 % by mass; by volume it is 1.5 % less of the mass"),
    "water": Worked(
        "water", dict(salinity="35 g/kg", temperature_cold="15 degC", temperature_hot="35 degC"),
        {"water.density@design": "1023.220 kg/m3", "water.density@cold": "1025.849 kg/m3"}, 1e-4,
        "TEOS-10 (IAPWS R13-08): density of seawater of 35 g/kg at 25 and 15 degC"),
    "water, osmotic pressure": Worked(
        "water", dict(salinity="45 g/kg", temperature_cold="15 degC", temperature_hot="35 degC"),
        {"water.osmotic_pressure@cold": "32.59 bar", "water.osmotic_pressure@design": "33.77 bar",
         "water.osmotic_pressure@hot": "34.85 bar"}, 0.005,
        "TEOS-10, root of the chemical potential of water across the membrane, 45 g/kg"),
    "scaling, seawater": Worked(
        "scaling", dict(ions=EX1, ph=8.22, temperature="25 degC"), {"scaling.feed[gypsum]": "-0.64"}, 0.01,
        "PHREEQC manual (USGS TM 6-A43), example 1: saturation index of gypsum -0.64"),
    "scaling, fresh water": Worked(
        "scaling", dict(ions=FRESH, ph=7.5, temperature="25 degC"),
        {"scaling.simplified_saturation_ph": "8.231"}, 0.003,
        "widely reprinted example of the Langelier index: TDS 320, Ca 150 and alkalinity 34 mg/L as CaCO3; pHs 8.231"),
    "blend": Worked(
        "blend", dict(analyses={"sea": {"share": "50 %", "ions": SEA, "ph": 8.1},
                                "well": {"share": "50 %", "ions": WELL, "ph": 7.6}}),
        {"water.concentration[Cl]": "13500 mg/L"}, 0.003,
        "worked by hand: halves of 18 000 and 9 000 mg/L; by mass of water 0.2 % more than by volume"),
    "remineralisation": Worked(
        "remineralisation", dict(ions={"Na": "59.1 mg/L", "Cl": "91 mg/L", "HCO3": "0.2 mg/L"}, ph=6,
                                 temperature="25 degC", remineralisation="calcite", calcite_dose="80 mg/L",
                                 co2_dose="35.6 mg/L", ph_adjustment="no"),
        {"product.alkalinity": "80 mg/L as CaCO3", "product.calcium": "80 mg/L as CaCO3"}, 0.005,
        "worked by hand: a mole of calcite with a mole of carbon dioxide gives calcium and alkalinity alike"),
    "disinfection": Worked(
        "disinfection", TANK,
        {"product_tank.ct_giardia": "101 mg min/L as Cl2", "product_tank.ct_virus": "4 mg min/L as Cl2"}, 0.005,
        "EPA profiling manual (1999), regression of CT for 3 log of Giardia at 15 degC, pH 7.5, 1.2 mg/L; table "
        "of viruses, 4 log at 15 degC"),
    "dose, hypochlorite": Worked(
        "dose", dict(flow="200 m3/h", dose="3 mg/L as Cl2", chemical="sodium-hypochlorite", strength="10 % w/w",
                     density="1200 kg/m3", strength_left="100 %"), {"dose.feed_rate": "5.00 L/h"}, 1e-9,
        "worked by hand: 200 m3/h x 3 mg/L over 120 g/L"),
    "dose, ferric chloride": Worked(
        "dose", dict(flow="200 m3/h", dose="10 mg/L", chemical="ferric-chloride", strength="40 % w/w",
                     density="1420 kg/m3"), {"dose.feed_rate": "3.521 L/h"}, 1e-4,
        "worked by hand: 200 m3/h x 10 mg/L over 0.40 x 1.42 kg/L"),
    "dechlorination": Worked(
        "dechlorination", dict(flow="200 m3/h", residual="1 mg/L as Cl2", dose_ratio=2),
        {"dechlorination.dose": "2.935 mg/L", "dechlorination.mass_rate": "0.587 kg/h",
         "dechlorination.per_chlorine": "1.468"}, 3e-4,
        "stoichiometry: 104.055/70.90 NaHSO3 per Cl2, twice; 200 m3/h"),
    "dechlorination, feed": Worked(
        "dechlorination", dict(flow="200 m3/h", residual="3 mg/L as Cl2", dose_ratio=1, strength="38 % w/w",
                               density="1340 kg/m3"), {"dechlorination.feed_rate": "1.730 L/h"}, 5e-4,
        "worked by hand: 200 m3/h x 3 x 1.468 mg/L over 0.38 x 1.34 kg/L"),
    "antiscalant": Worked(
        "antiscalant", dict(flow="200 m3/h", dose="3 mg/L as product", density="1100 kg/m3"),
        {"antiscalant.feed_rate": "0.545 L/h"}, 1e-3, "worked by hand: 0.6 kg/h of a product of 1.10 kg/L"),
    "acid": Worked(
        "acid", dict(flow="200 m3/h", target_ph=7.3, ions=OCEAN, also={"water.ph_total": 8.0459}),
        {"feed.alkalinity_raw": "2.3834 mmol/kg"}, 0.002,
        "carbon dioxide system of the oceanographers' program (Lueker; Dickson): pH 8.0459 (total), 25 degC, 35 g/kg, "
        "carbon 2000 umol/kg gives alkalinity 2300 umol/kg of seawater, 2383.4 of water"),
    "acid, dose": Worked(
        "acid", dict(flow="200 m3/h", target_ph=7.3, ions=OCEAN, temperature_cold="25 degC", temperature_hot="25 degC",
                     also={"water.ph_total": 8.0459}), {"acid.dose": "17.24 mg/L"}, 0.005,
        "worked by hand: at pH 7.17 (total) 2000 umol/kg carbon and 415.7 umol/kg boron hold 1956.5 umol/kg of the "
        "2300; half of the rest in moles of sulfuric acid, 98.072 g/mol, 1.0232 kg/L"),
    "cip": Worked(
        "cip", dict(vessels=10, vessels_at_once=10, elements=6, pipe_length="15.24 m", pipe_diameter="102.3 mm",
                    submergence_volume="0 m3"),
        {"cip.vessel_volume": "197.7 L", "cip.tank_volume": "2.628 m3", "cip.flow": "80 m3/h"}, 5e-4,
        "trade article on a CIP skid (2006), ten 8-inch vessels of six elements: some 700 US gal; by hand 8.0 inch x "
        "240 inch, 50 ft of pipe, times 1.25"),
    "outfall": Worked(
        "outfall", dict(concentrate_flow="0.1256637 m3/s", concentrate_density="1050 kg/m3",
                        concentrate_salinity="66 g/kg", ambient_density="1025 kg/m3", ambient_salinity="35 g/kg",
                        port_diameter="200 mm"),
        {"outfall.velocity": "4 m/s", "outfall.froude": "18.285", "outfall.rise": "8.05 m", "outfall.impact": "8.78 m",
         "outfall.dilution_impact": "29.3", "outfall.dilution": "47.5", "outfall.near_field": "32.9 m"}, 2e-3,
        "Roberts, Ferrier and Daviero (1997), dense jet at 60 degrees, from memory: 2.2, 2.4, 1.6, 2.6 and 9.0 times"),
}


def test_values():
    every(WORKED, holds)


def holds(case: Worked) -> None:
    result = getattr(calc, case.name)(**case.given)
    for id, text in case.expected.items():
        found = result[id]
        away = abs(float(found) / parse(text, found.kind) - 1)
        assert away <= case.within, f"{id}: {result.show(id)}, expected {text} ({case.source})"
    record = result.ledger  # the same to the last bit, recorded
    assert all(float(record[id]) == float(result[id]) for id in case.expected)


def test_every_calculation_is_held_to_a_value():
    assert {case.name for case in WORKED.values()} == set(calc.__all__)
    assert all(len(case.source) > 20 for case in WORKED.values())
