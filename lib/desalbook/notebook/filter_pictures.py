"""Pictures of the filters: wash schedule over a run, expansion against temperature, loss through a run, plan.

Each takes a plant and gives HTML with an SVG in it, or a sentence where the plant has no filters. Numbers come
from the plant's own figures.
"""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np

from desalbook.notebook import theme
from desalbook.notebook.chart import Chart, frame, shown
from desalbook.pretreatment.march_wash import loss_through_run, march, washes
from desalbook.pretreatment.schedule import STEPS
from desalbook.pretreatment.vessel import places
from desalbook.units import KINDS, show, to_display

__all__ = ["battery_plan", "bed_expansion", "loss_through_day", "wash_timeline"]

ROLE = {"drain": "quiet", "scour": "energy", "wash": "sea", "settle": "quiet", "rinse": "product", "return": "quiet"}
_NONE = '<p class="desalbook">This plant has no filters.</p>'


def _unit(kind: str, units: str) -> str:
    return KINDS[kind].show_si if units == "si" else KINDS[kind].show_us


def _name(train: int, number: int) -> str:
    return f"{chr(ord('A') + train) if train < 26 else f'T{train + 1}-'}{number}"


def wash_timeline(plant: Any, units: str = "si") -> str:
    """Whose turn it is through one run: a row for each filter, a bar for each wash, its steps by colour and width."""
    wash = plant.sized.parts["pretreated"].wash
    if wash is None:
        return _NONE
    of = wash.schedule
    n, t, run = int(of.battery.count), int(of.trains), float(of.turns.run)
    row = {(k, f): n * t - 1 - (k * n + f) for k in range(t) for f in range(n)}
    words = [(y, _name(k, f + 1)) for (k, f), y in row.items()]
    chart = Chart((0, run / 3600), (-0.6, n * t - 0.4), "time in the run, h", "filter", height=90 + 20 * n * t,
                  y_words=words)
    ends = np.concatenate([[0.0], np.cumsum(of.times.values)])
    done = washes(of)
    for w in done:
        y = row[w.train, w.filter]
        for s, name in enumerate(STEPS):
            a, b = (w.start + ends[s]) / 3600, (w.start + ends[s + 1]) / 3600
            if b > a:
                chart.bar(a, b, y, 0.9 if name == "wash" else 0.62 if name == "rinse" else 0.4, ROLE[name],
                          f"{_name(w.train, w.filter + 1)}: {name}, {a:.2f} to {b:.2f} h")
    x, y = chart.box[2] + 10, 28.0
    for name in STEPS:
        chart.parts.append(f'<rect x="{x}" y="{y - 9}" width="12" height="10" fill="{theme.var(ROLE[name])}"/>')
        chart.words(x + 18, y, name)
        y += 18
    missed = "" if not of.turns.missed.value else f" {of.turns.missed.value:g} turns do not fit into the run."
    text = (f"{n * t} filters of {t} trains over a run of {show(run, 'time', units)}: {len(done)} washes, the first "
            f"at 0 h, the last at {done[-1].start / 3600:.2f} h; each keeps a filter out for "
            f"{show(float(of.turns.off_line), 'time.minute', units)}; at most "
            f"{float(of.turns.at_once):g} at one time.{missed}" if done else f"No wash fits into the run.{missed}")
    return chart.html("Wash schedule", text)


def bed_expansion(plant: Any, units: str = "si") -> str:
    """Expansion of each layer and of the bed against the temperature of the wash water, at the wash rate held."""
    pre = plant.sized.parts["pretreated"]
    if pre.wash is None:
        return _NONE
    ledger, corners = plant.ledger, ("cold", "design", "hot")
    temperature = [float(to_display(float(ledger[f"water.temperature_{c}"]), KINDS["temperature"], units))
                   for c in corners]
    layers = {key: [100 * float(ledger[f"filters.wash_expansion_by_layer@{c}"][key]) for c in corners]
              for key in ledger["filters.wash_expansion_by_layer@cold"].keys}
    whole = [100 * float(ledger[f"filters.bed_rise@{c}"]) / float(np.sum(pre.bed.media.depth.values)) for c in corners]
    pad = 0.08 * (temperature[-1] - temperature[0]) or 1.0
    top = 1.15 * max(max(v) for v in [*layers.values(), whole, [1.0]])
    chart = Chart((temperature[0] - pad, temperature[-1] + pad), (0, top),
                  f"temperature of the wash water, {_unit('temperature', units)}", "expansion, %")
    roles = ("energy", "chemical", "reject", "quiet")
    for k, ((key, values), role) in enumerate(zip(layers.items(), roles, strict=False)):
        chart.line(temperature, values, role, key, style=k + 1, marks=True)
    chart.line(temperature, whole, "sea", "whole bed", marks=True)
    rate = plant.show("filters.backwash_rate", units)
    said = "; ".join(f"{key} {values[0]:.0f} % in the coldest and {values[-1]:.0f} % in the hottest water"
                     for key, values in layers.items())
    return chart.html("Expansion of the bed against temperature", f"At a wash rate of {rate}: {said}.")


