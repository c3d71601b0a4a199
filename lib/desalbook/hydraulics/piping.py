"""Pressure and head, the atmosphere, and the loss of one run of pipe."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics import solve_pipe
from desalbook.hydraulics.constants import PI, G, Small
from desalbook.hydraulics.rows import least_row, row_line
from desalbook.problems import Infeasible
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, checked, constant, current, engine, minimum, relation
from desalbook.units import (
    M2,
    AbsolutePa,
    DifferencePa,
    Factor,
    GaugePa,
    Head,
    KgPerM3,
    M,
    M3PerS,
    MPerS,
    PaS,
)

__all__ = [
    "Fluid",
    "Pipe",
    "Run",
    "absolute_of",
    "ambient_pressure_of",
    "area_of",
    "atmosphere",
    "bore",
    "bore_for_pressure",
    "friction",
    "gauge_of",
    "head_of",
    "loss",
    "pipe_loss",
    "pipe_of",
    "pressure_of_head",
    "reynolds_of",
    "said",
    "velocity_allowed",
    "velocity_of",
    "wall_rows",
    "width_at_limit",
]

LAPSE = constant("L_0", 0.0065, "K/m", source="isa-1976", title="Lapse rate of the standard atmosphere")
SEA_LEVEL_T = constant("T_0", 288.15, "K", source="isa-1976", title="Standard temperature at sea level")
SEA_LEVEL_P = constant("p_0", 101325.0, "Pa", source="isa-1976", title="Standard pressure at sea level")


@dataclass(frozen=True)
class Fluid:
    """Density (kg/m3) and dynamic viscosity (Pa s) of one water at one temperature."""

    density: Figure
    viscosity: Figure


@dataclass(frozen=True)
class Pipe:
    """One run of pipe: inner diameter and roughness (m), length (m), sum of loss coefficients."""

    diameter: Figure
    roughness: Figure
    length: Figure
    fitting_losses: Figure


@dataclass(frozen=True)
class Run:
    """A run of pipe under flow: velocity (m/s), Reynolds number, friction factor, head lost (m)."""

    velocity: Figure
    reynolds: Figure
    friction_factor: Figure
    head: Figure


@relation(
    "Atmospheric pressure at the site",
    symbol="p_a",
    unit="Pa",
    source="isa-1976",
    place="troposphere, hydrostatic with a constant lapse rate",
    within={"altitude": ("-500 m", "11 000 m")},
    note="mean value; weather moves it by some 3 %",
)
def ambient_pressure_of(altitude: M) -> AbsolutePa:
    """Barometric formula of the standard atmosphere."""
    return SEA_LEVEL_P * (1 - LAPSE * altitude / SEA_LEVEL_T) ** 5.25588


@relation("Absolute pressure", symbol="p_abs", unit="Pa", source="definition")
def absolute_of(gauge_pressure: GaugePa, ambient_pressure: AbsolutePa) -> AbsolutePa:
    """Gauge pressure and the atmosphere."""
    return gauge_pressure + ambient_pressure


@relation("Gauge pressure", symbol="p", unit="Pa", source="definition")
def gauge_of(absolute_pressure: AbsolutePa, ambient_pressure: AbsolutePa) -> GaugePa:
    """Absolute pressure less the atmosphere."""
    return absolute_pressure - ambient_pressure


@relation("Head of a pressure difference", symbol="H", unit="m", source="definition")
def head_of(pressure_rise: DifferencePa, density: KgPerM3) -> Head:
    """Height of a column of this water."""
    return pressure_rise / (density * G)


@relation("Pressure of a head", symbol="Delta_p", unit="Pa", source="definition")
def pressure_of_head(head: Head, density: KgPerM3) -> DifferencePa:
    """What a column of this water weighs."""
    return density * G * head


@relation("Area of a circle", symbol="A", unit="m^2", source="definition")
def area_of(diameter: M) -> M2:
    """Cross-section inside."""
    return PI / 4 * diameter**2


@relation("Velocity", symbol="v", unit="m/s", source="definition")
def velocity_of(flow: M3PerS, inner_diameter: M) -> MPerS:
    """Mean over the section of a full pipe."""
    return 4 * flow / (PI * inner_diameter**2)


@relation("Least inner diameter", symbol="D_min", unit="m", source="definition")
def width_at_limit(flow: M3PerS, velocity_limit: MPerS) -> Small:
    """At which the velocity just meets its limit."""
    return (4 * flow / (PI * velocity_limit)) ** 0.5


@relation("Velocity limit", symbol="v_max", unit="m/s", source="definition")
def velocity_allowed(velocity_limit: MPerS, material_limit: MPerS) -> MPerS:
    """Of the service and of the material, the lower."""
    return minimum(velocity_limit, material_limit)


@relation("Reynolds number", symbol="Re", unit="1", source="definition")
def reynolds_of(density: KgPerM3, velocity: MPerS, inner_diameter: M, viscosity: PaS) -> Factor:
    """Inertia over viscosity."""
    return density * velocity * inner_diameter / viscosity


@relation(
    "Head lost in a run of pipe",
    symbol="h_f",
    unit="m",
    source="crane-tp410",
    place="Darcy-Weisbach with loss coefficients",
    note="steady, full, clean; coefficients of fittings scatter by a quarter",
)
def pipe_loss(
    friction_factor: Factor, length: M, inner_diameter: M, fitting_losses: Factor, velocity: MPerS
) -> Head:
    """Friction of the wall and of the fittings."""
    return (friction_factor * length / inner_diameter + fitting_losses) * velocity**2 / (2 * G)


def atmosphere(altitude: Figure) -> Figure:
    """Atmospheric pressure of the site, ``site.ambient_pressure``; altitude enters nowhere else."""
    return ambient_pressure_of.at("site.ambient_pressure", altitude=altitude)


def friction(id: str, reynolds: Figure, roughness: Figure, diameter: Figure) -> Figure:
    """Darcy friction factor from the property library; laminar below a Reynolds number of 2040."""
    from fluids.friction import friction_factor

    value = friction_factor(Re=float(reynolds), eD=float(roughness) / float(diameter))
    return engine(
        id,
        value,
        "factor",
        title="Friction factor",
        symbol="f_D",
        inputs={"reynolds": reynolds, "roughness": roughness, "inner_diameter": diameter},
        library="fluids",
        version=solve_pipe.version(),
        source="fluids",
        note="Darcy, four times the Fanning factor; the exact solution of the equation of Colebrook",
    )


def bore(prefix: str, inp: Callable[[str], Any], flow: Figure, *, held: Figure | None = None,
         length: Figure | None = None, velocity_limit: Figure | None = None,
         pick: Callable[[str, Figure], Figure] | None = None) -> Pipe:
    """Pipe of a run: the least standard bore whose velocity meets the limit of its service.

    Parameters
    ----------
    prefix : str
        Id of the run, such as ``piping.runs[reject]``; its keys are read through `inp`.
    inp : callable
        Gives the recorded input of an id.
    flow : Figure
        Greatest flow of the run, m3/s.
    held, length, velocity_limit : Figure, optional
        What another section of the design says of this run; it goes before what the run says (m, m, m/s).
    pick : callable, optional
        Of id and least diameter, in place of the standard bores.

    Raises
    ------
    Infeasible
        No standard bore is wide enough.
    """
    limit, roughness = _limits(prefix, inp, velocity_limit)
    least = width_at_limit.at(f"{prefix}.diameter_least", flow=flow, velocity_limit=limit)
    held = said(inp, prefix, "diameter") if held is None else held
    if held is None and pick is not None:
        diameter = pick(f"{prefix}.diameter", least)
    elif held is None:
        diameter, _ = least_row(
            f"{prefix}.diameter",
            "pipe_bores",
            "bore",
            least,
            title="Inner diameter",
            rule="least standard bore that meets the velocity limit",
            do=f"write {prefix}.diameter to hold another bore, or divide the flow among more trains (duty.trains)",
        )
    else:
        diameter = held
        checked(
            f"{prefix}.diameter.check",
            held,
            ">=",
            least,
            title="Bore for the velocity limit",
            do=f"write a wider {held.id} or leave it out",
        )
    return Pipe(diameter, roughness, said(inp, prefix, "length") if length is None else length,
                said(inp, prefix, "fitting_losses"))


def _limits(prefix: str, inp: Callable[[str], Any], written: Figure | None = None) -> tuple[Figure, Figure]:
    """Velocity limit of service and material, and roughness; a limit that is written stands for the service's."""
    service, material = said(inp, prefix, "service"), said(inp, prefix, "material")
    limit = velocity_allowed.at(
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
    return limit, row_line(f"{prefix}.roughness", "pipes", material, "roughness", because=[material])


def said(inp: Callable[[str], Any], prefix: str, key: str) -> Any:
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
    if key == "diameter":
        return None
    id, row = f"{prefix}.{key}", table("pipe_runs").row(name, prefix)
    if id in current():
        return current()[id]
    if row[key].kind is not None:
        return row_line(id, "pipe_runs", name, key)
    options = table("velocities" if key == "service" else "pipes").options()
    return assumed(id, row[key].value, None, title=row[key].title, options=list(options), source=row.source,
                   place=row.place, table="pipe_runs", row=name)


def pipe_of(prefix: str, inp: Callable[[str], Any]) -> Pipe:
    """A run that `bore` has sized."""
    return Pipe(current()[f"{prefix}.diameter"], current()[f"{prefix}.roughness"], said(inp, prefix, "length"),
                said(inp, prefix, "fitting_losses"))


def bore_for_pressure(prefix: str, inp: Callable[[str], Any], flow: Figure, pressure: Figure) -> tuple[Pipe, Choice]:
    """Metal pipe of a run under pressure: least nominal size and thinnest schedule that carry flow and pressure.

    Parameters
    ----------
    pressure : Figure
        Gauge pressure the wall must hold, Pa.

    Returns
    -------
    Pipe, Choice
        The choice names size and schedule; it is a row of `solve_pipe.catalogue`.

    Raises
    ------
    Infeasible
        No schedule of steel pipe is strong and wide enough, or the material is no metal.
    """
    limit, roughness = _limits(prefix, inp)
    material, held = said(inp, prefix, "material"), said(inp, prefix, "diameter")
    if table("pipes").row(str(material), prefix)["metal"].value == "no":
        raise Infeasible("this material has no schedule for high pressure", where=f"{prefix}.material",
                         value=str(material), do="choose a metal, such as super-duplex")
    wall = wall_rows(prefix, material)
    least = width_at_limit.at(f"{prefix}.diameter_least", flow=flow, velocity_limit=limit)
    needed = least if held is None else held
    if held is not None:
        checked(f"{prefix}.diameter.check", held, ">=", least, title="Bore for the velocity limit",
                do=f"write a wider {prefix}.diameter or leave it out")
    nominal = solve_pipe.pick(f"{prefix}.nominal", needed, pressure, wall, because=[material])
    diameter = held if held is not None else solve_pipe.of_catalogue(
        f"{prefix}.diameter", nominal, "inner", "Inner diameter", "D_i")
    return Pipe(diameter, roughness, said(inp, prefix, "length"), said(inp, prefix, "fitting_losses")), nominal


def wall_rows(prefix: str, material: Choice) -> dict[str, Figure]:
    """Strength of the material of a run and what its wall loses; recorded once."""
    names = ("allowable_stress", "wall_coefficient", "corrosion_allowance", "mill_tolerance")
    return {n: current()[f"{prefix}.{n}"] if f"{prefix}.{n}" in current()
            else row_line(f"{prefix}.{n}", "pipes", material, n, because=[material]) for n in names}


def loss(prefix: str, pipe: Pipe, flow: Figure, fluid: Fluid) -> Run:
    """Velocity and head lost of a run at one flow of one water; call it inside the scope of a corner."""
    velocity = velocity_of.at(f"{prefix}.velocity", flow=flow, inner_diameter=pipe.diameter)
    reynolds = reynolds_of.at(
        f"{prefix}.reynolds",
        density=fluid.density,
        velocity=velocity,
        inner_diameter=pipe.diameter,
        viscosity=fluid.viscosity,
    )
    factor = friction(f"{prefix}.friction_factor", reynolds, pipe.roughness, pipe.diameter)
    head = pipe_loss.at(
        f"{prefix}.loss",
        friction_factor=factor,
        length=pipe.length,
        inner_diameter=pipe.diameter,
        fitting_losses=pipe.fitting_losses,
        velocity=velocity,
    )
    return Run(velocity, reynolds, factor, head)
