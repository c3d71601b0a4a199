"""Readers of the record: table, page, recomputation, comparison. Each is a function of the record alone."""

from __future__ import annotations

from desalbook.audit.compare import Comparison, compare
from desalbook.audit.page import page
from desalbook.audit.recompute import Recomputed, recompute
from desalbook.audit.table import table

__all__ = ["Comparison", "Recomputed", "compare", "page", "recompute", "table"]
