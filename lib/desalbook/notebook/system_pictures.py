"""Low-pressure pumps against their systems: one chart a pump, clean and dirty, with the points where they meet."""

from __future__ import annotations

from typing import Any

from desalbook.notebook.chart import Chart, shown
from desalbook.units import show, to_display, unit_label

__all__ = ["system_picture"]

_STATES = (("clean", "sea", 1), ("dirty", "reject", 2))


def system_picture(plant: Any, units: str = "si") -> str:
    """Head of each low-pressure pump and of its system over the flow of one machine.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}

    Returns
    -------
    str
        HTML, one chart a pump, each with its text alternative.
    """
    curves, points = plant.curves, plant.operating_points
    return "".join(_chart(name, rows, points[points["pump"] == name], units)
                   for name, rows in curves.groupby("pump", sort=False))


def _chart(name: str, rows: Any, points: Any, units: str) -> str:
    title = "Cleaning pump" if name == "cip" else name.replace("_", " ").capitalize()
    q, heads = shown(rows["flow"], "flow", units), ("pump_head", "system_clean", "system_dirty")
    h = {c: shown(rows[c], "head", units) for c in heads}
    top = max(float(x.max()) for x in (h["pump_head"], h["system_dirty"][q <= q.max()]))
    chart = Chart((0.0, float(q.max())), (0.0, 1.08 * top), f"flow of one, {unit_label('flow', units, pretty=True)}",
                  f"head, {unit_label('head', units)}", width=520, height=230, right=96)
    chart.words(chart.box[0] + 4, 12, title, size=13)
    chart.line(q, h["pump_head"], "energy", "pump")
    said = []
    for state, role, style in _STATES:
        chart.line(q, h[f"system_{state}"], role, "", style)
        for at in points[points["state"] == state].itertuples():
            x, y = to_display(float(at.flow), "flow", units), to_display(float(at.head), "head", units)
            chart.line([x], [y], role, "", style, marks=True)
            px, py = chart.at(float(x), float(y))
            chart.words(px + 5, py - 6 if state == "clean" else py + 15, state, role=role, size=11)
            said.append(f"{state} it meets its pump at {show(float(at.flow), 'flow', units)} and "
                        f"{show(float(at.head), 'head', units)}")
    return chart.html(f"{title}: system and pump", f"{title}: " + "; ".join(said) + ".")
