"""The workbook of the harbour plant, calculated from scratch by a spreadsheet program."""

from __future__ import annotations

import subprocess

import openpyxl
import pytest

from desalbook import face, paths

pytestmark = pytest.mark.outside
CLOSE = 1e-9  # relative; both sides are double precision and only the order of operations differs


@pytest.fixture(scope="module")
def both(program, tmp_path_factory):
    """The record and the sheets as the spreadsheet program calculates them."""
    office, folder = program("soffice", "libreoffice"), tmp_path_factory.mktemp("book")
    plant = face.size(face.read(paths.demo("harbour-town.toml")))
    plant.trail.workbook(folder / "kept.xlsx")
    # read and written by a library that keeps formulas and drops their values: nothing is left to be copied
    openpyxl.load_workbook(folder / "kept.xlsx").save(folder / "bare.xlsx")
    bare = openpyxl.load_workbook(folder / "bare.xlsx", data_only=True)
    assert all(row[5] is None for row in bare["Figures"].iter_rows(min_row=4, values_only=True))
    subprocess.run([office, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless",
                    "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", str(folder / "again"),
                    str(folder / "bare.xlsx")], check=True, capture_output=True, timeout=120)
    return plant.record, openpyxl.load_workbook(folder / "again" / "bare.xlsx", data_only=True)


def test_no_cell_is_an_error(both):
    wrong = [f"{page.title}!{cell.coordinate} {cell.value}" for page in both[1] for row in page.iter_rows()
             for cell in row if cell.data_type == "e" or str(cell.value).startswith(("#", "Err:"))]
    assert not wrong, wrong[:10]


def test_every_computed_number(both):
    record, book = both
    lines = {x["id"]: x for x in record["lines"]}
    shown = {row[0]: row[3] for row in book["Figures"].iter_rows(min_row=4, values_only=True)}

    def numbers(ref):
        id, key = (ref, None) if isinstance(ref, str) else ref
        value = lines[id]["value"]
        one = value if key is None else value[lines[id]["keys"].index(key)]
        return [abs(v) for v in (one if isinstance(one, list) else [one]) if isinstance(v, (int, float))]

    count, wrong = 0, []
    for x in lines.values():
        if x["sort"] != "computed" or isinstance(x["value"], (str, list)):
            continue
        count += 1
        scale = abs(x["value"])
        # a balance that closes is the rounding of what it balances, so it is measured by that
        largest = max((v for ref in x["inputs"].values() for v in numbers(ref)), default=0.0)
        if scale < 1e-12 * largest:
            scale = largest
        got = shown[x["id"]]
        if not isinstance(got, (int, float)) or abs(got - x["value"]) > CLOSE * scale:
            wrong.append((x["id"], x["value"], got))
    assert count > 500 and not wrong, wrong[:10]


def test_every_verdict(both):
    record, book = both
    shown = {row[0]: row[6] for row in book["Checks"].iter_rows(min_row=4, values_only=True)}
    said = {x["id"]: x["more"]["verdict"] for x in record["lines"] if x["sort"] == "checked"}
    assert len(said) > 40 and shown == said
