"""Plots of the RO array: along the vessel, over temperature and age, and scaling over recovery."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook import theme
from desalbook.plant.scaling import curves
from desalbook.plant.vessel_table import envelope as envelope_table
from desalbook.plant.vessel_table import vessel_profile as profile_table
from desalbook.plots.figure import (
    DASH,
    Plot,
    axis_label,
    colour,
    limit_line,
    new,
    shown,
    styled,
    thin_thousands,
)
from desalbook.tables import table
from desalbook.units import show

__all__ = ["envelope", "scaling", "vessel_profile"]

PANELS = (
    ("Flux", "flux", "membrane.lead_flux.check", (("flux", "product", 0, ""),)),
    ("Pressure", "gauge pressure", "", (("pressure", "energy", 0, "feed side"),
                                        ("osmotic_wall", "reject", 2, "osmotic, at the wall"),
                                        ("osmotic", "sea", 1, "osmotic, in the bulk"))),
    ("Salinity of the feed side", "salinity", "", (("salinity", "sea", 0, ""),)),
    ("CP factor", "factor", "membrane.beta_max.check", (("beta", "energy", 0, ""),)),
)
"""Title, kind, check whose limit is drawn, and lines: column, role, dash, words."""


def limit_of(plant: Any, id: str) -> float | None:
    """The limit of a check in force, SI; None where there is none."""
    line = plant.verdicts.get(id)
    if line is None:
        return None
    found = line.more.get("limit", line.inputs.get("limit"))
    return None if found is None else float(found)


@styled
def vessel_profile(plant: Any, case: str = "cold-aged", units: str = "si") -> Plot:
    """Flux, pressures, salinity and CP factor of each element along the vessels of a train.

    Parameters
    ----------
    plant : Plant
    case : str
        Temperature and age, such as ``hot-new``.
    units : {"si", "us"}
    """
    rows = profile_table(plant, case)
    place, at = [], 0.0
    for _, group in rows.groupby("stage", sort=False):
        place += [at + 1 + i for i in range(len(group))]
        at += len(group) + 0.7
    x, stages = np.array(place), rows["stage"].to_numpy()
    first, last = rows.iloc[0], rows.iloc[-1]
    made = new(f"Along the vessels, {case}", [
        f"Flux falls from {show(first['flux'], 'flux', units)} to {show(last['flux'], 'flux', units)}",
        f"pressure from {show(first['pressure'], 'gauge pressure', units)} to "
        f"{show(last['pressure'], 'gauge pressure', units)}",
        f"salinity rises from {show(first['salinity'], 'salinity', units)} to "
        f"{show(last['salinity'], 'salinity', units)}",
        f"CP factor {first['beta']:.3f} to {last['beta']:.3f}"], height=400)
    for n, (title, kind, check, lines) in enumerate(PANELS):
        ax = made.add_subplot(2, 2, n + 1)
        for column, role, dash, words in lines:
            values = shown(rows[column], kind, units)
            for stage in dict.fromkeys(stages):
                mine = stages == stage
                ax.plot(x[mine], values[mine], "o", linestyle=DASH[dash], color=colour(role), markersize=4)
            if words:  # where the line runs away from its words
                end, lift, side = {"energy": (0, 7, "left"), "reject": (-1, 8, "right"), "sea": (0, -19, "left")}[role]
                ax.annotate(f"{theme.ROLES[role].mark} {words}", (x[end], values[end]), xytext=(0, lift),
                            textcoords="offset points", color=colour(role), ha=side)
        bound = limit_of(plant, check) if check else None
        if bound is not None:
            limit_line(ax, float(shown(bound, kind, units)[0]),
                       f"limit {show(bound, kind, units, trim=True, pretty=True)}")
        low, high = ax.get_ylim()
        ax.set_ylim(1.0 if kind == "factor" else 0.0, high + 0.14 * (high - low))
        ax.set_title(axis_label(title, kind, units), loc="left", fontsize=12, fontweight="bold")
        ax.set_xticks(x, [str(int(e)) for e in rows["element"]])
        if n > 1:
            ax.set_xlabel("element, from the inlet")
        ax.grid(False, axis="x")
    made.subplots_adjust(left=0.08, right=0.98, top=0.94, bottom=0.115, hspace=0.32, wspace=0.2)
    return made


@styled
def envelope(plant: Any, units: str = "si") -> Plot:
    """Feed pressure and permeate boron over temperature, new and aged, with the limits in force.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    rows = envelope_table(plant)
    rows = rows[~rows["case"].str.contains("mol")]
    columns = [list(rows[c]) for c in ("case", "feed_pressure", "permeate_boron", "governs")]
    said = [f"{name}: {show(pressure, 'gauge pressure', units)}, boron {show(boron, 'concentration as B', units)}"
            + (f", governs {most}" if most else "") for name, pressure, boron, most in zip(*columns, strict=True)]
    made = new("Envelope of temperature and age", said, height=280)
    t = shown(rows["temperature"], "temperature", units)
    for n, (column, kind, title, check) in enumerate((
            ("feed_pressure", "gauge pressure", "Feed pressure", "membrane.feed_pressure.check"),
            ("permeate_boron", "concentration as B", "Permeate boron", "product.boron.check_limit"))):
        ax = made.add_subplot(1, 2, n + 1)
        values = shown(rows[column], kind, units)
        for age, role, dash in (("new", "product", 1), ("aged", "energy", 0)):
            mine = (rows["age"] == age).to_numpy()
            order = np.argsort(t[mine])
            ax.plot(t[mine][order], values[mine][order], "o", linestyle=DASH[dash], color=colour(role))
            ax.annotate(f"{theme.ROLES[role].mark} {age}", (t[mine][order][-1], values[mine][order][-1]),
                        xytext=(6, -4), textcoords="offset points", color=colour(role), annotation_clip=False)
        bound = limit_of(plant, check)
        if bound is not None:
            at = float(shown(bound, kind, units)[0])
            if at < 1.35 * float(values.max()):
                limit_line(ax, at, f"limit {show(bound, kind, units, trim=True, pretty=True)}")
        if n:
            ax.set_ylim(bottom=0)
        low, high = ax.get_ylim()
        ax.set_ylim(low, high + 0.1 * (high - low))
        ax.set_title(axis_label(title, kind, units), loc="left", fontsize=12, fontweight="bold")
        ax.set_xlabel(axis_label("water", "temperature", units))
        thin_thousands(ax)
    made.subplots_adjust(left=0.08, right=0.9, top=0.9, bottom=0.17, wspace=0.42)
    return made


