"""Laboratory sheets: what is read, in which marks and units, and what is refused with its place."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from desalbook import paths
from desalbook.problems import DesignError
from desalbook.units import validate
from desalbook.water.inputs import RawWater
from desalbook.water.lab_sheet import read

DEMO = {"decimal": ",", "header": 4, "skip": ["Colour"], "below": "limit"}


def sheet(tmp_path: Path, *rows: str, name="a.csv", head="Parameter,Result,Unit") -> Path:
    path = tmp_path / name
    path.write_text("\n".join((head, *rows)) + "\n", encoding="utf-8")
    return path


def water(text: str) -> RawWater:
    return validate(RawWater, tomllib.loads(text)["water"], "water")


def test_the_example_sheet_becomes_a_section_that_reads():
    text = read(paths.demo("lab-sheet.csv"), **DEMO)
    found = water(text)
    assert found.ph == 8.12 and found.lab_temperature == pytest.approx(295.65)
    assert found.ions["Na"] == pytest.approx(11.352) and found.ions.ways["Ca"] == "_equivalents"
    assert found.ions.bases["HCO3"] == "CaCO3" and found.bicarbonate_from == "titration"
    assert found.ions.bases["NO3"] == "N" and found.ions["Ba"] == pytest.approx(9e-6)
    assert found.ions["PO4"] == pytest.approx(0.02e-3) and "the limit stands" in text
    assert found.conductivity == pytest.approx(5.39) and found.measured_tds == pytest.approx(37.9)
    assert "row 12: Sodium" in text


def test_the_example_sheet_is_a_sound_analysis():
    from desalbook.trail import Ledger
    from desalbook.water.raw_water import analyse
    from tests.rooms import inputs

    with (book := Ledger()).recording():
        analyse(inputs({"water": (RawWater, tomllib.loads(read(paths.demo("lab-sheet.csv"), **DEMO))["water"])}))
    for id in ("balance.check", "proportion.check", "conductivity.check", "tds_ratio.check_low",
               "tds_ratio.check_high"):
        assert book.lines[f"water.{id}"].more["verdict"] != "fails", id
    assert book.lines["water.missing"].more["verdict"] == "passes"


def test_xlsx_and_csv_of_one_sheet_are_one(tmp_path):
    """Numbers in cells need no mark; text in cells takes the declared one."""
    import openpyxl

    book = openpyxl.Workbook()
    page = book.active
    rows = [("Analyte", "Found", "In", "As"), ("Sodium", 11352, "mg/l", None), ("Chloride", "20390,5", "mg/L", ""),
            ("Alkalinity", 2.42, "meq/L", None), ("Nitrate", 0.3, "mg/L", "N"), (None, None, None, None),
            ("pH", 8.12, None, None)]
    for row in rows:
        page.append(row)
    book.save(path := tmp_path / "a.xlsx")
    heads = {"name": "Analyte", "value": "Found", "unit": "In", "basis": "As"}
    text = read(path, heads, decimal=",")
    flat = sheet(tmp_path, "Sodium;11 352;mg/l;", "Chloride;20390,5;mg/L;", "Alkalinity;2,42;meq/L;",
                 "Nitrate;0,3;mg/L;N", ";;;", "pH;8,12;;", head="Analyte;Found;In;As")
    a, b = water(text), water(read(flat, heads, decimal=","))
    assert dict(a.ions) == pytest.approx(dict(b.ions)) and a.ph == b.ph
    assert a.ions.bases == b.ions.bases and a.ions.ways["HCO3"] == "_equivalents"


def test_one_of_several_analyses(tmp_path):
    path = sheet(tmp_path, "Sodium,11000,mg/L", "Chloride,20000,mg/L", "Bicarbonate,140,mg/L", "pH,8.0,",
                 "Turbidity,3,NTU")
    text = read(path, analysis="well-2", share="40 %")
    made = tomllib.loads(text)["water"]["analyses"][0]
    assert made["name"] == "well-2" and made["ions"]["Na"] == "11000 mg/L"
    assert 'turbidity = "3 NTU"' in text and "turbidity" not in made
    other = read(path, analysis="intake", share="60 %")
    assert [w.name for w in water(text + other).analyses] == ["well-2", "intake"]


def test_names_of_another_language(tmp_path):
    path = sheet(tmp_path, "Natrium,11000,mg/L", "Chlorid,20000,mg/L", "pH-Wert,8.0,")
    made = tomllib.loads(read(path, names={"Natrium": "Na", "Chlorid": "Cl", "pH-Wert": "ph"}))["water"]
    assert made["ions"] == {"Na": "11000 mg/L", "Cl": "20000 mg/L"} and made["ph"] == "8.0"


@pytest.mark.parametrize(("row", "keys", "said"), [
    ("Sodium;11,352;mg/L", {"separator": ";"}, "row 2 column Result.*11,352.*decimal mark"),
    ("Sodium;11.352;mg/L", {"decimal": ","}, "row 2 column Result.*decimal mark"),
    ("Sodium,,mg/L", {}, "row 2 column Result.*empty"), ("Sodium,high,mg/L", {}, "not a number"),
    ("Sodium,11000,ppm", {}, "row 2 column Unit.*ppm"), ("Sodium,11000,mg/L as N", {}, "cannot be stated"),
    ("Caesium,1,mg/L", {}, "row 2 column Parameter.*Caesium.*names"), (",1,mg/L", {}, "has no name"),
    ("Iron,1,mg/L", {}, "not known"), ("Sodium,<1,mg/L", {}, "below detection"),
    ("Sodium,1,mg/L\nNa,2,mg/L", {}, "row 3.*twice"), ("pH,18,", {}, "outside its range"),
    ("Sodium,-5,mg/L", {}, "outside its range"), ("Sodium,1,mg/L", {"columns": {"name": "Analyte"}}, "no such heading"),
    ("Sodium,1,mg/L", {"columns": {"ion": "Analyte"}}, "no such column"), ("pH,8,", {}, "no ion"),
    ("Sodium,1,mg/L", {"decimal": "'"}, "decimal"), ("Sodium,1,mg/L", {"below": "half"}, "below"),
    ("Sodium,1,mg/L", {"header": 9}, "no rows"), ("Sodium,1,mg/L", {"names": {"x": "Xx"}}, "no such key"),
    ("Sodium,=1+1,mg/L", {}, "not a number"), ("Sodium,1,mg/L", {"analysis": "a b", "share": "40"}, "share|name")])
def test_refusals_name_row_and_column(tmp_path, row, keys, said):
    head = "Parameter;Result;Unit" if keys.get("decimal") == "," or keys.get("separator") else "Parameter,Result,Unit"
    with pytest.raises(DesignError, match=said) as error:
        read(sheet(tmp_path, row, head=head), **keys)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(("name", "content", "said"), [
    ("a.xlsx", b"not a workbook", "cannot be read"), ("a.txt", b"x", "csv or .xlsx"), ("a.csv", b"", "read"),
    ("a.csv", "Parameter,Result,Unit\nSodium\xe9,1,x".encode("latin-1"), "UTF-8")])
def test_files_that_are_none(tmp_path, name, content, said):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(DesignError, match=said) as error:
        read(tmp_path / name)
    assert "\n" not in str(error.value)
    with pytest.raises(DesignError, match="no such file"):
        read(tmp_path / "none.csv")


def test_cells_cannot_write_into_the_design(tmp_path):
    """A name or unit with a quote or a line break stays a comment or is refused."""
    path = tmp_path / "a.csv"
    path.write_text('Parameter,Result,Unit\n"Sodium\n[duty]",1,mg/L\nChloride,1,"mg/L""\nx = 1"\n', encoding="utf-8")
    with pytest.raises(DesignError):
        read(path)
    path.write_text('Parameter,Result,Unit\n"So\n[duty]\ndium",1,mg/L\n', encoding="utf-8")
    made = tomllib.loads(read(path, names={"So [duty] dium": "Na"}))
    assert set(made) == {"water"}
