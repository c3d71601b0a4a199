"""All exercises by their keys, in the order of the walk."""

from __future__ import annotations

from desalbook.notebook.exercises.decisions import DECISIONS, Decision
from desalbook.notebook.exercises.equipment import EQUIPMENT
from desalbook.notebook.exercises.kit import Exercise
from desalbook.notebook.exercises.operation import OPERATION
from desalbook.notebook.exercises.pressure import PRESSURE
from desalbook.notebook.exercises.water import WATER

__all__ = ["BOOK", "SETS"]

BOOK: dict[str, Exercise | Decision] = {e.key: e for e in (*WATER, *PRESSURE, *EQUIPMENT, *OPERATION, *DECISIONS)}
"""Exercises by key: calculations first, then decisions."""

SETS: dict[str, tuple[str, ...]] = {
    "00-start": ("feed", "recovery", "choose-recovery"),
    "01-raw-water": ("salinity", "alkalinity", "concentrate", "tank"),
    "02-pretreatment": ("filter-rate", "one-washing", "sdi", "mend"),
    "03-membranes": ("flux", "driving", "wall", "aged", "polarisation", "rejection", "governing-case"),
    "04-pressure-and-energy": ("shaft", "boost", "mixing", "specific", "npsh", "velocity", "surge"),
    "05-dosing": ("bisulfite", "hypochlorite", "defend-dose"),
    "06-product-water": ("boron", "ct"),
    "07-cleaning": ("cip",),
    "08-studies": ("season-power", "all-trains", "lowest-energy", "first-limit"),
    "09-audit": ("planted-error",),
    "12-cost": ("scaled-cost", "capital", "capital-per-volume"),
    "13-controls": ("trip", "conductivity-alarm", "signals", "first-trip"),
    "14-power": ("apparent", "transformer", "dip", "cable-drop", "correction", "motor-current"),
    "15-pack": ("test-pressure",),
}
"""Exercises by the notebook they belong to; each is in one of them."""
