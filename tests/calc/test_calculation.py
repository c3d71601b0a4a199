"""What all stand-alone calculations have in common: arguments by the schema, a record, a page, a workbook."""

from __future__ import annotations

import inspect
import subprocess
import sys
import time

import numpy as np
import pytest

from desalbook import calc
from desalbook.design import from_text
from desalbook.problems import DesignError, TrailError
from desalbook.units import registry

DUTY = dict(flow="285 m3/h", rate_limit="12 m/h")


@pytest.fixture(scope="module")
def battery():
    return calc.filters(**DUTY)


def test_arguments_are_texts_quantities_or_values_of_another_calculation(battery):
    pint = registry()
    alike = [calc.filters(flow=pint.Quantity(285, "m**3/hour"), rate_limit=pint.Quantity(12, "m/hour")),
             calc.filters(flow=battery["filters.flow"], rate_limit="12 m/h")]
    for one in alike:
        assert float(one["filters.rate"]) == pytest.approx(float(battery["filters.rate"]), rel=1e-12)


@pytest.mark.parametrize(("given", "says"), [
    ({"flow": 285}, "a bare number has no unit"),
    ({"flow": "285 bar"}, "is a unit of gauge pressure"),
    ({"flow": np.array([1.0, 2.0])}, "an array needs a unit"),
    ({}, "must be given"),
    ({"flow": "285 m3/h", "rate_limt": "12 m/h"}, "did you mean rate_limit"),
    ({"flow": "285 m3/h", "count": 3.5}, "whole number"),
    ({"flow": "285 m3/h", "rate_limit": "900 m/h"}, "outside its range"),
    ({"flow": "285 m3/h", "also": {"filters.diametre": "2 m"}}, "unknown key"),
])
def test_refusals_are_one_line(given, says):
    with pytest.raises(DesignError) as found:
        calc.filters(**given)
    assert says.casefold() in str(found.value).casefold() and "\n" not in str(found.value)


def test_positional_arguments_are_refused_with_the_name_to_write():
    with pytest.raises(DesignError, match=r"Call filters\(flow="):
        calc.filters("285 m3/h")


def test_any_other_key_and_a_whole_design_are_taken(battery):
    wide = calc.filters(**DUTY, also={"filters.diameter": "2 m"})
    assert wide["filters.diameter"].to("m") == 2 and wide["filters.count"] > battery["filters.count"]
    deep = calc.filters(**DUTY, also={"filters.layers[sand].depth": "1.2 m"})
    assert deep["filters.clean_head_loss"] > battery["filters.clean_head_loss"]
    design = from_text('format = 1\n[duty]\ntrain_product_flow = "900 m3/d"\n[filters]\ncount = 9\n'
                       '[water]\nsea_salinity = "41 g/kg"\n')
    assert calc.filters(**DUTY, design=design)["filters.count"] == 9


def test_a_limit_of_the_design_s_own_judges():
    usual = calc.hp_pump(flow="238.1 m3/h", pressure_rise="60 bar").verdicts["hp_pump.motor_load.check"]
    strict = calc.hp_pump(flow="238.1 m3/h", pressure_rise="60 bar", also={"limits.motor_load": "80 %"})
    found = strict.verdicts["hp_pump.motor_load.check"]
    assert usual.more["verdict"] == "passes" and found.more["verdict"] == "fails" and found.more["limit"] == 0.8


def test_only_what_is_used_is_recorded_and_defaults_are_assumed(battery):
    lines = battery.ledger.lines
    assert lines["filters.flow"].sort == lines["filters.rate_limit"].sort == "given"
    assert lines["filters.rate_limit_outage"].sort == lines["water.sea_salinity"].sort == "assumed"
    assert "duty.train_product_flow" not in lines and "membrane.recovery" not in lines
    resting = {j for x in lines.values() for j in x.parents()}
    assert {i for i, x in lines.items() if x.sort == "given"} <= resting


def test_a_key_nobody_gave_is_asked_for_by_name(battery):
    from desalbook.calc.calculation import calculation

    @calculation("Toy")
    def toy(inp):
        """A toy."""
        inp.number("duty.train_product_flow")

    with pytest.raises(DesignError, match=r"duty\.train_product_flow: must be given"):
        toy()
    assert toy(also={"duty.train_product_flow": "500 m3/d"})["duty.train_product_flow"].to("m3/d") == pytest.approx(500)


def test_an_input_first_asked_for_in_a_case_stands_at_its_plain_id(battery):
    assert "filters.internals_drop" in battery and "filters.internals_drop@cold" not in battery


def test_a_caution_for_an_unusual_value():
    found = calc.filters(flow="285 m3/h", rate_limit="45 m/h")
    assert any("unusual" in str(x) for x in found.cautions["filters.rate_limit"])


def test_dir_and_help_teach():
    assert dir(calc) == sorted(calc.__all__)
    for name in calc.__all__:
        one = getattr(calc, name)
        text = inspect.getdoc(one)
        assert f"{name:<18}{text.splitlines()[0]}" in calc.__doc__, name
        assert "Parameters" in text and "Returns" in text and len(text.split("\n\n")[1].split()) > 8, name
        for argument in inspect.signature(one).parameters:
            assert f"\n{argument} : " in text, (name, argument)
    shown = str(inspect.signature(calc.filters))
    assert "rate_limit: 'm/h' = '12 m/h'" in shown and "flow: 'm3/h'," in shown
    assert "Allowed 2 to 60 m/h, usual 6 to 30 m/h" in inspect.getdoc(calc.filters)
    with pytest.raises(AttributeError, match="no calculation 'filtres'"):
        calc.filtres  # noqa: B018


def test_tables_page_workbook_and_notebook(battery, tmp_path):
    figures = battery.figures()
    assert {"filters.count", "filters.rate"} <= {*figures.index}
    assert battery.page(tmp_path / "filters.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert battery.workbook(tmp_path / "filters.xlsx").stat().st_size > 5000
    html = battery._repr_html_()
    assert "<math" in html and "filters.rate" in html and "Flow through" in html
    assert battery.checks["id"].str.startswith("filters.").any()


def test_import_is_short_and_loads_no_notebook():
    code = ("import sys; import desalbook.calc as c;"
            "n = [m for m in ('pydantic', 'pandas', 'matplotlib', 'IPython', 'ipywidgets') if m in sys.modules];"
            "c.filters; print(n, [m for m in ('matplotlib', 'IPython', 'ipywidgets') if m in sys.modules])")
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert said.strip() == "[] []"


def test_a_second_battery_costs_a_fraction_of_the_first():
    calc.filters(flow="100 m3/h")
    t = time.process_time()
    calc.filters(flow="101 m3/h", salinity="36.7 g/kg")  # another water: the engine answers anew
    other = time.process_time() - t
    t = time.process_time()
    calc.filters(flow="102 m3/h", salinity="36.7 g/kg")
    assert time.process_time() - t < 0.8 * other


def test_a_defect_is_no_refusal():
    from desalbook.calc.calculation import calculation

    @calculation("Toy")
    def toy(inp):
        """A toy."""
        inp("water.no_such_key")

    with pytest.raises(TrailError):
        toy()
