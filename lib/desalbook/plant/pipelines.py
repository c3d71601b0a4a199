"""The line list: every run of pipe of a train at its maximum flow, sized for velocity and for pressure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from desalbook.balances import sum_of_pressure_drops, sum_of_volumes
from desalbook.cleaning.skid import pipe_contents
from desalbook.hydraulics import pipes
from desalbook.hydraulics.line_list import PipeLine, judge_materials, pipe_line
from desalbook.hydraulics.rows import row_line
from desalbook.plant.array import COLDEST, Array
from desalbook.plant.between import between_runs
from desalbook.plant.operations import UnitOperations
from desalbook.plant.reject_water import reject_fluid
from desalbook.plant.waters import Waters
from desalbook.trail import Figure, checked, current, govern, scope, scope_of
from desalbook.trail.inputs import Inputs

__all__ = ["HIGH", "fresh_water", "high_pressure_runs", "line_rows", "pipelines"]

HIGH = ("high-pressure", "concentrate-high")


@dataclass(frozen=True)
class HighPressurePipes:
    """Runs between high-pressure pump, vessels and energy recovery device.

    Parameters
    ----------
    lines : dict of PipeLine
        By run.
    volume : Figure
        Water in the runs of one train, m3.
    bulk_modulus : Figure
        Of seawater, Pa.
    """

    lines: dict[str, PipeLine]
    volume: Figure
    bulk_modulus: Figure


def high_pressure_runs(inp: Inputs, waters: Waters, a: Array, concentrate_flow: Figure,
                       trains: Figure) -> HighPressurePipes:
    """Size the pipes between high-pressure pump, vessels and recovery device, and find the water they hold.

    Parameters
    ----------
    concentrate_flow : Figure
        Maximum of one train, m3/s.
    """
    with scope("train", count=trains):
        flow = govern("piping.vessel_feed", dict(a.mixed_flow), "largest", title="Flow to the vessels of a train")
        flows = {"high-pressure": flow, "concentrate-high": concentrate_flow}
        fluids = {"high-pressure": waters.at["cold"].fluid, "concentrate-high": reject_fluid(waters, a, COLDEST)}
        found, volumes = {}, []
        modulus = bulk_modulus("sea")
        for name in HIGH:
            prefix = f"piping.runs[{name}]"
            pipe = pipes.size_pressure_pipe(prefix, inp, flows[name], current()["membrane.pressure_rating"])
            found[name] = pipe_line(prefix, inp, flow=flows[name], fluid=fluids[name], pipe=pipe, bulk_modulus=modulus)
            volumes.append(pipe_contents.at(f"{prefix}.volume", inner_diameter=pipe.diameter, length=pipe.length,
                                            title="Water in the run"))
        whole = sum_of_volumes.at("cip.high_pressure_pipes", volume=volumes[0], other_volume=volumes[1],
                                  title="Water in the high-pressure pipes of one train", symbol="V_hp")
    return HighPressurePipes(found, whole, modulus)


def pipelines(inp: Inputs, ops: UnitOperations, high: HighPressurePipes) -> dict[str, PipeLine]:
    """All runs of the plant, those of the high-pressure side first sized by `high_pressure_runs`.

    Flows are the maximum of each run; friction is that of the coldest water.
    """
    a, pre, w, d = ops.array, ops.pretreated, ops.waters, ops.duty
    cold = w.at["cold"]
    fresh = fresh_water(w, a)
    salt, sweet = high.bulk_modulus, bulk_modulus("fresh")
    reject = reject_fluid(w, a, COLDEST)
    lines: dict[str, PipeLine] = {}
    p = ops.pressure
    with scope("train", count=d.trains):
        for name, flow, fluid, run in (("feed-suction", pre.duty, cold.fluid, pre.runs["feed-suction"]),
                                       ("feed", pre.duty, cold.fluid, pre.runs["feed"]),
                                       ("concentrate", p.spent_flow, reject, p.machines.line.pipe)):
            lines[name] = pipe_line(f"piping.runs[{name}]", inp, flow=flow, fluid=fluid, pipe=run, bulk_modulus=salt)
            if name == "feed":
                lines |= high.lines
        lines |= between_runs(inp, ops, reject, fresh, salt, sweet)
        lines["permeate"] = _sized("permeate", inp, d.train_permeate, fresh, sweet)
        lines["flush"] = _sized("flush", inp, ops.flush.flow, fresh, sweet)
    with scope("plant"):
        if pre.wash_pump is not None and pre.wash_rate is not None:
            with scope(because=[pre.present]):
                prefix = "piping.runs[backwash]"
                lines["backwash"] = pipe_line(prefix, inp, flow=pre.wash_rate.flow, fluid=pre.wash_fluid or cold.fluid,
                                          pipe=pre.runs["backwash"], bulk_modulus=salt)
        lines["product"] = _sized("product", inp, ops.product_flow, fresh, sweet)
        lines["cleaning"] = pipe_line("piping.runs[cleaning]", inp, flow=ops.cleaning.flow, fluid=fresh,
                                      pipe=ops.cleaning.pipe, bulk_modulus=sweet)
        numbers = judge_materials(lines)
    _loop(inp, ops.device, high.lines)
    return {name: replace(of, pren=numbers.get(name)) for name, of in lines.items()}


def _loop(inp, device: Any, high: dict[str, PipeLine]) -> None:
    """The booster's allowance for pipes against the pipes drawn."""
    if not device.kind.needs_booster:
        return
    with scope("train", because=[device.choice]):
        lost = sum_of_pressure_drops.at(
            "booster.piping_loss_found", pressure_drop=high["high-pressure"].pressure_drop,
            other_drop=high["concentrate-high"].pressure_drop, title="Loss of the high-pressure loop",
            symbol="Delta_p_l")
        checked("booster.piping_loss.check", lost, "<=", inp("booster.piping_loss"),
                title="HP loop piping loss within its allowance",
                do="raise booster.piping_loss, or shorten or widen piping.runs[high-pressure] and [concentrate-high]")


