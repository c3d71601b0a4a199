"""The offer says nothing that a missing machine would make false: words and tags against the schedule."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from desalbook.api import Plant
from desalbook.pack import documents, offer, text
from desalbook.pack.document import Heading, Note, Paragraph, Points
from desalbook.pack.plant_source import Source
from desalbook.pack.words import context
from desalbook.problems import TrailError
from tests import shared
from tests.plants import path as plant_file
from tests.random_designs import feasible, wild

WORDS = {
    r"media filters?": "filters", r"backwash(es|ed)? pumps?": "backwash_pump", r"backwashed": "filters",
    r"backwash tanks?": "backwash_tank", r"blowers?": "scour_blower", r"intake screen": "intake_screen",
    r"intake pumps?": "intake_pump", r"boosters?": "booster", r"degasifiers?": "degasifier",
    r"contactors?": "contactor", r"standby generators?": "generator",
    r"medium voltage": "medium_transformer", r"product pumps?": "product_pump",
    r"flush pumps?": "flush_pump", r"flush tanks?": "flush_tank", r"a heater": "cip_heater",
    r"power-factor correction": "correction", r"HP pumps?": "hp_pump", r"feed pumps?": "feed_pump",
    r"dosed? upstream of the filters": "dosing_coagulation", r"antiscalant,": "dosing_antiscalant",
    r"takes away what is left of the chlorine": "dosing_dechlorination", r"against growth": "dosing_chlorination",
    r"lowers the pH of the RO feed": "dosing_acid", r"between the passes": "dosing_interpass_ph",
    r"free of germs": "dosing_post_chlorination", r"corrosion inhibitor": "dosing_corrosion_inhibitor",
    r"sets the pH of the product": "dosing_post_ph", r"lifts the concentrate": "concentrate_pump"}
"""Words of the process description, and the row of the schedule that each speaks of."""
DEVICES = {r"isobaric": "isobaric", r"turbocharger": "turbocharger", r"pelton": "pelton",
           r"pump as turbine": "pump-as-turbine", r"no energy is recovered": "none"}
AREA = re.compile(r"\b(?:P|T|F|FC|S|V|RO|ER|E|K|DG|BU|CP|TR|G|PFC|XV|PV|PSV|[A-Z]{3,4}T)-\d{3}\b")


def words_of(document) -> str:
    """All sentences of a document, tables apart."""
    said = []
    for b in document.blocks:
        if isinstance(b, (Heading, Note, Paragraph)):
            said.append(b.text)
        elif isinstance(b, Points):
            said += list(b.items)
    return "\n".join(said)


def false_words(of: Source, description: str) -> list[str]:
    """Words of the description that speak of what the schedule has not."""
    found = [word for word, key in WORDS.items() if re.search(rf"\b{word}", description, re.I) and not of.has(key)]
    found += [word for word, key in DEVICES.items() if re.search(word, description, re.I)
              and of.sized.device.kind.key != key]
    return found


def silent(of: Source, description: str) -> list[str]:
    """Equipment of the package that the description does not name by its tag; tanks and bunds of chemicals apart."""
    return [r["tag"] for r in of.equipment if r["tag"] not in description
            and not r["key"].startswith(("day_tank", "bulk_storage", "bund", "cartridge"))
            and r["tag"] != of.tag("backwash_tank")]


def judge(of: Source) -> None:
    """The description of a plant is true and whole, and no document names a tag that is not there."""
    description = text.rendered("process", context(of))
    assert not false_words(of, description), description
    assert not silent(of, description), description
    tags = {r["tag"] for r in of.equipment} | {i["tag"] for i in of.instruments} | {v["tag"] for v in of.valves}
    for d in documents(of.plant, only=("offer", "scope", "price", "manual", "factory-test", "site-test", "shipping")):
        said = words_of(d) + "\n".join(c for t in d.tables() for row in t.cells("si") for c in row)
        assert set(AREA.findall(said)) <= tags, (d.key, set(AREA.findall(said)) - tags)
        assert not re.search(r"\(\)|, ,| \.|\(,", words_of(d)), (d.key, re.findall(r".{30}(?:\(\)|, ,| \.|\(,)",
                                                                                 words_of(d)))


def test_the_offer_of_the_harbour_is_true():
    judge(Source(shared.plant()))


@pytest.mark.full
@pytest.mark.parametrize("name", ("beach-well", "gulf", "boron", "container", "industrial-us"))
def test_the_offer_of_each_plant_is_true(name):
    judge(Source(shared.plant(shared.designs.read(plant_file(name)))))


@pytest.mark.full
def test_the_offer_of_drawn_plants_is_true():
    """Random designs of both classes; those that are answered are judged."""
    from desalbook.plant import size
    from desalbook.problems import Problem

    done = 0
    for draw in [*(lambda s=s: feasible(s) for s in range(6)), *(lambda s=s: wild(s) for s in range(3))]:
        try:
            plant = Plant(size(draw(), recording=False))
        except Problem:
            continue
        judge(Source(plant))
        done += 1
    assert done >= 6


def test_a_planted_lie_is_seen():
    """A sentence on a degasifier, and a tag of nothing: the harbour has neither."""
    of = Source(shared.plant())
    true = text.rendered("process", context(of))
    assert false_words(of, f"{true} A degasifier strips gas.") == [r"degasifiers?"]
    assert false_words(of, f"{true} A Pelton turbine turns.") == ["pelton"]
    assert silent(of, true.replace("P-301", "")) == ["P-301"]


def test_a_template_that_asks_for_nothing_is_refused(monkeypatch):
    of = Source(shared.plant())
    with pytest.raises(TrailError, match="template process"):
        text.rendered("process", {k: v for k, v in context(of).items() if k != "device"})
    with pytest.raises(KeyError):
        context(of)["show"]("no.such.value")


def test_warranty_limits_are_the_plants():
    of = Source(shared.plant())
    rows = {r["title"]: r for r in offer.warranty(of).rows}
    assert rows["SDI15 of the RO feed"]["value"].value == of.number("fouling.sdi_limit")
    assert rows["Free chlorine of the RO feed"]["value"].value == of.number("limits.membrane_oxidant")
    assert rows["Temperature of the RO feed"]["value"].value == of.number("membrane.element.max_temperature")
    assert rows["Pressure drop of a vessel"]["measured"] == "PDIT-304"


def test_the_price_page_is_an_estimate():
    of = Source(shared.plant())
    made = offer.price(of)
    assert words_of(made).startswith("ESTIMATE, not a quotation.")
    sums = {r["title"]: r["sum"].value for t in made.tables() if t.title == "Sum" for r in t.rows}
    assert sums["Sum, with contingency"] == of.number("cost.capital")
    items = [r["capital"].value for t in made.tables() if t.title == "Equipment, ex works" for r in t.rows]
    assert sum(items) == pytest.approx(sums["Equipment, ex works"], rel=1e-9)


def test_templates_speak_the_house_language():
    """The templates are texts as those of the package: none of the replaced words stands in them."""
    from tests.test_language import REPLACED

    folder = Path(offer.__file__).parent / "templates"
    for file in sorted(folder.glob("*.j2")):
        bare = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", " ", file.read_text(encoding="utf-8"))
        for pattern, better in REPLACED.items():
            word = re.compile(rf"(?<![\w.`/-])(?:{pattern})(?![\w`]|\.\w)", re.I)
            assert not (found := word.search(bare)), f"{file.name}: {found[0]!r}, write {better}"
