"""What a design file says of scaling: section ``[scaling]``."""

from __future__ import annotations

from desalbook.units import Factor, Fraction, Section, field, mapping
from desalbook.units.fieldmeta import Named

__all__ = ["Scaling"]

MINERAL_KEYS = ("calcite", "aragonite", "gypsum", "anhydrite", "barite", "celestite", "fluorite", "brucite", "silica")


class Scaling(Section):
    """Section ``[scaling]``: limits that overrule the table, and the chart's K where the user reads it."""

    without_antiscalant: Named = mapping(
        "index",
        MINERAL_KEYS,
        {},
        title="Highest saturation index without antiscalant",
        symbol="SI_0",
        possible=("-3", "4"),
        hint="By mineral; what is not written is taken from the table of limits",
    )
    with_antiscalant: Named = mapping(
        "index",
        MINERAL_KEYS,
        {},
        title="Highest saturation index with antiscalant",
        symbol="SI_a",
        possible=("-3", "4"),
        hint="By mineral, as the supplier of the antiscalant states it; what is not written is taken from the table",
    )
    highest_recovery: Fraction = field(
        "fraction",
        "75 %",
        title="Highest recovery looked at for the onset of scale",
        symbol="Y_max",
        possible=("20 %", "85 %"),
        usual=("60 %", "80 %"),
        hint="The chart of saturation ends there",
    )
    stiff_davis_k: Factor | None = field(
        "factor",
        None,
        title="K of the Stiff and Davis index, read from the standard's chart",
        symbol="K",
        possible=("1", "4.5"),
        usual=("1.5", "3.8"),
        source="astm-d4582",
        hint="At the ionic strength and temperature of the hottest concentrate; left out, a thermodynamic K is "
        "computed, which lies 0.7 to 1.0 below a closed form of the chart that circulates",
    )
