"""Media, antiscalants and pressure vessels of a design's own: given, used, judged by what their sheets state."""

from __future__ import annotations

import pytest

from desalbook import paths
from desalbook.design import Design, from_text
from desalbook.design.sheets import add_sheets, blank_rows
from desalbook.plant import size
from desalbook.problems import DesignError, Problem
from desalbook.trail import what_if
from tests import shared
from tests.every import every
from tests.test_moving import below, changed, descendants

TEXT = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
SHEETS = """
[[media]]
name = "quarry-sand"
based_on = "sand"
source = "sieve report of the tests"
date = "2026-03-01"
effective_size = "0.5 mm"
uniformity = 1.5
grain_density = "2620 kg/m3"

[[antiscalants]]
name = "product-x"
source = "data sheet of the tests"
date = "2026-03-02"
density = "1180 kg/m3"
max_dose = "4 mg/L as product"
limits = { calcite = "2.3", gypsum = "0.5" }

[[vessel_classes]]
name = "vessel-x"
source = "drawing of the tests"
date = "2026-03-03"
rating = "1015 psig"
max_temperature = "49 degC"
most_elements = 7
bore = "202 mm"
"""
LAYERS = """
[[filters.layers]]
name = "anthracite"
media = "anthracite"
depth = "0.6 m"

[[filters.layers]]
name = "sand"
media = "quarry-sand"
depth = "0.6 m"
"""


def design(sheets: str = SHEETS, layers: str = LAYERS, product: str = "product-x", vessel: str = "vessel-x") -> Design:
    text = TEXT.replace('pressure_class = "vessel-83"', f'pressure_class = "{vessel}"').replace(
        'dose = "2 mg/L as product"', f'dose = "2 mg/L as product"\nproduct = "{product}"')
    return from_text(text + layers + sheets)


@pytest.fixture(scope="module")
def lines():
    return size(design()).ledger.lines


def test_a_medium_gives_its_layer_its_grains(lines):
    """By hand: d60 = 0.5 x 1.5 = 0.75 mm, d90 = 0.5 x 1.5^1.67 = 0.9840 mm; what is blank is that of the sand."""
    assert lines["media[quarry-sand].effective_size"].sort == "given"
    column = {name: dict(zip(line.keys, line.value, strict=True)) for name, line in (
        (n, lines[f"filters.media.{n}"]) for n in ("effective_size", "d60", "d90", "grain_density", "sphericity"))}
    assert column["effective_size"] == {"anthracite": pytest.approx(1e-3), "sand": pytest.approx(0.5e-3)}
    assert column["d60"]["sand"] == pytest.approx(0.75e-3)
    assert column["d90"]["sand"] == pytest.approx(0.98408e-3, rel=1e-4)
    assert column["grain_density"]["sand"] == 2620.0 and column["d90"]["anthracite"] == pytest.approx(1.754e-3)
    blank = lines["filters.layers[sand].sphericity"]
    assert blank.sort == "assumed" and "blank for the medium quarry-sand" in blank.place
    assert float(lines["filters.uniformity"].value) == 1.5
    assert lines["filters.layers[sand].report"].more["verdict"] == "passes"


def test_coarse_or_wide_media_are_seen():
    odd = size(design(SHEETS.replace("0.5 mm", "1.9 mm").replace("uniformity = 1.5", "uniformity = 1.9"))).ledger.lines
    assert odd["filters.layers[sand].report"].more["verdict"] == "review"
    assert odd["filters.uniformity.check"].more["verdict"] == "fails"


def test_a_medium_of_the_kit_and_of_the_design_with_the_same_grains_are_one(lines):
    """The sand of the kit stated as a sheet: every value of the filters is the same to a tenth of a per cent."""
    same = SHEETS.replace('"0.5 mm"', '"0.55 mm"').replace("1.5", "1.4", 1).replace("2620", "2650")
    own, kit = (size(design(same, layers)).ledger.lines for layers in (LAYERS, LAYERS.replace("quarry-sand", "sand")))
    for id in ("filters.clean_head_loss", "filters.backwash_rate", "filters.depth_over_size"):
        assert float(own[id].value) == pytest.approx(float(kit[id].value), rel=1e-3), id


def test_an_antiscalant_brings_its_limits_density_and_dose(lines):
    assert lines["scaling.calcite.check"].more["limit"] == pytest.approx(2.3)
    assert "scaling.calcite.limit_with" not in lines and "scaling.barite.limit_with" in lines
    generic = shared.plant().ledger.lines
    assert float(lines["antiscalant.neat_rate"].value if "antiscalant.neat_rate" in lines else 1) > 0
    assert generic["scaling.calcite.check"].more["limit"] != pytest.approx(2.3)
    assert lines["antiscalant.sheet_dose.check"].more["verdict"] == "passes"
    much = size(design(SHEETS.replace('"4 mg/L as product"', '"1.5 mg/L as product"'))).ledger.lines
    assert much["antiscalant.sheet_dose.check"].more["verdict"] == "fails"
    written = design().with_value("scaling.with_antiscalant[calcite]", "1.2")
    assert size(written).ledger.lines["scaling.calcite.check"].more["limit"] == pytest.approx(1.2)


