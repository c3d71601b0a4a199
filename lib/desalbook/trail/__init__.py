"""The calculation trail: relations, figures, the ledger and what is made from them."""

from desalbook.trail.figure import Choice, Column, Figure
from desalbook.trail.functions import (
    Lookup,
    dot,
    exp,
    largest,
    last,
    log,
    log10,
    lookup,
    maximum,
    minimum,
    smallest,
    sqrt,
    total,
    up,
    where,
)
from desalbook.trail.ledger import (
    Ledger,
    Line,
    assumed,
    checked,
    current,
    engine,
    given,
    govern,
    note,
    picked,
    residual,
    scope,
    solved,
    what_if,
)
from desalbook.trail.relation import REGISTER, Constant, Relation, constant, relation

__all__ = ["REGISTER", "Choice", "Column", "Constant", "Figure", "Ledger", "Line", "Lookup", "Relation",
           "assumed", "checked", "constant", "current", "dot", "engine", "exp", "given", "govern", "largest",
           "last", "log", "log10", "lookup", "maximum", "minimum", "note", "picked", "relation", "residual",
           "scope", "smallest", "solved", "sqrt", "total", "up", "what_if", "where"]
