"""Spreadsheet formulas: by rule here, and proved by a spreadsheet program outside."""

from __future__ import annotations

import re
import subprocess

import numpy as np
import openpyxl
import pytest

from desalbook.problems import TrailError
from desalbook.trail import sheet
from tests.register import columns_of, draw, relations
from tests.trail import samples

CASES = {r.key: r for r in samples.RIGHT}


def test_powers_and_negations_stand_in_parentheses():
    assert sheet.formula(samples.powers, {"x": "A1", "z": "B1"}) == (
        "=((((-(((A1)^(2))))+((2)^(((A1)^(0.5)))))-((A1-(B1-1))/(A1/B1)))-(A1*(-(B1))))"
    )


def test_where_up_and_ranges():
    text = sheet.formula(samples.friction, {"x": "Re_"})
    assert text.startswith("=IF((Re_<2000),(64/Re_),IF((Re_<=100000),")
    assert "(-INT(-((" in sheet.formula(samples.medley, {"x": "x_", "z": "z_"})
    assert sheet.formula(samples.mixed, {"flow": "A1:D1", "concentration": "A2:D2"}) == (
        "=(SUMPRODUCT(A1:D1,A2:D2)/SUM(A1:D1))"
    )


def test_a_missing_cell_is_refused():
    with pytest.raises(TrailError, match="no cell for area"):
        sheet.formula(samples.filtration_rate, {"flow": "A1", "filters_in_service": "A2"})


def test_names_are_safe_and_distinct():
    ids = [
        "r1",
        "c",
        "t1",
        "filters.layers[sand].depth",
        "filters_layers_sand_depth",
        "p.x@cold-aged",
        "a.B[Na+]",
        "a.b[na]",
        "a.b[Nap]",
    ]
    names = sheet.safe_names(ids)
    assert len({n.lower() for n in names.values()}) == len(ids)
    for name in names.values():
        assert re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*_", name)
        assert not re.fullmatch(r"(?i)[a-z]{1,3}[0-9]+|r[0-9]*c[0-9]*", name)


def test_only_old_functions():
    """Nothing that a spreadsheet of ten years ago lacks."""
    known = {
        "IF",
        "LN",
        "LOG10",
        "EXP",
        "SQRT",
        "MIN",
        "MAX",
        "INT",
        "ABS",
        "SUM",
        "SUMPRODUCT",
        "INDEX",
        "ROWS",
        "COLUMNS",
        "MATCH",
    }
    for r in (*CASES.values(), *relations().values()):
        cells = {a.name: "A1:D1" if a.name in columns_of(r.tree) else "A1" for a in r.args}
        assert set(re.findall(r"([A-Z][A-Z0-9]*)\(", sheet.formula(r, cells))) <= known


def _row_of_cells(width: int, row: int, start: int) -> str:
    from xlsxwriter.utility import xl_rowcol_to_cell

    first, last = xl_rowcol_to_cell(row, start), xl_rowcol_to_cell(row, start + width - 1)
    return first if width == 1 else f"{first}:{last}"


@pytest.mark.outside
def test_every_relation_in_a_spreadsheet_program(program, tmp_path):
    """Each relation at random inputs, written without a cached value and recalculated by the program."""
    import xlsxwriter

    office = program("soffice", "libreoffice")
    path = tmp_path / "relations.xlsx"
    expect, names = [], []
    with xlsxwriter.Workbook(path) as book:
        page = book.add_worksheet("calc")
        tables = book.add_worksheet("tables")
        column = 0
        for r in (*CASES.values(), *relations().values()):
            ranges = {}
            for name, t in r.tables.items():
                tables.write_column(0, column, list(t.x))
                tables.write_column(0, column + 1, list(t.y))
                ranges[name] = tuple(
                    "tables!" + ":".join(_row_of_cells(1, i, column + k) for i in (0, len(t.x) - 1))
                    for k in (0, 1)
                )
                column += 2
            for seed in range(4):
                values = draw(r, seed)
                row = len(expect)
                with np.errstate(all="ignore"):
                    result = np.asarray(r.plain(**values), dtype=float)
                cells, entry, at = {}, {}, 2
                for a in r.args:
                    many = np.atleast_1d(np.asarray(values[a.name], dtype=float))
                    page.write_row(row, at, many.tolist())
                    cells[a.name] = _row_of_cells(len(many), row, at)
                    if result.ndim and len(many) > 1:  # it answers entry by entry: the last one
                        entry[a.name] = _row_of_cells(1, row, at + len(many) - 1)
                    at += len(many)
                text = sheet.formula(r, cells, entry=entry, tables=ranges if seed % 2 else None)
                page.write_formula(row, 0, text, None, "")
                expect.append(float(np.atleast_1d(result)[-1]))
                names.append(f"{r.key} draw {seed}")
    run = subprocess.run(
        [
            office,
            f"-env:UserInstallation=file://{tmp_path}/profile",
            "--headless",
            "--convert-to",
            "xlsx:Calc MS Excel 2007 XML",  # an open-document file keeps no more than 20 decimals of 1e-13
            "--outdir",
            str(tmp_path / "again"),
            str(path),
        ],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    again = tmp_path / "again" / "relations.xlsx"
    assert again.exists(), run.stdout + run.stderr
    got = [row[0] for row in openpyxl.load_workbook(again, data_only=True)["calc"].iter_rows(values_only=True)]
    assert len(got) == len(expect) > 20
    wrong = [
        f"{n}: {g} instead of {e}"
        for n, g, e in zip(names, got, expect, strict=True)
        if g is None or not abs(g - e) <= 1e-9 * max(abs(e), 1e-300)
    ]
    assert not wrong, "; ".join(wrong[:10])
