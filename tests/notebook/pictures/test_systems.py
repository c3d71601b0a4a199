"""Pumps and systems drawn: every pump, both states, units in the axes, words for those who do not see."""

from __future__ import annotations

from desalbook.notebook.pictures.systems import system_picture
from desalbook.units import show
from tests import shared


def test_every_pump_with_its_points():
    plant = shared.plant()
    for units, label in (("si", "flow of one, m³/h"), ("us", "flow of one, gpm")):
        text = system_picture(plant, units)
        assert text.count("<svg") == text.count("<desc>") == 1  # one picture, one file
        assert text.count(label) == text.count("<g transform") == plant.curves["pump"].nunique()
        for at in plant.operating_points.itertuples():
            assert show(at.flow, "flow", units) in text and show(at.head, "head", units) in text
    higher = shared.plant(plant.design.with_value("cip.pump_head", "60 m"))
    assert system_picture(higher) != system_picture(plant)
