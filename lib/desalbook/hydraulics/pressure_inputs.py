"""What a design file says of pressure ratings, relief and the permeate side at rest: ``[design_pressure]``."""

from __future__ import annotations

from typing import Any

from desalbook.tables import table
from desalbook.units import M3, DifferencePa, Fraction, M, S, Section, choice, field

__all__ = ["DesignPressure"]

_YES_NO = {"yes": "Yes", "no": "No"}
_CLASSES = {"least": "Least class that holds", **table("pipe_classes").options()}


def _relief(
    title: str, default: str, hint: str = "Needed where the highest credible pressure passes the rating"
) -> Any:
    return choice(_YES_NO, default, title=title, hint=hint)


def _class(title: str) -> Any:
    return choice(_CLASSES, "least", title=title,
                  hint="Rating of the parts; least is the lowest class above the governing pressure")


class DesignPressure(Section):
    """Section ``[design_pressure]``: classes of sections, relief valves, margins, and the permeate at rest."""

    relief_feed: str = _relief("Relief valve behind the feed pump", "no")
    relief_high: str = _relief(
        "Relief valve behind the high-pressure pump", "yes", "Set below the rating of the vessels, for the full flow"
    )
    relief_reject: str = _relief("Relief valve behind the recovery device", "no")
    relief_permeate: str = _relief(
        "Relief valve or disc on the permeate header", "yes", "A closed permeate valve otherwise bursts it"
    )
    relief_wash: str = _relief("Relief valve behind the wash pump", "no")
    relief_cleaning: str = _relief("Relief valve behind the cleaning pump", "no")
    relief_transfer: str = _relief("Relief valve behind product and flush pump", "no")
    outfall_valve: str = choice(
        _YES_NO,
        "no",
        title="A valve can shut the reject line behind the recovery device",
        hint="If it can, the line must hold the pressure of the reject, or have a relief valve",
    )
    class_feed: str = _class("Class of feed header and suction")
    class_filters: str = _class("Class of the filters")
    class_cartridge: str = _class("Class of the cartridge housings")
    class_high: str = _class("Class of the high-pressure pipes")
    class_reject: str = _class("Class of the reject line")
    class_permeate: str = _class("Class of the permeate header")
    class_wash: str = _class("Class of the wash line")
    class_cleaning: str = _class("Class of the cleaning circuit")
    class_transfer: str = _class("Class of product and flush line")
    trip_margin: Fraction = field(
        "fraction",
        "3 %",
        title="Trip above the highest working pressure",
        symbol="x_t",
        possible=("0 %", "30 %"),
        usual=("2 %", "10 %"),
        hint="High-pressure switch over the working pressure",
    )
    trip_least: DifferencePa = field(
        "pressure difference",
        "0.3 bar",
        title="Trip above the highest working pressure, least",
        symbol="Delta_p_t",
        possible=("0 bar", "10 bar"),
        usual=("0.2 bar", "2 bar"),
        hint="At least this much, where the share is small",
    )
    order_margin: Fraction = field(
        "fraction",
        "2 %",
        title="Relief above trip, least",
        symbol="x_o",
        possible=("0 %", "30 %"),
        usual=("2 %", "10 %"),
        hint="Below some 10 % between working and set pressure an ordinary valve simmers: use a pilot-operated one",
    )
    relief_share: Fraction = field(
        "fraction",
        "97 %",
        title="Set pressure of the relief valve over rating",
        symbol="x_r",
        possible=("50 %", "100 %"),
        usual=("90 %", "100 %"),
        hint="The valve opens at this share of the rating",
    )
    permeate_elevation: M = field(
        "length",
        "2.5 m",
        title="Highest point of the permeate line above site level",
        symbol="z_p",
        possible=("-30 m", "200 m"),
        usual=("0 m", "20 m"),
        hint="A high point holds back-pressure on vessels that have stopped",
    )
    vessel_elevation: M = field(
        "length",
        "1.5 m",
        title="Middle of the rack of vessels above site level",
        symbol="z_v",
        possible=("-30 m", "60 m"),
        usual=("0.5 m", "4 m"),
        hint="Level to which permeate at rest is compared",
    )
    drawback_time: S = field(
        "time.minute",
        "2 min",
        title="Time from stop to flush water at the vessels",
        symbol="t_d",
        possible=("0 min", "120 min"),
        usual=("0.5 min", "10 min"),
        hint="Until then the membranes draw permeate back",
    )
    drawback_tank: M3 | None = field(
        "volume",
        None,
        title="Permeate kept for draw-back and flush, held",
        symbol="V_d",
        possible=("0 m3", "5000 m3"),
        usual=("0.5 m3", "500 m3"),
        hint="Where nothing is written, what the stop of all trains asks for",
    )
