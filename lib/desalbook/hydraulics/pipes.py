"""Pipes: velocity, Reynolds number, Darcy friction factor after Colebrook, head loss, and the bore of a run.

Head loss is Darcy-Weisbach with loss coefficients for the fittings. The formula of Hazen and Williams is not in
the kit: its coefficient holds for cold fresh water and one range of Reynolds numbers, while roughness and the
Colebrook equation serve every water, temperature and size with one number of the wall.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from fluids.friction import LAMINAR_TRANSITION_PIPE, friction_factor

from desalbook.hydraulics.constants import PI, G, Small
from desalbook.hydraulics.rows import column_line, least_row, row_line
from desalbook.hydraulics.walls import PipeWall, library_version, pipe_dimension, pipe_wall, select_schedule
from desalbook.problems import Infeasible
from desalbook.tables import table
from desalbook.trail import (
    Choice,
    Figure,
    assumed,
    checked,
    constant,
    current,
    dot,
    engine,
    is_given,
    log10,
    minimum,
    picked,
    relation,
    values,
)
from desalbook.units import M2, Count, Factor, Head, KgPerM3, M, M3PerS, MPerS, PaS, show

__all__ = [
    "Fluid",
    "Pipe",
    "Run",
    "allowable_velocity",
    "circle_area",
    "colebrook_friction_factor",
    "colebrook_over_cases",
    "darcy_weisbach_head_loss",
    "diameter_for_area",
    "minimum_diameter",
    "pipe_head_loss",
    "pipe_velocity",
    "reynolds_number",
    "run_input",
    "size_pipe",
    "size_pressure_pipe",
]

ROUGH_WALL = constant("c_e", 3.7, "1", source="colebrook-1939", title="Colebrook equation, rough wall")
SMOOTH_WALL = constant("c_Re", 2.51, "1", source="colebrook-1939", title="Colebrook equation, smooth wall")
LAMINAR = constant("c_lam", 64.0, "1", source="definition",
                   title="Friction factor of laminar flow times Reynolds number")
COLD_DENSITY = constant("rho_c", 1027.0, "kg/m^3", source="common-practice",
                        title="Density of seawater near 10 degC, for choosing a bore")
COLD_VISCOSITY = constant("mu_c", 1.4e-3, "Pa*s", source="common-practice",
                          title="Viscosity of seawater near 10 degC, for choosing a bore")
FIRST_FACTOR = 0.02  # where the iteration begins


@dataclass(frozen=True)
class Fluid:
    """Density (kg/m3) and dynamic viscosity (Pa s) of one water at one temperature."""

    density: Figure
    viscosity: Figure


@dataclass(frozen=True)
class Pipe:
    """One run of pipe: inner diameter and roughness (m), length (m), sum of loss coefficients.

    Parameters
    ----------
    diameter, roughness, length, fitting_losses : Figure
    velocity_limit : Figure
        Of its service and material, m/s.
    service, material : Choice
    wall : PipeWall or None
        Where the pipe was chosen for its pressure.
    nominal : Choice or None
        Size and schedule of a pipe chosen for its pressure.
    """

    diameter: Figure
    roughness: Figure
    length: Figure
    fitting_losses: Figure
    velocity_limit: Figure
    service: Choice
    material: Choice
    wall: PipeWall | None = None
    nominal: Choice | None = None


@dataclass(frozen=True)
class Run:
    """A run of pipe under flow: velocity (m/s), Reynolds number, friction factor, head loss (m)."""

    velocity: Figure
    reynolds: Figure
    friction_factor: Figure
    head: Figure


@relation("Area of a circle", symbol="A", unit="m^2", source="definition")
def circle_area(diameter: M) -> M2:
    """Cross-section of a circle: flow area of a pipe, plan area of a vertical vessel.

    From the inner diameter; lining and deposits make it smaller.
    """
    return PI / 4 * diameter**2


@relation("Velocity", symbol="v", unit="m/s", source="definition")
def pipe_velocity(flow: M3PerS, inner_diameter: M) -> MPerS:
    """Mean velocity in a full pipe.

    Flow over cross-section: the velocity at the axis is up to twice as high in laminar flow.
    """
    return 4 * flow / (PI * inner_diameter**2)


@relation("Diameter for an area", symbol="D_n", unit="m", source="definition")
def diameter_for_area(area: M2) -> M:
    """Inside diameter of an upright vessel for the area of its bed.

    A full circle: internals that take away area are not deducted.
    """
    return (4 * area / PI) ** 0.5


@relation("Smallest inner diameter", symbol="D_min", unit="m", source="definition")
def minimum_diameter(flow: M3PerS, velocity_limit: MPerS) -> Small:
    """Minimum inner diameter at which the velocity just meets its limit.

    Continuous: a standard bore is the next wider; says nothing of the head loss.
    """
    return (4 * flow / (PI * velocity_limit)) ** 0.5


@relation("Velocity limit", symbol="v_max", unit="m/s", source="definition")
def allowable_velocity(velocity_limit: MPerS, material_limit: MPerS) -> MPerS:
    """Allowable velocity: the lower of the limits of the service and of the material.

    A limit for clean water; sand, bubbles or cavitation ask for less.
    """
    return minimum(velocity_limit, material_limit)


@relation("Reynolds number", symbol="Re", unit="1", source="definition")
def reynolds_number(density: KgPerM3, velocity: MPerS, inner_diameter: M, viscosity: PaS) -> Factor:
    """Reynolds number of pipe flow: inertia over viscosity.

    Laminar below some 2000, turbulent above some 4000; between them neither friction law is sure.
    """
    return density * velocity * inner_diameter / viscosity


@relation(
    "Head loss in a run of pipe",
    symbol="h_f",
    unit="m",
    source="crane-tp410",
    place="Darcy-Weisbach with loss coefficients",
    note="steady, full, clean; coefficients of fittings scatter by a quarter",
)
def darcy_weisbach_head_loss(
    friction_factor: Factor, length: M, inner_diameter: M, fitting_losses: Factor, velocity: MPerS
) -> Head:
    """Darcy-Weisbach head loss of a run: wall friction over its length, and fittings by their coefficients.

    Steady flow of a full, clean pipe; coefficients of fittings scatter by a quarter, and closely spaced ones interfere.
    """
    return (friction_factor * length / inner_diameter + fitting_losses) * velocity**2 / (2 * G)


STEEL = constant("e_s", 4.572e-5, "m", source="crane-tp410", title="Roughness of clean commercial steel pipe")


@relation("Friction factor in full turbulence", symbol="f_T", unit="1", source="crane-tp410",
          place="Appendix A: 0.019 at 2 inch, 0.015 at 6 inch, 0.013 at 12 inch; from memory")
def fully_turbulent_friction(inner_diameter: M) -> Factor:
    """Friction factor of clean commercial steel pipe of that bore in full turbulence, to which fittings are referred.

    Of the bore alone: the pipe itself may be of another material.
    """
    return 0.25 / log10(STEEL / (ROUGH_WALL * inner_diameter)) ** 2


@relation("Sum of loss coefficients of the fittings", symbol="Sigma_K", unit="1", source="crane-tp410")
def sum_of_fitting_losses(fittings: Count, fitting_multiple: Factor, fitting_fixed: Factor,
                          turbulent_friction: Factor) -> Factor:
    """Loss coefficients of counted fittings: a multiple of the fully turbulent friction factor, or a fixed one.

    Each by itself; fittings close to one another interfere, and coefficients scatter by a quarter.
    """
    return dot(fittings, fitting_multiple) * turbulent_friction + dot(fittings, fitting_fixed)


def _losses_of_fittings(prefix: str, inp: Callable[[str], Any], diameter: Figure) -> Figure:
    """Sum of the coefficients of a run: of its fittings where they are counted, else as the run states it."""
    counted = run_input(inp, prefix, "fittings")
    if counted is None:
        return run_input(inp, prefix, "fitting_losses")
    friction = fully_turbulent_friction.at(f"{prefix}.turbulent_friction", inner_diameter=diameter)
    columns = {f"fitting_{name}": column_line(f"{prefix}.fitting_{name}", "fittings",
                                              [(k, table("fittings")[k][name]) for k in counted.keys],
                                              axis=counted.axis, title=f"Fittings, {name} part")
               for name in ("multiple", "fixed")}
    return sum_of_fitting_losses.at(f"{prefix}.fittings_sum", fittings=counted, turbulent_friction=friction, **columns)


def colebrook_friction_factor(id: str, reynolds: Figure, roughness: Figure, diameter: Figure) -> Figure:
    """Darcy friction factor by the equation of Colebrook, from the property library.

    Laminar below a Reynolds number of 2040; between that and some 4000 neither law is sure.

    Parameters
    ----------
    id : str
    reynolds : Figure
    roughness, diameter : Figure
        m
    """
    relative = float(roughness) / float(diameter)
    value = colebrook_over_cases(reynolds, relative) if isinstance(reynolds, np.ndarray) else friction_factor(
        Re=float(reynolds), eD=relative)
    return engine(
        id,
        value,
        "factor",
        title="Friction factor",
        symbol="f_D",
        inputs={"reynolds": reynolds, "roughness": roughness, "inner_diameter": diameter},
        library="fluids",
        version=library_version(),
        source="fluids",
        note="Darcy, four times the Fanning factor; the exact solution of the equation of Colebrook",
    )


def colebrook_over_cases(reynolds: np.ndarray, relative_roughness: float) -> np.ndarray:
    """Darcy friction factors over cases: each by Newton's method to the root of Colebrook's equation.

    The property library answers one case a call. Here every case takes the same steps, so that its answer does not
    depend on its company; five from a friction factor of 0.02 end at rounding for every roughness and turbulent
    Reynolds number. Laminar below a Reynolds number of 2040, as in the library.
    """
    turbulent = np.maximum(reynolds, LAMINAR_TRANSITION_PIPE)
    wall, smooth = relative_roughness / ROUGH_WALL.value, SMOOTH_WALL.value / turbulent
    x = np.full_like(turbulent, FIRST_FACTOR**-0.5)  # one over the root of the factor
    slope = 2 / math.log(10)
    for _ in range(5):
        inside = wall + smooth * x
        x -= (x + slope * np.log(inside)) / (1 + slope * smooth / inside)
    return np.where(reynolds < LAMINAR_TRANSITION_PIPE, LAMINAR.value / reynolds, x**-2)


def size_pipe(prefix: str, inp: Callable[[str], Any], flow: Figure, *, held: Figure | None = None,
         length: Figure | None = None, velocity_limit: Figure | None = None,
         pick: Callable[[str, Figure], Figure] | None = None) -> Pipe:
    """Pipe of a run: the smallest standard bore whose velocity and head loss per length meet those of its service.

    Parameters
    ----------
    prefix : str
        Id of the run, such as ``piping.runs[concentrate]``; its keys are read through `inp`.
    inp : callable
        Gives the recorded input of an id.
    flow : Figure
        Maximum flow of the run, m3/s.
    held, length, velocity_limit : Figure, optional
        What another section of the design says of this run; it goes before what the run says (m, m, m/s).
    pick : callable, optional
        Of id and smallest diameter, in place of the standard bores.

    Raises
    ------
    Infeasible
        No standard bore is wide enough.
    """
    limits = _limits(prefix, inp, velocity_limit)
    least = minimum_diameter.at(f"{prefix}.diameter_minimum", flow=flow, velocity_limit=limits.velocity)
    held = run_input(inp, prefix, "diameter") if held is None else held
    if held is None and pick is not None:
        diameter = pick(f"{prefix}.diameter", least)
    elif held is None:
        slope = None
        if velocity_limit is None and "friction_slope" in table("velocities").row(str(limits.service), prefix):
            slope = row_line(f"{prefix}.friction_slope", "velocities", limits.service, "friction_slope",
                             because=[limits.service])
        diameter = _bore(prefix, flow, least, limits.roughness, slope)
    else:
        diameter = held
        checked(
            f"{prefix}.diameter.check",
            held,
            ">=",
            least,
            title="Bore for the velocity limit",
            do=f"increase {held.id}, or clear it",
        )
    return Pipe(diameter, limits.roughness, run_input(inp, prefix, "length") if length is None else length,
                _losses_of_fittings(prefix, inp, diameter), limits.velocity, limits.service, limits.material)


def _bore(prefix: str, flow: Figure, least: Figure, roughness: Figure, slope: Figure | None) -> Figure:
    """Smallest standard bore that is wide enough for the velocity and, in small bores, for the head loss per length."""
    rows = table("pipe_bores").ascending("bore")
    wide = [row for row in rows if row["bore"].value >= least.value * (1 - 1e-9)]
    if slope is None or not wide:
        bore, _ = least_row(
            f"{prefix}.diameter", "pipe_bores", "bore", least, title="Inner diameter",
            rule="smallest standard bore that meets the velocity limit",
            do=f"set {prefix}.diameter, or divide the flow among more trains (duty.trains)")
        return bore
    narrow = [{"key": row.key, "value": row["bore"].value, "won": False} for row in rows if row not in wide]
    candidates: list[dict[str, Any]] = []
    for row in wide:
        lost = _head_loss_per_length(float(flow), row["bore"].value, float(roughness))
        fits = lost <= float(slope) or row is wide[-1]
        candidates.append({"key": row.key, "value": row["bore"].value, "friction_slope": lost, "won": fits})
        if fits:
            break
    why = ("the smallest that meets the velocity limit" if len(candidates) == 1 else
           f"{candidates[-2]['key']} loses {show(candidates[-2]['friction_slope'], 'fraction')} of its length in head")
    won = wide[len(candidates) - 1]
    return picked(
        f"{prefix}.diameter", won["bore"].value, won["bore"].kind, title="Inner diameter", symbol=won["bore"].symbol,
        rule="smallest standard bore that meets the limits of velocity and of head loss per length",
        candidates=[*narrow, *candidates], why=why, table="pipe_bores", source=won["bore"].source,
        inputs={"needed": least, "flow": flow, "roughness": roughness, "friction_slope": slope})


def _head_loss_per_length(flow: float, bore: float, roughness: float) -> float:
    """Head loss of straight pipe per length (m/m) in cold seawater."""
    with values(keep=False):
        velocity = pipe_velocity.at("", flow=flow, inner_diameter=bore)
        reynolds = reynolds_number.at("", density=COLD_DENSITY.value, velocity=velocity, inner_diameter=bore,
                                      viscosity=COLD_VISCOSITY.value)
        factor = colebrook_friction_factor("", reynolds, roughness, bore)  # pyright: ignore[reportArgumentType]
        return float(darcy_weisbach_head_loss.at("", friction_factor=factor, length=1.0, inner_diameter=bore,
                                                 fitting_losses=0.0, velocity=velocity))


class _Limits(NamedTuple):
    service: Choice
    material: Choice
    velocity: Figure
    roughness: Figure


def _limits(prefix: str, inp: Callable[[str], Any], written: Figure | None = None) -> _Limits:
    """Velocity limit of service and material, and roughness; a limit that is written stands for the service's."""
    service, material = run_input(inp, prefix, "service"), run_input(inp, prefix, "material")
    limit = allowable_velocity.at(
        f"{prefix}.velocity_limit",
        velocity_limit=written if written is not None else row_line(
            f"{prefix}.velocity_service",
            "velocities",
            service,
            "limit",
            because=[service],
            title="Limit of the service",
        ),
        material_limit=row_line(
            f"{prefix}.velocity_material", "pipes", material, "velocity_limit", because=[material]
        ),
    )
    roughness = row_line(f"{prefix}.roughness", "pipes", material, "roughness", because=[material])
    return _Limits(service, material, limit, roughness)


