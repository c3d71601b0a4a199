"""Controls made from the schema say what the design holds, and their sliders write round numbers."""

from __future__ import annotations

import re
from types import SimpleNamespace
from typing import Any

import pytest

from desalbook.notebook import controls
from desalbook.units import show, to_display, unusual
from desalbook.water.reference_composition import reference_masses
from desalbook.water.species import IONS
from tests import shared
from tests.every import every

PLANTS = (shared.HARBOUR, shared.WELL)


def _rows(name: str, units: str) -> dict[str, tuple[Any, dict[str, Any]]]:
    design = shared.demo(name)
    session: Any = SimpleNamespace(design=design, messages={})
    return {key: (m, controls.row(session, key, m, units))
            for part in controls.fields(design).values() for key, m in part.items()}


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("name", PLANTS)
def test_a_control_says_what_the_plant_is_made_with(name, units):
    """Also where the kit fills in a list itself: its entries need not hold what such an entry takes by default."""
    design, checked = shared.demo(name), set()

    def same(key: str, m: Any, row: dict[str, Any]) -> None:
        value = design.get(key)
        if value is None:
            assert row["text"] == "" or row["stands"]
        elif m.form == "quantity":
            read = float(m.read(row["text"], key))
            # in the other display set a value shows the digits of its kind: half of the last one may be lost
            rel = 0.51 * 10 ** (1 - m.kind.digits) if units == "us" else 1e-9
            assert read == pytest.approx(float(value), rel=rel, abs=1e-12)
            checked.add(row["assumed"])
        elif m.form == "choice":
            assert row["text"] == value
            assert not row["assumed"] or str(m.options[value]) in row["help"]
        assert row["stands"] or row["assumed"] == (row["text"] != "")

    every({key: (key, *both) for key, both in _rows(name, units).items()}, lambda case: same(*case))
    assert checked == {True, False}


@pytest.mark.parametrize("name", PLANTS)
def test_the_words_of_a_given_or_assumed_line_are_its_value(name):
    """The text beside a line is what a person wrote or the table says; it must not tell another number."""
    ledger, design, seen = shared.sized(name).ledger, shared.demo(name), 0
    fields = {key: m for part in controls.fields(design).values() for key, m in part.items()}
    for id, line in ledger.lines.items():
        if id in fields and fields[id].form == "quantity" and line.more.get("text", "")[:1].isdigit():
            seen += 1
            assert float(fields[id].read(line.more["text"], id)) == pytest.approx(float(line.value), rel=1e-9), id
    assert seen > 200


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_slider_writes_round_numbers(units):
    def round_(row: dict[str, Any], ends: tuple[float, float]) -> None:
        low, high, step = (row[k] for k in ("low", "high", "step"))
        assert float(f"{step:.0e}") == step and f"{step:.0e}"[0] in "125"
        assert step == 1 or 60 <= (high - low) / step <= 260
        for end in (low, high):
            assert abs(end / step - round(end / step)) < 1e-6
        assert ends[0] - 1e-6 * step <= low < ends[0] + step and ends[1] - step < high <= ends[1] + 1e-6 * step

    rows = _rows(shared.HARBOUR, units)
    cases = {key: (row, tuple(sorted(float(to_display(x, m.kind, units)) for x in (m.usual or m.possible))))
             for key, (m, row) in rows.items() if row["low"] is not None}
    assert len(cases) > 250
    every(cases, lambda case: round_(*case))


def test_usual_salts_are_those_of_sea_water_from_5_to_50_g_per_kg():
    """Reference composition, Millero et al. 2008; 1.0 and 1.036 kg/L at the two ends; rounded to two digits."""
    weak, strong = reference_masses(0.005), reference_masses(0.050)
    boron = [x["B(OH)3"] * IONS["B"].basis_molar_mass / IONS["B"].molar_mass
             + x["B(OH)4"] * IONS["B"].basis_molar_mass / 78.84e-3 for x in (weak, strong)]
    salts = [k for k, ion in IONS.items() if ion.usual_source == "millero-2008"]
    assert set(salts) == {"Na", "K", "Ca", "Mg", "Sr", "Cl", "SO4", "Br", "B"}
    meta = controls.fields(shared.demo())["water"]
    for k in salts:
        low, high = meta[f"water.ions[{k}]"].usual
        a, b = boron if k == "B" else (weak[k], strong[k])
        assert low == pytest.approx(a * 1000.0, rel=0.05), k
        assert high == pytest.approx(b * 1036.0, rel=0.05), k


def test_an_ion_out_of_the_usual_is_seen_and_one_stated_otherwise_is_not_judged():
    odd = shared.demo().with_value("water.ions[Ca]", "4340 mg/L")
    said = dict(unusual(odd.sections["water"], "water"))["water.ions[Ca]"]
    assert re.sub(r"\s", "", said).endswith("4340mg/Lisunusual;usualis59to610mg/L")
    assert said in shared.sized(odd).ledger.lines["water.ions"].cautions
    otherwise = shared.demo().with_value("water.ions[Ca]", "4340 mg/L as CaCO3")
    assert "water.ions[Ca]" not in dict(unusual(otherwise.sections["water"], "water"))


def test_reset_gives_back_what_the_kit_takes_in_a_list_it_fills_in():
    """Not what such an entry takes by default: a high-pressure pipe that is reset is no low-pressure pipe."""
    design, turned = shared.demo(), {"quantity": 0, "choice": 0}

    def there_and_back(key: str, m: Any) -> None:
        was = design.get(key)
        if m.form == "choice":
            other = next(x for x in m.options if x != was)
        else:
            low, high = m.possible
            other = show(low + 0.37 * (high - low), m.kind)
        changed = design.with_value(key, other)
        assert changed.get(key) != was
        assert changed.without(key).get(key) == was and changed.without(key).text == design.text
        # beside another change the list stays, and that change with it
        second = next(k for k in keys if k != key and k.rpartition("].")[0].rpartition("[")[0] == stem(key))
        both = changed.with_value(second, written(second))
        assert both.without(key).get(key) == was and both.without(key).get(second) == both.get(second)
        turned[m.form] += 1

    def stem(key: str) -> str:
        return key.rpartition("].")[0].rpartition("[")[0]

    def written(key: str) -> str:
        m = keys[key]
        if m.form == "choice":
            return next(x for x in m.options if x != design.get(key))
        return show(m.possible[0] + 0.61 * (m.possible[1] - m.possible[0]), m.kind)

    keys = {key: m for part in controls.fields(design).values() for key, m in part.items()
            if "]." in key and not design.stands(key) and design.get(key) is not None
            and ((m.form == "choice" and len(m.options) > 1) or (m.form == "quantity" and m.possible
                 and None not in m.possible and m.kind.name != "count"))}
    every({key: (key, m) for key, m in keys.items()}, lambda case: there_and_back(*case))
    assert turned["quantity"] > 30 and turned["choice"] > 30
