"""Readers of the record: table, page, recomputation, comparison, review, doubts. Each needs the record alone."""

from __future__ import annotations

from desalbook.audit.compare import Comparison, compare
from desalbook.audit.doubt import closures, doubt
from desalbook.audit.marks import Marks
from desalbook.audit.page.document import page
from desalbook.audit.plan import plan, progress
from desalbook.audit.recompute import Recomputed, recompute
from desalbook.audit.register import register, register_page
from desalbook.audit.search import find, lineage, upstream
from desalbook.audit.table import table

__all__ = ["Comparison", "Marks", "Recomputed", "closures", "compare", "doubt", "find", "lineage", "page", "plan",
           "progress", "recompute", "register", "register_page", "table", "upstream"]
