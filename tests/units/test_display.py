"""What is shown is read back, to half a unit of the last printed digit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desalbook.units import KINDS, from_display, parse, show, show_range, to_display, unit_label

THIN = "\N{THIN SPACE}"
WHOLE = ("count", "charge number")


@pytest.mark.parametrize(("value", "kind", "units", "text"), [
    (2500 / 86400, "flow.day", "si", f"2{THIN}500.0 m3/d"),
    (6e6, "gauge pressure", "si", "60.00 barg"), (6e6, "gauge pressure", "us", "870.2 psig"),
    (298.15, "temperature", "si", "25.0 degC"), (298.15, "temperature", "us", "77.0 degF"),
    (273.15, "temperature", "si", "0.0 degC"), (271.35, "temperature", "si", "-1.8 degC"),
    (0.45, "fraction", "si", "45.00 %"), (8.0, "count", "si", "8"), (1234567.0, "count", "si",
     f"1{THIN}234{THIN}567"), (0.0, "flow", "si", "0 m3/h"), (-0.0, "flow", "si", "0 m3/h"),
    (1.5e-9, "diffusivity", "si", "1.500e-9 m2/s"), (0.99996, "factor", "si", "1.000"),
    (0.0001, "factor", "si", "0.0001000"),
    (0.00009999, "factor", "si", "9.999e-5"),
    (999999999.0, "factor", "si", "1.000e9"),
    (123456.0, "factor", "si", f"123{THIN}500"), (-2.0, "charge number", "si", "-2"),
    (0.035, "salinity", "si", "35.000 g/kg"), (math.nan, "flow", "si", "not a number"),
])
def test_shows(value, kind, units, text):
    assert show(value, kind, units) == text


def test_options():
    assert show(6e6, "gauge pressure", unit=False) == "60.00"
    assert show(6e6, "gauge pressure", digits=2) == "60 barg"
    assert show(6e6, KINDS["gauge pressure"], trim=True) == "60 barg"
    assert show(13.5e-3 / 3600, "flux", pretty=True) == "13.50 L/(m² h)"
    assert unit_label("temperature", "us") == "degF"
    assert unit_label("temperature", pretty=True) == "°C"
    low, high = parse("100 m3/d", "flow"), parse("20 000 m3/d", "flow")
    assert show_range(low, high, "flow.day") == f"100 to 20{THIN}000 m3/d"
    assert show_range(None, 0.6, "fraction") == "up to 60 %"
    assert show_range(278.15, None, "temperature") == "from 5 degC"
    with pytest.raises(ValueError, match="display set"):
        show(1.0, "flow", "metric")


def test_arrays_and_back():
    values = np.array([273.15, 298.15])
    assert to_display(values, "temperature") == pytest.approx([0.0, 25.0])
    assert from_display(to_display(values, "temperature", "us"), "temperature", "us") == pytest.approx(values)


def lost(value: float, kind: str, units: str, digits: int | None = None) -> float:
    """What reading back loses, in units of the last digit that a kind promises."""
    text = show(value, kind, units, digits=digits)
    back = parse(text, kind)
    assert show(back, kind, units, digits=digits) == text  # shown again, it does not wander
    number, again = to_display(value, kind, units), to_display(back, kind, units)
    if kind == "temperature":
        last = 10.0 ** -(KINDS[kind].digits - 2)
    else:
        last = 10.0 ** (math.floor(math.log10(abs(number))) - KINDS[kind].digits + 1)
    return abs(again - number) / last


SIZES = st.floats(-7, 11).flatmap(lambda p: st.floats(1, 9.9999999).map(lambda m: m * 10.0**p))


@pytest.mark.full
@settings(max_examples=3000, deadline=None)
@given(SIZES, st.booleans(), st.sampled_from(sorted(KINDS)), st.sampled_from(["si", "us"]))
def test_round_trip(size, negative, kind, units):
    number = size
    if kind in WHOLE:
        number = float(round(min(size, 1e6)) or 1)
    elif kind == "temperature":
        number = 1.0 + size % 900
    elif negative:
        number = -size
    if kind == "charge number" and negative:
        number = -number
    allowed = 0.5 + 1e-6  # the conversions themselves round, in the sixteenth figure
    assert lost(from_display(number, kind, units), kind, units) <= allowed


def test_round_trip_has_teeth():
    """One digit fewer than the kind promises loses more than half a unit."""
    assert lost(1.2345 / 3600, "flow", "si") <= 0.5 + 1e-6
    assert lost(1.2345 / 3600, "flow", "si", digits=3) > 0.5 + 1e-6


@settings(max_examples=300, deadline=None)
@given(SIZES, st.sampled_from(sorted(set(KINDS) - {*WHOLE, "temperature"})), st.sampled_from(["si", "us"]))
def test_form(size, kind, units):
    text = show(from_display(size, kind, units), kind, units, unit=False)
    if 1.001e-4 < size < 9.98e8:
        assert "e" not in text
    elif size < 9.99e-5 or size > 1.001e9:
        assert "e" in text
    figures = text.partition("e")[0].replace(THIN, "").replace(".", "").lstrip("0")
    assert len(figures) >= KINDS[kind].digits
    assert figures[KINDS[kind].digits:].strip("0") == ""


def test_pretty_units_are_read_back():
    for name in KINDS:
        for units in ("si", "us"):
            if name == "temperature":
                continue
            text = show(from_display(12.0, name, units), name, units, pretty=True)
            assert to_display(parse(text, name), name, units) == pytest.approx(12.0, rel=1e-9), text
