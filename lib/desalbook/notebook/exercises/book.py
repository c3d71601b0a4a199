"""All exercises by their keys, in the order of the walk."""

from __future__ import annotations

from desalbook.notebook.exercises.decisions import DECISIONS, Decision
from desalbook.notebook.exercises.equipment import EQUIPMENT
from desalbook.notebook.exercises.kit import Exercise
from desalbook.notebook.exercises.pressure import PRESSURE
from desalbook.notebook.exercises.water import WATER

__all__ = ["BOOK"]

BOOK: dict[str, Exercise | Decision] = {e.key: e for e in (*WATER, *PRESSURE, *EQUIPMENT, *DECISIONS)}
"""Exercises by key: calculations first, then decisions."""
