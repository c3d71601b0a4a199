"""A supplier's sheet in the design: given, fitted to its own test, judged by its own limits."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook import membrane as m
from desalbook import paths
from desalbook.plant import size
from desalbook.problems import Infeasible
from tests import shared

TEXT = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
SHEET = """[[membrane.sheets]]
name = "offered"
in_place_of = "{of}"
stated_by = "sheet 12, nominal values"
stated_on = "2026-01-15"
area = "38 m2"
rated_flow = "27 m3/d"
rated_rejection = "99.8 %"
test_pressure = "50 barg"
test_concentration = "30 000 mg/L"
test_recovery = "9 %"
max_pressure = "{most}"
"""


def made(tmp_path, sheet: str, more: str = "", size_=size):
    path = tmp_path / "plant.toml"
    path.write_text(TEXT.replace("[energy_recovery]", f"{sheet}{more}\n[energy_recovery]"), encoding="utf-8")
    return size_(db.read(path))


@pytest.fixture(scope="module")
def generic():
    return shared.plant().ledger.lines["membrane.element"].value


@pytest.fixture(scope="module")
def plant(tmp_path_factory, generic):
    return made(tmp_path_factory.mktemp("sheet"), SHEET.format(of=generic, most="83 barg"))


def test_what_it_states_is_given_and_the_rest_stays(plant, generic):
    lines = plant.ledger.lines
    assert lines["membrane.sheets[offered].area"].sort == "given"
    area = lines["membrane.element.area"]
    assert area.sort == "picked" and float(area.value) == 38.0
    assert {c["key"] for c in area.more["candidates"]} == {"offered", generic}
    assert lines["membrane.element.spacer_height"].sort == "assumed"


def test_the_fit_gives_the_test_condition_back(plant):
    """The stated test run with the permeabilities that were found."""
    value = {k: float(plant.ledger.lines[f"membrane.element.{k}"].value) for k in (
        "permeate_flow", "rejection", "boron_rejection", "rated_flow", "rated_rejection", "rated_boron_rejection")}
    assert value["rated_flow"] == pytest.approx(27 / 86400, rel=1e-12)
    assert value["permeate_flow"] == pytest.approx(value["rated_flow"], rel=1e-9)
    assert 1 - value["rejection"] == pytest.approx(1 - 0.998, rel=1e-8)
    assert 1 - value["boron_rejection"] == pytest.approx(1 - value["rated_boron_rejection"], rel=1e-8)


def test_a_test_at_less_pressure_means_a_more_open_membrane(plant):
    other = shared.plant().ledger.lines["membrane.element.water_permeability"]
    assert float(plant.ledger.lines["membrane.element.water_permeability"].value) > 1.15 * float(other.value)


def test_its_limits_are_those_that_are_judged(tmp_path, generic):
    weak = made(tmp_path, SHEET.format(of=generic, most="45 barg"))
    check = weak.ledger.lines["membrane.feed_pressure.check"]
    assert check.more["limit"] == 45e5 and check.more["verdict"] == "fails"


def test_it_stands_wherever_the_generic_one_is_chosen(tmp_path, generic):
    """In a group by position, too; another generic sheet is not touched."""
    others = [k for k in m.inputs._SHEETS if k != generic and "4" not in k.split("-")]  # of the same diameter
    group = f'[[membrane.element_by_position]]\nname = "rear"\nelement = "{others[0]}"\nfirst = 4\nlast = 7\n'
    plant = made(tmp_path, SHEET.format(of=others[0], most="83 barg"), group)
    lines = plant.ledger.lines
    assert lines["membrane.element_at[rear].area"].sort == "picked" and lines["membrane.element.area"].sort == "assumed"


def test_two_sheets_in_one_place_are_refused(tmp_path, generic):
    two = SHEET.format(of=generic, most="83 barg")
    with pytest.raises(Infeasible, match="two sheets"):
        made(tmp_path, two + two.replace("offered", "other"))
