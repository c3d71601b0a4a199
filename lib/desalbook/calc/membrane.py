"""Calculations of membranes: an array, one element, cleaning, least work, and what becomes of the concentrate."""

from __future__ import annotations

from typing import Any

from desalbook import cleaning, membrane
from desalbook.calc.calculation import TEMPERATURE, WATER, calculation
from desalbook.hydraulics import energy_recovery as er
from desalbook.hydraulics.energy import separation_energy
from desalbook.membrane.inputs import ElementSheet
from desalbook.plant.array import array
from desalbook.plant.feedwater import feedwater
from desalbook.plant.local_ph import local_ph
from desalbook.plant.post_treatment import heat_capacity_of
from desalbook.plant.waters import waters
from desalbook.product.outfall import outfall as outfall_room
from desalbook.trail import assumed
from desalbook.trail.inputs import Inputs
from desalbook.units import (
    Count,
    Fraction,
    K,
    KgPerM3,
    M,
    M3PerS,
    Salinity,
    Section,
    field,
    text_field,
)

__all__ = ["cip", "element", "least_work", "membranes", "outfall"]

SHEET = "elements[element]"
_FLOW: dict[str, Any] = {"possible": ("0.01 m3/h", "50000 m3/h"), "usual": ("1 m3/h", "5000 m3/h")}
_RAW = {f"{step}.present": "no" for step in ("chlorination", "coagulation", "dechlorination", "acid")}
_DENSITY: dict[str, Any] = {"possible": ("950 kg/m3", "1200 kg/m3"), "usual": ("990 kg/m3", "1080 kg/m3")}


class MembraneDuty(Section):
    """Arguments of `membranes`."""

    train_permeate: M3PerS = field("flow.day", ..., title="Permeate of one train", symbol="Q_p",
                                   possible=("1 m3/d", "200000 m3/d"), usual=("100 m3/d", "30000 m3/d"),
                                   hint="While it runs")


class SheetDuty(ElementSheet):
    """Arguments of `element`."""

    name: str = text_field("element", title="Name", hint="Part of the names of its values")


class CipDuty(Section):
    """Arguments of `cip`."""

    vessels: Count = field("count", ..., title="Pressure vessels per train", symbol="n_v", possible=("1", "2000"),
                           usual=("4", "300"), hint="All stages")
    vessel_diameter: M = field("length.small", "203.2 mm", title="Inner diameter of a vessel", symbol="D_v",
                               possible=("50 mm", "600 mm"), usual=("95 mm", "210 mm"), hint="8 inch is 203 mm")
    element_length: M = field("length", "1.016 m", title="Length of one element", symbol="L_e",
                              possible=("0.3 m", "2 m"), usual=("0.5 m", "1.02 m"), hint="40 inch is 1.016 m")
    coldest: K = field("temperature", "15 degC", title="Coldest permeate", symbol="T_0",
                       possible=("0.5 degC", "45 degC"), usual=("5 degC", "30 degC"),
                       hint="From which the cleaning solution is heated")
    density: KgPerM3 = field("density", "998 kg/m3", title="Density of the solution", symbol="rho", hint="Nearly water",
                             **_DENSITY)


class OutfallDuty(Section):
    """Arguments of `outfall`."""

    concentrate_flow: M3PerS = field("flow", ..., title="Concentrate flow", symbol="Q_c", hint="Of one train", **_FLOW)
    concentrate_density: KgPerM3 = field("density", ..., title="Density of the concentrate", symbol="rho_c",
                                         hint="At its temperature", **_DENSITY)
    concentrate_salinity: Salinity = field("salinity", ..., title="Salinity of the concentrate", symbol="X_c",
                                           possible=("1 g/kg", "250 g/kg"), usual=("40 g/kg", "90 g/kg"),
                                           hint="Per kilogram of water")
    ambient_density: KgPerM3 = field("density", "1025 kg/m3", title="Density of the sea around", symbol="rho_a",
                                     hint="At the depth of the port", **_DENSITY)
    ambient_salinity: Salinity = field("salinity", "36.3 g/kg", title="Salinity of the sea around", symbol="X_a",
                                       possible=("0 g/kg", "120 g/kg"), usual=("30 g/kg", "48 g/kg"),
                                       hint="Per kilogram of water")


class WorkDuty(Section):
    """Arguments of `least_work`."""

    recovery: Fraction = field("fraction", ..., title="RO recovery", symbol="Y", possible=("0 %", "90 %"),
                               usual=("30 %", "60 %"), hint="Permeate over feed, by volume")
    permeate_density: KgPerM3 = field("density", "997 kg/m3", title="Density of the permeate", symbol="rho_p",
                                      hint="Nearly water", **_DENSITY)


_CORNERS = ("cold-aged", "hot-aged")


@calculation("Membrane array", own={"duty": MembraneDuty}, base=_RAW | {"energy_recovery.device": "none"},
             keys=("membrane.recovery", "membrane.feed_pressure", "membrane.element", "membrane.elements",
                   "membrane.vessels", "membrane.age", "membrane.fouling_factor", "membrane.permeate_pressure",
                   "membrane.stages", "energy_recovery.device", *WATER),
             shows=("duty.feed_flow", "membrane.vessels", "membrane.flux", "membrane.feed_pressure",
                    "membrane.concentrate_pressure", "membrane.permeate_tds", "membrane.permeate_boron",
                    "membrane.concentrate_tds", "membrane.lead_flux", "membrane.beta_max", "membrane.pressure_drop"))
