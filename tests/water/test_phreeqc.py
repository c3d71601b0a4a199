"""The bridge to the geochemical engine: what it sends, what it refuses, what it carries over (nothing)."""

from __future__ import annotations

import dataclasses
import math
import os
import pickle
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from desalbook.problems import EngineError, Infeasible
from desalbook.water.phreeqc import (
    DATABASES,
    Water,
    calcite_equilibrium,
    complete,
    dose,
    dose_to_ph,
    engine,
    permeate_ph,
    property_curves,
    salinity,
    saturation_ph,
    speciate,
)
from desalbook.water.phreeqc.speciation import _agree
from desalbook.water.phreeqc.waters import send
from desalbook.water.reference_composition import reference_sea
from desalbook.water.species import IONS, REACTANTS

SEA = reference_sea(0.035)
PERMEATE = Water.of({"Na": 0.0040, "K": 1e-4, "Mg": 5e-5, "Ca": 2e-5, "Cl": 0.0043, "SO4": 2e-5, "B": 8e-5},
                    alkalinity=3e-5, ph=5.6)
PRODUCT = Water.of({"Ca": 8e-4, "Na": 2.567e-3, "Cl": 2.567e-3}, alkalinity=1.6e-3, ph=8.2)


def _forget_answers() -> None:
    engine.forget_answers()
    property_curves.cache_clear()


# --- tables

def test_each_reactant_is_electrically_neutral():
    for row in REACTANTS.values():
        left = sum(IONS[ion].conserved_charge * n for ion, n in row.ions.items())
        assert left == row.alkalinity, row.key


@pytest.mark.parametrize(("key", "grams"), [
    # from the abridged standard atomic weights (IUPAC 2021), hand arithmetic
    ("NaOCl", 74.439), ("NaHSO3", 104.055), ("Na2S2O5", 190.095), ("H2SO4", 98.072), ("HCl", 36.458),
    ("NaOH", 39.997), ("Ca(OH)2", 74.092), ("CO2", 44.009), ("CaCO3", 100.086), ("FeCl3", 162.195)])
def test_molar_masses_of_reactants(key, grams):
    assert REACTANTS[key].molar_mass * 1e3 == pytest.approx(grams, abs=0.0015)


def test_boron_is_counted_as_acid_and_reported_as_boron():
    assert IONS["B"].molar_mass / IONS["B"].basis_molar_mass == pytest.approx(5.720, abs=0.001)


# --- refusals

def test_a_changed_data_file_is_refused(monkeypatch):
    wrong = dataclasses.replace(DATABASES["fresh"], sha256="0" * 64)
    monkeypatch.setitem(engine.DATABASES, "fresh", wrong)
    with pytest.raises(EngineError, match=r"phreeqc\.dat.*not the one"):
        engine._text.__wrapped__("fresh")


def test_an_element_the_data_lack_is_refused_not_dropped():
    text = ("SOLUTION 1\n units mol/kgw\n Na 0.1\n Cl 0.1\n F 0.001\n"
            "SELECTED_OUTPUT 1\n -reset false\n -pH\nEND\n")
    with pytest.raises(EngineError, match="warns"):
        engine.run("brine", text)
    assert engine.run("fresh", text).row()["pH"] > 0  # the same text where the data have it


def test_only_the_words_of_a_second_try_pass():
    tried = ("WARNING: Maximum iterations exceeded, 100\n\n"
             "WARNING: Trying smaller step size, pe step size 10, 5 ... \n")
    assert len(engine._warnings(tried)) == 2
    with pytest.raises(EngineError, match="Mineral"):
        engine._warnings(tried + "WARNING: Mineral Fluorite, not found.\n")


def test_an_element_lost_is_noticed():
    _agree({"total_Ca": 0.01}, {"Ca": 0.01})
    with pytest.raises(EngineError, match="Ca"):
        _agree({"total_Ca": 0.01 * (1 - 1e-5)}, {"Ca": 0.01})


