"""Trade-offs as pictures for a page: two keys as a map, plants by two goals; every point of them can be chosen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from textwrap import wrap

import numpy as np

from desalbook import theme
from desalbook.drawings.chart import Chart, frame, shown, ticks
from desalbook.study import Row, Sweep
from desalbook.study.sweep import NEAR
from desalbook.study.tradeoff import FEASIBLE, NO_PLANT, Map, front_of, mapped
from desalbook.trail.words import low_first
from desalbook.units import in_currency, show, unit_label

__all__ = ["frontier_picture", "is_map", "map_picture"]

_WIDTH, _HEIGHT = 760, 430
_ROLES = ("sea", "energy", "product")
"""Colours of the families of contours, each with a dash of its own."""
_DASHES = ("", "7 3", "2 3")
_HATCH = (("M0 8L8 0", "marginal"), ("M0 0L8 8", "chemical"), ("M0 4H8", "quiet"), ("M4 0V8", "energy"),
          ("M0 8L8 0M0 0L8 8", "quiet"))
"""Strokes of the regions that are infeasible, by the check that shapes them."""
_MOST_LEVELS = 7
_ROOM = 110  # width of a field that holds a value with its unit
_TALL = 6  # rows of fields up to which each shows three values


def is_map(study: Sweep) -> bool:
    """Two keys that take numbers, two values of each at least."""
    return len(study.keys) == 2 and all(m.form == "quantity" for m in study.metas.values()) and all(
        len(t) > 1 for t in study.cases.texts.values())


def _currency(study: Sweep) -> str:
    return str(study.design.get("energy.currency"))


def _kind(study: Sweep, key: str) -> str:
    kind = study.metas[key].kind
    return kind.name if kind is not None else "factor"


def _axis_words(study: Sweep, title: str, kind: str, units: str) -> str:
    unit = in_currency(unit_label(kind, units, True), kind, _currency(study))
    return f"{title}, {unit}" if unit else title


def _halo(x: float, y: float, text: str, role: str, anchor: str = "middle", weight: int = 400) -> str:
    return (f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{theme.var(role)}" font-weight="{weight}" '
            f'stroke="var(--db-ground)" stroke-width="4" paint-order="stroke" font-size="12">{escape(text)}</text>')


def _point(n: int, x: float, y: float, glyph: str, words: str, picked: bool) -> str:
    """A mark that is chosen by pressing it; the list below has the same for the keyboard."""
    ring = (f'<circle cx="{x:.1f}" cy="{y:.1f}" r="10" fill="none" stroke="{theme.var("sea")}" stroke-width="2.5"/>'
            if picked else "")
    ask = escape(f'{{"pick":{n}}}')
    return (f'<g data-ask="{ask}" style="cursor:pointer"><title>{escape(words)}</title>'
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9" fill="transparent"/>{glyph}{ring}</g>')


def _dot(x: float, y: float, role: str, r: float = 4) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:g}" fill="{theme.var(role)}"/>'


def _cross(x: float, y: float, role: str = "fails") -> str:
    return (f'<path d="M{x - 4:.1f} {y - 4:.1f}l8 8m0-8l-8 8" stroke="{theme.var(role)}" stroke-width="2" '
            'fill="none"/>')


def _diamond(x: float, y: float) -> str:
    return (f'<path d="M{x:.1f} {y - 8:.1f}l8 8l-8 8l-8-8z" fill="none" stroke="{theme.var("chemical")}" '
            f'stroke-width="2"><title>the design as it stands</title></path>')


def _told(study: Sweep, row: Row, units: str) -> str:
    """A point in words: what was varied, what is followed, how its checks stand."""
    if row.problem:
        return f"{row.id}: not feasible. {row.problem}"
    kinds = study.kinds()
    money = _currency(study)
    values = ", ".join(in_currency(show(v, kinds[i], units), kinds[i], money) for i in study.follow
                       if isinstance(v := row.figures.get(i), float))
    return f"{row.id}: {values}; " + (f"fails: {row.title}" if row.fails else "every limit is met")


class _Labels:
    """Words on a picture, each moved up or down until it lies on no other."""

    def __init__(self, chart: Chart):
        self.box, self.parts = chart.box, list[str]()
        self.taken: list[tuple[float, float, float]] = []

    def free(self, x: float, y: float, text: str) -> bool:
        half = 3.4 * len(text) + 3
        return not any(abs(y - b) < 15 and abs(x - a) < half + c for a, b, c in self.taken)

    def add(self, x: float, y: float, text: str, role: str, weight: int = 400) -> None:
        half = 3.4 * len(text) + 3
        x = min(max(x, self.box[0] + half), self.box[2] - half)
        for off in (0, -16, 16, -32, 32, -48, 48, -64, 64):
            at = min(max(y + off, self.box[1] + 13), self.box[3] - 5)
            if self.free(x, at, text):
                y = at
                break
        self.taken.append((x, y, half))
        self.parts.append(_halo(x, y, text, role, weight=weight))


# two keys as a map ---------------------------------------------------------------------------------------

def map_picture(study: Sweep, rows: Sequence[Row], id: str, titles: Mapping[str, str], units: str = "si",
                picked: Row | None = None) -> str:
    """Contours of up to three values, the one drawn first, limits as labelled edges, regions named by their check.

    Parameters
    ----------
    study : Sweep
        Of two keys; where one is a choice, or has one value, a field for each plant stands in columns, see `is_map`.
    rows : sequence of Row
        Those that are done.
    id : str
        The value that is drawn with the most contours.
    titles : mapping of id to str
    units : {"si", "us"}
    picked : Row, optional
        The point that is chosen.
    """
    if not is_map(study):
        return _cells(study, rows, id, titles, units, picked)
    of, kinds = mapped(study, rows), study.kinds()
    (kx, ky), (nx, ny) = study.keys, (_kind(study, k) for k in study.keys)
    x, y = shown(of.x, nx, units), shown(of.y, ny, units)
    chart = Chart(_room(x), _room(y), _axis_words(study, titles.get(kx, kx), nx, units),
                  _axis_words(study, titles.get(ky, ky), ny, units), _WIDTH, _HEIGHT, left=78, right=24)
    numbers = {tuple(r.texts.values()): n for n, r in enumerate(rows)}
    done = np.array([[(a, b) in numbers for a in study.cases.texts[kx]] for b in study.cases.texts[ky]])
    named = _regions(of, done)
    labels = _Labels(chart)
    defs = _hatched(chart, of, done, x, y, named)
    families = [i for i in (id, *(f for f in study.follow if f != id)) if i in kinds]
    legend = []
    for n, i in enumerate(families[:len(_ROLES)]):
        value = shown(of.values[i].ravel(), kinds[i], units).reshape(of.values[i].shape)
        legend.append(_contours(chart, x, y, value, n, _axis_words(study, titles.get(i, i), kinds[i], units), labels))
    edges = _edges(chart, rows, of, x, y, named, labels)
    _name_regions(chart, of, done, x, y, named, labels)
    for row in (r for r in rows if r.texts):
        place = [study.cases.texts[k].index(row.texts[k]) for k in study.keys]
        px, py = chart.at(float(x[place[0]]), float(y[place[1]]))
        glyph = (_cross(px, py, "quiet") if row.problem else _cross(px, py) if row.fails else _dot(px, py, "sea", 3))
        chart.parts.append(_point(numbers[tuple(row.texts.values())], px, py, glyph, _told(study, row, units),
                                  picked is not None and picked.texts == row.texts))
    here = [study.base.values.get(k) for k in study.keys]
    if all(isinstance(v, float) for v in here):
        at = [float(shown(v, k, units)[0]) for v, k in zip(here, (nx, ny), strict=True)]
        if chart.x[0] <= at[0] <= chart.x[1] and chart.y[0] <= at[1] <= chart.y[1]:
            chart.parts.append(_diamond(*chart.at(*at)))
    chart.parts += labels.parts
    title = f"{titles.get(id, id)} over {low_first(titles.get(kx, kx))} and {low_first(titles.get(ky, ky))}"
    said = [f"{len(rows)} of {len(study)} plants sized, {int(((of.region == FEASIBLE) & done).sum())} meet every limit"]
    said += [f"{'cannot be built' if name == NO_PLANT else f'fails: {name}'}, {n}" for name, n in named.items()]
    best = of.best(id)
    if best is not None and isinstance(lowest := best.figures[id], float):
        said.append(f"lowest {low_first(titles.get(id, id))} that meets every limit: "
                    f"{in_currency(show(lowest, kinds[id], units), kinds[id], _currency(study))} at {best.id}")
    keys = [*legend, *(_swatch(n, name) for n, name in enumerate(named)),
            *(['<span style="color:var(--db-fails)">━ where a limit begins to be broken</span>'] if edges else [])]
    return (frame(f"<defs>{defs}</defs>{''.join(chart.parts)}", _WIDTH, _HEIGHT, title, "; ".join(said))
            + f'<p class="db-keys">{" &nbsp; ".join(keys)}</p><p class="quiet">{escape("; ".join(said))}.</p>')


def _cells(study: Sweep, rows: Sequence[Row], id: str, titles: Mapping[str, str], units: str,
           picked: Row | None) -> str:
    """A field for each plant: the first key along, the second down, the value drawn above the others that are followed.

    The stronger the tint, the lower the value among the plants that meet every limit; hatched where a check fails.
    """
    of, kinds, (kx, ky) = mapped(study, rows), study.kinds(), study.keys
    across, down = study.cases.texts[kx], study.cases.texts[ky]
    shows = [i for i in (id, *(f for f in study.follow if f != id)) if i in kinds][:3 if len(down) <= _TALL else 1]
    left, top, wide = 150.0, 22.0, (_WIDTH - 160.0) / len(across)
    tall, foot = 22.0 + 16.0 * len(shows), 58.0
    at = {(r.texts[kx], r.texts[ky]): (n, r) for n, r in enumerate(rows)}
    done = np.array([[(a, b) in at for a in across] for b in down])
    named = _regions(of, done)
    order = {name: n for n, name in enumerate(named)}
    good = np.where((of.region == FEASIBLE) & done, of.values[id], np.nan)
    low, high = (float(f(good)) if np.isfinite(good).any() else 0.0 for f in (np.nanmin, np.nanmax))
    parts = [f"<defs>{''.join(map(_pattern, range(len(named))))}</defs>"]
    for i, a in enumerate(across):
        parts += _lines_of(_option(study, kx, a), left + (i + 0.5) * wide, top + tall * len(down) + 16, "middle",
                           int(wide / 6.6))
    for j, b in enumerate(down):
        parts += _lines_of(_option(study, ky, b), left - 8, top + (j + 0.5) * tall, "end", 20)
    today = {k: study.base.values.get(k) for k in study.keys}
    for (a, b), (n, row) in at.items():
        i, j = across.index(a), down.index(b)
        x, y, value = left + i * wide, top + j * tall, float(good[j, i])
        name = str(of.region[j, i])
        fill = (f'fill="url(#db-hatch-{order[name]})"' if name in order else
                f'fill="{theme.var("sea")}" fill-opacity="{0.06 + 0.3 * (high - value) / ((high - low) or 1):.2f}"')
        ring = picked is not None and picked.texts == row.texts
        edge = f'stroke="{theme.var("sea" if ring else "quiet")}" stroke-width="{3 if ring else 0.8}"'
        ask, lowest = escape(f'{{"pick":{n}}}'), value == low and value == value
        told = [_cell_words(study, row, f, kinds[f], units, not k and wide > _ROOM) for k, f in enumerate(shows)]
        words = [f'<text x="{x + wide / 2:.1f}" y="{y + 19 + 16 * k:.1f}" text-anchor="middle" fill="var(--db-text)" '
                 f'font-size="{11 if k else 13}" font-weight="{600 if lowest and not k else 400}" '
                 f'stroke="var(--db-ground)" stroke-width="3" paint-order="stroke">{escape(t)}</text>'
                 for k, t in enumerate(["not feasible"] if row.problem else told)]
        mark = _diamond(x + wide - 13, y + tall - 14) if all(row.values.get(k) == v for k, v in today.items()) else ""
        cross = _cross(x + 13, y + tall - 14) if name in order else ""
        parts.append(f'<g data-ask="{ask}" style="cursor:pointer"><title>{escape(_told(study, row, units))}</title>'
                     f'<rect x="{x + 2:.1f}" y="{y + 2:.1f}" width="{wide - 4:.1f}" height="{tall - 4:.1f}" '
                     f'{fill} {edge}/>'
                     f'{"".join(words)}{cross}{mark}</g>')
    title = f"{titles.get(id, id)} for each {low_first(titles.get(kx, kx))} and {low_first(titles.get(ky, ky))}"
    said = [f"{len(rows)} of {len(study)} plants sized, {int(((of.region == FEASIBLE) & done).sum())} meet every limit"]
    said += [f"{'cannot be built' if name == NO_PLANT else f'fails: {name}'}, {n}" for name, n in named.items()]
    if (best := of.best(id)) is not None:
        said.append(f"lowest {low_first(titles.get(id, id))} that meets every limit: "
                    f"{_cell_words(study, best, id, kinds[id], units, True)} at {best.id}")
    values = "; ".join(_axis_words(study, titles.get(i, i), kinds[i], units) for i in shows)
    keys = [escape(f"In each field: {values}"), "strong tint: low; bold: lowest that meets every limit",
            f'<span style="color:{theme.var("chemical")}">◇</span> the design as it stands',
            *(_swatch(order[name], name) for name in named)]
    return (frame("".join(parts), _WIDTH, top + tall * len(down) + foot, title, "; ".join(said))
            + f'<p class="db-keys">{" &nbsp; ".join(keys)}</p><p class="quiet">{escape("; ".join(said))}.</p>')


def _option(study: Sweep, key: str, text: str) -> str:
    """A value of a key as it is read: a choice in its words."""
    m = study.metas[key]
    return str(m.options.get(text, text)) if m.options else text


def _lines_of(text: str, x: float, y: float, anchor: str, most: int) -> list[str]:
    """Words at an axis, in up to three lines."""
    lines = wrap(text, max(most, 8))[:3]
    first = y - (6.5 * (len(lines) - 1) if anchor == "end" else 0)
    return [f'<text x="{x:.1f}" y="{first + 4 + 13 * n:.1f}" text-anchor="{anchor}" fill="{theme.var("quiet")}" '
            f'font-size="12">{escape(line)}</text>' for n, line in enumerate(lines)]


def _cell_words(study: Sweep, row: Row, id: str, kind: str, units: str, unit: bool) -> str:
    value = row.figures.get(id)
    if not isinstance(value, float):
        return "–"
    return in_currency(show(value, kind, units), kind, _currency(study)) if unit else show(value, kind, units, False)


def _pattern(n: int) -> str:
    stroke, role = _HATCH[n % len(_HATCH)]
    return (f'<pattern id="db-hatch-{n}" width="8" height="8" patternUnits="userSpaceOnUse"><path d="{stroke}" '
            f'stroke="{theme.var(role)}" stroke-width="1" stroke-opacity="0.7" fill="none"/></pattern>')


def _room(values: np.ndarray) -> tuple[float, float]:
    """A little room around the outermost points, so that they can be pressed."""
    low, high = float(np.min(values)), float(np.max(values))
    return low - 0.06 * (high - low), high + 0.06 * (high - low)


def _regions(of: Map, done: np.ndarray) -> dict[str, int]:
    names, counts = np.unique(of.region[(of.region != FEASIBLE) & done], return_counts=True)
    return {str(names[i]): int(counts[i]) for i in np.argsort(-counts, kind="stable")}


def _hatched(chart: Chart, of: Map, done: np.ndarray, x: np.ndarray, y: np.ndarray, named: Mapping[str, int]) -> str:
    """A field around each point that breaks a limit, hatched by the check that shapes it."""
    sides = [np.concatenate([[ends[0]], (a[1:] + a[:-1]) / 2, [ends[1]]]) for a, ends in ((x, chart.x), (y, chart.y))]
    defs = []
    for n, name in enumerate(named):
        defs.append(_pattern(n))
        for j, i in np.argwhere((of.region == name) & done):
            (a, b), (c, d) = (chart.at(float(sides[0][i]), float(sides[1][j])),
                              chart.at(float(sides[0][i + 1]), float(sides[1][j + 1])))
            chart.parts.append(f'<rect x="{min(a, c):.1f}" y="{min(b, d):.1f}" width="{abs(c - a):.1f}" '
                               f'height="{abs(d - b):.1f}" fill="url(#db-hatch-{n})"/>')
    return "".join(defs)


def _name_regions(chart: Chart, of: Map, done: np.ndarray, x: np.ndarray, y: np.ndarray, named: Mapping[str, int],
                  labels: _Labels) -> None:
    """The check that shapes a region, where the region is widest."""
    for n, name in enumerate(named):
        places = np.argwhere((of.region == name) & done)
        row, count = np.unique(places[:, 0], return_counts=True)
        widest = int(row[np.argmax(count)])
        across = places[places[:, 0] == widest][:, 1]
        px, py = chart.at(float(np.mean(x[across])), float(y[widest]))
        labels.add(px, py - 12, "cannot be built" if name == NO_PLANT else f"fails: {name}",
                   _HATCH[n % len(_HATCH)][1], 600)


def _swatch(n: int, name: str) -> str:
    words = "cannot be built" if name == NO_PLANT else f"fails: {name}"
    return (f'<svg width="22" height="12" aria-hidden="true"><rect width="22" height="12" fill="url(#db-hatch-{n})" '
            f'stroke="{theme.var("quiet")}"/></svg> {escape(words)}')


def _lines(x: np.ndarray, y: np.ndarray, values: np.ndarray, level: float) -> list[np.ndarray]:
    from contourpy import contour_generator

    if min(values.shape) < 2:
        return []
    made = contour_generator(x, y, np.ma.masked_invalid(values), name="serial")
    return [np.asarray(line) for line in made.lines(level) if len(line) > 1]


def _path(spots: np.ndarray, role: str, wide: float, dash: str = "", title: str = "") -> str:
    return (f'<path d="M{"L".join(f"{a:.1f} {b:.1f}" for a, b in spots)}" fill="none" stroke="{theme.var(role)}" '
            f'stroke-width="{wide:g}" stroke-dasharray="{dash}"><title>{escape(title)}</title></path>')


def _contours(chart: Chart, x: np.ndarray, y: np.ndarray, values: np.ndarray, family: int, title: str,
              labels: _Labels) -> str:
    """Contours of one value at round numbers, each labelled; gives its entry of the legend."""
    role, dash, wide = _ROLES[family], _DASHES[family], 1.3 if family else 2.0
    entry = (f'<svg width="30" height="8" aria-hidden="true"><path d="M0 4H30" stroke="{theme.var(role)}" '
             f'stroke-width="{wide:g}" stroke-dasharray="{dash}"/></svg> {escape(title)}')
    there = values[np.isfinite(values)]
    if len(there) < 4 or np.ptp(there) == 0:
        return entry
    low, high = float(there.min()), float(there.max())
    for level in (v for v in ticks(low, high, 4 if family else _MOST_LEVELS) if low < v < high):
        lines = [np.array([chart.at(float(a), float(b)) for a, b in line]) for line in _lines(x, y, values, level)]
        text = f"{level:.6g}".replace("-", "−")
        chart.parts += [_path(spots, role, wide, dash, f"{title}: {text}") for spots in lines]
        spots = max(lines, key=len, default=None)
        if spots is None:
            continue
        n = len(spots)
        order = sorted(range(n), key=lambda i, n=n: abs(i / n - 0.2 - 0.25 * family))
        at = next((spots[i] for i in order if labels.free(float(spots[i][0]), float(spots[i][1]) + 4, text)), None)
        if at is not None:
            labels.add(float(at[0]), float(at[1]) + 4, text, role)
    return entry


def _edges(chart: Chart, rows: Sequence[Row], of: Map, x: np.ndarray, y: np.ndarray, named: Mapping[str, int],
           labels: _Labels) -> int:
    """Where each check begins to fail, by the margins of the points around; those that shape a region with a name."""
    kx, ky = of.study.keys
    at = {(r.texts[kx], r.texts[ky]): r for r in rows if not r.problem}
    broken = dict.fromkeys(t for r in at.values() for t, m in r.margins.items() if m < 0)
    drawn = 0
    for title in broken:
        margin = np.array([[at[a, b].margins.get(title, NEAR) if (a, b) in at else np.nan
                            for a in of.study.cases.texts[kx]] for b in of.study.cases.texts[ky]])
        lines = [np.array([chart.at(float(a), float(b)) for a, b in line]) for line in _lines(x, y, margin, 0.0)]
        shapes = title in named
        chart.parts += [_path(spots, "fails", 2.6 if shapes else 1.0, "", f"{title}: limit") for spots in lines]
        drawn += len(lines)
        if lines and shapes:
            spots = max(lines, key=len)
            px, py = spots[len(spots) // 4]
            labels.add(float(px), float(py) + 15, f"limit: {title}", "fails")
    return drawn


# plants by two goals -------------------------------------------------------------------------------------

def frontier_picture(study: Sweep, rows: Sequence[Row], goals: Mapping[str, str], id: str, titles: Mapping[str, str],
                     units: str = "si", picked: Row | None = None) -> str:
    """Plants by two goals: those that are not beaten numbered as in the list below, those that are, those that fail.

    Parameters
    ----------
    study : Sweep
    rows : sequence of Row
        Those that are done.
    goals : mapping of id to "minimum" or "maximum"
    id : str
        The value along y; the second goal where it is the first goal, or none of what is followed.
    titles : mapping of id to str
    units : {"si", "us"}
    picked : Row, optional
    """
    kinds, first = study.kinds(), next(iter(goals))
    others = [i for i in goals if i != first] or [i for i in study.follow if i != first]
    up = id if id in study.follow and id != first and id in kinds else (others or [first])[0]
    front = front_of(rows, goals)
    numbers = {r.id: n for n, r in enumerate(front, 1)}
    some = [(n, r) for n, r in enumerate(rows) if all(isinstance(r.figures.get(i), float) for i in (first, up))]
    base = study.base
    today = [base] if all(isinstance(base.figures.get(i), float) for i in (first, up)) else []
    with_base = [r for _, r in some] + today
    if not with_base:
        return '<p class="quiet">No plant yet.</p>'
    xs, ys = (shown([r.figures[i] for r in with_base], kinds[i], units) for i in (first, up))
    chart = Chart(_wide(xs), _wide(ys), _axis_words(study, titles.get(first, first), kinds[first], units),
                  _axis_words(study, titles.get(up, up), kinds[up], units), _WIDTH, _HEIGHT, left=86, right=24)
    late, labels = [], _Labels(chart)
    for (n, row), x, y in zip(some, xs, ys, strict=False):
        px, py = chart.at(float(x), float(y))
        number = numbers.get(row.id)
        glyph = _cross(px, py) if row.fails else _dot(px, py, "product", 6) if number else _dot(px, py, "quiet", 3)
        mark = _point(n, px, py, glyph, _told(study, row, units), picked is not None and picked.texts == row.texts)
        (late if number else chart.parts).append(mark)
        if number:
            labels.add(px + 14, py - 7, str(number), "product", 600)
    chart.parts += late + labels.parts
    if today:
        chart.parts.append(_diamond(*chart.at(float(xs[-1]), float(ys[-1]))))
    fails, none = sum(bool(r.fails) for r in rows), sum(bool(r.problem) for r in rows)
    said = [f"{len(rows)} plants sized", f"{len(front)} not beaten in {len(goals)} goals", f"{fails} break a limit",
            f"{none} cannot be built"]
    keys = [f'<span style="color:{theme.var("product")}">●</span> not beaten, numbered',
            f'<span style="color:{theme.var("quiet")}">•</span> beaten by another',
            f'<span style="color:{theme.var("fails")}">✗</span> breaks a limit',
            f'<span style="color:{theme.var("chemical")}">◇</span> the design as it stands']
    title = f"{titles.get(up, up)} against {low_first(titles.get(first, first))}"
    return (frame("".join(chart.parts), _WIDTH, _HEIGHT, title, "; ".join(said))
            + f'<p class="db-keys">{" &nbsp; ".join(keys)}</p><p class="quiet">{escape("; ".join(said))}.</p>')


def _wide(values: np.ndarray) -> tuple[float, float]:
    low, high = float(np.min(values)), float(np.max(values))
    room = 0.08 * (high - low) or 0.05 * abs(high) or 1.0
    return low - room, high + room
