"""What a design file says of the filters' pressure vessels and of the place they stand on: ``[filter_vessel]``."""

from __future__ import annotations

from desalbook.tables import table
from desalbook.units import Count, Fraction, GaugePa, M, MPerS, Section, choice, field

__all__ = ["FilterVessel"]


class FilterVessel(Section):
    """Section ``[filter_vessel]``: plate, pressure, nozzles, place."""

    form: str = choice(
        {"vertical": "Vertical, bed across the shell", "horizontal": "Horizontal, bed along the shell"},
        "vertical", title="Form of the vessel",
        hint="Vertical for small ones, horizontal where much area must stand in little room",
    )
    drum_length: M = field("length", "6 m", title="Straight length of a horizontal shell", symbol="L_s",
                           possible=("1 m", "30 m"), usual=("4 m", "15 m"), hint="Between the two heads")
    material: str = choice(table("vessel_plates").options(), "k02700", title="Plate",
                           hint="Strength and corrosion allowance come from its row of the table")
    design_pressure: GaugePa | None = field(
        "gauge pressure", None, title="Design pressure of the filters", symbol="P",
        possible=("0.5 bar g", "40 bar g"), usual=("4 bar g", "10 bar g"),
        hint="Where nothing is written, the class of their section: what the feed pump can raise, and surge")
    joint_efficiency: Fraction = field(
        "fraction", "85 %", title="Joint efficiency", symbol="E", possible=("45 %", "100 %"), usual=("70 %", "100 %"),
        source="asme-bpvc-viii-1", hint="By the radiography of the welds")
    corrosion_allowance: M = field(
        "length.small", "1.5 mm", title="Corrosion allowance", symbol="c", possible=("0 mm", "10 mm"),
        usual=("0 mm", "3 mm"), hint="A sound lining needs little; no lining lasts for ever")
    shell_allowance: M = field(
        "length", "0.45 m", title="Shell beyond media and freeboard", symbol="h_s", possible=("0 m", "3 m"),
        usual=("0.2 m", "0.8 m"), source="wi-nr-811", hint="For the underdrain and the collector")
    nozzle_velocity: MPerS = field(
        "velocity", "2.5 m/s", title="Velocity in nozzles", symbol="v_n", possible=("0.3 m/s", "6 m/s"),
        usual=("1.5 m/s", "3 m/s"), hint="Sizes inlets and outlets")
    fittings_share: Fraction = field(
        "fraction", "20 %", title="Nozzles, manways, feet and lining over shell and heads", symbol="x_f",
        possible=("0 %", "100 %"), usual=("10 %", "35 %"), hint="Added to the mass of shell and heads")
    rows: Count = field("count", "2", title="Rows of filters in the battery", symbol="n_r", possible=("1", "10"),
                        usual=("1", "3"), scope="train", hint="How the battery stands on the floor")
    gap: M = field("length", "0.8 m", title="Gap between vessels", symbol="g", possible=("0.2 m", "5 m"),
                   usual=("0.6 m", "1.5 m"), hint="Room to pass between two vessels")
    aisle: M = field("length", "1.8 m", title="Aisle of valves between rows", symbol="g_a", possible=("0.3 m", "10 m"),
                     usual=("1.2 m", "3 m"), hint="Room for valves and people")
