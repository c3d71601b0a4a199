"""Numbers of equations as people read them: each with its unit, so that the equation holds as it stands."""

from __future__ import annotations

import re

import pytest

import desalbook as db
from desalbook import paths
from desalbook.audit.page.parts import Writer
from desalbook.audit.page.shown import by_id, in_equation
from desalbook.trail.stored import value_at
from desalbook.units import KINDS, parse, registry, to_display


@pytest.fixture(scope="module", params=["harbour-town.toml", "beach-well.toml"])
def record(request):
    plant = db.size(db.read(paths.demo(request.param)))
    return plant.excerpt(set(plant.ledger.lines))


@pytest.mark.parametrize("units", ["si", "us"])
def test_display_units_differ_from_coherent_si_by_a_factor_alone(units):
    """Only so may they stand in an equation; a temperature may not, and stays in kelvin."""
    for name, kind in KINDS.items():
        plain = abs(to_display(0.0, name, units)) < 1e-12
        assert plain or kind.family == "temperature", name
        if plain:
            assert to_display(0.06, name, units) == pytest.approx(2 * to_display(0.03, name, units), rel=1e-12)
    assert in_equation(295.15, "temperature", "K", units, {"kinds": {}}) == (295.15, "K")


@pytest.mark.parametrize("units", ["si", "us"])
def test_every_number_of_every_equation_is_the_same_amount_in_its_unit(record, units):
    lines, seen = by_id(record), 0
    for x in lines.values():
        if x["sort"] != "computed":
            continue
        for where in (x["id"], *x["inputs"].values()):
            source, value = value_at(lines, where)
            for one in value if isinstance(value, list) else [value]:
                if source["kind"] is None or KINDS[source["kind"]].family == "temperature":
                    continue
                number, unit = in_equation(one, source["kind"], source["unit"], units, record)
                again = parse(f"{number!r} {unit}".strip(), source["kind"])
                assert again == pytest.approx(one, rel=1e-9, abs=1e-300), (x["id"], where)
                seen += 1
    assert seen > 2000


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_substituted_equation_holds_when_it_is_read_off_the_page(record, units):
    """Hydraulic power: flow times pressure, read back from the page's own numbers and units by another library."""
    writer = Writer(record, units, set())
    text = writer.computed(writer.lines["hp_pump.hydraulic_power"])
    numeric = re.findall(r"<math display.*?</math>", text)[1]
    found = re.findall(r"<mn>([^<]*)</mn>(?:<mspace[^>]*/>)?<mtext>([^<]*)</mtext>", numeric)
    assert [u for _, u in found] == (["m\u00b3/h", "bar", "kW"] if units == "si" else ["gpm", "psi", "hp"])
    spelled = {"m\u00b3/h": "m**3/h", "gpm": "gallon/minute", "hp": "horsepower"}
    q, p, w = (registry().Quantity(float(n.replace("\N{THIN SPACE}", "")), spelled.get(u, u)) for n, u in found)
    assert (q * p).to("W").magnitude == pytest.approx(w.to("W").magnitude, rel=2e-4)


def test_no_bare_coherent_number_stands_beside_a_result(record):
    for units in ("si", "us"):
        writer = Writer(record, units, set())
        for x in writer.lines.values():
            if x["sort"] in ("computed", "engine", "solved", "picked") and isinstance(x["value"], float):
                shown = re.search(r'<div class="result">(.*?)</div>', writer.result(x))[1]
                assert " Pa" not in shown and not re.search(r"e\+\d\d", shown), (x["id"], shown)


def test_what_an_equation_rests_on_is_named_with_symbol_and_value(record):
    writer = Writer(record, "si", set())
    said = writer.step(writer.lines["hp_pump.hydraulic_power"])
    rests = said[said.index('<p class="from">From'):]
    assert rests.count("<math>") == 2 and rests.count(" = ") == 2 and " bar" in rests and "m\u00b3/h" in rests
