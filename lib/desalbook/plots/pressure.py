"""Plots of the pressure side: the HP pump with its cases, low-pressure pumps with their systems, energy by consumer."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook import theme
from desalbook.plant.pump_lines import pump_lines
from desalbook.plant.system_curves import curves, operating_points
from desalbook.plots.figure import (
    DASH,
    Plot,
    axes,
    axis_label,
    colour,
    label_ends,
    limit_line,
    new,
    shown,
    styled,
    thin_thousands,
)
from desalbook.problems import DesignError
from desalbook.units import show

__all__ = ["energy", "low_pressure_pumps", "pump_curve"]


@styled
def pump_curve(plant: Any, units: str = "si") -> Plot:
    """Head over flow of one HP pump at full speed and at the speed of each case, with the duty of each case.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}

    Raises
    ------
    DesignError
        The pump is a displacement pump, which has no curve.
    """
    lines = pump_lines(plant.sized)
    if lines is None:
        raise DesignError("a displacement pump has no curve", where="plot.pump_curve",
                          do="it delivers its flow at any pressure up to the relief")
    q, h = shown(lines["flow"], "flow", units), shown(lines["head"], "head", units)
    said = [f"{c['corner']} {show(c['flow'], 'flow', units)} at {show(c['head'], 'head', units)}, "
            f"{c['speed_ratio']:.1%} of full speed" + ("" if c["met"] else ", out of reach") for c in lines["corners"]]
    made = new("Curve of the HP pump with its operating points",
               [f"From {show(float(lines['head'][0]), 'head', units)} at no flow", *said], height=340)
    ax = axes(made, right=150)
    for case in lines["corners"]:
        a, b = case["line"]
        ax.plot(shown(a, "flow", units), shown(b, "head", units), color=colour("quiet"), linewidth=0.8,
                linestyle=DASH[2])
    ax.plot(q, h, color=colour("energy"), linewidth=2.2)
    ax.annotate(f"{theme.ROLES['energy'].mark} full speed", (q[0], h[0]), xytext=(8, 5), textcoords="offset points",
                color=colour("energy"))
    ax.set(xlim=(0, 1.02 * q[-1]), ylim=(0, 1.08 * float(np.max(h))),
           xlabel=axis_label("flow of one pump", "flow", units), ylabel=axis_label("head", "head", units))
    for words, key in (("minimum flow", "least"), ("run-out", "runout")):
        limit_line(ax, float(shown(lines[key], "flow", units)[0]), words, along="y")
    ends = []
    for case in lines["corners"]:
        x, y = (float(shown(case[k], k, units)[0]) for k in ("flow", "head"))
        role = "passes" if case["met"] else "fails"
        ax.plot([x], [y], "o", color=colour(role))
        ends.append((1.02 * q[-1], y, f"{theme.ROLES[role].mark} {case['corner']}, {100 * case['speed_ratio']:.1f} %",
                     role))
    label_ends(ax, ends, 17)
    thin_thousands(ax)
    return made


@styled
def low_pressure_pumps(plant: Any, units: str = "si") -> Plot:
    """Head of each low-pressure pump and of its system over flow, clean and dirty; a frame a pump.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    points, pumps = operating_points(plant.sized), {}
    for row in curves(plant.sized):
        pumps.setdefault(row["pump"], []).append(row)
    said = [f"{p['pump'].replace('_', ' ')} {p['state']}: {show(p['flow'], 'flow', units)} at "
            f"{show(p['head'], 'head', units)}" for p in points]
    rows = -(-len(pumps) // 2)
    made = new("Low-pressure pumps and their systems", said, height=205 * rows)
    for n, (name, some) in enumerate(pumps.items()):
        ax = made.add_subplot(rows, 2, n + 1)
        q = shown([r["flow"] for r in some], "flow", units)
        lines = (("pump_head", "energy", 0), ("system_clean", "sea", 1), ("system_dirty", "reject", 2))
        top = 0.0
        for column, role, dash in lines:
            y = shown([r[column] for r in some], "head", units)
            ax.plot(q, y, color=colour(role), linestyle=DASH[dash])
            top = max(top, float(y[q <= q.max()].max()))
        for p in (p for p in points if p["pump"] == name):
            ax.plot(shown(p["flow"], "flow", units), shown(p["head"], "head", units), "o",
                    color=colour("sea" if p["state"] == "clean" else "reject"))
        title = "CIP pump" if name == "cip" else name.replace("_", " ").capitalize()
        ax.set_title(title, loc="left", fontsize=12, fontweight="bold")
        ax.set(xlim=(0, float(q.max())), ylim=(0, 1.08 * top), xlabel=axis_label("flow of one", "flow", units),
               ylabel=axis_label("head", "head", units))
        thin_thousands(ax)
    made.text(0.5, 0.005, "pump: line; system clean: dashed; system dirty: dotted", ha="center",
              color=colour("quiet"))
    made.subplots_adjust(left=0.12, right=0.97, top=1 - 24 / (205 * rows), bottom=62 / (205 * rows), hspace=0.62,
                         wspace=0.34)
    return made


@styled
def energy(plant: Any, units: str = "si") -> Plot:
    """Energy per net product by consumer, with the whole plant, the limit of one stage and the least work.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    used, kind = plant.sized.energy, "specific energy"
    parts: dict[str, float] = {}
    for x in used.consumers:
        title = "Dosing pumps" if x.key.startswith("dosing_") else x.title
        parts[title] = parts.get(title, 0.0) + float(used.by_consumer[x.key])
    rows = sorted([(t, v) for t, v in parts.items() if v > 0] + [("Transformer and cables", float(used.losses))],
                  key=lambda tv: -tv[1])
    bars = [("Whole plant", float(used.plant), "energy"), *((t, v, "energy") for t, v in rows),
            ("Limit of one stage", float(used.limit), "sea"), ("Minimum work", float(used.least), "sea")]
    said = [f"{title}: {show(value, kind, units)}" for title, value, _ in bars]
    made = new("Energy by consumer", said, height=60 + 20 * len(bars))
    ax = axes(made, left=180, right=60, bottom=44)
    y = np.arange(len(bars))[::-1]
    values = shown([v for _, v, _ in bars], kind, units)
    ax.barh(y, values, height=0.7, color=[colour(role) for *_, role in bars])
    ax.set_yticks(y, [t for t, *_ in bars], color=ax.xaxis.label.get_color())
    for at, value in zip(y, values, strict=True):
        ax.annotate(f"{value:.3f}", (value, at), xytext=(5, -4), textcoords="offset points")
    ax.set(xlim=(0, 1.02 * float(values.max())), ylim=(-0.6, len(bars) - 0.4),
           xlabel=axis_label("per net product; the last two per permeate", kind, units))
    ax.grid(False, axis="y")
    ax.tick_params(axis="y", length=0)
    return made
