"""`help` of a relation reads like an entry of a handbook: written lines above, the rest made from what is known."""

from __future__ import annotations

import inspect
import pydoc
import subprocess
import sys

from desalbook.sources import source
from desalbook.trail import Relation, handbook, relation
from desalbook.trail import symbols as sym
from desalbook.trail.written import equation_text
from desalbook.units import M2, Count, M3PerS, MPerS
from tests import make_register
from tests.every import every
from tests.points import STATUS
from tests.register import points, relations

HEADS = ("Equation", "Symbols", "Source")


@relation("Filtration rate", symbol="v_f", unit="m/s", source="common-practice", place="of the tests",
          within={"filters_in_service": ("1", None), "result": ("1 m/h", "30 m/h")}, note="even split between filters")
def filtration_rate(flow: M3PerS, area: M2, filters_in_service: Count) -> MPerS:
    """Superficial velocity through the filters that are in service.

    Fails where a filter is out of service and its share is not in the flow.
    """
    return flow / (area * filters_in_service)


def test_help_of_a_relation_is_its_entry():
    text = pydoc.render_doc(filtration_rate, renderer=pydoc.plaintext)
    assert text.startswith(f"Python Library Documentation: Relation in module {__name__}")
    assert f"filtration_rate = {filtration_rate!r}" in text
    assert str(inspect.signature(filtration_rate)) == "(flow: 'm3/h', area: 'm2', filters_in_service: '1') -> 'm/s'"
    assert "key" in inspect.signature(Relation).parameters
    own = inspect.getdoc(filtration_rate)
    assert own is not None and own.splitlines()[0] == (
        "Superficial velocity through the filters that are in service.")
    for line in ("v_f = Q / (A · n_f)", "Valid for\n---------",
                 "at least 1", "from 1 m/h to 30 m/h", "even split between filters", "of the tests",
                 "Fails where a filter is out of service"):
        assert line in own, (line, own)


def test_the_class_keeps_its_own_text():
    assert Relation.__doc__ is not None and Relation.__doc__.startswith("A recorded, typesettable, testable equation")
    assert "Parameters" in (inspect.getdoc(Relation.at) or "")


def test_every_relation_has_an_entry():
    every(relations(), has_entry)


def has_entry(r: Relation) -> None:
    text = r.__doc__
    assert text is not None and text.startswith(r.doc.splitlines()[0])
    for head in HEADS:
        assert f"\n\n{head}\n{'-' * len(head)}\n" in text, head
    assert "Example\n-------\n" in text  # every relation has a check point
    flat = " ".join(text.split())
    assert " ".join(source(r.source).citation.split()) in flat
    assert f"{sym.text(r.symbol)} = " in text
    if r.within:
        assert "\n\nValid for\n" in text


def test_the_equation_is_written_out():
    def text(tree: list) -> str:
        return equation_text(tree, str)

    a, b, c = ["arg", "a"], ["arg", "b"], ["arg", "c"]
    assert text(["mul", ["div", a, b], c]) == "(a / b) · c"  # `a / b · c` is read as a quotient of products
    assert text(["div", ["mul", a, b], c]) == "a · b / c" and text(["div", a, ["mul", b, c]]) == "a / (b · c)"
    assert text(["sub", a, ["sub", b, c]]) == "a − (b − c)" and text(["pow", ["neg", a], ["num", "2.0"]]) == "(-a)^2"
    assert text(["call", "where", ["le", a, b], a, b]) == "{a if a ≤ b, else b}"
    assert text(["call", "dot", a, b]) == "Σ(a · b)" and text(["call", "log", a]) == "ln(a)"


def test_every_relation_says_what_it_is_and_where_it_fails():
    """Two written lines at least, besides what is generated."""
    every(relations(), has_two_lines)


def has_two_lines(r: Relation) -> None:
    assert len([line for line in r.doc.splitlines() if line.strip()]) >= 2


def test_an_example_is_the_best_proved_point():
    every({r["id"]: r for r in reversed(make_register.examples())}, is_best)  # the first of each


def test_every_check_point_is_carried():
    carried = {key: handbook.check_points(r) for key, r in relations().items()}
    assert sum(map(len, carried.values())) == len(points()) > 1000
    every(carried, lambda found: [handbook.point_text(relations()[found[0]["id"]], p) for p in found])


def is_best(row: dict) -> None:
    mine = [p for p in points() if p.relation == row["id"]]
    assert STATUS.index(row["status"]) == min(STATUS.index(p.status) for p in mine)
    text = " ".join((relations()[row["id"]].__doc__ or "").split())
    assert f"({row['status']}: {' '.join(source(row['source']).citation.rstrip('.').split())}" in text


def test_entries_cost_nothing_at_import():
    code = ("import sys, desalbook.water.carbonate as c; assert 'desalbook.trail.handbook' in sys.modules; "
            "from desalbook.trail import handbook; assert not handbook._points.cache_info().currsize; "
            "c.__dict__; from desalbook.trail import REGISTER; next(iter(REGISTER.values())).__doc__; "
            "assert handbook._points.cache_info().currsize")
    subprocess.run([sys.executable, "-c", code], check=True)
