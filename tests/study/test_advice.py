"""Advice with a number: the value passes, the next one of the grid does not, and what fails then is told."""

from __future__ import annotations

import pytest

from desalbook import api
from desalbook.study import smallest_change
from desalbook.study.advice import keys_of
from desalbook.units import to_display
from tests import shared


def verdicts(design, **texts):
    return api.size(design.with_values(texts)).verdicts


@pytest.mark.parametrize(("texts", "check", "key", "step"), [
    ({"membrane.vessels": "24"}, "membrane.flux.check", "membrane.vessels", 1.0),
    ({"contactor.bed_time": "2 min"}, "contactor.bed_time.check_time", "contactor.bed_time", 0.1)])
def test_it_is_the_smallest_change_that_passes(texts, check, key, step):
    design = shared.demo().with_values(texts)
    before = api.size(design).verdicts
    assert before[check].more["verdict"] == "fails"
    found = smallest_change(design, check)
    assert found is not None and found.key == key and found.check == check
    after = verdicts(design, **{key: found.text})
    assert after[check].more["verdict"] != "fails"
    worse = [x.title for id, x in after.items() if x.more["verdict"] == "fails"
             and (id not in before or before[id].more["verdict"] != "fails")]
    assert sorted(set(worse)) == sorted(found.breaks)
    unit = found.text.partition(" ")[2]
    new, old = (float(to_display(v, found.kind)) for v in (found.new, found.old))
    near = f"{round(new + (step if new < old else -step), 6):g} {unit}".strip()
    assert verdicts(design, **{key: near})[check].more["verdict"] == "fails"
    words = found.words()
    assert key in words and ("Lower" in words) == (found.new < found.old)


def test_a_check_that_passes_needs_none_and_an_option_may_help():
    assert smallest_change(shared.demo(), "membrane.flux.check") is None
    assert smallest_change(shared.demo(), "no.such.check") is None
    tight = api.size(shared.demo().with_values({"membrane.vessels": "24", "membrane.pressure_class": "vessel-69"}))
    found = smallest_change(tight.design, "membrane.rating_used.check")
    assert found is not None and found.key == "membrane.pressure_class" and found.new != found.old
    assert verdicts(tight.design, **{found.key: found.text})[found.check].more["verdict"] != "fails"
    assert found.words().startswith("Set ") and tight.advice("membrane.flux.check").startswith("Raise ")


def test_keys_are_those_that_the_advice_names():
    lines = shared.plant().verdicts
    assert keys_of(lines["membrane.lead_flux.check"]) == ["membrane.vessels", "membrane.recovery"]
    assert keys_of(lines["filters.run_worst.check"]) == ["filters.count"]  # it names none
    assert keys_of(lines["water.balance.check"]) == []
