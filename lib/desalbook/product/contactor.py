"""Calcite contactors in metal: how many, how deep, how much calcite a day."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.guidelines import guideline, guideline_place
from desalbook.product import treat_relations as tr
from desalbook.trail import Choice, Figure, assumed, checked, scope

__all__ = ["ContactorDesign", "contactor"]

Inp = Callable[[str], Any]


@dataclass(frozen=True)
class ContactorDesign:
    """Contactors in service (one more stands by), bed depth (m), bed volume (m3), calcite (kg/s), refill (s)."""

    count: Figure
    depth: Figure
    volume: Figure
    calcite_rate: Figure
    refill: Figure


def contactor(inp: Inp, flow: Figure, calcite_dose: Figure | None) -> ContactorDesign | None:
    """Size the contactors for the product flow (m3/s); None where no calcite is dissolved."""
    route: Choice = inp("product.remineralisation")
    if calcite_dose is None:
        return None
    with scope(because=[route]):
        treated = tr.treated_flow.at("contactor.flow", product_flow=flow, bypass=inp("product.bypass"))
        bed = tr.bed_volume.at("contactor.bed_volume", flow=treated, bed_time=inp("contactor.bed_time"))
        area = tr.bed_area.at("contactor.area", diameter=inp("contactor.diameter"))
        count = tr.contactors_for.at("contactor.count", flow=treated, contactor_rate=inp("contactor.rate"),
                                     contactor_area=area)
        depth = tr.bed_depth.at("contactor.bed_depth", bed_volume=bed, contactor_area=area, contactors=count)
        used = tr.calcite_use.at("contactor.calcite_rate", product_flow=flow, calcite_dose=calcite_dose,
                                 purity=inp("contactor.purity"))
        refill = tr.refill_time.at("contactor.refill_time", bed_volume=bed, bulk_density=inp("contactor.bulk_density"),
                                   refill_share=inp("contactor.refill_share"), calcite_rate=used)
        for key, figure, do in (
            ("contactor-time", inp("contactor.bed_time"), "raise contactor.bed_time"),
            ("contactor-rate", inp("contactor.rate"), "lower contactor.rate"),
            ("contactor-depth-low", depth, "raise contactor.bed_time, or lower contactor.diameter"),
            ("contactor-depth-high", depth, "lower contactor.bed_time, or raise contactor.diameter"),
        ):
            limit = guideline(key)
            line = assumed(f"limits.{key.replace('-', '_')}", limit.value, limit.kind, title=limit.title,
                           source=limit.source, place=guideline_place(key), table="guidelines", row=key)
            checked(f"{figure.id}.check_{key.rpartition('-')[2]}", figure, "<=" if limit.sense == "≤" else ">=", line,
                    title=limit.title, do=do, source=limit.source)
    return ContactorDesign(count, depth, bed, used, refill)