def loss_through_day(plant: Any, units: str = "si") -> str:
    """Pressure drop of each filter of the first train through a run; a gap is its wash."""
    pre = plant.sized.parts["pretreated"]
    if pre.wash is None or "filters.run_usual" not in plant.ledger:
        return _NONE if pre.wash is None else '<p class="desalbook">No solids: the loss does not grow.</p>'
    of, ledger = pre.wash.schedule, plant.ledger
    m = march(of)
    clean, dirty = float(ledger["filters.clean_drop@cold"]), float(ledger["filters.dirty_drop"])
    drop = shown(loss_through_run(of, m, clean, dirty, float(ledger["filters.run_usual"]))[0],
                  "pressure difference", units)
    hours = (m.edges[:-1] + m.edges[1:]) / 7200
    limit = float(to_display(dirty, KINDS["pressure difference"], units))
    top = 1.1 * max(limit, float(np.nanmax(drop)))
    unit = _unit("pressure difference", units)
    chart = Chart((0, float(of.turns.run) / 3600), (0, top), "time in the run, h", f"pressure drop, {unit}")
    step = max(1, len(hours) // 720)
    for k, values in enumerate(drop):
        chart.line(hours[::step], values[::step], "sea", "", style=k)
    chart.line([0, float(of.turns.run) / 3600], [limit, limit], "fails", "wash at this", style=1)
    return chart.html(
        "Pressure drop of the filters through a run",
        f"{len(drop)} filters of train A, coldest water: from {show(clean, 'pressure difference', units)} after a wash "
        f"to {float(np.nanmax(drop)):.3g} {unit} at most; washed at {show(dirty, 'pressure difference', units)}. "
        "The steps are the moments when a neighbour is out.")


def battery_plan(plant: Any, units: str = "si") -> str:
    """Plan of one battery, to scale, with its outer measures."""
    pre = plant.sized.parts["pretreated"]
    if pre.vessel is None:
        return _NONE
    long, wide = float(pre.vessel.length), float(pre.vessel.width)
    scale = min(640 / long, 420 / wide)
    spots = places(pre.vessel, pre.battery, plant.ledger.__getitem__)
    ground, line = theme.var("quiet"), theme.var("sea")
    parts = [f'<rect x="20" y="30" width="{long * scale:.1f}" height="{wide * scale:.1f}" fill="none" '
             f'stroke="{ground}" stroke-dasharray="5 4"/>']
    for s in spots:
        x, y = 20 + s["x"] * scale, 30 + s["y"] * scale
        a, b = s["length"] * scale, s["width"] * scale
        round_ = min(a, b) / 2
        parts.append(f'<rect x="{x - a / 2:.1f}" y="{y - b / 2:.1f}" width="{a:.1f}" height="{b:.1f}" '
                     f'rx="{round_:.1f}" fill="{line}" fill-opacity="0.16" stroke="{line}" stroke-width="1.6"/>'
                     f'<text x="{x:.1f}" y="{y + 4:.1f}" text-anchor="middle" fill="var(--db-text)">'
                     f'{s["number"]:g}</text>')
    said = [show(v, "length", units) for v in (long, wide, float(pre.battery.diameter))]
    parts.append(f'<text x="{20 + long * scale / 2:.1f}" y="22" text-anchor="middle" fill="var(--db-text)">'
                 f"{escape(said[0])}</text>"
                 f'<text transform="translate({34 + long * scale:.1f} {30 + wide * scale / 2:.1f}) rotate(90)" '
                 f'text-anchor="middle" fill="var(--db-text)">{escape(said[1])}</text>')
    one = scale * float(to_one(units))
    parts.append(f'<path d="M20 {44 + wide * scale:.1f}h{one:.1f}" stroke="var(--db-text)" stroke-width="2"/>'
                 f'<text x="{26 + one:.1f}" y="{48 + wide * scale:.1f}" fill="var(--db-text)">'
                 f"{'1 m' if units == 'si' else '3 ft'}</text>")
    text = (f"{len(spots)} {pre.vessel.form} filters of {said[2]} in {plant.show('filter_vessel.rows', units)} rows "
            f"on {said[0]} by {said[1]}.")
    return frame("".join(parts), long * scale + 60, wide * scale + 64, "Plan of the battery of one train", text)


def to_one(units: str) -> float:
    """Length of the scale bar, m."""
    return 1.0 if units == "si" else 3 * 0.3048
