"""All relations of the kit, all check points, and inputs to try them with. Not a test itself."""

from __future__ import annotations

import importlib
import random
import zlib
from functools import cache
from pathlib import Path

import numpy as np

import desalbook
from desalbook.trail import REGISTER, Relation
from tests.every import gathered
from tests.points import Point

ROOT = Path(desalbook.__file__).parent
AXIS = ("total", "dot", "largest", "smallest", "last")

# Plausible ranges in coherent SI, by kind or family, for kinds where any positive number will not do.
RANGES = {
    "temperature": (275.0, 313.0),
    "temperature difference": (0.5, 20.0),
    "fraction": (0.05, 0.9),
    "mass fraction": (0.01, 0.3),
    "mass ratio": (0.01, 2.0),
    "salinity": (0.005, 0.08),
    "ph.nbs": (5.5, 9.0),
    "ph.total": (5.5, 9.0),
    "density": (995.0, 1080.0),
    "viscosity": (6e-4, 2e-3),
    "count": (2.0, 40.0),
    "gauge pressure": (1e5, 7e6),
    "absolute pressure": (2e5, 7e6),
    "pressure difference": (1e3, 2e6),
    "osmotic pressure": (1e5, 6e6),
    "molar mass": (0.01, 0.2),
    "charge number": (1.0, 3.0),
    "factor": (0.2, 5.0),
    "index": (-1.0, 3.0),
    "diffusivity": (5e-10, 3e-9),
    "heat capacity": (3.5e3, 4.3e3),
    "molar energy": (1e4, 4e4),
    "molality": (1e-3, 1.0),
    "concentration": (1e-2, 60.0),
    "velocity": (0.1, 4.0),
    "filtration rate": (1e-3, 2e-2),
    "flux": (1e-6, 1.5e-5),
    "flow": (1e-3, 1.0),
    "area": (0.5, 60.0),
    "length": (0.05, 3.0),
    "length.small": (2e-4, 0.3),
    "length.micro": (1e-6, 1e-4),
    "head": (1.0, 100.0),
    "time": (10.0, 1e5),
    "power": (1e3, 1e6),
    "conductivity": (1.0, 8.0),
    "water permeability": (1e-12, 1e-11),
    "salt permeability": (1e-8, 1e-7),
    "mass transfer": (1e-5, 1e-4),
    "acceleration": (9.7, 9.9),
    "turbidity": (0.1, 20.0),
    "potential": (0.1, 0.8),
}


@cache
def modules() -> dict[str, Exception | None]:
    """Every module under the package, with the error its import gave."""
    found: dict[str, Exception | None] = {}
    for path in sorted(ROOT.rglob("*.py")):
        parts = path.relative_to(ROOT.parent).with_suffix("").parts
        if parts[-1] == "__main__":
            continue
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        try:
            importlib.import_module(name)
            found[name] = None
        except Exception as error:  # the test of this module says which
            found[name] = error
    return found


@cache
def relations() -> dict[str, Relation]:
    """The register of the kit, by key; relations that tests plant are not in it."""
    names = {m.removeprefix("desalbook.") for m in modules()}
    return {key: r for key, r in sorted(REGISTER.items()) if key.partition(":")[0] in names}


@cache
def by_room() -> dict[str, list[str]]:
    """Keys of the register by the room their relations stand in."""
    return gathered(relations(), lambda key: key.partition(":")[0].partition(".")[0])


@cache
def points() -> tuple[Point, ...]:
    """All check points of tests/published."""
    found: list[Point] = []
    for path in sorted((Path(__file__).parent / "published").glob("*.py")):
        if path.stem != "__init__":
            module = importlib.import_module(f"tests.published.{path.stem}")
            found += [p for p in getattr(module, "POINTS", ()) if isinstance(p, Point)]
    return tuple(found)


@cache
def _inputs_of_points() -> dict[str, list]:
    found: dict[str, list] = {}
    for p in points():
        found.setdefault(p.relation, []).append(p.inputs)
    return found


def columns_of(tree: list, inside: bool = False) -> set[str]:
    """Arguments that stand inside a function over an axis."""
    if tree[0] == "arg":
        return {tree[1]} if inside else set()
    inside = inside or (tree[0] == "call" and tree[1] in AXIS)
    return set().union(*(columns_of(part, inside) for part in tree[1:] if isinstance(part, list)), set())


def draw(relation: Relation, seed: int, tries: int = 400) -> dict[str, object]:
    """Positive inputs, inside the range of validity, for which the relation gives a finite number.

    Half of the draws start from a check point of the relation, if it has one. The seed does not depend
    on the hash seed of the process.
    """
    rng = random.Random(zlib.crc32(f"{relation.key}:{seed}".encode()))
    wide = columns_of(relation.tree)
    mine = _inputs_of_points().get(relation.key, ())
    for attempt in range(tries):
        base = rng.choice(mine) if mine and (seed + attempt) % 2 else None
        values = {}
        for a in relation.args:
            start = None if base is None else np.asarray(base[a.name], dtype=float)
            shape = start.shape if start is not None else (4,) if a.name in wide else ()
            low, high = _range(relation, a)
            new = np.array([_one(rng, low, high) for _ in range(int(np.prod(shape, dtype=int)))]).reshape(
                shape
            )
            if start is not None:
                spread = 0.01 if a.kind.family == "temperature" else 0.15
                new = start * np.array(
                    [rng.uniform(1 - spread, 1 + spread) for _ in range(max(start.size, 1))]
                ).reshape(shape)
            values[a.name] = float(new) if new.ndim == 0 else new
        with np.errstate(all="ignore"):
            try:
                got = np.asarray(relation.plain(**values), dtype=float)
            except (ValueError, ZeroDivisionError, OverflowError):
                continue
        if np.all(np.isfinite(got)) and np.any(got != 0):
            return values
    raise AssertionError(
        f"{relation.key}: no finite result in {tries} draws; give it a check point or `within`"
    )


def _range(relation: Relation, a) -> tuple[float, float]:
    low, high = RANGES.get(a.kind.name) or RANGES.get(a.kind.family) or (1e-2, 10.0)
    lo, hi = relation.limits.get(a.name, (None, None))
    if lo is not None and lo > 0:
        low = lo
        high = max(high, low * 2) if hi is None else hi
    if hi is not None:
        high = hi
        low = low if low < high else high / 10
    return low, high


def _one(rng: random.Random, low: float, high: float) -> float:
    if low > 0 and high / low > 20:
        return float(np.exp(rng.uniform(np.log(low), np.log(high))))
    return rng.uniform(low, high)
