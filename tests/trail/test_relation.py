"""What a relation may say, and what it refuses while recording."""

from __future__ import annotations

import importlib.util
import textwrap

import numpy as np
import pytest

from desalbook.problems import TrailError
from desalbook.trail import Column, Figure, Ledger, checked, given, govern, note, picked, scope, what_if
from desalbook.trail.expression import evaluate
from desalbook.units import KINDS
from tests.every import every
from tests.register import by_room, draw, relations
from tests.trail import samples

HEAD = """
from desalbook.trail import constant, relation, where, up, total, lookup, sqrt
from desalbook.units.kinds import *
G = constant("g", 9.80665, "m/s^2", source="codata-2018")
OFFSET = 3.0
def twice(x): return x
"""


@pytest.fixture
def make(tmp_path):
    """Import a module with one relation of the given signature and body."""
    count = iter(range(100))

    def one(signature: str, body: str, unit: str = "m/s", result: str = "MPerS"):
        name = f"planted_{tmp_path.name}_{next(count)}"
        path = tmp_path / f"{name}.py"
        path.write_text(
            HEAD + f'\n@relation("t", symbol="t", unit="{unit}", source="common-practice")\n'
            f"def planted({signature}) -> {result}:\n" + textwrap.indent(body, "    ") + "\n"
        )
        spec = importlib.util.spec_from_file_location(name, path)
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        return module.planted

    return one


ALLOWED = ("v: MPerS, x: Factor", "return where(x >= 2, v, v / (1 + x) ** 0.5) + sqrt(v * v) - -v")
REFUSED = {
    "a bare outside name": ("v: MPerS", "return v * OFFSET"),
    "an attribute": ("v: MPerS", "return v.real"),
    "an index": ("v: MPerS", "return v[0]"),
    "a call of another function": ("v: MPerS", "return twice(v)"),
    "a built-in": ("v: MPerS", "return abs(v)"),
    "a module's function": ("v: MPerS", "return np.exp(v)"),
    "a text": ("v: MPerS", "return v * 'a'"),
    "a truth value": ("v: MPerS", "return v * True"),
    "an if expression": ("v: MPerS, x: Factor", "return v if x > 1 else x"),
    "a chained comparison": ("v: MPerS, x: Factor", "return where(0 < x < 1, v, v)"),
    "an equality": ("v: MPerS, x: Factor", "return where(x == 1, v, v)"),
    "a bitwise operator": ("v: MPerS, x: Factor", "return where((x > 1) & (x < 2), v, v)"),
    "an and": ("v: MPerS, x: Factor", "return where(x > 1 and x < 2, v, v)"),
    "floor division": ("v: MPerS, x: Factor", "return v // x"),
    "a remainder": ("v: MPerS, x: Factor", "return v % x"),
    "a lambda": ("v: MPerS", "return (lambda y: y)(v)"),
    "a comprehension": ("v: MPerS", "return [v for _ in v]"),
    "a keyword argument": ("v: MPerS", "return total(x=v)"),
    "a look-up in no table": ("v: MPerS", "return lookup(v, v)"),
    "two statements": ("v: MPerS", "w = v\nreturn w"),
    "no return": ("v: MPerS", "v + 1"),
    "a default": ("v: MPerS = 1.0", "return v"),
    "an argument that is not used": ("v: MPerS, x: Factor", "return v"),
    "an argument without a kind": ("v: float", "return v"),
}


def test_the_whitelist_allows_what_it_should(make):
    assert make(*ALLOWED).plain(v=3.0, x=1.0) == pytest.approx(3 / 2**0.5 + 3 + 3)


@pytest.mark.parametrize("what", REFUSED)
def test_whitelist_refuses(make, what):
    with pytest.raises(TrailError) as error:
        make(*REFUSED[what])
    assert "planted" in str(error.value) and "\n" not in str(error.value)


def test_the_unit_must_be_the_annotations(make):
    with pytest.raises(TrailError, match="not the unit"):
        make("v: MPerS", "return v", unit="m")


@pytest.mark.parametrize("relation", samples.RIGHT, ids=lambda r: r.key.partition(":")[2])
def test_one_text_one_function(relation):
    """The stored tree and the compiled function are the same equation, on numbers and on arrays."""
    _same(relation)


