"""Skids: what stands on one base, how it is arranged, where its mass lies, how it is lifted, and what it is shipped in.

Rules of the arrangement: items of a skid in the order of the schedule, in bays along the base, each bay filled across
as far as the door of the container lets it, a gap between items; vessels in columns of ``membrane.row`` (as high as a
person reaches where that is one) from ``fabrication.lowest_vessel`` up, at ``fabrication.vessel_pitch``; a skid that
grows longer than the container is split. Elements and cartridges are shipped apart and loaded at site. A first
arrangement: outlines, nozzles and the frame itself are drawn by the fabricator, a competent person plans the lift.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from string import ascii_uppercase
from typing import Any

from desalbook.balances import sum_of_two_masses
from desalbook.fabrication.lifting import (
    CAUTION,
    base_load,
    centre_coordinate,
    elements_that_fit,
    floor_load,
    frame_mass,
    leg_load,
    lifted_mass,
    lug_share,
    offset_fraction,
    overhang,
    share_of_mass,
    sum_of_masses,
    times_count,
)
from desalbook.hydraulics.rows import row_line
from desalbook.plant.equipment import unit_tags
from desalbook.plant.gathered import gathered
from desalbook.plant.pipe_list import PipeRun
from desalbook.plant.weights import Weighed, element_stem
from desalbook.tables import Row, table
from desalbook.trail import Column, Figure, assumed, checked, constant, current, note, picked, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import show

__all__ = ["CLEARANCE", "Piece", "Skid", "containers", "skids"]

CLEARANCE = {side: of.value for side, of in (
    ("length", constant("d_l", 0.15, "m", source="common-practice", title="Skates and dunnage, of the length")),
    ("width", constant("d_w", 0.10, "m", source="common-practice", title="Skates and dunnage, of the width")),
    ("height", constant("d_h", 0.10, "m", source="common-practice", title="Skates and dunnage, of the height")))}
"""What skates and dunnage take off the measures of a container, m."""
FRAME = constant("h_b", 0.20, "m", source="common-practice", title="Height of the base frame").value
_VESSEL = constant("k_v", 0.75, "1", source="common-practice", title="Box of a vessel in a rack, over the pitch").value
_EDGE = constant("d_e", 0.05, "m", source="common-practice", title="Edge of a rack around its vessels").value
_IN = {"elements": "vessels", "cartridge": "cartridge_housing"}
"""Items that are held by others: shipped apart, carried by their host in operation."""


@dataclass
class Piece:
    """One unit on a skid: its place from the end of the skid and its box (m), its masses (kg).

    Parameters
    ----------
    name : str
        Tag with the letter of the unit, or what it is of the skid itself.
    tag, title : str
    empty, operating : Figure
    """

    name: str
    tag: str
    title: str
    length: float
    width: float
    height: float
    empty: Figure
    operating: Figure
    round: bool = False
    x: float = 0.0
    y: float = 0.0
    z: float = FRAME


@dataclass
class Skid:
    """One skid of one train, or of the plant.

    Parameters
    ----------
    key, tag, title, scope : str
    count : int
        Like skids in the plant.
    pieces : list of Piece
    length, width, height : float
        Outer measures, m.
    row : dict
        Of the table, once it is weighed.
    """

    key: str
    tag: str
    title: str
    scope: str
    count: int
    pieces: list[Piece] = field(default_factory=list)
    length: float = 0.0
    width: float = 0.0
    height: float = 0.0
    row: dict[str, Any] = field(default_factory=dict)


def _letters() -> Iterator[str]:
    yield from ascii_uppercase
    for a in ascii_uppercase:
        for b in ascii_uppercase:
            yield a + b


def skids(inp: Inputs, sized: Any, weighed: Sequence[Weighed], runs: Sequence[PipeRun]) -> list[Skid]:
    """Skids of the package: arranged, weighed, with checks of lifting and shipping.

    Parameters
    ----------
    inp : Inputs
    sized : Sized
    weighed : sequence of Weighed
    runs : sequence of PipeRun
    """
    container = _Container(inp)
    made: list[Skid] = []
    for key, kind in table("skid_kinds").items():
        rows = [x for x in weighed if x.skid == key and x.row["supply"] == "package"]
        if not rows:
            continue
        per = kind["per"].value
        trains = int(sized.duty.trains) if per == "train" else 1
        groups = _racks(inp, rows, container) if key == "rack" else _bays(inp, rows, container, trains)
        boxes = [side for x in rows if x.box is not None for side in (x.box.length, x.box.width, x.box.height)]
        for n, group in zip(_letters(), groups, strict=False):
            tag = f"SK-{kind['number'].value}{n if len(groups) > 1 else ''}"
            title = f"{kind.title}, part {n} of {len(groups)}" if len(groups) > 1 else kind.title
            skid = Skid(key, tag, title, per, trains, group)
            _measure(skid)
            # how many skids there are, and what stands on which, follows from sizes, gaps and container
            with scope(per, count=trains, because=[*container.rules, *boxes]):
                _weigh(inp, sized, skid, weighed, runs if n == "A" else (), container, boxes)
            made.append(skid)
    for x in weighed:
        if x.row["key"].partition("[")[0] == "vessels" and made:
            _longest(x, weighed, container)
    return made


def _longest(x: Weighed, weighed: Sequence[Weighed], container: _Container) -> None:
    """Elements of a vessel against the most that the container takes."""
    of = x.row["key"].partition("[")[2]
    area = next(w.row["ids"]["area"] for w in weighed if w.row["key"].startswith("elements")
                and w.row["key"].partition("[")[2] == of)
    id, book = f"shipment.elements_most[{x.row['tag']}]", current()
    most = elements_that_fit.at(id, inner_side=container.length, clearance=container.clearance["length"],
                                element_length=book[f"{element_stem(book, area)}.length_overall"])
    checked(f"{id}.check", book[x.row["ids"]["elements"]], "<=", most, title=f"{x.row['tag']} length and the container",
            do="use shorter vessels (membrane.elements), or a longer container (fabrication.container)")


class _Container:
    """The container the skids are built for: lines of its measures."""

    def __init__(self, inp: Inputs):
        chosen = inp.choice("fabrication.container")
        self.chosen, self.row = chosen, table("containers").row(chosen, "fabrication.container")

        def line(name: str) -> Figure:
            return row_line(f"shipment.{name}", "containers", str(chosen), name, because=[chosen])

        self.length, self.width, self.height = line("inner_length"), line("door_width"), line("door_height")
        self.payload, self.floor_limit = line("payload"), line("floor_limit")
        self.clearance = {k: assumed(f"shipment.{k}_clearance", v, "length", title=f"Clearance, {k}", symbol="d_g",
                                     source="common-practice", place="skates and dunnage")
                          for k, v in CLEARANCE.items()}
        self.rules = [chosen, self.length, self.width, self.height, inp.number("membrane.row"),
                      *(inp.number(f"fabrication.{k}") for k in (
                          "gap", "vessel_pitch", "lowest_vessel", "highest_vessel"))]
        self.third = assumed("shipment.offset_limit", 1 / 6, "fraction", title="Half of the middle third",
                             symbol="e_m", source="definition", place="no edge of a rectangle lifts off within it")

    def clear(self, side: str) -> float:
        """Usable measure, m."""
        return float(getattr(self, side)) - CLEARANCE[side]


def _units(rows: Sequence[Weighed], trains: int) -> list[Piece]:
    """Units of one skid: of a train where the skid is of a train."""
    hosts = {x.row["key"].partition("[")[0]: x for x in rows}
    found = []
    for x in rows:
        if x.box is None or x.row["key"].partition("[")[0] in _IN:
            continue
        names = _names(x, trains)
        carried = next((hosts[held] for held, host in _IN.items() if host == x.row["key"] and held in hosts), None)
        operating = x.operating if carried is None else _with_load(x, carried)
        for name in names:
            a, b = float(x.box.length), float(x.box.width)
            found.append(Piece(name, x.row["tag"], x.row["title"], max_side(a, b), a + b - max_side(a, b),
                               float(x.box.height), x.empty, operating, x.box.round))
    return found


def _names(x: Weighed, trains: int) -> list[str]:
    """Tags of the units on one skid: on that of a train without its number, on one of the plant all of them."""
    units = unit_tags(x.row)
    if x.row["scope"] != "train" or (trains == 1 and x.row["trains_served"] > 1):
        return units
    return [tag.partition("-")[2] for tag in units[:len(units) // x.row["trains_served"]]]


def max_side(a: float, b: float) -> float:
    """The longer of two sides."""
    return a if a > b else b


def _with_load(host: Weighed, held: Weighed) -> Figure:
    """Mass in operation of one host with what it holds: cartridges of a housing, elements of a vessel."""
    id = f"skid.load[{host.row['tag']}]"
    if id in current():
        return current()[f"skid.loaded[{host.row['tag']}]"]
    places = held.row["installed_total"] / host.row["installed_total"]
    if host.row.get("elements"):
        count: Figure = current()[host.row["ids"]["elements"]]
    else:
        count = picked(f"skid.held[{host.row['tag']}]", places, "count", title="Held by one", symbol="n_h",
                       rule="all that are installed, over all that hold them", candidates=[], inputs={
                           "held": held.operating, "host": host.operating})
    load = times_count.at(id, one_mass=held.operating, installed=count, title=f"{held.row['title']}, in one")
    return sum_of_two_masses.at(f"skid.loaded[{host.row['tag']}]", mass=host.operating, other_mass=load,
                                title="Mass in operation with what it holds")


def _bays(inp: Inputs, rows: Sequence[Weighed], container: _Container, trains: int) -> list[list[Piece]]:
    """Units in bays along the base; a new skid where the container is too short for the next bay."""
    gap = float(inp.number("fabrication.gap"))
    wide, long = container.clear("width"), container.clear("length")
    bays: list[list[Piece]] = []
    across = 0.0
    for p in _units(rows, trains):
        if bays and across + gap + p.width <= wide - gap:
            across += gap + p.width
            bays[-1].append(p)
        else:
            bays.append([p])
            across = p.width
    groups: list[list[Piece]] = []
    x = long + 1.0
    for bay in bays:
        deep = _largest(p.length for p in bay)
        if x + deep + gap / 2 > long or not groups:
            groups.append([])
            x = gap / 2
        y = gap / 2
        for p in bay:
            p.x, p.y = x + (deep - p.length) / 2, y
            y += p.width + gap
            groups[-1].append(p)
        x += deep + gap
    for group in groups:  # bays lie in the middle of the widest
        broad = _largest(_largest(p.y + p.width for p in group if p.x <= q.x + q.length and q.x <= p.x + p.length)
                         for q in group)
        for bay in _by_bay(group):
            off = (broad - _largest(p.y + p.width for p in bay)) / 2
            for p in bay:
                p.y += off
    return groups


def _by_bay(group: Sequence[Piece]) -> list[list[Piece]]:
    """Pieces of a group by the bay they stand in: those whose middles lie at one place along the base."""
    found: dict[float, list[Piece]] = {}
    for p in group:
        found.setdefault(round(p.x + p.length / 2, 6), []).append(p)
    return list(found.values())


def _largest(values: Any) -> float:
    """The largest of some measures."""
    found = 0.0
    for v in values:
        found = max_side(found, v)
    return found


def _racks(inp: Inputs, rows: Sequence[Weighed], container: _Container) -> list[list[Piece]]:
    """Vessels in columns; as many columns on a rack as the door lets through."""
    pitch, low = float(inp.number("fabrication.vessel_pitch")), float(inp.number("fabrication.lowest_vessel"))
    reach = float(inp.number("fabrication.highest_vessel"))
    door = container.clear("height") - FRAME - pitch / 2
    room = int(((reach if reach < door else door) - low) / pitch + 1e-9) + 1
    wanted = int(inp.number("membrane.row"))  # a column of the rack; one says that nobody has drawn it
    high = wanted if 1 < wanted <= room else room
    high = high if high >= 1 else 1
    columns: list[tuple[Weighed, int, int]] = []
    for x in rows:
        if x.box is None or x.row["key"].partition("[")[0] != "vessels":
            continue
        each, done = x.row["duty"], 0
        while done < each:
            standing = -(-each // -(-each // high))  # columns of one height, the last as it comes
            here = standing if each - done >= standing else each - done
            columns.append((x, done, here))
            done += here
    most = int((container.clear("width") - 0.1) / pitch)
    most = most if most >= 1 else 1
    groups = []
    parts = -(-len(columns) // most) if columns else 0
    even = -(-len(columns) // parts) if parts else 1
    for first in range(0, len(columns), even):
        group = []
        for k, (x, done, here) in enumerate(columns[first:first + even]):
            box = x.box
            assert box is not None
            held = next(e for e in rows if e.row["key"].startswith("elements")
                        and e.row["key"].partition("[")[2] == x.row["key"].partition("[")[2])
            loaded, names = _with_load(x, held), _names(x, x.row["trains_served"])
            for level in range(here):
                group.append(Piece(names[done + level], x.row["tag"], x.row["title"], float(box.length),
                                   pitch * _VESSEL, pitch * _VESSEL, x.empty, loaded, False, _EDGE,
                                   _EDGE + k * pitch + pitch / 8, FRAME + low + level * pitch - pitch * (_VESSEL / 2)))
        groups.append(group)
    return groups


def _measure(skid: Skid) -> None:
    """Outer measures of the base, with half a gap around what stands on it."""
    edge = _EDGE if skid.key == "rack" else min_of(p.y for p in skid.pieces)
    first = min_of(p.x for p in skid.pieces)
    skid.length = _largest(p.x + p.length for p in skid.pieces) + first
    skid.width = _largest(p.y + p.width for p in skid.pieces) + edge
    skid.height = _largest(p.z + p.height for p in skid.pieces)


def min_of(values: Any) -> float:
    """The smallest of some measures."""
    found = None
    for v in values:
        found = v if found is None or v < found else found
    return found or 0.0


def _weigh(inp: Inputs, sized: Any, skid: Skid, weighed: Sequence[Weighed], runs: Sequence[PipeRun],
           container: _Container, boxes: Sequence[Figure]) -> None:
    """Masses, centres of gravity, lifting and fit of one skid."""
    at, book = f"skid[{skid.tag}]", current()
    rests: dict[str, Any] = {f"rule_{n}": x for n, x in enumerate(container.rules)}
    rests |= {f"box_{n}": x for n, x in enumerate(boxes)} | {"trains": sized.duty.trains}
    sides = {name: picked(f"{at}.{name}", getattr(skid, name), "length", title=f"{name.capitalize()} of the skid",
                          symbol={"length": "L", "width": "B", "height": "H"}[name], candidates=[], inputs=rests,
                          rule="as the items are arranged, with half a gap around them")
             for name in ("length", "width", "height")}
    frame = frame_mass.at(f"{at}.frame", long_side=sides["length"], short_side=sides["width"],
                          frame_load=inp.number("fabrication.frame_load"))
    equipment = sum_of_masses.at(f"{at}.equipment", title="Equipment of the skid, empty", masses=gathered(
        f"{at}.equipment_masses", {_key(p.name): p.empty for p in skid.pieces}, title="Equipment, empty", symbol="m_i",
        axis="part"))
    cables = share_of_mass.at(f"{at}.cables", base_mass=equipment, title="Cables and trays of the skid",
                              mass_fraction_of=inp.number("fabrication.cables"))
    own = [("frame", "Base frame", frame, frame), ("cables", "Cables and trays", cables, cables)]
    kind = table("skid_kinds")[skid.key]
    for name in kind["runs"].value.split() if "runs" in kind else ():
        for run in (r for r in runs if r.key == name):
            full = book[f"line[{name}].full"]
            own.append((f"pipe-{name}", run.row["title"], run.empty, full))
            own += [(v.row["tag"], v.row["title"], v.empty, v.operating) for v in _valves(sized, weighed, name)]
    known = {x.row["tag"] for x in weighed}
    high = {"frame": FRAME}
    skid.pieces += [Piece(name, name if name in known else "", title, skid.length, skid.width,
                          high.get(name, skid.height), a, b, False, 0.0, 0.0, 0.0) for name, title, a, b in own]
    masses, centres = {}, {}
    for state in ("empty", "operating"):
        column = gathered(f"{at}.{state}_masses", {_key(p.name): getattr(p, state) for p in skid.pieces}, axis="part",
                          title=f"Mass by part, {state}", symbol="m_i")
        masses[state] = sum_of_masses.at(f"{at}.{state}", masses=column, title=f"Mass of the skid, {state}")
        for axis, side in (("x", "length"), ("y", "width"), ("z", "height")):
            places = _places(f"{at}.{axis}_{state}", skid, axis, side, rests) if state == "empty" else (
                book[f"{at}.{axis}_empty"])
            centres[axis, state] = centre_coordinate.at(
                f"{at}.centre_{axis}_{state}", masses=column, places=places, mass_sum=masses[state],
                title=f"Centre of gravity along the {side}, {state}", symbol=f"{axis}_c")
    _lift(inp, skid, at, sides, masses, centres, container)


def _valves(sized: Any, weighed: Sequence[Weighed], run: str) -> list[Weighed]:
    """Valves in a run of pipe, weighed; those of relief have a place of their own."""
    tags = {v["tag"] for v in sized.valves if v["line"] == run and v["type"] != "relief"}
    return [x for x in weighed if x.row["tag"] in tags]


def _key(name: str) -> str:
    return name.replace("/", "-")


def _places(id: str, skid: Skid, axis: str, side: str, rests: Mapping[str, Any]) -> Column:
    values = [getattr(p, axis) + getattr(p, side) / 2 for p in skid.pieces]
    return picked(id, values, "length", title=f"Middle of each part along the {side}", symbol=f"{axis}_i",
                  rule="as the items are arranged; frame, cables and pipes in the middle", inputs=rests,
                  candidates=[{"key": _key(p.name), "value": v, "won": True}
                              for p, v in zip(skid.pieces, values, strict=True)],
                  axis="part", keys=[_key(p.name) for p in skid.pieces])


def _lift(inp: Inputs, skid: Skid, at: str, sides: Mapping[str, Figure], masses: Mapping[str, Figure],
          centres: Mapping[tuple[str, str], Figure], container: _Container) -> None:
    off = {}
    for axis, side, words in (("x", "length", "along"), ("y", "width", "across")):
        off[axis] = offset_fraction.at(f"{at}.offset_{words}", centre=centres[axis, "empty"], long_side=sides[side],
                                       title=f"Offset of the centre of gravity, {words}")
        checked(f"{at}.offset_{words}.check", off[axis], "<=", container.third,
                title=f"{skid.tag} centre of gravity {words} the base",
                do="arrange the heavy items nearer to the middle, or lift with a spreader over the centre of gravity",
                caution=CAUTION)
    share = lug_share.at(f"{at}.lug_share", offset_long=off["x"], offset_short=off["y"])
    hoist = lifted_mass.at(f"{at}.lifted", empty_mass=masses["empty"],
                           weight_contingency=inp.number("fabrication.weight_contingency"),
                           dynamic_factor=inp.number("fabrication.dynamic_factor"))
    angle = inp.choice("fabrication.sling_angle")
    factor_id = "shipment.angle_factor"
    factor = current()[factor_id] if factor_id in current() else row_line(
        factor_id, "sling_angles", str(angle), "angle_factor", because=[angle])
    leg = leg_load.at(f"{at}.leg_load", lifted_mass=hoist, sling_legs=inp.number("fabrication.sling_legs"),
                      angle_factor=factor)
    load = floor_load.at(f"{at}.floor_load", empty_mass=masses["empty"], long_side=sides["length"])
    ground = base_load.at(f"{at}.base_load", operating_mass=masses["operating"], long_side=sides["length"],
                          short_side=sides["width"])
    checked(f"{at}.floor_load.check", load, "<=", container.floor_limit,
            title=f"{skid.tag} load of the container floor", do="bed the skid on longitudinal beams, or split it",
            caution=CAUTION)
    checked(f"{at}.payload.check", masses["empty"], "<=", container.payload, title=f"{skid.tag} mass and payload",
            do="split the skid, or ship it without its heaviest item")
    out = {side: overhang.at(f"{at}.overhang_{side}", long_side=sides[side], inner_side=getattr(container, side),
                             clearance=container.clearance[side], title=f"{side.capitalize()} that sticks out")
           for side in ("length", "width", "height")}
    over = {side: float(x) for side, x in out.items() if float(x) > 0}
    words = ", ".join(f"{side} by {show(x, 'length.small', digits=2)}" for side, x in over.items())
    note(f"{at}.fit", title=f"{skid.tag} in the container", verdict="review" if over else "passes",
         why=f"sticks out of a {container.row.title.lower()}: {words}" if over else
         f"goes through the door of a {container.row.title.lower()} with its clearance",
         do="ship it on a flat rack or in an open-top container, or split it" if over else "", inputs=dict(out),
         caution=CAUTION)
    row = {"key": skid.key, "tag": skid.tag, "title": skid.title, "scope": skid.scope, "count": skid.count,
           "length": skid.length, "width": skid.width, "height": skid.height,
           "mass_empty": float(masses["empty"]), "mass_operating": float(masses["operating"])}
    row |= {f"centre_{axis}": float(centres[axis, "empty"]) for axis in "xyz"}
    row |= {f"centre_{axis}_operating": float(centres[axis, "operating"]) for axis in "xyz"}
    row |= {"lifted_mass": float(hoist), "leg_load": float(leg), "lug_share": float(share),
            "floor_load": float(load), "area_load": float(ground),
            "container": container.row.title, "fits": "no" if over else "yes", "sticks_out": words,
            "id": masses["empty"].id, "ids": {"mass_empty": masses["empty"].id,
                                              "mass_operating": masses["operating"].id, "lifted_mass": hoist.id,
                                              "leg_load": leg.id, "floor_load": load.id,
                                              "area_load": ground.id, "lug_share": share.id}}
    skid.row = row


def containers(inp: Inputs, made: Sequence[Skid], weighed: Sequence[Weighed],
               runs: Sequence[PipeRun]) -> list[dict[str, Any]]:
    """Containers and loose goods: what is in each, its mass against payload, its load of the floor.

    Skids of a kind that go through the door share containers by their length, the longest first; vessels and tanks
    that stand by themselves fill them up, upright or lying; what does not go through the door is loose. Elements,
    cartridges, spools, valves and instruments go in boxes, beside a last container that is no more than half full.
    """
    kind = table("containers").row(inp.choice("fabrication.container"), "fabrication.container")
    room = kind["inner_length"].value - CLEARANCE["length"]
    payload, limit = kind["payload"].value, kind["floor_limit"].value
    bins: list[dict[str, Any]] = []
    loose: list[dict[str, Any]] = []
    each = [(s, f"{n + 1}-" if s.scope == "train" else "") for s in made for n in range(s.count)]
    for s, head in sorted(each, key=lambda one: (-one[0].length, one[0].tag, one[1])):
        tag = f"{head}{s.tag}"
        if s.row["fits"] == "no":
            loose.append(_goods(tag, s.title, 1, s.row["mass_empty"], s.row["sticks_out"]))
            continue
        _packed(bins, tag, s.length, s.row["mass_empty"], s.row["floor_load"], room, payload)
    on_skids = {p.tag for s in made for p in s.pieces}
    boxed = {"elements": 0.0, "cartridges": 0.0, "valves and instruments": 0.0, "pipe spools and supports": 0.0}
    for x in weighed:
        n, key = x.row["installed_total"], x.row["key"]
        mass = float(x.empty) * n
        if x.row["supply"] != "package" or x.row["tag"] in on_skids:
            continue
        if key.startswith("elements"):
            boxed["elements"] += mass
        elif key == "cartridge":
            boxed["cartridges"] += mass
        elif key.startswith(("valve[", "instrument[")):
            boxed["valves and instruments"] += mass
        else:
            along = _through(x, kind, room)
            if along is None:
                loose.append(_goods(x.row["tag"], x.row["title"], n, mass, "does not go through the door"))
                continue
            for tag in unit_tags(x.row):
                _packed(bins, tag, along, float(x.empty), float(x.empty) / along, room, payload)
    carried = {r for s in made for r in (table("skid_kinds")[s.key].get("runs").value.split()
                                         if "runs" in table("skid_kinds")[s.key] else ())}
    for r in runs:
        if r.key not in carried:
            boxed["pipe spools and supports"] += (float(r.empty) + float(r.supports)) * r.row["count"]
    shared: dict[str, Any] = {"mass": 0.0, "contents": []}
    if bins and 0.0 < _total(boxed.values()) <= payload / 2 >= bins[-1]["mass"] and bins[-1]["used"] <= room / 2:
        shared = bins.pop()  # half a container beside half a container of boxes
    rows = [{"number": n, "kind": kind.title, "contents": ", ".join(b["contents"]), "items": len(b["contents"]),
             "mass": b["mass"], "payload": payload, "length_used": b["used"], "floor_load": b["floor"],
             "floor_limit": limit, "fits": "yes" if b["floor"] <= limit * (1 + 1e-9) else "no",
             "remark": "" if b["floor"] <= limit * (1 + 1e-9) else "bed it on beams: the floor carries less"}
            for n, b in enumerate(bins, 1)]
    boxes = {name: mass for name, mass in boxed.items() if mass}
    if boxes:
        number = -(-int(_total(boxes.values())) // int(payload))
        rows.append({"number": len(rows) + 1, "kind": kind.title, "contents": ", ".join([*shared["contents"], *boxes]),
                     "items": number, "mass": _total(boxes.values()) + shared["mass"],
                     "payload": payload * number, "length_used": None,
                     "floor_load": None, "floor_limit": limit, "fits": "yes",
                     "remark": f"in boxes, {number} {'container' if number == 1 else 'containers'} by mass"})
    for one in loose:
        rows.append({"number": len(rows) + 1, "kind": "Loose, flat rack or break bulk", "contents": one["tag"],
                     "items": one["count"], "mass": one["mass"], "payload": None, "length_used": None,
                     "floor_load": None, "floor_limit": None, "fits": "no", "remark": f"{one['title']}: {one['why']}"})
    return rows


def _packed(bins: list[dict[str, Any]], tag: str, length: float, mass: float, floor: float, room: float,
            payload: float) -> None:
    """Put one into the first container with room for it, by length and by mass."""
    at = next((b for b in bins if b["used"] + length <= room and b["mass"] + mass <= payload), None)
    if at is None:
        bins.append(at := {"used": 0.0, "mass": 0.0, "contents": [], "floor": 0.0})
    at["used"] += length
    at["mass"] += mass
    at["contents"].append(tag)
    at["floor"] = max_side(at["floor"], floor)


def _through(x: Weighed, kind: Row, room: float) -> float | None:
    """Length it takes in a container, m, upright or lying on its side; None where no way goes through the door."""
    if x.box is None:
        return None
    long, wide, high = float(x.box.length), float(x.box.width), float(x.box.height)
    door, lintel = (kind[side].value - CLEARANCE[less] for side, less in (("door_width", "width"),
                                                                          ("door_height", "height")))
    for along, across, up in ((long, wide, high), (high, wide, long)):
        if across <= door and up <= lintel and along <= room:
            return along
    return None


def _goods(tag: str, title: str, count: int, mass: float, why: str) -> dict[str, Any]:
    return {"tag": tag, "title": title, "count": count, "mass": mass, "why": why}


def _total(masses: Any) -> float:
    found = 0.0
    for m in masses:
        found += m
    return found
