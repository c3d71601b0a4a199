"""The list of valves: those the controller moves, with where they go on failure and at rest, and relief valves.

Hand valves, drains and vents have a list of their own (`desalbook.plant.hand_valves`). Relief devices, their sizing and
their discharge follow the local pressure-equipment law.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from desalbook.controls.signals import valves_of
from desalbook.controls.trial import programme
from desalbook.hydraulics.design_pressure import Section
from desalbook.hydraulics.line_list import PipeLine
from desalbook.plant.design_pressures import SECTION_OF
from desalbook.tables import Row, table
from desalbook.trail import Figure

__all__ = ["BODY", "class_title", "metal_of", "valves"]

TYPES = {"valve": "on-off", "regulating": "control"}
BODY = {**SECTION_OF, "high-pressure": "hp-discharge"}
"""Section whose class a valve in a run has: in the high-pressure run that of the pipe, not of the vessels."""


def class_title(name: str) -> str:
    """A pressure class as people write it; "as given" where the design states the rating itself."""
    for at in ("pipe_classes", "pressure_classes"):
        if name in table(at):
            return table(at)[name].title
    return name or "as given"


def metal_of(line: PipeLine) -> str:
    """Metal of a run of pipe with its UNS number; empty where it is of plastic."""
    pipe = table("pipes").row(str(line.pipe.material), line.prefix)
    if pipe["metal"].value != "yes":
        return ""
    alloy = pipe.get("alloy")
    if alloy is None or "UNS" in pipe.title:
        return pipe.title
    return f"{pipe.title}, {table('alloys').row(alloy.value, line.prefix).title.partition(' (')[0]}"


def valves(pipes: Mapping[str, PipeLine], sections: Mapping[str, Section], moved: Collection[str],
           trains: Figure, filters: Figure | None = None) -> list[dict[str, Any]]:
    """Valves of the plant, SI; ``id`` leads to the run of pipe, or to the setting of a relief valve.

    Parameters
    ----------
    pipes : mapping
        Runs of pipe, for nominal size and metal.
    sections : mapping
        Sections of design pressure, for class and relief.
    moved : collection of str
        Keys of what the controller moves; a valve that is not among them is not in the plant.
    trains : Figure
    filters : Figure or None
        Filters of one train.
    """
    rest, rows = programme().steps["idle"], []
    for key, of in table("valves").items():
        if key not in moved:
            continue
        run = of["line"].value
        line = pipes[run]
        rows.append(_row(key, of, f"{of['letters'].value}-{of['number'].value}", int(valves_of(
            of["per"].value, trains, filters)), line, sections[BODY[run]]) | {
            "type": TYPES[of["signals"].value], "size": line.size, "fail": of["fail"].value,
            "at_rest": str(rest[of["step"].value]) if "step" in of else _at_rest(of), "id": f"{line.prefix}.velocity"})
    for key, of in table("relief_valves").items():
        if key not in sections or (at := sections[key].relief) is None:
            continue
        flow = sections[key].pressures.relief_flow
        row = _row(f"relief-{key}", of, f"PSV-{of['number'].value}", int(valves_of(of["per"].value, trains, None)),
                   pipes[of["line"].value], sections[of["section"].value])
        row |= {"type": "relief", "size": "", "fail": "", "at_rest": "shut", "set_pressure": float(at),
                "relief_flow": float(flow), "id": at.id}
        row["ids"] |= {"set_pressure": at.id, "relief_flow": flow.id}
        rows.append(row)
    return rows


def _at_rest(of: Row) -> str:
    """A filter that stands is in service; every other valve that only a sequence beside the train's moves is shut."""
    return "open" if of["fail"].value == "as is" else "shut"


def _row(key: str, of: Row, tag: str, count: int, line: PipeLine, section: Section) -> dict[str, Any]:
    """What every valve has, in the order of the list."""
    per = of["per"].value
    return {"key": key, "tag": tag, "title": of.title, "scope": per, "count": count,
            "type": "", "line": of["line"].value, "size": "", "fail": "", "at_rest": "",
            "material": metal_of(line) or of["material"].value, "rating": class_title(section.rating_name),
            "rated_pressure": float(section.rating), "set_pressure": None, "relief_flow": None, "supply": "package",
            "id": "", "ids": {"rated_pressure": section.rating.id}}
