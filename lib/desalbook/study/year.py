"""A year of a plant that is built, from a series of days, weeks or months: the sized plant rated at each of them."""

from __future__ import annotations

import os
import threading
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.balances import YEAR, total_flow, volume_in_time
from desalbook.duty.flows import feed_for, net_of
from desalbook.hydraulics.energy import specific_energy
from desalbook.plant import Sized
from desalbook.plant.energy import consumer_yearly_energy
from desalbook.plant.rating import CONDITIONS
from desalbook.pretreatment.solids import (
    filtrate_turbidity,
    run_to_terminal_head_loss,
    solids_loading_rate,
    solids_to_filters,
)
from desalbook.problems import DesignError
from desalbook.product.product_tank import level_after, made_in_step, shortage
from desalbook.study.product_water import product_water
from desalbook.study.progress import Progress
from desalbook.study.ratings import Rating, rated
from desalbook.study.uncertainty import JUDGED, limit_of
from desalbook.trail import values
from desalbook.units import KINDS, parse, show
from desalbook.units.fieldmeta import nearest

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["DAILY", "Year", "operating_year", "read_series"]

SERIES = CONDITIONS | {"demand": "flow.day", "turbidity": "turbidity"}
"""What a series may state: conditions of a rating, turbidity of the raw water, what is taken from the product tanks."""
DAILY = JUDGED | {"level": "volume", "turbidity": "turbidity", "filtrate_turbidity": "turbidity", "filter_run": "time"}
"""Kinds of what stands in the table of a year beside conditions."""
LABELS = ("date", "day", "week", "month", "time", "label")
"""Columns of a series that name its steps."""
_WEEK = "7 d"
_TOLD = ("feed_pressure", "specific_energy", "permeate_tds", "product_tds", "product_boron", "filtrate_turbidity",
         "filter_run")


