"""Instruments: range from all cases, set points in their order, and the checks that hold them apart.

Normal < alarm < trip < what the plant bears, and the other way round below; each a gap apart. The final set points are
those of commissioning; a programme's trips do not replace relief valves, hard-wired stops and the local code.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from desalbook.controls.set_points import ROOM, SET_POINT, alarm_steps, order_gap, room_wanted, set_offset
from desalbook.hydraulics.rows import row_line
from desalbook.tables import Row, table
from desalbook.trail import Choice, Figure, assumed, checked, note, picked, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import parse, show

__all__ = ["LOW", "Instrument", "Place", "instruments", "tag"]

LOW = {"temperature": parse("0 degC", "temperature", "control")}
"""Lower end of a range by kind, SI; zero for the others."""
_SIDES = {"high": 1.0, "low": -1.0}


@dataclass(frozen=True)
class Place:
    """A measuring place: what is normal there over all cases, and what bounds its trips.

    Parameters
    ----------
    key : str
        Row of the table ``instruments``.
    low, high : Figure
        Lowest and highest normal value.
    trip_low, trip_high : Figure or None
        Trips that the design or another calculation fixes.
    delay : Figure or None
        Of its trip, where the design states it; else that of the table.
    because : tuple
        What decides whether the plant has this place.
    bound_low, bound_high : Figure or None
        What a trip must stay within: a relief setting, a rating, a limit of the elements, suction that a pump needs.
    """

    key: str
    low: Figure
    high: Figure
    trip_low: Figure | None = None
    trip_high: Figure | None = None
    bound_low: Figure | None = None
    bound_high: Figure | None = None
    delay: Figure | None = None
    because: tuple[Choice | Figure, ...] = ()


@dataclass(frozen=True)
class Instrument:
    """One instrument with its range and set points, SI; what it does not have is None."""

    key: str
    tag: str
    row: Row
    units: int
    place: Place
    range_low: Figure
    range_high: Figure
    alarm_low: Figure | None = None
    alarm_high: Figure | None = None
    trip_low: Figure | None = None
    trip_high: Figure | None = None
    bare: bool = False

    def words(self, name: str) -> str:
        """Consequence or response, that of a plant without filters where it has none."""
        own = f"{name}_bare"
        return str(self.row[own if self.bare and own in self.row else name].value)

    @property
    def delay(self) -> float:
        """Delay of its alarm and trip, s."""
        return float(self.row["delay"].value if self.place.delay is None else self.place.delay)

    @property
    def range_used(self) -> float:
        """Highest normal value over all cases, as a fraction of the range."""
        start = float(self.range_low)
        return (float(self.place.high) - start) / (float(self.range_high) - start)

    def listed(self) -> dict[str, Any]:
        """A row of the list of instruments: SI values and the ids of their lines."""
        row = self.row
        figures = {"normal_low": self.place.low, "normal_high": self.place.high, "range_low": self.range_low,
                   "range_high": self.range_high, "trip_low": self.trip_low, "alarm_low": self.alarm_low,
                   "alarm_high": self.alarm_high, "trip_high": self.trip_high}
        words = {name: row[name].value for name in ("letters", "principle", "wetted", "seal", "priority")}
        words |= {name: self.words(name) for name in ("consequence", "response")}
        return {"key": self.key, "tag": self.tag, "title": row.title, "count": self.units, "id": self.range_high.id,
                "kind": row["quantity"].value, "range_used": self.range_used,
                **words, "delay": self.delay, "respond": row["respond"].value,
                "stops": row["stop"].value if "stop" in row else "", "at": row["at"].value if "at" in row else "",
                **{name: None if f is None else float(f) for name, f in figures.items()},
                "ids": {name: f.id for name, f in figures.items() if f is not None}}


def tag(row: Row) -> str:
    """Letters and loop number, such as ``PIT-302``; a train's own letter stands before it on the plant."""
    return f"{row['letters'].value}-{row['number'].value}"


