"""A study as a picture and as a table: the followed figure over the key, what fails, limits, the design as it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from itertools import pairwise
from typing import Any

import numpy as np

from desalbook import theme
from desalbook.drawings import read
from desalbook.drawings.chart import Chart, frame, shown
from desalbook.study import Row, Sweep
from desalbook.study.jumps import Jump
from desalbook.summary import said
from desalbook.trail.words import low_first
from desalbook.units import in_currency, show, unit_label

__all__ = ["describe", "mark_of", "study_picture", "study_table", "unit_words"]

_WIDTH, _HEIGHT = 760, 330
_FAR = 2.0  # a limit further away than this many times the height of the curve is said in words
_MARKS = {"passes": ("sea", "no check fails"), "fails": ("fails", "a check fails"), "none": ("quiet", "not feasible"),
          "design": ("product", "the design as it stands")}


def mark_of(row: Row) -> str:
    """What a case is: ``holds``, ``fails`` or ``none`` when there is no plant."""
    return "none" if row.problem else "fails" if row.fails else "passes"


def _glyph(what: str, x: float, y: float, title: str = "") -> str:
    """A mark that differs in shape, not in colour alone."""
    colour = theme.var(_MARKS[what][0])
    word = read.mark(title) if title else ""
    if what == "passes":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{colour}"{word}/>'
    if what == "fails":
        return (f'<path d="M{x - 4.5:.1f} {y - 4.5:.1f}l9 9m0-9l-9 9" stroke="{colour}" stroke-width="2.2" '
                f'fill="none"{word}/>')
    if what == "none":
        return (f'<path d="M{x - 5:.1f} {y - 9:.1f}h10l-5 8z" fill="none" stroke="{colour}" '
                f'stroke-width="1.6"{word}/>')
    return (f'<path d="M{x:.1f} {y - 8:.1f}l8 8l-8 8l-8-8z" fill="none" stroke="{colour}" '
            f'stroke-width="2"{word}/>')


def _halo(x: float, y: float, text: str, anchor: str, role: str) -> str:
    return (f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{theme.var(role)}" stroke="var(--db-ground)" '
            f'stroke-width="4" paint-order="stroke" font-size="12">{escape(text)}</text>')


def _span(values: Sequence[float], share: float) -> tuple[float, float]:
    low, high = min(values), max(values)
    room = (high - low) * share or abs(high) * 0.05 or 1.0
    return low - room, high + room


def _points(rows: Sequence[Row], key: str, id: str) -> list[tuple[Row, float, float]]:
    """(row, value of the key, figure) in SI where the key has a value; the figure is NaN without a plant."""
    found = []
    for r in rows:
        x, y = r.values.get(key), r.figures.get(id)
        if isinstance(x, float):
            found.append((r, x, y if isinstance(y, float) else float("nan")))
    return found


def _limits(rows: Sequence[Row], key: str, id: str) -> dict[str, list[tuple[float, Any]]]:
    found: dict[str, list[tuple[float, Any]]] = {}
    for r in rows:
        x = r.values.get(key)
        if isinstance(x, float):
            for one in r.limits.get(id, ()):
                found.setdefault(one.title, []).append((x, one))
    return found


def study_picture(study: Sweep, rows: Sequence[Row], id: str, titles: Mapping[str, str], units: str = "si",
                  jumps: Sequence[Jump] = ()) -> str:
    """The figure over the varied key as SVG in HTML: a curve, one for each value of a second key, or a row a choice.

    Parameters
    ----------
    study : Sweep
        Of one key or two.
    rows : sequence of Row
        Those that are done.
    id : str
        One of the followed figures.
    titles : mapping
        Words for the key and for figures by id.
    units : {"si", "us"}
    jumps : sequence of Jump
        Where the curve jumps because another size was selected; each is named on it.
    """
    key = study.keys[0]
    m = study.metas[key]
    if m.form != "quantity":
        return _choices(study, rows, id, titles, units)
    if len(study.keys) > 1:
        return _family(study, rows, id, titles, units)
    points = _points(rows, key, id)
    kinds = {k: v for r in (study.base, *rows) for k, v in r.kinds.items()}
    title = f"{titles.get(id, id)} over {low_first(titles.get(key, key))}"
    if not any(y == y for _, _, y in points) or m.kind is None or id not in kinds:
        why = "No plant yet at any value." if id in kinds or not rows else "This figure is a text: see the table."
        return f'<p class="quiet">{why}</p>'
    kind, base = kinds[id], _points([study.base], key, id)
    asked = [float(m.read(t, key)) for t in (study.cases[0][key], study.cases[-1][key])]
    xs = shown([*asked, *(p[1] for p in points)], m.kind.name, units)
    seen = shown([y for _, _, y in (*points, *base) if y == y], kind, units)
    limits, far = _limits(rows, key, id), []
    tall = list(seen)
    for name, some in limits.items():
        value = float(shown(some[-1][1].value, kind, units)[0])
        height = float(seen.max() - seen.min()) or abs(value)
        if seen.min() - _FAR * height <= value <= seen.max() + _FAR * height:
            tall += list(shown([one.value for _, one in some], kind, units))
        else:
            far.append((name, f"{name}: {_sense(some[-1][1].sense)} {show(some[-1][1].value, kind, units)}"))
    for name, _ in far:
        del limits[name]
    x_unit, y_unit = unit_label(m.kind, units, True), unit_label(kind, units, True)
    chart = Chart(_span(list(map(float, xs)), 0.03), _span(list(map(float, tall)), 0.12),
                  f"{titles.get(key, key)}{f', {x_unit}' if x_unit else ''}",
                  f"{titles.get(id, id)}{f', {y_unit}' if y_unit else ''}", _WIDTH, _HEIGHT, left=78, right=24)
    values = shown([p[1] for p in points], m.kind.name, units), shown([p[2] for p in points], kind, units)
    for name, some in limits.items():
        lx, ly = shown([x for x, _ in some], m.kind.name, units), shown([o.value for _, o in some], kind, units)
        if len(lx) == 1 or np.ptp(ly) == 0:
            lx, ly = np.array(chart.x), np.array([ly[-1], ly[-1]])
        limit = f"{name}, {_sense(some[-1][1].sense)} {show(some[-1][1].value, kind, units, trim=True)}"
        chart.line(lx, ly, "marginal", style=1, told=limit)
        end = chart.at(chart.x[1], float(ly[-1]))
        chart.parts.append(_halo(end[0] - 4, end[1] - 6, limit, "end", "marginal"))
    chart.line(*values, "sea", reads=False)  # its points tell more
    words = dict.fromkeys(_MARKS, 0)
    for (row, _, y), px, py in zip(points, *values, strict=True):
        what = mark_of(row)
        words[what] += 1
        at = chart.at(float(px), float(py) if y == y else chart.y[0])
        chart.parts.append(_glyph(what, *at, f"{row.texts[key]}: {_tell(row, id, kind, units, titles)}"))
    for _row, x, y in base:
        px, py = (float(shown(v, k, units)[0]) for v, k in ((x, m.kind.name), (y, kind)))
        if y == y and chart.x[0] <= px <= chart.x[1]:
            words["design"] = 1
            chart.parts.append(_glyph("design", *chart.at(px, py),
                                      f"as it stands: {titles.get(id, id)} {show(y, kind, units)}"))
    _key(chart, words)
    _name_jumps(chart, jumps, [chart.at(float(x), float(y)) for x, y in zip(*values, strict=True) if y == y],
                (key, m.kind.name), kind, units)
    told = describe(study, rows, id, titles, units, jumps)
    note = f'<p class="quiet">{escape("; ".join(t for _, t in far))}, beyond the picture</p>' if far else ""
    note += "".join(f'<p class="quiet">{n} {escape(j.words(units))}</p>' for n, j in _numbered(jumps))
    return frame("".join(chart.parts), _WIDTH, _HEIGHT + 28, title, told) + note


def _key(chart: Chart, words: Mapping[str, int]) -> None:
    """What the marks mean, below the axis."""
    left = chart.box[0] + 6
    for what, (_, word) in _MARKS.items():
        if words[what]:
            chart.parts.append(_glyph(what, left, chart.height + 14 + (4 if what == "none" else 0)))
            chart.words(left + 12, chart.height + 18, word)
            left += 34 + 6.6 * len(word)


_ROUND = "\u2460\u2461\u2462\u2463\u2464\u2465\u2466\u2467"


def _numbered(jumps: Sequence[Jump]) -> list[tuple[str, Jump]]:
    return list(zip(_ROUND, jumps, strict=False))


def _name_jumps(chart: Chart, jumps: Sequence[Jump], curve: Sequence[tuple[float, float]], over: tuple[str, str],
                kind: str, units: str) -> None:
    """A number on each jump, with the name of what was selected where that lies on no line; else below alone."""
    key, x_kind = over
    taken = [point for a, b in pairwise(curve) for point in _along(a, b)]
    labels: list[tuple[float, float, float]] = []
    for mark, jump in _numbered(jumps):
        (x0, x1), (y0, y1) = ([float(shown(v, k, units)[0]) for v in some] for some, k in (
            ([jump.before.values[key], jump.after.values[key]], x_kind),
            ([jump.before.figures[jump.id], jump.after.figures[jump.id]], kind)))
        a, b = chart.at((x0 + x1) / 2, (y0 + y1) / 2)
        said = f"{mark} {jump.words(units).split('; ')[0]}"
        wide = 6.5 * len(said)
        places = [(left, y) for off in (24, 40, 58, 78, 100) for y in (b - off, b + off + 8)
                  for left in (a - wide / 2, a + 6, a - wide - 6)]
        spot = next(((left, y) for left, y in places
                     if chart.box[0] + 4 < left and left + wide < chart.box[2] - 4
                     and chart.box[1] + 12 < y < chart.box[3] - 8
                     and not any(left - 8 < x < left + wide + 8 and y - 18 < t < y + 8 for x, t in taken)
                     and not any(start - 4 < x < end + 4 and t - 15 < v < t + 5 for start, end, t in labels
                                 for x, v in _along((a, b), (min(max(a, left), left + wide), y)))), None)
        title = read.mark(jump.words(units))
        chart.parts.append(f'<path d="M{a:.1f} {b - 7:.1f}V{b + 7:.1f}" stroke="{theme.var("energy")}" '
                           f'stroke-width="1.6" stroke-dasharray="2 2"{title}/>')
        if spot is None:
            chart.parts.append(_halo(a + 8, b - 4, mark, "start", "energy"))
            continue
        left, y = spot
        labels.append((left, left + wide, y))
        ends = (a, b + (-8 if y < b else 8)), (min(max(a, left), left + wide), y + (4 if y < b else -11))
        taken += [(left + wide * k / 12, y - 5) for k in range(13)] + _along(*ends)
        (x0, y0), (x1, y1) = ends
        chart.parts.append(f'<path d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}" stroke="{theme.var("energy")}" '
                           'stroke-width="0.8"/>')
        chart.parts.append(_halo(left, y, said, "start", "energy"))


def _along(a: tuple[float, float], b: tuple[float, float]) -> list[tuple[float, float]]:
    """Points of a line, close enough to see what it crosses."""
    return [(a[0] + (b[0] - a[0]) * k / 24, a[1] + (b[1] - a[1]) * k / 24) for k in range(25)]


def _kind_of(study: Sweep, rows: Sequence[Row], id: str) -> str:
    return {k: v for r in (study.base, *rows) for k, v in r.kinds.items()}.get(id, "")


def _none_yet(rows: Sequence[Row], kind: str) -> str:
    why = "No plant yet at any value." if kind or not rows else "This figure is a text: see the table."
    return f'<p class="quiet">{why}</p>'


def _choices(study: Sweep, rows: Sequence[Row], id: str, titles: Mapping[str, str], units: str) -> str:
    """A row for each choice, or for each pair of values, the figure along x."""
    kind = _kind_of(study, rows, id)
    got = [(r, y) for r in rows if isinstance(y := r.figures.get(id), float)]
    if not got or not kind:
        return _none_yet(rows, kind)
    base = study.base.figures.get(id)
    some = [y for _, y in got] + ([base] if isinstance(base, float) else [])
    unit = unit_label(kind, units, True)
    high = 24.0 * len(rows) + 70
    ends = _span(list(map(float, shown(some, kind, units))), 0.08)
    labels = [(float(len(rows) - n), _case_words(study, r)) for n, r in enumerate(rows)]
    left = min(max(7.0 * max(len(t) for _, t in labels) + 20, 110), 380)
    chart = Chart(ends, (0.3, len(rows) + 0.7), f"{titles.get(id, id)}{f', {unit}' if unit else ''}", "", _WIDTH, high,
                  left=left, right=110, y_words=labels)
    words = dict.fromkeys(_MARKS, 0)
    for n, r in enumerate(rows):
        what = mark_of(r)
        words[what] += 1
        y = r.figures.get(id)
        x = float(shown(y, kind, units)[0]) if isinstance(y, float) else ends[0]
        px, py = chart.at(x, len(rows) - n)
        chart.parts.append(_glyph(what, px, py, f"{_case_words(study, r)}: {_tell(r, id, kind, units, titles)}"))
        value = show(y, kind, units, False) if isinstance(y, float) else "not feasible"
        chart.parts.append(_halo(px + 10, py + 4, value, "start", "quiet"))
    if isinstance(base, float):
        px = chart.at(float(shown(base, kind, units)[0]), chart.y[0])[0]
        words["design"] = 1
        chart.parts.append(_glyph("design", px, chart.box[3]))
    _key(chart, words)
    over = " and ".join(low_first(titles.get(k, k)) for k in study.keys)
    told = (f"{titles.get(id, id)} over {over}: "
            + "; ".join(f"{show(y, kind, units)} at {_case_words(study, r)}" for r, y in got))
    return frame("".join(chart.parts), _WIDTH, high + 28, f"{titles.get(id, id)} over {over}", told)


def _case_words(study: Sweep, row: Row) -> str:
    """A case as people read it: the words of a choice, the text of a number."""
    return ", ".join(study.metas[k].options.get(t, {"yes": "yes", "no": "no"}.get(t, t))
                     if study.metas[k].form != "quantity" else t for k, t in row.texts.items())


def _family(study: Sweep, rows: Sequence[Row], id: str, titles: Mapping[str, str], units: str) -> str:
    """A curve over the first key for each value of the second, named at its end."""
    key, other = study.keys[:2]
    kind, m = _kind_of(study, rows, id), study.metas[key]
    points = _points(rows, key, id)
    if not any(y == y for _, _, y in points) or not kind or m.kind is None:
        return _none_yet(rows, kind)
    there = [y for _, _, y in points if y == y]
    xs, ys = shown([x for _, x, _ in points], m.kind.name, units), shown(there, kind, units)
    x_unit, y_unit = unit_label(m.kind, units, True), unit_label(kind, units, True)
    names = [study.metas[other].options.get(r.texts[other], r.texts[other]) for r in rows]
    right = min(max(6.8 * max(map(len, names)) + 18, 90), 300)
    chart = Chart(_span(list(map(float, xs)), 0.03), _span(list(map(float, ys)), 0.12),
                  f"{titles.get(key, key)}{f', {x_unit}' if x_unit else ''}",
                  f"{titles.get(id, id)}{f', {y_unit}' if y_unit else ''}", _WIDTH, _HEIGHT, left=78, right=right)
    words = dict.fromkeys(_MARKS, 0)
    for n, text in enumerate(dict.fromkeys(r.texts[other] for r in rows)):
        mine = [p for p in points if p[0].texts[other] == text]
        lx, ly = shown([p[1] for p in mine], m.kind.name, units), shown([p[2] for p in mine], kind, units)
        chart.line(lx, ly, _CURVES[n % len(_CURVES)], study.metas[other].options.get(text, text), style=n,
                   reads=False)
        for (row, _, y), px, py in zip(mine, lx, ly, strict=True):
            what = mark_of(row)
            words[what] += 1
            at = chart.at(float(px), float(py) if y == y else chart.y[0])
            words_of = f"{_case_words(study, row)}: {_tell(row, id, kind, units, titles)}"
            chart.parts.append(_glyph(what, *at, words_of))
    chart.close()
    _key(chart, words)
    title = f"{titles.get(id, id)} over {low_first(titles.get(key, key))} and {low_first(titles.get(other, other))}"
    told = f"{title}: " + "; ".join(f"{show(y, kind, units)} at {_case_words(study, r)}"
                                    for r, _, y in points if y == y)
    return frame("".join(chart.parts), _WIDTH, _HEIGHT + 28, title, told)


_CURVES = ("sea", "energy", "product", "chemical", "reject")


def _sense(sense: str) -> str:
    return "at most" if sense == "<=" else "at least"


def _tell(row: Row, id: str, kind: str, units: str, titles: Mapping[str, str]) -> str:
    if row.problem:
        return f"not feasible. {row.problem}"
    value = row.figures.get(id)
    text = show(value, kind, units) if isinstance(value, float) else "absent"
    return f"{titles.get(id, id)} {text}, {_verdict(row)}"


def _verdict(row: Row) -> str:
    """How the checks of a case stand, in words."""
    if row.fails:
        return f"{row.fails} check{'s' if row.fails > 1 else ''} fail{'' if row.fails > 1 else 's'}"
    return f"no check fails, {row.marginal} marginal" if row.marginal else "no check fails"


def describe(study: Sweep, rows: Sequence[Row], id: str, titles: Mapping[str, str], units: str = "si",
             jumps: Sequence[Jump] = ()) -> str:
    """The picture in words."""
    key = study.keys[0]
    there = [(r, y) for r in rows if isinstance(y := r.figures.get(id), float)]
    if not there:
        return "No plant at any value."
    ends = "; ".join(f"{show(y, r.kinds[id], units)} at {r.texts[key]}" for r, y in (there[0], there[-1]))
    fails, none = sum(bool(r.fails) for r in rows), sum(bool(r.problem) for r in rows)
    return (f"{titles.get(id, id)} over {low_first(titles.get(key, key))}: {ends}. "
            f"Of {len(rows)} values a check fails at {fails or 'none'}; not feasible: {none or 'none'}."
            + "".join(f" It jumps at {j.after.texts[key]}: {j.words(units)}." for j in jumps))


def study_table(study: Sweep, rows: Sequence[Row], titles: Mapping[str, str], units: str = "si") -> str:
    """The rows as an HTML table, numbers as people read them."""
    if not rows:
        return ""
    kinds = {k: v for r in (study.base, *rows) for k, v in r.kinds.items()}
    kinds |= {k: m.kind.name for k, m in study.metas.items() if m.kind is not None}
    columns = (*study.keys, *study.follow)
    money = str(study.design.get("energy.currency")) if any(k.startswith("money") for k in kinds.values()) else ""
    head = "".join(f'<th scope="col">{escape(titles.get(i, i))}{unit_words(kinds.get(i), units, money)}</th>'
                   for i in columns)
    body = []
    for r in rows:
        values = "".join(_cell(r.values.get(k, None), kinds.get(k), units, r.texts.get(k, "")) for k in study.keys)
        look = theme.role({"none": "quiet", "passes": "passes", "fails": "fails"}[mark_of(r)])
        mark = f'<span style="color:{theme.var(look.name)}">{look.mark}</span>'
        if r.problem:
            body.append(f'<tr>{values}<td class="w" colspan="{len(study.follow) + 2}">{mark} not feasible. '
                        f"{escape(r.problem)}</td></tr>")
            continue
        cells = "".join(_cell(r.figures.get(i), kinds.get(i), units) for i in study.follow)
        worst = said({"margin": r.margin, "verdict": r.verdict, "do": ""})
        corner = f" at {r.worst.partition('@')[2]}" if "@" in r.worst else ""
        body.append(f'<tr>{values}{cells}<td class="w">{mark} {escape(_verdict(r))}</td>'
                    f'<td class="w">{escape(f"{r.title}{corner}: {worst}") if r.worst else ""}</td></tr>')
    head += '<th scope="col" class="w">Checks</th><th scope="col" class="w">The worst check</th>'
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(body)}</tbody></table>"


def unit_words(kind: str | None, units: str, currency: str = "") -> str:
    """The unit of a column, after its title."""
    unit = in_currency(unit_label(kind, units, True), kind, currency) if kind else ""
    return f', <span style="white-space:nowrap">{escape(unit)}</span>' if unit else ""


def _cell(value: Any, kind: str | None, units: str, text: str = "") -> str:
    if isinstance(value, float) and kind:
        return f"<td>{escape(show(value, kind, units, False))}</td>"
    return f"<td>{escape(str(text if value is None else value))}</td>"
