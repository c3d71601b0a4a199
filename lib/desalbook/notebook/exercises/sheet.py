"""The trainer's sheet: what every student was given, the answers, and what each mistake would give."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import TYPE_CHECKING

from desalbook.fine import fine
from desalbook.notebook.audit_view import Html
from desalbook.notebook.exercises.book import BOOK
from desalbook.notebook.exercises.kit import Drawn, Exercise, draw, unit_of
from desalbook.notebook.pictures import column
from desalbook.theme import css
from desalbook.units import show

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["class_page", "class_sheet", "givens", "headlines"]


def class_sheet(students: Iterable[object], exercises: Iterable[str] | None = None, units: str = "si",
                seed: str = "") -> pd.DataFrame:
    """One row for each student and exercise.

    Parameters
    ----------
    students : iterable
        What each of them writes as seed: a name or a number.
    exercises : iterable of str, optional
        Keys of `BOOK`; all if omitted.
    units : {"si", "us"}
    seed : str
        Of the class; none for students who work alone.

    Returns
    -------
    DataFrame
        Columns id, student, level, given, answer, within, mistakes.
    """
    import pandas as pd

    rows = []
    for student in students:
        for key in exercises or BOOK:
            ex = BOOK[key]
            d = draw(ex, f"{seed}/{student}" if seed else student)
            rows.append({
                "id": key, "student": str(student), "level": ex.level,
                "given": "; ".join(f"{t} {v}" for t, v in d.question(units)),
                "answer": d.answer(units), "within": f"{ex.tolerance * 100:g} %" if isinstance(ex, Exercise) else "",
                "mistakes": "; ".join(f"{k} {v}" for k, v in d.wrong(units))})
    return pd.DataFrame(rows)


def class_page(students: Iterable[object], exercises: Iterable[str] | None = None, units: str = "si",
               seed: str = "") -> Html:
    """The same sheet to read or to print: a table for each exercise that is a calculation, a row for each student.

    Parameters
    ----------
    students, exercises, units, seed
        As of `class_sheet`.

    Returns
    -------
    Html
        Givens, answer and what each mistake would give; below, what each mistake is.
    """
    names = list(students)
    tables = "".join(_sheet(ex, names, [draw(ex, f"{seed}/{n}" if seed else n) for n in names], units)
                     for key in exercises or BOOK if isinstance(ex := BOOK[key], Exercise))
    return Html(f"<div class='desalbook'><style>{css()}{_LOOK}{column.LOOK}</style>{tables}</div>")


_LOOK = """
.desalbook .db-sheet{overflow-x:auto;margin:0 0 1.2em}
.desalbook .db-sheet th{text-align:right;font-weight:normal;vertical-align:bottom;max-width:9em;white-space:normal}
.desalbook .db-sheet td{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
.desalbook .db-sheet :is(th,td):first-child{text-align:left}
.desalbook .db-sheet :is(th,td).answer{font-weight:bold}
.desalbook .db-sheet p{margin:.2em 0}
"""


def _sheet(ex: Exercise, names: list[object], drawn: list[Drawn], units: str) -> str:
    unit = unit_of(ex.answer, units)
    heads = ["Student", *(f"{g.title}{_of(unit_of(g.kind, units))}" for g in ex.givens),
             f"Answer{_of(unit)}", *(m.key for m in ex.mistakes)]
    rows = [[str(name), *(number for _, _, number, _ in d.parts(units)), show(d.right, ex.answer, units, False),
             *(show(ex.wrong(d.values, m), ex.answer, units, False) for m in ex.mistakes)]
            for name, d in zip(names, drawn, strict=True)]
    marked = 1 + len(ex.givens)

    points = [[""] * len(rows), *(column.tails(numbers) for numbers in list(zip(*rows, strict=True))[1:])]

    def line(cells: list[str], tag: str, tails: Sequence[str]) -> str:
        return "<tr>" + "".join(f"<{tag}{' class=answer' if n == marked else ''}{tail}>{fine(escape(c))}</{tag}>"
                                for n, (c, tail) in enumerate(zip(cells, tails, strict=True))) + "</tr>"

    body = "".join(line(r, "td", tails) for r, tails in zip(rows, zip(*points, strict=True), strict=True))
    words = "".join(f"<p>{escape(m.key)}: {fine(escape(m.words))}</p>" for m in ex.mistakes)
    return (f"<div class='db-sheet' tabindex='0' role='group' aria-label='{escape(ex.title, quote=True)}'>"
            f"<p><b>{escape(ex.title)}</b>, level {ex.level}, within {ex.tolerance * 100:g} %</p>"
            f"<table>{line(heads, 'th', [''] * len(heads))}{body}</table>{words}</div>")


def _of(unit: str) -> str:
    return f", {unit}".replace(" ", "\N{NO-BREAK SPACE}").replace(",\N{NO-BREAK SPACE}", ", ", 1) if unit else ""


def headlines(seed: object, units: str = "si") -> str:
    """Answers of one seed to the calculations, one a line, as a text."""
    some = [e for e in BOOK.values() if isinstance(e, Exercise)]
    wide = max(len(e.title) for e in some)
    return "\n".join(f"{e.title:<{wide}}  {draw(e, seed).answer(units)}" for e in some)


def givens(seed: object, units: str = "si") -> str:
    """What one seed is given in each calculation, one a line, as a text; no answer is in it."""
    rows = [(f"{e.title}: {title}", f"{number} {unit}".rstrip()) for e in BOOK.values() if isinstance(e, Exercise)
            for title, _, number, unit in draw(e, seed).parts(units)[:1]]
    wide = max(len(t) for t, _ in rows)
    return "\n".join(f"{t:<{wide}}  {v}" for t, v in rows)
