"""Calculations of pipes: bore and head loss, wall under pressure, surge."""

from __future__ import annotations

from typing import Any

from desalbook.calc.calculation import TEMPERATURE, calculation
from desalbook.hydraulics import pipes
from desalbook.hydraulics.inputs import PipeRun
from desalbook.hydraulics.line_list import pipe_line, wall_check
from desalbook.hydraulics.surge import run_surge
from desalbook.plant.pipelines import bulk_modulus
from desalbook.plant.waters import waters
from desalbook.trail.inputs import Inputs
from desalbook.units import DifferencePa, GaugePa, KgPerM3, M, M3PerS, MPerS, S, Section, field, text_field

__all__ = ["DeliveryPipe", "pipe", "surge", "wall"]

RUN = "piping.runs[pipe]"
_FLOW: dict[str, Any] = {"possible": ("0.01 m3/h", "50000 m3/h"), "usual": ("1 m3/h", "5000 m3/h")}


class DeliveryPipe(PipeRun):
    """A run of pipe outside a plant."""

    name: str = text_field("pipe", title="Name", hint="Part of the names of its values")


class PipeDuty(DeliveryPipe):
    """Arguments of `pipe`."""

    flow: M3PerS = field("flow", ..., title="Flow in the pipe", symbol="Q", hint="The maximum", **_FLOW)


class WallDuty(PipeDuty):
    """Arguments of `wall`."""

    pressure: GaugePa = field("gauge pressure", ..., title="Pressure the wall must hold", symbol="p",
                              possible=("0 barg", "200 barg"), usual=("1 barg", "100 barg"),
                              hint="The maximum credible, surge with it")


class SurgeDuty(Section):
    """Arguments of `surge`."""

    velocity: MPerS = field("velocity", ..., title="Velocity that is stopped", symbol="v",
                            possible=("0.01 m/s", "20 m/s"), usual=("0.5 m/s", "5 m/s"),
                            hint="Mean over the cross-section")
    inner_diameter: M = field("length.small", ..., title="Inner diameter", symbol="D_i", possible=("5 mm", "4000 mm"),
                              usual=("25 mm", "1200 mm"), hint="Of the pipe")
    thickness: M = field("length.small", ..., title="Wall thickness", symbol="t_w", possible=("0.5 mm", "200 mm"),
                         usual=("2 mm", "30 mm"), hint="Without lining")
    elastic_modulus: DifferencePa = field(
        "pressure difference", ..., title="Elastic modulus of the wall", symbol="E", possible=("100 MPa", "300 GPa"),
        usual=("800 MPa", "210 GPa"), hint="Short-term for plastics; steel 200 GPa, glass-fibre pipe 20 GPa")
    length: M = field("length", ..., title="Length of the pipe", symbol="L", possible=("1 m", "50 km"),
                      usual=("10 m", "5000 m"), hint="From the valve to the next free surface")
    stop_time: S = field("time.second", "0 s", title="Flow stoppage time", symbol="t_c",
                         possible=("0 s", "600 s"), usual=("1 s", "60 s"),
                         hint="Run-down of the pump or closing of the valve; zero is the hardest case")
    density: KgPerM3 = field("density", "1025 kg/m3", title="Density of the water", symbol="rho",
                             possible=("950 kg/m3", "1150 kg/m3"), usual=("990 kg/m3", "1060 kg/m3"),
                             hint="Seawater as it stands")
    bulk_modulus: DifferencePa = field(
        "pressure difference", "2340 MPa", title="Bulk modulus of the water", symbol="K", possible=("1 GPa", "3 GPa"),
        usual=("2.1 GPa", "2.5 GPa"), hint="Fresh water 2.2 GPa, seawater 2.34 GPa; air in it lowers it much")


_PIPE = (f"{RUN}.diameter", f"{RUN}.velocity", f"{RUN}.velocity_limit", f"{RUN}.reynolds", f"{RUN}.friction_factor",
         f"{RUN}.loss", f"{RUN}.pressure_drop")


@calculation("Pipe", own={RUN: PipeDuty}, keys=TEMPERATURE, shows=(*_PIPE, f"{RUN}.surge"))
def pipe(inp: Inputs) -> None:
    """Run of pipe: bore for its velocity, Reynolds number, friction factor, head loss, surge when the flow stops.

    The smallest standard bore that meets the velocity limit of service and material, or the one given. Darcy-Weisbach
    with the friction factor of Colebrook and loss coefficients for fittings; full, clean, steady.
    """
    flow, fluid = inp.number(f"{RUN}.flow"), waters(inp).at["design"].fluid
    pipe_line(RUN, inp, flow=flow, fluid=fluid, pipe=pipes.size_pipe(RUN, inp, flow),
              bulk_modulus=bulk_modulus("sea"))


@calculation("Pipe under pressure", own={RUN: WallDuty}, keys=TEMPERATURE,
             shows=(f"{RUN}.nominal", f"{RUN}.diameter", f"{RUN}.outer_diameter", f"{RUN}.thickness",
                    f"{RUN}.wall_pressure", f"{RUN}.wall_needed", f"{RUN}.velocity"))
def wall(inp: Inputs) -> None:
    """Metal pipe under pressure: nominal size, schedule, and the wall the pressure asks for.

    The smallest nominal size and thinnest schedule that carry flow and pressure, by the wall equation of the piping
    code. Give a metal as the material. Pressure parts follow the code that applies where they are built, and a
    licensed engineer signs them.
    """
    flow, fluid = inp.number(f"{RUN}.flow"), waters(inp).at["design"].fluid
    pressure = inp.number(f"{RUN}.pressure")
    line = pipe_line(RUN, inp, flow=flow, fluid=fluid, pipe=pipes.size_pressure_pipe(RUN, inp, flow, pressure),
                     bulk_modulus=bulk_modulus("sea"))
    wall_check(line, pressure)


@calculation("Surge", own={"surge": SurgeDuty}, shows=("surge.wave_speed", "surge.surge"))
def surge(inp: Inputs) -> None:
    """Surge when the flow in a pipe stops: speed of the pressure wave, and the rise of pressure after Joukowsky.

    One pipe, even stop, no friction. A check valve that slams, and vapour pockets that collapse, go beyond it: have
    the line analysed where the sum comes near its rating.
    """
    run_surge("surge", **{name: inp.number(f"surge.{name}") for name in (
        "velocity", "density", "bulk_modulus", "elastic_modulus", "inner_diameter", "thickness", "length",
        "stop_time")})
