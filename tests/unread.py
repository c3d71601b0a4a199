"""What nobody reads: rows, columns and tables of the data, and keys of the design, that no plant asks for.

The lists may only become shorter. Whatever gains a reader is taken out of them, and nothing new may be put in:
`tests/test_readers.py` says what is missing and what is idle.
"""

from __future__ import annotations

__all__ = ["COLUMNS", "KEYS", "ROWS", "TABLES"]

TABLES: dict[str, str] = {}
"""Tables whose cells nobody reads, each with its reason."""
ROWS: dict[str, str] = {}
"""Rows without a reader, by table."""
COLUMNS: dict[str, str] = {}
"""Columns without a reader, by table."""

KEYS = {
    **dict.fromkeys((
        "project.name",
        "project.client",
        "project.revision",
        "project.made_by",
        "project.checked_by",
        "project.note",
    ), "stands on the sheet, read from the section itself"),
    **dict.fromkeys((
        "water.analyses.share",
        "water.analyses.ions",
        "water.analyses.bicarbonate_from",
        "water.analyses.ph",
        "water.analyses.ph_total",
        "water.analyses.lab_temperature",
        "water.analyses.measured_tds",
        "water.analyses.conductivity",
        "water.analyses.conductivity_temperature",
        "water.analyses.carbon_dioxide",
    ), "blended before there are lines, read from the section itself"),
}
"""Keys of the design that no room asks for, each with its reason."""
