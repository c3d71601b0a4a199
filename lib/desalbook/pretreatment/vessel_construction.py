"""Construction of filter vessels: welded plate, or filament-wound composite.

A material is a row of the table ``vessel_plates``; its construction says how walls are sized and what limits them.
First thicknesses: the code in force and a licensed engineer govern.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

from desalbook.hydraulics.constants import Small
from desalbook.hydraulics.rows import row_line, standard_size
from desalbook.problems import TrailError
from desalbook.tables import Row, table
from desalbook.trail import Choice, Figure, assumed, checked, constant, relation, up
from desalbook.trail.inputs import Inputs
from desalbook.units import DifferencePa, Fraction, GaugePa, M

__all__ = [
    "CONSTRUCTIONS",
    "Construction",
    "Walls",
    "construction_of",
    "head_thickness",
    "laminate_thickness",
    "shell_thickness",
]

MILLIMETRE = constant("mm", 1e-3, "m", source="definition", title="One millimetre")
_CODE = (
    "a first thickness: openings, supports, wind, earthquake, vacuum and fatigue are not in it; the vessel code "
    "and a licensed engineer govern"
)


@relation("Thickness of the shell", symbol="t_s", unit="m", source="asme-bpvc-viii-1", place="UG-27(c)(1)", note=_CODE)
def shell_thickness(
    design_pressure: GaugePa,
    diameter: M,
    allowable_stress: DifferencePa,
    joint_efficiency: Fraction,
    corrosion_allowance: Small,
) -> Small:
    """Thickness of a cylindrical shell under internal pressure (hoop stress, inside radius).

    For thin shells: pressure well below the allowable stress. A first thickness: openings, supports, wind, vacuum and
    fatigue are not in it.
    """
    return (
        design_pressure * diameter / 2 / (allowable_stress * joint_efficiency - 0.6 * design_pressure)
        + corrosion_allowance
    )


@relation(
    "Thickness of the heads",
    symbol="t_h",
    unit="m",
    source="asme-bpvc-viii-1",
    place="UG-32(d), 2:1 ellipsoidal",
    note=_CODE,
)
def head_thickness(
    design_pressure: GaugePa,
    diameter: M,
    allowable_stress: DifferencePa,
    joint_efficiency: Fraction,
    corrosion_allowance: Small,
) -> Small:
    """Thickness of a 2:1 ellipsoidal head under internal pressure.

    On the inside diameter. A first thickness: openings and loads of supports are not in it.
    """
    return (
        design_pressure * diameter / (2 * allowable_stress * joint_efficiency - 0.2 * design_pressure)
        + corrosion_allowance
    )


@relation("Thickness of the laminate", symbol="t_l", unit="m", source="common-practice")
def laminate_thickness(plate: Small) -> Small:
    """Thickness of a wound laminate, built up in whole millimetres.

    Winding angle and number of layers decide what is really built; the manufacturer's calculation governs.
    """
    return up(plate / MILLIMETRE) * MILLIMETRE


@dataclass(frozen=True)
class Walls:
    """Thickness of shell and heads, m."""

    shell: Figure
    head: Figure


class Construction(ABC):
    """How the walls of a vessel are made; one object of it stands in `CONSTRUCTIONS`."""

    key: str
    columns: tuple[str, ...] = ("allowable_stress", "plate_density")

    @abstractmethod
    def walls(self, inp: Inputs, material: Choice, design_pressure: Figure, diameter: Figure) -> Walls:
        """Walls for a design pressure (Pa gauge) and a diameter (m), with what limits them."""

    def largest_diameter(self, row: Row) -> float | None:
        """Largest usual diameter of a material, m; None where the shop alone limits it."""
        return None


def _needed(inp: Inputs, material: Choice, design_pressure: Figure, diameter: Figure, joint: Figure) -> Walls:
    shared = {
        "design_pressure": design_pressure,
        "diameter": diameter,
        "allowable_stress": row_line(
            "filter_vessel.allowable_stress", "vessel_plates", material, "allowable_stress", because=[material]
        ),
        "joint_efficiency": joint,
        "corrosion_allowance": inp.number("filter_vessel.corrosion_allowance"),
    }
    return Walls(
        shell_thickness.at("filter_vessel.shell_needed", **shared),
        head_thickness.at("filter_vessel.head_needed", **shared),
    )


def _plate(inp: Inputs, name: str, needed: Figure) -> Figure:
    return standard_size(
        inp,
        f"filter_vessel.{name}_plate",
        "plates",
        "thickness",
        needed,
        title=f"Plate of the {name}",
        rule="smallest standard plate that is thick enough",
        do="choose a stronger filter_vessel.material or a lower design_pressure.class_filters, or use a smaller "
        "filters.diameter and more filters (filters.count)",
    )


class Welded(Construction):
    """Standard plates, welded and lined where they must be."""

    key = "welded"

    def walls(self, inp: Inputs, material: Choice, design_pressure: Figure, diameter: Figure) -> Walls:
        needed = _needed(inp, material, design_pressure, diameter, inp.number("filter_vessel.joint_efficiency"))
        return Walls(_plate(inp, "shell", needed.shell), _plate(inp, "head", needed.head))


class Wound(Construction):
    """Filament-wound composite: usual up to a diameter and a rated pressure; no welds."""

    key = "wound"
    columns = (*Construction.columns, "largest_diameter", "rated_pressure")

    def largest_diameter(self, row: Row) -> float | None:
        return row["largest_diameter"].value

    def walls(self, inp: Inputs, material: Choice, design_pressure: Figure, diameter: Figure) -> Walls:
        whole = assumed(
            "filter_vessel.laminate_efficiency",
            1.0,
            "fraction",
            title="Efficiency of a wound shell",
            symbol="E",
            source="definition",
            place="it has no weld",
        )
        needed = _needed(inp, material, design_pressure, diameter, whole)
        for key, value, column, do in (
            (
                "rated_pressure",
                design_pressure,
                "rated_pressure",
                "choose a lower design_pressure.class_filters, or a vessel of plate (filter_vessel.material)",
            ),
            (
                "largest_diameter",
                diameter,
                "largest_diameter",
                "use more and smaller filters (filters.count, filters.diameter), or a vessel of plate "
                "(filter_vessel.material)",
            ),
        ):
            limit = row_line(f"filter_vessel.{key}", "vessel_plates", material, column, because=[material])
            checked(
                f"filter_vessel.{key}.check", value, "<=", limit, title=f"{limit.title} of a composite vessel", do=do
            )
        return Walls(*(self._laminate(inp, name, plate) for name, plate in (("shell", needed.shell),
                                                                           ("head", needed.head))))

    @staticmethod
    def _laminate(inp: Inputs, name: str, needed: Figure) -> Figure:
        held = inp.optional(f"filter_vessel.{name}_plate")
        if held is None:
            return laminate_thickness.at(f"filter_vessel.{name}_plate", plate=needed, title=f"Laminate of the {name}")
        checked(f"filter_vessel.{name}_plate.check", held, ">=", needed, title=f"Laminate of the {name}",
                do=f"raise filter_vessel.{name}_plate or clear it")
        return held


CONSTRUCTIONS: dict[str, Construction] = {made.key: made for made in (Welded(), Wound())}


def construction_of(material: str) -> Construction:
    """How a material is made into a vessel.

    Raises
    ------
    TrailError
        Its construction is not registered, or its row lacks what the construction needs.
    """
    row = table("vessel_plates").row(material, "filter_vessel.material")
    made = CONSTRUCTIONS.get(str(row["construction"].value))
    if made is None:
        raise TrailError(f"no construction {row['construction'].value}", where=row.where)
    missing = [column for column in made.columns if column not in row]
    if missing:
        raise TrailError(f"has no {missing[0]}", where=row.where)
    return made


table("vessel_plates").require("construction")
for _material in table("vessel_plates"):
    construction_of(_material)  # an incomplete row is refused at import