def instruments(inp: Inputs, places: Sequence[Place], trains: Figure,
                filters: Figure | None = None) -> list[Instrument]:
    """Range and set points of each measuring place.

    Parameters
    ----------
    inp : Inputs
    places : sequence of Place
    trains : Figure
    filters : Figure or None
        Filters of one train, for what each filter has.
    """
    with scope("plant"):
        sides = {name: assumed(f"control.{name}_side", value, "factor", symbol="s", source="definition",
                               title=f"Side of a set point: {name}") for name, value in _SIDES.items()}
        one = assumed("control.one_gap", 1.0, "factor", title="One gap", symbol="n_a", source="definition")
        two = assumed("control.two_gaps", 2.0, "factor", title="Two gaps", symbol="n_a", source="definition")
        found = []
        for place in places:
            with scope(because=place.because):
                found.append(_instrument(inp, place, sides, one, two, float(trains),
                                         None if filters is None else float(filters)))
        return found


def _instrument(inp: Inputs, place: Place, sides: dict[str, Figure], one: Figure, two: Figure,
                trains: float, filters: float | None) -> Instrument:
    row = table("instruments").row(place.key, "control")
    key, name = place.key, row.title
    units = int({"train": trains, "filter": trains * (filters or 1.0)}.get(row["per"].value, 1.0))
    accuracy, deadband = (row_line(f"control.{n}[{key}]", "instruments", key, n, title=f"{t}: {name}")
                          for n, t in (("accuracy", "Accuracy"), ("deadband", "Deadband")))
    gap = order_gap.at(f"control.gap[{key}]", accuracy=accuracy, deadband=deadband,
                       title=f"Set-point gap: {name}")
    low, high = _range(inp, place, row, gap)
    found: dict[str, Figure] = {}
    for side in _SIDES:
        if row[f"alarm_{side}"].value == "yes" or row[f"trip_{side}"].value == "yes":
            found |= _side(place, row, side, sides[side], gap, low, high, one, two)
    return replace(Instrument(key, tag(row), row, units, place, low, high), bare=filters is None, **found)


def _range(inp: Inputs, place: Place, row: Row, gap: Figure) -> tuple[Figure, Figure]:
    """Lower end, and the least everyday upper end that holds what is normal and both set points inside the range."""
    kind, key = row["quantity"].value, place.key
    listed = table("instrument_ranges").series(kind.lower().replace(" ", "-"))
    start = LOW.get(kind, 0.0)
    low = assumed(f"control.range_low[{key}]", start, kind, title=f"Range low: {row.title}", symbol="x_l",
                  source="common-practice")
    factor, inside = inp.number("control.range_factor"), inp.number("control.trip_in_range")
    normal = float(place.high) - start
    trip = None if place.trip_high is None else float(place.trip_high) - start
    steps = (row["alarm_high"].value == "yes") + (row["trip_high"].value == "yes" and place.trip_high is None)
    judged: list[dict[str, Any]] = []
    won: tuple[float, str] | None = None
    for value, text in zip(listed.values, listed.texts, strict=True):
        span = value - start
        wanted = normal * (float(factor) if len(listed.values) > 1 else 1.0) if trip is None else trip / float(inside)
        beyond = (normal + steps * float(gap) * span) / float(inside)
        fits = won is None and span >= wanted * (1 - 1e-9) and span >= beyond * (1 - 1e-9)
        judged.append({"key": text, "value": value, "won": fits})
        won = (value, text) if fits else won
    ends = won is None
    if won is None:  # the table ends below it: the largest is taken, and a check says so
        last = len(listed.values) - 1
        won = (listed.values[last], listed.texts[last])
        judged[-1]["won"] = True
    inputs: dict[str, Any] = {"normal": place.high, "factor": factor, "inside": inside, "gap": gap, "low": low}
    if place.trip_high is not None:
        inputs["trip"] = place.trip_high
    held = inp.optional(f"control.range[{key}]")
    if held is not None:
        checked(f"control.range[{key}].check", held, ">=", place.high, title=f"{tag(row)} range",
                do=f"raise control.range[{key}], or clear it",
                caution="an instrument beyond its range shows its end and neither alarms nor trips")
        return low, held
    high = picked(f"control.range[{key}]", won[0], kind, title=f"Range high: {row.title}", symbol="x_u",
                  rule="smallest everyday range that contains the normal value with its margin, and the set points",
                  candidates=judged, inputs=inputs, table="instrument_ranges", source=listed.source)
    if ends:
        note(f"control.range[{key}].short", title=f"{tag(row)} range", verdict="fails",
             why=f"no range of the table holds {show(float(place.high), kind)} with its margin and set points",
             do="order a special range, lower control.range_factor, or divide the flow among more trains (duty.trains)",
             inputs={"normal": place.high, "range": high, "factor": factor, "inside": inside})
    return low, high


