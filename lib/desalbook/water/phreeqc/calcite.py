"""Calcite in a water: saturation pH, Langelier index, calcium carbonate precipitation potential (CCPP)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from ...problems import EngineError
from . import engine
from .speciation import complete, speciate
from .waters import LEAST_ALKALINITY, Substitution, Water, number_in, punch, salinity, send, solution

__all__ = ["CalciteEquilibrium", "calcite_equilibrium", "saturation_k", "saturation_ph"]

# Held as sodium or chloride while calcite reacts, since the engine would let their oxidation states react.
_REDOX = frozenset({"Fe", "Mn", "NH4", "NO3"})


@dataclass(frozen=True)
class CalciteEquilibrium:
    """Calcite in a water.

    Parameters
    ----------
    ph : float
        Of the water, activity scale.
    saturation_ph : float or None
        pH at which the same calcium and alkalinity would be in equilibrium with calcite, if any.
    index : float or None
        Langelier saturation index, pH - saturation pH; positive = supersaturated.
    saturation_index : float or None
        log10(IAP/Ksp) of calcite.
    precipitation_potential : float
        Calcium carbonate precipitation potential (CCPP), mol/kg water: positive = so much CaCO3 can
        precipitate, negative = so much can dissolve. Closed system, calcite only.
    equilibrium_ph : float
        pH when that has happened.
    substitutions : tuple of Substitution
    warnings : tuple of str
    engine : EngineRecord
    """

    ph: float
    saturation_ph: float | None
    index: float | None
    saturation_index: float | None
    precipitation_potential: float
    equilibrium_ph: float
    substitutions: tuple[Substitution, ...]
    warnings: tuple[str, ...]
    engine: engine.EngineRecord


def saturation_ph(water: Water, temperature: float | None = None, database: str = "fresh") -> float | None:
    """pH of equilibrium with calcite at the calcium and alkalinity of a water; None where there is none."""
    at = water.temperature if temperature is None else temperature
    full = complete(water, database)
    alkalinity, _ = full.conserved() or (0.0, 0.0)
    if dict(full.molality).get("Ca", 0.0) <= 0.0 or alkalinity < LEAST_ALKALINITY:
        return None
    sent, _ = send(full, database)
    head = punch({"ph": '-LA("H+")', "si": 'SI("Calcite")', "alkalinity": "ALK"})

    def index_at(ph: float) -> float:
        text = solution(1, at, sent, ph=ph, alkalinity=alkalinity)
        return engine.run(database, head + text + "END\n").row()["si"]

    try:
        text = solution(1, at, sent, ph=8.0, alkalinity=alkalinity, saturated="Calcite")
        row = engine.run(database, head + text + "END\n").row()
        same = abs(row["alkalinity"] / alkalinity - 1.0) < 1e-6
        if abs(row["si"]) < 1e-6 and same and row["ph"] < 10.5:
            return row["ph"]
    except EngineError:
        pass
    # the index rises with pH until hydroxide has eaten the alkalinity: walk up, then halve
    low, ph = None, 5.0
    while ph < 11.0:
        try:
            index = index_at(ph)
        except EngineError:
            return None
        if index >= 0.0:
            break
        low, ph = ph, ph + 0.25
    else:
        return None
    if low is None:
        return None
    high = ph
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if index_at(middle) < 0.0 else (low, middle)
    return 0.5 * (low + high)


def calcite_equilibrium(water: Water, temperature: float | None = None, database: str = "fresh") -> CalciteEquilibrium:
    """Langelier index and calcium carbonate precipitation potential.

    Parameters
    ----------
    water : Water
    temperature : float, optional
        K; the water's own unless given.
    database : str
        ``"fresh"``, or ``"wateq"`` for a second opinion; ``"brine"`` for seawater.

    Returns
    -------
    CalciteEquilibrium
        CCPP positive when CaCO3 can precipitate (some texts use the other sign).

    Notes
    -----
    Where the water holds iron, manganese, ammonium or nitrate, they stand as sodium or chloride while calcite
    reacts, and the result says so.
    """
    found = speciate(water, temperature, database)
    full = complete(water, database)
    at = found.temperature
    ph_s = saturation_ph(full, at, database)
    sent, swaps = send(full, database, inert=_REDOX)
    head = punch({"ph": '-LA("H+")', "calcite": 'EQUI("Calcite")'})
    text = solution(1, at, sent, ph=found.ph, carbon=full.carbon)
    reserve = 1.0  # mol of calcite at hand, more than any water can dissolve
    outcome = engine.run(database, f"{head}{text}EQUILIBRIUM_PHASES 1\n Calcite 0.0 {reserve!r}\nEND\n")
    row = outcome.row()
    swaps = found.substitutions + tuple(s for s in swaps if s not in found.substitutions)
    warnings = found.warnings + tuple(w for w in outcome.warnings if w not in found.warnings)
    return CalciteEquilibrium(
        ph=found.ph, saturation_ph=ph_s, index=None if ph_s is None else found.ph - ph_s,
        saturation_index=found.index("calcite"), precipitation_potential=row["calcite"] - reserve,
        equilibrium_ph=row["ph"], substitutions=swaps, warnings=warnings, engine=found.engine)


K_STRENGTHS = (0.02, 4.0)
"""Ionic strengths between which `saturation_k` answers, mol/kg."""


@lru_cache(maxsize=256)
def saturation_k(ionic_strength: float, temperature: float, database: str = "brine") -> float:
    """K = pHs - pCa - pAlk of calcite in sodium chloride, for the Stiff and Davis index.

    Parameters
    ----------
    ionic_strength : float
        mol/kg water, 0.02 to 4.
    temperature : float
        K.
    database : str
        ``"brine"``; the ion-pair data answer up to 0.1 lower above 0.1 mol/kg.

    Returns
    -------
    float
        pCa and pAlk per litre. With 2 mmol/kg calcium and 2 meq/kg alkalinity; maximum near 1.3 mol/kg, and
        falling after it.

    Raises
    ------
    EngineError
        Out of range.
    """
    strength = number_in("ionic_strength", ionic_strength, *K_STRENGTHS, "mol/kg")
    salt = strength - 0.006  # calcium chloride of 2 mmol/kg takes the rest
    water = Water.of({"Ca": 0.002, "Na": salt + 0.002, "Cl": salt + 0.004}, alkalinity=0.002, ph=7.5,
                     temperature=temperature)
    found = saturation_ph(water, temperature, database)
    if found is None:
        raise EngineError("no pH of saturation", where="ionic_strength", value=strength, unit="mol/kg",
                          do="check the ionic strength")
    solved = speciate(water, temperature, "brine")
    litre = (solved.density or 1000.0) / 1000.0 / (1.0 + salinity(water))  # kg of water in a litre
    return found + 2.0 * math.log10(0.002 * litre)
