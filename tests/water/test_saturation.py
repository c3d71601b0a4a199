"""Blending, concentrating, the wall, and the saturation of many waters."""

from __future__ import annotations

import dataclasses
import itertools
import random

import pytest

from desalbook.problems import EngineError
from desalbook.water.phreeqc import (
    MINERALS,
    Water,
    at_wall,
    blend,
    complete,
    concentrate,
    engine,
    saturations,
    speciate,
)
from desalbook.water.reference_composition import reference_sea
from desalbook.water.species import IONS


def sea(salinity: float = 0.036, **more: float) -> Water:
    """Seawater with the traces that scale."""
    water = complete(reference_sea(salinity))
    amounts = dict(water.molality) | {"Ba": 8e-8, "SiO2": 1e-4} | more
    return Water(tuple(amounts.items()), water.alkalinity, water.carbon, None, water.temperature)


# --- blending

@pytest.mark.parametrize("seed", range(8))
def test_blending_conserves_every_element_and_charge(seed):
    rng = random.Random(seed)
    parts = [sea(rng.uniform(0.001, 0.08), NO3=rng.uniform(0, 1e-3), Fe=rng.uniform(0, 1e-6)) for _ in range(3)]
    cuts = sorted((0.0, rng.random(), rng.random(), 1.0))
    shares = [b - a for a, b in itertools.pairwise(cuts)]
    made = blend(list(zip(parts, shares, strict=True)))
    for key, amount in made.molality:
        assert amount == pytest.approx(sum(s * dict(w.molality)[key] for w, s in zip(parts, shares, strict=True)),
                                       rel=1e-12)
    charge = [sum(IONS[k].conserved_charge * v for k, v in w.molality) - w.alkalinity for w in (*parts, made)]
    assert charge[-1] == pytest.approx(sum(s * c for s, c in zip(shares, charge, strict=False)), abs=1e-14)
    found = speciate(made)
    assert found.carbon == pytest.approx(made.carbon, rel=1e-6)
    assert found.alkalinity == pytest.approx(made.alkalinity, rel=1e-6)


def test_blending_is_what_the_engine_mixes():
    """The engine's own MIX of the same two waters, by mass of water, gives the same pH."""
    from desalbook.water.phreeqc.waters import punch, send, solution

    a, b = sea(0.040), complete(Water.of({"Ca": 1e-3, "Na": 2e-3, "Cl": 2e-3}, alkalinity=2e-3, ph=7.2))
    text = "".join(solution(n, 298.15, send(w, "brine")[0], alkalinity=w.alkalinity, carbon=w.carbon)
                   for n, w in ((1, a), (2, b)))
    head = punch({"ph": '-LA("H+")', "na": 'TOT("Na")'})
    theirs = engine.run("brine", f"{head}{text}MIX 1\n 1 0.7\n 2 0.3\nEND\n").row()
    ours = speciate(blend([(a, 0.7), (b, 0.3)]))
    assert ours.ph == pytest.approx(theirs["ph"], abs=2e-3)


@pytest.mark.parametrize("parts", [[], [(sea(), 0.5)], [(sea(), 1.2), (sea(), -0.2)]], ids=["none", "half", "over"])
def test_shares_that_are_no_shares_are_refused(parts):
    with pytest.raises(EngineError, match="share"):
        blend(parts)


# --- concentrating

@pytest.mark.parametrize("seed", range(12))
def test_concentrating_then_diluting_returns_the_water(seed):
    rng = random.Random(seed)
    water, y = sea(rng.uniform(0.02, 0.045)), rng.uniform(0.05, 0.75)
    passing = {k: rng.uniform(0.0, 0.1) for k in (*dict(water.molality), "HCO3")}
    strong = concentrate(water, y, passing, carbon_dioxide=1e-5)
    # the permeate it gave up goes back in
    permeate = Water(tuple((k, passing[k] * v) for k, v in water.molality), passing["HCO3"] * water.alkalinity,
                     1e-5 + passing["HCO3"] * (water.carbon - 1e-5), None, water.temperature)
    again = blend([(strong, 1 - y), (permeate, y)])
    for (key, was), (_, now) in zip(water.molality, again.molality, strict=True):
        assert now == pytest.approx(was, rel=1e-12), key
    assert speciate(again).ph == pytest.approx(speciate(water).ph, abs=1e-6)
    # pure water back in, with nothing passing
    plain = concentrate(concentrate(water, y), -y / (1 - y))
    assert dict(plain.molality) == pytest.approx(dict(water.molality), rel=1e-12)


