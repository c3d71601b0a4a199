"""Plots of the supply: the voltage when each motor starts."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.drawings.supply import STARTERS
from desalbook.plots.figure import Plot, axes, axis_label, colour, limit_line, new, shown, styled
from desalbook.units import show

__all__ = ["motor_starts"]


@styled
def motor_starts(plant: Any, units: str = "si") -> Plot:
    """Voltage dip at the terminals of each motor when it starts, with its limit.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Dips are fractions of the supply; taken so that all plots are called alike.
    """
    rows = sorted(((c.title, float(c.start_dip), STARTERS[c.starter]) for c in plant.sized.power.circuits.values()
                   if c.start_dip is not None), key=lambda r: -r[1])
    limit = float(plant["limits.voltage_dip_motor"])
    words = f"at most {show(limit, 'fraction', units, trim=True)}"
    said = [words, *(f"{title}, {starter}: {show(dip, 'fraction', units, digits=3)}" for title, dip, starter in rows)]
    made = new("Voltage when each motor starts", said, height=80 + 22 * len(rows))
    ax = axes(made, left=220, right=60, bottom=44, top=24)
    y = np.arange(len(rows))[::-1]
    dips = shown([dip for _, dip, _ in rows], "fraction", units)
    ax.barh(y, dips, height=0.62, color=[colour("fails" if dip > limit else "energy") for _, dip, _ in rows])
    ax.set_yticks(y, [f"{title}, {starter}" for title, _, starter in rows], color=ax.xaxis.label.get_color())
    for at, dip in zip(y, dips, strict=True):
        ax.annotate(f"{dip:.1f}", (dip, at), xytext=(5, -4), textcoords="offset points")
    end = float(shown(limit, "fraction", units)[0])
    ax.set(xlim=(0, 1.12 * max(end, *dips)), ylim=(-0.6, len(rows) - 0.4),
           xlabel=axis_label("voltage dip at the terminals", "fraction", units))
    limit_line(ax, end, words, along="y", above=True)
    ax.grid(False, axis="y")
    ax.tick_params(axis="y", length=0)
    return made
