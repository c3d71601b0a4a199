"""Materials, tests and lists of the pack: each value is the plant's, each row has its part."""

from __future__ import annotations

import re

import pytest

from desalbook.fine import fine
from desalbook.pack import PARTS, documents
from desalbook.pack.acceptance import calibrations, factory, guaranteed, site
from desalbook.pack.document import told
from desalbook.pack.materials import chemicals_resisted, couples, metals, plastics
from desalbook.pack.plant_source import Source
from desalbook.pack.pressure_parts import examinations, parts_under_test
from desalbook.pack.shipping import shipping, spares_rows
from desalbook.plant.sequences import sequence_rows
from tests import shared


@pytest.fixture(scope="module", params=("harbour-town.toml", pytest.param("beach-well.toml", marks=pytest.mark.full)))
def of(request) -> Source:
    return Source(shared.plant(request.param))


def changed(**values: str) -> Source:
    """The harbour plant with keys of the design changed; dots of a key are two underscores."""
    design = shared.demo().with_values({k.replace("__", "."): v for k, v in values.items()})
    return Source(shared.plant(design))


def row(table, **wanted):
    return next(r for r in table.rows if all(r.get(k) == v for k, v in wanted.items()))


def test_every_run_of_metal_has_its_pren(of):
    runs = {x["title"]: x for x in of.lines}
    found = metals(of)
    metal = {t for t, x in runs.items() if x["pren"] is not None}
    assert metal and metal <= {r["run"] for r in found.rows}
    for r in found.rows:
        if runs[r["run"]]["pren"] is not None:
            assert r["usual"] == pytest.approx(float(runs[r["run"]]["pren"]), rel=1e-9)
            assert r["smallest"] <= r["usual"]


def test_pren_of_published_alloys():
    """S32750 42.52, and its smallest composition under the limit of 40: only the certificate shows it passes."""
    r = metals(Source(shared.plant())).rows[0]
    assert (round(r["usual"], 2), r["wanted"]) == (42.52, 40.0) and r["smallest"] < 40
    assert r["verdict"] == "passes with the certificate of the heat"


def test_a_couple_is_seen():
    """Copper-nickel against titanium lies 250 mV apart; super duplex against titanium 45 mV."""
    fine = couples(Source(shared.plant()))
    good = row(fine, tag="PIT-302")
    assert good["voltage"] == pytest.approx(0.045) and good["result"] == "passes"
    of = Source(shared.plant())
    of.lines = [x | {"material": "copper-nickel"} if x["key"] == "high-pressure" else x for x in of.lines]
    bad = row(couples(of), tag="PIT-302")
    assert bad["voltage"] == pytest.approx(0.25) and bad["result"].startswith("insulate")


@pytest.mark.full
def test_plastic_is_derated_by_the_warmest_water():
    """PVC-U keeps 90 % up to 30 degC and 70 % up to 40 degC (ISO 1452-2)."""
    assert row(plastics(Source(shared.plant())), pipe="Polyvinyl chloride")["left"] == 0.9
    hot = row(plastics(changed(water__temperature_hot="36 degC")), pipe="Polyvinyl chloride")
    assert hot["left"] == 0.7 and hot["allowed"] == pytest.approx(0.7 * hot["rating"])


def test_seals_follow_the_chemical():
    """FKM is attacked by sodium hydroxide, nitrile by hypochlorite; both are in the harbour plant."""
    elastomers = chemicals_resisted(Source(shared.plant()))[0]
    assert "FKM" in row(elastomers, line="Alkali for the product")["elastomer_no"]
    assert "NBR" in row(elastomers, line="Hypochlorite")["elastomer_no"]
    assert "FKM" in row(elastomers, line="Hypochlorite")["elastomer_good"]


def test_each_part_is_tested_by_its_code(of):
    table = parts_under_test(of)
    assert {x["title"] for x in of.lines} <= {r["part"] for r in table.rows}
    wet = {r["tag"] for r in of.equipment if r["rating"] and not r["tag"].startswith("BU")}
    assert wet <= {r["tag"] for r in table.rows}
    for r in table.rows:
        if r.get("test") is not None:
            assert r["test"] >= 1.1 * r["design"] * (1 - 1e-9)
    pipe = row(table, part="HP pump and device to vessels")
    section = of.sections["vessels"]
    assert pipe["design"] == max(section["governing"], section["relief"] or 0.0)
    assert pipe["test"] == pytest.approx(1.5 * pipe["design"])
    assert row(table, tag="V-301")["test"] == pytest.approx(1.1 * section["rating"])


@pytest.mark.full
def test_the_code_of_vessels_is_the_designs_choice():
    one, other = (row(parts_under_test(of), tag="F-201") for of in (Source(shared.plant()), changed(
        offer__vessel_code="en")))
    assert one["test"] == pytest.approx(1.3 * one["design"]) and other["test"] == pytest.approx(1.43 * other["design"])


@pytest.mark.full
def test_hot_metal_is_tested_higher():
    """Beyond 38 degC the stress falls, so the ratio of the stresses lifts the test pressure."""
    hot = row(parts_under_test(changed(water__temperature_hot="42 degC")), part="HP pump and device to vessels")
    left = 1 - 0.1 * (42 - 38) / 55
    assert hot["ratio"] == pytest.approx(left, rel=1e-9)
    assert hot["test"] == pytest.approx(1.5 * hot["design"] / left, rel=1e-9)


@pytest.mark.full
def test_only_joints_the_plant_has_are_examined():
    kinds = {r["kind"] for r in examinations(Source(shared.plant()))[0].rows}
    well = {r["kind"] for r in examinations(Source(shared.plant("beach-well.toml")))[0].rows}
    assert "Lined steel vessel" in kinds and "Metal pipe, high pressure" in kinds & well


