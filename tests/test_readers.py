"""Each row and column of the data tables and each key of the design has a reader, but those that `unread` lists.

A row has a reader where a plant of the battery asks for one of its numbers (its words, in a table of words), or
where it is an option of a list of choice and its neighbours have one.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from typing import Any

import pytest

from tests import unread

pytestmark = pytest.mark.full
MOST = (0, 3, 0, 17)
"""Tables, rows, columns and keys that `unread` listed when the lists were begun."""
Cells = set[tuple[str, str, str]]


@pytest.fixture(scope="module")
def seen() -> dict[str, Any]:
    """What a program of its own read; see `tests.readers`."""
    done = subprocess.run([sys.executable, "-m", "tests.readers"], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def lacking(tables: Mapping[str, Any], cells: Cells, series: set[tuple[str, str]],
            choices: set[str]) -> dict[str, set[tuple[str, ...]]]:
    """Tables, rows, columns and lists that nobody asked for."""
    found: dict[str, set[tuple[str, ...]]] = {"tables": set(), "rows": set(), "columns": set(), "series": set()}
    for name, table in tables.items():
        asked = {(row, column) for t, row, column in cells if t == name}
        found["series"] |= {(name, one) for one in table["series"] if (name, one) not in series}
        if table["rows"] and not asked:
            found["tables"].add((name,))
            continue
        numbers = set(table["numbers"])
        read = {row for row, column in asked if column in numbers or not numbers & set(table["rows"].get(row, ()))}
        found["rows"] |= {(name, row) for row in table["rows"] if row not in read and row not in choices}
        found["columns"] |= {(name, c) for c in table["columns"] if c not in {column for _, column in asked}}
    return found


def listed(*lists: Mapping[str, str]) -> set[tuple[str, str]]:
    return {(table, one) for each in lists for table, text in each.items() for one in text.split()}


def judged(seen: Mapping[str, Any]) -> dict[str, set[tuple[str, ...]]]:
    return lacking(seen["tables"], {(t, r, c) for t, r, c in seen["cells"]}, {(t, s) for t, s in seen["series"]},
                   set(seen["choices"]))


def differ(found: set[tuple[str, ...]], known: set[tuple[str, ...]]) -> list[str]:
    new = [f"nobody reads {'.'.join(one)}: give it a reader or take it out" for one in sorted(found - known)]
    return new + [f"{'.'.join(one)} has a reader now: take it out of tests/unread.py" for one in sorted(known - found)]


def test_every_table_has_a_reader(seen):
    assert not differ(judged(seen)["tables"], {(name,) for name in unread.TABLES})
    assert not judged(seen)["series"]


def test_every_row_has_a_reader(seen):
    assert not differ(judged(seen)["rows"], listed(unread.ROWS))


def test_every_column_has_a_reader(seen):
    assert not differ(judged(seen)["columns"], listed(unread.COLUMNS))


def test_every_key_of_the_design_has_a_reader(seen):
    found = {(key,) for key in seen["schema"] if key not in set(seen["keys"])}
    assert not differ(found, {(key,) for key in unread.KEYS})
    assert all(unread.KEYS.values())


def test_the_battery_is_wide(seen):
    assert seen["plants"] > 150 and len(seen["cells"]) > 1000 and len(seen["keys"]) > 400


def test_the_lists_only_become_shorter():
    counts = [len(unread.TABLES), *(len(listed(x)) for x in (unread.ROWS, unread.COLUMNS)), len(unread.KEYS)]
    assert all(n <= most for n, most in zip(counts, MOST, strict=True)), counts


@pytest.mark.parametrize(("cells", "what", "wanted"), [
    ((), "tables", [("a",)]),
    ((("a", "x", "size"), ("a", "y", "words")), "rows", [("a", "y")]),
    ((("a", "x", "size"), ("a", "y", "size")), "columns", [("a", "words")]),
])
def test_what_is_not_read_is_seen(cells: Sequence[tuple[str, str, str]], what: str, wanted: list[tuple[str, ...]]):
    """Planted: two rows of a number and a word; a third row is an option of a list of choice."""
    rows = {key: ["size", "words"] for key in ("x", "y", "chosen")}
    tables = {"a": {"rows": rows, "numbers": ["size"], "columns": ["size", "words"], "series": []}}
    assert lacking(tables, set(cells), set(), {"chosen"})[what] == set(wanted)
    assert lacking({"a": tables["a"] | {"series": ["s"]}}, set(cells), set(), set())["series"] == {("a", "s")}
