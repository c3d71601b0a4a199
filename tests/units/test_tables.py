"""The data tables: every cell read, every row with its source."""

from __future__ import annotations

import pytest

from desalbook.problems import DesignError
from desalbook.tables import load, table, table_names
from tests.every import every

TEXT = """
title = "Elements"
note = "invented"
[columns.area]
kind = "area"
title = "Area"
symbol = "A"
[columns.vessel]
kind = "count"
title = "In a vessel"
[columns.use]
title = "Use"
[[rows]]
key = "demo-37-high"
title = "High rejection"
source = "common-practice"
place = "p. 1"
area = "37.2 m2"
vessel = 7
use = "seawater"
[[rows]]
key = "demo-41-low"
title = "Low energy"
source = "common-practice"
place = "p. 2"
area = { v = "440 ft2", source = "other", place = "p. 9" }
[series.rating]
kind = "power"
title = "Ratings"
source = "common-practice"
values = ["0.75 kW", "1.5 hp", "1.5 kW"]
"""


def test_reads():
    t = load(TEXT, "elements")
    cell = t["demo-37-high"]["area"]
    assert (cell.value, cell.text, cell.kind.name, cell.symbol) == (37.2, "37.2 m2", "area", "A")
    assert (cell.source, cell.place) == ("common-practice", "p. 1")
    other = t["demo-41-low"]["area"]
    assert other.value == pytest.approx(440 * 0.3048**2) and (other.source, other.place) == ("other", "p. 9")
    assert t["demo-37-high"]["use"].value == "seawater" and t["demo-37-high"]["vessel"].value == 7.0
    assert t["demo-41-low"].get("use") is None and "use" not in t["demo-41-low"]
    assert list(t) == ["demo-37-high", "demo-41-low"] and "demo-37-high" in t and "x" not in t and len(t) == 2
    assert t.options() == {"demo-37-high": "High rejection", "demo-41-low": "Low energy"}
    assert [row.key for row in t.ascending("area")] == ["demo-37-high", "demo-41-low"]
    assert list(t.column("use")) == ["demo-37-high"]
    rating = t.series("rating")
    assert rating.values == pytest.approx((750.0, 1118.5498, 1500.0)) and rating.texts[1] == "1.5 hp"


def test_a_row_of_ones_own_is_in_the_lists_of_choice():
    t = load(TEXT, "elements")
    t.require("area")
    options, sea = t.options(), t.options(use="seawater")
    assert list(sea) == ["demo-37-high"]
    row = {"key": "own", "title": "Own", "source": "common-practice", "area": "30 m2", "use": "seawater"}
    t.add(row)
    assert options["own"] == "Own" and list(sea) == ["demo-37-high", "own"] and t["own"]["area"].value == 30.0
    assert [r.key for r in t.ascending("area")] == ["own", "demo-37-high", "demo-41-low"]
    for wrong, says in ((row, "is given twice"), ({**row, "key": "b", "area": "x"}, "area"),
                        ({"key": "b", "title": "B", "source": "common-practice"}, "has no area")):
        with pytest.raises(DesignError, match=says):
            t.add(wrong)
    with pytest.raises(DesignError, match="has no use"):
        t.require("use")
    t.remove("own")
    assert "own" not in options and "own" not in t and next(r.key for r in t.ascending("area")) == "demo-37-high"


@pytest.mark.parametrize(("ask", "says"), [
    (lambda t: t["demo-73-high"], "enter demo-37-high"),
    (lambda t: t.row("sw", "membrane.element"), "membrane.element"),
    (lambda t: t["demo-37-high"]["aera"], "enter area"), (lambda t: t["demo-41-low"]["use"], "not stated"),
    (lambda t: t["demo-41-low"].get("usage"), "no such column"), (lambda t: t.column("aera"), "enter area"),
    (lambda t: t.ascending("use"), "no order"), (lambda t: t.series("ratings"), "enter rating"),
])
def test_a_wrong_question_names_the_nearest(ask, says):
    with pytest.raises(DesignError) as caught:
        ask(load(TEXT, "elements"))
    assert says.lower() in str(caught.value).lower()


@pytest.mark.parametrize(("old", "new", "says"), [
    ('"37.2 m2"', '"37,2 m2"', "elements[demo-37-high].area"), ('"37.2 m2"', "37.2", "unit is missing"),
    ('"37.2 m2"', '"37.2 m"', "unit"),
    ('source = "common-practice"\nplace = "p. 2"', 'place = "p. 2"', "has no source"),
    ('key = "demo-41-low"', 'key = "demo-37-high"', "is given twice"),
    ('key = "demo-41-low"', 'key = "a b"', "needs a key"),
    ("vessel = 7", "vesel = 7", "enter vessel"), ('kind = "area"', 'kind = "aera"', "enter area"),
    ("v = ", "w = ", "unknown key"), ('"1.5 hp"', '"0.5 hp"', "does not rise"),
    ('"1.5 hp"', '"1 kVA"', "unit"),
    ('use = "seawater"', "use = 5", "not a text"), ('title = "Elements"', "title = 'a", "TOML"),
    ('title = "Elements"', "", "has no title"), ("[columns.use]", "[columns.key]", "may not have this name"),
])
def test_a_broken_table_is_refused(old, new, says):
    assert old in TEXT
    with pytest.raises(DesignError) as caught:
        load(TEXT.replace(old, new, 1) if "source" not in old else TEXT.replace(old, new), "elements")
    assert says.lower() in str(caught.value).lower() and "\n" not in str(caught.value)


def test_no_such_table():
    with pytest.raises(DesignError, match="no such table"):
        table("elemnts")


def test_every_table_of_the_kit_is_read():
    every(table_names(), is_read)


def is_read(name: str) -> None:
    t = table(name)
    assert t is table(name) and t.title
    assert len(t) or t.lists
    for row in t.rows.values():
        assert row.source and row.cells
        for cell in row.cells.values():
            assert cell.source and cell.title and (cell.kind is None or isinstance(cell.value, float))