def _side(place: Place, row: Row, side: str, sign: Figure, gap: Figure, low: Figure, high: Figure, one: Figure,
          two: Figure) -> dict[str, Figure]:
    """Alarm and trip of one side, and the checks of their order."""
    kind, key, name = row["quantity"].value, place.key, row.title
    stem, relation = SET_POINT[kind]
    normal = place.high if side == "high" else place.low
    ends: dict[str, Any] = {f"{stem}_range_high": high, f"{stem}_range_low": low}
    fixed = place.trip_high if side == "high" else place.trip_low
    bound = place.bound_high if side == "high" else place.bound_low

    def at(what: str, steps: Figure) -> Figure:
        away = set_offset.at(f"control.{what}_{side}_distance[{key}]", order_gap=gap, gap_steps=steps, set_side=sign,
                             title=f"{side.capitalize()} {what} distance: {name}")
        return relation.at(f"control.{what}_{side}[{key}]", **{f"normal_{stem}": normal}, set_distance=away, **ends,
                           title=f"{side.capitalize()} {what}: {name}")

    found: dict[str, Figure] = {}
    wants_trip = row[f"trip_{side}"].value == "yes"
    if fixed is not None and wants_trip:
        room = ROOM[kind].at(f"control.{side}_trip_room[{key}]", **{f"trip_{stem}": fixed, f"normal_{stem}": normal},
                             **ends, set_side=sign, title=f"{side.capitalize()} trip room: {name}")
        both = room_wanted.at(f"control.{side}_room_wanted[{key}]", order_gap=gap,
                              title=f"{side.capitalize()}-trip room needed: {name}")
        checked(f"control.{side}_order[{key}].check", room, ">=", both, title=f"{tag(row)} {side} set points in order",
                do=f"move the {side} trip away from what is normal, or take a more accurate instrument",
                caution="a trip within what is normal stops the plant for nothing; one beyond its limit stops it too "
                        "late")
        found[f"alarm_{side}"] = at("alarm", alarm_steps.at(
            f"control.{side}_alarm_steps[{key}]", set_point_room=room, order_gap=gap,
            title=f"{side.capitalize()} alarm gaps: {name}"))
        found[f"trip_{side}"] = fixed
    else:
        if row[f"alarm_{side}"].value == "yes":
            found[f"alarm_{side}"] = at("alarm", one)
        if wants_trip:
            found[f"trip_{side}"] = at("trip", two)
    last = found.get(f"trip_{side}", found.get(f"alarm_{side}"))
    if bound is not None and last is not None:
        checked(f"control.{side}_bound[{key}].check", last, "<=" if side == "high" else ">=", bound,
                title=f"{tag(row)} {side} set point within its bound",
                do="choose a more accurate instrument, or raise what bounds it (rating, relief, suction)",
                caution="a programme's trip comes on top of relief valves and hard-wired stops")
    return found

