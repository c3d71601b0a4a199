"""What uncertain conditions mean for a plant that is built: chances of missing a value, and which input decides.

Inputs with stated spreads are drawn by quasi-random or stratified samples (scipy.stats.qmc), the sized plant is rated
at all of them at once, on any executor, and the answers are judged. The seed is part of the answer: the same seed draws
the same points, so designs that are compared meet the same waters.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from math import log2
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.design import Design
from desalbook.design.reader import asked
from desalbook.duty.inputs import DISTRIBUTIONS
from desalbook.plant.rating import CONDITIONS, RATED
from desalbook.problems import DesignError
from desalbook.study.product_water import PRODUCT, guaranteed, product_water
from desalbook.study.progress import Progress
from desalbook.study.ratings import Rating, rated
from desalbook.trail import values
from desalbook.units import KINDS, parse, show
from desalbook.units.fieldmeta import nearest

if TYPE_CHECKING:
    import os

    import pandas as pd

__all__ = ["DISTRIBUTIONS", "JUDGED", "METHODS", "Indices", "Missed", "Spread", "Uncertainty", "indices", "interval",
           "limit_of", "sample", "spreads_of", "uncertainty"]

JUDGED = RATED | PRODUCT
"""Kinds of what a limit may be put on: values of a rating, and of the product water."""
METHODS = ("sobol", "latin-hypercube")
CONFIDENCE = 0.95
_EXTENT = 3.0  # standard deviations at which a normal distribution is cut where no bounds are given
_FEWEST = 16
_TEXTS = ("low", "high", "mean", "deviation", "mode", "with_input", "basis")


@dataclass(frozen=True)
class Spread:
    """How an input scatters.

    Parameters
    ----------
    low, high : str or float
        Bounds, with unit; nothing outside them is drawn. Of a normal distribution its mean less and plus three standard
        deviations if omitted.
    distribution : {"uniform", "normal", "lognormal", "triangular"}
    mean, deviation : str or float, optional
        Of a normal distribution, or of the value itself where its logarithm is normal. The deviation is in the same
        unit; of a temperature a difference in K.
    mode : str or float, optional
        Most likely value of a triangular distribution.
    basis : str
        Where it comes from; told, not drawn from.
    """

    low: str | float | None = None
    high: str | float | None = None
    distribution: str = "uniform"
    mean: str | float | None = None
    deviation: str | float | None = None
    mode: str | float | None = None
    basis: str = ""

    def of(self, name: str, kind: str) -> Any:
        """The distribution as scipy knows it, in coherent SI.

        Raises
        ------
        DesignError
            A value that cannot be read, bounds that do not rise, an unknown distribution.
        """
        from scipy import stats

        def read(what: str, word: str, difference: bool = False) -> float:
            value = getattr(self, what)
            if value is None:
                raise DesignError(f"has no {word}", where=f"{name}, {what}", do=f"give one, as {what}=")
            if not isinstance(value, str):
                return float(value)
            read_as = "temperature difference" if difference and kind == "temperature" else kind
            return float(parse(value, KINDS[read_as], f"{name}, {what}"))

        if self.distribution not in DISTRIBUTIONS:
            raise DesignError("not a distribution this kit draws from", where=f"{name}, distribution",
                              value=self.distribution, allowed=", ".join(DISTRIBUTIONS), do="name one of these")
        if self.distribution in ("normal", "lognormal"):
            mean, deviation = read("mean", "mean"), read("deviation", "standard deviation", True)
            if not deviation > 0:
                raise DesignError("not a standard deviation", where=f"{name}, deviation", value=self.deviation,
                                  allowed="above 0", do="give one above zero")
            low = mean - _EXTENT * deviation if self.low is None else read("low", "lower bound")
            high = mean + _EXTENT * deviation if self.high is None else read("high", "upper bound")
            self._rising(name, low, high)
            if self.distribution == "normal":
                return stats.truncnorm((low - mean) / deviation, (high - mean) / deviation, loc=mean, scale=deviation)
            if not (mean > 0 and high > 0):
                raise DesignError("a lognormal value is above zero", where=f"{name}, mean", value=self.mean,
                                  do="take another distribution")
            scale = np.sqrt(np.log1p((deviation / mean) ** 2))
            middle = np.log(mean) - scale**2 / 2
            ends = [(np.log(x) - middle) / scale if x > 0 else -np.inf for x in (low, high)]
            return _Exp(stats.truncnorm(*ends, loc=middle, scale=scale))
        low, high = read("low", "lower bound"), read("high", "upper bound")
        self._rising(name, low, high)
        if self.distribution == "uniform":
            return stats.uniform(low, high - low)
        mode = read("mode", "most likely value")
        if not low <= mode <= high:
            raise DesignError("the most likely value lies outside the bounds", where=f"{name}, mode", value=self.mode,
                              do="give one between low and high")
        return stats.triang((mode - low) / (high - low), low, high - low)

    def _rising(self, name: str, low: float, high: float) -> None:
        if not low < high:
            raise DesignError("the bounds do not rise", where=name, value=f"{self.low} to {self.high}",
                              do="give the lower one first")


@dataclass(frozen=True)
class _Exp:
    """A value whose logarithm has a distribution."""

    log: Any

    def ppf(self, q: np.ndarray) -> np.ndarray:
        return np.exp(self.log.ppf(q))


def spreads_of(design: Design) -> tuple[dict[str, Spread], dict[tuple[str, str], float]]:
    """Spreads of inputs that a design file states under ``[[spreads]]``, and their correlations.

    Parameters
    ----------
    design : Design

    Returns
    -------
    spreads : mapping of input to Spread
        Conditions of `desalbook.rate` and keys of the design, in the order of the file.
    correlation : mapping of (input, input) to float

    Raises
    ------
    DesignError
        An input that is neither, or correlated with what has no spread.
    """
    spreads: dict[str, Spread] = {}
    correlation: dict[tuple[str, str], float] = {}
    names = design.names("spreads")
    with values():
        inp = asked(design)
        read = {name: {k: str(inp.selected(f"spreads[{name}].{k}") or "") for k in _TEXTS} for name in names}
        ranks = {name: float(inp.number(f"spreads[{name}].correlation")) for name in names}
        kinds = {name: str(inp.choice(f"spreads[{name}].distribution")) for name in names}
    for name in names:
        at = f"spreads[{name}]"
        if name not in CONDITIONS:
            _number_of(design, name, at)
        said = {k: read[name][k] or None for k in ("low", "high", "mean", "deviation", "mode")}
        spreads[name] = Spread(distribution=kinds[name], basis=read[name]["basis"], **said)
        if other := read[name]["with_input"]:
            if other not in names or other == name:
                raise DesignError("not another input with a spread", where=f"{at}.with_input", value=other,
                                  allowed=", ".join(n for n in names if n != name), do="name one of these, or clear it")
            correlation[name, other] = ranks[name]
    return spreads, correlation


def _number_of(design: Design, name: str, at: str) -> None:
    """Refuse what is no key of the design that takes one number."""
    try:
        kind = design.meta(name).kind if design.get(name) is not None else None
    except (DesignError, KeyError):
        kind = None
    if kind is None:
        raise DesignError("neither a condition of a rating nor a key with a number", where=f"{at}.input", value=name,
                          allowed=f"{', '.join(CONDITIONS)}, or a key such as energy.tariff",
                          do=nearest(name, CONDITIONS))


def sample(count: int, width: int, seed: int, method: str = "sobol") -> np.ndarray:
    """Points of the unit cube.

    Parameters
    ----------
    count : int
        How many; a power of two for Sobol points, which are balanced only so.
    width : int
        Inputs.
    seed : int
        The same seed gives the same points.
    method : {"sobol", "latin-hypercube"}

    Returns
    -------
    array of shape (count, width)

    Raises
    ------
    DesignError
        An unknown method, or a number of points it cannot draw.
    """
    from scipy.stats import qmc

    if method not in METHODS:
        raise DesignError("no such way to sample", where="method", value=method, allowed=", ".join(METHODS),
                          do="name one of these")
    if not (isinstance(count, int) and count >= _FEWEST) or (method == "sobol" and not log2(count).is_integer()):
        raise DesignError("not a number of points", where="count", value=count,
                          allowed=f"{_FEWEST} or more" + (", a power of two" if method == "sobol" else ""),
                          do="enter 1024, for example")
    draw = (qmc.Sobol if method == "sobol" else qmc.LatinHypercube)(width, rng=np.random.default_rng(seed))
    return draw.random(count)


def interval(misses: int, count: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Exact interval of a proportion (Clopper and Pearson), both ends.

    Parameters
    ----------
    misses, count : int
    confidence : float
        Fraction, of both sides together.

    Returns
    -------
    low, high : float
        Of independent draws; of quasi-random or stratified points it is on the wide side, as a rule.
    """
    from scipy.stats import binomtest

    found = binomtest(int(misses), int(count)).proportion_ci(confidence, "exact")
    return float(found.low), float(found.high)