@styled
def scaling(plant: Any, units: str = "si", temperature: str = "hot") -> Plot:
    """Saturation index of each mineral at the membrane over recovery, its limit, and the design.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Indices have none; taken so that all plots are called alike.
    temperature : {"cold", "hot"}
    """
    given = curves(plant.sized.scaling, plant.sized.array.recovery, temperature)
    minerals = [*given["index"]]
    rows = -(-len(minerals) // 3)
    said = []
    made = new("Saturation at the membrane over recovery", "", height=125 * rows + 36)
    for n, mineral in enumerate(minerals):
        ax = made.add_subplot(rows, 3, n + 1)
        here, limit = given["worst"][mineral], given["limit"][mineral]
        role = "fails" if here > limit else "passes"
        ax.plot(100 * np.array(given["recovery"]), given["index"][mineral], color=colour("sea"))
        ax.axhline(limit, color=colour("fails"), linestyle=DASH[1], linewidth=1.3)
        ax.plot([100 * given["design"]], [here], "o", color=colour(role))
        title = table("scaling_limits").row(mineral, "scaling").title.replace("Amorphous silica", "Silica")
        ax.set_title(f"{title} {theme.ROLES[role].mark} {here:+.2f}".replace("-", "\N{MINUS SIGN}"), loc="left",
                     fontsize=12)
        if n >= len(minerals) - 3:
            ax.set_xlabel("recovery, %")
        said.append(f"{title} {here:+.2f} at the wall, limit {limit:+.2f}")
    made.alternative = "; ".join(said) + "."
    high = 125 * rows + 36
    made.text(0.5, 4 / high, "saturation index at the wall of the last element; dashed: its limit", ha="center",
              color=colour("quiet"))
    made.subplots_adjust(left=0.08, right=0.98, top=1 - 22 / high, bottom=58 / high, hspace=0.75, wspace=0.3)
    return made
