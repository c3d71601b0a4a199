"""What is dissolved: the constituents the kit models and what a dosed substance adds.

Both come from tables (``data/chemistry/``), whose rows nest and so have a reader of their own.
Nothing here calculates a water.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from desalbook.problems import DesignError

__all__ = ["CARBONATE", "IONS", "REACTANTS", "Ion", "Reactant", "add_reactant", "remove_reactant", "table"]


@dataclass(frozen=True)
class Ion:
    """One dissolved constituent.

    Parameters
    ----------
    key, name : str
        ``"SO4"`` and ``"sulfate"``.
    charge : int
        Charge of the ion as written, for an ion balance.
    conserved_charge : int
        Charge left when its share of alkalinity is taken off (phosphate -1, carbonate 0).
    molar_mass : float
        kg/mol, of the species as counted in salinity (boron as boric acid).
    basis_molar_mass : float
        kg/mol, of what a laboratory reports (boron as B); the same number for most.
    engine : Mapping[str, str]
        Engine element name by data set; a data set that lacks the element is absent.
    bases : Mapping[str, float]
        kg/mol of other substances it may be reported as (nitrate as ``"N"``).
    carbonate : bool
        Part of inorganic carbon, which a `Water` carries as a total.
    redox : str
        The oxidation state it is held in, where that matters.
    usual : (str, str) or None
        What a raw water holds, per volume, with units.
    usual_source : str
        Where that range comes from.
    """

    key: str
    name: str
    charge: int
    conserved_charge: int
    molar_mass: float
    basis_molar_mass: float
    engine: Mapping[str, str] = field(hash=False)
    bases: Mapping[str, float] = field(hash=False, default_factory=lambda: MappingProxyType({}))
    carbonate: bool = False
    redox: str = ""
    usual: tuple[str, str] | None = None
    usual_source: str = ""


@dataclass(frozen=True)
class Reactant:
    """What one mole of a dosed substance adds to a water.

    Parameters
    ----------
    key, name : str
        ``"H2SO4"`` and ``"sulfuric acid"``.
    molar_mass : float
        kg/mol of the pure substance.
    alkalinity : float
        eq/mol; negative for an acid.
    carbon : float
        mol inorganic carbon per mol.
    ions : Mapping[str, float]
        mol of each ion per mol.
    note : str
        The simplification made, if any; belongs beside the figure.
    """

    key: str
    name: str
    molar_mass: float
    alkalinity: float
    carbon: float
    ions: Mapping[str, float] = field(hash=False)
    note: str = ""


@cache
def table(name: str) -> dict:
    """One chemistry table (``ions``, ``reactants``, ``reference_seawater``); ``source`` is a source key."""
    return tomllib.loads(files("desalbook.data").joinpath("chemistry", f"{name}.toml").read_text("utf-8"))


def _mass(atoms: Mapping[str, float]) -> float:
    weights = table("ions")["atomic_weights"]
    return sum(weights[a] * n for a, n in atoms.items()) * 1e-3


def _ions() -> Mapping[str, Ion]:
    made = {}
    for key, row in table("ions")["ions"].items():
        made[key] = Ion(
            key=key, name=row["name"], charge=row["charge"], conserved_charge=row["conserved_charge"],
            molar_mass=_mass(row["atoms"]), basis_molar_mass=_mass(row.get("basis_atoms", row["atoms"])),
            engine=MappingProxyType({d: row[d] for d in ("brine", "fresh", "wateq") if d in row}),
            bases=MappingProxyType({b: _mass(atoms) for b, atoms in row.get("bases", {}).items()}),
            carbonate=row.get("carbonate", False), redox=row.get("redox", ""),
            usual=tuple(row["usual"]) if "usual" in row else None, usual_source=row.get("usual_source", ""))
    return MappingProxyType(made)


def _reactant(key: str, row: Mapping[str, Any]) -> Reactant:
    return Reactant(
        key=key, name=row["name"], molar_mass=_mass(row["atoms"]), alkalinity=float(row["alkalinity"]),
        carbon=float(row["carbon"]), ions=MappingProxyType(dict(row["ions"])), note=row.get("note", ""))


def _reactants() -> dict[str, Reactant]:
    return {key: _reactant(key, row) for key, row in table("reactants")["reactants"].items()}


def add_reactant(key: str, row: Mapping[str, Any]) -> Reactant:
    """A dosed substance of a user's own, as a row of ``chemistry/reactants.toml``.

    Parameters
    ----------
    key : str
        Its formula.
    row : Mapping
        ``name``, ``atoms``, ``alkalinity`` (eq/mol), ``carbon`` and ``ions`` (mol/mol), ``note``.

    Raises
    ------
    DesignError
        The formula is taken, or charge is not conserved: the ions do not carry what alkalinity takes.
    """
    if key in _REACTANTS:
        raise DesignError("the substance is given twice", where="chemistry/reactants", value=key,
                          do="give another formula")
    for name in ("name", "atoms", "alkalinity", "carbon", "ions"):
        if name not in row:
            raise DesignError(f"has no {name}", where=f"chemistry/reactants[{key}]", do=f"set {name} = ...")
    for ion in row["ions"]:
        if ion not in IONS:
            raise DesignError("not a constituent of the water", where=f"chemistry/reactants[{key}].ions", value=ion,
                              allowed=", ".join(IONS), do="choose one of these")
    made = _reactant(key, row)
    carried = sum(n * IONS[ion].conserved_charge for ion, n in made.ions.items())
    if abs(carried - made.alkalinity) > 1e-9:
        raise DesignError("charge is not conserved", where=f"chemistry/reactants[{key}].alkalinity",
                          value=made.alkalinity, allowed=f"{carried:g} for these ions", do="correct one of the two")
    _REACTANTS[key] = made
    return made


def remove_reactant(key: str) -> None:
    """Take a substance away again."""
    del _REACTANTS[key]


IONS = _ions()
_REACTANTS = _reactants()
REACTANTS: Mapping[str, Reactant] = MappingProxyType(_REACTANTS)
CARBONATE = tuple(k for k, ion in IONS.items() if ion.carbonate)
