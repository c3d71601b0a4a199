"""What a design file says of instruments and control: section ``[control]``."""

from __future__ import annotations

from desalbook.tables import table
from desalbook.units import Count, Factor, Fraction, Named, Section, Turbidity, each, field

__all__ = ["Control"]


class Control(Section):
    """Section ``[control]``: ranges of instruments, spare signals, set points that no limit of the plant decides."""

    range_factor: Factor = field(
        "factor", "1.25", title="Minimum range / normal value", symbol="k_r", possible=("1", "3"),
        usual=("1.2", "1.5"), source="common-practice", hint="So that the pointer stands inside the scale",
    )
    range: Named = each(
        "factor", tuple(table("instruments")), title="Range high of instruments, fixed", symbol="x_u",
        kinds={row.key: row["quantity"].value for row in table("instruments").values()},
        hint="By measuring place; auto takes the smallest everyday range that serves",
    )
    trip_in_range: Fraction = field(
        "fraction", "95 %", title="Maximum trip, of the range", symbol="x_t", possible=("50 %", "100 %"),
        usual=("90 %", "95 %"), source="common-practice", hint="A trip at the end of a range is never seen",
    )
    turbidity_trip: Turbidity = field(
        "turbidity", "1 NTU", title="Filtrate turbidity that stops a train", symbol="N_t",
        possible=("0.2 NTU", "5 NTU"),
        usual=("0.5 NTU", "1 NTU"), source="common-practice", hint="After its delay of ten minutes",
    )
    conductivity_factor: Factor = field(
        "factor", "1.2", title="Alarm / expected permeate conductivity", symbol="k_c",
        possible=("1.02", "3"), usual=("1.1", "1.5"), source="common-practice", hint="A leaking seal shows first here",
    )
    spare_signals: Fraction = field(
        "fraction", "20 %", title="Spare signals installed", symbol="x_s", possible=("0 %", "100 %"),
        usual=("10 %", "25 %"), source="common-practice", hint="Of each type",
    )
    digital_inputs: Count = field("count", "16", title="Digital inputs of a module", symbol="n_m", possible=("4", "64"),
                                  usual=("8", "32"), source="common-practice", hint="Of the controller chosen")
    digital_outputs: Count = field("count", "16", title="Digital outputs of a module", symbol="n_m",
                                   possible=("4", "64"), usual=("8", "32"), source="common-practice",
                                   hint="Of the controller chosen")
    analogue_inputs: Count = field("count", "8", title="Analogue inputs of a module", symbol="n_m",
                                   possible=("2", "32"), usual=("4", "16"), source="common-practice",
                                   hint="Of the controller chosen")
    analogue_outputs: Count = field("count", "4", title="Analogue outputs of a module", symbol="n_m",
                                    possible=("2", "32"), usual=("4", "8"), source="common-practice",
                                    hint="Of the controller chosen")
