"""Scaling: saturation from the feed to the wall of the last element, and the recovery at which scale begins.

A concentrate, and the water at its wall, are the feed grown by a factor; dissolved carbon dioxide alone stays as
it is, since it passes the membrane. So the saturation index of a mineral is one smooth curve over the logarithm of
that factor, and its crossing of a level is the onset.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from desalbook.trail import last, relation, values
from desalbook.units import Factor, Fraction, Molality
from desalbook.water.phreeqc import MINERALS, Saturation, Water, grown, saturations

__all__ = [
    "Verdict",
    "crossing",
    "factor_at_wall",
    "factor_of",
    "factor_of_recovery",
    "interpolated",
    "judge",
    "mixing_of_factor",
    "over_recovery",
    "passage_of",
    "polarisation_last",
    "recovery_of_factor",
]


@relation("Concentration factor of the concentrate", symbol="CF", unit="1", source="definition")
def factor_of(concentrate_molality: Molality, molality: Molality) -> Factor:
    """Concentration factor of the concentrate, by chloride per kilogram of water.

    Chloride hardly passes and never precipitates, so it stands for the water that was taken out.
    """
    return concentrate_molality / molality


@relation("Passage of chloride", symbol="SP_Cl", unit="1", source="definition")
def passage_of(permeate_molality: Molality, molality: Molality) -> Fraction:
    """Passage of chloride: permeate over raw water, per kilogram of water.

    Of the whole array at its recovery, not of the membrane at a point.
    """
    return permeate_molality / molality


@relation("Polarisation at the end of the last element", symbol="beta_e", unit="1", source="definition")
def polarisation_last(beta: Factor) -> Factor:
    """Concentration-polarisation factor at the end of the last element.

    That of the last node along the membrane, where the concentrate is strongest and the flux lowest.
    """
    return last(beta)


@relation("Concentration factor, last-element wall", symbol="CF_w", unit="1", source="definition",
          note="one polarisation for all ions: sulfate there is some percent low")
def factor_at_wall(concentration_factor: Factor, last_polarisation: Factor) -> Factor:
    """Concentration factor at the membrane wall of the last element.

    Bulk factor times the concentration-polarisation factor, one for all ions; divalent ions polarise a little
    more.
    """
    return concentration_factor * last_polarisation


@relation("Mixing that explains the concentration factor", symbol="m_e", unit="1", source="definition",
          note="leakage and mixing of an isobaric ERD, and the difference of recovery by volume and by mass of water, "
               "in one number that makes the design point lie on the curve")
def mixing_of_factor(concentration_factor: Factor, recovery: Fraction, chloride_passage: Fraction) -> Factor:
    """Effective mixing that brings the curve of concentration factors through the design point.

    Inverse of the concentration factor over recovery; holds leakage, mixing and the difference of volume and
    mass in one number.
    """
    return (concentration_factor * (1 - recovery) - (1 - recovery * chloride_passage)) / (
        (1 - recovery * chloride_passage) * (concentration_factor - 1)
    )


@relation("Concentration factor at a recovery", symbol="CF", unit="1", source="astm-d4582", place="7.1, with mixing",
          note="mixing taken the same at every recovery")
def factor_of_recovery(recovery: Fraction, chloride_passage: Fraction, effective_mixing: Factor) -> Factor:
    """Concentration factor of the concentrate at a recovery, with the mixing of an energy recovery device.

    (1 - Y SP)/(1 - Y) raised by what leaks back into the feed; mixing is taken the same at every recovery.
    """
    return (
        (1 - recovery * chloride_passage)
        * (1 - effective_mixing)
        / (1 - recovery - effective_mixing * (1 - recovery * chloride_passage))
    )


@relation("Recovery at a concentration factor", symbol="Y_s", unit="1", source="astm-d4582", place="7.1, solved",
          note="passage, mixing and polarisation as in the design")
def recovery_of_factor(
    wall_factor: Factor, last_polarisation: Factor, chloride_passage: Fraction, effective_mixing: Factor
) -> Fraction:
    """Recovery at which the wall reaches a concentration factor.

    The bulk has that factor divided by the polarisation; passage, mixing and polarisation stay as in the
    design.
    """
    return (
        wall_factor / last_polarisation
        - (1 - effective_mixing + effective_mixing * wall_factor / last_polarisation)
    ) / (
        wall_factor / last_polarisation
        - chloride_passage * (1 - effective_mixing + effective_mixing * wall_factor / last_polarisation)
    )


@dataclass(frozen=True)
class Verdict:
    """Saturation of one feed at one temperature, by place.

    Parameters
    ----------
    feed, concentrate, wall, highest : Saturation
        `highest` is the wall at the maximum factor looked at.
    factors : tuple of float
        Concentration factors of the four.
    """

    feed: Saturation
    concentrate: Saturation
    wall: Saturation
    highest: Saturation
    factors: tuple[float, float, float, float]

    def minerals(self) -> tuple[str, ...]:
        """Those that are modelled: the water holds all their elements."""
        return tuple(m for m in MINERALS if self.feed.index(m) is not None)

    def points(self, mineral: str) -> list[tuple[float, float]]:
        """(factor, saturation index) of the four states."""
        states = (self.feed, self.concentrate, self.wall, self.highest)
        return [(f, float(s.index(mineral) or 0.0)) for f, s in zip(self.factors, states, strict=True)]


def _ratios(factors: Mapping[str, float], by: float) -> dict[str, float]:
    """Growth of each ion when chloride grows by `by`: the shares kept back stay in their order."""
    chloride = factors.get("Cl", 1.0)
    power = math.log(by) / math.log(chloride) if chloride != 1.0 else 1.0
    return {k: v**power if v > 0.0 else 0.0 for k, v in factors.items()}


def _grown(feed: Water, factors: Mapping[str, float], polarisation: float, highest: float,
           gas: float) -> tuple[Water, Water, Water]:
    """Concentrate, its wall, and the wall at the maximum factor."""
    bulk = grown(feed, factors, gas)
    return (bulk, grown(bulk, dict.fromkeys((*factors, "Cl", "HCO3"), polarisation), gas),
            grown(feed, _ratios(factors, highest), gas))


def judge(feed: Water, temperature: float, factors: Mapping[str, float], polarisation: float,
          highest: float) -> Verdict:
    """Saturation in the feed, in the concentrate, at the wall of the last element and at a maximum factor.

    Parameters
    ----------
    feed : Water
        After all doses, alkalinity and carbon known.
    temperature : float
        K.
    factors : Mapping[str, float]
        Concentrate over raw molality by ion, from the solved array; ``"HCO3"`` for alkalinity and carbon.
    polarisation : float
        Wall over bulk at the end of the last element.
    highest : float
        Concentration factor at the wall of the maximum recovery looked at, of chloride.

    Returns
    -------
    Verdict

    Notes
    -----
    Each state costs one engine run (some 1.4 ms), fluorite another 0.4 ms where there is fluoride; answers are
    kept by content.
    """
    first = saturations([(feed, temperature)])[0]
    bulk, wall, most = _grown(feed, factors, polarisation, highest, first.carbon_dioxide)
    second, third, fourth = saturations([(w, temperature) for w in (bulk, wall, most)])
    at = factors.get("Cl", 1.0)
    return Verdict(first, second, third, fourth, (1.0, at, at * polarisation, highest))


def crossing(points: Sequence[tuple[float, float]], level: float = 0.0) -> float | None:
    """Factor at which an index reaches a level.

    Parameters
    ----------
    points : sequence of (factor, index)
        The first is the feed.
    level : float
        Saturation index.

    Returns
    -------
    float or None
        1 where the feed is there already; None where the maximum factor does not reach it. Between the points
        the index is the polynomial of the factor's logarithm through all of them, within 0.01 of the engine
        (tested; brucite 0.03).
    """
    rising = sorted(dict(points).items())
    if rising[0][1] >= level:
        return rising[0][0]
    if rising[-1][1] < level:
        return None
    index = interpolated(rising)
    low, high = math.log(rising[0][0]), math.log(rising[-1][0])
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if index(middle) < level else (low, middle)
    return math.exp(0.5 * (low + high))


def interpolated(points: Sequence[tuple[float, float]]) -> Callable[[float], float]:
    """Index as the polynomial of the factor's logarithm through all points, in the form of divided differences.

    Parameters
    ----------
    points : sequence of (factor, index)

    Returns
    -------
    callable
        Logarithm of a factor -> index; within 0.01 of the engine between the points (tested; brucite 0.03).
    """
    rising = sorted(dict(points).items())
    xs, c = [math.log(x) for x, _ in rising], [y for _, y in rising]
    for order in range(1, len(xs)):
        for i in range(len(xs) - 1, order - 1, -1):
            c[i] = (c[i] - c[i - 1]) / (xs[i] - xs[i - order])
    back = [*zip(c[-2::-1], xs[-2::-1], strict=True)]

    def index(x: float) -> float:
        y = c[-1]
        for a, b in back:
            y = a + (x - b) * y
        return y

    return index


def over_recovery(verdict: Verdict, *, passage: float, mixing: float, polarisation: float,
                  recoveries: Sequence[float]) -> dict[str, list[float]]:
    """Saturation index of each mineral at the wall, over recovery, for a picture.

    Parameters
    ----------
    verdict : Verdict
        What `judge` found: the four states the curve runs through.
    passage, mixing : float
        Of chloride, and the effective mixing of the design.
    polarisation : float
        Wall over bulk.
    recoveries : sequence of float

    Returns
    -------
    dict of mineral to list of float
        One index a recovery, minerals that are modelled only; see `interpolated`.
    """
    with values(keep=False):
        factors = [factor_of_recovery.at("scaling.factor", recovery=y, chloride_passage=passage,
                                         effective_mixing=mixing)
                   for y in recoveries]
    at = [math.log(float(factor) * polarisation) for factor in factors]
    return {m: [curve(x) for x in at] for m in verdict.minerals()
            for curve in (interpolated(verdict.points(m)),)}
