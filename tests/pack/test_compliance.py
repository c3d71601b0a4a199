"""The compliance matrix: planted deviations of a client's list are found, and nothing else is."""

from __future__ import annotations

import pytest

from desalbook import paths
from desalbook.pack import documents
from desalbook.pack.compliance import CLARIFY, COMPLIES, DEVIATES, compared, read_list
from desalbook.pack.plant_source import Source
from desalbook.problems import DesignError
from desalbook.tables import table
from tests import shared

LIST = paths.shelf() / "data-demo" / "client-list.csv"
PLANTED = {"2.2": "2 K", "3.2": "0.469 mg/L as B", "4.1": "0.318 kWh/m³", "5.2": "1 below", "5.8": "no",
           "6.2": "2.26", "6.4": "asked EN 13445", "7.2": "1 year"}
"""Clauses of the demonstration list that the harbour plant does not meet, and by how much."""


def found(text: str, tmp_path, name: str = "list.csv"):
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    return compared(Source(shared.plant()), read_list(file))


def test_planted_deviations_are_found_and_nothing_else():
    lines = compared(Source(shared.plant()), read_list(LIST))
    assert len(lines) == 40
    off = {x.of.clause: x.by for x in lines if x.verdict == DEVIATES}
    assert set(off) == set(PLANTED)
    assert all(PLANTED[clause] in by for clause, by in off.items()), off
    assert [x.of.clause for x in lines if x.verdict == CLARIFY] == ["7.4"]


def test_a_spreadsheet_says_the_same(tmp_path):
    import csv

    from xlsxwriter import Workbook

    file = tmp_path / "list.xlsx"
    with Workbook(str(file)) as book:
        page = book.add_worksheet()
        for n, row in enumerate(csv.reader(LIST.read_text(encoding="utf-8").splitlines())):
            page.write_row(n, 0, row)
    of = Source(shared.plant())
    assert [(x.verdict, x.by) for x in compared(of, read_list(file))] == [
        (x.verdict, x.by) for x in compared(of, read_list(LIST))]


def test_each_deviation_stands_in_the_offer_again():
    made = {d.key: d for d in documents(shared.plant(), only=("offer", "compliance"), requirements=LIST)}
    said = " ".join(b.text for b in made["offer"].blocks if hasattr(b, "text"))
    assert "8 requirements of the client's list deviate" in said and all(f"{c} " in said for c in PLANTED)
    tables = {t.title: t for t in made["compliance"].tables()}
    assert {r["clause"] for r in tables["Deviations"].rows} == set(PLANTED)
    assert len(tables["All requirements"].rows) == 40


@pytest.mark.parametrize(("value", "unit", "verdict"), (
    ("1.32e6", "gpd", COMPLIES), ("5100", "m3/d", DEVIATES), (">= 4000", "m3/d", COMPLIES),
    ("4900 to 5100", "m3/d", COMPLIES), ("5001 to 6000", "m3/d", DEVIATES), ("max 4999", "m3/d", DEVIATES)))
def test_senses_ranges_and_units(value, unit, verdict, tmp_path):
    assert found(f"requirement,value,unit\nProduct flow,{value},{unit}\n", tmp_path)[0].verdict == verdict


def test_what_is_not_known_asks(tmp_path):
    """A requirement nobody answers, a value this plant has not, and an id of the record."""
    lines = found("requirement,value,unit\nStandby for the moon,1,\nfilters.count,5,\nStandby intake screens,1,\n",
                  tmp_path)
    assert [x.verdict for x in lines] == [CLARIFY, COMPLIES, CLARIFY]


def test_a_list_that_cannot_be_read_names_its_line(tmp_path):
    with pytest.raises(DesignError, match="line 3, Product flow"):
        found("requirement,value,unit\nTrains,2,\nProduct flow,\"1,5\",m3/d\n", tmp_path)
    with pytest.raises(DesignError, match="no columns requirement and value"):
        found("what,how much\na,b\n", tmp_path)


def test_every_row_of_the_vocabulary_reads_something():
    """Each row names a reader that the harbour plant answers, or one of what it lacks."""
    from desalbook.pack.compliance import _Answers

    answers = _Answers(Source(shared.plant()))
    silent = {key for key, row in table("client_requirements").items() if answers.offered(row["read"].value) is None}
    assert silent == set()
    words = [w.strip() for row in table("client_requirements").values() for w in row["words"].value.split(";")]
    assert len(words) == len(set(words)), "a word of two requirements"