@pytest.mark.parametrize("make", [
    lambda: Water.of({"Na": 0.1, "Unobtainium": 0.1}, ph=7),
    lambda: Water.of({"Na": -0.1}, ph=7),
    lambda: Water.of({"Na": math.nan}, ph=7),
    lambda: Water.of({"Na": "0.1; END"}, ph=7),
    lambda: Water.of({"Na": 0.1}, alkalinity=1e-3),
    lambda: Water.of({"Na": 0.1}, ph=15),
    lambda: Water((("HCO3", 0.001),), ph=7),
    lambda: Water((("Na", 0.1), ("Na", 0.1)), ph=7),
    lambda: Water.of({"Na": 0.1}, ph=7, temperature=25.0),
    lambda: speciate(SEA, 450.0),
    lambda: property_curves(SEA, 25.0),
    lambda: speciate(SEA, 298.15, "llnl"),
    lambda: dose(PRODUCT, 298.15, {"snake oil": 1e-3}),
    lambda: dose(PRODUCT, 298.15, {"CaCO3": -0.01}),
    lambda: property_curves(Water((), ph=7.0), 298.15),
])
def test_what_is_not_a_water_is_refused_in_one_line(make):
    with pytest.raises(EngineError) as caught:
        make()
    assert "\n" not in str(caught.value)


def test_alkalinity_below_what_the_ph_holds_is_refused():
    with pytest.raises(EngineError):
        speciate(Water.of({"Na": 0.5, "Cl": 0.5, "B": 4e-4}, alkalinity=1e-5, ph=9.5))


# --- substitutions

def test_ions_the_brine_data_lack_become_chloride_or_sodium_of_the_same_charge():
    water = Water.of({"Na": 0.5, "Cl": 0.49, "F": 1e-4, "NO3": 2e-4, "NH4": 1e-4, "PO4": 1e-5, "Al": 1e-6,
                      "HCO3": 0.002}, ph=8.0)
    sent, swaps = send(water, "brine")
    assert {s.ion: s.by for s in swaps} == {"F": "Cl", "NO3": "Cl", "NH4": "Na", "PO4": "Cl", "Al": "Na"}
    assert sent["Cl"] == pytest.approx(0.49 + 1e-4 + 2e-4 + 1e-5, rel=1e-12)
    assert sent["Na"] == pytest.approx(0.5 + 1e-4 + 3e-6, rel=1e-12)
    before = sum(IONS[k].conserved_charge * v for k, v in water.molality)
    assert sent["Na"] - sent["Cl"] == pytest.approx(before, abs=1e-12)
    share = {s.ion: s.share for s in swaps}["F"]
    assert share == pytest.approx(1e-4 / (0.5 + 0.49 + 4e-4 + 3e-5 + 3e-6), rel=1e-9)
    assert send(water, "fresh")[1] == ()
    assert speciate(water, None, "brine").substitutions == swaps


def test_redox_ions_stand_aside_while_calcite_reacts_and_this_is_said():
    water = Water.of({"Ca": 1e-3, "Na": 2e-3, "Cl": 1.9e-3, "NO3": 3e-4, "NH4": 2e-4}, alkalinity=2e-3,
                     ph=8.2)
    found = calcite_equilibrium(water)
    assert {s.ion for s in found.substitutions} == {"NO3", "NH4"}
    plain = Water.of({"Ca": 1e-3, "Na": 2.2e-3, "Cl": 2.2e-3}, alkalinity=2e-3, ph=8.2)
    assert found.precipitation_potential == pytest.approx(calcite_equilibrium(plain).precipitation_potential, abs=3e-6)


# --- consistency

@pytest.mark.parametrize("database", ["brine", "fresh", "wateq"])
@pytest.mark.parametrize("water", [SEA, PERMEATE, PRODUCT], ids=["sea", "permeate", "product"])
def test_carbon_and_boron_close(water, database):
    found = speciate(water, None, database)
    assert found.co2 + found.bicarbonate + found.carbonate == pytest.approx(found.carbon, rel=1e-6)
    boron = dict(water.molality).get("B", 0.0)
    assert found.boric_acid + found.borate == pytest.approx(boron, rel=1e-6, abs=1e-15)
    assert found.engine.sha256 == DATABASES[database].sha256
    assert (found.density is None) == (database == "wateq")


def test_what_is_not_modelled_is_none():
    sea = speciate(SEA, None, "brine")
    assert sea.index("fluorite") is None  # no fluorine in these data
    assert sea.index("barite") is None  # no barium in this water
    assert sea.index("gypsum") == pytest.approx(-0.64, abs=0.02)
    assert speciate(SEA, None, "fresh").index("brucite") is None  # no such mineral in these data
    assert all(v is None or v > -50 for v in dict(sea.saturation).values())


