"""The values context: the same rooms, the same numbers to the last bit, nothing recorded but picks and verdicts."""

from __future__ import annotations

import numpy as np
import pytest

from desalbook.plant import size
from desalbook.problems import TrailError
from desalbook.trail import (
    Figure,
    Ledger,
    Values,
    assumed,
    checked,
    current,
    given,
    is_given,
    relation,
    scope,
    values,
)
from desalbook.units import M2, Count, M3PerS, MPerS
from tests import shared

TABLES = ("streams", "equipment", "chemicals", "lines", "design_pressures", "outages")


@relation("Rate tried", symbol="v", unit="m/s", source="definition", within={"flow": ("0 m3/s", "2 m3/s")})
def rate_tried(flow: M3PerS, area: M2, units: Count) -> MPerS:
    """Flow over area."""
    return (flow / (area * units)) ** 1.5


def _inputs():
    return {"flow": given("a.flow", 3.7, "flow", title="Flow"), "area": assumed(
        "a.area", 1.3, "area", title="Area", source="definition"), "units": assumed(
        "a.units", 2.0, "count", title="Units", source="definition")}


def test_a_value_has_the_bits_of_the_recorded_line():
    with Ledger().recording():
        recorded = rate_tried.at("a.rate", **_inputs())
    with values() as book:
        plain = rate_tried.at("a.rate", **_inputs())
    assert isinstance(plain, Figure) and plain == recorded and plain.id == recorded.id and plain.kind is recorded.kind
    assert book["a.rate"] == recorded and "a.rate" in book and not book.lines
    assert book.cautions["a.rate"] and "outside the range" in book.cautions["a.rate"][0]


def test_arrays_over_cases_pass_and_say_which_cases_are_outside():
    with values() as book:
        inputs = _inputs() | {"flow": np.array([1.0, 3.7, 1.5])}
        with scope(corner="cold"):
            found = rate_tried.at("b.rate", **inputs)
        alone = [float(rate_tried.at(f"b.rate{i}", **inputs | {"flow": x})) for i, x in enumerate(inputs["flow"])]
    assert isinstance(found, np.ndarray) and found.tolist() == alone
    (sentence, where), = book.cautions["b.rate@cold"]
    assert "outside the range" in sentence and where.tolist() == [False, True, False]


def test_an_iteration_keeps_nothing():
    with values(keep=False) as book:
        for x in (1.0, 2.0):
            assert rate_tried.at("c.rate", flow=x, area=2.0, units=1.0) == (x / 2.0) ** 1.5
    assert not book.values


def test_a_verdict_over_cases_has_a_margin_each():
    with values() as book:
        limit = assumed("d.limit", 4.0, "flow", title="Limit", source="definition")
        checked("d.check", np.array([3.0, 5.0]), "<=", limit, title="Flow", do="lower it")
        checked("d.same", assumed("d.flow", 3.0, "flow", title="Flow", source="definition"), "<=", limit, title="Flow",
                do="lower it")
    assert book.judged["d.check"].margin.tolist() == [0.25, -0.25]
    assert book.lines["d.same"].more["margin"] == 0.25


@pytest.mark.parametrize("wrong, word", [({"flow": 1.0, "area": 1.0}, "units is missing"),
                                         ({"flow": 1.0, "area": 1.0, "units": 1.0, "more": 2.0}, "more is unknown")])
def test_arguments_are_asked_for_by_name(wrong, word):
    with values(), pytest.raises(TrailError, match=word):
        rate_tried.at("e.rate", **wrong)


def test_a_second_value_under_one_id_is_refused():
    with values(), pytest.raises(TrailError, match="already"):
        rate_tried.at("f.rate", flow=1.0, area=1.0, units=1.0)
        rate_tried.at("f.rate", flow=1.0, area=1.0, units=1.0)


def test_who_wrote_a_value_is_known_in_both_contexts():
    for book in (Ledger().recording(), values()):
        with book:
            _inputs()
            assert is_given("a.flow") and not is_given("a.area") and current()["a.flow"] == 3.7


def proofs(ledger: Ledger) -> set[str]:
    """Lines that only prove a root: its residuals, and what nothing but a residual uses."""
    used: dict[str, set[str]] = {}
    for id, line in ledger.lines.items():
        for x in line.inputs.values():
            used.setdefault(getattr(x, "id", ""), set()).add(id)
    found = {r["id"] for line in ledger.lines.values() for r in line.more.get("residual", ())}
    for id in reversed(ledger.lines):  # what uses a line stands after it
        if ledger.lines[id].sort in ("computed", "engine") and id in used and used[id] <= found:
            found.add(id)
    return found


PROVED_APART = ("membrane.element.", "second_pass.element.")
"""The test condition of an element run back: the proof that its sheet was fitted, part of the record alone."""


def differences(recorded, plain) -> list[str]:
    """Values, verdicts and tables of a recorded and a plain plant that are not the same to the last bit."""
    found, book = [], plain.ledger
    assert isinstance(book, Values)
    book.asked()
    unneeded = proofs(recorded.ledger) | {id for id in recorded.ledger.lines if id.startswith(PROVED_APART)}
    for id, line in recorded.ledger.lines.items():
        if line.sort == "checked":
            if id not in book.lines or book.lines[id].more != line.more:
                found.append(id)
        elif line.value is not None:
            was = book.values.get(id)
            if was is None:
                same = id in unneeded
            else:
                same = np.array_equal(line.value, was.values) if line.keys is not None else line.value == was
            if not same:
                found.append(id)
    found += [id for id in book.values if id not in recorded.ledger.lines]
    return found + [t for t in TABLES if repr(getattr(recorded, t)) != repr(getattr(plain, t))]


@pytest.mark.parametrize("name", [shared.HARBOUR, shared.WELL])
def test_a_plant_of_values_is_the_recorded_plant_to_the_last_bit(name):
    plain = size(shared.demo(name), recording=False)
    assert differences(shared.sized(name), plain) == []
    plain.ledger.values["membrane.flux"] = Figure(1.0, id="membrane.flux", kind=plain.ledger["membrane.flux"].kind)
    assert differences(shared.sized(name), plain) == ["membrane.flux"]
    del plain.ledger.values["membrane.flux"]
    assert differences(shared.sized(name), plain) == ["membrane.flux"]
