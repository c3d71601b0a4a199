"""Drawings of the arrangement, to scale: plan of the plant, its elevations strip by strip, and each skid in two views.

Each takes a plant and gives HTML with one SVG in it. Boxes are those the weights found; a name that has no room where
it belongs is a number, explained under the drawing. Aisles and the lengths kept free to draw elements are dashed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from math import ceil
from typing import Any

from desalbook import theme
from desalbook.drawings.chart import frame
from desalbook.plant.arrangement import Placed
from desalbook.problems import DesignError
from desalbook.units import show
from desalbook.units.display import in_units
from desalbook.units.fieldmeta import offered

__all__ = ["NOTE", "SCALES", "elevation", "plan", "skid"]

WIDTH = 980.0
"""Width of a drawing, px."""
_EDGE = 58.0
_TEXT = 12.0
_LETTER = 6.9
"""Width of a letter of that size, px, on the wide side."""
SCALES = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
"""Ratios of drawings to scale (ISO 5455)."""
NOTE = ("Preliminary, for space and foundations only. Outlines are estimates until manufacturers' drawings are in "
        "hand; escape routes, stairs, roads and lifting follow local codes and licensed practice.")
_INK = {"skid": "sea", "rack": "product", "vessel": "energy", "tank": "sea", "item": "quiet"}
Rect = tuple[float, float, float, float]


def _metres(v: float, units: str) -> str:
    return show(v, "length", units, digits=3, trim=True)


@dataclass
class _Sheet:
    """What is drawn, with room for names: a box or a name that is there gives way to none."""

    scale: float
    left: float
    top: float
    parts: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    solid: list[Rect] = field(default_factory=list)
    taken: list[Rect] = field(default_factory=list)
    key: list[str] = field(default_factory=list)

    def at(self, x: float, y: float) -> tuple[float, float]:
        return self.left + x * self.scale, self.top + y * self.scale

    def box(self, x: float, y: float, w: float, h: float, ink: str, *, round: bool = False, dash: str = "",
            fill: float = 0.14, solid: bool = True, wide: float = 1.4) -> Rect:
        """A box in metres from the upper left; what it covers in px."""
        a, b = self.at(x, y)
        c, d = w * self.scale, h * self.scale
        colour = theme.var(ink)
        more = f' stroke-dasharray="{dash}"' if dash else ""
        radius = f' rx="{c / 2:.1f}" ry="{d / 2:.1f}"' if round else ""
        self.parts.append(f'<rect x="{a:.1f}" y="{b:.1f}" width="{c:.1f}" height="{d:.1f}"{radius} fill="{colour}" '
                          f'fill-opacity="{fill:g}" stroke="{colour}" stroke-width="{wide:g}"{more}/>')
        if solid:
            self.solid.append((a, b, a + c, b + d))
        return a, b, a + c, b + d

    def name(self, text: str, of: Rect, title: str = "", inside: bool = True) -> None:
        """A name in its box, beside it, or a number that is explained under the drawing."""
        if not self._put(text, of, inside):
            self.key.append(f"{text}{f' {title}' if title else ''}")
            number = str(len(self.key))
            if not self._put(number, of, True, bold=True):
                self._write(number, (of[0] + of[2]) / 2, (of[1] + of[3]) / 2 + 4, True)

    def _put(self, text: str, of: Rect, inside: bool, bold: bool = False) -> bool:
        w, h = _LETTER * len(text) + 2, _TEXT + 2
        mx, my = (of[0] + of[2]) / 2, (of[1] + of[3]) / 2
        places = [(mx, my)] if inside and of[2] - of[0] >= w and of[3] - of[1] >= h else []
        if places and of[2] - of[0] >= 3 * w:
            places += [(mx - w, my), (mx + w, my)]
        outside = [(mx, of[1] - h / 2 - 2), (mx, of[3] + h / 2 + 2), (of[2] + w / 2 + 3, my), (of[0] - w / 2 - 3, my)]
        for n, (x, y) in enumerate([*places, *outside]):
            rect = (x - w / 2, y - h / 2, x + w / 2, y + h / 2)
            within = n < len(places)
            others = self.taken if within else [*self.taken, *self.solid]
            if rect[0] < 2 or rect[2] > WIDTH - 2 or any(_meet(rect, r) for r in others):
                continue
            self.taken.append(rect)
            self._write(text, x, y + 4, bold)
            return True
        return False

    def _write(self, text: str, x: float, y: float, bold: bool = False) -> None:
        self.words.append(f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="middle" font-size="{_TEXT:g}"'
                          f'{" font-weight=" + chr(34) + "600" + chr(34) if bold else ""} fill="var(--db-text)">'
                          f"{escape(text)}</text>")

    def line(self, x1: float, y1: float, x2: float, y2: float, ink: str = "quiet", dash: str = "") -> None:
        """A line in px."""
        more = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" stroke="{theme.var(ink)}" '
                          f'fill="none"{more}/>')

    def measure(self, x1: float, y1: float, x2: float, y2: float, text: str) -> None:
        """A measure between two points in px, a short stroke at each end, its words beside it."""
        self.line(x1, y1, x2, y2)
        level = y1 == y2
        for x, y in ((x1, y1), (x2, y2)):
            self.line(x, y - 4, x, y + 4) if level else self.line(x - 4, y, x + 4, y)
        w = _LETTER * len(text) + 4
        if level:
            place = ((x1 + x2) / 2, y1 - 6, "middle")
            self.taken.append(((x1 + x2 - w) / 2, y1 - 18, (x1 + x2 + w) / 2, y1 + 4))
        else:
            place = (x1 + 8, (y1 + y2) / 2 + 4, "start")
            self.taken.append((x1 - 4, (y1 + y2) / 2 - 8, x1 + 8 + w, (y1 + y2) / 2 + 8))
        self.words.append(f'<text x="{place[0]:.1f}" y="{place[1]:.1f}" text-anchor="{place[2]}" '
                          f'font-size="{_TEXT:g}" fill="var(--db-text)">{escape(text)}</text>')

    def say(self, x: float, y: float, text: str, bold: bool = False) -> None:
        """Words from a place on, px."""
        self.words.append(f'<text x="{x:.1f}" y="{y:.1f}" font-size="{_TEXT:g}"'
                          f'{" font-weight=" + chr(34) + "600" + chr(34) if bold else ""} fill="var(--db-text)">'
                          f"{escape(text)}</text>")
        self.taken.append((x, y - 11, x + _LETTER * len(text), y + 3))

    def gravity(self, x: float, y: float) -> None:
        """The mark of a centre of gravity, at a place in px."""
        ink = theme.var("fails")
        self.parts.append(f'<g stroke="{ink}" fill="none" stroke-width="1.5"><circle cx="{x:.1f}" cy="{y:.1f}" r="6"/>'
                          f'<path d="M{x - 9:.1f} {y:.1f}h18M{x:.1f} {y - 9:.1f}v18"/></g>')
        self.taken.append((x - 9, y - 9, x + 9, y + 9))

    def foot(self, y: float, said: Sequence[str]) -> float:
        """The explained numbers and notes under a drawing; how far down they reach."""
        lines = [f"{n} = {text}" for n, text in enumerate(self.key, 1)]
        longest = max(map(len, lines), default=0)
        across = next((n for n in (3, 2) if (longest + 1) * _LETTER <= (WIDTH - 2 * _EDGE) / n), 1)
        column = (WIDTH - 2 * _EDGE) / across
        rows = ceil(len(lines) / across)
        for n, text in enumerate(lines):
            self.say(_EDGE + (n // rows) * column, y + 17 * (n % rows), text)
        y += 17 * rows + (6 if rows else 0)
        for text in said:
            for piece in _wrapped(text, int((WIDTH - 2 * _EDGE) / _LETTER)):
                self.say(_EDGE, y, piece)
                y += 17
        return y

    def done(self, high: float, title: str, text: str) -> str:
        return frame("".join([*self.parts, *self.words]), WIDTH, high, title, text)


def _meet(a: Rect, b: Rect) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _wrapped(text: str, width: int) -> list[str]:
    from textwrap import wrap

    return wrap(text, width) or [""]


def _scale_bar(sheet: _Sheet, y: float, units: str) -> None:
    """A scale bar, and how many metres or feet it is."""
    foot = 0.3048
    one = 1.0 if units == "si" else foot
    steps = (1, 2, 5, 10, 20)
    long = next((s for s in steps if s * one * sheet.scale >= 90), steps[-1])
    wide = long * one * sheet.scale
    sheet.measure(_EDGE, y, _EDGE + wide, y, f"{long} {'m' if units == 'si' else 'ft'}")


def _fabricated(plant: Any) -> Any:
    return plant.fabrication.made


def plan(plant: Any, units: str = "si") -> str:
    """Plan of the plant, to scale: strips of trains, common equipment and tanks, aisles, clear lengths of racks.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    made = _fabricated(plant)
    placed: list[Placed] = made.placed
    long = max(p.x + p.length + p.clear_end for p in placed)
    deep = max(p.y + p.width for p in placed)
    sheet = _Sheet((WIDTH - 2 * _EDGE - 50) / long, _EDGE, 60.0)
    items = _items_of(made)
    for p in placed:
        for x, w in ((p.x - p.clear_begin, p.clear_begin), (p.x + p.length, p.clear_end)):
            if w:
                sheet.box(x, p.y, w, p.width, "quiet", dash="4 4", fill=0.05, wide=1)
    rects = []
    for p in placed:
        dash = "6 4" if p.supply == "others" else ""
        rect = sheet.box(p.x, p.y, p.length, p.width, _INK[p.kind], round=p.round, dash=dash,
                         fill=0.05 if p.kind in ("skid", "rack") else 0.14)
        rects.append((p, rect))
        for i in items.get(_plain(p.tag), ()):
            sheet.box(p.x + i["x"], p.y + i["y"], i["length"], i["width"], _INK[p.kind], round=i["round"] == "yes",
                      fill=0.18, solid=False, wide=0.8)
    right, bottom = sheet.at(long, deep)
    sheet.measure(_EDGE, 34, right, 34, _metres(long, units))
    sheet.measure(right + 14, 60, right + 14, bottom, _metres(deep, units))
    for strip in dict.fromkeys(p.strip for p in placed):
        first = min((p for p in placed if p.strip == strip), key=lambda p: p.y)
        sheet.parts.append(f'<text transform="translate({_EDGE - 34:.1f} {sheet.at(0, first.y)[1] + 8:.1f}) '
                           f'rotate(90)" font-size="{_TEXT:g}" font-weight="600" fill="var(--db-text)">'
                           f"{escape(strip)}</text>")
    for p, rect in _by_size(rects):
        sheet.name(p.tag, rect, p.title, _plain(p.tag) not in items and not p.tag.startswith("BU-"))
    y = bottom + 40
    _scale_bar(sheet, y, units)
    sheet.say(_EDGE + 340, y + 4, "dashed outline: by others; dashed area: kept clear")
    aisle = plant["fabrication.aisle"]
    y = sheet.foot(y + 30, [f"Aisles {_metres(float(aisle), units)}; elements are drawn at the right end of a rack, "
                            f"pushed at its left.", NOTE])
    text = (f"{len(placed)} skids, vessels, tanks and single items on {_metres(long, units)} by "
            f"{_metres(deep, units)}; strips: {', '.join(dict.fromkeys(p.strip for p in placed))}. {NOTE}")
    return sheet.done(y, "Plan of the plant", text)