@dataclass(frozen=True)
class Year:
    """What came of a series.

    Parameters
    ----------
    frame : DataFrame
        One row a step, SI, as `desalbook.rate` gives it, with ``label``; ``energy`` is that of the membrane section of
        all trains over the step, J; ``chemicals_cost`` and one column ``chemical[KEY]`` a chemical, kg of substance.
        With a demand: ``demand`` (m3/s), ``running`` (fraction of the step that the trains run), ``made``, ``level`` at
        the end of the step and ``short`` (m3). ``product_boron`` and ``product_tds`` of each step, kg/m3; with a
        turbidity ``filtrate_turbidity``, and the ``filter_run`` to terminal head loss, s, where the plant has filters.
    step : array of shape (steps,)
        How long each lasts, s.
    outside : mapping of str to float
        How long each limit was broken, s: checks of the sized plant, limits that were given, and cases without answer.
    trains : float
    currency : str
    capacity : float
        Of all product tanks, m3; zero where no demand was stated.
    limits : mapping of column to (sense, value)
        What was judged besides the checks of the sized plant, SI.
    """

    frame: pd.DataFrame
    step: np.ndarray
    outside: Mapping[str, float]
    trains: float
    currency: str = ""
    capacity: float = 0.0
    limits: Mapping[str, tuple[str, float]] = field(default_factory=dict)

    @property
    def energy(self) -> float:
        """Energy of the membrane section of all trains over the series, J; steps without an answer add nothing."""
        return float(np.nansum(self.frame["energy"]))

    @property
    def specific_energy(self) -> float:
        """Energy over permeate, J/m3, of the whole series: weighted by what was produced, no mean of means."""
        power, flow = (self._mean(name, running=True) for name in ("section_power", "permeate_flow"))
        with values(keep=False):
            return float(specific_energy.at("value", electric_power=power, product_flow=flow))

    def _mean(self, name: str, running: bool = False) -> float:
        value, weight = self.frame[name].to_numpy(), self.step
        if running and "running" in self.frame:
            weight = weight * self.frame["running"].to_numpy()
        good = np.isfinite(value) & np.isfinite(weight) & (weight > 0)
        return float(np.average(value[good], weights=weight[good])) if good.any() else float("nan")

    @property
    def chemicals(self) -> dict[str, float]:
        """Substance of each chemical over the series, kg, by key."""
        return {c[9:-1]: float(np.nansum(self.frame[c])) for c in self.frame if str(c).startswith("chemical[")}

    def extremes(self, name: str) -> tuple[tuple[str, float], tuple[str, float]]:
        """The least and the largest value of a column, each with the label of its step; SI.

        Parameters
        ----------
        name : str
            Column of the rating.
        """
        value = self.frame[name].to_numpy()
        if not np.isfinite(value).any():
            return ("", float("nan")), ("", float("nan"))
        low, high = int(np.nanargmin(value)), int(np.nanargmax(value))
        label = self.frame["label"]
        return (str(label.iloc[low]), float(value[low])), (str(label.iloc[high]), float(value[high]))

    def worst_week(self, name: str, least: bool = False) -> tuple[str, float]:
        """The seven days with the largest mean of a column, or the least: the label of their first step, and the mean.

        Parameters
        ----------
        name : str
            Column of the rating; SI.
        least : bool
        """
        week = float(parse(_WEEK, KINDS["time.day"], "week"))
        value, ends = self.frame[name].to_numpy(), np.cumsum(self.step)
        begins = ends - self.step
        best: tuple[str, float] = ("", float("nan"))
        for i, begin in enumerate(begins):
            if begin + week > ends[-1] * (1 + 1e-12) and i:
                break
            share = np.clip(np.minimum(ends, begin + week) - np.maximum(begins, begin), 0.0, None)
            if not np.isfinite(value[share > 0]).all():
                continue
            mean = float(np.average(value[share > 0], weights=share[share > 0]))
            if np.isnan(best[1]) or (mean < best[1] if least else mean > best[1]):
                best = (str(self.frame["label"].iloc[i]), mean)
        return best

    def words(self, units: str = "si") -> str:
        """The series in a few lines."""
        first, last = (str(self.frame["label"].iloc[i]) for i in (0, -1))
        lines = [f"{len(self.frame)} steps, {first} to {last}: membrane section "
                 f"{show(self.energy, 'energy.year', units)}, {show(self.specific_energy, 'specific energy', units)} "
                 f"of permeate"]
        for name in (n for n in _TOLD if n in self.frame):
            (low_at, low), (high_at, high) = self.extremes(name)
            least = name == "filter_run"
            week, mean = self.worst_week(name, least)
            title = name.replace("_", " ").replace("tds", "TDS")
            worst = "shortest" if least else "highest"
            lines.append(f"{title}: {show(low, DAILY[name], units)} ({low_at}) to "
                         f"{show(high, DAILY[name], units)} ({high_at}); {worst} week from {week}, "
                         f"{show(mean, DAILY[name], units)}")
        spent = float(np.nansum(self.frame["chemicals_cost"]))
        lines.append(f"chemicals {show(spent, 'money', units)} {self.currency}")
        if "demand" in self.frame:
            lines += self._tanks(units)
        lines += [f"outside for {show(time, 'time', units)}: {what}" for what, time in self.outside.items()]
        return "\n".join(lines if self.outside else [*lines, "no limit is broken"])


    def _tanks(self, units: str) -> list[str]:
        level, short = self.frame["level"].to_numpy(), self.frame["short"].to_numpy()
        lowest = int(np.argmin(level))
        label = self.frame["label"]
        dry = float(self.step[short > 0].sum())
        said = (f"product tanks, {show(self.capacity, 'volume', units)} together: lowest "
                f"{show(float(level[lowest]), 'volume', units)} at the end of {label.iloc[lowest]}")
        if not dry:
            return [said, "every demand is met"]
        worst = int(np.argmax(short))
        return [said, f"demand not met in {show(dry, 'time.day', units)}: {show(float(short.sum()), 'volume', units)} "
                      f"in all, most on {label.iloc[worst]}, {show(float(short[worst]), 'volume', units)}"]


