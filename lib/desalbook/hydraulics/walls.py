"""Pipe walls: the thickness that pressure asks for, and the schedules of steel pipe it is chosen from.

Pressure parts follow the piping code and the pressure-equipment law of the place; outside loads, supports,
branches and fatigue are not judged here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import metadata
from typing import Any, NamedTuple

from fluids import nearest_pipe

from desalbook.hydraulics.constants import Small
from desalbook.hydraulics.rows import row_line
from desalbook.problems import EngineError, Infeasible
from desalbook.tables import table
from desalbook.trail import Choice, Figure, engine, maximum, picked, relation, scope, values
from desalbook.units import DifferencePa, Factor, Fraction, GaugePa, show

__all__ = [
    "PIPE_SIZES",
    "SCHEDULES",
    "PipeWall",
    "Size",
    "barlow_wall_thickness",
    "design_wall_thickness",
    "library_version",
    "nearest_size",
    "nominal_wall_thickness",
    "pipe_catalogue",
    "pipe_dimension",
    "pipe_outer_diameter",
    "pipe_wall",
    "plastic_wall_thickness",
    "select_schedule",
]

SCHEDULES = ("10S", "40S", "80S", "160")
"""Stainless schedules, then the thick one of carbon steel, which stainless pipe is also made to."""


@dataclass(frozen=True)
class PipeWall:
    """Strength of a pipe's material and what its wall loses: stress (Pa), coefficient, allowance (m), tolerance."""

    allowable_stress: Figure
    wall_coefficient: Figure
    corrosion_allowance: Figure
    mill_tolerance: Figure


@relation(
    "Wall for pressure",
    symbol="t_p",
    unit="m",
    source="asme-b31-3",
    place="304.1.2, straight pipe under inside pressure; joint and weld factors 1",
    note="thin wall, below a sixth of the outer diameter; seamless pipe or a fully examined seam",
)
def design_wall_thickness(
    gauge_pressure: GaugePa, outer_diameter: Small, allowable_stress: DifferencePa, wall_coefficient: Factor
) -> Small:
    """Pressure design thickness of a straight pipe: hoop stress at the mean diameter.

    Thin wall, below a sixth of the outer diameter; no outside load, bend or branch, and seamless or fully examined.
    """
    return gauge_pressure * outer_diameter / (2 * (allowable_stress + gauge_pressure * wall_coefficient))


@relation(
    "Wall to order",
    symbol="t_n",
    unit="m",
    source="asme-b31-3",
    place="304.1.1 and the tolerance of the wall as made",
)
def nominal_wall_thickness(thickness: Small, corrosion_allowance: Small, mill_tolerance: Fraction) -> Small:
    """Nominal wall thickness to order: design thickness, corrosion allowance and mill tolerance.

    What carries, what is lost in service, and what the mill may leave out; threads and grooves would come on top.
    """
    return (thickness + corrosion_allowance) / (1 - mill_tolerance)


@relation(
    "Wall, thin-wall rule",
    symbol="t_B",
    unit="m",
    source="definition",
    place="hoop stress at the outer diameter, on the safe side",
)
def barlow_wall_thickness(gauge_pressure: GaugePa, outer_diameter: Small, allowable_stress: DifferencePa) -> Small:
    """Barlow wall thickness: hoop stress taken at the outer diameter.

    On the safe side of the code's equation; thin walls only.
    """
    return gauge_pressure * outer_diameter / (2 * allowable_stress)


@relation("Wall as bought", symbol="t_w", unit="m", source="common-practice")
def plastic_wall_thickness(inner_diameter: Small, wall_ratio: Factor, wall_minimum: Small) -> Small:
    """Wall of a plastic pipe sold by the ratio of diameter to wall; small bores have a minimum wall.

    The ratio is that of the pressure class bought; the maker's rating falls with temperature.
    """
    return maximum(inner_diameter / wall_ratio, wall_minimum)


@relation("Outer diameter", symbol="D_o", unit="m", source="definition")
def pipe_outer_diameter(inner_diameter: Small, thickness: Small) -> Small:
    """Outer diameter: bore and two walls.

    Of a pipe of uniform wall; a lining counts as bore.
    """
    return inner_diameter + 2 * thickness


