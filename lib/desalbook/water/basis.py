"""How a laboratory states an amount: per volume, per mass, in moles or equivalents, and as which substance.

``"50 mg/L"`` is the ion itself (boron as B, silica as SiO2), ``"118 mg/L as CaCO3"``, ``"11 mg/L as N"``,
``"412 mg/kg"`` per kilogram of the water as sampled, ``"10.3 mmol/L"`` and ``"21 meq/L"``. What was written stays
a given line in its own unit; only the relations below turn it into the ion per volume.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from desalbook.problems import DesignError, explained
from desalbook.trail import Column, Figure, assumed, constant, relation
from desalbook.units import (
    KINDS,
    ChargeNumber,
    Concentration,
    Content,
    EqPerM3,
    KgPerM3,
    MassRatio,
    MolarMass,
    MolPerM3,
    parse,
    show,
)
from desalbook.units.fieldmeta import FieldMeta, Named, nearest
from desalbook.water.species import IONS

__all__ = [
    "WAYS",
    "IonsMeta",
    "Stated",
    "as_ion_of_equivalents",
    "as_ion_of_moles",
    "as_ion_of_share",
    "as_ions",
    "bases",
    "by_mass_ratio",
    "equivalent_charges",
    "together",
]

HALF_CACO3 = constant("M_eq", 0.050043, "kg/mol", source="iupac-weights", title="Equivalent mass of CaCO3")
WAYS = {
    "": ("concentration", 80.0, "80 g/L", "per volume"),
    "_per_mass": ("content", 0.08, "80 g/kg", "per mass of the water as sampled"),
    "_moles": ("amount concentration", 4000.0, "4 mol/L", "in moles"),
    "_equivalents": ("charge concentration", 4000.0, "4 eq/L", "in equivalents"),
}
"""End of the line's id: kind, the most that is possible, that as text, and in words."""
_NO_EQUIVALENT = frozenset({"B", "SiO2", "CO2", "PO4"})
"""Uncharged, or of a charge that moves with pH: neither equivalents nor 'as CaCO3' say how much there is."""


class Stated(Named):
    """Amounts as a laboratory stated them: each number in the SI unit of its own way.

    Parameters
    ----------
    values, ways, bases, texts : mapping by ion
        SI number; key of `WAYS`; substance it is stated as (empty: the ion itself); the text.
    """

    def __init__(self, values: Mapping[str, float], ways: Mapping[str, str], bases: Mapping[str, str],
                 texts: Mapping[str, str]):
        super().__init__(values)
        self.ways, self.bases, self.texts = dict(ways), dict(bases), dict(texts)

    @property
    def said(self) -> str:
        """What differs from mass of the ion per volume, in words; empty where nothing does."""
        odd = [f"{k} {self.texts[k]}" for k in self if self.bases[k] or self.ways[k]]
        return f"stated as {', '.join(odd)}" if odd else ""


def bases(ion: str) -> dict[str, float]:
    """Substances an ion may be stated as: name to kg of the ion (as the table reports it) per kg of that."""
    row = IONS[ion]
    own = {ion: 1.0, "ion": 1.0}
    own |= {b: row.basis_molar_mass / mass for b, mass in row.bases.items()}
    if row.charge and ion not in _NO_EQUIVALENT:
        own["CaCO3"] = row.basis_molar_mass / abs(row.charge) / HALF_CACO3.value
    return own


def _read(ion: str, raw: Any, where: str) -> tuple[float, str, str, str]:
    text, mark, basis = raw.partition(" as ") if isinstance(raw, str) else (raw, "", "")
    basis = basis.strip(" ")
    known = bases(ion)
    if not mark and isinstance(raw, str) and (last := raw.rpartition(" ")[2]) in known:
        text, basis = raw.rpartition(" ")[0], last  # 120 mg/L CaCO3
    if mark and basis not in known:
        raise DesignError("cannot be stated as that", where=where, value=raw, allowed=", ".join(known),
                          do="state the ion itself, or one of these")
    found: tuple[float, str] | None = None
    for way, (kind, *_) in WAYS.items():
        try:
            found = parse(text, kind, where), way
            break
        except DesignError:
            continue
    if found is None:
        parse(text, "concentration", where)  # refuses, with the accepted spelling
        raise AssertionError(where)
    value, way = found
    _, most, shown, _ = WAYS[way]
    if not 0.0 <= value <= most:
        raise DesignError("outside its range", where=where, value=raw, allowed=f"0 to {shown}",
                          do="enter a value in that range")
    if basis and way in ("_moles", "_equivalents") and basis not in (ion, "ion"):
        raise DesignError("moles and equivalents need no basis", where=where, value=raw,
                          do="omit the words after the unit")
    if way == "_equivalents" and (not IONS[ion].charge or ion in _NO_EQUIVALENT):
        raise DesignError("has no fixed charge, so equivalents do not say how much there is", where=where, value=raw,
                          do="state it as mass or in mmol/L")
    return value, way, "" if basis in (ion, "ion") else basis, str(raw).strip()