@dataclass(frozen=True)
class Indices:
    """Shares of an answer's variance: of each input alone, and with all its interactions.

    Parameters
    ----------
    first, total : mapping of input to float
        A value slightly below zero is noise and stays.
    count : int
        Base points; the plant was rated (inputs + 2) times as often.
    """

    first: Mapping[str, float]
    total: Mapping[str, float]
    count: int

    @property
    def ranking(self) -> tuple[str, ...]:
        """Inputs by their total index, the largest first."""
        return tuple(sorted(self.total, key=lambda name: -self.total[name]))


def indices(at_a: np.ndarray, at_b: np.ndarray, at_ab: np.ndarray, names: Sequence[str]) -> Indices:
    """First-order and total indices from the answers at three sets of points (Saltelli and others 2010), by scipy.

    Parameters
    ----------
    at_a, at_b : array of shape (points,)
        At two independent samples.
    at_ab : array of shape (inputs, points)
        At the first sample with one input from the second.
    names : sequence of str
        The inputs.
    """
    from scipy.stats import sobol_indices

    count = len(at_a)
    found = sobol_indices(func={"f_A": at_a[None], "f_B": at_b[None], "f_AB": at_ab[:, None]}, n=count)
    first, total = (np.atleast_2d(x)[0] for x in (found.first_order, found.total_order))
    return Indices(dict(zip(names, map(float, first), strict=True)), dict(zip(names, map(float, total), strict=True)),
                   count)


