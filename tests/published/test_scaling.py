"""Scaling: the concentration factor by hand, the onset against the engine, limits, and what the verdict costs."""

from __future__ import annotations

import time

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.tables import table
from desalbook.water import scaling as s
from desalbook.water.inputs import MINERAL_KEYS
from desalbook.water.phreeqc import MINERALS, Water, complete, engine, saturations, speciate
from desalbook.water.reference_composition import reference_sea
from tests import shared
from tests.points import Point

ROOM = "water.scaling"
HAND = ("definition", "worked by hand", "hand arithmetic")

POINTS = [
    Point(f"{ROOM}:factor_of", {"concentrate_molality": 0.99, "molality": 0.55}, 1.8, 1e-9, *HAND),
    Point(f"{ROOM}:passage_of", {"permeate_molality": 0.0055, "molality": 0.55}, 0.01, 1e-9, *HAND),
    Point(f"{ROOM}:polarisation_last", {"beta": [1.12, 1.08, 1.05]}, 1.05, 1e-9, *HAND),
    Point(f"{ROOM}:factor_at_wall", {"concentration_factor": 1.8, "last_polarisation": 1.05}, 1.89, 1e-9, *HAND),
    # half of the water, one hundredth of the chloride passing: 0.995/0.5 = 1.99
    Point(f"{ROOM}:factor_of_recovery", {"recovery": 0.5, "chloride_passage": 0.01, "effective_mixing": 0.0}, 1.99,
          1e-9, "astm-d4582", "7.1", "hand arithmetic"),
    # feed of unit strength, a twentieth of the isobaric ERD's stream mixing: F = 1 + 0.05 (C - 1), C = 1.99 F,
    # so C (1 - 0.0995) = 1.99 x 0.95
    Point(f"{ROOM}:factor_of_recovery", {"recovery": 0.5, "chloride_passage": 0.01, "effective_mixing": 0.05},
          1.99 * 0.95 / 0.9005, 1e-9, *HAND),
    Point(f"{ROOM}:mixing_of_factor", {"concentration_factor": 2.0993892282065516, "recovery": 0.5,
                                       "chloride_passage": 0.01}, 0.05, 1e-8, *HAND),
    Point(f"{ROOM}:recovery_of_factor", {"wall_factor": 2.3093281510272068, "last_polarisation": 1.1,
                                         "chloride_passage": 0.01, "effective_mixing": 0.05}, 0.5, 1e-9, *HAND),
]


def sea(**more: float) -> Water:
    water = complete(reference_sea(0.036))
    amounts = dict(water.molality) | {"Ba": 8e-8, "SiO2": 1e-4} | more
    return Water(tuple(amounts.items()), water.alkalinity, water.carbon, None, water.temperature)


# 42 % recovery, 0.8 % of monovalent and 0.3 % of divalent ions passing, a quarter of the boron
FACTORS = {k: (1 - 0.42 * p) / 0.58 for p, keys in (
    (0.003, ("Ca", "Mg", "Sr", "Ba", "SO4", "SiO2")), (0.008, ("Na", "K", "Cl", "F", "Br", "HCO3")), (0.25, ("B",)))
    for k in keys}


def test_the_section_knows_the_minerals_of_the_engine_and_the_table():
    assert tuple(MINERALS) == MINERAL_KEYS == tuple(table("scaling_limits"))
    for row in table("scaling_limits").values():
        assert row["without"].value <= row["with"].value


@pytest.mark.parametrize("celsius", [12.0, 32.0])
def test_onset_is_where_the_engine_finds_saturation(celsius):
    """The crossing of the curve through four states, put back into the engine, is saturation within 0.01."""
    t = celsius + 273.15
    found = s.judge(sea(), t, FACTORS, 1.1, 4.5)
    seen = 0
    for mineral in found.minerals():
        for level in (0.0, 0.3):
            factor = s.crossing(found.points(mineral), level)
            if factor is None or factor == 1.0:
                continue
            state = s.grown(sea(), s._ratios(FACTORS, factor), found.feed.carbon_dioxide)
            assert saturations([(state, t)])[0].index(mineral) == pytest.approx(level, abs=0.01), mineral
            seen += 1
    assert seen >= 4


