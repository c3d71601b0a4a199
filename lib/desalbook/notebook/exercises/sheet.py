"""The trainer's sheet: what every student was given, the answers, and what each mistake would give."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from desalbook.notebook.exercises.book import BOOK
from desalbook.notebook.exercises.kit import draw
from desalbook.units import show

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["class_sheet", "headlines"]


def class_sheet(students: Iterable[object], exercises: Iterable[str] | None = None, units: str = "si") -> pd.DataFrame:
    """One row for each student and exercise.

    Parameters
    ----------
    students : iterable
        What each of them writes as seed: a name or a number.
    exercises : iterable of str, optional
        Keys of `BOOK`; all when left out.
    units : {"si", "us"}

    Returns
    -------
    DataFrame
        Columns id, student, level, given, answer, within, mistakes.
    """
    import pandas as pd

    rows = []
    for student in students:
        for key in exercises or BOOK:
            d, ex = draw(BOOK[key], student), BOOK[key]
            rows.append({
                "id": key, "student": str(student), "level": ex.level,
                "given": "; ".join(f"{t} {v}" for t, v in d.question(units)),
                "answer": show(d.right, ex.answer, units), "within": f"{ex.tolerance * 100:g} %",
                "mistakes": "; ".join(f"{m.key} {show(ex.wrong(d.values, m), ex.answer, units)}"
                                      for m in ex.mistakes)})
    return pd.DataFrame(rows)


def headlines(seed: object, units: str = "si") -> str:
    """Answers of one seed, one a line, as a text."""
    wide = max(len(e.title) for e in BOOK.values())
    return "\n".join(f"{e.title:<{wide}}  {show(draw(e, seed).right, e.answer, units)}" for e in BOOK.values())
