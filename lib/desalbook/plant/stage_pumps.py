"""Pumps between stages and before a second pass: their duties in each case, and their sizing."""

from __future__ import annotations

from collections.abc import Mapping

from desalbook.hydraulics.motors import Electric
from desalbook.hydraulics.pumps import Pump, size_pump
from desalbook.plant.array import Array
from desalbook.plant.array_plan import Plan, Row
from desalbook.plant.pressure_train import SECOND_PASS_PUMP, Case, StagePumpDuty
from desalbook.plant.waters import Waters
from desalbook.trail import Figure, assumed, govern, scope
from desalbook.trail.corner import Corner

__all__ = ["boosted_stages", "size_stage_pumps", "stage_pump_duties"]


def boosted_stages(plan: Plan) -> dict[str, tuple[Row, int, bool]]:
    """Stages with a pump before them: row, place in its pass, whether of the second pass; by prefix of the lines."""
    found = {}
    for rows, prefix, second in ((plan.rows, "stage_pump", False), (plan.second_rows, "second_stage_pump", True)):
        for place, row in enumerate(rows):
            if place and row.boost is not None and float(row.boost):
                found[f"{prefix}[{row.name}]"] = row, place, second
    return found


def stage_pump_duties(a: Array, corner: Corner) -> dict[str, StagePumpDuty]:
    """Duties of the pumps between stages and before a second pass in one case."""
    staged = a.staged[corner]
    found = {}
    for name, (row, place, second) in boosted_stages(a.plan).items():
        before = (a.plan.second_rows if second else a.plan.rows)[place - 1]
        found[name] = StagePumpDuty(staged.stages[row.prefix]["feed_flow"], rise=row.boost,
                                    density=staged.stages[before.prefix]["concentrate_density"])
    if a.plan.second is not None:
        feed = staged.streams["second_feed"]
        found[SECOND_PASS_PUMP] = StagePumpDuty(
            feed.volume_flow, discharge=staged.stages["second"]["feed_pressure"], suction=a.plan.second["suction"],
            density=feed.density)
    return found


def size_stage_pumps(plan: Plan, cases: Mapping[Corner, Case], rises: Mapping[Corner, Mapping[str, Figure]],
                     waters: Waters, electric: Electric) -> tuple[dict[str, Pump], Figure | None]:
    """Pumps on their governing cases, by the prefix of their lines; and the zero power of what is not there."""
    duties = next(iter(cases.values())).stage_pumps
    if not duties:
        return {}, None
    stages, pumps = boosted_stages(plan), {}
    with scope(because=plan.because):
        for name, duty in duties.items():
            if name in stages:
                row = stages[name][0]
                title, efficiency, motor = f"Pump before stage {row.name}", row.efficiency, row.motor
            else:
                assert plan.second is not None
                title, efficiency = "Pump of the second pass", plan.second["pump_efficiency"]
                motor = plan.second["pump_motor"]
            flow = govern(f"{name}.flow", {c: case.stage_pumps[name].flow for c, case in cases.items()}, "largest",
                          title=f"{title}: flow")
            top = duty.rise if duty.rise is not None else govern(
                f"{name}.pressure_rise", {c: by_name[name] for c, by_name in rises.items()}, "largest",
                title=f"{title}: pressure rise")
            own = cases[Corner("cold", "aged")].stage_pumps[name].density
            pumps[name] = size_pump(name, flow=flow, density=waters.at["cold"].density if own is None else own,
                                    electric=electric,
                                    pressure_rise=top, efficiency=efficiency, motor=motor,
                                    because=[electric.frequency])
        none: Figure = assumed("energy.no_stage_power", 0.0, "power.electric", title="Power of absent stage pumps",
                               source="definition", text="not in this plant")
    return pumps, none
