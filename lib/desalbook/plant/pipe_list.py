"""The line list as steel and plastic: number, flanges, supports, mass empty and full of every run of pipe.

Line number ``DN200-SW-202-PN10-GRP``: nominal size, fluid, number (first digit the area, as in the tags), class and
material. Fluids: SW seawater, BW backwash, RF RO feed, CN concentrate, PW permeate, DW product, FW flush, CL CIP.
Supports stand for sag alone; a piping engineer judges heat, surge, wind and earthquake. Each run falls by a stated
slope to where it empties: suctions and what runs by gravity more than lines under pressure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from desalbook.balances import sum_of_two_masses
from desalbook.fabrication.lifting import share_of_mass
from desalbook.fabrication.pipe_weight import (
    contents_linear_mass,
    contents_mass,
    flange_class,
    flange_count,
    flange_mass,
    full_linear_mass,
    long_term_modulus,
    pipe_linear_mass,
    run_fall,
    run_mass,
    support_count,
    support_span,
)
from desalbook.hydraulics.line_list import PipeLine
from desalbook.hydraulics.rows import row_line
from desalbook.plant.between import ends_of, runs_of
from desalbook.plant.design_pressures import SECTION_OF
from desalbook.plant.valves import class_title
from desalbook.tables import table
from desalbook.trail import Figure, assumed, current, picked, scope
from desalbook.trail.inputs import Inputs

__all__ = ["HIGH_RUNS", "PipeRun", "end_tag", "pipe_runs"]

HIGH_RUNS = {"high-pressure": "hp-discharge"}
"""Section whose class the pipe of a run has where it is not that of the run."""
_LIMITS = {"waste": "Battery limit, waste", "outfall": "Battery limit, outfall", "delivery": "Battery limit, delivery"}
_SHORT = {"grp": "GRP", "pe": "PE", "pvc": "PVC", "stainless": "SS", "duplex": "D", "super-duplex": "SD",
          "super-duplex-tungsten": "SDW", "high-nickel": "HN", "six-molybdenum": "6MO", "copper-nickel": "CUNI",
          "titanium": "TI", "carbon-steel": "CS", "carbon-steel-corroded": "CS"}


@dataclass(frozen=True)
class PipeRun:
    """One run of pipe: its row, and what it weighs (kg) as figures, one of it.

    Parameters
    ----------
    row : dict
        Of the line list, SI.
    empty, supports, contents : Figure
    """

    key: str
    row: dict[str, Any]
    empty: Figure
    supports: Figure
    contents: Figure


def end_tag(rows: Sequence[Mapping[str, Any]], wanted: str) -> str:
    """Tag of the first item the plant has of those named; the battery limit where one is named or none is there.

    A name may end within the brackets (``vessels[stage``), and begin with ``last:`` for the last of them.
    """
    for name in wanted.split():
        if name in _LIMITS:
            return _LIMITS[name]
        last, key = name.startswith("last:"), name.removeprefix("last:")
        begin = key if "[" in key else f"{key}["
        found = [r["tag"] for r in rows if r["key"] == key or r["key"].startswith(begin)]
        if found:
            return found[-1 if last else 0]
    return "Battery limit"


def pipe_runs(inp: Inputs, sized: Any) -> list[PipeRun]:
    """Every run of pipe of the plant, weighed; one of each train where it is of a train.

    Parameters
    ----------
    inp : Inputs
        Keys of ``[fabrication]``.
    sized : Sized
    """
    found = []
    for name, line in sized.pipes.items():
        base = next(x for x in sized.lines if x["key"] == name)
        with scope(base["scope"], count=sized.duty.trains if base["scope"] == "train" else None):
            found.append(_run(inp, sized, name, line, base))
    return found


def _run(inp: Inputs, sized: Any, name: str, line: PipeLine, base: Mapping[str, Any]) -> PipeRun:
    at, pipe = f"line[{name}]", line.pipe
    # a run that no pump presses is filled by its tank alone, and is bought in the class of the permeate header
    section = sized.sections.get(HIGH_RUNS.get(name, SECTION_OF[name])) or sized.sections["permeate"]
    metal = table("pipes").row(str(pipe.material), line.prefix)["metal"].value == "yes"
    linear = pipe_linear_mass.at(
        f"{at}.pipe_per_length", outer_diameter=line.outer_diameter, thickness=line.thickness,
        wall_density=row_line(f"{at}.wall_density", "pipes", pipe.material, "wall_density", because=[pipe.material]))
    inside = contents_linear_mass.at(f"{at}.water_per_length", inner_diameter=pipe.diameter, density=_water(sized))
    full = full_linear_mass.at(f"{at}.full_per_length", linear_mass=linear, contents_per_length=inside)
    row, held = _flange_row(at, section)
    flanges = flange_count.at(f"{at}.flanges", length=pipe.length, spool_length=inp.number(
        "fabrication.spool_length"))
    each = flange_mass.at(
        f"{at}.flange_mass", inner_diameter=pipe.diameter,
        flange_reference=row_line(f"{at}.flange_reference", "flange_classes", row, "mass", because=[held]),
        flange_exponent=row_line(f"{at}.flange_exponent", "flange_classes", row, "exponent", because=[held]))
    empty = run_mass.at(f"{at}.empty", linear_mass=linear, length=pipe.length, flange_count=flanges,
                           flange_mass=each, pipe_fittings=inp.number("fabrication.pipe_fittings"))
    steel = share_of_mass.at(f"{at}.supports_mass", base_mass=empty, title="Supports of the run",
                             mass_fraction_of=inp.number("fabrication.pipe_supports"))
    contents = contents_mass.at(f"{at}.contents", linear_mass=inside, length=pipe.length)
    whole = sum_of_two_masses.at(f"{at}.full", mass=empty, other_mass=contents, title="Run full of water")
    with scope(because=[pipe.material]):
        lasting = assumed(f"{at}.long_term_fraction", 1.0 if metal else 1 / 3, "fraction", symbol="x_t",
                          title="Long-term / short-term modulus", source="common-practice",
                          place="a third for plastics, from memory")
    modulus = long_term_modulus.at(f"{at}.long_term_modulus", long_term_fraction=lasting,
                                      elastic_modulus=current()[f"{line.prefix}.elastic_modulus"])
    span = support_span.at(f"{at}.support_span", elastic_modulus=modulus, outer_diameter=line.outer_diameter,
                              inner_diameter=pipe.diameter, linear_mass=full, sag=inp.number("fabrication.pipe_sag"))
    supports = support_count.at(f"{at}.supports", length=pipe.length, support_span=span)
    number = table("line_numbers").row(name, at)
    slope = row_line(f"{at}.slope", "line_numbers", name, "slope")
    fall = run_fall.at(f"{at}.fall", length=pipe.length, slope=slope)
    rating, material = class_title(section.rating_name), str(pipe.material)
    made = {
        "number": "-".join((line.size.split(" schedule")[0].replace(" ", ""), number["fluid"].value,
                            number["number"].value, _class(section), _SHORT.get(material, material.upper()))),
        "key": name, "title": line.title, "begins": end_tag(sized.equipment, number["begins"].value),
        "ends": end_tag(sized.equipment, ends_of(sized, name) or number["ends"].value), "fluid": number.title,
        "scope": base["scope"],
        "count": (int(sized.duty.trains) if base["scope"] == "train" else 1) * runs_of(sized, name),
        "material": table("pipes").row(material, line.prefix).title, "size": line.size,
        "outer_diameter": float(line.outer_diameter), "thickness": float(line.thickness),
        "length": float(pipe.length), "flow": float(line.flow), "velocity": float(line.run.velocity),
        "rating": rating, "rated_pressure": float(section.rating),
        "flange_class": table("flange_classes").row(row, at).title, "flanges": int(flanges),
        "support_span": float(span), "supports": int(supports), "slope": float(slope),
        "falls_to": number["falls"].value, "fall": float(fall), "mass_empty": float(empty), "mass_full": float(whole),
        "supply": "package", "id": empty.id,
        "ids": {"mass_empty": empty.id, "mass_full": whole.id, "support_span": span.id, "supports": supports.id,
                "flanges": flanges.id, "slope": slope.id, "fall": fall.id, "length": pipe.length.id,
                "flow": line.flow.id, "rated_pressure": section.rating.id}}
    return PipeRun(name, made, empty, steel, contents)


def _class(section: Any) -> str:
    title = class_title(section.rating_name)
    return "".join(title.split()) if title.startswith("PN") else f"{float(section.rating) / 1e5:.0f}BAR"


def _flange_row(at: str, section: Any) -> tuple[str, Any]:
    """Class of the flanges, picked by the rated pressure."""
    rows = table("flange_classes").ascending("rating")
    won = flange_class(section.rating)
    held = picked(f"{at}.flange_class", won, None, title="Class of the flanges",
                  rule="lowest class whose rating holds the rated pressure", table="flange_classes",
                  source="common-practice", inputs={"rating": section.rating},
                  candidates=[{"key": r.key, "value": r["rating"].value, "won": r.key == won} for r in rows])
    return won, held


def _water(sized: Any) -> Figure:
    """The heaviest water of the pipes is taken for all: seawater at the cold temperature."""
    return sized.waters.at["cold"].density
