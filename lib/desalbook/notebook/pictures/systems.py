"""Low-pressure pumps against their systems: a small chart a pump, clean and dirty, with the points where they meet."""

from __future__ import annotations

from typing import Any

from desalbook.drawings.chart import Chart, frame, shown
from desalbook.plant.system_curves import curves, operating_points
from desalbook.units import show, to_display, unit_label

__all__ = ["system_picture"]

WIDE, HIGH = 256, 186
_STATES = (("clean", "sea", 1), ("dirty", "reject", 2))


def system_picture(plant: Any, units: str = "si") -> str:
    """Head of each low-pressure pump and of its system over the flow of one unit.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}

    Returns
    -------
    str
        HTML with one SVG, a small chart a pump, all said in its text alternative.
    """
    points, pumps = operating_points(plant.sized), {}
    for row in curves(plant.sized):
        pumps.setdefault(row["pump"], []).append(row)
    drawn, said = [], []
    for n, (name, rows) in enumerate(pumps.items()):
        alone = n == len(pumps) - 1 and not n % 2  # the last of an odd number has its row to itself
        parts, words = _chart(name, rows, [p for p in points if p["pump"] == name], units,
                              2 * WIDE + 8 if alone else WIDE)
        drawn.append(f'<g transform="translate({n % 2 * (WIDE + 8)} {n // 2 * (HIGH + 12)})">{parts}</g>')
        said.append(words)
    return frame("".join(drawn), 2 * WIDE + 8, -(-len(drawn) // 2) * (HIGH + 12),
                 "Low-pressure pumps and their systems", "; ".join(said) + ".")


def _chart(name: str, rows: list[dict[str, Any]], points: list[dict[str, Any]], units: str,
           wide: int = WIDE) -> tuple[str, str]:
    title = "CIP pump" if name == "cip" else name.replace("_", " ").capitalize()
    q, heads = shown([r["flow"] for r in rows], "flow", units), ("pump_head", "system_clean", "system_dirty")
    h = {c: shown([r[c] for r in rows], "head", units) for c in heads}
    top = max(float(x.max()) for x in (h["pump_head"], h["system_dirty"][q <= q.max()]))
    chart = Chart((0.0, float(q.max())), (0.0, 1.08 * top), f"flow of one, {unit_label('flow', units, pretty=True)}",
                  f"head, {unit_label('head', units)}", width=wide, height=HIGH, left=50, right=44, about=4)
    chart.words(4, 12, title, size=12.5, weight=600)
    chart.line(q, h["pump_head"], "energy", "pump", name=title)
    same = bool((abs(h["system_clean"] - h["system_dirty"]) < 0.005 * top).all())
    said = []
    for state, role, style in _STATES[:1] if same else _STATES:
        chart.line(q, h[f"system_{state}"], role, "", style, name=f"{title}, system{'' if same else f' when {state}'}")
        for at in (p for p in points if p["state"] == state):
            x, y = to_display(at["flow"], "flow", units), to_display(at["head"], "head", units)
            word = "clean and dirty" if same else state
            chart.line([x], [y], role, "", style, marks=True, name=f"{title}, duty when {word}")
            px, py = chart.at(float(x), float(y))
            if same:  # between the two curves, where there is room
                half = int(abs(q - 0.45 * float(x)).argmin())
                px, py = chart.at(float(q[half]), 0.5 * float(h["pump_head"][half] + h["system_clean"][half]))
            chart.words(px - (0 if same else 4), py + (4 if same else 20 if state == "clean" else -14),
                        "system" if same else word, role=role, anchor="middle")
            said.append(f"{word} it meets its pump at {show(at['flow'], 'flow', units)} and "
                        f"{show(at['head'], 'head', units)}")
    chart.close()
    return "".join(chart.parts), f"{title}: " + ", ".join(said)
