"""The words of the water line: what is said of each step, and where it stands in the picture."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import floor, log10

from desalbook import theme
from desalbook.drawings.water_line.course import Course, Spot, height
from desalbook.drawings.water_line.layout import LEADING, Box, Label, Lane, Placer, extent, widest, wrap
from desalbook.drawings.water_line.stops import Line, Stop
from desalbook.units import from_display, in_units, show, to_display, unit_label

__all__ = ["Words", "words"]

SIZE, TOLD = 12.0, 14.0
_DIGITS = {"gauge pressure": 3, "flow": 4, "salinity": 3}
_PLANTING = ("stairs", "high", "rightward", "leftward", "halves", "top")
_ORDER = {"feed": 0, "branch": 1, "product": 2, "reject": 3}


@dataclass
class Words:
    """Every label with its place, and the lines that go with them."""

    units: str
    by_spot: dict[int, list[Label]] = field(default_factory=dict)
    axis: list[Label] = field(default_factory=list)
    grid: list[float] = field(default_factory=list)
    hairs: list[tuple[float, float, float]] = field(default_factory=list)
    chemicals: list[Label] = field(default_factory=list)
    marks: list[tuple[float, float]] = field(default_factory=list)  # where each chemical enters
    energy: list[Label] = field(default_factory=list)
    key: list[Label] = field(default_factory=list)
    ramp_at: tuple[float, float, float] = (0, 0, 0)
    scale_at: tuple[float, float, float] = (0, 0, 0)
    top: float = 0.0
    bottom: float = 0.0
    told_at: float = 8.0
    told_y: float = 0.0
    shaft_gap: float = 0.0

    def figures(self, stop: Stop) -> list[str]:
        """Pressure, flow and salinity of a step, with units."""
        kind = "gauge pressure"  # to a hundredth of a bar or a tenth of a psi: finer is noise in a picture
        shown = round(to_display(stop.pressure, kind, self.units), 2 if self.units == "si" else 1)
        pressure = from_display(shown, kind, self.units)
        values = {"gauge pressure": pressure, "flow": stop.flow, "salinity": stop.salinity}
        return [show(value, kind, self.units, digits=_DIGITS[kind], trim=True, pretty=True)
                .replace("-", "\N{MINUS SIGN}") for kind, value in values.items()]

    def spoken(self, stop: Stop) -> str:
        """What a screen reader says of a step."""
        return ", ".join([stop.title, *self.figures(stop)])

    def told(self, stop: Stop) -> str:
        """The line shown at the top when a step is pointed at."""
        return "  ·  ".join([stop.title, *self.figures(stop)])

    def labels(self) -> list[Label]:
        """All labels that are visible at the same time."""
        return [*(w for each in self.by_spot.values() for w in each), *self.axis,
                *self.chemicals, *self.energy, *self.key]


def words(line: Line, way: Course, units: str, width: float, present: str | None, slim: bool = False) -> Words:
    """Choose and place every label of the picture; the slim one has titles and pressures in rows below only."""
    said = Words(units)
    scribe = _Scribe(line, way, said, width, present)
    if slim:
        scribe.write_slim()
    else:
        scribe.write()
    return said


class _Scribe:
    def __init__(self, line: Line, way: Course, said: Words, width: float, present: str | None):
        self.line, self.way, self.said, self.width, self.present = line, way, said, width, present
        ribbons = [b for s in way.strands for b in s.ribbon.boxes()]
        self.low = max([y1 for _, _, _, y1 in ribbons])
        self.high = min([y0 for _, y0, _, _ in ribbons])
        self.placer = Placer(6, width - 6, self.low + 24, ribbons)

    def write(self) -> None:
        order = sorted(range(len(self.way.spots)), key=lambda i: _ORDER[self.way.spots[i].path])
        self._axis()
        self._chemicals()
        for i in order:
            self.said.by_spot[i] = [self._pressure(self.way.spots[i])]
        if self.way.shaft:
            self._shaft_room()
        self._energy()
        self._frame()
        bottom = self._titles(order)
        self._key(bottom + 16)

    def write_slim(self) -> None:
        """No word on the water: what a step is and its pressure stand below, the rest is told when pointed at."""
        spots, said = self.way.spots, self.said
        said.by_spot = {i: [] for i in range(len(spots))}
        said.top = self.high - 26
        said.told_y = said.top + 16
        titled = sorted((i for i, s in enumerate(spots) if s.titled), key=lambda i: spots[i].column)
        lane = Lane([spots[i].column for i in titled], 6, self.width - 6, SIZE)
        stops = [spots[i].stop for i in titled]
        bold = {n for n, stop in enumerate(stops) if stop.key == self.present}
        blocks = lane.blocks([[s.title, said.figures(s)[0]] for s in stops], bold)
        labels, bottom = lane.rows(blocks, self.low + 8, bold)
        for i, label in zip(titled, labels, strict=True):
            said.by_spot[i].append(label)
        said.bottom = bottom + 4

    # axis ---------------------------------------------------------------------------------------

    def _axis(self) -> None:
        """Ticks at round numbers of the display unit, as many as stay apart."""
        units, said = self.said.units, self.said
        greatest = max(s.stop.pressure for s in self.way.spots)
        least = min(s.stop.pressure for s in self.way.spots)
        steps = [0.0, *(m * 10.0 ** k for k in range(-1, 5) for m in (1, 3))]
        steps += [60.0, -0.3, -1.0] if units == "si" else [2000.0, -3.0, -10.0]
        kept: list[float] = []
        for step in sorted(steps, key=lambda s: (s != 0, -abs(s))):  # zero, then from the top down
            pressure = from_display(step, "gauge pressure", units)
            y = height(pressure, self.way.unit)
            reached = min(0.0, 1.1 * least) - 1 <= pressure <= 1.02 * greatest
            if reached and all(abs(y - k) >= 30 for k in kept):
                kept.append(y)
                self._tick(f"{step:g}", y)
        unit = unit_label("gauge pressure", units)
        top = min(kept, default=0.0)
        label = Label([f"gauge pressure, {unit}"], 8, top - 40, "start", SIZE, role="quiet")
        if self.placer.cost(label):
            label.y = min(label.y, self.high - 20)
        said.axis.append(label)
        said.grid = kept
        self.placer.add(label)

    def _tick(self, text: str, y: float) -> None:
        label = Label([text.replace("-", "\N{MINUS SIGN}")], self.way.left - 8, y - LEADING * SIZE / 2, "end",
                      SIZE, role="quiet")
        self.said.axis.append(label)
        self.placer.add(label)

    # by the ribbon ------------------------------------------------------------------------------

    def _pressure(self, spot: Spot) -> Label:
        self.placer.hairs = [Box(s.column - 1, s.y, s.column + 1, self.low + 24)
                             for s in self.way.spots if s.titled and s is not spot]
        return self.placer.put(self._around(spot))

    def _around(self, spot: Spot) -> Iterator[Label]:
        text = self.said.figures(spot.stop)[0]
        unit = unit_label("gauge pressure", self.said.units)
        two = [text.removesuffix(unit).strip(), unit]
        giver = next((s for s in self.way.spots if s.path == "reject" and s.stop.kind == "recovery"), None)
        roofed = spot.path in ("feed", "branch") and giver is not None and spot.x > giver.column - 5
        half, beside = spot.half, spot.width / 2 + 2
        for lines in ([text], two):
            tall, wide = LEADING * SIZE * len(lines), widest(lines, SIZE, True)
            under, over = spot.y + spot.width / 2 + 4, spot.y - spot.width / 2 - 4 - tall
            side = spot.y - tall / 2
            for extra in (0, 14, 30, 46, 62):
                # Never beyond the concentrate above the feed: the figure would be taken for the concentrate's.
                for y in (under + extra,) if extra and roofed else (under + extra, over - extra):
                    for dx, anchor in ((0, "middle"), (-half, "start"), (0, "start"), (12, "middle"),
                                       (half, "end"), (0, "end"), (beside, "start"), (-beside, "end"),
                                       (half, "start"), (-half, "end")):
                        yield Label(lines, spot.x + dx, y, anchor, SIZE, bold=True, wide=wide)
                if spot.path == "reject":
                    yield Label(lines, spot.column - spot.width / 2 - 8, side - extra, "end", SIZE, bold=True)
                if spot.stop.kind in ("outfall", "product"):
                    yield Label(lines, spot.x + spot.half + 8, side, "start", SIZE, bold=True)

    def _shaft_room(self) -> None:
        """The shaft's arrow ends under the pump's own figure when that stands below the pump."""
        if self.way.shaft is None:
            return
        _, pump = self.way.shaft
        own = self.said.by_spot[self.way.spots.index(pump)][0].box
        if own.y0 > pump.y and own.x0 < pump.x < own.x1:
            self.said.shaft_gap = own.y1 - pump.y - pump.width / 2

    def _energy(self) -> None:
        giver = next((s for s in self.line.reject if s.kind == "recovery"), None)
        if giver is None:
            return
        same = [s.note for s in self.line.everything() if s.kind == "recovery" and s.note]
        word = giver.note or (same[0] if same else "")
        if not word:
            word = "power to the shaft" if self.way.shaft else "concentrate gives its pressure to the feed"
        text = f"{theme.ROLES['energy'].mark} {in_units(word, self.said.units)}"
        self.said.energy.append(self.placer.put(self._energy_places(text)))

    def _energy_places(self, text: str) -> Iterator[Label]:
        wheel = self.way.shaft[0] if self.way.shaft else None
        if wheel is not None:
            x, y = (wheel.column - wheel.width / 2 - 8), wheel.y - 2.2 * wheel.width
            anchor, tops = "end", [y + d for d in (0, 8, 20, 34, 50, -30, -50)]
        elif self.way.contact is None:
            return
        else:
            x, feed_top, _, w = self.way.contact
            x, anchor = x - w / 2 - 10, "end"
            tops = [feed_top - d for d in (34, 48, 26, 62, 80, 100, 120)]
        for limit in (240, 130, 90):
            lines = wrap(text, SIZE, limit)
            for y in tops:
                if wheel is not None:
                    yield Label(lines, wheel.column + wheel.width / 2 + 10, y, "start", SIZE, role="energy")
                yield Label(lines, x, y, anchor, SIZE, role="energy")
        for limit in (240, 130):  # above all water, as near as there is room
            lines = wrap(text, SIZE, limit)
            top = self.high - 8 - LEADING * SIZE * len(lines)
            for rise in range(0, 120, 12):
                for dx in (0, -60, 60, -120, 120):
                    yield Label(lines, x + dx, top - rise, "middle", SIZE, role="energy")

    def _chemicals(self) -> None:
        """Flags on poles above the ribbon. Several orders of planting are tried, each name on a pole of its
        own first; where they are too many for the room, those of one step share a pole."""
        spots: dict[str, Spot] = {}
        for spot in self.way.spots:
            spots.setdefault(spot.stop.key, spot)
        groups: dict[str, list[tuple[str, str]]] = {}
        for key, name, dose in self.line.chemicals:
            groups.setdefault(key, []).append((name, dose))
        single, shared, marks = [], [], []
        for key, names in groups.items():
            spot = spots[key]
            apart = min(11.0, 2 * spot.half / len(names))
            y = spot.y - spot.width / 2
            xs = [spot.x + spot.half - 3 - apart * (len(names) - 1 - n) for n in range(len(names))]
            marks += [(x, y) for x in xs]
            single += [(x, y, [name]) for x, name in zip(xs, names, strict=True)]
            shared.append((xs[-1], y, names))
        least, chosen = float("inf"), list[Label]()
        for how, flags in (*((h, single) for h in _PLANTING), *((h, shared) for h in _PLANTING)):
            cost, labels = self._plant(flags, how)
            if cost < least:
                least, chosen = cost, labels
            if cost < 4 or (how != "stairs" and cost < 50 and self.placer.dry(labels)):
                break
        self.said.chemicals, self.said.marks = chosen, marks
        for label in chosen:
            self.placer.add(label)

    def _plant(self, flags: list[tuple], how: str) -> tuple[float, list[Label]]:
        """Try one order of planting. A pole may be as tall as it must when what is planted later stands on
        the side its flag does not point to, so room is kept for the poles still to come."""
        lines = 2 if self.way.pitch < 80 else 1
        flags = sorted(flags, key=lambda m: m[0] if how == "leftward" else -m[0])
        if how == "halves":
            left = [m for m in flags if m[0] < self.width / 2]
            flags = [*left, *sorted((m for m in flags if m not in left), key=lambda m: m[0])]
        trial = self.placer.trial()
        found, cost = [], 0.0
        for n, (x, y, names) in enumerate(flags):
            rest = flags[n + 1:]
            trial.kept = []
            for other in rest:
                near = sum(other[0] - 160 < o[0] < other[0] for o in rest)
                tall = {"stairs": 24 + 18 * lines * (1 + near), "high": 200.0 if lines == 1 else 240.0,
                        "top": 330.0}.get(how, 1e4)
                trial.kept.append(Box(other[0] - 2, other[1] - tall, other[0] + 2, other[1]))
            label = trial.put(self._flags(x, y, names))
            cost += trial.cost(label) + (1000.0 if label.pole is None else 0.002 * (y - label.y))
            found.append(label)
        return cost, found

    def _flags(self, x: float, y: float, names: list[tuple[str, str]]) -> Iterator[Label]:
        long = [f"{name} {dose}".strip() for name, dose in names]
        shapes = [[p for pair in names for p in pair if p]]
        if len(names) > 1:
            shapes = [long]
        elif self.way.pitch >= 80:
            shapes.insert(0, long)
        if len(names) == 1:
            shapes.append([*names[0][0].split(" "), *([names[0][1]] if names[0][1] else [])])
        for shape in shapes:
            lines = [part for text in shape for part in wrap(text, SIZE, self.width / 3)]
            tall, wide = LEADING * SIZE * len(lines), widest(lines, SIZE)
            for rise in range(20, 380, 8):
                for side, anchor in ((5, "start"), (-5, "end")):
                    top = y - rise - tall
                    yield Label(lines, x + side, top, anchor, SIZE, role="chemical", pole=(x, top + 2, y - 4),
                                wide=wide)

    # under and over the picture -------------------------------------------------------------------

    def _frame(self) -> None:
        boxes = [w.box for w in self.placer.placed]
        top = min(self.high, *(b.y0 for b in boxes))
        self.said.top = min(top - 34, -400.0)
        self.said.told_y = self.said.top + 18

    def _titles(self, order: list[int]) -> float:
        spots = self.way.spots
        titled = sorted((i for i in order if spots[i].titled), key=lambda i: spots[i].column)
        ends = {id(self.line.stops[0]), id(self.line.permeate[-1]), id(self.line.reject[-1])}
        lane = Lane([self.way.spots[i].column for i in titled], 6, self.width - 6, SIZE)
        stops = [self.way.spots[i].stop for i in titled]
        bold = {n for n, stop in enumerate(stops) if stop.key == self.present}
        texts = [[s.title, *(self.said.figures(s)[1:] if id(s) in ends else ())] for s in stops]
        blocks = lane.blocks(texts, bold)
        floor_y = max([self.low] + [w.box.y1 for w in self.placer.placed])
        labels, bottom = lane.rows(blocks, max(floor_y, self.low + 20) + 16, bold)
        for i, label in zip(titled, labels, strict=True):
            self.said.by_spot[i].append(label)
            spot = self.way.spots[i]
            self.said.hairs += self._hair(spot.column, spot.y + spot.width / 2 + 2, label.y - 4)
        return bottom

    def _hair(self, x: float, top: float, bottom: float) -> list[tuple[float, float, float]]:
        """A hairline, omitted where it would run through text."""
        pieces, y = [], top
        boxes = [w.box for w in self.placer.placed]
        cuts = sorted((b.y0 - 2, b.y1 + 2) for b in boxes if b.x0 - 2 < x < b.x1 + 2)
        for y0, y1 in cuts:
            if y1 <= y:
                continue
            if y0 > y:
                pieces.append((x, y, min(y0, bottom)))
            y = max(y, y1)
        return [p for p in [*pieces, (x, y, bottom)] if p[2] - p[1] > 3]

    def _key(self, top: float) -> None:
        """What width and tint mean, with a bar of a round flow and the ramp."""
        said, units = self.said, self.said.units
        x, y = 8.0, top

        def say(text: str, gap: float) -> None:
            nonlocal x
            said.key.append(Label([text], x, y, "start", SIZE, role="quiet"))
            x += extent(text, SIZE) + gap

        flow = from_display(_round_down(to_display(15.0 / self.way.per_flow, "flow", units)), "flow", units)
        tall = flow * self.way.per_flow
        say("height is gauge pressure", 26)
        say("width is flow", 8)
        said.scale_at = (x, y + LEADING * SIZE / 2 - tall / 2, tall)
        x += 18 + 8
        say(show(flow, "flow", units, trim=True, pretty=True), 26)
        full = show(theme.RAMP_FULL, "salinity", units, digits=3, trim=True)
        need = extent("tint is salinity, 0", SIZE) + 8 + 90 + 8 + extent(full, SIZE)
        if x + need > self.width - 8:
            x, y = 8.0, y + 22
        say("tint is salinity, 0", 8)
        said.ramp_at = (x, y + 3, 90.0)
        x += 90 + 8
        say(full, 0)
        said.bottom = y + LEADING * SIZE + 8


def _round_down(value: float) -> float:
    """The maximum of 1, 2, 5 times a power of ten that is not above the value."""
    power = 10.0 ** floor(log10(value))
    return max(m for m in (1.0, 2.0, 5.0) if m * power <= value * (1 + 1e-9)) * power
