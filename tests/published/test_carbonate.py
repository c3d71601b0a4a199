"""Carbonate balance of seawater by the published constants, and the chain of doses that moves its pH."""

from __future__ import annotations

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.plant.rating import rate
from desalbook.problems import Infeasible
from desalbook.water import boron
from desalbook.water import carbonate as cb
from desalbook.water.carbonate import ph_of
from desalbook.water.phreeqc import complete, speciate
from desalbook.water.reference_composition import reference_sea
from tests import shared
from tests.points import Point

ROOM = "water.carbonate"
HAND = ("definition", "hand arithmetic with constants instead of their logarithms", "hand arithmetic")
_AT = {"carbon": 2.0729e-3, "boron_molality": 4.3085e-4, "pk1": 5.8472, "pk2": 8.9660, "pk_boric": 8.5975,
       "pk_water": 13.2171, "salinity": 0.036447}
_ACID = {k: _AT[k] for k in ("carbon", "pk1", "pk2")}

POINTS = [
    Point(f"{ROOM}:pk_water_saline", {"temperature": 298.15, "practical_salinity": 35.0}, 13.2173, 1e-5,
          "dickson-2007", "chapter 5, ln KW -30.434 at S 35 and 25 degC"),
    *[Point(f"{ROOM}:pk_water_saline", {"temperature": t + 273.15, "practical_salinity": s}, v, rel, "pyco2sys",
            "a formula of its own: 0.004 higher at S 35, 0.005 at 45, 0.014 extrapolated to 80",
            "computed with a reference library")
      for t, s, v, rel in ((5.0, 35.0, 14.0709, 3.5e-4), (35.0, 35.0, 12.8495, 3.5e-4), (25.0, 45.0, 13.1549, 4.3e-4),
                           (25.0, 80.0, 13.0197, 1.1e-3))],
    *[Point(f"{ROOM}:alkalinity_at_ph", {**_AT, "ph_total": ph}, v, 1e-9, *HAND)
      for ph, v in ((8.0459, 2.383868144291541e-3), (10.5, 6.500569084428667e-3),
                    (3.5, -3.1847213025518027e-4), (6.0, 1.218892288020723e-3))],
    *[Point(f"{ROOM}:carbon_at_alkalinity", {**{k: v for k, v in _AT.items() if k != "carbon"}, "ph_total": ph,
                                             "total_alkalinity": v}, 2.0729e-3, 1e-8, *HAND)
      for ph, v in ((8.0459, 2.383868144291541e-3), (10.5, 6.500569084428667e-3), (3.5, -3.1847213025518027e-4),
                    (6.0, 1.218892288020723e-3))],
    Point(f"{ROOM}:titrated_alkalinity", {"bicarbonate_molality": 2.0e-3, "carbonate_molality": 1.5e-4}, 2.3e-3, 1e-9,
          *HAND),
    Point(f"{ROOM}:carbon_per_bicarbonate", {"carbon": 2.0e-3, "bicarbonate_molality": 2.3e-3}, 2.0 / 2.3, 1e-9, *HAND),
    *[Point(f"{ROOM}:free_carbon_dioxide", {**_ACID, "ph_total": ph}, v, 1e-9, *HAND)
      for ph, v in ((8.0459, 1.1644923752415153e-5), (10.5, 1.3099682750572077e-9),
                    (6.0, 8.554350722436361e-4))],
    Point(f"{ROOM}:alkalinity_after", {"total_alkalinity": 2.4e-3, "amount": 2e-5, "acid_equivalents": 3.0}, 2.34e-3,
          1e-9, *HAND),
    Point(f"{ROOM}:alkalinity_residual", {"total_alkalinity": 2.4e-3, "found_alkalinity": 2.1e-3}, 3e-4, 1e-9, *HAND),
    Point(f"{ROOM}:acid_for_alkalinity", {"total_alkalinity": 2.4e-3, "found_alkalinity": 2.0e-3,
                                          "acid_equivalents": 2.0}, 2e-4, 1e-9, *HAND),
    Point(f"{ROOM}:hypochlorite_amount", {"chlorine_demand": 1.5e-3, "chlorine_residual": 0.627e-3,
                                          "water_content": 1000.0}, 3e-5, 1e-9, *HAND),
    Point(f"{ROOM}:reducer_amount", {"residual_chlorine": 0.5e-3, "reducer_moles": 0.5, "bisulfite_multiple": 3.0,
                                     "water_content": 980.0}, 1.07941625e-5, 1e-7, *HAND),
]


