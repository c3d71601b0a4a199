"""Process diagram and line diagram of a sized plant: the ways of the water as strips, drawn from the record.

Each way (seawater to the membranes, concentrate, product, backwash, cleaning) is a strip from left to right: equipment
on the line with its tag, between it the runs of pipe. The process diagram has what a process flow diagram must show
(ISO 10628-1): equipment with tag, ways and direction, names, flows and conditions of the streams. The line diagram adds
line numbers, valves and instruments by tag, dosing points, and hand valves, check valves and reducers by the rules of
their list, and the slope of each line. The valve of an instrument's hook-up stands as a small symbol on its stem; the
hook-ups themselves, with their tags, are strips of their own at the end. Nothing is calculated here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from desalbook import theme
from desalbook.drawings import svg
from desalbook.drawings.svg import number
from desalbook.plant.hand_valves import HandValve, hand_valves
from desalbook.tables import table
from desalbook.units import show

__all__ = ["PER_SHEET", "Item", "Strip", "line_diagram", "process_diagram", "strips"]

_GROUND, _INK = "var(--db-ground)", "var(--db-text)"
PER_SHEET = (3, 4)
"""Strips on the first sheet, which has the title block above it, and on each other."""
_ROW, _UP = 190.0, 108.0
_NODE, _SLOT, _LETTER = 104.0, 62.0, 7.3
_ON_LINE = ("pipe", "fittings")
_MARK, _DOSE, _HOOK = 72.0, 88.0, 78.0
"""Room of one hand valve, check valve or reducer; of a dosing point; of a valve of a hook-up."""


@dataclass(frozen=True)
class Item:
    """Something on a strip: a unit, a run of pipe, what is fitted into it by hand, the way to another strip, a hook-up.

    Parameters
    ----------
    kind : str
        Symbol of a unit, ``pipe``, ``fittings``, ``way`` or ``hook-up``.
    tag, title : str
    valves, instruments, doses : tuple of str
        Tags on a run of pipe or beside a unit.
    line : str
        Number of the line of a run; what a hook-up is on.
    slope : str
        By how much a run falls.
    hooked : tuple of str
        Instruments that have a hook-up.
    stream : str
        Key of the stream in it.
    key : str
        Of the unit or run.
    marks : tuple of (str, str)
        Symbol and tag of each hand valve, check valve or reducer.
    """

    kind: str
    tag: str = ""
    title: str = ""
    valves: tuple[str, ...] = ()
    instruments: tuple[str, ...] = ()
    doses: tuple[str, ...] = ()
    line: str = ""
    stream: str = ""
    key: str = ""
    marks: tuple[tuple[str, str], ...] = ()
    slope: str = ""
    hooked: tuple[str, ...] = ()


@dataclass(frozen=True)
class Strip:
    """One way of the water.

    Parameters
    ----------
    title : str
    water : str
        Role of its colour.
    items : list of Item
    """

    title: str
    water: str
    items: list[Item] = field(default_factory=list)


_ON = {"feed-suction": ("raw-level",), "feed": ("feed-pressure", "filtrate-turbidity"),
       "cartridge": ("feed-conductivity", "feed-temperature", "orp", "feed-ph", "suction"),
       "raw": ("raw-flow", "raw-turbidity"), "high-pressure": ("discharge",),
       "concentrate-high": ("concentrate-pressure",), "concentrate": ("concentrate-flow",),
       "permeate": ("permeate-flow", "permeate-pressure", "permeate-conductivity"),
       "product": ("product-flow", "product-ph", "product-chlorine"),
       "cleaning": ("cip-pressure", "cip-flow", "cip-ph", "cip-flow-switch")}
"""Instruments by the run they are on."""
_BESIDE = {"storage": ("raw-level",), "filters": ("filter-drop", "filter-level"),
           "cartridge_housing": ("cartridge-drop",), "vessels": ("vessel-drop",), "product_tank": ("product-level",),
           "backwash_tank": ("backwash-level", "backwash-level-switch"),
           "flush_tank": ("flush-level", "flush-level-switch"),
           "cip": ("cip-temperature", "cip-level", "cip-thermostat", "cip-level-switch")}
"""Instruments beside a unit."""
_INLET = ("feed-dump", "relief-feed")
_AT_FILTER = ("filter-inlet-valve", "filter-outlet-valve", "filter-to-waste-valve")
_RETURN = ("cip-return-valve", "cip-permeate-valve", "cip-drain-valve")
_SYMBOLS = {"intake_screen": "screen", "intake_pump": "pump", "storage": "tank", "feed_pump": "pump",
            "filters": "filter", "scour_blower": "blower", "backwash_tank": "tank", "backwash_pump": "pump",
            "cartridge_housing": "cartridge", "hp_pump": "plunger", "energy_recovery": "recovery", "booster": "pump",
            "concentrate_pump": "pump", "vessels": "vessels", "degasifier": "tower", "contactor": "filter",
            "product_tank": "tank", "product_pump": "pump", "flush_tank": "tank", "flush_pump": "pump", "cip": "tank",
            "cip_pump": "pump", "cip_heater": "heater", "cip_cartridge": "cartridge"}
_RAW = ("chlorination",)
_FILTER = ("coagulation",)
_FEED = ("acid", "antiscalant", "dechlorination", "biocide")
_PRODUCT = ("post_ph", "corrosion_inhibitor", "post_chlorination")


class _Plant:
    """The lists of a plant by key, and what has been placed."""

    def __init__(self, plant: Any):
        of = getattr(plant, "sized", plant)
        self.sized = of
        self.rows = {r["key"]: r for r in of.equipment if not r["key"].startswith(("instrument[", "valve["))}
        self.instruments = {i["key"]: i["tag"] for i in (*of.control.rows(), *of.control.safety)}
        self.valves = {v["key"]: v for v in of.valves}
        self.numbers, self.slopes = _numbers(plant)
        self.placed: set[str] = set()

    def unit(self, key: str) -> list[Item]:
        """A unit of the schedule, once; a way to it where it is drawn already; nothing where it is not there."""
        if key not in self.rows:
            return []
        row = self.rows[key]
        base = key.partition("[")[0]
        if key in self.placed:
            return [Item("way", row["tag"], row["title"])]
        self.placed.add(key)
        beside = tuple(self._take("instrument", self.instruments.get(i)) for i in _BESIDE.get(base, ()))
        title = row["title"].partition(":")[0]
        return [Item(_SYMBOLS.get(base, "pump"), row["tag"], title, instruments=tuple(t for t in beside if t), key=key)]

    def _take(self, kind: str, tag: str | None) -> str:
        if tag is None or f"{kind} {tag}" in self.placed:
            return ""
        self.placed.add(f"{kind} {tag}")
        return tag

    def pipe(self, run: str, *, place: str = "", valves: Sequence[str] = (), doses: Sequence[str] = (),
             stream: str = "") -> Item:
        """A run of pipe with what is on it that is not drawn yet."""
        tags = [self._take("valve", self.valves[k]["tag"]) for k in valves if k in self.valves]
        read = [self._take("instrument", self.instruments.get(k)) for k in _ON.get(place or run, ())]
        dosed = [self._take("dose", self.rows[f"dosing_{d}"]["tag"]) for d in doses if f"dosing_{d}" in self.rows]
        return Item("pipe", valves=tuple(t for t in tags if t), instruments=tuple(t for t in read if t),
                    doses=tuple(t for t in dosed if t), line=self.numbers.get(run, ""), stream=stream, key=run,
                    slope=self.slopes.get(run, ""))

    def pass_of(self, bank: str) -> int:
        """0 of the first pass, 1 of the second."""
        return int(bank.startswith("vessels[second_pass"))

    def pump_before(self, bank: str) -> str:
        """Key of the pump between the bank before and this one; empty where there is none."""
        at = bank.partition("[")[2].rstrip("]")
        name = at.partition("-")[2]
        second = self.pass_of(bank)
        wanted = f"{'second_' if second else ''}stage_pump[{name}]"
        if wanted in self.rows:
            return wanted
        return "second_pass_pump" if second and name == self.sized.array.plan.second_rows[0].name else ""

    def on(self, *runs: str, without: Sequence[str] = ()) -> list[str]:
        """Keys of the valves of some runs."""
        return [k for k, v in self.valves.items() if v["line"] in runs and k not in without]


def _numbers(plant: Any) -> tuple[dict[str, str], dict[str, str]]:
    """Number and slope of each line, by its run; none where the plant lists no lines."""
    listed = getattr(plant, "line_list", None)
    rows = [] if listed is None else listed.to_dict("records")
    return ({str(r["key"]): str(r["number"]) for r in rows},
            {str(r["key"]): f"falls {show(float(r['slope']), 'fraction', trim=True)}" for r in rows})


def strips(plant: Any) -> list[Strip]:
    """The ways of the water of a plant, in its order.

    Parameters
    ----------
    plant : Plant
    """
    p = _Plant(plant)
    made = [_seawater(p), _membranes(p), *_recovery(p), _product(p), *_backwash(p), *_flush(p), _cleaning(p)]
    return _fitted(plant, [s for s in made if s.items])


def _fitted(plant: Any, made: Sequence[Strip]) -> list[Strip]:
    """The strips with what is fitted by hand upstream and downstream of each unit, and in each run, where it is first
    drawn.
    """
    of = getattr(plant, "sized", plant)
    there: dict[tuple[str, str], list[tuple[str, str]]] = {}
    hooks: dict[str, list[HandValve]] = {}
    for x in hand_valves(of):
        if x.side == "hook-up":
            hooks.setdefault(x.row["of"], []).append(x)
        else:
            there.setdefault((x.owner, x.side), []).append((x.mark, x.row["tag"]))
    doses = {r["tag"]: r["key"] for r in of.equipment if r["key"].startswith("dosing_")}

    def fittings(key: str, side: str) -> list[Item]:
        marks = there.pop((key, side), ())
        return [Item("fittings", marks=tuple(marks))] if marks else []

    found = []
    for strip in made:
        items: list[Item] = []
        for item in strip.items:
            if item.kind == "way":
                items += [item, *fittings(item.key, "inlet")]
                continue
            items += fittings(item.key, "before")
            injected = tuple(m for tag in item.doses for m in there.pop((doses[tag], "after"), ()))
            items.append(replace(item, marks=injected, hooked=tuple(t for t in item.instruments if t in hooks)))
            items += fittings(item.key, "after")
        found.append(Strip(strip.title, strip.water, items))
    return found + list(_hook_ups(of, hooks))


def _hook_ups(of: Any, hooks: Mapping[str, Sequence[HandValve]]) -> Iterator[Strip]:
    """Valves of each instrument from its line or tank to its cell, those of an analyser apart."""
    titles = {i["tag"]: i["title"] for i in of.control.rows()}
    units = {i: key for key, some in _BESIDE.items() for i in some}
    items = []
    for tag, found in hooks.items():
        run, unit = found[0].row["line"], units.get(found[0].owner)
        on = f"Line {table('line_numbers')[run]['number'].value}" if run else "Intake"
        if unit is not None:
            on = next(r["tag"] for r in of.equipment if r["key"].partition("[")[0] == unit)
        items.append(Item("hook-up", tag, titles[tag], line=on, marks=tuple((x.mark, x.row["tag"]) for x in found)))
    for title, some in (("Hook-ups of pressure and level instruments", [i for i in items if len(i.marks) <= 2]),
                        ("Hook-ups of analysers", [i for i in items if len(i.marks) > 2])):
        if some:
            yield Strip(title, "quiet", some)


def _seawater(p: _Plant) -> Strip:
    open_sea = str(p.sized.design.get("water.source")) != "beach-well"
    items = [Item("way", "", "Sea" if open_sea else "Beach wells"), *p.unit("intake_screen"),
             *p.unit("intake_pump"), p.pipe("", place="raw", doses=_RAW, stream="raw"), *p.unit("storage"),
             p.pipe("feed-suction"), *p.unit("feed_pump"),
             p.pipe("feed", doses=() if "filters" in p.rows else (*_FILTER,), valves=_AT_FILTER, stream="filtered")
             if "filters" not in p.rows else p.pipe("feed", doses=_FILTER, valves=_AT_FILTER[:1], stream="filtered"),
             *p.unit("filters")]
    if "filters" in p.rows:
        items.append(p.pipe("feed", place="filtrate", valves=_AT_FILTER[1:], stream="filtrate"))
    items += [*p.unit("cartridge_housing"),
              p.pipe("feed", place="cartridge", doses=_FEED, valves=("feed-valve", *_INLET), stream="ro_feed"),
              Item("way", p.rows["hp_pump"]["tag"], "HP pump")]
    return Strip("Seawater to the HP pump", "sea", items)


def _membranes(p: _Plant) -> Strip:
    """The HP pump, what lifts the pressure, and the banks of vessels with the pumps between them."""
    high = [k for k in p.on("high-pressure") if k != "relief-vessels"]
    items = [Item("way", "", "RO feed"), *p.unit("hp_pump")]
    if p.sized.device.kind.boosts_feed and "energy_recovery" in p.rows:
        items += p.unit("energy_recovery")
    items.append(p.pipe("high-pressure", valves=(*high, "relief-vessels"), stream="hp"))
    banks = [k for k in p.rows if k.partition("[")[0] == "vessels"]
    for n, bank in enumerate(banks):
        if n:
            first = p.pass_of(bank) != p.pass_of(banks[n - 1])
            second = p.pass_of(bank) == 1
            before, after = ("second-suction", "second-feed") if first else (
                ("second-stages",) if second else ("interstage",)) * 2
            items.append(p.pipe(before, doses=("interpass_ph",) if first else ()))
            pump = p.pump_before(bank)
            if pump:
                items += [*p.unit(pump), p.pipe(after)]
        items += p.unit(bank)
    items.append(Item("way", "", "Concentrate; permeate"))
    return Strip("Reverse osmosis", "sea", items)


def _recovery(p: _Plant) -> list[Strip]:
    """Concentrate to the outfall, and the feed that an isobaric device lifts."""
    banks = [(k, r["tag"]) for k, r in p.rows.items() if k.partition("[")[0] == "vessels"]
    last = [tag for k, tag in banks if not p.pass_of(k)][-1]
    items = [Item("way", last, "Concentrate"), p.pipe("concentrate-high", valves=p.on("concentrate-high")),
             *p.unit("energy_recovery"), *p.unit("concentrate_pump"),
             p.pipe("concentrate", valves=p.on("concentrate"), stream="concentrate"), Item("way", "", "Outfall")]
    made = [Strip("Concentrate", "reject", items)]
    if "second-return" in p.sized.pipes:
        back = str(p.sized.array.plan.second["concentrate_to"]) == "feed"
        made.append(Strip("Concentrate of the second pass", "reject", [
            Item("way", banks[-1][1], "Second pass"), p.pipe("second-return"),
            Item("way", "", "RO feed" if back else "Waste")]))
    if "booster" in p.rows:
        made.append(Strip("RO feed through the energy recovery device", "sea", [
            Item("way", "", "RO feed", key="energy_recovery"), *p.unit("energy_recovery"), *p.unit("booster"),
            Item("pipe", stream="booster"), Item("way", "", "Vessels")]))
    return made


def _product(p: _Plant) -> Strip:
    items = [Item("way", "", "Permeate"), p.pipe("permeate", valves=p.on("permeate"), stream="permeate"),
             *p.unit("degasifier"), *p.unit("contactor"),
             p.pipe("", place="none", doses=(*_PRODUCT, "interpass_ph")), *p.unit("product_tank"),
             *p.unit("product_pump"), p.pipe("product", valves=p.on("product"), stream="product"),
             Item("way", "", "Delivery")]
    return Strip("Permeate to delivery", "product", items)


def _backwash(p: _Plant) -> list[Strip]:
    if "backwash_pump" not in p.rows:
        return []
    source = "storage" if "backwash_tank" not in p.rows else "backwash_tank"
    valves = p.on("backwash", without=("relief-backwash",))
    waste = [k for k in valves if "outlet" in k or "drain" in k or k == "waste-valve"]
    items = [*p.unit(source), *p.unit("backwash_pump"),
             p.pipe("backwash", valves=[k for k in p.on("backwash") if k not in waste], stream="backwash"),
             *p.unit("filters"), p.pipe("backwash", valves=waste), Item("way", "", "Waste")]
    made = [Strip("Backwash", "sea", items)]
    if "scour_blower" in p.rows:
        made.append(Strip("Scour air", "energy", [Item("way", "", "Air"), *p.unit("scour_blower"), Item("pipe"),
                                                  Item("way", p.rows["filters"]["tag"], "Media filter")]))
    return made


def _flush(p: _Plant) -> list[Strip]:
    if "flush_tank" not in p.rows:
        return []
    return [Strip("Flush", "product", [
        Item("way", "", "Permeate"), *p.unit("flush_tank"), *p.unit("flush_pump"),
        p.pipe("flush", valves=p.on("flush")), *p.unit("hp_pump"), Item("way", "", "Dump")])]


def _cleaning(p: _Plant) -> Strip:
    back = [k for k in p.on("cleaning") if k in _RETURN]
    there = [k for k in p.on("cleaning") if k not in _RETURN]
    bank = next(k for k in p.rows if k.partition("[")[0] == "vessels")
    return Strip("Cleaning in place", "product", [
        *p.unit("cip"), *p.unit("cip_heater"), *p.unit("cip_pump"), *p.unit("cip_cartridge"),
        p.pipe("cleaning", valves=there), *p.unit(bank), p.pipe("cleaning", place="none", valves=back),
        *p.unit("cip")])


def process_diagram(plant: Any, units: str = "si", width: int = 1300) -> list[str]:
    """Process diagram: ways of the water with equipment and the conditions of its streams; one SVG a sheet.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    width : int

    Returns
    -------
    list of str
        HTML, each with one SVG.
    """
    return _sheets(plant, units, float(width), "Process diagram", whole=False)


def line_diagram(plant: Any, units: str = "si", width: int = 1300) -> list[str]:
    """Line diagram: ways of the water with equipment, lines, valves, instruments and dosing points by tag.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    width : int

    Returns
    -------
    list of str
        HTML, each with one SVG.
    """
    return _sheets(plant, units, float(width), "Line diagram", whole=True)


def _sheets(plant: Any, units: str, width: float, name: str, *, whole: bool) -> list[str]:
    of = getattr(plant, "sized", plant)
    streams: dict[str, Mapping[str, Any]] = {str(s["key"]): s for s in of.streams}
    for key, stop in (("hp", "hp_pump"), ("booster", "booster")):  # pressure is shown where it is made
        at = next((s for s in (*of.stops["feed"], *(of.stops["exchanger_branch"] or ())) if s["key"] == stop), None)
        if at is not None:
            streams[key] = {"volume_flow": at["flow"], "pressure": at["pressure"], "salinity": at["salinity"]}
    rows: list[tuple[Strip, list[Item], bool]] = []
    for strip in strips(plant):
        if not whole and strip.items[0].kind == "hook-up":
            continue
        shown = strip.items if whole else [i for i in strip.items if i.kind != "fittings"]
        for n, part in enumerate(_wrapped(shown, width, whole)):
            rows.append((strip, part, n > 0))
    made = []
    first, other = PER_SHEET
    cuts = [0, *range(first, len(rows), other)]
    for sheet, start in enumerate(cuts, 1):
        body, said = [], []
        part = rows[start:start + (first if start == 0 else other)]
        for n, (strip, items, goes_on) in enumerate(part):
            y = n * _ROW + _UP
            title = f"{strip.title}, continued" if goes_on else strip.title
            body.append(svg.text(8, y - 94, title, "start", "bold"))
            drawn = _draw(items, y, strip.water, streams, units, whole)
            body += drawn
            named = [i.tag or i.title for i in items if i.kind not in _ON_LINE and (i.tag or i.title)]
            said.append(f"{title}: {', '.join(named)}")
        label = f"{name}, sheet {sheet} of {len(cuts)}"
        made.append(svg.picture("diagram", label, "; ".join(said) + ".", width, len(part) * _ROW, body))
    return made


def _extent(item: Item, whole: bool) -> float:
    """Room an item takes along the strip."""
    if item.kind == "way":
        words = [item.tag, *_lines(item.title, 14)]
        return max(58.0, _LETTER * max(map(len, words)) + 26)
    if item.kind == "fittings":
        return _MARK * len(item.marks)
    if item.kind == "hook-up":
        return _LEAD + _HOOK * len(item.marks) + _CELL
    if item.kind != "pipe":
        widest = max((len(w) for w in _lines(item.title, 16)), default=0)
        return max(_NODE, _LETTER * widest + 8, _SLOT * len(item.instruments) + 12 if whole else 0.0)
    if not whole:
        return 96.0 if item.stream else 46.0
    slots = max(_SLOT * len(item.valves), _slot(item) * (len(item.instruments) + len(item.doses)))
    return max(46.0, slots + 14, _LETTER * len(item.line) + 12 if item.line else 0.0)


_LEAD, _CELL = 66.0, 96.0
"""Room of the line a hook-up is on, and of its instrument with its title."""


def _slot(item: Item) -> float:
    return _DOSE if item.doses else _SLOT


def _lines(text: str, most: int) -> list[str]:
    """A title in lines of so many letters, by words."""
    made: list[str] = []
    for word in text.split():
        if made and len(made[-1]) + 1 + len(word) <= most:
            made[-1] += f" {word}"
        else:
            made.append(word)
    return made[:3]


def _wrapped(items: Sequence[Item], width: float, whole: bool) -> Iterator[list[Item]]:
    """Items in rows that fit the sheet; the next row begins with the way from the last unit, and no row is a way
    alone.
    """
    row: list[Item] = []
    used = 16.0
    for n, item in enumerate(items):
        need = _extent(item, whole)
        if row and used + need > width - 10:
            alone = all(i.kind == "way" for i in items[n:])
            carried = [row.pop()] if alone and row[-1].kind in _ON_LINE else []
            yield row
            last = next((i for i in reversed(row) if i.kind not in _ON_LINE), None)
            row = [Item("way", last.tag, "" if last.tag else last.title)] if last is not None and (
                item.kind != "hook-up") else []
            row += carried
            used = 16.0 + sum(_extent(i, whole) for i in row)
        row.append(item)
        used += need
    yield row


def _draw(items: Sequence[Item], y: float, water: str, streams: Mapping[str, Mapping[str, Any]], units: str,
          whole: bool) -> list[str]:
    out, x = [], 16.0
    for n, item in enumerate(items):
        wide = _extent(item, whole)
        middle = x + wide / 2
        if item.kind == "way":
            out += _way(item, x, wide, y, n == 0, n == len(items) - 1, water)
        elif item.kind == "fittings":
            out += _fittings(item, x, wide, y, water)
        elif item.kind == "hook-up":
            out += _hook_up(item, x, wide, y)
        elif item.kind == "pipe":
            out += _pipe(item, x, wide, y, water, streams, units, whole)
        else:
            out += [svg.line(x, y, x + wide, y, water, "", 2.4), *_symbol(item.kind, middle, y, water),
                    svg.text(middle, y + 40, item.tag, "middle", "bold")]
            out += [svg.text(middle, y + 54 + 13 * k, w, "middle", "small")
                    for k, w in enumerate(_lines(item.title, 16))]
            if whole:
                out += _bubbles(item.instruments, middle, y - 26, item.hooked)
        x += wide
    return out


def _way(item: Item, x: float, wide: float, y: float, first: bool, last: bool, water: str) -> list[str]:
    """The way from or to another strip, or out of the plant."""
    ink = theme.var(water)
    tip, tail = x + wide, x
    shape = (f'<path d="M{number(tail + 2)},{number(y - 15)}H{number(tip - 14)}L{number(tip - 2)},{number(y)}'
             f'L{number(tip - 14)},{number(y + 15)}H{number(tail + 2)}Z" fill="{_GROUND}" stroke="{ink}" '
             'stroke-width="1.2"/>')
    words = [item.tag] if item.tag else _lines(item.title, 14)
    text = [svg.text((tail + tip) / 2 - 5, y + 4 - 6.5 * (len(words) - 1) + 13 * k, w, "middle", "small")
            for k, w in enumerate(words)]
    below = [] if not item.tag or not item.title else [
        svg.text((tail + tip) / 2, y + 32 + 13 * k, w, "middle", "small") for k, w in enumerate(_lines(item.title, 14))]
    return [shape, *text, *below]


def _pipe(item: Item, x: float, wide: float, y: float, water: str, streams: Mapping[str, Mapping[str, Any]],
          units: str, whole: bool) -> list[str]:
    ink, end = theme.var(water), x + wide
    out = [svg.line(x, y, end, y, water, "", 2.4),
           f'<path d="M{number(end - 9)},{number(y - 4.5)}L{number(end)},{number(y)}L{number(end - 9)},'
           f'{number(y + 4.5)}Z" fill="{ink}"/>']
    if not whole:
        s = streams.get(item.stream)
        if s is not None and s.get("volume_flow") is not None:
            words = [show(float(s["volume_flow"]), "flow", units, digits=3, trim=True, pretty=True)]
            if s.get("pressure") is not None:
                words.append(show(float(s["pressure"]), "gauge pressure", units, digits=3, trim=True))
            if s.get("salinity") is not None:
                words.append(show(float(s["salinity"]), "salinity", units, digits=3, trim=True))
            out += [svg.text(x + wide / 2, y - 34 + 13 * k, w, "middle", "small") for k, w in enumerate(words)]
            return out
        return out
    if item.line:
        out += [svg.text(x + wide / 2, y + 38, item.line, "middle", "small"),
                svg.text(x + wide / 2, y + 52, item.slope, "middle", "small")]
    for k, tag in enumerate(item.valves):
        at = x + wide * (k + 0.5) / len(item.valves)
        out += [f'<path d="M{number(at - 9)},{number(y - 7)}L{number(at + 9)},{number(y + 7)}V{number(y - 7)}'
                f'L{number(at - 9)},{number(y + 7)}Z" fill="{_GROUND}" stroke="{_INK}" '
                'stroke-width="1.2"/>', svg.text(at, y + 22, tag, "middle", "small")]
        if tag.startswith("PSV"):
            out.append(svg.line(at, y - 7, at, y - 14, "quiet", "2 2"))
    marks = [*((tag, True) for tag in item.doses), *((tag, False) for tag in item.instruments)]
    for k, (tag, dose) in enumerate(marks):
        at = x + wide * (k + 0.5) / len(marks)
        if not dose and any(abs(at - x - wide * (n + 0.5) / len(item.valves)) < 16 for n in range(len(item.valves))):
            at += 18  # beside the valve, not in it
        if dose:
            out += _injection(tag, [t for _, t in item.marks if tag.replace("-", "") in t], at - 28, y)
        else:
            out += _bubbles((tag,), at, y - 2, item.hooked)
    return out


def _injection(tag: str, fitted: Sequence[str], at: float, y: float) -> list[str]:
    """A dosing point: check valve and isolation on its branch, their tags beside it, the pump above."""
    ink = theme.var("chemical")
    return [svg.line(at, y - 2, at, y - 42, "chemical", "", 1.2),
            f'<path d="M{number(at - 5)},{number(y - 12)}L{number(at)},{number(y - 2)}L{number(at + 5)},'
            f'{number(y - 12)}Z" fill="{ink}"/>',
            f'<path d="M{number(at - 5)},{number(y - 34)}H{number(at + 5)}L{number(at - 5)},{number(y - 22)}'
            f'H{number(at + 5)}Z" fill="{_GROUND}" stroke="{ink}" stroke-width="1.1"/>',
            *(svg.text(at + 8, y - 7 - 17 * k, t, "start", "small") for k, t in enumerate(fitted)),
            svg.text(at, y - 47, tag, "middle", "small", "chemical")]


def _hook_up(item: Item, x: float, wide: float, y: float) -> list[str]:
    """From the line to the instrument: its valves in their order, the bubble at the end."""
    end = x + wide - _CELL + 22
    return [svg.text(x, y + 4, item.line, "start", "small"),
            *_fittings(item, x + _LEAD - 10, _HOOK * len(item.marks) + 10, y, "quiet", _HOOK),
            svg.line(end - 22, y, end, y, "quiet", "", 1.2), *_bubble(item.tag, end + 21, y),
            *(svg.text(end + 21, y + 36 + 13 * k, w, "middle", "small") for k, w in enumerate(_lines(item.title, 14)))]


def _fittings(item: Item, x: float, wide: float, y: float, water: str, room: float = _MARK) -> list[str]:
    """Hand valves, check valves and reducers on the line; drains and samples below it, vents above."""
    paint = f'fill="{_GROUND}" stroke="{_INK}" stroke-width="1.1"'
    out = [svg.line(x, y, x + wide, y, water, "", 2.4 if room == _MARK else 1.2)]
    for k, (mark, tag) in enumerate(item.marks):
        at = x + room * (k + 0.5)
        if mark == "manifold":
            out += [f'<path d="M{number(at - 15)},{number(y - 11)}H{number(at + 15)}V{number(y + 11)}H{number(at - 15)}'
                    f'Z" fill="{_GROUND}" stroke="{_INK}" stroke-width="1.1" stroke-dasharray="3 2"/>',
                    svg.line(at - 15, y, at + 15, y, water, "", 1.2), svg.line(at + 11, y, at + 11, y - 16, water)]
        if mark in ("hand", "check", "manifold"):
            out.append(f'<path d="M{number(at - 8)},{number(y - 6)}L{number(at + 8)},{number(y + 6)}V{number(y - 6)}'
                       f'L{number(at - 8)},{number(y + 6)}Z" {paint}/>')
            out.append(f'<path d="M{number(at)},{number(y)}V{number(y - 10)}M{number(at - 5)},{number(y - 10)}'
                       f'H{number(at + 5)}" {paint}/>' if mark != "check" else
                       f'<path d="M{number(at - 8)},{number(y - 6)}V{number(y + 6)}L{number(at)},{number(y)}Z" '
                       f'fill="{_INK}"/>')
            out.append(svg.text(at, y + 22, tag, "middle", "small"))
        elif mark == "reducer":
            out += [f'<path d="M{number(at - 8)},{number(y - 7)}L{number(at + 8)},{number(y - 4)}V{number(y + 4)}'
                    f'L{number(at - 8)},{number(y + 7)}Z" {paint}/>', svg.text(at, y + 22, tag, "middle", "small")]
        else:
            down = -1 if mark == "vent" else 1
            end = y + 28 * down
            out += [svg.line(at, y, at, end, "quiet", "", 1.2),
                    f'<path d="M{number(at - 5)},{number(y + 8 * down)}H{number(at + 5)}L{number(at - 5)},'
                    f'{number(y + 22 * down)}H{number(at + 5)}Z" {paint}/>']
            if mark == "sample":
                out += [f'<circle cx="{number(at)}" cy="{number(y + 34)}" r="6" {paint}/>',
                        svg.text(at, y + 54, tag, "middle", "small")]
            elif mark == "drain":
                out += [f'<path d="M{number(at - 6)},{number(end)}H{number(at + 6)}L{number(at)},{number(end + 7)}Z" '
                        f'fill="{_INK}"/>', svg.text(at, y + 49, tag, "middle", "small")]
            else:
                out.append(svg.text(at, y - 34, tag, "middle", "small"))
    return out


def _bubbles(tags: Sequence[str], middle: float, y: float, hooked: Sequence[str] = ()) -> list[str]:
    """Instruments as circles on a stem, with a valve where they have a hook-up."""
    out = []
    for k, tag in enumerate(tags):
        at = middle + _SLOT * (k - (len(tags) - 1) / 2)
        out.append(svg.line(at, y, at, y - 18, "quiet", "", 0.8))
        if tag in hooked:
            out.append(f'<path d="M{number(at - 4)},{number(y - 15)}H{number(at + 4)}L{number(at - 4)},{number(y - 5)}'
                       f'H{number(at + 4)}Z" fill="{_GROUND}" stroke="{_INK}" stroke-width="0.9"/>')
        out += _bubble(tag, at, y - 39)
    return out


def _bubble(tag: str, at: float, y: float) -> list[str]:
    """An instrument: letters over the number of the loop."""
    letters, _, loop = tag.partition("-")
    return [f'<circle cx="{number(at)}" cy="{number(y)}" r="21" fill="{_GROUND}" '
            f'stroke="{_INK}" stroke-width="1"><title>{tag}</title></circle>',
            svg.text(at, y - 3, letters, "middle", "small"), svg.text(at, y + 11, loop, "middle", "small")]


def _symbol(kind: str, x: float, y: float, water: str) -> list[str]:
    """The unit as a plain outline on the line."""
    ink, ground = _INK, _GROUND
    paint = f'fill="{ground}" stroke="{ink}" stroke-width="1.6"'
    tint = f'fill="{theme.var(water)}" opacity="0.25"'

    def path(d: str, style: str = paint) -> str:
        return f'<path d="{d}" {style}/>'

    def at(dx: float, dy: float) -> str:
        return f"{number(x + dx)},{number(y + dy)}"

    circle = f'<circle cx="{number(x)}" cy="{number(y)}" r="17" {paint}/>'
    thin = f'fill="none" stroke="{ink}" stroke-width="1"'
    if kind == "pump":
        return [circle, path(f"M{at(-8, -15)}L{at(17, 0)}L{at(-8, 15)}", thin)]
    if kind == "plunger":
        return [circle, path(f"M{at(-8, -15)}L{at(17, 0)}L{at(-8, 15)}", thin), path(f"M{at(-3, -6)}V{number(y + 6)}",
                                                                                   thin)]
    if kind == "blower":
        return [circle, path(f"M{at(-12, -11)}L{at(16, -5)}M{at(-12, 11)}L{at(16, 5)}", thin)]
    if kind == "tank":
        return [path(f"M{at(-24, -20)}V{number(y + 22)}H{number(x + 24)}V{number(y - 20)}"),
                path(f"M{at(-23, -8)}H{number(x + 23)}V{number(y + 21)}H{number(x - 23)}Z", tint)]
    if kind in ("filter", "tower"):
        bed = path(f"M{at(-17, -12)}L{at(17, 12)}M{at(-17, 12)}L{at(17, -12)}", thin)
        if kind == "filter":
            bed = path(f"M{at(-17, -2)}H{number(x + 17)}V{number(y + 14)}H{number(x - 17)}Z", tint)
        return [path(f"M{at(-18, -12)}Q{at(0, -30)} {at(18, -12)}V{number(y + 14)}Q{at(0, 32)} {at(-18, 14)}Z"), bed]
    if kind == "cartridge":
        return [path(f"M{at(-18, -20)}H{number(x + 18)}V{number(y + 20)}H{number(x - 18)}Z"),
                path(f"M{at(-9, -16)}V{number(y + 16)}M{at(0, -16)}V{number(y + 16)}M{at(9, -16)}V{number(y + 16)}",
                     f'{thin} stroke-dasharray="3 2"')]
    if kind == "vessels":
        return [path(f"M{at(-36, -16)}H{number(x + 36)}V{number(y + 16)}H{number(x - 36)}Z"),
                path(f"M{at(-36, 16)}L{at(36, -16)}", thin)]
    if kind == "recovery":
        return [path(f"M{at(-26, -18)}H{number(x + 26)}V{number(y + 18)}H{number(x - 26)}Z"),
                path(f"M{at(-18, -7)}H{number(x + 14)}L{at(8, -12)}M{at(18, 7)}H{number(x - 14)}L{at(-8, 12)}", thin)]
    if kind == "screen":
        return [path(f"M{at(-18, -18)}H{number(x + 18)}V{number(y + 18)}H{number(x - 18)}Z"),
                path("".join(f"M{at(d, -18)}V{number(y + 18)}" for d in (-9, 0, 9)), thin)]
    return [circle, path(f"M{at(-12, 0)}L{at(-6, -8)}L{at(0, 8)}L{at(6, -8)}L{at(12, 0)}", thin)]
