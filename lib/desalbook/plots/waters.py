"""Plots of a water: equivalents of each ion, cations against anions."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.fine import fine
from desalbook.plots.figure import Plot, axes, axis_label, colour, new, shown, styled, thin_thousands
from desalbook.problems import DesignError
from desalbook.units import show

__all__ = ["ions"]

_KIND = "charge concentration"
_SMALL = 0.001  # of a column: ions below it are named in words only


@styled
def ions(plant: Any, units: str = "si", analysis: str = "water") -> Plot:
    """Equivalents of each ion, cations to the left and anions to the right, with their sums and the balance.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Equivalents have one unit; taken so that all plots are called alike.
    analysis : str
        ``"water"``, or ``"water.analyses[well]"`` for one of several.

    Raises
    ------
    DesignError
        No such analysis.
    """
    if f"{analysis}.equivalents" not in plant:
        raise DesignError("no such analysis", where="plot.ions", value=analysis,
                          allowed=", ".join(i.removesuffix(".equivalents") for i in plant.ids
                                            if i.endswith(".equivalents")), do="name one of these")
    row = plant[f"{analysis}.equivalents"]
    sums = {1: float(plant[f"{analysis}.cations"]), -1: float(plant[f"{analysis}.anions"])}
    balance, verdict = float(plant[f"{analysis}.balance"]), plant.verdicts[f"{analysis}.balance.check"].more["verdict"]
    each = sorted(((k, float(v)) for k, v in zip(row.keys, row.values, strict=True) if v), key=lambda kv: -abs(kv[1]))
    drawn = {s: [(k, v) for k, v in each if v * s > _SMALL * sums[s]] for s in (1, -1)}
    said = [f"Cations {show(sums[1], _KIND, units)}, anions {show(sums[-1], _KIND, units)}, balance "
            f"{100 * balance:+.2f} %, {verdict}", *(f"{k} {show(abs(v), _KIND, units)}" for k, v in each)]
    high = max(len(one) for one in drawn.values())
    made = new("Ion balance", said, height=110 + 24 * high)
    ax = axes(made, left=16, right=16, top=40)
    for sign, role, title in ((-1, "sea", "Cations"), (1, "reject", "Anions")):
        some = drawn[-sign]
        ax.barh(-np.arange(len(some)), [sign * float(shown(abs(v), _KIND, units)[0]) for _, v in some], height=0.7,
                color=colour(role))
        for at, (key, v) in enumerate(some):
            x = sign * float(shown(abs(v), _KIND, units)[0])
            ax.annotate(f"{fine(key)} {show(abs(v), _KIND, units, unit=False)}", (x, -at), xytext=(5 * sign, -4),
                        textcoords="offset points", ha="left" if sign > 0 else "right")
        ax.annotate(f"{title}, {show(sums[-sign], _KIND, units)}", (0, 1), xycoords=("data", "axes fraction"),
                    xytext=(10 * sign, 8), textcoords="offset points", ha="left" if sign > 0 else "right",
                    fontweight="bold", color=colour(role))
    most = 1.5 * max(abs(float(shown(v, _KIND, units)[0])) for _, v in each)
    ax.set(xlim=(-most, most), ylim=(-high + 0.4, 0.6), yticks=[],
           xlabel=f"{axis_label('equivalents', _KIND, units)}; balance {100 * balance:+.2f} %, {verdict}")
    ax.axvline(0, color=colour("quiet"), linewidth=0.8)
    ax.spines["left"].set_visible(False)
    thin_thousands(ax)
    ax.xaxis.set_major_formatter(lambda x, _: f"{abs(x):,.7g}".replace(",", "\N{THIN SPACE}"))
    return made
