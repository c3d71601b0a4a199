"""A plant through its year, and what its uncertain inputs move."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.plant.rating import CONDITIONS, RATED
from desalbook.plots.figure import DASH, Plot, axes, axis_label, colour, limit_line, new, styled, thin_thousands
from desalbook.study import Life, Uncertainty, Year
from desalbook.units import show, to_display, unit_label

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["cost_tornado", "lives", "tornado", "year"]

_PANELS = (("temperature", "sea"), ("feed_pressure", "energy"), ("permeate_boron", "product"),
           ("specific_energy", "energy"))
_TITLES = {"specific_energy": "RO section energy"}
_DAY = 86400.0  # s


@styled
def year(of: Year, units: str = "si") -> Plot:
    """Water temperature, feed pressure, permeate boron and energy of a year, step by step, the extremes named.

    Parameters
    ----------
    of : Year
    units : {"si", "us"}
    """
    said = []
    made = new("The year step by step", "", height=470)
    days = (np.cumsum(of.step) - of.step / 2) / _DAY
    first = None
    for n, (name, role) in enumerate(_PANELS):
        ax = made.add_subplot(len(_PANELS), 1, n + 1, sharex=first)
        first = first or ax
        kind = RATED[name]
        ax.plot(days, to_display(of.frame[name].to_numpy(), kind, units), color=colour(role))
        title = _TITLES.get(name, name.replace("_", " ").capitalize())
        (low_at, low), (high_at, high) = of.extremes(name)
        said.append(f"{title}: {show(low, kind, units)} on {low_at} to {show(high, kind, units)} on {high_at}")
        bottom, top = ax.get_ylim()
        ax.set_ylim(bottom, top + 0.12 * (top - bottom))
        ax.set_title(axis_label(title, kind, units), loc="left", fontsize=12, fontweight="bold")
        ax.annotate(f"{show(low, kind, units, unit=False)} on {low_at}, {show(high, kind, units, unit=False)} on "
                    f"{high_at}", (1, 1), xycoords="axes fraction", xytext=(0, 5), textcoords="offset points",
                    ha="right", color=colour("quiet"))
        ax.tick_params(labelbottom=n == len(_PANELS) - 1)
        thin_thousands(ax)
    if first is not None:
        made.axes[-1].set_xlabel("day of the series")
    made.alternative = "; ".join(said) + "."
    made.subplots_adjust(left=0.1, right=0.97, top=0.94, bottom=0.09, hspace=0.5)
    return made


@styled
def tornado(of: Uncertainty, name: str, units: str = "si") -> Plot:
    """What each uncertain input moves: the mean of a value in the lowest and in the highest twentieth of it.

    Parameters
    ----------
    of : Uncertainty
    name : str
        Column of the rating.
    units : {"si", "us"}
    """
    rows, kind = of.tornado(name), RATED[name]
    title = name.replace("_", " ").capitalize()
    each = rows.to_dict("records")
    said = [f"{_input(r, units)}: {show(r['at_low'], kind, units)} to {show(r['at_high'], kind, units)}" for r in each]
    made = new(f"What moves {title.lower()}", said, height=84 + 34 * len(rows))
    ax = axes(made, left=210, right=24, bottom=44, top=16)
    y = np.arange(len(rows))[::-1]
    low, high = (to_display(rows[k].to_numpy(), kind, units) for k in ("at_low", "at_high"))
    drawn = ax.barh(y, high - low, left=low, height=0.5, color=colour("energy"))
    for bar in drawn:  # an end is no nought that the axis must begin at
        bar.sticky_edges.x.clear()
    ax.set_yticks(y, [_input(r, units, "\n", True) for r in each])
    ax.axvline(to_display(of.ranges[name][1], kind, units), color=colour("quiet"), linewidth=1)
    judged = of.missed[name]
    ax.margins(x=0.08)
    ax.autoscale_view()
    lowest, highest = ax.get_xlim()
    at = to_display(judged.limit, kind, units)
    if lowest - 0.5 * (highest - lowest) < at < highest + 0.5 * (highest - lowest):
        limit_line(ax, at, f"limit {show(judged.limit, kind, units, trim=True, pretty=True)}", along="y")
    ax.set_xlabel(axis_label(title, kind, units))
    ax.set_ylim(-0.7, len(rows) - 0.3)
    return made


@styled
def cost_tornado(rows: pd.DataFrame, currency: str = "", most: int = 12, units: str = "si") -> Plot:
    """Cost of water at the low and at the high value of each price and factor, the widest first.

    Parameters
    ----------
    rows : DataFrame
        Of `desalbook.study.cost_tornado`.
    currency : str
        Beside the unit.
    most : int
        Bars; what moves less is omitted and counted.
    units : {"si", "us"}
    """
    kind = "money per volume"
    each = rows.to_dict("records")[:most]
    said = [f"{r['title']}, {r['low']} to {r['high']}: {show(r['at_low'], kind, units)} to "
            f"{show(r['at_high'], kind, units)}" for r in each]
    made = new("What moves the cost of water", said, height=108 + 40 * len(each))
    ax = axes(made, left=268, right=24, bottom=44, top=52)
    y = np.arange(len(each))[::-1]
    low, high = (to_display(np.array([r[k] for r in each]), kind, units) for k in ("at_low", "at_high"))
    for ends, role, words in ((low, "product", "at the low value"), (high, "energy", "at the high value")):
        base = to_display(float(each[0]["base"]), kind, units)
        for bar in ax.barh(y, ends - base, left=base, height=0.5, color=colour(role), label=words):
            bar.sticky_edges.x.clear()
    ax.axvline(base, color=colour("quiet"), linewidth=1)
    ax.set_yticks(y, [f"{r['title']}\n{r['low']} to {r['high']}" for r in each])
    ax.margins(x=0.08)
    ax.legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=2, frameon=False, borderaxespad=0, columnspacing=1)
    left_out = len(rows) - len(each)
    unit = unit_label(kind, units).replace("1/", f"{currency}/" if currency else "1/").replace("m3", "m³")
    made.suptitle(f"{show(float(each[0]['base']), kind, units, unit=False)} {unit} as designed"
                  + (f"; {left_out} more inputs move it less" if left_out else ""), x=0.98, ha="right", fontsize=12)
    ax.set_xlabel(f"cost of water, {unit}")
    ax.set_ylim(-0.7, len(each) - 0.3)
    return made


_LIFE = (("coldest_pressure", "feed_pressure", "Feed pressure, coldest water"),
         ("permeate_boron", "permeate_boron", "Permeate boron, hottest water"),
         ("specific_energy", "specific_energy", "RO section energy"))


@styled
def lives(of: Mapping[str, Life], units: str = "si") -> Plot:
    """Feed pressure, permeate boron and energy over the life of a plant, one line a replacement policy.

    Parameters
    ----------
    of : mapping of name to Life
    units : {"si", "us"}
    """
    made = new("Elements over the life of the plant", "", height=430)
    said: list[str] = []
    first = None
    for n, (name, column, title) in enumerate(_LIFE):
        ax = made.add_subplot(len(_LIFE), 1, n + 1, sharex=first)
        first, kind = first or ax, RATED[column]
        for (policy, one), dash, role in zip(of.items(), DASH, ("sea", "energy", "product", "chemical"), strict=False):
            value = to_display(one.frame[name].to_numpy(), kind, units)
            ax.plot(one.frame["year"], value, linestyle=dash, color=colour(role), label=policy)
            said.append(f"{title}, {policy}: {show(float(one.frame[name].iloc[0]), kind, units)} in year 1, "
                        f"{show(float(one.frame[name].max()), kind, units)} at most")
        ax.set_title(axis_label(title, kind, units), loc="left", fontsize=12, fontweight="bold")
        ax.tick_params(labelbottom=n == len(_LIFE) - 1)
        thin_thousands(ax)
    made.axes[-1].set_xlabel("year, at its end, before elements are replaced")
    made.axes[-1].xaxis.get_major_locator().set_params(integer=True)
    made.axes[0].legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=len(of), frameon=False, borderaxespad=0)
    made.alternative = "; ".join(said) + "."
    made.subplots_adjust(left=0.12, right=0.97, top=0.94, bottom=0.11, hspace=0.45)
    return made


def _input(row: Mapping[Any, Any], units: str, between: str = " ", pretty: bool = False) -> str:
    """An input with the range it was moved through."""
    low, high = (show(row[k], CONDITIONS[row["input"]], units, pretty=pretty) for k in ("low", "high"))
    return f"{row['input'].replace('_', ' ')}{between}{low} to {high}"