def constants(celsius: float, s: float = 35.0) -> dict[str, float]:
    at = (celsius + 273.15, s)
    return {"pk1": cb.pk1_saline.plain(*at), "pk2": cb.pk2_saline.plain(*at), "pk_boric": boron.pkb_saline.plain(*at),
            "pk_water": cb.pk_water_saline.plain(*at)}


def test_worked_case_of_sea_water():
    """S 35, 25 degC, alkalinity 2300 and carbon 2000 umol/kg: pH 8.0459 and 11.234 umol/kg of carbon dioxide
    (pyco2sys, the same constants)."""
    per = 1.0 / (1.0 - 0.03516504)
    held = {"carbon": 2000e-6 * per, "boron_molality": 415.7e-6 * per, "salinity": per - 1.0}
    ph = ph_of(2300e-6 * per, **held, **constants(25.0))
    assert ph == pytest.approx(8.0459, abs=3e-4)
    # on the NBS scale 8.182 is published; the constant difference of the scales answers to 0.02
    assert cb.nbs_from_total.plain(ph) == pytest.approx(8.182, abs=0.02)
    pk = {k: v for k, v in constants(25.0).items() if k in ("pk1", "pk2")}
    assert cb.free_carbon_dioxide.plain(2000e-6, ph, **pk) == pytest.approx(11.234e-6, rel=1e-3)


@pytest.mark.parametrize("ph", [4.0, 6.2, 7.3, 8.2, 9.6])
def test_the_root_is_the_ph_it_was_made_from(ph):
    rest = {"carbon": 2.1e-3, "boron_molality": 4.3e-4, "salinity": 0.037, **constants(12.0)}
    assert ph_of(cb.alkalinity_at_ph.plain(ph_total=ph, **rest), **rest) == pytest.approx(ph, abs=1e-9)


def test_no_such_ph_is_refused():
    with pytest.raises(Infeasible, match="2 and 12"):
        ph_of(-0.5, carbon=2e-3, boron_molality=4e-4, salinity=0.036, **constants(25.0))


def test_the_engine_cools_less_alkaline_than_the_published_constants():
    """Why the feed's pH at another temperature rests on the constants: from 25 to 5 degC they add 0.31 to the pH of
    seawater, the brine data 0.18, for they lack the enthalpy of boric acid."""
    sea = complete(reference_sea(0.03516504, ph=8.15))
    cooled = speciate(sea, 278.15).ph - sea.ph
    per = 1.0 / (1.0 - 0.03516504)
    rest = {"carbon": 2000e-6 * per, "boron_molality": 415.7e-6 * per, "salinity": per - 1.0}
    published = ph_of(2300e-6 * per, **rest, **constants(5.0)) - ph_of(2300e-6 * per, **rest, **constants(25.0))
    assert cooled == pytest.approx(0.18, abs=0.02) and published == pytest.approx(0.31, abs=0.01)


# --- the chain in a plant


def plant(**changes: str):
    design = designs.read(paths.demo("harbour-town.toml"))
    return shared.sized(design.with_values({k.replace("__", "."): v for k, v in changes.items()}))


@pytest.fixture(scope="module")
def dosed():
    return plant(coagulation__dose="5 mg/L", coagulation__dose_maximum="10 mg/L",
                 chlorination__residual="1 mg/L as Cl2")


