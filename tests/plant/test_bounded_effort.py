"""A second pass is searched for with bounded effort: steps of the vessel solver, counted, beside the plain plant's."""

from __future__ import annotations

import threading
from concurrent.futures import CancelledError
from pathlib import Path

import numpy as np
import pytest

import desalbook as db
from desalbook import paths
from desalbook.design import from_text
from desalbook.membrane import solver
from desalbook.plant import size
from desalbook.plant.tear_streams import solve_tear_streams

SECOND = "[membrane.second_pass]\n"
WITH_PH = '[membrane.second_pass]\nph = 9.5\nshare = "60 %"\n'
STAGE = '[[membrane.stages]]\nname = "second"\nvessel_fraction = "60 %"\n'


def harbour(more: str, recovery: str):
    """The harbour plant with more sections, at a recovery that no other test has sized: nothing of it is cached."""
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    design = from_text(text.replace("[energy_recovery]", f"{more}\n[energy_recovery]", 1), Path("second.toml"))
    return design.with_value("membrane.recovery", recovery)


def steps(monkeypatch, more: str) -> int:
    """Newton steps of the vessel solver for one cold size."""
    design = harbour(more, "41.37 %")
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


@pytest.mark.parametrize("at", [3, 120])
def test_a_search_stops_at_its_next_step_when_it_is_cancelled(monkeypatch, at):
    """Half a second and some hundred steps passed before, until the batch under way was solved."""
    cancel, counted = threading.Event(), []
    real = solver._newton

    def newton(*given):
        counted.append(1)
        if len(counted) == at:
            cancel.set()
        return real(*given)

    monkeypatch.setattr(solver, "_newton", newton)
    with pytest.raises(CancelledError, match="cancelled"):
        db.size(harbour(WITH_PH, f"41.{at} %"), cancel=cancel)
    assert len(counted) == at


def test_a_search_tells_how_far_it_is():
    told, cancel = [], threading.Event()

    def tell(what, tried, most):
        told.append((what, tried, most))
        if what.startswith("Vessels of the second pass"):
            cancel.set()  # from inside, too

    with pytest.raises(CancelledError):
        db.size(harbour(WITH_PH, "41.53 %"), progress=tell, cancel=cancel)
    assert [what for what, *_ in told][-1] == "Vessels of the second pass, first stage"
    assert told[0] == ("Vessels of the first stage", 0, 25)
    assert all(0 <= tried < most for _, tried, most in told)
