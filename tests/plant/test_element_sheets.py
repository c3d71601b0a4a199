"""A manufacturer's sheet in the design: given, fitted to its own test, judged by its own limits and tolerance."""

from __future__ import annotations

import sys

import pytest

from desalbook import membrane as m
from desalbook import paths
from desalbook.design import Design, from_text
from desalbook.plant import size
from desalbook.problems import DesignError, Infeasible, Problem, TrailError
from desalbook.trail import what_if
from tests import shared
from tests.every import every
from tests.test_moving import below, changed, descendants

TEXT = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
SHEET = """
[[elements]]
name = "offered"
element_type = "type of the tests"
states = "nominal"
source = "sheet 12 of the tests"
date = "2026-01-15"
area = "38 m2"
rated_flow = "27 m3/d"
flow_tolerance = "15 %"
rated_rejection = "99.8 %"
minimum_rejection = "99.6 %"
test_pressure = "50 barg"
test_concentration = "30 000 mg/L"
test_temperature = "25 degC"
test_recovery = "9 %"
max_pressure = "83 barg"
"""
US = """
[[elements]]
name = "offered"
area = "409.03 ft2"
rated_flow = "7132.6452 gpd"
rated_rejection = "99.8 %"
test_pressure = "725.18868 psig"
test_concentration = "30 000 mg/L"
test_temperature = "77 degF"
test_recovery = "9 %"
max_pressure = "1203.8132 psig"
"""


def design(sheets: str = SHEET, chosen: str = "offered", more: str = "") -> Design:
    text = TEXT.replace('element = "demo-a-high-rejection"', f'element = "{chosen}"')
    return from_text(text.replace("[energy_recovery]", f"{more}\n[energy_recovery]") + sheets)


@pytest.fixture(scope="module")
def plant():
    return size(design())


def test_what_it_states_is_given_and_what_is_blank_is_assumed_of_the_sheet_named(plant):
    lines = plant.ledger.lines
    assert lines["elements[offered].area"].sort == "given" and lines["elements[offered].date"].value == "2026-01-15"
    area = lines["membrane.element.area"]
    assert area.sort == "picked" and float(area.value) == 38.0 and area.more["candidates"][0]["key"] == "offered"
    blank = lines["membrane.element.spacer_height"]
    assert blank.sort == "assumed" and "blank on the sheet offered" in blank.place
    assert float(blank.value) == pytest.approx(0.7e-3)  # of demo-a-standard, which is based_on


def test_the_fit_gives_the_test_condition_back(plant):
    """The stated test run with the permeabilities that were found, and a check that says so."""
    lines = plant.ledger.lines
    value = {k: float(lines[f"membrane.element.{k}"].value) for k in (
        "permeate_flow", "rejection", "boron_rejection", "rated_flow", "rated_rejection", "rated_boron_rejection")}
    assert value["rated_flow"] == pytest.approx(27 / 86400, rel=1e-12)
    assert value["permeate_flow"] == pytest.approx(value["rated_flow"], rel=1e-9)
    assert 1 - value["rejection"] == pytest.approx(1 - 0.998, rel=1e-8)
    assert 1 - value["boron_rejection"] == pytest.approx(1 - value["rated_boron_rejection"], rel=1e-8)
    check = lines["membrane.element.test_deviation.check"]
    assert check.more["verdict"] == "passes" and float(check.value) < 1e-9
    assert lines["membrane.element.test_deviation"].more["residual"][0]["relative"] < 1e-9


def test_a_fit_that_misses_its_test_is_seen(monkeypatch):
    """Water permeability 1 % too high is no record; a search that stopped 1 % short fails its check."""
    module = sys.modules["desalbook.membrane.element"]  # its function has the same name
    fit = module._invert
    monkeypatch.setattr(module, "_invert", lambda *given: (1.01 * fit(*given)[0], *fit(*given)[1:]))
    with pytest.raises(TrailError, match="water_permeability"):
        size(design())
    monkeypatch.setattr(module, "_invert", lambda *given: (*fit(*given)[:3], 0.01))
    check = size(design(), recording=False).ledger.lines["membrane.element.test_deviation.check"]
    assert check.more["verdict"] == "fails"


def test_a_sheet_in_us_units_is_the_same_sheet(plant):
    us = size(design(US)).ledger.lines
    for name in ("area", "rated_flow", "test_pressure", "test_temperature", "max_pressure", "water_permeability",
                 "salt_permeability"):
        assert float(us[f"membrane.element.{name}"].value) == pytest.approx(
            float(plant.ledger.lines[f"membrane.element.{name}"].value), rel=1e-5), name


