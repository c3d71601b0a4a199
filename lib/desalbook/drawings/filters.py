"""Drawings of the filters: whose backwash is when through a run, and the plan of a battery.

Each takes a plant and gives HTML with an SVG in it, or a sentence where the plant has no filters. Numbers come
from the plant's own figures.
"""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np

from desalbook import theme
from desalbook.drawings import read
from desalbook.drawings.chart import Chart, frame
from desalbook.pretreatment.backwash_schedule import STEPS
from desalbook.pretreatment.backwash_timetable import backwashes
from desalbook.pretreatment.filter_vessel import places
from desalbook.units import show

__all__ = ["NONE", "ROLE", "battery_plan", "filter_name", "wash_timeline"]

ROLE = {"drain": "quiet", "scour": "energy", "backwash": "sea", "settle": "quiet", "filter_to_waste": "product",
        "return": "quiet"}
"""Colour role of each step of a backwash."""
NONE = '<p class="desalbook">This plant has no filters.</p>'


def filter_name(train: int, number: int) -> str:
    """What a filter is called: the letter of its train, and its number from one."""
    return f"{chr(ord('A') + train) if train < 26 else f'T{train + 1}-'}{number}"


def wash_timeline(plant: Any, units: str = "si") -> str:
    """Whose turn it is through one run, a row for each filter; below, the steps of one backwash, each to its length."""
    wash = plant.sized.pretreated.wash
    if wash is None:
        return NONE
    of = wash.schedule
    n, t, run = int(of.battery.count), int(of.trains), float(of.slots.run)
    row = {(k, f): n * t - 1 - (k * n + f) for k in range(t) for f in range(n)}
    words = [(y, filter_name(k, f + 1)) for (k, f), y in row.items()]
    chart = Chart((0, run / 3600), (-0.6, n * t - 0.4), "time in the run, h", "filter", height=74 + 18 * n * t,
                  y_words=words, right=40)
    off, done, edge = float(of.slots.off_line), backwashes(of), chart.box[2] - 44
    for w in done:
        a, b = w.start / 3600, (w.start + off) / 3600
        name = filter_name(w.train, w.filter + 1)
        chart.bar(a, b, row[w.train, w.filter], 0.7, "sea", f"{name} is out from {a:.2f} to {b:.2f} h")
        x, y = chart.at(b, row[w.train, w.filter])
        chart.words(*((x + 5, y + 4) if x < edge else (chart.at(a, 0)[0] - 5, y + 4)), f"{a:.1f} h", role="quiet",
                    anchor="start" if x < edge else "end")
    body, high = _one_wash(plant, of, units)
    each = show(off, "time.minute", units, digits=3)
    missed = "" if not of.slots.missed.value else f" {of.slots.missed.value:g} turns do not fit into the run."
    steps = ", ".join(f"{_said(name)} {show(s, 'time.minute', units, trim=True)}"
                      for name, s in zip(STEPS, of.times.values, strict=True) if s)
    text = (f"{n * t} filters of {t} trains over a run of {show(run, 'time', units)}: {len(done)} backwashes, "
            f"the first "
            f"at 0 h, the last at {done[-1].start / 3600:.2f} h; each keeps a filter out for "
            f"{each}; at most {float(of.slots.at_once):g} at one time.{missed} Steps: {steps}."
            if done else f"No backwash fits into the run.{missed}")
    return frame("".join([*chart.parts, f'<g transform="translate(0 {chart.height:g})">{body}</g>']), chart.width,
                 chart.height + high, "Backwash schedule", text)


def _said(step: str) -> str:
    return step.replace("_", " ")


def _one_wash(plant: Any, of: Any, units: str) -> tuple[str, float]:
    """The steps of one backwash as a stair: each bar begins where the one above ends."""
    ends = np.concatenate([[0.0], np.cumsum(of.times.values)])
    stair, total = Chart((0, ends[-1]), (0, 1), "", "", height=60, right=150), float(ends[-1])
    stair.parts.clear()
    out, water = show(total, "time.minute", units, trim=True), plant.show("filters.backwash_volume", units)
    stair.words(stair.box[0], 16, f"One backwash: {out} out of service, {water} of backwash water")
    y = 36.0
    for k, name in enumerate(STEPS):
        if ends[k + 1] == ends[k]:
            continue
        words = f"{_said(name)}, {show(float(ends[k + 1] - ends[k]), 'time.minute', units, trim=True)}"
        (a, _), (b, _) = stair.at(float(ends[k]), 0), stair.at(float(ends[k + 1]), 0)
        stair.parts.append(f'<rect x="{a:.1f}" y="{y - 10:.1f}" width="{b - a:.1f}" height="12" '
                           f'fill="{theme.var(ROLE[name])}"{read.mark(words)}/>')
        stair.words(b + 6, y, words)
        y += 18
    return "".join(stair.parts), y


