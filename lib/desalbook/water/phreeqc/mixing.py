"""Waters that mix, concentrate and meet a wall: what is conserved is added up, pH follows from it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from ...problems import EngineError
from ..species import IONS
from .speciation import complete
from .waters import Water, number_in

__all__ = ["at_wall", "blend", "concentrate", "grown"]


def blend(parts: Sequence[tuple[Water, float]], temperature: float | None = None, database: str = "brine") -> Water:
    """One water of several.

    Parameters
    ----------
    parts : sequence of (Water, float)
        Waters and their shares, by mass of water; shares add up to one.
    temperature : float, optional
        K of the blend; the mean of the parts by share unless given (heats of mixing neglected).
    database : str
        Data set that completes a part whose alkalinity or carbon is not known.

    Returns
    -------
    Water
        Amounts, alkalinity and carbon are the means; pH is left to be found.

    Raises
    ------
    EngineError
        No parts, a share out of range, or shares that do not add up to one (1e-9).
    """
    shares = [number_in(f"blend[{n}].share", s, 0.0, 1.0, "") for n, (_, s) in enumerate(parts)]
    if not math.isclose(math.fsum(shares), 1.0, rel_tol=0.0, abs_tol=1e-9):
        raise EngineError("the shares do not add up to one", where="blend", value=math.fsum(shares), allowed="1",
                          do="correct the shares")
    full = [complete(w, database) for w, _ in parts]
    keys = [k for k in IONS if any(k in dict(w.molality) for w in full)]
    amounts = tuple((k, math.fsum(s * dict(w.molality).get(k, 0.0) for w, s in zip(full, shares, strict=True)))
                    for k in keys)
    pairs = [w.conserved() or (0.0, 0.0) for w in full]
    alkalinity, carbon = (math.fsum(s * p[n] for p, s in zip(pairs, shares, strict=True)) for n in (0, 1))
    if temperature is None:
        temperature = math.fsum(s * w.temperature for w, s in zip(full, shares, strict=True))
    return Water(amounts, alkalinity, carbon, None, temperature)


def grown(water: Water, factors: Mapping[str, float], carbon_dioxide: float) -> Water:
    """A water whose ions grow each by its factor, while dissolved carbon dioxide stays as it is.

    Parameters
    ----------
    water : Water
        Of known alkalinity and carbon.
    factors : Mapping[str, float]
        By ion; ``"HCO3"`` stands for alkalinity and for the carbon that is not carbon dioxide. An ion that is
        not named grows as chloride does.
    carbon_dioxide : float
        mol/kg of the water; the membrane holds none of it back, so it does not grow.
    """
    pair = water.conserved()
    if pair is None:
        raise EngineError("only a water of known alkalinity and carbon can be concentrated", where="water",
                          do="complete it first")
    rest = factors.get("Cl", 1.0)
    ions = tuple((k, v * factors.get(k, rest)) for k, v in water.molality)
    alkalinity, carbon = pair
    g = factors.get("HCO3", rest)
    return Water(ions, alkalinity * g, carbon_dioxide + (carbon - carbon_dioxide) * g, None, water.temperature)


def concentrate(water: Water, recovery: float, passages: Mapping[str, float] | None = None, *,
                carbon_dioxide: float = 0.0) -> Water:
    """What is left of a water when part of it has passed a membrane.

    Parameters
    ----------
    water : Water
        Of known alkalinity and carbon.
    recovery : float
        Permeate water over feed water, by mass, 0 up to 0.95; a negative one gives back what was taken.
    passages : Mapping[str, float], optional
        Permeate over feed molality by ion, zero unless named; ``"HCO3"`` for alkalinity and bicarbonate.
    carbon_dioxide : float
        mol/kg of the water that passes unhindered.

    Returns
    -------
    Water
        m_c = m_f (1 - Y p) / (1 - Y) for each ion; pH is left to be found.
    """
    number_in("recovery", recovery, -20.0, 0.95, "")
    named = passages or {}
    factors = {k: (1.0 - recovery * named.get(k, 0.0)) / (1.0 - recovery) for k in (*IONS, "HCO3")}
    return grown(water, factors, carbon_dioxide)


def at_wall(water: Water, polarisation: float, *, carbon_dioxide: float = 0.0) -> Water:
    """The water at the face of the membrane.

    Parameters
    ----------
    water : Water
        The bulk, of known alkalinity and carbon.
    polarisation : float
        Wall over bulk concentration, 1 to 5, the same for every ion: ions diffuse at speeds that differ by a
        factor of two, so sulfate at the wall is taken some percent low and hydroxide high.
    carbon_dioxide : float
        mol/kg of the bulk; it passes with the water and is not polarised.
    """
    number_in("polarisation", polarisation, 1.0, 5.0, "")
    return grown(water, dict.fromkeys((*IONS, "HCO3"), polarisation), carbon_dioxide)
