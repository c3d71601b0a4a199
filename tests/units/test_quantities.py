"""Quantities in and out: what cannot be converted is refused, nothing is stripped of its unit in silence."""

from __future__ import annotations

import numpy as np
import pint
import pytest

from desalbook.problems import DesignError
from desalbook.units import KINDS, registry
from desalbook.units.quantities import from_si, quantity, to_si
from desalbook.units.spellings import SPELLINGS
from tests.every import every

OTHER = pint.UnitRegistry()  # a person's own


def test_texts_quantities_and_bare_numbers_become_si():
    cases = {
        "text": ("120 m3/h", "flow", 120 / 3600), "quantity": (OTHER.Quantity(120, "m^3/hour"), "flow", 120 / 3600),
        "own registry": (registry().Quantity(480, "gpm"), "flow", 480 * 3.785411784e-3 / 60),
        "years": (OTHER.Quantity([0, 3, 6], "year"), "time.year", [0, 3 * 31557600.0, 6 * 31557600.0]),
        "degC": (OTHER.Quantity(25, "degC"), "temperature", 298.15), "degF": ("77 degF", "temperature", 298.15),
        "percent": (OTHER.Quantity(42, "percent"), "fraction", 0.42), "fraction": (0.42, "fraction", 0.42),
        "array": (np.array([0.3, 0.4]), "fraction", [0.3, 0.4]), "texts": (["1 bar", "2 bar"], "pressure difference",
                                                                          [1e5, 2e5]),
        "m": (OTHER.Quantity(3, "m"), "length.small", 3.0), "count": (np.int64(7), "count", 7.0)}
    every(cases, lambda case: np.testing.assert_allclose(to_si(case[0], case[1]), case[2], rtol=1e-12))


@pytest.mark.parametrize("value, kind, word", [
    (3, "flow", "no unit"), (np.array([1.0, 2.0]), "flow", "needs a unit"), ([1.0], "time.year", "no unit"),
    (OTHER.Quantity(3, "m"), "flow", "no unit of a flow"), ("3 m", "flow", "unit of length"),
    (OTHER.Quantity(3, "bar"), "fraction", "no unit of a fraction"), (True, "count", "one number"),
    ("2,5 bar", "flow", "2,5")])
def test_what_has_no_unit_or_another_dimension_is_refused(value, kind, word):
    with pytest.raises(DesignError, match=word):
        to_si(value, kind, "x")


def test_a_value_goes_out_in_any_unit_of_its_dimension():
    assert from_si(1e5, "gauge pressure", "psig") == pytest.approx(14.5037738, rel=1e-8)
    assert from_si(1.0, "flow", "L/s") == pytest.approx(1000.0, rel=1e-12)
    assert quantity(298.15, "temperature").magnitude == pytest.approx(25.0, abs=1e-9)
    assert quantity(np.array([1.0, 2.0]), "length", "us").to("m").magnitude.tolist() == pytest.approx([1.0, 2.0])
    with pytest.raises(DesignError, match="no unit of a flow"):
        from_si(1.0, "flow", "kg")


def test_every_kind_goes_out_as_a_quantity_and_comes_back():
    def there_and_back(name):
        kind = KINDS[name]
        value = 280.0 if name == "temperature" else 0.5
        for units in ("si", "us"):
            back = to_si(quantity(value, kind, units), kind)
            assert back == pytest.approx(value, rel=1e-9), units

    every({k: k for k in KINDS}, there_and_back)
    assert len(SPELLINGS) == len(KINDS)