@cache
def _usual(ion: str) -> tuple[float, float] | None:
    """What a raw water holds of it, kg/m3."""
    ends = IONS[ion].usual
    return None if ends is None else (parse(ends[0], "concentration", ion), parse(ends[1], "concentration", ion))


@dataclass(frozen=True)
class IonsMeta(FieldMeta):
    """An analysis in the design file: ions by name, each in any usual unit and basis."""

    axis: str = field(default="ion")

    def _read_mapping(self, raw: object, where: str) -> Named:
        if isinstance(raw, Stated):
            return raw
        if not isinstance(raw, Mapping):
            raise DesignError("not a table of named values", where=where, value=raw,
                              do="enter it as { name = value, ... }")
        read: dict[str, tuple[float, str, str, str]] = {}
        for key, text in raw.items():
            if not isinstance(key, str) or key not in self.keys:
                raise DesignError("unknown key", where=f"{where}[{key}]",
                                  do=explained(f"{where}[{key}]") or nearest(key, self.keys))
            read[key] = _read(key, text, f"{where}[{key}]")
        order = [k for k in self.keys if k in read]
        columns = [{k: read[k][n] for k in order} for n in range(4)]
        return Stated(*columns)  # type: ignore[arg-type]

    def entry(self, name: str, value: Any = None) -> FieldMeta:
        """In the unit it is stated in; without a range to slide in where a basis goes with it, lest it be lost."""
        one = super().entry(name, value)
        if name not in IONS:
            return one
        ion, way = IONS[name], value.ways.get(name, "") if isinstance(value, Stated) else ""
        title = f"{ion.name.capitalize()} ({name})"
        if way or (isinstance(value, Stated) and value.bases.get(name)):
            return replace(one, title=title, kind=KINDS[WAYS[way][0]], possible=None, usual=None)
        return replace(one, title=title, usual=_usual(name), source=ion.usual_source or one.source)

    def _read_quantity(self, raw: Any, where: str) -> float:
        ion = where.rpartition("[")[2].removesuffix("]")
        return _read(ion, raw, where)[0] if ion in IONS else super()._read_quantity(raw, where)

    def stated(self, name: str, value: Any, units: str = "si") -> str:
        """An amount in the unit and basis it was written in; empty where that is mass of the ion per volume."""
        if not isinstance(value, Stated) or not (value.ways.get(name) or value.bases.get(name)):
            return ""
        basis = value.bases[name]
        return f"{show(value[name], WAYS[value.ways[name]][0], units)}{f' as {basis}' if basis else ''}"

    def parts(self, value: Any) -> Iterable[tuple[str, FieldMeta, Any]]:
        """A line for each way of stating; along one axis, so an ion stated otherwise stands there as zero."""
        if not isinstance(value, Stated):
            yield from ((way, self, None) for way in (*WAYS, "_basis"))
            return
        plain = not any(value.bases.values()) and not any(value.ways.values())
        ratio = {k: bases(k)[value.bases[k] or "ion"] for k in value}
        yield ("_basis", replace(self, kind=KINDS["mass ratio"], symbol="r_b", possible=None,
                                 title="Ion per mass of stated substance"),
               None if plain else Stated(ratio, value.ways, value.bases, value.texts))
        several = len(set(value.ways.values())) > 1
        for way, (kind, *_, words) in WAYS.items():
            mine = {k: x if value.ways[k] == way else 0.0 for k, x in value.items()}
            used = any(w == way for w in value.ways.values())
            title = f"{self.title}, {words}" + (" (0: stated in another unit)" if several else "")
            meta = replace(self, kind=KINDS[kind], title=title if way or several else self.title, possible=None)
            part = Stated(mine, value.ways, value.bases, value.texts) if used else None
            yield way, meta, part


