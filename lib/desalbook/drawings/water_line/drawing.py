"""The water line: the plant as one ribbon of water from sea to product.

Height is gauge pressure, width is flow, tint is salinity: a hydraulic profile and a flow diagram at
once. Everything in it is computed from the figures handed over, nothing is drawn by hand, and nothing of
the plant is calculated here; the caller takes the figures from the plant's table of streams.

Every step can be focused and names its figures; the picture as a whole has a text alternative. Text takes
the page's own font and colour, so it is readable on light and on dark.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from html import escape

from desalbook import theme
from desalbook.drawings.svg import number
from desalbook.drawings.water_line.course import Course, Spot, course
from desalbook.drawings.water_line.labels import Words, words
from desalbook.drawings.water_line.layout import LEADING, Label, fit
from desalbook.drawings.water_line.stops import Line
from desalbook.problems import DesignError

__all__ = ["draw"]

def draw(line: Line, *, units: str = "si", present: str | None = None, width: int = 1200,
         theme_css: bool = True, prefix: str | None = None, slim: bool = False,
         tags: Mapping[str, Sequence[str]] | None = None) -> str:
    """Draw the water line.

    Parameters
    ----------
    line : Line
        The plant.
    units : {"si", "us"}
        Display set.
    present : str, optional
        Key of the step a notebook is about; it is lifted out. A key this plant lacks lifts out nothing,
        for a plant without filters still has a page on filters.
    width : int
        Width to lay out for, in pixels, 560 to 2400. Text is 12 px at that width.
    theme_css : bool
        Include the theme's style sheet; leave it out when the page has it already.
    prefix : str, optional
        Begins every id in the picture. By default made from the content, so that equal input gives equal
        text and different pictures live on one page.
    slim : bool
        Some 160 px high, to keep in view: titles and pressures below the water, no axis, no chemicals.
    tags : mapping of str to sequence of str, optional
        Tags of instruments by the step they are at; they stand in rows below the water, under their step.

    Returns
    -------
    str
        One ``<div class="desalbook water-line">`` with the picture inside, self-contained.

    Raises
    ------
    DesignError
        When the width is out of range.
    """
    if not 560 <= width <= 2400:
        raise DesignError("too narrow or too wide to draw", where="water_line.width", value=width, unit="px",
                          allowed="560 to 2400 px", do="choose a width in that range")
    if prefix is None:
        content = repr((line, units, present, width, slim, tags)).encode()
        prefix = "wl-" + hashlib.sha256(content).hexdigest()[:10]
    way = course(line, width, slim)
    said = words(line, way, units, width, present, slim)
    return _Page(line, way, said, units, present, width, prefix, slim, tags or {}).text(theme_css)


_CSS = """.water-line{overflow-x:auto}
.water-line svg{display:block;width:100%;height:auto;font-family:inherit;font-size:12px;fill:currentColor}
.water-line text{paint-order:stroke;stroke:var(--db-ground);stroke-width:3px;stroke-linejoin:round}
.water-line .bold{font-weight:600}
.water-line .grid{stroke:currentColor;stroke-opacity:.13;stroke-dasharray:1 4;stroke-linecap:round;fill:none}
.water-line .hair{stroke:currentColor;stroke-opacity:.28;stroke-width:.75;fill:none}
.water-line .hit{fill:transparent;stroke:none;pointer-events:all}
.water-line .step{outline:none;cursor:default}
.water-line .step:hover .hit,.water-line .step:focus-visible .hit{stroke:currentColor;stroke-width:1.5}
.water-line .lift{fill:none;stroke:currentColor;stroke-width:2.5}
.water-line .step:focus-visible .hit{stroke-width:2.5}
.water-line .told{visibility:hidden;font-size:14px}
.water-line .step:hover .told,.water-line svg:not(:hover) .step:focus-visible .told{visibility:visible}
.water-line:has(.step:hover,.step:focus-visible) .rest{visibility:hidden}
[data-jp-theme-light="false"] .water-line .side{stroke-opacity:.6}
@media print{.water-line .told{display:none}.water-line svg{break-inside:avoid}}"""


class _Page:
    """Turns course and words into text; every method returns a piece of SVG."""

    def __init__(self, line: Line, way: Course, said: Words, units: str, present: str | None, width: int,
                 prefix: str, slim: bool = False, tags: Mapping[str, Sequence[str]] | None = None):
        self.slim, self.tags = slim, tags or {}
        self.line, self.way, self.said, self.units = line, way, said, units
        self.present, self.width, self.prefix = present, width, prefix
        self.lifted = [s for s in way.spots if s.stop.key == present]

    def text(self, theme_css: bool) -> str:
        top, bottom = self.said.top, self.said.bottom
        name = escape(f"Water line, {self.line.stops[0].title} to {self.line.permeate[-1].title}")
        strip, deep = self._tags(bottom)
        bottom += deep
        body = "\n".join((self._defs(), self._axis(), self._water(),
                          self._steps(), self._marks(), self._rest(), strip))
        style = f"<style>{theme.css() if theme_css else ''}{_CSS}</style>"
        view = f"0 {number(top)} {self.width} {number(bottom - top)}"
        return (f'<div class="desalbook water-line">{style}\n'
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" style="max-width:{1.1 * self.width:.0f}px" '
                f'role="group" aria-roledescription="picture" aria-label="{name}" '
                f'aria-describedby="{self.prefix}-said">\n'
                f'<desc id="{self.prefix}-said">{escape(self._alternative())}</desc>\n{body}\n</svg></div>')

    def _alternative(self) -> str:
        """The picture in words."""
        parts = ["Height is gauge pressure, width is flow, tint is salinity."]
        for name, stops in (("Feed", self.line.stops), ("Through the isobaric ERD", self.line.exchanger_branch),
                            ("Product", self.line.permeate), ("Concentrate", self.line.reject)):
            if stops:
                parts.append(f"{name}: " + "; ".join(self.said.spoken(s) for s in stops) + ".")
        if self.line.chemicals:
            titles = {s.key: s.title for s in self.line.everything()}
            parts.append("Chemicals: " + "; ".join(
                f"{name} {dose} after {titles[key]}" for key, name, dose in self.line.chemicals) + ".")
        if self.tags:
            titles = {s.key: s.title for s in self.line.everything()}
            parts.append("Instruments: " + "; ".join(
                f"{', '.join(tags)} at {titles[key]}" for key, tags in self.tags.items() if key in titles) + ".")
        return " ".join(parts)

    def _tags(self, bottom: float) -> tuple[str, float]:
        """Rows of tags below the water, each step's in a column under it that no other one reaches; their height."""
        if not self.tags:
            return "", 0.0
        made, taken, seen, deep = [], [], set(), 0
        for spot in sorted(self.way.spots, key=lambda s: s.x):
            tags = self.tags.get(spot.stop.key, ())
            if not tags or spot.stop.key in seen:
                continue
            seen.add(spot.stop.key)
            wide = max(map(len, tags)) * 7.6 + 10.0
            x = min(max(spot.x, wide / 2 + 2.0), self.width - wide / 2 - 2.0)
            # below what reaches as far to the right
            row = max((last for end, last in taken if x - wide / 2 < end), default=0)
            taken.append((x + wide / 2, row + len(tags)))
            made += [f'<text x="{number(x)}" y="{number(bottom + 16.0 * (row + n + 1))}" text-anchor="middle">'
                     f"{escape(tag)}</text>" for n, tag in enumerate(tags)]
            deep = max(deep, row + len(tags))
        return f'<g aria-hidden="true">{"".join(made)}</g>', 16.0 * deep + 12.0

    # paint --------------------------------------------------------------------------------------

    def _fill(self, i: int) -> str:
        marks = self.way.strands[i].salinity
        if len({theme.tint(s) for _, s in marks}) == 1:
            return theme.tint(marks[0][1])
        return f"url(#{self.prefix}-t{i})"

    def _defs(self) -> str:
        made = []
        for i, strand in enumerate(self.way.strands):
            if not self._fill(i).startswith("url"):
                continue
            marks = strand.salinity
            x0, x1 = marks[0][0], marks[-1][0]
            stops = "".join(f'<stop offset="{(x - x0) / (x1 - x0):.3f}" stop-color="{theme.tint(s)}"/>'
                            for x, s in marks)
            made.append(f'<linearGradient id="{self.prefix}-t{i}" gradientUnits="userSpaceOnUse" '
                        f'x1="{number(x0)}" y1="0" x2="{number(x1)}" y2="0">{stops}</linearGradient>')
        key = "".join(f'<stop offset="{k / 8:g}" stop-color="{theme.ramp(k / 8)}"/>' for k in range(9))
        made.append(f'<linearGradient id="{self.prefix}-key">{key}</linearGradient>')
        return "<defs>" + "".join(made) + "</defs>"

    def _axis(self) -> str:
        x0, x1 = number(self.way.left), number(self.way.right)
        lines = "".join(f'<path class="grid" d="M{x0},{number(y)}H{x1}"/>' for y in self.said.grid)
        hairs = "".join(f'<path class="hair" d="M{number(x)},{number(y0)}V{number(y1)}"/>'
                        for x, y0, y1 in self.said.hairs)
        return f'<g aria-hidden="true">{lines}{hairs}{"".join(map(_label, self.said.axis))}</g>'

    def _water(self) -> str:
        """Concentrate behind, all else before it; in each layer the present step once more, undimmed."""
        back = {i for i, s in enumerate(self.way.strands) if s.path == "reject"}
        front = set(range(len(self.way.strands))) - back
        return (f'<g aria-hidden="true">{self._layer("b", sorted(back))}{self._layer("f", sorted(front))}'
                f'{self._contact()}</g>')

    def _layer(self, name: str, which: list[int]) -> str:
        ground, water = [], []
        for i in which:
            strand = self.way.strands[i]
            d = strand.ribbon.outline(strand.first, strand.last)
            sides = strand.ribbon.sides(strand.first, strand.last)
            gap = ""
            if strand.front:
                gap = f'<path d="{sides}" fill="none" stroke="var(--db-ground)" stroke-width="5"/>'
            if self.lifted:  # keeps what lies behind from showing through dimmed water
                ground.append(f'{gap}<path d="{d}" fill="var(--db-ground)"/>')
            water.append(f'{gap}<path d="{d}" fill="{self._fill(i)}"/><path class="side" d="{sides}" fill="none" '
                         f'stroke="currentColor" stroke-opacity=".22" stroke-width=".75"/>')
        layer = f'<g id="{self.prefix}-{name}">{"".join(water)}</g>'
        if not self.lifted:
            return layer
        made = [*ground, f'<g opacity=".8">{layer}</g>']
        for k, spot in enumerate(self.lifted):
            mine, inside = (spot.path == "reject") == (name == "b"), spot.stop.kind == "vessels"
            if mine or inside:  # the concentrate begins within the vessels, downstream of what comes to them
                clip = f"{self.prefix}-p{k}{name}"
                made.append(f'<clipPath id="{clip}"><path d="{spot.piece}"/></clipPath>'
                            f'<use href="#{self.prefix}-{name}" clip-path="url(#{clip})"/>')
            if mine:
                made.append(f'<path class="lift" d="{spot.piece}"/>')
        return "".join(made)

    def _contact(self) -> str:
        """Where the concentrate gives its pressure away: bars on the edges of the feed, or a line to the shaft."""
        ink = theme.var("energy")
        made = ""
        if self.way.contact:
            x, top, bottom, w = self.way.contact
            x0, x1 = number(x - w / 2), number(x + w / 2)
            made = (f'<path d="M{x0},{number(top - 1)}H{x1}M{x0},{number(bottom + 1)}H{x1}" fill="none" '
                    f'stroke="{ink}" stroke-width="3"/>')
        elif self.way.shaft:
            wheel, pump = self.way.shaft
            x, y = wheel.column - wheel.width / 2 - 2, wheel.y - 2.2 * wheel.width - 8
            px, py = pump.x, pump.y + pump.width / 2 + 6 + self.said.shaft_gap
            made = (f'<path d="M{number(x)},{number(y)}C{number((x + px) / 2)},{number(y)} '
                    f'{number(px)},{number((y + py) / 2)} {number(px)},{number(py)}" fill="none" '
                    f'stroke="{ink}" stroke-width="1.5" stroke-dasharray="5 3"/>'
                    f'<path d="M{number(px - 4)},{number(py + 6)}L{number(px)},{number(py - 1)}'
                    f'L{number(px + 4)},{number(py + 6)}Z" fill="{ink}"/>')
        return made

    # words --------------------------------------------------------------------------------------

    def _steps(self) -> str:
        order = {"feed": 0, "branch": 1, "product": 2, "reject": 3}
        spots = sorted(enumerate(self.way.spots), key=lambda item: order[item[1].path])
        return "\n".join(self._step(i, spot) for i, spot in spots)

    def _step(self, i: int, spot: Spot) -> str:
        spoken = self.said.spoken(spot.stop)
        title = spoken + (f"; {spot.stop.note}" if spot.stop.note else "")
        told = fit(self.said.told(spot.stop), 14, self.width - self.said.told_at - 8)
        here = ' aria-current="step"' if spot in self.lifted else ""
        return (f'<g id="{self.prefix}-s{i}" class="step" tabindex="0" role="group" '
                f'data-key="{escape(spot.stop.key)}"{here} aria-label="{escape(spoken)}">'
                f'<title>{escape(title)}</title>'
                f'<path class="hit" d="{spot.piece}"/>{"".join(_label(w) for w in self.said.by_spot[i])}'
                f'<text class="told" x="{number(self.said.told_at)}" y="{number(self.said.told_y)}">'
                f'{escape(told)}</text></g>')

    def _marks(self) -> str:
        """Chemicals and the energy note: a small mark where each enters, a hairline and its name."""
        ink, made = theme.var("chemical"), []
        for label in self.said.chemicals:
            if label.pole:
                x, top, bottom = label.pole
                made.append(f'<path d="M{number(x)},{number(top)}V{number(bottom)}" fill="none" '
                            f'stroke="{ink}" stroke-width="1"/>')
            made.append(_label(label))
        made += [f'<path d="M{number(x)},{number(y - 5)}l4,5l-4,5l-4,-5Z" fill="{ink}" '
                 f'stroke="var(--db-ground)"/>' for x, y in self.said.marks]
        made += [_label(label) for label in self.said.energy]
        return f'<g aria-hidden="true">{"".join(made)}</g>'

    def _rest(self) -> str:
        """Resting line at the top (figures of the present step, else of the product) and the key at the bottom."""
        said, parts = self.said, []
        here = self.lifted[0].stop if self.lifted else self.line.permeate[-1]
        told = fit(said.told(here), 14, self.width - said.told_at - 8)
        parts.append(f'<text class="rest" style="font-size:14px" x="{number(said.told_at)}" '
                     f'y="{number(said.told_y)}">{escape(told)}</text>')
        if self.slim:
            return f'<g aria-hidden="true">{"".join(parts)}</g>'
        for label in said.key:
            parts.append(_label(label))
        x, y, long = said.ramp_at
        parts.append(f'<rect x="{number(x)}" y="{number(y)}" width="{number(long)}" height="9" rx="2" '
                     f'fill="url(#{self.prefix}-key)"/>')
        x, y, tall = said.scale_at
        parts.append(f'<rect x="{number(x)}" y="{number(y)}" width="18" height="{number(tall)}" '
                     f'fill="{theme.tint(self.line.stops[0].salinity)}"/>')
        return f'<g aria-hidden="true">{"".join(parts)}</g>'


def _label(label: Label) -> str:
    ink = f' style="fill:{theme.var(label.role)}"' if label.role else ""
    made = []
    for i, line in enumerate(label.lines):
        y = label.y + label.size * (0.98 + LEADING * i)
        bold = ' class="bold"' if label.bold else ""
        made.append(f'<text{bold}{ink} x="{number(label.x)}" y="{number(y)}" text-anchor="{label.anchor}">'
                    f"{escape(line)}</text>")
    return "".join(made)
