"""What an exercise is: givens drawn by a seed, a way through the relations, and the same way with one mistake.

Right and wrong answers come from the same relations: a mistake changes a given, or leaves out or replaces
one step. A seed whose right and wrong answers cannot be told apart is drawn again.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from desalbook.problems import DesignError
from desalbook.trail import Figure, Ledger, assumed
from desalbook.trail.words import low_first
from desalbook.units import KINDS, parse, show, to_display, unit_label
from desalbook.units.display import from_display, in_currency

__all__ = ["CURRENCY", "Drawn", "Exercise", "Given", "Mistake", "Reply", "draw", "misread", "read", "said", "scaled",
           "taken_as", "unit_of"]

CURRENCY = "USD"
"""Currency of the exercises; the kit's numbers of money have that of a design, and none of their own."""

_FACTORS = ((10.0, "a power of ten; see the decimal point."), (100.0, "per cent and fraction."),
            (1000.0, "a prefix: mg and g, L and m3, W and kW."), (1e6, "two prefixes."),
            (24.0, "hours and days."), (60.0, "minutes and hours."), (3600.0, "seconds and hours."),
            (4.402867, "gpm and m3/h."), (14.50377, "psi and bar."), (3.28084, "feet and metres."),
            (2.0, "a half or a double."), (4.0, "the diameter for the radius."), (1.698, "gfd and L/(m2 h)."))
"""Ratios of a wrong answer to the right one that tell what went wrong in any exercise."""
_APART = 3.0
"""Answers this many tolerances apart are told apart with room on both sides."""
_TRIES = 200
_DIGITS = 3
Values = dict[str, float]
Work = Callable[[Mapping[str, Figure], str], Figure]


@dataclass(frozen=True)
class Given:
    """A number of the exercise.

    Parameters
    ----------
    name, title, symbol : str
    kind : str
    low, high : str
        Ends between which it is drawn, as people write them.
    """

    name: str
    title: str
    symbol: str
    kind: str
    low: str
    high: str

    def draw(self, by: random.Random) -> float:
        """A value of three significant digits in the unit it is shown in."""
        a, b = (float(to_display(parse(x, KINDS[self.kind]), self.kind)) for x in (self.low, self.high))
        number = by.uniform(a, b)
        if self.kind == "count":
            return float(round(number))
        return float(from_display(float(f"{number:.{_DIGITS}g}"), self.kind))


@dataclass(frozen=True)
class Mistake:
    """A mistake people make.

    Parameters
    ----------
    key : str
        Also told to `Exercise.work`, which may then leave out or replace a step.
    words : str
        What was done, for the person who did it.
    change : callable, optional
        Gives the givens as they were misunderstood.
    """

    key: str
    words: str
    change: Callable[[Values], Values] | None = None


@dataclass(frozen=True)
class Exercise:
    """An exercise before its numbers are drawn.

    Parameters
    ----------
    key, title : str
    level : int
        1 one step, 2 several steps, 3 several steps of different rooms.
    text : str
        The question, without the numbers.
    givens : tuple of Given
    answer : str
        Kind of the answer.
    work : callable
        Way through the relations: (figures by name, key of a mistake or "") -> Figure.
    mistakes : tuple of Mistake
    tolerance : float
        Relative.
    """

    key: str
    title: str
    level: int
    text: str
    givens: tuple[Given, ...]
    answer: str
    work: Work
    mistakes: tuple[Mistake, ...]
    tolerance: float = 0.01

    def draw(self, seed: object) -> Drawn:
        """This exercise with the numbers of a seed."""
        return _drawn(self, seed)

    def solve(self, values: Values, slip: str = "") -> tuple[Figure, Ledger]:
        """The answer for these givens, and the trail that led to it."""
        book = Ledger()
        with book.recording():
            figures = {g.name: assumed(f"given.{g.name}", values[g.name], g.kind, title=g.title, symbol=g.symbol,
                                     source="exercise") for g in self.givens}
            return self.work(figures, slip), book

    def wrong(self, values: Values, mistake: Mistake) -> float:
        """The answer of somebody who makes this one mistake."""
        changed = mistake.change(dict(values)) if mistake.change else dict(values)
        return float(self.solve(changed, mistake.key)[0])


