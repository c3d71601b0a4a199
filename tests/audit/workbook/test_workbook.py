"""The workbook without a spreadsheet program: what is a formula, what is text, what is said not to be live."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
import zipfile

import openpyxl
import pytest

from desalbook import cli
from desalbook.audit.workbook import book
from desalbook.audit.workbook.book import workbook
from desalbook.audit.workbook.formulas import LONGEST, Formulas
from desalbook.audit.workbook.places import Places, column_letter
from desalbook.audit.workbook.style import LONGEST_TEXT, digits
from desalbook.trail import record
from desalbook.trail.written import expression_text
from tests import register, shared
from tests.trail.build import calculation

HOSTILE = (
    '=HYPERLINK("http://x.invalid","click")', "<script>alert(1)</script>", "x" * 5000, "\u202eevil\u202c \u05d0\u05d1",
    "\U0001f6b0\U0001f30a", "@SUM(1)", "+1+1", "-2", "{=1}", "a&b %s \\ ' \" </style>",
)


@pytest.fixture(scope="module", params=["harbour-town.toml", "beach-well.toml"])
def made(request):
    return shared.recorded(request.param)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """The book of one demo plant: its record, its formulas, its cached values."""
    made = shared.recorded()
    path = workbook(made, tmp_path_factory.mktemp("book") / "b.xlsx")
    return made, openpyxl.load_workbook(path), cached_values(path)


def cached_values(path) -> dict[str, dict[str, object]]:
    """Sheet -> cell -> value a reader sees without calculating; the library would build every cell a second time."""
    space = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    with zipfile.ZipFile(path) as z:
        names = [s.get("name") for s in ET.fromstring(z.read("xl/workbook.xml")).iter(f"{space}sheet")]
        texts = ["".join(si.itertext()) for si in ET.fromstring(z.read("xl/sharedStrings.xml"))]
        return {name: {c.get("r"): _cached(c, space, texts) for c in
                       ET.fromstring(z.read(f"xl/worksheets/sheet{n}.xml")).iter(f"{space}c")}
                for n, name in enumerate(names, 1)}


def _cached(cell: ET.Element, space: str, texts: list[str]) -> object:
    said, sort = cell.findtext(f"{space}v"), cell.get("t", "n")
    if not said:
        return None
    if sort == "n":
        return float(said)
    return texts[int(said)] if sort == "s" else ValueError(said) if sort == "e" else said


@pytest.fixture(scope="module")
def small():
    return record.to_record(calculation(), "text", kit="0")


def test_more_than_85_of_100_lines_are_live(made):
    """Computed, solved and engine lines together; the others stand on a sheet with the reason."""
    formulas = Formulas(made, Places(made))
    counted = [x for x in made["lines"] if x["sort"] in ("computed", "solved", "engine")]
    dead = list(formulas.reasons())
    assert 1 - len(dead) / len(counted) >= 0.85
    assert all(why for _, why in dead)
    named = {x["id"] for x, _ in dead}
    for x in counted:
        live = x["sort"] == "computed" and all(
            formulas.live(x, k) for k in (x["keys"] if x["keys"] is not None else [None]))
        proved = x["sort"] == "solved" and formulas.off(x) is not None
        assert (live or proved) != (x["id"] in named), x["id"]


def test_no_formula_has_a_function_that_the_library_would_spell_another_way(made, tmp_path):
    """So its search of every formula can be left out, which took a third of the time of a book."""
    from xlsxwriter.worksheet import Worksheet

    own, library = book._page_class(), Worksheet()
    assert "_prepare_formula" in vars(Worksheet) and issubclass(own, Worksheet)
    formulas = Formulas(made, Places(made))
    texts = {text for x in made["lines"] for key in x["keys"] or [None]
             for text in (formulas.live(x, key), formulas.stale(x)) if text}
    functions = {word for text in texts for word in re.findall(r"([A-Za-z.]+)\(", text)}
    assert {"IF", "SUM", "SUMPRODUCT", "MAX"} <= functions
    for word in functions:
        assert library._prepare_formula(f"={word}(1)") == own()._prepare_formula(f"={word}(1)") == f"{word}(1)"


def test_no_formula_is_too_long_and_every_line_has_a_place(made):
    places = Places(made)
    formulas = Formulas(made, places)
    for x in made["lines"]:
        for text in (formulas.stale(x), formulas.moved(x), formulas.off(x) if x["sort"] == "solved" else None):
            assert text is None or (len(text) <= LONGEST and text.startswith("="))
        assert x["sort"] == "checked" or x["id"] in places.at
    assert len(set(places.cell.values())) == len(places.cell)
    assert len({n.lower() for n in places.name.values()}) == len(places.name)


def test_every_computed_cell_is_a_formula_with_its_value(written):
    made, live, cached = written
    places = Places(made)
    wanted = {"Revision", "Inputs", "Vessel", "Checks", "Equipment", "Streams", "Sources", "Review priorities",
              "Static lines", "State"}
    assert wanted < set(live.sheetnames)
    # words of the trade, as on the page; none numbered because two parts go by one
    assert {"Results", "Membranes", "Product", "Cleaning and flush"} < set(live.sheetnames)
    assert not [name for name in live.sheetnames if "_" in name or name[-1].isdigit()]
    for x in made["lines"]:
        if x["sort"] in ("checked", "engine", "solved", "picked") or x["value"] is None:
            continue
        sheet, row, column = places.at[x["id"]]
        cell = live[sheet].cell(row + 1, column + 1)
        assert (cell.data_type == "f") == (x["sort"] == "computed"), x["id"]
        value = x["value"][0] if isinstance(x["value"], list) else x["value"]
        got = cached[sheet][cell.coordinate]
        assert got == value or abs(got - value) <= 1e-15 * abs(value)  # a book keeps sixteen digits
    inputs = {live["Inputs"].cell(r, 4).fill.fgColor.rgb for r in range(5, live["Inputs"].max_row + 1)
              if live["Inputs"].cell(r, 13).value}  # headings apart
    assert len(inputs) == 1  # one colour
    assert cached.keys() == set(live.sheetnames)
    assert not [c for page in cached.values() for c, v in page.items() if isinstance(v, ValueError)]


def test_one_row_a_node(written):
    made, book, _ = written
    nodes = {(x["id"].partition("@")[0].rpartition(".")[0], x["corner"], tuple(x["keys"])) for x in made["lines"]
             if x["axis"] == "node" and x["sort"] not in ("given", "assumed")}
    first = [row[0] for row in book["Vessel"].iter_rows(values_only=True)]
    for _, _, keys in nodes:
        assert any(tuple(first[i:i + len(keys)]) == keys for i in range(len(first)))
    assert first.count("State") == len(nodes)


def test_streams_and_equipment_follow_the_lines(written):
    _, book, _ = written
    live = [c.value for r in book["Equipment"].iter_rows(min_row=5) for c in r if c.data_type == "f"]
    assert "=feed_pump_flow_" in live
    assert [c.value for r in book["Streams"].iter_rows(min_row=5) for c in r
            if c.data_type == "f" and c.value.startswith("=membrane_permeate_flow_")]


@pytest.mark.parametrize("units", ["si", "us"])
def test_hostile_text_is_inert(small, tmp_path, units):
    """Whatever a person wrote anywhere: text in the cell, no formula, no link, and nothing lost."""
    new = record.read(record.write(small, tmp_path / "r.json"))
    new["project"] = {"name": HOSTILE[0], "revision": HOSTILE[1], "note": HOSTILE[2], "client": HOSTILE[3],
                      "made_by": HOSTILE[4], "checked_by": HOSTILE[9]}
    spare = [x for x in new["lines"] if x["sort"] != "checked"]
    for n, said in enumerate(HOSTILE):
        spare[n]["title"] = said
    choice = next(x for x in new["lines"] if x["sort"] in ("given", "assumed") and isinstance(x["value"], str))
    choice["value"] = HOSTILE[0]
    path = workbook(new, tmp_path / "b.xlsx", units)
    book = openpyxl.load_workbook(path)
    found = set()
    for page in book:
        for row in page.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    assert "HYPERLINK" not in str(cell.value) and "SUM(1)" not in str(cell.value)
                elif cell.value in HOSTILE:
                    found.add(cell.value)
                assert cell.hyperlink is None
    assert found == set(HOSTILE)
    with zipfile.ZipFile(path) as z:
        everything = b"".join(z.read(n) for n in z.namelist() if n.endswith(".xml"))
    assert b"<script>" not in everything and b"<f>HYPERLINK" not in everything


def test_a_text_longer_than_a_cell_is_cut_and_not_dropped(small, tmp_path):
    made = {**small, "project": {"name": "y" * 40_000}}
    book = openpyxl.load_workbook(workbook(made, tmp_path / "b.xlsx"))
    said = [c.value for c in book["Revision"]["B"] if c.value and str(c.value).startswith("y")]
    assert said and len(said[0]) == LONGEST_TEXT and said[0].endswith("…")


def test_csv_cells_are_no_formulas(tmp_path):
    import pandas as pd

    frame = pd.DataFrame({"a": [*HOSTILE], "b": [1.5] * len(HOSTILE)})
    got = cli._inert(frame)
    assert not [v for v in got["a"] if v[0] in "=+-@"] and got["b"].tolist() == frame["b"].tolist()
    assert got["a"].iloc[0] == "'" + HOSTILE[0]


def test_the_same_record_gives_the_same_book(small, tmp_path):
    texts = []
    for name in ("a.xlsx", "b.xlsx"):
        with zipfile.ZipFile(workbook(small, tmp_path / name)) as z:
            texts.append({n: z.read(n) for n in z.namelist()})
    assert texts[0] == texts[1]


def test_columns_and_digits():
    assert [column_letter(n) for n in (0, 25, 26, 51, 52, 701, 702)] == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]
    assert [digits(v) for v in (0.0, 12.3456, 123456.0, 0.001234, 2e6, 1e-5)] == [
        "#,##0", "#,##0.000", "#,##0", "#,##0.0000000", "0.0000E+00", "0.0000E+00"]
    assert [digits(v, whole=True) for v in (2.0, 0.0, 1082.0, 2.5)] == ["#,##0"] * 3 + ["#,##0.0000"]


def test_the_expression_as_text_says_what_the_relation_computes():
    """Read back as Python, the text gives the number of the relation."""
    wrong = [key for key in register.relations() if not _reads_back(key)]
    assert not wrong


def _reads_back(key: str) -> bool:
    import numpy as np

    from desalbook.trail import functions as f
    from desalbook.trail.stored import stored_relation

    r = register.relations()[key]
    values = register.draw(r, 1)
    space = {**f.ELEMENTWISE, **f.AXIS, "lookup": f.lookup, **{n: c.value for n, c in r.constants.items()}, **r.tables}
    text = expression_text(stored_relation(r))
    with np.errstate(all="ignore"):
        got = eval(text, {"__builtins__": {}, **space, **values})
        return bool(np.allclose(got, r.plain(**values), rtol=1e-9, atol=0))
