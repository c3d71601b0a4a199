"""The public face on a small plant: figures by id, tables, trail, workbook, holding."""

from __future__ import annotations

import subprocess
import sys

import openpyxl
import pytest

import desalbook
from desalbook import api
from desalbook.audit import recompute
from desalbook.design import from_text
from desalbook.problems import DesignError
from tests import fakes


@pytest.fixture(scope="module")
def plant():
    return fakes.size(fakes.design())


def test_figures_by_id(plant):
    assert plant["filters.rate"] == pytest.approx(2400 / 86400 / 28)
    assert plant["water.flows[Na]"] == 0.8 and "water.flows[Na]" in plant and "water.flows[K]" not in plant
    assert plant.show("filters.rate") == "3.571 m/h"
    with pytest.raises(DesignError, match="Did you mean filters"):
        plant["filters.rat"]


def test_tables(plant):
    frame = plant.figures()
    assert (frame.index.name, *frame.columns) == api.FIGURES and "filters.rate.check" not in frame.index
    row = plant.figures("us").loc["filters.rate"]
    assert row.unit == "gpm/ft2" and row["count"] == 4 and row.scope == "unit"
    assert {"water.scaled[Ca]", "water.scaled[Na]"} <= set(frame.index)
    checks = plant.checks
    assert tuple(checks.columns) == api.CHECKS
    assert list(checks["id"]) == ["water.note", "filters.rate.check"]  # a caution stands before what holds
    assert checks.set_index("id").loc["filters.rate.check"].provided == pytest.approx(2400 / 24 / 28)
    assert list(plant.streams["key"]) == ["raw"] and list(plant.equipment["key"]) == ["filters"]


def test_the_trail_goes_out(plant, tmp_path):
    made = plant.trail.record(tmp_path / "r.json")
    assert recompute(made).holds and made["project"]["name"] == "Test & <plant>"
    page = plant.trail.page(tmp_path / "t.html").read_text(encoding="utf-8")
    assert "Test &amp; &lt;plant&gt;" in page and len(list(tmp_path.iterdir())) == 2
    assert len(plant.trail.table()) > len(plant.figures())


def test_the_workbook_is_live(plant, tmp_path):
    path = plant.trail.workbook(tmp_path / "w.xlsx")
    values, live = openpyxl.load_workbook(path, data_only=True), openpyxl.load_workbook(path)
    assert live.sheetnames[0] == "Results" and "Inputs" in live.sheetnames
    assert {"Checks", "Review priorities"} < set(live.sheetnames)

    assert _at(live, "filters_rate_") == "=(duty_train_product_flow_/(filters_area_*filters_count_))"
    assert live.defined_names["filters_area_"].attr_text.startswith("'Inputs'!$D$")
    assert _at(values, "filters_rate_") == pytest.approx(float(plant["filters.rate"]), rel=1e-12)
    assert _at(live, "water_scaled_").startswith("=('Inputs'!$D$")
    assert "SUMPRODUCT(water_flows_" in _at(live, "water_mixed_")
    assert _at(live, "filters_count_") == 4  # a pick is a value
    assert any('"stale"' in str(c.value) for r in live["Filters and cartridges"].iter_rows() for c in r)


def _at(book, name):
    """Value of the first cell that a name of the workbook stands for."""
    page, _, where = book.defined_names[name].attr_text.replace("'", "").replace("$", "").partition("!")
    return book[page][where.partition(":")[0]].value


@pytest.mark.outside
def test_a_spreadsheet_program_agrees(plant, tmp_path, program):
    """Cached values are taken out first, so that agreement is the spreadsheet's own arithmetic."""
    office = program("soffice", "libreoffice")
    path = plant.trail.workbook(tmp_path / "w.xlsx")
    bare = openpyxl.load_workbook(path)
    bare.save(tmp_path / "bare.xlsx")
    subprocess.run(
        [
            office,
            f"-env:UserInstallation=file://{tmp_path}/profile",
            "--headless",
            "--convert-to",
            "xlsx:Calc MS Excel 2007 XML",
            "--outdir",
            str(tmp_path / "again"),
            str(tmp_path / "bare.xlsx"),
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )
    book = openpyxl.load_workbook(tmp_path / "again" / "bare.xlsx", data_only=True)
    frame = plant.figures()
    assert len(frame) > 10
    tried = 0
    for id, row in frame.iterrows():
        name = f"{id.replace('.', '_')}_"
        if name in book.defined_names:
            assert _at(book, name) == pytest.approx(row.value_si, rel=1e-12), id
            tried += 1
    assert tried >= 6
    verdicts = {r[0].value: r[7].value for r in book["Checks"].iter_rows(min_row=5)}
    assert verdicts == {"Filtration rate": "passes", "Bromide": "review"}


def test_holding_writes_the_picks(plant):
    held = api.hold(plant)
    assert (
        held.get("filters.count") == 4 and held.stands("filters.count") and "# what the contract" in held.text
    )
    assert from_text(held.text) == held


def test_the_import_is_light():
    """A ratio inside one process: the import takes less than pandas does."""
    code = (
        "import time,sys; a=time.process_time(); import desalbook; b=time.process_time(); import pandas; "
        "c=time.process_time(); assert 'numpy' in sys.modules; print((b-a)/(c-b))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert float(run.stdout) < 0.5
    assert desalbook.__version__ and callable(desalbook.size)
    with pytest.raises(AttributeError):
        desalbook.sise  # noqa: B018
