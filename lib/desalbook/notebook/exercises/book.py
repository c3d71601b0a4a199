"""All exercises by their keys, in the order of the walk."""

from __future__ import annotations

from desalbook.notebook.exercises.kit import Exercise
from desalbook.notebook.exercises.pressure import PRESSURE
from desalbook.notebook.exercises.water import WATER

__all__ = ["BOOK"]

BOOK: dict[str, Exercise] = {e.key: e for e in (*WATER, *PRESSURE)}
"""Exercises by key."""