def read_series(series: str | os.PathLike[str] | pd.DataFrame) -> tuple[list[str], dict[str, np.ndarray]]:
    """A series from a CSV file or a table, in SI.

    Parameters
    ----------
    series : path or DataFrame
        Columns with their units in the head, ``temperature, degC``; one of `LABELS` names the steps.

    Returns
    -------
    labels : list of str
    conditions : mapping of str to array of shape (steps,)

    Raises
    ------
    DesignError
        Row, column and value of what cannot be read.
    """
    import pandas as pd

    if not isinstance(series, pd.DataFrame):
        try:
            series = pd.read_csv(Path(series), dtype=str, keep_default_na=False, comment="#", skipinitialspace=False)
        except (OSError, ValueError) as error:
            said = getattr(error, "strerror", None) or "not a CSV table"
            raise DesignError(f"cannot be read: {said.lower()}", where="series", value=str(series),
                              do="give a CSV file with one head line") from None
    labels = [str(i + 1) for i in range(len(series))]
    found: dict[str, np.ndarray] = {}
    for head in series.columns:
        name, _, unit = (x.strip() for x in str(head).partition(","))
        if name.lower() in LABELS:
            labels = [str(x) for x in series[head]]
            continue
        if name not in SERIES:
            raise DesignError("no such condition", where="series", value=str(head), allowed=", ".join(SERIES),
                              do=nearest(name, SERIES))
        kind, read = KINDS[SERIES[name]], dict[Any, float]()  # a value that comes again is read once
        for n, x in enumerate(series[head], 1):
            if x not in read:
                read[x] = float(parse(f"{x} {unit}".strip(), kind, f"series, row {n}, {name}"))
        found[name] = np.array([read[x] for x in series[head]])
    if not found or not len(series):
        raise DesignError("no conditions in it", where="series", allowed=", ".join(SERIES),
                          do='enter columns such as "temperature, degC" and one row a step')
    return labels, found


def operating_year(plant: Any, series: str | os.PathLike[str] | pd.DataFrame, *, step: str | Sequence[str] = "1 d",
                   limits: Mapping[str, str] | None = None, level: str = "100 %", control: str = "product-flow",
                   executor: Executor | None = None, chunk: int | None = None,
                   results: str | os.PathLike[str] | None = None, progress: Progress = None,
                   cancel: threading.Event | None = None) -> Year:
    """Rate a sized plant at each step of a series.

    Membranes and pressure train are held and every step is steady. Where the series states no demand all trains run
    through; where it does, they run for their availability at most, and stop when the demand is met and the product
    tanks are full. Chemicals go with the flows they are dosed into at the doses of the design, so the product is that
    of the permeate of the day with its treated feed and those doses. Suspended solids go with the turbidity of the day;
    from them follow filtrate turbidity and the filter run. More coagulant in bad water, the water of more backwashes,
    and cleaning by the state of the elements are not in it.

    Parameters
    ----------
    plant : Plant or Sized
    series : path or DataFrame
        See `read_series`.
    step : text, or one a row
        How long a step lasts, ``1 d``, ``1 h``; of months, one text each.
    limits : mapping of column to text, optional
        ``{"product_boron": "<= 1 mg/L as B"}``, beside the checks of the sized plant, its limit of boron, and with a
        turbidity those of the filtrate and of the time between backwashes.
    level : text
        Of the product tanks at the start, fraction of their volume.
    control : str
    executor, chunk, results, progress, cancel : optional
        As for `desalbook.rate`.

    Returns
    -------
    Year

    Raises
    ------
    DesignError
        A series, a step or a limit that cannot be read.
    """
    sized = getattr(plant, "sized", plant)
    labels, given = read_series(series)
    demand, turbid = given.pop("demand", None), given.pop("turbidity", None)
    given = given or {"water_factor": np.ones(len(labels))}
    texts = [step] * len(labels) if isinstance(step, str) else list(step)
    if len(texts) != len(labels):
        raise DesignError("not one step a row", where="step", value=len(texts), allowed=str(len(labels)),
                          do="give one text for all, or one for each row")
    length = {text: float(parse(text, KINDS["time.day"], "step")) for text in dict.fromkeys(texts)}
    lasts = np.array([length[text] for text in texts])
    judged = {name: limit_of(name, text, DAILY) for name, text in (limits or {}).items()}
    trains = float(sized.ledger["duty.trains"])
    frame = rated(Rating(sized, control, **given), executor, chunk, results, progress, cancel)
    lasts = lasts[:len(frame)]
    frame = frame.assign(label=labels[:len(frame)], **product_water(sized, frame))
    stated, judged = set(judged), _own_limits(sized) | judged
    if turbid is not None:
        frame = frame.assign(**_filters(sized, turbid[:len(frame)]))
        judged = _filter_limits(sized) | judged
    with values(keep=False):
        frame["plant_permeate"] = total_flow.at("value", flow=frame["permeate_flow"].to_numpy(), units=trains)
        running, capacity = lasts, 0.0
        if demand is not None:
            capacity = float(sized.product_tank) * float(sized.ledger["product_tank.count"])
            start = float(parse(level, KINDS["fraction"], "level"))
            if not 0 <= start <= 1:
                raise DesignError("not a fraction of the tanks", where="level", value=level, allowed="0 to 100 %",
                                  do="enter 50 %, for example")
            frame = frame.assign(**_tanks(sized, frame, lasts, demand[:len(frame)], capacity, start))
            running = lasts * frame["running"].to_numpy()
        frame["energy"] = consumer_yearly_energy.at("value", electric_power=frame["section_power"].to_numpy(),
                                                    running_count=trains, running_time=running)
        frame = frame.assign(**_chemicals(sized, frame, lasts, running))
    return Year(frame, lasts, _outside(frame, lasts, judged, stated), trains, str(sized.design.get("energy.currency")),
                capacity, judged)


