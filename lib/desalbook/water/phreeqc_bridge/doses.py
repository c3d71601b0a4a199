"""What a dose does to a water, and what calcite does: pH after dosing, dose for a pH, saturation pH, CCPP."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from ...problems import EngineError, Infeasible
from ..species import REACTANTS, Reactant
from . import engine
from .speciation import Speciation, complete, speciate
from .waters import LEAST_ALKALINITY, Substitution, Water, number_in, punch, salinity, send, solution

__all__ = ["Langelier", "added", "dose", "dose_to_ph", "langelier", "permeate_ph", "saturation_k", "saturation_ph"]

# Held as sodium or chloride while calcite reacts, since the engine would let their oxidation states react.
_REDOX = frozenset({"Fe", "Mn", "NH4", "NO3"})


def _reactant(key: str) -> Reactant:
    try:
        return REACTANTS[key]
    except KeyError:
        raise EngineError("is not in the table of dosed substances", where="reagent", value=str(key),
                          allowed=", ".join(REACTANTS)) from None


def added(water: Water, additions: Mapping[str, float]) -> Water:
    """A water after doses by stoichiometry alone, pH to be found; mol per kg water by key of `REACTANTS`."""
    ions = dict(water.molality)
    alkalinity, carbon = water.conserved() or (0.0, 0.0)
    for key, amount in additions.items():
        row = _reactant(key)
        alkalinity += amount * row.alkalinity
        carbon += amount * row.carbon
        for ion, n in row.ions.items():
            ions[ion] = ions.get(ion, 0.0) + amount * n
    short = next((k for k, v in (*ions.items(), ("carbon", carbon)) if v < 0.0), None)
    if short is not None:
        raise EngineError("more is taken out than the water holds", where=f"dose[{short}]",
                          do="reduce the negative addition")
    return Water(tuple(ions.items()), alkalinity, carbon, None, water.temperature)


def dose(water: Water, temperature: float, additions: Mapping[str, float],
         database: str = "fresh") -> tuple[Water, Speciation]:
    """A water after a dose.

    Parameters
    ----------
    water : Water
    temperature : float
        K, at which the dosed water is solved.
    additions : Mapping[str, float]
        mol per kg water by key of `REACTANTS`; a negative amount takes out (calcite that precipitates).
    database : str
        ``"fresh"`` for permeate and product, ``"brine"`` for sea water.

    Returns
    -------
    water : Water
        Alkalinity, carbon and pH all known, at `temperature`.
    speciation : Speciation

    Raises
    ------
    EngineError
        Unknown substance, or no pH between 1.5 and 12.5 answers.

    Notes
    -----
    The closed system: no gas leaves or enters, nothing precipitates unless the table says so. Alkalinity and
    carbon are counted by stoichiometry and the engine finds pH. Chlorine is counted as already reduced to
    chloride, sulfite as oxidised to sulfate, so hypochlorite with its bisulfite yields sulfate, chloride and
    one hydrogen ion a mole; each row's `note` says what that leaves out. Solids of coagulation leave.
    """
    after = added(complete(water, database), additions)
    found = speciate(after, temperature, database)
    return replace(after, ph=found.ph, temperature=found.temperature), found


def dose_to_ph(water: Water, temperature: float, target_ph: float, reagent: str,
               database: str = "fresh") -> float:
    """Amount of one substance that brings a water to a pH.

    Parameters
    ----------
    water : Water
    temperature : float
        K, at which the pH is wanted.
    target_ph : float
        Activity scale, 3 to 11.5.
    reagent : str
        Key of `REACTANTS`.
    database : str

    Returns
    -------
    float
        mol per kg water, zero or more.

    Raises
    ------
    Infeasible
        The substance moves pH the other way, or never gets there.

    Notes
    -----
    At a fixed pH the alkalinity a water must hold is nearly linear in the dose, so the search is on
    alkalinity, not on pH: it converges as well for permeate, which has almost no buffer, as for sea water.
    """
    row = _reactant(reagent)
    if not 3.0 <= target_ph <= 11.5:
        raise EngineError("outside the range of the search", where="target_ph", value=target_ph,
                          allowed="3 to 11.5")
    if row.alkalinity == 0.0 and row.carbon == 0.0:
        raise Infeasible("does not change pH", where="reagent", value=reagent, do="choose an acid or a base")
    full = complete(water, database)

    def lacking(amount: float) -> float:
        """Alkalinity the target pH asks for, less what the dosed water has (eq/kg)."""
        after = added(full, {reagent: amount})
        wanted = replace(after, alkalinity=None, ph=target_ph, temperature=temperature)
        return speciate(wanted, None, database).alkalinity - (after.alkalinity or 0.0)

    start = lacking(0.0)
    if abs(start) < 1e-10:
        return 0.0
    # a first guess from the slope of a small dose; secant from there, each step within what makes sense
    before, at_before = 0.0, start
    now = 1e-6
    at_now = lacking(now)
    for _ in range(40):
        slope = (at_now - at_before) / (now - before)
        step = -at_now / slope if slope else float("inf")
        if (now + step < 0.0 and (start > 0) == (slope > 0)) or abs(now + step) > 5.0:
            raise _never(row, target_ph)
        before, at_before, now = now, at_now, max(0.0, now + step)
        at_now = lacking(now)
        if abs(at_now) < 1e-11 or now == before:
            break
    found = dose(water, temperature, {reagent: now}, database)[1].ph
    if now <= 0.0 or abs(found - target_ph) > 0.002:
        raise _never(row, target_ph)
    return now


def _never(row: Reactant, target_ph: float) -> Infeasible:
    return Infeasible(f"{row.name} does not bring this water to that pH", where="target_ph", value=target_ph,
                      do="choose another substance or another target")


@dataclass(frozen=True)
class Langelier:
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


def langelier(water: Water, temperature: float | None = None, database: str = "fresh") -> Langelier:
    """Langelier index and calcium carbonate precipitation potential.

    Parameters
    ----------
    water : Water
    temperature : float, optional
        K; the water's own unless given.
    database : str
        ``"fresh"``, or ``"wateq"`` for a second opinion; ``"brine"`` for sea water.

    Returns
    -------
    Langelier
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
    return Langelier(
        ph=found.ph, saturation_ph=ph_s, index=None if ph_s is None else found.ph - ph_s,
        saturation_index=found.index("calcite"), precipitation_potential=row["calcite"] - reserve,
        equilibrium_ph=row["ph"], substitutions=swaps, warnings=warnings, engine=found.engine)


