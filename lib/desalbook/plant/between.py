"""Runs of pipe between the stages and the passes of a train, and the section of a second pass.

Sized at their maximum flow like every other run. Their loss is that of the ports and headers of each stage
(``membrane.port_loss``, ``membrane.second_pass.port_loss``) and is not charged twice; the few metres of water in them
are not counted in the contents that a cleaning or a flush turns over.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from desalbook.hydraulics import design_pressure as dp
from desalbook.hydraulics import pipes
from desalbook.hydraulics.design_pressure import Pressures, Section, check_section
from desalbook.hydraulics.line_list import PipeLine, pipe_line
from desalbook.hydraulics.pumps import HP_CLASSES, MULTISTAGE
from desalbook.plant.array import Array
from desalbook.plant.array_plan import Row
from desalbook.plant.operations import UnitOperations
from desalbook.plant.pressure_train import SECOND_PASS_PUMP
from desalbook.trail import Choice, Figure, assumed, current, govern, scope
from desalbook.trail.inputs import Inputs

__all__ = ["INTERSTAGE", "SECOND_PASS", "bank_runs", "between_runs", "ends_of", "runs_of",
           "second_pass_section"]

INTERSTAGE = "interstage"
SECOND_PASS = "second-pass"
"""Key of the section of a second pass, between its pump and the end of its vessels."""
_FEED, _STAGES, _CONCENTRATE = "second-feed", "second-stages", "second-return"


def between_runs(inp: Inputs, ops: UnitOperations, reject: pipes.Fluid, fresh: pipes.Fluid, salt: Figure,
                 sweet: Figure) -> dict[str, PipeLine]:
    """Runs that a train of several stages or passes has, by their key; none of a plain train.

    Parameters
    ----------
    reject, fresh : Fluid
        Concentrate and permeate at their coldest.
    salt, sweet : Figure
        Bulk modulus of seawater and of permeate, Pa.
    """
    a, plan, found = ops.array, ops.array.plan, {}
    if not plan.joined:
        return found

    def add(name: str, flow: Figure, fluid: pipes.Fluid, modulus: Figure, pressure: Figure | None = None) -> None:
        prefix = f"piping.runs[{name}]"
        pipe = pipes.size_pipe(prefix, inp, flow) if pressure is None else pipes.size_pressure_pipe(
            prefix, inp, flow, pressure)
        found[name] = pipe_line(prefix, inp, flow=flow, fluid=fluid, pipe=pipe, bulk_modulus=modulus)

    with scope(because=plan.because):
        if len(plan.rows) > 1:
            flow = _largest("piping.interstage", a, plan.rows[1:], "feed_flow", "Flow between stages")
            add(INTERSTAGE, flow, reject, salt, current()["membrane.pressure_rating"])
        if plan.second is not None:
            pump = ops.pressure.machines.stage_pumps[SECOND_PASS_PUMP]
            add("second-suction", pump.flow, fresh, sweet)
            add(_FEED, pump.flow, fresh, sweet)
            if len(plan.second_rows) > 1:
                add(_STAGES, _largest("piping.second_interstage", a, plan.second_rows[1:], "feed_flow",
                                      "Flow between stages of the second pass"), fresh, sweet)
            add(_CONCENTRATE, _largest("piping.second_concentrate", a, plan.second_rows[-1:], "concentrate_flow",
                                       "Concentrate of the second pass"), fresh, sweet)
    return found


def _largest(id: str, a: Array, rows: list[Row], name: str, title: str) -> Figure:
    every = {(c if len(rows) == 1 else f"{c}-{row.name}"): made.stages[row.prefix][name]
             for c, made in a.staged.items() for row in rows}
    return govern(id, every, "largest", title=title)


def second_pass_section(inp: Inputs, ops: UnitOperations, lines: Mapping[str, PipeLine],
                        none: Figure) -> dict[str, Section]:
    """The section of a second pass: all that its pumps can do against a shut valve, and the surge of their stop."""
    plan = ops.array.plan
    if plan.second is None:
        return {}
    machines, line = ops.pressure.machines.stage_pumps, lines[_FEED]
    with scope(because=plan.because):
        kind: Choice = assumed(f"{SECOND_PASS_PUMP}.pump_class", MULTISTAGE.key, None, title="Kind of second-pass pump",
                               options=list(HP_CLASSES), source="common-practice")
        suction = plan.second["suction"]
        for row in plan.second_rows[1:]:
            name = f"second_stage_pump[{row.name}]"
            if name in machines:
                suction = dp.discharge_pressure.at(
                    f"design_pressure[{SECOND_PASS}].with[{row.name}]", suction_pressure=suction,
                    pressure_rise=dp.shutoff_rise(name, machines[name].pressure_rise, kind),
                    title="Suction and the pumps between its stages at no flow")
        rise = dp.shutoff_rise(SECOND_PASS_PUMP, machines[SECOND_PASS_PUMP].pressure_rise, kind)
        credible = dp.maximum_credible_pressure.at(f"design_pressure[{SECOND_PASS}].credible", suction_pressure=suction,
                                                   shutoff_rise=rise, boost=none, surge_pressure=line.wave.surge)
        seen = Pressures(current()["second_pass.feed_pressure"], credible, line.wave.surge,
                         machines[SECOND_PASS_PUMP].flow, rise)
        return {SECOND_PASS: check_section(SECOND_PASS, "Second pass", seen, inp,
                                           relieved=inp("design_pressure.relief_second"), class_key="class_second")}


def ends_of(sized: Any, name: str) -> str:
    """Where a run ends by choice of the design; empty where the table of line numbers says it.

    Parameters
    ----------
    sized : Sized
    name : str
    """
    second = sized.array.plan.second
    return "waste" if name == _CONCENTRATE and second is not None and str(second["concentrate_to"]) == "waste" else ""


def runs_of(sized: Any, name: str) -> int:
    """How often a train has a run: one between each stage and the next of a pass, one of every other.

    Parameters
    ----------
    sized : Sized
    name : str
    """
    plan = sized.array.plan
    rows = {INTERSTAGE: plan.rows, _STAGES: plan.second_rows}.get(name)
    return 1 if rows is None else len(rows) - 1


def bank_runs(sized: Any, key: str) -> dict[str, str]:
    """Runs that feed a bank of vessels and take its concentrate, by its key in the schedule; its own of a plain train.

    Parameters
    ----------
    sized : Sized
    key : str
        Such as ``vessels[second_pass-first]``.
    """
    plan, at = sized.array.plan, key.partition("[")[2].rstrip("]")
    for rows, feed, between, end in ((plan.rows, "high-pressure", INTERSTAGE, "concentrate-high"),
                                     (plan.second_rows, _FEED, _STAGES, _CONCENTRATE)):
        for place, row in enumerate(rows):
            if row.prefix.replace("[", "-").rstrip("]") == at:
                return {"high-pressure": between if place else feed,
                        "concentrate-high": end if place == len(rows) - 1 else between}
    return {}