@dataclass(frozen=True)
class Missed:
    """How often a value is missed.

    Parameters
    ----------
    name, sense : str
        Column of a rating; ``<=`` or ``>=``.
    limit : float
        SI.
    misses, count : int
        Cases that miss it, those without an answer among them; all cases.
    low, high : float
        Interval of the probability at 95 % confidence, both sides together.
    """

    name: str
    sense: str
    limit: float
    misses: int
    count: int
    low: float
    high: float

    @property
    def probability(self) -> float:
        return self.misses / self.count

    def words(self, units: str = "si") -> str:
        """One sentence on what it means for a guarantee."""
        what = self.name.replace("_", " ")
        bound = f"{'at most' if self.sense == '<=' else 'at least'} {show(self.limit, JUDGED[self.name], units)}"
        if not self.misses:
            return (f"A guaranteed {what} of {bound} was met in all {self.count} cases: it is missed in less than "
                    f"{100 * self.high:.2g} % of such cases (95 % confidence).")
        return (f"A guaranteed {what} of {bound} is missed in {100 * self.probability:.2g} % of such cases "
                f"({100 * self.low:.2g} to {100 * self.high:.2g} %, 95 % confidence): {self.misses} of {self.count}.")


@dataclass(frozen=True)
class Uncertainty:
    """What came of a study.

    Parameters
    ----------
    frame : DataFrame
        One row a case, SI, as `desalbook.rate` gives it; the first `count` rows are the sample, the others serve the
        indices.
    missed : mapping of column to Missed
    shares : mapping of column to Indices
        Of each value that is judged, where indices were asked for and the inputs are independent.
    ranges : mapping of column to (low, median, high)
        5th, 50th and 95th percentile.
    count, seed : int
    method : str
    rounds : tuple of (count, half-width, ranking)
        How the largest interval and the ranking of the inputs settled while the points were doubled.
    settled : bool
        Whether the stopping rule was met.
    inputs : tuple of str
    any_missed : float
        Fraction of the cases that miss one of the judged values or more.
    """

    frame: pd.DataFrame
    missed: Mapping[str, Missed]
    shares: Mapping[str, Indices]
    ranges: Mapping[str, tuple[float, float, float]]
    count: int
    seed: int
    method: str
    rounds: tuple[tuple[int, float, Mapping[str, tuple[str, ...]]], ...] = ()
    settled: bool = True
    inputs: tuple[str, ...] = ()
    any_missed: float = float("nan")

    def words(self, units: str = "si") -> str:
        """What it means, a sentence a value."""
        lines = [one.words(units) for one in self.missed.values()]
        for name, found in self.shares.items():
            first = found.ranking[0]
            lines.append(f"{name.replace('_', ' ').capitalize()} varies mostly with {first.replace('_', ' ')} "
                         f"({100 * found.total[first]:.0f} % of its variance, interactions included).")
        if not self.settled:
            lines.append("The stopping rule was not met: take more points.")
        return "\n".join(lines)

    def tornado(self, name: str) -> pd.DataFrame:
        """What each input moves: the mean of a value over the cases with its lowest and highest twentieth; SI.

        Parameters
        ----------
        name : str
            Column of the rating.

        Returns
        -------
        DataFrame
            Columns input, low and high (its 5th and 95th percentile), at_low, at_high and swing; the widest first.
        """
        import pandas as pd

        frame, rows = self.frame.iloc[:self.count], []
        answers = np.asarray(frame[name], dtype=float)
        for one in self.inputs:
            values = np.asarray(frame[one], dtype=float)
            low, high = np.quantile(values, [0.05, 0.95])
            ends = [float(np.nanmean(answers[part])) for part in (values <= low, values >= high)]
            rows.append({"input": one, "low": low, "high": high, "at_low": ends[0], "at_high": ends[1],
                         "swing": abs(ends[1] - ends[0])})
        return pd.DataFrame(rows).sort_values("swing", ascending=False, ignore_index=True)


