"""Chemicals by role, and the solution of one as bought and as fed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated

from desalbook.problems import DesignError
from desalbook.tables import Cell, Row, table
from desalbook.trail import (
    Figure,
    assumed,
    checked,
    relation,
    scope,
)
from desalbook.trail.inputs import Inputs
from desalbook.units import (
    KINDS,
    Fraction,
    KgPerM3,
    MassFraction,
)
from desalbook.water.species import REACTANTS, Reactant

__all__ = [
    "ROLES",
    "Chemical",
    "Neat",
    "Role",
    "Solution",
    "aged_strength",
    "by_role",
    "chemical",
    "complete",
    "density_between",
    "density_diluted",
    "molar_mass",
    "not_followed",
    "options",
    "register",
    "solution",
    "stated",
    "stoichiometry",
    "tabulated_density",
]

DoseFlow = Annotated[float, KINDS["flow.dose"]]
Litres = Annotated[float, KINDS["volume.small"]]
Days = Annotated[float, KINDS["time.day"]]
Seconds = Annotated[float, KINDS["time.second"]]


@dataclass(frozen=True)
class Role:
    """What a chemical is dosed for, and what its row must state for that.

    Parameters
    ----------
    key : str
        As in column ``role`` of the table of chemicals.
    columns : tuple of str
        Columns a row of this role must state.
    basis : str
        What the dose is counted as; empty where it is the substance itself.
    alkalinity : int
        Sign of what a mole of it does to the alkalinity; the substance must then be known to the chemistry.
    reacts : bool
        Whether its substance must be known to the chemistry (``chemistry/reactants``).
    ratios : tuple of (str, str)
        Tables and keys of the mass ratios it needs, with ``{formula}`` in small letters.
    ages : bool
        Whether it loses strength in storage.
    """

    key: str
    columns: tuple[str, ...] = ()
    basis: str = ""
    alkalinity: int = 0
    reacts: bool = False
    ratios: tuple[tuple[str, str], ...] = ()
    ages: bool = False


@dataclass(frozen=True)
class Chemical:
    """A row of the table of chemicals under its role."""

    row: Row
    role: Role

    @property
    def key(self) -> str:
        """Key of the row."""
        return self.row.key

    @property
    def formula(self) -> str:
        """Active substance; empty for a product."""
        return self.row["formula"].value

    @property
    def substance(self) -> Reactant:
        """What a mole of it adds to a water."""
        return REACTANTS[self.formula]

    def ratio_key(self, key: str) -> str:
        """Key of a mass ratio of this substance, such as ``{formula}-per-cl2``."""
        return key.format(formula=self.formula.lower())


_ROWS = ("formula", "dose_basis", "strength", "density", "hazard", "caution", "keeping", "incompatible", "price")
"""Columns of every chemical."""
ROLES: dict[str, Role] = {}


def register(role: Role) -> Role:
    """Add a role; rows of the table of chemicals may then name it."""
    if role.key in ROLES:
        raise DesignError(
            "the role is registered twice", where="chemicals.role", value=role.key, do="give it another key"
        )
    ROLES[role.key] = role
    return role


register(Role("oxidant", ("molar_mass",), "as Cl2", ages=True, ratios=(("stoichiometry", "clo3-per-cl2"),)))
register(
    Role(
        "dechlorination",
        reacts=True,
        alkalinity=-1,
        ratios=(
            ("stoichiometry", "{formula}-per-cl2"),
            ("stoichiometry", "{formula}-per-o2"),
            ("field_factors", "{formula}-per-cl2"),
        ),
    )
)
register(Role("acid", ("molar_mass",), reacts=True, alkalinity=-1))
register(Role("alkali", ("molar_mass",), reacts=True, alkalinity=1))
register(
    Role(
        "coagulant",
        ("molar_mass",),
        reacts=True,
        alkalinity=-1,
        ratios=(
            ("stoichiometry", "fe-per-{formula}"),
            ("stoichiometry", "caco3-per-{formula}"),
            ("stoichiometry", "feoh3-per-{formula}"),
        ),
    )
)
for _product in ("scale inhibitor", "biocide", "corrosion inhibitor", "cleaning acid"):
    register(Role(_product, basis="as product"))
for _mineral in ("carbonation", "remineralisation", "alkalinity"):
    register(Role(_mineral, ("molar_mass",), reacts=True))


def chemical(key: str, where: str = "dosing.chemical") -> Chemical:
    """A chemical by its key in the table.

    Raises
    ------
    DesignError
        No such row, a role that is not registered, or something the role needs is missing; names it.
    """
    row = table("chemicals").row(key, where)
    name = row["role"].value
    if name not in ROLES:
        raise DesignError(
            "the role of a chemical is not registered",
            where=f"chemicals[{key}].role",
            value=name,
            allowed=", ".join(ROLES),
            do="register it, or choose one that is",
        )
    made = Chemical(row, ROLES[name])
    for lost in _missing(made):
        raise DesignError(
            "a chemical lacks what its role needs",
            where=f"chemicals[{key}]",
            value=lost,
            do=f"state it: {name} needs it",
        )
    return made


def _missing(made: Chemical) -> Iterator[str]:
    """What a chemical lacks, by name."""
    row, role = made.row, made.role
    for column in role.columns:
        if row.get(column) is None:
            yield column
    basis = role.basis or f"as {made.formula}"
    if row["dose_basis"].value != basis:
        yield f'dose_basis = "{basis}"'
    if role.reacts:
        if made.formula not in REACTANTS:
            yield f"chemistry/reactants[{made.formula}]"
        elif made.substance.alkalinity * role.alkalinity < 0 or (role.alkalinity and not made.substance.alkalinity):
            yield f"alkalinity of {made.formula} with the sign of its role"
    for name, key in role.ratios:
        if made.ratio_key(key) not in table(name):
            yield f"{name}[{made.ratio_key(key)}]"


def by_role(role: str) -> tuple[Chemical, ...]:
    """All chemicals of a role, in the order of the table."""
    return tuple(chemical(k) for k, row in table("chemicals").items() if row["role"].value == role)


def options(role: str) -> Mapping[str, str]:
    """Keys and titles of a role for a list of choice; rows added later are in it."""
    if role not in ROLES:
        raise LookupError(f"no role of a chemical: {role}")
    return table("chemicals").options(role=role)


def complete() -> None:
    """Refuse a chemical that lacks something, by its name, and a role that no row has."""
    table("chemicals").require("role", *_ROWS)
    for key in table("chemicals"):
        chemical(key)
    for role in ROLES:
        if not by_role(role):
            raise DesignError(
                "no chemical has this role", where="chemicals.role", value=role, do="add a row, or take the role out"
            )


def molar_mass(id: str, of: Chemical, title: str, symbol: str = "M") -> Figure:
    """Molar mass of the basis a chemical is dosed in, as a line."""
    cell = of.row["molar_mass"]
    return assumed(
        id,
        cell.value,
        "molar mass",
        title=title,
        symbol=symbol,
        text=cell.text,
        source="iupac-weights",
        table="chemicals",
        row=of.key,
    )


@relation(
    "Density at a strength",
    symbol="rho_c",
    unit="kg/m^3",
    source="definition",
    note="straight line between two rows of the table of densities, at 20 degC",
)
def density_between(
    strength: MassFraction,
    strength_low: MassFraction,
    density_low: KgPerM3,
    strength_high: MassFraction,
    density_high: KgPerM3,
) -> KgPerM3:
    """Density of a solution whose strength lies between two rows of its table.

    Straight line in strength at 20 degC; beyond the table's ends it is not used.
    """
    return density_low + (density_high - density_low) * (strength - strength_low) / (strength_high - strength_low)


@relation(
    "Density after dilution",
    symbol="rho_f",
    unit="kg/m^3",
    source="definition",
    note="volumes add; for solutions no table holds",
)
def density_diluted(
    fed_strength: MassFraction, neat_strength: MassFraction, neat_density: KgPerM3, water_density: KgPerM3
) -> KgPerM3:
    """Density of a solution after dilution with water.

    Volumes add, which is some tenths of a per cent off for strong acid and caustic.
    """
    return 1 / (fed_strength / neat_strength / neat_density + (1 - fed_strength / neat_strength) / water_density)


@relation(
    "Strength when used",
    symbol="w_s",
    unit="1",
    source="common-practice",
    note="hypochlorite loses strength with time, warmth and strength itself",
)
def aged_strength(neat_strength: MassFraction, strength_left: Fraction) -> MassFraction:
    """Strength of a chemical when it is used.

    Strength as delivered times what storage leaves of it; only hypochlorite loses enough to matter.
    """
    return neat_strength * strength_left


@dataclass(frozen=True)
class Neat:
    """Solution as bought: strength as delivered and when used (kg/kg, in the basis of the dose), density (kg/m3)."""

    chemical: Chemical
    delivered: Figure
    strength: Figure
    density: Figure
    caution: str


@dataclass(frozen=True)
class Solution:
    """Solution as fed: strength (kg/kg, in the basis of the dose) and density (kg/m3), and what it is made of."""

    strength: Figure
    density: Figure
    caution: str
    neat: Neat


def not_followed(key: str) -> str:
    """What a chemical brings that the streams of the plant leave out of their ions, in words.

    Parameters
    ----------
    key : str
        Row of the table of chemicals.
    """
    known = REACTANTS.get(table("chemicals").row(key, "dosing.chemical")["formula"].value)
    if known is None or not known.ions:
        return "followed by mass; nothing of it is in the ions of the streams"
    brought = " and ".join(f"{n:g} {ion}" for ion, n in known.ions.items())
    return f"followed by mass; what a mole brings ({brought}) is not in the ions of the streams"


def _assumed(id: str, cell: Cell, row: Row, name: str) -> Figure:
    return assumed(
        id,
        cell.value,
        cell.kind,
        title=f"{cell.title}, {row.title.partition(',')[0].lower()}",
        symbol=cell.symbol,
        text=cell.text,
        source=cell.source,
        place=cell.place,
        table=name,
        row=row.key,
    )


def stated(inp: Inputs, id: str, column: str, row: Row) -> Figure:
    """The written value of an id, or the table's."""
    written = inp(id)
    return written if written is not None else _assumed(id, row[column], row, "chemicals")


