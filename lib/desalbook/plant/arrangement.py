"""Arrangement of the plant on its ground: skids, vessels and tanks placed by stated rules, with their clear spaces.

Rules: one strip a train, from filters over feed and high pressure to racks; one strip for what serves the plant; one
for tanks. An aisle (``fabrication.aisle``) between neighbours and between strips; vessels keep
``fabrication.withdrawal`` free at the feed end and ``fabrication.push_out`` at the other, for elements are drawn and
pushed there; panels keep an aisle in front. Filters of a train are placed as their battery is. A first plan for space
and foundations: roads, stairs, pipe racks, escape routes, wind and the local code are the layout engineer's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from desalbook.plant.equipment import unit_tags
from desalbook.plant.skids import Skid, min_of
from desalbook.plant.weights import Weighed
from desalbook.pretreatment.filter_vessel import places
from desalbook.trail import Figure, constant, current, picked, relation
from desalbook.trail.inputs import Inputs
from desalbook.units import M2, M

__all__ = ["Placed", "arrange", "footprint", "ground"]

_LONGEST = constant("L_s", 45.0, "m", source="common-practice",
                    title="Length at which a strip is turned back: a site some twice as long as broad").value
_LONGER = constant("k_s", 1.5, "1", source="common-practice",
                   title="Length beside another across a strip, at most, over that of the other").value


_DEPTH = 4.0
"""Depth of a strip that has no battery of filters, m (common practice)."""


@dataclass(frozen=True)
class Placed:
    """One thing on the plan, m; its place, its size and the space kept clear at both ends along x.

    Parameters
    ----------
    tag, title : str
        Unit tag, or that of the skid.
    kind : str
        ``skid``, ``rack``, ``vessel``, ``tank`` or ``item``.
    supply : str
        ``package`` or ``others``.
    """

    tag: str
    title: str
    kind: str
    supply: str
    strip: str
    length: float
    width: float
    height: float
    round: bool = False
    x: float = 0.0
    y: float = 0.0
    clear_begin: float = 0.0
    clear_end: float = 0.0
    mass_operating: float = 0.0

    def row(self) -> dict[str, Any]:
        """As a row of a table."""
        return {k: getattr(self, k) for k in ("tag", "title", "kind", "supply", "strip", "x", "y", "length", "width",
                                              "height", "clear_begin", "clear_end", "mass_operating")}


@relation("Footprint of the arrangement", symbol="A_g", unit="m^2", source="definition",
          note="a rectangle around everything that is placed, with the clear spaces at its ends and an aisle around")
def footprint(length: M, width: M, aisle: M) -> M2:
    """Ground that the arrangement takes, as one rectangle with an aisle around.

    Roads, fences, buildings and what the site keeps free are not in it; another arrangement takes more or less.
    """
    return (length + 2 * aisle) * (width + 2 * aisle)


def ground(inp: Inputs, sized: Any, weighed: Sequence[Weighed], made: Sequence[Skid],
           placed: Sequence[Placed]) -> Figure:
    """Length and width over everything that is placed, and the ground it takes."""
    begin, end = min_of(p.x - p.clear_begin for p in placed), -min_of(-p.x - p.length - p.clear_end for p in placed)
    low, high = min_of(p.y for p in placed), -min_of(-p.y - p.width for p in placed)
    book = current()
    rests = {name: inp.number(f"fabrication.{name}") for name in ("aisle", "push_out", "withdrawal")}
    rests |= {"trains": sized.duty.trains}
    rests |= {f"{side}_{s.tag}": book[f"skid[{s.tag}].{side}"] for s in made for side in ("length", "width")}
    rests |= {f"{side}_{x.row['tag']}": getattr(x.box, side) for x in weighed if x.box is not None
              for side in ("length", "width")}
    long, wide = (picked(f"arrangement.{name}", value, "length", title=f"{name.capitalize()} of the arrangement",
                         symbol=symbol, rule="over everything that is placed, with the clear spaces at the ends",
                         candidates=[], inputs={k.replace("-", "_"): x for k, x in rests.items()})
                  for name, symbol, value in (("length", "l", end - begin), ("width", "b", high - low)))
    return footprint.at("arrangement.footprint", length=long, width=wide, aisle=rests["aisle"])


def arrange(inp: Inputs, sized: Any, weighed: Sequence[Weighed], made: Sequence[Skid]) -> list[Placed]:
    """Places of skids, vessels, tanks and what stands by itself.

    Parameters
    ----------
    inp : Inputs
    sized : Sized
    weighed : sequence of Weighed
    made : sequence of Skid
    """
    aisle, trains = float(inp.number("fabrication.aisle")), int(sized.duty.trains)
    strips: list[list[Placed]] = []
    for n in range(trains):
        name = f"Train {n + 1}"
        row = _battery(sized, weighed, n, name)
        row += [_of_skid(inp, s, f"{n + 1}-{s.tag}", name) for s in made if s.scope == "train"]
        row += [p for x in weighed if x.row["scope"] == "train" and not x.skid and x.row["key"] != "filters"
                for p in _alone(x, name, n, trains)]
        strips.append(row)
    strips.append([_of_skid(inp, s, s.tag, "Common") for s in made if s.scope == "plant"]
                  + [p for x in weighed if x.row["scope"] == "plant" and not x.skid and not _is_tank(x)
                     for p in _alone(x, "Common", 0, 1)])
    strips.append([p for x in weighed if x.row["scope"] == "plant" and not x.skid and _is_tank(x)
                   and not x.row["key"].startswith("bulk_storage") for p in _alone(x, "Tanks", 0, 1)])
    found: list[Placed] = []
    top = 0.0
    for strip in strips:
        for line in _turned(strip, aisle):
            found += [replace(p, y=p.y + top) for p in line]
            top += _reach(line) + aisle
    return found + [_in_bund(x, found) for x in weighed if x.row["key"].startswith("bulk_storage")]


def _in_bund(x: Weighed, found: Sequence[Placed]) -> Placed:
    """A bulk storage tank in the middle of its bund, whose tag has the same number."""
    bund = next(p for p in found if p.tag == f"BU-{x.row['tag'].partition('-')[2]}")
    tank = _alone(x, bund.strip, 0, 1)[0]
    return replace(tank, x=bund.x + (bund.length - tank.length) / 2, y=bund.y + (bund.width - tank.width) / 2)


def _is_tank(x: Weighed) -> bool:
    return x.row["tag"].startswith(("T-", "BU-"))


def _of_skid(inp: Inputs, s: Skid, tag: str, strip: str) -> Placed:
    rack = s.key == "rack"
    ends = (float(inp.number("fabrication.push_out")), float(inp.number("fabrication.withdrawal"))) if rack else (
        0.0, float(inp.number("fabrication.aisle")) if s.key == "electrical" else 0.0)
    return Placed(tag, s.title, "rack" if rack else "skid", "package", strip, s.length, s.width, s.height, False,
                  clear_begin=ends[0], clear_end=ends[1], mass_operating=s.row["mass_operating"])


def _battery(sized: Any, weighed: Sequence[Weighed], train: int, strip: str) -> list[Placed]:
    """Filters of a train at the places of their battery, as one group."""
    pre = sized.pretreated
    if pre.vessel is None or pre.battery is None:
        return []
    x = next(w for w in weighed if w.row["key"] == "filters")
    assert x.box is not None
    there = places(pre.vessel, pre.battery)
    names = unit_tags(x.row)[train * len(there):]
    return [Placed(names[n], x.row["title"], "vessel", "package", strip, s["length"], s["width"],
                   float(x.box.height), x.box.round, s["x"] - s["length"] / 2, s["y"] - s["width"] / 2,
                   mass_operating=float(x.operating)) for n, s in enumerate(there)]


def _alone(x: Weighed, strip: str, train: int, trains: int) -> list[Placed]:
    """Units that stand by themselves."""
    if x.box is None or x.row["key"].startswith(("valve[", "instrument[")):
        return []
    units = unit_tags(x.row)
    each = len(units) // trains
    kind = "tank" if _is_tank(x) else "vessel" if x.row["tag"].startswith("F-") else "item"
    return [Placed(units[train * each + n], x.row["title"], kind, x.row["supply"], strip, float(x.box.length),
                   float(x.box.width), float(x.box.height), x.box.round, mass_operating=float(x.operating))
            for n in range(each)]


def _turned(strip: Sequence[Placed], aisle: float) -> Iterable[list[Placed]]:
    """Things of a strip in columns along x, as many across as its depth takes; turned back where it grows too long."""
    held = [p for p in strip if p.x or p.y]  # a battery has its places already
    line: list[Placed] = list(held)
    depth = _larger(_reach(held), _DEPTH)
    x = y = need = 0.0
    for p in held:
        x = _larger(x, p.x + p.length)
    x += aisle if held else 0.0
    for p in (one for one in strip if one not in held):
        mine = p.clear_begin + p.length + p.clear_end
        if need and y + aisle + p.width <= depth and mine <= _LONGER * need:
            y += aisle
        else:
            x += need + aisle if need else 0.0
            y = need = 0.0
            if line and x + mine > _LONGEST:
                yield line
                line, x = [], 0.0
        line.append(replace(p, x=x + p.clear_begin, y=y))
        y += p.width
        need = _larger(need, mine)
    if line:
        yield line


def _larger(a: float, b: float) -> float:
    return a if a > b else b


def _reach(line: Sequence[Placed]) -> float:
    found = 0.0
    for p in line:
        found = _larger(found, p.y + p.width)
    return found