def test_a_test_at_less_pressure_means_a_more_open_membrane(plant):
    other = shared.plant().ledger.lines["membrane.element.water_permeability"]
    assert float(plant.ledger.lines["membrane.element.water_permeability"].value) > 1.15 * float(other.value)


def test_its_limits_are_those_that_are_judged():
    weak = size(design(SHEET.replace("83 barg", "51 barg")))
    check = weak.ledger.lines["membrane.feed_pressure.check"]
    assert check.more["limit"] == 51e5 and check.more["verdict"] == "fails"
    cip = size(design(SHEET + 'ph_cleaning_high = "11.4"\nchlorine_tolerance = "500 mg h/L as Cl2"\n')).ledger.lines
    assert float(cip["cip.element_ph_cleaning_high"].value) == 11.4


def test_the_lower_end_of_the_tolerance_is_judged(plant):
    """By hand: p + J/A t/(1 - t) at the governing case, and passage twice as large."""
    lines = plant.ledger.lines
    at = "@cold-aged"
    flux, a = (float(lines[f"membrane.{k}{at}"].value) for k in ("flux", "water_permeability"))
    asked = float(lines[f"membrane.feed_pressure{at}"].value) + flux / a * 0.15 / 0.85
    assert float(lines["membrane.feed_pressure_tolerance"].value) == pytest.approx(asked, rel=1e-12)
    assert float(lines["membrane.permeate_tds_minimum_rejection"].value) == pytest.approx(
        2 * float(lines["membrane.permeate_tds"].value), rel=1e-9)
    tight = size(design(SHEET.replace("83 barg", f"{(asked - 1e5) / 1e5:.2f} barg"))).ledger.lines
    assert tight["membrane.feed_pressure_tolerance.check"].more["verdict"] == "fails"
    assert tight["membrane.feed_pressure.check"].more["verdict"] != "fails"


def test_the_tolerance_is_judged_in_stages_and_with_a_second_pass():
    """Several stages have no one flux of a vessel: the mean flux of the pass is taken."""
    more = ('[[membrane.stages]]\nname = "second"\nvessel_fraction = "60 %"\n',
            '[membrane.second_pass]\nph = 9.5\nshare = "60 %"\n')
    for text in more:
        lines = size(design(more=text)).ledger.lines
        flux, a = (float(lines[f"membrane.{k}@cold-aged"].value) for k in ("flux", "water_permeability"))
        assert float(lines["membrane.feed_pressure_tolerance@cold-aged"].value) == pytest.approx(
            float(lines["membrane.feed_pressure@cold-aged"].value) + flux / a * 0.15 / 0.85, rel=1e-9)


def test_nominal_values_alone_ask_for_a_look(plant):
    """A type with its minimum sheet beside it names that one; a sheet of minimum values decides by itself."""
    note = "membrane.element.warranted"
    assert plant.ledger.lines[note].more["verdict"] == "passes"
    bare = SHEET.replace('flow_tolerance = "15 %"\n', "")
    alone = size(design(bare)).ledger.lines[note].more
    assert alone["verdict"] == "review" and "flow_tolerance" in alone["do"]
    low = bare.replace("offered", "offered-minimum").replace('"nominal"', '"minimum"').replace("27 m3/d", "23 m3/d")
    both = size(design(bare + low)).ledger.lines[note].more
    assert both["verdict"] == "review" and "offered-minimum" in both["do"]
    least = size(design(bare + low, "offered-minimum")).ledger.lines
    assert least[note].more["verdict"] == "passes"
    assert float(least["membrane.feed_pressure"].value) > float(plant.ledger.lines["membrane.feed_pressure"].value)


def test_it_may_stand_at_some_positions_only():
    group = '[[membrane.element_by_position]]\nname = "rear"\nelement = "offered"\nfirst = 4\nlast = 7\n'
    lines = size(design(chosen="demo-a-high-rejection", more=group)).ledger.lines
    assert lines["membrane.element_at[rear].area"].sort == "picked" and lines["membrane.element.area"].sort == "assumed"


def test_it_may_stand_in_a_second_pass():
    low = SHEET.replace("50 barg", "15 barg").replace("30 000 mg/L", "2000 mg/L").replace("83 bar", "41 bar")
    more = '[membrane.second_pass]\nelement = "offered"\nshare = "60 %"\n'
    lines = size(design(low, "demo-a-high-rejection", more)).ledger.lines
    assert float(lines["second_pass.element.area"].value) == 38.0


