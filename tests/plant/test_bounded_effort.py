"""A second pass is searched for with bounded effort: steps of the vessel solver, counted, beside the plain plant's."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from desalbook import paths
from desalbook.design import from_text
from desalbook.membrane import solver
from desalbook.plant import size
from desalbook.plant.tear_streams import solve_tear_streams

SECOND = "[membrane.second_pass]\n"
WITH_PH = '[membrane.second_pass]\nph = 9.5\nshare = "60 %"\n'
STAGE = '[[membrane.stages]]\nname = "second"\nvessel_fraction = "60 %"\n'


def steps(monkeypatch, more: str) -> int:
    """Newton steps of the vessel solver for one cold size."""
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    design = from_text(text.replace("[energy_recovery]", f"{more}\n[energy_recovery]", 1), Path("second.toml"))
    design = design.with_value("membrane.recovery", "41.37 %")  # no other test has sized it: nothing is cached
    counted = []
    real = solver._newton

    def newton(*given):
        counted.append(1)
        return real(*given)

    with monkeypatch.context() as patch:
        patch.setattr(solver, "_newton", newton)
        size(design, recording=False)
    return len(counted)


@pytest.mark.parametrize(("more", "most"), [(SECOND, 700), (WITH_PH, 700), (STAGE + SECOND, 1000)])
def test_a_second_pass_takes_bounded_steps(monkeypatch, more, most):
    """3 957 steps before: vessels without an answer were tried again and again from one and the same guess."""
    assert 50 < steps(monkeypatch, more) < most


def test_a_case_that_was_never_answered_is_asked_once():
    asked = np.zeros(2, dtype=int)

    def again(x, rows):
        asked[rows] += 1
        return 0.5 * x + 1.0, rows == 0

    x, gap = solve_tear_streams(again, np.ones((2, 1)), np.ones((2, 1)), 1e-12)
    assert x[0, 0] == pytest.approx(2.0, rel=1e-11) and gap[1] == np.inf
    assert asked[1] == 1 and asked[0] > 1