def membranes(inp: Inputs) -> None:
    """Membrane array: vessels, flux, feed pressure, permeate salt and boron, cold to hot and new to aged.

    The minimum number of vessels whose elements keep their limits in every case, or the one given; solved along the
    vessel by solution-diffusion with film theory and channel friction. No mixing of an isobaric ERD unless
    ``device`` names one.
    """
    fed = local_ph(inp, feedwater(inp, waters(inp)))
    array(inp, fed.waters, inp.number("duty.train_permeate"), inp.number("duty.trains"), er.device(inp))


@calculation("Membrane element", own={SHEET: SheetDuty},
             omits=("states", "flow_tolerance", "minimum_rejection"), keys=("membrane.slices",),
             shows=("membrane.element.water_permeability", "membrane.element.salt_permeability",
                    "membrane.element.boric_acid_permeability", "membrane.element.borate_permeability"))
def element(inp: Inputs) -> None:
    """Membrane element: permeabilities for water, salt and boron fitted to the rated test of its sheet.

    The test is solved along the element, polarisation and friction with it, until flow and rejections are those of the
    sheet, and run back. What is not given is as in the invented sheet named in ``based_on``.
    """
    membrane.element(inp, assumed("membrane.element", "element", None, title="Element sheet", source="definition",
                                  place="the sheet of the arguments"))


@calculation("CIP system", own={"cip_duty": CipDuty},
             keys=("membrane.elements", "cip.flow_per_vessel", "cip.vessels_at_once", "cip.bank",
                   "cip.volume_factor", "cip.submergence_volume", "cip.pipe_length", "cip.pipe_diameter",
                   "cip.temperature", "cip.heating_time", "cip.pump_head", "cip.pressure"),
             shows=("cip.vessels_cleaned", "cip.vessel_volume", "cip.bank_volume", "cip.pipe_volume",
                    "cip.tank_volume", "cip.flow", "cip.batches", "cip.pump_power", "cip.heater_power",
                    "cip.heater_rating", "cip.warm_up_time", "cip.cartridges"))
def cip(inp: Inputs) -> None:
    """CIP system: tank, flow, pump, heater, cartridges, chemicals of each batch and time for a train.

    Empty volume of the vessels cleaned at once and of the pipes, with an allowance. Hot acid and alkali burn: the
    safety data sheets, the element's sheet and local codes govern.
    """
    duty = {name: inp.number(f"cip_duty.{name}") for name in (
        "vessels", "vessel_diameter", "element_length", "coldest", "density")}
    cleaning.cleaning(inp, vessels=duty["vessels"], elements_per_vessel=inp.number("membrane.elements"),
                      inner_diameter=duty["vessel_diameter"], element_length=duty["element_length"],
                      density=duty["density"], temperature_start=duty["coldest"],
                      heat_capacity=heat_capacity_of("cip.heat_capacity", duty["coldest"]))


@calculation("Outfall", own={"outfall": OutfallDuty},
             keys=("outfall.ports", "outfall.port_diameter", "outfall.port_velocity", "outfall.depth",
                   "outfall.excess_limit", "duty.trains"),
             shows=("outfall.port", "outfall.port_diameter", "outfall.velocity", "outfall.froude", "outfall.rise",
                    "outfall.impact", "outfall.dilution_impact", "outfall.near_field", "outfall.dilution",
                    "outfall.excess[near]"))
def outfall(inp: Inputs) -> None:
    """Outfall: dense jets at 60 degrees, their rise, fall, dilution and the salt left at the end of the near field.

    Single jets in still, deep water by their Froude number. Currents thin them more, jets that merge less; the permit
    and a mixing study govern.
    """
    told = {name: inp.number(f"outfall.{name}") for name in (
        "concentrate_flow", "concentrate_density", "concentrate_salinity", "ambient_density", "ambient_salinity")}
    outfall_room(inp, reject_flow=told["concentrate_flow"], trains=inp.number("duty.trains"),
                 density=told["concentrate_density"], salinity=told["concentrate_salinity"],
                 ambient_density=told["ambient_density"], ambient_salinity=told["ambient_salinity"])


@calculation("Minimum work of separation", own={"energy": WorkDuty}, keys=TEMPERATURE,
             shows=("water.osmotic_pressure@design", "energy.least_work", "energy.brine_salinity",
                    "energy.brine_osmotic", "energy.stage_limit"))
def least_work(inp: Inputs) -> None:
    """Least work of separation of a water at a recovery, and the minimum energy of one stage at constant pressure.

    Reversible and isothermal, full rejection, per volume of permeate; from the osmotic pressure of this very water.
    No plant comes below it.
    """
    w = waters(inp)
    at = w.at["design"]
    separation_energy(feed_salinity=w.analysis.salinity, recovery=inp.number("energy.recovery"),
                      permeate_density=inp.number("energy.permeate_density"), feed_density=at.density,
                      curve=tuple(at.osmotic_curve[k] for k in at.osmotic_curve.keys))
