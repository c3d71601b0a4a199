"""Each stand-alone calculation against a published or hand-worked value, with its source beside it."""

from __future__ import annotations

from typing import Any, NamedTuple

from desalbook import calc
from desalbook.units import parse
from tests.every import every


class Worked(NamedTuple):
    """One calculation with a result somebody else found.

    Parameters
    ----------
    name : str
        Of the calculation.
    given : dict
    expected : dict
        Id and text with unit.
    within : float
        Relative, from the digits that are printed or from the physics that differs.
    source : str
    """

    name: str
    given: dict[str, Any]
    expected: dict[str, str]
    within: float
    source: str


WORKED = {
    "filters, one out of service": Worked(
        "filters", dict(flow="18400 m3/d", count=4, diameter="5.2073 m", rate_limit="20 m/h",
                        rate_limit_backwashing="20 m/h", rate_limit_outage="30 m/h"),
        {"filters.rate": "9 m/h", "filters.rate_one_backwashing": "12 m/h", "filters.rate_outage": "18 m/h"}, 1e-3,
        "Davis, Water and Wastewater Engineering (2010), example 11-5: 18 400 m3/d on 4 filters at 216 m3/(d m2) "
        "is 21.296 m2 each; with one out the rate is 4/3, with two out 2"),
    "tank": Worked(
        "tank", dict(raw_flow="420 m3/h", retention_time="1 h", usable="80 %"), {"storage.volume": "525 m3"}, 1e-9,
        "worked by hand: 420 m3/h for an hour, in four fifths of the volume"),
}


def test_values():
    every(WORKED, holds)


def holds(case: Worked) -> None:
    result = getattr(calc, case.name)(**case.given)
    for id, text in case.expected.items():
        found = result[id]
        away = abs(float(found) / parse(text, found.kind) - 1)
        assert away <= case.within, f"{id}: {result.show(id)}, expected {text} ({case.source})"
    record = result.ledger  # the same to the last bit, recorded
    assert all(float(record[id]) == float(result[id]) for id in case.expected)


def test_every_calculation_is_held_to_a_value():
    assert {case.name for case in WORKED.values()} == set(calc.__all__)
    assert all(len(case.source) > 20 for case in WORKED.values())
