"""Plots of the filters: expansion of the bed over temperature, pressure drop through a run."""

from __future__ import annotations

from typing import Any

import numpy as np

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
)
from desalbook.pretreatment.backwash_timetable import loss_through_run, timetable
from desalbook.problems import DesignError
from desalbook.units import show

__all__ = ["bed", "filter_run"]


def _wash(plant: Any, name: str) -> Any:
    wash = plant.sized.pretreated.wash
    if wash is None:
        raise DesignError("this plant has no filters", where=f"plot.{name}", do="set filters.present to add them")
    return wash


@styled
def bed(plant: Any, units: str = "si") -> Plot:
    """Expansion of each layer and of the bed over the temperature of the backwash water, at the backwash rate.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}

    Raises
    ------
    DesignError
        The plant has no filters.
    """
    _wash(plant, "bed")
    cases = ("cold", "design", "hot")
    t = shown([float(plant[f"water.temperature_{c}"]) for c in cases], "temperature", units)
    first = plant["filters.backwash_expansion_by_layer@cold"]
    layers = {key: [100 * float(plant[f"filters.backwash_expansion_by_layer@{c}"][key]) for c in cases]
              for key in first.keys}
    depth = float(np.sum(plant.sized.pretreated.bed.media.depth.values))
    whole = [100 * float(plant[f"filters.bed_rise@{c}"]) / depth for c in cases]
    least = 100 * float(plant["filters.expansion_minimum"])
    said = [f"{key} {v[0]:.0f} % in the coldest and {v[-1]:.0f} % in the hottest water" for key, v in layers.items()]
    made = new("Expansion of the bed against temperature",
               [f"At a backwash rate of {plant.show('filters.backwash_rate', units)}", *said,
                f"the whole bed {whole[0]:.0f} and {whole[-1]:.0f} %, minimum {least:g} %"])
    ax = axes(made, right=120)
    ends = []
    for n, (key, values) in enumerate(layers.items()):
        role = ("energy", "chemical", "reject", "quiet")[n % 4]
        ax.plot(t, values, "o", linestyle=DASH[(n + 1) % 4], color=colour(role))
        ends.append((float(t[-1]), values[-1], key, role))
    ax.plot(t, whole, "o-", color=colour("sea"), linewidth=2.6)
    ends.append((float(t[-1]), whole[-1], "whole bed", "sea"))
    ax.set_ylim(0, 1.2 * max(least, *whole, *(max(v) for v in layers.values())))
    ax.set(xlabel=axis_label("temperature of the backwash water", "temperature", units), ylabel="expansion, %")
    limit_line(ax, least, f"minimum {least:g} %")
    label_ends(ax, ends)
    return made


@styled
def filter_run(plant: Any, units: str = "si") -> Plot:
    """Pressure drop of each filter of the first train through a run, in the coldest water; a gap is its backwash.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}

    Raises
    ------
    DesignError
        The plant has no filters, or no solids that fill them.
    """
    of = _wash(plant, "filter_run").schedule
    if "filters.run_usual" not in plant:
        raise DesignError("no solids: the pressure drop does not grow", where="plot.filter_run",
                          do="set water.suspended_solids")
    times, kind = timetable(of), "pressure difference"
    clean, dirty = float(plant["filters.clean_drop@cold"]), float(plant["filters.dirty_drop"])
    drops = shown(loss_through_run(of, times, clean, dirty, float(plant["filters.run_usual"]))[0], kind, units)
    hours = (times.edges[:-1] + times.edges[1:]) / 7200
    made = new("Pressure drop of the filters through a run",
               [f"{len(drops)} filters, train A, from {show(clean, kind, units)} after backwash to "
                f"{float(np.nanmax(drops)):.3g} at most", f"a backwash is due at {show(dirty, kind, units)}"])
    ax = axes(made, right=104)
    for n, values in reversed([*enumerate(drops)]):
        ax.plot(hours, values, color=colour("sea" if n else "energy"), linewidth=1.2 if n else 2.4,
                alpha=0.7 if n else 1.0)
    last = float(drops[0][np.isfinite(drops[0])][-1])
    label_ends(ax, [(float(hours[-1]), last, "A1", "energy"),
                    *([(float(hours[-1]), last, f"A2 to A{len(drops)}", "sea")] if len(drops) > 1 else [])])
    bound = float(shown(dirty, kind, units)[0])
    ax.set(xlim=(0, float(of.slots.run) / 3600), ylim=(0, 1.15 * max(bound, float(np.nanmax(drops)))),
           xlabel="time in the run, h", ylabel=axis_label("pressure drop", kind, units))
    limit_line(ax, bound, f"backwash is due at {show(dirty, kind, units, trim=True)}")
    return made
