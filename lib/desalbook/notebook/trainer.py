"""A question for the class: a fault is put into the trial of a train, and the students say what stops it first."""

from __future__ import annotations

from html import escape
from typing import Any

from desalbook.controls.trial import CAUSES, FAULTS, Case, first_cause, programme, trace
from desalbook.problems import DesignError

__all__ = ["FaultQuestion"]


class FaultQuestion:
    """A fault at the beginning of a step, without its answer; `answer` says what the trial found.

    Parameters
    ----------
    plant : Plant or Sized
    fault : str
        One of `desalbook.controls.trial.FAULTS`.
    at : str
        Step of the sequences at whose beginning it comes.

    Raises
    ------
    DesignError
        No such fault or step.
    """

    def __init__(self, plant: Any, fault: str, at: str = "run"):
        steps = programme().steps
        for word, known, what in ((fault, FAULTS, "fault"), (at, steps, "step")):
            if word not in known:
                raise DesignError(f"no such {what}", where=f"question.{what}", value=word, allowed=", ".join(known),
                                  do="use one of these")
        self._train = getattr(plant, "sized", plant).control.train
        self.case, self.step = Case((fault,), at), steps[at]["title"]

    def _repr_html_(self) -> str:
        given = self.case.faults[0].replace("_", " ").replace("hp ", "HP ")
        options = "".join(f"<li>{escape(text)}</li>" for text in (
            *CAUSES.values(), "motor feedback missing", "valve travel late", "signal out of its range", "nothing"))
        return (f'<div class="desalbook"><p>Step “{escape(self.step)}”: {escape(given)}. What stops the train '
                f"first?</p><ul>{options}</ul></div>")

    def answer(self, said: str) -> str:
        """Whether what the class says is what stops the train first, and the course of the trial.

        Parameters
        ----------
        said : str
            One of the words of the question; capitals do not matter.
        """
        found = first_cause(self._train, self.case) or "nothing"
        right = bool(said.strip()) and found.casefold().startswith(said.strip().casefold())
        begin = f"Right: {found}." if right else f"No: {found} comes first."
        course = (f"{second:5.0f} s  {what}" for second, _, what in trace(self._train, self.case))
        return "\n".join((begin, *course))