def test_charge_imbalance_is_reported_and_nothing_is_adjusted():
    water = Water.of({"Na": 0.101, "Cl": 0.1}, ph=7.0)
    found = speciate(water)
    assert found.charge_imbalance == pytest.approx(0.001, rel=1e-3)
    assert found.charge_imbalance_share == pytest.approx(0.001 / 0.201, rel=1e-3)


def test_alkalinity_and_carbon_rule_when_the_water_is_heated():
    cold = speciate(SEA, 278.15)
    again = speciate(dataclasses.replace(SEA, carbon=None, ph=cold.ph, temperature=278.15), 298.15)
    assert again.ph == pytest.approx(speciate(SEA, 298.15).ph, abs=1e-6)
    # seawater gets more acid by 0.01 to 0.02 a kelvin when heated in a closed bottle (common practice)
    assert 0.008 < (cold.ph - again.ph) / 20 < 0.02


def test_completing_twice_changes_nothing():
    once = complete(PERMEATE, "fresh")
    assert complete(once, "fresh").ph == pytest.approx(5.6, abs=1e-6)
    assert once.conserved() == complete(once, "fresh").conserved()


# --- no memory

def _answers():
    return {
        "curves": lambda: property_curves(SEA, 288.15),
        "sea": lambda: speciate(SEA, 278.15),
        "acid": lambda: dose(SEA, 298.15, {"H2SO4": 1.3e-3}, "brine"),
        "product": lambda: calcite_equilibrium(PRODUCT),
        "permeate": lambda: dose_to_ph(PERMEATE, 298.15, 8.5, "NaOH"),
        "brine calcite": lambda: calcite_equilibrium(SEA, 308.15, "brine"),
    }


def test_any_order_gives_the_same_bits():
    jobs = _answers()
    _forget_answers()
    first = {}
    for name, job in jobs.items():  # each on a new instance
        engine._instances.clear()
        _forget_answers()
        first[name] = repr(job())
    for order in (list(jobs), list(jobs)[::-1], [n for n in jobs for _ in (0, 1)]):
        _forget_answers()
        with pytest.raises(EngineError):  # a failed run must leave nothing downstream of either
            engine.run("brine", "SOLUTION 1\n pH 7 Nothing 0\nEND\n")
        for name in order:
            engine.forget_answers()
            assert repr(jobs[name]()) == first[name], name


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_a_forked_process_answers_for_itself():
    job = _answers()["acid"]
    alone = repr(job())
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            engine.forget_answers()
            os.write(write, b"same" if repr(job()) == alone else b"other")
        finally:
            os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        assert pipe.read() == b"same"
    assert os.waitpid(child, 0)[1] == 0
    engine.forget_answers()
    assert repr(job()) == alone


def test_threads_agree_with_one_thread():
    jobs = list(_answers().values()) * 3
    _forget_answers()
    alone = [repr(job()) for job in jobs]
    _forget_answers()
    with ThreadPoolExecutor(6) as pool:
        assert list(pool.map(lambda job: repr(job()), jobs)) == alone


def test_answers_cross_to_other_processes():
    found = property_curves(SEA, 298.15)
    assert pickle.loads(pickle.dumps(found)) == found
    assert pickle.loads(pickle.dumps(SEA)) == SEA


def test_importing_the_room_loads_no_engine():
    code = ("import sys, desalbook.water, desalbook.water.phreeqc, desalbook.water.reference_composition; "
            "print([m for m in ('phreeqc', 'numpy', 'scipy', 'pint') if m in sys.modules])")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


# --- curves

@pytest.mark.parametrize("kelvin", [274.15, 298.15, 313.15])
@pytest.mark.parametrize("water", [SEA, PERMEATE, Water.of({"Na": 1.0, "Cl": 1.0}, ph=7.0)],
                         ids=["sea", "permeate", "sodium chloride"])
def test_curves_hold_between_their_points(water, kelvin):
    made = property_curves(water, kelvin)
    assert made.osmotic.at(0.0) == 0.0
    assert made.density.at(0.0) == made.pure_density
    assert made.osmotic.max_error < 5e-4
    assert made.density.max_error < 5e-5
    full = complete(water)
    worst = 0.0
    for x in (0.0005, 0.0007, 0.0012, 0.004, 0.011, 0.027, 0.045, 0.061, 0.084, 0.115, 0.129):
        there = speciate(full.scaled(x / made.salinity), kelvin)
        volume = 0.018015 / made.pure_density
        osmotic = -8.314462618 * kelvin * math.log(there.water_activity) / volume
        worst = max(worst, abs(made.osmotic.at(x) / osmotic - 1))
        assert made.density.at(x) == pytest.approx(there.density, rel=5e-5)
    assert worst < 1e-3
    assert worst < 3 / 2 * made.osmotic.max_error + 1e-5  # what the curve says of itself