def stoichiometry(id: str, key: str) -> Figure:
    """A mass ratio of the table of stoichiometry as a line."""
    row = table("stoichiometry")[key]
    return assumed(
        id,
        row["ratio"].value,
        "mass ratio",
        title=row.title,
        symbol="r",
        text=row["ratio"].text,
        source=row.source,
        place=row.place,
        table="stoichiometry",
        row=key,
    )


def tabulated_density(id: str, strength: Figure, formula: str) -> Figure | None:
    """Density at a strength by the table of densities, a line of its own; None for a substance it lacks.

    Raises
    ------
    DesignError
        The strength lies beyond the rows.
    """
    rows = [x for x in table("solution_densities").ascending("mass_fraction") if x["formula"].value == formula]
    if not formula or not rows:
        return None
    above = [x for x in rows if x["mass_fraction"].value >= strength.value - 1e-12]
    if not above:
        raise DesignError(
            "beyond the table of densities",
            where=strength.id,
            value=strength.show(),
            allowed=f"up to {rows[-1]['mass_fraction'].text}",
            do=f"lower {strength.id}, or clear it: the solution is then fed as it comes"
            if strength.id.endswith("fed_strength")
            else f"enter {strength.id.removesuffix('strength')}density, by the certificate of the delivery",
        )
    upper = above[0] if above[0] is not rows[0] else rows[1]
    lower = rows[rows.index(upper) - 1]
    ends: dict[str, Figure] = {}
    with scope(because=[strength]):
        for end, row in (("low", lower), ("high", upper)):
            for name, cell in (("strength", row["mass_fraction"]), ("density", row["density"])):
                ends[f"{name}_{end}"] = _assumed(f"{id}_{name}_{end}", cell, row, "solution_densities")
    return density_between.at(id, strength=strength, **ends)


