"""pH, alkalinity and charge after each dose, against an independent solver on the same input."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook import paths
from desalbook.water.phreeqc import Water, dose, dose_to_ph
from desalbook.water.species import IONS, REACTANTS
from tests.dosing.carbonate import fresh_ph, saline_constants, saline_ph

# ions mol/kg water: a permeate with a little boron, and a remineralised water; carbon = CO2 + HCO3
PERMEATE = Water((("Na", 3.0e-3), ("Cl", 2.95e-3), ("B", 6e-5)), 5.0e-5, 9.0e-5, None, 298.15)
MINERAL = Water((("Ca", 8.0e-4), ("Na", 2.5e-3), ("Cl", 2.5e-3)), 1.6e-3, 1.7e-3, None, 293.15)

DOSES = [("H2SO4", 2e-5), ("HCl", 2e-5), ("NaOH", 3e-5), ("Na2CO3", 2e-5), ("NaHCO3", 2e-4), ("NaHSO3", 1e-5),
         ("Na2S2O5", 5e-6), ("FeCl3", 5e-6), ("CO2", 1e-4), ("Ca(OH)2", 4e-5)]


def strength(water: Water) -> float:
    return 0.5 * sum(IONS[k].charge ** 2 * v for k, v in water.molality if k != "B") + 0.5 * (water.alkalinity or 0.0)


@pytest.mark.parametrize("water", [PERMEATE, MINERAL], ids=["permeate", "remineralised"])
@pytest.mark.parametrize(("what", "amount"), DOSES)
def test_fresh_water_after_a_dose(water, what, amount):
    """Within 0.02 of Plummer & Busenberg with Davies, on the same alkalinity and carbon; activity scale."""
    row = REACTANTS[what]
    alkalinity = water.alkalinity + row.alkalinity * amount
    carbon = water.carbon + row.carbon * amount
    after, found = dose(water, water.temperature, {what: amount}, "fresh")
    ions = dict(after.molality)
    mine = fresh_ph(alkalinity, carbon, strength(after), water.temperature, ions.get("B", 0.0), ions.get("Ca", 0.0))
    assert found.ph == pytest.approx(mine, abs=0.02)


def test_the_solver_would_see_a_wrong_alkalinity():
    """2 % more alkalinity in a permeate moves its pH by more than the tolerance over one dose of these."""
    _, found = dose(PERMEATE, 298.15, {"NaOH": 3e-5}, "fresh")
    wrong = fresh_ph(5.0e-5 * 1.02 + 3e-5 * 1.05, 9.0e-5, strength(PERMEATE), 298.15, 6e-5)
    assert abs(found.ph - wrong) > 0.02


@pytest.mark.parametrize("water", [PERMEATE, MINERAL], ids=["permeate", "remineralised"])
@pytest.mark.parametrize(("what", "amount"), DOSES)
def test_alkalinity_and_charge_close(water, what, amount):
    """Alkalinity after = before + stoichiometry; strong ions carry the charge that the alkalinity has."""
    row = REACTANTS[what]
    after, found = dose(water, water.temperature, {what: amount}, "fresh")
    assert after.alkalinity == pytest.approx(water.alkalinity + row.alkalinity * amount, rel=1e-9)
    assert found.alkalinity == pytest.approx(after.alkalinity, rel=1e-6)
    change = sum(IONS[k].conserved_charge * (v - dict(water.molality).get(k, 0.0)) for k, v in after.molality)
    assert change == pytest.approx(row.alkalinity * amount, rel=1e-9)


@pytest.mark.parametrize("target", [8.5, 9.5, 10.0, 10.5])
def test_caustic_before_a_second_pass(target):
    """The dose put into the independent solver gives the target within 0.02."""
    moles = dose_to_ph(PERMEATE, 298.15, target, "NaOH", "fresh")
    again = fresh_ph((PERMEATE.alkalinity or 0.0) + moles, PERMEATE.carbon or 0.0,
                     strength(PERMEATE) + 0.5 * moles, 298.15, 6e-5)
    assert again == pytest.approx(target, abs=0.02)


def test_the_solver_itself_against_published_points():
    """pK1* 5.8472, pK2* 8.9660, ln KB -19.7964 at S 35, 25 degC; pH_T 8.0459 at TA 2300, DIC 2000 (Dickson 2007 and
    a reference library)."""
    from math import log, log10
    k1, k2, kb, _ = saline_constants(35.0, 298.15)
    assert (-log10(k1), -log10(k2), log(kb)) == pytest.approx((5.8472, 8.9660, -19.7964), abs=1e-4)
    assert saline_ph(2300e-6, 2000e-6, 415.7e-6, 35.0, 298.15) == pytest.approx(8.0459, abs=0.002)
    assert fresh_ph(0.0, 0.0, 0.0, 298.15) == pytest.approx(7.0, abs=0.01)


@pytest.mark.parametrize(("acid", "ferric"), [("no", "yes"), ("no", "no"), ("yes", "yes")])
@pytest.mark.parametrize("temperature", ["cold", "design", "hot"])
def test_sea_water_after_ferric_bisulfite_and_acid(acid, ferric, temperature):
    """pH of the feed on the total scale within 0.05, from alkalinity by stoichiometry apart from the kit's chain.

    Both stand on the total scale; nutrients are left out on both sides.
    """
    plant = db.size(db.read(paths.demo("harbour-town.toml")).with_values(
        {"acid.present": acid, "acid.target_ph": "7.3", "coagulation.present": ferric}))
    f = {k: float(plant[k]) for k in ("feed.alkalinity_raw", "feed.carbon", "feed.water_content")}
    ions, solids = plant["water.molality"], float(plant["water.salinity"])
    per_solution = 1 / (1 + solids)
    lost = 0.0
    if ferric == "yes":
        lost += 3 * 1e-3 / f["feed.water_content"] / 0.055845
    lost += 2 * 0.5e-3 / f["feed.water_content"] / 0.070900  # twice stoichiometry, one equivalent a mole
    if acid == "yes":
        lost += 2 * float(plant[f"acid.amount@{temperature}"])
    s = float(plant["water.practical_salinity"])
    t = float(plant[f"water.temperature_{temperature}"])
    mine = saline_ph((f["feed.alkalinity_raw"] - lost) * per_solution, f["feed.carbon"] * per_solution,
                     float(ions["B"]) * per_solution, s, t)
    theirs = float(plant["acid.ph_total"] if acid == "yes" else plant[f"feed.ph_total@{temperature}"])
    assert theirs == pytest.approx(mine, abs=0.05)