def test_crossing_at_the_ends():
    points = [(1.0, 0.2), (2.0, 0.5), (4.0, 0.9)]
    assert s.crossing(points) == 1.0
    assert s.crossing(points, 1.0) is None
    assert 1.0 < s.crossing(points, 0.3) < 2.0
    # an index that is one for each tenfold crosses where it should
    import math

    assert s.crossing([(x, math.log10(x) - 0.4) for x in (1.0, 1.5, 2.0, 4.0)]) == pytest.approx(10**0.4, rel=1e-9)


def test_a_verdict_costs_no_more_than_the_solutions_it_needs():
    """Three places, nine minerals, two temperatures, each state once: eight solutions with the maximum recovery, of
    which each of the brine data costs some 1.4 ms alone and fluorite a third more. Judged against that in one run, so
    that a slow machine does not matter."""
    def alone() -> float:
        engine.forget_answers()
        start = time.process_time()
        speciate(sea(), 290.0)
        return time.process_time() - start

    def verdict() -> float:
        engine.forget_answers()
        start = time.process_time()
        for t in (285.15, 305.15):
            s.judge(sea(), t, FACTORS, 1.1, 4.5)
        return time.process_time() - start

    alone()
    verdict()
    one, whole = min(alone() for _ in range(5)), min(verdict() for _ in range(5))
    assert whole < 25 * one


# --- in a plant

def plant(**changes: str):
    design = designs.read(paths.demo("harbour-town.toml"))
    return shared.sized(design.with_values({k.replace("__", "."): v for k, v in changes.items()}))


@pytest.fixture(scope="module")
def usual():
    return plant()


def test_wall_is_worse_than_bulk_is_worse_than_feed(usual):
    ledger = usual.ledger
    for key in ("cold", "hot"):
        feed, bulk, wall = (ledger[f"scaling.{p}@{key}"] for p in ("feed", "concentrate", "wall"))
        assert set(feed.keys) == set(MINERALS)
        for mineral in ("calcite", "aragonite", "gypsum", "anhydrite", "barite", "celestite", "fluorite", "silica"):
            assert float(feed[mineral]) < float(bulk[mineral]) < float(wall[mineral])
    # gypsum and barite dissolve less in the cold, calcite less in the warm
    assert float(ledger["scaling.wall@cold"]["barite"]) > float(ledger["scaling.wall@hot"]["barite"])
    assert float(ledger["scaling.calcite"]) == float(ledger["scaling.wall@hot"]["calcite"])


def test_the_reject_of_the_plant_by_the_engine_alone(usual):
    """The concentrate's ions from the solved array, alkalinity by bicarbonate's factor: the same indices."""
    a, fed = usual.array, usual.feed
    corner = usual.scaling.strong["hot"].corner
    ions = {k: float(v) for k, v in a.concentrate_ions[corner].items()}
    feed = fed.water("hot")
    raw = {k: float(v) for k, v in fed.waters.analysis.molality.items()}
    added = {k: v - raw.get(k, 0.0) for k, v in feed.molality}  # by the doses
    g = ions["HCO3"] / raw["HCO3"]
    t = float(fed.waters.at["hot"].temperature)
    gas = speciate(feed, t).co2
    water = Water(tuple((k, ions[k] * (1 + added[k] / raw[k])) for k in ions if k != "HCO3"), feed.alkalinity * g,
                  gas + (feed.carbon - gas) * g, None, feed.temperature)
    found = speciate(water, t)
    for mineral in ("calcite", "gypsum", "celestite"):
        assert float(usual.ledger["scaling.concentrate@hot"][mineral]) == pytest.approx(found.index(mineral), abs=2e-4)