@relation("Concentration by a mass ratio", symbol="C", unit="kg/m^3", source="definition")
def by_mass_ratio(stated: Concentration, basis_ratio: MassRatio) -> Concentration:
    """Concentration of one substance from that of another, by the ratio of their masses.

    Converts an ion from the substance it is stated as, and a dose into what a complete reaction makes or takes; side
    reactions and what does not react are neglected.
    """
    return stated * basis_ratio


@relation("Ion stated per mass of water as sampled", symbol="C", unit="kg/m^3", source="definition")
def as_ion_of_share(stated_share: Content, basis_ratio: MassRatio, density: KgPerM3) -> Concentration:
    """Ion per volume, from mass per kilogram of the water as sampled.

    Goes through the density of this water; taking mg/kg for mg/L would be 2.5 % low in seawater.
    """
    return stated_share * basis_ratio * density


@relation("Ion stated in moles", symbol="C", unit="kg/m^3", source="definition")
def as_ion_of_moles(stated_amount: MolPerM3, molar_mass: MolarMass) -> Concentration:
    """Ion per volume, from moles per litre.

    The molar mass is that of the form the table reports, boron as B and silica as SiO2.
    """
    return stated_amount * molar_mass


@relation("Ion stated in equivalents", symbol="C", unit="kg/m^3", source="definition")
def as_ion_of_equivalents(stated_equivalents: EqPerM3, equivalent_charge: ChargeNumber,
                          molar_mass: MolarMass) -> Concentration:
    """Ion per volume, from milliequivalents per litre.

    Holds for ions of fixed charge only; boron, silica, carbon dioxide and phosphate are refused before it.
    """
    return stated_equivalents / equivalent_charge * molar_mass


@relation("Ions stated in several units, together", symbol="C", unit="kg/m^3", source="definition")
def together(concentration: Concentration, more_concentration: Concentration) -> Concentration:
    """Ions of an analysis that states some of them in another unit, joined into one row.

    Each ion stands in one of the two rows and is zero in the other, so nothing is counted twice.
    """
    return concentration + more_concentration


def as_ions(at: str, stated: Mapping[str, Column], basis: Column | None, molar_mass: Column,
            density: Figure | float | None, charges: Column | None = None) -> Column:
    """Concentration of every ion as the table reports it, recorded as ``<at>.concentration``.

    An analysis that states every ion as itself and per volume needs no step, and is handed back.

    Parameters
    ----------
    at : str
        ``"water"`` or ``"water.analyses[well]"``.
    stated : mapping
        Given columns by way.
    basis : Column or None
        kg of ion per kg of the substance it is stated as.
    molar_mass : Column
        kg/mol as the table reports.
    density : Figure, float or None
        kg/m3; needed where ions are stated per mass. A bare number, one that is tried, in the values context only.
    charges : Column, optional
        From `equivalent_charges`, where ions are stated in equivalents.
    """
    if basis is None:
        return stated[""]
    ends, whole = list(stated), None
    for n, way in enumerate(ends):
        id = f"{at}.concentration" if len(ends) == 1 else f"{at}.concentration{way or '_per_volume'}"
        if way == "":
            part = by_mass_ratio.at(id, stated=stated[way], basis_ratio=basis, title="Ion stated per volume")
        elif way == "_per_mass":
            part = as_ion_of_share.at(id, stated_share=stated[way], basis_ratio=basis, density=density)
        elif way == "_moles":
            part = as_ion_of_moles.at(id, stated_amount=stated[way], molar_mass=molar_mass)
        else:
            part = as_ion_of_equivalents.at(id, stated_equivalents=stated[way], molar_mass=molar_mass,
                                            equivalent_charge=equivalent_charges(at, stated, molar_mass.keys)
                                            if charges is None else charges)
        if whole is None:
            whole = part
        else:
            name = f"{at}.concentration" if n == len(ends) - 1 else f"{at}.concentration_to{way}"
            whole = together.at(name, concentration=whole, more_concentration=part)
    assert whole is not None
    return whole


def equivalent_charges(at: str, stated: Mapping[str, Column], keys: tuple[str, ...]) -> Column | None:
    """Charge of each ion, for equivalents; None where none is stated in them."""
    if "_equivalents" not in stated:
        return None
    return assumed(f"{at}.equivalent_charge", [float(abs(IONS[k].charge) or 1) for k in keys], "charge number",
                   axis="ion", keys=keys, title="Charge, for equivalents", symbol="z", source="iupac-weights",
                   table="chemistry/ions")
