"""Reference Composition seawater at a salinity: the water most checks start from. Loads neither engine nor arrays."""

from __future__ import annotations

from .phreeqc import Water
from .species import IONS, table

__all__ = ["reference_masses", "reference_sea"]

_ATOMS = {"B(OH)4": {"B": 1, "O": 4, "H": 4}, "B(OH)3": {"B": 1, "O": 3, "H": 3}, "OH": {"O": 1, "H": 1}}


def _molar_mass(species: str) -> float:
    if species in _ATOMS:
        return sum(table("ions")["atomic_weights"][a] * n for a, n in _ATOMS[species].items()) * 1e-3
    return IONS[species].molar_mass


def reference_masses(salinity: float) -> dict[str, float]:
    """kg of each species of the table per kg of seawater; salinity in kg salt per kg seawater."""
    data = table("reference_seawater")
    ratio = salinity / data["salinity"]
    return {species: moles * ratio * _molar_mass(species) for species, moles in data["moles"].items()}


def reference_sea(salinity: float, temperature: float = 298.15, *, ph: float | None = None) -> Water:
    """Reference Composition seawater.

    Parameters
    ----------
    salinity : float
        Absolute salinity, kg salt per kg seawater (0 < salinity < 0.2).
    temperature : float
        K.
    ph : float, optional
        Activity scale. Given, it replaces the table's inorganic carbon, alkalinity being kept; otherwise pH
        follows from alkalinity and carbon.

    Returns
    -------
    Water
        Molality per kg water, in the constant proportions of Millero et al. 2008.
    """
    data = table("reference_seawater")
    per_kg_water = salinity / data["salinity"] / (1.0 - salinity)
    moles = {k: v * per_kg_water for k, v in data["moles"].items()}
    alkalinity = moles["HCO3"] + 2.0 * moles["CO3"] + moles["B(OH)4"] + moles["OH"]
    carbon = moles["HCO3"] + moles["CO3"] + moles["CO2"]
    ions = {k: v for k, v in moles.items() if k in IONS and not IONS[k].carbonate}
    ions["B"] = moles["B(OH)3"] + moles["B(OH)4"]
    return Water(tuple(ions.items()), alkalinity, carbon if ph is None else None, ph, temperature)