def test_onset_of_the_plant_lies_on_its_own_curve(usual):
    """At the recovery of the design the factor over recovery is the array's own; gypsum comes at some 65 %."""
    ledger = usual.ledger
    at = s.factor_of_recovery.plain(float(ledger["membrane.recovery"]), float(ledger["scaling.chloride_passage@hot"]),
                                    float(ledger["scaling.mixing@hot"]))
    corner = usual.scaling.strong["hot"].corner
    assert at == pytest.approx(float(ledger[f"scaling.concentration_factor@{corner}"]), rel=1e-9)
    onset = ledger["scaling.onset@hot"]
    assert float(onset["calcite"]) == pytest.approx(0.0, abs=1e-12)  # seawater is saturated as it comes
    assert 0.55 < float(onset["gypsum"]) < 0.75
    assert "scaling.limit@hot" not in ledger  # with antiscalant nothing reaches its limit up to 75 %
    limit = plant(antiscalant__present="no").ledger["scaling.limit@hot"]
    assert float(ledger["membrane.recovery"]) < float(limit["calcite"]) < 0.6
    assert float(limit["gypsum"]) < float(onset["gypsum"])  # its limit without antiscalant lies below saturation


def test_antiscalant_is_judged(usual):
    said = usual.ledger.lines["scaling.antiscalant"].more
    assert said["verdict"] == "review" and said["why"].startswith("none needed")
    bare = plant(antiscalant__present="no").ledger.lines["scaling.antiscalant"].more
    assert bare["verdict"] == "passes"
    hard = plant(antiscalant__present="no", membrane__recovery="50 %", coagulation__present="no").ledger.lines
    assert hard["scaling.antiscalant"].more["verdict"] == "fails"
    assert "calcite" in hard["scaling.antiscalant"].more["why"]
    assert hard["scaling.calcite.check"].more["verdict"] == "fails"


def test_a_limit_of_the_design_overrules_the_table():
    text = 'format = 1\n' + paths.demo("harbour-town.toml").read_text(encoding="utf-8").partition("format = 1")[2]
    text += "\n[scaling]\nwith_antiscalant = { calcite = 0.5 }\n"
    ledger = shared.sized(designs.from_text(text)).ledger
    assert ledger.lines["scaling.calcite.check"].more["verdict"] == "fails"
    assert ledger.lines["scaling.calcite.check"].more["limit"] == 0.5
    assert "scaling.calcite.limit_with" not in ledger and "scaling.gypsum.limit_with" in ledger
    assert ledger.lines["scaling.antiscalant"].more["verdict"] == "review"


def test_acid_lowers_calcite_and_leaves_gypsum_worse(usual):
    """Sulfuric acid takes carbonate and brings sulfate."""
    acid = plant(acid__present="yes", acid__target_ph="7.0").ledger
    assert float(acid["scaling.calcite"]) < float(usual.ledger["scaling.calcite"]) - 0.6
    assert float(acid["scaling.feed@hot"]["gypsum"]) > float(usual.ledger["scaling.feed@hot"]["gypsum"])


def test_the_curves_of_the_picture_are_the_engine_s(usual):
    """Between the four states they run through too, within 0.01; brucite 0.03, for its pH moves as well."""
    found, fed = usual.scaling, usual.feed
    t = float(fed.waters.at["hot"].temperature)
    kept = {"passage": float(found.strong["hot"].passage), "mixing": float(found.strong["hot"].mixing),
            "polarisation": float(found.strong["hot"].polarisation)}
    recoveries = [0.0, 0.15, 0.3, 0.5, 0.57]
    curve = s.over_recovery(found.verdict["hot"], **kept, recoveries=recoveries)
    gas = found.verdict["hot"].feed.carbon_dioxide
    for i, y in enumerate(recoveries):
        by = float(s.factor_of_recovery.plain(y, kept["passage"], kept["mixing"])) * kept["polarisation"]
        state = s.grown(fed.water("hot"), s._ratios(found.strong["hot"].asked[2], by), gas)
        engine = saturations([(state, t)])[0]
        for mineral, values in curve.items():
            allowed = 0.03 if mineral == "brucite" else 0.01
            assert values[i] == pytest.approx(engine.index(mineral), abs=allowed), (mineral, y)
    assert curve["gypsum"][0] < curve["gypsum"][1] < curve["gypsum"][2]
