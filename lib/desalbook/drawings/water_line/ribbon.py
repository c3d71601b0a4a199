"""Ribbons: a centreline with a width, and its outline as a smooth closed path.

Pure geometry in picture units (y grows downward); it knows nothing of water. The true width is kept
normal to the centreline, so a ribbon does not thin where it climbs.
"""

from __future__ import annotations

from functools import lru_cache
from math import atan2, ceil, cos, hypot, pi, radians, sin

from desalbook.drawings.svg import number

__all__ = ["Ribbon"]

Point = tuple[float, float, float]

_STEP = radians(22.5)  # arcs are cut this fine; the cubic between cuts is then exact to a hundredth of a unit


class Ribbon:
    """A ribbon, drawn as one steers: ahead, turn, bend.

    Parameters
    ----------
    x, y : float
        Start of the centreline.
    width : float
        Width there.
    heading : float
        Direction in radians, 0 to the right, growing clockwise on the screen.
    """

    def __init__(self, x: float, y: float, width: float, heading: float = 0.0):
        self.points: list[Point] = [(x, y, heading)]
        self.widths: list[float] = [width]

    @property
    def here(self) -> Point:
        """Last point of the centreline and the heading there."""
        return self.points[-1]

    @property
    def last(self) -> int:
        """Index of the last point, for `outline` of a part."""
        return len(self.points) - 1

    def ahead(self, length: float) -> None:
        """Go straight on; lengths below a hundredth are omitted."""
        if length > 0.01:
            x, y, head = self.here
            self._add(x + length * cos(head), y + length * sin(head), head)

    def turn(self, angle: float, radius: float) -> None:
        """Follow an arc; a positive angle (radians) turns clockwise on the screen."""
        x, y, head = self.here
        side = 1.0 if angle > 0 else -1.0
        cx, cy = x - side * radius * sin(head), y + side * radius * cos(head)
        cuts = max(1, ceil(abs(angle) / _STEP))
        for i in range(1, cuts + 1):
            new = head + angle * i / cuts
            self._add(cx + side * radius * sin(new), cy - side * radius * cos(new), new)

    def bend(self, x: float, y: float, width: float | None = None, *, run: float | None = None,
             early: bool = False) -> None:
        """Go to a point further right and arrive level: two equal arcs, with a straight between if steep.

        Parameters
        ----------
        x, y : float
            Where to arrive.
        width : float, optional
            Width on arrival; it changes smoothly on the way.
        run : float, optional
            Longest horizontal distance the bend may use; the rest is gone straight before it, or after
            it when `early`.
        """
        x0, y0, _ = self.here
        first, w0 = self.last, self.widths[-1]
        w1 = w0 if width is None else width
        dx = x - x0 if run is None else min(run, x - x0)
        rest = x - x0 - dx
        if not early:
            self.ahead(rest)
        self._sway(dx, y - y0, max(w0, w1))
        if early:
            self.ahead(x - self.here[0])
        self.points[-1] = (x, y, 0.0)
        self._widen(first, w0, w1)

    def _sway(self, dx: float, dy: float, width: float) -> None:
        rise = abs(dy)
        if rise < 0.05:
            self.ahead(dx)
            return
        side = 1.0 if dy > 0 else -1.0
        angle = 2 * atan2(rise, dx)
        radius = (dx * dx + rise * rise) / (4 * rise)
        straight = 0.0
        if angle > radians(62):
            # As gentle an angle as leaves the inner edge a radius; upright when nothing gentler does.
            for degrees in range(62, 91, 4):
                angle = radians(degrees)
                radius = (dx * sin(angle) - rise * cos(angle)) / (2 * (1 - cos(angle)))
                if radius >= 0.5 * width + 0.3 * width + 3:
                    break
            else:
                angle, radius = pi / 2, dx / 2
            radius = min(radius, rise / (2 * (1 - cos(angle))))
            straight = max(0.0, (rise - 2 * radius * (1 - cos(angle))) / sin(angle))
        self.turn(side * angle, radius)
        self.ahead(straight)
        self.turn(-side * angle, radius)

    def _widen(self, first: int, w0: float, w1: float) -> None:
        run = [0.0]
        for (xa, ya, _), (xb, yb, _) in zip(self.points[first:], self.points[first + 1:], strict=False):
            run.append(run[-1] + hypot(xb - xa, yb - ya))
        for i, s in enumerate(run):
            t = s / run[-1] if run[-1] else 1.0
            self.widths[first + i] = w0 + (w1 - w0) * t * t * (3 - 2 * t)

    def _add(self, x: float, y: float, heading: float) -> None:
        self.points.append((x, y, heading))
        self.widths.append(self.widths[-1])

    def _edge(self, i: int, side: float) -> str:
        return _pair(_edge(self.points[i], self.widths[i], side))

    def outline(self, first: int = 0, last: int | None = None) -> str:
        """Closed path (the ``d`` of an SVG path) of the ribbon, or of the part between two points."""
        last = self.last if last is None else last
        parts = ["M" + self._edge(first, 1)]
        parts += [self._curve(i, i + 1, 1) for i in range(first, last)]
        parts.append("L" + self._edge(last, -1))
        parts += [self._curve(i, i - 1, -1) for i in range(last, first, -1)]
        return "".join(parts) + "Z"

    def sides(self, first: int = 0, last: int | None = None) -> str:
        """The two long edges, without the ends."""
        last = self.last if last is None else last
        return "".join("M" + self._edge(first, side)
                       + "".join(self._curve(i, i + 1, side) for i in range(first, last)) for side in (1, -1))

    def _curve(self, i: int, j: int, side: float) -> str:
        return _curve(self.points[i], self.widths[i], self.points[j], self.widths[j], side, 1.0 if j > i else -1.0)

    def boxes(self, step: float = 6.0) -> list[tuple[float, float, float, float]]:
        """Small boxes (x0, y0, x1, y1) that together cover the ribbon, for keeping text off it."""
        found = []
        for i in range(self.last):
            (xa, ya, ha), (xb, yb, hb) = self.points[i], self.points[i + 1]
            long, turn = hypot(xb - xa, yb - ya), _turn(ha, hb)
            wa, wb = self.widths[i], self.widths[i + 1]
            up = on = least_wide = least_tall = 0.0
            # Along an axis one long box is as good as many; elsewhere they must be short to hug the ribbon.
            upright = abs(turn) < 1e-9 and min(abs(sin(ha)), abs(cos(ha))) < 1e-6
            cuts = max(1, ceil(long / (40.0 if upright else step)))
            reach = 0.5 * long / cuts
            for k in range(cuts):
                t = (k + 0.5) / cuts
                x, y, head = xa + t * (xb - xa), ya + t * (yb - ya), ha + t * turn
                half = 0.5 * (wa + t * (wb - wa))
                if turn or not k:
                    up, on = sin(head), cos(head)
                    least_wide, least_tall = max(1.0, reach * abs(on)), max(1.0, reach * abs(up))
                wide = abs(half * up) + least_wide
                tall = abs(half * on) + least_tall
                found.append((x - wide, y - tall, x + wide, y + tall))
        return found


