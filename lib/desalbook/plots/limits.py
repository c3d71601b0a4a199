"""The plant at a glance: how much of each limit is used, the tightest first."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook import theme
from desalbook.audit.page.bars import used
from desalbook.plots.figure import Plot, axes, colour, limit_line, new, styled
from desalbook.trail.words import verdict_words

__all__ = ["limits"]

_END = 1.2  # of the limit; what lies beyond stands at the end


@styled
def limits(plant: Any, units: str = "si", most: int = 20) -> Plot:
    """How much of its limit each check uses, the tightest first.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Fractions have none; taken so that all plots are called alike.
    most : int
        How many checks.
    """
    judged = sorted((x for x in plant.verdicts.values() if x.more.get("margin") is not None
                     and x.more["verdict"] != "review"), key=lambda x: x.more["margin"])[:most]
    said = [f"{x.title}: {verdict_words(x.more['verdict'], x.more['margin'])}" for x in judged]
    made = new("How near the limits", said, height=60 + 18 * len(judged))
    ax = axes(made, left=290, right=30, bottom=44, top=24)
    y = np.arange(len(judged))[::-1]
    shares = [min(used(x.more["margin"], x.more["sense"]), _END) for x in judged]
    roles = [theme.of_verdict(x.more["verdict"]) for x in judged]
    ax.barh(y, shares, height=0.62, color=[colour(r.name) for r in roles])
    ax.set_yticks(y, [f"{_short(x.title)} {r.mark}" for x, r in zip(judged, roles, strict=True)])
    for label, r in zip(ax.get_yticklabels(), roles, strict=True):
        label.set_color(colour(r.name) if r.name != "passes" else ax.xaxis.label.get_color())
    ax.set(xlim=(0, _END), ylim=(-0.6, len(judged) - 0.4), xlabel="fraction of the limit that is used")
    limit_line(ax, 1.0, "limit", along="y", above=True)
    ax.grid(False, axis="y")
    ax.tick_params(axis="y", length=0)
    return made


def _short(title: str, most: int = 44) -> str:
    return title if len(title) <= most else f"{title[:most - 1].rstrip()}\N{HORIZONTAL ELLIPSIS}"