def uncertainty(plant: Any, spreads: Mapping[str, Spread] | None,
                limits: Mapping[str, str | tuple[str, float]] | None, *, count: int = 1024, seed: int = 1,
                method: str = "sobol", correlation: Mapping[tuple[str, str], float] | None = None,
                shares: bool = True, within: float | None = None, most: int = 16384,
                control: str = "product-flow", executor: Executor | None = None, chunk: int | None = None,
                results: str | os.PathLike[str] | None = None, progress: Progress = None,
                cancel: threading.Event | None = None) -> Uncertainty:
    """Rate a sized plant under uncertain conditions and judge what comes.

    The membranes and the pressure train are held and rated, boron and TDS of the product follow with the doses of the
    design; chemicals and cleaning are not in it.

    Parameters
    ----------
    plant : Plant or Sized
    spreads : mapping of condition to Spread, or None
        Conditions of `desalbook.rate`: temperature, salinity, age, water_factor and others. None takes those of
        ``[[spreads]]`` in the design file, with their correlations; prices among them are for `cost_tornado`.
    limits : mapping of column to text, or None
        ``{"permeate_boron": "<= 1 mg/L as B"}``; at most where no sense is given; or sense and SI value. A case
        without an answer misses. None takes what the design guarantees of the product, boron and TDS.
    count : int
        Points; a power of two for Sobol points.
    seed : int
        The same seed gives every design the same points.
    method : {"sobol", "latin-hypercube"}
    correlation : mapping of (condition, condition) to float, optional
        Of the ranks, by a Gaussian copula. Indices assume independence and are omitted then.
    shares : bool
        Work out first-order and total indices, which asks for (inputs + 2) times as many cases; of two inputs or more.
    within : float, optional
        Stopping rule: points are doubled, up to ``most``, until every interval of a probability is within so much of
        its middle and the ranking of the inputs stays.
    control : str
    executor, chunk, results, progress, cancel : optional
        As for `desalbook.rate`. A results file holds the last round.

    Returns
    -------
    Uncertainty

    Raises
    ------
    DesignError
        An unknown condition or column, a spread that cannot be drawn from, a correlation that cannot be.
    """
    if spreads is None:
        stated, between = spreads_of(getattr(plant, "sized", plant).design)
        spreads = {k: v for k, v in stated.items() if k in CONDITIONS}
        correlation = correlation or {k: v for k, v in between.items() if all(x in spreads for x in k)}
        if not spreads:
            raise DesignError("the design states no spread of a condition", where="spreads",
                              allowed=", ".join(CONDITIONS), do="add [[spreads]] with an input, low and high")
    names = tuple(spreads)
    for name in names:
        if name not in CONDITIONS:
            raise DesignError("no such condition", where="spreads", value=name, allowed=", ".join(CONDITIONS),
                              do=nearest(name, CONDITIONS))
    judged = guaranteed(getattr(plant, "sized", plant)) if limits is None else {
        name: limit_of(name, x) if isinstance(x, str) else x for name, x in limits.items()}
    laws = {name: one.of(name, CONDITIONS[name]) for name, one in spreads.items()}
    mixed = _cholesky(names, correlation or {})
    shares = shares and mixed is None and method == "sobol" and len(names) > 1
    rounds: list[tuple[int, float, Mapping[str, tuple[str, ...]]]] = []
    while True:
        found = _round(plant, names, laws, judged, count, seed, method, mixed, shares, control,
                       executor, chunk, results if within is None else None, progress, cancel)
        half = max(((m.high - m.low) / 2 for m in found.missed.values()), default=0.0)
        rounds.append((count, half, {k: v.ranking for k, v in found.shares.items()}))
        steady = not shares or (len(rounds) > 1 and rounds[-1][2] == rounds[-2][2])
        settled = within is None or (half <= within and steady)
        if settled or 2 * count > most or (cancel is not None and cancel.is_set()):
            break
        count *= 2
    if results is not None and within is not None:  # the last round stands in the file
        found = _round(plant, names, laws, judged, count, seed, method, mixed, shares, control,
                       executor, chunk, results, progress, cancel)
    return replace(found, rounds=tuple(rounds), settled=settled)