def test_a_vessel_is_judged_by_its_sheet(lines):
    assert float(lines["membrane.pressure_rating"].value) == pytest.approx(1015 * 6894.757, rel=1e-6)
    for name in ("temperature", "length", "bore"):
        assert lines[f"membrane.vessel_{name}.check"].more["verdict"] in ("passes", "marginal"), name
    for old, new, name in (('"49 degC"', '"25 degC"', "temperature"),
                           ("most_elements = 7", "most_elements = 6", "length"),
                           ('"202 mm"', '"101 mm"', "bore")):
        bad = size(design(SHEETS.replace(old, new))).ledger.lines
        assert bad[f"membrane.vessel_{name}.check"].more["verdict"] == "fails"
    weak = size(design(SHEETS.replace("1015 psig", "600 psig"))).ledger.lines
    assert weak["membrane.rating_used.check"].more["verdict"] == "fails"


def test_a_sheet_without_its_source_asks_for_a_look():
    bare = "\n".join(row for row in SHEETS.splitlines() if not row.startswith(("source", "date")))
    found = size(design(bare)).ledger.lines
    for note in ("filters.layers[sand].report", "antiscalant.sheet", "membrane.vessel_sheet"):
        assert found[note].more["verdict"] == "review" and "source is blank" in found[note].more["why"]


@pytest.mark.parametrize(("key", "how"), [
    ("media[quarry-sand].effective_size", 1.01), ("media[quarry-sand].uniformity", 1.01),
    ("media[quarry-sand].based_on", "sand-fine"), ("antiscalants[product-x].density", 1.01),
    ("antiscalants[product-x].limits[calcite]", 1.01), ("vessel_classes[vessel-x].rating", 0.99),
    ("vessel_classes[vessel-x].bore", 1.01)])
def test_what_a_sheet_moves_descends_from_it(key, how):
    whole = design()
    before = size(whole).ledger.lines
    with what_if({key: how}):
        after = size(whole).ledger.lines
    moved = changed(before, after)
    root = key.removesuffix("[calcite]")  # an entry of a row of limits is part of that line
    stray = moved - below(root, descendants(before, after)) - {root}
    assert moved and not stray, sorted(stray)[:5]


def test_mistakes_are_refused_at_their_own_key():
    cases = {
        "not there": (SHEETS.replace('"quarry-sand"', '"other"'), "filters.layers[sand].media", "other"),
        "product not there": (SHEETS.replace('"product-x"', '"other"'), "antiscalant.product", "other"),
        "vessel not there": (SHEETS.replace('"vessel-x"', '"other"'), "membrane.pressure_class", "other"),
        "a name of the kit": (SHEETS + '[[vessel_classes]]\nname = "vessel-83"\nrating = "80 barg"\n',
                              "vessel_classes[vessel-83]", "name of its own"),
        "sizes fall": (SHEETS.replace("uniformity", 'd60 = "0.4 mm"\nuniformity'), "media[quarry-sand].d60",
                       "less passes"),
        "no such mineral": (SHEETS.replace("gypsum", "gipsum"), "antiscalants[product-x].limits[gipsum]",
                          "gypsum"),
        "no rating": (SHEETS.replace('rating = "1015 psig"\n', ""), "vessel_classes[vessel-x].rating",
                      "must be given"),
        "supports alone": (SHEETS.replace('based_on = "sand"', 'based_on = "gravel-fine"'), "filters.layers",
                           "filters")}

    def check(case):
        sheets, where, words = case
        other = "gravel-fine" if where == "filters.layers" else "anthracite"
        layers = LAYERS.replace('media = "anthracite"', f'media = "{other}"')
        with pytest.raises(Problem) as caught:
            size(design(sheets, layers))
        text = str(caught.value)
        assert text.startswith(where) and words in text and "\n" not in text, text
        assert isinstance(caught.value, DesignError)

    every(cases, check)


def test_limits_of_an_antiscalant_come_from_a_table(tmp_path):
    import csv

    stated = {"name": "product-y", "density": "1.15 kg/L", "limits[calcite]": "2.2", "limits[barite]": "2"}
    rows = blank_rows("antiscalants")
    for row in rows[2:]:
        row[3:] = [stated.get(row[0], "")]
    with open(tmp_path / "a.csv", "w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
    made = add_sheets(from_text(TEXT), tmp_path / "a.csv")
    assert dict(made.get("antiscalants[product-y].limits")) == {"calcite": 2.2, "barite": 2.0}
    assert made.get("antiscalants[product-y].density") == pytest.approx(1150)
