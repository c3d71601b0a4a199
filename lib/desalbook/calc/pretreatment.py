"""Calculations from the sea to the cartridges: tanks, filters, backwash, cartridges."""

from __future__ import annotations

from typing import Any

from desalbook.calc.calculation import WATER, calculation
from desalbook.plant.waters import waters
from desalbook.pretreatment import filters as filter_room
from desalbook.pretreatment import media, storage
from desalbook.trail import govern, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import M3PerS, Section, field

__all__ = ["filters", "tank"]

_FLOW: dict[str, Any] = {"possible": ("0.1 m3/h", "50000 m3/h"), "usual": ("5 m3/h", "5000 m3/h")}


class TankDuty(Section):
    """Arguments of `tank`."""

    raw_flow: M3PerS = field("flow", ..., title="Raw-water flow", symbol="Q_0", hint="Mean of a running day", **_FLOW)


class FilterDuty(Section):
    """Arguments of `filters`."""

    flow: M3PerS = field("flow", ..., title="Flow through the filters", symbol="Q", hint="Of one train", **_FLOW)


@calculation("Raw-water tank", own={"storage": TankDuty}, water=False,
             keys=("storage.retention_time", "storage.height", "storage.usable", "storage.count", "storage.diameter",
                   "storage.elevation", "storage.low_level"),
             shows=("storage.volume", "storage.count", "storage.diameter", "storage.level"))
def tank(inp: Inputs) -> None:
    """Raw-water tanks for a flow and a retention time.

    Volume, number of equal tanks and standard diameter, with the depth of water checked. Mean flow times time within
    the usable fraction; nothing is said of mixing.
    """
    storage.raw_tank(inp, inp.number("storage.raw_flow"))


@calculation("Pressure filters", own={"filters": FilterDuty},
             keys=("filters.rate_limit", "filters.rate_limit_backwashing", "filters.rate_limit_outage",
                   "filters.count", "filters.diameter", "filters.count_minimum", "filters.diameter_largest",
                   "filters.backwashes_together", "filters.layers", "filters.internals_drop", *WATER),
             shows=("filters.count", "filters.diameter", "filters.area_needed", "filters.rate",
                    "filters.rate_one_backwashing", "filters.rate_outage", "filters.clean_head_loss"))
def filters(inp: Inputs) -> None:
    """Battery of pressure filters: number, diameter, filtration rates, clean head loss.

    The minimum number of equal filters whose standard diameter meets the three rate limits: all in service, one in
    backwash, and one down beside it. Head loss of the clean media after Ergun in cold, design and hot water.
    """
    trains = inp.number("duty.trains")
    battery = filter_room.battery(inp, inp.number("filters.flow"), trains)
    bed = media.bed(inp, inp.names("filters.layers"))
    heads = {}
    with scope("train", count=trains):
        for key, at in waters(inp).at.items():
            with scope(corner=key):
                heads[key] = filter_room.clean_bed(bed, battery.rate, at.fluid,
                                                   inp.number("filters.internals_drop")).head_loss
        govern("filters.clean_head_loss", heads, "largest", title="Head loss across the clean media")
