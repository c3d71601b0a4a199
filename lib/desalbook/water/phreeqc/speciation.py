"""Speciation of one water: pH, free species, saturation, density, conductivity."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from ...problems import EngineError
from . import engine
from .waters import LEAST_ALKALINITY, TEMPERATURES, Substitution, Water, number_in, punch, send, solution

__all__ = ["MINERALS", "Speciation", "complete", "speciate"]

MINERALS = {"calcite": "Calcite", "aragonite": "Aragonite", "gypsum": "Gypsum", "anhydrite": "Anhydrite",
            "barite": "Barite", "celestite": "Celestite", "fluorite": "Fluorite", "brucite": "Brucite",
            "silica": "SiO2(a)"}

# Ion pairs of the three data sets, counted with the species they are made of.
_PAIRED = ("Ca", "Mg", "Sr", "Ba", "Fe", "Mn")
_BICARBONATE = ("HCO3-", "NaHCO3", "KHCO3", *(f"{m}HCO3+" for m in _PAIRED))
_CARBONATE = ("CO3-2", "NaCO3-", *(f"{m}CO3" for m in _PAIRED))


@dataclass(frozen=True)
class Speciation:
    """What the engine finds in a water.

    Parameters
    ----------
    ph : float
        Activity scale: -log10 of the hydrogen ion activity, the single-ion activity of data set ``brine`` by
        the Pitzer convention. From the alkalinity and carbon of seawater at 25 degC ``brine`` answers 0.07
        above the NBS value of the published constants; given pH, carbon is less touched.
    ionic_strength, alkalinity, carbon : float
        mol/kg, eq/kg, mol/kg water.
    water_activity : float
        Of use only from data set ``brine``; the others reckon it as 1 - 0.017 x sum of molality.
    co2, bicarbonate, carbonate : float
        mol/kg, their ion pairs included, so that the three add up to `carbon`.
    boric_acid, borate : float
        mol/kg, borate pairs included.
    saturation : tuple of (str, float or None)
        log10(IAP/Ksp) by mineral; None = not modelled (no such mineral or element in the data or the water).
    charge_imbalance : float
        eq/kg; positive when cations exceed anions. Nothing was adjusted.
    charge_imbalance_share : float
        The same over the sum of cation and anion equivalents (-1 to 1).
    density : float or None
        kg/m3 at 101 325 Pa.
    conductivity : float or None
        S/m at the water's temperature.
    temperature : float
        K.
    warnings : tuple of str
    substitutions : tuple of Substitution
    engine : EngineRecord
    """

    ph: float
    ionic_strength: float
    water_activity: float
    co2: float
    bicarbonate: float
    carbonate: float
    carbon: float
    alkalinity: float
    boric_acid: float
    borate: float
    saturation: tuple[tuple[str, float | None], ...]
    charge_imbalance: float
    charge_imbalance_share: float
    density: float | None
    conductivity: float | None
    temperature: float
    warnings: tuple[str, ...]
    substitutions: tuple[Substitution, ...]
    engine: engine.EngineRecord

    def index(self, mineral: str) -> float | None:
        """Saturation index of a mineral of `MINERALS`; None where it is not modelled."""
        return dict(self.saturation)[mineral]

    def ratio(self, mineral: str) -> float | None:
        """Saturation ratio IAP/Ksp of a mineral; None where it is not modelled."""
        index = self.index(mineral)
        return None if index is None else 10.0**index


def _total(species: tuple[str, ...]) -> str:
    return " + ".join(f'MOL("{s}")' for s in species)


def columns(key: str, sent: dict[str, float]) -> dict[str, str]:
    """Headings and engine expressions for a full answer on this data set."""
    acid = "B(OH)3" if key == "brine" else "H3BO3"
    made = {
        "ph": '-LA("H+")', "ionic_strength": "MU", "log_water_activity": 'LA("H2O")', "alkalinity": "ALK",
        "carbon": 'TOT("C(4)")', "co2": 'MOL("CO2") + 2 * MOL("(CO2)2")', "bicarbonate": _total(_BICARBONATE),
        "carbonate": _total(_CARBONATE), "boric_acid": f'MOL("{acid}")',
        "borate": f'TOT("B") - MOL("{acid}")',
        "imbalance": "CHARGE_BALANCE", "imbalance_percent": "PERCENT_ERROR", "density": "RHO",
        "conductivity": "SC",
    }
    for name, phase in MINERALS.items():
        if phase.lower() in engine.phases(key):
            made[f"si_{name}"] = f'SI("{phase}")'
    for element in sent:
        made[f"total_{element}"] = f'TOT("{element}")'
    return made


def _agree(row: dict[str, float], sent: dict[str, float]) -> None:
    """Every element sent must be in the solved water, to the engine's tolerance."""
    for element, amount in sent.items():
        if abs(row[f"total_{element}"] - amount) > 1e-6 * amount + 1e-13:
            raise EngineError(f"the engine kept {row[f'total_{element}']:.6g} mol/kg of it", where=element,
                              value=f"{amount:.6g}", unit="mol/kg", do="check this water; it is not used")


