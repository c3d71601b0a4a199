"""A water as the engine sees it: amounts per kilogram of water, and two of alkalinity, carbon and pH."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ...problems import EngineError
from ..species import CARBONATE, IONS
from . import engine

__all__ = ["Substitution", "Water", "salinity"]

TEMPERATURES = (273.15, 363.15)
# At least this alkalinity is sent to the engine as such; it ignores a negative one without a word.
LEAST_ALKALINITY = 1e-7


@dataclass(frozen=True)
class Water:
    """Composition of a water. All amounts are per kilogram of *water*, not of solution.

    Parameters
    ----------
    molality : tuple of (str, float)
        mol/kg by ion key of `IONS`, carbonate species apart; boron is the total, silica the total.
    alkalinity : float or None
        eq/kg, total alkalinity (borate, hydroxide, phosphate and silicate included).
    carbon : float or None
        mol/kg inorganic carbon (CO2 + HCO3 + CO3).
    ph : float or None
        pH on the activity scale, which is what a meter set in NBS buffers is meant to read; in seawater some
        0.13 above the total scale. Other scales are converted by the caller.
    temperature : float
        K, of the pH.

    Notes
    -----
    Two of alkalinity, carbon and pH fix the third; pH alone means a water without carbonate. Where alkalinity
    and carbon both stand they rule, as they survive mixing, heating and dosing, and pH is what the engine
    finds.
    """

    molality: tuple[tuple[str, float], ...]
    alkalinity: float | None = None
    carbon: float | None = None
    ph: float | None = None
    temperature: float = 298.15

    def __post_init__(self) -> None:
        seen: dict[str, float] = {}
        for key, value in self.molality:
            if key not in IONS or key in CARBONATE or key in seen:
                what = "is given twice" if key in seen else "is not an ion of this table"
                raise EngineError(f"{key!r} {what}", where="water.molality",
                                  allowed=", ".join(k for k in IONS if k not in CARBONATE),
                                  do="give carbonate as carbon and alkalinity")
            seen[key] = number_in(f"water.molality[{key}]", value, 0.0, 20.0, "mol/kg")
        object.__setattr__(self, "molality", tuple((k, seen[k]) for k in IONS if k in seen))
        for name, low, high, unit in (("alkalinity", -10.0, 10.0, "eq/kg"), ("carbon", 0.0, 10.0, "mol/kg"),
                                      ("ph", 0.0, 14.0, ""), ("temperature", *TEMPERATURES, "K")):
            if (value := getattr(self, name)) is not None or name == "temperature":
                object.__setattr__(self, name, number_in(f"water.{name}", value, low, high, unit))
        if self.ph is None and (self.alkalinity is None or self.carbon is None):
            raise EngineError("pH is unknown", where="water", allowed="two of alkalinity, carbon and pH",
                              do="give pH, or both alkalinity and carbon")

    @classmethod
    def of(cls, amounts: Mapping[str, float], *, alkalinity: float | None = None, ph: float | None = None,
           temperature: float = 298.15) -> Water:
        """Water from mol/kg by ion; HCO3, CO3 and CO2 among the keys add up to its inorganic carbon."""
        given = [number_in(f"water.molality[{k}]", amounts[k], 0.0, 10.0, "mol/kg") for k in CARBONATE
                 if k in amounts]
        carbon = sum(given) if given else None
        rest = tuple((k, v) for k, v in amounts.items() if k not in CARBONATE)
        return cls(rest, alkalinity=alkalinity, carbon=carbon, ph=ph, temperature=temperature)

    def amounts(self) -> dict[str, float]:
        """mol/kg by ion, inorganic carbon under ``"HCO3"``."""
        made = dict(self.molality)
        if self.carbon is not None:
            made["HCO3"] = self.carbon
        return made

    def conserved(self) -> tuple[float, float] | None:
        """(alkalinity, carbon) where both stand, so that pH follows at any temperature; else None."""
        return None if self.alkalinity is None or self.carbon is None else (self.alkalinity, self.carbon)

    def scaled(self, factor: float) -> Water:
        """All dissolved matter in proportion, pH to be found."""
        pair = self.conserved()
        if pair is None:
            raise EngineError("only a water of known alkalinity and carbon can be scaled", where="water",
                              do="complete it first")
        ions = tuple((k, v * factor) for k, v in self.molality)
        return Water(ions, pair[0] * factor, pair[1] * factor, None, self.temperature)


def number_in(where: str, value: object, low: float, high: float, unit: str) -> float:
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        number = math.nan
    if not low <= number <= high:
        raise EngineError("outside what the engine is asked for", where=where, value=value, unit=unit,
                          allowed=f"{low:g} to {high:g} {unit}".strip())
    return number


def salinity(water: Water) -> float:
    """Dissolved salt, kg per kg of water.

    Inorganic carbon counts as bicarbonate, boron as boric acid; a water whose carbon is not known counts its
    alkalinity as bicarbonate. Against the mass sum of the Reference Composition this is 1e-4 low, half of it
    from the abridged atomic weight of chlorine.
    """
    carbon = water.carbon if water.carbon is not None else max(0.0, water.alkalinity or 0.0)
    return sum(v * IONS[k].molar_mass for k, v in water.molality) + carbon * IONS["HCO3"].molar_mass


@dataclass(frozen=True)
class Substitution:
    """An ion the data set lacks, and what stood in for it.

    Parameters
    ----------
    ion, by : str
        What was replaced, and by which ion.
    molality : float
        mol/kg replaced.
    share : float
        Its part of the sum of |charge| x molality of the whole water: the size of the effect.
    reason : str
        Why.
    """

    ion: str
    by: str
    molality: float
    share: float
    reason: str


def send(water: Water, key: str, *, inert: frozenset[str] = frozenset()) -> tuple[dict[str, float],
                                                                                  tuple[Substitution, ...]]:
    """Engine element names with mol/kg, and what had to be replaced.

    An ion the data set lacks, or one named `inert`, becomes the same conserved charge of chloride or sodium,
    so that the charge balance and the alkalinity stay as they are.
    """
    sent: dict[str, float] = {}
    swaps: list[Substitution] = []
    whole = sum(abs(IONS[k].charge) * v for k, v in water.molality)
    defined = engine.elements(key)
    for ion, amount in water.molality:
        if amount == 0.0:
            continue
        row = IONS[ion]
        name = row.engine.get(key)
        if name is not None and ion not in inert:
            if name not in defined:
                raise EngineError(f"the data set {key} does not define {name}",
                                  where=f"water.molality[{ion}]", do="correct the ion table")
            sent[name] = sent.get(name, 0.0) + amount
            continue
        left = row.conserved_charge * amount
        by = "Na" if left > 0 else "Cl"
        sent[by] = sent.get(by, 0.0) + abs(left)
        why = "kept out of redox" if name is not None else f"not in {engine.DATABASES[key].file}"
        swaps.append(Substitution(ion, by, amount, abs(row.charge) * amount / whole if whole else 0.0, why))
    return sent, tuple(swaps)


def solution(number: int, temperature: float, elements: Mapping[str, float], *, ph: float | None = None,
             alkalinity: float | None = None, carbon: float | None = None, saturated: str = "") -> str:
    """One SOLUTION block. `saturated` names a mineral that fixes the pH."""
    lines = [f"SOLUTION {number}", f" temp {temperature - 273.15!r}", " units mol/kgw"]
    lines.append(f" pH {7.0 if ph is None else float(ph)!r}" + (f" {saturated} 0.0" if saturated else ""))
    lines += [f" {name} {float(amount)!r}" for name, amount in elements.items()]
    if alkalinity is not None:
        lines.append(f" Alkalinity {float(alkalinity)!r}")
    if carbon is not None and carbon > 0.0:
        lines.append(f" C(4) {float(carbon)!r}")
    return "\n".join(lines) + "\n"


def punch(columns: Mapping[str, str]) -> str:
    """Output block: heading and engine expression."""
    lines = ["SELECTED_OUTPUT 1", " -reset false", "USER_PUNCH 1", " -headings " + " ".join(columns),
             " -start"]
    lines += [f" {10 + n} PUNCH {text}" for n, text in enumerate(columns.values())]
    return "\n".join([*lines, " -end"]) + "\n"
