"""Which pipe of the steel schedules carries a flow and a pressure: a search over the catalogue on bare numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from importlib import metadata
from typing import Any, NamedTuple

from desalbook.hydraulics import walls
from desalbook.problems import EngineError, Infeasible
from desalbook.tables import table
from desalbook.trail import Choice, Figure, engine, picked, scope
from desalbook.units import show

__all__ = ["SCHEDULES", "Size", "catalogue", "nearest", "of_catalogue", "pick", "version"]

SCHEDULES = ("10S", "40S", "80S", "160")
"""Stainless schedules, then the thick one of carbon steel, which stainless pipe is also made to."""


@cache
def version() -> str:
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
def catalogue() -> tuple[Size, ...]:
    """Pipes of the standard sizes, small before wide, thin before thick."""
    from fluids import nearest_pipe

    found = []
    for row in table("pipe_bores").ascending("bore"):
        for schedule in SCHEDULES:
            _, inner, outer, wall = nearest_pipe(NPS=row["nps"].value, schedule=schedule)
            found.append(Size(row.title, schedule, inner, outer, wall))
    return tuple(found)


def _name(size: Size) -> str:
    return f"{size.title} schedule {size.schedule}"


@cache
def _by_name() -> dict[str, Size]:
    return {_name(size): size for size in catalogue()}


def nearest(bore: float) -> Size:
    """The thinnest schedule of the least size that is as wide as `bore` (m), or the widest there is."""
    thin = [size for size in catalogue() if size.schedule == SCHEDULES[0]]
    return next((size for size in thin if size.inner >= bore * (1 - 1e-9)), thin[-1])


def pick(id: str, bore: Figure, pressure: Figure, wall: Mapping[str, Figure], because: Sequence[Any]) -> Choice:
    """Least size, and in it the thinnest schedule, that meets bore and wall.

    Parameters
    ----------
    bore : Figure
        Least inner diameter, m.
    pressure : Figure
        Gauge, Pa.
    wall : mapping
        Allowable stress, wall coefficient, corrosion allowance and mill tolerance.
    """
    p, s, y, c, x = (float(v) for v in (pressure, wall["allowable_stress"], wall["wall_coefficient"],
                                        wall["corrosion_allowance"], wall["mill_tolerance"]))
    won = None
    tried = []
    for size in catalogue():
        if size.inner < float(bore) * (1 - 1e-9):
            continue
        ordered = walls.wall_ordered.plain(walls.wall_for_pressure.plain(p, size.outer, s, y), c, x)
        fits = size.wall >= ordered * (1 - 1e-9)
        tried.append({"key": _name(size), "value": size.inner, "won": bool(fits)})
        if fits:
            won = size
            break
    if won is None:
        raise Infeasible("no schedule of pipe is wide and strong enough", where=id,
                         value=f"{show(float(bore), bore.kind)} at {show(p, pressure.kind)}",
                         do="choose a stronger material, or divide the flow among more trains")
    with scope(because=because):
        return picked(id, _name(won), None, title="Nominal size and schedule",
                      rule="least size as wide as the velocity limit asks, thinnest schedule that holds the pressure",
                      candidates=tried, inputs={"bore": bore, "pressure": pressure, **wall}, table="pipe_bores",
                      source="asme-b31-3")


def of_catalogue(id: str, nominal: Choice, what: str, title: str, symbol: str) -> Figure:
    """A measure of the pipe picked; `what` is ``inner``, ``outer`` or ``wall``."""
    size = _by_name()[str(nominal)]
    return engine(id, getattr(size, what), "length.small", title=title, symbol=symbol, inputs={"nominal": nominal},
                  library="fluids", version=version(), source="asme-b36-19")