@pytest.fixture(scope="module")
def bare():
    return plant(coagulation__present="no", dechlorination__present="no", chlorination__present="no")


def test_each_dose_lowers_the_ph_and_lets_more_boron_pass(dosed, bare):
    ledger = dosed.ledger
    raw, ferric, reduced = (float(ledger[k]) for k in ("water.ph_on_total_scale", "coagulation.ph_total",
                                                       "dechlorination.ph_total"))
    assert raw - ferric > 0.15 and ferric - reduced > 0.02
    # as the engine reckons it: 5 mg/L of iron takes three equivalents a mole
    an = dosed.waters.analysis
    from desalbook.water.phreeqc import Water, dose

    water = Water.of({k: float(v) for k, v in an.molality.items()}, ph=float(an.ph), temperature=float(an.temperature))
    by_engine = float(an.ph) - dose(water, float(an.temperature), {"FeCl3": float(ledger["coagulation.amount"])},
                                    "brine")[1].ph
    # the engine buffers up to a tenth less there: its first constant of carbonic acid lies 0.07 higher
    assert raw - ferric == pytest.approx(by_engine, rel=0.10)
    assert float(ledger["membrane.permeate_boron"]) > 1.02 * float(bare.ledger["membrane.permeate_boron"])


def test_warm_feed_is_less_alkaline_and_cold_feed_more(dosed, bare):
    """Seawater loses some 0.015 a kelvin, 0.0157 in the worked case above; once dosed, less."""
    for sized, slope in ((bare, 0.015), (dosed, 0.012)):
        ph = [float(sized.ledger[f"feed.ph@{t}"]) for t in ("cold", "design", "hot")]
        assert ph[0] > ph[1] > ph[2]
        assert (ph[0] - ph[2]) / 15.0 == pytest.approx(slope, abs=0.001)


def test_acid_to_seven_raises_the_two_species_passage_by_a_quarter():
    """Passages of 12 % boric acid and 1 % borate with pK 8.6: 0.0979 at pH 8.0 (worked by hand), 0.1173 at 7.0. From
    the pH of natural seawater, 8.1 on the total scale, the rise is a quarter."""
    def passing(ph):
        share = boron.borate_fraction.plain(ph, 8.6)
        return 0.12 * (1 - share) + 0.01 * share

    assert passing(8.0) == pytest.approx(0.0979, abs=5e-5)
    assert passing(9.0) == pytest.approx(0.0413, abs=5e-5)
    assert passing(10.0) == pytest.approx(0.0142, abs=5e-5)
    assert passing(7.0) / passing(8.1) == pytest.approx(1.25, abs=0.03)


def test_acid_in_a_plant():
    before, after = plant(), plant(acid__present="yes", acid__target_ph="7.0")
    rise = float(after.ledger["membrane.permeate_boron"]) / float(before.ledger["membrane.permeate_boron"])
    assert 1.10 < rise < 1.30  # the ferric and bisulfite of this plant have taken part of the quarter already
    for key in ("cold", "design", "hot"):
        found = after.feed.water(key)
        assert speciate(found, float(after.ledger[f"water.temperature_{key}"])).ph == pytest.approx(7.0, abs=0.1)
    assert float(after.ledger["acid.amount"]) == max(float(after.ledger[f"acid.amount@{k}"])
                                                     for k in ("cold", "design", "hot"))


def test_acid_above_the_water_s_ph_is_infeasible():
    with pytest.raises(Infeasible, match=r"acid\.target_ph"):
        plant(acid__present="yes", acid__target_ph="8.4")


def test_rating_at_a_corner_meets_the_same_ph():
    sized = plant()
    hot = float(sized.ledger["water.temperature_hot"])
    found = rate(sized, temperature=hot)
    assert found["permeate_boron"][0] == pytest.approx(
        float(sized.ledger["membrane.permeate_boron@hot-aged"]), rel=1e-6)