def test_mistakes_are_refused_in_one_line_at_their_own_key():
    asked = {
        "no unit": ('area = "38 m2"', 'area = "38"', "elements[offered].area", "unit is missing"),
        "no sign": ('"99.8 %"', '"99.8"', "elements[offered].rated_rejection", "% sign"),
        "unknown key": ("rated_flow", "rate_flow", "elements[offered].rate_flow", "rated_flow"),
        "no test pressure": ('test_pressure = "50 barg"\n', "", "elements[offered].test_pressure", "must be given"),
        "no name": ('name = "offered"\n', "", "elements[1]", "name"),
        "a name of the kit": ('"offered"', '"demo-b-standard"', "elements[demo-b-standard]", "name of its own"),
        "above its rating": ("83 barg", "45 barg", "elements[offered].test_pressure", "maximum feed pressure"),
        "minimum above nominal": ('"99.6 %"', '"99.9 %"', "elements[offered].minimum_rejection", "rated test"),
        "not there": ('name = "offered"', 'name = "other"', "membrane.element", "other"),
        "below osmotic pressure": ("50 barg", "20 barg", "elements[offered].test_pressure", "osmotic pressure"),
        "recovery nobody can reach": ('"9 %"', '"55 %"', "elements[offered].test_recovery", "osmotic pressure"),
        "boron held back too well": ("max_pressure", 'rated_boron_rejection = "99.75 %"\ntest_ph = 10\nmax_pressure',
                                     "elements[offered].rated_boron_rejection", "negative permeability"),
        "more than its feed": ("max_pressure", 'max_feed_flow = "10 m3/h"\nmax_pressure',
                               "elements[offered].test_recovery", "maximum feed flow"),
        "twice": ('max_pressure = "83 barg"\n', SHEET, "elements[offered]", "twice")}

    def check(case):
        old, new, where, words = case
        with pytest.raises(Problem) as caught:
            size(design(SHEET.replace(old, new, 1)))
        text = str(caught.value)
        assert text.startswith(where) and words in text and "\n" not in text, text
        assert isinstance(caught.value, (DesignError, Infeasible))

    every(asked, check)


def test_a_leaf_that_does_not_fit_is_seen():
    """37 m2 written as 60 m2, as from a slip of unit or a sum over two elements."""
    check = size(design(SHEET.replace("38 m2", "60 m2"))).ledger.lines["membrane.element.packing.check"]
    assert check.more["verdict"] == "fails"


@pytest.mark.parametrize(("flow", "verdict"), [("27 m3/d", "passes"), ("108 m3/d", "fails"), ("54 m3/d", "fails")])
def test_a_flow_typed_too_large_is_seen(flow, verdict):
    """It fits its own rated test, whatever it is; no membrane of seawater passes as much."""
    lines = size(design(SHEET.replace("27 m3/d", flow)), recording=False).ledger.lines
    assert lines["membrane.element.water_permeability.check"].more["verdict"] == verdict
    assert lines["membrane.element.test_deviation.check"].more["verdict"] == "passes"


def test_the_nested_lists_of_before_are_refused_with_their_new_name():
    with pytest.raises(DesignError, match=r"called elements now; use \[\[elements\]\]"):
        from_text(TEXT.replace("[energy_recovery]", '[[membrane.sheets]]\nname = "a"\n[energy_recovery]'))


def test_a_sheet_can_be_edited_and_removed():
    one = design()
    assert one.get("elements[offered].area") == 38.0 and one.stands("elements[offered].area")
    assert one.with_value("elements[offered].area", "39 m2").get("elements[offered].area") == 39.0
    assert one.without("elements[offered].flow_tolerance").get("elements[offered].flow_tolerance") is None
    assert not one.with_value("membrane.element", "demo-a-standard").without("elements[offered]").names("elements")
    assert "offered" in one.meta("membrane.element").options
    with pytest.raises(DesignError, match="no such entry"):
        from_text(TEXT).with_value("elements[offered].area", "39 m2")


@pytest.mark.parametrize(("key", "how"), [
    ("elements[offered].area", 1.01), ("elements[offered].rated_flow", 1.01), ("elements[offered].test_recovery", 1.01),
    ("elements[offered].flow_tolerance", 1.01), ("elements[offered].minimum_rejection", 0.9999),
    ("elements[offered].max_pressure", 1.01), ("elements[offered].based_on", "demo-a-wide-spacer"),
    ("membrane.element", "demo-a-standard")])
def test_what_a_sheet_moves_descends_from_it(plant, key, how):
    before = plant.ledger.lines
    with what_if({key: how}):
        after = size(plant.design).ledger.lines
    moved = changed(before, after)
    stray = moved - below(key, descendants(before, after))
    assert moved and not stray, sorted(stray)[:5]


def test_every_value_of_a_row_of_the_kit_may_stand_on_a_sheet():
    from desalbook.tables import table
    from desalbook.units import metas

    assert set(table("elements").columns) - {"service"} <= set(metas(m.inputs.ElementSheet))
