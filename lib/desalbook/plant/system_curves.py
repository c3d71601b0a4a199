"""Low-pressure pumps against their systems: rows of both curves for a plot, and where they cross.

The curves are those of `hydraulics.low_pressure`, on the figures the sized plant holds, in the values context.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.balances import sum_of_heads, sum_of_pressure_drops
from desalbook.hydraulics.design_pressure import Section
from desalbook.hydraulics.head import pressure_head
from desalbook.hydraulics.low_pressure import PumpSystem
from desalbook.plant.walk import Sized
from desalbook.problems import TrailError
from desalbook.trail import Figure, assumed, values

__all__ = ["curves", "operating_points", "pump_systems"]

RATIOS = np.arange(33) / 20  # of the flow at duty: to shut-off on one side, well past run-out on the other


def pump_systems(sized: Sized) -> dict[str, PumpSystem]:
    """Each low-pressure pump of a plant with its system, by pump."""
    with values(keep=False):
        return {name: made for name, made in (
            ("feed_pump", _feed(sized)), ("backwash_pump", _backwash(sized)),
            *((name, _transfer(sized, name)) for name in sized.transfer), ("cip", _cleaning(sized)))
            if made is not None}


def curves(sized: Sized) -> list[dict[str, Any]]:
    """Rows by pump and flow: head of the system clean and dirty, head of the pump (SI, one unit)."""
    rows = []
    for pump, of in pump_systems(sized).items():
        with values(keep=False):
            clean, dirty = (of.head_asked(state, RATIOS) for state in ("clean", "dirty"))
            given = of.head_given(RATIOS)
        rows += [{"id": of.pump_head.id, "pump": pump, "flow": float(ratio * of.flow), "system_clean": float(clean[n]),
                  "system_dirty": float(dirty[n]), "pump_head": float(given[n])} for n, ratio in enumerate(RATIOS)]
    return rows


def operating_points(sized: Sized) -> list[dict[str, Any]]:
    """Where pump and system meet at full speed, clean and dirty (SI, one unit)."""
    rows = []
    for pump, of in pump_systems(sized).items():
        for state in of.media_head:
            with values(keep=False):
                ratio = of.operating_ratio(state)
                head = of.head_given(ratio)
            rows.append({"pump": pump, "state": state, "flow": float(ratio * of.flow), "flow_ratio": float(ratio),
                         "head": float(head)})
    return rows


def _shutoff(section: Section, density: Figure) -> Figure:
    rise = section.pressures.shutoff_rise
    if rise is None:
        raise TrailError("this section has no pump", where=section.key)
    return pressure_head.at("pump.shutoff_head", pressure_rise=rise, density=density)


def _feed(sized: Sized) -> PumpSystem:
    pre, density = sized.pretreated, sized.waters.at["cold"].density
    head, media = pre.feed_head, {}
    for state, filters, cartridges in (("clean", pre.clean_drop["cold"], pre.cartridges.clean_drop),
                                       ("dirty", pre.dirty_drop, pre.cartridges.dirty_drop)):
        drop = sum_of_pressure_drops.at("system.media_drop", pressure_drop=filters, other_drop=cartridges)
        media[state] = pressure_head.at("system.media_head", pressure_rise=drop, density=density)
    static = sum_of_heads.at("system.static_head", head=head.static_lift, other_head=head.outlet)
    return PumpSystem(pre.feed_pump.flow, pre.feed_pump.head, _shutoff(sized.sections["feed"], density), static,
                      head.friction, media)


def _backwash(sized: Sized) -> PumpSystem | None:
    pre = sized.pretreated
    pump, head, rate = pre.wash_pump, pre.wash_head, pre.wash_rate
    if pump is None or head is None or rate is None or head.equipment is None:
        return None
    density = (pre.wash_fluid or sized.waters.at["cold"].fluid).density
    static = sum_of_heads.at("system.static_head", head=sum_of_heads.at(
        "system.lift_and_outlet", head=head.static_lift, other_head=head.outlet), other_head=rate.bed_head)
    pipes = sum_of_heads.at("system.friction_head", head=head.friction, other_head=head.equipment)
    return PumpSystem(pump.flow, pump.head, _shutoff(sized.sections["backwash"], density), static, pipes, _no_media())


def _transfer(sized: Sized, name: str) -> PumpSystem:
    of = sized.transfer[name]
    static = sum_of_heads.at("system.static_head", head=of.head.static_lift, other_head=of.head.outlet)
    shutoff = _shutoff(sized.sections[name.removesuffix("_pump")], _permeate_density(sized))
    return PumpSystem(of.pump.flow, of.pump.head, shutoff, static, of.head.friction, _no_media())


def _cleaning(sized: Sized) -> PumpSystem:
    of = sized.cleaning_head
    static = sum_of_heads.at("system.static_head", head=of.static_lift, other_head=of.outlet)
    shutoff = _shutoff(sized.sections["cleaning"], _permeate_density(sized))
    return PumpSystem(sized.cleaning.flow, of.pump_head, shutoff, static, of.friction, of.cartridges)


def _permeate_density(sized: Sized) -> Figure:
    return sized.array.by_corner["cold-aged"]["permeate_density"]


def _no_media() -> dict[str, Figure]:
    none = assumed("system.no_media", 0.0, "head", title="Media, where there are none", source="definition")
    return {"clean": none, "dirty": none}
