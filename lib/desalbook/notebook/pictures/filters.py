"""Pictures of the filters: expansion against temperature, and loss through a run.

Each takes a plant and gives HTML with an SVG in it, or a sentence where the plant has no filters. Numbers come
from the plant's own figures.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.drawings.chart import Chart, shown
from desalbook.drawings.filters import NONE, filter_name
from desalbook.pretreatment.backwash_timetable import loss_through_run, timetable
from desalbook.units import KINDS, show, to_display

__all__ = ["expansion_by_temperature", "loss_through_day"]


def _unit(kind: str, units: str) -> str:
    return KINDS[kind].show_si if units == "si" else KINDS[kind].show_us


def expansion_by_temperature(plant: Any, units: str = "si") -> str:
    """Expansion of each layer and of the bed against the temperature of the backwash water, at the backwash rate."""
    pre = plant.sized.pretreated
    if pre.wash is None:
        return NONE
    corners = ("cold", "design", "hot")
    temperature = [float(to_display(float(plant[f"water.temperature_{c}"]), KINDS["temperature"], units))
                   for c in corners]
    layers = {key: [100 * float(plant[f"filters.backwash_expansion_by_layer@{c}"][key]) for c in corners]
              for key in plant["filters.backwash_expansion_by_layer@cold"].keys}
    whole = [100 * float(plant[f"filters.bed_rise@{c}"]) / float(np.sum(pre.bed.media.depth.values)) for c in corners]
    least = 100 * float(plant.sized.design.get("filters.expansion_minimum"))
    pad = 0.08 * (temperature[-1] - temperature[0]) or 1.0
    top = 1.2 * max(max(v) for v in [*layers.values(), whole, [1.0, least]])
    chart = Chart((temperature[0] - pad, temperature[-1] + pad), (0, top),
                  f"temperature of the backwash water, {_unit('temperature', units)}", "expansion, %", right=132)
    for t, corner in zip(temperature, corners, strict=True):
        x, _ = chart.at(t, 0)
        chart.words(x, chart.box[1] + 10, corner, anchor="middle", role="quiet")
    chart.line([chart.x[0], chart.x[1]], [least, least], "fails", f"bed, minimum {least:g} %", style=1,
               told=f"bed, minimum {least:g} %")
    roles = ("energy", "chemical", "reject", "quiet")
    for k, ((key, values), role) in enumerate(zip(layers.items(), roles, strict=False)):
        chart.line(temperature, values, role, key, style=k + 1, marks=True)
    chart.line(temperature, whole, "sea", "whole bed", marks=True, wide=2.6)
    rate = plant.show("filters.backwash_rate", units)
    said = "; ".join(f"{key} {values[0]:.0f} % in the coldest and {values[-1]:.0f} % in the hottest water"
                     for key, values in layers.items())
    return chart.html("Expansion of the bed against temperature",
                      f"At a backwash rate of {rate}: {said}; the whole bed {whole[0]:.0f} and {whole[-1]:.0f} %, "
                      f"minimum {least:g} % when hottest.")


def loss_through_day(plant: Any, units: str = "si") -> str:
    """Pressure drop of each filter of the first train through a run; a gap is its backwash."""
    pre = plant.sized.pretreated
    if pre.wash is None or "filters.run_usual" not in plant:
        return NONE if pre.wash is None else '<p class="desalbook">No solids: the loss does not grow.</p>'
    of = pre.wash.schedule
    m = timetable(of)
    clean, dirty = float(plant["filters.clean_drop@cold"]), float(plant["filters.dirty_drop"])
    drop = shown(loss_through_run(of, m, clean, dirty, float(plant["filters.run_usual"]))[0],
                  "pressure difference", units)
    hours = (m.edges[:-1] + m.edges[1:]) / 7200
    limit = float(to_display(dirty, KINDS["pressure difference"], units))
    most = float(np.nanmax(drop))
    unit = _unit("pressure difference", units)
    chart = Chart((0, float(of.slots.run) / 3600), (0, 1.12 * max(limit, most)), "time in the run, h",
                  f"pressure drop, {unit}", right=104)
    for k, values in reversed(list(enumerate(drop))):
        bends = _bends(values)
        chart.line(hours[bends], values[bends], "energy" if k == 0 else "sea", filter_name(0, 1) if k == 0 else "",
                   wide=2.6 if k == 0 else 1.2, opacity=1.0 if k == 0 else 0.7, name=filter_name(0, k + 1))
    if len(drop) > 1:
        chart.ends.append((chart.ends[-1][0] + 15, f"{filter_name(0, 2)} to {filter_name(0, len(drop))}", "sea"))
    said = show(dirty, "pressure difference", units, trim=True)
    chart.line([0, float(of.slots.run) / 3600], [limit, limit], "fails", style=1, told=f"backwash is due at {said}")
    chart.words(chart.box[0] + 6, chart.at(0, limit)[1] - 6, f"backwash is due at {said}", role="fails")
    at = np.unravel_index(np.nanargmax(drop), drop.shape)[1]
    x, y = chart.at(float(hours[at]), most)
    chart.parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.5" fill="var(--db-text)"/>')
    chart.words(min(x + 6, chart.box[2] - 80), y - 6, f"most {most:.3g} {unit}")
    return chart.html(
        "Pressure drop of the filters through a run",
        f"{len(drop)} filters, train A, coldest water: from {show(clean, 'pressure difference', units)} after backwash "
        f"to {most:.3g} {unit} at most; a backwash is due at {said}. "
        "The steps are the moments when a neighbour is out.")


def _bends(values: np.ndarray) -> np.ndarray:
    """Where a line begins, ends or turns; what lies between on one straight need not be drawn."""
    slope = np.diff(values, prepend=np.nan, append=np.nan)
    with np.errstate(invalid="ignore"):
        straight = np.abs(np.diff(slope)) <= 1e-9 * np.nanmax(np.abs(values))
    return np.flatnonzero(~straight)
