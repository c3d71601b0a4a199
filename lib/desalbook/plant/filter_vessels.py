"""The filters as vessels, once the pressure of their section is known."""

from __future__ import annotations

from dataclasses import replace

from desalbook.hydraulics.design_pressure import Section
from desalbook.plant.operations import UnitOperations
from desalbook.plant.pretreat import Pretreated
from desalbook.pretreatment.backwash_relations import wash_flow_of
from desalbook.pretreatment.vessel import vessel
from desalbook.trail import scope

__all__ = ["filter_vessels"]


def filter_vessels(inp, ops: UnitOperations, sections: dict[str, Section]) -> Pretreated:
    """Plates, weight and place of the filters, built for the rating of their section.

    Parameters
    ----------
    sections : dict of Judged
        Of `design_pressures`; one of them the filters, where the plant has them.
    """
    pre: Pretreated = ops.pretreated
    battery, bed, rate = pre.battery, pre.bed, pre.wash_rate
    if battery is None or bed is None or rate is None:
        return pre
    with scope("train", count=ops.duty.trains, because=[pre.present]), scope("unit"):
        most = wash_flow_of.at("filter_vessel.service_flow", wash_rate=battery.rate_outage, area=battery.area,
                               title="Greatest flow of one filter, one washing and one down")
        return replace(pre, vessel=vessel(
            inp, battery, bed, service_flow=most, wash_flow=rate.flow, density=ops.waters.at["cold"].density,
            design_pressure=sections["filters"].rating))
