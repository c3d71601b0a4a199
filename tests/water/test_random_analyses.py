"""Random analyses of two known classes, and small ions that must not vanish.

Sound by construction: seawater of 5 to 60 g/kg, each major ion within 6 % of its proportion, the charge closed, in
random units. Unsound by one named fault: the answer must name that fault, and with it lifted the case is sound.
"""

from __future__ import annotations

import math
import random

import pytest

from desalbook.problems import DesignError, Problem
from desalbook.trail import Ledger
from desalbook.water.basis import bases
from desalbook.water.inputs import RawWater
from desalbook.water.phreeqc import Water, property_curves, speciate
from desalbook.water.raw_water import analyse
from desalbook.water.species import IONS
from tests.random_designs import of_draws
from tests.rooms import inputs
from tests.water.test_analysis import sea_water

BASE = {k: float(v.split()[0]) / 35.98 for k, v in sea_water().items()}  # mg/L per g/L of salt


def sound(rnd: random.Random) -> dict:
    """Keys of a [water] section that is sound by construction."""
    salt = rnd.uniform(5.0, 60.0)
    mg = {k: v * salt * rnd.uniform(0.94, 1.06) for k, v in BASE.items() if k != "Cl"}
    mg["Cl"] = BASE["Cl"] * salt
    if rnd.random() < 0.5:
        mg |= {"NO3": rnd.uniform(0, 50), "SiO2": rnd.uniform(0, 30), "Ba": rnd.uniform(0, 0.2), "NH4": rnd.random()}
    lack = sum(IONS[k].charge * v / IONS[k].basis_molar_mass for k, v in mg.items()) * 1e-3
    mg["Na"] -= lack * IONS["Na"].basis_molar_mass * 1e3  # within the 6 % that the majors may carry
    return {"ions": {k: written(k, v, rnd) for k, v in mg.items()}, "ph": f"{rnd.uniform(7.2, 8.4):.2f}",
            "lab_temperature": f"{rnd.uniform(10, 32):.1f} degC"}


def written(ion: str, mg: float, rnd: random.Random) -> str:
    row, ways = IONS[ion], [f"{mg:.8f} mg/L", f"{mg / 1e3:.11f} g/L"]
    ways += [f"{mg / factor:.8f} mg/L as {basis}" for basis, factor in bases(ion).items()]
    ways.append(f"{mg / row.basis_molar_mass / 1e3:.10f} mmol/L")
    if "CaCO3" in bases(ion):
        ways.append(f"{mg / row.basis_molar_mass / 1e3 * abs(row.charge):.10f} meq/L")
    return rnd.choice(ways)


def read(keys: dict):
    with (book := Ledger()).recording():
        made = analyse(inputs({"water": (RawWater, keys)}))
    return book, made


def failing(book) -> set[str]:
    return {id for id, line in book.lines.items() if line.sort == "checked" and line.more["verdict"] == "fails"}


def scaled(keys: dict, ion: str, factor: float) -> dict:
    number, unit = keys["ions"][ion].split(" ", 1)
    return {**keys, "ions": {**keys["ions"], ion: f"{float(number) * factor:.9f} {unit}"}}


def _ions(keys: dict, **more: str) -> dict:
    return {**keys, "ions": {**keys["ions"], **more}}


# fault -> (how, words of the refusal or ids of the checks that must fail, and no others)
FAULTS = {
    "bare unit": (lambda k, r: _ions(k, Mg="1300 ppm"), "neither per volume nor per mass"),
    "unknown ion": (lambda k, r: _ions(k, Xe="1 mg/L"), "unknown key"),
    "wrong basis": (lambda k, r: _ions(k, Ca="400 mg/L as N"), "cannot be stated"),
    "below zero": (lambda k, r: _ions(k, F="-1 mg/L"), "outside its range"),
    "line break": (lambda k, r: _ions(k, K="400\nmg/L"), "water.ions\\[K\\]"),
    "no chloride": (lambda k, r: {**k, "ions": {i: v for i, v in k["ions"].items() if i != "Cl"}}, "main ion"),
    "two scales": (lambda k, r: {**k, "ph_total": "8.0"}, "one pH"),
    "cold above hot": (lambda k, r: {**k, "temperature_cold": "40 degC"}, "temperatures must rise"),
    "lost sulfate": (lambda k, r: scaled(k, "SO4", r.uniform(0.5, 0.7)), {"water.proportion.check"}),
    "lost sodium": (lambda k, r: scaled(k, "Na", r.uniform(0.7, 0.75)),
                    {"water.proportion.check", "water.balance.check"}),
    "wrong meter": (lambda k, r: {**k, "conductivity": f"{r.uniform(1.3, 1.6) * meter(k):.6f} mS/cm"},
                    {"water.conductivity.check"}),
}