@dataclass(frozen=True)
class Reply:
    """What is said to an answer.

    Parameters
    ----------
    right : bool
    words : str
    mistake : str
        Key of the mistake that was recognised; empty when none was.
    judged : bool
        False when it could not be read, which is no try.
    """

    right: bool
    words: str
    mistake: str = ""
    judged: bool = True


class Drawn:
    """An exercise with its numbers.

    Parameters
    ----------
    exercise : Exercise
    seed : str
        Whatever names the student.
    values : dict
        SI value of each given.
    """

    def __init__(self, exercise: Exercise, seed: str, values: Values):
        self.exercise, self.seed, self.values = exercise, seed, values
        self.figure, self.ledger = exercise.solve(values)

    @property
    def right(self) -> float:
        """The answer in SI."""
        return float(self.figure)

    def question(self, units: str = "si") -> list[tuple[str, str]]:
        """Title and value of each given in a display set, in order."""
        return [(g.title, said(self.values[g.name], g.kind, units, digits=5, trim=True)) for g in self.exercise.givens]

    def parts(self, units: str = "si") -> list[tuple[str, str, str, str]]:
        """Title, symbol, number and unit of each given apart, for a table."""
        return [(g.title, g.symbol, show(self.values[g.name], g.kind, units, False, 5, trim=True),
                 unit_of(g.kind, units)) for g in self.exercise.givens]

    def check(self, text: str, units: str = "si") -> Reply:
        """Judge an answer with its unit; what cannot be read is said in one line and is no attempt.

        Parameters
        ----------
        text : str
            A number and its unit, of any display set.
        units : {"si", "us"}
            Set in which numbers are said back.
        """
        ex = self.exercise
        try:
            value = read(text, ex.answer)
        except DesignError as problem:
            return Reply(False, str(problem), judged=False)
        if _near(value, self.right, ex.tolerance):
            return Reply(True, f"Right: {said(self.right, ex.answer, units)}.")
        for m in ex.mistakes:
            if _near(value, ex.wrong(self.values, m), ex.tolerance):
                return Reply(False, f"Not yet. {m.words}", m.key)
        words, key = self._far(value)
        return Reply(False, f"{said(value, ex.answer, units)} is not correct yet: {words}", key)

    def _far(self, value: float) -> tuple[str, str]:
        """What can be said of an answer that is neither right nor one of the usual mistakes, and its name if any."""
        ex, steps = self.exercise, [x for x in self.ledger.lines.values() if x.sort == "computed"]
        last = f"Go back to the last step, {low_first(steps[-1].title)}" if steps else "Go back to the last step"
        if value * self.right <= 0:
            if value == 0:
                return "zero is no answer here. A unit or a number may be missing.", "sign"
            return "it has the wrong sign; see what is taken from what, and in which order.", "sign"
        ratio = value / self.right
        for times, words in _FACTORS:
            for factor, side in ((times, "large"), (1 / times, "small")):
                if _near(ratio, factor, ex.tolerance):
                    return f"it is {times:g} times too {side}, {words}", "factor"
        for m, n in combinations([m for m in ex.mistakes if m.change], 2):
            values = n.change(m.change(dict(self.values)))  # type: ignore[misc]
            if _near(value, float(ex.solve(values, m.key)[0]), ex.tolerance):
                return f"two mistakes at once. {m.words} And: {low_first(n.words)}", f"{m.key}+{n.key}"
        off = abs(ratio - 1)
        if off < 3 * ex.tolerance:
            return f"it is {off * 100:.2g} % off, near enough for a rounded step; carry more digits.", "rounding"
        side = "high" if ratio > 1 else "low"
        size = f"{off * 100:.0f} % too {side}" if ratio < 2 and ratio > 0.5 else (
            f"{ratio:.3g} times too large" if ratio > 1 else f"{1 / ratio:.3g} times too small")
        return f"it is {size}, and not one of the common mistakes. {last}, or open a hint.", ""

    def hints(self) -> list[str]:
        """Steps of the trail in words, one after the other."""
        steps = [x for x in self.ledger.lines.values() if x.sort == "computed"]
        return [f"Step {n} of {len(steps)}: {x.title}. {_doc(x)}" for n, x in enumerate(steps, 1)]

    def answer(self, units: str = "si") -> str:
        """The answer in a display set."""
        return said(self.right, self.exercise.answer, units)

    def solution(self, units: str = "si") -> str:
        """The way to the answer, step by step, typeset, as HTML."""
        from desalbook.notebook.exercises.solved import typeset

        return typeset(self.ledger, units)

    def options(self, units: str = "si") -> list[tuple[str, str]]:
        """Answers to choose from, (mark, words); none here, for the answer is a number."""
        return []

    def wrong(self, units: str = "si") -> list[tuple[str, str]]:
        """Key of each usual mistake and the answer it gives."""
        return [(m.key, said(self.exercise.wrong(self.values, m), self.exercise.answer, units))
                for m in self.exercise.mistakes]

    @property
    def within(self) -> str:
        """The tolerance and why it is there, in words."""
        return f"Within {self.exercise.tolerance * 100:g} % counts, for the givens are known to {_DIGITS} digits."

    @property
    def unit(self) -> str:
        """Units an answer may have, as examples."""
        return " or ".join(dict.fromkeys(unit_of(self.exercise.answer, u) for u in ("si", "us"))) or "a plain number"


