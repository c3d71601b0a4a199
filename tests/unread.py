"""What nobody reads: rows, columns and tables of the data, and keys of the design, that no plant asks for.

The lists may only become shorter. Whatever gains a reader is taken out of them, and nothing new may be put in:
`tests/test_readers.py` says what is missing and what is idle.
"""

from __future__ import annotations

__all__ = ["COLUMNS", "KEYS", "ROWS", "ROWS_ELSEWHERE", "ROWS_RARE", "SHEETS", "TABLES"]

# Whether these become limits, inputs or nothing is settled in the judgement issue.
TABLES = {
    **dict.fromkeys(("ageing", "fittings", "pump_minimum_efficiency", "setpoints", "temperature_dependence"),
                    "settled in the judgement issue"),
    "flange_classes": "the schedule of pressures shows its titles; its numbers are settled in the judgement issue",
}
"""Tables whose cells nobody reads, each with its reason."""
ROWS = {
    "guidelines": (
        "elements-per-vessel feed-temperature membrane-free-chlorine salt-rejection feed-turbidity filter-rate "
        "filter-rate-one-out filter-rate-gravity filter-rate-gravity-one-out filter-rate-potable-pressure "
        "filter-count media-depth depth-over-size filter-clean-pressure-drop filter-wash-pressure-drop filter-run "
        "backwash-expansion backwash-rate backwash-duration backwash-off-line backwash-water-share "
        "air-scour-low air-scour-high "
        "underdrain-wash-capacity underdrain-orifice-share collector-clearance vessel-side-shell backwash-store "
        "cartridge-loading cartridge-clean-pressure-drop cartridge-change-pressure-drop cartridge-rating "
        "suction-velocity suction-velocity-absolute discharge-velocity high-pressure-velocity stagnant-velocity "
        "npsh-margin-ratio npsh-margin pump-flow-ratio-low pump-flow-ratio-high pump-efficiency-high-pressure "
        "pump-efficiency-displacement motor-load isobaric ERD-back-pressure isobaric ERD-leakage isobaric ERD-mixing "
        ""
        ""
        "product-boron-eu "
        "product-tds-palatable product-fluoride product-nitrate product-conductivity product-storage raw-storage "
        "cleaning-volume-factor flush-volumes brine-over-ambient"
    ),
    "alloys": "n08904 s32760-least s32760",
    "drives": "drive-10 drive-50 drive-100",
    "ion_passage": "CO3",
    "pressure_classes": "vessel-21 vessel-31 vessel-41 vessel-124",
}
"""Rows without a reader, by table."""
COLUMNS = {
    "cartridges": "length outer_diameter rating",
    "displacement_pumps": "efficiency_low efficiency_high",
    "drives": "output",
    "energy_recovery": "efficiency_means",
    "media": "uniformity usual_size_low usual_size_high",
    "motor_efficiency": "efficiency_class poles least_output greatest_output",
    "motor_efficiency_60hz": "premium_4p super_premium_2p super_premium_4p",
    "velocities": "usual_low usual_high",
    "vessel_plates": "remark",
}
"""Columns without a reader, by table."""

# These have a reader that the battery of plants does not come to.
ROWS_RARE = {
    "motor_efficiency": "ie2-4p ie4-4p",
    "motor_speeds": "60-hz-4p",
    "motor_starting": "nema-on-line",
}
"""Four poles with another class, or 60 Hz: no plant of the battery has such a motor."""
ROWS_ELSEWHERE = {
    "guidelines": "cleaning-flow-loss cleaning-salt-rise cleaning-pressure-drop-rise",
}
"""Read where logged data are normalised (`desalbook.cleaning.normalisation`), which no plant does."""
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
    "water.sdi": "settled in the judgement issue",
    "water.toc": "settled in the judgement issue",
    "filters.reason": "settled in the judgement issue",
    "energy.currency": "names the currency of prices, read from the section itself",
}
"""Keys of the design that no room asks for, each with its reason."""
SHEETS = ("elements.", "energy_recovery.sheets.")
"""Sheets a supplier states: they stand in the place of a row of their table, whose columns are watched."""
