"""A number of physics or of practice in a room is a `constant`, an assumed line or a table's row, with its source.

Relations are proved by their check points, and their constants carry a source already. What is left in the code of a
room is counting, comparing and iterating, which needs only trivial numbers; anything else is a figure nobody can
trace.
"""

from __future__ import annotations

import ast
import math
from pathlib import Path

from tests.every import every
from tests.test_floors import ROOT, floor_of, room_of, sources

FLOORS = {2, 3, 5}
# Makers of lines, constants and fields: a number given to them stands beside its unit and its source.
SOURCED = {"assumed", "constant", "field", "choice", "text_field", "sections", "Lookup"}
# Numbers that are no engineering, by module: the values, and why they need no source. The list may only shrink.
ITERATION = "starting points, bounds and dampings of an iteration whose root is proved by its residual"
RANGE = "ends of the range a caller may ask for; the message beside each says it in words"
ENGINE = "ends of what the geochemical engine is asked, and its own sentinels"
TRIAL = "a small water on which a setting of the engine is tried"
JUDGED = "stands in the row of an assumed line a few lines below, with its source"
LAYOUT = "how many rows or points a table or picture has"
ALLOWED: dict[str, tuple[tuple[float, ...], str]] = {
    "hydraulics/pipes.py": ((0.02,), ITERATION),
    "membrane/element.py": ((0.55, 1.1, 5e-6, 25, 5e-7, 4e-7, 1020, 40), ITERATION),
    "membrane/ions.py": ((40,), ITERATION),
    "membrane/local_ph.py": ((1.5, 2.5), ITERATION),
    "membrane/solver.py": ((2e7, 0.97, 0.995, 0.875, 1.7, 60, 0.05, 0.03, 0.7, 0.99, 0.4, 0.95, 0.35, 0.2, 0.3,
                            1.01, 3e8, 0.96, 0.04, 1.3, 0.6, 1.15, 0.02, 1.5, 1.02, 0.75), ITERATION),
    "membrane/vessel.py": ((30, 40), ITERATION),
    "plant/array.py": ((0.4, 0.8, 0.9, 15), ITERATION),
    "plant/array_ions.py": ((60, 0.9), ITERATION),
    "plant/cases.py": ((273.16,), "minimum point of a grid of temperatures that curves are read from"),
    "plant/cache.py": ((20,), "length of a digest"),
    "plant/pump_lines.py": ((41,), LAYOUT),
    "plant/rating.py": ((273.15, 323.15, 0.13, 20, 1.5, 0.95, 2e7, 9e4), RANGE),
    "plant/remedy.py": ((15, 21, 28), "steps of a search"),
    "plant/scaling.py": ((0.6, 13), LAYOUT),
    "plant/solve_array.py": ((0.9, 1.15, 0.05, 1.5e5, 0.6, 0.4), ITERATION),
    "plant/system_curves.py": ((33, 20), LAYOUT),
    "plant/tear_streams.py": ((40, 0.3), ITERATION),
    "pretreatment/backwash_timetable.py": ((26,), "letters of the alphabet"),
    "pretreatment/bed_limits.py": ((401, 60), ITERATION),
    "pretreatment/filters.py": ((60,), "end of a search"),
    "product/limits.py": ((20,), LAYOUT),
    "product/solve_doses.py": ((60, 1.2, 2.6, 0.999, 2e-4), ITERATION),
    "water/basis.py": ((80.0, 0.08, 4000.0), RANGE),
    "water/carbonate.py": ((60,), ITERATION),
    "water/checks.py": ((1.2,), JUDGED),
    "water/inputs.py": ((80.0, 273.15), RANGE),
    "water/lab_sheet.py": ((2000, 200), LAYOUT),
    "water/phreeqc/calcite.py": ((10.5, 0.25, 0.02, 0.006, 0.002, 0.004, 7.5), TRIAL),
    "water/phreeqc/curves.py": (
        (5e-4, 0.13, 1.5, 2.5, 3.5, 8.31446261815324, 0.018015),
        "salinities and exponents of a fit; gas constant and molar mass of water with their source beside them, for "
        "the bridge to the engine is loaded without the trail"),
    "water/phreeqc/doses.py": ((11.5, 40, 0.002), ENGINE),
    "water/phreeqc/mixing.py": ((20.0, 0.95), ENGINE),
    "water/phreeqc/saturation.py": ((99.0,), ENGINE),
    "water/phreeqc/speciation.py": ((1.5, 12.5, 80, 99.0), ENGINE),
    "water/phreeqc/waters.py": ((273.15, 363.15, 298.15, 20.0, 14.0), ENGINE),
    "water/raw_water.py": ((1025.0,), ITERATION),
    "water/reference_composition.py": ((298.15,), "the temperature the engine's data are stated at"),
    "water/scaling.py": ((60,), ITERATION),
    "water/seawater.py": ((273.15, 373.0, 0.12), RANGE),
}


