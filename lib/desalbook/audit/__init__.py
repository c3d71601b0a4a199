"""Readers of the record: table, page, recomputation. Each is a function of the record and of nothing else."""

from __future__ import annotations

from desalbook.audit.page import page
from desalbook.audit.recompute import Recomputed, recompute
from desalbook.audit.table import table

__all__ = ["Recomputed", "page", "recompute", "table"]
