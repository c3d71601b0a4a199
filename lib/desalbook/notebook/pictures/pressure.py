"""Pictures of the pressure side: pump curve with its cases, energy by consumer, recovery devices side by side.

Hand-written SVG with colours of the theme and a text alternative; nothing of the plant is calculated here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from IPython.display import HTML

from desalbook import theme
from desalbook.design import Design
from desalbook.drawings import read, svg
from desalbook.drawings.chart import shown, tick
from desalbook.drawings.svg import number
from desalbook.fine import fine
from desalbook.notebook.blocks import STYLE
from desalbook.plant import compare_recovery
from desalbook.plant.pump_lines import pump_lines
from desalbook.units import show, unit_label
from desalbook.units.kinds import KINDS

__all__ = ["devices", "devices_picture", "energy_picture", "pump_picture"]

def pump_picture(plant: Any, units: str = "si", width: int = 520) -> str:
    """Curve of the high-pressure pump at full speed and in each case's speed, with the duty of each case.

    Parameters
    ----------
    plant : Sized or Plant
    units : {"si", "us"}

    Returns
    -------
    str
        HTML with one SVG; a sentence where the pump has no curve.
    """
    lines = pump_lines(getattr(plant, "sized", plant))
    if lines is None:
        return ('<div class="desalbook">A displacement pump has no curve: it delivers its flow at any pressure '
                "up to the relief.</div>")
    x0, x1, y0, y1, height = 50.0, width - 150.0, 290.0, 30.0, 336
    q, h = shown(lines["flow"], "flow", units), shown(lines["head"], "head", units)
    q_top, h_top = q[-1] * 1.02, max(h) * 1.06

    def at(x: float, y: float) -> tuple[float, float]:
        return x0 + (x1 - x0) * x / q_top, y0 - (y0 - y1) * y / h_top

    x_title, y_title = f"flow, {unit_label(KINDS['flow'], units)}", f"head, {unit_label(KINDS['head'], units)}"

    def path(xs: Iterable[float], ys: Iterable[float], ink: str, wide: float, name: str, dash: str = "") -> str:
        d = "L".join(f"{number(a)},{number(b)}" for a, b in (at(x, y) for x, y in zip(xs, ys, strict=True)))
        more = f' stroke-dasharray="{dash}"' if dash else ""
        return (f'<path d="M{d}" fill="none" stroke="{theme.var(ink)}" stroke-width="{number(wide)}"{more}'
                f"{read.curve(name, x_title, y_title, xs, ys)}/>")

    body = [svg.line(x0, y0, x1, y0), svg.line(x0, y0, x0, y1)]
    for v in svg.ticks_from_zero(q_top):
        body.append(svg.text(at(v, 0)[0], y0 + 18, tick(v), "middle", "small"))
    for v in svg.ticks_from_zero(h_top):
        x, y = at(0, v)
        body += [svg.line(x0 - 4, y, x0, y), svg.text(x0 - 8, y + 4, tick(v), "end", "small")]
    body += [svg.text((x0 + x1) / 2, y0 + 42, f"flow of one pump, {unit_label(KINDS['flow'], units, True)}", "middle"),
             svg.text(x0, y1 - 14, f"head, {unit_label(KINDS['head'], units, True)}", "start", "bold")]
    for name, key in (("minimum flow", "least"), ("run-out", "runout")):
        x = at(shown(lines[key], "flow", units)[0], 0)[0]
        limit = f"{name} {show(float(lines[key]), 'flow', units)}"
        body += [svg.line(x, y0, x, y1, "marginal", "5 4", reads=limit),
                 svg.text(x - 5, y0 - 8, name, "end", "small", "marginal")]
    for corner in lines["corners"]:
        a, b = corner["line"]
        body.append(path(shown(a, "flow", units), shown(b, "head", units), "quiet", 0.8,
                         f"{corner['corner']}, at its speed", "2 3"))
    body.append(path(q, h, "energy", 2.2, "full speed"))
    x, y = at(q[0], h[0])
    body.append(svg.text(x + 8, y - 6, f"{theme.ROLES['energy'].mark} full speed", "start", "small", "energy"))
    said, tall = [], y1 + 10.0
    for corner in sorted(lines["corners"], key=lambda k: -k["head"]):
        x, y = at(shown(corner["flow"], "flow", units)[0], shown(corner["head"], "head", units)[0])
        ink = "passes" if corner["met"] else "fails"
        tall = max(tall + 17, y + 4)
        words = (f"{corner['corner']}: {show(corner['flow'], 'flow', units)} at "
                 f"{show(corner['head'], 'head', units)}, {corner['speed_ratio']:.1%} of full speed, "
                 f"efficiency {corner['efficiency']:.1%}" + ("" if corner["met"] else ", out of reach"))
        body += [f'<circle cx="{number(x)}" cy="{number(y)}" r="4" fill="{theme.var(ink)}"{read.mark(words)}/>',
                 svg.line(x + 5, y, x1 + 4, tall - 4, "quiet", "", 0.6),
                 svg.text(x1 + 8, tall,
                          f"{theme.ROLES[ink].mark} {corner['corner']}, {100 * corner['speed_ratio']:.1f} %",
                          "start", "small", ink)]
        said.append(words)
    body.append(svg.text(x1 + 8, y1 - 14, "case, speed", "start", "bold"))
    return svg.picture("pump", "Curve of the HP pump with its operating points",
                "Head against flow of one pump at full speed, from "
                f"{show(float(lines['head'][0]), 'head', units)} at no flow. " + "; ".join(said) + ".",
                width, height, body)


def energy_picture(plant: Any, units: str = "si", width: int = 520) -> str:
    """Energy per net product by consumer as bars, with the whole, the limit of one stage and the least work."""
    used = getattr(plant, "sized", plant).energy
    parts: dict[str, float] = {}
    for x in used.consumers:
        title = "Dosing pumps" if x.key.startswith("dosing_") else x.title
        parts[title] = parts.get(title, 0.0) + float(used.by_consumer[x.key])
    rows = [(title, value) for title, value in parts.items() if value > 0]
    rows.append(("Transformer and cables", float(used.losses)))
    rows.sort(key=lambda kv: -kv[1])
    whole, kind = float(used.plant), "specific energy"
    marks = [("Limit of one stage", float(used.limit)), ("Minimum work", float(used.least))]
    x0, x1, right, step, y = 180.0, width - 124.0, width - 62.0, 20.0, 42.0
    top = max(whole, *(v for _, v in (*rows, *marks)))
    unit = unit_label(kind, units, True)
    body, words = [svg.text(right, 16, f"{unit} of net product", "end", "bold"),
                   svg.text(width - 4, 16, "share", "end", "bold")], []

    def row(title: str, value: float, ink: str, cls: str, share: str) -> None:
        wide = max((x1 - x0) * value / top, 1.0)
        body.extend((svg.text(x0 - 8, y, title, "end", cls),
                     f'<rect x="{number(x0)}" y="{number(y - 11)}" width="{number(wide)}" height="14" '
                     f'fill="{theme.var(ink)}"{read.mark(f"{title}: {show(value, kind, units)}")}/>',
                     svg.text(right, y, f"{float(shown(value, kind, units)[0]):.3f}", "end", f"{cls} figures"),
                     svg.text(width - 4, y, share, "end", f"{cls} figures")))
        words.append(f"{title}: {show(value, kind, units)}")

    row("Whole plant", whole, "energy", "bold", "")
    for title, value in rows:
        y += step
        row(title, value, "energy", "", f"{100 * value / whole:.1f} %")
    y += 30
    body += [svg.line(4, y - 19, width - 4, y - 19, "quiet", "", 0.5),
             svg.text(4, y, f"For comparison, {unit} of permeate", "start", "small")]
    for title, value in marks:
        y += step
        row(title, value, "sea", "", "")
    return svg.picture("energy", "Energy by consumer", "; ".join(words) + ".", width, y + 12, body)


def devices_picture(frame: Any, width: int = 660) -> str:
    """Specific energy of the devices of a comparison, kWh/m3, with motor, extra equipment and payback in words.

    Parameters
    ----------
    frame : DataFrame
        From `plant.compare_recovery`.
    """
    rows, words = [], []
    for row in frame.itertuples():
        if row.reason:
            words.append(f"{row.title}: no answer, {row.reason}")
            continue
        rows.append((row.title, float(row.specific_energy) * 3.6e6, "fails" if row.failed else "energy"))
        back = "" if math.isnan(row.payback) else f", payback {row.payback:.1f} years"
        words.append(f"{row.title}: {row.specific_energy:.3g} kWh/m3, motor {row.hp_motor:g} kW, "
                     f"{row.extra_equipment}{back}")
    return _bars("devices", "Recovery devices on one duty", rows, "specific energy", "si", width,
                 "energy of the whole plant, kWh/m3 of net product", " ".join(f"{w}." for w in words))


def devices(design: Design) -> HTML:
    """Every recovery device on the duty of a design, as a picture with its words; a plant is sized for each."""
    return HTML(f"<style>{theme.css()}{STYLE}</style>{fine(devices_picture(compare_recovery(design)))}")


def _bars(kind: str, name: str, rows: Sequence[tuple[str, float, str]], unit: str, units: str, width: float, axis: str,
          said: str = "") -> str:
    x0, x1, step = 240.0, width - 100.0, 24.0
    top = max((v for _, v, _ in rows), default=1.0)
    body, words = [], []
    for i, (title, value, ink) in enumerate(rows):
        y = 14 + step * i
        wide = max((x1 - x0) * value / top, 1.0)
        shown = show(value, unit, units)
        told = read.mark(f"{title}: {shown}")
        body += [svg.text(x0 - 8, y + 13, title, "end"),
                 f'<rect x="{number(x0)}" y="{number(y)}" width="{number(wide)}" height="18" rx="2" '
                 f'fill="{theme.var(ink)}"{told}/>', svg.text(x0 + wide + 6, y + 13, shown)]
        words.append(f"{title}: {shown}")
    height = 14 + step * len(rows) + 30
    body += [svg.line(x0, 8, x0, height - 30), svg.text(x0, height - 10, axis, "start", "small")]
    return svg.picture(kind, name, said or "; ".join(words) + ".", width, height, body)