def trivial(value: float) -> bool:
    """Whole numbers up to a dozen, a half, whole powers of two (sizes), powers of ten (tolerances, points moved)."""
    size = abs(value)
    if size in (0.0, 0.5) or (size <= 12 and float(size).is_integer()):
        return True
    if isinstance(value, int) and size & (size - 1) == 0:
        return True
    return math.isclose(size, 10.0 ** round(math.log10(size)), rel_tol=1e-12)


def is_relation(n: ast.AST) -> bool:
    return isinstance(n, ast.FunctionDef) and any(
        isinstance(d, ast.Call) and isinstance(d.func, ast.Name) and d.func.id == "relation" for d in n.decorator_list)


def named(call: ast.Call) -> str:
    f = call.func
    return f.id if isinstance(f, ast.Name) else f.attr if isinstance(f, ast.Attribute) else ""


def numbers(tree: ast.AST) -> list[tuple[int, float]]:
    """Numbers of the code that are not trivial and not given to a maker of sourced lines: line and value."""
    found: list[tuple[int, float]] = []

    def look(n: ast.AST) -> None:
        if is_relation(n):
            return
        if isinstance(n, ast.Call) and named(n) in SOURCED:
            return
        if isinstance(n, ast.Constant) and isinstance(n.value, (int, float)) and not trivial(n.value):
            found.append((n.lineno, n.value))
        for child in ast.iter_child_nodes(n):
            look(child)

    look(tree)
    return found


def of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def bare(source: tuple[str, ast.Module]) -> list[tuple[int, float]]:
    """Numbers of one module that have neither a source nor a reason."""
    name, tree = source
    known = ALLOWED.get(name, ((), ""))[0]
    return [(line, value) for line, value in numbers(tree) if abs(value) not in known]


def rooms() -> dict[str, tuple[str, ast.Module]]:
    return {of(p): (of(p), tree) for p, tree in sources() if floor_of(room_of(p)) in FLOORS}


def has_no_bare_number(source: tuple[str, ast.Module]) -> None:
    found = bare(source)
    assert not found, "; ".join(f"line {line}: {value:g} is a `constant`, an assumed line or a table's row"
                                for line, value in found)


def test_a_number_in_a_room_has_a_source():
    every(rooms(), has_no_bare_number)


def test_what_is_allowed_is_there_and_has_a_reason():
    there = {name: {abs(value) for _, value in numbers(tree)} for name, (_, tree) in rooms().items()}
    idle = {name: sorted(set(values) - there.get(name, set())) for name, (values, _) in ALLOWED.items()}
    assert not {name: values for name, values in idle.items() if values}, "take them off the list"
    assert all(len(why) > 12 for _, why in ALLOWED.values())


def test_a_bare_number_is_seen():
    tree = ast.parse(
        "G = constant('g', 9.80665, 'm/s^2', source='s')\n"
        "@relation('x')\ndef f(a):\n    return 9.81 * a\n"
        "def g(q):\n    x = assumed('i', 1025.0, 'density', title='t', source='s')\n"
        "    for _ in range(64):\n        x += 1e-9\n    return q * 9.80665 / 3600 + 2 * x\n")
    assert [v for _, v in numbers(tree)] == [9.80665, 3600]
    assert bare(("plant/toy.py", tree)) == [(9, 9.80665), (9, 3600)]
    assert not trivial(0.01081) and not trivial(273.15) and trivial(-1e-12) and trivial(100) and trivial(512)
