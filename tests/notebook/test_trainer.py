"""A fault is a question: the page keeps the answer back, and the trial judges what the class says."""

from __future__ import annotations

import pytest

from desalbook.controls.trial import Case, first_cause
from desalbook.notebook.trainer import FaultQuestion
from desalbook.problems import DesignError
from tests import shared


@pytest.mark.parametrize(("fault", "cause"), (
    ("feed_pump fails", "low suction pressure"), ("dosing empty", "empty day tank"),
    ("seal leaks", "high permeate conductivity"), ("raw water stops", "low level of the raw tank")))
def test_the_trial_judges_the_answer(fault, cause):
    question = FaultQuestion(shared.plant(), fault)
    assert question.answer(cause.upper()).startswith("Right: ") and "In service" in question.answer(cause)
    assert question.answer("loss of supply").startswith("No: ") and question.answer("").startswith("No: ")


def test_the_question_keeps_its_answer_back():
    question = FaultQuestion(shared.plant(), "hp_pump fails")
    html = question._repr_html_()
    assert "HP pump fails" in html and html.count("<li>") > 10
    assert first_cause(shared.sized().control.train, question.case) not in html.split("<ul>")[0]


def test_what_stops_nothing_is_an_answer():
    assert first_cause(shared.sized().control.train, Case((), "run")) == ""
    assert FaultQuestion(shared.plant(), "permeate frozen").answer("nothing").startswith("Right")


def test_an_unknown_fault_or_step_is_refused():
    for fault, at in (("pump explodes", "run"), ("hp_pump fails", "lunch")):
        with pytest.raises(DesignError, match="no such"):
            FaultQuestion(shared.plant(), fault, at)