def _measure(a: tuple[float, float], b: tuple[float, float], text: str, shift: tuple[float, float],
             anchor: str = "middle") -> str:
    """A measure between two points, a short stroke at each end."""
    (x0, y0), (x1, y1) = a, b
    tick = "v8m0 -4" if y0 == y1 else "h8m-4 0"
    ends = "".join(f"M{x:.1f} {y - 4:.1f}{tick}" if y0 == y1 else f"M{x - 4:.1f} {y:.1f}{tick}" for x, y in (a, b))
    return (f'<path d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}{ends}" stroke="{theme.var("quiet")}" fill="none"/>'
            f'<text x="{(x0 + x1) / 2 + shift[0]:.1f}" y="{(y0 + y1) / 2 + shift[1]:.1f}" text-anchor="{anchor}" '
            f'fill="var(--db-text)">{escape(text)}</text>')


def battery_plan(plant: Any, units: str = "si") -> str:
    """Plan of one battery, to scale: filters by number, outer measures, diameter, gap and aisle."""
    pre = plant.sized.pretreated
    if pre.vessel is None:
        return NONE
    long, wide = float(pre.vessel.length), float(pre.vessel.width)
    scale = min(410 / long, 330 / wide)
    left, top = 12.0, 38.0
    right, bottom = left + long * scale, top + wide * scale
    spots = places(pre.vessel, pre.battery)
    line = theme.var("sea")
    parts = [f'<rect x="{left:.1f}" y="{top:.1f}" width="{long * scale:.1f}" height="{wide * scale:.1f}" fill="none" '
             f'stroke="{theme.var("quiet")}" stroke-dasharray="5 4"/>']
    box = {}
    for s in spots:
        x, y = left + s["x"] * scale, top + s["y"] * scale
        a, b = s["length"] * scale, s["width"] * scale
        box[int(s["number"])] = (x - a / 2, y - b / 2, x + a / 2, y + b / 2)
        parts.append(f'<rect x="{x - a / 2:.1f}" y="{y - b / 2:.1f}" width="{a:.1f}" height="{b:.1f}" '
                     f'rx="{min(a, b) / 2:.1f}" fill="{line}" fill-opacity="0.16" stroke="{line}" stroke-width="1.6"/>'
                     f'<text x="{x:.1f}" y="{y + (20 if s["number"] == 1 else 4):.1f}" text-anchor="middle" '
                     f'font-weight="600" fill="var(--db-text)">{s["number"]:g}</text>')

    def said(v: Any) -> str:
        return show(float(v), "length", units, digits=3, trim=True)

    form, gap, aisle = pre.vessel.form, plant["filter_vessel.gap"], plant["filter_vessel.aisle"]
    x0, y0, x1, y1 = box[1]
    across = _measure((x0, (y0 + y1) / 2), (x1, (y0 + y1) / 2), said(pre.vessel.pitch), (0, -6))
    parts += [_measure((left, top - 12), (right, top - 12), said(long), (0, -7)), across,
              _measure((right + 12, top), (right + 12, bottom), said(wide), (8, 4), "start")]
    in_row = -(-len(spots) // int(plant["filter_vessel.rows"]))
    if in_row > 1:
        parts.append(_measure((x1, y0 - 2), (box[2][0], y0 - 2), f"gap {said(gap)}", (0, -7)))
    if len(spots) > in_row:
        x = (x0 + x1) / 2
        parts.append(_measure((x, y1), (x, box[in_row + 1][1]), f"aisle {said(aisle)}", (8, 4), "start"))
    one = scale * float(to_one(units))
    parts.append(_measure((left, bottom + 18), (left + one, bottom + 18), "1 m" if units == "si" else "3 ft",
                          (one / 2 + 8, 4), "start"))
    text = (f"{len(spots)} {form} filters of {said(pre.battery.diameter)} in "
            f"{plant.show('filter_vessel.rows', units)} rows on {said(long)} by {said(wide)}; gap {said(gap)}, aisle "
            f"{said(aisle)}.")
    return frame("".join(parts), 520, bottom + 32, "Plan of the battery of one train", text)


def to_one(units: str) -> float:
    """Length of the scale bar, m."""
    return 1.0 if units == "si" else 3 * 0.3048
