"""Product, flush and CIP pump: heads built up line by line, at clean and dirty cartridges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from desalbook.balances import flow_per_unit
from desalbook.hydraulics import low_pressure as sc
from desalbook.hydraulics.head import gauge_pressure_head, pressure_head, static_lift
from desalbook.hydraulics.line_list import PipeLine
from desalbook.hydraulics.low_pressure import DynamicHead
from desalbook.hydraulics.pipes import Fluid, Pipe, pipe_head_loss
from desalbook.hydraulics.pumps import Pump, size_pump
from desalbook.plant.operations import UnitOperations
from desalbook.plant.pretreat import electric
from desalbook.trail import Choice, Figure, assumed, checked, constant, note, picked, scope, values
from desalbook.trail.inputs import Inputs
from desalbook.units import show

__all__ = ["CleaningHead", "Transfer", "cleaning_head", "pick_cleaning_head", "transfer", "transfer_pump"]


CIP_HEAD_STEP = constant("d_H", 5.0, "m", source="common-practice", title="Step of heads of CIP pumps")


@dataclass(frozen=True)
class Transfer:
    """A pump that only moves water."""

    present: Choice
    pump: Pump
    head: DynamicHead


@dataclass(frozen=True)
class CleaningHead:
    """Head of the CIP pump and what it works against (m): lift, pipes, outlet, and cartridges by state."""

    pump_head: Figure
    static_lift: Figure
    friction: Figure
    outlet: Figure
    cartridges: dict[str, Figure]


def transfer(inp: Inputs, ops: UnitOperations, lines: dict[str, PipeLine]) -> dict[str, Transfer]:
    """Size product and flush pump; one that the plant does not have is not among them."""
    found = {}
    fresh = ops.array.by_corner["cold-aged"]["permeate_density"]
    for key, name, flow in (("product", "product_pump", ops.product_flow), ("flush", "flush_pump", ops.flush.flow)):
        present: Choice = inp(f"{name}.present")
        with scope("plant", because=[present]):
            if present == "yes":
                found[name] = Transfer(present, *transfer_pump(name, inp, flow, fresh, lines[key].run.head))
            else:
                note(f"{name}.absent", title=f"{key.capitalize()} pump", verdict="passes", why="not in this plant",
                     do=f"set {name}.present to add it", inputs={"present": present})
    return found


def transfer_pump(name: str, inp: Inputs, flow: Figure, density: Figure,
                  friction: Figure) -> tuple[Pump, DynamicHead]:
    """Head of a pump that only moves water, line by line, and the pump for it.

    Parameters
    ----------
    name : str
        Section of its keys, and first part of its ids.
    inp : Inputs
    flow : Figure
        Of all pumps on duty, m3/s.
    density : Figure
        kg/m3
    friction : Figure
        Head loss between the levels, m.
    """
    each = flow_per_unit.at(f"{name}.flow", flow=flow, units=inp(f"{name}.duty_count"))
    lift = static_lift.at(f"{name}.static_lift", elevation_to=inp(f"{name}.delivery_elevation"),
                          elevation_from=inp(f"{name}.tank_low_level"))
    wanted = gauge_pressure_head.at(f"{name}.outlet_head", gauge_pressure=inp(f"{name}.delivery_pressure"),
                                    density=density)
    head = sc.transfer_total_dynamic_head.at(f"{name}.head", static_head=lift, friction_head=friction,
                                             outlet_head=wanted)
    pump = size_pump(name, flow=each, density=density, electric=electric(inp), head=head,
                     efficiency=inp(f"{name}.efficiency"), pump_class=inp(f"{name}.pump_class"),
                     motor_margin=inp(f"{name}.motor_margin"), motor=inp(f"{name}.motor"),
                     because=[inp("electric.frequency")])
    return pump, DynamicHead(head, lift, friction, wanted)


def cleaning_head(inp: Inputs, ops: UnitOperations, line: PipeLine) -> CleaningHead:
    """Judge the head of the CIP pump; its cartridges lose what those of the feed lose, clean and dirty."""
    with scope("plant"):
        return _cleaning(inp, ops.cleaning.head, ops.array.by_corner["cold-aged"]["permeate_density"], line)


def pick_cleaning_head(inp: Inputs, fluid: Fluid, flow: Figure, pipe: Pipe) -> Figure:
    """Head of the CIP pump in steps: the smallest that its line, dirty cartridges and the vessels ask for."""
    inputs = {"flow": flow, "inner_diameter": pipe.diameter, "pressure": inp("cip.pressure"),
              "cartridge_drop": inp("cartridge.dirty_drop"), "length": pipe.length,
              "fitting_losses": pipe.fitting_losses, "elevation": inp("design_pressure.vessel_elevation"),
              "density": fluid.density, "viscosity": fluid.viscosity, "roughness": pipe.roughness}
    with values(keep=False):
        friction = pipe_head_loss("piping.runs[cleaning]", pipe, flow, fluid).head
        _, _, _, needed = _heads(inp, fluid.density, friction)
    candidates: list[dict[str, Any]] = []
    number = 0
    while not candidates or not candidates[-1]["won"]:
        number += 1
        head = number * CIP_HEAD_STEP.value
        candidates.append({"key": f"{head:g} m", "value": head, "won": head >= float(needed)})
    return picked("cip.pump_head", candidates[-1]["value"], "head", title="Head of the CIP pump", symbol="H",
                  rule="smallest step of 5 m that dirty cartridges, the line and the vessels ask for",
                  candidates=candidates, inputs=inputs, why=f"{show(float(needed), 'head')} needed",
                  source="common-practice")


def _heads(inp: Inputs, density: Figure, friction: Figure) -> tuple[Figure, Figure, dict[str, Figure], Figure]:
    """Lift, outlet, cartridges by state, and the head needed with dirty ones (m)."""
    low = assumed("cip.tank_low_level", 0.3, "length", title="Minimum level of the CIP tank", symbol="z",
                  source="common-practice")
    lift = static_lift.at("cip.static_lift", elevation_to=inp("design_pressure.vessel_elevation"), elevation_from=low)
    wanted = gauge_pressure_head.at("cip.outlet_head", gauge_pressure=inp("cip.pressure"), density=density)
    cartridges: dict[str, Figure] = {}
    for state in ("clean", "dirty"):
        lost = cartridges[state] = pressure_head.at(
            f"cip.cartridge_loss_{state}", pressure_rise=inp(f"cartridge.{state}_drop"), density=density,
            title=f"Head loss in {state} cartridges")
        needed = sc.cleaning_total_dynamic_head.at(
            f"cip.head_needed_{state}", static_head=lift, friction_head=friction, cartridge_head=lost,
            outlet_head=wanted, title=f"Required CIP-pump head, {state} cartridges")
    return lift, wanted, cartridges, needed


def _cleaning(inp: Inputs, head: Figure, density: Figure, line: PipeLine) -> CleaningHead:
    lift, wanted, cartridges, needed = _heads(inp, density, line.run.head)
    checked("cip.pump_head.check", head, ">=", needed,
            title="Head of the CIP pump with dirty cartridges", do="raise cip.pump_head or lower cip.pressure")
    return CleaningHead(head, lift, line.run.head, wanted, cartridges)