def test_curves_do_not_depend_on_the_strength_given():
    at = [property_curves(complete(SEA).scaled(f), 298.15).osmotic.at(0.05) for f in (0.3, 1.0, 2.0)]
    assert max(at) / min(at) == pytest.approx(1.0, abs=2e-6)


def test_dilute_end_meets_the_ideal_limit():
    """At vanishing strength pi tends to R T times the moles a cubic metre of water holds (van 't Hoff)."""
    made = property_curves(Water.of({"Na": 1.0, "Cl": 1.0}, ph=7.0), 298.15)
    ideal = 2 / 0.05844 * 8.314462618 * 298.15 * made.pure_density
    assert made.osmotic.coefficients[0] == pytest.approx(ideal, rel=0.01)


def test_one_run_for_all_points_costs_no_more_than_its_solutions():
    def clock(job) -> float:
        best = math.inf
        for _ in range(3):
            _forget_answers()
            start = time.process_time()
            job()
            best = min(best, time.process_time() - start)
        return best

    assert clock(lambda: property_curves(SEA, 298.15)) < 20 * clock(lambda: speciate(SEA, 298.15))


# --- doses

def _reacted(water: Water, kelvin: float, formula: str, amount: float, database: str) -> float:
    """pH by the engine's own reaction step, which knows nothing of our bookkeeping."""
    from desalbook.water.phreeqc.waters import punch, solution

    sent, _ = send(water, database)
    alkalinity, carbon = water.conserved()
    text = (punch({"ph": '-LA("H+")'}) + solution(1, kelvin, sent, alkalinity=alkalinity, carbon=carbon)
            + f"REACTION 1\n {formula} 1.0\n {amount!r} moles\nEND\n")
    return engine.run(database, text).row(-1)["ph"]


@pytest.mark.parametrize(("reagent", "formula", "amount"), [
    ("NaOH", "NaOH", 5e-4), ("HCl", "HCl", 9e-4), ("H2SO4", "H2SO4", 4e-4), ("CO2", "CO2", 6e-4),
    ("Ca(OH)2", "Ca(OH)2", 3e-4), ("Na2CO3", "Na2CO3", 3e-4), ("NaHCO3", "NaHCO3", 1e-3),
    ("CaCO3", "CaCO3", 4e-4), ("HCl", "HCl", 3e-3)])
@pytest.mark.parametrize(("water", "database"), [(SEA, "brine"), (PRODUCT, "fresh")], ids=["sea", "product"])
def test_dose_agrees_with_the_engines_own_reaction(water, database, reagent, formula, amount):
    full = complete(water, database)
    ours = dose(full, 298.15, {reagent: amount}, database)[1].ph
    assert ours == pytest.approx(_reacted(full, 298.15, formula, amount, database), abs=5e-4)


def test_past_the_last_alkalinity_the_water_is_a_strong_acid():
    """0.001 mol/kg HCl reads pH 3.015 (gamma 0.965, Davies equation, hand arithmetic)."""
    water = Water.of({"Na": 1e-3, "Cl": 0.0}, alkalinity=1e-3, ph=8.2)
    gone = dose(water, 298.15, {"HCl": 2e-3, "CaCO3": 0.0}, "fresh")
    bare = Water(gone[0].molality, gone[0].alkalinity, 0.0)
    assert gone[0].alkalinity == pytest.approx(-1e-3, abs=1e-12)
    strong = Water((("Cl", 1e-3),), -1e-3, 0.0)
    assert speciate(strong, 298.15, "fresh").ph == pytest.approx(3.015, abs=0.005)
    assert speciate(bare, 298.15, "fresh").ph == pytest.approx(3.02, abs=0.01)


