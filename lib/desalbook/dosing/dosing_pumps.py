"""Dosing pumps: capacity, turndown, pressure, calibration column, and mixing downstream of the quill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from desalbook.balances import flow_ratio
from desalbook.dosing.dosing_line import Dose, stored
from desalbook.hydraulics.rows import least_row, standard_size
from desalbook.tables import table
from desalbook.trail import (
    Figure,
    assumed,
    checked,
    constant,
    minimum,
    relation,
    scope,
)
from desalbook.trail.inputs import Inputs
from desalbook.trail.words import unit_words
from desalbook.units import (
    KINDS,
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    M,
    M3PerS,
)

__all__ = [
    "Place",
    "calibration_column",
    "capacity_wanted",
    "mixing",
    "mixing_length",
    "mixing_time",
    "pump_against_line",
    "pump_capacity",
    "pump_pressure_wanted",
    "setting",
    "speed_part",
    "stroke_part",
]

DoseFlow = Annotated[float, KINDS["flow.dose"]]
Litres = Annotated[float, KINDS["volume.small"]]
Days = Annotated[float, KINDS["time.day"]]
Seconds = Annotated[float, KINDS["time.second"]]
PI = constant("pi", 3.141592653589793, "1", source="definition", title="Pi")


@relation("Capacity the pump needs", symbol="q_w", unit="m^3/s", source="common-practice")
def capacity_wanted(highest_feed: DoseFlow, pump_margin: Factor) -> DoseFlow:
    """Dosing pump capacity required.

    Maximum feed rate with a margin for wear and a poor delivery; too large a pump loses accuracy at its low
    end.
    """
    return highest_feed * pump_margin


@relation("Turndown by speed", symbol="r_n", unit="1", source="api-675", note="speed follows the flow of the water")
def speed_part(turndown: Factor, speed_span: Factor) -> Factor:
    """Turndown that is covered by speed.

    Speed follows the flow of the water up to the drive's own turndown; the rest is left to the stroke.
    """
    return minimum(turndown, speed_span)


@relation("Turndown by stroke", symbol="r_h", unit="1", source="definition")
def stroke_part(turndown: Factor, speed_turndown: Factor) -> Factor:
    """Turndown that is left to the stroke.

    Set by hand, so it may cover slow changes of dose but not changes of flow.
    """
    return turndown / speed_turndown


@relation("Setting of the pump", symbol="x_q", unit="1", source="definition")
def setting(dosing_flow: DoseFlow, pump_capacity: DoseFlow, stroke_turndown: Factor) -> Fraction:
    """Setting of a dosing pump: feed rate as a fraction of capacity at its stroke.

    Linear in speed; below some 10 % of capacity a diaphragm pump doses unevenly.
    """
    return dosing_flow * stroke_turndown / pump_capacity


@relation("Mixing length", symbol="L_m", unit="m", source="common-practice")
def mixing_length(inner_diameter: M, mixing_diameters: Factor) -> M:
    """Length of pipe a chemical needs to mix, in inner diameters.

    A rule of practice for a quill in the middle of turbulent flow; a static mixer shortens it.
    """
    return inner_diameter * mixing_diameters


@relation("Mixing time", symbol="t_m", unit="s", source="definition")
def mixing_time(length: M, inner_diameter: M, flow: M3PerS) -> Seconds:
    """Time a chemical travels through its mixing length.

    Plug flow in a full pipe; laminar flow does not mix at all.
    """
    return length * PI * inner_diameter**2 / 4 / flow


@relation("Pressure the dosing pump needs", symbol="p_q", unit="Pa", source="common-practice")
def pump_pressure_wanted(injection_pressure: GaugePa, over_pressure: DifferencePa) -> GaugePa:
    """Pressure a dosing pump has to reach.

    Injection against the line at pump shut-off, with an allowance for the injection valve; pulsation is not in
    it.
    """
    return injection_pressure + over_pressure


@dataclass(frozen=True)
class Place:
    """Where a chemical enters the water.

    Parameters
    ----------
    bore : Figure or None
        Inner diameter of the pipe, m; None where it is not known.
    flow : Figure
        m3/s in that pipe.
    shut_off : Figure
        Maximum pressure of the line, Pa gauge.
    """

    bore: Figure | None
    flow: Figure
    shut_off: Figure


def pump_capacity(inp: Inputs, prefix: str, line: Dose) -> tuple[Figure, Figure]:
    """Dosing pump of a line: capacity selected or fixed, and how its turndown is shared by speed and stroke."""
    wanted = capacity_wanted.at(
        f"{prefix}.capacity_wanted", highest_feed=line.feed_rate_maximum, pump_margin=inp("dosing.pump_margin")
    )
    capacity = inp(f"{prefix}.pump_capacity")
    if capacity is None:
        capacity, _ = least_row(
            f"{prefix}.pump_capacity",
            "dosing_pumps",
            "capacity",
            wanted,
            title="Capacity of the dosing pump",
            rule="smallest capacity that gives the maximum feed with its margin",
            do=f"set {prefix}.pump_capacity, or use a stronger solution ({prefix}.strength)",
        )
    else:
        checked(
            f"{prefix}.pump_capacity.check",
            capacity,
            ">=",
            wanted,
            title=f"Dosing-pump capacity, {unit_words(prefix)}",
            do=f"increase {prefix}.pump_capacity, or clear it to size automatically",
            caution=line.neat.caution,
        )
    turned = flow_ratio.at(
        f"{prefix}.turndown",
        flow=capacity,
        reference_flow=line.feed_rate_minimum,
        title="Required turndown",
        symbol="r_q",
    )
    speed = speed_part.at(f"{prefix}.speed_turndown", turndown=turned, speed_span=inp("dosing.speed_span"))
    stroke = stroke_part.at(f"{prefix}.stroke_turndown", turndown=turned, speed_turndown=speed)
    whole = assumed(f"{prefix}.full_stroke", 1.0, "factor", title="Full stroke", symbol="r_h", source="definition")
    for suffix, flow, at, words in (
        ("", line.feed_rate, whole, "usual dose"),
        ("_maximum", line.feed_rate_maximum, whole, "maximum dose"),
        ("_minimum", line.feed_rate_minimum, stroke, "minimum dose"),
    ):
        setting.at(
            f"{prefix}.speed{suffix}",
            dosing_flow=flow,
            pump_capacity=capacity,
            stroke_turndown=at,
            title=f"Dosing-pump speed, {words}",
        )
    checked(
        f"{prefix}.turndown.check",
        turned,
        "<=",
        inp("dosing.span"),
        title=f"Required dosing turndown, {unit_words(prefix)}",
        do="split the range between two pumps, dilute the solution, or increase dosing.span",
        caution=line.neat.caution,
    )
    return capacity, turned


def pump_against_line(inp: Inputs, prefix: str, place: Place, line: Dose) -> None:
    """Rated pressure of the pump against the line at shut-off."""
    wanted = pump_pressure_wanted.at(
        f"{prefix}.pump_pressure", injection_pressure=place.shut_off, over_pressure=inp("dosing.over_pressure")
    )
    checked(
        f"{prefix}.pressure.check",
        inp("dosing.pump_pressure"),
        ">=",
        wanted,
        title=f"Rated / line pressure, {unit_words(prefix)}",
        do="increase dosing.pump_pressure, or move the quill to a point of lower line pressure",
        caution=line.neat.caution,
        decided_by=[inp("dosing.over_pressure")],
    )


def calibration_column(inp: Inputs, prefix: str, capacity: Figure) -> None:
    """Calibration column that holds one draw-down."""
    needed = stored.at(f"{prefix}.draw_down", dosing_flow=capacity, storage_time=inp("dosing.draw_down_time"),
                       title="Volume drawn from the column", symbol="V_w")
    largest = table("calibration_columns").ascending("volume")[-1]
    held, cell = inp.optional(f"{prefix}.calibration_column"), largest["volume"]
    if held is None and float(needed) > cell.value:
        # a column is no reason to refuse a plant: the largest, and what it lacks is a finding
        column = assumed(f"{prefix}.calibration_column", cell.value, cell.kind, title="Calibration column",
                         symbol=cell.symbol, text=cell.text, source=cell.source, place="the largest there is",
                         table="calibration_columns", row=largest.key)
        checked(f"{prefix}.calibration_column.check", column, ">=", needed,
                title=f"Calibration column, {unit_words(prefix)}", do="shorten dosing.draw_down_time")
        return
    standard_size(
        inp,
        f"{prefix}.calibration_column",
        "calibration_columns",
        "volume",
        needed,
        title="Calibration column",
        rule="smallest column that holds the draw-down",
        do="shorten dosing.draw_down_time",
    )


def mixing(inp: Inputs, prefix: str, place: Place, places: Sequence[str]) -> None:
    """Length and time of mixing downstream of the quill, judged where the next place is known."""
    if place.bore is None:
        return
    kind = inp("dosing.mixing")
    row = table("mixing").row(kind, "dosing.mixing")
    cell = row["diameters"]
    with scope(because=[kind]):
        diameters = assumed(
            f"{prefix}.mixing_diameters",
            cell.value,
            cell.kind,
            title=cell.title,
            symbol=cell.symbol,
            text=cell.text,
            source=cell.source,
            place=cell.place,
            table="mixing",
            row=row.key,
        )
    length = mixing_length.at(f"{prefix}.mixing_length", inner_diameter=place.bore, mixing_diameters=diameters)
    time = mixing_time.at(f"{prefix}.mixing_time", length=length, inner_diameter=place.bore, flow=place.flow)
    if prefix in places:
        checked(
            f"{prefix}.mixing.check",
            inp(f"injection.points[{prefix}].travel_time"),
            ">=",
            time,
            title=f"Quill mixing time, {unit_words(prefix)}",
            do="move the next injection point downstream, or select a static mixer (dosing.mixing)",
            decided_by=[kind],
        )
