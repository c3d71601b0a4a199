"""Named findings: pairs that must not meet, places out of order, times too short, doses beyond the usual."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook import dosing, paths
from desalbook.dosing.chemical_tanks import incompatible
from desalbook.dosing.injection import BEFORE
from desalbook.problems import DesignError
from desalbook.tables import table
from desalbook.trail import given
from desalbook.units import validate
from tests import shared
from tests.dosing.test_dosing import USUAL, made


@pytest.mark.parametrize(("one", "other", "makes"), [
    ("sodium-hypochlorite", "sulfuric-acid", "chlorine gas"),
    ("hydrochloric-acid", "sodium-hypochlorite", "chlorine gas"),
    ("sodium-hypochlorite", "ferric-chloride", "chlorine gas"),
    ("sodium-bisulfite", "sulfuric-acid-93", "sulfur dioxide gas"),
    ("sodium-metabisulfite", "hydrochloric-acid", "sulfur dioxide gas"),
    ("sodium-bisulfite", "sodium-hypochlorite", "great heat, spray"),
    ("caustic-soda", "sulfuric-acid", "great heat, spray")])
def test_pairs_that_react(one, other, makes):
    """Safety alerts and data sheets, from memory."""
    assert incompatible(one, other)["makes"].value == makes == incompatible(other, one)["makes"].value


def test_pairs_that_do_not():
    assert incompatible("sodium-hypochlorite", "caustic-soda-30") is None
    assert incompatible("sulfuric-acid", "ferric-chloride") is None


def test_every_pair_names_uses_that_exist():
    roles = {x["role"].value for x in table("chemicals").values()}
    assert all(x["first"].value in roles and x["second"].value in roles
               for x in table("incompatible_pairs").values())


def store(*bays):
    """Findings of a store with hypochlorite and bisulfite, bays as (name, wall, shares a bund)."""
    def job(inp, flow, low):
        chlorine = dosing.chlorination(inp, flow, low)
        lines = {"chlorination": chlorine.line, "dechlorination": dosing.dechlorination(inp, flow, chlorine, low).line}
        dosing.side_by_side(inp, [b[0] for b in bays], lines)

    rows = [{"name": n, "wall": w, "shares_bund": s} for n, w, s in bays]
    book, _ = made(job, chemical_storage={"bays": rows})
    return {i: x.more for i, x in book.lines.items() if i.startswith("chemical_storage.") and "verdict" in x.more}


PAIR = "chemical_storage.beside[chlorination-dechlorination]"


@pytest.mark.parametrize(("wall", "bund", "verdict"), [
    ("yes", "no", "passes"), ("no", "no", "fails"), ("yes", "yes", "fails"), ("no", "yes", "fails")])
def test_side_by_side_is_refused_with_the_caution(wall, bund, verdict):
    found = store(("chlorination", wall, bund), ("dechlorination", "yes", "no"))[PAIR]
    assert found["verdict"] == verdict
    assert "react violently" in found["caution"] and "local codes" in found["caution"]


def test_what_is_absent_is_no_wall():
    """An empty bay between them, its walls open, leaves them side by side."""
    found = store(("chlorination", "no", "no"), ("acid", "no", "no"), ("dechlorination", "no", "no"))
    assert found[PAIR]["verdict"] == "fails"
    found = store(("chlorination", "no", "no"), ("acid", "yes", "no"), ("dechlorination", "no", "no"))
    assert found[PAIR]["verdict"] == "passes"


def test_a_chemical_without_a_bay_is_named():
    assert store(("chlorination", "yes", "no"))["chemical_storage.complete"]["verdict"] == "fails"


ALL = ("chlorination", "coagulation", "filter", "acid", "antiscalant", "dechlorination", "orp", "biocide",
       "cartridge", "pump", "interpass_ph", "second_pass", "post_ph", "corrosion_inhibitor", "post_chlorination")
ON = {n: {"present": "yes"} for n in ("acid", "coagulation", "biocide", "interpass_ph", "corrosion_inhibitor")}


def ordered(points, times=None, **written):
    rows = [{"name": n, "travel_time": f"{(times or {}).get(n, 15)} s"} for n in points]
    filters = []

    def job(inp, flow, low):
        filters.append(given("filters.kind", "pressure", None, title="Filters"))
        dosing.order(inp, points, filters=filters[-1])

    book, _ = made(job, injection={"points": rows}, **(ON | written))
    return {i: x.more["verdict"] for i, x in book.lines.items() if i.startswith("injection.") and "verdict" in x.more}


def test_the_whole_line_in_order_holds():
    assert set(ordered(ALL).values()) == {"passes"}


@pytest.mark.parametrize(("first", "second"), [(b[0], b[1]) for b in BEFORE])
def test_each_pair_out_of_order_is_a_finding(first, second):
    """The two change places; that pair fails."""
    points = list(ALL)
    i, j = points.index(first), points.index(second)
    points[i], points[j] = points[j], points[i]
    assert ordered(points)[f"injection.order[{first}-{second}]"] == "fails"


def test_chlorine_before_a_second_pass():
    points = [n for n in ALL if n != "post_chlorination"]
    points.insert(points.index("second_pass"), "post_chlorination")
    assert ordered(points)["injection.order[second_pass-post_chlorination]"] == "fails"


@pytest.mark.parametrize(("times", "id", "verdict"), [
    ({"dechlorination": 9}, "injection.probe.check", "fails"),
    ({"dechlorination": 11}, "injection.probe.check", "passes"),
    ({"dechlorination": 21}, "injection.probe_late.check", "fails"),
    ({"orp": 3, "biocide": 3, "cartridge": 3}, "injection.warning.check", "fails"),
    ({"orp": 10, "biocide": 10, "cartridge": 8}, "injection.warning.check", "passes")])
def test_times_between_quill_probe_and_pump(times, id, verdict):
    """Quill to probe 10 to 20 s; probe to pump at least 10 + 5 + 10 s."""
    assert ordered(ALL, times)[id] == verdict


def test_behind_the_cartridges_is_said_with_its_consequence():
    points = [n for n in ALL if n != "antiscalant"]
    points.insert(points.index("pump"), "antiscalant")
    found = ordered(points)
    assert found["injection.cartridge[antiscalant]"] == "review" and found["injection.cartridge[acid]"] == "passes"


def test_usual_places_need_no_second_pass():
    off = {n: {"present": "no"} for n in ON}
    assert set(ordered(USUAL, **off).values()) == {"passes"}


def test_redox_band_stands_in_order():
    with pytest.raises(DesignError, match="orp_alarm"):
        validate(dosing.Dechlorination, {"orp_control": "250 mV", "orp_alarm": "250 mV"}, "dechlorination")


def test_biocide_in_shocks():
    """100 mg/L into 200 m3/h: 16.67 L/h of a product of 1.2 kg/L; half an hour a week is 0.298 mg/L over time."""
    def job(inp, flow, low):
        return dosing.biocide(inp, flow, given("duty.product_use", "drinking", None, title="Use"), low)

    book, line = made(job, biocide={"present": "yes"})
    assert float(line.feed_rate) * 3.6e6 == pytest.approx(16.667, rel=1e-3)
    assert float(line.mean_dose) * 1e3 == pytest.approx(0.29762, rel=1e-4)
    assert book.lines["biocide.product"].more["verdict"] == "review"
    assert made(job)[1] is None


def test_multiple_below_the_field_factor_fails():
    """1.05 times stoichiometry is 1.54 mg per mg; plants need 1.61 (AWWA, Table 7-2)."""
    def job(inp, flow, low):
        return dosing.dechlorination(inp, flow, dosing.chlorination(inp, flow, low), low)

    id = "dechlorination.field.check"
    assert made(job, dechlorination={"dose_ratio": "1.05"})[0].lines[id].more["verdict"] == "fails"
    assert made(job)[0].lines[id].more["verdict"] == "passes"


def test_options_in_a_plant():
    """All options on: each has its row in the schedule, and the schedule still sums."""
    design = db.read(paths.demo("harbour-town.toml")).with_values(
        {"biocide.present": "yes", "interpass_ph.present": "yes", "corrosion_inhibitor.present": "yes"})
    plant = shared.plant(design)
    frame = plant.chemicals.dropna(subset=["mass_rate"])
    assert {"biocide", "interpass_ph", "corrosion_inhibitor"} <= set(frame["key"])
    total = sum(d * q for d, q in zip(frame["dose"], frame["flow"], strict=True))
    assert total == pytest.approx(plant.streams["chemical_kg_s"].dropna().sum(), rel=1e-9)
    seen = plant.checks.set_index("id")
    assert seen.loc["interpass_ph.second_pass", "verdict"] == "review"
    # boric acid and carbonate of a hot permeate ask for some 20 to 60 mg/L of caustic at pH 10
    assert 5e-3 < float(plant["interpass_ph.dose"]) < 80e-3


def test_soda_ash_for_the_product():
    """Sodium carbonate brings its carbon along: more moles than caustic asks for, and twice the alkalinity a mole."""
    design = db.read(paths.demo("harbour-town.toml")).with_values({"post_ph.chemical": "soda-ash"})
    ash, lye = shared.plant(design), shared.plant()
    assert float(ash["product.ph"]) == pytest.approx(float(lye["product.ph"]), abs=0.01)
    row = ash.chemicals.set_index("key").loc["post_ph"]
    assert row["basis"] == "as Na2CO3" and row["mass_rate"] > lye.chemicals.set_index("key").loc["post_ph", "mass_rate"]