def _own_limits(sized: Sized) -> dict[str, tuple[str, float]]:
    """What the design limits in the product."""
    book = sized.ledger
    return {"product_boron": ("<=", float(book["product.boron_limit"]))} if "product.boron_limit" in book else {}


def _filter_limits(sized: Sized) -> dict[str, tuple[str, float]]:
    """Turbidity of the RO feed, and the shortest time in which every filter of the battery is backwashed once."""
    feed = sized.ledger.lines["fouling.turbidity.check"].more
    found = {"filtrate_turbidity": (str(feed["sense"]), float(feed["limit"]))}
    if sized.pretreated.wash is not None:
        found["filter_run"] = (">=", float(sized.pretreated.wash.schedule.slots.time))
    return found


def _filters(sized: Sized, turbidity: np.ndarray) -> dict[str, np.ndarray]:
    """Turbidity of the filtrate and the filter run in each step, for the turbidity of the raw water.

    Suspended solids go with the turbidity, as the design states both of its worst water; removal and load a metre of
    head loss stay.
    """
    book, pre = sized.ledger, sized.pretreated
    if pre.battery is None or pre.wash is None:
        return {"turbidity": turbidity, "filtrate_turbidity": turbidity}
    coagulant = sized.doses.coagulation
    with values(keep=False):
        clear = np.asarray(filtrate_turbidity.at("value", turbidity=turbidity, turbidity_removal=float(
            book["filters.turbidity_removal_reached"])))
        solids = solids_to_filters.at(
            "value", suspended_solids=float(book["water.suspended_solids"]),
            solids_fraction=turbidity / float(book["water.turbidity"]),
            coagulant_solids=0.0 if coagulant is None else float(coagulant.solids))
        caught = solids_loading_rate.at("value", filter_rate=float(pre.battery.rate), solids=solids,
                                        removal=float(book["filters.solids_removal"]))
        run = np.asarray(run_to_terminal_head_loss.at(
            "value", growth=float(book["filters.loss_growth"]), caught=caught,
            load_per_metre=float(book["filters.load_per_metre"])))
    return {"turbidity": turbidity, "filtrate_turbidity": clear, "filter_run": run}


