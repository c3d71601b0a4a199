"""Fabrication of a sized plant: weights, line list, skids and containers, made when somebody asks for them.

Nothing of it is part of the walk: it begins with the values of the plant and goes on from there, in a book of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from desalbook.fabrication.lifting import share_of_mass, sum_of_masses, times_count
from desalbook.plant.arrangement import Placed, arrange, ground
from desalbook.plant.gathered import gathered
from desalbook.plant.pipe_list import PipeRun, pipe_runs
from desalbook.plant.skids import Skid, containers, skids
from desalbook.plant.weights import Weighed, weigh
from desalbook.trail import Column, Figure, Ledger, Values, current, picked
from desalbook.trail.inputs import Inputs

__all__ = ["Fabricated", "fabricate"]

STATES = ("empty", "operating", "test")


@dataclass(frozen=True)
class Fabricated:
    """What the fabrication of a plant found.

    Parameters
    ----------
    weighed : list of Weighed
        One a row of the schedule.
    runs : list of PipeRun
    weights, parts, lines, skids, items, containers : list of dict
        Rows of the tables, SI.
    placed : list of Placed
        What is on the plan.
    """

    weighed: list[Weighed]
    runs: list[PipeRun]
    weights: list[dict[str, Any]]
    parts: list[dict[str, Any]]
    lines: list[dict[str, Any]]
    skids: list[dict[str, Any]]
    items: list[dict[str, Any]]
    placed: list[Placed]
    containers: list[dict[str, Any]]


def fabricate(sized: Any, book: Ledger | Values) -> Fabricated:
    """Weigh and arrange a sized plant.

    Parameters
    ----------
    sized : Sized
    book : Ledger or Values
        A branch of the plant's own; what is found is entered in it.
    """
    with book.recording() if isinstance(book, Ledger) else book.running():
        inp = Inputs(lambda id: book[id] if id in book else None)  # noqa: SIM401, no mapping
        weighed = weigh(inp, sized)
        runs = pipe_runs(inp, sized)
        weights = _weight_rows(weighed, _totals(sized, weighed))
        parts = _parts(inp, sized, weighed, runs)
        made = skids(inp, sized, weighed, runs)
        placed = arrange(inp, sized, weighed, made)
        ground(inp, sized, weighed, made, placed)
        return Fabricated(weighed, runs, weights, parts, [run.row for run in runs], [s.row for s in made], _items(made),
                          placed, containers(inp, made, weighed, runs))


def _items(made: Sequence[Skid]) -> list[dict[str, Any]]:
    """What stands on each skid, with its place and masses."""
    return [{"skid": s.tag, "tag": p.name, "of": p.tag, "title": p.title, "x": p.x, "y": p.y, "z": p.z,
             "length": p.length, "width": p.width, "height": p.height, "round": "yes" if p.round else "no",
             "mass_empty": float(p.empty), "mass_operating": float(p.operating), "id": p.empty.id}
            for s in made for p in s.pieces]


def _installed(id: str, counts: Mapping[str, int], sized: Any, axis: str) -> Column:
    return picked(id, [float(n) for n in counts.values()], "count", title="Installed", symbol="n_i",
                  rule="as the schedule counts them, standby and all trains",
                  candidates=[{"key": k, "value": float(n), "won": True} for k, n in counts.items()],
                  inputs={"trains": sized.duty.trains}, axis=axis, keys=tuple(counts))


def _totals(sized: Any, weighed: list[Weighed]) -> dict[str, Column]:
    """Mass of all units of each row by state; their sums are the equipment's."""
    counts = _installed("weight.installed", {x.row["tag"]: x.row["installed_total"] for x in weighed}, sized, "tag")
    found = {}
    for state in STATES:
        one = gathered(f"weight.{state}_each", {x.row["tag"]: getattr(x, state) for x in weighed}, axis="tag",
                       title=f"Mass of one, {state}", symbol="m_1")
        found[state] = times_count.at(f"weight.{state}_all", one_mass=one, installed=counts,
                                      title=f"Mass of all, {state}")
    return found


def _weight_rows(weighed: list[Weighed], totals: Mapping[str, Column]) -> list[dict[str, Any]]:
    rows = []
    for x in weighed:
        tag = x.row["tag"]
        row = {k: x.row[k] for k in ("key", "tag", "title", "scope", "supply")} | {
            "count": x.row["installed_total"], "basis": x.basis, "spread": x.spread}
        row |= {f"mass_{state}": float(getattr(x, state)) for state in STATES}
        row |= {f"total_{state}": float(totals[state][tag]) for state in STATES}
        if x.box is not None:
            row |= {"length": float(x.box.length), "width": float(x.box.width), "height": float(x.box.height)}
        rows.append(row | {"id": x.empty.id, "ids": {f"mass_{state}": getattr(x, state).id for state in STATES}})
    return rows


def _parts(inp: Inputs, sized: Any, weighed: list[Weighed], runs: list[PipeRun]) -> list[dict[str, Any]]:
    """Masses of the plant by part and state; what is summed is what the parts are."""
    counts = _installed("line.installed", {x.key: x.row["count"] for x in runs}, sized, "run")
    pieces: dict[str, Column] = {}
    for name, title in (("empty", "Pipe and flanges"), ("supports", "Supports of pipes"),
                        ("contents", "Water in pipes")):
        one = gathered(f"line.{name}_each", {x.key: getattr(x, name) for x in runs}, axis="run",
                       title=f"{title}, one run", symbol="m_1")
        pieces[name] = times_count.at(f"line.{name}_all", one_mass=one, installed=counts, title=f"{title}, all")
    piped = {name: sum_of_masses.at(f"part.pipe_{name}", masses=x, title=f"{x.title} runs") for name, x in
             pieces.items()}
    rows, book = [], current()
    on_skids = gathered("weight.on_skids", {tag: book["weight.empty_all"][tag] for tag in (
        x.row["tag"] for x in weighed if x.skid)}, axis="tag", title="Mass of all, empty, on skids", symbol="m")
    cables = share_of_mass.at("part.cables", title="Cables and trays", mass_fraction_of=inp.number(
        "fabrication.cables"), base_mass=sum_of_masses.at("part.on_skids", masses=on_skids,
                                                          title="Equipment on skids, empty"))
    for state in STATES:
        equipment = sum_of_masses.at(f"part.equipment_{state}", masses=book[f"weight.{state}_all"],
                                     title=f"Equipment, {state}")
        found: dict[str, Figure] = {"equipment": equipment, "pipes": piped["empty"], "supports": piped["supports"],
                                    "cables": cables}
        if state != "empty":
            found["contents"] = piped["contents"]
        column = gathered(f"part.{state}", found, axis="part", title=f"Mass by part, {state}", symbol="m_i")
        total = sum_of_masses.at(f"part.{state}_total", masses=column, title=f"Mass of the plant, {state}")
        rows += [{"part": name, "state": state, "mass": float(x), "id": x.id} for name, x in found.items()]
        rows.append({"part": "plant", "state": state, "mass": float(total), "id": total.id})
    return rows
