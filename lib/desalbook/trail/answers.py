"""A relation called by hand: one equation, with quantities in and out, and the equation beside the number."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.problems import DesignError
from desalbook.trail.figure import Figure
from desalbook.trail.glossary import symbol_of, term
from desalbook.trail.ledger import Ledger, Line, assumed
from desalbook.trail.relation import Relation
from desalbook.units.display import show
from desalbook.units.kinds import Kind
from desalbook.units.quantities import from_si, quantity, to_si

__all__ = ["Answer", "Answers", "call"]


class Answer(Figure):
    """One number with its unit, and the line that made it."""

    __slots__ = ("line",)
    line: Line

    def __repr__(self) -> str:
        return f"<{self.title}: {self.show()}>"

    def __reduce__(self):
        return (float, (float(self),))

    def _repr_html_(self) -> str:
        return described(self.line, self.show())


class Answers:
    """Many numbers of one relation over arrays, in coherent SI.

    Parameters
    ----------
    values : array
    relation : Relation
    """

    def __init__(self, values: np.ndarray, relation: Relation):
        self.values, self.relation = values, relation

    @property
    def kind(self) -> Kind:
        """What the numbers mean."""
        return self.relation.kind

    @property
    def quantity(self) -> Any:
        """A pint Quantity in the unit in which the kind is shown."""
        return quantity(self.values, self.kind)

    def to(self, unit: str) -> np.ndarray:
        """The numbers in a unit."""
        return np.asarray(from_si(self.values, self.kind, unit))

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> np.ndarray:
        return np.array(self.values, dtype=dtype)

    def __len__(self) -> int:
        return len(self.values)

    def __repr__(self) -> str:
        shown = ", ".join(show(float(x), self.kind) for x in self.values.ravel()[:6])
        return f"<{self.relation.title}: {shown}{', ...' if self.values.size > 6 else ''}>"

    def _repr_html_(self) -> str:
        from desalbook.trail.typeset import equation

        shown = "; ".join(show(float(x), self.kind) for x in self.values.ravel()[:12])
        more = f" and {self.values.size - 12} more" if self.values.size > 12 else ""
        return (f"<p><b>{self.relation.title}</b>: {shown}{more}</p><p>{equation(self.relation)}</p>"
                f"<p>Source: {self.relation.source} {self.relation.place}</p>")


def described(line: Line, shown: str) -> str:
    """Title, number, equation with symbols and with numbers, source, and what lies outside its range."""
    from desalbook.trail.typeset import equation, numbers

    relation = line.relation
    parts = [f"<p><b>{relation.title}</b>: {shown}</p>", f"<p>{equation(relation)}</p>", f"<p>{numbers(line)}</p>",
             f"<p>Source: {relation.source} {relation.place}</p>"]
    parts += [f"<p>{note}</p>" for note in (relation.note, *line.cautions) if note]
    return "".join(parts)


def call(relation: Relation, *args: Any, **named: Any) -> Answer | Answers:
    """Evaluate a relation for quantities, texts with units, Figures, or numbers where there is no unit.

    Parameters
    ----------
    *args, **named
        The relation's arguments, in their order or by name; arrays broadcast.

    Raises
    ------
    DesignError
        An argument is missing, unknown, without its unit, or of another dimension.
    """
    names = [a.name for a in relation.args]
    function = relation.key.rpartition(":")[2]
    wanted = f"{function}({', '.join(names)})"
    if len(args) > len(names):
        raise DesignError("too many arguments", where=function, do=f"call {wanted}")
    given = dict(zip(names, args, strict=False))
    for name, value in named.items():
        if name not in names or name in given:
            raise DesignError("given twice" if name in given else "no such argument", where=f"{function}({name})",
                              do=f"call {wanted}")
        given[name] = value
    if missing := [n for n in names if n not in given]:
        raise DesignError(f"{missing[0]} is missing", where=function, do=f"call {wanted}")
    si = {a.name: to_si(given[a.name], a.kind, f"{function}({a.name})") for a in relation.args}
    if any(np.ndim(x) for x in si.values()):
        with np.errstate(all="ignore"):
            return Answers(np.asarray(relation.plain(**si), dtype=float), relation)
    with Ledger().recording() as ledger:
        figures = {a.name: assumed(f"given.{a.name}", si[a.name], a.kind, title=_title(a.name),
                                   symbol=symbol_of(a.name), source="definition") for a in relation.args}
        made = relation.at(f"answer.{function}", **figures)
    answer = Answer(float(made), id=made.id, kind=made.kind, symbol=made.symbol, title=made.title)
    answer.line = ledger.lines[made.id]
    return answer


def _title(name: str) -> str:
    known = term(name)
    return known.title if known is not None else name.replace("_", " ")


Relation.called = call
