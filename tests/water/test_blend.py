"""Several analyses made one water: what is conserved, what the engine finds, what is refused."""

from __future__ import annotations

import random

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.plant import size
from desalbook.problems import DesignError
from desalbook.trail import Ledger
from desalbook.units import validate
from desalbook.water.blend import mix
from desalbook.water.inputs import RawWater
from desalbook.water.phreeqc import Water, complete, speciate
from desalbook.water.raw_water import analyse
from desalbook.water.reference_composition import reference_sea
from tests.rooms import inputs
from tests.water.test_analysis import sea_water

WELL = {"name": "well-2", "share": "30 %", "ph": "7.4", "lab_temperature": "21 degC"}
SEA = {"name": "intake", "share": "70 %", "ph": "8.18"}


def read(*analyses, **keys):
    names = tuple(one["name"] for one in analyses)
    with (book := Ledger()).recording():
        found = analyse(inputs({"water": (RawWater, {"analyses": list(analyses), **keys})}), names=names)
    return book, found


def thin(share=0.5, **more):
    """A brackish well: seawater diluted, and what the ground adds."""
    ions = {k: f"{share * float(v.split()[0]):.5f} mg/L" for k, v in sea_water().items()}
    return ions | {k: f"{v} mg/L" for k, v in more.items()}


def test_a_blend_conserves_every_ion_and_charge():
    book, w = read({**SEA, "ions": sea_water()}, {**WELL, "ions": thin(Ca=600, HCO3=300)})
    one, other = (book[f"water.analyses[{n}].molality"] for n in ("intake", "well-2"))
    for k in w.molality.keys:
        assert float(w.molality[k]) == pytest.approx(0.7 * float(one[k]) + 0.3 * float(other[k]), rel=1e-12), k
    charge = sum(float(w.charge[k]) * float(w.molality[k]) for k in w.molality.keys)
    parts = [sum(float(w.charge[k]) * float(m[k]) for k in m.keys) for m in (one, other)]
    assert charge == pytest.approx(0.7 * parts[0] + 0.3 * parts[1], abs=1e-13)
    assert float(w.temperature) == pytest.approx(0.7 * 298.15 + 0.3 * 294.15)
    assert float(w.salinity) == pytest.approx(
        0.7 * float(book["water.analyses[intake].salinity"]) + 0.3 * float(book["water.analyses[well-2].salinity"]))


def test_ph_of_a_blend_is_not_the_mean():
    """Alkalinity and carbon are the weighted sums, and pH is the engine's for these."""
    book, w = read({**SEA, "ions": sea_water()}, {**WELL, "ions": thin(Ca=600, HCO3=300)})
    parts = []
    for n, share in (("intake", 0.7), ("well-2", 0.3)):
        m = book[f"water.analyses[{n}].molality"]
        ph, t = (8.18, 298.15) if n == "intake" else (7.4, 294.15)
        parts.append((share, complete(Water.of({k: float(v) for k, v in m.items()}, ph=ph, temperature=t))))
    whole = complete(Water.of({k: float(v) for k, v in w.molality.items()}, ph=float(w.ph),
                              temperature=float(w.temperature)))
    for name in ("alkalinity", "carbon"):
        wanted = sum(share * getattr(p, name) for share, p in parts)
        assert getattr(whole, name) == pytest.approx(wanted, rel=2e-6), name
    assert 7.4 < float(w.ph) < 8.18 and abs(float(w.ph) - (0.7 * 8.18 + 0.3 * 7.4)) > 0.05


def test_one_water_in_two_parts_is_that_water():
    _book, w = read({**SEA, "share": "40 %", "ions": sea_water()},
                   {"name": "b", "share": "60 %", "ph": "8.18", "ions": sea_water()})
    with Ledger().recording():
        alone = analyse(inputs({"water": (RawWater, {"ions": sea_water(), "ph": "8.18"})}))
    assert float(w.ph) == pytest.approx(8.18, abs=1e-6)
    assert float(w.density) == pytest.approx(float(alone.density), rel=1e-7)
    assert float(w.total_dissolved_solids) == pytest.approx(float(alone.total_dissolved_solids), rel=1e-7)
    for k in w.ions.keys:
        assert float(w.ions[k]) == pytest.approx(float(alone.ions[k]), rel=1e-7)


@pytest.mark.parametrize("seed", range(4))
def test_random_blends_conserve(seed):
    """Amounts, alkalinity and carbon of three random waters; the same answer in any order."""
    rnd = random.Random(seed)
    waters = {}
    for n in "abc":
        base = complete(reference_sea(rnd.uniform(0.002, 0.06), rnd.uniform(280, 305), ph=rnd.uniform(7.2, 8.4)))
        waters[n] = (rnd.uniform(0.1, 5.0), base)
    total = sum(s for s, _ in waters.values())
    made = mix(waters, 295.0)
    for k, b in made.molality:
        assert b == pytest.approx(sum(s * dict(w.molality)[k] for s, w in waters.values()) / total, rel=1e-12)
    for name in ("alkalinity", "carbon"):
        assert getattr(made, name) == pytest.approx(sum(s * getattr(w, name) for s, w in waters.values()) / total)
    back = mix(dict(reversed(waters.items())), 295.0)
    assert back.ph == pytest.approx(made.ph, abs=1e-9)
    assert speciate(made).alkalinity == pytest.approx(made.alkalinity, rel=1e-5)


