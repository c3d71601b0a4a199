"""Every table loads, every cell reads, every figure names a source that exists."""

from __future__ import annotations

import tomllib
from importlib import resources

import pytest

from desalbook.guidelines import SENSES, guideline, guideline_keys, guideline_place, usual_range
from desalbook.problems import DesignError, TrailError
from desalbook.sources import SOURCE_KINDS, source, source_keys
from desalbook.tables import table, table_names
from desalbook.trail.glossary import glossary
from desalbook.units import KINDS, parse
from tests.every import every

DATA = resources.files("desalbook.data")


def raw(name: str) -> dict:
    return tomllib.loads(DATA.joinpath(f"{name}.toml").read_text("utf-8"))


def test_a_table_loads_and_every_figure_has_a_source():
    every(table_names(), loads_with_sources)


def loads_with_sources(name: str) -> None:
    t = table(name)  # parses every cell
    assert t.title and t.note
    assert t.rows or t.lists
    for row in t.values():
        assert row.title
        source(row.source)
        for column, cell in row.items():
            source(cell.source)
            may_be_empty = column == "formula"
            assert cell.text or may_be_empty, f"{row.where}.{column} is empty"
    for series in t.lists.values():
        source(series.source)


def test_every_declared_column_is_used_and_titled():
    every(table_names(), uses_its_columns)


def uses_its_columns(name: str) -> None:
    t = table(name)
    for key, column in t.columns.items():
        assert column.title
        assert any(key in row for row in t.values()), f"{name}.{key} is declared and never filled"


def test_the_bibliography_uses_every_kind_and_is_in_order():
    entries = raw("sources")
    assert list(entries) == sorted(entries)
    assert {e["kind"] for e in entries.values()} == set(SOURCE_KINDS)


def test_a_source_can_be_found_by_a_reader():
    every(source_keys(), can_be_found)


def can_be_found(key: str) -> None:
    s = source(key)
    assert key == key.lower() and " " not in key
    if s.kind in ("definition", "design file", "common practice", "from memory"):
        assert not s.author and s.year is None  # nobody stands downstream of these but the trade
    else:
        assert s.author and s.where
    assert s.year is None or 1900 < s.year < 2027
    assert s.title in s.citation and "\n" not in s.citation


def test_an_unknown_source_names_the_nearest():
    with pytest.raises(TrailError, match="schock-miquel-1987"):
        source("schock-miquel-1978")


def test_the_glossary_is_in_order_and_its_kinds_exist():
    names = list(raw("glossary"))
    assert names == sorted(names)
    assert len(names) >= 120
    assert all(t.kind.name in KINDS for t in glossary().values())


def test_a_guideline_reads_with_its_own_kind():
    every(guideline_keys(), reads_with_its_own_kind)


def reads_with_its_own_kind(key: str) -> None:
    g = guideline(key)
    assert g.sense in SENSES
    assert source(g.source)
    low, high = usual_range(key)
    # The usual range must leave room on the allowed side, or every ordinary plant would fail.
    assert low <= g.value if g.sense == "≤" else high >= g.value
    if g.source not in ("common-practice", "definition", "lahav-birnhack-2007", "cip-skid-2006"):
        assert guideline_place(key)


def test_an_unknown_guideline_names_the_nearest():
    with pytest.raises(DesignError, match="lead-element-flux"):
        guideline("lead-flux-element")


def test_guidelines_are_the_published_ones():
    """WHO and EU boron, product-water set of Lahav and Birnhack (2007), one US state's filter rules."""
    def near(key, text):
        g = guideline(key)
        assert g.value == pytest.approx(parse(text, g.kind), rel=1e-3), key
    near("product-boron", "2.4 mg/L as B")
    near("product-boron-eu", "1.5 mg/L as B")
    near("product-alkalinity", "80 mg/L as CaCO3")
    near("product-ccpp-high", "10 mg/L as CaCO3")
    near("npsh-margin-ratio", "1.3")
    near("product-conductivity", "2.5 mS/cm")
