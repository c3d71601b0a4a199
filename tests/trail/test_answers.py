"""A relation called by hand: right answers, the right refusal, and the equation beside the number."""

from __future__ import annotations

import pickle

import numpy as np
import pint
import pytest

from desalbook.problems import DesignError
from desalbook.trail import REGISTER, Answer, Answers, Figure, relation
from desalbook.units import DifferencePa, Fraction, M3PerS, W
from tests import shared

OTHER = pint.UnitRegistry()


@relation("Shaft power tried", symbol="P_s", unit="W", source="definition", within={"flow": ("0 m3/h", "400 m3/h")})
def shaft_power_tried(flow: M3PerS, pressure_rise: DifferencePa, pump_efficiency: Fraction) -> W:
    """Hydraulic power over efficiency."""
    return flow * pressure_rise / pump_efficiency


def test_texts_quantities_and_figures_give_one_answer():
    expected = 120 / 3600 * 60e5 / 0.85
    by_text = shaft_power_tried("120 m3/h", "60 bar", "85 %")
    assert isinstance(by_text, Answer) and by_text == pytest.approx(expected, rel=1e-14)
    assert shaft_power_tried(OTHER.Quantity(120, "m^3/hour"), pressure_rise=OTHER.Quantity(60, "bar"),
                             pump_efficiency=0.85) == pytest.approx(expected, rel=1e-12)
    plant = shared.plant()
    flow = plant["hp_pump.flow"]
    assert shaft_power_tried(flow, "60 bar", 0.85) == pytest.approx(float(flow) * 60e5 / 0.85, rel=1e-14)
    assert by_text.to("kW") == pytest.approx(expected / 1e3) and by_text.quantity.check("[power]")
    assert float(pickle.loads(pickle.dumps(by_text))) == by_text


def test_an_answer_shows_equation_numbers_source_and_range():
    page = shaft_power_tried("450 m3/h", "60 bar", 0.85)._repr_html_()
    assert page.count("<math") == 2 and "Shaft power tried" in page and "definition" in page
    assert "outside the range" in page
    assert "outside the range" not in shaft_power_tried("350 m3/h", "60 bar", 0.85)._repr_html_()


def test_arrays_pass():
    found = shaft_power_tried(OTHER.Quantity(np.array([60.0, 120.0]), "m^3/hour"), "60 bar", 0.85)
    assert isinstance(found, Answers) and len(found) == 2
    assert found.to("kW").tolist() == pytest.approx([x / 3600 * 60e5 / 0.85 / 1e3 for x in (60, 120)])
    assert "<math" in found._repr_html_() and np.asarray(found).tolist() == found.values.tolist()


@pytest.mark.parametrize("args, named, word", [
    ((0.033, "60 bar", 0.85), {}, "no unit"), (("120 m3/h", "60 bar"), {}, "pump_efficiency is missing"),
    (("120 m3/h",), {"flow": "1 m3/h"}, "twice"), ((), {"area": "1 m2"}, "no such argument"),
    (("120 m3", "60 bar", 0.85), {}, "120 m3"), (("1 m3/h", "1 bar", 0.9, 3), {}, "too many"),
    ((Figure(1.0, id="a", kind=shaft_power_tried.kind), "60 bar", 0.85), {}, "is a power")])
def test_what_is_wrong_is_refused_by_name(args, named, word):
    with pytest.raises(DesignError, match=word):
        shaft_power_tried(*args, **named)


def test_every_relation_of_the_kit_can_be_called():
    assert all(callable(r) for r in REGISTER.values())
