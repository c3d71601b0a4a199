"""A study as a picture and as a table: the followed figure over the key, what fails, limits, the design as it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import numpy as np

from desalbook import theme
from desalbook.drawings.chart import Chart, frame, shown
from desalbook.study import Row, Sweep
from desalbook.summary import said
from desalbook.trail.words import low_first
from desalbook.units import show, unit_label

__all__ = ["describe", "mark_of", "study_picture", "study_table"]

_WIDTH, _HEIGHT = 760, 330
_FAR = 2.0  # a limit further away than this many times the height of the curve is said in words
_MARKS = {"passes": ("sea", "no check fails"), "fails": ("fails", "a check fails"), "none": ("quiet", "no plant"),
          "design": ("product", "the design as it stands")}


def mark_of(row: Row) -> str:
    """What a case is: ``holds``, ``fails`` or ``none`` when there is no plant."""
    return "none" if row.problem else "fails" if row.fails else "passes"


def _glyph(what: str, x: float, y: float, title: str = "") -> str:
    """A mark that differs in shape, not in colour alone."""
    colour = theme.var(_MARKS[what][0])
    word = f"<title>{escape(title)}</title>" if title else ""
    if what == "passes":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{colour}">{word}</circle>'
    if what == "fails":
        return (f'<path d="M{x - 4.5:.1f} {y - 4.5:.1f}l9 9m0-9l-9 9" stroke="{colour}" stroke-width="2.2" '
                f'fill="none">{word}</path>')
    if what == "none":
        return (f'<path d="M{x - 5:.1f} {y - 9:.1f}h10l-5 8z" fill="none" stroke="{colour}" '
                f'stroke-width="1.6">{word}</path>')
    return (f'<path d="M{x:.1f} {y - 8:.1f}l8 8l-8 8l-8-8z" fill="none" stroke="{colour}" '
            f'stroke-width="2">{word}</path>')


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


def study_picture(study: Sweep, rows: Sequence[Row], id: str, titles: Mapping[str, str], units: str = "si") -> str:
    """The figure over the varied key as SVG in HTML.

    Parameters
    ----------
    study : Sweep
        Of one key that takes numbers.
    rows : sequence of Row
        Those that are done.
    id : str
        One of the followed figures.
    titles : mapping
        Words for the key and for figures by id.
    units : {"si", "us"}
    """
    key = study.keys[0]
    m = study.metas[key]
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
        chart.line(lx, ly, "marginal", style=1)
        end = chart.at(chart.x[1], float(ly[-1]))
        chart.parts.append(_halo(end[0] - 4, end[1] - 6, f"{name}, {_sense(some[-1][1].sense)} "
                                 f"{show(some[-1][1].value, kind, units, trim=True)}", "end", "marginal"))
    chart.line(*values, "sea")
    words = dict.fromkeys(_MARKS, 0)
    for (row, _, y), px, py in zip(points, *values, strict=True):
        what = mark_of(row)
        words[what] += 1
        at = chart.at(float(px), float(py) if y == y else chart.y[0])
        chart.parts.append(_glyph(what, *at, f"{row.texts[key]}: {_tell(row, id, kind, units)}"))
    for _row, x, y in base:
        px, py = (float(shown(v, k, units)[0]) for v, k in ((x, m.kind.name), (y, kind)))
        if y == y and chart.x[0] <= px <= chart.x[1]:
            words["design"] = 1
            chart.parts.append(_glyph("design", *chart.at(px, py), f"as it stands: {show(y, kind, units)}"))
    left = chart.box[0] + 6
    for what, (_, word) in _MARKS.items():
        if words[what]:
            chart.parts.append(_glyph(what, left, _HEIGHT + 14 + (4 if what == "none" else 0)))
            chart.words(left + 12, _HEIGHT + 18, word)
            left += 34 + 6.6 * len(word)
    told = describe(study, rows, id, titles, units)
    note = f'<p class="quiet">{escape("; ".join(t for _, t in far))}, beyond the picture</p>' if far else ""
    return frame("".join(chart.parts), _WIDTH, _HEIGHT + 28, title, told) + note


def _sense(sense: str) -> str:
    return "at most" if sense == "<=" else "at least"


def _tell(row: Row, id: str, kind: str, units: str) -> str:
    if row.problem:
        return f"no plant. {row.problem}"
    value = row.figures.get(id)
    text = show(value, kind, units) if isinstance(value, float) else "not there"
    return f"{text}, {_verdict(row)}"


def _verdict(row: Row) -> str:
    """How the checks of a case stand, in words."""
    if row.fails:
        return f"{row.fails} check{'s' if row.fails > 1 else ''} fail{'' if row.fails > 1 else 's'}"
    return f"no check fails, {row.marginal} marginal" if row.marginal else "no check fails"


def describe(study: Sweep, rows: Sequence[Row], id: str, titles: Mapping[str, str], units: str = "si") -> str:
    """The picture in words."""
    key = study.keys[0]
    there = [(r, y) for r in rows if isinstance(y := r.figures.get(id), float)]
    if not there:
        return "No plant at any value."
    ends = "; ".join(f"{show(y, r.kinds[id], units)} at {r.texts[key]}" for r, y in (there[0], there[-1]))
    fails, none = sum(bool(r.fails) for r in rows), sum(bool(r.problem) for r in rows)
    return (f"{titles.get(id, id)} over {low_first(titles.get(key, key))}: {ends}. "
            f"Of {len(rows)} values a check fails at {fails or 'none'}, there is no plant at {none or 'none'}.")


def study_table(study: Sweep, rows: Sequence[Row], titles: Mapping[str, str], units: str = "si") -> str:
    """The rows as an HTML table, numbers as people read them."""
    if not rows:
        return ""
    kinds = {k: v for r in (study.base, *rows) for k, v in r.kinds.items()}
    kinds |= {k: m.kind.name for k, m in study.metas.items() if m.kind is not None}
    columns = (*study.keys, *study.follow)
    head = "".join(f'<th scope="col">{escape(titles.get(i, i))}{_unit(kinds.get(i), units)}</th>' for i in columns)
    body = []
    for r in rows:
        values = "".join(_cell(r.values.get(k, None), kinds.get(k), units, r.texts.get(k, "")) for k in study.keys)
        look = theme.role({"none": "quiet", "passes": "passes", "fails": "fails"}[mark_of(r)])
        mark = f'<span style="color:{theme.var(look.name)}">{look.mark}</span>'
        if r.problem:
            body.append(f'<tr>{values}<td class="w" colspan="{len(study.follow) + 2}">{mark} no plant. '
                        f"{escape(r.problem)}</td></tr>")
            continue
        cells = "".join(_cell(r.figures.get(i), kinds.get(i), units) for i in study.follow)
        worst = said({"margin": r.margin, "verdict": r.verdict, "do": ""})
        corner = f" at {r.worst.partition('@')[2]}" if "@" in r.worst else ""
        body.append(f'<tr>{values}{cells}<td class="w">{mark} {escape(_verdict(r))}</td>'
                    f'<td class="w">{escape(f"{r.title}{corner}: {worst}") if r.worst else ""}</td></tr>')
    head += '<th scope="col" class="w">Checks</th><th scope="col" class="w">The worst check</th>'
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(body)}</tbody></table>"


def _unit(kind: str | None, units: str) -> str:
    unit = unit_label(kind, units, True) if kind else ""
    return f', <span style="white-space:nowrap">{escape(unit)}</span>' if unit else ""


def _cell(value: Any, kind: str | None, units: str, text: str = "") -> str:
    if isinstance(value, float) and kind:
        return f"<td>{escape(show(value, kind, units, False))}</td>"
    return f"<td>{escape(str(text if value is None else value))}</td>"
