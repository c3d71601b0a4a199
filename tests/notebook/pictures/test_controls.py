"""The course of a train as drawn is the course of its trial."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from desalbook.controls.trial import Case, trace
from desalbook.notebook.pictures.controls import start_and_stop
from tests import shared


@pytest.mark.parametrize("name", (shared.HARBOUR, "beach-well.toml"))
def test_every_step_with_its_time(name):
    plant = shared.plant(name)
    told = trace(plant.sized.control.train, Case((), "run"))
    html = start_and_stop(plant)
    said = re.search(r"<desc[^>]*>(.*?)</desc>", html)[1]
    assert not any("fault" in what for _, _, what in told), "no fault is named where none is put in"
    for (begin, _, title), (end, _, _) in pairwise(told):
        assert f"{title} {end - begin:.0f} s" in said
    assert ("Dechlorination" in html) == ("dosing" in plant.sized.control.train.has)


def test_the_bars_keep_to_the_time_axis():
    html = start_and_stop(shared.plant())
    ends = [float(x) + float(w) for x, w in re.findall(r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', html)]
    axis = float(re.search(r'd="M262,[\d.]+L([\d.]+),', html)[1])
    assert max(ends) == pytest.approx(axis, abs=0.2)
