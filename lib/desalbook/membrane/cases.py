"""What the vessel solver is asked and what it answers."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from desalbook.membrane import transport as t

__all__ = ["DENSITY", "OSMOTIC", "PER_ELEMENT", "Cases", "Laws", "Solution", "curve", "nodes_of", "rows", "take"]

# fields that may differ from element to element along the vessel, then of shape (cases, elements)
PER_ELEMENT = ("water_permeability", "salt_permeability", "boric_acid_permeability", "borate_permeability",
               "element_area", "element_length", "spacer_height", "spacer_porosity")
DENSITY = ("rho_0", "rho_1", "rho_15", "rho_2")
OSMOTIC = tuple(f"osm_{i}" for i in range(6))
CURVES = ("osmotic", "density", "borate_shift")


_USUAL = {"density": t.density_of, "osmotic": t.osmotic_of, "viscosity": t.viscosity_of,
          "diffusivity": t.diffusivity_of, "sherwood": t.sherwood_schock, "friction": t.friction_schock}


@dataclass(frozen=True)
class Laws:
    """The relations that describe the water and the channel; replace one to study its effect.

    A field holds a relation or a bare function of the same arguments; None is the default.
    """

    density: Any = None
    osmotic: Any = None
    viscosity: Any = None
    diffusivity: Any = None
    sherwood: Any = None
    friction: Any = None

    def relation(self, name: str) -> Any:
        """The relation in use, or the bare function put in its place."""
        return getattr(self, name) or _USUAL[name]

    def of(self, name: str) -> Any:
        """The function in use, on plain numbers."""
        law = self.relation(name)
        return getattr(law, "plain", law)


@dataclass(frozen=True)
class Cases:
    """What one train is asked to do; every field a number or an array over the cases, in coherent SI.

    ``osmotic`` and ``density`` hold the coefficients of the water's curves with shapes (cases, 6) and
    (cases, 4); permeabilities are those in service (temperature, age and fouling included). Permeabilities
    and the geometry of the element may be of shape (cases, elements): element types by position.

    ``borate_shift``, shape (cases, 2), is how log10(borate/boric acid) moves with the logarithm of the
    bulk's concentration factor and its square, counted from ``borate_salinity`` (the feed's if omitted),
    at which ``ph_total`` holds. ``interconnector_loss`` is lost at each joint between two elements.
    """

    vessels: Any
    elements: int
    feed_flow: Any
    permeate_flow: Any
    feed_pressure: Any
    feed_salinity: Any
    temperature: Any
    permeate_pressure: Any
    water_permeability: Any
    salt_permeability: Any
    boric_acid_permeability: Any
    borate_permeability: Any
    boron_feed: Any
    ph_total: Any
    water_viscosity: Any
    osmotic: Any
    density: Any
    element_area: Any
    element_length: Any
    spacer_height: Any
    spacer_porosity: Any
    port_loss: Any = 0.0
    interconnector_loss: Any = 0.0
    borate_shift: Any = ((0.0, 0.0),)
    borate_salinity: Any = None


@dataclass
class Solution:
    """One row a case. ``state`` holds the profiles over slices, shape (cases, slices of the whole vessel).

    ``state["end_..."]``, shape (cases,), belongs to that end of an element where polarisation is highest;
    ``state["end"]`` says which: 2 e for the inlet and 2 e + 1 for the outlet of element e, counted from zero.
    Solved without profiles, ``state`` holds what leaves the last slice alone, with shape (cases, 1).
    """

    cases: Cases
    unknown: str
    slices: int
    feed_pressure: np.ndarray
    feed_flow: np.ndarray
    permeate_flow: np.ndarray
    solved: np.ndarray
    reason: list[str]
    state: dict[str, np.ndarray] = field(default_factory=dict)
    out: dict[str, np.ndarray] = field(default_factory=dict)
    laws: Laws = field(default_factory=Laws)
    order: int = 4

    def only(self, i: int) -> Solution:
        """One case of these."""
        return self.some(slice(i, i + 1))

    def some(self, one: slice) -> Solution:
        """A few cases of these."""
        return replace(self, cases=take(self.cases, one), feed_pressure=self.feed_pressure[one],
                       feed_flow=self.feed_flow[one], permeate_flow=self.permeate_flow[one],
                       solved=self.solved[one], reason=self.reason[one],
                       state={k: v[one] for k, v in self.state.items()}, out={k: v[one] for k, v in self.out.items()})


def rows(cases: Cases) -> tuple[Cases, int]:
    """Every field with one row a case, without copies, and the number of cases."""
    if cases.borate_salinity is None:
        cases = replace(cases, borate_salinity=cases.feed_salinity)
    names = [n for n in cases.__dataclass_fields__ if n != "elements"]
    arrays = {}
    for name in names:
        a = np.asarray(getattr(cases, name), dtype=float)
        arrays[name] = np.atleast_2d(a) if name in CURVES else np.atleast_1d(a)
        wide = arrays[name].ndim > 1 and name not in CURVES
        if wide and (name not in PER_ELEMENT or arrays[name].shape[1] != cases.elements):
            raise ValueError(f"{name} has a shape of {arrays[name].shape} for {cases.elements} elements")
    n = np.max([len(a) for a in arrays.values()])
    return replace(cases, **{k: a if len(a) == n else np.broadcast_to(a, (n, *a.shape[1:]))
                             for k, a in arrays.items()}), int(n)


def take(c: Cases, which) -> Cases:
    """Some of the cases, copied."""
    return replace(c, **{n: np.ascontiguousarray(getattr(c, n)[which])
                         for n in c.__dataclass_fields__ if n != "elements"})


def curve(coefficients: np.ndarray) -> dict[str, np.ndarray]:
    """Coefficients of density, (cases, 4), or osmotic pressure, (cases, 6), by the names their relations take."""
    names = DENSITY if coefficients.shape[-1] == len(DENSITY) else OSMOTIC
    return dict(zip(names, coefficients.T, strict=True))


def nodes_of(x: np.ndarray, slices: int) -> np.ndarray:
    """A field over cases, or cases and elements, as it broadcasts over the slices."""
    return x[:, None] if x.ndim == 1 else np.repeat(x, slices, axis=1)
