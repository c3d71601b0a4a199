"""Forms of a filter vessel: vertical with the bed across the shell, horizontal with the bed along it.

A form says which diameter gives a bed area, which area a diameter gives, and how a vessel stands on the floor.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

from desalbook.hydraulics.pipes import circle_area, diameter_for_area
from desalbook.trail import Figure, checked, relation
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit
from desalbook.units import M2, M

__all__ = [
    "FORMS",
    "Horizontal",
    "Layout",
    "Vertical",
    "VesselForm",
    "horizontal_bed_area",
    "horizontal_diameter",
    "horizontal_reach",
    "shell_height",
]


@relation(
    "Area of a horizontal filter",
    symbol="A",
    unit="m^2",
    source="definition",
    note="bed at the middle of the shell; heads not counted; above and below, the bed is narrower",
)
def horizontal_bed_area(diameter: M, drum_length: M) -> M2:
    """Bed area of a horizontal filter: diameter times straight length.

    At the middle of the shell and without the heads; above and below, the bed is narrower.
    """
    return diameter * drum_length


@relation("Diameter of a horizontal filter, minimum", symbol="D_n", unit="m", source="definition")
def horizontal_diameter(area: M2, drum_length: M) -> M:
    """Minimum diameter of a horizontal filter for a bed area.

    With the bed at the middle of the shell.
    """
    return area / drum_length


@relation("Reach of a horizontal filter", symbol="B_1", unit="m", source="definition")
def horizontal_reach(drum_length: M, diameter: M) -> M:
    """Overall length of a horizontal filter: straight shell and two heads.

    Heads of a quarter diameter each; nozzles come on top.
    """
    return drum_length + diameter / 2


@relation("Straight shell", symbol="h_s", unit="m", source="definition")
def shell_height(bed_depth: M, support_depth: M, freeboard: M, shell_allowance: M) -> M:
    """Straight height of a vertical shell: media, support, freeboard, underdrain and collector.

    Settled depths; the heads come on top.
    """
    return bed_depth + support_depth + freeboard + shell_allowance


@dataclass(frozen=True)
class Layout:
    """Straight shell of a vessel, and its length and width on the floor (m)."""

    shell_length: Figure
    pitch: Figure
    reach: Figure


class VesselForm(ABC):
    """A form of vessel; one object of it stands in `FORMS`."""

    key: str
    title: str

    @abstractmethod
    def diameter_needed(self, area: Figure, drum_length: Figure) -> Figure:
        """Diameter that gives a bed area, ``filters.diameter_needed`` (m)."""

    @abstractmethod
    def bed_area(self, diameter: Figure, drum_length: Figure) -> Figure:
        """Bed area of a diameter, ``filters.area`` (m2)."""

    @abstractmethod
    def layout(self, inp: Inputs, diameter: Figure, bed_depth: Figure, support_depth: Figure) -> Layout:
        """Shell for bed, support and freeboard, and the floor it takes."""


class Vertical(VesselForm):
    """Upright cylinder: the bed is a full circle."""

    key, title = "vertical", "Vertical, bed across the shell"

    def diameter_needed(self, area: Figure, drum_length: Figure) -> Figure:
        return diameter_for_area.at("filters.diameter_needed", area=area)

    def bed_area(self, diameter: Figure, drum_length: Figure) -> Figure:
        return circle_area.at("filters.area", diameter=diameter, title="Area of one filter")

    def layout(self, inp: Inputs, diameter: Figure, bed_depth: Figure, support_depth: Figure) -> Layout:
        length = shell_height.at(
            "filter_vessel.shell_length",
            bed_depth=bed_depth,
            support_depth=support_depth,
            freeboard=inp.number("filters.freeboard"),
            shell_allowance=inp.number("filter_vessel.shell_allowance"),
        )
        check_limit("filter_vessel.shell_length.check", length, "vessel-side-shell",
                    do="deepen the bed, or raise filters.freeboard or filter_vessel.shell_allowance")
        return Layout(length, diameter, diameter)


class Horizontal(VesselForm):
    """Lying cylinder: the bed is a rectangle at the middle of the shell."""

    key, title = "horizontal", "Horizontal, bed along the shell"

    def diameter_needed(self, area: Figure, drum_length: Figure) -> Figure:
        return horizontal_diameter.at("filters.diameter_needed", area=area, drum_length=drum_length)

    def bed_area(self, diameter: Figure, drum_length: Figure) -> Figure:
        return horizontal_bed_area.at(
            "filters.area", diameter=diameter, drum_length=drum_length, title="Area of one filter"
        )

    def layout(self, inp: Inputs, diameter: Figure, bed_depth: Figure, support_depth: Figure) -> Layout:
        length = inp.number("filter_vessel.drum_length")
        reach = horizontal_reach.at("filter_vessel.reach", drum_length=length, diameter=diameter)
        tall = shell_height.at(
            "filter_vessel.inside_height",
            bed_depth=bed_depth,
            support_depth=support_depth,
            freeboard=inp.number("filters.freeboard"),
            shell_allowance=inp.number("filter_vessel.shell_allowance"),
            title="Bed and freeboard height",
        )
        checked(
            "filter_vessel.inside_height.check",
            diameter,
            ">=",
            tall,
            title="Shell height for bed and freeboard",
            do="increase filters.diameter, or use a shallower bed or the vertical form",
        )
        return Layout(length, diameter, reach)


FORMS: dict[str, VesselForm] = {form.key: form for form in (Vertical(), Horizontal())}
