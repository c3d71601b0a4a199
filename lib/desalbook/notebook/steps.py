"""The steps of the walk: what each notebook turns, shows and watches. Names only; nothing is calculated."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from desalbook.problems import DesignError
from desalbook.summary import HEADLINES
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
    pictures : tuple of (str, str)
        Title and ``module:function`` in the notebook room; the function takes (plant, units) and gives HTML.
    lead : str
        Step of the water line that is lifted out.
    """

    key: str
    title: str
    notebook: str
    parts: tuple[str, ...] = ()
    follows: tuple[str, ...] = HEADLINES
    watch: tuple[str, ...] = ()
    pictures: tuple[tuple[str, str], ...] = ()
    lead: str = ""

    def drawings(self) -> Iterator[tuple[str, Callable[[Any, str], str]]]:
        """Title and drawing function of each picture."""
        for title, place in self.pictures:
            module, _, name = place.partition(":")
            yield title, getattr(import_module(f"desalbook.notebook.{module}"), name)

    def mine(self, id: str) -> bool:
        """A check or a line of this step."""
        return not self.watch or chapter(id) in self.watch


STEPS: dict[str, Step] = {s.key: s for s in (
    Step("start", "The whole plant", "00-start",
         pictures=(("How near the limits", "overview_pictures:margins_picture"),
                   ("Energy by consumer", "pressure_pictures:energy_picture"))),
    Step("raw-water", "Raw water", "01-raw-water", ("water", "scaling"),
         ("water.tds", "water.salinity", "water.balance", "water.osmotic_pressure", "water.alkalinity"),
         ("water", "scaling", "feed"), (("Ion balance", "pictures:ions"),
                                        ("Saturation at the membrane over recovery", "pictures:scaling")), "sea"),
    Step("pretreatment", "Pretreatment", "02-pretreatment",
         ("filters", "storage", "intake", "wash_tank", "filter_vessel", "cartridge", "fouling", "backwash_pump"),
         ("filters.rate", "filters.rate_one_washing", "filters.backwash_rate", "filters.clean_head_loss",
          "storage.volume", "cartridge.count"),
         ("storage", "filters", "wash_tank", "cartridge", "backwash_pump", "intake", "filter_vessel", "fouling"),
         (("Plan of the battery", "filter_pictures:battery_plan"), ("Washes of a day", "filter_pictures:wash_timeline"),
          ("Expansion of the bed", "filter_pictures:expansion_by_temperature"),
          ("Head lost through the day", "filter_pictures:loss_through_day")), "filters"),
    Step("membranes", "Membranes", "03-membranes", ("membrane",),
         ("membrane.flux", "membrane.recovery", "membrane.feed_pressure", "membrane.beta_max",
          "membrane.permeate_tds", "membrane.permeate_boron"), ("membrane", "limits"),
         (("Along a vessel, cold and aged", "pictures:vessel"),
          ("Temperature and age", "membrane_pictures:envelope_picture")),
         "vessels"),
    Step("pressure", "Pressure and energy", "04-pressure-and-energy",
         ("energy_recovery", "hp_pump", "booster", "feed_pump", "electric", "energy", "piping", "design_pressure"),
         ("energy.membrane_specific", "energy.plant_specific", "energy.least_work", "hp_pump.suction_pressure",
          "hp_pump.discharge_pressure", "hp_pump.shaft_power"),
         ("energy_recovery", "hp_pump", "booster", "feed_pump", "energy", "piping", "design_pressure", "permeate"),
         (("Energy by consumer", "pressure_pictures:energy_picture"),
          ("High-pressure pump", "pressure_pictures:pump_picture"),
          ("Low-pressure pumps and their systems", "system_pictures:system_picture")), "hp_pump"),
    Step("dosing", "Dosing", "05-dosing",
         ("chlorination", "coagulation", "acid", "antiscalant", "dechlorination", "biocide", "interpass_ph", "post_ph",
          "post_chlorination", "corrosion_inhibitor", "dosing", "chemical_store", "injection"),
         ("chlorination.dose", "coagulation.dose", "dechlorination.dose", "antiscalant.dose", "post_chlorination.dose",
          "chlorination.storage"),
         ("chlorination", "coagulation", "acid", "antiscalant", "dechlorination", "biocide", "interpass_ph", "post_ph",
          "post_chlorination", "corrosion_inhibitor", "dosing", "chemical_store", "injection"),
         (("Chemicals along the plant", "dosing_picture:dosing_picture"),), "cartridge"),
    Step("product-water", "Product water", "06-product-water",
         ("product", "post_ph", "post_chlorination", "contactor", "product_tank", "specification"),
         ("product.ph", "product.lsi", "product.ccpp", "product.alkalinity", "product.calcium", "product.boron",
          "product.tds"), ("product", "post_chlorination", "contactor", "product_tank"),
         (("The window of the product", "product_pictures:window_picture"),), "product"),
    Step("cleaning", "Cleaning, flushing and the outfall", "07-cleaning", ("cip", "flush_pump", "outfall"),
         ("cip.tank_volume", "cip.flow", "cip.pump_power", "cip.heater_power", "flush.train_volume", "flush.volume"),
         ("cip", "flush", "outfall", "concentrate", "waste"),
         (("Sequence of a cleaning", "product_pictures:cleaning_picture"),
          ("The reject at the outfall", "product_pictures:jet_picture")), "vessels"),
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
    from desalbook.design.sections import SECTIONS
    from desalbook.summary import STEPS as LEADS

    if name in SECTIONS:
        return Step(name, name.replace("_", " ").capitalize(), "", (name,), (), (name,), (), LEADS.get(name, name))
    raise DesignError("no such step or section", where="panel", value=name, allowed=", ".join(STEPS),
                      do="use one of these, or the name of a section of the design")


def headlines(name: str, plant: Any, units: str = "si") -> str:
    """The figures of a step, one a line, rounded as people read them."""
    from desalbook import summary

    return summary.headlines(plant, units, step(name).follows)