def unit_of(kind: str, units: str = "si") -> str:
    """Unit of a kind in a display set, with the currency where it is money.

    Parameters
    ----------
    kind : str
        A key of `KINDS`.
    units : {"si", "us"}
    """
    return in_currency(unit_label(kind, units), kind, CURRENCY)


def said(value: float, kind: str, units: str = "si", **how: Any) -> str:
    """A number with its unit, with the currency where it is money.

    Parameters
    ----------
    value : float
        In SI.
    kind : str
    units : {"si", "us"}
    **how
        As `desalbook.units.show` takes it.
    """
    return in_currency(show(value, kind, units, **how), kind, CURRENCY)


def read(text: str, kind: str) -> float:
    """An answer in SI; the currency may stand beside money or not.

    Parameters
    ----------
    text, kind : str

    Raises
    ------
    DesignError
        It is not one number and one unit of the kind.
    """
    if kind.startswith("money"):
        text = re.sub(rf"\b{CURRENCY}\s*/\s*", "1/", text, flags=re.IGNORECASE)
        text = re.sub(rf"\b{CURRENCY}\b", "", text, flags=re.IGNORECASE).strip()
    return parse(text, KINDS[kind], "answer")


def _doc(line: Any) -> str:
    return " ".join((getattr(line.relation, "doc", "") or "").split())


def draw(exercise: Any, seed: object) -> Any:
    """An exercise with the numbers of a seed: a `Drawn`, or a `Posed` decision.

    Parameters
    ----------
    exercise : Exercise or Decision
    seed : object
        Whatever names the student.

    Raises
    ------
    DesignError
        No such numbers were found, which is a defect of the exercise.
    """
    return exercise.draw(seed)


def _drawn(exercise: Exercise, seed: object) -> Drawn:
    """The numbers of a seed; drawn again until every right and wrong answer can be told from the others.

    Raises
    ------
    DesignError
        No such numbers were found, which is a defect of the exercise.
    """
    for n in range(_TRIES):
        by = random.Random(f"{exercise.key}/{seed}/{n}")
        values = {g.name: g.draw(by) for g in exercise.givens}
        answers = [float(exercise.solve(values)[0]), *(exercise.wrong(values, m) for m in exercise.mistakes)]
        if all(not _near(a, b, _APART * exercise.tolerance) for a, b in combinations(answers, 2)):
            return Drawn(exercise, str(seed), values)
    raise DesignError("right and wrong answers cannot be told apart", where=f"exercise {exercise.key}",
                      value=str(seed), do="take another seed")


def _near(a: float, b: float, tolerance: float) -> bool:
    return abs(a - b) <= tolerance * abs(b)


def misread(name: str, kind: str) -> Callable[[Values], Values]:
    """The number is read in the US unit and used as if it were in the SI unit."""
    def change(values: Values) -> Values:
        return values | {name: float(from_display(to_display(values[name], kind, "us"), kind))}
    return change


def scaled(name: str, factor: float) -> Callable[[Values], Values]:
    """The number is taken too large or too small."""
    def change(values: Values) -> Values:
        return values | {name: values[name] * factor}
    return change


def taken_as(name: str, text: str, kind: str) -> Callable[[Values], Values]:
    """Another number stands in for it, for example nothing."""
    def change(values: Values) -> Values:
        return values | {name: parse(text, KINDS[kind])}
    return change