def _round(plant: Any, names: tuple[str, ...], laws: Mapping[str, Any], judged: Mapping[str, tuple[str, float]],
           count: int, seed: int, method: str, mixed: np.ndarray | None, shares: bool, control: str,
           executor: Executor | None, chunk: int | None, results: Any, progress: Progress,
           cancel: threading.Event | None) -> Uncertainty:
    d = len(names)
    cube = sample(count, 2 * d if shares else max(d, 1), seed, method)
    a, b = cube[:, :d], cube[:, d:]
    points = [a]
    if shares:
        points.append(b)
        for i in range(d):
            one = a.copy()
            one[:, i] = b[:, i]
            points.append(one)
    unit = np.concatenate(points)
    if mixed is not None:
        unit = _copula(unit, mixed)
    said = {name: laws[name].ppf(unit[:, i]) for i, name in enumerate(names)}
    if not names:
        said = {"water_factor": np.ones(count)}
    frame = rated(Rating(plant, control, **said), executor, chunk, results, progress, cancel)
    frame = frame.assign(**product_water(getattr(plant, "sized", plant), frame))
    own = frame.iloc[:count]
    missed, indexed, ranges = {}, {}, {}
    any_missed = np.zeros(len(own), dtype=bool)
    for name, (sense, limit) in judged.items():
        if name not in frame.columns:
            raise DesignError("this plant gives no such value", where="limits", value=name,
                              do=nearest(name, [c for c in frame.columns if c in JUDGED]))
        values = np.asarray(own[name], dtype=float)
        met = values <= limit if sense == "<=" else values >= limit
        any_missed |= ~met
        misses = int((~met).sum())
        missed[name] = Missed(name, sense, limit, misses, len(own), *interval(misses, len(own)))
        if np.isfinite(values).any():
            low, middle, high = np.nanquantile(values, [0.05, 0.5, 0.95])
            ranges[name] = (float(low), float(middle), float(high))
        whole = np.asarray(frame[name], dtype=float)
        if shares and len(whole) == count * (d + 2) and np.isfinite(whole).all() and np.ptp(whole) > 0:
            parts = whole.reshape(d + 2, count)
            indexed[name] = indices(parts[0], parts[1], parts[2:], names)
    return Uncertainty(frame, missed, indexed, ranges, count, seed, method, inputs=names,
                       any_missed=float(any_missed.mean()) if len(own) else float("nan"))


def limit_of(name: str, text: str, known: Mapping[str, str] = JUDGED) -> tuple[str, float]:
    """Sense and SI value of a limit of a rating as it is written: ``<= 1 mg/L as B``, ``>= 55 barg``.

    Parameters
    ----------
    name : str
        Column of the rating.
    text : str
        At most where no sense is written.
    known : mapping of str to str
        Kinds of what a limit may be put on.
    """
    if name not in known:
        raise DesignError("no such value of a rating", where="limits", value=name, do=nearest(name, known))
    sense, value = ("<=", text)
    for one in ("<=", ">="):
        if text.strip().startswith(one):
            sense, value = one, text.strip()[2:]
    return sense, float(parse(value.strip(), KINDS[known[name]], f"limits, {name}"))


def _cholesky(names: tuple[str, ...], correlation: Mapping[tuple[str, str], float]) -> np.ndarray | None:
    """Root of the matrix of correlations; None where the inputs are independent."""
    if not correlation:
        return None
    matrix = np.eye(len(names))
    for (one, other), value in correlation.items():
        for name in (one, other):
            if name not in names:
                raise DesignError("not an input with a spread", where="correlation", value=name,
                                  allowed=", ".join(names), do="name two of these")
        if one == other or not -1 < value < 1:
            raise DesignError("not a correlation of two inputs", where=f"correlation, {one} and {other}", value=value,
                              allowed="above -1, below 1", do="give one in that range")
        i, j = names.index(one), names.index(other)
        matrix[i, j] = matrix[j, i] = value
    try:
        return np.linalg.cholesky(matrix)
    except np.linalg.LinAlgError:
        raise DesignError("these correlations cannot all be true at once", where="correlation",
                          value=", ".join(f"{a} and {b} {v:g}" for (a, b), v in correlation.items()),
                          do="make them smaller") from None


def _copula(unit: np.ndarray, root: np.ndarray) -> np.ndarray:
    """Points of the unit cube with the rank correlation of a Gaussian copula."""
    from scipy.special import ndtr, ndtri

    return ndtr(ndtri(np.clip(unit, 1e-15, 1 - 1e-15)) @ root.T)
