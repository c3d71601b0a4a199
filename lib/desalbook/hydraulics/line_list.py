"""One line of the line list: what a sized run does at its maximum flow, its wall, and its surge."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.head import pressure_of_head
from desalbook.hydraulics.materials import check_pitting, required_pren
from desalbook.hydraulics.pipes import Fluid, Pipe, Run, pipe_head_loss, run_input
from desalbook.hydraulics.rows import row_line
from desalbook.hydraulics.surge import Wave, run_surge
from desalbook.hydraulics.walls import (
    design_wall_thickness,
    library_version,
    nearest_size,
    nominal_wall_thickness,
    pipe_dimension,
    pipe_outer_diameter,
    pipe_wall,
    plastic_wall_thickness,
)
from desalbook.tables import Row, table
from desalbook.trail import Figure, checked, current, engine, scope
from desalbook.trail.limits import check_limit
from desalbook.trail.words import part_key

__all__ = ["CAUTION", "PipeLine", "judge_materials", "pipe_line", "wall_check"]

CAUTION = (
    "A pipe above its rating can burst and kill. Pipes follow the local piping code; a line that may hammer "
    "gets a surge "
    "study.")


@dataclass(frozen=True)
class PipeLine:
    """A run of pipe under its maximum flow: figures in SI.

    Parameters
    ----------
    prefix, title, size : str
        Id of the run, what it joins, and nominal size with schedule.
    flow, pressure_drop, thickness, outer_diameter : Figure
        m3/s, Pa, m, m.
    pipe : Pipe
    run : Run
    wave : Wave
    pren : Figure or None
        Pitting resistance number of its metal.
    """

    prefix: str
    title: str
    size: str
    flow: Figure
    pipe: Pipe
    run: Run
    pressure_drop: Figure
    thickness: Figure
    outer_diameter: Figure
    wave: Wave
    pren: Figure | None = None


def pipe_line(
    prefix: str,
    inp: Callable[[str], Any],
    *,
    flow: Figure,
    fluid: Fluid,
    pipe: Pipe,
    bulk_modulus: Figure,
) -> PipeLine:
    """Record velocity, loss, wall and surge of a run at its maximum flow.

    Parameters
    ----------
    prefix : str
        ``piping.runs[name]``.
    flow : Figure
        Maximum, m3/s.
    fluid : Fluid
        The coldest water: most viscous, most friction.
    """
    material = pipe.material
    row = table("pipes").row(str(material), f"{prefix}.material")
    run = pipe_head_loss(prefix, pipe, flow, fluid)
    checked(
        f"{prefix}.velocity.check",
        run.velocity,
        "<=",
        pipe.velocity_limit,
        title=f"Pipe velocity, {part_key(prefix)}",
        sized_by=[x for x in (pipe.diameter, pipe.nominal) if x is not None],
        do=f"increase {pipe.diameter.id}, or clear it to size automatically",
        caution="Below about 1 m/s seawater leaves deposits on stainless steel, which pits under them. Keep the flow "
                "above it; drain or flush at standstill.",
    )
    of_run = table("pipe_runs").rows.get(prefix[prefix.index("[") + 1 : -1])
    if of_run is not None and of_run["water"].value == "sea" and "alloy" in row:
        check_limit(f"{prefix}.velocity.check_minimum", run.velocity, "stagnant-velocity",
                    title=f"Pipe velocity, {part_key(prefix)}, minimum",
                    do=f"reduce {prefix}.diameter, or choose a plastic",
                    caution="seawater that moves slowly leaves deposits on stainless steel, and it pits beneath them")
    if of_run is not None and of_run["service"].value == "suction":
        check_limit(f"{prefix}.velocity.check_suction", run.velocity, "suction-velocity-absolute",
                    do=f"increase {prefix}.diameter, or choose the service of a suction ({prefix}.service)")
    drop = pressure_of_head.at(
        f"{prefix}.pressure_drop", head=run.head, density=fluid.density, title="Pressure drop of the run"
    )
    thickness, outer, size = _wall(prefix, row, pipe)
    found = run_surge(
        prefix,
        velocity=run.velocity,
        density=fluid.density,
        bulk_modulus=bulk_modulus,
        elastic_modulus=row_line(
            f"{prefix}.elastic_modulus", "pipes", material, "elastic_modulus", because=[material]
        ),
        inner_diameter=pipe.diameter,
        thickness=thickness,
        length=pipe.length,
        stop_time=run_input(inp, prefix, "stop_time"),
    )
    return PipeLine(prefix, "Pipe" if of_run is None else of_run.title, size, flow, pipe, run, drop, thickness, outer,
                    found)


def _wall(prefix: str, row: Row, pipe: Pipe) -> tuple[Figure, Figure, str]:
    material, nominal = pipe.material, pipe.nominal
    if nominal is not None:
        wall = pipe_dimension(f"{prefix}.thickness", nominal, "wall", "Wall thickness", "t_w")
        outer = pipe_dimension(f"{prefix}.outer_diameter", nominal, "outer", "Outer diameter", "D_o")
        return wall, outer, str(nominal)
    size = nearest_size(float(pipe.diameter))
    with scope(because=[material]):
        if row["metal"].value == "yes":
            wall = engine(
                f"{prefix}.thickness",
                size.wall,
                "length.small",
                title="Wall thickness",
                symbol="t_w",
                inputs={"inner_diameter": pipe.diameter},
                library="fluids",
                version=library_version(),
                source="asme-b36-19",
            )
        else:
            ratio = row_line(f"{prefix}.wall_ratio", "pipes", material, "wall_ratio")
            wall = plastic_wall_thickness.at(
                f"{prefix}.thickness", inner_diameter=pipe.diameter, wall_ratio=ratio,
                wall_minimum=row_line(f"{prefix}.wall_minimum", "pipes", material, "wall_minimum"),
            )
        outer = pipe_outer_diameter.at(f"{prefix}.outer_diameter", inner_diameter=pipe.diameter, thickness=wall)
    if row["metal"].value == "yes":
        return wall, outer, f"{size.title} schedule {size.schedule}"
    rows = table("pipe_bores").ascending("bore")
    wide = [x for x in rows if x["bore"].value >= float(pipe.diameter) * (1 - 1e-9)]
    return wall, outer, (wide[0] if wide else rows[-1]).title


def wall_check(of: PipeLine, pressure: Figure) -> Figure:
    """Wall to order for a pressure (Pa, gauge), ``{prefix}.wall_needed`` (m), checked against the wall there is."""
    strength = of.pipe.wall or pipe_wall(of.prefix, of.pipe.material)
    bare = design_wall_thickness.at(
        f"{of.prefix}.wall_pressure",
        gauge_pressure=pressure,
        outer_diameter=of.outer_diameter,
        allowable_stress=strength.allowable_stress,
        wall_coefficient=strength.wall_coefficient,
    )
    needed = nominal_wall_thickness.at(
        f"{of.prefix}.wall_needed",
        thickness=bare,
        corrosion_allowance=strength.corrosion_allowance,
        mill_tolerance=strength.mill_tolerance,
    )
    book, ratio = current(), f"{of.prefix}.wall_ratio"
    checked(
        f"{of.prefix}.thickness.check",
        of.thickness,
        ">=",
        needed,
        title=f"Pipe wall at rating, {part_key(of.prefix)}",
        do="select a thicker schedule, a stronger material, or a lower class",
        caution=CAUTION,
        source="asme-b31-3",
        decided_by=[book[ratio]] if ratio in book else (),  # no schedule says how thick such a pipe is
    )
    return needed


def judge_materials(lines: Mapping[str, PipeLine]) -> dict[str, Figure]:
    """Pitting resistance of metal that seawater or concentrate meets: its number, where the alloy has one, by run."""
    wanted, found = None, {}
    for name, of in lines.items():
        if table("pipe_runs")[name]["water"].value == "sea":
            wanted = wanted or required_pren()
            number = check_pitting(of.prefix, of.pipe.material, wanted)
            if number is not None:
                found[name] = number
    return found
