"""A value that fails by a last digit is shown with enough digits to see it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from desalbook.calculated import _judged
from desalbook.units import KINDS, pair, parse
from desalbook.units.quantities import text_of


@pytest.mark.parametrize(("value", "said"), [(45.0004e5, "45.0004 bar"), (45.5e5, "45.5 bar"), (46e5, "46.0 bar"),
                                            (45.04e5, "45.04 bar")])
def test_value_and_limit_differ_where_it_fails(value, said):
    x = SimpleNamespace(value=value, kind=KINDS["pressure difference"],
                        more={"sense": "<=", "limit": 45e5, "verdict": "fails"})
    shown, _, limit = _judged(x, "si").partition(", at most ")
    assert shown == said and limit == "45 bar" and shown != limit


@pytest.mark.parametrize("value", [100 * 745.69987158227022, 315e3, 1e5 / 3, 0.1 * 745.69987158227022])
def test_a_value_is_written_so_that_it_reads_back(value):
    """A held motor of 100 hp came back a digit smaller and fell out of its class of drives."""
    assert parse(text_of(value, "power"), KINDS["power"]) == value


@pytest.mark.parametrize(("value", "limit", "kind", "said"), [
    (0.9423, 0.95, "fraction", ("94.2", "95", "%")),
    (0.9499, 0.95, "fraction", ("94.99", "95", "%")),  # three digits would say that it stands at its limit
    (0.95, 0.95, "fraction", ("95", "95", "%")),
    (1.563e-6, 1e-5, "concentration", ("1.56", "10", "ug/L")),
    (5.951e-14, 1e-3, "fraction", ("0", "0.1", "%")),
])
def test_a_limit_is_written_as_it_was_set(value, limit, kind, said):
    assert pair(value, limit, kind) == said