def _tanks(sized: Any, frame: pd.DataFrame, lasts: np.ndarray, demand: np.ndarray, capacity: float,
           start: float) -> dict[str, np.ndarray]:
    """Level of the product tanks step by step, what is made and what is short."""
    d = sized.duty
    able = np.nan_to_num(frame["plant_permeate"].to_numpy())  # no answer: the trains stand
    net = np.maximum(0.0, np.asarray(net_of.at("value", gross_permeate=able, own_use=float(d.own_use),
                                               availability=float(d.availability))))
    possible = np.asarray(volume_in_time.at("value", flow=net, time=lasts))
    taken = np.asarray(volume_in_time.at("value", flow=demand, time=lasts))
    now, found = start * capacity, {k: np.zeros(len(frame)) for k in ("running", "made", "level", "short")}
    for i in range(len(frame)):
        made = float(made_in_step.at("value", possible=possible[i], demand=taken[i], full_volume=capacity,
                                     stored_volume=now))
        found["short"][i] = float(shortage.at("value", stored_volume=now, made=made, demand=taken[i]))
        now = float(level_after.at("value", stored_volume=now, made=made, demand=taken[i], full_volume=capacity))
        found["made"][i], found["level"][i] = made, now
        found["running"][i] = float(d.availability) * made / possible[i] if possible[i] else 0.0
    return {"demand": demand, **found}


def _chemicals(sized: Any, frame: pd.DataFrame, lasts: np.ndarray, running: np.ndarray) -> dict[str, np.ndarray]:
    """Substance of each chemical in each step, kg, and what all of them cost."""
    found: dict[str, np.ndarray] = {}
    cost, permeate = np.zeros(len(frame)), float(sized.duty.train_permeate)
    feed = float(feed_for.at("value", permeate_flow=permeate, recovery=float(sized.array.recovery)))
    flows = {"feed": (frame["feed_flow"].to_numpy(), feed), "product": (frame["permeate_flow"].to_numpy(), permeate)}
    availability, product = float(sized.duty.availability), float(sized.product_flow)
    for row in sized.chemicals:
        price = float(row["yearly_cost"])
        if not np.isfinite(float(row["mean_mass_rate"])):  # cleanings of the calendar year
            cost += price * lasts / YEAR.value
            continue
        now, then = flows["product" if np.isclose(float(row["flow"]), product) else "feed"]
        flow = now / then
        found[f"chemical[{row['key']}]"] = float(row["mean_mass_rate"]) * flow * running
        cost += price * flow * running / (availability * YEAR.value)
    return {**found, "chemicals_cost": cost}


def _outside(frame: pd.DataFrame, lasts: np.ndarray, judged: Mapping[str, tuple[str, float]],
             stated: set[str]) -> dict[str, float]:
    """How long each limit is broken, the longest first; a step without an answer breaks those that were asked for."""
    found: dict[str, float] = {}
    both: dict[tuple[str, str], float] = {}  # few kinds of sentences, many steps
    for said, reason, time in zip(frame["caution"], frame["reason"], lasts.tolist(), strict=True):
        both[said, reason] = both.get((said, reason), 0.0) + time
    for (said, reason), time in both.items():
        for sentence in {x for x in str(said).split("; ") if x} | ({f"no answer: {reason}"} if reason else set()):
            found[sentence] = found.get(sentence, 0.0) + time
    for name, (sense, limit) in judged.items():
        value = frame[name].to_numpy()
        broken = ~(value <= limit if sense == "<=" else value >= limit) & (np.isfinite(value) | (name in stated))
        if broken.any():
            words = f"{name.replace('_', ' ')}: {'above' if sense == '<=' else 'below'} {show(limit, DAILY[name])}"
            found[words] = float(lasts[broken].sum())
    return dict(sorted(found.items(), key=lambda item: -item[1]))
