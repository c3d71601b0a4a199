"""The course the water takes across the picture: columns, heights, widths, and the ribbons themselves.

Heights follow gauge pressure, widths follow flow. Two liberties are taken, and only these. Where two
strands run side by side (feed through the high-pressure pump beside feed through an isobaric ERD; product
and concentrate inside the vessels) the *pair* is centred on the height. Where the concentrate bends back it runs
in a lane above the feed, for both have the same pressure and cannot lie in one place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import asinh, pi

from desalbook.drawings.water_line.ribbon import Ribbon
from desalbook.drawings.water_line.stops import Line, Stop
from desalbook.hydraulics.energy_recovery import WaterLineRole as Role

__all__ = ["BEND", "SLIM", "Course", "Spot", "Strand", "course", "height"]

BEND = 1e5
"""Gauge pressure, Pa, about which the height scale passes from linear to logarithmic: one bar, so that
the head of a tank and the pressure at the vessels can be read off one axis."""
RISE = 290.0  # picture units from 0 to the maximum pressure
WIDEST = 44.0
LEVEL = 0.16  # half length of a step's level part, in columns
RUN = 1.2  # a bend uses at most this many columns
SLIM = 0.2
"""Height and widths of the slim picture, of the full one's."""


@dataclass
class Spot:
    """Where one stop stands: centre, half length of its level part, width, and its piece of ribbon."""

    stop: Stop
    path: str
    x: float
    y: float
    width: float
    half: float
    column: float  # x of its title, which may differ where the concentrate turns a corner
    piece: str = ""
    titled: bool = True


@dataclass
class Strand:
    """A ribbon to be painted and the salinities along it, as (x, kg/kg) from left to right."""

    ribbon: Ribbon
    salinity: list[tuple[float, float]]
    path: str = "feed"
    first: int = 0
    last: int | None = None
    front: bool = False  # passes before others: gets a gap of ground colour along its sides


@dataclass
class Course:
    """All geometry of one picture, in paint order: what comes later lies in front."""

    strands: list[Strand] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
    contact: tuple[float, float, float, float] | None = None  # x, feed top, feed bottom, concentrate width
    shaft: tuple[Spot, Spot] | None = None  # wheel, pump
    pitch: float = 0.0
    unit: float = 0.0  # picture units per Pa-asinh
    per_flow: float = 0.0  # picture units per m3/s
    left: float = 0.0
    right: float = 0.0


def height(pressure: float, unit: float) -> float:
    """Picture height (upward negative) of a gauge pressure in Pa."""
    return -unit * asinh(pressure / BEND)


def course(line: Line, width: float, slim: bool = False) -> Course:
    """Lay the line out over a picture of that width, at full height or slim."""
    return _Builder(line, width, SLIM if slim else 1.0).build()


