"""The reference: everything the kit offers, knows and judges, as one page made from the kit itself."""

from desalbook.reference.checks import Judgement, judgements
from desalbook.reference.page import FILE, page, write
from desalbook.reference.python import Entry, entries

__all__ = ["FILE", "Entry", "Judgement", "entries", "judgements", "page", "write"]