@cache
def library_version() -> str:
    """Version of the library of pipes and friction."""
    try:
        return metadata.version("fluids")
    except metadata.PackageNotFoundError:
        raise EngineError("the library is not installed", where="fluids", do="install fluids") from None


class Size(NamedTuple):
    """One pipe, m."""

    title: str
    schedule: str
    inner: float
    outer: float
    wall: float


@cache
def pipe_catalogue() -> tuple[Size, ...]:
    """Pipes of the standard sizes, small before wide, thin before thick."""
    found = []
    for row in table("pipe_bores").ascending("bore"):
        if "nps" not in row:
            continue  # plastic and composite pipe alone
        for schedule in SCHEDULES:
            _, inner, outer, wall = nearest_pipe(NPS=row["nps"].value, schedule=schedule)
            found.append(Size(row.title, schedule, inner, outer, wall))
    return tuple(found)


def _name(size: Size) -> str:
    return f"{size.title} schedule {size.schedule}"


@cache
def _by_name() -> dict[str, Size]:
    return {_name(size): size for size in pipe_catalogue()}


class _Sizes(Mapping[str, str]):
    """Sizes with their schedules by name, as lists of choice want them; found when they are first asked for."""

    def __getitem__(self, key: str) -> str:
        return _name(_by_name()[key])

    def __iter__(self) -> Iterator[str]:
        return iter(_by_name())

    def __len__(self) -> int:
        return len(_by_name())


PIPE_SIZES: Mapping[str, str] = _Sizes()


def nearest_size(bore: float) -> Size:
    """The thinnest schedule of the smallest size that is as wide as `bore` (m), or the widest there is."""
    thin = [size for size in pipe_catalogue() if size.schedule == SCHEDULES[0]]
    return next((size for size in thin if size.inner >= bore * (1 - 1e-9)), thin[-1])


def pipe_wall(prefix: str, material: Choice) -> PipeWall:
    """Strength of the material of a run and what its wall loses, from the table of pipes."""
    return PipeWall(*(row_line(f"{prefix}.{name}", "pipes", material, name, because=[material])
                      for name in ("allowable_stress", "wall_coefficient", "corrosion_allowance", "mill_tolerance")))


def select_schedule(id: str, bore: Figure, pressure: Figure, wall: PipeWall,
                    because: Sequence[Any]) -> Choice:
    """Smallest size, and in it the thinnest schedule, that meets bore and wall.

    Parameters
    ----------
    bore : Figure
        Smallest inner diameter, m.
    pressure : Figure
        Gauge, Pa.
    wall : PipeWall
    """
    won = None
    tried = []
    for size in pipe_catalogue():
        if size.inner < float(bore) * (1 - 1e-9):
            continue
        with values(keep=False):
            bare = design_wall_thickness.at(
                id, gauge_pressure=pressure, outer_diameter=size.outer, allowable_stress=wall.allowable_stress,
                wall_coefficient=wall.wall_coefficient)
            ordered = nominal_wall_thickness.at(id, thickness=bare, corrosion_allowance=wall.corrosion_allowance,
                                                mill_tolerance=wall.mill_tolerance)
        fits = size.wall >= ordered * (1 - 1e-9)
        tried.append({"key": _name(size), "value": size.inner, "won": bool(fits)})
        if fits:
            won = size
            break
    if won is None:
        raise Infeasible("no schedule of pipe is wide and strong enough", where=id,
                         value=f"{show(float(bore), bore.kind)} at {show(float(pressure), pressure.kind)}",
                         do="choose a stronger material, or divide the flow among more trains")
    with scope(because=because):
        return picked(id, _name(won), None, title="Nominal size and schedule",
                      rule="smallest size as wide as the velocity limit asks, thinnest schedule that holds the "
                           "pressure",
                      candidates=tried, inputs={"bore": bore, "pressure": pressure, **vars(wall)}, table="pipe_bores",
                      source="asme-b31-3")


def pipe_dimension(id: str, nominal: Choice, what: str, title: str, symbol: str) -> Figure:
    """A measure of the pipe picked; `what` is ``inner``, ``outer`` or ``wall``."""
    size = _by_name()[str(nominal)]
    return engine(id, getattr(size, what), "length.small", title=title, symbol=symbol, inputs={"nominal": nominal},
                  library="fluids", version=library_version(), source="asme-b36-19")
