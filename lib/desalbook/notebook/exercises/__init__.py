"""Exercises for a class: numbers drawn by seed, answers with units, mistakes known by name, solutions as a trail."""

from __future__ import annotations

from typing import Any

from desalbook.notebook.exercises.book import BOOK
from desalbook.notebook.exercises.kit import Drawn, Exercise, Reply, draw

__all__ = ["BOOK", "Drawn", "Exercise", "Reply", "class_page", "class_sheet", "desk", "draw", "givens", "headlines",
           "trainer"]


def __getattr__(name: str) -> Any:
    """Tables and widgets are loaded when they are asked for."""
    if name in ("class_page", "class_sheet", "givens", "headlines"):
        from desalbook.notebook.exercises import sheet

        return getattr(sheet, name)
    if name == "desk":
        from desalbook.notebook.exercises.table import desk

        return desk
    if name == "trainer":
        from desalbook.notebook.exercises.class_desk import trainer

        return trainer
    raise AttributeError(f"no {name!r} among the exercises")