@pytest.mark.parametrize(("second", "keys", "said"), [
    ({**WELL, "ions": {k: v for k, v in sea_water().items() if k != "F"}}, {}, "lacks F"),
    ({**WELL, "share": "40 %", "ions": sea_water()}, {}, "do not add up"),
    ({**WELL, "ph_total": "8", "ions": sea_water()}, {}, "one pH"),
    ({**WELL, "ions": sea_water()}, {"ph": "8"}, "given in each"),
    ({**WELL, "ions": sea_water()}, {"ions": sea_water()}, "one composition"),
    ({**WELL, "name": "intake", "ions": sea_water()}, {}, "twice"),
    ({**WELL, "name": "well 2\n", "ions": sea_water()}, {}, "name"), (WELL, {}, "has no ions"),
    ({k: v for k, v in WELL.items() if k != "share"} | {"ions": sea_water()}, {}, "must be given")])
def test_what_is_refused(second, keys, said):
    with pytest.raises(DesignError, match=said) as error:
        validate(RawWater, {"analyses": [{**SEA, "ions": sea_water()}, second], **keys}, "water")
    assert "\n" not in str(error.value)


def test_each_analysis_is_checked_and_both_stand_in_the_record():
    bad = dict(sea_water(SO4=1800.0).items())
    book, _ = read({**SEA, "ions": sea_water(), "conductivity": "53 mS/cm"}, {**WELL, "ions": bad})
    assert book.lines["water.analyses[intake].proportion.check"].more["verdict"] == "passes"
    assert book.lines["water.analyses[well-2].proportion.check"].more["verdict"] == "fails"
    assert "water.analyses[intake].conductivity.check" in book and "water.balance.check" in book


def plant(water: str) -> designs.Design:
    """The demonstration plant on a beach well, its water replaced."""
    text = paths.demo("beach-well.toml").read_text(encoding="utf-8")
    head, tail = text.index("[water]"), text.index("[filters]")
    return designs.from_text(text[:head] + HEAD + water + text[tail:])


HEAD = """[water]
source = "beach-well"
temperature_cold = "18 degC"
temperature_hot = "28 degC"
"""


def plant_text(*analyses) -> str:
    text = ""
    for one in analyses:
        text += "[[water.analyses]]\n"
        text += "".join(f'{k} = "{v}"\n' for k, v in one.items() if k != "ions")
        text += "ions = { " + ", ".join(f'{k} = "{v}"' for k, v in one["ions"].items()) + " }\n"
    return text


def test_a_plant_on_two_waters_is_sized_and_moves():
    """Moving an ion of one well moves only what descends from it."""
    from desalbook.trail import what_if
    from tests.test_moving import below, changed, descendants

    design = plant(plant_text({**SEA, "ions": sea_water(Ba=0.01, SiO2=1.0)},
                                          {**WELL, "ions": thin(Ca=500, Ba=0.02, SiO2=15.0)}))
    before = size(design).ledger.lines
    for id in ("water.analyses[well-2].ions[SO4]", "water.analyses[intake].share", "water.analyses[well-2].ph",
               "water.analyses[intake].lab_temperature"):
        line = id.split("[SO4]")[0]
        with what_if({id: 0.99}):
            after = size(design).ledger.lines
        moved = changed(before, after)
        assert "water.blend_ph" in moved
        assert not moved - below(line, descendants(before, after)), id


@pytest.mark.full
@pytest.mark.parametrize("ions", [
    {**sea_water(Ba=0.01, SiO2=1.0), "Ca": "21 meq/L", "Mg": "55 mmol/L", "HCO3": "118 mg/L as CaCO3",
     "K": "400 mg/kg"}, None])
def test_moving_the_other_ways_of_stating(ions):
    """The proof by moving on a laboratory's own units with titration and balance, and on a typical water."""
    from desalbook.trail import what_if
    from tests.test_moving import below, changed, descendants

    text = ""
    if ions:
        text += 'ph = 8.1\nbalance_with = "Cl"\nbicarbonate_from = "titration"\nconductivity = "53 mS/cm"\n'
        text += 'carbon_dioxide = "0.5 mg/L"\nmeasured_tds = "36 g/L"\n[water.ions]\n'
        text += "".join(f'{k} = "{v}"\n' for k, v in ions.items())
        keys = ["water.ions_moles[Mg]", "water.ions_equivalents[Ca]", "water.ions_basis[HCO3]", "water.ions[Na]",
                "water.ions_per_mass[K]", "water.balance_mass[Cl]", "water.equivalent_charge[Ca]", "water.ph",
                "water.salt_per_basis[B]", "water.conductivity", "water.measured_tds", "water.carbon_dioxide"]
    else:
        text += 'sea_salinity = "39 g/kg"\n'
        keys = ["water.sea_salinity", "water.ph_typical", "water.reference_moles[Ca]", "water.lab_temperature"]
    design = plant(text)
    before = size(design).ledger.lines
    for id in keys:
        line = id.partition("[")[0]
        with what_if({id: 1.01}):
            after = size(design).ledger.lines
        moved = changed(before, after)
        assert moved > {line}, id
        stray = moved - below(line, descendants(before, after))
        assert not stray, (id, sorted(stray)[:5])
