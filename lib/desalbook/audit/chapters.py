"""Chapters of a calculation in the order of the water: basis, pretreatment, membranes, pressure, product, the rest."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["ORDER", "SYSTEMS", "in_process_order", "system"]

ORDER = (
    "project", "duty", "site", "water", "specification", "guarantees", "limits",
    "intake", "intake_pump", "chlorination", "storage", "acid", "coagulation", "feed_pump", "feed",
    "filters", "filter_vessel",
    "backwash_pump", "scour_blower", "backwash_tank", "fouling", "biocide", "dechlorination", "antiscalant",
    "cartridge",
    "membrane", "scaling", "hp_pump", "energy_recovery", "booster",
    "reject", "concentrate", "concentrate_pump", "outfall", "waste",
    "interpass_ph", "second_pass", "second_pump", "permeate", "flush", "flush_pump",
    "contactor", "minerals", "post_ph", "corrosion_inhibitor", "post_chlorination", "product", "product_tank",
    "product_pump", "cip", "dosing", "injection", "chemical_storage", "chemicals",
    "piping", "design_pressure", "electric", "power", "energy", "cost", "offer", "control", "outage",
    "guarantee", "fabrication", "line", "weight", "part", "skid", "shipment",
)
"""First parts of ids, from the sea to the product and then what serves the whole plant."""
SYSTEMS = {
    "Duty and water": ("project", "duty", "site", "water", "specification", "guarantees", "limits"),
    "Intake and storage": ("intake", "intake_pump", "storage", "feed_pump", "feed"),
    "Chemical dosing": ("chlorination", "acid", "coagulation", "biocide", "dechlorination", "antiscalant", "dosing",
                        "injection", "chemical_storage", "chemicals", "corrosion_inhibitor"),
    "Filters and cartridges": ("filters", "filter_vessel", "backwash_pump", "scour_blower",
                             "backwash_tank", "fouling", "cartridge"),
    "Membranes": ("membrane", "scaling", "second_pass", "second_pump", "interpass_ph", "permeate"),
    "High pressure and ERD": ("hp_pump", "energy_recovery", "booster"),
    "Concentrate and waste": ("reject", "concentrate", "concentrate_pump", "outfall", "waste"),
    "Product": ("contactor", "minerals", "post_ph", "post_chlorination", "product", "product_tank", "product_pump"),
    "Cleaning and flush": ("cip", "flush", "flush_pump"),
    "Piping and pressures": ("piping", "design_pressure"),
    "Power and energy": ("electric", "power", "energy"),
    "Cost and offer": ("cost", "offer"),
    "Control and outages": ("control", "outage", "guarantee"),
    "Fabrication and shipping": ("fabrication", "line", "weight", "part", "skid", "shipment"),
}
"""Chapters that stand together, where one sheet for each would be too many."""
_SYSTEM = {part: name for name, parts in SYSTEMS.items() for part in parts}


def system(part: str) -> str | None:
    """The system a chapter belongs to; None for one that stands by itself."""
    return _SYSTEM.get(part)


_PLACE = {part: n for n, part in enumerate(ORDER)}


def in_process_order(parts: Iterable[str]) -> list[str]:
    """Chapters as a reader follows the water; one that is not known keeps its place behind those before it."""
    placed, last = [], 0.0
    for part in dict.fromkeys(parts):
        last = float(_PLACE.get(part, last + 1e-3))
        placed.append((last, part))
    return [part for _, part in sorted(placed, key=lambda p: p[0])]
