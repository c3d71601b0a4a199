"""Hand valves, check valves and reducers: listed by the rules of the table ``hand_valves``, made when somebody asks.

Tag: letters (HV hand valve, NRV check valve, RD reducer), unit or line it belongs to, number: ``HV-P201-1``,
``HV-L202-3``. A tag is that of a group of like ones. Sizes are those of the run beside it; drains and vents are DN 25
on a run of DN 100 and more, else DN 15, samples DN 15. Where a run is rated over 40 bar, drains, vents and samples are
two valves in series. The hook-up of an instrument is listed under its tag (``HV-PIT201-1``): a root valve DN 15 and a
manifold at a pressure instrument, which together are two barriers; DN 25 where a seal is flanged on, DN 50 at the tank
of a level instrument, DN 15 along a sample line. All of this is common practice without a source; the piping design
settles the final ones.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.line_list import PipeLine
from desalbook.plant.between import bank_runs, runs_of
from desalbook.plant.design_pressures import SECTION_OF
from desalbook.plant.valves import BODY, class_title, metal_of
from desalbook.tables import Row, table
from desalbook.trail import constant

__all__ = ["HandValve", "hand_valves", "kind_of"]

DOUBLE = constant("p_2", 40e5, "Pa", source="common-practice",
                  title="Rating over which drains, vents and samples have two valves in series").value
LARGE = constant("DN_l", 100.0, "count", source="common-practice",
                 title="Nominal size from which drains and vents are DN 25").value
_SMALL = ("drain", "vent", "sample")
_TAPS = {"tap": "DN 15", "seal": "DN 25", "level": "DN 50"}
"""Sizes of the valves of a hook-up."""
_TYPES = {"HV": "hand", "NRV": "check", "RD": "reducer"}


@dataclass(frozen=True)
class HandValve:
    """A group of like ones.

    Parameters
    ----------
    row : dict
        Of the list, SI.
    owner : str
        Key of the unit, run or instrument it stands at.
    side : str
        ``before`` or ``after`` it, ``inlet`` where the feed goes in beside the concentrate, ``hook-up`` of an
        instrument.
    mark : str
        Symbol on the line diagram.
    """

    row: dict[str, Any]
    owner: str
    side: str
    mark: str


def kind_of(row: Mapping[str, Any]) -> Row | None:
    """Row of ``unit_piping`` that a row of the schedule follows; None where it has no pipes of its own."""
    known, key = table("unit_piping"), str(row["key"]).partition("[")[0]
    if key in known:
        return known[key]
    if key.startswith("dosing_"):
        return known["dosing"]
    return None


def hand_valves(sized: Any) -> list[HandValve]:
    """All of a plant, in the order of its schedule, then of its lines and of its instruments.

    Parameters
    ----------
    sized : Sized
    """
    return [*_of_units(sized), *_of_lines(sized), *_of_instruments(sized)]


def _rules(kind: str) -> Iterator[Row]:
    return (rule for rule in table("hand_valves").values() if kind in rule["of"].value.split())


def _of_units(sized: Any) -> Iterator[HandValve]:
    moved = {v["key"] for v in sized.valves}
    device = sized.device.kind.key
    for unit in sized.equipment:
        piping = kind_of(unit)
        if piping is None:
            continue
        banks = bank_runs(sized, unit["key"])
        for rule in _rules(piping["kind"].value):
            stands_in = _text(piping, _text(rule, "unless"))
            if stands_in in moved or _text(rule, "needs") not in ("", device):
                continue
            side = rule["size"].value if rule["size"].value not in _SMALL else rule["side"].value
            run = _text(rule, "at") or _text(piping, side)
            run = banks.get(run, run)
            count = unit["installed_total"] if rule["per"].value == "unit" else (
                int(sized.duty.trains) if unit["scope"] == "train" else 1)
            title = unit["title"].partition(":")[0]
            row = _row(sized, rule, unit["tag"].replace("-", ""), unit["tag"], title, unit["scope"], count, run)
            yield HandValve(row | {"supply": unit["supply"]}, unit["key"], rule["side"].value, rule["mark"].value)


def _of_lines(sized: Any) -> Iterator[HandValve]:
    scopes = {x["key"]: x["scope"] for x in sized.lines}
    for name in sized.pipes:
        number = table("line_numbers")[name]["number"].value
        count = (int(sized.duty.trains) if scopes[name] == "train" else 1) * runs_of(sized, name)
        for rule in (*_rules("line"), *_rules(name)):
            yield HandValve(_row(sized, rule, f"L{number}", f"Line {number}", table("pipe_runs")[name].title,
                                 scopes[name], count, name), name, rule["side"].value, rule["mark"].value)


def _of_instruments(sized: Any) -> Iterator[HandValve]:
    scopes = {x["tag"]: x for x in sized.equipment if x["key"].startswith("instrument[")}
    for found in sized.control.rows():
        of = table("instruments")[found["key"]]
        for rule in _rules(of["connected"].value):
            unit = scopes[found["tag"]]
            count = int(found["count"]) * (2 if rule["per"].value == "pair" else 1)
            row = _row(sized, rule, found["tag"].replace("-", ""), found["tag"], found["title"], unit["scope"], count,
                       _text(of, "run"))
            pipe = sized.pipes.get(_text(of, "run"))
            if rule["mark"].value == "manifold" and pipe is not None and not metal_of(pipe):
                row["material"] = of["wetted"].value  # no plastic stands between the root valve and the cell
            yield HandValve(row | {"supply": unit["supply"]}, found["key"], "hook-up", rule["mark"].value)


def _text(row: Row, column: str) -> str:
    return row[column].value if column and column in row else ""


def _row(sized: Any, rule: Row, of: str, unit: str, title: str, scope: str, count: int, run: str) -> dict[str, Any]:
    """What the list says of a group."""
    line: PipeLine | None = sized.pipes.get(run)
    section = None if line is None else sized.sections.get(BODY.get(run, SECTION_OF[run])) or sized.sections["permeate"]
    letters, size = rule["letters"].value, rule["size"].value
    made = {"tag": f"{letters}-{of}-{rule['number'].value}", "title": f"{title}: {rule.title.lower()}",
            "type": _TYPES[letters], "of": unit, "scope": scope, "count": count,
            "line": run, "size": "",
            "where": _elsewhere(of, title) if line is None else table("pipe_runs")[run].title,
            "position": _text(rule, "position"), "material": "", "rating": "", "rated_pressure": None,
            "supply": "package", "id": ""}
    if rule["mark"].value == "manifold":
        made["type"] = "manifold, two valves"
    made["size"] = _TAPS.get(size, "")
    if line is None or section is None:
        return made
    if size in _TAPS:
        pass
    elif size in _SMALL:
        large = size != "sample" and float("".join(c for c in line.size.split(" schedule")[0] if c.isdigit())) >= LARGE
        made["size"] = "DN 25" if large else "DN 15"
        if float(section.rating) > DOUBLE:
            made["type"] = "hand, two in series"
    else:
        made["size"] = line.size.partition(" schedule")[0]
    return made | {
        "material": metal_of(line) or _plastic(run, line, letters, size),
        "rating": class_title(section.rating_name), "rated_pressure": float(section.rating),
        "id": f"{line.prefix}.velocity"}


def _elsewhere(of: str, title: str) -> str:
    """What it is on where that is no run of the line list."""
    if of.startswith("K"):
        return "Scour air"
    return "Dosing line" if title.startswith("Dosing pump") else "Raw water, by others"


def _plastic(run: str, line: PipeLine, letters: str, size: str) -> str:
    """Usual material on a run of plastic: a reducer is pipe, a small valve plastic, a large one as the moved ones."""
    if letters == "RD":
        return table("pipes").row(str(line.pipe.material), line.prefix).title
    if size in _SMALL or size in _TAPS:
        return table("pipes")["pvc"].title
    there = "feed" if run == "feed-suction" else run
    return next((row["material"].value for name in ("valves", "relief_valves") for row in table(name).values()
                 if row["line"].value == there), table("pipes").row(str(line.pipe.material), line.prefix).title)
