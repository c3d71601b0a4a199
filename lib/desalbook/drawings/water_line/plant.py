"""The water line of a sized plant: its course, handed to the drawing as it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from desalbook.drawings.water_line.drawing import draw
from desalbook.drawings.water_line.stops import Line, Stop

__all__ = ["instruments", "line", "picture"]

_FIELDS = ("key", "title", "pressure", "flow", "salinity", "kind", "note")


def _stops(rows: Iterable[Mapping[str, Any]]) -> tuple[Stop, ...]:
    made = []
    for row in rows:
        said = {k: row[k] for k in _FIELDS if k in row}
        said.update((k, float(said[k])) for k in ("pressure", "flow", "salinity"))
        made.append(Stop(**said))
    return tuple(made)


def line(stops: Mapping[str, Any]) -> Line:
    """The course of the water as the drawing takes it.

    Parameters
    ----------
    stops : mapping
        As a sized plant gives it: feed, permeate, concentrate, exchanger_branch, chemicals, recovery.
    """
    branch = stops.get("exchanger_branch")
    return Line(stops=_stops(stops["feed"]), permeate=_stops(stops["permeate"]),
                reject=_stops(stops["reject"]),
                exchanger_branch=_stops(branch) if branch else None,
                chemicals=tuple(tuple(c) for c in stops.get("chemicals", ())),
                recovery=stops["recovery"])


def picture(plant: Any, units: str = "si", present: str | None = None, width: int = 1200,
            slim: bool = False, tags: bool = False) -> str:
    """The water line of a plant as HTML.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    present : str, optional
        Key of the step to lift out.
    width : int
    slim : bool
        Some 160 px high, as it stands above a step.
    tags : bool
        Tags of the instruments below the water, each under the step it is at.
    """
    return draw(line(plant.stops), units=units, present=present, width=width, slim=slim,
                tags=instruments(plant) if tags else None)


def instruments(plant: Any) -> dict[str, tuple[str, ...]]:
    """Tags of the instruments of a plant by the step of the water line they are at; the CIP skid is not on it.

    Parameters
    ----------
    plant : Sized or Plant
    """
    found: dict[str, tuple[str, ...]] = {}
    for row in getattr(plant, "sized", plant).control.rows():
        if row["at"]:
            found[row["at"]] = (*found.get(row["at"], ()), row["tag"])
    stops = plant.stops
    here = {s["key"] for name in ("feed", "permeate", "reject") for s in stops[name]}
    if "recovery" not in here and "recovery" in found:  # a valve in place of a device
        found["valve"] = (*found.pop("recovery"),)
    return found