def _neat_density(inp: Inputs, prefix: str, row: Row, strength: Figure) -> Figure:
    """Written; else of the row; else, at a strength the file states, of the table of densities."""
    if inp(f"{prefix}.density") is None and inp(f"{prefix}.strength") is not None:
        found = tabulated_density(f"{prefix}.density_used", strength, row["formula"].value)
        if found is not None:
            return found
    return stated(inp, f"{prefix}.density", "density", row)


def solution(inp: Inputs, prefix: str, of: Chemical, density: Figure | None = None) -> Solution:
    """The solution of a dosing line, by the file or by the table of chemicals.

    A supplier's sheet may state the ``density``; what is written beside it goes before. Hypochlorite, whose section has
    a ``strength_left``, is fed at its aged strength. A ``fed_strength`` thins it.
    """
    row, sheet = of.row, density
    delivered = neat = stated(inp, f"{prefix}.strength", "strength", row)
    density = sheet if sheet is not None and inp(f"{prefix}.density") is None else \
        _neat_density(inp, prefix, row, delivered)
    if of.role.ages:
        neat = aged_strength.at(
            f"{prefix}.strength_used", neat_strength=neat, strength_left=inp(f"{prefix}.strength_left")
        )
    caution = (f"{row.title.partition(',')[0]}: {row['hazard'].value} {row['caution'].value} {row['keeping'].value} "
               f"Keep apart from {row['incompatible'].value}.")
    bought = Neat(of, delivered, neat, density, caution)
    thin = inp(f"{prefix}.fed_strength")
    if thin is None:
        return Solution(neat, density, caution, bought)
    checked(
        f"{prefix}.fed_strength.check",
        thin,
        "<=",
        neat,
        title="Dilution",
        do=f"set {prefix}.fed_strength below the strength when used, or clear it",
        caution=caution,
    )
    thinned = tabulated_density(f"{prefix}.density_fed", thin, row["formula"].value)
    if thinned is None:
        water = assumed(
            f"{prefix}.water_density",
            998.2,
            "density",
            title="Density of the water of dilution",
            symbol="rho_w",
            source="crc-handbook",
            place="20 degC",
        )
        thinned = density_diluted.at(
            f"{prefix}.density_fed", fed_strength=thin, neat_strength=neat, neat_density=density, water_density=water
        )
    return Solution(thin, thinned, caution, bought)
