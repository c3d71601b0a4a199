"""Calculations from the sea to the cartridges: tanks, filters, backwash, cartridges."""

from __future__ import annotations

from typing import Any

from desalbook.calc.calculation import WATER, calculation
from desalbook.plant.waters import waters
from desalbook.pretreatment import backwash as backwash_room
from desalbook.pretreatment import bed_limits, media, storage
from desalbook.pretreatment import cartridges as cartridge_room
from desalbook.pretreatment import filters as filter_room
from desalbook.trail import govern, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import Concentration, M3PerS, Section, field

__all__ = ["backwash", "cartridges", "filters", "tank"]

_FLOW: dict[str, Any] = {"possible": ("0.1 m3/h", "50000 m3/h"), "usual": ("5 m3/h", "5000 m3/h")}


class TankDuty(Section):
    """Arguments of `tank`."""

    raw_flow: M3PerS = field("flow", ..., title="Raw-water flow", symbol="Q_0", hint="Mean of a running day", **_FLOW)


class FilterDuty(Section):
    """Arguments of `filters` and `backwash`."""

    flow: M3PerS = field("flow", ..., title="Flow through the filters", symbol="Q", hint="Of one train", **_FLOW)


class CartridgeDuty(Section):
    """Arguments of `cartridges`."""

    flow: M3PerS = field("flow", ..., title="Flow through the cartridges", symbol="Q", hint="Of one train", **_FLOW)
    solids: Concentration = field("concentration", "0.3 mg/L", title="Suspended solids to the cartridges", symbol="C_s",
                                  possible=("0 mg/L", "100 mg/L"), usual=("0.05 mg/L", "1 mg/L"),
                                  hint="Downstream of the filters, in the usual water")


_BATTERY = ("filters.rate_limit", "filters.rate_limit_backwashing", "filters.rate_limit_outage", "filters.count",
            "filters.diameter", "filters.count_minimum", "filters.diameter_largest", "filters.backwashes_together",
            "filters.layers")


@calculation("Raw-water tank", own={"storage": TankDuty},
             keys=("storage.retention_time", "storage.height", "storage.usable", "storage.count", "storage.diameter",
                   "storage.elevation", "storage.low_level"),
             shows=("storage.volume", "storage.count", "storage.diameter", "storage.level"))
def tank(inp: Inputs) -> None:
    """Raw-water tanks for a flow and a retention time.

    Volume, number of equal tanks and standard diameter, with the depth of water checked. Mean flow times time within
    the usable fraction; nothing is said of mixing.
    """
    storage.raw_tank(inp, inp.number("storage.raw_flow"))


@calculation("Pressure filters", own={"filters": FilterDuty}, keys=(*_BATTERY, "filters.internals_drop", *WATER),
             shows=("filters.count", "filters.diameter", "filters.area_needed", "filters.rate",
                    "filters.rate_one_backwashing", "filters.rate_outage", "filters.clean_head_loss"))
def filters(inp: Inputs) -> None:
    """Battery of pressure filters: number, diameter, filtration rates, clean head loss.

    The minimum number of equal filters whose standard diameter meets the three rate limits: all in service, one in
    backwash, and one down beside it. Head loss of the clean media after Ergun in cold, design and hot water. Filters
    are pressure vessels: the vessel code and licensed practice govern.
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


@calculation("Backwash", own={"filters": FilterDuty},
             keys=("filters.backwash_target", "filters.backwash_expansion", "filters.fluidisation_factor",
                   "filters.backwash_rate", "filters.backwash_time", "filters.scour_rate", "filters.run_length",
                   "filters.freeboard", *_BATTERY, *WATER),
             shows=("filters.backwash_rate", "filters.backwash_flow", "filters.backwash_volume",
                    "filters.fluidisation_rate_hottest", "filters.bed_expansion@hot", "filters.bed_rise@cold",
                    "filters.scour_flow", "filters.off_line", "filters.waste_fraction"))
def backwash(inp: Inputs) -> None:
    """Backwash of a filter battery: rate, flow, expansion by layer, volume, air scour, time, waste.

    The rate expands or fluidises every layer in the hottest water; the coldest must keep the media below the
    collector. Expansion after the fluidised form of Ergun, fluidisation after Wen and Yu. Volumes and mean flows follow
    from the steps of a backwash and the length of a run.
    """
    trains, flow = inp.number("duty.trains"), inp.number("filters.flow")
    fluids = {key: at.fluid for key, at in waters(inp).at.items()}
    battery = filter_room.battery(inp, flow, trains)
    bed = media.bed(inp, inp.names("filters.layers"))
    with scope("train", count=trains):
        with scope("unit"):
            rate = backwash_room.backwash_rate(inp, bed, battery.area, fluids)
        bed_limits.bed_limits(inp, bed, rate.rate, fluids)
        backwash_room.underdrain(inp, bed, rate, fluids["cold"])
        backwash_room.backwash_water(inp, flow, battery, rate, trains, inp.choice("feed_pump.carries_filter_to_waste"))


@calculation("Cartridge filters", own={"cartridge": CartridgeDuty},
             keys=("cartridge.length", "cartridge.loading", "cartridge.count", "cartridge.housings",
                   "cartridge.housings_standby", "cartridge.loading_limit", "cartridge.rating", "cartridge.capacity",
                   "cartridge.change_longest"),
             shows=("cartridge.needed", "cartridge.count", "cartridge.housings", "cartridge.per_housing",
                    "cartridge.loading_result", "cartridge.loading_outage", "cartridge.change_interval"))
def cartridges(inp: Inputs) -> None:
    """Cartridge filters: number, housings, loading with one housing out, interval of changes.

    As many lengths of 250 mm as the loading asks for, in the smallest standard housing that holds its share. Life by
    the solids they hold, at most the longest time a cartridge may stay.
    """
    trains, flow = inp.number("duty.trains"), inp.number("cartridge.flow")
    found = cartridge_room.cartridges(inp, flow, trains)
    with scope("train", count=trains):
        cartridge_room.cartridge_changes(inp, found, flow, inp.number("cartridge.solids"))