@pytest.mark.parametrize("room", by_room())
def test_tree_of_every_relation_is_its_function(room):
    every({key: relations()[key] for key in by_room()[room]}, _same)


def _same(relation):
    constants = {n: c.value for n, c in relation.constants.items()}
    for seed in range(3):
        values = draw(relation, seed)
        with np.errstate(all="ignore"):
            np.testing.assert_array_equal(
                evaluate(relation.tree, values, constants, relation.tables), relation.plain(**values)
            )


def test_the_hash_sees_the_equation_and_its_constants(make):
    a, b = make("v: MPerS", "return v * 2"), make("v: MPerS", "return v * 2.5")
    c, d = make("v: MPerS", "return v * 2"), make("v: MPerS, x: Factor", "return v * x")
    assert a.hash == c.hash and len({a.hash, b.hash, d.hash}) == 3


@pytest.fixture
def ledger():
    book = Ledger()
    with book.recording():
        yield book


@pytest.fixture
def inputs(ledger):
    return {
        "flow": given("duty.flow", 0.03, "flow", title="Flow"),
        "area": given("filters.area", 7.0, "area", title="Area"),
        "filters_in_service": given("filters.count", 8, "count", title="Filters"),
    }


def test_a_line_knows_its_parents_and_its_number(ledger, inputs):
    rate = samples.filtration_rate.at("filters.rate", **inputs)
    assert isinstance(rate, Figure) and rate == pytest.approx(0.03 / 56, rel=1e-15)
    assert ledger.lines["filters.rate"].parents() == ["duty.flow", "filters.area", "filters.count"]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"flow": 0.03}, "argument flow is float"),
        ({"flow": np.float64(0.03)}, "argument flow is float64"),
        ({"flow": None}, "argument flow is NoneType"),
        ({"depth": 1.0}, "no argument depth"),
    ],
)
def test_recording_refuses(inputs, change, says):
    with pytest.raises(TrailError, match=says) as error:
        samples.filtration_rate.at("filters.rate", **(inputs | change))
    assert "test_relation.py" in str(error.value)  # names the file of the call


def test_recording_refuses_a_wrong_family_with_the_same_unit(inputs):
    pressure = given("pump.osmotic", 1e5, "osmotic pressure", title="Osmotic pressure")
    limit = given("pump.limit", 1e5, "gauge pressure", title="Limit")
    with pytest.raises(TrailError, match="judged against"):
        checked("pump.check", pressure, "<=", limit, title="t", do="d")
    with pytest.raises(TrailError, match="argument area wants area, got osmotic pressure"):
        samples.filtration_rate.at("filters.rate", **(inputs | {"area": pressure}))


def test_arithmetic_leaves_the_trail(inputs):
    with pytest.raises(TrailError, match="argument area is float"):
        samples.filtration_rate.at("filters.rate", **(inputs | {"area": inputs["area"] * 2}))


def test_recording_refuses_a_figure_of_another_ledger(inputs):
    with Ledger().recording(), pytest.raises(TrailError, match="which this ledger does not hold"):
        samples.filtration_rate.at("filters.rate", **inputs)


def test_a_duplicate_or_improper_id_is_refused(inputs):
    samples.filtration_rate.at("filters.rate", **inputs)
    with pytest.raises(TrailError, match="in the ledger already"):
        samples.filtration_rate.at("filters.rate", **inputs)
    for bad in ("Filters.rate", "filters..rate", "filters.rate@cold", "filters.[a]", "1.a", ""):
        with pytest.raises(TrailError, match="not a proper id"):
            samples.filtration_rate.at(bad, **inputs)


def test_axes_must_be_the_same(ledger):
    flow = given("a.flow", [1.0, 2.0], "flow", title="f", axis="ion", keys=["Na", "Cl"])
    for axis, keys in (("ion", ["Cl", "Na"]), ("layer", ["Na", "Cl"])):
        other = given(f"a.{axis}", [1.0, 2.0], "concentration", title="c", axis=axis, keys=keys)
        with pytest.raises(TrailError, match="another axis"):
            samples.mixed.at("a.mixed", flow=flow, concentration=other)
    same = given("a.same", [1.0, 4.0], "concentration", title="c", axis="ion", keys=["Na", "Cl"])
    assert samples.mixed.at("a.mixed", flow=flow, concentration=same) == pytest.approx(3.0)
    x = given("a.x", 2.0, "factor", title="x")
    column = samples.scaled.at("a.scaled", concentration=same, x=x)
    assert isinstance(column, Column) and column.keys == ("Na", "Cl") and column["Cl"] == 8.0
    with pytest.raises(ValueError, match="read-only"):
        column.values[0] = 1.0


