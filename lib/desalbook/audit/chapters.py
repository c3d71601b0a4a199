"""Chapters of a calculation in the order of the water: basis, pretreatment, membranes, pressure, product, the rest."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["ORDER", "in_process_order"]

ORDER = (
    "project", "duty", "site", "water", "specification", "guarantees", "limits",
    "intake", "chlorination", "storage", "acid", "coagulation", "feed_pump", "feed", "filters", "filter_vessel",
    "backwash_pump", "backwash_tank", "fouling", "biocide", "dechlorination", "antiscalant", "cartridge",
    "membrane", "scaling", "hp_pump", "energy_recovery", "booster",
    "reject", "concentrate", "concentrate_pump", "outfall", "waste",
    "interpass_ph", "second_pass", "second_pump", "permeate", "flush", "flush_pump",
    "contactor", "minerals", "post_ph", "corrosion_inhibitor", "post_chlorination", "product", "product_tank",
    "product_pump", "cip", "dosing", "injection", "chemical_storage", "chemicals",
    "piping", "design_pressure", "electric", "energy", "outage", "guarantee",
)
"""First parts of ids, from the sea to the product and then what serves the whole plant."""
_PLACE = {part: n for n, part in enumerate(ORDER)}


def in_process_order(parts: Iterable[str]) -> list[str]:
    """Chapters as a reader follows the water; one that is not known keeps its place behind those before it."""
    placed, last = [], 0.0
    for part in dict.fromkeys(parts):
        last = float(_PLACE.get(part, last + 1e-3))
        placed.append((last, part))
    return [part for _, part in sorted(placed, key=lambda p: p[0])]
