"""What a dose does to a water: pH after dosing, dose for a pH, pH of a permeate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from ...problems import EngineError, Infeasible
from ..species import REACTANTS, Reactant
from .speciation import Speciation, complete, speciate
from .waters import Water

__all__ = ["added", "dose", "dose_to_ph", "permeate_ph"]


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
        ``"fresh"`` for permeate and product, ``"brine"`` for seawater.

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
    alkalinity, not on pH: it converges as well for permeate, which has almost no buffer, as for seawater.
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
