"""Manufacturers' sheets as tables: written blank, filled in, read into a design, refused at their row."""

from __future__ import annotations

import csv
from pathlib import Path

import openpyxl
import pytest

import desalbook as db
from desalbook.cli import main
from desalbook.design.sections import LISTS
from desalbook.design.sheets import blank_rows, read_sheets
from desalbook.problems import DesignError
from desalbook.units import metas
from tests.every import every
from tests.shared import demo

STATED = {"name": ("offered", "offered-minimum"), "element_type": ("type of the tests",) * 2,
          "states": ("nominal", "minimum"), "source": ("sheet 12, tests",) * 2, "date": ("2026-01-15",) * 2,
          "area": ("38", "38"), "rated_flow": ("27", "23"), "rated_rejection": ("99.8", "99.6"),
          "test_pressure": ("50", "50"), "test_concentration": ("30000", "30 000"), "test_temperature": ("25", "25"),
          "test_recovery": ("9", "9"), "max_pressure": ("83", "1203.8 psig")}


def filled(path: Path, stated=None, of: str = "elements", units: str = "si", delimiter: str = ",", by_title=False,
           move=lambda rows: None) -> Path:
    """A blank table with these cells filled in."""
    stated = STATED if stated is None else stated
    rows = blank_rows(of, units)
    for row in rows[2:]:
        if row[0] in stated:
            row[3:] = stated[row[0]]
        if by_title:
            row[0] = ""
    move(rows)
    if path.suffix == ".csv":
        with open(path, "w", newline="", encoding="utf-8") as file:
            csv.writer(file, delimiter=delimiter).writerows(rows)
        return path
    book = openpyxl.Workbook()
    for n, row in enumerate(rows, start=1):
        for k, text in enumerate(row, start=1):
            number = k > 3 and text.replace(".", "", 1).isdigit()
            book.active.cell(n, k, float(text) if number else text or None)
    book.save(path)
    return path


@pytest.mark.parametrize("make", [
    lambda folder: filled(folder / "a.csv"), lambda folder: filled(folder / "a.csv", delimiter=";"),
    lambda folder: filled(folder / "a.csv", by_title=True), lambda folder: filled(folder / "a.xlsx")])
def test_two_sheets_of_one_type_come_into_the_design(make, tmp_path):
    design = db.add_sheets(demo(), make(tmp_path))
    assert design.names("elements") == ("offered", "offered-minimum")
    assert design.get("elements[offered].area") == 38.0 and design.get("elements[offered-minimum].states") == "minimum"
    assert design.get("elements[offered].test_pressure") == 50e5
    assert design.get("elements[offered-minimum].max_pressure") == pytest.approx(83e5, rel=1e-4)
    assert design.get("elements[offered].date") == "2026-01-15"
    assert design.text.startswith(demo().text.rstrip()), "what was written stays as it was"


def test_what_was_read_is_given_and_sized(tmp_path):
    design = db.add_sheets(demo(), filled(tmp_path / "a.csv")).with_value("membrane.element", "offered")
    plant = db.size(design)
    assert plant.ledger.lines["elements[offered].rated_flow"].sort == "given"
    assert float(plant["membrane.element.area"]) == 38.0


def test_us_units_and_percentages_of_a_spreadsheet(tmp_path):
    """27 m3/d is 7 132.6 gpd; a cell that shows 99.8 % holds 0.998."""
    us = STATED | {"area": ("409.03",), "rated_flow": ("7132.6452",), "test_pressure": ("725.18868",),
                   "test_temperature": ("77",), "max_pressure": ("1203.8132",)}
    us = {key: cells[:1] for key, cells in us.items()}
    design = db.add_sheets(demo(), filled(tmp_path / "us.csv", us, units="us"))
    assert design.get("elements[offered].rated_flow") == pytest.approx(27 / 86400, rel=1e-6)
    assert design.get("elements[offered].test_temperature") == pytest.approx(298.15)
    path = filled(tmp_path / "p.xlsx")
    book = openpyxl.load_workbook(path)
    for row in book.active.iter_rows():
        if row[0].value == "rated_rejection":
            row[3].value, row[3].number_format = 0.998, "0.0%"
    book.save(path)
    assert db.add_sheets(demo(), path).get("elements[offered].rated_rejection") == pytest.approx(0.998)