def _row(outcome: engine.Outcome, sent: dict[str, float]) -> dict[str, float]:
    # the engine writes 1e-99 for a species that is not there
    row = {name: 0.0 if abs(value) < 1e-90 else value for name, value in outcome.row().items()}
    _agree(row, sent)
    return row


@lru_cache(maxsize=64)
def _speciation_text(water: Water, temperature: float, database: str = "brine") -> tuple[str, str] | None:
    """What `speciate` asks the engine of a water of known alkalinity and carbon; None of others."""
    alkalinity, carbon = water.conserved() or (0.0, 0.0)
    if alkalinity < LEAST_ALKALINITY or carbon <= 0.0:
        return None
    sent, _ = send(water, database)
    text = solution(1, temperature, sent, alkalinity=alkalinity, carbon=carbon)
    return database, punch(columns(database, sent)) + text + "END\n"


def solve(water: Water, temperature: float, key: str) -> tuple[dict[str, float], tuple[str, ...],
                                                               tuple[Substitution, ...]]:
    """Solved values of a water at a temperature, warnings, substitutions."""
    engine.database(key)
    temperature = number_in("temperature", temperature, *TEMPERATURES, "K")
    carbonated = water.alkalinity is not None or water.carbon is not None
    if temperature != water.temperature and carbonated and water.conserved() is None:
        water = complete(water, key)
    pair = water.conserved()
    sent, swaps = send(water, key)
    if pair is None:
        text = solution(1, temperature, sent, ph=water.ph, alkalinity=water.alkalinity, carbon=water.carbon)
        if water.alkalinity is not None and water.alkalinity < LEAST_ALKALINITY:
            raise EngineError("too little alkalinity to find carbon from pH", where="water.alkalinity",
                              value=water.alkalinity, unit="eq/kg",
                              allowed=f"above {LEAST_ALKALINITY:g} eq/kg",
                              do="give carbon with pH, or carbon with alkalinity")
        outcome = engine.run(key, punch(columns(key, sent)) + text + "END\n")
        row = _row(outcome, sent)
        if water.alkalinity is not None and not _close(row["alkalinity"], water.alkalinity):
            raise EngineError("alkalinity and pH do not go together", where="water.alkalinity",
                              value=water.alkalinity, unit="eq/kg",
                              do="at this pH hydroxide and borate hold more than that; check both")
        return row, outcome.warnings, swaps
    alkalinity, carbon = pair
    if (asked := _speciation_text(water, temperature, key)) is not None:
        try:
            outcome = engine.run(*asked)
            row = _row(outcome, sent)
            if _close(row["alkalinity"], alkalinity) and _close(row["carbon"], carbon):
                return row, outcome.warnings, swaps
        except EngineError:
            pass  # the bracketed search below answers, or says why not
    ph = _search(alkalinity, carbon, temperature, key, sent)
    text = solution(1, temperature, sent, ph=ph, carbon=carbon)
    outcome = engine.run(key, punch(columns(key, sent)) + text + "END\n")
    return _row(outcome, sent), outcome.warnings, swaps