def test_carbon_dioxide_does_not_concentrate_so_the_reject_is_no_more_acid():
    water = complete(sea())
    co2 = speciate(water).co2
    kept, lost = concentrate(water, 0.45), concentrate(water, 0.45, carbon_dioxide=co2)
    assert lost.carbon == pytest.approx(kept.carbon - co2 * (1 / 0.55 - 1), rel=1e-9)
    assert speciate(lost).ph > speciate(kept).ph


def test_the_wall_is_a_concentrate_of_its_bulk():
    bulk = concentrate(sea(), 0.45)
    assert at_wall(bulk, 1.15).molality == concentrate(bulk, 1 - 1 / 1.15).molality
    with pytest.raises(EngineError, match="polarisation"):
        at_wall(bulk, 0.9)


def test_only_a_known_water_is_concentrated():
    with pytest.raises(EngineError, match=r"[Cc]omplete it first"):
        concentrate(dataclasses.replace(sea(), carbon=None, ph=8.0), 0.4)


# --- saturation

def _states():
    water = sea()
    return [(concentrate(water, y), t) for y in (0.0, 0.4, 0.5) for t in (285.15, 305.15)]


def test_many_waters_give_what_each_gives_alone():
    for (water, t), found in zip(_states(), saturations(_states()), strict=True):
        alone = speciate(water, t)
        for mineral in MINERALS:
            if mineral != "fluorite":
                assert found.index(mineral) == pytest.approx(alone.index(mineral), abs=1e-7), mineral
        assert found.index("fluorite") == pytest.approx(speciate(water, t, "fresh").index("fluorite"), abs=1e-7)
        assert found.ph == pytest.approx(alone.ph, abs=1e-7)
        assert found.ratio("gypsum") == pytest.approx(10 ** alone.index("gypsum"))
        assert alone.ratio("gypsum") == pytest.approx(10 ** alone.index("gypsum"))


def test_what_the_water_lacks_is_not_modelled():
    bare = complete(Water.of({"Na": 0.1, "Cl": 0.1}, alkalinity=1e-3, ph=8.0))
    found = saturations([(bare, 298.15)])[0]
    assert all(value is None for _, value in found.indices)
    assert found.ratio("barite") is None


def test_a_water_without_alkalinity_is_solved_by_itself():
    acid = dataclasses.replace(sea(), alkalinity=-1e-4, carbon=2e-3)
    usual, odd = saturations([(sea(), 298.15), (acid, 298.15)])
    assert odd.ph == pytest.approx(speciate(acid).ph, abs=1e-9) and odd.ph < 5
    assert usual == saturations([(sea(), 298.15)])[0]


def test_any_order_and_any_company_give_the_same_bits():
    states = _states()
    engine.forget_answers()
    first = {repr(s): repr(saturations([s])[0]) for s in states}
    shuffled = states[:]
    random.Random(4).shuffle(shuffled)
    for order in (states, states[::-1], shuffled):
        engine.forget_answers()
        for state in order:
            assert repr(saturations([state])[0]) == first[repr(state)]
        together = saturations(order)
        assert [repr(x) for x in together] == [first[repr(s)] for s in order]


def test_what_ran_before_leaves_no_bit_behind():
    """Waters of unlike elements in shuffled order: the ion-pair data keep a trace of the elements of the run before,
    which the engine's owner wipes with pure water (without that, one run in three differs in its last bits)."""
    rng = random.Random(11)
    waters = [sea(0.03 + 0.001 * n, **extra) for n, extra in enumerate((
        {}, {"Fe": 1e-6}, {"Mn": 1e-6, "Al": 1e-7}, {"NO3": 1e-4, "PO4": 1e-6}, {"F": 0.0}, {"NH4": 1e-5}))]
    jobs = [(w, t, key) for w in waters for t in (283.15, 303.15) for key in ("brine", "fresh", "wateq")]
    first = {}
    for _ in range(4):
        rng.shuffle(jobs)
        engine.forget_answers()
        for n, job in enumerate(jobs):
            found = repr(speciate(*job))
            assert first.setdefault(repr(job), found) == found, n