def test_a_device_with_its_curve(tmp_path):
    stated = {"name": ["pelton-1"], "device": ["pelton"], "curve[p1].flow": ["50"], "curve[p1].efficiency": ["70"],
              "curve[p2].flow": ["100"], "curve[p2].efficiency": ["85"]}
    design = db.add_sheets(demo(), filled(tmp_path / "d.csv", stated, "recovery_devices"))
    assert design.get("recovery_devices[pelton-1].curve[p2].efficiency") == 0.85
    assert design.names("recovery_devices[pelton-1].curve") == ("p1", "p2")


def test_a_sheet_of_the_same_name_gives_way_only_when_asked(tmp_path):
    path = filled(tmp_path / "a.csv")
    one = db.add_sheets(demo(), path)
    with pytest.raises(DesignError, match="of this name"):
        db.add_sheets(one, path)
    other = filled(tmp_path / "b.csv", STATED | {"area": ("39", "39")})
    again = db.add_sheets(one, other, replace=True)
    assert again.names("elements") == ("offered", "offered-minimum") and again.get("elements[offered].area") == 39.0


def test_mistakes_are_named_by_their_row(tmp_path):
    def put(key, text):
        return lambda rows: next(r for r in rows if r[0] == key).__setitem__(3, text)

    def head(n, k, text):
        return lambda rows: rows[n].__setitem__(k, text)

    row = {r[0]: n for n, r in enumerate(blank_rows("elements"), start=1)}
    cases = {
        "a comma": (put("area", "38,5"), f"a.csv, row {row['area']}, area", "38.5"),
        "a wrong unit": (put("rated_flow", "27 bar"), f"a.csv, row {row['rated_flow']}, rated_flow", "bar"),
        "outside its range": (put("test_recovery", "90"), f"a.csv, row {row['test_recovery']}, test_recovery",
                              "1 to 60 %"),
        "not given": (put("test_pressure", ""), "a.csv, elements[offered].test_pressure", "must be given"),
        "no name": (put("name", ""), "a.csv, sheet[1]", "name"),
        "no such list": (head(0, 1, "element"), "a.csv, row 1", "elements"),
        "no list": (head(0, 0, "list"), "a.csv, row 1", "sheet"),
        "no head": (head(1, 2, "units"), "a.csv, row 2", "unit"),
        "unknown property": (head(row["area"] - 1, 0, "aria"), f"a.csv, row {row['area']}", "area"),
        "twice": (head(row["length"] - 1, 0, "area"), None, ""),
        "contradiction": (put("max_pressure", "45"), f"a.csv, row {row['test_pressure']}, test_pressure", "maximum")}

    def check(case):
        move, where, words = case
        if where is None:
            def move(rows):
                rows[row["length"] - 1][0], rows[row["length"] - 1][3:] = "area", ["38"]
            where, words = f"a.csv, row {row['length']}", "twice"
        path = filled(tmp_path / "a.csv", {k: v[:1] for k, v in STATED.items()}, move=move)
        with pytest.raises(DesignError) as caught:
            db.add_sheets(demo(), path)
        text = str(caught.value)
        assert text.startswith(where) and words in text and "\n" not in text, text

    every(cases, check)


@pytest.mark.parametrize(("name", "data", "words"), [
    ("a.txt", b"x", "csv"), ("a.xlsx", b"not a zip", "spreadsheet"), ("a.csv", b"\xff\xfe", "UTF-8"),
    ("a.csv", b"", "list it belongs to"), ("a.csv", b'sheet,"elements\n', "CSV"),
    ("a.csv", b"sheet,elements\nkey,title,unit,1\n" + b"\n" * 2000, "too large")])
def test_other_files_are_refused_in_one_line(tmp_path, name, data, words):
    (tmp_path / name).write_bytes(data)
    with pytest.raises(DesignError, match=words) as caught:
        read_sheets(tmp_path / name)
    assert "\n" not in str(caught.value)
    with pytest.raises(DesignError, match="no such file"):
        read_sheets(tmp_path / f"not-{name}".replace("txt", "csv"))


@pytest.mark.parametrize("of", list(LISTS))
def test_a_blank_table_has_a_row_for_every_property(of, tmp_path):
    keys = {row[0].partition("[")[0] for row in blank_rows(of)[2:]}
    assert keys == set(metas(LISTS[of].item))
    for name in ("blank.csv", "blank.xlsx"):
        path = db.blank_sheet(of, tmp_path / name)
        with pytest.raises(DesignError, match="states nothing"):
            read_sheets(path)
        with pytest.raises(DesignError, match="already"):
            db.blank_sheet(of, path)