def _sized(name: str, inp, flow: Figure, fluid: pipes.Fluid, modulus: Figure) -> PipeLine:
    prefix = f"piping.runs[{name}]"
    return pipe_line(prefix, inp, flow=flow, fluid=fluid, pipe=pipes.size_pipe(prefix, inp, flow), bulk_modulus=modulus)


def bulk_modulus(water: str) -> Figure:
    return row_line(f"piping.bulk_modulus_{water}", "bulk_modulus", water, "bulk_modulus")


def fresh_water(w: Waters, a: Array) -> pipes.Fluid:
    """Permeate at its coldest."""
    cold = w.at["cold"]
    return pipes.Fluid(a.by_corner["cold-aged"]["permeate_density"], cold.water_viscosity)


def line_rows(lines: dict[str, PipeLine], walls: dict[str, Figure]) -> list[dict[str, Any]]:
    """Rows of the line list: SI values; the id of the flow's line leads into the trail.

    Parameters
    ----------
    walls : dict of Figure
        Wall that the rating of its section asks for, by run, m.
    """
    rows = []
    for name, of in lines.items():
        rows.append({
            "key": name, "id": f"{of.prefix}.velocity", "title": of.title, "scope": scope_of(f"{of.prefix}.velocity"),
            "service": str(of.pipe.service), "material": str(of.pipe.material), "size": of.size,
            "flow": float(of.flow), "inner_diameter": float(of.pipe.diameter),
            "outer_diameter": float(of.outer_diameter), "thickness": float(of.thickness),
            "wall_needed": float(walls[name]) if name in walls else None, "length": float(of.pipe.length),
            "velocity": float(of.run.velocity), "velocity_limit": float(of.pipe.velocity_limit),
            "pressure_drop": float(of.pressure_drop), "wave_speed": float(of.wave.speed),
            "surge": float(of.wave.surge), "pren": None if of.pren is None else float(of.pren),
        })
    return rows