def _plain(tag: str) -> str:
    """Tag of a skid without the number of its train."""
    head, _, rest = tag.partition("-")
    return rest if head.isdigit() else tag


def _items_of(made: Any) -> dict[str, list[dict[str, Any]]]:
    """What is drawn on each skid: its equipment, without frame, cables, pipes and valves."""
    found: dict[str, list[dict[str, Any]]] = {}
    for i in made.items:
        if i["of"] and not i["of"].startswith(("XV-", "PV-", "PSV-")):
            found.setdefault(i["skid"], []).append(i)
    return found


def elevation(plant: Any, units: str = "si") -> str:
    """Elevations of the plant, to scale, strip by strip; trains that are alike are drawn once.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    made = _fabricated(plant)
    placed: list[Placed] = made.placed
    trains = [s for s in dict.fromkeys(p.strip for p in placed) if s.startswith("Train")]
    strips = [s for s in dict.fromkeys(p.strip for p in placed) if s not in trains[1:]]
    long = max(p.x + p.length + p.clear_end for p in placed)
    sheet = _Sheet((WIDTH - 2 * _EDGE - 50) / long, _EDGE, 0.0)
    items = _items_of(made)
    y = 20.0
    for strip in strips:
        here = [p for p in placed if p.strip == strip]
        for n, row in enumerate(_rows_of(here), 1):
            high = max(p.height for p in row) * sheet.scale
            title = strip if strip not in trains or len(trains) == 1 else (
                f"{strip} ({len(trains) - 1} more {'is' if len(trains) == 2 else 'are'} alike)")
            sheet.say(_EDGE - 34, y + 4, f"{title}, row {n}")
            ground = y + 44 + high
            right = sheet.left + long * sheet.scale
            sheet.line(_EDGE - 10, ground, right, ground, "quiet")
            rects = []
            for p in sorted(row, key=lambda p: p.y):  # seen from the lower side of the plan: what is behind first
                a = sheet.left + p.x * sheet.scale
                rect = sheet.box(p.x, (ground - p.height * sheet.scale) / sheet.scale, p.length, p.height,
                                 _INK[p.kind], dash="6 4" if p.supply == "others" else "", fill=0.08)
                rects.append((p, rect))
                for i in items.get(_plain(p.tag), ()):
                    b = ground - (i["z"] + i["height"]) * sheet.scale
                    sheet.box((a - sheet.left) / sheet.scale + i["x"], b / sheet.scale, i["length"], i["height"],
                              _INK[p.kind], fill=0.16, solid=False, wide=0.7)
            tall = max(row, key=lambda p: p.height)
            sheet.measure(right + 14, ground - tall.height * sheet.scale, right + 14, ground,
                          _metres(tall.height, units))
            for p, rect in _by_size(rects):
                sheet.name(p.tag, rect, p.title, _plain(p.tag) not in items and not p.tag.startswith("BU-"))
            y = ground + 34
    _scale_bar(sheet, y + 10, units)
    y = sheet.foot(y + 40, [NOTE])
    tallest = max(p.height for p in placed)
    text = (f"Views from the lower side of the plan: {', '.join(strips)}; the highest is {_metres(tallest, units)}. "
            f"{NOTE}")
    return sheet.done(y, "Elevations of the plant", text)


def _by_size(rects: Iterable[tuple[Placed, Rect]]) -> list[tuple[Placed, Rect]]:
    """Bunds first, for their names go outside; then the large before the small."""
    return sorted(rects, key=lambda one: (not one[0].tag.startswith("BU-"),
                                          -(one[1][2] - one[1][0]) * (one[1][3] - one[1][1])))


def _rows_of(here: Iterable[Placed]) -> list[list[Placed]]:
    """Things of a strip that are seen beside one another: those behind another in their own view."""
    rows: list[list[Placed]] = []
    for p in sorted(here, key=lambda p: (p.y, p.x)):
        row = next((r for r in rows if all(
            p.x >= q.x + q.length - 1e-9 or q.x >= p.x + p.length - 1e-9 or _inside(p, q) for q in r)), None)
        if row is None:
            rows.append([p])
        else:
            row.append(p)
    return rows


def _inside(p: Placed, q: Placed) -> bool:
    """Whether one is the bund of the other."""
    return p.tag.partition("-")[2] == q.tag.partition("-")[2] and {p.tag[:2], q.tag[:2]} == {"T-", "BU"}


def skid(plant: Any, tag: str, units: str = "si") -> str:
    """One skid in plan and side view, to scale: items with their tags, outer measures, centre of gravity, lifting.

    Parameters
    ----------
    plant : Plant
    tag : str
        Of the skid, ``SK-301`` for one.
    units : {"si", "us"}

    Raises
    ------
    DesignError
        No such skid.
    """
    made = _fabricated(plant)
    row = next((s for s in made.skids if s["tag"] == tag), None)
    if row is None:
        raise DesignError("no such skid", where="skid", value=tag, do=offered(tag, [s["tag"] for s in made.skids]))
    pieces = _items_of(made)[tag]
    scale = min((WIDTH - 2 * _EDGE - 60) / row["length"], 300 / row["height"], 300 / row["width"])
    sheet = _Sheet(scale, _EDGE, 74.0)
    sheet.say(_EDGE - 34, 20, f"{tag} {row['title']}: plan", bold=True)
    base = sheet.box(0, 0, row["length"], row["width"], "quiet", fill=0.03, solid=False)
    rects = _drawn(sheet, pieces, "y", "width", lambda i: i["y"])
    sheet.measure(base[0], 54, base[2], 54, _metres(row["length"], units))
    sheet.measure(base[2] + 14, base[1], base[2] + 14, base[3], _metres(row["width"], units))
    sheet.gravity(*sheet.at(row["centre_x"], row["centre_y"]))
    columns: dict[Rect, list[Any]] = {}
    for i, rect in rects:  # vessels above one another are one outline with all their names
        columns.setdefault(rect, []).append(i)
    for rect, above in columns.items():
        names = [i["tag"] for i in above]
        last = names[-1].removeprefix(above[0]["of"]).lstrip("/")
        sheet.name(names[0] if len(names) == 1 else f"{names[0]} to {last}", rect, above[0]["title"])
    top = base[3] + 74
    sheet.top = top
    sheet.say(_EDGE - 34, top - 28, "Side view, from the lower side of the plan", bold=True)
    sheet.taken = [r for r in sheet.taken if r[3] < top - 20]
    sheet.solid = []
    body = sheet.box(0, 0, row["length"], row["height"], "quiet", fill=0.0, solid=False, dash="3 3", wide=0.8)
    beam = next(i for i in made.items if i["skid"] == tag and i["tag"] == "frame")
    sheet.box(0, row["height"] - beam["height"], row["length"], beam["height"], "quiet", fill=0.2, solid=False)
    side = _drawn(sheet, pieces, "z", "height", lambda i: row["height"] - i["z"] - i["height"])
    sheet.measure(body[2] + 14, body[1], body[2] + 14, body[3], _metres(row["height"], units))
    sheet.gravity(*sheet.at(row["centre_x"], row["height"] - row["centre_z"]))
    for i, rect in side:  # what something in front hides is named in the plan alone
        if not any(_meet(r, rect) for j, r in side if j is not i and j["y"] > i["y"]):
            sheet.name(i["tag"], rect, i["title"])
    fit = "it fits" if row["fits"] == "yes" else f"it sticks out, {in_units(row['sticks_out'], units)}"
    said = (f"Mass {show(row['mass_empty'], 'mass', units)} as shipped, {show(row['mass_operating'], 'mass', units)} "
            f"in operation. Centre of gravity as shipped (red cross): {_metres(row['centre_x'], units)} along, "
            f"{_metres(row['centre_y'], units)} across, {_metres(row['centre_z'], units)} up. Load of the hoist "
            f"{show(row['lifted_mass'], 'mass', units)}, of a sling leg {show(row['leg_load'], 'mass', units)}. "
            f"{row['container']}: {fit}.")
    y = body[3] + 44
    _scale_bar(sheet, y, units)
    y = sheet.foot(y + 30, [said, "Lift by the marked points only, under a competent person's plan. " + NOTE])
    return sheet.done(y, f"Skid {tag}", f"{row['title']}; {said} {NOTE}")


def _drawn(sheet: _Sheet, pieces: Sequence[dict[str, Any]], axis: str, side: str, top: Any) -> list[tuple[Any, Rect]]:
    found = []
    for i in sorted(pieces, key=lambda i: i["y"] if axis == "z" else i["z"]):
        found.append((i, sheet.box(i["x"], top(i), i["length"], i[side], "sea",
                                   round=i["round"] == "yes" and axis == "y", fill=0.14)))
    return found