def test_a_branch_not_taken_does_no_harm(ledger):
    """Both branches of `where` are evaluated; one that divides by zero must not stop the other."""
    x = given("a.x", 0.0, "factor", title="x")
    assert samples.guarded.at("a.y", x=x) == 1.0


def test_no_answer_that_is_not_finite(inputs):
    nothing = given("filters.none", 0.0, "count", title="none")
    with pytest.raises(TrailError, match="not a finite number"):
        samples.filtration_rate.at("filters.rate", **(inputs | {"filters_in_service": nothing}))


def test_outside_its_range_the_number_comes_with_a_caution(ledger, inputs):
    much = given("duty.much", 0.1, "flow", title="much")
    samples.filtration_rate.at("filters.in", **inputs)
    samples.filtration_rate.at("filters.out", **(inputs | {"flow": much}))
    assert ledger.lines["filters.in"].cautions == []
    assert "flow lies outside the range" in ledger.lines["filters.out"].cautions[0]


def test_scope_corner_count_and_reason(ledger, inputs):
    why = given("filters.kind", "pressure", None, title="Kind")
    with scope("unit", corner="cold", count=8, because=[why]):
        samples.filtration_rate.at("filters.rate", **inputs)
    line = ledger.lines["filters.rate@cold"]
    assert (line.scope, line.corner, line.count) == ("unit", "cold", 8) and "filters.kind" in line.parents()


def test_the_governing_corner_is_a_line(ledger):
    by = {c: given(f"p.{c}", v, "gauge pressure", title=c) for c, v in (("cold", 2e5), ("hot", 1e5))}
    assert govern("p.most", by, "largest", title="p") == 2e5
    assert govern("p.least", by, "smallest", title="p") == 1e5
    assert ledger.lines["p.most"].more["why"] == "cold governs; next hot"


def test_a_check_has_three_verdicts(ledger):
    limit = given("a.limit", 100.0, "length", title="limit")
    for value, sense, verdict in (
        (80.0, "<=", "passes"),
        (96.0, "<=", "marginal"),
        (101.0, "<=", "fails"),
        (110.0, ">=", "passes"),
        (104.0, ">=", "marginal"),
        (99.0, ">=", "fails"),
    ):
        x = given(f"a.v{value:.0f}", value, "length", title="v")
        line = checked(f"a.v{value:.0f}.check", x, sense, limit, title="t", do="d")
        assert line.more["verdict"] == verdict


def test_a_size_that_the_kit_selected_is_not_marginal(ledger):
    limit, near = given("a.limit", 100.0, "length", title="limit"), given("a.v", 96.0, "length", title="v")
    size = picked("a.size", 2.0, "length", title="Size", rule="smallest", inputs={"v": near}, why="",
                  candidates=[{"key": "2", "value": 2.0, "won": True}])
    own = checked("a.own.check", near, "<=", limit, title="t", do="d", sized_by=[size])
    assert own.more["verdict"] == "passes" and own.more["selected"] == ["a.size"]
    held = checked("a.held.check", near, "<=", limit, title="t", do="d", sized_by=[limit])
    assert held.more["verdict"] == "marginal" and "selected" not in held.more
    over = given("a.over", 101.0, "length", title="v")
    assert checked("a.over.check", over, "<=", limit, title="t", do="d", sized_by=[size]).more["verdict"] == "fails"


def test_a_finding_that_is_no_ratio_is_a_line(ledger, inputs):
    note("filters.order", title="Order", verdict="review", why="too close", do="move one", inputs=inputs)
    assert ledger.lines["filters.order"].more["verdict"] == "review"


def test_what_if_moves_inputs_only():
    with what_if({"duty.flow": 1.01}), Ledger().recording():
        assert given("duty.flow", 2.0, "flow", title="f") == pytest.approx(2.02)
    assert KINDS["flow"].si == "m^3/s"