def _turn(a: float, b: float) -> float:
    """Shorter way round from heading a to heading b."""
    return (b - a + pi) % (2 * pi) - pi


@lru_cache(maxsize=1024)
def _edge(point: Point, width: float, side: float) -> tuple[float, float]:
    """A point of the outline; asked for more than once, as are the curves between two."""
    x, y, head = point
    half = 0.5 * width
    return x + side * half * sin(head), y - side * half * cos(head)


@lru_cache(maxsize=1024)
def _curve(here: Point, wide: float, there: Point, wide_there: float, side: float, way: float) -> str:
    """One edge of a ribbon from a point to the next (`way` is 1) or to the one before (-1)."""
    a, b = _edge(here, wide, side), _edge(there, wide_there, side)
    ha, hb = here[2], there[2]
    if abs(_turn(ha, hb)) < 1e-9 and abs(wide - wide_there) < 0.01:
        return "L" + _pair(b)
    third = way * hypot(b[0] - a[0], b[1] - a[1]) / 3
    c = (a[0] + third * cos(ha), a[1] + third * sin(ha))
    d = (b[0] - third * cos(hb), b[1] - third * sin(hb))
    return f"C{_pair(c)} {_pair(d)} {_pair(b)}"


def _pair(point: tuple[float, float]) -> str:
    return f"{number(point[0])},{number(point[1])}"
