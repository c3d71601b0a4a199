"""The steps of the walk: what each notebook turns, shows and watches. Names only; nothing is calculated."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from desalbook import summary
from desalbook.design.sections import SECTIONS
from desalbook.problems import DesignError
from desalbook.summary import HEADLINES
from desalbook.summary import STEPS as LEADS
from desalbook.trail.words import chapter

__all__ = ["STEPS", "Step", "headlines", "step"]


@dataclass(frozen=True)
class Step:
    """One step of the walk.

    Parameters
    ----------
    key, title : str
    notebook : str
        File name without its ending.
    parts : tuple of str
        Sections of the design that are turned here; empty for all.
    follows : tuple of str
        Ids of the figures that matter here.
    watch : tuple of str
        First parts of the ids whose checks belong here; empty for all.
    pictures : tuple of str
        Keys of `pictures.catalogue.PICTURES`.
    lead : str
        Step of the water line that is lifted out.
    decides : tuple of str
        Keys of the design that decide most here: they come first, the others are folded away.
    tabs : tuple of str
        Keys of `tabs.TABS`: tables beside the pictures.
    """

    key: str
    title: str
    notebook: str
    parts: tuple[str, ...] = ()
    follows: tuple[str, ...] = HEADLINES
    watch: tuple[str, ...] = ()
    pictures: tuple[str, ...] = ()
    lead: str = ""
    decides: tuple[str, ...] = ()
    tabs: tuple[str, ...] = ()

    def mine(self, id: str) -> bool:
        """A check or a line of this step."""
        return not self.watch or chapter(id) in self.watch


STEPS: dict[str, Step] = {s.key: s for s in (
    Step("start", "The whole plant", "00-start",
         pictures=("margins", "energy"),
         decides=("duty.product_flow", "duty.train_product_flow", "duty.trains", "water.temperature_cold",
                  "water.temperature_design", "water.temperature_hot", "membrane.element", "membrane.recovery",
                  "energy_recovery.device", "product.ph_target"),
         tabs=("streams", "equipment", "guarantees", "costs")),
    Step("raw-water", "Raw water", "01-raw-water", ("water", "scaling"),
         ("water.tds", "water.salinity", "water.balance", "water.osmotic_pressure", "water.alkalinity"),
         ("water", "scaling", "feed"), ("ions", "scaling"), "sea",
         ("water.source", "water.sea_salinity", "water.temperature_cold", "water.temperature_design",
          "water.temperature_hot", "water.ph", "water.balance_with", "antiscalant.dose", "membrane.recovery"),
         ("streams",)),
    Step("pretreatment", "Pretreatment", "02-pretreatment",
         ("filters", "media", "storage", "intake", "backwash_tank", "filter_vessel", "cartridge", "fouling",
          "backwash_pump", "scour_blower"),
         ("filters.rate", "filters.rate_one_backwashing", "filters.backwash_rate", "filters.clean_head_loss",
          "storage.volume", "cartridge.count"),
         ("storage", "filters", "backwash_tank", "cartridge", "backwash_pump", "scour_blower", "intake",
          "filter_vessel", "fouling"),
         ("battery-plan", "backwashes", "bed-expansion", "filter-head-loss"), "filters",
         ("filters.count", "filters.diameter", "filters.rate_limit", "filters.run_length", "filters.backwash_source",
          "filters.backwash_rate", "storage.retention_time", "cartridge.count"),
         ("backwashes",)),
    Step("membranes", "Membranes", "03-membranes", ("membrane", "elements", "vessel_classes"),
         ("membrane.flux", "membrane.recovery", "membrane.feed_pressure", "membrane.beta_max",
          "membrane.permeate_tds", "membrane.permeate_boron"), ("membrane", "limits"),
         ("vessel", "envelope"), "vessels",
         ("membrane.element", "membrane.recovery", "membrane.vessels", "membrane.elements", "membrane.feed_pressure",
          "membrane.age", "membrane.pressure_class", "membrane.permeate_pressure"),
         ("limits", "ratings")),
    Step("pressure", "Pressure and energy", "04-pressure-and-energy",
         ("energy_recovery", "recovery_devices", "hp_pump", "booster", "feed_pump", "electric", "energy", "piping",
          "design_pressure"),
         ("energy.membrane_specific", "energy.plant_specific", "energy.least_work", "hp_pump.suction_pressure",
          "hp_pump.discharge_pressure", "hp_pump.shaft_power"),
         ("energy_recovery", "hp_pump", "booster", "feed_pump", "energy", "piping", "design_pressure", "permeate"),
         ("energy", "hp-pump", "pump-systems"), "hp_pump",
         ("energy_recovery.device", "energy_recovery.units", "hp_pump.efficiency", "hp_pump.suction_wanted",
          "booster.efficiency", "feed_pump.pressure_rise", "energy_recovery.outfall_elevation",
          "membrane.recovery"), ("devices", "design-pressures", "outages")),
    Step("dosing", "Dosing", "05-dosing",
         ("chlorination", "coagulation", "acid", "antiscalant", "antiscalants", "dechlorination", "biocide",
          "interpass_ph", "post_ph", "post_chlorination", "corrosion_inhibitor", "dosing", "chemical_storage",
          "injection"),
         ("chlorination.dose", "coagulation.dose", "dechlorination.dose", "antiscalant.dose", "post_chlorination.dose",
          "chlorination.storage"),
         ("chlorination", "coagulation", "acid", "antiscalant", "dechlorination", "biocide", "interpass_ph", "post_ph",
          "post_chlorination", "corrosion_inhibitor", "dosing", "chemical_storage", "injection"),
         ("chemicals",), "cartridge",
         ("chlorination.demand", "chlorination.residual", "coagulation.dose", "antiscalant.dose",
          "dechlorination.dose_ratio", "acid.present", "post_chlorination.residual", "dosing.storage_time"),
         ("chemicals",)),
    Step("product-water", "Product water", "06-product-water",
         ("product", "post_ph", "post_chlorination", "contactor", "product_tank", "specification"),
         ("product.ph", "product.lsi", "product.ccpp", "product.alkalinity", "product.calcium", "product.boron",
          "product.tds"), ("product", "post_chlorination", "contactor", "product_tank"),
         ("product-window",), "product",
         ("product.remineralisation", "product.calcite_dose", "product.co2_dose", "product.lime_dose",
          "product.ph_target", "product.boron_limit", "post_chlorination.residual", "product_tank.storage_time"),
         ("guarantees", "streams")),
    Step("cleaning", "Cleaning, flushing and the outfall", "07-cleaning", ("cip", "flush_pump", "outfall"),
         ("cip.tank_volume", "cip.flow", "cip.pump_power", "cip.heater_power", "flush.train_volume", "flush.volume"),
         ("cip", "flush", "outfall", "concentrate", "waste"),
         ("cleaning", "outfall"), "vessels",
         ("cip.vessels_at_once", "cip.flow_per_vessel", "cip.temperature", "cip.heating_time", "cip.pump_head",
          "cip.flush_hold_ups", "outfall.ports", "outfall.port_diameter"),
         ("equipment", "valves")),
    Step("cost", "Cost", "12-cost", ("cost", "energy"),
         ("cost.equipment", "cost.capital", "cost.capital_low", "cost.capital_high", "cost.capital_per_capacity",
          "cost.operating", "cost.water", "cost.water_low", "cost.water_high", "energy.emissions_year",
          "energy.emissions_specific"), ("cost",),
         ("water-cost", "capital"), "product",
         ("energy.tariff", "cost.discount_rate", "cost.plant_life", "cost.price_year", "cost.location_factor",
          "cost.element_price", "cost.staff", "cost.contingency"), ("costs", "cash-flow")),
    Step("controls", "Instruments and control", "13-controls", ("control",),
         ("control.discharge_high", "control.alarm_high[discharge]", "control.range[discharge]",
          "control.alarm_low[suction]", "control.alarm_high[orp]", "control.alarm_high[permeate-conductivity]",
          "control.signals[di]", "control.signals[ai]"), ("control",),
         ("start-and-stop",), "vessels",
         ("control.range_factor", "control.trip_in_range", "control.turbidity_trip", "control.conductivity_factor",
          "control.spare_signals"), ("instruments", "along-the-line", "sequences", "unit-sequences",
                                      "cause-effect", "permissives", "safety-devices", "alarms", "alarm-load",
                                      "trial", "unit-trial", "pairs")),
    Step("power", "Electrical supply", "14-power", ("power",),
         ("power.peak", "power.connected", "power.transformer", "power.fault_current", "power.dip",
          "power.start_dip_largest", "power.factor_after", "power.demand_distortion",
          "power.measured_uncertainty"), ("power",),
         ("single-line", "start-dips"), "hp_pump",
         ("power.voltage", "power.source_fault_level", "power.transformers", "power.direct_up_to", "power.front_end",
          "power.ambient", "power.motor_cable", "power.power_factor", "power.metered_fraction", "power.incomer_meter"),
         ("loads", "meters")),
)}
"""Every step by its key, in the order of the walk."""


def step(name: str) -> Step:
    """The step of that key, or one made for a section of the design.

    Raises
    ------
    DesignError
        Neither.
    """
    if name in STEPS:
        return STEPS[name]
    if name in SECTIONS:
        return Step(name, name.replace("_", " ").capitalize(), "", (name,), (), (name,), (), LEADS.get(name, name))
    raise DesignError("no such step or section", where="panel", value=name, allowed=", ".join(STEPS),
                      do="use one of these, or the name of a section of the design")


def headlines(name: str, plant: Any, units: str = "si") -> str:
    """The figures of a step, one a line, rounded as people read them."""
    return summary.headlines(plant, units, step(name).follows)