def permeate_ph(amounts: Mapping[str, float], temperature: float, *, co2: float, bicarbonate: float,
                carbonate: float = 0.0, alkalinity: float | None = None) -> Speciation:
    """pH of a permeate into which dissolved carbon dioxide passes freely.

    Parameters
    ----------
    amounts : Mapping[str, float]
        mol/kg of the ions that passed, carbonate species apart.
    temperature : float
        K.
    co2, bicarbonate, carbonate : float
        mol/kg that passed; their sum is the permeate's inorganic carbon.
    alkalinity : float, optional
        eq/kg; bicarbonate + 2 carbonate unless given. What borate and hydroxide passed belongs in it.

    Returns
    -------
    Speciation
        Data set ``"fresh"``.
    """
    held = bicarbonate + 2.0 * carbonate if alkalinity is None else alkalinity
    water = Water(tuple((k, float(v)) for k, v in amounts.items()), held, co2 + bicarbonate + carbonate, None,
                  temperature)
    return speciate(water, temperature, "fresh")


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
        pCa and pAlk per litre. With 2 mmol/kg calcium and 2 meq/kg alkalinity; greatest near 1.3 mol/kg, and
        falling after it.

    Raises
    ------
    EngineError
        Out of range.
    """
    strength = number_in("ionic_strength", ionic_strength, 0.02, 4.0, "mol/kg")
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
