"""A plant through its year, and what its uncertain inputs move."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.patches import Rectangle
from matplotlib.ticker import MaxNLocator

from desalbook.plant.rating import CONDITIONS, RATED
from desalbook.plots.figure import DASH, Plot, axes, axis_label, colour, limit_line, new, styled, thin_thousands
from desalbook.problems import DesignError
from desalbook.study import Frontier, Life, Map, Sweep, Uncertainty, Year
from desalbook.study.tradeoff import NO_PLANT
from desalbook.study.uncertainty import JUDGED
from desalbook.study.year import DAILY
from desalbook.units import in_currency, show, to_display, unit_label

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["cost_tornado", "frontier", "lives", "tornado", "two_keys", "year"]

_PANELS = (("temperature", "sea"), ("feed_pressure", "energy"), ("specific_energy", "energy"),
           ("product_boron", "product"), ("product_tds", "product"), ("turbidity", "sea"), ("filter_run", "chemical"),
           ("level", "product"))
_TITLES = {"temperature": "Raw water temperature", "specific_energy": "RO section energy",
           "level": "Water in the product tanks", "turbidity": "Raw water turbidity",
           "filter_run": "Filter run to terminal head loss", "product_tds": "Product TDS"}
_DAY = 86400.0  # s


@styled
def year(of: Year, units: str = "si") -> Plot:
    """Temperature, pressure, energy, product, turbidity, filters and tanks of a year, extremes and limits named.

    The week in which a value is worst (the longest mean of seven days) is shaded.

    Parameters
    ----------
    of : Year
    units : {"si", "us"}
    """
    said = []
    panels = [(name, role) for name, role in _PANELS if name in of.frame]
    made = new("The year step by step", "", height=112 * len(panels))
    ends = np.cumsum(of.step) / _DAY
    days, first = ends - of.step / 2 / _DAY, None
    for n, (name, role) in enumerate(panels):
        ax = made.add_subplot(len(panels), 1, n + 1, sharex=first)
        first = first or ax
        kind = DAILY.get(name, "volume")
        ax.plot(days, to_display(of.frame[name].to_numpy(), kind, units), color=colour(role))
        title = _TITLES.get(name, name.replace("_", " ").capitalize())
        (low_at, low), (high_at, high) = of.extremes(name)
        least = name in ("filter_run", "level")
        begins, mean = of.worst_week(name, least)
        said.append(f"{title}: {show(low, kind, units)} on {low_at} to {show(high, kind, units)} on {high_at}; "
                    f"{'lowest' if least else 'highest'} week from {begins}, {show(mean, kind, units)}")
        if begins in (labels := list(of.frame["label"])):
            start = ends[labels.index(begins)] - of.step[labels.index(begins)] / _DAY
            ax.axvspan(start, start + 7, color=colour(role), alpha=0.15, linewidth=0)
        bottom, top = ax.get_ylim()
        if name in of.limits and bottom - (top - bottom) < (at := to_display(of.limits[name][1], kind, units)) < (
                2 * top - bottom):
            limit_line(ax, at, f"limit {show(of.limits[name][1], kind, units, digits=3, trim=True, pretty=True)}")
            bottom, top = min(bottom, at - 0.05 * (top - bottom)), max(top, at + 0.3 * (top - bottom))
        ax.set_ylim(bottom, top + 0.12 * (top - bottom))
        ax.set_title(axis_label(title, kind, units), loc="left", fontsize=12, fontweight="bold")
        ax.annotate(f"{show(low, kind, units, unit=False)} on {low_at}, {show(high, kind, units, unit=False)} on "
                    f"{high_at}", (1, 1), xycoords="axes fraction", xytext=(0, 5), textcoords="offset points",
                    ha="right", color=colour("quiet"))
        ax.tick_params(labelbottom=n == len(panels) - 1)
        thin_thousands(ax)
    if first is not None:
        every = max(1, len(days) // 9)
        made.axes[-1].set_xticks(days[::every], [str(x) for x in of.frame["label"][::every]])
        made.axes[-1].set_xlabel("steps of the series; shaded: the worst week")
    made.alternative = "; ".join(said) + "."
    made.subplots_adjust(left=0.1, right=0.97, top=0.96, bottom=0.06, hspace=0.55)
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
    rows, kind = of.tornado(name), JUDGED[name]
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
    unit = in_currency(unit_label(kind, units, pretty=True), kind, currency)
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
            value_si = one.frame[name].to_numpy()
            value = to_display(value_si, kind, units)
            ax.plot(one.frame["year"], value, linestyle=dash, color=colour(role), label=policy)
            said.append(f"{title}, {policy}: {show(float(value_si[0]), kind, units)} in year 1, "
                        f"{show(float(np.nanmax(value_si)), kind, units)} at most")
        ax.set_title(axis_label(title, kind, units), loc="left", fontsize=12, fontweight="bold")
        ax.tick_params(labelbottom=n == len(_LIFE) - 1)
        thin_thousands(ax)
    made.axes[-1].set_xlabel("year, at its end, before elements are replaced")
    made.axes[-1].xaxis.set_major_locator(MaxNLocator(integer=True))
    made.axes[0].legend(loc="lower right", bbox_to_anchor=(1, 1.14), ncols=len(of), frameon=False, borderaxespad=0)
    made.alternative = "; ".join(said) + "."
    made.subplots_adjust(left=0.12, right=0.97, top=0.88, bottom=0.11, hspace=0.45)
    return made


@styled
def two_keys(of: Map, id: str = "", units: str = "si") -> Plot:
    """A value over two keys: its contours where every limit is held, and the check that shapes the rest by name.

    Parameters
    ----------
    of : Map
    id : str
        A followed value; the first if omitted.
    units : {"si", "us"}

    Raises
    ------
    DesignError
        A key that is a choice, or fewer than two values of one.
    """
    id = id or of.study.follow[0]
    sides = [np.array([x if isinstance(x, float) else np.nan for x in side]) for side in (of.x, of.y)]
    if any(len(side) < 2 or not np.isfinite(side).all() for side in sides):
        raise DesignError("a map needs two keys with two numbers each", where="plot", value=", ".join(of.study.keys),
                          do="put choices side by side with study.columns")
    kinds, kind = [_kind_of(of.study, k) for k in of.study.keys], of.study.kinds()[id]
    x, y = (np.asarray(to_display(side, k, units)) for side, k in zip(sides, kinds, strict=True))
    value = np.asarray(to_display(of.values[id], kind, units))
    named = of.shaped_by
    best = of.best(id)
    said = [f"{int((of.region == '').sum())} of {of.region.size} plants meet every limit",
            *(f"{name}: {n}" for name, n in named.items())]
    if best is not None:
        said.append(f"lowest: {show(float(best.figures[id]), kind, units)} at {best.id}")  # type: ignore[arg-type]
    made = new(f"{_title_of(id)} over two keys", said, height=390 + 20 * (len(named) + 1))
    ax = axes(made, left=76, right=20, bottom=62 + 20 * (len(named) + 1), top=30)
    ax.grid(False)
    handles = _regions(ax, of, x, y, named)
    if np.isfinite(value).any() and np.nanmax(value) > np.nanmin(value):
        lines = ax.contour(x, y, value, levels=7, colors=colour("sea"), linewidths=1.2)
        ax.clabel(lines, fmt=lambda v: show(v, "factor"), fontsize=11)
    currency = str(of.study.design.get("energy.currency"))
    if best is not None:
        lowest = show(float(best.figures[id]), kind, units, pretty=True)  # type: ignore[arg-type]
        at = [to_display(float(best.values[k]), kind_, units)  # type: ignore[arg-type]
              for k, kind_ in zip(of.study.keys, kinds, strict=True)]
        handles += ax.plot(*at, marker="o", markersize=9, color=colour("product"), linestyle="none",
                           label=f"lowest within every limit: {in_currency(lowest, kind, currency)}")
    ax.set_title(axis_label(_title_of(id), kind, units, currency), loc="left", fontsize=12, fontweight="bold")
    ax.set_xlabel(axis_label(of.study.metas[of.study.keys[0]].title, kinds[0], units))
    ax.set_ylabel(axis_label(of.study.metas[of.study.keys[1]].title, kinds[1], units))
    if handles:
        ax.legend(handles=handles, loc="upper left", bbox_to_anchor=(0, -0.13), frameon=False, borderaxespad=0)
    return made


_HATCHES = ("//", "\\\\", "..", "xx", "--", "++", "oo")


def _regions(ax: Any, of: Map, x: np.ndarray, y: np.ndarray, named: Mapping[str, int]) -> list[Any]:
    """A hatched field around each point that breaks a limit; one legend entry a check."""
    edges = [np.concatenate([[a[0]], (a[1:] + a[:-1]) / 2, [a[-1]]]) for a in (x, y)]
    handles: list[Any] = []
    for (name, _), hatch, role in zip(named.items(), _HATCHES, ("energy", "chemical", "quiet") * 3, strict=False):
        label = f"fails: {name}" if name != NO_PLANT else "cannot be built"
        for j, i in np.argwhere(of.region == name):
            left, right, bottom, top = (float(e) for e in (*edges[0][i:i + 2], *edges[1][j:j + 2]))
            field = Rectangle((left, bottom), right - left, top - bottom, facecolor="none", edgecolor=colour(role),
                              hatch=hatch, linewidth=0, label=label)
            ax.add_patch(field)
        handles.append(field)
    ax.set_xlim(x[0], x[-1])
    ax.set_ylim(y[0], y[-1])
    return handles


@styled
def frontier(of: Frontier, x: str = "", y: str = "", units: str = "si") -> Plot:
    """Plants of a study by two goals: those that are not beaten, those that are, and those that break a limit.

    Parameters
    ----------
    of : Frontier
    x, y : str
        Goals or followed values; the first two goals if omitted.
    units : {"si", "us"}
    """
    goals = list(of.goals)
    x, y = x or goals[0], y or goals[min(1, len(goals) - 1)]
    kinds = of.study.kinds()
    made = new(f"{_title_of(x)} against {_title_of(y).lower()}", "", height=400)
    ax = axes(made, left=84, right=24, bottom=48, top=44)
    said = []
    front = {r.id for r in of.front}
    beaten = [r for r in of.rows if not r.problem and not r.fails and r.id not in front]
    whole = f"not beaten in {len(goals)} goals"
    for rows, marker, role, words in ((of.front, "o", "product", whole), (beaten, ".", "sea", "beaten"),
                                      ([r for r in of.rows if not r.problem and r.fails], "x", "energy",
                                       "breaks a limit")):
        at = [(r.figures[x], r.figures[y]) for r in rows
              if isinstance(r.figures[x], float) and isinstance(r.figures[y], float)]
        said.append(f"{len(at)} {words}")
        if at:
            ax.plot(*(to_display(np.array(side), kinds[k], units) for side, k in zip(zip(*at, strict=True), (x, y),
                                                                                  strict=True)),
                    marker=marker, linestyle="none", color=colour(role), markersize=7 if marker == "o" else 6,
                    label=f"{words}, {len(at)}")
    said += [f"{r.id}: {', '.join(show(float(r.figures[k]), kinds[k], units) for k in (x, y))}"  # type: ignore[arg-type]
             for r in of.front[:6]]
    made.alternative = "; ".join(said) + "."
    if any(said):
        ax.legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=3, frameon=False, borderaxespad=0, columnspacing=1)
    ax.margins(0.08)
    currency = str(of.study.design.get("energy.currency"))
    ax.set_xlabel(axis_label(_title_of(x), kinds[x], units, currency))
    ax.set_ylabel(axis_label(_title_of(y), kinds[y], units, currency))
    thin_thousands(ax)
    return made


_TITLES_OF = {"cost.water": "Cost of water", "cost.capital": "Capital", "energy.plant_specific": "Specific energy",
              "membrane.permeate_boron": "Permeate boron", "membrane.feed_pressure": "Feed pressure"}


def _title_of(id: str) -> str:
    return _TITLES_OF.get(id, id.rpartition(".")[2].replace("_", " ").capitalize())


def _kind_of(study: Sweep, key: str) -> str:
    kind = study.metas[key].kind
    return kind.name if kind is not None else "factor"


def _input(row: Mapping[Any, Any], units: str, between: str = " ", pretty: bool = False) -> str:
    """An input with the range it was moved through."""
    low, high = (show(row[k], CONDITIONS[row["input"]], units, pretty=pretty) for k in ("low", "high"))
    return f"{row['input'].replace('_', ' ')}{between}{low} to {high}"