def meter(keys: dict) -> float:
    book, _ = read(keys)
    return float(book["water.conductivity_found"]) * 10


def run(seeds) -> None:
    faults = list(FAULTS)
    for seed in seeds:
        rnd = random.Random(seed)
        keys = sound(rnd)
        book, made = read(keys)
        assert not failing(book), (seed, failing(book))
        charge = math.fsum(float(made.charge[k]) * float(made.molality[k]) for k in made.molality.keys)
        assert abs(charge) < 1e-7, seed
        if seed % 2:
            name = faults[seed // 2 % len(faults)]
            spoil, answer = FAULTS[name]
            if isinstance(answer, str):
                with pytest.raises(DesignError, match=answer) as error:
                    read(spoil(keys, rnd))
                assert "\n" not in str(error.value), (seed, name)
            else:
                assert failing(read(spoil(keys, rnd))[0]) == answer, (seed, name)


def test_a_sample_of_random_analyses():
    run(range(44))


@pytest.mark.full
def test_two_thousand_random_analyses():
    run(range(100, 100 + 2 * of_draws(1000)))


def test_the_engine_may_refuse_but_never_crash():
    """Any positive numbers at all: an answer, or one plain line."""
    rnd, answered = random.Random(5), 0
    for _ in range(40):
        ions = {k: f"{10 ** rnd.uniform(-4, 4.5):.6f} mg/L" for k in IONS if k != "CO2"}
        try:
            read({"ions": ions, "ph": f"{rnd.uniform(4, 10):.1f}"})
            answered += 1
        except Problem as problem:
            assert "\n" not in str(problem)
    assert answered > 0


# nitrate and fluoride --------------------------------------------------------------------------------------------

R = 8.314462618
ADDED = {"NO3": 50.0, "F": 1.3}  # mg/L
MOLES = 50.0 / 62.004 + 1.3 / 18.998  # mmol/L, and as much sodium


def with_small_ions(ions: dict[str, float]) -> dict[str, str]:
    more = {k: ions.get(k, 0.0) + v for k, v in ADDED.items()}
    return {k: f"{v:.6f} mg/L" for k, v in {**ions, **more, "Na": ions["Na"] + MOLES * 22.990}.items()}


def pressure(ions: dict[str, str]) -> tuple[float, float, float]:
    """(by water activity, by the curve, salt in kg per kg water) at 25 degC, Pa."""
    _, w = read({"ions": ions, "ph": "7.5"})
    water = Water.of({k: float(v) for k, v in w.molality.items()}, ph=7.5)
    volume = 0.018015 / 997.047
    x = float(w.salinity)
    return -R * 298.15 / volume * math.log(speciate(water).water_activity), property_curves(
        water, 298.15).osmotic.at(x), x


@pytest.mark.parametrize(("base", "phi"), [
    # marginal osmotic coefficient d(phi m)/dm: 0.93 in seawater (robinson-stokes-1959, sodium chloride at 0.6 mol/kg:
    # 0.923 + 0.6 x 0.02); 0.94 at 0.03 mol/kg, from the limiting slope
    ({k: v * 35.98 for k, v in BASE.items() if k != "F"}, 0.935),
    ({"Na": 690.0, "Cl": 1003.0, "HCO3": 104.0}, 0.93)], ids=["seawater", "thin water"])
def test_nitrate_and_fluoride_do_not_vanish(base, phi):
    """0.875 mmol/L of sodium salts add 2 x 0.875 mol/m3 x R T x phi = 4.05 kPa, by hand."""
    without, by_curve, x0 = pressure({k: f"{v:.6f} mg/L" for k, v in base.items()})
    more, more_by_curve, x1 = pressure(with_small_ions(base))
    by_hand = 2 * MOLES * R * 298.15 * phi
    assert by_hand == pytest.approx(4050, rel=0.02)
    # per kilogram of water there is some 3 % more than per litre in seawater
    assert more - without == pytest.approx(by_hand, rel=0.06)
    assert (x1 - x0) * 997 == pytest.approx(0.0513 + MOLES * 0.02299, rel=0.05)
    if base["Na"] < 1000:  # the curve is within 0.1 % of the engine, too coarse to see 0.2 % of seawater
        assert more_by_curve - by_curve == pytest.approx(by_hand, rel=0.06)