def _close(found: float, wanted: float) -> bool:
    return abs(found - wanted) <= 1e-6 * abs(wanted) + 1e-10


def _search(alkalinity: float, carbon: float, temperature: float, key: str, sent: dict[str, float]) -> float:
    """The pH at which this carbon has this alkalinity, alkalinity negative or not.

    Bisection and regula falsi by turns: never leaves the bracket.
    """
    head = punch({"alkalinity": "ALK"})

    def over(ph: float) -> float:
        text = solution(1, temperature, sent, ph=ph, carbon=carbon)
        return engine.run(key, head + text + "END\n").row()["alkalinity"] - alkalinity

    low, high = 1.5, 12.5
    at_low, at_high = over(low), over(high)
    if at_low > 0.0 or at_high < 0.0:
        raise EngineError("no pH between 1.5 and 12.5 gives it", where="water.alkalinity",
                          value=alkalinity, unit="eq/kg", do="check the acid or alkali added")
    last = 0
    for turn in range(80):
        ph = low - at_low * (high - low) / (at_high - at_low) if turn % 3 else 0.5 * (low + high)
        here = over(ph)
        if here <= 0.0:
            low, at_low, at_high = ph, here, at_high * (0.5 if last < 0 else 1.0)
            last = -1
        else:
            high, at_high, at_low = ph, here, at_low * (0.5 if last > 0 else 1.0)
            last = 1
        if high - low < 1e-9 or abs(here) < 1e-13:
            return ph
    return ph


def speciate(water: Water, temperature: float | None = None, database: str = "brine") -> Speciation:
    """Speciate a water.

    Parameters
    ----------
    water : Water
    temperature : float, optional
        K; the water's own unless given. Where it differs, carbon and alkalinity are found at the water's own
        temperature first and kept, and pH follows.
    database : str
        ``"brine"`` (Pitzer data: seawater, concentrate), ``"fresh"`` (permeate, product) or ``"wateq"``.

    Returns
    -------
    Speciation

    Raises
    ------
    EngineError
        No solution, an element lost, an unknown warning, or a number out of range.
    """
    at = water.temperature if temperature is None else temperature
    row, warnings, swaps = solve(water, at, database)
    density = row["density"] if database != "wateq" else None
    conductivity = row["conductivity"] * 1e-4 if database != "wateq" else None  # uS/cm to S/m
    return Speciation(
        ph=row["ph"], ionic_strength=row["ionic_strength"], water_activity=10.0 ** row["log_water_activity"],
        co2=row["co2"], bicarbonate=row["bicarbonate"], carbonate=row["carbonate"], carbon=row["carbon"],
        alkalinity=row["alkalinity"], boric_acid=row["boric_acid"], borate=max(0.0, row["borate"]),
        saturation=tuple((name, _index(row, name)) for name in MINERALS),
        charge_imbalance=row["imbalance"], charge_imbalance_share=row["imbalance_percent"] / 100.0,
        density=None if density is None else density * 1000.0, conductivity=conductivity,
        temperature=float(at), warnings=warnings, substitutions=swaps, engine=engine.engine_record(database))


def _index(row: dict[str, float], mineral: str) -> float | None:
    value = row.get(f"si_{mineral}", -99.0)
    return None if value <= -99.0 else value


def complete(water: Water, database: str = "brine") -> Water:
    """The same water with alkalinity, carbon and pH all three, at its own temperature."""
    row, _, _ = solve(water, water.temperature, database)
    carbonless = water.carbon is None and water.alkalinity is None
    return replace(water, ph=row["ph"], carbon=0.0 if carbonless else _kept(water.carbon, row["carbon"]),
                   alkalinity=_kept(water.alkalinity, row["alkalinity"]))


def _kept(given: float | None, found: float) -> float:
    return found if given is None else given