def test_from_the_command_line(tmp_path, capsys):
    plant = tmp_path / "mine.toml"
    plant.write_text(demo().text, encoding="utf-8")
    assert main(["blank-sheet", "elements", str(tmp_path / "blank.csv"), "--units", "us"]) == 0
    assert "gpd" in (tmp_path / "blank.csv").read_text(encoding="utf-8")
    path = filled(tmp_path / "a.csv")
    assert main(["add-sheet", str(plant), str(path), "--use", "membrane.element"]) == 0
    assert "elements[offered], elements[offered-minimum]; membrane.element is offered" in capsys.readouterr().out
    design = db.read(plant)
    assert design.get("membrane.element") == "offered" and len(design.names("elements")) == 2
    assert main(["add-sheet", str(plant), str(path)]) == 2 and "of this name" in capsys.readouterr().err
    assert db.read(plant) == design
    assert main(["add-sheet", str(plant), str(path), "--replace"]) == 0


CURVE = ("sheet,hp_pump.curve", "Flow of one pump (m3/h),head (ft),efficiency (%),name", "0,2362,0,", "60,2297,70,",
         "114,640 m,84,duty", "150,1837,80,")


def test_the_curve_of_a_pump_is_read_point_by_point(tmp_path, capsys):
    """As a manufacturer's table has it: one point a row, by key or title, units in the head or in the cell."""
    path, plant = tmp_path / "curve.csv", tmp_path / "mine.toml"
    path.write_text("\n".join(CURVE), encoding="utf-8")
    plant.write_text(demo().text, encoding="utf-8")
    assert main(["add-sheet", str(plant), str(path)]) == 0
    assert "hp_pump.curve[p1], hp_pump.curve[p2], hp_pump.curve[duty]" in capsys.readouterr().out
    design = db.read(plant)
    assert design.names("hp_pump.curve") == ("p1", "p2", "duty", "p4")
    assert design.get("hp_pump.curve[duty].head") == 640.0 and design.get("hp_pump.curve[duty].efficiency") == 0.84
    assert design.get("hp_pump.curve[p1].head") == pytest.approx(2362 * 0.3048)
    assert db.size(design).ledger.lines["hp_pump.curve[duty].head"].sort == "given"
    assert main(["add-sheet", str(plant), str(path)]) == 2 and "already states" in capsys.readouterr().err
    assert db.read(plant) == design
    path.write_text("\n".join([*CURVE[:4], "120,650,82,", CURVE[5]]), encoding="utf-8")
    assert main(["add-sheet", str(plant), str(path), "--replace"]) == 0
    assert db.read(plant).names("hp_pump.curve") == ("p1", "p2", "p3", "p4")
    # a quotation is such a list too; the blank table of any of them is read back where it is filled in
    quotes = db.blank_sheet("cost.quotes", tmp_path / "quotes.xlsx")
    book = openpyxl.load_workbook(quotes)
    head = [cell.value.partition(" (")[0] for cell in book.active[2]]
    for column, text in (("item", "hp_pump"), ("price", 250_000), ("offer", "12")):
        book.active.cell(3, head.index(column) + 1, text)
    book.save(quotes)
    assert db.add_sheets(demo(), quotes).names("cost.quotes") == ("hp_pump",)


@pytest.mark.parametrize(("rows", "words"), [
    ((*CURVE[:4], "114,640 bar,84,"), "curve.csv, row 5, head"), ((*CURVE[:4], "114,640,184,"), "row 5, efficiency"),
    ((CURVE[0], "speed (rpm),head (m)", "1,2"), "curve.csv, row 2"), (CURVE[:2], "states nothing"),
    (CURVE[:1], "no head"),
    ((CURVE[0], "flow (m3/h),flow (gpm)", "1,2"), "given twice"), (CURVE[:4], "three points"),
    ((*CURVE[:4], "114,,84,"), "head")])
def test_a_curve_that_cannot_be_read_names_its_row(tmp_path, rows, words):
    path = tmp_path / "curve.csv"
    path.write_text("\n".join(rows), encoding="utf-8")
    with pytest.raises(DesignError) as caught:
        db.add_sheets(demo(), path)
    assert words in str(caught.value) and "\n" not in str(caught.value)
