"""The water on its way through post-treatment, and the lines its steps have in common."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from desalbook.product.stoichiometry import dose_amount
from desalbook.tables import table
from desalbook.trail import Choice, Column, Figure, assumed, engine
from desalbook.water.phreeqc import EngineRecord, Water, speciate

__all__ = ["Course", "answer", "answers", "masses", "molar_mass", "moles"]


@dataclass
class Course:
    """The water on its way: what it is now, and the lines that led there.

    Parameters
    ----------
    water : Water
        Of this moment; each step puts another in its place.
    temperature : float
        K.
    content : Figure
        Water in a volume, kg/m3.
    basis : dict
        Lines that the engine's answers descend from.
    doses : dict
        kg/m3 by reagent.
    alkali : Figure or None
        Alkali that the window of the product asks for, mol/kg.
    chosen : list of Choice
        Choices of the design met so far.
    """

    water: Water
    temperature: float
    content: Figure
    basis: dict[str, Figure | Column]
    doses: dict[str, Figure] = field(default_factory=dict)
    alkali: Figure | None = None
    chosen: list[Choice] = field(default_factory=list)

    def ph_after(self, step: str, title: str) -> Figure:
        """Record the pH at this stage."""
        found = speciate(self.water, self.temperature, "fresh")
        return answer(f"product.ph_after[{step}]", found.ph, "ph.nbs", title, "pH", self.basis, found.engine, "")


def molar_mass(chemical: str, id: str) -> Figure:
    """Molar mass of one chemical of the table."""
    row = table("chemicals")[chemical]
    return assumed(
        id,
        row["molar_mass"].value,
        "molar mass",
        title=f"Molar mass, {row.title}",
        symbol="M",
        text=row["molar_mass"].text,
        source="iupac-weights",
        table="chemicals",
        row=row.key,
    )


def moles(chemical: str, id: str, given_dose: Figure, content: Figure) -> Figure:
    """A dose as moles per kilogram of water."""
    mass = molar_mass(chemical, f"{id}_molar_mass")
    return dose_amount.at(f"{id}_amount", dose=given_dose, molar_mass=mass, water_content=content)


def masses(id: str, keys: tuple[str, ...], values: list[float], how: str) -> Column:
    """Molar masses along axis ``ion``."""
    return assumed(
        id,
        values,
        "molar mass",
        title=f"Molar mass, {how}",
        symbol="M",
        axis="ion",
        keys=keys,
        source="iupac-weights",
        table="chemistry/ions",
    )


def answer(
    id: str, value: float, kind: str, title: str, symbol: str, inputs: Mapping[str, Any], record: EngineRecord,
    remark: str,
) -> Figure:
    """One number the geochemical engine answered."""
    return engine(id, value, kind, title=title, symbol=symbol, inputs=inputs, note=remark, **_cited(record))


def answers(
    id: str, values: Mapping[str, float], kind: str, title: str, symbol: str, inputs: Mapping[str, Any],
    record: EngineRecord, remark: str,
) -> Column:
    """One number for each ion, as the geochemical engine counts them."""
    return engine(id, list(values.values()), kind, title=title, symbol=symbol, inputs=inputs, note=remark,
                  axis="ion", keys=tuple(values), **_cited(record))


def _cited(record: EngineRecord) -> dict[str, Any]:
    return {"library": record.library, "version": record.library_version, "data": record.database,
            "checksum": record.sha256, "source": "phreeqc-2013"}