def test_hypochlorite_and_its_bisulfite_yield_sulfate_chloride_and_one_hydrogen_ion():
    mole = 3e-5
    full = complete(SEA, "brine")
    both, _ = dose(full, 298.15, {"NaOCl": mole, "NaHSO3": mole}, "brine")
    acid, _ = dose(full, 298.15, {"HCl": mole}, "brine")
    assert both.alkalinity == pytest.approx(full.alkalinity - mole, abs=1e-15)
    assert dict(both.molality)["SO4"] - dict(full.molality)["SO4"] == pytest.approx(mole, rel=1e-9)
    assert dict(both.molality)["Cl"] - dict(full.molality)["Cl"] == pytest.approx(mole, rel=1e-6)
    assert both.ph == pytest.approx(acid.ph, abs=1e-3)


def test_ferric_takes_three_equivalents_and_leaves_as_solid():
    after, _ = dose(PRODUCT, 298.15, {"FeCl3": 1e-4})
    assert after.alkalinity == pytest.approx(1.6e-3 - 3e-4, abs=1e-12)
    assert "Fe" not in dict(after.molality)


@pytest.mark.parametrize(("water", "database"), [(SEA, "brine"), (PERMEATE, "fresh"), (PRODUCT, "fresh")],
                         ids=["sea", "permeate", "product"])
@pytest.mark.parametrize("reagent", sorted(k for k, r in REACTANTS.items() if r.alkalinity or r.carbon))
def test_dose_to_ph_finds_the_dose_that_was_made(water, database, reagent):
    amount = 2e-5 if water is PERMEATE else 2e-4
    target = dose(water, 288.15, {reagent: amount}, database)[1].ph
    if not 3.0 <= target <= 11.5:
        pytest.skip("beyond the range of the search")
    start = speciate(water, 288.15, database).ph
    if abs(target - start) < 1e-3:
        pytest.skip("moves pH by less than can be inverted")
    assert dose_to_ph(water, 288.15, target, reagent, database) == pytest.approx(amount, rel=1e-4)


@pytest.mark.parametrize(("reagent", "target"), [("HCl", 9.0), ("NaOH", 5.0), ("CO2", 9.0), ("NaHCO3", 9.5),
                                                 ("NaCl", 7.0)])
def test_a_ph_that_cannot_be_reached_is_infeasible(reagent, target):
    with pytest.raises(Infeasible, match=r"pH"):
        dose_to_ph(PRODUCT, 298.15, target, reagent)


# --- calcite

def test_ccpp_is_the_amount_that_brings_the_index_to_zero():
    for water in (PRODUCT, dataclasses.replace(PRODUCT, ph=7.2)):
        found = calcite_equilibrium(water)
        after, then = dose(water, 298.15, {"CaCO3": -found.precipitation_potential})
        assert then.index("calcite") == pytest.approx(0.0, abs=1e-4)
        assert after.ph == pytest.approx(found.equilibrium_ph, abs=1e-4)
        assert (found.precipitation_potential > 0) == (found.index > 0)


def test_saturation_ph_is_where_the_index_is_zero():
    ph = saturation_ph(PRODUCT)
    there = speciate(dataclasses.replace(PRODUCT, ph=ph), None, "fresh")
    assert there.index("calcite") == pytest.approx(0.0, abs=1e-6)
    assert calcite_equilibrium(PRODUCT).index == pytest.approx(8.2 - ph, abs=1e-12)


def test_a_water_without_calcium_has_no_langelier_index_but_dissolves_calcite():
    found = calcite_equilibrium(Water.of({"Na": 0.004, "Cl": 0.004}, alkalinity=5e-5, ph=5.8))
    assert found.saturation_ph is None
    assert found.index is None
    assert found.saturation_index is None
    assert found.precipitation_potential < 0


# --- permeate

def test_permeate_with_free_carbon_dioxide_is_acid():
    """pH = pK1 + log(HCO3/CO2) with activity: pK1 6.352 (Plummer & Busenberg 1982), I 0.004, 25 degC."""
    found = permeate_ph({"Na": 0.00405, "Cl": 0.004}, 298.15, co2=2e-5, bicarbonate=5e-5)
    gamma = 10 ** (-0.509 * (math.sqrt(0.00405) / (1 + math.sqrt(0.00405)) - 0.3 * 0.00405))
    assert found.ph == pytest.approx(6.352 + math.log10(gamma * 5e-5 / 2e-5), abs=0.01)


def test_salinity_of_reference_sea_water():
    assert salinity(complete(SEA)) == pytest.approx(0.035 / 0.965, rel=1e-4)