class _Builder:
    def __init__(self, line: Line, width: float, scale: float = 1.0):
        self.line, self.scale = line, scale
        self.at, self.out = {}, Course()
        top = max(s.pressure for s in line.everything())
        self.out.unit = scale * RISE / asinh(max(top, BEND) / BEND)
        self.back = line.recovery != Role.VALVE
        self.pump = max((i for i, s in enumerate(line.stops[:-1]) if s.kind == "pump"), default=0)
        self._columns(width)
        wide = min(1.5 * scale * WIDEST if scale < 1 else WIDEST, 0.4 * self.out.pitch)
        self.out.per_flow = wide / max(s.flow for s in line.everything())

    def _columns(self, width: float) -> None:
        line, places = self.line, []
        tip = len(line.stops) - 1
        for i in range(len(line.stops)):
            if i == tip and line.recovery == Role.SHAFT:
                places.append(("reject", 0, 1.0))
            steep = abs(self._y(line.stops[i]) - self._y(line.stops[i - 1])) if i else 0.0
            gap = 0.9 + 0.4 * min(1.0, steep / (160 * self.scale))  # a long climb gets a wider column, so that it flows
            places.append(("feed", i, max(gap, 1.15) if i == tip else gap))
            if line.branch and i == self.pump:
                places += [("branch", k, 1.0) for k in range(len(line.branch))]
        product = [("product", k, 1.0) for k in range(len(line.permeate))]
        reject = [("reject", k, 1.0) for k in range(1 if self.back else 0, len(line.reject))]
        first, *rest = (reject + product) if self.back else (product + reject)
        places += [(*first[:2], 1.1), *rest]
        left, right = 74.0, width - 46.0
        gaps = sum(p[2] for p in places[1:])
        self.out.pitch = min(150.0, (right - left) / gaps)
        x = left + ((right - left) - self.out.pitch * gaps) / 2
        self.out.left, self.out.right = x - 22, width - (x - left) - 12
        for n, (path, i, gap) in enumerate(places):
            x += gap * self.out.pitch if n else 0.0
            self.at[path, i] = x
        if line.recovery == Role.IN_FEED:
            self.at["reject", 0] = self.at["feed", next(
                i for i, s in enumerate(line.stops) if s.kind == "recovery")]
        elif line.recovery == Role.BRANCH:
            self.at["reject", 0] = self.at["branch", next(
                i for i, s in enumerate(line.branch) if s.kind == "recovery")]

    # measures -----------------------------------------------------------------------------------

    def _y(self, stop: Stop) -> float:
        return height(stop.pressure, self.out.unit)

    def _w(self, flow: float) -> float:
        return max(1.6, flow * self.out.per_flow)

    def _spot(self, path: str, i: int, stop: Stop, shift: float = 0.0) -> Spot:
        half = (0.3 if stop.kind == "vessels" else LEVEL) * self.out.pitch
        x = self.at[path, i]
        spot = Spot(stop, path, x, self._y(stop) + shift, self._w(stop.flow), half, x)
        self.out.spots.append(spot)
        return spot

    def _through(self, ribbon: Ribbon, spot: Spot, late: bool = True) -> None:
        """Carry the ribbon to the spot and over its level part; remember the piece."""
        begin = ribbon.last
        ribbon.bend(spot.x - spot.half, spot.y, spot.width, run=RUN * self.out.pitch if late else None)
        ribbon.ahead(2 * spot.half)
        spot.piece = ribbon.outline(begin, ribbon.last)

    # the parts ----------------------------------------------------------------------------------

    def build(self) -> Course:
        feed = self._feed()
        vessels = next(s for s in self.out.spots if s.stop.kind == "vessels")
        product = self._product(vessels)
        reject = self._reject(vessels)
        self.out.strands = [*reject, *feed, *product]
        return self.out

    def _feed(self) -> list[Strand]:
        line, split = self.line, bool(self.line.branch)
        stops = line.stops[:-1]
        first = self._spot("feed", 0, stops[0])
        ribbon = Ribbon(first.x - first.half, first.y, first.width)
        ribbon.ahead(2 * first.half)
        first.piece = ribbon.outline()
        before = stops[1:self.pump] if split else stops[1:]
        spots = [first]
        for i, stop in enumerate(before, 1):
            spots.append(self._spot("feed", i, stop))
            self._through(ribbon, spots[-1])
        made = [(ribbon, spots)]
        tip = line.stops[-1]
        x_end = self.at["feed", len(stops)] - 0.3 * self.out.pitch
        if split:
            made += self._strands(ribbon, stops, x_end - 0.16 * self.out.pitch, tip)
            joint = Ribbon(x_end - 0.16 * self.out.pitch - 0.5, self._y(tip), self._w(tip.flow))
            ribbon = joint
            made.append((joint, []))
        vessels = self._spot("feed", len(stops), tip)
        whole = Ribbon(*ribbon.here[:2], ribbon.widths[-1])
        for part in (ribbon, whole):
            part.bend(x_end, vessels.y, vessels.width)
        whole.ahead(2 * vessels.half)
        vessels.piece = whole.outline()
        ribbon.ahead(0.6)  # under the strands inside the vessels, so that no seam shows
        found = []
        for rib, stand in made:
            marks = [(s.x - s.half, s.stop.salinity) for s in stand] or [(x_end, tip.salinity)]
            found.append(Strand(rib, marks, front=bool(stand)))
        return found[:1] + found[1:][::-1]

    def _strands(self, main: Ribbon, stops: Sequence[Stop], x_join: float, tip: Stop):
        """The two ways to the vessels: through the high-pressure pump (above) and the isobaric ERD."""
        branch = self.line.branch
        w_hp, w_ex = self._w(stops[self.pump].flow), self._w(branch[0].flow)
        x, y, _ = main.here
        whole = main.widths[-1]
        made = []
        for path, chain, start, own, other, side in (
                ("feed", list(enumerate(stops))[self.pump:], y - (whole - w_hp) / 2, w_hp, w_ex, -1),
                ("branch", list(enumerate(branch)), y + (whole - w_ex) / 2, w_ex, w_hp, 1)):
            ribbon = Ribbon(x - 0.5, start, own)
            spots = []
            for i, stop in chain:
                spots.append(self._spot(path, i, stop, side * other / 2))
                self._through(ribbon, spots[-1])
            ribbon.bend(x_join, self._y(tip) + side * (self._w(tip.flow) - ribbon.widths[-1]) / 2)
            made.append((ribbon, spots))
        return made

    def _product(self, vessels: Spot) -> list[Strand]:
        chain = self.line.permeate
        w = self._w(chain[0].flow)
        x = vessels.x - vessels.half
        ribbon = Ribbon(x, vessels.y + (vessels.width - w) / 2, w)
        ribbon.ahead(2 * vessels.half)
        marks = [(x, vessels.stop.salinity), (x + 1.7 * vessels.half, chain[0].salinity)]
        for i, stop in enumerate(chain):
            spot = self._spot("product", i, stop)
            self._through(ribbon, spot, late=bool(i))
            marks.append((spot.x, stop.salinity))
        return [Strand(ribbon, marks, "product")]

    def _reject(self, vessels: Spot) -> list[Strand]:
        chain = self.line.reject
        w = self._w(chain[0].flow)
        x = vessels.x - vessels.half
        ribbon = Ribbon(x, vessels.y - (vessels.width - w) / 2, w)
        ribbon.ahead(2 * vessels.half)
        inside = ribbon.last
        spots, rest = [], list(enumerate(chain))
        if self.back:
            spots.append(self._return(ribbon, vessels, chain[0]))
            rest = rest[1:]
        for i, stop in rest:
            spots.append(self._spot("reject", i, stop))
            self._through(ribbon, spots[-1])
        salt = chain[0].salinity
        marks = [(x, vessels.stop.salinity), (x + 1.9 * vessels.half, salt)]
        # Salinity changes inside the vessels only; what follows doubles back over the same x and is flat.
        return [Strand(ribbon, [(x, salt)], "reject", inside),
                Strand(ribbon, marks, "reject", 0, inside + 1)]

    def _return(self, ribbon: Ribbon, vessels: Spot, device: Stop) -> Spot:
        x_down = self.at["reject", 0]
        w = ribbon.widths[-1]
        inner = max(6.0 if self.scale == 1 else 3.0, 0.24 * vessels.width)
        top = min(s.y - s.width / 2 for s in self.out.spots
                  if s.path in ("feed", "branch") and s.x >= x_down - self.out.pitch)
        y = ribbon.here[1]
        around = max(w / 2 + inner, (y - (top - inner - w / 2)) / 2)
        begin = ribbon.last
        ribbon.turn(-pi, around)
        corner = w / 2 + inner
        ribbon.ahead(ribbon.here[0] - (x_down + corner))
        ribbon.turn(-pi / 2, corner)
        low = self._y(device)
        ribbon.ahead(low - corner - ribbon.here[1])
        ribbon.turn(-pi / 2, corner)
        spot = Spot(device, "reject", ribbon.here[0], low, w, 0.12 * self.out.pitch, x_down,
                    titled=self.line.recovery == Role.SHAFT)
        ribbon.ahead(0.12 * self.out.pitch)
        spot.piece = ribbon.outline(begin)
        self.out.spots.append(spot)
        if self.line.recovery == Role.SHAFT:
            pump = [s for s in self.out.spots if s.path == "feed" and s.stop.kind == "pump"][-1]
            self.out.shaft = (spot, pump)
        else:
            meets = next(s for s in self.out.spots if s.stop.kind == "recovery" and s.path != "reject")
            self.out.contact = (x_down, meets.y - meets.width / 2, meets.y + meets.width / 2, w)
        return spot