def test_the_acceptance_tests_name_what_the_plant_has(of):
    tests = [r for t in factory(of).tables() for r in t.rows]
    tags = {r["tag"] for r in tests}
    trips = [i for i in of.instruments if i["trip_high"] is not None or i["trip_low"] is not None]
    assert {i["tag"] for i in trips} <= tags and {v["tag"] for v in of.valves} <= tags
    for i in trips:
        for side in ("low", "high"):
            if i[f"trip_{side}"] is not None:
                said = next(r["limit"] for r in tests if r["test"] == f"{i['title']}: {side} trip")
                assert of.text(i[f"trip_{side}"], i["kind"], 4) in said
    assert {x["tag"] for x in of.sized.control.safety} <= tags
    pumps = {r["tag"] for r in of.equipment if "head" in r and r["supply"] == "package"}
    assert pumps <= tags
    assert [r["title"] for r in guaranteed(of).rows] == [r["title"] for r in of.sized.guarantees]


@pytest.mark.full
def test_a_grade_narrows_the_head():
    def width(of):
        said = next(r["limit"] for t in factory(of).tables() for r in t.rows if r["test"] == "Feed pump: duty point")
        low, high = (float(x.split()[0]) for x in said.partition("head ")[2].split(" to "))
        return high - low

    assert width(changed(offer__pump_grade="1b")) < width(Source(shared.plant())) < width(changed(
        offer__pump_grade="3b"))


def test_each_instrument_is_calibrated(of):
    table = next(calibrations(of).tables())
    assert [r["tag"] for r in table.rows] == [i["tag"] for i in of.instruments]
    assert all(r.get("interval") for r in table.rows), [r["tag"] for r in table.rows if not r.get("interval")]


@pytest.mark.full
def test_the_site_run_is_as_long_as_the_design_says():
    said = [b.text for b in site(changed(offer__test_run="168 h")).blocks if hasattr(b, "text")]
    assert any("168 h" in x for x in said)


def test_chemicals_by_transport_class(of):
    goods = next(t for t in shipping(of).tables() if t.title == "Dangerous goods")
    assert {r["line"] for r in goods.rows} == {c["title"] for c in of.chemicals}
    if "chlorination" in of.sized.doses.lines():
        assert row(goods, line="Hypochlorite")["number"] == "UN 1791"


@pytest.mark.full
def test_spares_cover_the_stated_time():
    """Cartridges for two years are twice those for one, less rounding; seals do not follow the time."""
    def number(of, item):
        return next(r["number"] for r in spares_rows(of) if r["item"] == item)

    two, one = Source(shared.plant()), changed(offer__spares_time="1 year")
    assert number(two, "Cartridges, as installed") == pytest.approx(2 * number(one, "Cartridges, as installed"), abs=1)
    assert number(two, "Shaft seal and bearing set") == number(one, "Shaft seal and bearing set")
    assert all(r["tag"] != "P-101" for r in spares_rows(two)), "the intake pump is others' supply"


@pytest.mark.full
def test_a_plant_without_a_product_pump_has_its_documents():
    """Its product runs by the level of the tank: no section of design pressure is on that line."""
    of = changed(product_pump__present="no")
    assert "product" not in of.sections and "product" in {x["key"] for x in of.lines}
    assert {"weights", "lines", "pressure-tests", "materials"} <= {d.key for d in documents(of.plant)}


@pytest.mark.parametrize("units", ("si", pytest.param("us", marks=pytest.mark.full)))
def test_every_document_is_made(of, units):
    made = documents(of.plant, units)
    assert [d.key for d in made] == [key for key in PARTS if key in {d.key for d in made}]
    for d in made:
        assert list(d.blocks) and all(t.rows for t in d.tables()), d.key
        for t in d.tables():
            assert len(t.plain()) == len(t.rows)
            texts = [c for cells in t.cells(units) for c in cells]
            assert not any("nan" in c.split() or "None" in c for c in texts), (d.key, t.title)


@pytest.mark.parametrize(("said", "wanted"), (
    ("5 to 35 °C, dark", "41 °F to 95 °F, dark"), ("below about 1 m/s it pits", "below about 3.28 ft/s it pits"),
    ("58 units for 6 m² of foil", "58 units for 64.6 ft² of foil"), ("DN 200, PN 10, 2 to 3 trains",) * 2))
def test_amounts_in_sentences_are_told_in_the_display_set(said, wanted):
    assert fine(told(said, "us")) == wanted and told(said, "si") == said


def test_the_sequences_are_those_of_the_plant(of):
    """Document 206 and the manual have a table of each sequence the plant has, step by step, with tags it has."""
    tags = {r["tag"] for r in of.sized.equipment}
    made = {d.key: {t.title: t for t in d.tables()} for d in documents(of.plant, only=("controls", "manual"))}
    assert set(of.sequences) >= {"cip", "power"} and ("backwash" in of.sequences) == of.has("backwash_pump")
    for name, title in of.sequences.items():
        steps = sequence_rows(of.sized, name)
        for key in made:
            assert [r["title"] for r in made[key][title].rows] == [s["title"] for s in steps], (key, name)
        named = {word for r in made["controls"][title].rows for c in ("open", "run") for word in str(r[c]).split(", ")}
        assert {word for word in named if re.fullmatch(r"[A-Z]+-[0-9]+", word)} <= tags
    start = made["manual"]["Start of a train"]
    assert all(len(str(r["until"]).split()) > 1 for r in start.rows), "in words, not by a key"