def run_input(inp: Callable[[str], Any], prefix: str, key: str) -> Any:
    """What the design says of a run; of a run it does not name, what the table of runs says.

    Parameters
    ----------
    prefix : str
        ``piping.runs[name]``.
    key : str
        Field of the run.
    """
    name = prefix[prefix.index("[") + 1 : -1]
    names = getattr(inp, "names", None)
    if names is None or name in names("piping.runs"):
        return inp(f"{prefix}.{key}")
    if key in ("diameter", "nominal", "fittings"):
        return None
    id, row = f"{prefix}.{key}", table("pipe_runs").row(name, prefix)
    if id in current():
        return current()[id]
    if row[key].kind is not None:
        return row_line(id, "pipe_runs", name, key)
    options = table("velocities" if key == "service" else "pipes").options()
    return assumed(id, row[key].value, None, title=row[key].title, options=list(options), source=row.source,
                   place=row.place, table="pipe_runs", row=name)


def size_pressure_pipe(prefix: str, inp: Callable[[str], Any], flow: Figure, pressure: Figure) -> Pipe:
    """Metal pipe of a run under pressure: minimum nominal size and thinnest schedule that carry flow and pressure.

    Parameters
    ----------
    pressure : Figure
        Gauge pressure the wall must hold, Pa.

    Returns
    -------
    Pipe
        With its wall, and size and schedule as `nominal`, a row of `walls.pipe_catalogue`.

    Raises
    ------
    Infeasible
        No schedule of steel pipe is strong and wide enough, or the material is no metal.
    """
    limits = _limits(prefix, inp)
    material, held = limits.material, run_input(inp, prefix, "diameter")
    if table("pipes").row(str(material), prefix)["metal"].value == "no":
        raise Infeasible("this material has no schedule for high pressure", where=f"{prefix}.material",
                         value=str(material), do="choose a metal, such as super-duplex")
    wall = pipe_wall(prefix, material)
    least = minimum_diameter.at(f"{prefix}.diameter_minimum", flow=flow, velocity_limit=limits.velocity)
    nominal: Choice | None = run_input(inp, prefix, "nominal")
    if nominal is None:
        nominal = select_schedule(f"{prefix}.nominal", least if held is None else held, pressure, wall,
                                  because=[material])
    diameter = held if held is not None else pipe_dimension(
        f"{prefix}.diameter", nominal, "inner", "Inner diameter", "D_i")
    if diameter is held or is_given(nominal.id):
        checked(f"{prefix}.diameter.check", diameter, ">=", least, title="Bore for the velocity limit",
                do=f"increase {diameter.id if diameter is held else nominal.id}, or clear it")
    return Pipe(diameter, limits.roughness, run_input(inp, prefix, "length"),
                _losses_of_fittings(prefix, inp, diameter), limits.velocity, limits.service, material, wall, nominal)


def pipe_head_loss(prefix: str, pipe: Pipe, flow: Figure, fluid: Fluid) -> Run:
    """Velocity and head loss of a run at one flow of one water; call it inside the scope of a case."""
    velocity = pipe_velocity.at(f"{prefix}.velocity", flow=flow, inner_diameter=pipe.diameter)
    reynolds = reynolds_number.at(
        f"{prefix}.reynolds",
        density=fluid.density,
        velocity=velocity,
        inner_diameter=pipe.diameter,
        viscosity=fluid.viscosity,
    )
    factor = colebrook_friction_factor(f"{prefix}.friction_factor", reynolds, pipe.roughness, pipe.diameter)
    head = darcy_weisbach_head_loss.at(
        f"{prefix}.loss",
        friction_factor=factor,
        length=pipe.length,
        inner_diameter=pipe.diameter,
        fitting_losses=pipe.fitting_losses,
        velocity=velocity,
    )
    return Run(velocity, reynolds, factor, head)
